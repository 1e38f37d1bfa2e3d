"""House rules and limits of taste on the page Whole vehicle: its verdicts go by them; plan, file and link have them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

import pytest

from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.settings.house import to_bytes
from dashboards.panels.whole_vehicle import page as plan_page
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.links import entries
from dashboards.panels.whole_vehicle.page import LIMITS, WholeVehiclePanel
from tests.support.jobs import fixed
from tests.support.plans import amplifier, vehicle, wire
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import InputError
from wirecalc.vehicle.file import read_workbook, write_workbook
from wirecalc.vehicle.limits import TASTE
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.stock import Stock
from wirecalc.vehicle.text import PlanSheet
from wirecalc.wire.conductor import conductor

USUAL = HouseRules.from_table()
LEVEL, FULL = "taste_limit/amplifier to speaker/level loss//dB", "drop_limit/battery to amplifier/full power//V"


def solved(vehicle: Vehicle, _stock: Stock, _before: PlanAnswer | None, *_more: Any) -> Iterator[PlanAnswer]:
    """Nothing is left to choose."""
    yield PlanAnswer(plan=solve_vehicle(vehicle), reasons={}, fuse_reasons={}, final=True)


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> WholeVehiclePanel:
    monkeypatch.setattr(plan_page, "demo_plan", fixed)
    panel = WholeVehiclePanel(solved)
    panel.start.demo.click()
    return panel


def bound(panel: WholeVehiclePanel, measure: str, kind: str = "speaker") -> tuple[float, str]:
    """Of the first circuit of a kind, and how it stands by it."""
    assert panel.answer is not None
    circuit = next(circuit for circuit in panel.answer.plan.circuits if circuit.kind == kind)
    at = [limit.measure for limit in circuit.verdict.limits].index(measure)
    return float(circuit.verdict.bounds[at, 0]), circuit.grades[at]


def test_verdicts_go_by_a_limit_that_is_changed_here(page: WholeVehiclePanel) -> None:
    page.bar.value = LIMITS
    unused = "drop_limit/load/not critical//%"  # no verdict of a plan goes by it
    assert unused in {rule.key for rule in USUAL.rules} - set(page.limits.list.shown)
    assert bound(page, "loss_db") == (0.4, "fine")
    page.limits.list.type(LEVEL, "0.01 dB")
    assert bound(page, "loss_db") == (0.01, "too thin")
    page.limits.list.type(FULL, "0.3")
    assert bound(page, "drop_v", "amplifier feed")[0] == 0.3
    assert "This plan brings its own" in page.house.note.value
    assert page.house.kept.text == ""  # not the shop's own until they say so
    page.limits.list.type(LEVEL, "loud")
    assert bound(page, "loss_db") == (0.01, "too thin")
    assert page.limits.list.shown[LEVEL]["text"] == "loud"
    page.house.use_mine.click()
    assert bound(page, "loss_db") == (0.4, "fine")
    assert page.limits.list.shown[FULL]["text"] == "1"


def test_only_limits_of_taste_are_to_edit_here(page: WholeVehiclePanel) -> None:
    assert page.answer is not None
    before = {
        (circuit.wire.name, limit.measure): float(bound)
        for circuit in page.answer.plan.circuits
        for limit, bound in zip(circuit.verdict.limits, circuit.verdict.bounds[:, 0], strict=True)
        if limit.measure not in TASTE
    }
    for key, row in page.limits.list.shown.items():
        page.limits.list.type(key, str(2 * float(row["text"])))
    after = {
        (circuit.wire.name, limit.measure): float(bound)
        for circuit in page.answer.plan.circuits
        for limit, bound in zip(circuit.verdict.limits, circuit.verdict.bounds[:, 0], strict=True)
        if limit.measure not in TASTE
    }
    assert len(page.house.rules.changes) == len(page.limits.list.shown)
    # what a wire may carry and stand, thresholds, fuses, returns
    assert after == pytest.approx(before, nan_ok=True)


def test_the_saved_plan_and_the_link_have_the_rules(page: WholeVehiclePanel, monkeypatch: pytest.MonkeyPatch) -> None:
    page.limits.list.type(LEVEL, "0.2")
    page.address._write()
    _, content, _ = page.files.book.make()
    rules = read_workbook(content).rules
    assert rules is not None
    assert rules.rows == ((LEVEL, "0.2"),)
    for way in ("link", "plan"):
        other = WholeVehiclePanel(solved)
        if way == "link":
            other.address.take({"came": page.address.query, "hash": page.address.fragment})
            assert other.address.note == ""
        else:
            other.files.take("job.xlsx", content)
        assert bound(other, "loss_db")[0] == 0.2
        assert f"This {way} brings its own" in other.house.note.value
        assert other.limits.list.shown[LEVEL]["usual"] == "0.4"


def test_a_plan_that_says_nothing_is_read_by_the_shops_own(page: WholeVehiclePanel) -> None:
    page.house.kept._came(None, {"text": to_bytes(USUAL.replace(LEVEL, "0.25")).decode(), "after": 0}, [])
    assert bound(page, "loss_db")[0] == 0.25
    page.files.take("job.xlsx", write_workbook(fixed()))
    assert bound(page, "loss_db")[0] == 0.25
    assert "brings" not in page.house.note.value
    theirs = PlanSheet(columns=("Rule", "Value"), rows=((LEVEL, "0.3"),))
    page.files.take("job.xlsx", write_workbook(replace(fixed(), rules=theirs)))
    assert bound(page, "loss_db")[0] == 0.3
    assert "1 differs from yours" in page.house.note.value


def test_faulty_rules_of_a_plan_are_listed_and_the_last_good_ones_hold(page: WholeVehiclePanel) -> None:
    page.limits.list.type(LEVEL, "0.2")
    wrong = PlanSheet(columns=("Rule", "Value"), rows=((LEVEL, "loud"), ("no such", "1")))
    content = write_workbook(replace(fixed(), rules=wrong))
    page.files.open.take({"name": "job.xlsx", "size": len(content), "content": content})
    assert "House rules, row 1" in page.files.said.value
    assert "House rules, row 2" in page.files.said.value
    assert bound(page, "loss_db")[0] == 0.2
    page.files.anyway.click()
    assert bound(page, "loss_db")[0] == 0.2
    assert page.desk.parsed.faults == ()


def test_how_the_shelf_is_sold_is_chosen_for_the_whole_plan(page: WholeVehiclePanel) -> None:
    sold = page.sold.choice
    assert (sold.value, sold.labels[sold.chosen]) == ("as asked", "AWG sizes")
    sold.value = "SAE"
    assert {rule.value for rule in page.house.rules.rules if rule.rule == "sold_as"} == {"SAE"}
    assert page.desk.parsed.vehicle is not None
    assert page.desk.parsed.vehicle.rules == page.house.rules
    assert "This plan brings its own" in page.house.note.value
    page.address._write()
    other = WholeVehiclePanel(solved)
    other.address.take({"came": page.address.query, "hash": page.address.fragment})
    assert other.sold.choice.value == "SAE"
    saved = read_workbook(write_workbook(page.desk.whole))
    assert saved.rules is not None
    assert ("sold_as/subwoofer///", "SAE") in saved.rules.rows
    page.house.use_mine.click()
    assert sold.value == "as asked"
    page.house.put(USUAL.replace("sold_as/load///", "TXL"))
    assert sold.labels[sold.chosen] == "by circuit, see house rules"
    sold.value = "mm2"
    assert {rule.value for rule in page.house.rules.rules if rule.rule == "sold_as"} == {"mm2"}
    assert "by circuit, see house rules" not in sold.labels


def test_whoever_keeps_mm2_is_not_told_that_a_new_plan_brings_rules() -> None:
    page = WholeVehiclePanel(solved)
    page.system._heard("mm2")  # what the browser kept
    page.start.demo.click()
    assert page.system.value == "mm2"
    assert {rule.value for rule in page.house.rules.rules if rule.rule == "sold_as"} == {"mm2"}
    assert page.house.note.value == ""
    assert "wc-shut" in page.house.choice._dom_classes
    page.house.put_here(page.house.rules.replace(LEVEL, "0.2"), "plan")
    assert "This plan brings its own" in page.house.note.value  # of the one that is news
    assert "1 differs" in page.house.note.value
    page.sold.choice.value = "SAE"
    assert "brings its own" in page.house.note.value


def test_a_link_into_one_run_has_the_wire_as_it_is_sold_and_what_its_terminal_takes() -> None:
    whole = vehicle(
        amplifier("Amp", takes=("SAE", 4.0)),
        wire("Feed", "Battery", "Amp", 5.0, ("SGX", 4.0), fuse=60.0, insulation="xlpe_125"),
    )
    query = entries(whole, solve_vehicle(whole).circuit("Feed"))
    assert query is not None
    assert (query["size"], query["terminal"], query["insulation"]) == ("4 SAE SGX", "4 SAE", "xlpe-125")
    panel = OneRunPanel()
    panel.address.take({"came": urlencode(query), "hash": ""})
    assert panel.address.note == ""
    now = panel.situation()
    assert now.this == conductor("SGX", 4)
    assert now.terminal_m2 == conductor("SAE", 4).area_m2


def test_a_verdict_of_before_is_marked_while_another_is_worked_out() -> None:
    seen: list[bool] = []

    def work(*arguments: Any) -> Iterator[PlanAnswer]:
        seen.append("wc-waits" in page.headline._dom_classes)
        if len(seen) > 1:
            raise InputError("Wires", "nothing", "some")
        yield from ()

    page = WholeVehiclePanel(work)
    page.start.demo.click()
    assert "wc-waits" not in page.headline._dom_classes
    page._changed()  # ends in a fault
    assert seen == [True, True]
    assert "wc-waits" not in page.headline._dom_classes
