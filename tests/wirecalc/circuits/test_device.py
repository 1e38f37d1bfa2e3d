"""A device at the end of its feed: by hand, in the network solve and in ngspice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc.circuits.device import BEHAVIOURS, Behaviour, powered, start_a
from wirecalc.errors import InputError
from wirecalc.vehicle.nodal import Network, solve_network

FEEDS = ((12.6, 0.02, 10.0), (14.4, 0.15, 6.0), (10.5, 0.3, 4.0), (12.0, 0.004, 60.0))
ANY = pytest.mark.parametrize("behaviour", BEHAVIOURS)


@pytest.mark.parametrize(
    ("behaviour", "load_v", "current_a", "by_hand"),
    [
        ("constant current", 11.6, 10.0, "12.6 - 10 x 0.1"),
        ("constant power", 11.5621, 10.3787, "(12.6 + sqrt(12.6² - 4 x 120 x 0.1)) / 2; 120 / 11.5621"),
        ("resistance", 11.6308, 9.6923, "12.6 x 1.2 / 1.3; / 1.2"),
    ],
)
def test_by_hand(behaviour: Behaviour, load_v: float, current_a: float, by_hand: str) -> None:
    point = powered(12.6, 0.1, 10.0, behaviour=behaviour)
    assert float(point.load_v) == pytest.approx(load_v, abs=1e-4), by_hand
    assert float(point.current_a) == pytest.approx(current_a, abs=1e-4), by_hand
    assert not point.reason


def as_network(behaviour: str, volt: float, ohm: float, rated_a: float) -> Network:
    """Battery, wire out and back with a third of the resistance each, and the device."""
    power_w, current_a, siemens = {
        "constant power": (12 * rated_a, 0.0, 0.0),
        "constant current": (0.0, rated_a, 0.0),
        "resistance": (0.0, 0.0, rated_a / 12),
    }[behaviour]
    return Network(
        nodes=4, start=np.array([1, 3]), end=np.array([2, 0]), ohm=np.array([ohm / 3, ohm / 3]),
        source_plus=np.array([1]), source_minus=np.array([0]), source_v=np.array([volt]),
        source_ohm=np.array([ohm / 3]),
        load_plus=np.array([2]), load_minus=np.array([3]), power_w=np.array([power_w]),
        current_a=np.array([current_a]), siemens=np.array([siemens]), floor_v=np.array([0.0]),
    )  # fmt: skip


@ANY
@pytest.mark.parametrize(("volt", "ohm", "rated_a"), FEEDS)
def test_the_network_solve_has_the_same_voltage(behaviour: Behaviour, volt: float, ohm: float, rated_a: float) -> None:
    node_v = solve_network(as_network(behaviour, volt, ohm, rated_a)).node_v
    point = powered(volt, ohm, rated_a, behaviour=behaviour)
    assert node_v[2] - node_v[3] == pytest.approx(float(point.load_v), rel=1e-7)


@ANY
@pytest.mark.parametrize(("volt", "ohm", "rated_a"), FEEDS)
def test_ngspice_has_the_same_voltage(behaviour: Behaviour, volt: float, ohm: float, rated_a: float) -> None:
    load = {
        "constant current": f"I1 a b {rated_a}",
        "constant power": f"B1 a b I={12 * rated_a}/max(v(a)-v(b),0.5)",
        "resistance": f"R3 a b {12 / rated_a}",
    }[behaviour]
    netlist = f"V1 p 0 {volt}\nR1 p a {ohm / 2}\nR2 b 0 {ohm / 2}\n{load}\n.nodeset v(a)={volt} v(b)=0"
    spice_v = float(run(netlist, "op", ["v(a)-v(b)"])["v(a)-v(b)"][0])
    assert float(powered(volt, ohm, rated_a, behaviour=behaviour).load_v) == pytest.approx(spice_v, rel=1e-5)


def test_a_start_in_ngspice_is_the_resistance_for_that_moment() -> None:
    spice_a = -float(run("V1 p 0 12.6\nR1 p a 0.08\nR2 a 0 0.3", "op", ["i(v1)"])["i(v1)"][0])
    assert float(start_a(12.6, 0.08, 10, 4)) == pytest.approx(spice_a, rel=1e-9)


@ANY
@given(st.floats(6, 30), st.floats(0, 0.5), st.floats(0.05, 5), st.floats(1, 3))
def test_more_wire_never_gives_more_volts_and_scalars_are_arrays(
    behaviour: Behaviour, volt: float, ohm: float, rated_a: float, more: float
) -> None:
    point = powered(volt, [ohm, ohm * more], rated_a, behaviour=behaviour)
    near_v, far_v = point.load_v
    assert np.isnan(far_v) or far_v <= near_v * (1 + 1e-12)
    np.testing.assert_allclose(point.current_a * [ohm, ohm * more], volt - point.load_v, rtol=1e-9, atol=1e-9)
    assert bool(point.reason) == bool(np.isnan(point.load_v).any())
    starts_a = start_a(volt, [ohm, ohm * more], rated_a, 4.0)
    assert starts_a[1] <= starts_a[0] * (1 + 1e-12)


def test_what_cannot_be_drawn_has_a_reason_and_no_number() -> None:
    power = powered(12.0, 2.0, 10.0, behaviour="constant power")
    assert np.isnan(power.load_v)
    assert np.isnan(power.current_a)
    assert "120 W cannot be drawn through 2 Ω from 12 V: at most 18 W" in power.reason  # 12² / (4 x 2)
    current = powered([12.0, 12.0], [0.1, 2.0], 10.0)
    assert np.isnan(current.load_v).tolist() == [False, True]
    assert "all the volts" in current.reason


@pytest.mark.parametrize(
    "bad",
    [
        lambda: powered(12, 0.1, 0),
        lambda: powered(0, 0.1, 1),
        lambda: powered(12, -1, 1),
        lambda: powered(12, 0.1, 1, behaviour="magic"),  # type: ignore[arg-type]
        lambda: start_a(12, 0.1, 1, 0.5),
    ],
)
def test_bad_values_are_refused(bad) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError):
        bad()
