"""Cables of one's own without a browser: kept, offered on both pages, taken along by links, and faults in words."""

from __future__ import annotations

import html
import re

import pytest

from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.settings.own_cables import OwnCables
from dashboards.panels.whole_vehicle.cables import CablesTab
from wirecalc import csv_text
from wirecalc.wire.cable_file import read_cables, write_cables
from wirecalc.wire.cable_types import CABLES


def entered(
    own: OwnCables, name: str = "Van, five", conductors: str = "white, white/black, red, red/black, blue"
) -> None:
    own.name.text.value, own.conductors.text.value = name, conductors
    own.keep.click()


def test_a_cable_that_is_entered_is_kept_and_comes_back() -> None:
    own = OwnCables()
    entered(own)
    assert "Van, five is kept" in own.note.value
    (made,) = own.mine.values()
    assert [core.pair for core in made.cores] == ["white", "white", "red", "red", ""]
    assert read_cables(own.kept.text) == (made,)
    own.size.text.value, own.pairs.value, own.screen.value, own.outer.text.value = "0.75 mm2", False, True, "11 mm"
    entered(own)  # by the same name: in its place
    (made,) = own.mine.values()
    assert (made.cores[0].conductor.label, made.pairs, made.screened) == ("0.75 mm²", {}, True)
    assert made.outer_m == pytest.approx(0.011)
    name, content, _ = own.save.make()
    other = OwnCables()
    other._opened(name, content)
    assert other.mine == own.mine
    browser = OwnCables()
    browser._from_browser(own.kept.text)
    assert browser.mine == own.mine
    own.forget.click()
    assert own.mine == {}
    assert own.kept.text == ""


@pytest.mark.parametrize(
    ("name", "conductors", "message"),
    [
        ("", "white", "Cable: missing"),
        ("Van", "", "Conductors: missing"),
        ("Van", "mauve", "mauve"),
        ("Van", "white, white", "each colour once"),
        ("Van", "white, black 16 AWG", "two conductors of one size"),
        ("Van", ", ".join(f"white {at}" for at in range(30)), "1 to 24"),
    ],
)
def test_what_cannot_be_a_cable_is_said_and_nothing_is_kept(name: str, conductors: str, message: str) -> None:
    own = OwnCables()
    entered(own, name, conductors)
    assert message in html.unescape(re.sub("<[^>]+>", "", own.note.value))
    assert own.mine == {}


def test_what_a_browser_kept_may_be_anything() -> None:
    own = OwnCables()
    own._from_browser("not a cable")
    assert "role='alert'" in own.note.value
    assert own.mine == {}
    own._keeps_nothing()
    assert "private window" in own.note.value


def test_one_run_offers_it_and_its_link_takes_it_along() -> None:
    panel = OneRunPanel()
    panel.bar.value = "My cable"
    tab = panel._made["My cable"]
    entered(panel.own_cables)
    tab.cable.value = "own-van-five"  # type: ignore[attr-defined]
    assert "Van, five" in tab.shown.value  # type: ignore[attr-defined]
    panel.address._write()
    assert "cables=" in panel.address.fragment
    other = OneRunPanel()
    other.address._take_packs(panel.address.fragment)
    other.address._take(panel.address.query)
    again = other._made["My cable"]
    assert again.cable.value == "own-van-five"  # type: ignore[attr-defined]
    assert other.own_cables.mine == {}  # it is the link's
    assert "from the link" in dict(map(reversed, other.own_cables.options))["own-van-five"]  # type: ignore[arg-type]
    tab.cable.value = "speaker_9"  # type: ignore[attr-defined]
    panel.address._write()
    assert "cables=" not in panel.address.fragment


def test_the_cables_of_a_plan_may_be_ones_own() -> None:
    tab = CablesTab()
    asked: list[int] = []
    tab.changed = lambda: asked.append(1)
    tab.own._opened("cables.csv", write_cables([CABLES["speaker_9_20"]]))
    key = "own-nine-conductor-speaker-cable-20-awg"
    assert asked
    assert key in dict(map(reversed, tab.type.pairs))  # type: ignore[arg-type]
    tab._read(f"boot+cable={key}")
    assert tab.pulled.types["boot cable"] is tab.own.mine[key]
    assert tab.own.mine[key] in tab.pulled.shelf
    assert csv_text.decoded(tab.own._written()) == tab.own.kept.text
    tab.own.which.value = key
    tab.own.forget.click()
    assert tab.pulled.types == {}
