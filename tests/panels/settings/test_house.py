"""House rules of a page: kept by the browser, brought by a link, and what is said of either."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from dashboards.panels.settings.house import House, from_bytes, to_bytes
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults, InputError

USUAL = HouseRules.from_table()
KEY, OTHER = "least_size/load///AWG", "taste_band/limit of taste/borderline//"
MINE, THEIRS = USUAL.replace(KEY, "14"), USUAL.replace(KEY, "12").replace(OTHER, "2")


class Tab:
    """A page with rules, its browser's storage shared with other tabs."""

    def __init__(self, stored: dict[str, str]) -> None:
        self.drawn: list[HouseRules] = []
        self.house = House(lambda: self.drawn.append(self.house.rules))
        self.stored = stored
        self.house.kept.observe(self._keep, "kept")

    def _keep(self, change: dict[str, tuple[int, str]]) -> None:
        self.stored["house rules"] = change["new"][1]

    def hear(self) -> None:
        """As kept.js sends it."""
        heard = {"text": self.stored.get("house rules", ""), "after": self.house.kept.kept[0]}
        self.house.kept._came(None, heard, [])


@pytest.fixture
def tabs() -> Callable[[], Tab]:
    stored: dict[str, str] = {}
    return lambda: Tab(stored)


def test_a_change_is_kept_for_the_next_page_and_heard_by_another_tab(tabs: Callable[[], Tab]) -> None:
    first, other = tabs(), tabs()
    first.house.put(MINE)
    other.hear()
    assert other.drawn == [MINE]
    assert "1 changed" in other.house.note.value
    later = tabs()
    later.hear()
    assert later.house.rules == MINE
    first.house.put(USUAL)
    other.hear()
    assert other.house.rules == USUAL
    assert first.stored["house rules"] == ""


def test_a_links_rules_win_until_the_person_chooses(tabs: Callable[[], Tab]) -> None:
    for first_heard in (True, False):
        tab = tabs()
        tab.stored["house rules"] = to_bytes(MINE).decode()
        if first_heard:
            tab.hear()
        tab.house.packed.take(to_bytes(THEIRS))
        if not first_heard:
            tab.hear()
        assert tab.house.rules == THEIRS
        assert "2 differ from yours" in tab.house.note.value
        assert tab.stored["house rules"] == to_bytes(MINE).decode()  # untouched
        assert "wc-shut" not in tab.house.choice._dom_classes
    tab.house.use_mine.click()
    assert tab.house.rules == MINE == tab.drawn[-1]
    assert "wc-shut" in tab.house.choice._dom_classes


def test_a_links_rules_may_become_ones_own(tabs: Callable[[], Tab]) -> None:
    tab = tabs()
    tab.house.packed.take(to_bytes(THEIRS))
    assert "2 differ from the defaults" in tab.house.note.value
    drawn = list(tab.drawn)
    tab.house.keep_these.click()
    assert tab.house.mine == THEIRS
    assert from_bytes(tab.stored["house rules"].encode(), "") == THEIRS
    assert tab.drawn == drawn  # the same rules hold as before
    tab.house.keep_these.click()  # pressed twice


def test_what_is_changed_while_a_links_rules_hold_is_not_kept(tabs: Callable[[], Tab]) -> None:
    tab = tabs()
    tab.house.packed.take(to_bytes(THEIRS))
    tab.house.put(THEIRS.replace(KEY, "10"))
    assert tab.stored == {}
    assert tab.house.rules.rule("least_size", "load", unit="AWG").value == "10"
    tab.house.put(USUAL)
    assert tab.house.brought is None


def test_a_link_with_ones_own_rules_says_nothing(tabs: Callable[[], Tab]) -> None:
    tab = tabs()
    tab.house.packed.take(to_bytes(MINE))
    tab.stored["house rules"] = to_bytes(MINE).decode()
    tab.hear()
    assert tab.house.brought is None
    assert tab.drawn == []  # the same rules all along


@pytest.mark.parametrize(
    "text", ["{", "[1]", "null", '{"least_size/load///AWG": 14}', "\ud800", "[" * 100_000, json.dumps({"a": "b" * 600})]
)
def test_damaged_text_falls_back_to_the_defaults_with_a_word(tabs: Callable[[], Tab], text: str) -> None:
    tab = tabs()
    tab.stored["house rules"] = text
    tab.hear()
    assert tab.house.rules == USUAL
    assert "role='alert'" in tab.house.note.value
    assert tab.stored["house rules"] == text  # until something is changed
    tab.house.put(MINE)
    assert "role='alert'" not in tab.house.note.value
    with pytest.raises(InputError):
        from_bytes(text.encode("utf-8", "replace"), "Address")


def test_of_what_was_kept_the_usable_is_used_and_the_rest_is_said(tabs: Callable[[], Tab]) -> None:
    tab = tabs()
    kept = {KEY: "14", "no such rule": "1", OTHER: "<b>9"}
    tab.stored["house rules"] = json.dumps(kept)
    tab.hear()
    assert tab.house.rules == MINE
    assert "no such rule" in tab.house.note.value
    assert "<b>" not in tab.house.note.value
    with pytest.raises(FileFaults) as caught:
        from_bytes(json.dumps(kept).encode(), "Address")
    assert len(caught.value.faults) == 2


def test_a_browser_that_keeps_nothing_is_said() -> None:
    house = House()
    house.kept._came(None, {"refused": True}, [])
    assert "keeps nothing" in house.note.value
