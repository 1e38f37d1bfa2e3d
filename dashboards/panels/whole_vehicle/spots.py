"""Where each device of a plan goes on the drawing of a vehicle seen from above, front up: from its kind, its name and
the places of its wires. A name that says nothing of a place puts it where most of its wires are."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass

from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, BODY, HEAD, LOUDSPEAKER, SUBWOOFER
from wirecalc.vehicle.model import Device, Vehicle

WIDE, LONG = 400, 900
"""Of the drawing, in its own units."""
_BAY, _DASH, _CABIN, _BOOT, _FRONT, _REAR = "bay", "dash", "cabin", "boot", "front", "rear"
_ROOMS = {
    _FRONT: (110, 38, 290, 38),
    _BAY: (125, 100, 275, 185),
    _DASH: (130, 305, 270, 365),
    _CABIN: (150, 450, 250, 570),
    _BOOT: (118, 660, 282, 800),
    _REAR: (110, 868, 290, 868),
}
"""Left, top, right and bottom of where the middles of devices go."""
_ZONES = {"engine_bay": _BAY, "battery_side": _BAY, "engine_space": _BAY, "boot": _BOOT, "underbody": _REAR}
_FRONT_WORDS = {"front", "bar", "winch", "horn", "fog", "headlamp"}
_REAR_WORDS = {"rear", "reversing", "tow", "trailer", "bumper", "camera"}
_BOOT_WORDS = {"boot", "trunk", "luggage", "second", "auxiliary", "leisure"}
_DASH_WORDS = {"dash", "dashboard", "footwell", "glovebox"}
_ACROSS, _DOWN = 3, 5  # devices side by side in one room, and rows before there are more side by side
_STEP, _STACK = 52, 110  # between devices at one place of a side, and most of all of them together


@dataclass(frozen=True)
class Spot:
    """The middle of a device on the drawing."""

    x: float
    y: float


def spots(vehicle: Vehicle) -> dict[str, Spot]:
    """Of every device but the body, by its name.

    Parameters
    ----------
    vehicle : Vehicle

    Returns
    -------
    dict of str to Spot
        No two on one place.
    """
    taken: dict[str, Spot] = {}
    rooms: dict[str, list[Device]] = {}
    sides: dict[tuple[float, float], list[Device]] = {}
    for device in vehicle.devices:
        if device.kind == BODY:
            continue
        at = _at_a_side(device)
        if at is None:
            rooms.setdefault(_room(vehicle, device), []).append(device)
            continue
        sides.setdefault(at, []).append(device)
    for (x, y), devices in sides.items():
        step = min(_STEP, _STACK / len(devices))
        taken |= {device.name: Spot(x, y + step * down) for down, device in enumerate(devices)}
    for room, devices in rooms.items():
        taken |= _spread(room, devices)
    return taken


def _words(device: Device) -> set[str]:
    return set(re.findall(r"[^\W\d_]+", device.name.casefold()))


def _at_a_side(device: Device) -> tuple[float, float] | None:
    """Of what sits in a door, or of a loudspeaker that its name puts on one side."""
    words = _words(device)
    side = 1 if "right" in words else -1 if "left" in words else 0
    x = WIDE / 2 + (side or -1) * 126
    if "door" in words:
        return x, 560 if "rear" in words else 430
    if device.kind == LOUDSPEAKER and side:
        if "rear" in words:
            return x, 640
        return WIDE / 2 + side * 108, 255 if words & _DASH_WORDS else 340
    return None


def _room(vehicle: Vehicle, device: Device) -> str:
    words = _words(device)
    if words & _BOOT_WORDS or device.kind == SUBWOOFER:
        return _BOOT
    if device.kind in (BATTERY, ALTERNATOR):
        return _BAY
    if device.kind == HEAD or words & _DASH_WORDS:
        return _DASH
    zones = Counter(wire.zone for wire in vehicle.wires if device.name in (wire.start, wire.end) and wire.length_m > 0)
    zone = zones.most_common(1)[0][0] if zones else ""
    if zone == "outside":
        return _FRONT if words & _FRONT_WORDS and not words & _REAR_WORDS else _REAR
    return _ZONES.get(zone, _CABIN)


def _spread(room: str, devices: list[Device]) -> dict[str, Spot]:
    """Row by row, the left ones left."""
    left, top, right, bottom = _ROOMS[room]
    across = max(_ACROSS, math.ceil(len(devices) / _DOWN))
    rows = [devices[at : at + across] for at in range(0, len(devices), across)]
    positions = {}
    for down, row in enumerate(rows):
        y = (top + bottom) / 2 if len(rows) == 1 else top + (bottom - top) * down / (len(rows) - 1)
        ordered = sorted(row, key=lambda device: ("right" in _words(device)) - ("left" in _words(device)))
        for over, device in enumerate(ordered):
            x = (left + right) / 2 if len(row) == 1 else left + (right - left) * over / (len(row) - 1)
            positions[device.name] = Spot(x, y)
    return positions
