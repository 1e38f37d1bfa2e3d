"""The job in whole units, and the plain plans that need no mathematics: first-fit-decreasing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class CuttingJob:
    """In whole units: distinct lengths, longest first, how many of each; kinds of spool with cost and number."""

    lengths: tuple[int, ...]
    wanted: tuple[int, ...]
    caps: tuple[int, ...]
    costs: tuple[int, ...]
    stock: tuple[int, ...]

    @property
    def missing_cost(self) -> int:
        """The cost put on a piece that is not cut: more than any plan that cuts it."""
        return 1 + max(self.costs) * sum(self.wanted)


Pattern = tuple[int, tuple[int, ...]]
"""Kind of spool, and how many of each length are cut from it; kind -1 is a piece that is not cut."""


def cost_of(job: CuttingJob, plan: Sequence[Pattern]) -> int:
    """Cost of a plan.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    plan : sequence of Pattern
        A piece that is not cut costs `Job.missing_cost`.

    Returns
    -------
    int
        In steps of cost.
    """
    return sum(job.missing_cost if kind < 0 else job.costs[kind] for kind, _ in plan)


def only(job: CuttingJob, item: int, count: int = 1) -> tuple[int, ...]:
    """The counts of a pattern that holds one length only.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    item : int
        Which of its lengths.
    count : int
        How many of it.

    Returns
    -------
    tuple of int
        One count a length.
    """
    return tuple(count if place == item else 0 for place in range(len(job.lengths)))


def full_of_one(job: CuttingJob) -> list[Pattern]:
    """A spool of each kind full of one length, and each piece not cut: with these the linear program has an answer."""
    patterns: list[Pattern] = [(-1, only(job, item)) for item in range(len(job.lengths))]
    for kind, cap in enumerate(job.caps):
        for item, length in enumerate(job.lengths):
            if length <= cap and job.stock[kind]:
                patterns.append((kind, only(job, item, min(cap // length, job.wanted[item]))))
    return patterns


def first_fit_best(job: CuttingJob) -> list[Pattern]:
    """First-fit-decreasing, each kind of spool preferred once."""
    plans = [_first_fit(job, kind) for kind in range(len(job.caps))]
    return min(plans, key=lambda plan: (cost_of(job, plan), len(plan)))


def _first_fit(job: CuttingJob, preferred: int) -> list[Pattern]:
    """A plan by the plain rule; each spool is then swapped for the cheapest that holds what is cut from it."""

    def worth(kind: int) -> tuple[float, int]:
        return job.costs[kind] / max(job.caps[kind], 1), -job.caps[kind]

    order = [preferred, *(kind for kind in sorted(range(len(job.caps)), key=worth) if kind != preferred)]
    left = list(job.stock)
    kinds: list[int] = []
    room: list[int] = []
    held: list[dict[int, int]] = []
    missing: list[Pattern] = []
    for item, length in enumerate(job.lengths):
        for _ in range(job.wanted[item]):
            at = next((place for place, free in enumerate(room) if free >= length), None)
            if at is None:
                kind = next((spool for spool in order if left[spool] and job.caps[spool] >= length), None)
                if kind is None:
                    missing.append((-1, only(job, item)))
                    continue
                left[kind] -= 1
                at = len(room)
                kinds.append(kind)
                room.append(job.caps[kind])
                held.append(defaultdict(int))
            room[at] -= length
            held[at][item] += 1
    patterns = []
    for kind, free, items in zip(kinds, room, held, strict=True):
        used = job.caps[kind] - free
        fits = [spool for spool, cap in enumerate(job.caps) if cap >= used and (left[spool] or spool == kind)]
        swap = min(fits, key=lambda spool: (job.costs[spool], spool != kind))
        left[kind] += 1
        left[swap] -= 1
        patterns.append((swap, tuple(items.get(item, 0) for item in range(len(job.lengths)))))
    return patterns + missing


def trimmed(job: CuttingJob, plan: Sequence[Pattern]) -> list[Pattern]:
    """A plan without the pieces that are cut more often than wanted.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    plan : sequence of Pattern
        Cuts every piece at least as often as wanted.

    Returns
    -------
    list of Pattern
        Cuts every piece just as often as wanted; a spool that held nothing else is left out.
    """
    left = list(job.wanted)
    patterns = []
    for kind, counts in plan:
        kept = tuple(min(count, rest) for count, rest in zip(counts, left, strict=True))
        left = [rest - count for rest, count in zip(left, kept, strict=True)]
        if any(kept):
            patterns.append((kind, kept))
    return patterns
