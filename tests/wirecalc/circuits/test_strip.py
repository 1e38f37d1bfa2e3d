from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson

from tests.support.ngspice import run
from wirecalc.circuits.strip import CONSTANT_CURRENT, ONE_END, RESISTIVE, Strip, lamp_v, lit
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)

SECTIONS = 300
BASE = {"supply_v": 12.0, "length_m": 5.0, "amps_per_m": 1.2, "loop_ohm_per_m": 0.12, "near_feed_ohm": 0.05}
MODELS = pytest.mark.parametrize("lamps", [CONSTANT_CURRENT, RESISTIVE])


def ladder(strip: Strip) -> np.ndarray:
    """Voltage at every quarter of 300 sections by ngspice; each section's lamps are half at either end."""
    step_m = strip.length_m / SECTIONS
    lines = [f"V1 s 0 {strip.supply_v!r}", f"Rnear s n0 {max(strip.near_feed_ohm, 1e-9)!r}"]
    if np.isfinite(strip.far_feed_ohm):
        lines.append(f"Rfar s n{SECTIONS} {max(strip.far_feed_ohm, 1e-9)!r}")
    for node in range(SECTIONS + 1):
        amps = strip.amps_per_m * step_m * (0.5 if node in (0, SECTIONS) else 1.0)
        if strip.lamps == RESISTIVE:
            lines.append(f"Rlamp{node} n{node} 0 {strip.nominal_v / amps!r}")
        else:
            lines.append(f"Ilamp{node} n{node} 0 {amps!r}")
        if node < SECTIONS:
            lines.append(f"Rstrip{node} n{node} n{node + 1} {strip.loop_ohm_per_m * step_m!r}")
    nodes = [0, 75, 150, 225, SECTIONS]
    spice = run("\n".join(lines), "op", [f"v(n{node})" for node in nodes])
    return np.array([spice[f"v(n{node})"][0] for node in nodes])


@MODELS
@pytest.mark.parametrize(("near", "far"), [(0.05, ONE_END), (0.0, ONE_END), (0.05, 0.05), (0.02, 0.3), (0.4, 0.0)])
@pytest.mark.parametrize("loop_ohm_per_m", [0.02, 0.3])
def test_strip_against_a_ladder_of_300_sections(lamps, near, far, loop_ohm_per_m):
    entries = BASE | {"near_feed_ohm": near, "far_feed_ohm": far, "loop_ohm_per_m": loop_ohm_per_m}
    strip = Strip(**entries, lamps=lamps)
    nodes = ladder(strip)
    assert lamp_v(strip, [0, 0.25, 0.5, 0.75, 1]) == pytest.approx(nodes, rel=1e-4)
    outcome = lit(strip)
    assert (outcome.near_v, outcome.far_v) == pytest.approx((nodes[0], nodes[-1]), rel=1e-4)


def test_one_end_by_hand():
    # constant current: r i L^2/2 = 0.12 x 1.2 x 25/2 = 1.8 V, and 0.05 ohm x 6 A = 0.3 V before it
    outcome = lit(Strip(**BASE))
    assert (outcome.near_v, outcome.far_v, outcome.near_a, outcome.far_a) == pytest.approx((11.7, 9.9, 6, 0))
    assert (outcome.least_v, outcome.least_at_m) == pytest.approx((9.9, 5))
    assert outcome.least_over_most == pytest.approx(9.9 / 11.7)
    assert outcome.reason == ""


def test_both_ends_lose_a_quarter_along_the_strip():
    # the parabola again: r i (L/2)^2/2 = 0.45 V in the middle, half the current in each feed
    outcome = lit(Strip(**BASE, far_feed_ohm=0.05))
    assert (outcome.near_v, outcome.least_v, outcome.least_at_m) == pytest.approx((11.85, 11.4, 2.5))
    assert outcome.near_a == pytest.approx(outcome.far_a) == pytest.approx(3)


def test_a_chain_of_resistors_ends_in_its_wave_resistance():
    # a very long leaky line draws V/sqrt(r/g), whatever its length; textbook, from memory
    long = lit(Strip(**(BASE | {"length_m": 50, "loop_ohm_per_m": 5, "near_feed_ohm": 0}), lamps=RESISTIVE))
    assert long.near_a == pytest.approx(12 / np.sqrt(5 / (1.2 / 12)), rel=1e-9)
    assert 0 < long.far_v < 1e-12
    assert long.least_at_m == 50


def test_voltage_used_up_has_no_answer_and_says_why():
    strip = Strip(**(BASE | {"length_m": [5, 20], "supply_v": [12, 13]}))
    outcome = lit(strip)
    for field in ("near_v", "far_v", "least_v", "least_at_m", "near_a", "far_a", "least_over_most"):
        assert np.isnan(getattr(outcome, field)).tolist() == [False, True], field
    assert np.isnan(lamp_v(strip, 0.5)).tolist() == [False, True]
    assert "20 m of strip would use up the 13 V" in outcome.reason
    assert "both ends" in outcome.reason


STRIPS = st.fixed_dictionaries(
    {
        "supply_v": st.floats(9, 30),
        "length_m": st.floats(0.1, 20),
        "amps_per_m": st.floats(0.05, 3),
        "loop_ohm_per_m": st.floats(0.005, 0.5),
        "near_feed_ohm": st.floats(0, 1),
    }
)
LAMPS = st.sampled_from([CONSTANT_CURRENT, RESISTIVE])
FAR = st.floats(0, 2) | st.just(ONE_END)


@fixed
@given(STRIPS, LAMPS, st.floats(0, 10))
def test_both_ends_are_never_dimmer_than_one(entries, lamps, far_ohm):
    one_end, both = (lit(Strip(**entries, lamps=lamps, far_feed_ohm=far)) for far in (ONE_END, far_ohm))
    if not np.isnan(one_end.least_v):
        assert both.least_v >= one_end.least_v * (1 - 1e-12)


@fixed
@given(STRIPS, LAMPS, FAR, st.sampled_from(["near_feed_ohm", "loop_ohm_per_m", "far_feed_ohm"]))
def test_more_resistance_never_raises_the_dimmest_lamp(entries, lamps, far_ohm, where):
    entries |= {"far_feed_ohm": far_ohm}
    outcome = lit(Strip(**(entries | {where: entries[where] * np.array([1, 1.5])}), lamps=lamps))
    if not np.isnan(outcome.least_v).any():
        assert outcome.least_v[1] <= outcome.least_v[0] * (1 + 1e-12)


@fixed
@given(STRIPS, LAMPS, FAR)
def test_power_balance(entries, lamps, far_ohm):
    strip = Strip(**entries, lamps=lamps, far_feed_ohm=far_ohm)
    outcome = lit(strip)
    if np.isnan(outcome.least_v):
        return
    share = np.linspace(0, 1, 2001)
    at_m, volt = share * strip.length_m, lamp_v(strip, share)
    per_m = strip.amps_per_m * (volt / 12 if lamps == RESISTIVE else np.ones_like(volt))
    left_a = outcome.near_a + outcome.far_a - simpson(per_m, x=at_m)
    assert left_a == pytest.approx(0, abs=1e-8 * (outcome.near_a + outcome.far_a))
    # all that the source gives is in the feeds, the lamps and the strip (r I^2, with I from the slope)
    slope = np.diff(volt) / np.diff(at_m)
    strip_w = np.sum(slope**2 * np.diff(at_m)) / strip.loop_ohm_per_m
    far_w = 0 if far_ohm == ONE_END else outcome.far_a**2 * far_ohm
    feeds_w = outcome.near_a**2 * strip.near_feed_ohm + far_w
    total_w = strip.supply_v * (outcome.near_a + outcome.far_a)
    assert total_w == pytest.approx(feeds_w + strip_w + simpson(per_m * volt, x=at_m), rel=1e-5)


@fixed
@given(STRIPS, LAMPS, FAR)
def test_no_lamp_is_dimmer_than_the_dimmest(entries, lamps, far_ohm):
    strip = Strip(**entries, lamps=lamps, far_feed_ohm=far_ohm)
    outcome = lit(strip)
    volt = lamp_v(strip, np.linspace(0, 1, 101))
    if not np.isnan(outcome.least_v):
        assert volt.min() >= outcome.least_v * (1 - 1e-9)
        assert volt.max() <= max(outcome.near_v, outcome.far_v) * (1 + 1e-12) <= strip.supply_v * (1 + 1e-9)
        at_least = lamp_v(strip, outcome.least_at_m / strip.length_m)
        assert at_least == pytest.approx(outcome.least_v, rel=1e-9)


@MODELS
def test_arrays_give_what_scalars_give(lamps):
    far = np.array([[ONE_END], [0.05]])
    together = lit(Strip(**(BASE | {"length_m": [1.0, 5.0]}), far_feed_ohm=far, lamps=lamps))
    for row, far_ohm in enumerate(far[:, 0]):
        for column, length_m in enumerate([1.0, 5.0]):
            alone = lit(Strip(**(BASE | {"length_m": length_m}), far_feed_ohm=far_ohm, lamps=lamps))
            assert together.least_v[row, column] == pytest.approx(alone.least_v, rel=1e-12)


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"supply_v": 0}, "Supply voltage"),
        ({"length_m": [5, 500]}, "Strip length"),
        ({"amps_per_m": 0}, "Strip current"),
        ({"loop_ohm_per_m": 120}, "Strip resistance"),
        ({"near_feed_ohm": np.inf}, "Near feed"),
        ({"far_feed_ohm": -1}, "Far feed"),
        ({"nominal_v": np.nan}, "Nominal voltage"),
        ({"lamps": "neon"}, "Lamps"),
    ],
)
def test_unusable_values_are_refused(entries, field):
    with pytest.raises(InputError) as caught:
        Strip(**(BASE | entries))
    assert caught.value.field == field
