"""Patterns worth their cost, by the dual prices of a linear program; each best pattern is a knapsack."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import linprog

from wirecalc.cutting.patterns import CuttingJob, Pattern, cost_of, only
from wirecalc.cutting.pieces import CLOSE

Array = NDArray[np.float64]


def generate(
    job: CuttingJob, columns: list[Pattern], best: list[Pattern], end: float
) -> tuple[list[Pattern], list[Pattern], Array, Array, float]:
    """Patterns until none is worth more than it costs.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    columns : list of Pattern
        To start with; the linear program must have an answer with these. Grows.
    best : list of Pattern
        The best plan so far.
    end : float
        When to stop, by `time.monotonic`. [s]

    Returns
    -------
    tuple of (list of Pattern, list of Pattern, (lengths,) numpy.ndarray, (kinds,) numpy.ndarray, float)
        The patterns, the best plan met on the way, a price for each length and a rent for each kind of spool that
        together make a bound, and that bound. In steps of cost.
    """
    wanted = np.array(job.wanted, np.float64)
    stock = np.array(job.stock, np.float64)
    bound, kept = -math.inf, (np.zeros(len(wanted)), np.zeros(len(stock)))
    known = set(columns)
    while True:
        cover, kinds = matrices(job, columns)
        answer = linprog(
            costs_of(job, columns),
            A_ub=sparse.vstack([-cover, kinds], format="csc"),
            b_ub=np.concatenate([-wanted, stock]),
            method="highs",
        )
        marginals = np.asarray(answer.ineqlin.marginals)
        prices, rents = np.maximum(-marginals[: len(wanted)], 0), np.maximum(-marginals[len(wanted) :], 0)
        worths, patterns = _best_patterns(job, prices, job.wanted, job.stock)
        # prices scaled down until no pattern is worth more than its cost and rent make a bound (Farley, from memory)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = min(1.0, float(np.min(np.where(worths > rents, np.array(job.costs) / (worths - rents), 1.0))))
        reached = scale * float(prices @ wanted - rents @ stock)
        if reached > bound:
            bound, kept = reached, (scale * prices, scale * rents)
        plan = _filled(job, prices, end)
        if cost_of(job, plan) < cost_of(job, best):
            best = plan
        offered = dict.fromkeys([*enumerate(patterns), *plan])
        new = [
            (kind, counts)
            for kind, counts in offered
            if kind >= 0 and (kind, counts) not in known and _gain(job, prices, rents, (kind, counts)) > 0
        ]
        if not new or math.ceil(bound - CLOSE * max(1.0, bound)) >= cost_of(job, best) or time.monotonic() > end:
            return columns, best, *kept, bound
        columns += new
        known.update(new)


def _gain(job: CuttingJob, prices: Array, rents: Array, pattern: Pattern) -> float:
    """What a pattern is worth over its cost and rent, less what rounding may feign."""
    kind, counts = pattern
    cost = job.costs[kind]
    return float(prices @ np.array(counts) - rents[kind]) - cost - CLOSE * max(1, cost)


def _filled(job: CuttingJob, prices: Array, end: float) -> list[Pattern]:
    """A plan, one best pattern after the other from what is still wanted; when time is over the rest is not cut."""
    worth = prices + 1e-6 * np.array(job.lengths) * max(job.costs) / max(job.caps)  # longer where the price is alike
    wanted, stock = list(job.wanted), list(job.stock)
    plan: list[Pattern] = []
    while any(wanted):
        worths, patterns = _best_patterns(job, worth, wanted, stock)
        per_cost = worths / np.maximum(np.array(job.costs), 1e-9)
        kind = int(np.argmax(per_cost))
        if not any(patterns[kind]) or time.monotonic() > end:  # or no spool is left that holds any of them
            return plan + [(-1, only(job, item)) for item, count in enumerate(wanted) for _ in range(count)]
        pattern = patterns[kind]
        times = min(stock[kind], *(left // count for left, count in zip(wanted, pattern, strict=True) if count))
        plan += [(kind, pattern)] * times
        stock[kind] -= times
        wanted = [left - times * count for left, count in zip(wanted, pattern, strict=True)]
    return plan


def costs_of(job: CuttingJob, columns: Sequence[Pattern]) -> Array:
    """Cost of each pattern.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    columns : sequence of n Pattern
        A piece that is not cut costs `Job.missing_cost`.

    Returns
    -------
    (n,) numpy.ndarray
        In steps of cost.

    See Also
    --------
    wirecalc.cutting.patterns.cost_of : Of a whole plan.
    """
    return np.array([job.missing_cost if kind < 0 else job.costs[kind] for kind, _ in columns], np.float64)


def matrices(job: CuttingJob, columns: Sequence[Pattern]) -> tuple[sparse.csc_array, sparse.csc_array]:
    """The patterns as matrices of a linear program.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    columns : sequence of n Pattern
        Kind -1 belongs to no kind of spool.

    Returns
    -------
    tuple of two scipy.sparse.csc_array
        (lengths, n): how many of each length a pattern cuts. (kinds, n): 1 where a pattern is of that kind of spool.
    """
    cover = sparse.csc_array(np.array([counts for _, counts in columns], np.float64).T)
    of = np.array([kind for kind, _ in columns])
    return cover, sparse.csc_array((of == np.arange(len(job.caps))[:, None]).astype(np.float64))


def _best_patterns(
    job: CuttingJob, prices: Array, most_of: Sequence[int], stock: Sequence[int]
) -> tuple[Array, list[tuple[int, ...]]]:
    """The pattern worth most for each kind of spool: a knapsack, by dynamic programming over the length."""
    lots: list[tuple[int, int]] = []  # 1, 2, 4 ... of a length make every number up to what is wanted
    most = max(job.caps)
    for item, wanted in enumerate(most_of):
        left, lot = min(wanted, most // job.lengths[item]), 1
        while left > 0 and prices[item] > 0:
            lots.append((item, min(lot, left)))
            left, lot = left - lot, 2 * lot
    worth = np.zeros(most + 1)
    taken = np.zeros((len(lots), most + 1), np.bool_)
    for row, (item, lot) in enumerate(lots):
        size = job.lengths[item] * lot
        if size <= most:
            with_it = worth[: most + 1 - size] + prices[item] * lot
            taken[row, size:] = with_it > worth[size:] + 1e-12
            worth[size:] = np.maximum(worth[size:], with_it)
    patterns = []
    for kind, cap in enumerate(job.caps):
        counts = [0] * len(job.lengths)
        at = cap
        for row in reversed(range(len(lots) if stock[kind] else 0)):
            if taken[row, at]:
                item, lot = lots[row]
                counts[item] += lot
                at -= job.lengths[item] * lot
        patterns.append(tuple(counts))
    worths = np.array([worth[cap] if left else 0.0 for cap, left in zip(job.caps, stock, strict=True)])
    return worths, patterns
