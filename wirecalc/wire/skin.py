"""Skin effect: what a conductor's resistance and its inside inductance become at a frequency.

Exact for a solid round conductor (Bessel functions), no thick-wire shortcut. Strands: a stranded conductor is
taken as a solid rod of the same DC resistance per metre, lay included.

Why that rod: the solution depends on ``omega mu0 / (pi R)`` alone, R being the DC resistance per metre, so
it is the same whether the metal fills a thin circle or is spread with its gaps over the wider one. It holds
for bare strands that touch, and for insulated strands that keep their place in the lay. It overstates the
rise for insulated strands that change places (litz). Copper-clad aluminium is taken as one metal of its mean
resistivity. The neighbour wire's field (proximity) is left out: it raises the resistance of a pair by at most
``1 / sqrt(1 - (d/D)**2)``, reached in the thin-skin limit (from memory), d being the diameter and D the
spacing of the centres. At that limit 5 m of touching pair, 0.8 mm insulation, 18 AWG to 1/0, into 4 ohm loses
0.05 dB more at 20 kHz (computed).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import mu_0

from wirecalc.errors import check
from wirecalc.units_taken import takes_units

Array = NDArray[np.float64]

HIGHEST_HZ = 1e9
_SERIES_BELOW = 1e-2  # there three terms are good to 1e-12, and Bessel's imaginary part loses digits


@takes_units
def ac_ratio(dc_ohm_per_m: ArrayLike, frequency_hz: ArrayLike) -> Array:
    """AC over DC resistance of one conductor, 1 or more.

    Parameters
    ----------
    dc_ohm_per_m : (...,) array_like
        One conductor, one way, at its temperature, lay included; see `wirecalc.wire.conductor`. [ohm/m]
    frequency_hz : (...,) array_like
        Broadcasts with `dc_ohm_per_m`. [0 to 1e9 Hz]

    Returns
    -------
    (...,) numpy.ndarray
        [-]

    Raises
    ------
    InputError
        If a resistance is not above 1e-9 ohm/m or a frequency is out of range.

    Notes
    -----
    ``Z / R = x I0(x) / (2 I1(x))``, ``x**2 = j omega mu0 / (pi R)``: the field inside a round rod, in any
    text on electromagnetics; the tests hold it against mpmath.

    Examples
    --------
    >>> float(ac_ratio(5.2108e-3, 20e3).round(4))      # solid 12 AWG
    1.353
    """
    return _over_dc(_magnetic(dc_ohm_per_m, frequency_hz)).real


@takes_units
def internal_henry_per_m(dc_ohm_per_m: ArrayLike, frequency_hz: ArrayLike) -> Array:
    """Inductance of the field inside one round conductor: ``mu0 / (8 pi)`` at DC, less as the skin thins.

    Parameters
    ----------
    dc_ohm_per_m : (...,) array_like
        Resistance of the conductor to direct current, above 0. [ohm/m]
    frequency_hz : (...,) array_like
        0 or more. [Hz]

    Returns
    -------
    (...,) numpy.ndarray
        [H/m]

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    ac_ratio : The resistance of the same model, and its limits.

    Examples
    --------
    >>> float((internal_henry_per_m(5.2108e-3, [0, 20e3]) * 1e9).round(2)[1])
    41.44
    """
    magnetic = _magnetic(dc_ohm_per_m, frequency_hz)
    with np.errstate(invalid="ignore"):  # 0/0 at DC, replaced by its limit
        inside = _over_dc(magnetic).imag / magnetic
    return np.asarray(mu_0 / np.pi * np.where(magnetic == 0, 1 / 8, inside))


@takes_units
def internal_ohm_per_m(dc_ohm_per_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.complex128]:
    """Resistance and inside reactance of one round conductor as one complex number.

    Parameters
    ----------
    dc_ohm_per_m : (...,) array_like
        Resistance of the conductor to direct current, above 0. [ohm/m]
    frequency_hz : (...,) array_like
        0 or more. [Hz]

    Returns
    -------
    (...,) numpy.ndarray of complex128
        [ohm/m]

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    ac_ratio : The real part over that of direct current, and the limits of the model.

    Examples
    --------
    >>> complex(internal_ohm_per_m(5.2108e-3, 0.0))
    (0.0052108+0j)
    """
    magnetic = _magnetic(dc_ohm_per_m, frequency_hz)
    return np.asarray(np.asarray(dc_ohm_per_m, np.float64) * _over_dc(magnetic), np.complex128)


def _magnetic(dc_ohm_per_m: ArrayLike, frequency_hz: ArrayLike) -> Array:
    """``omega mu0 / (pi R)``: twice the square of radius over skin depth."""
    dc = check("Resistance per metre", dc_ohm_per_m, "ohm/m", low=1e-9, above=True)
    frequency_hz = check("Frequency", frequency_hz, "Hz", low=0, high=HIGHEST_HZ)
    return np.asarray(2.0 * mu_0 * frequency_hz / dc)


def _over_dc(magnetic: Array) -> NDArray[np.complex128]:
    """Inside impedance over DC resistance."""
    from scipy.special import ive  # here: it takes longer to load than this package, and only audio needs it

    small = magnetic < _SERIES_BELOW
    x = np.sqrt(1j * np.where(small, 1.0, magnetic))
    bessel = x * ive(0, x) / (2.0 * ive(1, x))  # scaled, so that neither overflows; the scales cancel
    square = 1j * np.where(small, magnetic, 0.0)
    series = 1.0 + square * (1 / 8 - square * (1 / 192 - square / 3072))
    return np.asarray(np.where(small, series, bessel), np.complex128)
