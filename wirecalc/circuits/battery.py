"""The battery behind a short circuit: what it delivers through its own resistance and what lies in the way."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]

BATTERY_V = 12.8  # of a full battery at rest: common practice, no source
BATTERY_OHM = 5e-3  # inside a starter battery: common practice, no source; its data sheet or a tester knows better
JOINTS_OHM = 1e-3  # clamps, lugs, ground cable and body around the battery: common practice, no source
BLOCK_OHM = 7e-3  # main fuse, some metres of feed and the body before a block of 12 V: common practice, no source
FUSE_RATED_V = 0.07  # over a fuse at its rating, so its cold resistance is this over the rating; from memory
MOST_IN_A_ROW = 4  # 48 V
SYSTEM_V = 14.0  # of one battery's supply: 28 V has two in a row


@dataclass(frozen=True, kw_only=True)
class Battery:
    """What feeds a short circuit."""

    volt: float = BATTERY_V
    """Full, at rest. [V]"""
    ohm: float = BATTERY_OHM
    """Inside. [ohm]"""
    joints_ohm: float = JOINTS_OHM
    """Clamps, lugs and the body between its two posts. [ohm]"""

    def __post_init__(self) -> None:
        check("Battery voltage", self.volt, "V", low=1, high=60)
        check("Battery's inner resistance", self.ohm, "ohm", low=1e-4, high=1, hint="5 mΩ is 0.005.")
        check("Joints", self.joints_ohm, "ohm", low=0, high=10)


@takes_units
def in_a_row(supply_v: float) -> int:
    """How many batteries of 12 V a supply has in a row: two for 24 V, where feeds carry half as much and are thinner.

    Parameters
    ----------
    supply_v : float
        At rest or as it is charged. [V]

    Returns
    -------
    int
        1 to `MOST_IN_A_ROW`.
    """
    return min(max(round(supply_v / SYSTEM_V), 1), MOST_IN_A_ROW)


@takes_units
def usual_battery(supply_v: float) -> Battery:
    """A starter battery, or two or more in a row, for a supply. [V]"""
    count = in_a_row(supply_v)
    return Battery(volt=BATTERY_V * count, ohm=BATTERY_OHM * count)


@takes_units
def source_ohm(starts_at: Literal["battery", "branch", "output"], supply_v: float) -> float:
    """Resistance between the battery's inside and the start of a run: the battery's own, and what is before a branch.

    Parameters
    ----------
    starts_at : str
        As of `wirecalc.runs.run.Run`.
    supply_v : float
        [V]

    Returns
    -------
    float
        [ohm]
    """
    battery = usual_battery(supply_v)
    return battery.ohm + battery.joints_ohm + (BLOCK_OHM * in_a_row(supply_v) if starts_at == "branch" else 0.0)


@takes_units
def prospective_a(battery: Battery, before_ohm: ArrayLike = 0.0, rating_a: ArrayLike = math.inf) -> Array:
    """The strongest short behind a fuse: battery over everything cold in its way.

    Parameters
    ----------
    battery : Battery
    before_ohm : (...,) array_like
        Wire, at 20 degC, and whatever else lies between the battery and the short, out and back. [ohm]
    rating_a : (...,) array_like
        Of the fuse, whose own resistance counts; inf for none. [A]

    Returns
    -------
    (...,) numpy.ndarray
        An alternator adds little: it cannot give much more than its rating. [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``V / (Ri + R)``, with resistance alone: what flows once the current stands, after some milliseconds. Ri is that
    of a charged, warm battery; a cold or aged one gives less, so this is the most that a fuse has to break.

    Examples
    --------
    >>> float(prospective_a(Battery(ohm=0.005, joints_ohm=0.0005)).round())
    2327.0
    """
    before = check("Wire before the fuse", before_ohm, "ohm", low=0, high=1000)
    own = FUSE_RATED_V / np.asarray(rating_a, np.float64)
    return np.asarray(battery.volt / (battery.ohm + battery.joints_ohm + before + own))
