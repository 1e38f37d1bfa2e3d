"""No choice lets a conductor pass its insulation's limit under the most that its source and fuse can sustain.

100 random plans (a tenth in a run of everything), a short at every device among them, the warmth followed over time.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests import tried
from tests.support.plans import BLOCK, amplifier, load, vehicle, wire
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.nodal import NoOperatingPoint, solve_network
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.plan import solve_vehicle as solved
from wirecalc.vehicle.returns import reached
from wirecalc.wire import heat
from wirecalc.wire.fuse_families import SUSTAINED
from wirecalc.wire.insulation import INSULATIONS, insulated

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

GROUND = replace(BLOCK, name="Ground block")
PLANS, AT_A_TIME = 100, 25
TIMES_S = np.array([0.0, 60.0, 600.0, 3600.0, 36_000.0])
OVER_K = 0.2  # what the simulation's steps may miss


def random_plan(seed: int) -> Vehicle:
    """Amplifiers and loads behind a block or at the battery, grounds of their own or shared; all left to choose."""
    draw = np.random.default_rng(seed)
    parts: list[Any] = [BLOCK, GROUND]
    insulation = str(draw.choice(["pvc_105", "xlpe_125"]))
    more = {"size": "choose", "insulation": insulation}
    parts.append(wire("main", "Battery", "Block", float(draw.uniform(1, 6)), fuse="choose", **more, zone=""))
    own: list[Device] = []
    for number in range(int(draw.integers(1, 4))):
        name = f"A{number}"
        own.append(amplifier(name, power_w=float(draw.choice([15, 40, 75, 150, 250]))))
    own += [load(f"L{number}", draw_a=float(draw.uniform(0.5, 20))) for number in range(int(draw.integers(0, 3)))]
    parts += own
    shared = bool(draw.integers(0, 2))
    for device in own:
        start = "Block" if draw.uniform() < 0.8 else "Battery"
        zone = str(draw.choice(["boot", "cabin", "outside"]))
        bundle = "b" if draw.uniform() < 0.4 else ""
        back = "wire" if draw.uniform() < 0.15 else ""
        length_m = float(draw.uniform(0.3, 4))
        parts.append(wire(f"{device.name} feed", start, device.name, length_m, fuse="choose", back=back, bundle=bundle,
                          parallel=2 if draw.uniform() < 0.1 else 1, **more, zone=zone))  # fmt: skip
        if not back:
            end = "Ground block: minus" if shared else "Body: here"
            parts.append(wire(f"{device.name} ground", f"{device.name}: minus", end, float(draw.uniform(0.3, 1.5)),
                              **more, zone=zone))  # fmt: skip
    parts.append(wire("ground", "Ground block: minus", "Body: boot", 0.5, **more, zone="boot"))
    parts.append(wire("battery ground", "Battery: minus", "Body: bay", 0.4, **more, zone=""))
    return vehicle(*parts)


def currents(plan: Plan, device_a: dict[str, float]) -> NDArray[np.float64] | None:
    """What flows in each wire, (2, w): out, and back in a pair, if each device takes a current; None if it cannot."""
    wiring, answer = plan.supply.wiring, plan.supply.answers[0]
    net = answer.network
    taken = np.array([device_a.get(device.name, 0.0) * (node[1] != "remote in") for device, node in wiring.loads])
    nothing = np.zeros(len(taken))
    try:
        solution = solve_network(replace(net, current_a=taken, power_w=nothing, siemens=nothing, floor_v=nothing))
    except NoOperatingPoint:
        return None
    count = len(wiring.wires)
    back = np.where(wiring.back >= 0, np.abs(solution.branch_a[wiring.back]), 0.0)
    return np.array([np.abs(solution.branch_a[:count]), back])


def cases(plan: Plan) -> list[NDArray[np.float64]]:
    """Currents with a short at every device, one by one, and with all of them overloaded at the same time.

    A short draws what the battery can give, but for more than moments no more than what the fuses before it sustain.
    """
    wiring = plan.supply.wiring
    tree = FuseTree(
        wiring,
        {fused_wire.name: fused_wire.fuse for fused_wire in wiring.wires if not isinstance(fused_wire.fuse, str)},
    )
    devices = [device.name for device, _ in wiring.loads]
    sustained = {name: SUSTAINED * tree.through_a([wiring.plus(name)]) for name in devices}
    assert all(np.isfinite(list(sustained.values())))
    short_flows = []
    for name in devices:
        share, flows = 1.0, None
        while flows is None:  # a battery that gives less than the fuse would stand
            flows = currents(plan, {name: share * sustained[name]})
            share *= 0.8
        short_flows.append(flows)
    together = dict(sustained)
    for fused_wire in wiring.wires:  # what is behind a fuse takes no more together than it sustains
        if not isinstance(fused_wire.fuse, str):
            behind = reached(wiring, fused_wire)
            most_a = SUSTAINED * fused_wire.fuse * fused_wire.parallel
            over = max(sum(together[name] for name in behind) / most_a, 1.0)
            together |= {name: together[name] / over for name in behind}
    share, flows = 1.0, None
    while flows is None:
        flows = currents(plan, {name: share * each for name, each in together.items()})
        share *= 0.8
    return [*short_flows, flows]


@pytest.mark.parametrize("first", range(0, tried(PLANS), AT_A_TIME))
def test_no_conductor_passes_its_limit(first: int) -> None:
    met, seeds = 0, range(first, min(first + AT_A_TIME, tried(PLANS)))
    for seed in seeds:
        choice = choose_plan(random_plan(seed))
        plan = choice.plan
        if not plan.meets:  # more than the shelf can do is said, not signed
            assert any(circuit.broken for circuit in plan.circuits) or plan.problems
            continue
        met += 1
        wires = plan.supply.wiring.wires
        own = [plan.circuit(each_wire.name) for each_wire in wires]
        flows = np.array(cases(plan)).max(axis=(0, 1)) / [each_wire.parallel for each_wire in wires]
        coated = insulated([circuit.conductor for circuit in own], INSULATIONS[wires[0].insulation])
        ambient_c, loaded = (
            np.array([getattr(circuit.place, key) for circuit in own]) for key in ("ambient_c", "loaded")
        )
        hot_c = heat.over_time_c(coated, TIMES_S, flows, ambient_c, loaded).max(axis=0)
        limit_c = coated.insulation.limit_c + OVER_K
        over = {each_wire.name: float(at) for each_wire, at in zip(wires, hot_c, strict=True) if at > limit_c}
        assert not over, (seed, over)
    assert met >= 0.75 * len(seeds)


def test_a_wire_that_is_one_size_thinner_does_pass_it() -> None:
    """The property can fail: with the next thinner size some conductor gets too hot."""
    choice = choose_plan(random_plan(3))
    thin = replace(
        choice.vehicle,
        wires=tuple(
            replace(each_wire, size=("AWG", each_wire.size[1] + 8)) if isinstance(each_wire.size, tuple) else each_wire
            for each_wire in choice.vehicle.wires
        ),
    )
    plan = solved(thin)
    wires = plan.supply.wiring.wires
    flows = np.array(cases(plan)).max(axis=(0, 1)) / [each_wire.parallel for each_wire in wires]
    own = [plan.circuit(each_wire.name) for each_wire in wires]
    coated = insulated([circuit.conductor for circuit in own], INSULATIONS[wires[0].insulation])
    hot_c = heat.temperature_c(coated, flows, np.array([circuit.place.ambient_c for circuit in own]))
    assert (hot_c > coated.insulation.limit_c).any()
    assert not plan.meets


@pytest.mark.parametrize(
    ("length_m", "size", "fuse", "standing", "first"),
    [
        (2.0, 12.0, "none", "no fuse", "no fuse protects it: put one of at most"),
        (2.0, 12.0, 100.0, "fuse too large", "upstream fuse 100 A"),
        (2.0, 12.0, 3.0, "fuse too small", "fuse 3 A"),
        (20.0, 16.0, 100.0, "too thin", "upstream fuse 100 A"),  # over the drop too: what can burn is said first
        (2.0, 12.0, 10.0, "fine", ""),
    ],
)
def test_a_wrong_fuse_is_no_thin_wire(length_m: float, size: float, fuse: Any, standing: str, first: str) -> None:
    feed = wire("Feed", "Battery", "Load", length_m, ("AWG", size), back="wire", fuse=fuse)
    circuit = solved(vehicle(load(draw_a=6.0), feed)).circuit("Feed")
    assert circuit.standing == standing
    assert circuit.meets == (standing == "fine")
    assert circuit.broken[0].startswith(first) if first else circuit.broken == ()


def test_where_no_fuse_does_for_load_and_wire_none_is_proposed() -> None:
    """It said to put one of at most 156 A before a winch of 400 A."""
    feed = wire("Feed", "Battery", "Load", 1.0, ("AWG", 0.0), back="wire", fuse="none")
    plan = solved(vehicle(load(draw_a=400.0), feed))
    assert any("none fits, as it needs" in text for text in plan.circuit("Feed").broken)
    assert not any("put one" in text for text in plan.circuit("Feed").broken)
    assert plan.circuit("Feed").standing == "too thin"
    assert any("counted as lasting for hours" in text for text in plan.warnings)
    assert solved(vehicle(load(draw_a=150.0), feed)).circuit("Feed").cautions == ()
