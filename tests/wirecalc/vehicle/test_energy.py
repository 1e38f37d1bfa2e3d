"""Alternator and battery against numbers worked by hand."""

from __future__ import annotations

import math

import pytest

from tests.support.plans import amplifier, load, vehicle, wire
from wirecalc.errors import InputError
from wirecalc.vehicle import energy
from wirecalc.vehicle.energy import hours
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.plan import solve_vehicle

BATTERY = Device(name="Battery", kind="battery", voltage_v=12.6, inner_ohm=0.001, capacity_ah=70.0)
ALTERNATOR = Device(name="Alternator", kind="alternator", voltage_v=14.4, inner_ohm=0.001, road_a=90.0, idle_a=40.0)


def plain(*more: Device, alternator: Device | None = ALTERNATOR) -> Vehicle:
    """An amplifier of 4 x 200 W, class D, and a load of 5 A, on wires of next to no resistance."""
    parts = [BATTERY, amplifier(power_w=200.0), load(draw_a=5.0), *more, *([alternator] if alternator else [])]
    thick = {"size": ("AWG", 0.0), "fuse": 200.0}
    wires = [wire("f", "Battery", "Amplifier", 0.2, **thick), wire("l", "Battery", "Load", 0.2, **thick)]
    return vehicle(*parts, *wires, *([wire("c", "Alternator", "Battery", 0.2, **thick)] if alternator else []))


@pytest.mark.parametrize(
    ("capacity_ah", "current_a", "exponent", "expected_h"),
    [
        (60.0, 3.0, 1.2, 20.0),  # the rated current for the rated hours, whatever the exponent
        (60.0, 30.0, 1.0, 2.0),
        (60.0, 30.0, 1.2, 20 * 0.1**1.2),  # 1.26 h: (60 / (30 x 20))^1.2
        (100.0, 10.0, 1.3, 20 * 0.5**1.3),  # 8.12 h
        (60.0, 1.0, 1.2, 60.0),  # under the rated current the charge itself is the bound
        (60.0, 0.0, 1.2, math.inf),
    ],
)
def test_peukert_by_hand(capacity_ah: float, current_a: float, exponent: float, expected_h: float) -> None:
    """W. Peukert, Elektrotechnische Zeitschrift 1897, from memory; numbers worked by hand."""
    assert hours(capacity_ah, current_a, exponent=exponent, share=1.0) == pytest.approx(expected_h)
    assert hours(capacity_ah, current_a, exponent=exponent, share=0.5) == pytest.approx(expected_h / 2)


def test_more_current_never_plays_longer() -> None:
    times = [hours(70, each) for each in (0.5, 1, 2, 3.4, 3.6, 5, 10, 100)]
    assert times == sorted(times, reverse=True)


@pytest.mark.parametrize("wrong", [{"capacity_ah": 0.0}, {"current_a": -1.0}, {"exponent": 0.9}, {"share": 0.0}])
def test_what_cannot_be(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError):
        hours(**({"capacity_ah": 60.0, "current_a": 1.0} | wrong))


def test_an_alternator_that_carries_it_on_the_road_and_not_at_idle() -> None:
    balance = solve_vehicle(plain()).energy
    music_a = 800 / 0.8 / 8 / 14.4  # class D 80 %, one-eighth of 800 W, at 14.4 V: 8.7 A
    assert balance.road is not None
    assert balance.idle is not None
    assert balance.road.takes_a == pytest.approx(music_a + 5 + 20, rel=0.01)
    assert balance.road.spare_a == pytest.approx(90 - music_a - 25, rel=0.01)
    assert balance.idle.spare_a == pytest.approx(40 - music_a - 25, rel=0.02)
    assert balance.fine
    text = " ".join(balance.words())
    assert "On the road the alternator carries it all: 34 of 90 A" in text


def test_too_much_at_idle_is_said_with_the_hours_that_are_left() -> None:
    heavy = Device(name="Alternator", kind="alternator", voltage_v=14.4, inner_ohm=0.001, road_a=90.0, idle_a=30.0)
    balance = solve_vehicle(plain(alternator=heavy)).energy
    assert balance.idle is not None
    assert not balance.fine
    assert balance.idle.spare_a == pytest.approx(30 - 33.68, abs=0.1)
    assert any("the battery gives the rest" in sentence for sentence in balance.words())


def test_the_battery_alone_and_what_drains_it_parked() -> None:
    balance = solve_vehicle(plain(alternator=None)).energy
    music_a = 800 / 0.8 / 8 / 12.6
    assert balance.plays_a == pytest.approx(music_a + 5, rel=0.01)
    assert balance.plays_h == pytest.approx(0.5 * 20 * (70 / (balance.plays_a * 20)) ** 1.2, rel=1e-6)
    assert balance.road is None
    assert any("No alternator" in sentence for sentence in balance.words())
    assert dict(balance.parked_by) == {"the vehicle itself": 0.03, "Amplifier": 0.002}
    assert balance.parked_days == pytest.approx(0.6 * 70 / 0.032 / 24)  # 40 % is left to start the engine


def test_what_nobody_wrote_down_is_said() -> None:
    bare = vehicle(Device(name="Alternator", kind="alternator", voltage_v=14.4, inner_ohm=0.01), load(draw_a=3.0),
                   wire("f", "Battery", "Load", fuse=10.0), wire("c", "Alternator", "Battery", fuse=60.0))  # fmt: skip
    balance = solve_vehicle(bare).energy
    text = " ".join(balance.assumed)
    assert balance.battery_ah == energy.CAPACITY_AH
    for part in ("Alternator gives 100 A on the road", "Alternator gives half", "Battery holds 60 A h"):
        assert part in text
    assert solve_vehicle(plain()).energy.assumed[0].startswith("the vehicle itself takes 20 A")


def test_without_an_operating_point_there_is_no_time() -> None:
    dead = vehicle(ALTERNATOR, load(power_w=9000.0), wire("f", "Battery", "Load", 9.0, fuse=10.0),
                   wire("c", "Alternator", "Battery", fuse=60.0))  # fmt: skip
    balance = solve_vehicle(dead).energy
    assert math.isnan(balance.plays_h)
    assert not any("plays" in sentence or "road" in sentence for sentence in balance.words())


@pytest.mark.parametrize(("draw_a", "told"), [(0.25, "0.25 A are taken: the battery alone lasts 120 h"),
                                              (200.0, "200 A are taken: the battery alone lasts 4 min")])  # fmt: skip
def test_a_plan_without_music_speaks_of_none_and_small_draws_are_said(draw_a: float, told: str) -> None:
    """It said that "0 A are taken with music" of a camera, and that a battery "plays 0.1 h" for an inverter."""
    feed = wire("f", "Battery", "Load", 0.01, size=("AWG", -3.0), fuse=300.0)
    text = " ".join(solve_vehicle(vehicle(load(draw_a=draw_a), feed)).energy.words())
    assert told in text
    assert "music" not in text
    assert "plays" not in text
