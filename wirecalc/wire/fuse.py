"""The fuse that lets the load run and protects the wire; and what to change where there is none.

A fuse protects the wire: at or under what the wire may carry where it lies, and over the load's draw.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.fuse_families import FAMILIES, clearing_between_s, ratings_a
from wirecalc.wire.heat import temperature_c
from wirecalc.wire.insulation import Wires
from wirecalc.wire.melting import lasts_s

Array = NDArray[np.float64]

LOADING = float(tables.cell("house_rules", "value", rule="fuse_loading", applies="load")) / 100
"""Largest steady draw over a fuse's rating, unless a shop has a rule of its own."""
USUAL_FAMILIES = ("blade", "large blade", "bolt-in strip 51 mm")
USUAL_RATINGS_A: Array = ratings_a(*USUAL_FAMILIES)
"""What a fuse is chosen from where nobody has named a family. [A]"""


def _checked(
    draw_a: ArrayLike, allowable_a: ArrayLike, ratings: ArrayLike, loading: float
) -> tuple[Array, Array, Array, Array]:
    """Draw, what the wire may carry, ratings in order, and the first rating that carries the draw (inf: none)."""
    draw = check("Draw", draw_a, "A", low=0, above=True)
    allowed = check("Allowable current", allowable_a, "A", low=0)
    rated = np.sort(check("Fuse rating", ratings, "A", low=0, above=True).ravel())
    check("Draw over fuse rating", loading, "", low=0, high=1, above=True)
    # 8 A on a 10 A fuse is 80 %, whatever the last binary digit says
    first = np.append(rated, np.inf)[np.searchsorted(rated, draw / loading * (1 - 1e-12))]
    return draw, allowed, rated, np.asarray(first)


@takes_units
def fuse_a(
    draw_a: ArrayLike, allowable_a: ArrayLike, *, ratings: ArrayLike = USUAL_RATINGS_A, loading: float = LOADING
) -> Array:
    """Smallest standard fuse that carries the draw, where the wire allows it.

    Parameters
    ----------
    draw_a : (...,) array_like
        Steady draw of the load, above 0. [A]
    allowable_a : (...,) array_like
        What the wire may carry in its bundle and its air: `wirecalc.wire.ampacity.allowable`. [A]
    ratings : (k,) array_like
        To choose from. [A]
    loading : float
        Largest draw over rating; 80 % is common practice, no source.

    Returns
    -------
    (...,) numpy.ndarray
        Broadcast; nan where no rating fits. `choose_fuse` says why. [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> fuse_a([8.0, 12.0, 20.0], [12.0, 12.0, 45.0]).tolist()
    [10.0, nan, 25.0]
    """
    _, allowed, _, first = _checked(draw_a, allowable_a, ratings, loading)
    return np.where(first <= allowed, first, np.nan)


@takes_units
def headroom_a(
    draw_a: ArrayLike, allowable_a: ArrayLike, *, ratings: ArrayLike = USUAL_RATINGS_A, loading: float = LOADING
) -> Array:
    """What the wire may carry over the smallest fuse that carries the draw.

    Parameters
    ----------
    draw_a, allowable_a, ratings, loading
        See `fuse_a`.

    Returns
    -------
    (...,) numpy.ndarray
        0 or more where a fuse fits; below 0 by how much the wire is short; -inf where no standard fuse is
        large enough. [A]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    _, allowed, _, first = _checked(draw_a, allowable_a, ratings, loading)
    return np.asarray(allowed - first)


@dataclass(frozen=True, kw_only=True)
class FuseChoice:
    """The fuse for one wire, or why there is none and what to change."""

    rating_a: float | None
    """None if no standard rating fits. [A]"""
    needed_a: float
    """The least rating for the draw: draw over loading. [A]"""
    allowable_a: float
    """The most that the wire allows. [A]"""
    wire_must_allow_a: float
    """The smallest standard rating that carries the draw; inf if there is none so large. [A]"""
    draw_at_most_a: float
    """The largest draw that this wire can be fused for; 0 if none. [A]"""
    reason: str
    changes: tuple[str, ...]
    """What would make a fuse fit; empty if one does."""


@takes_units
def choose_fuse(
    draw_a: float,
    allowable_a: float,
    *,
    alone_a: float | None = None,
    ratings: ArrayLike = USUAL_RATINGS_A,
    loading: float = LOADING,
    mark: Mark = plain,
) -> FuseChoice:
    """The fuse for one wire in words and numbers.

    Parameters
    ----------
    draw_a, allowable_a, ratings, loading
        See `fuse_a`; single values.
    alone_a : float, optional
        What the wire may carry outside the bundle that `allowable_a` is for, if there is one. [A]
    mark : wirecalc.mark.Mark
        What is done to each number in the words.

    Returns
    -------
    FuseChoice

    Raises
    ------
    InputError
        If a value is out of range.
    """
    draw, allowed, rated, first_array = _checked(draw_a, allowable_a, ratings, loading)
    alone = check("Allowable current outside the bundle", 0.0 if alone_a is None else alone_a, "A", low=0)
    first, most, needed_a = float(first_array), float(allowed), float(draw) / loading
    under = rated[rated <= most]
    draw_at_most_a = float(under[-1]) * loading if under.size else 0.0
    changes: list[str] = []
    rating_a: float | None = None
    load = f"The draw at the fuse is {mark(f'{float(draw):.3g}', 'each_a')} A"
    may = mark(f"{most:.3g}", "allowable_a")
    fitting = mark(f"{first:g}", "fuse_a")
    if first <= most:
        rating_a = first
        reason = (
            f"{load}, at most {mark(f'{100 * loading:.0f} %', 'loading_percent')} of a {fitting} A fuse; the wire may"
            f" carry {may} A, so the fuse opens for it."
        )
    elif np.isinf(first):
        reason = (
            f"{load}; the largest fuse of the list, {mark(f'{rated[-1]:g}', 'largest_fuse_a')} A, carries"
            f" {mark(f'{rated[-1] * loading:.3g}', 'largest_draw_a')} A."
        )
        changes.append("Split the load over several feeds, each with its own wire and fuse.")
    else:
        reason = f"{load}: it needs a {fitting} A fuse, but the wire may carry only {may} A."
        changes.append(f"Take thicker wire, or higher-temperature wire: it has to allow {fitting} A.")
        apart = mark(f"{float(alone):.3g}", "alone_a")
        if alone >= first:
            changes.append(f"Run it outside the bundle: by itself it may carry {apart} A.")
        elif alone > most:
            changes.append(f"A smaller bundle helps but is not enough: by itself it may carry {apart} A.")
    if rating_a is None:
        changes.append(
            f"Lower the draw to {mark(f'{draw_at_most_a:.3g}', 'draw_at_most_a')} A or less."
            if draw_at_most_a
            else "No fuse protects this wire here: whatever the draw, it has to be another wire or another place."
        )
    return FuseChoice(
        rating_a=rating_a,
        needed_a=needed_a,
        allowable_a=most,
        wire_must_allow_a=first,
        draw_at_most_a=draw_at_most_a,
        reason=reason,
        changes=tuple(changes),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class ShortProtection:
    """Whether a fuse saves each wire; arrays (..., n)."""

    clearing_s: Array
    """Latest that the fuse opens in the short circuit. [s]"""
    lasts_s: Array
    """Earliest that the wire reaches its damage temperature in it. [s]"""
    steady_c: Array
    """Where the conductor would end if the fuse never opened; inf over 250. [degC]"""
    holds: NDArray[np.bool_]
    """The fuse opens first, or the wire stays under its damage temperature without it."""


@takes_units
def usual_family(rating_a: float) -> str:
    """The family that a rating is bought in where nobody has named one: blade, over 40 A large blade, then bolt-in.

    Parameters
    ----------
    rating_a : float
        Above 0. [A]

    Returns
    -------
    str
        Key of `wirecalc.wire.fuse_families.FAMILIES`.

    Examples
    --------
    >>> usual_family(40.0), usual_family(80.0), usual_family(200.0)
    ('blade', 'large blade', 'bolt-in strip 51 mm')
    """
    return next((key for key in USUAL_FAMILIES if rating_a <= FAMILIES[key].ratings_a[-1]), USUAL_FAMILIES[-1])


def well_known(key: str) -> bool:
    """Whether a family's gates that are known well say when it opens; else all that are known have to.

    Parameters
    ----------
    key : str
        Of `wirecalc.wire.fuse_families.FAMILIES`.

    Returns
    -------
    bool
    """
    return any(gate.sure and np.isfinite(gate.most_s) for gate in FAMILIES[key].gates)


def _latest_s(rating_a: ArrayLike, fault_a: ArrayLike) -> Array:
    """The latest that fuses of the usual families open."""
    rating, fault = np.broadcast_arrays(
        check("Fuse rating", rating_a, "A", low=0, above=True), np.asarray(fault_a, np.float64)
    )
    latest = np.full(rating.shape, np.inf)
    keys = np.array([usual_family(rated_a) for rated_a in rating.ravel().tolist()]).reshape(rating.shape)
    for key in np.unique(keys).tolist():
        its = keys == key
        times_s = clearing_between_s(key, rating[its], fault[its], sure=well_known(key))
        if times_s is not None:
            latest[its] = times_s[1]
    return latest


@takes_units
def protects(
    rating_a: ArrayLike,
    fault_a: ArrayLike,
    wires: Wires,
    ambient_c: ArrayLike,
    loaded: ArrayLike = 1,
) -> ShortProtection:
    """Whether a fuse of the usual family opens before a wire reaches the damage temperature of its insulation.

    Parameters
    ----------
    rating_a : (..., n) or broadcastable array_like
        Of the fuse. [A]
    fault_a : (..., n) or broadcastable array_like
        Current of a short circuit; the weakest, at the far end of the run, is the hard one. [A]
    wires, ambient_c, loaded
        See `wirecalc.wire.heat.temperature_c`; all loaded conductors are taken to have the current.

    Returns
    -------
    ShortProtection

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The short starts from the insulation's limit, the hottest that the wire may run, and no heat leaves the
    metal (`wirecalc.wire.melting.lasts_s`). Both are pessimistic, the more the weaker the fault: one of 135 to 160 %
    of the rating, behind a large blade fuse of up to 250 %, may be refused that does no harm. Under 135 % the fuse
    need not open at all; a fuse at or under the allowable current keeps such an overload within the 145 % that
    IEC 60364-4-43 accepts (from memory).
    """
    insulation = wires.insulation
    clearing_s = _latest_s(rating_a, fault_a)
    lasting_s = lasts_s(wires, fault_a, insulation.limit_c, insulation.damage_c)
    steady_c = temperature_c(wires, fault_a, ambient_c, loaded)
    holds = (clearing_s < lasting_s) | (steady_c <= insulation.damage_c)
    return ShortProtection(clearing_s=clearing_s, lasts_s=lasting_s, steady_c=steady_c, holds=holds)
