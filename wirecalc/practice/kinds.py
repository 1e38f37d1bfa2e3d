"""All kinds of practice problem, and sheets of them that a seed makes again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wirecalc.errors import InputError
from wirecalc.practice import bench, device, sizing, speaker, supply, wire
from wirecalc.practice.problem import MOST_SEED, Problem, ProblemKind, make_problem, whole

KINDS: dict[str, ProblemKind] = {
    kind.key: kind for group in (wire, speaker, sizing, supply, device, bench) for kind in group.KINDS
}
MOST_PROBLEMS = 60  # of a sheet


def problem(kind: str, seed: int) -> Problem:
    """The problem of a kind that belongs to a seed.

    Parameters
    ----------
    kind : str
        A key of `KINDS`.
    seed : int
        1 to 999999.

    Returns
    -------
    Problem
        The same every time.

    Raises
    ------
    InputError
        If there is no such kind, or the seed is not a whole number from 1 to 999999.

    See Also
    --------
    wirecalc.practice.problem.make_problem : Of a kind that is in no list.

    Examples
    --------
    >>> one = problem("budget", 1)
    >>> one.mark(one.shown(one.drawn.answer)).right
    True
    """
    if kind not in KINDS:
        raise InputError("Kind of problem", kind, ", ".join(KINDS))
    return make_problem(KINDS[kind], seed)


def sheet(seed: int, kinds: Sequence[str], count: int) -> tuple[Problem, ...]:
    """A sheet: the same seed, kinds and count give the same problems.

    Parameters
    ----------
    seed : int
        [1 to 999999]
    kinds : sequence of str
        Keys of `KINDS`; they take turns, in this order.
    count : int
        How many problems. [1 to 60]

    Returns
    -------
    tuple of Problem

    Raises
    ------
    InputError
        If no kind is given, or a value is out of range.
    """
    seed, count = whole(seed, "Number of the sheet", MOST_SEED), whole(count, "Number of problems", MOST_PROBLEMS)
    if not kinds:
        raise InputError("Kinds of problem", "none", "one or more", "Tick what the sheet shall ask.")
    seeds = np.random.default_rng(seed).integers(1, MOST_SEED, count, endpoint=True)
    return tuple(problem(kinds[place % len(kinds)], int(each)) for place, each in enumerate(seeds))
