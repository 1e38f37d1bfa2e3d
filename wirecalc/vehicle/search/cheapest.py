"""One option for each of several things at the least cost, under bounds on sums: a small integer program."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array

Array = NDArray[np.float64]

_SOME = 1e-6  # more of an option than the solver's own error
MOST_NODES = 2000  # of the search; the best found until then is taken, the same on every machine


def cheapest(
    costs: Sequence[Array],
    growths: Sequence[Array],
    room: Array,
    cuts: Sequence[Sequence[int]] = (),
    rounded: bool = False,
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

    rounded : bool
        Split each thing between options, then take the higher of what it was split into. Quick for hundreds of
        things, and dearer than the cheapest only by the rounding. For growths that fall from option to option.

    Returns
    -------
    tuple of n int or None
        Place of the option of each thing; None if nothing keeps all bounds.

    Notes
    -----
    Solved by HiGHS (`scipy.optimize.milp`); exactly, if not `rounded`, unless it takes more than `MOST_NODES`.

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
    most = np.sum([each.max(axis=1) for each in growths], axis=0)
    binding = most > room  # the others are kept by any choice
    adds, room = adds[binding], room[binding]
    scale = np.maximum(np.abs(adds).max(axis=1, initial=0.0), 1e-12)
    constraints = [
        LinearConstraint(coo_array((np.ones(len(thing)), (thing, np.arange(len(thing))))), 1, 1),
    ]
    if len(room):
        constraints.append(LinearConstraint(csr_array(adds / scale[:, np.newaxis]), -np.inf, room / scale))
    if cuts:
        higher = np.array([option > np.asarray(cut)[thing] for cut in cuts], np.float64)
        constraints.append(LinearConstraint(higher, 1, np.inf))
    answer = milp(
        cost / max(float(cost.max()), 1e-12),
        integrality=np.full(len(cost), 0 if rounded else 1, np.int8),
        bounds=Bounds(0, 1),
        constraints=constraints,
        options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None
    return tuple(int(option[(thing == at) & (answer.x > _SOME)].max()) for at in range(len(costs)))
