from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc.advice.size import Job, advise
from wirecalc.advice.stretches import by_house_rules
from wirecalc.circuits.relay import LEAST_SUPPLY_V, USUAL_12V, Relay, kept, pull
from wirecalc.errors import InputError
from wirecalc.runs.relay import RelayRun

fixed = settings(derandomize=True, deadline=None)

IEC_60028 = "IEC 60028, copper: 0.00393 per K at 20 degC (read, see data/metals.csv)"
CELSIUS, OHMS, VOLTS = st.floats(-40, 200), st.floats(0, 100), st.floats(1, 30)


@pytest.mark.parametrize(
    ("coil_c", "factor", "source"),
    [(20, 1.0, IEC_60028), (105, 1.33405, IEC_60028), (-40, 0.7642, IEC_60028)],
)
def test_a_hot_coil_needs_more_voltage_for_the_same_current(coil_c, factor, source):
    coil = pull(USUAL_12V, 0, coil_c)
    assert coil.pull_in_v == pytest.approx(8 * factor, rel=1e-12), source
    assert coil.drop_out_v == pytest.approx(1.2 * factor, rel=1e-12), source
    assert coil.coil_ohm == pytest.approx(90 * factor, rel=1e-12), source
    assert coil.pull_in_v / coil.coil_ohm == pytest.approx(8 / 90, rel=1e-12)


def test_coil_through_its_run_against_ngspice():
    hot_ohm = 90 * (1 + 0.00393 * 65)
    spice = run(f"V1 a 0 10.5\nR1 a b 4\nR2 b 0 {hot_ohm!r}", "op", ["v(b)", "i(v1)"])
    coil = pull(USUAL_12V, 4.0, 85)
    assert coil.coil_v == pytest.approx(spice["v(b)"][0], rel=1e-9)
    assert coil.current_a == pytest.approx(-spice["i(v1)"][0], rel=1e-9)
    assert coil.margin_v == pytest.approx(coil.coil_v - coil.pull_in_v, rel=1e-12)


def test_verdict_cold_hot_and_at_the_end_of_a_thin_lead():
    coil = pull(USUAL_12V, [[0.5], [40]], [20, 105])  # at the least supply voltage of code D
    assert LEAST_SUPPLY_V == 10.5
    assert coil.pulls_in.tolist() == [[True, False], [False, False]]
    assert np.array_equal(coil.pulls_in, coil.margin_v >= 0)


def test_a_lead_that_keeps_a_voltage_may_hold_the_relay():
    assert pull(USUAL_12V, 0, 20, off_v=[0, 1.2, 1.3]).lets_go.tolist() == [True, True, False]
    # cold is the worst case for letting go: less voltage holds the same current
    assert pull(USUAL_12V, 0, [-40, 20], off_v=1.1).lets_go.tolist() == [False, True]


def test_what_has_pulled_in_holds_while_the_engine_starts_and_lets_go_when_off() -> None:
    """By hand: 90 ohm coil, 10 ohm of lead; at 85 degC 1.25545 times the resistance, at -40 degC 0.7642 times."""
    hold = kept(USUAL_12V, 10.0, 85, dip_v=6.0, off_v=0.8)
    hot, cold = 90 * 1.25545, 90 * 0.7642
    assert hold.hold_v == pytest.approx(6 * hot / (hot + 10) - 0.5 * 8 * 1.25545, rel=1e-9)
    assert hold.release_v == pytest.approx(1.2 * 0.7642 - 0.8 * cold / (cold + 10), rel=1e-9)
    assert kept(USUAL_12V, 0.0, 85, dip_v=[4.0, 6.0]).hold_v[0] < 0 < kept(USUAL_12V, 0.0, 85).hold_v
    assert kept(USUAL_12V, 0.0, 85, off_v=1.0).release_v < 0  # 1.2 V would do at 20 degC


def test_a_leaking_output_is_a_bound_that_no_wire_mends() -> None:
    coil_run = RelayRun(relay=USUAL_12V, supply_v=10.5, coil_c=85.0, off_v=2.0)
    advice = advise(Job(run=coil_run, route=by_house_rules("relay", 3.0, ways=1)))
    assert advice.pull is None
    assert any("does not leak" in change for change in advice.changes)
    dips = replace(coil_run, off_v=0.0, dip_v=4.0)
    assert advise(Job(run=dips, route=by_house_rules("relay", 3.0, ways=1))).pull is None
    assert advise(Job(run=replace(coil_run, off_v=0.5), route=by_house_rules("relay", 3.0, ways=1))).pull is not None


def test_a_coil_of_24_v_is_held_to_twice_the_voltages() -> None:
    coil = Relay(coil_ohm=360.0, pull_in_v=16.0, drop_out_v=2.4)
    both = [
        RelayRun(relay=relay, supply_v=supply, coil_c=85.0).measures(0.0, 1.0)
        for relay, supply in ((USUAL_12V, 10.5), (coil, 21.0))
    ]
    for measure in ("margin_v", "hold_v", "release_v"):
        assert both[1][measure] == pytest.approx(2 * both[0][measure], rel=1e-9)


@fixed
@given(CELSIUS, CELSIUS, OHMS)
def test_a_hotter_relay_never_pulls_in_at_a_lower_voltage(one_c, other_c, wire_ohm):
    coil = pull(USUAL_12V, wire_ohm, sorted([one_c, other_c]))
    assert coil.pull_in_v[0] <= coil.pull_in_v[1]
    assert coil.least_supply_v[0] <= coil.least_supply_v[1]


@fixed
@given(CELSIUS, OHMS, st.floats(0.01, 100), VOLTS)
def test_more_resistance_never_raises_the_voltage_at_the_coil(coil_c, wire_ohm, more_ohm, supply_v):
    coil = pull(USUAL_12V, [wire_ohm, wire_ohm + more_ohm], coil_c, supply_v=supply_v)
    assert coil.coil_v[1] < coil.coil_v[0]
    assert coil.least_supply_v[1] > coil.least_supply_v[0]


@fixed
@given(CELSIUS, OHMS, VOLTS)
def test_power_balance(coil_c, wire_ohm, supply_v):
    coil = pull(USUAL_12V, wire_ohm, coil_c, supply_v=supply_v)
    out_w, wire_w = supply_v * coil.current_a, coil.current_a**2 * wire_ohm
    assert out_w == pytest.approx(coil.coil_v**2 / coil.coil_ohm + wire_w, rel=1e-12)


@fixed
@given(CELSIUS, OHMS)
def test_just_pulls_in_at_the_least_supply_voltage(coil_c, wire_ohm):
    least_v = pull(USUAL_12V, wire_ohm, coil_c).least_supply_v
    coil = pull(USUAL_12V, wire_ohm, coil_c, supply_v=least_v * np.array([0.999, 1.001]))
    assert coil.pulls_in.tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: Relay(coil_ohm=0, pull_in_v=8, drop_out_v=1), "Coil resistance"),
        (lambda: Relay(coil_ohm=90, pull_in_v=0, drop_out_v=1), "Pull-in voltage"),
        (lambda: Relay(coil_ohm=90, pull_in_v=8, drop_out_v=0), "Drop-out voltage"),
        (lambda: Relay(coil_ohm=90, pull_in_v=8, drop_out_v=8), "Drop-out voltage"),
        (lambda: pull(USUAL_12V, -1, 20), "Wire resistance"),
        (lambda: pull(USUAL_12V, 1, 500), "Conductor temperature"),
        (lambda: pull(USUAL_12V, 1, 20, supply_v=0), "Supply voltage"),
        (lambda: pull(USUAL_12V, 1, 20, off_v=np.nan), "Voltage when off"),
    ],
)
def test_unusable_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
