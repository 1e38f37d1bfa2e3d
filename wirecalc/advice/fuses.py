"""A fuse with its family, rating and breaking capacity, derated by the air it sits in.

A fuse is at or under what the thinnest wire behind it carries in the hottest place; it carries the load, and it can
break the short that the battery delivers where it sits. Families, ratings and time gates stand in data/fuse_*.csv.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import InputError, check
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import Conductor

Array = NDArray[np.float64]

AT_BATTERY, BEHIND_A_FUSE, STRONG_SHORT = "at the battery", "behind a fuse or block", "short over the breaking capacity"
SUSTAINED = 1.1  # of its rating: what a blade fuse carries for 100 hours, ISO 8820-3; taken for all families
_PLUGGED = "blade"  # also over what the shop uses it for
_BOLTED = ("bolt-in strip 30 mm", "post fuse", "bolt-in strip 51 mm")
_NEAR = 1.4  # the shop's usual family is taken up to so much over the least rating: common practice, no source
LEAST_LEFT = 0.3  # of a rating: air so hot that less is left is no place for a fuse


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
RATINGS_A: tuple[float, ...] = tuple(sorted({rating for one in FAMILIES.values() for rating in one.ratings_a}))
"""Of all families. [A]"""


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

    Examples
    --------
    >>> float(derating("blade", 65).round(3))
    0.9
    """
    of = family(key)
    air = check("Air around the fuse", air_c, "°C", low=-50, high=200)
    return np.clip(1 - of.derate_per_k * (air - of.derate_from_c), 0.0, 1.0)


def _left(of: FuseFamily, air_c: float) -> float:
    """As `derating`, for one number."""
    return min(max(1 - of.derate_per_k * (air_c - of.derate_from_c), 0.0), 1.0)


def clearing_between_s(key: str, rating_a: float, current_a: ArrayLike) -> tuple[Array, Array] | None:
    """Shortest and longest time in which a fuse opens, by its own family's gates.

    Parameters
    ----------
    key : str
        Of `FAMILIES`.
    rating_a : float
        Above 0. [A]
    current_a : (...,) array_like
        Above 0. [A]

    Returns
    -------
    (...,) numpy.ndarray, (...,) numpy.ndarray, or None
        The longest is inf where it need not open, the shortest 0 where nothing is known. None where the family has no
        gates: no time may be said. [s]

    Notes
    -----
    Between and beyond gates a stronger current needs no more I²t than a weaker one, as in
    `wirecalc.wire.fuse.clearing_between_s`.
    """
    rating = float(check("Fuse rating", rating_a, "A", low=0, above=True))
    gates = [gate for gate in family(key).gates if gate.above_a < rating <= gate.up_to_a]
    if not gates:
        return None
    share = np.round(check("Current", current_a, "A", low=0, above=True) / rating, 12)
    shortest, longest = np.zeros(share.shape), np.full(share.shape, np.inf)
    for gate in gates:
        ratio = (gate.over_rating / share) ** 2
        shortest = np.where(share <= gate.over_rating, np.maximum(shortest, gate.least_s * ratio), shortest)
        longest = np.where(share >= gate.over_rating, np.minimum(longest, gate.most_s * ratio), longest)
    return shortest, longest


def stands(key: str, rating_a: float, inrush_a: float, inrush_s: float) -> bool | None:
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
    bool or None
        True if even the quickest fuse of that rating still holds when the inrush is over.
        None where no times of its family are known.

    Raises
    ------
    InputError
        If there is no such family or the rating is not above 0; only asked where the inrush is over the rating.
    """
    if inrush_a <= rating_a or inrush_s <= 0:
        return True
    times = clearing_between_s(key, rating_a, inrush_a)
    return None if times is None else bool(times[0] > inrush_s)


def before_ohm(conductor: Conductor, length_m: float, parallel: int = 1) -> float:
    """Cold resistance of the wire between battery and fuse, one way.

    Parameters
    ----------
    conductor : Conductor
    length_m : float
        One way; 0 or less for a fuse right at the battery. [m]
    parallel : int
        Alike conductors side by side. [1 to 16]

    Returns
    -------
    float
        At 20 degC, without joints; 0 for no length. [ohm]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    return float(loop_ohm(conductor.ohm_per_m_20c, length_m, parallel=parallel, ways=1)) if length_m > 0 else 0.0


@dataclass(frozen=True, kw_only=True)
class FuseNeed:
    """What a fuse has to carry and where it sits; currents of one conductor."""

    steady_a: float
    """For hours: the average of music, or all of a steady load. [A]"""
    full_a: float
    """For minutes: full power. [A]"""
    loading: float = 0.8
    """Largest steady current over the derated rating."""
    full_loading: float = 1.0
    """Largest full current over the derated rating."""
    inrush_a: float = 0.0
    inrush_s: float = 0.0
    air_c: float = 25.0
    """Around the fuse. [degC]"""
    where: str = BEHIND_A_FUSE
    """`AT_BATTERY` or `BEHIND_A_FUSE`."""
    supply_v: float = 14.4
    """The highest voltage that it breaks. [V]"""

    def __post_init__(self) -> None:
        check("Steady current", self.steady_a, "A", low=0, high=10_000)
        check("Full current", self.full_a, "A", low=0, high=10_000)
        check("Air around the fuse", self.air_c, "°C", low=-50, high=200)
        check("Draw over fuse rating", self.loading, "", low=0, high=1, above=True)
        check("Full draw over fuse rating", self.full_loading, "", low=0, high=1, above=True)

    def least_rating_a(self, key: str) -> float:
        """The least rating of a family that carries it in its air; inf where the air leaves too little. [A]"""
        left = _left(FAMILIES[key], self.air_c)
        if left < LEAST_LEFT:
            return math.inf
        return max(self.steady_a / (self.loading * left), self.full_a / (self.full_loading * left))


@dataclass(frozen=True, kw_only=True)
class FuseAdvice:
    """The fuse for one conductor, or what there would have to be."""

    rating_a: float | None
    """None where no fuse both carries the load and protects the wire. [A]"""
    family: FuseFamily | None
    """Of the smallest fuse that carries the load, also where the wire does not allow it; None if there is none."""
    needed_a: float
    """The least rating that carries the load, derated. [A]"""
    smallest_a: float
    """The smallest standard rating over `needed_a` that breaks the short; inf if there is none. [A]"""
    allowed_a: float
    """The largest rating that the thinnest wire behind it allows. [A]"""
    short_a: float
    """The strongest short that it has to break. [A]"""
    derate: float
    """What the air leaves of its rating. [0 to 1]"""
    air_c: float
    inrush_stood: bool | None
    """None where nothing is known of its times, or there is no inrush to stand."""
    reason: str
    changes: tuple[str, ...] = ()
    """What would make a fuse fit; empty if one does."""

    @property
    def times_known(self) -> bool:
        """Whether times of its family are known."""
        return bool(self.family and self.family.gates)


def _smallest(
    need: FuseNeed, short_a: Callable[[float], float], families: Callable[[float], str | None]
) -> tuple[float, FuseFamily | None]:
    """The smallest rating of families, by rating, that carries the load and breaks the short; inf if there is none."""
    for rating in RATINGS_A:
        key = families(rating)
        of = None if key is None else FAMILIES[key]
        if of is None or rating not in of.ratings_a or rating < need.least_rating_a(of.key) * (1 - 1e-9):
            continue
        if of.breaking_a < short_a(rating) or of.rated_v < need.supply_v:
            continue
        if stands(of.key, rating, need.inrush_a, need.inrush_s) is False:
            continue
        return rating, of
    return math.inf, None


def _best(
    need: FuseNeed, allowed_a: float, short_a: Callable[[float], float], rules: HouseRules
) -> tuple[float, FuseFamily | None]:
    """The shop's family where it fits and is not much larger than need be; else the smallest fuse of any other, and
    that for the strongest shorts only where no other does."""
    usual = _smallest(need, short_a, lambda rating: rules.family(need.where, rating))
    if (
        usual[0] <= allowed_a * (1 + 1e-9)
        and usual[1] is not None
        and usual[0] <= _NEAR * need.least_rating_a(usual[1].key)
    ):
        return usual
    families = _BOLTED if need.where == AT_BATTERY else (_PLUGGED, *_BOLTED)
    others = [_smallest(need, short_a, lambda _, key=key: key) for key in families]  # type: ignore[misc]
    best = min((usual, *others), key=lambda each: each[0])
    if best[0] <= allowed_a * (1 + 1e-9):
        return best
    strong = _smallest(need, short_a, lambda rating: rules.family(STRONG_SHORT, rating))
    return strong if best[1] is None or strong[0] <= allowed_a * (1 + 1e-9) else best


def choose(
    need: FuseNeed, allowed_a: float, short_a: Callable[[float], float], rules: HouseRules | None = None
) -> FuseAdvice:
    """The smallest fuse of the shop's families that carries the load and breaks the short.

    Parameters
    ----------
    need : FuseNeed
    allowed_a : float
        The largest rating that the thinnest wire behind it allows, in the hottest place it passes. [A]
    short_a : callable
        The strongest short behind a fuse of a rating: see `prospective_a`. [A]
    rules : HouseRules, optional
        The defaults if not given.

    Returns
    -------
    FuseAdvice
    """
    rules = HouseRules.from_table() if rules is None else rules
    check("Allowed fuse", allowed_a, "A", low=0)
    smallest, of = _best(need, allowed_a, short_a, rules)
    if of is None:
        return _none(need, allowed_a, float(short_a(math.inf)))
    needed = need.least_rating_a(of.key)
    short = float(short_a(smallest))
    fits = smallest <= allowed_a * (1 + 1e-9)
    derate = float(derating(of.key, need.air_c))
    inrush = stands(of.key, smallest, need.inrush_a, need.inrush_s) if need.inrush_a > smallest else None
    return FuseAdvice(
        rating_a=smallest if fits else None,
        family=of,
        needed_a=needed,
        smallest_a=smallest,
        allowed_a=allowed_a,
        short_a=short,
        derate=derate,
        air_c=need.air_c,
        inrush_stood=inrush,
        reason=_reason(need, of, smallest, derate, short, allowed_a),
        changes=()
        if fits
        else (
            f"Take thicker wire, or higher-temperature insulation: it must carry {smallest:g} A in the hottest place.",
        ),
    )


def _none(need: FuseNeed, allowed_a: float, short_a: float) -> FuseAdvice:
    return FuseAdvice(
        rating_a=None,
        family=None,
        needed_a=need.least_rating_a("bolt-in strip 51 mm"),
        smallest_a=math.inf,
        allowed_a=allowed_a,
        short_a=short_a,
        derate=math.nan,
        air_c=need.air_c,
        inrush_stood=None,
        reason=(
            f"No fuse of the shop's families carries {need.full_a:.3g} A in {need.air_c:g} °C and breaks a short of"
            f" {short_a / 1e3:.3g} kA."
        ),
        changes=(
            "Split the load over several feeds, each with its own wire and fuse.",
            "Put the fuse where it is cooler.",
        ),
    )


def _reason(need: FuseNeed, of: FuseFamily, rating: float, derate: float, short_a: float, allowed_a: float) -> str:
    """Why this fuse, in one or two sentences."""
    by_steady = need.steady_a / need.loading >= need.full_a / need.full_loading
    if by_steady:
        carries = f"{need.steady_a:.3g} A for hours is at most {100 * need.loading:.0f} % of it"
    else:
        carries = f"it carries {need.full_a:.3g} A of full power for minutes"
    if derate < 1:
        carries += f", and {need.air_c:g} °C of air leaves {100 * derate:.0f} % of its rating"
    breaks = f"it breaks {of.breaking_a / 1e3:g} kA, the short there is {short_a / 1e3:.3g} kA"
    if rating <= allowed_a * (1 + 1e-9):
        return f"{rating:g} A, {of.name}: {carries}; {breaks}; the wire behind it carries {allowed_a:.3g} A."
    return f"The load needs {rating:g} A ({carries}), but the wire behind it carries only {allowed_a:.3g} A."
