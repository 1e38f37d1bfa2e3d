"""Trees with a constant-power load on every fourth node: how time grows, and against ngspice on the same netlist."""

from __future__ import annotations

from statistics import median
from time import perf_counter, process_time

import numpy as np
import pytest

from tests.support.ngspice import netlist_of, run
from wirecalc.vehicle.nodal import Network, NoOperatingPoint, solve_network


def tree(wires: int, watt: float = 500.0) -> Network:
    """Each wire starts at any node before it; the voltage sags by some percent."""
    rng = np.random.default_rng(wires)
    end = np.arange(2, wires + 2)
    loads = end[end % 4 == 0]
    return Network(
        **{"nodes": wires + 2, "start": rng.integers(1, end), "end": end},
        ohm=rng.uniform(0.001, 0.01, wires),
        **{"source_plus": [1], "source_minus": [0], "source_v": [14.4], "source_ohm": [0.002]},
        **{"load_plus": loads, "load_minus": 0 * loads},
        power_w=watt * rng.uniform(0.5, 1.5, len(loads)) / len(loads),
        **{"current_a": np.zeros(()), "siemens": np.zeros(())},
    )


def time_s(work, clock=process_time) -> float:
    """Of this process alone, whatever others do on the machine: they would slow the long work more than the short."""
    start = clock()
    work()
    return clock() - start


def test_time_grows_no_faster_than_wires_to_the_1_3():
    nets = [tree(wires) for wires in (100, 1_000, 10_000)]
    for net in nets:
        assert 0.9 < solve_network(net).load_v.min() / 14.4 < 0.98
    rounds = [[time_s(lambda net=net: solve_network(net)) for net in nets] for _ in range(25)]
    spent_s = np.median(rounds, axis=0)
    growth = np.diff(np.log10(spent_s))
    print(f"\n100, 1 000, 10 000 wires: {(spent_s * 1e3).round(2)} ms, exponents {growth.round(2)}")
    assert np.all(growth <= 1.3)


@pytest.mark.parametrize("wires", [1_000, 10_000])
def test_at_least_twice_as_fast_as_ngspice(wires):
    """Its whole process, as a script would run it, with its own tolerances and begin: as fast as it gets."""
    net = tree(wires)
    netlist = netlist_of(net)
    some = range(1, net.nodes, net.nodes // 8)
    exact = run(".options reltol=1e-10 vntol=1e-12\n" + netlist, "op", [f"v({node})" for node in some])
    np.testing.assert_allclose(solve_network(net).node_v[some], [volt[0] for volt in exact.values()], rtol=1e-6)
    work = (lambda: run(netlist, "op", ["v(1)"]), lambda: solve_network(net))
    pairs = [[time_s(solver, perf_counter) for solver in work] for _ in range(7)]
    spice_s, ours_s = (median(times) for times in zip(*pairs, strict=True))
    print(f"\n{wires} wires: ngspice {spice_s * 1e3:.1f} ms, ours {ours_s * 1e3:.2f} ms, {spice_s / ours_s:.1f} times")
    assert spice_s > 2 * ours_s


def test_what_cannot_be_delivered_is_found_in_the_time_of_60_answers():
    net, too_much = tree(1_000), tree(1_000, watt=40_000)

    def refuse() -> None:
        with pytest.raises(NoOperatingPoint):
            solve_network(too_much)

    pairs = [(time_s(refuse), time_s(lambda: solve_network(net))) for _ in range(7)]
    refused_s, answered_s = (median(times) for times in zip(*pairs, strict=True))
    print(f"\nrefused {refused_s * 1e3:.1f} ms, answered {answered_s * 1e3:.2f} ms")
    assert refused_s < 60 * answered_s
