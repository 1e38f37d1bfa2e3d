"""A fuse with its family, rating and breaking capacity, derated by the air it sits in.

A fuse is at or under what the thinnest wire behind it carries in the hottest place; it carries the load, and it can
break the short that the battery delivers where it sits. Families stand in `wirecalc.wire.fuse_families`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.fuse import LOADING
from wirecalc.wire.fuse_families import FAMILIES, RATINGS_A, FuseFamily, derating, short_in_words, stands, start_known

AT_BATTERY, BEHIND_A_FUSE, STRONG_SHORT = "at the battery", "behind a fuse or block", "short over the breaking capacity"
_PLUGGED = "blade"  # also over what the shop uses it for
_BOLTED = ("bolt-in strip 30 mm", "post fuse", "bolt-in strip 51 mm")
_NEAR = 1.4  # the shop's usual family is taken up to so much over the least rating: common practice, no source
LEAST_LEFT = 0.3  # of a rating: air so hot that less is left is no place for a fuse


def _left(of: FuseFamily, air_c: float) -> float:
    """As `derating`, for one number."""
    return min(max(1 - of.derate_per_k * (air_c - of.derate_from_c), 0.0), 1.0)


@takes_units
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
    loading: float = LOADING
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
    """The least rating that carries the load, derated; a standard one where the start asks for more than that. [A]"""
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
    """None where there is no inrush to stand."""
    reason: str
    changes: tuple[str, ...] = ()
    """What would make a fuse fit; empty if one does."""

    @property
    def times_known(self) -> bool:
        """Whether times of its family are known."""
        return bool(self.family and self.family.gates)


def _breaks(of: FuseFamily, short_a: float, supply_v: float) -> bool:
    return of.breaking_a >= short_a and of.rated_v >= supply_v


def _smallest(
    need: FuseNeed, short_a: Callable[[float], float], families: Callable[[float], str | None]
) -> tuple[float, FuseFamily | None]:
    """The smallest rating of families, by rating, that carries the load and breaks the short; inf if there is none."""
    for rating in RATINGS_A:
        key = families(rating)
        of = None if key is None else FAMILIES[key]
        if of is None or rating not in of.ratings_a or rating < need.least_rating_a(of.key) * (1 - 1e-9):
            continue
        if not _breaks(of, short_a(rating), need.supply_v):
            continue
        if not stands(of.key, rating, need.inrush_a, need.inrush_s):
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
    if best[1] is not None and best[0] <= allowed_a * (1 + 1e-9):
        return best
    strong = _smallest(need, short_a, lambda rating: rules.family(STRONG_SHORT, rating))
    return strong if best[1] is None or strong[0] <= allowed_a * (1 + 1e-9) else best


@takes_units
def fuse_for(
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

    Raises
    ------
    InputError
        If `allowed_a` is below 0.

    See Also
    --------
    wirecalc.wire.fuse.choose_fuse : By draw and wire alone, where nothing is known of the battery and the air.
    """
    rules = HouseRules.from_table() if rules is None else rules
    check("Allowed fuse", allowed_a, "A", low=0)
    smallest, of = _best(need, allowed_a, short_a, rules)
    if of is None:
        return _none(need, allowed_a, float(short_a(math.inf)))
    running = _best(replace(need, inrush_s=0.0), allowed_a, short_a, rules)[0] if need.inrush_s else smallest
    needed = smallest if running < smallest * (1 - 1e-9) else need.least_rating_a(of.key)
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
        reason=_reason(need, of, smallest, derate, short, allowed_a, stood=bool(inrush)),
        changes=()
        if fits
        else (
            f"Take thicker wire, or higher-temperature insulation: it must carry {smallest:g} A in the hottest place.",
        ),
    )


@takes_units
def family_of(rating_a: float, where: str, short_a: float, supply_v: float, rules: HouseRules) -> FuseFamily | None:
    """The family for a rating that is given.

    Parameters
    ----------
    rating_a : float
        [A]
    where : str
        `AT_BATTERY` or `BEHIND_A_FUSE`.
    short_a : float
        What it has to break. [A]
    supply_v : float
        The highest voltage at which it has to. [V]
    rules : HouseRules

    Returns
    -------
    FuseFamily or None
        The shop's own if it breaks the short; else another that has the rating; that for the strongest shorts only
        where others have the rating, but do not break the short. None if there is none.
    """
    first = rules.family(where, rating_a)
    others = _BOLTED if where == AT_BATTERY else (_PLUGGED, *_BOLTED)
    have = [FAMILIES[key] for key in (*filter(None, (first,)), *others) if rating_a in FAMILIES[key].ratings_a]
    for of in have:
        if _breaks(of, short_a, supply_v):
            return of
    strong = rules.family(STRONG_SHORT, rating_a)
    if not have or strong is None or rating_a not in FAMILIES[strong].ratings_a:
        return None
    return FAMILIES[strong] if _breaks(FAMILIES[strong], short_a, supply_v) else None


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
            f" {short_in_words(short_a)}."
        ),
        changes=(
            "Split the load over several feeds, each with its own wire and fuse.",
            "Put the fuse where it is cooler.",
        ),
    )


def _reason(
    need: FuseNeed, of: FuseFamily, rating: float, derate: float, short_a: float, allowed_a: float, *, stood: bool
) -> str:
    """Why this fuse, in one or two sentences."""
    by_steady = need.steady_a / need.loading >= need.full_a / need.full_loading
    if by_steady:
        carries = f"{need.steady_a:.3g} A for hours is at most {100 * need.loading:.0f} % of it"
    else:
        carries = f"it carries {need.full_a:.3g} A of full power for minutes"
    if derate < 1:
        carries += f", and {need.air_c:g} °C of air leaves {100 * derate:.0f} % of its rating"
    if stood:
        carries += f"; it stands {need.inrush_a:.3g} A for {need.inrush_s:g} s at the start"
        if not start_known(of.key):
            carries += ", if it is no quicker than a blade fuse (its data sheet says)"
    breaks = f"it breaks {of.breaking_a / 1e3:g} kA, the short there is {short_in_words(short_a)}"
    if rating <= allowed_a * (1 + 1e-9):
        return f"{rating:g} A, {of.name}: {carries}; {breaks}; the wire behind it carries {allowed_a:.3g} A."
    return f"The load needs {rating:g} A ({carries}), but the wire behind it carries only {allowed_a:.3g} A."
