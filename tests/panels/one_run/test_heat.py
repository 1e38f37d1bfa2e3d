"""The tab Heat and fuse without a browser: what it shows is what wirecalc says, and each caution has its place."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run import heat as heat_tab
from dashboards.panels.one_run.heat import HeatTab
from dashboards.panels.one_run.page import OneRunPanel, suits
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.thermometer import thermometer
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
from tests.support.sentences import answered, numbers, read
from wirecalc import runs, units
from wirecalc.circuits.battery import source_ohm
from wirecalc.wire import ampacity, fuse, heat, melting
from wirecalc.wire.cautions import CAUTIONS, LOCAL_CODES
from wirecalc.wire.conductor import METALS, Conductor, awg
from wirecalc.wire.insulation import INSULATIONS, insulated


def shown(tab: HeatTab) -> str:
    return read(tab.told.html) + read(tab.fuse.html) + tab.table.html


def opened(run: runs.Run, this: Conductor | None = None, **changes: Any) -> HeatTab:
    tab = HeatTab()
    tab.show(situation(run, this, **changes))
    return tab


def test_it_suits_every_run_that_heats_its_wire() -> None:
    assert [suits(run, "Heat and fuse") for run in ALL] == ["heat_a" in run.measures(0.01, 1.0) for run in ALL]
    assert [run for run in ALL if not suits(run, "Heat and fuse")] == [LINE]


def test_bars_are_the_temperatures_by_size() -> None:
    tab = opened(FEED, awg(6))
    bars = tab.charts.drawn[0].data[0]
    assert bars.x == ("22 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG<br>(this run)")
    sizes = [awg(n) for n in (22, 18, 16, 14, 12, 10, 8, 6)]
    laid = runs.Installation(length_m=5.5)
    amps = FEED.measures(runs.wire_ohm(sizes, laid), 5.5)["heat_a"]
    wires = insulated(sizes, INSULATIONS["pvc_80"])
    expected = heat.temperature_c(wires, amps, 45.0, 2)
    assert np.all(np.isfinite(expected))
    np.testing.assert_allclose(np.array(bars.base, float) + bars.y, expected)
    limit, air = tab.charts.drawn[0].layout.shapes
    assert (limit.y0, air.y0) == (80, 45)


def test_the_warm_up_ends_at_the_bar_and_its_mark_is_the_time_constant() -> None:
    tab = opened(FEED, awg(6))
    curve, mark = tab.charts.drawn[1].data
    bars = tab.charts.drawn[0].data[0]
    wire = insulated([awg(6)], INSULATIONS["pvc_80"])
    amps = FEED.measures(runs.wire_ohm([awg(6)], runs.Installation(length_m=5.5)), 5.5)["heat_a"]
    constant_s = float(heat.time_constant_s(wire, amps, 45.0, 2)[0])
    assert mark.x[0] * 60 == pytest.approx(constant_s)
    assert curve.y[0] == 45
    assert curve.x[-1] == pytest.approx(5 * mark.x[0])
    end_c = bars.base[-1] + bars.y[-1]
    assert curve.y[-1] == pytest.approx(end_c, abs=0.03 * (end_c - 45))
    assert len(curve.x) <= 40


def test_the_table_and_the_sentence_name_the_limit_that_binds() -> None:
    wires = insulated([awg(16)], INSULATIONS["pvc_80"])
    for place in ({}, {"ambient_c": 70.0, "loaded": 6}):
        answer = heat_tab.compute(situation(SPEAKER, **place))
        allowed = ampacity.allowable(wires, place.get("ambient_c", 45.0), place.get("loaded", 2))
        row = heat_tab.heat_table(answer).iloc[0]
        assert row["May carry, table (A)"] == pytest.approx(float(allowed.published_a[0]))
        assert row["May carry, balance (A)"] == pytest.approx(float(allowed.balance_a[0]))
        words = read(heat_tab.verdict(answer))
        table_binds = bool(allowed.published_a[0] < allowed.balance_a[0])
        assert ("the published table (33 CFR 183.425 table 5) sets that" in words) == table_binds
        assert ("the heat balance sets that" in words) == (not table_binds)
        assert f"may carry {float(allowed.current_a[0]):.3g} A" in words


def test_this_size_is_not_drawn_twice() -> None:
    answer = heat_tab.compute(situation(SPEAKER, awg(16)))
    assert heat_tab.heat_table(answer)["Size"].tolist() == [
        "16 AWG (this run)", "22 AWG", "18 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG",
    ]  # fmt: skip


def test_the_fuse_is_that_of_wirecalc_and_the_column_agrees() -> None:
    answer = heat_tab.compute(situation(FEED, awg(4)))
    draw_a = float(FEED.measures(runs.wire_ohm([awg(4)], runs.Installation(length_m=5.5)), 5.5)["draw_a"][0])
    wire = insulated([awg(4)], INSULATIONS["pvc_80"])
    choice = fuse.choose_fuse(draw_a, float(ampacity.allowable(wire, 45.0, 2).current_a[0]))
    assert choice.rating_a is not None
    assert f"Fuse: {choice.rating_a:g} A." in read(heat_tab.fuse_words(answer))
    assert html.escape(choice.reason) in read(heat_tab.fuse_words(answer))
    column = heat_tab.heat_table(answer)["Fuse (A)"]
    assert column[0] == choice.rating_a
    drawn = [awg(n) for n in (22, 18, 16, 14, 12, 10, 8)]
    draws_a = FEED.measures(runs.wire_ohm(drawn, runs.Installation(length_m=5.5)), 5.5)["draw_a"]
    allowed_a = ampacity.allowable(insulated(drawn, INSULATIONS["pvc_80"]), 45.0, 2).current_a
    np.testing.assert_allclose(column[1:], fuse.fuse_a(draws_a, allowed_a))
    assert column[1:].isna().sum() == 6  # thin wire has none
    assert heat_tab.table_html(answer).count("none") == 6


def test_parallel_conductors_get_a_fuse_each_for_their_share() -> None:
    single, two = (heat_tab.compute(situation(FEED, awg(4), parallel=n, loaded=4)) for n in (1, 2))
    assert single.heat.choice is not None
    assert two.heat.choice is not None
    assert two.heat.choice.needed_a == pytest.approx(single.heat.choice.needed_a / 2, rel=0.05)
    assert "one for each of the 2 conductors" in read(heat_tab.fuse_words(two))
    assert two.heat.short is not None
    assert single.heat.short is not None
    # more flows in all, but the battery's own resistance keeps it from twice as much
    assert single.heat.short.fault_a < 2 * two.heat.short.fault_a < 2 * single.heat.short.fault_a


def test_no_fuse_says_why_and_what_to_change() -> None:
    words = read(opened(FEED, awg(16)).fuse.html)
    assert "No fuse both carries" in words
    assert "Take thicker wire" in words
    assert "Lower the draw" in words
    assert CAUTIONS["battery feed"] in words


def test_outside_the_bundle_the_pair_itself_is_still_together() -> None:
    words = read(opened(FEED, awg(8), loaded=6).fuse.html)
    alone_a = ampacity.allowable(insulated([awg(8)], INSULATIONS["pvc_80"]), 45.0, 2).current_a[0]
    assert f"by itself it may carry {alone_a:.3g} A" in words
    assert "by itself" not in read(opened(FEED, awg(16), loaded=2).fuse.html)


def test_a_short_is_the_supply_over_battery_and_hot_loop() -> None:
    answer = heat_tab.compute(situation(LAMPS, awg(12), length_m=10.0, joints_ohm=0.01))
    laid = runs.Installation(length_m=10.0, joints_ohm=0.01, temperature_c=80.0)
    fault_a = 12.0 / (source_ohm("branch", 12.0) + float(runs.wire_ohm([awg(12)], laid)[0]))
    assert answer.heat.short is not None
    assert answer.heat.choice is not None
    assert answer.heat.choice.rating_a is not None
    wire = insulated([awg(12)], INSULATIONS["pvc_80"])
    protection = fuse.protects(answer.heat.choice.rating_a, fault_a, wire, 45.0, 2)
    assert answer.heat.short.fault_a == pytest.approx(fault_a)
    assert answer.heat.short.holds
    assert answer.heat.short.clearing_s == pytest.approx(float(protection.clearing_s))
    assert "It protects the wire then" in read(heat_tab.fuse_words(answer))


def test_a_short_too_weak_for_the_fuse_is_said() -> None:
    weak = heat_tab.compute(situation(LAMPS, awg(12), length_m=100.0, joints_ohm=0.9))
    assert weak.heat.short is not None
    assert weak.heat.choice is not None
    assert weak.heat.choice.rating_a is not None
    assert weak.heat.short.fault_a < 1.35 * weak.heat.choice.rating_a
    words = read(heat_tab.fuse_words(weak))
    assert "he fuse may not open" in words
    assert "inf" not in words


def test_a_fuse_that_does_not_protect_in_a_short_is_a_caution() -> None:
    lamps = replace(LAMPS, amps_per_m=2.0, strip_ohm_per_m=0.02)
    joint = {"length_m": 5.0, "joints_ohm": 0.187, "insulation": INSULATIONS["pvc_105"], "ambient_c": 30.0}
    answer = heat_tab.compute(situation(lamps, awg(18), **joint))
    assert answer.heat.short is not None
    assert answer.heat.short.lasts_s < answer.heat.short.clearing_s
    assert answer.heat.short.steady_c > INSULATIONS["pvc_105"].damage_c
    words = read(heat_tab.fuse_words(answer))
    assert "<p class='wc-caution'>In a short" in heat_tab.fuse_words(answer)
    assert "does not protect the wire then: the fuse opens within 47 s; the insulation lasts 8.5 s." in words


def test_a_speaker_wire_has_no_fuse_and_a_head_unit_ends_its_own_short() -> None:
    words = read(opened(SPEAKER).fuse.html)
    assert "No fuse is chosen for a speaker wire" in words
    assert "amplifier’s own protection" in words
    assert "none" not in opened(SPEAKER).table.html
    turn_on = heat_tab.compute(situation(TURN_ON))
    assert turn_on.heat.short is None
    assert "head unit’s output" in read(heat_tab.fuse_words(turn_on))


@pytest.mark.parametrize(
    ("name", "with_it", "without"),
    [
        ("battery feed", situation(FEED, awg(4)), situation(LAMPS, awg(4))),
        ("battery feed", situation(runs.DeviceRun(rated_a=185.0, supply_v=12.6), awg(0)), situation(SPEAKER)),
        ("battery sensor", situation(FEED, awg(4)), situation(SPEAKER)),
        ("branch", situation(LAMPS, awg(4)), situation(SPEAKER)),
        ("test tones", situation(SPEAKER), situation(FEED, awg(4))),
        ("clad aluminium", situation(SPEAKER, awg(12, METALS["cca_15"])), situation(SPEAKER)),
        ("fuse type", situation(RELAY), situation(SPEAKER)),
        ("parallel", situation(SPEAKER, parallel=2), situation(SPEAKER)),
        ("hot bundle", situation(SPEAKER, loaded=4), situation(SPEAKER, loaded=3)),
        ("engine bay", situation(SPEAKER, zone="engine_bay"), situation(SPEAKER, zone="engine_space")),
        ("grommets", situation(SPEAKER, zone="outside"), situation(SPEAKER, zone="cabin")),
    ],
)
def test_each_caution_stands_at_the_fuse_where_it_belongs(name: str, with_it: RunRequest, without: RunRequest) -> None:
    tab = HeatTab()
    tab.show(with_it)
    assert CAUTIONS[name] in (read(tab.fuse.html))
    tab.show(without)
    assert CAUTIONS[name] not in (read(tab.fuse.html))


def test_airbags_and_local_codes_are_said_for_every_run() -> None:
    tab = HeatTab()
    for run in ALL:
        if suits(run, "Heat and fuse"):
            tab.show(situation(run))
            assert CAUTIONS["airbag"] in (read(tab.fuse.html))
            assert LOCAL_CODES in (read(tab.fuse.html))


def test_a_bundle_smaller_than_the_run_itself_is_said() -> None:
    assert "has 4 loaded conductors, but 2 is entered" in read(opened(SPEAKER, parallel=2).fuse.html)
    assert "is entered" not in read(opened(SPEAKER, parallel=2, loaded=4).fuse.html)
    assert "is entered" not in read(opened(SPEAKER, ways=1, loaded=1).fuse.html)


@pytest.mark.parametrize(
    ("run", "this", "changes", "words"),
    [
        (EXTREME[0], awg(22), {}, "finds no balance"),
        (replace(SUBWOOFER, music_share=1.0), awg(16), {"ambient_c": 60.0}, "Too hot: 16 AWG reaches"),
        (replace(SPEAKER, music_share=1.0), awg(22), {"loaded": 4}, "Too much current"),
        (SPEAKER, awg(16), {}, "16 AWG reaches 46 °C in 45 °C air."),
        (SPEAKER, awg(16), {"ambient_c": 90.0}, "It may carry nothing"),
        (EXTREME[9], awg(22), {}, "cannot deliver this load for long"),
    ],
)
def test_the_verdict(run: runs.Run, this: Conductor, changes: dict[str, Any], words: str) -> None:
    tab = opened(run, this, **changes)
    assert words in shown(tab)
    assert ("wc-caution" in tab.told.html) == ("46 °C" not in words)


def test_melting_currents_are_for_copper_only() -> None:
    copper = heat_tab.heat_table(heat_tab.compute(situation(SPEAKER, awg(12)))).iloc[0]
    assert copper["Melts in 1 s, Onderdonk (A)"] == pytest.approx(
        float(melting.onderdonk_a(awg(12).area_m2, 1.0, 45.0))
    )
    # 12 AWG, 2.053 mm, from memory: 235 A by Preece
    assert copper["Melts at last, Preece (A)"] == pytest.approx(235, abs=1)
    clad = heat_tab.heat_table(heat_tab.compute(situation(SPEAKER, awg(12, METALS["cca_10"])))).iloc[0]
    assert np.isnan(clad["Melts in 1 s, Onderdonk (A)"])
    assert np.isnan(clad["Melts at last, Preece (A)"])


AT_EXTREMES: list[tuple[Conductor, dict[str, Any]]] = [
    (awg(-3), {}),
    (awg(26), {"length_m": 0.05, "parallel": 16, "loaded": 100, "ambient_c": -50.0}),
    (awg(-3), {"insulation": INSULATIONS["pvc_60"], "ambient_c": 60.0, "loaded": 7}),
    (awg(-3), {"length_m": 0.05, "parallel": 16, "loaded": 100, "ambient_c": -50.0}),
    (awg(26), {}),
    (awg(26), {"insulation": INSULATIONS["silicone_200"], "ambient_c": 120.0}),
    (awg(-3), {"insulation": INSULATIONS["silicone_200"], "ambient_c": 120.0}),
    (awg(26), {"insulation": INSULATIONS["pvc_60"], "ambient_c": 60.0, "loaded": 7}),
    (
        awg(-3),
        {"length_m": 100.0, "joints_ohm": 1.0, "ambient_c": 200.0, "ways": 1, "loaded": 1, "temperature_c": 250.0},
    ),
    (
        awg(26),
        {"length_m": 100.0, "joints_ohm": 1.0, "ambient_c": 200.0, "ways": 1, "loaded": 1, "temperature_c": 250.0},
    ),
]


@pytest.mark.parametrize(("this", "changes"), some_of(AT_EXTREMES, 4))
def test_every_run_at_every_extreme_is_shown_in_words(this: Conductor, changes: dict[str, Any]) -> None:
    tab = HeatTab()
    for run in (*ALL, *EXTREME):
        if suits(run, "Heat and fuse"):
            tab.show(situation(run, this, **changes))
            for chart in tab.charts.drawn:
                no_nan_outside_arrays(chart.figure.to_dict())
            words = shown(tab).lower().replace("information", "")
            assert " inf" not in words
            assert "nan" not in words
            assert ">inf" not in words


def test_one_show_is_one_computation_and_the_charts_stay() -> None:
    calls: list[RunRequest] = []

    def counted(asked: RunRequest) -> heat_tab.HeatAnswer:
        calls.append(asked)
        return heat_tab.compute(asked)

    tab = HeatTab(counted)
    tab.show(situation(SPEAKER))
    children = tab.view.children
    tab.show(situation(FEED, awg(4)))
    assert len(calls) == 2
    assert tab.view.children == children
    charts = tab.charts.drawn
    assert charts[0].data[0].x[-1] == "4 AWG<br>(this run)"
    np.testing.assert_allclose(charts[1].data[0].y, heat_tab.compute(calls[-1]).heat.warm_up.hot_c)


def test_labels_are_text_and_never_markup() -> None:
    tab = opened(SPEAKER, replace(awg(16), label="<b>16"))
    assert "<b>" not in tab.told.html + tab.fuse.html + tab.table.html
    assert "&lt;b&gt;16" in tab.told.html


OF_THE_TABLE = [
    (run, changes)
    for changes in ({}, {"ambient_c": 90.0, "loaded": 40, "parallel": 2})
    for run in (*ALL, *EXTREME)
    if not isinstance(run, runs.LineRun)
]


@pytest.mark.parametrize(("run", "changes"), some_of(OF_THE_TABLE, 10))
def test_every_number_of_the_table_opens(run: runs.Run, changes: dict[str, Any]) -> None:
    tab = opened(run, awg(16, METALS["tinned_copper"]), **changes)
    answer = heat_tab.compute(situation(run, awg(16, METALS["tinned_copper"]), **changes))
    by_key = numbers(tab.table.html)
    cells = re.findall(r"<td[^>]*>(.*?)</td>", tab.table.html)
    assert [cell for cell in cells if any(map(str.isdigit, cell)) and "data-ask" not in cell] == [
        html.escape(label) for label in heat_tab.labels(answer.heat.conductors)
    ]
    for key, text in by_key.items():
        column, place = key.split(":")
        working = tab.work(key)
        assert "<h3>Inputs</h3>" in working
        value = heat_tab.heat_table(answer).iloc[
            int(place), 1 + heat_tab.COLUMN_KEYS.index(column.replace("fuse_headroom_a", "fuse_a"))
        ]
        if np.isfinite(value):
            number, unit = f"{answered(working)} ".split(" ")[:2]
            small = {"µ": 1e-6, "n": 1e-9, "p": 1e-12}.get(unit[:1], 1.0)
            assert float(number) * small == pytest.approx(value, rel=6e-4)
            assert column == "temperature_c" or float(text) == pytest.approx(value, rel=6e-3)


def test_a_number_that_is_missing_says_why_or_is_not_asked() -> None:
    speaker = numbers(opened(SPEAKER, awg(16, METALS["cca_10"])).table.html)
    assert {key.split(":")[0] for key in speaker} == {"temperature_c", "current_a", "published_a", "balance_a"}
    thin = opened(FEED, awg(16))
    assert numbers(thin.table.html)["fuse_headroom_a:0"] == "none"
    assert "Room for a fuse" in thin.work("fuse_headroom_a:0")
    assert answered(thin.work("fuse_headroom_a:0")).startswith("-")
    hungry = opened(EXTREME[9], awg(22))
    assert numbers(hungry.table.html)["temperature_c:0"] == units.NO_VALUE
    assert answered(hungry.work("temperature_c:0")) == "no answer"


def test_a_click_is_answered_by_the_last_picture() -> None:
    tab = opened(SPEAKER)
    tab.table.ask("temperature_c:0")
    first = tab.table.working
    tab.show(situation(SPEAKER, ambient_c=60.0))
    tab.table.ask("temperature_c:0")
    assert tab.table.opened == 2
    assert "Ta = 60 °C" in tab.table.working
    assert "Ta = 60 °C" not in first


def test_one_thermometer_from_the_air_to_the_limit_with_music_and_full_power() -> None:
    panel = OneRunPanel()
    drawn = thermometer(panel.situation())
    asked = panel.situation().advice.asked
    assert asked is not None
    label = re.search("aria-label='([^']*)'", drawn.replace("&#x27;", ""))
    assert label is not None
    for words in (f"Air {45} °C", f"music {asked.usual_c:.0f} °C", f"full power for minutes {asked.full_c:.0f} °C"):
        assert words in label[1]
    full = next(form for form in FORMS if form.key == "subwoofer")
    panel.kind.value = full
    panel.form.power.text.value, panel.size.text.value = "2000 W", "14 AWG"  # type: ignore[attr-defined]
    assert "class='wc-over'" in thermometer(panel.situation())
    panel.kind.value = next(form for form in FORMS if form.key == "line")
    assert thermometer(panel.situation()) == ""


def test_bars_that_hardly_differ_are_a_sentence_and_no_chart() -> None:
    panel = OneRunPanel()
    tab = heat_tab.HeatTab()
    tab.show(panel.situation())
    assert "wc-shut" in tab.chart_box._dom_classes
    assert "every size compared stays between 45 and" in tab.little.value
    panel.more.insulation.value, panel.form.share.text.value = "pvc_80", "100 %"  # type: ignore[attr-defined]
    panel.form.power.text.value = "600 W"  # type: ignore[attr-defined]
    tab.show(panel.situation())
    assert "wc-shut" not in tab.chart_box._dom_classes
    assert tab.little.value == ""
