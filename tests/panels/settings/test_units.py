"""The unit that the browser keeps."""

from __future__ import annotations

import pytest

from dashboards.panels.settings.units import Units
from dashboards.panels.show_and_hear.page import ShowAndHearPanel


def press(units: Units, words: str) -> None:
    """As a person does."""
    units.take({"label": words, "at": 0})


def hear(units: Units, text: str) -> None:
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
