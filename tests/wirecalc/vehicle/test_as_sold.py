"""A whole plan of wire as shops sell it: AWG, SAE and metric shelves, and types with their own insulation."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from tests.support.jobs import demo_choice
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.pulls import pulls
from wirecalc.vehicle.stock import read_stock
from wirecalc.vehicle.text import parse, text_of, vehicle_of
from wirecalc.wire.conductor import conductor
from wirecalc.wire.insulation import INSULATIONS

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

RULES = HouseRules.from_table()


def sold_as(system: str, vehicle: Vehicle | None = None) -> Vehicle:
    rules = RULES
    for rule in RULES.rules:
        if rule.rule == "sold_as":
            rules = rules.replace(rule.key, system)
    return replace(vehicle or vehicle_of(demo_plan()), rules=rules)


@cache
def on_the_shelf(system: str) -> ChosenPlan:
    """The demo chosen from one shelf, once."""
    return choose_plan(sold_as(system))


def bare() -> Vehicle:
    """The demo, as if nobody had said what its wires are covered with."""
    whole = demo_plan()
    at = whole.wires.columns.index("Insulation")
    rows = tuple((*row[:at], "", *row[at + 1 :]) for row in whole.wires.rows)
    return vehicle_of(replace(whole, wires=replace(whole.wires, rows=rows)))


@pytest.mark.parametrize("system", ["SAE", "mm2", "ISO"])
def test_a_plan_is_chosen_from_one_shelf(system: str) -> None:
    vehicle = sold_as(system)
    choice = on_the_shelf(system)
    assert choice.plan.meets
    loose = [wire for wire in choice.vehicle.wires if not wire.cable]  # a cable has the conductors that it has
    chosen = [wire for wire in loose if vehicle.wire(wire.name).size == "choose"]
    assert chosen
    assert {wire.size[0] for wire in chosen} == {system}
    for wire in chosen:
        circuit = choice.plan.circuit(wire.name)
        assert circuit.conductor.label in choice.reasons[wire.name]
        assert ("mm²" in choice.least[wire.name]) == (system != "SAE")
    again = parse(text_of(choice.vehicle)).vehicle
    assert again is not None
    assert again.wires == choice.vehicle.wires
    assert again.rules == choice.vehicle.rules


def test_an_sae_shelf_is_never_thinner_in_metal_than_its_house_rule_lets_pass() -> None:
    choice = on_the_shelf("SAE")
    awg = demo_choice()
    for wire in choice.vehicle.wires:
        ratio = (
            wire.conductor(wire.size).area_m2
            / awg.vehicle.wire(wire.name)
            .conductor(
                awg.vehicle.wire(wire.name).size  # type: ignore[arg-type]
            )
            .area_m2
        )  # type: ignore[arg-type]
        assert ratio > 0.86


def test_where_nobody_says_a_type_brings_its_insulation() -> None:
    wires = tuple(
        replace(wire, size="choose", insulation="pvc_80", usual_insulation=True) if wire.size == "choose" else wire
        for wire in bare().wires
    )
    whole = sold_as("SGX", replace(bare(), wires=wires))
    choice = choose_plan(whole)
    for wire in choice.vehicle.wires:
        if whole.wire(wire.name).size == "choose" and not wire.cable:
            assert wire.size[0] == "SGX"
            assert wire.insulation == "xlpe_125"


def test_a_type_that_stands_less_than_what_is_written_is_judged_as_itself() -> None:
    """The demo writes 105 and 125 °C; SGT and GPT stand 80 °C."""
    choice = choose_plan(
        vehicle_of(demo_plan()), read_stock("18 SAE GPT; 14 SAE GPT; 12 SAE GPT; 8 SAE GPT; 4 SAE SGT; 1/0 SAE SGT")
    )
    chosen = [wire for wire in choice.vehicle.wires if wire.size[0] in ("GPT", "SGT")]
    assert chosen
    assert {INSULATIONS[wire.insulation].limit_c for wire in chosen} == {80}


def test_a_size_that_is_typed_names_its_metal_and_its_insulation() -> None:
    text = demo_plan()
    at, name, cover = (text.wires.columns.index(column) for column in ("Size", "Name", "Insulation"))
    rows = [list(row) for row in text.wires.rows]
    row = next(row for row in rows if row[name] == "Main feed")
    row[at], row[cover] = "4 SAE SGX", ""
    wires = replace(text.wires, rows=tuple(map(tuple, rows)))
    wire = vehicle_of(replace(text, wires=wires)).wire("Main feed")
    assert wire.size == ("SGX", 4.0)
    assert wire.conductor(wire.size) == conductor("SGX", 4)
    assert (wire.insulation, wire.usual_insulation) == ("xlpe_125", True)
    row[at] = "4 ga"
    with pytest.raises(FileFaults, match=r"Main feed|row \d+, Size.*4 SAE \(18.9 mm², 10 % less\)"):
        vehicle_of(replace(text, wires=replace(text.wires, rows=tuple(map(tuple, rows)))))


def test_the_buy_list_names_the_wire_as_it_is_sold() -> None:
    choice = on_the_shelf("SAE")
    named = {pull.name: pull.wire for pull in pulls(choice.plan)}
    assert named["Main feed"].startswith("4 SAE (SAE J1127 and J1128), true copper, ")
    typed = on_the_shelf("SGX")
    named = {pull.name: pull.wire for pull in pulls(typed.plan)}
    assert named["Main feed"] == "4 SAE SGX (SAE J1127), true copper"
