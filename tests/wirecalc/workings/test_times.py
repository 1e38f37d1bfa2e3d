"""The shown working of a warm-up or a short circuit, put back into arithmetic, is what wirecalc computed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.drawn_runs import CABIN, FEED, LAID_5M, PLACES, SPEAKER, TONE, WIRES, check, numbers
from wirecalc import runs
from wirecalc.circuits.battery import source_ohm
from wirecalc.errors import InputError
from wirecalc.runs.short import STRONGEST_A, Short, hot, short
from wirecalc.wire import fuse, heat
from wirecalc.wire.conductor import Conductor, awg
from wirecalc.wire.insulation import METAL_SOURCE, insulated
from wirecalc.workings.times import in_a_short, warming

FIELDS = ("fault_a", "clearing_s", "lasts_s", "steady_c")


@settings(max_examples=tried(20), deadline=None)
@given(wire=WIRES, place=PLACES, length_m=numbers(0.1, 60), parallel=st.integers(1, 3), rated_w=numbers(1, 3000))
def test_any_short(wire: Conductor, place: runs.Place, length_m: float, parallel: int, rated_w: float) -> None:
    run, laid = replace(FEED, rated_w=rated_w), runs.Installation(length_m=length_m, parallel=parallel)
    draw_a = float(run.measures(runs.wire_ohm([wire], laid), length_m)["draw_a"][0])
    rating_a = fuse.choose_fuse(draw_a / parallel, 1.0).wire_must_allow_a
    if math.isinf(rating_a):
        return
    source = source_ohm(run.starts_at, run.supply_v)
    want = short(run.supply_v, wire, laid, place, rating_a, source_ohm=source)
    ohm = float(runs.wire_ohm([wire], hot(laid, place))[0])
    assert want.fault_a == pytest.approx(run.supply_v / (source + ohm) / parallel)
    for field in FIELDS:
        value = getattr(want, field)
        if field == "fault_a":
            value = min(value, STRONGEST_A)
        if math.isfinite(value):  # else no number is said
            working = in_a_short(field, run, wire, laid, place, supply_v=run.supply_v)
            assert working.value == pytest.approx(value, rel=1e-9)
            check(working, working.value)


def test_a_short_of_a_fuse_that_need_not_open_says_so() -> None:
    laid = runs.Installation(length_m=60)
    working = in_a_short("clearing_s", FEED, awg(18), laid, CABIN, supply_v=14.4)
    assert math.isinf(working.value)
    assert "need not" in working.title
    with pytest.raises(InputError, match="Number"):
        in_a_short("nonsense", FEED, awg(16), LAID_5M, CABIN, supply_v=14.4)
    assert set(FIELDS) < set(Short.__dataclass_fields__)


@settings(max_examples=tried(20), deadline=None)
@given(wire=WIRES, place=PLACES, share=numbers(0.01, 1))
def test_any_time_constant(wire: Conductor, place: runs.Place, share: float) -> None:
    run = replace(SPEAKER, music_share=share)
    current_a = run.measures(runs.wire_ohm([wire], LAID_5M), 5.0)["heat_a"]
    want = float(heat.time_constant_s(insulated([wire], place.insulation), current_a, place.ambient_c,
                                      place.loaded)[0])  # fmt: skip
    if math.isinf(want):
        return
    for what, value in (("time_constant_s", want), ("settled_s", 5 * want)):
        working = warming(what, run, wire, LAID_5M, place, step_s=1.0, feet=True)
        assert working.value == pytest.approx(value, rel=1e-9)
        check(working, working.value)


def test_when_the_limit_is_passed() -> None:
    for reached_c, steps in (((45.0, 70.0, 90.0), 2), ((45.0, np.inf), 1), ((90.0, 95.0), 0)):
        working = warming("passes_s", TONE, awg(20), LAID_5M, CABIN, step_s=7.5, reached_c=reached_c)
        check(working, steps * 7.5)
        name = next(entry.name for step in working.steps for entry in step.inputs if entry.symbol == "j")
        assert ("before the last" in name) == (steps > 0)
        assert ("the model's end" in name) == (steps == 1)


def test_where_heat_capacities_are_from() -> None:
    working = warming("time_constant_s", SPEAKER, awg(16), LAID_5M, CABIN, step_s=1.0)
    put = {entry.symbol: entry for step in working.steps for entry in step.inputs}
    assert put["cm"].value == "3450000 J/(m³ K)"
    assert (put["cm"].origin, put["cm"].confidence) == (METAL_SOURCE, "memory")
    assert put["ci"].origin == CABIN.insulation.source
