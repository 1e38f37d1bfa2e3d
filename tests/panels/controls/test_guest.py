"""What a panel brings to a page that is not ours: what is large once a kernel, and no style that reaches beyond it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from ipywidgets.widgets import widget as every_widget

from dashboards.panels.acts import guest
from dashboards.panels.one_run.page import OneRunPanel
from tests.support.paths import ROOT

PANELS = ROOT / "dashboards" / "panels"
BESIDE = re.compile(r'_css = Path\(__file__\)\.with_name\("(.+)"\)')
SHEETS: list[Path] = sorted(
    {path.with_name(name) for path in PANELS.rglob("*.py") for name in BESIDE.findall(path.read_text("utf-8"))}
)


def selectors(css: str) -> list[str]:
    """Of every rule, those in @media too."""
    css = re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)
    heads = [re.split(r"[;}]", part)[-1].strip() for part in css.split("{")[:-1]]
    return [
        selector.strip()
        for head in heads
        if not head.startswith("@media")
        for selector in re.split(r",(?![^(]*\))", head)
    ]


@pytest.mark.parametrize("css", [guest.styles(), *(path.read_text("utf-8") for path in SHEETS)])
def test_every_rule_has_a_name_of_ours(css: str) -> None:
    in_sheet = selectors(css)
    assert in_sheet
    assert [selector for selector in in_sheet if ".wc-" not in selector] == []


def test_a_rule_without_one_would_be_found() -> None:
    assert selectors("@media print { .a, .wc-b { x: y; } } /* { */ :is(.c, .d) p { x: y }") == [
        ".a",
        ".wc-b",
        ":is(.c, .d) p",
    ]


def test_what_is_large_comes_once() -> None:
    """A first panel brings it, in this test or in one before; another brings nothing large of its own."""
    assert len(SHEETS) >= 6
    first = OneRunPanel()
    names = [type(widget).__name__ for widget in every_widget._instances.values()]
    assert (names.count("Guest"), names.count("_Plotly")) == (1, 1)
    before = set(every_widget._instances)
    assert OneRunPanel().view.model_id != first.view.model_id
    sizes = [
        sum(len(text) for text in widget.get_state().values() if isinstance(text, str))
        for key, widget in every_widget._instances.items()
        if key not in before
    ]
    assert len(sizes) > 50
    assert max(sizes) < 30_000  # characters
