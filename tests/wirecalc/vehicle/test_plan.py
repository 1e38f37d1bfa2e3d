from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from tests import tried
from tests.support import ngspice
from tests.support.jobs import demo_choice
from tests.support.plans import BATTERY, BLOCK, BODY, amplifier, load, vehicle, wire, with_wire
from wirecalc import runs
from wirecalc.advice.house_rules import HouseRules
from wirecalc.circuits import supply
from wirecalc.errors import InputError
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.network import FUSE_DROP_V, STATES, OperatingPoint, Wiring
from wirecalc.vehicle.plan import Plan, solve_vehicle
from wirecalc.vehicle.supply import settled
from wirecalc.wire import heat
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS, insulated

ALTERNATOR = Device(name="Alternator", kind="alternator", voltage_v=14.4, inner_ohm=0.01)
SPEAKER = Device(name="Door", kind="loudspeaker", impedance_ohm=4)


def demo_plan() -> Plan:
    return demo_choice().plan


def netlist(answer: OperatingPoint) -> str:
    """The network as ngspice has it: constant power as a current that depends on the voltage."""
    net = answer.network
    lines = [
        f"R{k} n{a} n{b} {ohm:.17g}" for k, (a, b, ohm) in enumerate(zip(net.start, net.end, net.ohm, strict=True))
    ]
    for k, (a, b) in enumerate(zip(net.source_plus, net.source_minus, strict=True)):
        lines += [f"V{k} s{k} n{b} {net.source_v[k]:.17g}", f"RS{k} s{k} n{a} {net.source_ohm[k]:.17g}"]
    for k, (a, b) in enumerate(zip(net.load_plus, net.load_minus, strict=True)):
        across = f"v(n{a},n{b})"
        if net.power_w[k]:
            held = f"max({across},{net.floor_v[k]:.17g})" if net.floor_v[k] else across
            lines.append(f"B{k} n{a} n{b} I={net.power_w[k]:.17g}*{across}/({held}*{held})")
        if net.current_a[k]:
            lines.append(f"I{k} n{a} n{b} {net.current_a[k]:.17g}")
        if net.siemens[k]:
            lines.append(f"RL{k} n{a} n{b} {1 / net.siemens[k]:.17g}")
    lines = [line.replace(" n0 ", " 0 ").replace(",n0)", ")") for line in lines]
    guess = [f".nodeset v(n{k})=12" for k in {*net.load_plus.tolist(), *net.source_plus.tolist()}]
    return "\n".join([*lines, *guess, ".options reltol=1e-12 abstol=1e-12 vntol=1e-12 itl1=1000"])


@pytest.mark.parametrize("row", range(len(STATES)), ids=[state.name for state in STATES])
def test_ngspice_solves_the_demo_vehicle_alike(row: int) -> None:
    answer = demo_plan().supply.answers[row]
    assert answer.solution is not None
    names = [f"v(n{k})" for k in range(1, answer.network.nodes)]
    spice = ngspice.run(netlist(answer), "op", names)
    theirs = np.array([spice[name][0] for name in names])
    np.testing.assert_allclose(answer.solution.node_v[1:], theirs, rtol=1e-6, atol=1e-9)
    assert np.max(answer.solution.node_v) > 11


def chain(power_w: float = 500.0, **feed: Any) -> Vehicle:
    """Battery, one wire, a load on the body, which has next to no resistance."""
    return vehicle(load(power_w=power_w), wire("Feed", "Battery", "Load", **feed))


def test_one_load_at_one_wire_by_hand() -> None:
    plan = solve_vehicle(chain(length_m=5, size=("AWG", 4.0), fuse=80.0, joints_ohm=0.001))
    coated = insulated([awg(4)], INSULATIONS["pvc_105"])

    def at(hot_c: float, source_v: float) -> tuple[float, Any]:  # by bisection, not by repeating
        ohm = 5 * awg(4).ohm_per_m_20c * (1 + 0.00393 * (hot_c - 20)) + 0.001 + FUSE_DROP_V / 80
        return ohm, supply.constant_power(source_v, 0.005 + ohm + 2e-5, 500.0)  # twice from the body

    def by_hand(source_v: float) -> tuple[float, Any]:
        def over(hot_c: float) -> float:
            return float(heat.temperature_c(coated, at(hot_c, source_v)[1].current_a, 30.0, 1)[0]) - hot_c

        return at(float(brentq(over, 30.0, 200.0)), source_v)

    current = plan.currents  # with the engine on, a plan without an alternator has 14.4 V
    for source_v, rows in ((12.6, slice(0, 2)), (14.4, slice(2, 4))):
        ohm, solution = by_hand(source_v)
        assert current["current_a"].to_numpy()[rows] == pytest.approx(float(solution.current_a), rel=1e-6)
        assert current["drop_v"].to_numpy()[rows] == pytest.approx(float(solution.current_a) * ohm, rel=1e-4)
    ohm, solution = by_hand(12.6)
    circuit = plan.circuit("Feed")
    assert circuit.measures["load_v"] == pytest.approx(float(solution.load_v), rel=1e-6)
    own_fuse_v = float(solution.current_a) * FUSE_DROP_V / 80  # no thicker wire mends it
    assert circuit.measures["drop_v"] == pytest.approx(float(solution.current_a) * (ohm + 2e-5) - own_fuse_v, rel=1e-4)
    assert (circuit.kind, type(circuit.run), circuit.laid.ways) == ("load feed", runs.DeviceRun, 1)


def test_two_batteries_ways_of_return_and_parallel_wires() -> None:
    pair = solve_vehicle(chain(length_m=2, back="wire")).circuit("Feed").measures["drop_v"]
    body = solve_vehicle(chain(length_m=2)).circuit("Feed").measures["drop_v"]
    two = solve_vehicle(chain(length_m=2, parallel=2)).circuit("Feed").measures["drop_v"]
    assert pair == pytest.approx(2 * body, rel=0.08)  # two lie warmer together
    assert two == pytest.approx(body / 2, rel=0.08)  # and cooler
    far = Device(name="Body", kind="body", inner_ohm=0.01)
    long = solve_vehicle(vehicle(far, *chain(length_m=2).devices[:1], *chain(length_m=2).wires))
    assert long.circuit("Feed").measures["drop_v"] > body + 2 * 0.01 * 30


def test_power_balances_in_every_state() -> None:
    for answer in demo_plan().supply.answers:
        solution = answer.solution
        assert solution is not None
        out = solution.branch_w.sum() + solution.load_w.sum() + solution.inner_w.sum()
        assert solution.source_w.sum() == pytest.approx(out, rel=1e-9)


def tree(ohms: list[float], sizes: list[float]) -> Vehicle:
    """A block at the battery and resistive loads, each on the one before it or on the block."""
    parts: list[Any] = [BODY, BLOCK, wire("main", "Battery", "Block", 4.0, ("AWG", sizes[0]))]
    for number, ohm in enumerate(ohms):
        before = f"L{number - 1}" if number % 3 else "Block"
        parts.append(load(f"L{number}", impedance_ohm=ohm))
        parts.append(wire(f"w{number}", before, f"L{number}", 3.0, ("AWG", sizes[number + 1])))
    return vehicle(*parts)


OHMS = st.lists(st.floats(0.3, 50), min_size=1, max_size=6)


@settings(max_examples=tried(20), deadline=None, derandomize=True)
@given(OHMS, st.lists(st.integers(0, 18).map(float), min_size=7, max_size=7), st.integers(0, 5))
def test_a_load_less_or_a_thicker_wire_never_lowers_a_voltage(
    ohms: list[float], sizes: list[float], which: int
) -> None:
    whole = tree(ohms, sizes)
    which %= len(ohms)

    def loads_v(variant: Vehicle) -> np.ndarray[Any, Any]:
        wiring = Wiring(variant)
        settled_supply = settled(wiring, [w.conductor(w.size) for w in wiring.wires if w.size != "choose"], {})
        return np.array([settled_supply.at_v(wiring.plus(f"L{n}"), wiring.minus(f"L{n}")) for n in range(len(ohms))])

    before = loads_v(whole)
    lighter = tree([1e5 if n == which else ohm for n, ohm in enumerate(ohms)], sizes)
    assert np.all(loads_v(lighter) >= before - 1e-9)
    name = f"w{which}"
    thicker = with_wire(whole, name, size=("AWG", max(sizes[which + 1] - 2, -3.0)))
    assert np.all(loads_v(thicker)[which] >= before[which] - 1e-9)


def test_a_feed_that_cannot_deliver_names_the_wire() -> None:
    plan = solve_vehicle(chain(power_w=3000.0, length_m=15.0, size=("AWG", 10.0)))
    assert not plan.meets
    assert len(plan.problems) == len(STATES)
    problem = plan.problems[0]
    assert "no operating point: the feed cannot deliver this" in problem
    assert "“Feed” takes the most" in problem
    assert "Load is down to" in problem
    circuit = plan.circuit("Feed")
    assert math.isnan(circuit.measures["load_v"])
    assert "voltage drop has no value here" in circuit.broken
    assert plan.nodes["node_v"].isna().all()
    assert plan.table["used"].iloc[0] == math.inf
    short = solve_vehicle(chain(power_w=20_000.0, length_m=0.1, size=("AWG", -3.0)))
    assert "The inner resistance of Battery takes still more" in short.problems[0]
    net = plan.supply.answers[0]
    with pytest.raises(RuntimeError):  # nor does ngspice find one
        ngspice.run(netlist(net), "op", ["v(n1)"])


def test_amplifiers_without_operating_point_at_full_power_give_way() -> None:
    thin = vehicle(
        amplifier(regulated="yes", full_power_v=11.0), amplifier("Other"), SPEAKER,
        wire("Feed", "Battery", "Amplifier", 6.0, ("AWG", 14.0)), wire("f", "Battery", "Other", 0.5),
        wire("Run", "Amplifier: speaker 1", "Door: coil", 5.0, ("AWG", 12.0)),
    )  # fmt: skip
    plan = solve_vehicle(thin)
    levels = plan.levels
    assert levels["supply_v"].iloc[0] < 11
    ratio = (levels["supply_v"].iloc[0] / 11.0) ** 2
    assert levels["feed_db"].iloc[0] == pytest.approx(-10 * math.log10(ratio), rel=1e-9)
    running = min((levels["supply_v"].iloc[1] / 11.0) ** 2, 1.0)  # judged with the engine on
    assert plan.circuit("Feed").measures["output_w"] == pytest.approx(400 * running, rel=1e-9)


def test_levels_add_feed_and_run() -> None:
    plan = demo_plan()
    levels = plan.levels
    assert len(levels) == 2 * 7
    np.testing.assert_allclose(levels["total_db"], levels["feed_db"] + levels["run_db"])
    posts = plan.supply.posts_v
    door_level = levels[(levels["wire"] == "Left front door run") & (levels["engine"] == "off")].iloc[0]
    assert door_level["feed_db"] == pytest.approx(20 * math.log10(posts[0] / door_level["supply_v"]))
    run = plan.circuit("Left front door run").run
    assert isinstance(run, runs.SpeakerRun)
    assert door_level["run_db"] == pytest.approx(plan.circuit("Left front door run").measures["loss_db"])
    assert 0.1 < door_level["feed_db"] < 1
    assert 0.1 < door_level["run_db"] < 0.4
    head = levels[levels["amplifier"] == "Head unit"]
    assert (head["feed_db"] == 0).all()
    bass = plan.circuit("Subwoofer run").run
    assert isinstance(bass, runs.SubwooferRun)
    assert bass.amplifier.power_w == pytest.approx(600)  # bridged


def test_the_demo_is_signed_and_a_fault_in_it_is_found() -> None:
    plan = demo_plan()
    table = plan.table.set_index("wire")
    assert plan.meets
    assert table["meets"].all()
    assert list(table.index[table["grade"] != "fine"]) == ["Right rear door run"]
    assert "at most 0.4 dB allowed" in table.loc["Right rear door run", "verdict"]
    assert 1 < table.loc["Right rear door run", "used"] < 1.05  # close
    assert plan.circuit("Right rear door run").broken == ()
    assert plan.problems == ()
    assert len(plan.nodes) == 4 * len(plan.supply.wiring.nodes)
    faulty = solve_vehicle(with_wire(plan.vehicle, "Right dash run", size=("AWG", 20.0), parallel=1))
    assert [circuit.wire.name for circuit in faulty.circuits if not circuit.meets] == ["Right dash run"]
    assert not faulty.meets
    broken = faulty.limits[~faulty.limits["meets"]]
    assert set(broken["wire"]) == {"Right dash run", "Right rear door run"}
    bundles = plan.bundles
    assert set(bundles["bundle"]) >= {"right sill", "dash", "left door cable", "Main feed"}
    assert (bundles["temperature_c"] >= bundles["ambient_c"] - 1e-6).all()
    assert (bundles["temperature_c"] <= bundles["limit_c"]).all()


def doors(near: Any, far: Any) -> Vehicle:
    """Two speakers on one amplifier, 1 m and 8 m from it."""
    return vehicle(
        amplifier(), wire("Feed", "Battery", "Amplifier", fuse=40.0),
        *(Device(name=name, kind="loudspeaker", impedance_ohm=4.0) for name in ("Near", "Far")),
        wire("Near run", "Amplifier: speaker 1", "Near: coil", 1.0, near),
        wire("Far run", "Amplifier: speaker 2", "Far: coil", 8.0, far),
    )  # fmt: skip


def test_speakers_that_play_alike_are_held_against_one_another() -> None:
    """A limit of its own, which no size is too thin for: a gain sets it right.

    By hand: 16 AWG costs 0.056 dB a metre into 4 ohm, 30 °C.
    """
    apart = solve_vehicle(doors(("AWG", 16.0), ("AWG", 16.0)))
    near, far = apart.circuit("Near run"), apart.circuit("Far run")
    assert far.measures["matched_db"] == pytest.approx(7 * 0.056, rel=0.06)
    assert near.measures["matched_db"] == 0.0
    assert far.measures["matched_db"] == pytest.approx(far.measures["loss_db"] - near.measures["loss_db"], rel=1e-12)
    assert far.measures["matched_db"] > 1.25 * 0.2
    assert any("level under the loudest of its matches" in words and "at most 0.2 dB" in words for words in far.close)
    assert not any("matches" in words for words in (*far.broken, *near.close, *near.broken))
    same = solve_vehicle(doors(("AWG", 16.0), ("AWG", 10.0))).circuit("Far run")
    assert same.measures["matched_db"] < 0.2
    assert not any("matches" in words for words in same.close)
    asked = replace(
        doors(("AWG", 16.0), ("AWG", 10.0)), rules=rules_with("matched_level/amplifier to speaker///dB", "0.02")
    )
    assert any("at most 0.02 dB" in words for words in solve_vehicle(asked).circuit("Far run").close)
    sizes = {
        circuit.wire.name: circuit.conductor.label for circuit in choose_plan(doors("choose", "choose")).plan.circuits
    }
    assert sizes["Near run"] == sizes["Far run"]  # doors match, whatever their lengths


def rules_with(key: str, value: str) -> HouseRules:
    return HouseRules.from_table().replace(key, value)


def test_the_lowest_supply_is_the_devices_own_or_the_house_rules() -> None:
    """A strip of constant current loses the same volts at any supply: by hand, its last lamp falls with the supply."""
    strip = Device(name="Strip", kind="lamp strip", strip_m=2.0, amps_per_m=0.5)
    feed = wire("Strip feed", "Battery", "Strip", 2, ("AWG", 16.0), back="body", fuse=5.0)
    usual = solve_vehicle(vehicle(strip, feed)).circuit("Strip feed")
    own = solve_vehicle(vehicle(replace(strip, lowest_v=8.5), feed)).circuit("Strip feed")
    ruled = vehicle(strip, feed)
    ruled = replace(ruled, rules=rules_with("supply_v/relay or lamp/battery low//V", "8.5"))
    lower = 100 * 2.0 / 12.0  # of 12 V
    assert usual.measures["dimmest_percent"] - own.measures["dimmest_percent"] == pytest.approx(lower, abs=1e-6)
    assert solve_vehicle(ruled).circuit("Strip feed").measures["dimmest_percent"] == own.measures["dimmest_percent"]
    assert usual.meets
    assert any("dimmest lamp" in reason for reason in own.broken)


def test_each_circuit_can_be_opened_as_one_run_with_the_same_result() -> None:
    plan = demo_plan()
    kinds = {"speaker": runs.SpeakerRun, "subwoofer": runs.SubwooferRun, "line": runs.LineRun, "lamp": runs.LampRun,
             "relay": runs.RelayRun, "remote": runs.TurnOnRun, "amplifier feed": runs.FeedRun,
             "load feed": runs.DeviceRun}  # fmt: skip
    for circuit in plan.circuits:
        assert isinstance(circuit.run, kinds.get(circuit.kind, type(None)))
        if circuit.run is None:
            continue
        ohm = runs.wire_ohm([circuit.conductor], circuit.laid)
        alone = circuit.run.measures(ohm, circuit.laid.length_m)
        if circuit.kind in ("speaker", "subwoofer", "line"):
            assert float(alone["loss_db"][0]) == pytest.approx(circuit.measures["loss_db"], rel=1e-9)
        elif circuit.kind in ("lamp", "load feed"):  # the same voltage, but for the fuse
            assert float(alone["load_v"][0]) == pytest.approx(circuit.measures["load_v"], abs=FUSE_DROP_V)
        elif circuit.kind == "amplifier feed":
            assert float(alone["load_v"][0]) == pytest.approx(circuit.measures["load_v"], abs=0.1)
        hot = runs.with_heat(alone, [circuit.conductor], circuit.laid, circuit.place)
        assert float(hot["allowable_a"][0]) == pytest.approx(circuit.measures["allowable_a"])


def test_the_engine_helps_and_a_weak_alternator_is_helped() -> None:
    parts = (
        wire("Charge", "Alternator", "Battery", 1.0, ("AWG", 2.0)),
        wire("Feed", "Battery", "Load", 1.0, ("AWG", 0.0)),
    )
    strong = solve_vehicle(vehicle(ALTERNATOR, load(power_w=300.0), *parts))
    volts = {state.engine: strong.supply.end_v(parts[1])[row] for row, state in enumerate(STATES)}
    assert volts[True] > 13.5 > 12.6 > volts[False]
    by_engine = [len(answer.network.source_v) for answer in strong.supply.answers]
    assert by_engine == [1, 1, 1, 1]  # a full battery takes nothing
    weak = solve_vehicle(vehicle(replace(ALTERNATOR, inner_ohm=0.2), load(power_w=300.0), *parts))
    assert [len(answer.network.source_v) for answer in weak.supply.answers] == [1, 1, 2, 2]
    low = solve_vehicle(vehicle(replace(ALTERNATOR, inner_ohm=0.12), load(power_w=300.0), *parts))
    assert [len(answer.network.source_v) for answer in low.supply.answers] == [1, 1, 2, 2]
    solution = weak.supply.answers[2].solution
    assert solution is not None
    assert np.all(solution.source_a > 0)  # both give
    second = Device(name="Second battery", kind="battery", voltage_v=12.4, inner_ohm=0.01)
    apart = solve_vehicle(vehicle(BATTERY, ALTERNATOR, second, load(power_w=300.0), load("Pump", draw_a=2), *parts,
                          wire("p", "Second battery", "Pump")))  # fmt: skip
    assert [answer.network.source_v.tolist() for answer in apart.supply.answers] == [[12.6, 12.4]] * 2 + [
        [14.4, 12.4]
    ] * 2
    beyond = solve_vehicle(vehicle(replace(ALTERNATOR, inner_ohm=1.0), load(power_w=300.0), *parts))
    assert beyond.problems == ()  # more than the alternator can give: the battery helps
    assert "fed from both ends" in " ".join(strong.warnings)


def test_turn_on_leads_add_up_from_the_output_on() -> None:
    head = Device(name="Head", kind="head unit", draw_a=1, remote_limit_a=0.1)
    first, second = (amplifier(name, remote_draw_a=0.06) for name in ("One", "Two"))
    whole = vehicle(
        head, first, second, wire("h", "Battery", "Head"), wire("1", "Battery", "One"), wire("2", "Battery", "Two"),
        wire("a", "Head: remote", "One: remote", 5.0, ("AWG", 22.0)),
        wire("b", "One: remote", "Two: remote", 5.0, ("AWG", 22.0), back="wire"),
    )  # fmt: skip
    plan = solve_vehicle(whole)
    near, far = plan.circuit("a"), plan.circuit("b")
    ohm = 5 * awg(22).ohm_per_m_20c * (1 + 0.00393 * 10)
    assert near.measures["drop_v"] == pytest.approx(0.12 * ohm, rel=0.01)
    assert far.measures["drop_v"] > near.measures["drop_v"]
    assert near.measures["draw_a"] == pytest.approx(0.12, rel=1e-6)
    assert any("current 0.12 A, at most 0.1 A" in reason for reason in near.broken)
    assert isinstance(far.run, runs.TurnOnRun)


def test_a_relay_that_does_not_pull_in_when_hot() -> None:
    coil = Device(name="Relay", kind="relay", pull_in_v=10.5, drop_out_v=1.0)
    lamp = Device(name="Strip", kind="lamp strip", strip_m=1, amps_per_m=1)
    whole = vehicle(
        coil, lamp, wire("coil", "Battery", "Relay: 86"), wire("in", "Battery", "Relay: 30", fuse=5.0),
        wire("out", "Relay: 87", "Strip"), wire("ground", "Relay: 85", "Body: floor"),
    )  # fmt: skip
    plan = solve_vehicle(whole)
    circuit = plan.circuit("coil")
    needed = 10.5 * (1 + 0.00393 * 65)
    tired_v = 12.6 - 10.5  # lower end of a 12 V supply: ISO 16750-2:2010, code D
    assert circuit.measures["margin_v"] == pytest.approx(circuit.measures["load_v"] - tired_v - needed, abs=0.02)
    assert any("over pull-in when hot" in reason for reason in circuit.broken)
    assert plan.circuit("out").measures["before_a"] == 5
    assert plan.circuit("out").measures["last_v"] < plan.circuit("out").measures["load_v"]


def test_a_low_load_is_a_caution() -> None:
    two = replace(SPEAKER, name="Second")
    whole = vehicle(
        amplifier(least_ohm=3.0), SPEAKER, two, wire("f", "Battery", "Amplifier"),
        wire("a", "Amplifier: speaker 1", "Door: coil"), wire("b", "Amplifier: speaker 1", "Second: coil"),
    )  # fmt: skip
    assert any("2 Ω is under the least load of 3 Ω" in warning for warning in solve_vehicle(whole).warnings)


def test_speaker_level_into_a_line_input() -> None:
    head = Device(name="Head", kind="head unit", draw_a=1, power_w=18)
    whole = vehicle(
        head, amplifier(), wire("h", "Battery", "Head"), wire("f", "Battery", "Amplifier"),
        wire("s", "Head: speaker 2", "Amplifier: line in 1", 5.0, ("AWG", 20.0)),
    )  # fmt: skip
    signal = solve_vehicle(whole).circuit("s")
    assert signal.kind == "factory signal"
    assert signal.measures["loss_db"] < 0.001
    # 18 W into 4 Ω: 8.49 V, and 2 % more without a load by its damping factor of 50
    assert signal.measures["load_v"] == pytest.approx(math.sqrt(18 * 4) * 1.02, rel=1e-3)


def test_what_is_left_to_choose_or_hangs_in_the_air_is_refused() -> None:
    with pytest.raises(InputError, match="Let them be chosen first"):
        solve_vehicle(chain(size="choose"))
    with pytest.raises(InputError, match="Let them be chosen first"):
        solve_vehicle(chain(fuse="choose"))
    lost = vehicle(
        amplifier(), wire("f", "Battery", "Amplifier"), amplifier("Two"), wire("t", "Battery", "Two"),
        wire("a", "Two: remote", "Amplifier: remote"),
    )  # fmt: skip
    with pytest.raises(InputError, match=r"Two \(remote in\).*a path to a battery"):
        solve_vehicle(lost)


def test_an_unfused_wire_and_a_fuse_that_is_too_large_break_limits() -> None:
    bare = solve_vehicle(chain(power_w=50.0, size=("AWG", 14.0))).circuit("Feed")
    assert bare.broken == (
        f"no fuse protects it: put one of at most {bare.measures['largest_fuse_a']:.3g} A where it starts",
    )
    large = solve_vehicle(chain(power_w=50.0, size=("AWG", 14.0), fuse=100.0)).circuit("Feed")
    assert any("upstream fuse 100 A, at most" in reason for reason in large.broken)
    small = solve_vehicle(chain(power_w=50.0, size=("AWG", 14.0), fuse=4.0)).circuit("Feed")
    assert any("fuse 4 A, at least" in reason for reason in small.broken)
    right = solve_vehicle(chain(power_w=50.0, size=("AWG", 14.0), fuse=7.5)).circuit("Feed")
    assert right.meets
    assert right.tightest[1] <= 1


def test_a_starved_amplifier_is_told_not_thrown() -> None:
    whole = vehicle(
        amplifier(power_w=800.0), SPEAKER, wire("Feed", "Battery", "Amplifier", 20.0, ("AWG", 22.0)),
        wire("Run", "Amplifier: speaker 1", "Door: coil"),
    )  # fmt: skip
    plan = solve_vehicle(whole)
    assert len(plan.problems) == 2  # music has none; at full power it gives way
    assert plan.levels["feed_db"].min() > 10
    assert any("conductor temperature has no value here" in reason for reason in plan.circuit("Feed").broken)
    constant = solve_vehicle(vehicle(*whole.devices, load(power_w=3000.0), *whole.wires,
                             wire("f", "Battery", "Load", 20.0, ("AWG", 20.0))))  # fmt: skip
    assert len(constant.problems) == 4
    assert constant.levels["load_w"].isna().all()
    assert constant.circuit("Feed").run is None


def test_turn_on_leads_in_a_ring() -> None:
    head = Device(name="Head", kind="head unit", draw_a=1)
    whole = vehicle(
        head, amplifier("One"), amplifier("Two"), wire("h", "Battery", "Head"), wire("1", "Battery", "One"),
        wire("2", "Battery", "Two"), wire("b", "One: remote", "Two: remote"), wire("c", "Two: remote", "One: remote"),
        wire("a", "Head: remote", "One: remote"),
    )  # fmt: skip
    assert solve_vehicle(whole).circuit("b").measures["drop_v"] < 0.01


@pytest.mark.parametrize(("draw_a", "size", "standing"), [(0.8, 18.0, "no wire does"), (0.2, 18.0, "fine")])
def test_a_turn_on_output_that_cannot_give_the_draw_asks_for_a_relay(draw_a: float, size: float, standing: str) -> None:
    head = Device(name="Head", kind="head unit", remote_limit_a=0.3)
    feeds = (wire("Head feed", "Battery", "Head", fuse=10.0), wire("Amplifier feed", "Battery", "Amplifier", fuse=60.0))
    lead = wire("Lead", "Head: remote", "Amplifier: remote", 4.0, ("AWG", size))
    circuit = solve_vehicle(vehicle(head, amplifier(remote_draw_a=draw_a), *feeds, lead)).circuit("Lead")
    assert circuit.standing == standing
    assert circuit.meets == (standing == "fine")
    told = "current 0.8 A, at most 0.3 A allowed: over by 0.5 A; no wire mends that, but a relay: the output then"
    assert [text.startswith(told) for text in circuit.broken] == [True] * (standing != "fine")
    far = replace(lead, size=("AWG", 26.0), length_m=30.0)  # thin besides: then wire mends a part of it
    thin = solve_vehicle(vehicle(head, amplifier(remote_draw_a=0.8), *feeds, far)).circuit("Lead")
    assert thin.standing == "too thin"
