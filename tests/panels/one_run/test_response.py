"""The tab Response without a browser, for either kind of run: one change is one sum, and no chart is ever replaced."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED
from dashboards.panels.one_run.page import suits
from dashboards.panels.one_run.response import ResponseTab
from tests.support.pages.response_tab import AMPLIFIER, LINE, SPEAKER, WOOFER, Shown, situation
from wirecalc import runs
from wirecalc.circuits import response, supply


@pytest.fixture
def speaker() -> Shown:
    return Shown(situation())


def test_it_suits_runs_that_carry_sound() -> None:
    tab = ResponseTab()
    assert tab.title == "Response"
    assert suits(SPEAKER, "Response")
    assert suits(runs.SubwooferRun(amplifier=AMPLIFIER, load_ohm=2.0), "Response")
    assert suits(LINE, "Response")
    assert not suits(runs.TurnOnRun(draw_a=0.1, supply_v=12, limit_a=0.3, least_v=9), "Response")
    feed = runs.FeedRun(rated_w=500, amplifier_class=next(iter(supply.CLASSES.values())), supply_v=14.4)
    assert not suits(feed, "Response")


def test_one_change_is_one_computation(speaker: Shown) -> None:
    tab = speaker.tab
    assert len(speaker.asked) == 1
    changes: list[tuple[Any, Any]] = [
        (tab.speaker.load, WOOFER),
        (tab.speaker.load, "own"),
        (tab.speaker.coils, "series"),
    ]
    changes += [(tab.speaker.dielectric, "pe"), (tab.speaker.load, "file"), (tab.speaker.load, "own")]
    entries = (
        tab.speaker.re,
        tab.speaker.le,
        tab.speaker.fs,
        tab.speaker.qes,
        tab.speaker.qms,
        tab.speaker.semi,
        tab.speaker.exponent,
        tab.speaker.vas,
        tab.speaker.box,
    )
    texts = ("5", "1", "50", "1", "4", "1", "1", "9", "9")
    changes += [(entry.text, text) for entry, text in zip(entries, texts, strict=True)]
    changes += [
        (entry.text, "2") for entry in (tab.speaker.series, tab.speaker.parallel, tab.speaker.gap, tab.speaker.wall)
    ]
    for count, (widget, value) in enumerate(changes, start=2):
        widget.value = value
        assert len(speaker.asked) == count
    speaker.here = situation(LINE)
    speaker.show()
    for entry in (
        tab.line.ripple,
        tab.line.ripple_hz,
        tab.line.along,
        tab.line.distance,
        tab.line.spacing,
        tab.line.pitch,
    ):
        count = len(speaker.asked)
        entry.text.value = "3"
        assert len(speaker.asked) == count + 1


def test_charts_stay_where_they_are_with_as_many_traces(speaker: Shown) -> None:
    """Taken out and put back, a chart would be drawn on a view that is no more."""
    parts = speaker.tab.view.children
    assert len(speaker.tab.charts.drawn) == 1  # one impedance at all frequencies is no picture
    speaker.tab.speaker.load.value = "own"
    counts = [len(chart.data) for chart in speaker.tab.charts.drawn]
    impedance = speaker.beside.figure.to_dict()["layout"]
    speaker.here = replace(situation(), others=(None,) * len(OFFERED))
    speaker.show()
    assert not any(trace.visible for trace in speaker.level.data[:MOST_DRAWN])
    speaker.here = situation(LINE)
    speaker.show()
    assert "Picked up (mV)" in speaker.tab.table.html
    assert speaker.tab.speaker.load not in speaker.tab.entries.children
    assert speaker.beside.layout.title.text == "Picked up from a supply wire"
    assert "(mm)" in speaker.beside.layout.xaxis.title.text
    speaker.here = situation()
    speaker.show()
    assert speaker.beside.figure.to_dict()["layout"] == impedance  # nothing of the other drawing is left
    assert all(now is was for now, was in zip(speaker.tab.view.children, parts, strict=True))
    assert [len(chart.data) for chart in speaker.tab.charts.drawn] == counts


def test_each_line_has_its_name_at_its_end(speaker: Shown) -> None:
    """This run's first and bold; one name for all where the lines lie on one another."""
    assert next(line["text"] for line in speaker.level.layout.annotations) == f"<b>{speaker.here.label}</b>"
    ends = {line["text"] for line in speaker.level.layout.annotations}
    shown = {line.name for line in speaker.level.data[:MOST_DRAWN] if line.visible}
    assert ends == {f"<b>{speaker.here.label}</b>", *shown - {speaker.here.label}}
    speaker.here = situation(LINE)
    speaker.show()
    assert [line["text"] for line in speaker.level.layout.annotations] == ["<b>all sizes</b>"]


def test_cautions_of_the_page_are_repeated_as_text(speaker: Shown) -> None:
    speaker.here = situation(cautions=("<i>2 Ω is below 4 Ω</i>",))
    speaker.show()
    assert "wc-caution" in speaker.tab.words.html
    assert "&lt;i&gt;2 Ω" in speaker.tab.words.html


def test_a_flat_run_is_drawn_flat(speaker: Shown) -> None:
    speaker.here = situation(length_m=0.05)
    speaker.show()
    low, high = speaker.level.layout.yaxis.range
    assert low < -0.1
    assert high > 0
    assert float(speaker.curve().min()) > -0.02
    assert speaker.level.layout.xaxis.type == "log"
    assert 10 ** np.array(speaker.level.layout.xaxis.range) == pytest.approx([response.LOWEST_HZ, response.HIGHEST_HZ])
