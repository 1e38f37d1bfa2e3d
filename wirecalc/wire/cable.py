"""Conductors side by side: what a run of two of them, out and back, puts into the circuit."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import takes_units

Array = NDArray[np.float64]

LONGEST_M = 100.0  # over five times the longest vehicle on the road: beyond it a slip of the unit is likelier
FOOT_M = 0.3048  # by definition


def loop_ohm(
    ohm_per_m: ArrayLike,
    length_m: ArrayLike,
    *,
    parallel: ArrayLike = 1,
    joints_ohm: ArrayLike = 0.0,
    ways: Literal[1, 2] = 2,
) -> Array:
    """Loop resistance of a run: out on one conductor and back on another like it, or on the vehicle's body.

    Parameters
    ----------
    ohm_per_m : (...,) array_like
        One conductor, at its temperature. [ohm/m]
    length_m : (...,) array_like
        One way, above 0. [m]
    parallel : (...,) array_like
        Like conductors side by side, each way. [1 to 16]
    joints_ohm : (...,) array_like
        All crimps, terminals and connectors of the loop together; with `ways` 1 the body's resistance too. [ohm]
    ways : int
        2 for a pair; 1 where the body (chassis) brings the current back.

    Returns
    -------
    (...,) numpy.ndarray
        All arguments broadcast. [ohm]

    Raises
    ------
    InputError
        If a length is not above 0 or is over 100 m, or another value is out of range.

    Examples
    --------
    >>> float(loop_ohm(7.98e-3, 5.0).round(6))      # 2.5 mm2 class 5
    0.0798
    """
    length_m = check("Run length", length_m, "m", low=0, high=LONGEST_M, above=True)
    parallel = check("Conductors in parallel", parallel, "", low=1, high=16)
    joints_ohm = check("Joints", joints_ohm, "ohm", low=0, high=10)
    ohm_per_m = check("Resistance per metre", ohm_per_m, "ohm/m", low=0, high=1e6)
    return ohm_per_m / parallel * float(ways) * length_m + joints_ohm


@takes_units
def parallel_ohm_per_m(ohm_per_m: ArrayLike, axis: int = -1) -> Array:
    """Resistance per metre of unlike conductors side by side; the current divides as their conductances.

    Parameters
    ----------
    ohm_per_m : (..., n) array_like
        Each conductor. [ohm/m]
    axis : int
        The axis that holds the conductors.

    Returns
    -------
    (...,) numpy.ndarray
        [ohm/m]

    Raises
    ------
    InputError
        If a resistance is not above 0.
    """
    ohm_per_m = check("Resistance per metre", ohm_per_m, "ohm/m", low=0, above=True)
    return np.asarray(1.0 / np.sum(1.0 / ohm_per_m, axis=axis))
