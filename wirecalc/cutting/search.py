"""The best plan of whole spools, and what no plan can stay under."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from wirecalc.cutting.generate import costs_of, generate, matrices
from wirecalc.cutting.patterns import CuttingJob, Pattern, cost_of, first_fit_best, full_of_one, trimmed
from wirecalc.cutting.pieces import CLOSE

Array = NDArray[np.float64]
_SHARE = 0.6  # of the time, for patterns
_NODES, _COLUMNS = 150_000, 8_000  # where listing every pattern that could still help is given up


def best_plan(job: CuttingJob, end: float) -> tuple[list[Pattern], int]:
    """The best plan of whole spools that is found in time.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    end : float
        When to stop, by `time.monotonic`. [s]

    Returns
    -------
    tuple of (list of Pattern, int)
        A plan that cuts each piece once, and what no plan can stay under, in steps of cost.
    """
    best = first_fit_best(job)
    value = cost_of(job, best)
    if value <= (bound := _reachable(job, 0)):
        return best, bound
    columns = list(dict.fromkeys([*full_of_one(job), *best]))
    left_s = end - time.monotonic()
    columns, best, prices, rents, by_prices = generate(job, columns, best, time.monotonic() + _SHARE * left_s)
    value = cost_of(job, best)
    columns = list(dict.fromkeys([*columns, *best]))
    bound = max(bound, _reachable(job, math.ceil(by_prices - CLOSE * max(1.0, by_prices))))
    if value > bound:
        better, _ = _whole(job, columns, value - 1, end)
        if better is not None:
            best, value = better, cost_of(job, better)
    if value > bound:
        listed = could_help(job, prices, rents, value - 1 - by_prices, end)
        if listed is not None:
            columns = list(dict.fromkeys([*columns, *listed]))
            better, finished = _whole(job, columns, value - 1, end)
            if better is not None:
                best, value = better, cost_of(job, better)
            if finished:
                bound = value
    if len(job.caps) > 1:
        fewer, _ = _whole(job, list(dict.fromkeys([*columns, *best])), value, end, count=True)
        best = fewer if fewer is not None and len(fewer) < len(best) else best
    return best, min(bound, value)


def _reachable(job: CuttingJob, least: int) -> int:
    """The lowest cost, at or over `least`, of whole spools that together hold the metres."""
    metres = sum(length * count for length, count in zip(job.lengths, job.wanted, strict=True))
    answer = milp(
        job.costs,
        integrality=np.ones(len(job.caps), np.intp),
        bounds=Bounds(0, np.array(job.stock)),
        constraints=LinearConstraint(np.array([job.caps, job.costs], np.float64), np.array([metres, least]), np.inf),
        options={"mip_rel_gap": 0.0},
    )
    return least if answer.x is None else max(least, round(answer.fun))


def could_help(job: CuttingJob, prices: Array, rents: Array, slack: float, end: float) -> list[Pattern] | None:
    """Every full pattern that a better plan could use.

    Parameters
    ----------
    job : CuttingJob
        Lengths and spools in whole units.
    prices, rents : (lengths,) and (kinds,) numpy.ndarray
        What a length is worth and what a kind of spool costs beside its price: from `generate`.
    slack : float
        The most by which a pattern may cost more than it is worth; one over that is in no better plan.
    end : float
        When to stop, by `time.monotonic`. [s]

    Returns
    -------
    list of Pattern or None
        None if there are too many or the time is over.
    """
    if slack < 0:
        return []
    lengths, wanted = job.lengths, job.wanted
    order = sorted(range(len(lengths)), key=lambda item: -prices[item] / lengths[item])
    density = [prices[item] / lengths[item] for item in order] + [0.0]
    patterns: list[Pattern] = []
    nodes = 0
    for kind, cap in enumerate(job.caps):
        needed = job.costs[kind] + rents[kind] - slack - CLOSE * max(1, job.costs[kind])
        start: tuple[int, int, float, tuple[tuple[int, int], ...]] = (0, cap, 0.0, ())
        stack = [start] if job.stock[kind] else []
        while stack:
            place, room, worth, taken = stack.pop()
            nodes += 1
            if nodes > _NODES or len(patterns) > _COLUMNS or time.monotonic() > end:
                return None
            if worth + room * density[place] < needed:
                continue
            if place == len(order):
                by_item = dict(taken)
                pattern = tuple(by_item.get(item, 0) for item in range(len(order)))
                full = all(length > room or a == w for length, a, w in zip(lengths, pattern, wanted, strict=True))
                if full:
                    patterns.append((kind, pattern))
                continue
            item = order[place]
            stack.append((place + 1, room, worth, taken))
            for count in range(1, min(wanted[item], room // lengths[item]) + 1):
                with_it = (*taken, (item, count))
                stack.append((place + 1, room - count * lengths[item], worth + count * prices[item], with_it))
    return patterns


def _whole(
    job: CuttingJob, columns: Sequence[Pattern], most: int, end: float, *, count: bool = False
) -> tuple[list[Pattern] | None, bool]:
    """The cheapest plan (or that of the fewest spools) of these patterns up to a cost, and whether it is settled."""
    left_s = end - time.monotonic()
    if left_s <= 0:
        return None, False
    cover, kinds = matrices(job, columns)
    costs = costs_of(job, columns)
    answer = milp(
        np.ones(len(columns)) if count else costs,
        integrality=np.ones(len(columns), np.intp),
        bounds=Bounds(0, np.inf),
        constraints=[
            LinearConstraint(cover, np.array(job.wanted, np.float64), np.inf),
            LinearConstraint(kinds, -np.inf, np.array(job.stock, np.float64)),
            LinearConstraint(costs[None, :], -np.inf, most + 0.5),
        ],
        options={"time_limit": left_s, "mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None, answer.status == 2  # infeasible, not out of time
    times = np.round(answer.x).astype(int)
    plan = [column for column, n in zip(columns, times, strict=True) for _ in range(n)]
    return trimmed(job, plan), answer.status == 0
