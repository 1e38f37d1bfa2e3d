"""What the devices' terminals take: a bound on the sizes of a plan's supply wires where it is known."""

from __future__ import annotations

from collections.abc import Iterator

from wirecalc.advice.terminal import at_terminal
from wirecalc.vehicle.fields import BODY, CHOOSE
from wirecalc.vehicle.model import Device, Vehicle, Wire
from wirecalc.wire.as_sold import Size, show_size, side_by_side
from wirecalc.wire.conductor import conductor

POWER = ("plus", "minus", "coil plus", "coil minus", "contact in", "contact out", "coil")
"""What a terminal does that `Device.takes` is of: power, and of a loudspeaker its coil."""


def least_terminal(vehicle: Vehicle, wire: Wire) -> tuple[Device, Size] | None:
    """The terminal at either end of a wire that takes the least.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    (Device, (str, float)) or None
        The device and the thickest size that its terminal takes; None where neither is known.
    """
    ends = zip((wire.start, wire.end), vehicle.roles(wire), strict=True)
    known = [
        (vehicle.device(name), takes)
        for name, (does, _) in ends
        if does in POWER and (takes := vehicle.device(name).takes) is not None and vehicle.device(name).kind != BODY
    ]
    return min(known, key=lambda each: conductor(*each[1]).area_m2, default=None)


def takes_m2(vehicle: Vehicle, wire: Wire) -> float:
    """Metal of the thickest conductor that goes into both terminals of a wire; inf where nothing is known. [m^2]

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    float
    """
    least = least_terminal(vehicle, wire)
    return float("inf") if least is None else conductor(*least[1]).area_m2 * (1 + 1e-9)


def terminal_words(vehicle: Vehicle, wire: Wire) -> str:
    """What to say of a wire at its terminals: that it does not go in, or that several stand in for one.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle, its size chosen.

    Returns
    -------
    str
        Empty where one conductor fits, or nothing is known.
    """
    least = least_terminal(vehicle, wire)
    if least is None or wire.size == CHOOSE:
        return ""
    device, takes = least
    one = wire.conductor(wire.size)
    where, fused = f"the terminal of {device.name}", vehicle.circuit(wire) not in ("ground", "speaker", "subwoofer")
    if one.area_m2 > takes_m2(vehicle, wire):
        limit = show_size(*takes)
        return f"{one.label} does not go into {where}. {at_terminal(where, limit, f'several of {limit}', fused=fused)}"
    return (
        at_terminal(where, show_size(*takes), side_by_side(one.label, wire.parallel), fused=fused)
        if wire.parallel > 1
        else ""
    )


def warnings(vehicle: Vehicle) -> Iterator[str]:
    """`terminal_words` every wire of a plan, with its name, where there is something to say.

    Parameters
    ----------
    vehicle : Vehicle
        With every size chosen.

    Yields
    ------
    str
    """
    for wire in vehicle.wires:
        if told := terminal_words(vehicle, wire):
            yield f"{wire.name}: {told}"
