"""Every shown formula, with its numbers put back into arithmetic, is the number that `wirecalc.runs` computed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import DEEP, tried
from tests.support.drawn_runs import (
    CABIN,
    CORNERS,
    FEED,
    KINDS,
    LAID,
    LAID_5M,
    PLACES,
    SPEAKER,
    WIRES,
    check,
)
from wirecalc import runs
from wirecalc.circuits import supply
from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire import ampacity, fuse
from wirecalc.wire.conductor import (
    METALS,
    STRANDINGS,
    Conductor,
    awg,
    metric,
    ohms_per_metre,
)
from wirecalc.wire.insulation import insulated
from wirecalc.wire.zones import ZONES
from wirecalc.workings.formula import Input, Step, Working
from wirecalc.workings.measures import working

# --- what is held together ------------------------------------------------------------------------------------


def check_all(run: runs.Run, wire: Conductor, laid: runs.Installation, place: runs.Place | None) -> set[str]:
    ohm = runs.wire_ohm([wire], laid)
    values: dict[str, Any] = {k: np.broadcast_to(v, (1,)) for k, v in run.measures(ohm, laid.length_m).items()}
    if place is not None:
        values = runs.with_heat(values, [wire], laid, place)
    bare = run.measures(0.0, laid.length_m)
    values |= {
        "ohm_per_m": ohms_per_metre([wire], laid.temperature_c),
        "loop_ohm": ohm,
        "area_mm2": [wire.area_m2 * 1e6],
    }
    if "current_a" in bare:
        bare_a = float(bare["current_a"])
        values["quick_bound_v"] = [rule_of_thumb_drop_v(bare_a, ohm[0]) if math.isfinite(bare_a) else math.nan]
    if "load_w" in bare:
        values["bare_w"] = [bare["load_w"]]
    if bare.get("load_w"):
        values["share_percent"] = values["load_w"] / bare["load_w"] * 100
    for measure, value in values.items():
        check(working(measure, run, wire, laid, place), float(value[0]))
    figures = {name: float(value[0]) for name, value in values.items()}
    for name, worth in told_only(run, wire, laid, place, figures).items():
        told = working(name, run, wire, laid, place, feet=True)
        assert told.value == pytest.approx(worth, rel=1e-6, abs=1e-9, nan_ok=True), name  # found by the formula itself
        check(told, told.value)
    return set(values)


def told_only(
    run: runs.Run, wire: Conductor, laid: runs.Installation, place: runs.Place | None, figures: Mapping[str, float]
) -> dict[str, float]:
    """Numbers that sentences say and no measure is, each computed by what the sentence is made with."""
    more = {"ohm_per_ft": figures["ohm_per_m"] * 0.3048}
    if "drop_fraction" in figures:
        more["drop_percent"] = 100 * figures["drop_fraction"]
    if isinstance(run, runs.LineRun):
        ends_db = 20 * math.log10(1 + run.source_ohm / run.input_ohm)
        more |= {"middle_db": -figures["loss_db"], "ends_db": ends_db, "cable_db": figures["loss_db"] - ends_db}
    if isinstance(run, runs.RelayRun):
        more |= {"needed_v": figures["load_v"] - figures["margin_v"], "short_v": -figures["margin_v"]}
    if isinstance(run, runs.LampRun) and math.isfinite(figures["last_v"]):
        more["last_percent"] = 100 * figures["last_v"] / figures["load_v"]
    if isinstance(run, runs.FeedRun):
        drawn = supply.draw(run.rated_w, run.amplifier_class, share=run.music_share, supply_v=run.full_power_v)
        most = supply.constant_power(run.supply_v, figures["loop_ohm"], drawn.power_w).most_w
        more |= {"average_w": float(drawn.power_w), "most_w": float(most), "most_v": run.supply_v / 2}
    if place is None:
        return more
    allowed = ampacity.allowable(insulated([wire], place.insulation), place.ambient_c, place.loaded)
    more |= {"published_a": float(allowed.published_a[0]), "balance_a": float(allowed.balance_a[0])}
    more |= {"ambient_c": place.ambient_c, "damage_c": place.insulation.damage_c}
    more["own_loaded"] = laid.ways * laid.parallel
    if math.isfinite(figures.get("draw_a", math.nan)):
        each_a = figures["draw_a"] / laid.parallel
        choice = fuse.choose_fuse(each_a, figures["allowable_a"])
        more |= {"each_a": each_a, "loading_percent": 80, "largest_fuse_a": float(fuse.USUAL_RATINGS_A[-1])}
        more["largest_draw_a"] = 0.8 * fuse.USUAL_RATINGS_A[-1]
        if math.isfinite(choice.wire_must_allow_a):
            more["fuse_a"] = choice.wire_must_allow_a
        if choice.draw_at_most_a:
            more["draw_at_most_a"] = choice.draw_at_most_a
    return more


# --- any run, any wire, anywhere ------------------------------------------------------------------------------


def test_every_kind_is_drawn() -> None:
    assert {kind for kind in vars(runs).values() if isinstance(kind, type) and hasattr(kind, "measures")} == {
        *KINDS,
        runs.Run,
    }


ANY = [(kind, placed) for placed in (False, True) for kind in KINDS]  # plain and with heat


@pytest.mark.parametrize(("kind", "placed"), ANY if DEEP else ANY[::2])  # of an odd number of kinds: each once
@settings(max_examples=tried(20), deadline=None, derandomize=True)
@given(data=st.data(), wire=WIRES, laid=LAID, place=PLACES)
def test_any_run(
    kind: type, placed: bool, data: st.DataObject, wire: Conductor, laid: runs.Installation, place: runs.Place
) -> None:
    run = data.draw(KINDS[kind])
    check_all(run, wire, laid, place if placed else None)


# --- corners --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("corner", CORNERS)
def test_corner(corner: str) -> None:
    check_all(*CORNERS[corner])


def last(measure: str, corner: str) -> Step:
    return working(measure, *CORNERS[corner]).steps[-1]


@pytest.mark.parametrize(
    ("measure", "corner", "value", "reason"),
    [
        ("corner_khz", "no capacitance", math.inf, "no capacitance"),
        ("last_v", "lamps use up the voltage", math.nan, "would use up"),
        ("fuse_headroom_a", "lamps use up the voltage", math.nan, "would use up"),
        ("heat_a", "a feed that collapses on average draw", math.nan, "cannot be drawn"),
        ("temperature_c", "runs away", math.inf, "more heat is made than leaves"),
        ("temperature_c", "too hot", math.inf, "more heat is made than leaves"),
        ("fuse_headroom_a", "no fuse so large", -math.inf, "No standard fuse"),
    ],
)
def test_no_answer_says_why(measure: str, corner: str, value: float, reason: str) -> None:
    step = last(measure, corner)
    assert step.value == pytest.approx(value, nan_ok=True)
    assert reason in step.note


def test_a_temperature_without_a_current_ends_where_the_current_does() -> None:
    worked = working("temperature_c", *CORNERS["a feed that collapses on average draw"])
    assert math.isnan(worked.value)
    assert "cannot be drawn" in worked.steps[-2].note


# --- sources --------------------------------------------------------------------------------------------------


def inputs(worked: Working) -> Mapping[str, Input]:
    return {entry.symbol: entry for step in worked.steps for entry in step.inputs}


def test_sources_are_the_tables_own() -> None:
    wire = metric(16.0, METALS["cca_15"])
    put = inputs(working("fuse_headroom_a", FEED, wire, LAID_5M, CABIN))
    cca, insulation, zone = METALS["cca_15"], CABIN.insulation, ZONES["cabin"]
    assert (put["ρ"].origin, put["ρ"].confidence) == (cca.source, cca.confidence)
    assert (put["Tmax"].origin, put["Tmax"].confidence) == (insulation.source, insulation.confidence)
    assert (put["Ta"].origin, put["Ta"].confidence) == (zone.source, zone.confidence)
    assert put["η"].origin == supply.CLASSES["D"].source
    assert put["Rt"].origin.startswith("IEC 60228")
    assert put["Rt"].value == "1.21 Ω/km"
    assert put["F"].value == "60 A"
    assert "ISO 8820-3" in put["F"].origin
    assert put["I3"].origin.startswith("33 CFR 183.425")
    assert (put["P"].origin, put["P"].confidence) == ("entered", "")
    assert put["L"].value == "5 m"


@pytest.mark.parametrize(
    ("wire", "symbol", "origin", "value"),
    [
        (awg(-1), "g", "entered", "−1"),
        (awg(13.5), "g", "entered", "13.5"),
        (metric(16.0, METALS["tinned_copper"]), "Rt", "IEC 60228:2004 tables 2 and 3", "1.24 Ω/km"),
        (metric(0.5, table="ISO 6722-1"), "Rt", "ISO 6722-1", "37.1 Ω/km"),
        (metric(50.0, table="IEC 60228 class 2"), "Rt", "IEC 60228", "0.387 Ω/km"),
        (metric(2.5, METALS["copper"], STRANDINGS["solid"]), "k", "by definition", "1"),
        (CORNERS["a conductor of one's own"][1], "R20", "measured", "0.02 Ω/m"),
    ],
)
def test_where_a_conductors_resistance_is_from(wire: Conductor, symbol: str, origin: str, value: str) -> None:
    put = inputs(working("ohm_per_m", SPEAKER, wire, LAID_5M))[symbol]
    assert put.origin.startswith(origin)
    assert put.value == value


def test_defaults_are_told_from_entries() -> None:
    put = inputs(working("heat_a", SPEAKER, awg(16), LAID_5M))
    assert put["DF"].origin == "default: common practice, no source"
    assert "16 CFR 432.3(c)" in put["m"].origin
    assert put["n"].origin == "default"
    amplifier = Amplifier(power_w=50, rated_ohm=4, damping_factor=50)
    other = dataclasses.replace(SPEAKER, music_share=0.5, amplifier=amplifier)
    put = inputs(working("heat_a", other, awg(16), LAID_5M))
    assert [put[symbol].origin for symbol in ("DF", "m", "L")] == ["entered"] * 3


def test_a_length_in_feet_is_worked_out_from_the_feet_that_were_entered() -> None:
    worked = working("loop_ohm", SPEAKER, awg(16), runs.Installation(length_m=5.4864), feet=True)
    put = inputs(worked)
    assert (put["Lf"].value, put["Lf"].origin) == ("18 ft", "entered")
    assert "L" not in put
    assert any(step.filled == "18 × 0.3048" for step in worked.steps)
    assert worked.value == working("loop_ohm", SPEAKER, awg(16), runs.Installation(length_m=5.4864)).value


def test_as_few_digits_as_do() -> None:
    step = working("current_a", SPEAKER, awg(16), runs.Installation(length_m=5.5)).steps[-1]
    assert step.formula == "E / (Zs + Zw + ZL)"
    assert step.filled == "20.1 / (0.02 + 0.1478 + 4)"


@pytest.mark.parametrize("measure", ["margin_v", "temperature_c", "nonsense"])
def test_a_measure_that_the_run_has_not(measure: str) -> None:
    with pytest.raises(InputError, match="load_w"):
        working(measure, SPEAKER, awg(16), LAID_5M)


def test_a_run_of_an_unknown_kind() -> None:
    class Other:
        kind, drawn = "other", ("drop_v", "load_v")

        def measures(self, wire_ohm: Any, length_m: Any, load_ratio: Any = 1.0) -> runs.Measures:
            return {"drop_v": np.asarray(wire_ohm)}

    with pytest.raises(InputError, match="Other"):
        working("drop_v", Other(), awg(16), LAID_5M)
