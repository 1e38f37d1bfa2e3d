"""The shown formulas of a run over frequency, put back into complex arithmetic, give what wirecalc computed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.drawn_runs import LAID, SPEAKERS, WIRES, numbers
from tests.support.shown_formulas import proven
from wirecalc import runs
from wirecalc.circuits import line_level, response
from wirecalc.circuits.impedance_file import MeasuredImpedance
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import (
    Driver,
    HasImpedance,
    Wired,
    check_rated,
    closed_box,
    parallel_q,
    qes_with_wire,
    two_coils,
)
from wirecalc.circuits.source import Amplifier
from wirecalc.wire.conductor import awg
from wirecalc.wire.pair import DIELECTRICS, Pair
from wirecalc.workings.formula import Working
from wirecalc.workings.line import pickup_working, top_level
from wirecalc.workings.response import (
    OverFrequency,
    Provenance,
    furthest,
    furthest_hz,
    least,
    of_pair,
    own_q,
    q_with_wire,
    series_ohm,
    tone,
)
from wirecalc.workings.response import qes_working as worked_qes

DRIVERS = st.builds(
    Driver,
    re_ohm=numbers(0.5, 30),
    fs_hz=numbers(10, 3000),
    qes=numbers(0.1, 5),
    qms=numbers(0.5, 20),
    le_henry=st.one_of(st.just(0.0), numbers(1e-5, 1e-2)),
    semi=st.one_of(st.just(0.0), numbers(1e-3, 1)),
    semi_exponent=numbers(0.4, 1),
    vas_m3=numbers(1e-3, 1),
)
RESISTORS = st.builds(Load, ohm=numbers(0.5, 600), henry=st.one_of(st.just(0.0), numbers(1e-6, 1e-2)))


@st.composite
def made_drivers(draw: st.DrawFn) -> tuple[HasImpedance, Provenance]:
    """As the page makes them: a box, two coils, several alike."""
    entered = driver = replace(draw(DRIVERS), fs_hz=draw(numbers(10, 300)))
    box_m3 = draw(st.one_of(st.none(), numbers(1e-3, 1)))
    coils = draw(st.sampled_from(["only", "parallel", "series", "one"]))
    if box_m3 is not None:
        driver = closed_box(driver, box_m3)
    if coils != "only":
        driver = two_coils(driver, coils)
    row = Wired(parts=(driver,) * draw(st.integers(1, 3)), way="series")
    load = Wired(parts=(row,) * draw(st.integers(1, 3)), way="parallel")
    return load, Provenance(entered=entered, box_m3=box_m3, coils=coils)


@st.composite
def files(draw: st.DrawFn) -> tuple[HasImpedance, Provenance]:
    hz = np.geomspace(10, 40e3, draw(st.integers(2, 12)))
    size = st.lists(numbers(1, 100), min_size=len(hz), max_size=len(hz))
    phase = st.lists(st.floats(-89, 89), min_size=len(hz), max_size=len(hz))
    file = MeasuredImpedance(frequency_hz=hz, magnitude_ohm=np.array(draw(size)), phase_deg=np.array(draw(phase)))
    return file, Provenance("measured file door.csv")


LOADS = {
    "resistance": RESISTORS.map(lambda load: (load, Provenance())),
    "driver": DRIVERS.map(lambda load: (load, Provenance("a table", "invented"))),
    "made driver": made_drivers(),
    "file": files(),
    "unlike": st.tuples(RESISTORS, DRIVERS).map(lambda parts: (Wired(parts=parts, way="parallel"), Provenance())),
}


@st.composite
def over_frequency(draw: st.DrawFn, kind: str) -> OverFrequency:
    load, made = draw(LOADS[kind])
    run, laid, wire = draw(st.builds(runs.SpeakerRun, **SPEAKERS)), draw(LAID), draw(WIRES)
    wall_m = draw(st.one_of(st.none(), numbers(5e-5, 1e-2)))
    pair = Pair(
        conductor=wire,
        insulation=DIELECTRICS["pvc"],
        insulation_m=2e-4 + 0.08 * wire.diameter_m if wall_m is None else wall_m,
        gap_m=draw(st.one_of(st.just(0.0), numbers(1e-4, 1))),
    )
    hz = np.geomspace(20, 20e3, 25)
    level_db = response.level_db(
        run.amplifier, load, [pair], laid.length_m, hz, temperature_c=laid.temperature_c, parallel=laid.parallel,
        joints_ohm=laid.joints_ohm,
    )[0]  # fmt: skip
    return OverFrequency(
        run=run, pair=pair, wall_entered=wall_m is not None, laid=laid, load=load, load_name="a load", made=made,
        hz=hz, level_db=level_db,
    )  # fmt: skip


@pytest.mark.parametrize("kind", LOADS)
@settings(max_examples=tried(40))
@given(data=st.data())
def test_any_loudspeaker_run(kind: str, data: st.DataObject) -> None:
    over = data.draw(over_frequency(kind))
    want = response.in_band(over.hz, over.level_db)
    for work, value in ((furthest, want.worst_db), (furthest_hz, want.worst_hz), (tone, want.spread_db)):
        working = work(over)
        assert working.value == value
        proven(working)


@pytest.mark.parametrize("kind", ["driver", "made driver"])
@settings(max_examples=tried(40))
@given(data=st.data())
def test_any_q_with_wire(kind: str, data: st.DataObject) -> None:
    over = data.draw(over_frequency(kind))
    driver = over.load
    while isinstance(driver, Wired):
        driver = driver.parts[0]
    assert isinstance(driver, Driver)
    working = q_with_wire(over)
    proven(working)
    laid = replace(over.laid, ways=2)
    series = runs.wire_ohm([over.pair.conductor], laid)[0] + over.run.amplifier.output_ohm
    qes = qes_with_wire(driver.qes, float(over.load.impedance(0.0).real), series)
    assert working.value == pytest.approx(float(parallel_q(qes, driver.qms)), rel=1e-9)
    assert ("Qtc" in working.title) == (over.made.box_m3 is not None)
    for worked, value in (
        (series_ohm(over), series),
        (worked_qes(over), qes),
        (own_q(over, "qes"), driver.qes),
        (own_q(over, "qts"), driver.qts),
    ):
        proven(worked)
        assert worked.value == pytest.approx(float(value), rel=1e-9)


@pytest.mark.parametrize("kind", LOADS)
@settings(max_examples=tried(20))
@given(data=st.data(), feet=st.booleans())
def test_any_least_impedance_and_pair(kind: str, data: st.DataObject, feet: bool) -> None:
    over = replace(data.draw(over_frequency(kind)), feet=feet)
    rated = check_rated(over.load, abs(over.run.load_ohm))
    least_ohm = over.run.amplifier.least_load_ohm
    values = {
        "least_ohm": rated.least.ohm, "least_hz": rated.least.frequency_hz, "allowed_ohm": rated.allowed_ohm,
        "highest_rating_ohm": rated.highest_rating_ohm, "amplifier_ohm": least_ohm, "expects_ohm": 0.8 * least_ohm,
    }  # fmt: skip
    for which, value in values.items():
        working = least(over, which, rated)
        proven(working)
        assert working.value == pytest.approx(value, rel=1e-9)
    pair, warm_c = over.pair, over.laid.temperature_c
    sizes = {
        "henry": float(pair.henry_per_m(1e3, warm_c)) * 1e6, "farad": pair.farad_per_m * 1e12,
        "spacing": pair.spacing_m * 1e3, "wall": pair.insulation_m * 1e3,
    }  # fmt: skip
    for which, value in sizes.items():
        working = of_pair(over, which, 1e3)
        proven(working)
        assert working.value == pytest.approx(value, rel=1e-9)


@settings(max_examples=tried(40))
@given(
    ripple_a=numbers(0.01, 1000), ripple_hz=numbers(1, 1e6), along_m=numbers(0.01, 60), distance_m=numbers(1e-4, 10),
    spacing_m=numbers(1e-4, 1), pitch_m=numbers(1e-3, 10),
)  # fmt: skip
def test_any_pickup(**beside: float) -> None:
    want = line_level.pickup(*beside.values())
    for kind, volt in (("flat", want.parallel_v), ("twisted", want.twisted_v)):
        working = pickup_working(kind, **beside)
        proven(working)
        assert working.value == pytest.approx(float(volt) * 1e3)
        working = pickup_working(f"{kind}_db", **beside)
        proven(working)
        assert working.value == pytest.approx(-20 * np.log10(float(volt)))


@settings(max_examples=tried(30))
@given(
    run=st.builds(
        runs.LineRun,
        source_ohm=numbers(1, 1e5),
        input_ohm=st.one_of(st.just(np.inf), numbers(100, 1e7)),
        farad_per_m=st.one_of(st.just(0.0), numbers(1e-12, 1e-8)),
    ),
    wire=WIRES,
    laid=LAID,
)
def test_any_level_at_20_khz(run: runs.LineRun, wire: Any, laid: runs.Installation) -> None:
    working = top_level(run, wire, laid)
    proven(working)
    ohm = run.source_ohm + runs.wire_ohm([wire], laid)[0]
    want = line_level.low_pass(ohm, run.input_ohm, run.farad_per_m, laid.length_m)
    assert working.value == pytest.approx(float(want.level_db), rel=1e-9, abs=1e-12)


def ordinary(**other: Any) -> OverFrequency:
    run = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
    given_ = {
        "run": run,
        "laid": runs.Installation(length_m=5.5, ways=1),
        "load": Load(ohm=4.0),
        "made": Provenance(),
    } | other
    pair = Pair(conductor=awg(16), insulation=DIELECTRICS["pvc"], insulation_m=2e-4 + 0.08 * awg(16).diameter_m)
    hz = np.geomspace(20, 20e3, 31)
    level_db = response.level_db(run.amplifier, given_["load"], [pair], 5.5, hz)[0]
    return OverFrequency(pair=pair, wall_entered=False, load_name="the load", hz=hz, level_db=level_db, **given_)


def inputs(working: Working) -> dict[str, Any]:
    return {entry.symbol: entry for step in working.steps for entry in step.inputs}


def test_the_level_of_a_resistance_is_worked_out_with_complex_numbers() -> None:
    step = furthest(ordinary()).steps[-1]
    assert step.formula == "20 × log10(abs(Zs + ZL) / abs(Zs + Zw + ZL))"
    assert "0.02 + (0.158 + j × 0.3148) + 4)" in step.filled
    put = inputs(furthest(ordinary()))
    assert "of 31 frequencies in even steps of pitch, 20 to 20000 Hz" in put["f"].origin
    assert put["L"].value == "5.5 m"
    assert put["RL"].origin == "entered"


def test_where_a_load_is_from_is_said() -> None:
    driver = Driver(re_ohm=3.3, fs_hz=62, qes=0.72, qms=4.1)
    put = inputs(furthest(ordinary(load=driver, made=Provenance("a <table>", "invented"))))
    assert (put["fs"].origin, put["fs"].confidence) == ("a <table>", "invented")
    assert "Lc" not in put
    assert "K" not in put
    hz, size = np.array([10.0, 40e3]), np.array([4.0, 8.0])
    file = MeasuredImpedance(frequency_hz=hz, magnitude_ohm=size, phase_deg=np.array([0.0, 45.0]))
    put = inputs(furthest(ordinary(load=file, made=Provenance("measured file door.csv"))))
    assert put["Zq"].origin == "measured file door.csv"
    assert put["Zq"].value == "8 Ω"
