"""A cutting list of a job's size, against the plain model of the textbooks by the same solver."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from wirecalc.cutting.cut import cut
from wirecalc.cutting.pieces import Piece, Spool

SPOOL = 10.0


def plain_proves(lengths: list[float], spools: int, seconds: float) -> bool:
    """Whether Kantorovich's model (a 0 or 1 for each piece and spool; 1939, from memory) gets to its end in time."""
    pieces = len(lengths)
    unknowns = pieces * spools + spools
    once = sparse.hstack([sparse.kron(sparse.eye_array(pieces), np.ones((1, spools))), np.zeros((pieces, spools))])
    held = sparse.hstack(
        [sparse.kron(np.array([lengths]), sparse.eye_array(spools)), -SPOOL * sparse.eye_array(spools)]
    )
    answer = milp(
        np.append(np.zeros(pieces * spools), np.ones(spools)),
        integrality=np.ones(unknowns, np.intp),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once.tocsc(), 1, 1), LinearConstraint(held.tocsc(), -np.inf, 0)],
        options={"time_limit": seconds},
    )
    return answer.status == 0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_60_pieces_before_the_plain_model_gets_there(seed: int) -> None:
    generator = np.random.default_rng(seed)
    lengths = np.round(generator.uniform(2, 5, 60), 2).tolist()
    start = time.perf_counter()
    plan = cut([Piece(length_m=length) for length in lengths], [Spool(length_m=SPOOL)])
    took_s = time.perf_counter() - start
    print(f"60 pieces of 2 to 5 m: {len(plan.spools)} spools, proven, in {took_s:.2f} s")
    assert plan.proven
    assert not plain_proves(lengths, len(plan.spools) + 1, 5 * took_s)
