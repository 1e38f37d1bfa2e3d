"""What the devices' terminals take: a bound on what is chosen, and what is said where a size does not go in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.plans import BLOCK, amplifier, vehicle, wire
from wirecalc.advice.terminal import at_terminal
from wirecalc.errors import FileFaults
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.fits import least_terminal, takes_m2, terminal_words
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.text import assumed, parse, text_of, vehicle_of
from wirecalc.wire.as_sold import Size
from wirecalc.wire.cautions import CAUTIONS
from wirecalc.wire.conductor import conductor


def fed(takes: Size | None, power_w: float = 250.0, size: object = "choose") -> Vehicle:
    fuse = "choose" if size == "choose" else 100.0
    return vehicle(
        amplifier("Amp", power_w, takes=takes),
        wire("Feed", "Battery", "Amp", 5.0, size, fuse=fuse),
        wire("Ground", "Amp: minus", "Body: boot", 0.6, size),
    )


def test_what_does_not_go_in_is_not_chosen() -> None:
    free, bound = choose_plan(fed(None)), choose_plan(fed(("AWG", 8.0)))
    assert free.vehicle.wire("Feed").size == ("AWG", 4.0)
    assert free.plan.warnings == choose_plan(fed(("AWG", 4.0))).plan.warnings
    for name in ("Feed", "Ground"):
        own = bound.vehicle.wire(name)
        assert own.conductor(own.size).area_m2 <= conductor("AWG", 8).area_m2  # type: ignore[arg-type]
        assert own.parallel == 2
        assert bound.plan.circuit(name).meets
    assert isinstance(bound.vehicle.wire("Feed").fuse, float)
    feed, ground = (terminal_words(bound.vehicle, bound.vehicle.wire(name)) for name in ("Feed", "Ground"))
    assert feed.startswith(
        "The terminal of Amp takes up to 8 AWG: 2 × 8 AWG side by side, alike, each with its own fuse, joined at both"
    )
    assert "reducing pin" in feed
    assert "fuse, joined" not in ground
    assert "joined at both ends" in ground
    assert f"Feed: {feed}" in bound.plan.warnings
    assert "joined at both ends" in CAUTIONS["parallel"]


def test_a_size_that_is_typed_and_does_not_go_in_is_said() -> None:
    tight = solve_vehicle(fed(("AWG", 8.0), size=("AWG", 4.0)))
    warnings = [text for text in tight.warnings if "does not go into the terminal of Amp" in text]
    assert len(warnings) == 2
    assert "Never cut strands off" in warnings[0]
    assert not any("terminal" in text for text in solve_vehicle(fed(("AWG", 4.0), size=("SAE", 4.0))).warnings)


def test_the_lesser_terminal_at_either_end_decides() -> None:
    both = vehicle(
        amplifier("Amp", takes=("mm2", 10.0)),
        replace(BLOCK, takes=("AWG", 4.0)),
        wire("Main", "Battery", "Block", 5.0, ("AWG", 8.0), fuse=60.0),
        wire("Feed", "Block: out 1", "Amp", 1.0, ("AWG", 8.0), fuse=60.0),
    )
    assert least_terminal(both, both.wire("Feed")) == (both.device("Amp"), ("mm2", 10.0))
    assert takes_m2(both, both.wire("Feed")) == pytest.approx(10e-6)
    assert takes_m2(both, both.wire("Main")) == pytest.approx(conductor("AWG", 4).area_m2)
    assert takes_m2(vehicle_of(demo_plan()), vehicle_of(demo_plan()).wire("Main feed")) == float("inf")


def test_a_terminal_is_written_in_the_list_and_read_back() -> None:
    whole = fed(("SAE", 4.0))
    text = text_of(whole)
    assert "4 SAE" in text.devices.rows[0]
    assert parse(text).vehicle == whole
    at = text.devices.columns.index("Terminals take")
    bad = replace(text.devices, rows=((*text.devices.rows[0][:at], "4 ga", *text.devices.rows[0][at + 1 :]),))
    with pytest.raises(FileFaults, match=r"Terminals take.*4 SAE"):
        vehicle_of(replace(text, devices=bad))


def test_where_nothing_on_the_shelf_does_it_is_said() -> None:
    assert "nothing on the shelf does" in at_terminal("the terminal", "8 AWG", None)


def test_what_nobody_wrote_is_assumed_said_and_no_bound() -> None:
    big = solve_vehicle(fed(None, size=("AWG", 0.0)))
    warnings = [text for text in big.warnings if "usually take up to 4 AWG (assumed" in text]
    assert len(warnings) == 2
    assert not any(
        "usually" in text for text in solve_vehicle(fed(("AWG", 0.0), size=("AWG", 0.0))).warnings
    )  # written: known
    assert not any("usually" in text for text in solve_vehicle(fed(None, size=("AWG", 4.0))).warnings)


def test_what_a_kind_usually_takes_stands_in_grey_in_the_list_of_devices() -> None:
    shown = assumed("Devices")
    assert {kind: shown[kind]["Terminals take"] for kind in ("head unit", "subwoofer", "relay")} == {
        "head unit": "12 AWG", "subwoofer": "8 AWG", "relay": "10 AWG",
    }  # fmt: skip
    assert "Terminals take" not in shown["amplifier"]  # by its power
    assert "Terminals take" not in shown["battery"]  # studs
