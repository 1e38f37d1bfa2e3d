from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc.circuits.turn_on import turn_on
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)

# invented: two amplifiers and a processor on 20 AWG, every value only an example
CAR = {"device_a": [0.05, 0.15, 0.02], "at_m": [4, 6, 1], "ohm_per_m": 0.034}
HEAD_UNIT = {"head_unit_v": 12.0, "limit_a": 0.3, "least_v": 10.0}


def test_drops_along_the_lead_against_ngspice():
    netlist = """
V1 h 0 12
R1 h c 0.034
R2 c a 0.102
R3 a b 0.068
I1 a 0 0.05
I2 b 0 0.15
I3 c 0 0.02"""
    spice = run(netlist, "op", ["v(a)", "v(b)", "v(c)"])
    lead = turn_on(**CAR, **HEAD_UNIT)
    assert lead.device_v == pytest.approx([spice[f"v({name})"][0] for name in "abc"], rel=1e-9)
    assert lead.last_v == lead.device_v[1]
    assert lead.total_a == pytest.approx(0.22)
    assert lead.advice == ()
    assert (lead.over_limit, lead.too_low) == (False, False)


def test_over_the_limit_says_to_add_a_relay_with_the_numbers():
    lead = turn_on(**CAR, **(HEAD_UNIT | {"limit_a": [0.3, 0.15, 0.2]}))
    assert lead.over_limit.tolist() == [False, True, True]
    (advice,) = lead.advice
    assert "draw 0.22 A" in advice
    assert "may give 0.15 A: add a relay" in advice
    assert "fuse" in advice


def test_too_low_at_the_last_device_says_relay_or_thicker_lead():
    lead = turn_on([0.2, 0.2], [10, 20], [0.05, 0.5], **(HEAD_UNIT | {"limit_a": 0.5}))
    assert lead.too_low.tolist() == [False, True]
    assert lead.last_v == pytest.approx([12 - 0.05 * 6, 12 - 0.5 * 6])  # 0.2 A x (10 + 20) m = 6 A m
    (advice,) = lead.advice
    assert "9 V is left and it needs 10 V" in " ".join(advice.split())
    assert "thicker" in advice


def test_a_used_up_voltage_is_none_and_not_a_negative_one():
    assert turn_on(5, 20, 1.0, **HEAD_UNIT).device_v.tolist() == [0]


def test_many_vehicles_at_once():
    device_a = np.array([[0.05, 0.15, 0.02], [0.1, 0.1, 0.3]])
    together = turn_on(device_a, CAR["at_m"], [0.034, 0.1], **HEAD_UNIT)
    for row, ohm_per_m in enumerate([0.034, 0.1]):
        alone = turn_on(device_a[row], CAR["at_m"], ohm_per_m, **HEAD_UNIT)
        assert together.device_v[row] == pytest.approx(alone.device_v)
        assert together.over_limit[row] == alone.over_limit


DEVICES = st.lists(st.tuples(st.floats(0, 1), st.floats(0, 20)), min_size=1, max_size=6)


@fixed
@given(DEVICES, st.floats(0.001, 0.1), st.floats(0.001, 0.1))
def test_more_resistance_never_raises_the_last_voltage(devices, ohm_per_m, more):
    device_a, at_m = np.transpose(devices)
    lead = turn_on(device_a, at_m, [ohm_per_m, ohm_per_m + more], **HEAD_UNIT)
    assert lead.last_v[1] <= lead.last_v[0] <= 12
    assert np.all(lead.last_v == lead.device_v.min(axis=-1))


@fixed
@given(DEVICES, st.randoms(use_true_random=False))
def test_the_order_of_entry_does_not_matter(devices, random):
    shuffled = random.sample(devices, len(devices))
    entered, reordered = (turn_on(*np.transpose(each), 0.05, **HEAD_UNIT) for each in (devices, shuffled))
    assert np.sort(entered.device_v) == pytest.approx(np.sort(reordered.device_v))


@fixed
@given(st.floats(0.1, 1), st.floats(0.5, 10), st.floats(0.5, 10), st.floats(0.001, 0.05))
def test_power_balance(ampere, first_m, more_m, ohm_per_m):
    lead = turn_on([ampere, ampere], [first_m, first_m + more_m], ohm_per_m, **HEAD_UNIT)
    lead_w = ohm_per_m * (first_m * (2 * ampere) ** 2 + more_m * ampere**2)
    if lead.last_v > 0:
        assert 12 * lead.total_a == pytest.approx(np.sum(lead.device_v * ampere) + lead_w, rel=1e-9)


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"device_a": [0.1, -0.1, 0]}, "Turn-on draw"),
        ({"device_a": 50}, "Turn-on draw"),
        ({"device_a": []}, "Number of devices"),
        ({"at_m": [1, 2, np.nan]}, "Distance along the lead"),
        ({"ohm_per_m": 33}, "Resistance per metre"),
        ({"head_unit_v": 0}, "Head unit voltage"),
        ({"limit_a": 0}, "Head unit limit"),
        ({"least_v": "ten"}, "Least turn-on voltage"),
    ],
)
def test_unusable_values_are_refused(entries, field):
    with pytest.raises(InputError) as caught:
        turn_on(**(CAR | HEAD_UNIT | entries))
    assert caught.value.field == field
