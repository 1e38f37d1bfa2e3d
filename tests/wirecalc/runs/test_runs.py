"""Each kind of run hands its inputs to the right model, and every measure has a name and a shape."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import wirecalc
from wirecalc import runs
from wirecalc.circuits import line_level, relay, strip, supply
from wirecalc.circuits.circuit import compare
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.runs.choose import LIMITS
from wirecalc.runs.tolerance import Uncertain, monte_carlo, run_inputs
from wirecalc.wire import ampacity, heat
from wirecalc.wire.conductor import METALS, awg, conductor
from wirecalc.wire.insulation import INSULATIONS, insulated

AMPLIFIER = Amplifier(power_w=100, rated_ohm=4)
PLACE = runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=45.0)
RUNS: dict[str, runs.Run] = {
    "speaker": runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0),
    "subwoofer": runs.SubwooferRun(amplifier=AMPLIFIER, load_ohm=2.0, music_share=1.0),
    "line": runs.LineRun(source_ohm=200.0, input_ohm=10e3, farad_per_m=100e-12),
    "factory": runs.FactoryRun(amplifier=Amplifier(power_w=18, rated_ohm=4), input_ohm=1000.0),
    "turn-on": runs.TurnOnRun(draw_a=0.15, supply_v=12.0, limit_a=0.3, least_v=9.0),
    "relay": runs.RelayRun(relay=relay.USUAL_12V, supply_v=10.5, coil_c=85.0),
    "lamp": runs.LampRun(supply_v=12.6, strip_m=3.0, amps_per_m=0.4, strip_ohm_per_m=0.1),
    "lamp, both ends": runs.LampRun(supply_v=12.6, strip_m=3.0, amps_per_m=0.4, strip_ohm_per_m=0.1, both_ends=True),
    "filaments": runs.LampRun(supply_v=12.6, strip_m=3.0, amps_per_m=0.4, strip_ohm_per_m=0.1, lamps="resistive"),
    "feed": runs.FeedRun(rated_w=500.0, amplifier_class=supply.CLASSES["D"], supply_v=14.4),
    "feed, regulated": runs.FeedRun(
        rated_w=500.0, amplifier_class=supply.CLASSES["AB"], supply_v=12.6, regulated=True, full_power_v=11.0
    ),
    "device": runs.DeviceRun(rated_a=10.0, supply_v=12.6, inrush_ratio=3.0, inrush_s=0.2),
    "device, constant power": runs.DeviceRun(rated_a=4.0, supply_v=12.6, behaviour="constant power", critical=True),
    "device, resistance": runs.DeviceRun(rated_a=9.0, supply_v=12.6, behaviour="resistance", inrush_ratio=8.0),
}
ANY_RUN = pytest.mark.parametrize("run", RUNS.values(), ids=RUNS)
SIZES = [awg(n) for n in (12, 8, 4)]


@ANY_RUN
def test_every_measure_is_named_and_broadcast(run: runs.Run) -> None:
    laid = runs.Installation(length_m=5.0)
    lengths = np.linspace(1, 8, 4)
    measures = run.measures(runs.wire_ohm(SIZES, laid, lengths), lengths)
    assert set(measures) <= set(runs.MEASURES)
    assert set(run.drawn) <= set(measures)
    for name, value in measures.items():
        assert np.broadcast_to(value, (3, 4)).shape == (3, 4), name
        assert np.isfinite(value).all(), name


@ANY_RUN
def test_the_limits_of_its_kind_can_be_judged(run: runs.Run) -> None:
    laid = runs.Installation(length_m=5.0)
    ohm = runs.wire_ohm(SIZES, laid)
    plain = {name: np.broadcast_to(value, ohm.shape) for name, value in run.measures(ohm, 5.0).items()}
    heated = runs.with_heat(plain, SIZES, laid, PLACE)
    for limit in LIMITS[run.kind]:
        assert limit.measure in heated
        if isinstance(limit.bound, str):
            assert limit.bound in heated


@ANY_RUN
@given(st.floats(0.001, 0.5), st.floats(1.01, 3))
def test_more_resistance_never_gives_more(run: runs.Run, ohm: float, more: float) -> None:
    thin, thick = (run.measures(np.array(x), 5.0) for x in (ohm * more, ohm))
    for name in ("load_v", "last_v", "load_w", "output_w", "margin_v", "damping_factor"):
        if name in thin and np.isfinite(thin[name]):
            assert thin[name] <= thick[name] * (1 + 1e-12) + 1e-12, name
    for name in ("loss_db", "treble_loss_db"):
        if name in thin:
            assert thin[name] >= thick[name] - 1e-12, name


def test_speaker_is_the_circuit_and_heats_with_music() -> None:
    laid = runs.Installation(length_m=5.0, temperature_c=60.0, parallel=2, joints_ohm=0.01)
    measures = RUNS["speaker"].measures(runs.wire_ohm(SIZES, laid), 5.0)
    out = compare(AMPLIFIER, 4.0, SIZES, 5.0, temperature_c=60.0, parallel=2, joints_ohm=0.01)
    for ours, theirs in (("load_w", "load_w"), ("wire_w", "wire_w"), ("drop_v", "drop_v"), ("current_a", "current_a")):
        np.testing.assert_array_equal(measures[ours], getattr(out, theirs))
    np.testing.assert_array_equal(measures["loss_db"], -out.level_db)
    np.testing.assert_allclose(measures["heat_a"], out.current_a / np.sqrt(8))  # 16 CFR 432.3(c): one-eighth


def test_line_relay_lamp_and_feed_are_their_modules() -> None:
    ohm = np.array([0.1, 0.4])
    line = RUNS["line"].measures(ohm, 5.0)
    low = line_level.low_pass(200.0 + ohm, 10e3, 100e-12, 5.0)
    np.testing.assert_array_equal(line["loss_db"], -low.middle_db)
    np.testing.assert_array_equal(line["treble_loss_db"], -low.treble_db)
    coil = RUNS["relay"].measures(ohm, 5.0)
    np.testing.assert_array_equal(coil["margin_v"], relay.pull(relay.USUAL_12V, ohm, 85.0, supply_v=10.5).margin_v)
    lamps = RUNS["lamp, both ends"].measures(ohm, 5.0)
    both = strip.Strip(
        supply_v=12.6, length_m=3.0, amps_per_m=0.4, loop_ohm_per_m=0.1, near_feed_ohm=ohm, far_feed_ohm=ohm
    )
    np.testing.assert_array_equal(lamps["last_v"], strip.lit(both).least_v)
    feed = RUNS["feed"].measures(ohm / 100, 5.0)
    fed = supply.fed(14.4, ohm / 100, 500 / 0.8, regulated=False, full_power_v=14.4)
    np.testing.assert_allclose(feed["loss_db"], -fed.level_db)
    np.testing.assert_allclose(feed["output_w"], 500 * fed.output_ratio)


@pytest.mark.parametrize(
    ("power_w", "input_ohm", "wire_ohm", "milliamperes", "volts"),
    # V = sqrt(P R) = 8.485 V behind next to nothing, by Ohm's law: hand sums
    [(18.0, 1000.0, 0.0, 8.485, 8.485), (18.0, 100.0, 1.0, 84.01, 8.401), (50.0, 20000.0, 0.5, 0.7071, 14.142)],
)
def test_a_factory_signal_is_milliamperes(
    power_w: float, input_ohm: float, wire_ohm: float, milliamperes: float, volts: float
) -> None:
    stiff = Amplifier(power_w=power_w, rated_ohm=4, damping_factor=1e5)
    measures = runs.FactoryRun(amplifier=stiff, input_ohm=input_ohm).measures(wire_ohm, 3.0)
    assert float(measures["signal_ma"]) == pytest.approx(milliamperes, rel=1e-4)
    assert float(measures["load_v"]) == pytest.approx(volts, rel=1e-4)
    lost_db = -line_level.speaker_level_loss_db(4e-5, wire_ohm, input_ohm)
    assert float(measures["loss_db"]) == pytest.approx(float(lost_db), rel=1e-9)


# a divider of two like impedances halves: 20 log10(2) = 6.02 dB, by hand; 1 kohm of wire on 10.2 kohm is 0.81 dB
@pytest.mark.parametrize(
    ("source_ohm", "input_ohm", "wire_ohm", "told", "ends"),
    [
        (600.0, 600.0, 0.02, "The cable itself loses 0 dB", "take 6.0 dB with any cable"),
        (200.0, 10e3, 0.5, "The cable itself loses 0 dB", ""),
        (200.0, 10e3, 1000.0, "The cable itself loses 0.81 dB", ""),
    ],
)
def test_what_a_cable_loses_is_not_what_its_ends_lose(
    source_ohm: float, input_ohm: float, wire_ohm: float, told: str, ends: str
) -> None:
    run = runs.LineRun(source_ohm=source_ohm, input_ohm=input_ohm, farad_per_m=1e-10)
    here = {name: float(value) for name, value in run.measures(wire_ohm, 0.1).items()}
    text = run.sentence(here, "24 AWG", runs.Installation(length_m=0.1), wire_ohm)
    assert text.startswith(told)
    assert ("plainly quieter" in text) is False
    assert ends in text
    assert ("with any cable" in text) == bool(ends)


def test_what_matters_of_a_factory_signal_is_said() -> None:
    run = RUNS["factory"]
    here = {name: float(value) for name, value in run.measures(0.1, 3.0).items()}
    text = " ".join((run.sentence(here, "18 AWG", runs.Installation(length_m=3.0), 0.1), *run.cautions(here)))
    for words in ("8.5", "size hardly matters", "to ground", "+ and −", "resistor", "Twist", "lead of its own"):
        assert words in text, words
    assert "no thinner than 18 AWG for handling" in run.no_gauge("18 AWG")
    with pytest.raises(InputError, match="20"):
        runs.FactoryRun(amplifier=AMPLIFIER, input_ohm=4.0)


def test_turn_on_uses_up_no_more_than_there_is() -> None:
    measures = RUNS["turn-on"].measures(np.array([1.0, 1000.0]), 5.0)
    np.testing.assert_allclose(measures["drop_v"], [0.15, 12.0])
    np.testing.assert_allclose(measures["load_v"], [11.85, 0.0])


def test_a_feed_with_no_solution_is_nan_not_a_number() -> None:
    hard = runs.FeedRun(rated_w=2000.0, amplifier_class=supply.CLASSES["A"], supply_v=12.0, music_share=1.0)
    measures = hard.measures(np.array([0.001, 0.05]), 5.0)
    assert np.isfinite(measures["heat_a"][0])
    assert np.isnan(measures["heat_a"][1])
    laid = runs.Installation(length_m=5.0)
    hot = runs.with_heat(measures, SIZES[:2], laid, PLACE)
    assert np.isnan(hot["temperature_c"][1])


def test_heat_and_fuse_are_per_conductor() -> None:
    feed, laid = RUNS["feed"], runs.Installation(length_m=3.0, parallel=2)
    ohm = runs.wire_ohm(SIZES, laid)
    plain = {name: np.broadcast_to(value, ohm.shape) for name, value in feed.measures(ohm, 3.0).items()}
    heated = runs.with_heat(plain, SIZES, laid, PLACE)
    wires = insulated(SIZES, PLACE.insulation)
    np.testing.assert_allclose(heated["temperature_c"], heat.temperature_c(wires, plain["heat_a"] / 2, 45.0, 2))
    allowed = ampacity.allowable(wires, 45.0, 2).current_a
    np.testing.assert_allclose(heated["allowable_a"], allowed)
    fuse_a = heated["allowable_a"] - heated["fuse_headroom_a"]
    assert np.all(fuse_a >= plain["draw_a"] / 2 / 0.8 - 1e-9)


@ANY_RUN
def test_a_spread_of_nothing_is_the_point(run: runs.Run) -> None:
    laid = runs.Installation(length_m=5.0, temperature_c=40.0, joints_ohm=0.003)
    inputs = {
        name: Uncertain(value=entry.value, spread=0.0, low=entry.low, high=entry.high)
        for name, entry in run_inputs(5.0, 40.0, 0.003).items()
    }
    measure = run.drawn[0]
    spread = monte_carlo(runs.model(run, SIZES[1], laid), inputs, [measure], draws=200)
    point = run.measures(runs.wire_ohm(SIZES[1:2], laid), 5.0)[measure]
    assert spread.bands[measure].middle == pytest.approx(float(np.broadcast_to(point, (1,))[0]), rel=1e-12)


@given(st.sampled_from(sorted(METALS)), st.floats(0.2, 20), st.floats(-40, 120))
def test_wire_ohm_is_the_same_for_one_length_and_for_many(metal: str, length_m: float, celsius: float) -> None:
    pair = [conductor("AWG", 14.0, METALS[metal]), conductor("mm2", 2.5, METALS[metal])]
    laid = runs.Installation(length_m=length_m, temperature_c=celsius, joints_ohm=0.001)
    np.testing.assert_allclose(runs.wire_ohm(pair, laid, [length_m, 2 * length_m])[:, 0], runs.wire_ohm(pair, laid))


@pytest.mark.parametrize(
    "bad",
    [
        lambda: runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=0.0),
        lambda: runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0, music_share=0.0),
        lambda: runs.TurnOnRun(draw_a=-1, supply_v=12, limit_a=0.3, least_v=9),
        lambda: runs.Place(insulation=PLACE.insulation, ambient_c=np.nan),
        lambda: runs.Place(insulation=PLACE.insulation, ambient_c=20, loaded=0),
    ],
)
def test_what_cannot_be_is_refused_when_it_is_made(bad) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError):
        bad()


def test_a_cameras_picture_is_no_sound() -> None:
    """It was told to take a source of lower impedance: 75 ohm into 75 ohm is how a picture is sent."""
    picture = wirecalc.line_run("75 ohm", "75 ohm", "7 m")
    assert "coaxial cable of 75 Ω" in wirecalc.choose(picture).cautions[0]
    assert "lower impedance" not in picture.words
    sound = wirecalc.line_run("10 kohm", "10 kohm", "7 m")
    assert "the level loss is 6.02 dB against 0.4: a source of lower impedance" in wirecalc.choose(sound).words
    assert "Nobody hears that" not in sound.words  # 0.77 dB of treble
    assert "coaxial" not in sound.words
