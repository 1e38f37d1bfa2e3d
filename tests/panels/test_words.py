"""What the pages say: an installer's words, no internal names, no statistics, "an" before 8, 11 and 18."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from typing import Any

import pytest

from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.house_rules.page import HouseRulesPanel
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.show_and_hear.page import ShowAndHearPanel

PAGES = (OneRunPanel, BenchPanel, ShowAndHearPanel, PracticePanel, HouseRulesPanel)
BANNED = (
    "cannot be used", "A amplifier", "of the kind body", "Look at the top", "Take the wire in row", "loudspeaker",
    "Rated into", "all coils on this run together", "less at the load", "damping at the load", "Quick bound",
    "Level lost against length", "Sizes drawn", "keeps all", "broken only", "worst first",
    "room for a fuse: short by", "No standard fuse fits this wire here", "wire for hotter use", "belongs into",
    "with more metal than it needs", "Most level loss", "Least damping factor", "under the middle",
    "highest less lowest", "furthest from no wire", "Worked out before", "What was put in", "hardly in a song",
    "pay little for it", "parted by", "What is pulled for it", "the one that carries most", "pull a discrete pair",
    "of that of level loss", "no source (common practice)", "unmarked PVC", "class D with its converter",
    "Nothing read yet", "No reading that tells an area", "taken to 2 %", "bundle at its best",
    "the gates used here", "fuse before it", "hangs on", "chi-square", "degrees of freedom",
)  # fmt: skip
"""The first column of the list of words that were heard as a programmer's; what is said instead is in the pages."""
OTHERS = {
    "an internal name": re.compile(r"\b[a-z]+_[a-z0-9]+\b"),
    "a before a vowel": re.compile(r"\b[Aa] (?:8|11|18)\b(?![-/])|\b[Aa]n (?:[1-79]|10|12|14|16|20)\b"),
    "statistics": re.compile(r"\b\d[\d.]* bits?\b|\bOne bit\b"),
    "an exponent": re.compile(r"\d[eE][-−]\d"),
}
TEXTS = ("value", "html", "description", "label", "note", "title")


def texts_of(widget: Any, seen: set[int]) -> Iterator[str]:
    """What a widget and all in it show."""
    if id(widget) in seen:
        return
    seen.add(id(widget))
    for name in TEXTS:
        # of a list the value is a key that nobody sees
        text = "" if name == "value" and hasattr(widget, "labels") else getattr(widget, name, None)
        if isinstance(text, str):
            yield html.unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", text, flags=re.DOTALL))
            yield from re.findall(r"aria-label='([^']*)'", text)
    yield from getattr(widget, "labels", ())
    for chart in getattr(widget, "drawn", ()):
        yield re.sub(r"[\"'{}\[\]]", " ", str({key: chart.settings.get(key) for key in ("title", "meta")}))
    for child in getattr(widget, "children", ()):
        yield from texts_of(child, seen)


def states(page: type) -> Iterator[Any]:
    """The page with each of its tabs, and One run with each kind of circuit."""
    panel = page()
    kinds = panel.kind.pairs if isinstance(panel, OneRunPanel) else [("", None)]
    for _, kind in kinds:
        if kind is not None:
            panel.kind.value = kind
        for _, tab in panel.bar.pairs if hasattr(panel, "bar") else [("", None)]:
            if tab is not None:
                panel.bar.value = tab
            yield panel


@pytest.mark.parametrize("page", PAGES)
def test_only_an_installers_words_are_said(page: type) -> None:
    jargon = set()
    for panel in states(page):
        for text in texts_of(panel.view, set()):
            low = text.casefold()
            jargon |= {(word, _beside(low, word.casefold())) for word in BANNED if word.casefold() in low}
            for name, pattern in OTHERS.items():
                jargon |= {(name, text[max(hit.start() - 30, 0) : hit.end() + 20]) for hit in pattern.finditer(text)}
    assert sorted(jargon) == []


def _beside(text: str, word: str) -> str:
    at = text.index(word)
    return text[max(at - 30, 0) : at + len(word) + 20]
