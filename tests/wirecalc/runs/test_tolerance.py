from __future__ import annotations

import math
import pickle
from collections.abc import Mapping
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike
from scipy import stats

from tests import tried
from wirecalc import runs, tables
from wirecalc.circuits.circuit import compare
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.tolerance import Uncertain, first_order, monte_carlo, run_inputs
from wirecalc.wire.conductor import awg

MEASURES = ("loss_db", "load_w", "wire_w", "drop_v", "load_v", "damping_factor", "current_a")
AMPLIFIER = Amplifier(power_w=100, rated_ohm=4)
MODEL = runs.model(runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0 + 0.5j), awg(16), runs.Installation(length_m=6.0))
SHAPES = st.sampled_from(["normal", "uniform", "triangular"])


def divider(*, top_ohm: ArrayLike, bottom_ohm: ArrayLike, volt: ArrayLike) -> Mapping[str, ArrayLike]:
    top, bottom = np.asarray(top_ohm), np.asarray(bottom_ohm)
    return {"v": volt * bottom / (top + bottom)}


# --- one entry value -----------------------------------------------------------------------------------


def oracle(entry: Uncertain) -> stats.rv_continuous:
    """The shape before it is cut, by scipy.stats."""
    if entry.shape == "normal":
        return stats.norm(entry.value, entry.spread)
    family = stats.triang(0.5, entry.value - entry.spread, 2 * entry.spread)
    return family if entry.shape == "triangular" else stats.uniform(entry.value - entry.spread, 2 * entry.spread)


CASES = [
    Uncertain(value=5.0, spread=0.2, shape="normal"),
    Uncertain(value=5.0, spread=0.2, shape="uniform"),
    Uncertain(value=5.0, spread=0.2, shape="triangular"),
    Uncertain(value=0.0, spread=0.002, shape="normal", low=0.0),
    Uncertain(value=0.001, spread=0.002, shape="uniform", low=0.0),
    Uncertain(value=0.0, spread=0.002, shape="triangular", low=0.0, high=10.0),
    Uncertain(value=1.0, spread=2.0, shape="normal", low=0.5, high=4.0),
    Uncertain(value=1.0, spread=2.0, shape="triangular", low=0.5, high=1.75),
]


@pytest.mark.parametrize("entry", CASES, ids=lambda entry: f"{entry.shape} {entry.value} +- {entry.spread}")
def test_shape_as_in_scipy_stats(entry: Uncertain) -> None:
    whole = oracle(entry)
    below, above = whole.cdf(entry.low), whole.cdf(entry.high)
    share = np.linspace(0.001, 0.999, 501)
    expected = whole.ppf(below + (above - below) * share)
    assert entry.quantile(share) == pytest.approx(expected, rel=1e-9, abs=1e-12)

    # Moments of the cut shape, by scipy's adaptive integration of the same density.
    low, high = whole.ppf(below + 1e-16), whole.ppf(above) if above < 1 else whole.isf(1e-16)
    low, high = max(low, entry.low), min(high, entry.high)
    mean = whole.expect(lambda x: x, lb=low, ub=high, conditional=True)
    deviation = math.sqrt(whole.expect(lambda x: (x - mean) ** 2, lb=low, ub=high, conditional=True))
    assert entry.moments() == pytest.approx((mean, deviation), rel=1e-6, abs=1e-9)


def test_moments_by_formula() -> None:
    # Half-normal: sqrt(2/pi), sqrt(1 - 2/pi); a rectangle and a triangle: a/sqrt(3), a/sqrt(6).
    # GUM (JCGM 100:2008) 4.3.7 and 4.3.9 for the latter two, from memory.
    assert CASES[1].moments() == pytest.approx((5.0, 0.2 / math.sqrt(3)), rel=1e-12)
    assert CASES[2].moments() == pytest.approx((5.0, 0.2 / math.sqrt(6)), rel=1e-12)
    assert CASES[3].moments() == pytest.approx(
        (0.002 * math.sqrt(2 / math.pi), 0.002 * math.sqrt(1 - 2 / math.pi)), rel=1e-12
    )


@given(st.floats(-1e3, 1e3), st.floats(0, 1e3), SHAPES, st.floats(0, 1e3), st.floats(0, 1e3), st.floats(0, 1))
def test_never_outside_what_is_possible(
    value: float, spread: float, shape: str, below: float, above: float, share: float
) -> None:
    entry = Uncertain(value=value, spread=spread, shape=shape, low=value - below, high=value + above)
    ends = entry.quantile([0.0, share, 1.0])
    assert np.all((ends >= entry.low) & (ends <= entry.high))
    assert ends[0] <= ends[1] <= ends[2]
    mean, deviation = entry.moments()
    rounding = 1e-9 * (abs(value) + spread)
    assert entry.low - rounding <= mean - deviation  # so that first order never asks for the impossible
    assert mean + deviation <= entry.high + rounding


@pytest.mark.parametrize("shape", ["normal", "uniform", "triangular"])
def test_cut_to_nothing_is_the_value(shape: str) -> None:
    entry = Uncertain(value=2.0, spread=1.0, shape=shape, low=2.0, high=2.0)
    assert entry.quantile([0.0, 0.3, 1.0]).tolist() == [2.0] * 3
    assert entry.moments() == (2.0, 0.0)


@pytest.mark.parametrize(
    ("entries", "field", "allowed"),
    [
        ({"value": math.nan}, "Run length", "0 to 1e+09"),
        ({"value": math.inf}, "Run length", "0 to 1e+09"),
        ({"value": -1.0}, "Run length", "0 to 1e+09"),
        ({"spread": -0.1}, "Run length, spread", "0 to 1e+09"),
        ({"spread": math.nan}, "Run length, spread", "0 to 1e+09"),
        ({"shape": "bell"}, "Run length, shape", "normal, uniform, triangular"),
    ],
)
def test_impossible_values_are_refused(entries: dict[str, object], field: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        Uncertain(**{"value": 5.0, "low": 0.0, "name": "Run length"} | entries)
    assert (caught.value.field, caught.value.allowed) == (field, allowed)
    with pytest.raises(InputError, match="share"):
        Uncertain(value=5.0).quantile(1.5)


def test_frozen_and_pickled() -> None:
    with pytest.raises(FrozenInstanceError):
        CASES[0].value = 6.0  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(CASES[0])) == CASES[0]


# --- the law of propagation --------------------------------------------------------------------------------


def test_divider_as_the_gum_says() -> None:
    """JCGM 100:2008 (GUM) 5.1.2, from memory: u^2 = sum (df/dx_i u_i)^2; the derivatives by hand."""
    volt, top, bottom = 14.4, 30.0, 250.0
    u_volt, u_top, u_bottom = 0.05, 0.3, 2.0
    total = top + bottom
    parts = {
        "volt": bottom / total * u_volt,
        "top_ohm": volt * bottom / total**2 * u_top,
        "bottom_ohm": volt * top / total**2 * u_bottom,
    }
    combined = math.sqrt(sum(part**2 for part in parts.values()))
    inputs = {
        "volt": Uncertain(value=volt, spread=u_volt),
        "top_ohm": Uncertain(value=top, spread=u_top * math.sqrt(3), shape="uniform"),
        "bottom_ohm": Uncertain(value=bottom, spread=u_bottom * math.sqrt(6), shape="triangular"),
    }
    linear = first_order(divider, inputs, ["v"])["v"]
    assert linear.mean == pytest.approx(volt * bottom / total, rel=1e-12)
    assert linear.deviation == pytest.approx(combined, rel=1e-4)  # steps of u, not infinitesimal
    assert linear.high - linear.mean == pytest.approx(1.6449 * combined, rel=2e-4)  # normal, 95 %
    for name, part in parts.items():
        assert linear.shares[name] == pytest.approx(part**2 / combined**2, rel=3e-4)
    assert list(linear.shares) == sorted(parts, key=parts.__getitem__, reverse=True)

    drawn = monte_carlo(divider, inputs, ["v"], seed=5).bands["v"]
    # 100 000 draws: the mean to 4 standard errors, the deviation to 4/sqrt(2 n) = 0.9 %.
    assert drawn.mean == pytest.approx(linear.mean, abs=4 * combined / math.sqrt(1e5))
    assert drawn.deviation == pytest.approx(combined, rel=0.01)
    for name, part in parts.items():
        assert drawn.shares[name] == pytest.approx(part**2 / combined**2, abs=0.01)
    assert sum(drawn.shares.values()) == pytest.approx(1.0, abs=0.02)  # nothing acts together here


@settings(max_examples=tried(25), deadline=None, derandomize=True)
@given(st.floats(1, 20), st.floats(-10, 90), st.floats(0.002, 0.02), st.floats(1e-4, 0.01), SHAPES)
def test_both_ways_agree_for_small_spreads(
    length_m: float, temperature_c: float, joints_ohm: float, relative: float, shape: str
) -> None:
    inputs = {
        name: replace(entry, spread=max(relative * entry.value, 1e-6), shape=shape)
        for name, entry in run_inputs(length_m, abs(temperature_c), joints_ohm).items()
    }
    linear = first_order(MODEL, inputs, MEASURES)
    drawn = monte_carlo(MODEL, inputs, MEASURES, draws=20_000, seed=2).bands
    for measure in MEASURES:
        linear_band, drawn_band = linear[measure], drawn[measure]
        chance = 5 * linear_band.deviation / math.sqrt(20_000)
        assert drawn_band.mean == pytest.approx(linear_band.mean, abs=chance + 1e-4 * relative)
        assert drawn_band.deviation == pytest.approx(linear_band.deviation, rel=0.05)
        assert drawn_band.shares == pytest.approx(linear_band.shares, abs=0.05)


def test_band_of_an_even_spread() -> None:
    """Even from 0 to 1: 5, 50 and 95 % lie at 0.05, 0.5 and 0.95, to 4 standard errors of the middle one."""
    inputs = {"x": Uncertain(value=0.5, spread=0.5, shape="uniform")}
    band = monte_carlo(lambda x: {"y": x}, inputs, ["y"]).bands["y"]
    assert (band.low, band.middle, band.high) == pytest.approx((0.05, 0.5, 0.95), abs=0.006)
    assert band.deviation == pytest.approx(1 / math.sqrt(12), rel=0.01)


def test_few_draws_do_not_make_an_idle_input_matter() -> None:
    """Uncorrected, 200 draws in 32 groups give an input that does nothing 31/199 = 16 % of the variance."""
    inputs = {name: Uncertain(value=0.0, spread=1.0) for name in ("idle", "x")}
    shares = [
        monte_carlo(lambda idle, x: {"y": x}, inputs, ["y"], draws=200, seed=seed).bands["y"].shares
        for seed in range(30)
    ]
    assert np.mean([share["idle"] for share in shares]) < 0.06
    assert np.mean([share["x"] for share in shares]) > 0.94


def test_acting_together_is_what_is_missing() -> None:
    """A product of two inputs about zero: neither explains anything alone, by symmetry."""
    inputs = {"a": Uncertain(value=0.0, spread=1.0), "b": Uncertain(value=0.0, spread=1.0)}
    product = monte_carlo(lambda a, b: {"y": a * b}, inputs, ["y"]).bands["y"]
    assert product.deviation == pytest.approx(1.0, rel=0.03)
    assert all(share < 0.002 for share in product.shares.values())


def test_not_rising_is_found_too() -> None:
    """y = x^2 + z/10, both even from -1 to 1: variances 4/45 and 1/300; the slope in x is 0 at the middle."""
    inputs = {name: Uncertain(value=0.0, spread=1.0, shape="uniform") for name in "zx"}
    band = monte_carlo(lambda x, z: {"y": x**2 + z / 10}, inputs, ["y"]).bands["y"]
    assert list(band.shares) == ["x", "z"]
    whole = 4 / 45 + 1 / 300
    assert band.deviation == pytest.approx(math.sqrt(whole), rel=0.01)
    assert band.shares == pytest.approx({"x": 4 / 45 / whole, "z": 1 / 300 / whole}, abs=0.01)


# --- a run -------------------------------------------------------------------------------------------------


@settings(max_examples=tried(30), deadline=None, derandomize=True)
@given(st.floats(0.1, 30), st.floats(-40, 105), st.floats(0, 0.05), st.integers(1, 3), st.integers(0, 2**32))
def test_zero_spread_is_the_point_value_exactly(
    length_m: float,
    temperature_c: float,
    joints_ohm: float,
    parallel: int,
    seed: int,
) -> None:
    inputs = run_inputs(length_m, temperature_c, joints_ohm)
    inputs = {name: replace(entry, spread=0.0) for name, entry in inputs.items()}
    entries = {"temperature_c": temperature_c, "joints_ohm": joints_ohm, "parallel": parallel}
    point = compare(AMPLIFIER, 4.0 + 0.5j, [awg(16)], length_m, **entries)
    model = runs.model(
        runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0 + 0.5j),
        awg(16),
        runs.Installation(length_m=length_m, parallel=parallel),
    )
    drawn = monte_carlo(model, inputs, MEASURES, draws=1000, seed=seed)
    linear = first_order(model, inputs, MEASURES)
    for measure in MEASURES:
        value = float(-point.level_db[0] if measure == "loss_db" else getattr(point, measure)[0])
        band = drawn.bands[measure]
        assert (band.mean, band.low, band.middle, band.high) == (value,) * 4
        assert band.deviation == 0
        assert set(band.shares.values()) == {0.0}
        assert (linear[measure].mean, linear[measure].deviation) == pytest.approx((value, 0.0), rel=1e-14)


def test_one_input_alone_has_the_whole_share() -> None:
    inputs = {name: replace(entry, spread=0.0) for name, entry in run_inputs(6.0).items()}
    inputs["length_m"] = replace(inputs["length_m"], spread=0.3)
    for band in (
        first_order(MODEL, inputs, ["loss_db"])["loss_db"],
        monte_carlo(MODEL, inputs, ["loss_db"]).bands["loss_db"],
    ):
        assert next(iter(band.shares)) == "length_m"
        assert band.shares["length_m"] == pytest.approx(1.0, abs=0.005)
        assert sum(band.shares.values()) == band.shares["length_m"]


def test_error_falls_as_one_over_root_n() -> None:
    def mean(draws: int, seed: int) -> float:
        return monte_carlo(MODEL, run_inputs(6.0), ["drop_v"], draws=draws, seed=seed).bands["drop_v"].mean

    truth = mean(1_000_000, 99)
    sizes = np.array([200, 800, 3200, 12800])
    errors = [np.std([mean(n, seed) - truth for seed in range(40)]) for n in sizes.tolist()]
    slope = np.polyfit(np.log(sizes), np.log(errors), 1)[0]
    assert slope == pytest.approx(-0.5, abs=0.1)
    assert abs(mean(100_000, 5) - truth) < 3 * errors[-1] / math.sqrt(100_000 / 12800)  # to the right value


def test_same_seed_same_numbers() -> None:
    inputs = run_inputs(6.0)
    first, again, other = (monte_carlo(MODEL, inputs, MEASURES, draws=500, seed=s) for s in (7, 7, 8))
    assert first == again
    assert first.bands["drop_v"].mean != other.bands["drop_v"].mean


def test_limits() -> None:
    """On a uniform 0 to 1 the share above 0.9 is 10 %, below 0.2 is 20 %, either 30 %; never above 1."""
    inputs = {"x": Uncertain(value=0.5, spread=0.5, shape="uniform")}
    limits = [
        Limit(measure="x", bound=0.9, sense="at most"),
        Limit(measure="x", bound=0.2, sense="at least"),
        Limit(measure="x", bound=1.0, sense="at most"),
    ]
    spread = monte_carlo(lambda x: {"x": x}, inputs, [], limits=limits)
    assert spread.broken == pytest.approx((0.1, 0.2, 0.0), abs=0.004)  # 4 standard errors
    assert spread.any_broken == pytest.approx(sum(spread.broken), abs=1e-12)
    assert spread.bands == {}
    assert monte_carlo(lambda x: {"x": x}, inputs, ["x"]).any_broken == 0.0


def test_meeting_a_limit_is_not_breaking_it() -> None:
    inputs = {"x": Uncertain(value=2.0)}
    limits = [
        Limit(measure="x", bound=2.0, sense="at most"),
        Limit(measure="x", bound=2.0, sense="at least"),
    ]
    assert monte_carlo(lambda x: {"x": x}, inputs, ["x"], limits=limits).broken == (0.0, 0.0)


@settings(max_examples=tried(20), deadline=None, derandomize=True)
@given(st.floats(0.5, 20))
def test_more_spread_is_a_wider_band(length_m: float) -> None:
    narrow = run_inputs(length_m)
    wide = {name: replace(entry, spread=2 * entry.spread) for name, entry in narrow.items()}
    narrow_bands, wide_bands = (monte_carlo(MODEL, inputs, ["drop_v"], draws=5000) for inputs in (narrow, wide))
    assert wide_bands.bands["drop_v"].low < narrow_bands.bands["drop_v"].low
    assert wide_bands.bands["drop_v"].high > narrow_bands.bands["drop_v"].high


@pytest.mark.parametrize("draws", [0, 99, 10_000_001, math.nan])
def test_draws_out_of_range(draws: float) -> None:
    with pytest.raises(InputError, match="Draws"):
        monte_carlo(MODEL, run_inputs(6.0), ["drop_v"], draws=draws)  # type: ignore[arg-type]


def test_unknown_and_infinite_measures_are_refused() -> None:
    for way in (monte_carlo, first_order):
        with pytest.raises(InputError) as caught:
            way(MODEL, run_inputs(6.0), ["loss"])
        assert caught.value.field == "Measure"
        assert "loss_db" in caught.value.allowed
        with pytest.raises(InputError, match="infinite or undefined"):
            way(lambda x: {"y": np.where(x < 1, np.inf, x)}, {"x": Uncertain(value=1.0, spread=1.0)}, ["y"])
    with pytest.raises(InputError, match="Limit of drop_v"):
        Limit(measure="drop_v", bound=math.nan, sense="at most")
    with pytest.raises(InputError, match="at most"):
        Limit(measure="drop_v", bound=1.0, sense="under")  # type: ignore[arg-type]


# --- the table ---------------------------------------------------------------------------------------------


def test_every_default_is_given_a_reason() -> None:
    table = tables.load("tolerances")
    assert table["input"].is_unique
    for column in ("name", "reason", "source", "confidence"):
        assert table[column].str.len().gt(3).all()
    assert table["relative"].isin(["yes", "no"]).all()
    assert (table["spread"] > 0).all()
    assert (table["low"] < table["high"]).all()


def test_usual_inputs() -> None:
    inputs = run_inputs(6.0, 40.0, 0.003)
    assert [entry.value for entry in inputs.values()] == [6.0, 40.0, 0.003, 1.0, 1.0]
    assert inputs["length_m"].spread == pytest.approx(0.3)  # 5 % of 6 m
    assert inputs["joints_ohm"].spread == pytest.approx(0.002)  # whatever the joints are
    monte_carlo(MODEL, run_inputs(100.0, 250.0, 10.0), ["drop_v"], draws=100)  # the ends are allowed
    monte_carlo(MODEL, run_inputs(0.01, -60.0, 0.0), ["drop_v"], draws=100)
    for bad in ((0.0, 20.0, 0.0), (6.0, 300.0, 0.0), (6.0, 20.0, -0.001), (math.nan, 20.0, 0.0)):
        with pytest.raises(InputError):
            run_inputs(*bad)
