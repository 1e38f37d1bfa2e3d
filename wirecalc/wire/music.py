"""How much of the current at rated power heats a wire while music plays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import takes_units

Array = NDArray[np.float64]

MUSIC_FRACTION = 1 / 8  # of rated power: common practice, no source; 16 CFR 432.3(c) only warms amplifiers up with it


@takes_units
def music_rms_a(rated_a: ArrayLike, fraction: ArrayLike = MUSIC_FRACTION) -> Array:
    """Current of music that heats a loudspeaker wire as the music does, from the current at rated power.

    Parameters
    ----------
    rated_a : (...,) array_like
        RMS at rated power. [A]
    fraction : (...,) array_like
        Average power over rated power; one-eighth is the preconditioning of 16 CFR 432.3(c). Test tones and
        heavily compressed bass come near 1. [0 to 1]

    Returns
    -------
    (...,) numpy.ndarray
        ``rated sqrt(fraction)``, power going with the current squared. Not for a supply wire: its current goes
        with the power itself and the amplifier's efficiency. [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(music_rms_a(5.0).round(4))
    1.7678
    """
    rated = check("Current", rated_a, "A", low=0)
    return np.asarray(rated * np.sqrt(check("Share of rated power", fraction, "", low=0, high=1)))
