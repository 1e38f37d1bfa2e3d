"""What a run feeds, as an impedance over frequency."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class Load:
    """A resistance with an inductance in series: a nominal impedance, or the simplest voice coil."""

    ohm: float
    """Resistance. [ohm]"""
    henry: float = 0.0
    """Inductance in series. [H]"""

    def __post_init__(self) -> None:
        check("Load impedance", self.ohm, "Ω", low=0.1, high=100_000)
        check("Load inductance", self.henry, "H", low=0, high=1)

    def impedance(self, frequency_hz: ArrayLike) -> NDArray[np.complex128]:
        """Complex impedance at each frequency.

        Parameters
        ----------
        frequency_hz : (...,) array_like
            [Hz]

        Returns
        -------
        (...,) numpy.ndarray of complex128
            [ohm]

        Raises
        ------
        InputError
            If a frequency is out of range.
        """
        frequency_hz = check("Frequency", frequency_hz, "Hz", low=0, high=1e9)
        return np.asarray(self.ohm + 2j * np.pi * frequency_hz * self.henry, np.complex128)
