"""One run goes by the page's house rules: those that the browser keeps, or a link's."""

from __future__ import annotations

import pytest

from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.settings.house import to_bytes
from wirecalc.advice.house_rules import HouseRules

USUAL = HouseRules.from_table()
LEAST, LEVEL = "least_size/amplifier to speaker///AWG", "taste_limit/amplifier to speaker/level loss//dB"
MINE = USUAL.replace(LEAST, "10").replace(LEVEL, "0.3")


def test_what_is_kept_decides_what_to_pull_and_its_limits() -> None:
    panel = OneRunPanel()
    before = panel.decision.html
    assert "Pull 10 AWG" not in before
    panel.house.kept._came(None, {"text": to_bytes(MINE).decode(), "after": 0}, [])
    assert "Pull 10 AWG" in panel.decision.html
    assert {limit.measure: limit.bound for limit in panel.situation().limits}["loss_db"] == 0.3
    panel.address._write()
    other = OneRunPanel()
    other.address.take({"came": panel.address.query, "hash": panel.address.fragment})
    assert other.address.note == ""
    assert other.decision.html == panel.decision.html
    assert "2 differ from the defaults" in other.house.note.value
    other.house.use_mine.click()
    assert other.decision.html == before


LOW = "supply_v/relay or lamp/battery low//V"


@pytest.mark.parametrize(
    ("kind", "entry", "key", "value"),
    [
        ("Relay", "supply", LOW, "9"),
        ("Lamp strip", "lowest", LOW, "9"),
        ("Remote turn-on", "supply", "supply_v/remote turn-on/battery low//V", "9"),
        ("Battery to amplifier", "supply", "supply_v/battery to amplifier/engine running//V", "13.5"),
        ("Battery to amplifier", "share", "average_of_music/battery to amplifier///%", "20"),
    ],
)
def test_entries_that_nobody_changed_follow_the_rules(kind: str, entry: str, key: str, value: str) -> None:
    panel = OneRunPanel()
    panel.kind.value = dict(panel.kind.options)[kind]
    box = getattr(panel.form, entry)
    before = panel.tiles.html
    panel.house.kept._came(None, {"text": to_bytes(USUAL.replace(key, value)).decode(), "after": 0}, [])
    number = float(value) / (100 if key.endswith("%") else 1)
    assert box.value == number
    assert value in box.text.value
    assert entry in ("lowest", "share") or panel.tiles.html != before
    box.text.value = "14 V" if entry != "share" else "30 %"  # a person's own stays
    own = box.value
    panel.house.kept._came(None, {"text": to_bytes(USUAL).decode(), "after": 0}, [])
    assert box.value == own


def test_a_lamp_for_24_volts_follows_at_twice_the_volts() -> None:
    panel = OneRunPanel()
    panel.kind.value = dict(panel.kind.options)["Lamp strip"]
    panel.house.kept._came(None, {"text": to_bytes(USUAL.replace(LOW, "9")).decode(), "after": 0}, [])
    panel.form.nominal.value = 24.0
    assert panel.form.lowest.value == 18.0
    panel.form.nominal.value = 12.0
    assert panel.form.lowest.value == 9.0
