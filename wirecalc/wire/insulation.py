"""A conductor in a coat of insulation: what a wire is covered with, and the wires as the heat balance takes them.

Arrays have one size of wire an element.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C, Conductor

Array = NDArray[np.float64]

# of the heat capacities in data/metals.csv, from memory; they give IEC's own 226 and 148 A s^0.5/mm2
METAL_SOURCE = "IEC 60949 table 1, copper and aluminium; clad aluminium by volume of the two"
THIN_WALL_M, THIN_WALL_SHARE = 0.2e-3, 0.08  # thin wall, near ISO 6722-1; from memory


@dataclass(frozen=True, kw_only=True)
class Insulation:
    """What a wire is covered with."""

    key: str
    name: str
    limit_c: float
    """Hottest that the conductor may be for years. [degC]"""
    damage_c: float
    """Hottest that it may be for the seconds of a short circuit. [degC]"""
    w_per_m_k: float
    """Thermal conductivity. [W/(m K)]"""
    emissivity: float
    j_per_m3_k: float
    """Heat capacity by volume. [J/(m^3 K)]"""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Insulation limit", self.limit_c, "°C", low=40, high=HOTTEST_C)
        check("Insulation damage temperature", self.damage_c, "°C", low=self.limit_c, high=HOTTEST_C)
        check("Insulation conductivity", self.w_per_m_k, "W/(m K)", low=0.01, high=5)
        check("Emissivity", self.emissivity, "", low=0, high=1)
        check("Insulation heat capacity", self.j_per_m3_k, "J/(m³ K)", low=1e5, high=1e7)


INSULATIONS = tables.keyed("insulations", Insulation)


@dataclass(frozen=True, kw_only=True, eq=False)
class Wires:
    """Insulated wires side by side in a list, one candidate size each; made by `insulated`. Arrays are (n,)."""

    insulation: Insulation
    core_m: Array
    """Diameter over the strands. [m]"""
    outer_m: Array
    """Diameter over the insulation. [m]"""
    ohm_per_m_20c: Array
    """[ohm/m]"""
    per_k_20c: Array
    """[1/K]"""
    metal_j_per_m_k: Array
    """Heat to warm a metre of the metal by 1 K. [J/(m K)]"""

    @property
    def wall_m(self) -> Array:
        """Thickness of the insulation. [m]"""
        return (self.outer_m - self.core_m) / 2

    @property
    def wall_m_k_per_w(self) -> Array:
        """Thermal resistance of the wall, from the core to the surface. [m K/W]"""
        return np.log(self.outer_m / self.core_m) / (2 * np.pi * self.insulation.w_per_m_k)

    @property
    def j_per_m_k(self) -> Array:
        """Heat to warm a metre of wire by 1 K, metal and insulation. [J/(m K)]"""
        wall_m2 = np.pi / 4 * (self.outer_m**2 - self.core_m**2)
        return self.metal_j_per_m_k + wall_m2 * self.insulation.j_per_m3_k

    @takes_units
    def ohm_per_m(self, conductor_c: ArrayLike) -> Array:
        """Resistance at a conductor temperature, also past where insulation lives. [ohm/m]"""
        return self.ohm_per_m_20c * (1 + self.per_k_20c * (np.asarray(conductor_c) - REFERENCE_C))


def metal_j_per_m3_k(conductor: Conductor) -> float:
    """Heat to warm a cubic metre of a conductor's metal by 1 K; see `METAL_SOURCE`. [J/(m^3 K)]"""
    return conductor.metal.j_per_m3_k


@takes_units
def insulated(conductors: Sequence[Conductor], insulation: Insulation, wall_m: ArrayLike | None = None) -> Wires:
    """Conductors in a coat of insulation.

    Parameters
    ----------
    conductors : sequence of n Conductor
        One candidate each.
    insulation : Insulation
        One for all; see `INSULATIONS`.
    wall_m : (n,) or scalar array_like, optional
        Wall thickness. Without it 0.2 mm and 8 % of the conductor's diameter, close to the thin walls of ISO
        6722-1 (from memory). Up to 2/0 more wall means more surface, so a thin wall is the hot case. [m]

    Returns
    -------
    Wires
        Of n sizes.

    Raises
    ------
    InputError
        If a wall is not between 0.05 and 10 mm.
    """
    core_m = np.array([conductor.diameter_m for conductor in conductors])
    wall_m = THIN_WALL_M + THIN_WALL_SHARE * core_m if wall_m is None else wall_m
    wall_m = check("Insulation thickness", wall_m, "m", low=0.05e-3, high=10e-3, hint="Was it in mm?")
    metal_j = [
        conductor.area_m2 * conductor.stranding.lay_factor * metal_j_per_m3_k(conductor) for conductor in conductors
    ]
    return Wires(
        insulation=insulation,
        core_m=core_m,
        outer_m=core_m + 2 * wall_m,
        ohm_per_m_20c=np.array([conductor.ohm_per_m_20c for conductor in conductors]),
        per_k_20c=np.array([conductor.metal.per_k_20c for conductor in conductors]),
        metal_j_per_m_k=np.array(metal_j),
    )
