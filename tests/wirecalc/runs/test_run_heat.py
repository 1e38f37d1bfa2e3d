"""A run's heat, fuse and short circuit: one call gives what the single computations give, and bad input is said."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wirecalc import runs
from wirecalc.circuits import supply
from wirecalc.circuits.battery import source_ohm
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.runs.run_heat import MELT_S, TIMES, run_heat, warm_up
from wirecalc.runs.short import short
from wirecalc.wire import ampacity, fuse, heat, melting
from wirecalc.wire.conductor import METALS, awg, conductor
from wirecalc.wire.insulation import INSULATIONS, insulated

FEED = runs.FeedRun(rated_w=400.0, amplifier_class=supply.CLASSES["D"], supply_v=13.5)
PLACE = runs.Place(insulation=INSULATIONS["pvc_105"], ambient_c=45.0, loaded=3)
LAID = runs.Installation(length_m=5.0, ways=1, joints_ohm=2e-3)
SIZES = (awg(6), awg(2), conductor("AWG", 6.0, METALS["cca_10"]))


def test_one_call_gives_what_the_single_ones_do() -> None:
    heating = run_heat(FEED, SIZES, LAID, PLACE)
    wires = insulated(SIZES, PLACE.insulation)
    allowed = ampacity.allowable(wires, 45.0, 3)
    np.testing.assert_allclose(heating.allowed.current_a, allowed.current_a)
    draw_a = runs.measured(FEED, SIZES, LAID)["draw_a"]
    np.testing.assert_array_equal(heating.fuse_a, fuse.fuse_a(draw_a, allowed.current_a))
    assert heating.choice is not None
    assert heating.choice.rating_a == heating.fuse_a[0]
    assert heating.short == short(
        13.5, SIZES[0], LAID, PLACE, float(heating.fuse_a[0]), source_ohm=source_ohm("battery", 13.5)
    )
    assert np.isnan(heating.melts_soon_a).tolist() == [False, False, True]  # the constants are copper's
    solid_m = math.sqrt(4 * SIZES[0].area_m2 / math.pi)
    assert heating.melts_at_last_a[0] == pytest.approx(float(melting.preece_a(solid_m)))
    assert heating.melts_soon_a[0] == pytest.approx(float(melting.onderdonk_a(SIZES[0].area_m2, MELT_S, 45.0)))


def test_the_warm_up_starts_in_the_air_and_has_63_of_100_of_its_rise_after_a_time_constant() -> None:
    current_a = 40.0
    warming = warm_up(SIZES[0], current_a, PLACE)
    steady_c = float(heat.temperature_c(insulated(SIZES[:1], PLACE.insulation), current_a, 45.0, 3)[0])
    assert len(warming.time_s) == len(warming.hot_c) == TIMES
    assert warming.hot_c[0] == pytest.approx(45.0)
    assert (warming.at_constant_c - 45) / (steady_c - 45) == pytest.approx(
        1 - math.exp(-1), abs=0.04
    )  # copper warms: slower at first
    assert warming.settled_s == pytest.approx(5 * warming.time_constant_s)
    assert warming.passes_s(steady_c + 1) is None
    passes_s = warming.passes_s(46.0)
    assert passes_s is not None
    assert 0 < passes_s < warming.settled_s


def test_a_current_that_is_not_known_has_no_warm_up_and_a_wire_too_thin_no_fuse() -> None:
    weak = run_heat(FEED, [awg(26)], runs.Installation(length_m=60.0, ways=2), PLACE)
    assert weak.choice is not None
    assert weak.choice.rating_a is None
    assert weak.short is None
    assert np.isnan(weak.fuse_a).all()
    assert np.isnan(weak.warm_up.hot_c).all()
    assert math.isnan(weak.warm_up.at_constant_c)


def test_a_run_without_a_draw_has_no_fuse() -> None:
    speaker = runs.SpeakerRun(amplifier=Amplifier(power_w=100.0, rated_ohm=4.0), load_ohm=4.0)
    heating = run_heat(speaker, SIZES, LAID, PLACE)
    assert heating.choice is None
    assert heating.short is None
    assert np.isnan(heating.fuse_a).all()
    assert np.isfinite(heating.warm_up.hot_c).all()


def test_a_run_beyond_all_balance_ends_at_the_end_of_the_model() -> None:
    warming = warm_up(awg(20), 60.0, PLACE)
    assert math.isinf(warming.time_constant_s)
    assert warming.passes_s(105.0) is not None


def test_what_cannot_be_reckoned_is_said() -> None:
    line = runs.LineRun(source_ohm=200.0, input_ohm=10e3, farad_per_m=100e-12)
    with pytest.raises(InputError, match="heats its wire"):
        run_heat(line, SIZES, LAID, PLACE)
    with pytest.raises(InputError, match="Conductors"):
        run_heat(FEED, [], LAID, PLACE)
