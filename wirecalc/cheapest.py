"""One option for each of several things at the least cost, under bounds on sums: a small integer program."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

Array = NDArray[np.float64]

MOST_SECONDS = 10.0  # the best found until then is taken


def cheapest(
    costs: Sequence[Array], growths: Sequence[Array], room: Array, cuts: Sequence[Sequence[int]] = ()
) -> tuple[int, ...] | None:
    """The cheapest options that keep all bounds.

    Parameters
    ----------
    costs : sequence of n (k,) arrays
        Of each option of each thing; the number of options may differ.
    growths : sequence of n (r, k) arrays
        What each option adds to each of r sums.
    room : (r,) array
        What each sum may be at most.
    cuts : sequence of n int
        Choices that are known to fail, and all with options no higher than theirs fail too.

    Returns
    -------
    tuple of n int or None
        Place of the option of each thing; None if nothing keeps all bounds.

    Notes
    -----
    Solved exactly by HiGHS (`scipy.optimize.milp`), unless it takes longer than `MOST_SECONDS`.

    Examples
    --------
    >>> cheapest([np.array([1.0, 5.0]), np.array([1.0, 2.0])], [np.array([[4.0, 1.0]]), np.array([[4.0, 1.0]])],
    ...          np.array([5.0]))
    (0, 1)
    """
    count = [len(each) for each in costs]
    thing = np.repeat(np.arange(len(costs)), count)
    option = np.concatenate([np.arange(each) for each in count])
    cost = np.concatenate(costs)
    adds = np.concatenate(growths, axis=1)
    scale = np.maximum(np.abs(adds).max(axis=1, initial=0.0), 1e-12)
    constraints = [
        LinearConstraint(coo_array((np.ones(len(thing)), (thing, np.arange(len(thing))))), 1, 1),
        LinearConstraint(adds / scale[:, np.newaxis], -np.inf, room / scale),
    ]
    if cuts:
        higher = np.array([option > np.asarray(cut)[thing] for cut in cuts], np.float64)
        constraints.append(LinearConstraint(higher, 1, np.inf))
    answer = milp(
        cost / max(float(cost.max()), 1e-12),
        integrality=np.ones(len(cost), np.int8),
        bounds=Bounds(0, 1),
        constraints=constraints,
        options={"time_limit": MOST_SECONDS, "mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None
    return tuple(int(option[thing == at][np.argmax(answer.x[thing == at])]) for at in range(len(costs)))
