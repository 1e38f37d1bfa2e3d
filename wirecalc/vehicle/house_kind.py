"""What a wire of a vehicle is to the house rules: the kind of run that it counts as, by what it serves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wirecalc.runs.factory import FactoryRun
from wirecalc.vehicle.fields import ALTERNATOR, AMPLIFIER, BATTERY, BLOCK, FACTORY_SIGNAL

if TYPE_CHECKING:  # a vehicle asks for the kind of its own wires
    from wirecalc.vehicle.model import Vehicle, Wire

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
    "amplifier feed": "battery to amplifier",
    "shared feed": "battery to amplifier",
    "ground": "battery to amplifier",
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
        One of the values of `HOUSE_KINDS`; for a shared feed or a ground "battery to amplifier" or "load".
    """
    kind = vehicle.circuit(wire)
    if kind == FACTORY_SIGNAL:
        return FactoryRun.handled_as
    if kind not in ("shared feed", "ground"):
        return HOUSE_KINDS[kind]
    if kind == "ground":
        starts = vehicle.device(wire.start).kind
        return "battery to amplifier" if starts in (AMPLIFIER, BATTERY, ALTERNATOR, BLOCK) else "load"
    kinds = {vehicle.device(device).kind for device in devices_behind(vehicle, wire)}
    return "load" if kinds.isdisjoint((AMPLIFIER, BATTERY)) else "battery to amplifier"


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
