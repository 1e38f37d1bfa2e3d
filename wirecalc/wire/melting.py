"""A short circuit heats the metal quicker than heat can leave it: how long a wire lasts, what current melts it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import takes_units
from wirecalc.wire.ampacity import TABLE_AMBIENT_C
from wirecalc.wire.conductor import HOTTEST_C
from wirecalc.wire.insulation import Wires

Array = NDArray[np.float64]

ONDERDONK_MELT_C = 1083.0  # copper, as in Stauffacher, General Electric Review 1928; from memory
PREECE_A_PER_M1_5 = 10244.0 / 0.0254**1.5  # copper; PCD&F, "Onderdonk's and Preece's equations": read


@takes_units
def lasts_s(wires: Wires, current_a: ArrayLike, start_c: ArrayLike, end_c: ArrayLike) -> Array:
    """Time in which a short circuit heats the metal from one temperature to another, no heat leaving it.

    Parameters
    ----------
    wires : Wires
        n sizes.
    current_a, start_c, end_c : (..., n) or broadcastable array_like
        Current above 0 [A]; conductor temperatures [degC].

    Returns
    -------
    (..., n) numpy.ndarray
        Shorter than the truth: the insulation takes heat too. 0 where the end is not over the start. [s]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    .. [1] IEC 60949, adiabatic short-circuit current; from memory.
    """
    current = check("Current", current_a, "A", low=0, above=True)
    start = check("Start temperature", start_c, "°C", low=-50, high=HOTTEST_C)
    end = check("End temperature", end_c, "°C", low=-50, high=ONDERDONK_MELT_C)
    growth = np.log(wires.ohm_per_m(end) / wires.ohm_per_m(start))
    heat = wires.metal_j_per_m_k / (wires.ohm_per_m_20c * wires.per_k_20c)
    return np.asarray(np.maximum(growth, 0) * heat / current**2)


@takes_units
def onderdonk_a(area_m2: ArrayLike, time_s: ArrayLike, ambient_c: ArrayLike = TABLE_AMBIENT_C) -> Array:
    """Current that melts a copper wire in a short time, by Onderdonk: an upper end, nowhere near allowable.

    Parameters
    ----------
    area_m2 : (...,) array_like
        Metal. [m^2]
    time_s : (...,) array_like
        Above 0 up to 10 s: over that the heat that leaves counts. [s]
    ambient_c : (...,) array_like
        [degC]

    Returns
    -------
    (...,) numpy.ndarray
        [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``I = A sqrt(log10((1083 - Ta) / (234 + Ta) + 1) / (33 t))``, A in circular mils. Stauffacher, General
    Electric Review 1928, equation from memory.
    """
    area_m2 = check("Cross-section", area_m2, "m²", low=0, above=True)
    time_s = check("Time", time_s, "s", low=0, high=10, above=True)
    ambient = check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    circular_mils = area_m2 / (np.pi / 4 * 25.4e-6**2)
    rise = np.log10((ONDERDONK_MELT_C - ambient) / (234 + ambient) + 1)
    return np.asarray(circular_mils * np.sqrt(rise / (33 * time_s)))


@takes_units
def preece_a(diameter_m: ArrayLike) -> Array:
    """Current that melts a bare copper wire in free air at last, by Preece. [A]

    Parameters
    ----------
    diameter_m : (...,) array_like
        Solid wire. [m]

    Returns
    -------
    (...,) numpy.ndarray
        ``10244 d^1.5``, d in inches: PCD&F, Onderdonk's and Preece's equations (read). [A]

    Raises
    ------
    InputError
        If a diameter is not above 0.

    Notes
    -----
    Preece's wires were thin, some 0.1 to 2 mm, bare and long, in still air. A thicker one melts at less than this, and
    any wire spoils its insulation at a small part of it: never a limit to work to.
    """
    return np.asarray(PREECE_A_PER_M1_5 * check("Diameter", diameter_m, "m", low=0, above=True) ** 1.5)
