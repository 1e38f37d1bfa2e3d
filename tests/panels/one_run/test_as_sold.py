"""One run of wire as shops sell it: asked back, its real metal, its insulation, and shelves of other sizes."""

from __future__ import annotations

import pytest

from dashboards.panels.kinds import FORMS, FeedForm
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.settings.house import to_bytes
from tests.support.sentences import read
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.size import advise
from wirecalc.wire.conductor import conductor


@pytest.fixture
def feed() -> OneRunPanel:
    panel = OneRunPanel()
    panel.kind.value = FeedForm
    return panel


def again(panel: OneRunPanel) -> OneRunPanel:
    panel.address._write()
    other = OneRunPanel()
    other.address.take({"came": panel.address.query, "hash": panel.address.fragment})
    assert other.address.note == ""
    return other


def test_a_bare_gauge_is_asked_back_beside_the_field(feed: OneRunPanel) -> None:
    before = feed.size.value
    feed.size.text.value = "4 ga"
    note = feed.size.note.value
    assert "can be several things" in note
    assert "4 AWG (21.2 mm²), 4 SAE (18.9 mm², 10 % less)" in note
    assert [f"data-text='{text}'" in note for text in ("4 AWG", "4 SAE", "4 ga thin grade")] == [True] * 3
    assert feed.size.value == before
    assert feed.size.text.value == "4 ga"
    feed.size.text.value = "4 SAE"
    assert feed.situation().this == conductor("SAE", 4)
    assert "data-text" not in feed.size.note.value


def test_the_answer_uses_the_metal_and_the_insulation_of_that_wire(feed: OneRunPanel) -> None:
    feed.size.text.value = "SAE SGX 4"
    now = feed.situation()
    assert now.this == conductor("SGX", 4)
    assert now.place.insulation.key == "xlpe_125"
    assert "18.9 mm² of true copper, 10 % less than 4 AWG" in feed.tiles.html
    assert "125 °C, as this type is made" in feed.tiles.html
    assert "SGX" in read(feed.decision.html)
    feed.more.insulation.value = "pvc_60"
    assert feed.situation().place.insulation.limit_c == 60
    assert "as this type is made" not in feed.tiles.html
    assert again(feed).decision.html == feed.decision.html


def test_a_plain_size_says_nothing_of_a_type(feed: OneRunPanel) -> None:
    assert "<p>" not in feed.tiles.html
    feed.more.metal.value = "cca_10"
    assert "21.2 mm² of copper-clad aluminium 10 %, which carries as 6.0 AWG of copper does" in feed.tiles.html


def test_what_to_pull_comes_from_the_shelf_that_is_asked_for(feed: OneRunPanel) -> None:
    pulled = {}
    for system in ("AWG", "SAE", "mm2", "ISO", "SGX", "FLRY-B", "AVS", "thin grade"):
        feed.more.sold.value = system
        advice = feed.situation().advice
        pulled[system] = advice.pull
        if advice.pull is not None:
            assert advice.pull.size is not None
            assert advice.pull.size[0] == system
            assert advice.pull.full_c <= advice.job.route.insulation.limit_c + 1e-6
        assert advice.asked is not None
        assert advice.asked.label == "4 AWG"
    assert again(feed).more.sold.value == "thin grade"
    assert pulled["SAE"] is not None
    assert pulled["SAE"].label.endswith("SAE")
    assert pulled["SGX"] is not None


def test_each_wire_is_held_to_its_own_insulation(feed: OneRunPanel) -> None:
    feed.size.text.value = "4 SAE SGT"
    feed.more.sold.value = "SGX"
    now = feed.situation()
    assert now.place.insulation.limit_c == 80
    assert now.advice.job.route.insulation.limit_c == 125
    assert now.own_job.route.insulation.limit_c == 80
    alone = advise(now.own_job).asked
    assert alone is not None
    assert now.advice.asked is not None
    assert (now.advice.asked.state, now.advice.asked.reasons) == (alone.state, alone.reasons)


def test_the_house_rule_says_how_the_shelf_is_sold() -> None:
    panel = OneRunPanel()
    panel.kind.value = next(form for form in FORMS if form.key == "subwoofer")
    assert panel.situation().advice.job.system == "AWG"
    rules = HouseRules.from_table().replace("sold_as/subwoofer///", "SAE")
    panel.house.kept._came(None, {"text": to_bytes(rules).decode(), "after": 0}, [])
    advice = panel.situation().advice
    assert advice.job.system == "SAE"
    assert advice.pull is not None
    assert advice.pull.label.endswith("SAE")
    panel.more.sold.value = "AWG"
    assert panel.situation().advice.job.system == "AWG"


def test_the_table_of_sizes_is_that_of_the_shelf(feed: OneRunPanel) -> None:
    feed.more.sold.value = "SAE"
    feed.bar.value = "Which size?"
    made = feed._made["Which size?"].table  # type: ignore[attr-defined]
    assert "SAE" in made.html
    assert "AWG" not in made.html


def test_where_a_terminal_takes_less_the_page_says_how_several_are_laid(feed: OneRunPanel) -> None:
    feed.form.fields["power"].text.value = "1000 W"  # type: ignore[union-attr]
    feed.more.terminal.text.value = "8 AWG"
    decision = read(feed.decision.html)
    pull = feed.situation().advice.pull
    assert pull is not None
    assert pull.candidate.parallel > 1
    assert f"Pull {pull.label}." in decision
    assert (
        f"The device's terminal takes up to 8 AWG: {pull.label} side by side, alike, each with its own fuse" in decision
    )
    assert "reducing pin" in decision
    assert "joined at both ends. One fuse for all does not protect the last one left" in decision
    assert "4 AWG is too thick" in decision
    feed.form.fields["power"].text.value = "2500 W"  # type: ignore[union-attr]
    assert "nothing on the shelf does, also side by side" in read(feed.decision.html)
    feed.more.terminal.text.value = "8 ga"
    assert "can be several things" in feed.more.terminal.note.value
