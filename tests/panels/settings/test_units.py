"""The unit that the browser keeps."""

from __future__ import annotations

from typing import Any

import pytest

from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.controls.fields import LengthEntry, PerLengthEntry
from dashboards.panels.controls.sizes import in_system
from dashboards.panels.house_rules.page import HouseRulesPanel
from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.settings.units import SizeSystem, Units
from dashboards.panels.show_and_hear.page import ShowAndHearPanel


def press(units: Units | SizeSystem, words: str) -> None:
    """As a person does."""
    units.take({"label": words, "at": 0})


def hear(units: Units | SizeSystem, text: str) -> None:
    """As kept.js sends it."""
    units.kept._came(None, {"text": text, "after": units.kept.kept[0]}, [])


def test_what_is_pressed_is_kept_and_what_a_link_brings_is_not() -> None:
    units = Units()
    units.value = True  # as a link does
    assert units.kept.text == ""
    press(units, "Metres")
    assert units.kept.text == "metres"
    press(units, "Feet")
    assert units.kept.text == "feet"


@pytest.mark.parametrize(("text", "feet"), [("feet", True), ("metres", False), ("", False), ("{furlongs", True)])
def test_what_is_kept_holds_on_every_page_and_noise_changes_nothing(text: str, feet: bool) -> None:
    units = Units()
    hear(units, "feet")
    hear(units, text)
    assert units.value == feet


def test_a_page_writes_its_lengths_in_the_kept_unit_and_links_say_theirs() -> None:
    panel = ShowAndHearPanel()
    hear(panel.feet, "feet")
    assert "ft" in panel.forms[0].length.text.value
    plain = ShowAndHearPanel()
    plain.forms[0].length.text.value = "10"
    plain.address._write()
    assert "units=metres" in plain.address.query  # else its 10 would be feet to who keeps feet


def test_what_a_browser_says_before_it_heard_of_a_choice_does_not_undo_it() -> None:
    """As after a cut: it has the old text still, and is told the new one again."""
    units = Units()
    units.take({"label": "Feet", "at": 1})
    units.kept._came(None, {"text": "metres", "after": 0}, [])
    assert units.value is True
    assert units.kept.kept == (1, "feet")
    units.kept._came(None, {"text": "metres", "after": 1}, [])  # chosen since in another tab
    assert units.value is False


PAGES = (OneRunPanel, ShowAndHearPanel, BenchPanel, PracticePanel, HouseRulesPanel)


@pytest.mark.parametrize("page", PAGES)
def test_every_page_has_the_switch_and_keeps_it(page: type) -> None:
    panel = page()
    press(panel.feet, "Feet")
    assert panel.feet.kept.text == "feet"


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.key)
def test_every_kind_of_circuit_begins_with_round_numbers_in_both(form: Any) -> None:
    """Not 9 ft 10 in for a strip of 3 m; and no metre is left in sight."""
    panel = OneRunPanel()
    panel.kind.value = form
    for words, unit in (("Feet", "ft"), ("Metres", "m")):
        press(panel.feet, words)
        lengths = [panel.length, *(var for var in vars(panel.form).values() if isinstance(var, LengthEntry))]
        for entry in lengths:
            number, shown_unit = entry.text.value.split()
            assert shown_unit == unit
            assert 2 * float(number) == round(2 * float(number))
        for entry in vars(panel.form).values():
            if isinstance(entry, PerLengthEntry):
                assert entry.text.description.endswith("per foot" if unit == "ft" else "per metre")
                assert len(entry.text.value.split()[0].replace(".", "").strip("0")) <= 2
        length = panel.length.text.value
        assert f"{length} one way" in panel.tiles.html
    assert panel.length.untouched


def test_a_length_that_was_typed_stays_what_it_is() -> None:
    panel = OneRunPanel()
    panel.length.text.value = "16 ft"
    press(panel.feet, "Feet")
    assert panel.length.text.value == "16 ft"  # it was 4.877 m once
    press(panel.feet, "Metres")
    assert panel.length.text.value == "4.88 m"
    assert panel.length.value == pytest.approx(16 * 0.3048)


def test_sizes_go_by_mm2_and_back_with_the_advice() -> None:
    panel = OneRunPanel()
    press(panel.system, "mm²")
    assert panel.size.text.value == "1.5 mm²"
    assert {system for system, _ in panel.picker.picked} == {"mm2"}
    pull = panel.situation().advice.pull
    assert pull is not None
    assert pull.label.endswith("mm²")
    panel.kind.value = FORMS[4]
    assert panel.size.text.value == "0.75 mm²"  # a kind that is opened after it too
    panel.size.text.value = "18 AWG"
    assert panel.system.value == "AWG"  # it shows what the size is in
    other = ShowAndHearPanel()
    hear(other.system, "mm2")
    assert [form.size.text.value for form in other.forms] == ["1.5 mm²", "4 mm²"]


def test_a_size_of_a_type_of_wire_is_in_neither_system() -> None:
    assert in_system(("TXL", 12.0), "mm2") == ("TXL", 12.0)
    assert in_system(("AWG", 18.0), "AWG") == ("AWG", 18.0)
