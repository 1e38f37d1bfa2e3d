"""Runs, wires and places drawn at random, and the corners of what a run can be, for whatever shows a formula."""

from __future__ import annotations

import dataclasses
import math
import re
from typing import Any, Literal

import pytest
from hypothesis import strategies as st

from tests.support.shown_formulas import FOUR_DIGITS, FUNCTIONS, arithmetic, each_symbol_is_one_thing
from wirecalc import runs
from wirecalc.circuits import line_level, relay, supply
from wirecalc.circuits.device import BEHAVIOURS
from wirecalc.circuits.source import Amplifier
from wirecalc.wire import fuse
from wirecalc.wire.conductor import (
    METALS,
    STRANDINGS,
    Conductor,
    Metal,
    awg,
    metric,
    metric_sizes_mm2,
)
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES
from wirecalc.workings.formula import Step, Working

NEWTON_W_PER_M = 1e-6  # heat.py ends its steps at 1e-7 K; a metre of bundle takes less than 10 W/K
GRASHOF = 1e-6  # of a surface as warm as the air to the last digit; 100 and more where heat is given off


def real(text: str) -> float:
    number = arithmetic(text)
    assert number.imag == 0, text
    return number.real


def proven(step: Step) -> None:
    """The filled-in text gives the step's value, or both sides of its balance agree."""
    step_text = f"{step.title}: {step.symbol}: {step.formula}: {step.filled}: {step.value}"
    if " > " in step.filled:
        made, leaves = map(real, step.filled.split(" > "))
        assert made > leaves, step_text
        assert math.isinf(step.value), step_text
        assert step.note, step_text
    elif " = " in step.filled:
        made, leaves = map(real, step.filled.split(" = "))
        assert made == pytest.approx(leaves, rel=2 * FOUR_DIGITS, abs=NEWTON_W_PER_M), step_text
    elif math.isnan(step.value):
        assert step.note or not step.filled, step_text
    else:
        small = GRASHOF if step.symbol == "Gr" else 1e-12
        assert real(step.filled) == pytest.approx(step.value, rel=FOUR_DIGITS, abs=small), step_text


def check(worked: Working, value: float) -> None:
    assert worked.value == pytest.approx(value, rel=1e-12, nan_ok=True)
    each_symbol_is_one_thing(worked)
    known: set[str] = set()
    for step in worked.steps:
        known |= {entry.symbol for entry in step.inputs}
        symbols = set(re.findall(r"[^\W\d]\w*", re.sub("[²³⁻⁰-⁹]", "", step.formula))) - {"π", *FUNCTIONS}
        balance = {step.symbol} if " = " in step.formula else set()
        assert symbols <= known | balance | {"Tc", "Ib"}, (step.formula, symbols - known)
        known.add(step.symbol)
        assert all(entry.name and entry.origin and entry.value for entry in step.inputs)
        assert step.source or step.formula in known, step
        proven(step)
    last = worked.steps[-1]
    assert not math.isnan(last.value) or any(step.note for step in worked.steps), worked
    if last.symbol == "ΔI":  # the fuse that was looked up is the one that the step before asks for
        least = next(step.value for step in worked.steps if step.symbol == "If")
        carry = [rating for rating in fuse.USUAL_RATINGS_A if rating >= least * (1 - 1e-9)]
        allowed_a = next(step.value for step in worked.steps if step.symbol == "Iz")
        assert value == pytest.approx(allowed_a - min(carry, default=math.inf), abs=1e-6)
    if math.isfinite(value):
        assert (last.value, last.unit) == (worked.value, worked.unit)
    else:
        assert any(step.note for step in worked.steps), worked


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Evenly over the decades, written with few digits as a person types them, or with all."""
    every = st.floats(math.log(low), math.log(high)).map(lambda power: min(max(math.exp(power), low), high))
    typed = every.map(lambda number: min(max(float(f"{number:.3g}"), low), high))
    return st.one_of(typed, every)


METAL = st.sampled_from(list(METALS.values()))
STRANDING = st.sampled_from(list(STRANDINGS.values()))
MUSIC = st.one_of(st.just(0.125), numbers(0.01, 1))
METRIC_TABLES: tuple[Literal["IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1"], ...] = (
    "IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1",
)  # fmt: skip
WIRES = st.one_of(
    st.builds(awg, st.integers(-3, 40), METAL, STRANDING),
    st.builds(awg, st.floats(-3, 40), METAL, STRANDING),
    st.sampled_from(METRIC_TABLES).flatmap(
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
    runs.FactoryRun: st.builds(
        runs.FactoryRun,
        amplifier=st.builds(
            Amplifier, power_w=numbers(1, 200), rated_ohm=numbers(1, 16), damping_factor=numbers(2, 5000)
        ),
        input_ohm=numbers(20, 1e7),
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
    "a coil colder than 20 °C, over the supply that lasts": (
        runs.RelayRun(relay=relay.Relay(coil_ohm=90.0, pull_in_v=8.0, drop_out_v=1.2), supply_v=56.3, coil_c=0.0),
        awg(18), LAID_5M, CABIN,
    ),
    "everything is lost": (
        runs.TurnOnRun(draw_a=20, supply_v=12, limit_a=20, least_v=9), awg(40), runs.Installation(length_m=50), None,
    ),
    "almost everything is lost": (
        runs.TurnOnRun(draw_a=1.0, supply_v=5, limit_a=20, least_v=4), awg(20),
        runs.Installation(length_m=1, joints_ohm=4.9999 - 2 * awg(20).ohm_per_m_20c), None,
    ),
}  # fmt: skip
