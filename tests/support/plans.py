"""Small vehicles for tests."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from wirecalc.vehicle.model import Device, Vehicle, Wire

BATTERY = Device(name="Battery", kind="battery", voltage_v=12.6, inner_ohm=0.005)
BODY = Device(name="Body", kind="body", inner_ohm=0.0005)
BLOCK = Device(name="Block", kind="fuse block")


def amplifier(name: str = "Amplifier", power_w: float = 100.0, regulated: str = "no", **more: Any) -> Device:
    return Device(
        name=name, kind="amplifier", power_w=power_w, into_ohm=4.0, channels=4, amplifier_class="D",
        regulated=regulated, **more,
    )  # fmt: skip


def load(name: str = "Load", **draw: Any) -> Device:
    return Device(name=name, kind="other load", **draw)


def wire(name: str, start: str, end: str, length_m: float = 1.0, size: Any = ("AWG", 8.0), **more: Any) -> Wire:
    """Starts and ends as "device: terminal"; the terminal is plus if not said."""
    ends = []
    for text in (start, end):
        device, _, terminal = text.partition(": ")
        ends += [device, terminal or "plus"]
    more = {"zone": "table", "insulation": "pvc_105"} | more
    return Wire(
        name=name, start=ends[0], start_terminal=ends[1], end=ends[2], end_terminal=ends[3], length_m=length_m,
        size=size, **more,
    )  # fmt: skip


def vehicle(*parts: Device | Wire) -> Vehicle:
    """Of these, and a battery on the body; the body, if none is given, has next to no resistance."""
    devices = [part for part in parts if isinstance(part, Device)]
    kinds = {device.kind for device in devices}
    devices += [] if "battery" in kinds else [BATTERY]
    devices += [] if "body" in kinds else [replace(BODY, inner_ohm=1e-5)]
    return Vehicle(devices=tuple(devices), wires=tuple(part for part in parts if isinstance(part, Wire)))


def with_wire(whole: Vehicle, name: str, **change: Any) -> Vehicle:
    """The same with one wire changed."""
    return replace(
        whole, wires=tuple(replace(one, **change) if one.name == name else one for one in whole.wires)
    )  # fmt: skip
