"""Every shown formula, with its numbers put back into arithmetic, is the number that `wirecalc.runs` computed."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.shown_formulas import FOUR_DIGITS, FUNCTIONS, arithmetic
from wirecalc import runs
from wirecalc.circuits import line_level, relay, supply
from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.circuits.device import BEHAVIOURS
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire import ampacity, fuse
from wirecalc.wire.conductor import (
    METALS,
    STRANDINGS,
    Conductor,
    Metal,
    awg,
    metric,
    metric_sizes_mm2,
    ohms_per_metre,
)
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES
from wirecalc.workings.formula import Input, Step, Working
from wirecalc.workings.measures import working

NEWTON_W_PER_M = 1e-6  # heat.py ends its steps at 1e-7 K; a metre of bundle takes less than 10 W/K

# --- what is held together ------------------------------------------------------------------------------------


def real(text: str) -> float:
    found = arithmetic(text)
    assert found.imag == 0, text
    return found.real


def proven(step: Step) -> None:
    """The filled-in text gives the step's value, or both sides of its balance agree."""
    said = f"{step.title}: {step.symbol}: {step.formula}: {step.filled}: {step.value}"
    if " > " in step.filled:
        made, leaves = map(real, step.filled.split(" > "))
        assert made > leaves, said
        assert math.isinf(step.value), said
        assert step.note, said
    elif " = " in step.filled:
        made, leaves = map(real, step.filled.split(" = "))
        assert made == pytest.approx(leaves, rel=2 * FOUR_DIGITS, abs=NEWTON_W_PER_M), said
    elif math.isnan(step.value):
        assert step.note or not step.filled, said
    else:
        assert real(step.filled) == pytest.approx(step.value, rel=FOUR_DIGITS, abs=1e-12), said


def check(found: Working, value: float) -> None:
    assert found.value == pytest.approx(value, rel=1e-12, nan_ok=True)
    known: set[str] = set()
    for step in found.steps:
        known |= {one.symbol for one in step.inputs}
        symbols = set(re.findall(r"[^\W\d]\w*", re.sub("[²³⁻⁰-⁹]", "", step.formula))) - {"π", *FUNCTIONS}
        balance = {step.symbol} if " = " in step.formula else set()
        assert symbols <= known | balance | {"Tc", "Ib"}, (step.formula, symbols - known)
        known.add(step.symbol)
        assert all(one.name and one.origin and one.value for one in step.inputs)
        assert step.source or step.formula in known, step
        proven(step)
    last = found.steps[-1]
    assert not math.isnan(last.value) or any(step.note for step in found.steps), found
    if last.symbol == "ΔI":  # the fuse that was looked up is the one that the step before asks for
        least = next(step.value for step in found.steps if step.symbol == "If")
        carry = [rating for rating in fuse.RATINGS_A if rating >= least * (1 - 1e-9)]
        allowed_a = next(step.value for step in found.steps if step.symbol == "Iz")
        assert value == pytest.approx(allowed_a - min(carry, default=math.inf), abs=1e-6)
    if math.isfinite(value):
        assert (last.value, last.unit) == (found.value, found.unit)
    else:
        assert any(step.note for step in found.steps), found


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
    found = {name: float(value[0]) for name, value in values.items()}
    for name, worth in told_only(run, wire, laid, place, found).items():
        told = working(name, run, wire, laid, place, feet=True)
        assert told.value == pytest.approx(worth, rel=1e-6, abs=1e-9, nan_ok=True), name  # found by the formula itself
        check(told, told.value)
    return set(values)


def told_only(
    run: runs.Run, wire: Conductor, laid: runs.Installation, place: runs.Place | None, found: Mapping[str, float]
) -> dict[str, float]:
    """Numbers that sentences say and no measure is, each computed by what the sentence is made with."""
    more = {"ohm_per_ft": found["ohm_per_m"] * 0.3048}
    if "drop_fraction" in found:
        more["drop_percent"] = 100 * found["drop_fraction"]
    if isinstance(run, runs.LineRun):
        more["middle_db"] = -found["loss_db"]
    if isinstance(run, runs.RelayRun):
        more |= {"needed_v": found["load_v"] - found["margin_v"], "short_v": -found["margin_v"]}
    if isinstance(run, runs.LampRun) and math.isfinite(found["last_v"]):
        more["last_percent"] = 100 * found["last_v"] / found["load_v"]
    if isinstance(run, runs.FeedRun):
        drawn = supply.draw(run.rated_w, run.amplifier_class, share=run.music_share, supply_v=run.full_power_v)
        most = supply.constant_power(run.supply_v, found["loop_ohm"], drawn.power_w).most_w
        more |= {"average_w": float(drawn.power_w), "most_w": float(most), "most_v": run.supply_v / 2}
    if place is None:
        return more
    allowed = ampacity.allowable(insulated([wire], place.insulation), place.ambient_c, place.loaded)
    more |= {"published_a": float(allowed.published_a[0]), "balance_a": float(allowed.balance_a[0])}
    more |= {"ambient_c": place.ambient_c, "damage_c": place.insulation.damage_c}
    more["own_loaded"] = laid.ways * laid.parallel
    if math.isfinite(found.get("draw_a", math.nan)):
        each_a = found["draw_a"] / laid.parallel
        choice = fuse.choose_fuse(each_a, found["allowable_a"])
        more |= {"each_a": each_a, "loading_percent": 80, "largest_fuse_a": float(fuse.RATINGS_A[-1])}
        more["largest_draw_a"] = 0.8 * fuse.RATINGS_A[-1]
        if math.isfinite(choice.wire_must_allow_a):
            more["fuse_a"] = choice.wire_must_allow_a
        if choice.draw_at_most_a:
            more["draw_at_most_a"] = choice.draw_at_most_a
    return more


# --- any run, any wire, anywhere ------------------------------------------------------------------------------


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Evenly over the decades, written with few digits as a person types them, or with all."""
    every = st.floats(math.log(low), math.log(high)).map(math.exp)
    typed = every.map(lambda number: min(max(float(f"{number:.3g}"), low), high))
    return st.one_of(typed, every)


METAL = st.sampled_from(list(METALS.values()))
STRANDING = st.sampled_from(list(STRANDINGS.values()))
MUSIC = st.one_of(st.just(0.125), numbers(0.01, 1))
WIRES = st.one_of(
    st.builds(awg, st.integers(-3, 40), METAL, STRANDING),
    st.builds(awg, st.floats(-3, 40), METAL, STRANDING),
    st.sampled_from(["IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1"]).flatmap(
        lambda table: st.builds(metric, st.sampled_from(metric_sizes_mm2(table)), METAL, STRANDING, st.just(table))
    ),
)
LAID = st.builds(
    runs.Installation,
    length_m=numbers(0.1, 60),
    temperature_c=st.one_of(st.just(20.0), st.floats(-40, 150)),
    parallel=st.integers(1, 4),
    joints_ohm=st.one_of(st.just(0.0), numbers(1e-4, 0.5)),
    ways=st.sampled_from([1, 2]),
)
PLACES = st.builds(
    runs.Place,
    insulation=st.sampled_from(list(INSULATIONS.values())),
    ambient_c=st.one_of(st.sampled_from([zone.ambient_c for zone in ZONES.values()]), st.floats(-40, 120)),
    loaded=st.integers(1, 100),
)
VOLTS = numbers(6, 58)
SPEAKERS = {
    "amplifier": st.builds(
        Amplifier, power_w=numbers(1, 5000), rated_ohm=numbers(0.5, 16), damping_factor=numbers(2, 5000)
    ),
    "load_ohm": st.one_of(
        numbers(0.5, 600), st.builds(complex, numbers(0.5, 600), st.one_of(st.just(0.0), st.floats(-600, 600)))
    ),
    "music_share": MUSIC,
}
KINDS: dict[type, st.SearchStrategy[Any]] = {
    runs.SpeakerRun: st.builds(runs.SpeakerRun, **SPEAKERS),
    runs.SubwooferRun: st.builds(runs.SubwooferRun, **SPEAKERS),
    runs.LineRun: st.builds(
        runs.LineRun,
        source_ohm=numbers(1, 1e5),
        input_ohm=st.one_of(st.just(math.inf), numbers(100, 1e7)),
        farad_per_m=st.one_of(st.sampled_from(list(line_level.CABLE_FARAD_PER_M.values())), numbers(1e-12, 1e-8)),
    ),
    runs.TurnOnRun: st.builds(
        runs.TurnOnRun, draw_a=numbers(0.001, 20), supply_v=VOLTS, limit_a=numbers(0.1, 1), least_v=numbers(6, 12)
    ),
    runs.RelayRun: st.builds(
        runs.RelayRun,
        relay=st.one_of(
            st.just(relay.USUAL_12V),
            st.builds(relay.Relay, coil_ohm=numbers(1, 5000), pull_in_v=numbers(3, 20), drop_out_v=numbers(0.1, 2)),
        ),
        supply_v=st.one_of(st.just(relay.LEAST_SUPPLY_V), VOLTS),
        coil_c=st.floats(-40, 180),
    ),
    runs.LampRun: st.builds(
        runs.LampRun,
        supply_v=VOLTS,
        strip_m=numbers(0.1, 20),
        amps_per_m=numbers(0.01, 5),
        strip_ohm_per_m=numbers(0.001, 1),
        both_ends=st.booleans(),
        lamps=st.sampled_from(["constant current", "resistive"]),
    ),
    runs.FeedRun: st.builds(
        runs.FeedRun,
        rated_w=numbers(10, 10_000),
        amplifier_class=st.sampled_from(list(supply.CLASSES.values())),
        supply_v=VOLTS,
        regulated=st.booleans(),
        full_power_v=st.one_of(st.just(supply.TEST_SUPPLY_V), numbers(8, 50)),
        music_share=MUSIC,
    ),
}
KINDS[runs.DeviceRun] = st.builds(
    runs.DeviceRun,
    rated_a=numbers(0.05, 200),
    supply_v=VOLTS,
    behaviour=st.sampled_from(BEHAVIOURS),
    nominal_v=st.one_of(st.just(12.0), numbers(6, 48)),
    inrush_ratio=st.one_of(st.just(1.0), numbers(1, 10)),
    inrush_s=st.one_of(st.just(0.0), numbers(0.005, 5)),
    critical=st.booleans(),
)


def test_every_kind_is_drawn() -> None:
    assert {kind for kind in vars(runs).values() if isinstance(kind, type) and hasattr(kind, "measures")} == {
        *KINDS,
        runs.Run,
    }


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("placed", [False, True], ids=["plain", "with heat"])
@settings(max_examples=20, deadline=None, derandomize=True)
@given(data=st.data(), wire=WIRES, laid=LAID, place=PLACES)
def test_any_run(
    kind: type, placed: bool, data: st.DataObject, wire: Conductor, laid: runs.Installation, place: runs.Place
) -> None:
    run = data.draw(KINDS[kind])
    check_all(run, wire, laid, place if placed else None)


# --- corners --------------------------------------------------------------------------------------------------

SPEAKER = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
TONE = runs.SpeakerRun(amplifier=Amplifier(power_w=2000, rated_ohm=4), load_ohm=4, music_share=1.0)
FEED = runs.FeedRun(rated_w=500, amplifier_class=supply.CLASSES["D"], supply_v=14.4)
LAID_5M = runs.Installation(length_m=5)
CABIN = runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=45)
OWN = Metal(key="own", name="own alloy", ohm_m_20c=5e-8, per_k_20c=0.003, kg_per_m3=8000)


def placed(**more: Any) -> runs.Place:
    return dataclasses.replace(CABIN, **more)


CORNERS = {
    "no capacitance": (
        runs.LineRun(source_ohm=200, input_ohm=1e4, farad_per_m=0.0), awg(24), LAID_5M, None,
    ),
    "lamps use up the voltage": (
        runs.LampRun(supply_v=12, strip_m=20, amps_per_m=2, strip_ohm_per_m=0.1), awg(18), LAID_5M, CABIN,
    ),
    "a feed that collapses on average draw": (
        dataclasses.replace(FEED, rated_w=10_000, music_share=1.0), awg(18), LAID_5M, CABIN,
    ),
    "regulated, voltage held": (dataclasses.replace(FEED, regulated=True, full_power_v=11), awg(4), LAID_5M, CABIN),
    "regulated, voltage not held": (dataclasses.replace(FEED, regulated=True), awg(4), LAID_5M, CABIN),
    "too hot": (TONE, awg(20), LAID_5M, CABIN),
    "runs away": (TONE, awg(18), LAID_5M, placed(loaded=100)),
    "air hotter than the insulation may be": (FEED, awg(4), LAID_5M, placed(ambient_c=90.0)),
    "air as hot as the insulation may be": (FEED, awg(4), LAID_5M, placed(ambient_c=80.0)),
    "no fuse so large": (
        dataclasses.replace(FEED, rated_w=8000), awg(-3), runs.Installation(length_m=1, ways=1), CABIN
    ),
    "a bundle past the list": (FEED, awg(4), LAID_5M, placed(loaded=40)),
    "thinner than the table": (SPEAKER, awg(24), LAID_5M, CABIN),
    "thicker than the table": (SPEAKER, metric(120.0), LAID_5M, CABIN),
    "a conductor of one's own": (
        SPEAKER,
        Conductor(label="own", area_m2=3e-6, ohm_per_m_20c=0.02, metal=OWN, stranding=STRANDINGS["fine"],
                  source="measured"),
        LAID_5M,
        CABIN,
    ),
    "a purely reactive load": (dataclasses.replace(SPEAKER, load_ohm=-4j), awg(16), LAID_5M, CABIN),
    "side by side": (FEED, awg(8), runs.Installation(length_m=5, parallel=3, ways=1), CABIN),
    "everything is lost": (
        runs.TurnOnRun(draw_a=20, supply_v=12, limit_a=20, least_v=9), awg(40), runs.Installation(length_m=50), None,
    ),
    "almost everything is lost": (
        runs.TurnOnRun(draw_a=1.0, supply_v=5, limit_a=20, least_v=4), awg(20),
        runs.Installation(length_m=1, joints_ohm=4.9999 - 2 * awg(20).ohm_per_m_20c), None,
    ),
}  # fmt: skip


@pytest.mark.parametrize("corner", CORNERS)
def test_corner(corner: str) -> None:
    check_all(*CORNERS[corner])


def last(measure: str, corner: str) -> Step:
    return working(measure, *CORNERS[corner]).steps[-1]


@pytest.mark.parametrize(
    ("measure", "corner", "value", "said"),
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
def test_no_answer_says_why(measure: str, corner: str, value: float, said: str) -> None:
    step = last(measure, corner)
    assert step.value == pytest.approx(value, nan_ok=True)
    assert said in step.note


def test_a_temperature_without_a_current_ends_where_the_current_does() -> None:
    found = working("temperature_c", *CORNERS["a feed that collapses on average draw"])
    assert math.isnan(found.value)
    assert "cannot be drawn" in found.steps[-2].note


# --- sources --------------------------------------------------------------------------------------------------


def inputs(found: Working) -> Mapping[str, Input]:
    return {one.symbol: one for step in found.steps for one in step.inputs}


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
    found = working("loop_ohm", SPEAKER, awg(16), runs.Installation(length_m=5.4864), feet=True)
    put = inputs(found)
    assert (put["Lf"].value, put["Lf"].origin) == ("18 ft", "entered")
    assert "L" not in put
    assert any(step.filled == "18 × 0.3048" for step in found.steps)
    assert found.value == working("loop_ohm", SPEAKER, awg(16), runs.Installation(length_m=5.4864)).value


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
