"""A relay: whether its coil pulls in at the end of its run when hot, and lets go when switched off."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import at_temperature

Array = NDArray[np.float64]

DIP_SUPPLY_V = 6.0  # while the engine starts: ISO 16750-2 starting profile, 12 V; published value, copy not checked
MOST_V = 60.0  # of any supply here
HIGHEST_SUPPLY_V = 14.4  # of a charging 12 V system: common practice, no source
LEAST_PULL_IN = 0.4  # of a battery's voltage; 0.65 is usual: common practice, no source
HOLD_SHARE = 0.5  # of its pull-in voltage holds a relay that has pulled in: common practice, no source
COLDEST_C = -40.0  # of a coil that must let go: ISO 16750-4 codes begin there; published value, copy not checked
LEAST_SUPPLY_V = 10.5  # lower end of a 12 V supply, code D: ISO 16750-2:2010, as in a public test file (read)
LEAST_24V_SUPPLY_V = 2 * LEAST_SUPPLY_V  # two batteries in a row: common practice, no source


@dataclass(frozen=True, kw_only=True)
class Relay:
    """A relay by its data sheet, at 20 degC.

    Tests are run at 23 +- 5 degC (SAE J2544:2000, as in a digest; read). Taking the voltages as of 20 degC
    puts the pull-in voltage of a hot coil 1 % too high, the safe side.
    """

    coil_ohm: float
    """[ohm]"""
    pull_in_v: float
    """Closes at this coil voltage or above. [V]"""
    drop_out_v: float
    """Is open again at this coil voltage or below. [V]"""

    def __post_init__(self) -> None:
        check("Coil resistance", self.coil_ohm, "Ω", low=1, high=100_000)
        check("Pull-in voltage", self.pull_in_v, "V", low=0, high=60, above=True)
        check("Drop-out voltage", self.drop_out_v, "V", low=0, high=60, above=True)
        if self.drop_out_v >= self.pull_in_v:
            raise InputError("Drop-out voltage", f"{self.drop_out_v:g} V", f"under {self.pull_in_v:g} V, pull-in")


# pull-in at or under 7.2 to 8 V, drop-out at or over 10 % of 12 V, coil 1.6 W: common relay data, from memory
USUAL_12V = Relay(coil_ohm=90.0, pull_in_v=8.0, drop_out_v=1.2)


@takes_units
def too_little(name: str, pull_in_v: float, battery_v: float) -> tuple[str, ...]:
    """What to mind of a coil that is made for half the voltage that it gets.

    Parameters
    ----------
    name : str
        What it is called: "The relay".
    pull_in_v : float
        Of its data sheet. [V]
    battery_v : float
        Of all batteries in a row. [V]

    Returns
    -------
    tuple of str
        One sentence or two under `LEAST_PULL_IN` of the voltage; else none.
    """
    if pull_in_v >= LEAST_PULL_IN * battery_v:
        return ()
    return (
        f"{name} pulls in at {pull_in_v:g} V: its coil is for less than the {battery_v:g} V of this battery and gets"
        " too hot. Take a relay for this voltage, and write what its coil needs.",
    )


@dataclass(frozen=True, kw_only=True)
class CoilHold:
    """Whether a coil that has pulled in holds while the engine starts, and lets go when it is switched off."""

    hold_v: Array
    """Over what holds the warm coil, while the supply dips; below 0 where it may fall off. [V]"""
    release_v: Array
    """Under what the coldest coil must fall to, when it is switched off; below 0 where it may stay in. [V]"""


@takes_units
def kept(
    relay: Relay, wire_ohm: ArrayLike, coil_c: ArrayLike, *, dip_v: ArrayLike = DIP_SUPPLY_V, off_v: ArrayLike = 0.0
) -> CoilHold:
    """A coil that has pulled in, at the end of its run.

    Parameters
    ----------
    relay : Relay
        Its data.
    wire_ohm : (...,) array_like
        Out and back. [ohm]
    coil_c : (...,) array_like
        Of the coil when hot: a hot coil needs more volts to hold. [degC]
    dip_v : (...,) array_like
        At the start of the run while the engine starts. [V]
    off_v : (...,) array_like
        What the switched lead still carries when it is off: by a lamp across the switch, an output's leakage. [V]

    Returns
    -------
    CoilHold
        Letting go is worst with a cold coil, which needs fewer volts to stay in: `COLDEST_C` is taken.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> found = kept(USUAL_12V, 1.0, 85, off_v=[0.0, 2.0])
    >>> found.hold_v.round(2).tolist(), found.release_v.round(2).tolist()
    ([0.93, 0.93], [0.92, -1.05])
    """
    hot = pull(relay, wire_ohm, coil_c, supply_v=dip_v)
    cold = pull(relay, wire_ohm, COLDEST_C, off_v=off_v)
    left_v = np.asarray(off_v, np.float64) * cold.coil_v / LEAST_SUPPLY_V  # the same divider
    hold_v, release_v = np.broadcast_arrays(hot.coil_v - HOLD_SHARE * hot.pull_in_v, cold.drop_out_v - left_v)
    return CoilHold(hold_v=hold_v, release_v=release_v)


@dataclass(frozen=True, kw_only=True)
class PullIn:
    """How a relay fares in its circuit; every field has the broadcast shape of what went in."""

    coil_ohm: Array
    """Of the coil as warm as it is. [ohm]"""
    pull_in_v: Array
    """What the warm coil needs. [V]"""
    drop_out_v: Array
    """What the warm coil must fall to. [V]"""
    current_a: Array
    """[A]"""
    coil_v: Array
    """What reaches the coil. [V]"""
    margin_v: Array
    """`coil_v` over `pull_in_v`; negative if it does not pull in for sure. [V]"""
    pulls_in: NDArray[np.bool_]
    least_supply_v: Array
    """The supply voltage at which the warm coil just pulls in through this run. [V]"""
    lets_go: NDArray[np.bool_]
    """Whether it opens for sure when the switched lead falls to its off voltage."""


@takes_units
def pull(
    relay: Relay,
    wire_ohm: ArrayLike,
    coil_c: ArrayLike,
    *,
    supply_v: ArrayLike = LEAST_SUPPLY_V,
    off_v: ArrayLike = 0.0,
) -> PullIn:
    """A relay's coil at the end of a run.

    Parameters
    ----------
    relay : Relay
        Its data.
    wire_ohm : (...,) array_like
        Out and back, joints and the switching output's own resistance included. [ohm]
    coil_c : (...,) array_like
        Of the coil itself: the air around it and what its own current adds. [degC]
    supply_v : (...,) array_like
        At the start of the run, the worst case that must still work. [V]
    off_v : (...,) array_like
        What the switched lead still carries when it is off. [V]

    Returns
    -------
    PullIn

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The magnet needs a current, whatever the temperature; the coil is copper, so the voltage for it grows with
    its resistance, ``1 + 0.00393 (T - 20)``.

    Examples
    --------
    >>> found = pull(USUAL_12V, 2.0, [20, 105])
    >>> found.pull_in_v.round(3).tolist(), found.pulls_in.tolist()
    ([8.0, 10.672], [True, False])
    """
    wire_ohm = check("Wire resistance", wire_ohm, "ohm", low=0, high=10_000)
    supply_v = check("Supply voltage", supply_v, "V", low=0, high=MOST_V, above=True)
    off_v = check("Voltage when off", off_v, "V", low=0, high=60)
    warm = at_temperature(1.0, coil_c)
    coil_ohm, pull_in_v, drop_out_v = (warm * cold for cold in (relay.coil_ohm, relay.pull_in_v, relay.drop_out_v))
    reaches = coil_ohm / (coil_ohm + wire_ohm)
    coil_v = supply_v * reaches
    every = np.broadcast_arrays(
        coil_ohm, pull_in_v, drop_out_v, coil_v / coil_ohm, coil_v, pull_in_v / reaches, off_v * reaches
    )
    coil_ohm, pull_in_v, drop_out_v, current_a, coil_v, least_supply_v, left_v = every
    return PullIn(
        coil_ohm=coil_ohm,
        pull_in_v=pull_in_v,
        drop_out_v=drop_out_v,
        current_a=current_a,
        coil_v=coil_v,
        margin_v=coil_v - pull_in_v,
        pulls_in=np.asarray(coil_v >= pull_in_v),
        least_supply_v=least_supply_v,
        lets_go=np.asarray(left_v <= drop_out_v),
    )
