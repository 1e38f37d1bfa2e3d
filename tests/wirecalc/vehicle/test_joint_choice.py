"""Sizes and fuses chosen together, against trying every size with every fuse."""

from __future__ import annotations

import numpy as np
import pytest

from tests import DEEP
from tests.support.plans import SIZES, cheapest_of_all, random_plan, stands
from wirecalc.vehicle.search import sizes
from wirecalc.vehicle.search.sizes import search
from wirecalc.vehicle.search.task import Task, task_of

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

KNOWN = (15, 36, 41)  # where a larger fuse before others saves a wire: 9.5 %, 24 % and 1.4 % without


def task(seed: int) -> Task:
    whole = random_plan(seed)
    return task_of(whole, {wire.name: SIZES.options(whole, wire) for wire in whole.wires if wire.size == "choose"})


def silent(share: float, what: str) -> None:
    """Tell nobody."""


def dearer(seed: int) -> float:
    own = task(seed)
    best = search(own, silent)
    assert best.kept, seed
    assert stands(own.warmed(sizes.round_of(own, best.fuses_a).solved(best.row)), best.row, dict(best.fuses_a)), seed
    return best.cost / cheapest_of_all(own, best)[0] - 1


def test_it_costs_hardly_more_than_the_cheapest_of_all() -> None:
    """1 % on average and 5 % at worst, on 60 random plans of three and four open wires; the deep run tries all."""
    seeds = dict.fromkeys((*KNOWN, *range(60 if DEEP else 4)))
    over = np.array([dearer(seed) for seed in seeds])
    print(f"{len(over)} plans: mean {100 * over.mean():.2f} %, worst {100 * over.max():.2f} %")
    assert over.mean() <= 0.01
    assert over.max() <= 0.05


def test_without_larger_fuses_it_would_cost_more(monkeypatch: pytest.MonkeyPatch) -> None:
    joint = search(task(36), silent).cost
    monkeypatch.setattr(sizes, "MOST_RAISED", 0)
    assert search(task(36), silent).cost > 1.2 * joint
