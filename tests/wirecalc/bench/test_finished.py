"""A finished run at the ohmmeter: the expected band, what a wrong reading is like, and what to touch."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.bench.finished import PER_SIZE, FinishedRun, Like, expected, inputs, judge_reading
from wirecalc.bench.meter import Meter
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS, awg, metric
from wirecalc.workings import finished

FINE = Meter(share=0.005, counts=2, count_ohm=0.1e-3)
HANDHELD = Meter(share=0.008, counts=2, count_ohm=0.1)  # last digit of a common meter's lowest range


def a_run(**other: Any) -> FinishedRun:
    given: dict[str, Any] = {"conductor": awg(16), "length_m": 5.5, "joints_ohm": 0.004, "leads_ohm": 0.1}
    return FinishedRun(**given | other)


def likes(run: FinishedRun, reading_ohm: float) -> dict[str, Like]:
    return {like.cause: like for like in judge_reading(expected(run, FINE), reading_ohm).likes}


@pytest.mark.parametrize(
    ("run", "ohm", "tolerance", "source"),
    [
        # IEC 60228:2004 class 5: 7.98 ohm/km of 2.5 mm2 and 26.0 of 0.75, at 20 degC; read
        (FinishedRun(conductor=metric(2.5), length_m=5.0), 0.0798, 1e-9, "IEC 60228"),
        (FinishedRun(conductor=metric(0.75), length_m=3.0, parallel=2), 0.0780, 1e-9, "IEC 60228"),
        # 12 AWG solid: 5.211 ohm/km at 20 degC, NBS Handbook 100; from memory. Stranded: 2 % more
        (FinishedRun(conductor=awg(12), length_m=10.0), 0.02 * 5.211 * 1.02, 2e-5, "NBS Handbook 100"),
        # copper rises by 0.393 % a kelvin from 20 degC: IEC 60028
        (FinishedRun(conductor=metric(2.5), length_m=5.0, temperature_c=30.0), 0.0798 * 1.0393, 1e-9, "IEC 60028"),
        (FinishedRun(conductor=metric(2.5), length_m=5.0, joints_ohm=0.01, leads_ohm=0.2), 0.2898, 1e-9, "a sum"),
    ],
)
def test_expected_reading(run: FinishedRun, ohm: float, tolerance: float, source: str) -> None:
    assert expected(run, FINE).ohm == pytest.approx(ohm, abs=tolerance), source


@pytest.mark.parametrize("run", [a_run(), a_run(joints_ohm=0.0, leads_ohm=0.0, temperature_c=45.0), a_run(parallel=2)])
@pytest.mark.parametrize("meter", [FINE, HANDHELD])
def test_the_band_holds_95_percent_of_good_runs(run: FinishedRun, meter: Meter) -> None:
    """Against draws of every input at once, which know no first order."""
    generator = np.random.default_rng(1)
    drawn = {name: spread.quantile(generator.random(40_000)) for name, spread in inputs(run, meter).items()}
    read, band = np.maximum(run.loop(**drawn), 0.0), expected(run, meter)  # no meter shows less than 0
    inside = np.mean((read >= band.low_ohm) & (read <= band.high_ohm))
    assert inside >= 0.94
    if meter is FINE:  # one flat spread alone, as a coarse meter's, ends inside of two deviations
        assert inside <= 0.975


def test_a_coarse_meter_is_said_to_be_one() -> None:
    fine, coarse = expected(a_run(), FINE), expected(a_run(), HANDHELD)
    assert (fine.coarse, coarse.coarse) == (False, True)
    assert next(iter(coarse.shares)) in ("meter_ohm", "leads_ohm")
    assert "cannot tell" in judge_reading(coarse, coarse.ohm).in_words()
    assert "cannot tell" not in judge_reading(fine, fine.ohm).in_words()


@given(st.integers(4, 22), st.floats(1.0, 15.0), st.floats(0.0, 0.05), st.floats(0.0, 0.5), st.floats(0.0, 3.0))
def test_outcome_follows_the_band(gauge: int, length_m: float, joints: float, leads: float, times: float) -> None:
    band = expected(a_run(conductor=awg(gauge), length_m=length_m, joints_ohm=joints, leads_ohm=leads), FINE)
    reading = band.ohm * times
    verdict = judge_reading(band, reading)
    assert band.low_ohm < band.high_ohm
    assert sum(band.shares.values()) == pytest.approx(1)
    assert (verdict.outcome == "in band") == (band.low_ohm <= reading <= band.high_ohm)
    assert (verdict.outcome == "high") == (reading > band.high_ohm)
    assert (verdict.outcome in ("low", "under leads")) == (reading < band.low_ohm)
    assert bool(verdict.likes) == (verdict.outcome in ("high", "low"))
    assert [like.share for like in verdict.likes] == sorted((like.share for like in verdict.likes), reverse=True)
    assert verdict.in_words()


# --- faults that were put in are found -----------------------------------------------------------------------


@given(st.floats(0.02, 0.4))
def test_a_bad_joint_is_told_in_ohm(extra_ohm: float) -> None:
    run = a_run()
    by_cause = likes(run, float(run.loop(joints_ohm=run.joints_ohm + extra_ohm)))
    assert by_cause["joint"].value == pytest.approx(extra_ohm)


@pytest.mark.parametrize("sizes", [1, 2, 3, 4])
def test_thinner_and_thicker_wire_is_told_in_sizes(sizes: int) -> None:
    run = a_run()
    thin, thick = (float(a_run(conductor=awg(16 + sign * sizes)).loop()) for sign in (1, -1))
    like = likes(run, thin)["thinner"]
    assert like.value == pytest.approx(sizes)
    assert f"{16 + sizes} AWG" in like.words
    like = likes(run, thick)["thicker"]
    assert like.value == pytest.approx(sizes)
    assert f"{16 - sizes} AWG" in like.words


def test_metric_wire_is_named_by_its_own_table() -> None:
    run = a_run(conductor=metric(1.5))
    assert "1 mm²" in likes(run, float(a_run(conductor=metric(1.0)).loop()))["thinner"].words
    assert "2.5 mm²" in likes(run, float(a_run(conductor=metric(2.5)).loop()))["thicker"].words


def test_a_gauge_size_is_26_percent_of_area() -> None:
    assert abs(PER_SIZE - 1.26) < 0.001  # ASTM B258: 92^(2/39); from memory


@given(st.floats(6.5, 10.5))
def test_a_longer_run_is_told_in_metres(length_m: float) -> None:
    run = a_run()
    assert likes(run, float(run.loop(length_m=length_m)))["longer"].value == pytest.approx(length_m)


@given(st.floats(0.3, 4.8), st.booleans())
def test_an_early_short_is_found_within_what_is_said(at_m: float, joint_before: bool) -> None:
    run = a_run()
    by_cause = likes(run, float(run.loop(length_m=at_m, joints_ohm=0.004 if joint_before else 0.0)))
    shorted = by_cause["shorted"]
    first, last = (float(word) for word in shorted.words.partition("look from ")[2].removesuffix(" m).").split(" to "))
    assert first - 0.051 <= at_m <= last + 0.051  # printed to a tenth
    assert shorted.value == pytest.approx(at_m, abs=0.15)
    if joint_before and at_m > 2.8:  # under half of what was planned is a short
        assert by_cause["shorter"].value == pytest.approx(at_m)


def test_a_short_at_the_meter_lies_at_0_m() -> None:
    by_cause = likes(a_run(), 0.1)
    assert by_cause["shorted"].value == pytest.approx(0, abs=0.1)
    assert "thicker" not in by_cause


@pytest.mark.parametrize("key", ["cca_10", "cca_15", "aluminium"])
def test_another_metal_of_the_right_size(key: str) -> None:
    run = a_run()
    reading = float(a_run(conductor=awg(16, METALS[key])).loop())
    words = [like.words for like in judge_reading(expected(run, FINE), reading).likes if like.cause == "metal"]
    assert any(METALS[key].name in text for text in words)
    assert "metal" not in likes(run, float(run.loop()) * 1.2)


@pytest.mark.parametrize(("count", "off", "times"), [(2, 1, 1.5), (2, 2, 2.0), (3, 1, 1.25), (3, 2, 1.5)])
def test_one_of_several_side_by_side_is_off(count: int, off: int, times: float) -> None:
    # by hand: one way of n in parallel has R/n, with one off R/(n - 1)
    run = a_run(parallel=count)
    reading = run.wire_ohm * times + run.joints_ohm + run.leads_ohm
    assert likes(run, reading)["parallel"].value == off
    assert "parallel" not in likes(a_run(), a_run().wire_ohm * 2 + 0.104)


def test_a_loudspeaker_left_in_the_loop_comes_first() -> None:
    run = a_run()
    verdict = judge_reading(expected(run, FINE), float(run.loop()) + 3.4)
    assert verdict.likes[0].cause == "speaker"
    assert verdict.likes[0].value == pytest.approx(3.4)
    assert "3.4 Ω" in verdict.likes[0].words


def test_no_path_and_less_than_the_leads() -> None:
    band = expected(a_run(), FINE)
    assert judge_reading(band, math.inf).outcome == "open"
    assert "no path" in judge_reading(band, math.inf).in_words()
    assert [like.cause for like in judge_reading(band, math.inf).likes] == ["open", "channels"]  # no short reads OL
    assert judge_reading(band, 0.05).outcome == "under leads"
    assert "tips" in judge_reading(band, 0.05).in_words()
    high, low = judge_reading(band, 0.3), judge_reading(band, 0.2)
    assert high.excess_ohm == pytest.approx(0.3 - band.ohm)
    assert "too high" in high.in_words()
    assert "too low" in low.in_words()


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: judge_reading(expected(a_run(), FINE), -0.1), "Reading"),
        (lambda: judge_reading(expected(a_run(), FINE), math.nan), "Reading"),
        (lambda: a_run(length_m=0.0), "Run length"),
        (lambda: a_run(length_m=math.nan), "Run length"),
        (lambda: a_run(leads_ohm=-1.0), "Meter leads"),
        (lambda: a_run(temperature_c=400.0), "Conductor temperature"),
        (lambda: a_run(parallel=0), "Conductors in parallel"),
    ],
)
def test_what_cannot_be(make: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.field == field


# --- where it comes from --------------------------------------------------------------------


def test_the_working_shown_gives_the_numbers_shown() -> None:
    band = expected(a_run(temperature_c=37.0, parallel=2), FINE)
    shown = finished.reading_working(band)
    assert shown.value == band.ohm
    for step in shown.steps:
        assert eval(step.filled.replace("×", "*").replace("−", "-")) == pytest.approx(step.value, rel=1e-6)
    assert "wire" in shown.steps[-1].note


@pytest.mark.parametrize(
    ("ohm", "told"),
    [
        (0.21, "it would make 21 W of heat"),
        (100.0, "nothing that takes 10 A works"),
        (5000.0, "One bad crimp or plug of 5 kΩ"),
    ],
)
def test_no_heat_is_told_that_12_v_cannot_make(ohm: float, told: str) -> None:
    """It said that a joint of 100 ohm makes 1e+04 W, and of a reading "5e+03 Ω"."""
    run = a_run()
    verdict = judge_reading(expected(run, FINE), float(run.loop()) + ohm)
    joint = next(like for like in verdict.likes if like.cause == "joint")
    assert told in joint.words
    assert "e+" not in joint.words + verdict.in_words()
