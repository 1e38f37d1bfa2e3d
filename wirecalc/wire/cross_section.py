"""Where each conductor of a multi-conductor cable lies in the jacket: what a drawing to scale needs, nothing drawn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.cable_types import CableType, Core
from wirecalc.wire.insulation import Insulation, insulated
from wirecalc.wire.packing import pack

JACKET_M = 0.3e-3  # the thinnest that a cable is sold with: common practice, no source
USUAL_JACKET_M = 1.0e-3  # where nobody says how thick it is: common practice, no source
MOST_WALL_M = 0.8e-3  # of the insulation, as a drawing fills a jacket; H07V-K of 2.5 mm2: from memory


@dataclass(frozen=True, kw_only=True)
class Placed:
    """One conductor in the cross-section; the jacket's middle is at 0, 0."""

    number: int
    """From 1, in the cable's order: as in the pin-out."""
    core: Core
    x_m: float
    y_m: float
    metal_m: float
    """Diameter over the strands. [m]"""
    outer_m: float
    """Diameter over the insulation. [m]"""


@dataclass(frozen=True, kw_only=True)
class CrossSection:
    """A cable cut across."""

    name: str
    placed: tuple[Placed, ...]
    inner_m: float
    """Diameter inside the jacket: what its conductors do not fill is filler. [m]"""
    outer_m: float
    """Diameter over the jacket. [m]"""


def least_outer_m(cores: Sequence[Core], insulation: Insulation) -> float:
    """The least diameter over a jacket around conductors.

    Parameters
    ----------
    cores : sequence of Core
    insulation : Insulation
        Of each.

    Returns
    -------
    float
        With the thinnest jacket that a cable is sold with. [m]
    """
    return pack(insulated([core.conductor for core in cores], insulation).outer_m).diameter_m + 2 * JACKET_M


def cross_section(cable: CableType) -> CrossSection:
    """Lay the conductors of a cable into its jacket, none over another, twisted ones side by side.

    Parameters
    ----------
    cable : CableType

    Returns
    -------
    CrossSection
        As `wirecalc.wire.packing` lays them closest, with the cable's own jacket and outer diameter around them.

    Raises
    ------
    InputError
        If the conductors and a jacket do not fit in the cable's diameter.

    Notes
    -----
    Metal, jacket and outer diameter to scale. The walls of the insulation fill what the jacket leaves, from those that
    `wire.insulation.insulated` takes up to `MOST_WALL_M`. A real cable is laid in a helix with fillers: this is a
    picture that tells the conductors apart, not a drawing of the maker's.
    """
    wires = insulated([core.conductor for core in cable.cores], cable.insulation)
    packed = pack(wires.outer_m)
    if packed.diameter_m + 2 * JACKET_M > cable.outer_m * (1 + 1e-9):
        raise InputError(
            f"Diameter of “{cable.name}”",
            f"{cable.outer_m * 1e3:g} mm",
            f"{(packed.diameter_m + 2 * JACKET_M) * 1e3:.1f} mm or more for these conductors",
            "Measure over the jacket.",
        )
    jacket_m = min(
        USUAL_JACKET_M if cable.jacket_m is None else cable.jacket_m, (cable.outer_m - packed.diameter_m) / 2
    )
    inner_m = cable.outer_m - 2 * jacket_m
    # all as far apart as the thinnest gets thicker: none can come to lie over another
    room_m = max(MOST_WALL_M - float(np.min(wires.wall_m)), 0.0)
    larger = min(inner_m / packed.diameter_m, 1 + 2 * room_m / float(np.min(wires.outer_m)))
    outer_m = wires.outer_m + (larger - 1) * np.min(wires.outer_m)
    middles = larger * np.stack([packed.x_m, packed.y_m], axis=1)
    seat = _pairs_together(cable, wires.outer_m, middles)
    placed = tuple(
        Placed(number=at + 1, core=core, x_m=float(x), y_m=float(y), metal_m=float(metal), outer_m=float(outer))
        for at, (core, (x, y), metal, outer) in enumerate(zip(cable.cores, seat, wires.core_m, outer_m, strict=True))
    )
    return CrossSection(name=cable.name, placed=placed, inner_m=inner_m, outer_m=cable.outer_m)


def _pairs_together(
    cable: CableType, outer_m: NDArray[np.float64], middle_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Middles for each conductor: those of one thickness change seats, two at a time, while pairs come closer."""
    names = [core.name for core in cable.cores]
    pairs = np.array([[names.index(core.name) for core in two] for two in cable.pairs.values()], int).reshape(-1, 2)
    seat = np.arange(len(names))

    def apart(seats: NDArray[np.int_]) -> float:
        first, other = middle_m[seats[pairs[:, 0]]], middle_m[seats[pairs[:, 1]]]
        return float(np.sum(np.hypot(*(first - other).T)))

    swaps = [(i, j) for i in range(len(names)) for j in range(i) if np.isclose(outer_m[i], outer_m[j], rtol=1e-9)]
    while True:
        tried = []
        for i, j in swaps:
            other = seat.copy()
            other[[i, j]] = other[[j, i]]
            tried.append(other)
        best = min(tried, key=apart, default=seat)
        if apart(best) >= apart(seat) - 1e-9:
            return np.asarray(middle_m[seat])
        seat = best
