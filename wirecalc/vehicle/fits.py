"""What the devices' terminals take: a bound on the sizes of a plan's supply wires where it is known.

Where nobody wrote it, what such devices usually take is assumed. It is said, and small devices get no thicker wire
where a plan is as good without: a guess must not double a wire.
"""

from __future__ import annotations

from collections.abc import Iterator

from wirecalc import tables
from wirecalc.advice.terminal import at_terminal
from wirecalc.vehicle.fields import AMPLIFIER, BODY, CHOOSE
from wirecalc.vehicle.model import Device, Vehicle, Wire
from wirecalc.wire.as_sold import Size, show_size, side_by_side
from wirecalc.wire.bought import read_size
from wirecalc.wire.conductor import Conductor, conductor

POWER = ("plus", "minus", "coil plus", "coil minus", "contact in", "contact out", "coil")
"""What a terminal does that `Device.takes` is of: power, and of a loudspeaker its coil."""

USUAL: dict[str, tuple[tuple[float, Size], ...]] = {}
"""By kind of device: from which rated power, and what its power terminals usually take then; the most power last."""
for _row in tables.rows("usual_terminals"):
    _usual = (float(_row["from_w"]), read_size(str(_row["takes"])))
    USUAL[str(_row["kind"])] = (*USUAL.get(str(_row["kind"]), ()), _usual)
ALWAYS_TAKEN = {kind: {"Terminals take": show_size(*sizes[0][1])} for kind, sizes in USUAL.items() if len(sizes) == 1}
"""By kind of device, where its power makes no difference: the cell of the list of devices as it may be written."""


def usually_takes(device: Device) -> Size | None:
    """The thickest wire that the power terminals of such a device usually take, data/usual_terminals.csv.

    Parameters
    ----------
    device : Device

    Returns
    -------
    (str, float) or None
        None where it has studs, or nothing is usual.
    """
    power_w = device.rated_w if device.kind == AMPLIFIER else 0.0
    return next((size for from_w, size in reversed(USUAL.get(device.kind, ())) if power_w >= from_w), None)


def _powered(vehicle: Vehicle, wire: Wire) -> list[Device]:
    """The devices at the ends of a wire whose terminal there is one of `POWER`."""
    ends = zip((wire.start, wire.end), vehicle.roles(wire), strict=True)
    return [vehicle.device(name) for name, (does, _) in ends if does in POWER]


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
    known = [
        (device, device.takes) for device in _powered(vehicle, wire) if device.takes is not None and device.kind != BODY
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


def usually_m2(vehicle: Vehicle, wire: Wire) -> float:
    """Metal of the thickest conductor that the small devices at its ends usually take, whatever their power.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    float
        inf where there is none, or it is written what its terminal takes. [m^2]
    """
    small = [device for device in _powered(vehicle, wire) if device.kind in ALWAYS_TAKEN and device.takes is None]
    usual = map(usually_takes, small)
    return min((conductor(*size).area_m2 * (1 + 1e-9) for size in usual if size is not None), default=float("inf"))


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
        Empty where one conductor fits, or nothing is known and it is no thicker than such terminals usually take.
    """
    least = least_terminal(vehicle, wire)
    if wire.size == CHOOSE:
        return ""
    chosen = wire.conductor(wire.size)
    if least is None:
        return _thicker_than_usual(vehicle, wire, chosen)
    device, takes = least
    where, fused = f"the terminal of {device.name}", vehicle.circuit(wire) not in ("ground", "speaker", "subwoofer")
    if chosen.area_m2 > takes_m2(vehicle, wire):
        limit = show_size(*takes)
        return (
            f"{chosen.label} does not go into {where}. {at_terminal(where, limit, f'several of {limit}', fused=fused)}"
        )
    return (
        at_terminal(where, show_size(*takes), side_by_side(chosen.label, wire.parallel), fused=fused)
        if wire.parallel > 1
        else ""
    )


def _thicker_than_usual(vehicle: Vehicle, wire: Wire, chosen: Conductor) -> str:
    """What to say of a wire whose terminals nobody wrote down, where it is thicker than most of its sort take."""
    for device in _powered(vehicle, wire):
        usual = usually_takes(device)
        if usual is not None and chosen.area_m2 > conductor(*usual).area_m2 * (1 + 1e-9):
            return (
                f"{chosen.label} may not go into the terminal of {device.name}: such devices usually take up to"
                f" {show_size(*usual)} (assumed: common practice, no source). Look, and write it under Terminals take."
            )
    return ""


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
