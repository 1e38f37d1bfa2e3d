from __future__ import annotations

import math
import pickle
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tests import tried
from tests.support.ngspice import netlist_of, run
from wirecalc.circuits.supply import constant_power, fed
from wirecalc.errors import InputError
from wirecalc.vehicle.nodal import FloatingNode, Network, NoOperatingPoint, solve_network

fixed = settings(derandomize=True, deadline=None, max_examples=tried(60))
EXACT = ".options reltol=1e-10 vntol=1e-13 abstol=1e-12\n"


def network(branches, sources, loads) -> Network:
    """Rows of (start, end, ohm), (plus, minus, V, ohm), (plus, minus, W, A, S[, floor V])."""
    start, end, ohm = zip(*branches, strict=True) if branches else ((), (), ())
    source_plus, source_minus, source_v, source_ohm = zip(*sources, strict=True)
    rows = [(*load, 0.0)[:6] for load in loads]
    load_plus, load_minus, power_w, current_a, siemens, floor_v = zip(*rows, strict=True) if rows else ((),) * 6
    return Network(
        nodes=1 + max(0, *start, *end, *source_plus, *load_plus, *load_minus),
        **{"start": start, "end": end, "ohm": ohm, "source_plus": source_plus, "source_minus": source_minus},
        **{"source_v": source_v, "source_ohm": source_ohm, "load_plus": load_plus, "load_minus": load_minus},
        **{"power_w": power_w, "current_a": current_a, "siemens": siemens, "floor_v": np.array(floor_v)},
    )


def vehicle_like(seed, floor=False, strain=1.0) -> Network:
    """A supply tree and a return tree with meshes, two sources, loads of all kinds between the trees or to node 0."""
    rng = np.random.default_rng(seed)
    supply = int(rng.integers(15, 40))
    back = int(rng.integers(3, 12))
    first_back = supply + 1
    branches = [(int(rng.integers(max(1, k - 6), k)), k) for k in range(2, first_back)]
    branches += [
        (0 if k == first_back else int(rng.integers(first_back, k)), k) for k in range(first_back, supply + back)
    ]
    ends = [(a, b, float(rng.uniform(0.001, 0.01))) for a, b in branches]
    ends += [(*map(int, rng.choice(np.arange(1, first_back), 2, replace=False)), 0.02) for _ in range(supply // 6)]
    sources = [(1, 0, 12.6, 0.01), (int(rng.integers(2, 8)), 0, 14.4, 0.04)]
    loads = []
    for plus in range(3, first_back, 2):
        minus = int(rng.choice([0, int(rng.integers(first_back, supply + back))]))
        power_w, current_a, siemens = strain * np.array([60.0, 3.0, 0.1]) * rng.uniform(0, 1, 3) * (rng.random(3) < 0.6)
        loads.append((plus, minus, power_w, current_a, siemens, float(rng.uniform(9, 12)) if floor else 0.0))
    return network(ends, sources, loads)


def spice_nodes(net: Network):
    """ngspice comes from no load too: its own answer without powers and currents is where it begins."""
    names = [f"v({k})" for k in range(1, net.nodes)]
    node_v = np.zeros(net.nodes)
    for part in (replace(net, power_w=0, current_a=0), net):
        spice = run(EXACT + netlist_of(part, node_v), "op", names)
        node_v = np.array([0.0, *(spice[name][0] for name in names)])
    return node_v


# --- against ngspice ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_every_node_as_ngspice_has_it(seed):
    net = vehicle_like(seed)
    solution = solve_network(net)
    assert solution.load_v.min() < 0.97 * 14.4  # enough is drawn for it to matter
    np.testing.assert_allclose(solution.node_v, spice_nodes(net), rtol=1e-6, atol=0)


def test_powers_that_give_way_as_ngspice_has_them():
    below = 0
    for seed in range(4):
        net = vehicle_like(seed, floor=True, strain=2.5)
        solution = solve_network(net)
        below += np.sum((solution.load_v < net.floor_v) & (net.power_w > 0))
        np.testing.assert_allclose(solution.node_v, spice_nodes(net), rtol=1e-6, atol=0)
    assert below > 3


@pytest.mark.parametrize("seed", [3, 4, 7, 9])
def test_what_cannot_be_delivered_is_refused_by_both(seed):
    """ngspice has no answer when it ends with “no convergence” and writes no vector: the helper raises RuntimeError."""
    net = vehicle_like(seed)

    def at(scale: float) -> Network:
        return replace(net, power_w=net.power_w * scale, current_a=net.current_a * scale)

    with pytest.raises(NoOperatingPoint) as refused:
        solve_network(at(8))
    most = 8 * refused.value.share
    np.testing.assert_allclose(solve_network(at(0.999 * most)).node_v, spice_nodes(at(0.999 * most)), rtol=1e-6)
    for scale in (1.001 * most, 8):
        with pytest.raises(NoOperatingPoint) as refused:
            solve_network(at(scale))
        assert refused.value.share == pytest.approx(most / scale, rel=1e-5)
        with pytest.raises(RuntimeError, match="no such vector"):
            spice_nodes(at(scale))


def test_it_settles_where_capacitors_at_the_loads_settle():
    """Independent of Newton: C dv/dt in time from no load, by scipy's integrator, powers that give way included."""
    below = 0
    for seed in range(6):
        net = vehicle_like(seed, floor=True, strain=4.0)
        solution = solve_network(net)
        below += np.sum((solution.load_v < net.floor_v) & (net.power_w > 0))
        open_v = solve_network(replace(net, power_w=0, current_a=0)).node_v
        plus = np.concatenate((net.start, net.source_plus))
        minus = np.concatenate((net.end, net.source_minus))
        siemens = 1 / np.concatenate((net.ohm, net.source_ohm))
        emf_v = np.concatenate((np.zeros(len(net.start)), net.source_v))
        ends = (np.eye(net.nodes)[:, plus] - np.eye(net.nodes)[:, minus])[1:]
        laplace, inner = ends * siemens @ ends.T, ends @ (siemens * emf_v)
        at_loads = (np.eye(net.nodes)[:, net.load_plus] - np.eye(net.nodes)[:, net.load_minus])[1:]

        def fall(_time, node_v, net=net, laplace=laplace, inner=inner, at_loads=at_loads):
            volt = at_loads.T @ node_v
            drawn_a = net.power_w * np.where(volt > net.floor_v, 1 / volt, volt / net.floor_v**2)
            return inner - laplace @ node_v - at_loads @ (drawn_a + net.current_a + net.siemens * volt)

        last = solve_ivp(fall, (0, 1e3), open_v[1:], method="LSODA", rtol=1e-9, atol=1e-10).y[:, -1]
        np.testing.assert_allclose(solution.node_v[1:], last, rtol=1e-5, atol=1e-6)
    assert below > 10


# --- by hand -----------------------------------------------------------------------------------------------


def test_a_radial_feeder_by_the_ladder_method():
    """Take the far end's voltage, work back to the source (ladder network analysis, as in textbooks; from memory).

    Every number is an exact fraction. Segments out and back as one; constant powers, a current and a resistance.
    """
    ohm = [Fraction(1, 200), Fraction(1, 125), Fraction(1, 100), Fraction(1, 50)]
    draws = [(Fraction(120), 0, 0), (Fraction(0), 5, Fraction(1, 4)), (Fraction(60), 0, 0), (Fraction(150), 2, 0)]
    volts, current = [Fraction(12)], Fraction(0)
    for (power, constant, siemens), segment in zip(draws[::-1], ohm[::-1], strict=True):
        current += power / volts[0] + constant + siemens * volts[0]
        volts.insert(0, volts[0] + segment * current)
    # by hand, the far end first: 150/12 + 2 = 29/2 A; 12 + 29/2/50 = 1229/100 V; 60/(1229/100) = 6000/1229 A ...
    assert volts[3] == Fraction(1229, 100)
    assert volts[2] == Fraction(1229, 100) + (Fraction(29, 2) + Fraction(6000, 1229)) / 100
    loads = [(k + 2, 0, *map(float, draw)) for k, draw in enumerate(draws)]
    # the first segment is half the source's inner resistance and half a branch
    branches = [(k + 1, k + 2, float(segment)) for k, segment in enumerate([ohm[0] / 2, *ohm[1:]])]
    solution = solve_network(network(branches, [(1, 0, float(volts[0]), float(ohm[0] / 2))], loads))
    np.testing.assert_allclose(solution.node_v[2:], [float(volt) for volt in volts[1:]], rtol=1e-13)
    assert solution.source_a[0] == pytest.approx(float(current), rel=1e-12)


def test_a_ladder_of_equal_resistances_has_fibonacci_voltages():
    # n rungs of 1 ohm behind rails of 1 ohm: the voltage of rung k over the source is F(2(n-k)+1)/F(2n+1); from memory
    fibonacci = [0, 1]
    while len(fibonacci) < 2 * 8 + 2:
        fibonacci.append(fibonacci[-1] + fibonacci[-2])
    rails = [(k, k + 1, 1.0) for k in range(1, 8)]
    solution = solve_network(network(rails, [(1, 0, 1597.0, 1.0)], [(k, 0, 0, 0, 1.0) for k in range(1, 9)]))
    assert fibonacci[17] == 1597
    np.testing.assert_allclose(solution.node_v[1:], fibonacci[15::-2], rtol=1e-13)


def test_two_sources_share_and_one_charges_the_other():
    # by hand: 14.4 V behind 0.03 ohm and 12.6 V behind 0.01 ohm, 20 A drawn: v = (480 + 1260 - 20)/(400/3)
    solution = solve_network(network([(1, 2, 0.02)], [(1, 0, 14.4, 0.01), (2, 0, 12.6, 0.01)], [(2, 0, 0, 20, 0)]))
    assert solution.node_v[2] == pytest.approx(1720 * 3 / 400, rel=1e-13)
    assert solution.source_a == pytest.approx([50, -30], rel=1e-12)
    assert solution.source_a.sum() == pytest.approx(20)
    assert solution.branch_a == pytest.approx([50], rel=1e-12)


# --- against one feed --------------------------------------------------------------------------------------


@fixed
@given(st.floats(6, 60), st.floats(0.01, 1), st.floats(0.001, 0.999), st.floats(0.05, 0.95))
def test_one_feed_as_in_supply(volt, ohm, part, split):
    power_w = part * volt**2 / 4 / ohm
    # the feed in three: source, wire out, return
    rows = [(1, 2, ohm * split / 2), (3, 0, ohm * split / 2)]
    solution = solve_network(network(rows, [(1, 0, volt, ohm * (1 - split))], [(2, 3, power_w, 0, 0)]))
    expected = constant_power(volt, ohm, power_w)
    assert solution.load_v[0] == pytest.approx(float(expected.load_v), rel=1e-7)
    assert solution.load_a[0] == pytest.approx(float(expected.current_a), rel=1e-7)


@fixed
@given(st.floats(8, 60), st.floats(1e-3, 1), st.floats(1, 5000), st.floats(0.2, 1.5))
def test_one_regulated_amplifier_as_in_supply(volt, ohm, draw_w, least):
    least_v = min(max(least * volt, 1.0), 60.0)
    expected = fed(volt, ohm, draw_w, regulated=True, full_power_v=least_v)
    net = network([(1, 2, ohm / 2)], [(1, 0, volt, ohm / 2)], [(2, 0, draw_w, 0, 0, least_v)])
    assert solve_network(net).load_v[0] == pytest.approx(float(expected.supply_v), rel=1e-7)
    assert solve_network(net).load_a[0] == pytest.approx(float(expected.current_a), rel=1e-7)


def test_resistances_from_a_microohm_to_a_gigaohm_cost_no_digits():
    # by hand: all that hangs on the source's terminals is a shunt, so one amplifier there sees Thévenin's source
    refusals = 0
    for seed in range(150):
        rng = np.random.default_rng(seed)
        branches = [(int(rng.integers(1, k)), k, 10 ** rng.uniform(-6, 9)) for k in range(2, 12)]
        branches += [(*map(int, rng.integers(0, 12, 2)), 10 ** rng.uniform(-6, 9)) for _ in range(6)]
        loads = [(k, 0, 0, 0, rng.choice([0, 1e-7, 1e-2])) for k in range(2, 12)]
        sources = [(1, 0, 14.4, 0.01)]
        open_v = solve_network(network(branches, sources, loads)).node_v[1]
        expected_v = constant_power(open_v, 0.01 * open_v / 14.4, 200).load_v
        try:
            assert solve_network(network(branches, sources, [*loads, (1, 0, 200, 0, 0)])).node_v[1] == pytest.approx(
                expected_v
            )
        except NoOperatingPoint:
            refusals += 1
            assert np.isnan(expected_v)
    assert 0 < refusals < 50


# --- laws --------------------------------------------------------------------------------------------------


@st.composite
def trees(draw, mesh=False, kinds=(1, 1, 1)):
    """A tree that can deliver: all draws at the end of all its wires in series would find 2/3 of the voltage."""
    count = draw(st.integers(2, 25))
    part = st.floats(0, 1)
    branches = [(draw(st.integers(1, k - 1)), k, draw(st.floats(1e-3, 0.1))) for k in range(2, count + 2)]
    source_v, source_ohm = draw(st.floats(6, 60)), draw(st.floats(1e-3, 0.1))
    most_a = source_v / 5 / (source_ohm + sum(ohm for *_, ohm in branches)) / count
    if mesh:
        nodes = st.integers(1, count + 1)
        branches += [(draw(nodes), draw(nodes), draw(st.floats(1e-3, 0.1))) for _ in range(draw(st.integers(0, 5)))]
    most = most_a * np.array([source_v / 3, 1 / 3, 1 / 3 / source_v]) * kinds
    loads = [(k, 0, *(draw(part) * value for value in most)) for k in range(2, count + 2)]
    return network(branches, [(1, 0, source_v, source_ohm)], loads)


def without(net: Network, load: int) -> Network:
    names = ("load_plus", "load_minus", "power_w", "current_a", "siemens", "floor_v")
    return replace(net, **{name: np.delete(getattr(net, name), load) for name in names})


@fixed
@given(trees(mesh=True, kinds=(0, 0, 1)) | trees(), st.integers(0, 24))
def test_removing_a_load_never_lowers_a_voltage(net, load):
    before, after = solve_network(net), solve_network(without(net, load % len(net.load_plus)))
    assert np.all(after.node_v >= before.node_v - 1e-9)


@fixed
@given(trees(), st.integers(0, 24), st.floats(0.05, 0.99))
def test_a_thicker_wire_never_lowers_the_voltage_at_its_far_end(net, wire, thinner):
    wire %= len(net.ohm)
    ohm = net.ohm.copy()
    ohm[wire] = max(ohm[wire] * thinner, 1e-6)
    far = net.end[wire]
    assert solve_network(replace(net, ohm=ohm)).node_v[far] >= solve_network(net).node_v[far] - 1e-9


def assert_balanced(net: Network) -> None:
    solution = solve_network(net)
    out_w = solution.branch_w.sum() + solution.load_w.sum() + solution.inner_w.sum()
    assert solution.source_w.sum() == pytest.approx(out_w, rel=1e-9, abs=1e-9)
    # what each load wants is what it gets, and what flows into a node flows out
    power_v = np.maximum(solution.load_v, net.floor_v)
    wanted_w = net.power_w * (solution.load_v / power_v) ** 2 + solution.load_v * (
        net.current_a + net.siemens * solution.load_v
    )
    assert solution.load_w == pytest.approx(wanted_w, rel=1e-9, abs=1e-12)
    out_a = np.zeros(net.nodes)
    for ends, current_a in (
        ((net.start, net.end), solution.branch_a),
        ((net.load_plus, net.load_minus), solution.load_a),
        ((net.source_minus, net.source_plus), solution.source_a),
    ):
        np.add.at(out_a, ends[0], current_a)
        np.subtract.at(out_a, ends[1], current_a)
    assert out_a == pytest.approx(0, abs=1e-6)


@fixed
@given(trees(mesh=True))
def test_powers_and_currents_balance(net):
    assert_balanced(net)


@pytest.mark.parametrize("seed", range(5))
def test_powers_and_currents_balance_with_two_sources_and_a_return(seed):
    assert_balanced(vehicle_like(seed, floor=True, strain=3.0))


@fixed
@given(trees(mesh=True, kinds=(0, 1, 1)), st.floats(0, 1))
def test_without_constant_powers_the_answers_add_up(net, part):
    def node_v(source, drawn):
        return solve_network(replace(net, source_v=net.source_v * source, current_a=net.current_a * drawn)).node_v

    open_v = node_v(1.0, 0.0)
    both = open_v + (node_v(1.0, part) - open_v) + (node_v(1.0, 1 - part) - open_v)
    np.testing.assert_allclose(node_v(1.0, 1.0), both, rtol=1e-10)
    np.testing.assert_allclose(node_v(3.0, 3.0), 3 * node_v(1.0, 1.0), rtol=1e-10)


# --- refused -----------------------------------------------------------------------------------------------


def refused(branches, sources, loads) -> NoOperatingPoint:
    with pytest.raises(NoOperatingPoint) as caught:
        solve_network(network(branches, sources, loads))
    return caught.value


def test_the_share_is_the_most_that_gets_through_one_feed():
    # V^2/(4 R) of `constant_power`: 14.4^2/(4 x 0.2) = 259.2 W of 1000 W, at half the voltage
    refusal = refused([(1, 2, 0.05), (2, 3, 0.12), (4, 0, 0.02)], [(1, 0, 14.4, 0.01)], [(3, 4, 1000, 0, 0)])
    assert refusal.share == pytest.approx(0.2592, rel=2e-6)
    assert refusal.load_v == pytest.approx(7.2, rel=2e-3)  # a square root away from the share
    # 36 A through 0.12 ohm
    assert (refusal.load, refusal.branch, refusal.source) == (0, 1, None)
    assert refusal.drop_v == pytest.approx(36 * 0.12, rel=2e-3)
    for words in ("Load 0", "25.92 %", "Branch 1", "4.32 V", "thicker"):
        assert words in str(refusal)
    assert "inner" not in str(refusal)


def test_the_one_behind_the_thin_wire_is_named():
    # two loads on a shared feed, the second behind a thin wire of its own; then with the shared feed the thin one
    sources = [(1, 0, 14.4, 0.001)]
    loads = [(3, 0, 300, 0, 0), (4, 0, 300, 0, 0)]
    refusal = refused([(1, 2, 0.005), (2, 3, 0.005), (2, 4, 0.3)], sources, loads)
    assert (refusal.load, refusal.branch, refusal.source) == (1, 2, None)
    refusal = refused([(1, 2, 0.3), (2, 3, 0.005), (2, 4, 0.01)], sources, loads)
    assert (refusal.branch, refusal.source) == (0, None)
    # not the lowest voltage: a lamp has 1 V all the time, and a power that gives way less than the one that does not
    lamp, gives_way = (2, 0, 0, 0, 1.0), (3, 0, 300, 0, 0, 14.0)
    refusal = refused([(1, 2, 13.0), (1, 3, 0.5), (1, 4, 0.3)], sources, [lamp, gives_way, loads[1]])
    assert (refusal.load, refusal.branch) == (2, 2)
    # a mesh: two ways of which one carries nearly all
    refusal = refused([(1, 2, 0.3), (1, 3, 0.9), (3, 2, 0.1), (2, 4, 0.01)], sources, loads[1:])
    assert (refusal.load, refusal.branch) == (0, 0)


def test_a_weak_source_is_named():
    refusal = refused([(1, 2, 0.005)], [(1, 0, 12.0, 0.2)], [(2, 0, 500, 0, 0)])
    assert (refusal.branch, refusal.source) == (0, 0)
    assert "inner resistance of source 0" in str(refusal)
    refusal = refused([], [(1, 0, 12.0, 0.2)], [(1, 0, 500, 0, 0)])
    assert (refusal.branch, refusal.source, refusal.drop_v) == (None, 0, 0)


def test_a_constant_current_is_refused_where_its_voltage_would_be_below_0():
    # 12 V over 1.2 ohm is 10 A; 40 A are wanted
    rows = [(1, 2, 1.0)], [(1, 0, 12.0, 0.2)]
    refusal = refused(*rows, [(2, 0, 0, 40, 0)])
    assert refusal.share == pytest.approx(0.25, rel=2e-6)
    assert (refusal.load, refusal.branch) == (0, 0)
    assert solve_network(network(*rows, [(2, 0, 0, 9.99, 0)])).load_v[0] == pytest.approx(12 - 9.99 * 1.2)


def test_the_very_limit_is_either_answered_or_refused_there():
    # 16^2/4 = 64 W in exact binary numbers
    rows = [(1, 2, 0.5)], [(1, 0, 16.0, 0.5)]
    assert solve_network(network(*rows, [(2, 0, 64 * (1 - 1e-9), 0, 0)])).load_v[0] == pytest.approx(8, rel=1e-4)
    for power_w in (64 * (1 + 1e-9), 65.0, 256.0):  # at 256 W Newton's very first matrix is singular
        assert refused(*rows, [(2, 0, power_w, 0, 0)]).share == pytest.approx(64 / power_w, rel=3e-6)


def test_a_power_that_gives_way_always_has_an_answer_beside_one_that_does_not():
    rows = [(1, 2, 0.2), (2, 3, 0.2)], [(1, 0, 14.4, 0.01)]
    both = [(2, 0, 400, 0, 0, 11.0), (3, 0, 400, 0, 0, 11.0)]
    assert np.all(solve_network(network(*rows, both)).load_v < 11)
    refusal = refused(*rows, [both[0], (3, 0, 400, 0, 0)])
    assert refusal.load == 1


def test_a_floating_node_is_named():
    with pytest.raises(FloatingNode) as caught:
        solve_network(network([(1, 2, 0.1), (3, 4, 0.1)], [(1, 0, 12, 0.1)], [(2, 4, 10, 0, 0), (2, 0, 0, 1, 0)]))
    assert caught.value.nodes == (3, 4)
    assert "Node: “3, 4” won’t work; needed: connected to node 0" in str(caught.value)


@pytest.mark.parametrize("load", [(0, 2, 10, 0, 0), (0, 2, 0, 1, 0), (2, 2, 10, 0, 0), (3, 0, 10, 0, 0)])
def test_a_load_without_a_voltage_is_named(load):
    rows = [(1, 2, 0.1), (3, 0, 0.1)], [(1, 0, 12, 0.1)]
    with pytest.raises(InputError, match=r"^Load 1: .* with nothing drawn.* won’t work; needed: above 0 V"):
        solve_network(network(*rows, [(2, 0, 1, 0, 0), load]))


GOOD = {
    **{"nodes": 3, "start": [1], "end": [2], "ohm": [0.1], "source_plus": [1], "source_minus": [0]},
    **{"source_v": [12.0], "source_ohm": [0.1], "load_plus": [2], "load_minus": [0]},
    **{"power_w": [1.0], "current_a": [0.0], "siemens": [0.0]},
}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"nodes": 1}, "Number of nodes"),
        ({"start": [3]}, "Branch start"),
        ({"end": [-1]}, "whole numbers from 0 to 2"),
        ({"load_plus": [1.5]}, "Load load_plus"),
        ({"start": [[1]]}, "Branch start"),
        ({"end": [1, 2]}, "as many as start: 1"),
        ({"ohm": [0.1, 0.2]}, "Branch ohm: 2 won’t work; needed: as many as start: 1"),
        ({"ohm": [0.0]}, "Branch ohm"),
        ({"source_ohm": [0.0]}, "Source source_ohm"),
        ({"source_v": [math.nan]}, "Source source_v"),
        ({"power_w": [-1.0]}, "Load power_w: “-1 W”"),
        ({"floor_v": [-1.0]}, "Load floor_v"),
    ],
)
def test_bad_values_are_named(change, words):
    solve_network(Network(**GOOD))
    with pytest.raises(InputError, match=words):
        Network(**(GOOD | change))


def test_refusals_travel_between_processes():
    for error in (FloatingNode((3, 4)), NoOperatingPoint(0.5, 1, 7.0, 2, 3.0, None)):
        copy = pickle.loads(pickle.dumps(error))
        assert (str(copy), vars(copy)) == (str(error), vars(error))


def test_no_sources_and_no_loads_are_networks_too():
    nothing = solve_network(network([(0, 1, 0.1)], [(1, 0, 0.0, 1.0)], []))
    assert np.all(nothing.node_v == 0)
    assert solve_network(replace(Network(**GOOD), power_w=0)).load_v == pytest.approx([12.0])
