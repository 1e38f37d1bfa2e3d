"""What feeds a run: an amplifier as a voltage source behind its output impedance."""

from __future__ import annotations

import math

from wirecalc.errors import check
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class Amplifier:
    """An amplifier channel by its rating.

    At its terminals it gives exactly the rated power into the rated impedance; its open-circuit voltage, and
    so what it gives into any other load, follow from that and from the output impedance.
    """

    power_w: float
    """Rated power. [W]"""
    rated_ohm: float
    """The impedance that the power is rated into. [ohm]"""
    damping_factor: float = 200.0
    """Rated impedance over output impedance, at the terminals."""
    least_ohm: float | None = None
    """Lowest load that the maker allows; the rated one if not said. [ohm]"""

    def __post_init__(self) -> None:
        check("Amplifier power", self.power_w, "W", low=0.001, high=20000)
        check("Rated impedance", self.rated_ohm, "Ω", low=0.1, high=1000)
        check("Damping factor", self.damping_factor, "", low=1, high=100000)
        if self.least_ohm is not None:
            check("Least load", self.least_ohm, "Ω", low=0.1, high=1000)

    @property
    def output_ohm(self) -> float:
        """Output impedance. [ohm]"""
        return self.rated_ohm / self.damping_factor

    @property
    def emf_v(self) -> float:
        """Open-circuit voltage, RMS. [V]"""
        return math.sqrt(self.power_w * self.rated_ohm) * (1.0 + 1.0 / self.damping_factor)

    @property
    def rated_current_a(self) -> float:
        """RMS current at the rating. [A]"""
        return math.sqrt(self.power_w / self.rated_ohm)

    @property
    def least_load_ohm(self) -> float:
        """Lowest allowed load. [ohm]"""
        return self.rated_ohm if self.least_ohm is None else self.least_ohm
