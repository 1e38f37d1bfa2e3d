"""The terminals of each kind of device: what a person may write for one, what it does, and what it may be wired to.

And what a wire between two of them is to the house rules, by all that it serves.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from wirecalc.advice.demands import FROM_BATTERY, HEAVY_A
from wirecalc.circuits.device import NOMINAL_V, Behaviour
from wirecalc.runs.factory import FactoryRun
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import (
    ALTERNATOR,
    AMPLIFIER,
    BATTERY,
    BLOCK,
    BODY,
    FACTORY_SIGNAL,
    HEAD,
    LAMPS,
    LOUDSPEAKER,
    OTHER,
    PROCESSOR,
    RELAY,
    SUBWOOFER,
)

if TYPE_CHECKING:  # a vehicle asks for the kind of its own wires
    from wirecalc.vehicle.model import Device, Vehicle, Wire

# What a terminal does -> what it may be wired to, and the circuit that this makes (see `Vehicle.circuit`).
JOINS: dict[str, tuple[str, ...]] = {
    "plus": ("plus", "coil plus", "contact in"),
    "contact out": ("plus",),
    "minus": ("minus", "point"),
    "coil minus": ("minus", "point"),
    "remote out": ("remote in", "coil plus"),
    "remote in": ("remote in", "coil plus"),
    "line out": ("line in",),
    "speaker": ("coil", "line in"),
}
# By kind: what a person may write for a terminal -> what the terminal does. "N" is a number; several: 1+2.
_POWER = {"plus": "plus", "minus": "minus"}
TERMINALS: dict[str, dict[str, str]] = {
    BATTERY: _POWER,
    ALTERNATOR: _POWER,
    BLOCK: {**_POWER, "out N": "plus"},
    BODY: {"any name": "point"},
    HEAD: {**_POWER, "remote": "remote out", "line out N": "line out", "speaker N": "speaker"},
    PROCESSOR: {
        **_POWER, "remote in": "remote in", "remote out": "remote out", "line in N": "line in",
        "line out N": "line out",
    },
    AMPLIFIER: {
        **_POWER, "remote": "remote in", "line in N": "line in", "speaker N": "speaker", "speaker N+N": "speaker",
    },
    LOUDSPEAKER: {"coil": "coil"},
    SUBWOOFER: {"coil": "coil"},
    RELAY: {"86": "coil plus", "85": "coil minus", "30": "contact in", "87": "contact out"},
    LAMPS: _POWER,
    OTHER: _POWER,
}  # fmt: skip
Roles = tuple[tuple[str, tuple[int, ...]], tuple[str, tuple[int, ...]]]
"""What the terminals at both ends of a wire do, and the numbers in their names."""
_SAME = {"+": "plus", "-": "minus", "−": "minus", "positive": "plus", "negative": "minus", "ground": "minus"}


def role(kind: str, terminal: str) -> tuple[str, tuple[int, ...]] | None:
    """What a terminal of a device of this kind does, and the numbers in its name.

    Parameters
    ----------
    kind : str
        Of the device; key of `TERMINALS`.
    terminal : str
        As a person writes it.

    Returns
    -------
    (str, tuple of int) or None
        None if a device of this kind has no such terminal.

    Examples
    --------
    >>> role("amplifier", "Speaker 1+2"), role("battery", "-"), role("battery", "remote")
    (('speaker', (1, 2)), ('minus', ()), None)
    """
    words = " ".join(terminal.casefold().split())
    words = _SAME.get(words, words)
    known = TERMINALS[kind]
    if "any name" in known:
        return known["any name"], ()
    numbers = () if words in known else tuple(int(digits[:4]) for digits in re.findall(r"[0-9]+", words))
    pattern = words if words in known else re.sub(r"[0-9]+", "N", words).replace(" + ", "+")
    pattern = pattern if pattern in known else f"{pattern} N"  # "line out" of a device that has only one
    return (known[pattern], numbers) if pattern in known else None


# Circuits of a vehicle -> the kinds of run whose limits they are held to.
LIMIT_KINDS = {
    "speaker": "amplifier to speaker",
    "subwoofer": "subwoofer",
    "line": "line signal",
    FACTORY_SIGNAL: FactoryRun.kind,
    "remote": "remote turn-on",
    "relay": "relay",
    "lamp": "lamp strip",
    "load feed": "device on the supply",
    "amplifier feed": FROM_BATTERY,
    "shared feed": FROM_BATTERY,
    "ground": FROM_BATTERY,
}
HOUSE_KINDS = {**LIMIT_KINDS, "relay": "relay or lamp", "lamp": "relay or lamp", "load feed": "load"}
"""Circuits of a vehicle -> the kinds that house rules name."""
_FEEDS = ("amplifier feed", "load feed", "lamp", "shared feed")


def house_kind(vehicle: Vehicle, wire: Wire) -> str:
    """The kind that house rules have for a wire.

    Of a shared feed or a ground it depends on what it serves: amplifiers, or only other loads.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    str
        One of the values of `HOUSE_KINDS`; for a shared feed or a ground `FROM_BATTERY` or "load".
    """
    kind = vehicle.circuit(wire)
    if kind == FACTORY_SIGNAL:
        return FactoryRun.handled_as
    if kind not in ("shared feed", "ground"):
        return HOUSE_KINDS[kind]
    if kind == "ground":
        starts = vehicle.device(wire.start).kind
        return FROM_BATTERY if starts in (AMPLIFIER, BATTERY, ALTERNATOR, BLOCK) else "load"
    kinds = {vehicle.device(device).kind for device in devices_behind(vehicle, wire)}
    return "load" if kinds.isdisjoint((AMPLIFIER, BATTERY)) else FROM_BATTERY


@takes_units
def stated_a(device: Device, nominal_v: float) -> dict[Behaviour, float]:
    """What a device is said to draw.

    Parameters
    ----------
    device : Device
    nominal_v : float
        What its draw is stated at. [V]

    Returns
    -------
    dict of str to float
        By how the draw goes with the voltage; 0 for the ways that its list says nothing of. [A]
    """
    return {
        "constant power": (device.power_w or 0.0) / nominal_v if device.kind == OTHER else 0.0,
        "constant current": device.draw_a or 0.0,
        "resistance": nominal_v / (device.impedance_ohm or np.inf),
    }


def covered_as(vehicle: Vehicle, wire: Wire) -> str:
    """The kind in the house rules that says what a wire is covered with where nobody wrote it.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    str
        As `house_kind`; `FROM_BATTERY` too for the feed of other loads of more than `HEAVY_A` from a battery's own
        post, as one run has it: see `wirecalc.advice.demands.laid_as`.
    """
    kind = house_kind(vehicle, wire)
    if kind != "load" or vehicle.circuit(wire) == "ground" or vehicle.device(wire.start).kind != BATTERY:
        return kind
    behind = [vehicle.device(name) for name in devices_behind(vehicle, wire)]
    drawn_a = sum(sum(stated_a(device, NOMINAL_V * vehicle.systems).values()) for device in behind)
    return FROM_BATTERY if drawn_a > HEAVY_A else kind


def circuit_kind(start: str, start_role: str, end: str, end_role: str) -> str:
    """The kind of circuit that a wire makes.

    Parameters
    ----------
    start, end : str
        Kind of the device at each end.
    start_role, end_role : str
        What the terminal at each end does; see `wirecalc.vehicle.terminals.role`.

    Returns
    -------
    str
        One of those that `Vehicle.circuit` names.
    """
    if start_role == "speaker" and end_role == "coil":
        return "subwoofer" if end == SUBWOOFER else "speaker"
    if end_role == "line in":
        return FACTORY_SIGNAL if start_role == "speaker" else "line"
    if start_role in ("minus", "coil minus"):
        return "ground"
    if end_role == "coil plus":
        return "relay"
    if end_role == "remote in":
        return "remote"
    if end == AMPLIFIER:
        return "amplifier feed"
    if end == LAMPS:
        return "lamp"
    return "load feed" if end in (HEAD, PROCESSOR, OTHER) else "shared feed"


def devices_behind(vehicle: Vehicle, wire: Wire) -> frozenset[str]:
    """Names of all devices that a feed serves.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    frozenset of str
        What is fed through another battery or an alternator is that one's own; these themselves are named.
    """
    reached, waiting = {wire.end}, [wire.end]
    while waiting:
        device = waiting.pop()
        if vehicle.device(device).kind not in (BATTERY, ALTERNATOR):
            after = {onward.end for onward in vehicle.wires_from(device) if vehicle.circuit(onward) in _FEEDS} - reached
            reached |= after
            waiting += after
    return frozenset(reached)
