"""The shown working of a band, put back into arithmetic, is the band that `wirecalc.runs.tolerance` found."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.drawn_runs import CORNERS, KINDS, LAID, SPEAKER, WIRES
from tests.support.shown_formulas import FOUR_DIGITS, arithmetic, proven
from wirecalc import runs, tables
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs import tolerance
from wirecalc.wire.conductor import Conductor, awg
from wirecalc.workings.formula import Input, Working
from wirecalc.workings.spread import POINTS, Strayed, broken, drawn, first_order_working, share_of

SHARES = {"length_m": 0.05, "temperature_c": 25.0, "joints_ohm": 0.002, "resistance_ratio": 0.02, "load_ratio": 0.1}
ROWS = {row["input"]: row for row in tables.load("tolerances").to_dict("records")}


def strayed_inputs(laid: runs.Installation, **spreads: float) -> dict[str, tolerance.Uncertain]:
    inputs = tolerance.run_inputs(laid.length_m, laid.temperature_c, laid.joints_ohm)
    return inputs | {name: replace(inputs[name], spread=spread) for name, spread in spreads.items()}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@settings(max_examples=tried(25))
@given(
    data=st.data(),
    wire=WIRES,
    laid=LAID,
    spreads=st.fixed_dictionaries(
        {name: st.one_of(st.just(0.0), st.floats(share / 10, share)) for name, share in SHARES.items()}
    ),
)
def test_any_band(
    kind: type, data: st.DataObject, wire: Conductor, laid: runs.Installation, spreads: dict[str, float]
) -> None:
    run, inputs = data.draw(KINDS[kind]), strayed_inputs(laid, **spreads)
    for measure in run.drawn:
        strayed = Strayed(measure=measure, run=run, conductor=wire, laid=laid, inputs=inputs)
        try:
            want = tolerance.first_order(runs.model(run, wire, laid), inputs, [measure])[measure]
            band = tolerance.monte_carlo(runs.model(run, wire, laid), inputs, [measure], draws=200).bands[measure]
        except InputError:  # some cases have no solution
            assume(False)
        for point in POINTS:
            working = first_order_working(strayed, point)
            proven(working)
            scale = 100 if measure == "drop_fraction" else 1
            assert working.value == pytest.approx(scale * getattr(want, point), rel=1e-12)
            spread = next(step for step in working.steps if step.symbol == "sy")
            assert spread.value == want.deviation
            assert abs(arithmetic(spread.filled)) == pytest.approx(want.deviation, rel=FOUR_DIGITS, abs=1e-12)
            assert drawn(strayed, band, point, draws=200, seed=1).value == scale * getattr(band, point)


def put(working: Working) -> dict[str, Input]:
    return {entry.symbol: entry for step in working.steps for entry in step.inputs}


LAID_5M = runs.Installation(length_m=5.5)
USUAL: dict[str, Any] = {"measure": "loss_db", "run": SPEAKER, "conductor": awg(16), "laid": LAID_5M}


def test_a_drawn_band_says_how_and_of_what() -> None:
    strayed = Strayed(**USUAL, inputs=strayed_inputs(LAID_5M, load_ratio=0.05))
    band = tolerance.monte_carlo(runs.model(SPEAKER, awg(16), LAID_5M), strayed.inputs, ["loss_db"], draws=1000)
    working = drawn(strayed, band.bands["loss_db"], "high", draws=1000, seed=7)
    last = working.steps[-1]
    assert last.formula == "95 % of 1000 draws of all inputs at once are below"
    assert "seed 7" in last.source
    assert working.title == "Level lost: 5 of 100 above"
    assert [step.symbol for step in working.steps[-2:]] == ["ΔL", "yp"]
    inputs = put(working)
    proven(working)
    for name, symbol in (
        ("length_m", "uL"),
        ("temperature_c", "uT"),
        ("joints_ohm", "uRj"),
        ("resistance_ratio", "uR"),
    ):
        row, entry = ROWS[name], inputs[symbol]
        assert (entry.origin, entry.confidence) == (row["source"], row["confidence"])
        assert row["reason"] in entry.name
        assert row["shape"] in entry.name
    assert inputs["uL"].value == "0.275 m"
    assert "5.5 ± this, triangular (half-width)" in inputs["uL"].name
    assert (inputs["uZ"].origin, inputs["uZ"].value) == ("entered", "0.05")
    assert ROWS["load_ratio"]["reason"] not in inputs["uZ"].name


def test_a_share_of_draws_and_of_the_spread_are_counted() -> None:
    limit = Limit(measure="loss_db", name="level loss", sense="at most", bound=0.34, unit="dB")
    strayed = Strayed(**USUAL, inputs=strayed_inputs(LAID_5M))
    model = runs.model(SPEAKER, awg(16), LAID_5M)
    spread = tolerance.monte_carlo(model, strayed.inputs, ["loss_db"], limits=[limit], draws=1000, seed=3)
    counted = broken(strayed, limit, spread.broken[0], draws=1000, seed=3)
    proven(counted)
    assert counted.value == 100 * spread.broken[0] > 0
    assert put(counted)["Nb"].value == f"{round(1000 * spread.broken[0])}"
    assert (put(counted)["B"].origin, put(counted)["B"].value) == ("entered", "0.34 dB")
    assert "seed 3" in put(counted)["Nb"].origin
    band = spread.bands["loss_db"]
    first, share = next(iter(band.shares.items()))
    worked = share_of(strayed, band, first, draws=1000, seed=3)
    proven(worked)
    assert worked.value == 100 * share
    assert strayed.inputs[first].name in worked.title


def test_a_drop_over_supply_is_told_in_per_cent() -> None:
    for run in (CORNERS["side by side"][0],):
        strayed = Strayed(measure="drop_fraction", run=run, conductor=awg(8), laid=LAID_5M,
                          inputs=strayed_inputs(LAID_5M), feet=True)  # fmt: skip
        model = runs.model(run, awg(8), LAID_5M)
        working = first_order_working(strayed, "high")
        proven(working)
        want = tolerance.first_order(model, strayed.inputs, ["drop_fraction"])["drop_fraction"].high
        assert (working.value, working.unit) == (pytest.approx(100 * want), "%")


def test_first_order_shows_what_each_input_does() -> None:
    working = first_order_working(Strayed(**USUAL, inputs=strayed_inputs(LAID_5M)), "low")
    spread = next(step for step in working.steps if step.symbol == "sy")
    assert spread.formula == "√(cL² + cT² + cRj² + cR² + cZ²)"
    assert spread.filled.count("²") == 5
    assert working.steps[-1].filled.endswith("(−1.6449) × 0.022735")
    assert {"uL", "sL", "yLh", "yLl"} <= put(working).keys()
    nothing = first_order_working(
        Strayed(**USUAL, inputs=strayed_inputs(LAID_5M, **dict.fromkeys(SHARES, 0.0))), "high"
    )
    assert nothing.value == pytest.approx(next(step.value for step in nothing.steps if step.symbol == "ΔL"))
