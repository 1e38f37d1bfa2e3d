"""Plans of other supplies and heavy loads: fuses that break the voltage, grounds that grow along, linked batteries."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.plans import BATTERY, amplifier, load, vehicle, wire
from wirecalc.circuits.battery import usual_battery
from wirecalc.jobs import JOBS
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.model import Device
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.text import assumed_in, text_of, vehicle_of
from wirecalc.wire.conductor import conductor


def fed(volt: float, draw_a: float, inner_ohm: float = 0.005) -> ChosenPlan:
    """One load on a pair of 1.5 m from the battery, its size, its fuse and the battery's ground left to choose."""
    return choose_plan(
        vehicle(
            replace(BATTERY, voltage_v=volt, inner_ohm=inner_ohm),
            load(draw_a=draw_a),
            wire("Feed", "Battery", "Load", 1.5, "choose", fuse="choose", back="wire", zone="cabin"),
            wire("Ground", "Battery: minus", "Body", 0.4, "choose", zone="cabin"),
        )
    )


@pytest.mark.parametrize(("volt", "draw_a"), [(50.0, 5.0), (50.0, 20.0), (25.2, 6.0), (12.6, 6.0)])
def test_the_fuse_breaks_the_voltage_and_the_short(volt: float, draw_a: float) -> None:
    """Rated voltages and breaking capacities stand in data/fuse_families.csv with their standards."""
    plan = fed(volt, draw_a, 0.06 if volt > 30 else 0.005).plan
    feed = plan.circuit("Feed")
    assert feed.grade == "fine"
    assert feed.wire.parallel == 1  # thin wires side by side only to get a smaller fuse are no remedy
    family = fuse_family(plan.vehicle, feed.wire, feed.measures["fuse_a"])
    assert family is not None
    assert family.rated_v >= volt
    typed = solve_vehicle(replace(plan.vehicle, wires=(replace(feed.wire, fuse=7.5), *plan.vehicle.wires[1:])))
    blade = fuse_family(typed.vehicle, typed.circuit("Feed").wire, 7.5)
    assert (blade is None) == (volt > 20)  # 32 V, and 1 kA against 1.9 kA right at two batteries in a row


@pytest.mark.parametrize("draw_a", [140.0, 200.0, 320.0])
def test_the_ground_grows_with_the_feed_that_it_returns(draw_a: float) -> None:
    """On the shelf it was fine by itself, and held the feed at a size that no fuse suits."""
    plan = fed(12.6, draw_a).plan
    assert [circuit.grade for circuit in plan.circuits] == ["fine", "fine"]
    feed, ground = (plan.circuit(name) for name in ("Feed", "Ground"))
    assert ground.conductor.area_m2 * ground.wire.parallel >= 0.88 * feed.conductor.area_m2 * feed.wire.parallel


@pytest.mark.parametrize(("power", "bass", "bass_ohm"), [("250 W", "1500 W", "2 ohm"), ("200 W", "2000 W", "1 ohm")])
def test_a_whole_system_of_much_power_has_a_main_feed(power: str, bass: str, bass_ohm: str) -> None:
    asked = {"power_w": power, "bass_w": bass, "bass_ohm": bass_ohm, "feed_m": "6 m"}
    plan = choose_plan(vehicle_of(JOBS["whole-system"].text(asked))).plan
    assert {circuit.grade for circuit in plan.circuits} <= {"fine", "borderline"}
    main = plan.circuit("Main feed")
    assert main.measures["fuse_a"] > 0
    assert main.wire.parallel == 2
    assert plan.circuit("Processor feed").conductor.area_m2 <= conductor("AWG", 10).area_m2  # 1.5 A, not for millivolts


def test_a_device_has_wire_as_one_run_takes_it_where_nobody_says() -> None:
    """Unmarked vehicle wire stands 80 °C; 105 only where it is printed on the wire: common practice, no source."""
    whole = vehicle_of(JOBS["device-on-supply"].text({"what": "socket", "length_m": "1.5 m", "back": "body"}))
    feed = next(each for each in whole.wires if each.name == "Socket feed")
    assert (feed.insulation, feed.usual_insulation) == ("pvc_80", True)
    assert choose_plan(whole).plan.circuit("Socket feed").conductor == conductor("AWG", 12)


def test_a_link_of_two_batteries_is_told_what_the_plan_leaves_out() -> None:
    second = replace(BATTERY, name="Second")
    link = wire("Link", "Battery", "Second", 4.0, ("AWG", 4.0), fuse=60.0)
    feed = wire("Feed", "Second", "Load", 2.0, back="wire", fuse=30.0)
    warned = solve_vehicle(vehicle(BATTERY, second, load(draw_a=10.0), link, feed)).warnings
    assert any("“Link” joins two batteries" in words for words in warned)
    assert not any("joins two batteries" in words for words in fed(12.6, 5.0).plan.warnings)


@pytest.mark.parametrize(("volt", "pull_in_v", "told"), [(12.6, 8.0, False), (25.2, 8.0, True), (25.2, 16.0, False)])
def test_a_relay_for_half_the_voltage_is_told_of(volt: float, pull_in_v: float, told: bool) -> None:
    relay = Device(name="Relay", kind="relay", pull_in_v=pull_in_v, coil_ohm=90.0, drop_out_v=1.2)
    coil = wire("Coil", "Battery", "Relay: 86", 2.0, fuse=5.0)
    back = wire("Back", "Relay: 85", "Body", 0.5)
    warned = solve_vehicle(vehicle(replace(BATTERY, voltage_v=volt), relay, coil, back)).warnings
    assert any("“Relay” pulls in at 8 V" in words for words in warned) == told


def test_what_takes_what_it_gets_may_lose_more() -> None:
    """ABYC E-11: 3 % for electronics and navigation lights, 10 % for the rest, as the house rules have it."""
    limits = {}
    for critical in ("yes", "no"):
        feed = wire("Feed", "Battery", "Heater", 6.0, "choose", back="wire", fuse="choose")
        circuit = choose_plan(vehicle(load("Heater", draw_a=10.0, critical=critical), feed)).plan.circuit("Feed")
        assert circuit.grade == "fine"
        bound = next(limit.bound for limit in circuit.verdict.limits if limit.measure == "drop_fraction")
        limits[critical] = (bound, circuit.conductor.area_m2)
        assert circuit.run is not None
        assert getattr(circuit.run, "critical") == (critical == "yes")  # noqa: B009
    assert (limits["yes"][0], limits["no"][0]) == (pytest.approx(0.03), pytest.approx(0.1))
    assert limits["no"][1] < limits["yes"][1] / 1.5


@pytest.mark.parametrize(("volt", "systems"), [(None, 1), (12.6, 1), (25.2, 2), (50.4, 4)])
def test_what_nobody_wrote_is_taken_by_the_vehicle_s_voltage(volt: float | None, systems: int) -> None:
    """As one run takes it: batteries in a row add up (`usual_battery`), amplifiers are rated at the charged voltage."""
    typed = amplifier("Typed", full_power_v=14.4)
    ends = ("Amplifier", "Typed", "Alternator")
    feeds = [
        wire(f"Feed {end}", "Battery", end) if end != "Alternator" else wire("Feed", end, "Battery") for end in ends
    ]
    battery, alternator = (Device(name=kind.title(), kind=kind) for kind in ("battery", "alternator"))
    whole = vehicle(replace(battery, voltage_v=volt), alternator, amplifier(), typed, *feeds)
    for taken in (whole, replace(whole, wires=whole.wires[:2])):
        assert taken.device("Battery").inner_ohm == pytest.approx(usual_battery(14.0 * systems).ohm)
        regulated = taken.device("Alternator")
        assert regulated.voltage_v == pytest.approx(14.4 * systems)
        assert regulated.inner_ohm == pytest.approx(0.012 * systems)
        assert taken.device("Amplifier").full_power_v == pytest.approx(14.4 * systems)
        assert taken.device("Typed").full_power_v == 14.4  # what is written stays, be it a default elsewhere
    of_12 = replace(whole, devices=(replace(whole.devices[0], voltage_v=12.6), *whole.devices[1:]))
    assert of_12.device("Amplifier").full_power_v == 14.4
    text = text_of(whole)
    empty = replace(text, devices=text.devices.with_cell(2, "Full-power voltage", ""))
    assert assumed_in(empty, whole.systems)[("Devices", "Full-power voltage", f"{14.4 * systems:g} V")] == (
        "Amplifier",
    )
    assert vehicle_of(empty).device("Amplifier").full_power_v == pytest.approx(14.4 * systems)


@pytest.mark.parametrize(
    ("volt", "fuse_a", "told"),
    [
        (
            12.6,
            42.0,
            "no kind known here has it. Only its rating is judged: whether it breaks 1.5 kA, and",
        ),  # of no standard series
        (12.6, 40.0, ""),
        (25.2, 7.5, "no kind known here breaks 1.2 kA at 25.2 V, the short there."),  # blade fuses break 1 kA
        (12.6, 7.5, ""),
    ],
)
def test_a_typed_fuse_of_no_known_kind_is_told_of(volt: float, fuse_a: float, told: str) -> None:
    feed = wire("Feed", "Battery", "Load", fuse=fuse_a, back="wire")
    plan = solve_vehicle(vehicle(replace(BATTERY, voltage_v=volt), load(draw_a=5.0), feed))
    assert plan.circuit("Feed").grade == "fine"  # the wire
    sentences = [words for words in plan.warnings if words.startswith(f"The fuse of “Feed” is {fuse_a:g} A, and ")]
    assert len(sentences) == bool(told)
    assert all(told in words and "how soon it opens, is not known" in words for words in sentences)
