"""No page shows a digit that decides nothing: two decimals of a decibel or a volt, no powers of ten.

A limit of 0.4 dB is told from 0.49 dB by two decimals; a third is below what a joint or a warm day changes (common
practice, no source). The working behind a number, which opens at a press, has the four digits to follow it.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from tests import some_of
from tests.support.pages import plan_panel
from tests.support.pages.shown import tables, words
from wirecalc.jobs import JOBS
from wirecalc.practice.kinds import KINDS, problem

IDLE = re.compile(r"(?<![\d.])\d+\.\d{3,}\s?(?:dB|V|kA|kHz|°C|%)(?![\w²])|\d(?:\.\d+)?e[+−-]?\d+")
PHYSICS = ("0.393 %",)  # how much copper's resistance gains with a degree: a constant that a problem gives
DECIDING = re.compile(r"\((?:dB|V)\)$")


def idle(panel: Any) -> list[str]:
    """What has too many digits, in words and under heads with a unit."""
    idle_digits = IDLE.findall(words(panel))
    for heads, rows in tables(panel):
        for at, head in enumerate(heads):
            if DECIDING.search(head):
                idle_digits += [f"{head}: {row[at]}" for row in rows if re.search(r"\.\d{3}", row[at])]
    return idle_digits


@pytest.mark.parametrize(("size", "length"), some_of([("22 AWG", "9 m"), ("1/0 AWG", "0.3 m"), ("12 AWG", "5.5 m")], 1))
def test_one_run(size: str, length: str) -> None:
    panel, seen = OneRunPanel(), 0
    for title, form in panel.kind.options:
        panel.kind.value = form
        panel.size.text.value, panel.length.text.value = size, length
        for tab in panel.bar.options:
            panel.bar.value = tab
            assert idle(panel.view) == [], (title, tab)
            seen += 1
    assert seen > 30


@pytest.mark.parametrize("job", some_of(JOBS, 3))
def test_a_whole_vehicle(job: str) -> None:
    panel = plan_panel.of_job(job)
    for tab in panel.bar.options:
        panel.bar.value = tab
        assert idle(panel.view) == [], tab


def test_show_and_hear() -> None:
    assert idle(ShowAndHearPanel().view) == []


@pytest.mark.parametrize("kind", KINDS)
def test_practice_problems(kind: str) -> None:
    for number in range(1, 9):
        text = problem(kind, number).drawn.text
        assert [digits for digits in IDLE.findall(text) if digits not in PHYSICS] == []


def test_the_search_finds_idle_digits() -> None:
    table = "<table><tr><th>Level lost (dB)</th></tr><tr><td>0.0078</td></tr></table>"
    shown = type("Shown", (), {"html": f"<p>It loses 0.0936 dB, 2.61e−08 dB more.</p>{table}"})()
    assert idle(shown) == ["0.0936 dB", "2.61e−08", "Level lost (dB): 0.0078"]
