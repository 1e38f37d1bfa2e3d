"""What several devices share: the main feed that serves them all, and the ground that brings everything back."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from wirecalc.advice.house_rule import Size
from wirecalc.advice.size import MOST_PARALLEL, Job, standard_sizes
from wirecalc.advice.stretches import Route, carries_a
from wirecalc.circuits.supply import AmplifierClass, draw
from wirecalc.errors import InputError, check
from wirecalc.runs.choose import Candidate
from wirecalc.runs.feed import FeedRun
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.fuse_families import SUSTAINED


def combined(feeds: Sequence[FeedRun]) -> FeedRun:
    """One feed for several amplifiers: the sum of their full draws and of their average draws.

    Parameters
    ----------
    feeds : sequence of FeedRun
        All on one supply voltage, one or more.

    Returns
    -------
    FeedRun
        It draws as much as all together at full power and on average; in between it is near.

    Raises
    ------
    InputError
        If there is none, or they are not on one supply.
    """
    if not feeds or len({(feed.supply_v, feed.full_power_v) for feed in feeds}) != 1:
        raise InputError("Amplifiers", f"{len(feeds)}", "one or more on one supply voltage")
    first = feeds[0]
    full_w, average_w = (
        sum(
            float(draw(feed.rated_w, feed.amplifier_class, share=share(feed), supply_v=feed.full_power_v).power_w)
            for feed in feeds
        )
        for share in (lambda feed: 1.0, lambda feed: feed.music_share)
    )
    rated_w = sum(feed.rated_w for feed in feeds)
    music = sum(feed.rated_w * feed.music_share for feed in feeds) / rated_w
    exponent = math.log(average_w / full_w) / math.log(music) if music < 1 else 1.0
    return FeedRun(
        rated_w=rated_w,
        amplifier_class=AmplifierClass(
            key="combined",
            name="several amplifiers",
            efficiency=rated_w / full_w,
            exponent=min(max(exponent, 0.0), 1.0),
            source="sum of the draws of all",
            confidence="computed",
        ),
        supply_v=first.supply_v,
        regulated=all(feed.regulated for feed in feeds),
        full_power_v=first.full_power_v,
        music_share=music,
    )


@takes_units
def return_a(fuses_below_a: Sequence[float], fuse_above_a: float = math.inf) -> float:
    """The most that can come back through a shared return: it has no fuse of its own.

    Parameters
    ----------
    fuses_below_a : sequence of float
        Of every device whose current it brings back; inf for one without a fuse. [A]
    fuse_above_a : float
        Of the feed that serves them all. [A]

    Returns
    -------
    float
        The smaller of the sum of those below and the one above. [A]

    Examples
    --------
    >>> return_a([60, 100], 150), return_a([60, 100])
    (150, 160)
    """
    return min(sum(fuses_below_a), fuse_above_a)


@dataclass(frozen=True, kw_only=True)
class Ground:
    """The ground of one device or of several."""

    candidate: Candidate
    size: Size
    least: Candidate
    """The least metal that stands all that comes back and is no thinner than the feeds."""
    stands_a: float
    """What may come back. [A]"""
    carries_a: float
    """What all its conductors carry where it lies. [A]"""
    reason: str


@takes_units
def ground(
    job: Job, route: Route, feeds: Sequence[Candidate], fuses_below_a: Sequence[float], fuse_above_a: float = math.inf
) -> Ground | None:
    """The ground wire of what is fed by `feeds`.

    Parameters
    ----------
    job : Job
        Of the feed: its shop, sizes and metal are taken.
    route : Route
        Of the ground itself.
    feeds : sequence of Candidate
        Conductors that bring the current; the ground is no thinner than the thickest.
    fuses_below_a, fuse_above_a
        See `return_a`.

    Returns
    -------
    Ground or None
        None if nothing on the shelf, also side by side, stands it.

    Raises
    ------
    InputError
        If there is no feed, or nothing limits what comes back.
    """
    if not feeds:
        raise InputError("Feeds of a ground", "none", "one or more")
    stands = return_a(fuses_below_a, fuse_above_a)
    check("Fuses before a ground", stands, "A", low=0, high=5000, above=True, hint="Give each feed a fuse.")
    feed_m2 = max(feed.area_m2 for feed in feeds)
    kind = job.demands.house_kind
    shelf = (*job.shelf(kind), *job.on_order(kind))
    made = sorted(((size, job.make(size)) for size in standard_sizes(job.system)), key=lambda each: each[1].area_m2)
    conductors = [conductor for _, conductor in made]
    least: Candidate | None = None
    for parallel in range(1, MOST_PARALLEL + 1):
        carries = carries_a(route.side_by_side(parallel), conductors)
        each_a = np.minimum(carries.published_a, carries.balance_a / SUSTAINED)
        for (size, conductor), most in zip(made, each_a * parallel, strict=True):
            candidate = Candidate(conductor=conductor, parallel=parallel)
            if most < stands * (1 - 1e-9) or candidate.area_m2 < feed_m2 * (1 - 1e-6):
                continue
            least = least or candidate
            if size in shelf or not shelf:
                thin = max(feeds, key=lambda feed: feed.area_m2)
                reason = (
                    f"It stands the {stands:g} A that can come back, and is no thinner than the feed, {thin.label}."
                )
                return Ground(
                    candidate=candidate, size=size, least=least, stands_a=stands, carries_a=float(most), reason=reason
                )
    return None
