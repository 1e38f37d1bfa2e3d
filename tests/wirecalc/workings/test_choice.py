"""Where the bound of a limit and a bridged pair's ratings come from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.drawn_runs import check
from wirecalc.runs.choose import LIMITS
from wirecalc.workings.choice import bound
from wirecalc.workings.rating import TWICE, twice


def test_a_bound_is_the_tables_or_entered() -> None:
    usual = LIMITS["relay"][0]
    working = bound(usual, "relay")
    put = working.steps[-1].inputs[0]
    assert (working.value, working.unit, put.origin, put.confidence) == (3, "%", usual.source, usual.confidence)
    assert usual.reason in put.name
    entered = bound(replace(usual, bound=0.05), "relay")
    assert (entered.value, entered.steps[-1].inputs[0].origin) == (5, "entered")


@pytest.mark.parametrize("what", TWICE)
def test_a_bridged_rating_is_twice_that_of_one_channel(what: str) -> None:
    working = twice(what, 8.0)
    check(working, 8.0)
    assert working.steps[-1].filled == "2 × 4"
    assert working.steps[-1].inputs[0].origin == "entered"
