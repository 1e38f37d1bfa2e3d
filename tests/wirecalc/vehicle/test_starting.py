"""A device takes more when it starts: what stands before it in a plan must not open, and One run says the same."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.plans import BLOCK, load, vehicle, wire, with_wire
from wirecalc.advice.fuses import BEHIND_A_FUSE
from wirecalc.advice.size import Job, advise
from wirecalc.vehicle.as_run import route_of
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.limits import fuse_of_wire, start_over
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import solve_vehicle


def fan(ratio: float, start_s: float, draw_a: float = 7.5) -> Vehicle:
    """Behind its own fuse in a block, on wire that any fuse here protects."""
    device = load(draw_a=draw_a, start_ratio=ratio, start_s=start_s)
    main = wire("Main", "Battery", "Block", fuse=60.0)
    return vehicle(BLOCK, device, main, wire("Feed", "Block: out 1", "Load", 3.0, back="body", fuse="choose"))


@pytest.mark.parametrize(
    ("ratio", "start_s", "rating_a"),
    [
        (1.0, 0.0, 10.0),  # 7.5 A for hours is 75 % of it
        (5.0, 0.02, 10.0),  # filaments: 39 A, which melt 10 A in no less than 0.02 s
        (3.0, 0.3, 20.0),  # a motor: 24 A may melt 10 A in 0.15 s and 15 A in 0.25 s, by data/fuse_gates.csv
    ],
)
def test_a_plan_and_one_run_take_the_same_fuse(ratio: float, start_s: float, rating_a: float) -> None:
    choice = choose_plan(fan(ratio, start_s))
    circuit = choice.plan.circuit("Feed")
    assert circuit.run is not None
    route = route_of(choice.plan.vehicle, circuit.wire)
    alone = advise(Job(run=circuit.run, route=route, asked=circuit.conductor, fuse_where=BEHIND_A_FUSE))
    assert alone.asked is not None
    assert alone.asked.fuse is not None
    assert circuit.measures["fuse_a"] == alone.asked.fuse.rating_a == rating_a
    assert ("at the start" in choice.fuse_reasons["Feed"]) == (ratio > 1)


def test_a_fuse_that_opens_when_the_device_starts_is_too_small() -> None:
    small = solve_vehicle(with_wire(fan(3.0, 0.3), "Feed", fuse=10.0)).circuit("Feed")
    assert any("fuse 10 A, at least 20 A" in words for words in small.broken)
    assert solve_vehicle(with_wire(fan(1.0, 0.0), "Feed", fuse=10.0)).circuit("Feed").meets


def test_before_several_devices_one_starts_while_the_others_run() -> None:
    """By hand: 3 times 10 A of 12 V is 31.5 A at 12.6 V, 21.5 A over its draw; the pump takes longer, and less."""
    parts = (
        BLOCK, load("Fan", draw_a=10.0, start_ratio=3.0, start_s=0.2),
        load("Pump", power_w=60.0, start_ratio=4.0, start_s=0.5),
        load("Heater", impedance_ohm=1.2, start_ratio=1.0),
        wire("Main", "Battery", "Block", fuse=60.0),
        *(wire(f"{name} feed", f"Block: out {at}", name, back="body", fuse=30.0)
          for at, name in enumerate(("Fan", "Pump", "Heater"), 1)),
    )  # fmt: skip
    whole = vehicle(*parts)
    assert start_over(whole, whole.wire("Main")) == (pytest.approx(21.5), 0.5)
    assert start_over(whole, whole.wire("Pump feed")) == (pytest.approx(16.0), 0.5)  # 4 x 5 A x 12.6 / 12, less 5 A
    assert start_over(whole, whole.wire("Heater feed")) == (0.0, 0.0)
    doubled = replace(
        whole, devices=tuple(replace(device, voltage_v=25.2) if device.kind == "battery" else device
                             for device in whole.devices)
    )  # fmt: skip
    assert start_over(doubled, doubled.wire("Pump feed"))[0] == pytest.approx(8.0)  # 24 V: 2.5 A of 60 W


@settings(max_examples=tried(15))
@given(
    draw_a=st.floats(0.5, 30.0), ratio=st.floats(1.0, 10.0), more=st.floats(1.0, 2.0),
    start_s=st.floats(0.0, 2.0), longer=st.floats(1.0, 4.0),
)  # fmt: skip
def test_more_start_never_takes_a_smaller_fuse(
    draw_a: float, ratio: float, more: float, start_s: float, longer: float
) -> None:
    def smallest_a(ratio: float, start_s: float) -> float:
        whole = fan(ratio, start_s, draw_a)
        return fuse_of_wire(whole, whole.wire("Feed"), draw_a, draw_a).smallest_a

    assert smallest_a(ratio, start_s) <= smallest_a(ratio * more, start_s * longer)
