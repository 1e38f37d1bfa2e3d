"""By how much a limit is broken, and where its bound and a bridged pair's ratings come from."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.drawn_runs import KINDS, LAID, PLACES, WIRES, check
from wirecalc import runs
from wirecalc.runs.choose import LIMITS, judge
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.choice import beyond, bound
from wirecalc.workings.rating import TWICE, twice


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@settings(max_examples=15, deadline=None)
@given(data=st.data(), wire=WIRES, laid=LAID, place=PLACES)
def test_any_value_against_its_limit(
    kind: type, data: st.DataObject, wire: Conductor, laid: runs.Installation, place: runs.Place
) -> None:
    run: Any = data.draw(KINDS[kind])
    ohm = runs.wire_ohm([wire], laid)
    plain = {name: np.broadcast_to(value, (1,)) for name, value in run.measures(ohm, laid.length_m).items()}
    measures = runs.with_heat(plain, [wire], laid, place)
    verdict = judge(["this"], measures, LIMITS[run.kind])
    for limit, over_by in zip(verdict.limits, verdict.over_by[:, 0], strict=True):
        if np.isfinite(over_by):
            scale = 100 if limit.measure == "drop_fraction" else 1
            found = beyond(limit, run, wire, laid, place)
            assert found.value == pytest.approx(scale * over_by, rel=1e-6, abs=1e-6)
            check(found, found.value)


def test_a_bound_is_the_tables_or_entered() -> None:
    usual = LIMITS["relay"][0]
    found = bound(usual, "relay")
    put = found.steps[-1].inputs[0]
    assert (found.value, found.unit, put.origin, put.confidence) == (3, "%", usual.source, usual.confidence)
    assert usual.reason in put.name
    entered = bound(replace(usual, bound=0.05), "relay")
    assert (entered.value, entered.steps[-1].inputs[0].origin) == (5, "entered")


@pytest.mark.parametrize("what", TWICE)
def test_a_bridged_rating_is_twice_that_of_one_channel(what: str) -> None:
    found = twice(what, 8.0)
    check(found, 8.0)
    assert found.steps[-1].filled == "2 × 4"
    assert found.steps[-1].inputs[0].origin == "entered"
