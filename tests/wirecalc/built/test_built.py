"""What a plan's circuits should read, the record, and the verdicts."""

from __future__ import annotations

import math
from functools import cache

import pytest

from tests.support.plans import amplifier, load, vehicle, wire
from tests.support.shown_formulas import proven
from wirecalc.bench.faults import AsRead
from wirecalc.built.record import COLUMNS, Visit, read_end, record_cell, visits_of, with_cell
from wirecalc.built.should import should
from wirecalc.built.verdict import as_built, compared
from wirecalc.errors import InputError
from wirecalc.vehicle.file import read_csv, read_workbook, write_csv, write_workbook
from wirecalc.vehicle.model import Device
from wirecalc.vehicle.plan import Plan, solve_vehicle
from wirecalc.vehicle.text import PlanSheet, text_of
from wirecalc.workings.built import of_reading


@cache
def plan() -> Plan:
    """A battery, a load of 10 A over 5 m of 2.5 mm² and a ground of 1 m of it."""
    return solve_vehicle(
        vehicle(
            load(draw_a=10.0),
            wire("Feed", "Battery", "Load", 5.0, ("mm2", 2.5), fuse=15.0),
            wire("Ground", "Load: minus", "Body: here", 1.0, ("mm2", 2.5)),
            wire("Battery ground", "Battery: minus", "Body: bay", 0.4, ("mm2", 16.0)),
        )
    )


def of(name: str, **visit: object) -> object:
    return next(expected for expected in should(plan(), Visit(**visit)) if expected.circuit.wire.name == name)  # type: ignore[arg-type]


def test_a_wire_reads_what_its_table_says_from_end_to_end() -> None:
    # IEC 60228:2004 class 5: 7.98 ohm/km of 2.5 mm² at 20 °C; read
    feed = of("Feed")
    assert feed.ohm.ohm == pytest.approx(5 * 7.98e-3, rel=1e-6)  # type: ignore[attr-defined]
    assert feed.ohm.low_ohm < 5 * 7.98e-3 < feed.ohm.high_ohm  # type: ignore[attr-defined]
    assert not feed.pair  # type: ignore[attr-defined]
    warm = of("Feed", wires_c=40.0, leads_ohm=0.1)
    assert warm.ohm.ohm == pytest.approx(0.1 + 5 * 7.98e-3 * (1 + 20 * 0.00393), rel=1e-6)  # type: ignore[attr-defined]


def test_volts_are_those_of_the_plan_in_the_state_that_they_are_read_in() -> None:
    feed, ground = of("Feed"), of("Ground")
    nodes = plan().nodes
    at = nodes[(nodes.state == "engine off, full power") & (nodes.device == "Load")].set_index("terminal").node_v
    assert feed.volts[1] == pytest.approx(at["plus"] - at["minus"], abs=1e-6)  # type: ignore[attr-defined]
    # 10 A through 1 m of 7.98 ohm/km: 80 mV
    assert ground.volts[1] == pytest.approx(0.0798, rel=0.02)  # type: ignore[attr-defined]
    assert ground.along  # type: ignore[attr-defined]
    low = of("Feed", battery_v=12.0)
    drop = plan().supply.posts_v[0] - feed.volts[1]  # type: ignore[attr-defined]
    assert low.volts[1] == pytest.approx(12.0 - drop, abs=0.05)  # type: ignore[attr-defined]
    assert low.volts[2] - low.volts[0] < feed.volts[2] - feed.volts[0]  # type: ignore[attr-defined]


@cache
def sounding() -> Plan:
    """A speaker of 4 ohm on 10 m of 16 AWG, and a signal over 4 m to an input of 10 kilohm."""
    return solve_vehicle(
        vehicle(
            amplifier(line_in_ohm=10e3),
            Device(name="Radio", kind="head unit"),
            Device(name="Door", kind="loudspeaker", impedance_ohm=4.0),
            wire("Feed", "Battery", "Amplifier", 5.0, fuse=60.0),
            wire("Radio feed", "Battery", "Radio", 2.0, ("AWG", 14.0), fuse=15.0),
            wire("Radio ground", "Radio: minus", "Body: dash", 1.0, ("AWG", 14.0)),
            wire("Ground", "Amplifier: minus", "Body: here", 1.0),
            wire("Battery ground", "Battery: minus", "Body: bay", 0.4),
            wire("Door run", "Amplifier: speaker 1", "Door: coil", 10.0, ("AWG", 16.0)),
            wire("Signal", "Radio: line out 1", "Amplifier: line in 1", 4.0, ("AWG", 24.0)),
        )
    )


def test_a_test_tone_arrives_less_what_the_wire_takes() -> None:
    # by hand: 20 m of 13.17 mΩ/m (16 AWG, handbook tables of solid wire at 20 °C), so 0.26 Ω before 1.2 × 4 Ω
    by_name = {each.circuit.wire.name: each for each in should(sounding(), Visit(tone_v=2.0))}
    door, signal = by_name["Door run"], by_name["Signal"]
    assert door.tone
    assert door.volts is not None
    assert door.volts[1] == pytest.approx(2.0 * 4.8 / (4.8 + 0.27), rel=0.01)
    assert door.volts[0] < 2.0 * 3.2 / (3.2 + 0.27)  # at the least impedance that a speaker may have
    assert "of a 2 V tone" in door.volts_in_words
    assert signal.volts is not None
    assert signal.volts[0] < 2.0 < signal.volts[2]  # a line input takes next to nothing
    assert signal.volts[1] == pytest.approx(2.0, rel=1e-3)
    for each in (*by_name.values(), *should(plan(), Visit())):
        if each.volts is not None:
            for key, value in zip(("low", "volts", "high"), each.volts, strict=True):
                working = of_reading(key, each)
                assert working.value == pytest.approx(value, rel=1e-3, abs=1e-6), (each.circuit.wire.name, key)
                proven(working)
    with pytest.raises(KeyError):
        of_reading("amps", door)


def test_a_tone_that_does_not_arrive_is_off() -> None:
    def likes(**read: float) -> list[str]:
        visit = Visit(readings={"Door run": AsRead(**read)})  # type: ignore[arg-type]
        door_run = next(each for each in as_built(sounding(), visit) if each.name == "Door run")
        return [each.cause for each in door_run.likes] if door_run.wrong else []

    assert likes(volts=0.95) == []
    assert likes(volts=0.0)[0] == "open"
    assert "before" not in likes(volts=0.6)  # nothing is shared with another circuit
    assert likes(volts=0.6)[0] == "joint"


def test_which_is_off_and_why() -> None:
    visit = Visit(
        readings={
            "Feed": AsRead(ohm=0.040, insulation_ohm=math.inf, volts=10.2),
            "Ground": AsRead(ohm=0.5),
        }
    )
    by_name = {circuit.name: circuit for circuit in as_built(plan(), visit)}
    assert [by_name[name].state for name in ("Feed", "Ground", "Battery ground")] == ["off", "off", "not read"]
    assert by_name["Feed"].likes[0].cause == "before"  # its own resistance is right: what it shares is not
    assert by_name["Ground"].likes[0].cause == "joint"
    right = Visit(readings={"Feed": AsRead(ohm=0.040, insulation_ohm=2e6, volts=11.8)})
    assert next(circuit for circuit in as_built(plan(), right) if circuit.name == "Feed").state == "right"


def test_two_that_are_swapped_are_named() -> None:
    sides = ("Left", "Right", "Centre")
    whole = solve_vehicle(
        vehicle(
            amplifier(),
            *(Device(name=side, kind="loudspeaker", impedance_ohm=4.0) for side in sides),
            wire("Feed", "Battery", "Amplifier", 5.0, fuse=60.0),
            wire("Ground", "Amplifier: minus", "Body: here", 1.0),
            wire("Battery ground", "Battery: minus", "Body: bay", 0.4),
            *(wire(f"{side} run", f"Amplifier: speaker {at}", f"{side}: coil", 4.0, ("AWG", 16.0))
              for at, side in enumerate(sides, 1)),
        )
    )  # fmt: skip
    other = AsRead(ohm=math.inf, end="other")
    by_name = {
        circuit.name: circuit for circuit in as_built(whole, Visit(readings={"Left run": other, "Right run": other}))
    }
    assert by_name["Left run"].likes[0].cause == "channels"
    assert "with Right run" in by_name["Left run"].likes[0].words
    assert "with Left run" in by_name["Right run"].likes[0].words
    assert by_name["Centre run"].state == "not read"


def test_a_second_visit_compares_at_20_degrees() -> None:
    first = Visit(date="2026-05-31", readings={"Feed": AsRead(ohm=0.040)})
    warm = Visit(date="2026-11-30", wires_c=40.0, readings={"Feed": AsRead(ohm=0.043)})  # 7.86 % more: as warm copper
    assert compared(plan(), first, warm) == ()
    worse = Visit(date="2026-11-30", readings={"Feed": AsRead(ohm=0.060)})
    (change,) = compared(plan(), first, worse)
    assert "20 mΩ more" in change
    assert "was right, is off now" in change
    none = Visit(readings={"Feed": AsRead(ohm=math.inf)})
    assert "no path now" in compared(plan(), first, none)[0]


def test_the_record_is_text_that_travels() -> None:
    text = text_of(plan().vehicle)
    assert visits_of(text) == ({}, ())
    text = with_cell(text, "2026-05-31", "", "Read by", "A. Fitter, =1+1")
    for column, typed in (("Resistance", "40 mohm"), ("Insulation", "OL"), ("Far end", "the right end answers"),
                          ("Volts", "-11.9")):  # fmt: skip
        text = with_cell(text, "2026-05-31", "Feed", column, typed)
    assert record_cell(text, "2026-05-31", "Feed", "Resistance") == "40 mohm"
    (visit,), faults = list(visits_of(text)[0].values()), visits_of(text)[1]
    assert visit.by == "A. Fitter, =1+1"
    assert visit.readings["Feed"] == AsRead(ohm=0.04, insulation_ohm=math.inf, end="right", volts=-11.9)
    assert faults == ()
    assert read_csv(*write_csv(text)) == text
    assert read_workbook(write_workbook(text)) == text
    for column in ("Resistance", "Insulation", "Far end", "Volts"):
        text = with_cell(text, "2026-05-31", "Feed", column, "")
    assert len(text.built.rows) == 1  # type: ignore[union-attr]
    assert with_cell(text, "2026-05-31", "", "Read by", "").built is None


def test_what_cannot_be_used_is_said_with_its_row_and_column() -> None:
    rows = (
        ("2026-05-31", "", "Feed", "soon", "", "", "", "", "", "", "", "", ""),
        ("31 May", "", "Feed", "", "", "upside down", "70", "", "", "", "", "", "at rest"),
    )
    text = text_of(plan().vehicle)
    built = PlanSheet(columns=COLUMNS[:13], rows=rows)  # as kept before there was a test tone
    visits, faults = visits_of(type(text)(devices=text.devices, wires=text.wires, built=built))
    assert [fault.field for fault in faults] == [
        "As built, row 1, Resistance", "As built, row 2, Date", "As built, row 2, Far end", "As built, row 2, Volts",
        "As built, row 2, State",
    ]  # fmt: skip
    assert visits["2026-05-31"].readings["Feed"] == AsRead()
    with pytest.raises(InputError):
        read_end("sideways")
