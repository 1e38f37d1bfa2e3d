"""One run goes by the page's house rules: those that the browser keeps, or a link's."""

from __future__ import annotations

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
