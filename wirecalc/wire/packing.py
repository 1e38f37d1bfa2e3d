"""Whether wires pass a hole: circles packed into a circle, how full it gets, how tightly the bundle may bend.

The least circle around given circles is known for few cases only. What is found here is always a packing that
exists, checked for overlap: never smaller than possible, at times a little larger than need be.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.optimize import linprog

from wirecalc import tables, units
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]
Ease = Literal["passes easily", "passes tightly", "no way found", "cannot pass"]

MOST_WIRES = 100
THINNEST_M, THICKEST_M = 0.2e-3, 0.1  # of anything that is pulled in a vehicle: common practice, no source
# Most of a tube's area that wires may take so that they pull in without harm, for 1, 2, 3 or more wires: NEC chapter
# 9 table 1, made for conduit; from memory
EASY_FILL = (0.53, 0.31, 0.40)
TOUCH = 1e-9  # of the radius around: nearer than this, circles are taken as touching, not as overlapping
_DENSITIES = (0.72, 0.76, 0.80, 0.84)  # of the circles in the circle they are first pressed into
_PRESSES, _POLISHED, _STEPS = 90, 2, 8  # as few as keep equal circles within 1 % of the published radii
_TANGENTS = np.array([-0.35, -0.1, 0.0, 0.1, 0.35])  # where the round wall is made of straight ones, in radians
_PUBLISHED = tables.load("circle_packings")
_PROVEN: dict[int, float] = {
    row["circles"]: row["ratio"] for row in _PUBLISHED.to_dict("records") if row["proven"] == "yes"
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Packing:
    """Circles that lie in a circle about the origin without overlap, which is checked. Arrays are (n,)."""

    radius_m: Array
    x_m: Array
    y_m: Array
    around_m: float
    """Radius of the circle around all. [m]"""

    def __post_init__(self) -> None:
        check("Wire radius", self.radius_m, "m", low=0, above=True)
        slack = TOUCH * self.around_m
        first, second = np.triu_indices(len(self.radius_m), 1)
        apart = np.hypot(self.x_m[first] - self.x_m[second], self.y_m[first] - self.y_m[second])
        check("Gap between wires", apart - self.radius_m[first] - self.radius_m[second], "m", low=-slack)
        inside = self.around_m - np.hypot(self.x_m, self.y_m) - self.radius_m
        check("Gap to the circle around", inside, "m", low=-slack)

    @property
    def diameter_m(self) -> float:
        """The circle around all: what the bundle measures when it is laid that well. [m]"""
        return 2 * self.around_m

    @property
    def fill(self) -> float:
        """Area of the circles over that of the circle around. [0 to 1]"""
        return float(np.sum((self.radius_m / self.around_m) ** 2))


@takes_units
def pack(diameters_m: ArrayLike, *, starts: int | None = None) -> Packing:
    """The smallest circle that was found around circles of given diameters.

    Parameters
    ----------
    diameters_m : (n,) array_like
        Over the insulation, n from 1 to 100, in any order. [m]
    starts : int, optional
        Random arrangements to begin with, always the same ones; more find a smaller circle at times. Without it
        from 96 for a few wires down to 16 for many.

    Returns
    -------
    Packing
        In the order given.

    Raises
    ------
    InputError
        If there is no wire, more than 100, or a diameter is not between 0.2 and 100 mm.

    Notes
    -----
    Circles thrown at random into a circle a little too small are pressed apart, all starts at once; the best two
    are then improved by linear programs, in each of which a pair keeps its distance along the line between its
    centres. That is stricter than keeping its distance, so no step makes an overlap.

    Examples
    --------
    >>> round(pack([2e-3] * 7).diameter_m * 1e3, 4)      # six around one: three diameters
    6.0
    """
    diameters = check("Outer diameter", diameters_m, "m", low=THINNEST_M, high=THICKEST_M, hint="Was it in mm?")
    if diameters.ndim != 1 or not 1 <= len(diameters) <= MOST_WIRES:
        raise InputError("Wires", f"{diameters.size}", f"a list of 1 to {MOST_WIRES}")
    order = np.argsort(-diameters, kind="stable")
    unit = float(np.sqrt(np.sum(diameters**2))) / 2
    # rounded, so that the same wires in inches and in millimetres are one search
    radius = tuple(np.round(diameters[order] / 2 / unit, 12).tolist())
    starts = int(np.clip(20_000 / len(radius) ** 2, 16, 96)) if starts is None else starts
    x, y = _search(radius, int(check("Starts", starts, "", low=1, high=10_000)))
    back = np.argsort(order)
    radius_m = diameters / 2
    x_m, y_m = _apart(radius_m, x[back] * unit, y[back] * unit)
    return Packing(radius_m=radius_m, x_m=x_m, y_m=y_m, around_m=float(np.max(np.hypot(x_m, y_m) + radius_m)))


def _apart(radius: Array, x: Array, y: Array) -> tuple[Array, Array]:
    """The centres moved out from the origin, all in one proportion, until the closest pair touches."""
    if len(radius) == 1:
        return np.zeros(1), np.zeros(1)
    first, second = np.triu_indices(len(radius), 1)
    distance = np.hypot(x[first] - x[second], y[first] - y[second])
    scale = float(np.max((radius[first] + radius[second]) / np.maximum(distance, 1e-300)))
    return x * scale, y * scale


@lru_cache(maxsize=256)
def _search(radii: tuple[float, ...], starts: int) -> tuple[Array, Array]:
    """Centres of circles, thickest first, whose areas add up to that of a circle of radius 1."""
    radius = np.array(radii)
    if len(radius) <= 2:  # side by side: the thicker one's far side to the thinner one's
        x = np.array([radius[-1], -radius[0]])[: len(radius)]
        return x, np.zeros(len(radius))
    x, y = _pressed(radius, starts)
    first, second = np.triu_indices(len(radius), 1)
    distance = np.hypot(x[:, first] - x[:, second], y[:, first] - y[:, second])
    scale = np.max((radius[first] + radius[second]) / np.maximum(distance, 1e-12), axis=1, keepdims=True)
    around = np.max(np.hypot(x, y) * scale + radius, axis=1)
    polished = [_polished(radius, x[i] * scale[i], y[i] * scale[i]) for i in np.argsort(around)[:_POLISHED]]
    _, x, y = min(polished, key=lambda packing: packing[0])
    return x, y


def _pressed(radius: Array, starts: int) -> tuple[Array, Array]:
    """Circles pressed out of each other and into a circle, from many starts at once. (starts, n) each"""
    generator = np.random.default_rng(1)
    shape = (starts, len(radius))
    wall = 1 / np.sqrt(np.resize(_DENSITIES, starts))[:, None]
    wall = np.maximum(wall, radius[0] + radius[1])
    out, turn = np.sqrt(generator.random(shape)) * np.maximum(wall - radius, 0.0), 2 * np.pi * generator.random(shape)
    x, y = out * np.cos(turn), out * np.sin(turn)
    sums = radius[:, None] + radius
    np.fill_diagonal(sums, 0.0)
    speed_x, speed_y = np.zeros(shape), np.zeros(shape)
    for _ in range(_PRESSES):
        dx, dy = x[:, :, None] - x[:, None, :], y[:, :, None] - y[:, None, :]
        distance = np.sqrt(dx * dx + dy * dy) + 1e-12
        push = np.maximum(sums / distance - 1.0, 0.0)
        centre = np.sqrt(x * x + y * y) + 1e-12
        pull = np.maximum(centre + radius - wall, 0.0) / centre
        speed_x = 0.8 * speed_x + 0.2 * (np.einsum("sij,sij->si", push, dx) - pull * x)
        speed_y = 0.8 * speed_y + 0.2 * (np.einsum("sij,sij->si", push, dy) - pull * y)
        x, y = x + speed_x, y + speed_y
    return x, y


def _polished(radius: Array, x: Array, y: Array) -> tuple[float, Array, Array]:
    """A smaller circle around from centres that do not overlap, by linear programs; radius around, x, y."""
    count = len(radius)
    first, second = np.triu_indices(count, 1)
    sums = radius[first] + radius[second]
    around = float(np.max(np.hypot(x, y) + radius))
    reach = 0.3 * float(radius.mean())
    for _ in range(_STEPS):
        dx, dy = x[first] - x[second], y[first] - y[second]
        distance = np.hypot(dx, dy)
        near = np.flatnonzero(distance < sums + 3 * reach)
        ux, uy = dx[near] / distance[near], dy[near] / distance[near]
        rim = np.flatnonzero(np.hypot(x, y) + radius > around - 3 * reach)
        angle = (np.arctan2(y, x)[rim, None] + _TANGENTS).ravel()
        at = np.repeat(rim, len(_TANGENTS))
        pairs, walls = np.arange(len(near)), len(near) + np.arange(len(at))
        i, j = first[near], second[near]
        rows = np.concatenate([pairs, pairs, pairs, pairs, walls, walls, walls])
        columns = np.concatenate([i, j, count + i, count + j, at, count + at, np.full(len(at), 2 * count)])
        values = np.concatenate([-ux, ux, -uy, uy, np.cos(angle), np.sin(angle), np.full(len(at), -1.0)])
        room = -radius[at] - x[at] * np.cos(angle) - y[at] * np.sin(angle)
        most = np.concatenate([distance[near] - sums[near], room])
        matrix = sparse.csr_array((values, (rows, columns)), shape=(len(most), 2 * count + 1))
        cost = np.zeros(2 * count + 1)
        cost[-1] = 1.0
        bounds = np.tile([-reach, reach], (2 * count + 1, 1))
        bounds[-1] = 0.0, around
        # the stubs know no sparse matrix here, scipy does
        step = linprog(cost, A_ub=matrix, b_ub=most, bounds=bounds, method="highs-ds")  # type: ignore[call-overload]
        if step.x is None:  # no better place nearby
            break
        new_x, new_y = _apart(radius, x + step.x[:count], y + step.x[count:-1])
        new = float(np.max(np.hypot(new_x, new_y) + radius))
        gain = around - new
        if gain > 0:
            around, x, y = new, new_x, new_y
        if gain < 1e-3 * around:
            reach /= 4
    return around, x, y


@takes_units
def least_around_m(diameters_m: ArrayLike) -> float:
    """Diameter that no packing of these wires can stay under.

    Parameters
    ----------
    diameters_m : (n,) array_like
        Over the insulation. [m]

    Returns
    -------
    float
        The largest of three bounds: that of equal areas, the two thickest side by side, and for every k up to 19
        the proven circle around k circles (data/circle_packings.csv) as thick as the k-th. [m]

    Raises
    ------
    InputError
        If a diameter is out of range.
    """
    check("Outer diameter", diameters_m, "m", low=THINNEST_M, high=THICKEST_M, hint="Was it in mm?")
    thick = np.sort(np.asarray(diameters_m, np.float64))[::-1]
    bounds = [float(np.sqrt(np.sum(thick**2))), float(thick[:2].sum())]
    bounds += [ratio * float(thick[k - 1]) for k, ratio in _PROVEN.items() if k <= len(thick)]
    return max(bounds)


@dataclass(frozen=True, kw_only=True, eq=False)
class Passage:
    """A bundle held against a round opening."""

    packing: Packing
    opening_m: float
    """Diameter. [m]"""
    least_m: float
    """Diameter that no packing can stay under. [m]"""

    @property
    def fill(self) -> float:
        """Area of the wires over that of the opening; over 1 where they cannot pass. [-]"""
        return float(np.sum((2 * self.packing.radius_m / self.opening_m) ** 2))

    @property
    def easy_fill(self) -> float:
        """Most fill at which wires pull in without harm; NEC chapter 9 table 1, from memory. [0 to 1]"""
        return EASY_FILL[min(len(self.packing.radius_m), 3) - 1]

    def in_words(self, *, feet: bool = False) -> str:
        """The verdict in a sentence or two.

        Parameters
        ----------
        feet : bool
            Diameters in inches.

        Returns
        -------
        str
        """
        needs, opening, least = (
            units.show(across_m, units.LENGTH, feet=True) if feet else f"{across_m * 1e3:.3g} mm"
            for across_m in (self.packing.diameter_m, self.opening_m, self.least_m)
        )
        hole = f"the {opening} opening"
        fill, easy = f"fill {100 * self.fill:.0f} %", f"{100 * self.easy_fill:.0f} %"
        if self.ease == "passes easily":
            return f"These wires pass {hole} easily: {fill}, {easy} is the most for an easy pull."
        if self.ease == "passes tightly":
            return (
                f"These wires pass {hole}, but tightly: laid at their best they measure {needs}; {fill}, over "
                f"{easy} they chafe when pulled. Take a larger one, or lay them in one by one."
            )
        if self.ease == "no way found":
            return (
                f"No way was found to pass {hole}: the best bundle found measures {needs}. A better one may exist, but "
                "none that pulls through. Take a larger opening, or two."
            )
        return (
            f"These wires cannot pass {hole}: the smallest bundle found measures {needs}, and however they are laid, "
            f"they never measure less than {least}."
        )

    @property
    def ease(self) -> Ease:
        """How they pass. "no way found" leaves it open: the packing found is too large, but a better one may exist."""
        if self.packing.diameter_m <= self.opening_m:
            return "passes easily" if self.fill <= self.easy_fill else "passes tightly"
        return "cannot pass" if self.least_m > self.opening_m else "no way found"


@takes_units
def through_opening(diameters_m: ArrayLike, opening_m: float) -> Passage:
    """Hold wires against a round opening: a grommet, a tube, a drilled hole.

    Parameters
    ----------
    diameters_m : (n,) array_like
        As for `pack`. [m]
    opening_m : float
        Inner diameter, edge protection taken off. [m]

    Returns
    -------
    Passage
        How they lie, how full the opening is, and how easily they pass.

    Raises
    ------
    InputError
        As `pack`, or if the opening is not between 0.5 and 500 mm.

    See Also
    --------
    pack : The circle around them alone.

    Examples
    --------
    >>> through_opening([4e-3] * 7, 12.1e-3).ease
    'passes tightly'
    """
    check("Opening", opening_m, "m", low=0.5e-3, high=0.5, hint="Was it in mm?")
    return Passage(packing=pack(diameters_m), opening_m=opening_m, least_m=least_around_m(diameters_m))


@dataclass(frozen=True, kw_only=True)
class Bend:
    """The tightest bend that is advised, measured to its inside."""

    where: str
    radius_m: float
    source: str


_NOT_CHECKED = "published value, copy not checked"
_BENDS: tuple[tuple[str, float, Literal["wire", "bundle"], str], ...] = (
    (
        "laid and tied, once",
        10,
        "wire",
        f"10 times the thickest wire: FAA AC 43.13-1B chapter 11; {_NOT_CHECKED}",
    ),
    (
        "at a terminal, wire held behind it",
        3,
        "wire",
        f"3 times the wire: FAA AC 43.13-1B chapter 11; {_NOT_CHECKED}",
    ),
    ("through a door or hatch that moves", 10, "bundle", "10 times the bundle: common practice, no source"),
)


def bends(packing: Packing) -> tuple[Bend, ...]:
    """Guide to the bend radius of a bundle; the wire maker's own figure comes first.

    Returns
    -------
    tuple of Bend
        Laid once, at a terminal, and moved often.
    """
    of = {"wire": 2 * float(np.max(packing.radius_m)), "bundle": packing.diameter_m}
    return tuple(Bend(where=where, radius_m=times * of[what], source=source) for where, times, what, source in _BENDS)
