"""A device on the supply at the end of its feed: a fan, a pump, a camera, a light bar, a socket."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits.supply import HIGHEST_V, constant_power
from wirecalc.errors import InputError, check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]
Behaviour = Literal["constant current", "constant power", "resistance"]
"""How a draw goes with the voltage: not at all, more amperes at fewer volts (a regulator inside), or in proportion."""
BEHAVIOURS: tuple[Behaviour, ...] = get_args(Behaviour)
NOMINAL_V = 12.0  # draws of 12 V devices are stated at 12 to 13.8 V: common practice, no source
START_RATIO, START_S = 2.0, 0.1  # of a device of which nothing else is known, no motor: common practice, no source


@dataclass(frozen=True, kw_only=True)
class Powered:
    """A device at the end of its feed; nan where it cannot draw what it wants."""

    load_v: Array
    """At the device. [V]"""
    current_a: Array
    """[A]"""
    reason: str
    """Why there is no answer, for the first element without one; empty when all have one."""


def powered(
    supply_v: ArrayLike,
    feed_ohm: ArrayLike,
    rated_a: ArrayLike,
    *,
    behaviour: Behaviour = "constant current",
    nominal_v: float = NOMINAL_V,
    mark: Mark = plain,
) -> Powered:
    """Voltage and current of a device that draws through a resistance.

    Parameters
    ----------
    supply_v : (...,) array_like
        Where the feed starts. [V]
    feed_ohm : (...,) array_like
        Out and back. [ohm]
    rated_a : (...,) array_like
        Draw as it is stated, at `nominal_v`; above 0. [A]
    behaviour : str
        One of `BEHAVIOURS`.
    nominal_v : float
        What the draw is stated at. [V]
    mark : wirecalc.mark.Mark
        What is done to each number of the reason that was computed.

    Returns
    -------
    Powered

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    wirecalc.circuits.supply.constant_power : The two answers of a constant power, and which is stable.

    Examples
    --------
    >>> [round(float(powered(12.6, 0.1, 10, behaviour=one).load_v), 3) for one in BEHAVIOURS]
    [11.6, 11.562, 11.631]
    """
    if behaviour not in BEHAVIOURS:
        raise InputError("Behaviour", behaviour, ", ".join(BEHAVIOURS))
    supply_v = check("Supply voltage", supply_v, "V", low=0, high=HIGHEST_V, above=True)
    feed_ohm = check("Feed resistance", feed_ohm, "ohm", low=0, high=1000)
    rated_a = check("Draw", rated_a, "A", low=0, high=5000, above=True)
    nominal_v = float(check("Voltage of the stated draw", nominal_v, "V", low=1, high=HIGHEST_V))
    supply_v, feed_ohm, rated_a = np.broadcast_arrays(supply_v, feed_ohm, rated_a)
    if behaviour == "constant power":
        powered = constant_power(supply_v, feed_ohm, rated_a * nominal_v)
        load_v, current_a = powered.load_v, powered.current_a
    elif behaviour == "resistance":
        ohm = nominal_v / rated_a
        current_a = supply_v / (ohm + feed_ohm)
        load_v = current_a * ohm
    else:
        load_v = supply_v - rated_a * feed_ohm
        load_v = np.where(load_v > 0, load_v, np.nan)
        current_a = np.where(load_v > 0, rated_a, np.nan)
    reason = ""
    none = np.isnan(load_v)
    if none.any():
        volt, ohms, ampere = (float(a[none][0]) for a in (supply_v, feed_ohm, rated_a))
        way = f"through {mark(f'{ohms:.4g}', 'loop_ohm')} Ω from {volt:.4g} V"
        if behaviour == "constant power":
            most_w = mark(f"{volt**2 / (4 * ohms):.4g}", "most_w")
            power_w = mark(f"{ampere * nominal_v:.4g}", "device_w")
            reason = f"{power_w} W cannot be drawn {way}: at most {most_w} W gets through."
        else:
            reason = f"{ampere:.4g} A cannot be drawn {way}: the wire would take all the volts."
        reason += " Take a thicker or shorter wire."
    return Powered(load_v=np.asarray(load_v), current_a=np.asarray(current_a), reason=reason)


@takes_units
def start_a(
    supply_v: ArrayLike, feed_ohm: ArrayLike, rated_a: ArrayLike, ratio: ArrayLike, *, nominal_v: float = NOMINAL_V
) -> Array:
    """Current when a device is switched on: a standing motor, a cold filament, an empty capacitor.

    Parameters
    ----------
    supply_v, feed_ohm, rated_a, nominal_v
        See `powered`.
    ratio : (...,) array_like
        Start current over stated draw, at `nominal_v` with no wire in the way. [1 to 100]

    Returns
    -------
    (...,) numpy.ndarray
        The wire holds it down. [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    For that moment each of the three is a resistance, ``nominal / (ratio x draw)``.

    Examples
    --------
    >>> float(start_a(12.0, 0.1, 10, 4))      # 12 / (0.3 + 0.1)
    30.0
    """
    supply_v = check("Supply voltage", supply_v, "V", low=0, high=HIGHEST_V, above=True)
    feed_ohm = check("Feed resistance", feed_ohm, "ohm", low=0, high=1000)
    rated_a = check("Draw", rated_a, "A", low=0, high=5000, above=True)
    ratio = check("Start current over draw", ratio, "", low=1, high=100)
    return np.asarray(supply_v / (nominal_v / (ratio * rated_a) + feed_ohm))
