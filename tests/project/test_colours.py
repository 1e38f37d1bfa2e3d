"""Colours stand in one place, hold on light and on dark, and nothing is told by colour alone."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from coloraide import Color

from dashboards.panels.bench.bundle import BundlePanel
from dashboards.panels.bench.finished_run import FinishedRunPanel
from dashboards.panels.bench.identify import IdentifyPanel
from dashboards.panels.controls import colours
from dashboards.panels.controls.chart import Charts
from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED, looks
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.practice.lesson_tab import LessonTab
from dashboards.panels.show_and_hear import compare
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from tests.support.pages.schemes import DARK, LIGHT, PRINT
from tests.support.paths import ROOT
from wirecalc.practice.progress import LESSONS

DASHBOARDS = ROOT / "dashboards"
TOKENS = next(DASHBOARDS.rglob("tokens.css"))
FILES = sorted(
    path
    for path in DASHBOARDS.rglob("*")
    if path.suffix in (".py", ".css", ".js", ".j2", ".html")
    and path not in (TOKENS, DASHBOARDS / "panels/controls/colours.py")
)
NAMED = "black|white|gr[ea]y|silver|red|maroon|orange|yellow|olive|lime|green|teal|aqua|blue|navy|purple|pink|brown"
RAW = re.compile(
    r"#(?:[0-9a-f]{8}|[0-9a-f]{6}|[0-9a-f]{3,4})\b|\b(?:rgba?|hsla?)\("
    rf"""|(?:color|background|fill|stroke|border|outline|shadow)["']?\s*[:=]\s*["']?[^;"'{{}}]*\b(?:{NAMED})\b""",
    re.IGNORECASE,
)
TEXT = [  # what is written on what
    *itertools.product(("ink", "soft", "accent", "fault"), ("paper", "card")),
    *(("accent-ink", "accent"), ("fault", "fault-paper"), ("mind", "mind-paper"), ("ink", "head"), ("soft", "head")),
]
DRAWN = [*(name for name in LIGHT if re.match(r"(series|size)-", name)), "here", "good", "bad", "neutral"]


def contrast(colour: str, other: str) -> float:
    return Color(colour).contrast(other, method="wcag21")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_no_colour_stands_outside_the_tokens(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert [match[0] for match in RAW.finditer(text)] == []
    used = set(re.findall(r"var\(--wc-([\w-]+)\)", text))
    assert used <= LIGHT.keys()


def test_what_counts_as_a_colour() -> None:
    for raw in (
        "color: #fff",
        "'#3f86c9'",
        "rgba(0,0,0,0.3)",
        "border: 1px solid red",
        '"fill": "black"',
        "fill='white'",
    ):
        assert RAW.search(raw), raw
    for fine in (
        "var(--wc-ink)",
        "white-space: nowrap",
        "#rendered_cells h1",
        "border: 0; cursor: pointer",
        "#customer",
    ):
        assert not RAW.search(fine), fine


@pytest.mark.parametrize("scheme", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
def test_contrast_as_wcag_asks(scheme: Mapping[str, str]) -> None:
    """WCAG 2.1, 1.4.3: 4.5 to 1 for text; 1.4.11: 3 to 1 for what a picture needs to be understood (from memory)."""
    low = {pair: contrast(*(scheme[name] for name in pair)) for pair in TEXT}
    assert {pair: value for pair, value in low.items() if value < 4.5} == {}
    drawn = {(name, under): contrast(scheme[name], scheme[under]) for name in DRAWN for under in ("paper", "card")}
    assert {pair: value for pair, value in drawn.items() if value < 3} == {}


@pytest.mark.parametrize("sight", ["none", "protan", "deutan", "tritan"])
def test_series_stay_apart_for_the_colour_blind(sight: str) -> None:
    """By CIEDE2000, of which 2 or so is just seen side by side (from memory); simulated by coloraide: Viénot, Brettel
    and Mollon 1999 for red and green, Brettel, Viénot and Mollon 1997 for blue (as its documentation says)."""
    seen = [Color(colour) if sight == "none" else Color(colour).filter(sight) for colour in colours.SERIES]
    assert min(a.delta_e(b, method="2000") for a, b in itertools.combinations(seen, 2)) > 12


def test_any_ten_sizes_differ_in_grey() -> None:
    for first in range(len(OFFERED) - MOST_DRAWN + 1):
        drawn = looks(OFFERED[first : first + MOST_DRAWN])
        assert len({look.dash for look in drawn}) == len(drawn) == MOST_DRAWN
    for marks in (colours.SERIES, colours.DASHES, colours.SYMBOLS, colours.PATTERNS):
        assert len(set(marks)) == len(colours.SERIES)


def charts() -> Iterator[tuple[str, Charts]]:
    """Every chart of every page."""
    one_run = OneRunPanel()
    for _, form in one_run.kind.options:
        one_run.kind.value = form
        for title in one_run.bar.options:
            one_run.bar.value = title
            tab = one_run._made[title]
            of_tab = [value for value in vars(tab).values() if isinstance(value, Charts)]
            assert of_tab or title == "My cable", title  # which has pictures only
            yield from ((f"{form.__name__}, {title}", chart) for chart in of_tab)
    lesson = LessonTab(lambda key: None, lambda kind: None)
    for key in LESSONS:
        lesson.which.value = key
        yield f"lesson {key}", lesson.charts
    for panel in (BundlePanel(), FinishedRunPanel(), IdentifyPanel()):
        yield type(panel).__name__, panel.chart


def looks_of(trace: Mapping[str, Any]) -> tuple[Any, ...]:
    """What is left of a trace's looks without colour."""
    mode, line, marker = trace.get("mode", ""), trace.get("line", {}), trace.get("marker", {})
    kind = "bar" if trace["type"] == "bar" else "line" if "lines" in mode else "marks"
    thick = line.get("width", 2) >= 3.8
    pattern = trace.get("fillpattern", marker.get("pattern", {})).get("shape", "")
    symbol = marker.get("symbol", "circle") if "markers" in mode else ""
    return kind, line.get("dash", "solid"), thick, symbol, str(pattern), trace.get("fill", "")


def test_what_is_shown_at_once_differs_without_colour() -> None:
    seen = 0
    for where, shown in charts():
        for chart in shown.drawn:
            traces: Sequence[Mapping[str, Any]] = [
                trace for trace in chart.traces if trace.get("visible", True) and trace.get("showlegend", True)
            ]
            told = [looks_of(trace) for trace in traces]
            assert len(set(told)) == len(told), (where, [trace.get("name") for trace in traces], told)
            seen += len(told)
    assert seen > 150


def test_where_the_watts_go_is_told_by_lines_too() -> None:
    panel = ShowAndHearPanel()
    keys = re.findall(r"<li>(<svg.*?</svg>)", panel.picture.value)[:4]
    assert len({re.sub(r"fill='#\w+'", "", key) for key in keys}) == 4 == len(compare._PARTS)
