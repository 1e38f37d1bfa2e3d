"""Cables of several conductors in a plan, and the plan as a list of pulls: against the plan's own limits."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests import DEEP
from tests.support.jobs import CABLE, DOORS, boot_amplifier, demo_choice
from wirecalc.cutting.pieces import Spool
from wirecalc.cutting.shop import sold
from wirecalc.errors import InputError
from wirecalc.units import read_standard_size
from wirecalc.vehicle.buy import buy
from wirecalc.vehicle.cable import BARRED, Judging, Pulled, allocated, bundled
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.plan import Plan, solve_vehicle
from wirecalc.vehicle.pulls import TAIL_M, pulls
from wirecalc.vehicle.signed import signed
from wirecalc.wire.cable_types import CABLES
from wirecalc.wire.fuse_families import FAMILIES
from wirecalc.wire.multicore import chosen

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines


@pytest.fixture(scope="module")
def plan() -> Plan:
    return demo_choice().plan


def test_the_plan_names_its_cables(plan: Plan) -> None:
    assert {name: {circuit.wire.name for circuit in some} for name, some in bundled(plan).items()} == {
        "left door cable": {"Left door light feed", "Left front door run"},
        "boot cable": {"Turn-on lead", "Left dash run", "Right dash run"},
    }
    with pytest.raises(InputError, match="left door cable"):
        allocated(plan, "roof cable")


def test_what_no_feed_can_deliver_has_no_cable(plan: Plan) -> None:
    feed = plan.vehicle.wire("Main feed")
    thin = replace(feed, size=("AWG", 24.0), length_m=20.0)
    wires = tuple(thin if wire is feed else wire for wire in plan.vehicle.wires)
    with pytest.raises(InputError, match="Mend the feeds"):
        allocated(solve_vehicle(replace(plan.vehicle, wires=wires)), "boot cable")


@pytest.mark.parametrize("key", ["speaker_9", "speaker_4"])
@pytest.mark.parametrize("name", ["left door cable", "boot cable"])
def test_a_conductor_is_judged_as_the_plan_would_judge_it(plan: Plan, name: str, key: str) -> None:
    cable = CABLES[key]
    core = cable.cores[0].conductor
    for circuit, planned in zip(Judging(plan, bundled(plan)[name]).asked(cable), bundled(plan)[name], strict=True):
        for parallel in (1, 2):
            meets, reason, used, fine = circuit.judge(core, parallel)
            wire = replace(
                planned.wire, size=read_standard_size(core.label), parallel=parallel, metal="copper",
                stranding="stranded", insulation=cable.insulation.key,
            )  # fmt: skip
            wires = tuple(wire if each.name == wire.name else each for each in plan.vehicle.wires)
            again = solve_vehicle(replace(plan.vehicle, wires=wires)).circuit(wire.name)
            assert meets == again.meets
            assert (used, fine) == (pytest.approx(again.tightest[1]), again.grade == "fine")
            if fine:
                assert reason.startswith("keeps every limit")
            else:
                assert reason.endswith("; ".join(again.close if meets else again.broken))
        assert circuit.needs == ("pair" if plan.vehicle.ways(planned.wire) == 2 else "single")


def test_what_suits_best_is_found(plan: Plan) -> None:
    best = allocated(plan, "boot cable")
    assert best.cable.key == "speaker_9"
    uses = {use.circuit.name: [core.name for _, core in use.cores] for use in best.uses}
    assert uses["Turn-on lead"] == ["blue"]  # the trade's colour for it
    assert len(uses["Right dash run"]) == 4  # two pairs, as one is too thin
    kept = allocated(plan, "boot cable", spare=4)
    assert len(kept.spare) >= 4
    assert [use.circuit.name for use in kept.uses if not use.carried]
    assert all(use.reason for use in kept.uses)


OF_A_CABLE = [("left door cable", 0), ("boot cable", 3), ("boot cable", 0)]  # the last in the deep run only


@pytest.mark.parametrize(("name", "spare"), OF_A_CABLE if DEEP else OF_A_CABLE[:2])
def test_few_cables_are_tried_and_none_of_the_others_is_better(plan: Plan, name: str, spare: int) -> None:
    circuits = bundled(plan)[name]
    few, every = Judging(plan, circuits), Judging(plan, circuits)
    ambient_c = max(circuit.place.ambient_c for circuit in circuits)
    tried = [
        chosen(each, every.asked(each), ambient_c=ambient_c, spare=min(spare, len(each.cores)))
        for each in CABLES.values()
    ]
    best = max(tried, key=lambda trial: (trial.carried, -len(trial.cable.cores)))  # the first of the best
    allocation = allocated(plan, name, spare=spare, judging=few)
    assert allocation.cable is best.cable
    assert sum(use.carried for use in allocation.uses) == best.carried
    assert few.judged <= 0.5 * every.judged  # what takes the time: a shared supply is solved for each


def test_an_amplifier_whose_doors_match_is_decided_once() -> None:
    """Nine conductors of 18 AWG, 4 × 75 W into 4 ohm, 20 ft: 18 AWG loses too much, and two of four are not doubled."""
    nine = Pulled(types={CABLE: CABLES["speaker_9"]})
    choice = choose_plan(boot_amplifier(), pulled=nine)
    carried = {use.circuit.name for use in choice.cables[CABLE].uses if use.carried}
    assert carried == {"Turn-on"}
    for door in DOORS:
        door_run = choice.plan.circuit(f"{door} run")
        assert (door_run.conductor.label, door_run.wire.parallel, door_run.wire.cable) == ("16 AWG", 1, "")
        assert door_run.grade == "fine"
        assert "4 channels match" in choice.reasons[door_run.wire.name]
        assert "16 AWG" in choice.reasons[door_run.wire.name]
    bought = {pull.name: pull for pull in pulls(choice.plan, tuple(choice.cables.items()))}
    assert {bought[f"{door} run"].size for door in DOORS} == {"16 AWG"}
    assert bought[CABLE].cores == 1
    assert len(bought) == len(choice.plan.circuits)


def test_what_a_cable_carries_has_its_conductors_in_the_plan() -> None:
    choice = choose_plan(boot_amplifier(power_w=40.0, length_m=4.0), pulled=Pulled(types={CABLE: CABLES["speaker_9"]}))
    colours = {use.circuit.name: [core.name for _, core in use.cores] for use in choice.cables[CABLE].uses}
    assert colours["Rear left door run"] == ["green", "green/black"]
    for door in DOORS:
        door_run = choice.plan.circuit(f"{door} run")
        assert (door_run.conductor.label, door_run.wire.insulation, door_run.wire.cable) == ("18 AWG", "pvc_60", CABLE)
        assert door_run.meets
    assert choice.plan.vehicle.loaded(choice.plan.vehicle.wire("Turn-on")) == 8
    long = choose_plan(boot_amplifier(power_w=40.0, length_m=9.0), pulled=Pulled(types={CABLE: CABLES["speaker_9_20"]}))
    assert {long.plan.circuit(f"{door} run").wire.cable for door in DOORS} == {""}


def test_what_fails_with_all_the_others_is_put_out(plan: Plan) -> None:
    judging = Judging(plan, bundled(plan)["boot cable"], barred=["Left dash run"])
    allocation = allocated(plan, "boot cable", CABLES["speaker_9"], judging=judging)
    assert [use.carried for use in allocation.uses] == [True, False, False]  # the dash speakers match
    assert BARRED in next(use.reason for use in allocation.uses if use.circuit.name == "Left dash run")


def test_a_named_loudspeaker_gets_its_colours(plan: Plan) -> None:
    own = {circuit.name: circuit.channel for circuit in Judging(plan, plan.circuits).asked(CABLES["speaker_9"])}
    assert own["Left front door run"] == "front left"
    assert own["Right rear door run"] == "rear right"
    assert own["Left dash run"] == ""
    assert own["Turn-on lead"] == "remote turn-on"


def test_every_wire_is_pulled_once(plan: Plan) -> None:
    alone = pulls(plan)
    assert [pull.name for pull in alone] == [circuit.wire.name for circuit in plan.circuits]
    for pull, circuit in zip(alone, plan.circuits, strict=True):
        assert pull.length_m == circuit.wire.length_m
        assert pull.conductors * pull.cores == plan.vehicle.ways(circuit.wire) * circuit.wire.parallel
        assert (pull.fuse_a or 0) == circuit.measures.get("fuse_a", 0)
        assert bool(pull.fuse) == (pull.fuse_a is not None)
        if pull.fuse_a is not None:
            assert pull.fuse_a in next(family for family in FAMILIES.values() if family.name == pull.fuse).ratings_a
    fuse = {pull.name: pull.fuse for pull in alone}
    names = (FAMILIES["post fuse"].name, FAMILIES["blade"].name)
    assert (fuse["Main feed"], fuse["Processor feed"]) == names


def test_it_is_asked_for_by_what_a_shop_has(plan: Plan) -> None:
    """Two conductors in one jacket to a loudspeaker, under a screen for a line signal; power wire from 8 AWG on."""
    alone = {pull.name: pull for pull in pulls(plan)}
    door, line, main, lead = (
        alone[name] for name in ("Left front door run", "Line, left", "Main feed", "Turn-on lead")
    )
    assert (door.aisle, door.conductors, door.cores) == ("speaker wire", 1, 2)
    assert door.wire.startswith("two-conductor speaker wire, ")
    assert (line.aisle, line.wire.startswith("screened line cable, ")) == ("line cable", True)
    assert line.ends == ("line plug", "line plug")
    assert (main.aisle, lead.aisle) == ("power wire", "hook-up wire")
    bought = buy(list(alone.values()), sold("feet"), seconds=0.2)
    named = dict(zip(bought.items["item"], bought.items["kind"], strict=True))
    for signed_wire in signed(plan, {}, {}):  # the same words on every paper
        if signed_wire.family is not None and signed_wire.fuse_a is not None:
            assert named[signed_wire.family.named(signed_wire.fuse_a)] == "fuse"
            assert signed_wire.fuse.startswith(signed_wire.family.named(signed_wire.fuse_a))


def test_a_cable_takes_the_place_of_its_wires(plan: Plan) -> None:
    all_pulls = pulls(plan, [(name, allocated(plan, name)) for name in bundled(plan)])
    by_name = {pull.name: pull for pull in all_pulls}
    assert by_name["boot cable"].length_m == max(circuit.wire.length_m for circuit in bundled(plan)["boot cable"])
    assert by_name["boot cable"].cores == 9
    assert "Left dash run" not in by_name
    tail = by_name["Left door light feed, tail with its fuse"]  # the fuse is before the cable begins
    assert (tail.length_m, tail.fuse_a) == (TAIL_M, plan.circuit("Left door light feed").measures["fuse_a"])
    fuses = sum(pull.fuse_a is not None for pull in all_pulls)
    assert fuses == sum("fuse_a" in circuit.measures for circuit in plan.circuits)
    assert buy(all_pulls, [Spool(length_m=25.0)], seconds=0.2).items["count"].sum() > 50


def test_nothing_carried_means_no_cable(plan: Plan) -> None:
    none = allocated(plan, "boot cable", CABLES["trailer_7"])
    carried = {use.circuit.name for use in none.uses if use.carried}
    names = [pull.name for pull in pulls(plan, [("boot cable", none)])]
    assert ("boot cable" in names) == bool(carried)
    assert {"Left dash run", "Right dash run"} - carried <= set(names)


def test_each_conductor_in_parallel_has_its_fuse(plan: Plan) -> None:
    feed = plan.vehicle.wire("Main feed")
    wires = tuple(replace(feed, parallel=2) if wire is feed else wire for wire in plan.vehicle.wires)
    main_feeds = [pull for pull in pulls(solve_vehicle(replace(plan.vehicle, wires=wires))) if pull.name == "Main feed"]
    assert [pull.conductors for pull in main_feeds] == [1, 1]
    assert len({pull.fuse_a for pull in main_feeds}) == 1
