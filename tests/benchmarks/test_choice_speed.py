"""Choosing sizes and fuses together takes hardly longer than in turns alone."""

from __future__ import annotations

from statistics import median
from time import process_time

import pytest

from tests.support.plans import SIZES, random_plan
from wirecalc.vehicle.search import sizes
from wirecalc.vehicle.search.task import task_of


def test_larger_fuses_are_tried_in_a_quarter_more_time(monkeypatch: pytest.MonkeyPatch) -> None:
    plans = [random_plan(seed) for seed in range(12)]
    tasks = [task_of(plan, {wire.name: SIZES.options(plan, wire) for wire in plan.wires if wire.size == "choose"})
             for plan in plans]  # fmt: skip

    def spent_s(most: int) -> float:
        monkeypatch.setattr(sizes, "MOST_RAISED", most)
        start = process_time()
        for task in tasks:
            sizes.search(task, lambda share, what: None)
        return process_time() - start

    ratios = [spent_s(8) / spent_s(0) for _ in range(5)]
    print(f"\njoint over in turns: {median(ratios):.2f}")
    assert median(ratios) <= 1.25
