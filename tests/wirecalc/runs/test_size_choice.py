"""A size for one run: the candidates' measures are those of the run, and the share of a limit says what breaks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc import runs
from wirecalc.circuits import supply
from wirecalc.errors import InputError
from wirecalc.runs.size_choice import choose_size
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS

GAUGES = [awg(number) for number in (4, 8, 12, 16, 20)]
FEED = runs.FeedRun(rated_w=500.0, amplifier_class=supply.CLASSES["D"], supply_v=14.4)
PLACE = runs.Place(insulation=INSULATIONS["pvc_105"], ambient_c=45.0, loaded=1)
LAID = runs.Installation(length_m=5.0, ways=1)


@given(st.floats(1.0, 12.0), st.sampled_from([(1,), (1, 2), (2,)]))
def test_measures_are_the_runs_and_shares_say_what_breaks(length_m: float, parallel: tuple[int, ...]) -> None:
    laid = replace(LAID, length_m=length_m)
    found = choose_size(FEED, laid, PLACE, GAUGES, FEED.limits(), parallel)
    assert len(found.candidates) == len(GAUGES) * len(parallel)
    assert [one.area_m2 for one in found.candidates] == sorted(one.area_m2 for one in found.candidates)
    for place, one in enumerate(found.candidates):
        own = replace(laid, parallel=one.parallel)
        alone = runs.with_heat(runs.measured(FEED, [one.conductor], own), [one.conductor], own, PLACE)
        for name, value in alone.items():
            np.testing.assert_allclose(found.measures[name][place], value[0], rtol=1e-12)
    away = np.abs(found.used - 1) > 1e-9
    assert np.array_equal((found.used <= 1)[away], found.verdict.meets[away])


def test_the_room_for_a_fuse_is_a_share_of_what_the_wire_may_carry() -> None:
    found = choose_size(FEED, LAID, PLACE, GAUGES, FEED.limits())
    row = next(i for i, limit in enumerate(found.verdict.limits) if limit.measure == "fuse_headroom_a")
    needed_a = found.measures["allowable_a"] - found.measures["fuse_headroom_a"]
    known = np.isfinite(needed_a)
    assert known.any()
    np.testing.assert_allclose(found.used[row][known], (needed_a / found.measures["allowable_a"])[known])


def test_a_wire_is_found_among_the_candidates_or_not() -> None:
    found = choose_size(FEED, LAID, PLACE, GAUGES, FEED.limits(), (1, 2))
    place = found.place_of(awg(8), 2)
    assert place is not None
    assert found.verdict.labels[place] == "2 × 8 AWG"
    assert found.place_of(awg(6)) is None
    with pytest.raises(InputError, match="Choice"):
        choose_size(FEED, LAID, PLACE, [], FEED.limits())
