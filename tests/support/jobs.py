"""Plans for tests: as text for the page Whole vehicle, and a vehicle whose doors share a cable; all invented."""

from __future__ import annotations

import base64
import random
from dataclasses import replace
from functools import cache

from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.fields import AMPLIFIER, BATTERY, BODY, HEAD, LOUDSPEAKER
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.model import Device, Vehicle, Wire
from wirecalc.vehicle.text import PlanSheet, PlanText, vehicle_of

CABLE = "nine"
DOORS = ("Front left door", "Front right door", "Rear left door", "Rear right door")
FEET_20 = 6.096


@cache
def demo_choice() -> ChosenPlan:
    """The demo's sizes, chosen once for all tests of a process."""
    return choose_plan(vehicle_of(demo_plan()))


def row(text: PlanText, name: str, sheet: str = "Wires") -> int:
    own = text.sheet(sheet)  # type: ignore[arg-type]
    return [each[own.columns.index("Name")] for each in own.rows].index(name)


def two_faults() -> PlanText:
    """The demo with two circuits that are too thin."""
    text = demo_plan()
    changed = (("Right dash run", "Size", "20 AWG"), ("Drink cooler feed", "Size", "18 AWG"),
               ("Drink cooler feed", "Fuse", "10 A"))  # fmt: skip
    for name, column, typed in changed:
        text = replace(text, wires=text.wires.with_cell(row(text, name), column, typed))
    return text


def faulty() -> tuple[PlanText, list[tuple[str, int, str]]]:
    """The demo with ten faults, and where they are."""
    text = demo_plan()
    planted = [
        ("Devices", "Starter battery", "Voltage", "12.6 A"),
        ("Devices", "Front amplifier", "Class", "Z"),
        ("Devices", "Left dash speaker", "Impedance", ""),
        ("Devices", "Boot light relay", "Pull-in voltage", "900 V"),
        ("Wires", "Charging lead", "Length", "1.2 kg"),
        ("Wires", "Dash feed", "Size", "purple"),
        ("Wires", "Boot ground", "Zone", "moon"),
        ("Wires", "Head unit feed", "Fuse", "4 V"),
        ("Wires", "Rear camera feed", "Return", "air"),
        ("Wires", "Left rear door run", "From", "Head unti"),
    ]
    where = []
    for sheet, name, column, wrong in planted:
        at = row(text, name, sheet)
        changed = text.sheet(sheet).with_cell(at, column, wrong)  # type: ignore[arg-type]
        text = replace(text, **{sheet.casefold(): changed})
        where.append((sheet, at, column))
    return text, where


def fixed() -> PlanText:
    """The demo with nothing left to choose: what was is thick, and without a fuse of its own."""
    text = demo_plan()
    size, fuse = text.wires.columns.index("Size"), text.wires.columns.index("Fuse")
    rows = [list(each) for each in text.wires.rows]
    for each in rows:
        each[size] = "2 AWG" if each[size] == "choose" else each[size]
        each[fuse] = "" if each[fuse] == "choose" else each[fuse]
    return replace(text, wires=PlanSheet(columns=text.wires.columns, rows=tuple(map(tuple, rows))))


def large(wires: int) -> PlanText:
    """`fixed` with more amplifiers like its front one and their loudspeakers."""
    text = fixed()
    devices, own = list(text.devices.rows), list(text.wires.rows)
    name, start, end = (text.wires.columns.index(column) for column in ("Name", "From", "To"))
    kind = text.devices.columns.index("Kind")
    more = {"Front amplifier", *(each[0] for each in devices if each[kind] == "speaker" and "rear" not in each[0])}
    number = 1
    while len(own) < wires:
        number += 1
        devices += [(f"{each[0]} {number}", *each[1:]) for each in text.devices.rows if each[0] in more]
        for each in text.wires.rows:
            if each[start] in more or each[end] in more:
                copy = list(each)
                copy[name] += f" {number}"
                for at in (start, end):
                    copy[at] += f" {number}" if copy[at] in more else ""
                own.append(tuple(copy))
    return PlanText(
        devices=replace(text.devices, rows=tuple(devices)), wires=replace(text.wires, rows=tuple(own[:wires]))
    )  # fmt: skip


def wide(count: int) -> PlanText:
    """The fixed plan with two columns that nothing can pack."""
    rng, text = random.Random(1), fixed()
    more = [tuple(base64.b64encode(rng.randbytes(count)).decode() for _ in range(2)) for _ in text.wires.rows]
    rows = tuple((*row, *own) for row, own in zip(text.wires.rows, more, strict=True))
    return replace(text, wires=PlanSheet(columns=(*text.wires.columns, "Remark", "Other remark"), rows=rows))


def boot_amplifier(power_w: float = 75.0, length_m: float = FEET_20) -> Vehicle:
    """With every size and fuse left to choose; the loudspeakers' runs and the turn-on lead are listed for one cable.

    Parameters
    ----------
    power_w : float
        Of each channel into 4 ohm. [W]
    length_m : float
        Of the cable. [m]

    Returns
    -------
    Vehicle
    """
    devices = [
        Device(name="Battery", kind=BATTERY, voltage_v=12.6, inner_ohm=0.006, capacity_ah=70.0),
        Device(name="Body", kind=BODY, inner_ohm=0.0005),
        Device(
            name="Amplifier", kind=AMPLIFIER, power_w=power_w, into_ohm=4.0, channels=4.0, amplifier_class="D",
            regulated="no", full_power_v=14.4, damping_factor=150.0, line_in_ohm=10e3, remote_draw_a=0.03,
        ),
        Device(name="Radio", kind=HEAD, draw_a=2.0, line_out_ohm=300.0, remote_limit_a=0.5),
        *(Device(name=name, kind=LOUDSPEAKER, impedance_ohm=4.0) for name in DOORS),
    ]  # fmt: skip
    wires = [
        _wire("Feed", "Battery", "plus", "Amplifier", "plus", 5.5, fuse="choose"),
        _wire("Ground", "Amplifier", "minus", "Body", "boot", 0.6),
        _wire("Radio feed", "Battery", "plus", "Radio", "plus", 2.0, fuse="choose"),
        _wire("Radio ground", "Radio", "minus", "Body", "dash", 1.0),
        _wire("Turn-on", "Radio", "remote", "Amplifier", "remote", length_m, zone="cabin", cable=CABLE),
        *(
            _wire(f"{name} run", "Amplifier", f"speaker {at}", name, "coil", length_m, zone="cabin", cable=CABLE)
            for at, name in enumerate(DOORS, 1)
        ),
    ]
    return Vehicle(devices=tuple(devices), wires=tuple(wires))


def _wire(name: str, start: str, out: str, end: str, into: str, length_m: float, **more: str) -> Wire:
    return Wire(
        name=name, start=start, start_terminal=out, end=end, end_terminal=into, length_m=length_m, size="choose", **more  # type: ignore[arg-type]
    )  # fmt: skip
