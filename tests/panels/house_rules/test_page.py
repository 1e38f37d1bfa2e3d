"""The page of the house rules, without a browser."""

from __future__ import annotations

import csv
import io
from urllib.parse import urlencode

import pytest

from dashboards.panels.controls.files import Download
from dashboards.panels.controls.packed import pack
from dashboards.panels.house_rules.page import CHANGED, HouseRulesPanel
from dashboards.panels.settings.house import to_bytes
from dashboards.panels.settings.rule_list import TITLES
from wirecalc.advice.house_rules import HouseRules, by_rule

USUAL = HouseRules.from_table()
KEY, BAND = "least_size/load///AWG", "taste_band/limit of taste/borderline//"


@pytest.fixture
def panel() -> HouseRulesPanel:
    return HouseRulesPanel()


def saved(panel: HouseRulesPanel) -> bytes:
    """The file that the button makes."""
    assert isinstance(panel.save, Download)
    return panel.save.make()[1]


def read(panel: HouseRulesPanel, content: bytes) -> str:
    panel.open.take({"name": "rules.csv", "size": len(content), "content": content})
    return panel.open.note


def test_every_sort_has_a_title_and_every_rule_a_box(panel: HouseRulesPanel) -> None:
    assert set(TITLES) == {sort for sort, _ in by_rule(USUAL)}
    rows = [row for group in panel.list.groups for row in group["rows"]]
    assert [row["key"] for row in rows] == [rule.key for rule in USUAL.rules]
    assert len({(row["label"], row["what"], row["unit"]) for row in rows}) == len(rows)  # no two boxes of one name
    assert all(len(row["why"]) == 2 and all(row["why"]) for row in rows)


def test_a_choice_offers_what_can_be_used(panel: HouseRulesPanel) -> None:
    offered = {row["key"]: row["options"] for group in panel.list.groups for row in group["rows"] if row["options"]}
    assert offered
    for key, options in offered.items():
        for value, _ in options:
            panel.list.type(key, value)
            assert panel.list.shown[key]["fault"] == ""


def test_a_change_is_marked_with_the_default_and_put_back(panel: HouseRulesPanel) -> None:
    panel.list.type(KEY, " 14 ")
    assert panel.list.shown[KEY] == {"text": "14", "usual": "18", "fault": ""}
    assert f"1 of {len(USUAL.rules)}" in panel.headline.value
    assert panel.house.kept.text == to_bytes(USUAL.replace(KEY, "14")).decode()
    panel.list.take({"back": KEY})
    assert panel.list.shown[KEY] == {"text": "18", "usual": None, "fault": ""}
    assert panel.house.kept.text == ""


def test_what_cannot_be_used_stays_in_its_box_and_the_last_good_value_holds(panel: HouseRulesPanel) -> None:
    panel.list.type(KEY, "14")
    panel.list.type(KEY, "thick")
    panel.list.type(BAND, "2")  # another one is drawn
    assert panel.list.shown[KEY]["text"] == "thick"
    assert "didn’t understand “thick”;" in panel.list.shown[KEY]["fault"]  # as typed, without the unit beside the box
    assert panel.house.rules.rule("least_size", "load", unit="AWG").value == "14"
    panel.list.type(KEY, "12")
    assert panel.list.shown[KEY]["fault"] == ""
    panel.list.type(KEY, "9" * 10_000)
    assert "at most 500 characters" in panel.list.shown[KEY]["fault"]


def test_all_back(panel: HouseRulesPanel) -> None:
    assert panel.all_back.disabled
    panel.list.type(KEY, "14")
    panel.list.type(BAND, "x")
    panel.all_back.click()
    assert panel.house.rules == USUAL
    assert panel.list.shown[BAND]["fault"] == ""
    assert panel.all_back.disabled


def test_a_saved_file_brings_the_rules_back(panel: HouseRulesPanel) -> None:
    panel.list.type(KEY, "14")
    content = saved(panel)
    panel.all_back.click()
    assert "role='alert'" not in read(panel, content)
    assert panel.house.rules == USUAL.replace(KEY, "14")


def test_every_fault_of_a_file_is_said_by_row_and_the_last_good_rules_stay(panel: HouseRulesPanel) -> None:
    panel.list.type(KEY, "14")
    rows = list(csv.reader(io.StringIO(saved(panel).decode("utf-8-sig"))))
    at = rows[0].index("value")
    rows[2][at], rows[5][at] = "thick", "-1"
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    message = read(panel, out.getvalue().encode())
    assert "Row 3" in message
    assert "Row 6" in message
    assert panel.house.rules == USUAL.replace(KEY, "14")


def test_the_address_has_the_rules_and_what_is_shown(panel: HouseRulesPanel) -> None:
    panel.list.type(KEY, "14")
    panel.which.value = CHANGED
    panel.address._write()
    other = HouseRulesPanel()
    other.address.take({"came": panel.address.query, "hash": panel.address.fragment})
    assert other.address.note == ""
    assert other.which.value == CHANGED
    assert other.list.shown[KEY] == panel.list.shown[KEY]
    assert "This link brings its own" in other.house.note.value


def test_a_damaged_link_is_said_and_changes_nothing(panel: HouseRulesPanel) -> None:
    for content in (b"[]", b'{"no such": "1", "least_size/load///AWG": "x"}'):
        panel.address.take({"came": "", "hash": urlencode({"house": pack(content)})})
        assert "role='alert'" in panel.address.note
        assert panel.house.rules == USUAL
