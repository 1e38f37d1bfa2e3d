"""Runs over frequency in one call: the numbers are those of the single computations."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc import runs
from wirecalc.circuits import line_level, response, speaker_load
from wirecalc.circuits.loudspeaker import LOWEST_OF_RATED
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.runs.over_frequency import PairMake, SupplyBeside, line_response, speaker_response
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.pair import DIELECTRICS

SIZES = (awg(16), awg(20), awg(12))
LAID = runs.Installation(length_m=5.0, temperature_c=40.0, joints_ohm=0.01)
MAKE = PairMake(coat=INSULATIONS["pvc_80"], dielectric=DIELECTRICS["pvc"])
RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=100.0, rated_ohm=4.0), load_ohm=4.0)


def test_a_speaker_run_is_levels_of_its_pairs() -> None:
    load = speaker_load.demo_driver("Demo 165 mm door woofer")
    curves = speaker_response(RUN, SIZES, LAID, load, MAKE)
    walls_m = [pair.insulation_m for pair in curves.pairs]
    np.testing.assert_allclose(walls_m, insulated(SIZES, INSULATIONS["pvc_80"]).wall_m)
    options = {"temperature_c": 40.0, "joints_ohm": 0.01}
    level_db = response.level_db(RUN.amplifier, load.load, curves.pairs, 5.0, curves.hz, **options)
    np.testing.assert_array_equal(curves.level_db, level_db)
    hz, own_db = curves.in_band(0)
    assert (hz[0], hz[-1]) == (20.0, 20e3)
    assert np.abs(own_db).max() == abs(curves.furthest[1])
    assert curves.furthest[0] in hz
    assert (curves.wired_qts > curves.q[1]).all()  # type: ignore[index]
    assert curves.wired_qts[1] > curves.wired_qts[0] > curves.wired_qts[2]  # thinner is looser
    assert curves.expects_ohm == pytest.approx(LOWEST_OF_RATED * 4.0)


def test_a_load_too_low_for_the_amplifier() -> None:
    low, fine = (speaker_response(RUN, SIZES, LAID, speaker_load.plain_load(ohm), MAKE) for ohm in (2.0, 4.0))
    assert low.too_low
    assert low.dips
    assert not fine.too_low
    assert not fine.dips
    assert fine.q is None
    assert np.isnan(fine.wired_qts).all()
    with pytest.raises(InputError, match="Conductors"):
        speaker_response(RUN, (), LAID, speaker_load.plain_load(4.0), MAKE)


def test_a_line_is_its_low_pass_and_its_pickup() -> None:
    run = runs.LineRun(source_ohm=1000.0, input_ohm=10e3, farad_per_m=1e-9)
    beside = SupplyBeside(ripple_a=5.0, ripple_hz=1e3, along_m=4.0, distance_m=2.0, spacing_m=2.5e-3, pitch_m=25e-3)
    curves = line_response(run, SIZES, LAID, beside)
    top = line_level.low_pass(1000.0 + runs.wire_ohm(SIZES, LAID), 10e3, 1e-9, 5.0)
    np.testing.assert_array_equal(curves.top.level_db, top.level_db)
    assert curves.furthest == (20e3, top.level_db[0])
    assert curves.distance_m.max() == curves.distance_m[-1] == 2.0  # its own is looked at, however far
    assert (np.diff(curves.pickup.parallel_v[:-1]) < 0).all()
    assert line_level.under_one_volt_db(1e-3) == pytest.approx(60.0)
