from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad

from tests.support.ngspice import run
from wirecalc import tables
from wirecalc.circuits.line_level import CABLE_FARAD_PER_M, low_pass, pickup, speaker_level_loss_db
from wirecalc.errors import InputError
from wirecalc.wire.conductor import awg

fixed = settings(derandomize=True, deadline=None)

SOURCES, INPUTS, LENGTHS = st.floats(1, 1e5), st.floats(100, 1e7), st.floats(0.1, 100)


# --- level and treble --------------------------------------------------------------------------------------


def test_low_pass_as_worked():
    # worked example 11 (computed, ngspice and by hand); tolerances of the digits printed
    run_ = low_pass(1e3, 10e3, 100e-12, 5)
    assert run_.middle_db == pytest.approx(-0.827854, abs=5e-7)
    assert run_.corner_hz == pytest.approx(350140.9, abs=0.05)
    assert run_.level_db == pytest.approx(-0.842000, abs=1e-6)
    assert run_.treble_db == pytest.approx(-0.014147, abs=1e-6)


@pytest.mark.parametrize(
    ("source_ohm", "input_ohm", "farad"), [(1e3, 10e3, 500e-12), (50, 47e3, 1e-9), (10e3, 10e3, 2e-9)]
)
def test_low_pass_against_ngspice(source_ohm, input_ohm, farad):
    netlist = f"V1 in 0 AC 1\nRs in out {source_ohm!r}\nC1 out 0 {farad!r}\nRL out 0 {input_ohm!r}"
    spice = run(netlist, "ac dec 10 10 10Meg", ["vdb(out)"])
    hz = spice["frequency"]
    hz = hz[hz <= 1e6]
    response = low_pass(source_ohm, input_ohm, farad / 5, 5, hz)
    assert response.level_db == pytest.approx(spice["vdb(out)"][: len(hz)], abs=1e-7)
    corner_hz = float(response.corner_hz[0])
    at_corner = run(netlist, f"ac lin 1 {corner_hz!r} {corner_hz!r}", ["vdb(out)"])
    half_power_db = 10 * math.log10(0.5)
    assert at_corner["vdb(out)"][0] == pytest.approx(response.middle_db[0] + half_power_db, abs=1e-7)


def test_long_and_short_limits():
    bare = low_pass(100, np.inf, 0, 5)
    assert (bare.middle_db, bare.treble_db, bare.corner_hz) == (0, 0, np.inf)


@fixed
@given(SOURCES, INPUTS, LENGTHS, LENGTHS)
def test_a_longer_cable_never_has_more_treble(source_ohm, input_ohm, length_m, more_m):
    response = low_pass(source_ohm, input_ohm, 100e-12, [length_m / 2, (length_m + more_m) / 2])
    assert response.treble_db[1] <= response.treble_db[0] <= 0
    assert response.corner_hz[1] < response.corner_hz[0]
    assert response.middle_db[1] == response.middle_db[0]


def test_cable_table_follows_from_its_sources():
    table = tables.load("cable_capacitance")
    assert table["farad_per_m"].between(20e-12, 400e-12).all()
    assert set(table["confidence"]) <= {"read", "computed", "memory", "common practice"}
    # worked example 9: 1.0237 mm, 2.5 mm, 2.3: 41.5118 pF/m
    pair = math.pi * constants.epsilon_0 * 2.3 / math.acosh(2.5 / 1.0237)
    assert CABLE_FARAD_PER_M["twisted"] == pytest.approx(pair, rel=1e-3)
    assert CABLE_FARAD_PER_M["coax_75"] == pytest.approx(1.5 / (constants.c * 75), rel=1e-3)


# --- speaker level -----------------------------------------------------------------------------------------


def test_speaker_level_into_a_high_impedance_loses_next_to_nothing():
    # 10 m each way of 22 AWG into 10 kilohm, and into the loudspeaker for comparison
    wire_ohm = 2 * 10 * awg(22).ohm_per_m_20c
    loss_db = speaker_level_loss_db(0.02, wire_ohm, [10e3, 4.0])
    assert -0.001 < loss_db[0] < 0  # a hundredth of the least that anyone hears: data/hearing.csv
    assert loss_db[1] < -1
    by_hand = 20 * math.log10((10e3 + 0.02) / (10e3 + 0.02 + wire_ohm))
    assert loss_db[0] == pytest.approx(by_hand, rel=1e-9)


# --- pickup ------------------------------------------------------------------------------------------------


def helix_vs(begin_m, end_m, distance_m, spacing_m, pitch_m, start):
    """Volt per ampere and radian per second, by the supply wire's vector potential along both helices."""
    axis_m = distance_m + spacing_m / 2

    def between(z):  # ln(r2/r1); the vector potential of a straight wire has only a component along it
        turn = 2 * math.pi * (start + z / pitch_m)
        across, up = spacing_m / 2 * math.cos(turn), spacing_m / 2 * math.sin(turn)
        return math.log(math.hypot(axis_m + across, up) / math.hypot(axis_m - across, up))

    return constants.mu_0 / (2 * math.pi) * quad(between, begin_m, end_m, limit=200, epsabs=1e-13)[0]


def helix_v(ripple_a, frequency_hz, length_m, distance_m, spacing_m, pitch_m, start):
    whole_m = math.floor(length_m / pitch_m) * pitch_m  # cancels: the test after next
    linked = helix_vs(whole_m, length_m, distance_m, spacing_m, pitch_m, start)
    return 2 * math.pi * frequency_hz * ripple_a * abs(linked)


def test_flat_pair_against_the_integral():
    # a helix that never turns, in the plane of the supply wire
    exact = helix_v(10, 1000, 4, 0.02, 0.003, 1e9, 0)
    assert pickup(10, 1000, 4, 0.02, 0.003, 0.02).parallel_v == pytest.approx(exact, rel=1e-8)


def test_flat_pair_against_ngspice():
    # two coils coupled by the mutual inductance of the model, 10 A at 1 kHz in the first
    picked_up = pickup(10, 1000, 4, 0.02, 0.003, 0.02)
    netlist = f"I1 0 a AC 10\nL1 a 0 8u\nL2 b 0 2u\nK1 L1 L2 {float(picked_up.henry) / 4e-6!r}\nR2 b 0 1e12"
    assert abs(run(netlist, "ac lin 1 1k 1k", ["v(b)"])["v(b)"][0]) == pytest.approx(picked_up.parallel_v, rel=1e-6)


def test_whole_twists_cancel():
    first, second, both = (
        helix_vs(begin, end, 0.02, 0.003, 0.02, 0.1) for begin, end in ((0, 0.01), (0.01, 0.02), (0, 0.02))
    )
    assert abs(first) > 1e-11
    assert second == pytest.approx(-first, rel=1e-9)
    assert abs(both) < 1e-9 * abs(first)


def test_a_twist_longer_than_the_run_is_no_twist():
    picked_up = pickup(10, 1000, 1, 0.02, 0.003, [0.5, 2, 50])
    assert picked_up.twisted_v[0] == pytest.approx(picked_up.parallel_v * 0.26, rel=1e-12)  # 0.25 and 1 % imbalance
    assert picked_up.twisted_v[1:].tolist() == [picked_up.parallel_v] * 2


@fixed
@given(st.floats(0.05, 3), st.floats(0.003, 0.3), st.floats(0.001, 0.01), st.floats(0.005, 0.1), st.floats(0, 1))
def test_twisted_figure_is_never_under_the_integral(length_m, distance_m, spacing_m, pitch_m, start):
    exact = helix_v(5, 2000, length_m, distance_m, spacing_m, pitch_m, start)
    model = pickup(5, 2000, length_m, distance_m, spacing_m, pitch_m, 0.0)
    assert exact <= model.twisted_v * (1 + 1e-9) + 1e-15
    assert model.twisted_v <= model.parallel_v


@fixed
@given(st.floats(0.1, 20), st.floats(0.003, 0.3), st.floats(0.003, 0.3), st.floats(0.001, 0.01))
def test_further_away_and_finer_twist_pick_up_less(length_m, distance_m, more_m, spacing_m):
    picked_up = pickup(5, 2000, length_m, [distance_m, distance_m + more_m], spacing_m, 0.02)
    assert picked_up.parallel_v[1] < picked_up.parallel_v[0]
    assert picked_up.twisted_v[1] < picked_up.twisted_v[0]
    finer, coarser = (pickup(5, 2000, length_m, distance_m, spacing_m, pitch).twisted_v for pitch in (0.01, 0.03))
    assert finer < coarser


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: low_pass(0, 1e4, 1e-10, 5), "Source impedance"),
        (lambda: low_pass(100, 0, 1e-10, 5), "Input impedance"),
        (lambda: low_pass(100, 1e4, 100, 5), "Cable capacitance"),
        (lambda: low_pass(100, 1e4, 1e-10, math.inf), "Run length"),
        (lambda: low_pass(100, 1e4, 1e-10, 5, math.nan), "Frequency"),
        (lambda: pickup(1, 1e3, 1, 0, 0.003, 0.02), "Distance"),
        (lambda: pickup(1, 1e3, 1, 0.02, 3, 0.02), "Spacing"),
        (lambda: pickup(1, 1e3, 1, 0.02, 0.003, 0), "Length of a twist"),
        (lambda: pickup(1, 1e3, 1, 0.02, 0.003, 0.02, 2), "Imbalance"),
        (lambda: pickup(-1, 1e3, 1, 0.02, 0.003, 0.02), "Ripple current"),
        (lambda: speaker_level_loss_db(0, -1, 1e4), "Wire impedance"),
    ],
)
def test_unusable_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
