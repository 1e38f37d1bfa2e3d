"""The tab Spread without a browser: entries to spreads, bands and shares as wirecalc gives them, words for the rest."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.one_run import spread as spread_tab
from dashboards.panels.one_run.page import SUITS
from dashboards.panels.one_run.spread import DRAWS, NAMES, SEED, SpreadTab
from tests import some_of
from tests.support.pages.run_situations import (
    ALL,
    EXTREME,
    FEED,
    LAMPS,
    LINE,
    RELAY,
    SPEAKER,
    SUBWOOFER,
    TURN_ON,
    no_nan_outside_arrays,
    situation,
)
from tests.support.sentences import answered, numbers, read, within
from wirecalc import runs
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs import choose, tolerance
from wirecalc.wire.conductor import Conductor, awg


def opened(run: runs.Run, this: Conductor | None = None, **changes: Any) -> SpreadTab:
    tab = SpreadTab()
    asked = situation(run, this, **changes)
    tab.changed = lambda: tab.show(asked)
    tab.show(asked)
    return tab


def drawn(tab: SpreadTab) -> tuple[Any, Any, Any]:
    """Bars, marks and shares as they are on the page."""
    bands, shares = tab.charts.drawn
    return bands.data[0], bands.data[1], shares.data[0]


def expected(limit: float = 0.4, **spreads: float) -> tolerance.Spread:
    """Of the ordinary speaker run."""
    inputs = tolerance.run_inputs(5.5)
    for name, spread in spreads.items():
        inputs[name] = replace(inputs[name], spread=spread)
    limits = [Limit(measure="loss_db", bound=limit, sense="at most")]
    model = runs.model(SPEAKER, awg(16), runs.Installation(length_m=5.5))
    return tolerance.monte_carlo(model, inputs, ["loss_db", "load_w"], limits=limits, draws=DRAWS, seed=SEED)


def test_the_entries_start_at_the_usual_spreads_and_say_so() -> None:
    tab = opened(SPEAKER)
    assert {name: entry.text.value for name, entry in tab.entries.items()} == {
        "length_m": "5 %",
        "temperature_c": "25 K",
        "joints_ohm": "2 mΩ",
        "resistance_ratio": "2 %",
        "load_ratio": "10 %",
    }
    for name, entry in tab.entries.items():
        assert entry.note.value.startswith(f"default {entry.text.value}: "), name
    assert tab.limit.text.value == "0.40 dB"


def test_this_run_is_by_monte_carlo_and_the_others_by_first_order() -> None:
    bars, marks, shares = drawn(opened(SPEAKER))
    at = bars.x.index("16 AWG<br>(this run)")
    band = expected().bands["loss_db"]
    assert bars.base[at] == pytest.approx(band.low)
    assert bars.base[at] + bars.y[at] == pytest.approx(band.high)
    assert marks.y[at] == pytest.approx(band.middle)
    at = bars.x.index("12 AWG")
    model = runs.model(SPEAKER, awg(12), runs.Installation(length_m=5.5))
    quick = tolerance.first_order(model, tolerance.run_inputs(5.5), ["loss_db"])["loss_db"]
    assert (bars.base[at], marks.y[at]) == pytest.approx((quick.low, quick.middle))
    assert bars.base[at] + bars.y[at] == pytest.approx(quick.high)
    assert list(shares.x) == pytest.approx([100 * share for share in band.shares.values()][::-1])
    assert shares.y[-1] == NAMES[next(iter(band.shares))]


def test_an_entry_reaches_the_numbers_in_si() -> None:
    tab = opened(SPEAKER)
    tab.entries["length_m"].text.value = "12"
    tab.entries["temperature_c"].text.value = "18 °F"
    tab.entries["joints_ohm"].text.value = "7"
    tab.entries["resistance_ratio"].text.value = "4 %"
    tab.entries["load_ratio"].text.value = "0 %"
    tab.limit.text.value = "0.3"
    spread = expected(
        0.3, length_m=0.12 * 5.5, temperature_c=10.0, joints_ohm=0.007, resistance_ratio=0.04, load_ratio=0.0
    )
    bars, marks, shares = drawn(tab)
    at = bars.x.index("16 AWG<br>(this run)")
    assert (bars.base[at], marks.y[at]) == pytest.approx((spread.bands["loss_db"].low, spread.bands["loss_db"].middle))
    assert shares.x[shares.y.index("Load impedance")] == 0
    assert tab.charts.drawn[0].layout.shapes[0].y0 == 0.3
    assert f"{100 * spread.broken[0]:.0f} of 100 break the limit, at most 0.3 dB" in read(tab.told.html)


def test_the_sentence_says_band_share_and_what_matters_most() -> None:
    spread = expected(0.368)
    band = spread.bands["loss_db"]
    name, share = next(iter(band.shares.items()))
    assert f"{100 * spread.broken[0]:.0f}" == "1"
    tab = opened(SPEAKER)
    tab.limit.text.value = "0.368 dB"
    assert (read(tab.told.html)) == (
        f"In 90 of 100 cars the level lost lies between {band.low:.2f} and "
        f"{band.high:.2f} dB; 1 of 100 breaks the limit, at most 0.368 dB. "
        f"What matters most: {NAMES[name].lower()} ({100 * share:.0f} % of the spread)."
    )


@pytest.mark.parametrize(
    ("limit", "words", "mind"),
    [
        ("1 dB", "none of 20 000 breaks", False),
        ("0.1 dB", "all 20 000 break", True),
        ("0.38 dB", "fewer than 1 of 100 break", False),
        ("0.26 dB", "more than 99 of 100 break", True),
        ("0.34 dB", " of 100 break the limit", True),
    ],
)
def test_a_share_is_never_rounded_to_none_or_all(limit: str, words: str, mind: bool) -> None:
    tab = opened(SPEAKER)
    tab.limit.text.value = limit
    assert words in read(tab.told.html)
    assert ("wc-caution" in tab.told.html) == mind


def test_nothing_varies_is_said() -> None:
    tab = opened(SPEAKER)
    for entry in tab.entries.values():
        entry.text.value = "0"
    assert {entry.note.value[:4] for entry in tab.entries.values()} == {"read"}
    assert "in all cars. That keeps the limit" in read(tab.told.html)
    tab.limit.text.value = "0.1"
    assert "That breaks the limit, at most 0.1 dB" in read(tab.told.html)
    assert set(drawn(tab)[2].x) == {0}


def test_a_fault_keeps_the_picture_and_the_text() -> None:
    tab = opened(SPEAKER)
    before = [np.array(trace.base if "base" in trace else trace.y) for trace in drawn(tab)[:2]]
    for entry in (*tab.entries.values(), tab.limit):
        entry.text.value = "<b>5"
        assert "&lt;b&gt;5" in entry.note.value
        assert "role='alert'" in entry.note.value
    tab.entries["temperature_c"].text.value = "5 kg"
    assert "role='alert'" in tab.entries["temperature_c"].note.value
    tab.entries["length_m"].text.value = "120 %"
    assert "role='alert'" in tab.entries["length_m"].note.value
    for array, trace in zip(before, drawn(tab)[:2], strict=True):
        np.testing.assert_array_equal(array, trace.base if "base" in trace else trace.y)


@pytest.mark.parametrize("run", ALL)
def test_the_limit_is_the_usual_one_of_the_kind(run: runs.Run) -> None:
    tab = opened(run)
    usual = next(limit for limit in choose.LIMITS[run.kind] if not isinstance(limit.bound, str))
    assert tab.limit.value == usual.bound
    assert runs.MEASURES[usual.measure].name in tab.limit.text.description
    assert html.escape(usual.reason) in read(tab.notes.html)
    scale = 100 if usual.measure == "drop_fraction" else 1
    assert tab.charts.drawn[0].layout.shapes[0].y0 == pytest.approx(scale * float(usual.bound))
    for measure in run.drawn:
        assert runs.MEASURES[measure].name in html.unescape(tab.table.html)


def test_another_kind_of_run_brings_its_limit_and_the_same_kind_keeps_the_own_one() -> None:
    tab = opened(SPEAKER)
    tab.limit.text.value = "0.6"
    tab.show(situation(SPEAKER, awg(12)))
    assert tab.limit.value == 0.6
    tab.limit.text.value = "nothing"
    lamps = situation(LAMPS, awg(12))
    tab.changed = lambda: tab.show(lamps)
    tab.show(lamps)
    assert (tab.limit.value, tab.limit.text.value, tab.limit.fault) == (0.03, "3 %", None)
    tab.limit.text.value = "5"
    assert tab.limit.value == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("run", "name"),
    [
        (SPEAKER, "Load impedance"),
        (SUBWOOFER, "Load impedance"),
        (LINE, "Input impedance"),
        (RELAY, "Coil resistance"),
        (TURN_ON, "Load’s draw"),
        (FEED, "Load’s draw"),
    ],
)
def test_the_load_is_called_what_it_is(run: runs.Run, name: str) -> None:
    assert name in drawn(opened(run))[2].y


def test_cases_without_a_solution_are_said_and_not_drawn() -> None:
    run = replace(LAMPS, amps_per_m=4.0)
    tab = opened(run, awg(20))
    assert "this feed cannot deliver the load" in read(tab.told.html)
    assert "wc-caution" in tab.told.html
    assert "(this run)" not in tab.table.html
    bars, marks, shares = drawn(tab)
    at = bars.x.index("20 AWG<br>(this run)")
    assert np.isnan([bars.y[at], marks.y[at]]).all()
    assert bars.customdata[at] == "no value"
    assert "no bar: 20 AWG" in read(tab.notes.html)
    thick = bars.x.index("8 AWG")  # the others still are drawn where they have an answer
    model = runs.model(run, awg(8), runs.Installation(length_m=5.5))
    limit = spread_tab.main_limit(run)
    quick = tolerance.first_order(model, tolerance.run_inputs(5.5), [limit.measure])[limit.measure]
    assert marks.y[thick] == pytest.approx(100 * quick.middle)
    assert set(shares.x) == {0}


def test_another_fault_is_the_pages_to_say() -> None:
    with pytest.raises(InputError, match="Run length"):
        SpreadTab().show(situation(SPEAKER, length_m=0.001))


AT_EXTREMES: list[tuple[Conductor, dict[str, Any]]] = [
    (wire, changes)
    for wire in (awg(26), awg(-3))
    for changes in (
        {},
        {"length_m": 0.05, "parallel": 16},
        {"length_m": 100.0, "joints_ohm": 1.0, "ways": 1, "temperature_c": 250.0},
        {"temperature_c": -60.0},
    )
]


@pytest.mark.parametrize(("this", "changes"), some_of(AT_EXTREMES, 4))
def test_every_run_at_every_extreme_is_shown_in_words(this: Conductor, changes: dict[str, Any]) -> None:
    tab = SpreadTab()
    for run in (*ALL, *EXTREME):
        assert "How sure?" not in SUITS  # so it is offered for every kind
        tab.show(situation(run, this, **changes))
        for chart in tab.charts.drawn:
            no_nan_outside_arrays(chart.figure.to_dict())
        words = re.sub("<[^>]*>", " ", read(tab.told.html) + tab.table.html).lower()
        assert "nan" not in words
        assert " inf" not in words
        assert "-" not in words.replace("pull-in", "")  # a minus is written as one


def test_one_change_is_one_computation() -> None:
    calls: list[spread_tab.Question] = []

    def counted(question: spread_tab.Question) -> spread_tab.SpreadAnswer:
        calls.append(question)
        return spread_tab.compute(question)

    tab = SpreadTab(counted)
    asked = situation(SPEAKER)
    tab.changed = lambda: tab.show(asked)
    tab.show(asked)
    children = tab.view.children
    assert len(calls) == 1
    tab.entries["length_m"].text.value = "8 %"
    assert len(calls) == 2
    tab.limit.text.value = "0.2"
    assert len(calls) == 3
    assert (calls[-1].spreads["length_m"], calls[-1].limit.bound) == (pytest.approx(0.08), 0.2)
    tab.limit.text.value = "no limit"
    assert calls[-1].limit.bound == 0.2
    assert tab.view.children == children


def test_labels_are_text_and_never_markup() -> None:
    tab = opened(replace(LAMPS, amps_per_m=4.0), replace(awg(20), label="<b>20"))
    assert "&lt;b&gt;20" in tab.notes.html
    assert "<b>" not in tab.told.html + tab.notes.html + tab.table.html


@pytest.mark.parametrize("run", ALL)
def test_every_number_of_the_table_opens(run: runs.Run) -> None:
    tab = opened(run, awg(8))
    tab.entries["length_m"].text.value = "7 %"
    by_key = numbers(tab.table.html)
    sizes = {key.split(":")[1] for key in by_key}
    assert len(sizes) > 1
    assert (
        len(re.findall(r"<td[^>]*>[^<]*</td>", tab.table.html)) == len(by_key) * 2 / 3
    )  # names of sizes and results alone
    for key, text in by_key.items():
        place = key.split(":")[1]
        working = tab.work(key)
        worked_out = float(answered(working).split()[0])
        decimals = len(text.split()[0].partition(".")[2])
        assert within(text, worked_out) or float(text.split()[0].replace("−", "-")) == pytest.approx(
            worked_out, rel=6e-4, abs=0.51 * 10**-decimals
        )
        assert ("Monte Carlo" in working) == (place == "0")
        assert (f"{DRAWS} draws" in working) == (place == "0")
        assert "0.385 m" in working  # the spread of the length that was entered
        assert tolerance.run_inputs(1.0)["temperature_c"].name in working


def test_where_no_case_is_solved_there_is_no_table() -> None:
    tab = opened(EXTREME[6], awg(26), length_m=100.0)
    assert tab.table.html == ""


def test_a_click_is_answered_by_the_last_picture() -> None:
    tab = opened(SPEAKER)
    tab.entries["load_ratio"].text.value = "4 %"
    tab.table.ask("loss_db:0:high")
    assert "uZ = 0.04" in tab.table.working
    assert f"seed {SEED}" in tab.table.working
    assert answered(tab.table.working) == f"{expected(load_ratio=0.04).bands['loss_db'].high:.4g} dB"
