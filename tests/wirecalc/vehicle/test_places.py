"""Wires through several places: typed, written, the hottest for heat and all of them for drop."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.plans import amplifier, load, vehicle, wire, with_wire
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import InputError
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.model import Device
from wirecalc.vehicle.places import Places, read_places, written_places
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.text import parse, text_of
from wirecalc.wire.conductor import awg
from wirecalc.wire.heat import temperature_c
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("engine bay 1 m; sill 3 m; boot 1 m", (("engine_bay", 1.0), ("sill", 3.0), ("boot", 1.0))),
        ("Engine_Bay 100 cm;boot 2,5 m;", (("engine_bay", 1.0), ("boot", 2.5))),
        ("cabin, behind trim 4 m", (("cabin", 4.0),)),
        ("battery side 1 m; doors 3 ft 3 in", (("battery_side", 1.0), ("sill", 0.9906))),
    ],
)
def test_places_are_read(text: str, expected: Places) -> None:
    places = read_places(text)
    assert [zone for zone, _ in places] == [zone for zone, _ in expected]
    assert [length for _, length in places] == pytest.approx([length for _, length in expected])
    assert read_places(written_places(places)) == places


@pytest.mark.parametrize("text", ["", ";", "moon 1 m", "boot", "boot 1 kg", "boot -1 m", "1 m", "boot 1 m; " * 13])
def test_places_that_cannot_be_read(text: str) -> None:
    with pytest.raises(InputError):
        read_places(text)


def test_a_plan_keeps_them_and_says_where_they_are_wrong() -> None:
    places = read_places("bay 1 m; sill 3 m; boot 1 m")
    whole = vehicle(load(draw_a=5.0), wire("f", "Battery", "Load", 5.0, places=places, zone="", fuse=10.0))
    text = text_of(whole)
    assert "engine_bay 1.0 m; sill 3.0 m; boot 1.0 m" in text.wires.rows[0]
    assert parse(text).vehicle == whole
    wrong = replace(text, wires=text.wires.with_cell(0, "Places", "bay 1 m; boot 1 m"))
    (fault,) = parse(wrong).faults
    assert "Places" in fault.field
    assert "5 m in all" in str(fault)


def test_the_hottest_decides_the_heat_and_each_its_part_of_the_drop() -> None:
    def feed(**more: object) -> dict[str, float]:
        whole = vehicle(load(draw_a=20.0), wire("f", "Battery", "Load", 5.0, ("AWG", 10.0), fuse=30.0, **more))
        return dict(solve_vehicle(whole).circuit("f").measures)

    places = (("engine_bay", 1.0), ("outside", 3.0), ("boot", 1.0))
    whole, bay = feed(zone="", places=places), feed(zone="engine_bay")
    assert whole["allowable_a"] == bay["allowable_a"]
    mean_c = (ZONES["engine_bay"].ambient_c + 3 * ZONES["outside"].ambient_c + ZONES["boot"].ambient_c) / 5
    rise_c = float(temperature_c(insulated([awg(10)], INSULATIONS["pvc_105"]), 20.0, mean_c, 1)[0]) - mean_c
    ohm = 5 * awg(10).ohm_per_m_20c * (1 + 0.00393 * (mean_c + rise_c - 20))
    assert whole["drop_v"] == pytest.approx(20 * (ohm + 2e-5), rel=3e-3)
    assert whole["drop_v"] < bay["drop_v"]


def test_a_battery_feed_passes_the_bay_unless_the_plan_says_another_zone() -> None:
    rules = HouseRules.from_table()
    bare = {"zone": "", "insulation": ""}
    whole = vehicle(amplifier(), load(draw_a=1.0), wire("f", "Battery", "Amplifier", 5.0, fuse=40.0, **bare),
                    wire("l", "Battery", "Load", 5.0, fuse=5.0, zone="boot"),
                    wire("g", "Battery: minus", "Body: bay", 0.4, **bare))  # fmt: skip
    feed, ground = whole.wire("f"), whole.wire("g")
    assert [zone for zone, _ in feed.places] == [place.zone for place in rules.places("battery to amplifier")]
    assert sum(length for _, length in feed.places) == pytest.approx(5.0)
    assert (feed.zone, feed.insulation) == ("battery_side", "pvc_105")
    assert ground.zone == "battery_side"
    assert whole.wire("l").zone == "boot"
    assert parse(text_of(whole)).vehicle == whole


@pytest.mark.parametrize(
    ("rated_w", "length_m", "thinnest", "thickest", "fuse_a"),
    [
        (500.0, 5.0, 8, 2, (50, 80)),
        (900.0, 5.0, 6, 0, (80, 125)),
        (1000.0, 5.0, 4, 0, (90, 150)),
        (2000.0, 5.0, 0, -1, (150, 250)),
    ],
)
def test_feeds_that_an_installer_signs(
    rated_w: float, length_m: float, thinnest: float, thickest: float, fuse_a: tuple[float, float]
) -> None:
    """Class D at 80 %, 14.4 V: 43, 78, 87 and 174 A at full power; no 4/0. Common practice, no source."""
    alternator = Device(name="Alternator", kind="alternator", voltage_v=14.4, inner_ohm=0.005)
    whole = vehicle(
        alternator, wire("c", "Alternator", "Battery", 1.0, ("AWG", 0.0), fuse=200.0, insulation="xlpe_125"),
        amplifier(power_w=rated_w / 4), wire("f", "Battery", "Amplifier", length_m, "choose", fuse="choose", zone="",
                                             insulation=""),
        wire("g", "Amplifier: minus", "Body: boot", 0.5, "choose", zone="boot", insulation=""),
    )  # fmt: skip
    choice = choose_plan(whole)
    assert choice.plan.meets
    area = {circuit.wire.name: circuit.conductor.area_m2 for circuit in choice.plan.circuits}
    assert awg(thinnest).area_m2 * 0.999 <= area["f"] <= awg(thickest).area_m2 * 1.001
    assert area["g"] >= area["f"] * 0.999
    own = choice.vehicle.wire("f").fuse
    assert not isinstance(own, str)
    assert fuse_a[0] <= own <= fuse_a[1]
    for word in ("fuse", "breaks", "kA", "leaves"):
        assert word in choice.fuse_reasons["f"]
    thin = solve_vehicle(with_wire(choice.vehicle, "f", size=("AWG", 12.0)))
    assert not thin.meets


def test_a_wire_that_gets_another_length_keeps_its_places_by_their_shares() -> None:
    feed = wire("f", "Battery", "Load", 5.0, places=(("engine_bay", 1.0), ("boot", 4.0)), zone="")
    assert replace(feed, length_m=10.0).places == (("engine_bay", 2.0), ("boot", 8.0))
