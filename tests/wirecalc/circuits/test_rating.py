from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc.circuits import circuit
from wirecalc.circuits.rating import RatedAmplifier, Rating, bridged, for_load, rated_v
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)

# invented amplifier
PAIR = RatedAmplifier(
    ratings=(Rating(ohm=2, power_w=170), Rating(ohm=4, power_w=100)), damping_factor=200, least_ohm=1.5
)


@st.composite
def amplifiers(draw):
    """Any amplifier that sags: voltage rises and current falls with the load."""
    ohms = sorted(draw(st.sets(st.sampled_from([1.0, 2.0, 2.67, 4.0, 6.0, 8.0]), min_size=1)))
    volt, ratings = draw(st.floats(4, 40)), []
    for ohm in ohms:
        ratings.append(Rating(ohm=ohm, power_w=volt**2 / ohm))
        volt *= draw(st.floats(1.0, 1.1))
    return RatedAmplifier(ratings=tuple(ratings))


@pytest.mark.parametrize(
    ("load_ohm", "power_w"),
    [
        (4, 100),  # a rating itself
        (2, 170),  # the other one
        (8, 50),  # above the highest: a source of 20 V
        (16, 25),
    ],
)
def test_the_rating_that_applies_gives_its_power(load_ohm, power_w):
    applied = for_load(PAIR, load_ohm)
    assert applied.cautions == ()
    load_w = circuit.solve_loop(applied.amplifier.emf_v, applied.amplifier.output_ohm, 0, load_ohm).load_w
    # above the highest rating the output impedance of 0.02 ohm lets the voltage rise by under 0.5 %
    assert load_w == pytest.approx(power_w, rel=1e-12 if load_ohm <= 4 else 0.01)


def test_between_two_ratings_the_supply_sags_evenly():
    # ngspice: open voltage and inner resistance through both ratings' (current, voltage), 3 ohm load
    high, low = 20.0, (170 * 2) ** 0.5
    inner_ohm = (high - low) / ((170 / 2) ** 0.5 - 5.0)
    volt = run(f"V1 a 0 {high + 5 * inner_ohm!r}\nR1 a b {inner_ohm!r}\nR2 b 0 3", "op", ["v(b)"])["v(b)"][0]
    assert rated_v(PAIR, 3) == pytest.approx(volt, rel=1e-9)
    amplifier = for_load(PAIR, 3).amplifier
    assert amplifier.power_w == pytest.approx(volt**2 / 3, rel=1e-9)
    assert amplifier.output_ohm == pytest.approx(0.02, rel=1e-12)


def test_output_impedance_is_quoted_load_over_damping_factor():
    assert PAIR.output_ohm == 4 / 200  # by definition
    quoted_at_8 = RatedAmplifier(ratings=PAIR.ratings, damping_factor=200, damping_ohm=8)
    assert for_load(quoted_at_8, 2).amplifier.output_ohm == pytest.approx(8 / 200, rel=1e-12)


def test_a_load_without_rating_is_a_caution_and_not_an_error():
    (not_rated,) = for_load(PAIR, 1.5).cautions  # allowed by its maker, not rated
    assert "no rating under 2 Ω" in not_rated
    forbidden, not_rated = for_load(PAIR, 1).cautions
    assert "least load of 1.5 Ω" in forbidden
    assert "more current" in " ".join(not_rated.split())
    amplifier = for_load(PAIR, 1).amplifier
    assert (amplifier.rated_ohm, amplifier.power_w) == (2, pytest.approx(170))
    assert amplifier.least_load_ohm == 1.5


def test_ratings_that_contradict_each_other_are_pointed_out():
    odd = RatedAmplifier(ratings=(Rating(ohm=4, power_w=100), Rating(ohm=2, power_w=250)))
    (caution,) = for_load(odd, 4).cautions
    assert "250 W at 2 Ω" in caution
    assert "100 W at 4 Ω" in caution
    assert rated_v(odd, [2, 4]) == pytest.approx([500**0.5, 20])


def test_bridged_pair_is_two_channels_against_each_other():
    # ngspice: two channels in opposite phase, each with the emf and output impedance of one at 2 ohm
    channel = for_load(PAIR, 2).amplifier
    netlist = f"""
V1 a 0 {channel.emf_v!r}
R1 a p {channel.output_ohm!r}
V2 b 0 {-channel.emf_v!r}
R2 b n {channel.output_ohm!r}
RL p n 4"""
    volt = run(netlist, "op", ["v(p)-v(n)"])["v(p)-v(n)"][0]
    both = bridged(PAIR)
    applied = for_load(both, 4)
    assert applied.amplifier.power_w == pytest.approx(volt**2 / 4, rel=1e-9)
    assert applied.amplifier.power_w == pytest.approx(2 * 170, rel=1e-12)
    assert applied.amplifier.output_ohm == pytest.approx(2 * channel.output_ohm, rel=1e-12)
    assert both.least_load_ohm == 3
    assert for_load(both, 2).cautions


@fixed
@given(amplifiers(), st.lists(st.floats(0.5, 20), min_size=2, max_size=8))
def test_more_load_impedance_more_voltage_and_less_current(amplifier, loads):
    loads = np.sort(loads)
    volt = rated_v(amplifier, loads)
    assert np.all(np.diff(volt) >= -1e-9 * volt[0])
    assert np.all(np.diff(volt / loads) <= 1e-9 * volt[0] / loads[0])


@fixed
@given(amplifiers(), st.floats(0.5, 20))
def test_voltage_lies_between_those_of_the_neighbours(amplifier, load_ohm):
    volts = [rating.volt for rating in amplifier.ratings]
    assert min(volts) * (1 - 1e-12) <= rated_v(amplifier, load_ohm) <= max(volts) * (1 + 1e-12)
    for low, high in pairwise(amplifier.ratings):
        if low.ohm <= load_ohm <= high.ohm:
            assert low.volt * (1 - 1e-12) <= rated_v(amplifier, load_ohm) <= high.volt * (1 + 1e-12)


@fixed
@given(amplifiers(), st.floats(0.5, 20))
def test_bridging_is_twice_the_power_of_half_the_load(amplifier, half_ohm):
    single, both = for_load(amplifier, half_ohm), for_load(bridged(amplifier), 2 * half_ohm)
    assert both.amplifier.power_w == pytest.approx(2 * single.amplifier.power_w, rel=1e-12)
    assert both.amplifier.damping_factor == pytest.approx(single.amplifier.damping_factor, rel=1e-12)
    assert len(both.cautions) == len(single.cautions)


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"ratings": ()}, "Ratings"),
        ({"ratings": (Rating(ohm=4, power_w=100), Rating(ohm=4, power_w=90))}, "Ratings"),
        ({"damping_factor": 0.5}, "Damping factor"),
        ({"damping_factor": 1.5}, "Damping factor"),  # 4 ohm / 1.5 is more than the 2 ohm load itself
        ({"damping_ohm": 0}, "Damping factor's load"),
        ({"least_ohm": 3}, "Least load"),  # there is a rating at 2 ohm
    ],
)
def test_unusable_ratings_are_refused(entries, field):
    with pytest.raises(InputError) as caught:
        RatedAmplifier(**({"ratings": PAIR.ratings} | entries))
    assert caught.value.field == field


def test_a_load_of_nothing_is_refused():
    with pytest.raises(InputError, match="Load impedance"):
        rated_v(PAIR, [4, 0])
    with pytest.raises(InputError, match="Rated impedance"):
        Rating(ohm=0, power_w=100)
