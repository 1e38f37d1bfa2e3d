from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc import tables
from wirecalc.circuits.supply import (
    CLASSES,
    MUSIC_SHARE,
    AmplifierClass,
    constant_power,
    draw,
    fed,
    output_ratio,
)
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)

VOLTS, OHMS, WATTS = st.floats(6, 60), st.floats(1e-4, 1), st.floats(1, 5000)


# --- draw --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "share", "efficiency", "source"),
    [
        ("B", 1, math.pi / 4, "textbook theory, sine at full swing; from memory"),
        ("B", 1 / 4, math.pi / 8, "the same: in proportion to the output voltage"),
        ("A", 1, 1 / 2, "textbook theory, the most of class A; from memory"),
        ("A", 1 / 8, 1 / 16, "the same: its draw is constant"),
        ("D", 1 / 8, CLASSES["D"].efficiency, "losses in proportion to the output"),
    ],
)
def test_efficiency_by_theory(key, share, efficiency, source):
    assert draw(400, CLASSES[key], share=share).efficiency == pytest.approx(efficiency, rel=1e-12), source


def test_class_b_theory_from_the_wave_itself():
    # the mean of the supply current over one cycle of a sine, rails of 1 V, swing of s V, load of 1 ohm
    phase = (np.arange(4000) + 0.5) * 2 * np.pi / 4000
    for swing in (1.0, 0.5, 8**-0.5):
        wave = swing * np.sin(phase)
        by_wave = np.mean(wave**2) / np.mean(np.abs(wave))
        assert draw(1, CLASSES["B"], share=swing**2).efficiency == pytest.approx(by_wave, rel=1e-6)


def test_music_is_one_eighth_of_rated_power():
    # 16 CFR 432.3(c), read
    assert MUSIC_SHARE == 0.125
    by_default, by_hand = draw(600, CLASSES["D"], idle_a=0.9), 600 / 8 / CLASSES["D"].efficiency + 0.9 * 14.4
    assert by_default.power_w == pytest.approx(by_hand, rel=1e-12)
    assert by_default.current_a == pytest.approx(by_hand / 14.4, rel=1e-12)
    assert by_default.efficiency == pytest.approx(75 / by_hand, rel=1e-12)


def test_idle_draw_is_all_that_is_left_with_no_signal():
    for key in ("B", "AB", "D"):
        assert draw(600, CLASSES[key], share=0, idle_a=1.2).current_a == pytest.approx(1.2)
    assert np.isnan(draw(600, CLASSES["D"], share=0).efficiency)


@fixed
@given(st.sampled_from(sorted(CLASSES)), WATTS, st.floats(0, 1), st.floats(0, 3))
def test_no_amplifier_gives_more_than_it_takes(key, rated_w, share, idle_a):
    drawn = draw(rated_w, CLASSES[key], share=share, idle_a=idle_a)
    assert drawn.power_w >= rated_w * share
    assert drawn.power_w <= draw(rated_w, CLASSES[key], share=1, idle_a=idle_a).power_w * (1 + 1e-12)


def test_table_of_classes_is_plausible_and_sourced():
    table = tables.load("amplifier_classes")
    assert table["efficiency_at_rated"].between(0.2, 0.95).all()
    assert set(table["confidence"]) <= {"read", "computed", "memory", "common practice"}
    assert table["source"].str.len().min() > 10
    common = table[table["confidence"] == "common practice"]
    assert common["source"].str.contains("no source").all()


# --- constant power ----------------------------------------------------------------------------------------


def test_constant_power_as_worked():
    # worked example 15 (computed): 1000 W through 5 milliohm from 14.4 V; limit 10 368 W
    solution = constant_power(14.4, 0.005, 1000)
    assert solution.current_a == pytest.approx(71.20491, rel=1e-6)
    assert solution.load_v == pytest.approx(14.04398, rel=1e-6)
    assert solution.most_w == pytest.approx(10368, rel=1e-12)
    assert solution.reason == ""


@pytest.mark.parametrize("power_w", [50.0, 1000.0, 2500.0])
def test_constant_power_against_ngspice(power_w):
    netlist = f""".options reltol=1e-10
.nodeset v(b)=14
V1 a 0 14.4
R1 a b 0.02
B1 b 0 I={power_w!r}/V(b)"""
    spice = run(netlist, "op", ["v(b)"])["v(b)"][0]
    assert constant_power(14.4, 0.02, power_w).load_v == pytest.approx(spice, rel=1e-7)


def test_the_stable_answer_is_where_the_input_capacitor_settles():
    # ngspice in time: 1 mF at the load, started a little above the other answer, climbs to the stable one
    solution = constant_power(14.4, 0.2, 200)
    netlist = f""".options reltol=1e-6
V1 a 0 14.4
R1 a b 0.2
C1 b 0 1m ic={float(solution.other_load_v) * 1.02!r}
B1 b 0 I=200/V(b)"""
    spice = run(netlist, "tran 20u 20m uic", ["v(b)"])["v(b)"]
    assert spice[0] < solution.other_load_v * 1.05
    assert spice[-1] == pytest.approx(solution.load_v, rel=1e-4)


def test_past_the_limit_there_is_no_answer_and_the_reason_is_said():
    solution = constant_power([14.4, 14.4], [0.005, 0.2], 1000)
    assert np.isnan(solution.load_v).tolist() == [False, True]
    assert np.isnan(solution.other_current_a).tolist() == [False, True]
    assert solution.most_w[1] == pytest.approx(14.4**2 / 0.8)
    for words in ("1000 W cannot be drawn through 0.2 Ω from 14.4 V", "at most 259.2 W", "at 7.2 V", "thicker"):
        assert words in solution.reason


def test_at_the_limit_both_answers_meet_at_half_the_voltage():
    # V^2/(4 R) = 64 W in exact binary numbers
    solution = constant_power(16, 1, 64)
    assert (solution.load_v, solution.other_load_v, solution.current_a, solution.other_current_a) == (8, 8, 8, 8)


def test_no_feed_resistance_loses_nothing():
    solution = constant_power(12, 0, 600)
    assert (solution.load_v, solution.current_a, solution.other_load_v, solution.most_w) == (12, 50, 0, np.inf)


@fixed
@given(VOLTS, st.floats(0.01, 1), st.floats(1e-6, 1))
def test_both_answers_satisfy_the_circuit(volt, ohm, part):
    solution = constant_power(volt, ohm, part * volt**2 / 4 / ohm)
    if not np.isnan(solution.load_v):
        for load_v, current_a in (
            (solution.load_v, solution.current_a),
            (solution.other_load_v, solution.other_current_a),
        ):
            drawn_w = part * volt**2 / 4 / ohm
            assert load_v * current_a == pytest.approx(drawn_w, rel=1e-9)
            # power balance: out of the battery = at the load + in the feed
            assert volt * current_a == pytest.approx(drawn_w + ohm * current_a**2, rel=1e-9)
        assert solution.load_v >= volt / 2 >= solution.other_load_v * (1 - 1e-12)
    else:
        assert part == pytest.approx(1, abs=1e-12)  # only the limit itself may round either way


# --- output and level --------------------------------------------------------------------------------------


def test_output_against_supply_voltage():
    volt = np.array([5.5, 11.0, 14.4, 16.0])
    assert output_ratio(volt, regulated=True, full_power_v=11) == pytest.approx([0.25, 1, 1, 1])
    unregulated = output_ratio(volt, regulated=False, full_power_v=14.4)
    assert 10 * np.log10(unregulated) == pytest.approx(20 * np.log10(volt / 14.4))  # power goes with V^2


def test_regulated_amplifier_loses_nothing_until_its_least_voltage():
    outcome = fed(14.4, [0.0, 0.02, 0.08], 600, regulated=True, full_power_v=11)
    assert outcome.supply_v[:2] == pytest.approx(constant_power(14.4, [0.0, 0.02], 600).load_v)
    assert outcome.level_db[:2] == pytest.approx(0, abs=1e-12)
    # at 80 milliohm the voltage would be under 11 V: below it the amplifier is a resistor of 121/600 ohm
    assert outcome.supply_v[2] == pytest.approx(14.4 * (121 / 600) / (121 / 600 + 0.08), rel=1e-12)
    assert outcome.supply_v[2] < 11
    assert outcome.level_db[2] == pytest.approx(20 * math.log10(outcome.supply_v[2] / 11), rel=1e-12)


def test_unregulated_amplifier_at_full_output_is_a_resistor():
    # by hand: 14.4^2/600 = 0.3456 ohm, 20 log10(0.3456/0.3656) = -0.488649 dB
    outcome = fed(14.4, 0.02, 600, regulated=False, full_power_v=14.4)
    assert outcome.level_db == pytest.approx(-0.488649, abs=5e-7)
    # a weak battery costs nothing here: the comparison is with the same battery and no wire
    assert fed(11.0, 0.02, 600, regulated=False, full_power_v=14.4).level_db == pytest.approx(outcome.level_db)


@fixed
@given(VOLTS, OHMS, OHMS, WATTS, st.booleans(), st.floats(5, 30))
def test_a_worse_feed_never_gives_more(volt, ohm, more_ohm, draw_w, regulated, full_power_v):
    outcome = fed(volt, [0, ohm, ohm + more_ohm], draw_w, regulated=regulated, full_power_v=full_power_v)
    assert np.all(np.diff(outcome.supply_v) < 0)
    assert np.all(np.diff(outcome.level_db) <= 1e-12)
    assert outcome.level_db[0] == pytest.approx(0, abs=1e-12)
    feed_ohm = np.array([0, ohm, ohm + more_ohm])
    assert volt - feed_ohm * outcome.current_a == pytest.approx(outcome.supply_v, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: draw(-1, CLASSES["B"]), "Amplifier power"),
        (lambda: draw(100, CLASSES["B"], share=[0.5, 8]), "Share of rated power"),
        (lambda: draw(100, CLASSES["B"], idle_a=math.nan), "Idle current"),
        (lambda: draw(100, CLASSES["B"], supply_v=0), "Supply voltage"),
        (lambda: constant_power(0, 0.1, 10), "Supply voltage"),
        (lambda: constant_power(12, -0.1, 10), "Feed resistance"),
        (lambda: constant_power(12, 0.1, "ten"), "Power drawn"),
        (lambda: fed(12, 0.1, 0, regulated=True, full_power_v=11), "Power drawn"),
        (lambda: output_ratio(12, regulated=True, full_power_v=0), "Full-power voltage"),
        (lambda: AmplifierClass(key="X", name="X", efficiency=85, exponent=1), "Efficiency"),
        (lambda: AmplifierClass(key="X", name="X", efficiency=0.8, exponent=2), "Draw exponent"),
    ],
)
def test_unusable_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
