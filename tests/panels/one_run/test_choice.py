"""The tab Which size? and the decision without a browser: what to pull, and what every other size does not keep."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run.choice import ChoiceTab, _cell, chart, compute, drawn, sentence, tables_html
from dashboards.panels.one_run.decision import decision
from dashboards.panels.one_run.length import NO_CHART, LengthTab
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.one_run.request import RunRequest
from tests.support.sentences import read
from wirecalc.advice.table import EverySize
from wirecalc.runs.factory import FactoryRun


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    return OneRunPanel()


def now(panel: OneRunPanel, form: Any = FORMS[0]) -> RunRequest:
    panel.kind.value = form
    return panel.situation()


def sizes_of(situation: RunRequest, counts: tuple[int, ...] = (1,)) -> EverySize:
    sizes = compute(situation, counts).sizes
    assert sizes is not None
    return sizes


JUDGED = [form for form in FORMS if form.of_kind.has_heat]


@pytest.mark.parametrize("form", JUDGED, ids=lambda form: form.title)
def test_the_least_keeps_all_and_every_thinner_one_breaks_one(panel: OneRunPanel, form: Any) -> None:
    sizes = sizes_of(now(panel, form))
    assert sizes.least is not None
    assert all(held.kept[sizes.least] for held in sizes.held)
    for at in range(sizes.least):
        assert not all(held.kept[at] for held in sizes.held)


@pytest.mark.parametrize("form", JUDGED, ids=lambda form: form.title)
def test_words_chart_and_table_of_every_kind(panel: OneRunPanel, form: Any) -> None:
    situation = now(panel, form)
    tab = ChoiceTab()
    tab.show(situation)
    sizes = sizes_of(situation)
    text = sentence(compute(situation, (1,)))
    assert "airbag" in text  # where the wire is decided on, not in a footer
    assert "Local codes" in text
    assert ("450 mm" in text) == (form.title == "Battery to amplifier")
    traces, _ = chart(sizes)
    for row, held in enumerate(drawn(sizes)):
        used = np.array(traces[row]["y"])
        assert traces[row]["name"] == held.limit.name
        assert np.array_equal(np.array(traces[row]["customdata"]) == "over ", held.share > 10)  # of what is cut off
        inside = (used < 999) & (used > 1)  # the drawing is cut off at its ends
        assert np.array_equal(used[inside] <= 100 + 1e-6, held.kept[inside])
    shown = tables_html(sizes)
    assert shown.count("<span class='wc-sign' aria-hidden='true'>") >= len(sizes.states)
    assert "pull this" in shown
    first = shown.partition("<details")[0]
    assert first.count("<tr class=") <= 3 + (sizes.asked is not None)  # the pick and its neighbours
    for at, held in ((at, held) for at in range(len(sizes.states)) for held in sizes.held):
        if np.isfinite(held.values[at]) and np.isfinite(held.share[at]):  # the bar ends at the limit: 80 of 100
            width = float(re.search(r"class='wc-part' width='([0-9.]+)'", _cell(held, at).markup)[1])  # type: ignore
            assert (width <= 80.05) == bool(held.kept[at])
    for held in sizes.held:
        assert "Inputs" in tab.work(f"{held.limit.measure}:{sizes.pull}")


def test_a_line_signal_gets_no_gauge(panel: OneRunPanel) -> None:
    situation = now(panel, next(form for form in FORMS if form.key == "line"))
    tab = ChoiceTab()
    tab.show(situation)
    assert tab.table.html == ""
    assert "No gauge is judged here" in read(tab.told.html)
    assert "No gauge is judged here" in decision(situation)
    assert "4/0" not in decision(situation)


def test_a_factory_signal_is_told_what_matters_and_the_thinnest_for_handling(panel: OneRunPanel) -> None:
    situation = now(panel, next(form for form in FORMS if form.key == "factory"))
    assert "no thinner than 18 AWG for handling" in decision(situation)
    assert "wc-no-gauge" in decision(situation)
    length = LengthTab(work=lambda key: key)
    length.show(situation)
    assert NO_CHART in length.told.html  # where it would be flat, words in its place
    assert "Never join either wire to ground" in length.told.html
    assert length.charts.drawn == ()
    assert isinstance(situation.run, FactoryRun)
    length.show(replace(situation, run=replace(situation.run, input_ohm=20.0)))  # with a load resistor it tells
    assert NO_CHART not in length.told.html
    assert length.charts.drawn[0].layout.title.text == "Level lost by length"
    panel._put_into("mm2")
    assert "no thinner than 0.75 mm² for handling" in decision(panel.situation())


def test_a_stricter_limit_takes_more_metal(panel: OneRunPanel) -> None:
    now(panel)
    panel.bar.value = "Which size?"
    chosen = []
    entry = panel.limits.fields["loss-db"]
    for bound in ("1", "0.3", "0.1"):
        entry.text.value = bound
        pull = panel.situation().advice.pull
        assert pull is not None
        chosen.append(pull.candidate.conductor.area_m2)
    assert chosen == sorted(chosen)
    assert chosen[0] < chosen[-1]
    entry.text.value = "0.4"
    panel.bar.value = "Length"


def test_the_page_says_the_fault_and_keeps_the_last_limit(panel: OneRunPanel) -> None:
    now(panel)
    panel.bar.value = "Which size?"
    tab = panel._made["Which size?"]
    assert isinstance(tab, ChoiceTab)
    entry = panel.limits.fields["loss-db"]
    before = read(tab.told.html)
    entry.text.value = "-3"
    assert "role='alert'" in entry.note.value
    assert read(tab.told.html) == before
    entry.text.value = "0.05"
    assert read(tab.told.html) != before
    assert "over by" in tab.table.html
    entry.text.value = "0.4"
    assert read(tab.told.html) == before
    panel.bar.value = "Length"


def test_the_head_units_own_limit_is_held(panel: OneRunPanel) -> None:
    form = next(form for form in FORMS if form.title == "Remote turn-on")
    now(panel, form)
    panel.form.draw.text.value = "400 mA"  # type: ignore[attr-defined]
    assert panel.situation().advice.least is None  # no wire helps a head unit that gives too little
    panel.form.limit.text.value = "1 A"  # type: ignore[attr-defined]
    assert panel.situation().advice.least is not None
    panel.form.draw.text.value = "150 mA"  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("size", "state", "sign"),
    [("16 AWG", "This run is fine", "✓"), ("18 AWG", "18 AWG is too thin", "✗"), ("12 AWG", "12 AWG is fine too", "✓")],
)
def test_the_decision_comes_first_with_its_sign(panel: OneRunPanel, size: str, state: str, sign: str) -> None:
    now(panel)
    panel.size.text.value = size
    page_text = read(panel.decision.html)
    assert "Pull 16 AWG." in page_text
    assert state in page_text
    assert sign in page_text
    assert panel.view.children[0].children[0] is panel.decision  # before figures, charts and entries
    assert "airbag" in page_text
    panel.size.text.value = "16 AWG"


def test_a_subwoofer_is_held_at_a_steady_tone(panel: OneRunPanel) -> None:
    """2000 W at 1 ohm over 2 m: 14 AWG was called enough, and a sine took it to 231 degC."""
    now(panel, next(form for form in FORMS if form.key == "subwoofer"))
    form: Any = panel.form
    for box, text in ((form.power, "2000 W"), (form.rated, "1"), (form.load, "1")):
        box.text.value = text
    panel.length.text.value, panel.size.text.value = "2 m", "14 AWG"
    page_text = read(panel.decision.html)
    assert "14 AWG is too thin: conductor at the most for minutes" in page_text
    pull = panel.situation().advice.pull
    assert pull is not None
    assert pull.full_c <= 80


def test_a_feed_passes_the_bay_unless_places_are_said(panel: OneRunPanel) -> None:
    situation = now(panel, next(form for form in FORMS if form.key == "feed"))
    assert situation.stretches[0].zone == "battery_side"
    assert situation.place.insulation.limit_c == 105
    panel.length.text.value = "5 m"
    panel.more.places.text.value = "engine bay 1 m; sill 3 m; boot 1 m"
    stretches = panel.situation().stretches
    assert [(stretch.zone, stretch.length_m) for stretch in stretches] == [
        ("engine_bay", 1.0),
        ("sill", 3.0),
        ("boot", 1.0),
    ]
    panel.more.places.text.value = "sill 3 m; boot 1 m"  # a metre is missing
    assert "4 m in all" in panel.alert.value
    panel.more.places.text.value = ""
    assert panel.alert.value == ""


def test_a_terminal_is_a_bound(panel: OneRunPanel) -> None:
    now(panel, next(form for form in FORMS if form.key == "feed"))
    panel.form.power.text.value = "1000 W"  # type: ignore[attr-defined]
    panel.more.terminal.text.value = "8 AWG"
    pull = panel.situation().advice.pull
    assert pull is not None
    assert pull.candidate.parallel > 1
    assert pull.candidate.conductor.label == "8 AWG"
    panel.more.terminal.text.value = ""
    panel.form.power.text.value = "500 W"  # type: ignore[attr-defined]


def test_where_no_wire_serves_the_page_says_why_and_what_helps() -> None:
    panel = OneRunPanel()
    panel.more.insulation.value = "pvc_80"
    panel.more.zone.value = "engine_bay"
    page_text = read(panel.decision.html)
    assert (
        "No size keeps every rule of safety here: the air of 90 °C (engine bay, beside the engine) is over" in page_text
    )
    assert f"{panel.situation().label} does not do either: " in page_text
    assert "Take wire whose insulation stands more than 90 °C" in page_text
    assert "too thin" not in page_text
