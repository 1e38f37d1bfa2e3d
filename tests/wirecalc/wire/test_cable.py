from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.errors import InputError
from wirecalc.units import LENGTH, read
from wirecalc.wire.cable import loop_ohm, parallel_ohm_per_m
from wirecalc.wire.conductor import COPPER, STRANDINGS, awg, metric

fixed = settings(derandomize=True, deadline=None)
FOOT_M = 0.3048
PER_M = st.floats(1e-5, 1.0)
LENGTH_M = st.floats(0.01, 100.0)


@pytest.mark.parametrize(
    ("ohm_per_ft", "feet", "volt", "tolerance"),
    [
        (0.00044, 107, 0.942, 0.001),
        (0.00028, 90, 0.504, 0.001),
        (0.00202, 88, 3.5552, 0.0001),  # computed: the print, 3.60, is rounded up
        (0.00306, 100, 6.12, 0.001),
        (0.00126, 39, 0.98, 0.005),
        (0.00126, 156, 3.93, 0.005),
        (0.00126, 273, 6.88, 0.005),
    ],
)
def test_drop_along_a_run(ohm_per_ft: float, feet: float, volt: float, tolerance: float) -> None:
    """FAA AC 43.13-1B CHG 1, tables 11-7 and 11-8, tinned stranded copper at 20 A (read).

    Its feet are those of the whole conductor, out and back.
    """
    wire_ohm = loop_ohm(ohm_per_ft / FOOT_M, feet * FOOT_M / 2)
    assert rule_of_thumb_drop_v(20.0, wire_ohm) == pytest.approx(volt, abs=tolerance)


def test_metric_loop() -> None:
    """5 m out and back of 2.5 mm2 class 5, 7.98 ohm/km (IEC 60228:2004, read): 0.0798 ohm (computed)."""
    assert loop_ohm(metric(2.5).ohm_per_m_20c, 5.0) == pytest.approx(0.0798, rel=1e-12)


def test_joints_are_in_the_loop_once_and_lengths_twice() -> None:
    assert loop_ohm(0.01, 3.0, joints_ohm=0.004) == pytest.approx(0.064, rel=1e-12)
    assert loop_ohm(0.01, 3.0, parallel=2, joints_ohm=0.004) == pytest.approx(0.034, rel=1e-12)


def test_every_argument_broadcasts() -> None:
    ohm = loop_ohm(
        np.array([0.01, 0.02])[:, None, None, None],
        np.array([1.0, 2.0, 3.0])[:, None, None],
        parallel=np.array([1, 2])[:, None],
        joints_ohm=np.array([0.0, 0.001, 0.002, 0.003]),
    )
    assert ohm.shape == (2, 3, 2, 4)
    assert ohm[1, 2, 1, 3] == pytest.approx(0.02 / 2 * 2 * 3.0 + 0.003, rel=1e-12)


def test_unlike_conductors_side_by_side() -> None:
    """Two 12 AWG solid: 2.605404 ohm/km; 12 and 16 AWG: 3.733946, 71.657 % of the current in 12 AWG.

    Computed from areas: like conductors share as their areas.
    """
    solid = STRANDINGS["solid"]
    twelve, sixteen, nine = (awg(n, COPPER, solid) for n in (12, 16, 9))
    two = float(parallel_ohm_per_m([twelve.ohm_per_m_20c] * 2))
    assert two * 1e3 == pytest.approx(2.605404, rel=1e-6)
    assert two / nine.ohm_per_m_20c == pytest.approx(1.0025, abs=5e-5)
    mixed = float(parallel_ohm_per_m([twelve.ohm_per_m_20c, sixteen.ohm_per_m_20c]))
    assert mixed * 1e3 == pytest.approx(3.733946, rel=1e-6)
    assert mixed / twelve.ohm_per_m_20c == pytest.approx(0.71657, abs=1e-5)
    assert twelve.area_m2 / (twelve.area_m2 + sixteen.area_m2) == pytest.approx(0.71657, abs=1e-5)


def test_parallel_along_any_axis() -> None:
    table = np.array([[1.0, 2.0, 4.0], [1.0, 2.0, 4.0]])
    assert parallel_ohm_per_m(table) == pytest.approx([4 / 7, 4 / 7])
    assert parallel_ohm_per_m(table, axis=0) == pytest.approx([0.5, 1.0, 2.0])


@fixed
@given(PER_M, LENGTH_M)
def test_two_in_parallel_are_half(per_m: float, length_m: float) -> None:
    half = loop_ohm(per_m, length_m) / 2
    assert loop_ohm(per_m, length_m, parallel=2) == pytest.approx(half, rel=1e-12)
    assert loop_ohm(parallel_ohm_per_m([per_m] * 2), length_m) == pytest.approx(half, rel=1e-12)


@fixed
@given(PER_M, st.floats(0.1, 320))
def test_feet_and_metres_agree(per_m: float, feet: float) -> None:
    """By the door that typed lengths go through; the foot is 0.3048 m by definition (from memory)."""
    as_feet = read(f"{feet!r} ft", "Run length", LENGTH)
    as_metres = read(f"{feet * FOOT_M!r} m", "Run length", LENGTH)
    assert loop_ohm(per_m, as_feet) == pytest.approx(loop_ohm(per_m, as_metres), rel=1e-12)
    assert loop_ohm(per_m, as_feet) == pytest.approx(per_m * FOOT_M * 2 * feet, rel=1e-12)


@fixed
@given(PER_M, LENGTH_M, st.floats(1.001, 2), st.floats(0, 0.1))
def test_longer_is_more(per_m: float, length_m: float, longer: float, joints_ohm: float) -> None:
    both = loop_ohm(per_m, [length_m / longer, length_m], joints_ohm=joints_ohm)
    assert both[0] < both[1]


@pytest.mark.parametrize(
    ("entries", "field", "allowed"),
    [
        ({"length_m": 0.0}, "Run length", "above 0 up to 100 m"),
        ({"length_m": -5.0}, "Run length", "above 0 up to 100 m"),
        ({"length_m": 101.0}, "Run length", "above 0 up to 100 m"),
        ({"length_m": math.nan}, "Run length", "above 0 up to 100 m"),
        ({"length_m": [1.0, 0.0]}, "Run length", "above 0 up to 100 m"),
        ({"length_m": "5 m"}, "Run length", "above 0 up to 100 m"),
        ({"parallel": 0}, "Conductors in parallel", "1 to 16"),
        ({"parallel": 17}, "Conductors in parallel", "1 to 16"),
        ({"joints_ohm": -0.001}, "Joints", "0 to 10 ohm"),
        ({"joints_ohm": math.nan}, "Joints", "0 to 10 ohm"),
    ],
)
def test_impossible_runs_are_refused(entries: dict[str, object], field: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        loop_ohm(**{"ohm_per_m": 0.01, "length_m": 5.0} | entries)  # type: ignore[arg-type]
    assert (caught.value.field, caught.value.allowed) == (field, allowed)


@pytest.mark.parametrize("per_m", [0.0, -1.0, math.nan])
def test_impossible_conductors_side_by_side_are_refused(per_m: float) -> None:
    with pytest.raises(InputError, match="Resistance per metre"):
        parallel_ohm_per_m([0.01, per_m])
