"""What returns stand: by hand for typed plans, and by shorts at every device of random plans in the solved network."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.plans import BLOCK, amplifier, load, vehicle, wire, with_wire
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.limits import RETURN_SHARE
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.network import Wiring
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.returns import returned
from wirecalc.wire.conductor import awg

GROUND = replace(BLOCK, name="Ground block")


def two_amplifiers(power_w: float, size: Any = "choose", fuse: Any = "choose", ground: Any = "choose") -> Vehicle:
    """A main feed to a block, two amplifiers, and one ground for both."""
    amps = [amplifier(name, power_w=power_w / 4) for name in ("One", "Two")]
    more = {"zone": "boot", "fuse": fuse}
    return vehicle(
        BLOCK, GROUND, *amps,
        wire("main", "Battery", "Block", 5.0, size, zone="", fuse=fuse),
        wire("one", "Block", "One", 0.5, size, **more), wire("two", "Block", "Two", 0.5, size, **more),
        wire("g1", "One: minus", "Ground block: minus", 0.5, ground, zone="boot"),
        wire("g2", "Two: minus", "Ground block: minus", 0.5, ground, zone="boot"),
        wire("ground", "Ground block: minus", "Body: boot", 0.5, ground, zone="boot"),
        wire("battery ground", "Battery: minus", "Body: bay", 0.4, ground, zone=""),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("power_w", "thinnest_awg"),
    [
        (600.0, 4),  # 93 A together at full power, class D and 80 %, engine running
        (1000.0, 0),  # 146 to 174 A
    ],
)
def test_a_shared_ground_is_as_thick_as_the_main_feed(power_w: float, thinnest_awg: float) -> None:
    """Common practice, no source: the ground of a system is no thinner than its main feed, nor are the battery's."""
    choice = choose_plan(two_amplifiers(power_w))
    assert choice.plan.meets
    area = {circuit.wire.name: circuit.conductor.area_m2 for circuit in choice.plan.circuits}
    assert area["ground"] >= area["main"] >= awg(thinnest_awg).area_m2 * 0.999
    assert area["battery ground"] >= area["main"]
    assert area["g1"] >= area["one"]
    assert area["main"] <= awg(-1).area_m2 * 1.001  # 4/0 is nobody's choice here
    ground = choice.plan.circuit("ground")
    assert ground.measures["return_a"] <= ground.measures["allowable_a"]
    assert any("starter" in warning for warning in choice.plan.warnings)


def test_a_plan_typed_from_scratch_is_told_that_its_battery_ground_is_thin() -> None:
    """10 AWG between battery and body behind a 6 AWG main feed with 50 A: seen in a plan, and called right."""
    whole = vehicle(
        load(draw_a=35.0), wire("main", "Battery", "Load", 4.0, ("AWG", 6.0), fuse=50.0),
        wire("ground", "Battery: minus", "Body: bay", 0.4, ("AWG", 10.0)),
    )  # fmt: skip
    ground = solve_vehicle(whole).circuit("ground")
    assert not ground.meets
    assert ground.measures["return_a"] == 50
    assert any("metal against the feed it returns" in reason for reason in ground.broken)
    assert solve_vehicle(with_wire(whole, "ground", size=("AWG", 6.0))).circuit("ground").meets


CASES: dict[str, tuple[dict[str, float], dict[str, float]]] = {
    # fuses of the wires -> what comes back through the grounds
    "the sum of both": ({"main": 100, "one": 30, "two": 40}, {"g1": 30, "g2": 40, "ground": 70, "battery ground": 70}),
    "no more than the main": ({"main": 60, "one": 30, "two": 40}, {"g1": 30, "g2": 40, "ground": 60}),
    "one fuse before both counts once": ({"main": 60}, {"g1": 60, "g2": 60, "ground": 60}),
    "a fuse over the one above": ({"main": 20, "one": 30}, {"g1": 20, "ground": 20}),
    "what has no fuse is refused elsewhere": ({"one": 30}, {"g1": 30, "ground": 30}),
}


@pytest.mark.parametrize("case", CASES)
def test_what_may_come_back(case: str) -> None:
    fuses, expected = CASES[case]
    whole = two_amplifiers(600, size=("AWG", 4.0), fuse="none", ground=("AWG", 4.0))
    tree = FuseTree(Wiring(whole), fuses)
    assert {name: tree.return_a(whole.wire(name)) for name in expected} == pytest.approx(expected)
    assert np.isnan(tree.return_a(whole.wire("main")))


def test_a_block_that_is_fed_twice_lets_both_fuses_through() -> None:
    two = two_amplifiers(600, size=("AWG", 4.0), fuse="none", ground=("AWG", 4.0))
    twice = replace(two, wires=(*two.wires, wire("second", "Battery", "Block", 5.0, ("AWG", 4.0))))
    tree = FuseTree(Wiring(twice), {"main": 60.0, "second": 50.0, "one": 100.0})
    assert tree.start_a(twice.wire("one")) == 110
    assert tree.return_a(twice.wire("g1")) == 100
    assert tree.return_a(twice.wire("ground")) == 110
    unfused = FuseTree(Wiring(twice), {"main": 60.0})
    assert np.isinf(unfused.start_a(twice.wire("one")))


def test_a_pair_brings_back_what_is_grounded_at_its_end() -> None:
    """The second conductor of a block's pair stands what comes from another feed too."""
    whole = vehicle(
        BLOCK, load("Pump", draw_a=10.0), load("Fan", draw_a=10.0),
        wire("pair", "Battery", "Block", 3.0, ("AWG", 14.0), fuse=20.0, back="wire"),
        wire("pump", "Block", "Pump", 1.0, ("AWG", 12.0)),
        wire("gp", "Pump: minus", "Block: minus", 1.0, ("AWG", 12.0)),
        wire("fan", "Battery", "Fan", 1.0, ("AWG", 12.0), fuse=20.0),
        wire("gf", "Fan: minus", "Block: minus", 1.0, ("AWG", 12.0)),
    )  # fmt: skip
    plan = solve_vehicle(whole)
    assert plan.circuit("pair").measures["return_a"] == 40
    assert any("fuses of what it returns 40 A" in reason for reason in plan.circuit("pair").broken)
    assert plan.circuit("gf").meets


def test_a_ground_written_either_way_and_a_relay_coil() -> None:
    relay = Device(name="Relay", kind="relay", pull_in_v=6.0)
    whole = vehicle(
        GROUND, load(draw_a=5.0), relay, wire("f", "Battery", "Load", fuse=10.0),
        wire("g", "Load: minus", "Ground block: minus"), wire("b", "Battery: minus", "Ground block: minus"),
        wire("coil", "Battery", "Relay: 86", fuse=2.0), wire("c", "Relay: 85", "Ground block: minus"),
    )  # fmt: skip
    returns = returned(Wiring(whole))
    assert returns["b"].devices == {"Load", "Relay"}
    assert returns["b"].at_source
    assert {feed.name for feed in returns["b"].feeds} == {"f", "coil"}
    tree = FuseTree(Wiring(whole), {"f": 10.0, "coil": 2.0})
    assert (tree.return_a(whole.wire("b")), tree.return_a(whole.wire("c"))) == (12, 2)
    bare = solve_vehicle(with_wire(whole, "coil", fuse="none")).circuit("coil")
    assert any("no fuse protects it" in reason for reason in bare.broken)


def test_a_metric_return_beside_a_feed_by_number() -> None:
    """4 AWG is 21.15 mm²: a ground of 25 mm² is thicker; one of 16 mm² is not."""
    whole = vehicle(
        load(draw_a=50.0), wire("f", "Battery", "Load", 2.0, ("AWG", 4.0), fuse=80.0),
        wire("g", "Load: minus", "Body: boot", 0.5, ("mm2", 25.0)),
    )  # fmt: skip
    assert solve_vehicle(whole).circuit("g").meets
    thin = solve_vehicle(with_wire(whole, "g", size=("mm2", 16.0))).circuit("g")
    assert thin.measures["returned_mm2"] == pytest.approx(RETURN_SHARE * 21.15, rel=1e-3)
    assert not thin.meets
    assert solve_vehicle(with_wire(whole, "g", size=("mm2", 16.0), parallel=2)).circuit("g").meets


@pytest.mark.parametrize(("draw_a", "label"), [(2.0, "8 AWG"), (5.0, "8 AWG"), (90.0, "4 AWG")])
def test_a_batterys_ground_is_never_thin(draw_a: float, label: str) -> None:
    """The starter's current finds it too: common practice, no source. Over that, the feed that it returns decides."""
    feed = wire("Feed", "Battery", "Load", 2.0, "choose", fuse="choose")
    grounds = [wire(f"{name} ground", f"{name}: minus", "Body", 0.4, "choose") for name in ("Load", "Battery")]
    choice = choose_plan(vehicle(load(draw_a=draw_a), feed, *grounds))
    ground = choice.plan.circuit("Battery ground")
    assert ground.conductor.label == label
    assert ("The starter's current finds this wire too" in choice.reasons["Battery ground"]) == (label == "8 AWG")
    assert ground.conductor.area_m2 >= choice.plan.circuit("Feed").conductor.area_m2
    if label == "8 AWG":  # its own rule, not the one for other grounds
        assert choice.plan.circuit("Load ground").conductor.label == "18 AWG"
