"""Families of fuses by their standards: ratings, breaking capacity, derating by the air, times in which they open.

They stand in data/fuse_families.csv, fuse_ratings.csv and fuse_gates.csv, and nowhere else.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]
SUSTAINED = 1.1  # of its rating: what a blade fuse carries for 100 hours, ISO 8820-3; taken for all families


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Within which time a fuse opens at a multiple of its rating."""

    over_rating: float
    least_s: float
    most_s: float
    """inf where nothing makes it open. [s]"""
    above_a: float
    up_to_a: float
    """Ratings that it is for: over the one, up to the other. [A]"""
    confidence: str = "read"

    @property
    def sure(self) -> bool:
        """Whether its times are known well enough to trust a wire to them."""
        return "uncertain" not in self.confidence


@dataclass(frozen=True, kw_only=True)
class FuseFamily:
    """A family of fuses by its standard."""

    key: str
    name: str
    standard: str
    mounting: str
    rated_v: float
    breaking_a: float
    """The strongest short that it breaks, at `rated_v`. [A]"""
    ratings_a: tuple[float, ...]
    """Rising. [A]"""
    derate_from_c: float
    derate_per_k: float
    """Share of the rating lost for each kelvin over `derate_from_c`. [1/K]"""
    gates: tuple[Gate, ...]
    """Empty where no times are known: then none may be said."""
    holder: str
    source: str
    confidence: str

    @takes_units
    def named(self, rating_a: float) -> str:
        """A fuse of it as every paper names it: "100 A terminal fuse on a post (single bolt)"."""
        return fuse_name(self.name, rating_a)


def _gates(family: str) -> tuple[Gate, ...]:
    def number(cell: float, missing: float) -> float:
        return missing if math.isnan(cell) else float(cell)

    return tuple(
        Gate(
            over_rating=row["over_rating"],
            least_s=number(row["least_s"], 0.0),
            most_s=number(row["most_s"], math.inf),
            above_a=number(row["above_a"], 0.0),
            up_to_a=number(row["up_to_a"], math.inf),
            confidence=row["confidence"],
        )
        for row in tables.rows("fuse_gates")
        if row["family"] == family
    )


FAMILIES: dict[str, FuseFamily] = {
    row["family"]: FuseFamily(
        key=row["family"],
        name=row["name"],
        standard=row["standard"],
        mounting=row["mounting"],
        rated_v=row["rated_v"],
        breaking_a=row["breaking_a"],
        ratings_a=tuple(
            sorted(float(each["rating_a"]) for each in tables.rows("fuse_ratings") if each["family"] == row["family"])
        ),
        derate_from_c=row["derate_from_c"],
        derate_per_k=row["derate_percent_per_k"] / 100,
        gates=_gates(str(row["family"])),
        holder=row["holder"],
        source=row["source"],
        confidence=row["confidence"],
    )
    for row in tables.rows("fuse_families")
}
"""By key; see data/fuse_families.csv."""
RATINGS_A: tuple[float, ...] = tuple(sorted({rating for each in FAMILIES.values() for rating in each.ratings_a}))
"""Of all families. [A]"""


def ratings_a(*families: str) -> Array:
    """Standard ratings of some families, smallest first.

    Parameters
    ----------
    *families : str
        Of `FAMILIES`.

    Returns
    -------
    (k,) numpy.ndarray
        Each rating once; sources stand in data/fuse_ratings.csv. [A]

    Raises
    ------
    InputError
        If there is no such family.
    """
    return np.unique(np.array([rating for key in families for rating in family(key).ratings_a], np.float64))


@takes_units
def fuse_name(family_name: str, rating_a: float) -> str:
    """A fuse as every paper names it; without a family only its rating.

    Parameters
    ----------
    family_name : str
        Of its family; empty where none is known.
    rating_a : float
        [A]

    Returns
    -------
    str

    Examples
    --------
    >>> fuse_name("medium blade fuse (type C)", 7.5)
    '7.5 A medium blade fuse (type C)'
    """
    return f"{rating_a:g} A {family_name or 'fuse of no known kind'}"


def family(key: str) -> FuseFamily:
    """A family by its key.

    Raises
    ------
    InputError
        If there is no such family.
    """
    if key not in FAMILIES:
        raise InputError("Fuse family", key, ", ".join(FAMILIES))
    return FAMILIES[key]


@takes_units
def derating(key: str, air_c: ArrayLike) -> Array:
    """What is left of a fuse's rating in warm air.

    Parameters
    ----------
    key : str
        Of `FAMILIES`.
    air_c : (...,) array_like
        Around the fuse. [-50 to 200 degC]

    Returns
    -------
    (...,) numpy.ndarray
        1 up to the air that its rating is for, then falling in a straight line. [0 to 1]

    Raises
    ------
    InputError
        If there is no such family or the air is out of range.

    Notes
    -----
    The line is read of rerating curves up to 100 degC or so; beyond it is carried on.

    Examples
    --------
    >>> float(derating("blade", 65).round(3))
    0.9
    """
    of = family(key)
    air = check("Air around the fuse", air_c, "°C", low=-50, high=200)
    return np.clip(1 - of.derate_per_k * (air - of.derate_from_c), 0.0, 1.0)


@takes_units
def clearing_between_s(
    key: str, rating_a: ArrayLike, current_a: ArrayLike, *, sure: bool = False
) -> tuple[Array, Array] | None:
    """Shortest and longest time in which a fuse opens, by its own family's gates.

    Parameters
    ----------
    key : str
        Of `FAMILIES`.
    rating_a, current_a : (...,) array_like
        Above 0. [A]
    sure : bool
        Whether to leave out gates that are not known well: then a stronger current is given the longer time of a
        weaker one, which is the safe side for the wire.

    Returns
    -------
    (...,) numpy.ndarray, (...,) numpy.ndarray, or None
        Broadcast. At a gate the gate's own times; the longest is inf where it need not open, the shortest 0 where
        nothing is known. None where the family has no gates for any of the ratings: no time may be said. [s]

    Raises
    ------
    InputError
        If there is no such family or a value is not above 0.

    Notes
    -----
    Between and beyond the gates by one law: a stronger current needs no more I²t than a weaker one, for in the
    shorter time less heat gets away. So each gate bounds the times at its sides by ``t (gate / current)²``.
    """
    gates = [gate for gate in family(key).gates if gate.sure or not sure]
    rating = check("Fuse rating", rating_a, "A", low=0, above=True)
    gates = [gate for gate in gates if np.any((rating > gate.above_a) & (rating <= gate.up_to_a))]
    if not gates:
        return None
    # 1.35 times a rating is at the gate, not a binary digit under it
    share = np.round(check("Current", current_a, "A", low=0, above=True) / rating, 12)
    shortest, longest = np.zeros(share.shape), np.full(share.shape, np.inf)
    for gate in gates:
        ratio, its = (gate.over_rating / share) ** 2, (rating > gate.above_a) & (rating <= gate.up_to_a)
        weaker, stronger = its & (share <= gate.over_rating), its & (share >= gate.over_rating)
        shortest = np.where(weaker, np.maximum(shortest, gate.least_s * ratio), shortest)
        longest = np.where(stronger, np.minimum(longest, gate.most_s * ratio), longest)
    return shortest, longest


@takes_units
def stands(key: str, rating_a: float, inrush_a: float, inrush_s: float) -> bool:
    """Whether a fuse lets an inrush pass.

    Parameters
    ----------
    key : str
        Of `FAMILIES`.
    rating_a : float
        Above 0. [A]
    inrush_a : float
        What flows when the load starts. [A]
    inrush_s : float
        How long it flows; 0 or less for a load that starts as it runs. [s]

    Returns
    -------
    bool
        True if even the quickest fuse of that rating still holds when the inrush is over. A family of which no least
        time is known is taken to be as quick as a blade fuse: common practice, no source; its data sheet counts.

    Raises
    ------
    InputError
        If there is no such family or the rating is not above 0; only asked where the inrush is over the rating.
    """
    if inrush_a <= rating_a or inrush_s <= 0:
        return True
    known = [clearing_between_s(each, rating_a, inrush_a) for each in {key, key if start_known(key) else "blade"}]
    return any(times is not None and bool(times[0] > inrush_s) for times in known)


def start_known(key: str) -> bool:
    """Whether it is known for how long a family holds what is well over its rating."""
    return any(gate.least_s > 0 and gate.over_rating > SUSTAINED for gate in family(key).gates)


def start_share(start_s: float) -> float:
    """The most that a blade fuse carries for a short time without opening, over its rating.

    Parameters
    ----------
    start_s : float
        How long a device takes to start; 0 for one that has no start. [s]

    Returns
    -------
    float
        Of the gates of its family, each with the same heat, ``t (gate / current)²``: what the best of them allows. [-]

    Raises
    ------
    InputError
        If the time is below 0.

    See Also
    --------
    clearing_between_s : The shortest and longest time at a current.

    Examples
    --------
    >>> start_share(0.02), round(start_share(0.2), 3)      # 6 sqrt(0.02/0.2)
    (6.0, 1.897)
    """
    start_s = float(check("Start", start_s, "s", low=0, high=600))
    return max(
        gate.over_rating * min(1.0, (gate.least_s / start_s) ** 0.5 if start_s else 1.0)
        for gate in FAMILIES["blade"].gates
    )


@takes_units
def short_in_words(short_a: float) -> str:
    """A short's current to two digits, as more of them are not known of a battery: "90 A", "2.1 kA".

    Parameters
    ----------
    short_a : float
        Above 0. [A]

    Returns
    -------
    str

    Examples
    --------
    >>> short_in_words(90.1), short_in_words(951.0), short_in_words(2130.0)
    ('90 A', '950 A', '2.1 kA')
    """
    rounded = float(f"{short_a:.2g}")
    return f"{rounded / 1e3:g} kA" if rounded >= 1000 else f"{rounded:g} A"
