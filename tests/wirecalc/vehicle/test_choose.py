from __future__ import annotations

import itertools
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.jobs import demo_choice
from tests.support.plans import BLOCK, amplifier, load, vehicle, wire, with_wire
from wirecalc.errors import InputError
from wirecalc.jobs import JOBS
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.fuse import SELECTIVE, place
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.search import sizes as plan_sizes
from wirecalc.vehicle.search.cheapest import cheapest
from wirecalc.vehicle.search.sizes import Found, Round, program, round_of, search
from wirecalc.vehicle.search.task import Task, smallest_ratings, task_of
from wirecalc.vehicle.stock import Stock, read_stock
from wirecalc.vehicle.text import vehicle_of
from wirecalc.wire.fuse_families import RATINGS_A

FEW = Stock(sizes=tuple(("AWG", float(n)) for n in (-3, 0, 4, 8, 12)))


def shared(main_m: float, one_m: float, two_m: float, watts: float, feed_w: float = 100.0) -> Vehicle:
    """A shared feed with an amplifier and a load of another limit at its end; three wires to choose."""
    return vehicle(
        BLOCK, amplifier(power_w=watts), load(power_w=feed_w),
        wire("main", "Battery", "Block", main_m, "choose", fuse="choose"),
        wire("one", "Block: out 1", "Amplifier", one_m, "choose", fuse="choose"),
        wire("two", "Block: out 2", "Load", two_m, "choose", fuse="choose"),
    )  # fmt: skip


def task(whole: Vehicle, stock: Stock) -> Task:
    return task_of(
        whole,
        {open_wire.name: stock.options(whole, open_wire) for open_wire in whole.wires if open_wire.size == "choose"},
    )


def silent(share: float, what: str) -> None:
    """Tell nobody."""


def round_at(own: Task, best: Found) -> Round:
    return round_of(own, best.fuses_a)


@pytest.mark.parametrize("seed", range(5))
def test_no_combination_is_cheaper(seed: int) -> None:
    """Every cheaper combination, with the fuses that it needs, breaks a limit of the solved network."""
    draw = np.random.default_rng(seed)
    stock = FEW
    if seed % 2:  # prices that have nothing to do with metal
        prices = np.sort(draw.uniform(0.5, 20, len(FEW.sizes)))[::-1]
        stock = replace(FEW, price_per_m=dict(zip(FEW.sizes, prices.tolist(), strict=True)))
    main_m, one_m, two_m = draw.uniform(0.5, 5, 3)
    whole = shared(main_m, one_m, two_m, float(draw.uniform(20, 120)))
    own = task(whole, stock)
    best = search(own, silent)
    current = round_at(own, best)
    assert not current.broken(current.solved(best.row))
    ranges = [range(low, top + 1) for low, top in zip(best.least, own.top, strict=True)]
    cheaper = [row for row in itertools.product(*ranges) if own.cost(row) < own.cost(best.row) * (1 - 1e-9)]
    for row in cheaper:
        smallest = {fused_wire.name: each for fused_wire, each in smallest_ratings(current.solved(row)).items()}
        other = round_of(own, place(own.wiring, smallest, own.allowed_a(row)))
        solved = other.solved(row)
        assert other.broken(solved) or any(np.array(row) < other.least(solved)), row
    choice = choose_plan(whole, stock)
    assert choice.cost == pytest.approx(own.cost(best.row))
    assert choice.plan.meets


def test_thick_where_it_is_shared_and_thin_at_the_ends_or_the_other_way_round() -> None:
    every = Stock(sizes=tuple(("AWG", float(n)) for n in range(-3, 19)))
    short_main = choose_plan(shared(1.0, 9.0, 9.0, 80.0), every).plan
    long_main = choose_plan(shared(15.0, 0.5, 0.5, 80.0), every).plan
    for plan in (short_main, long_main):
        assert plan.meets
    ratio = [plan.circuit("main").conductor.area_m2 / plan.circuit("one").conductor.area_m2
             for plan in (short_main, long_main)]  # fmt: skip
    assert ratio[1] > ratio[0]


def test_every_wire_of_the_demo_is_as_thin_as_it_can_be() -> None:
    choice = demo_choice()
    whole = vehicle_of(demo_plan())
    open_wires = {open_wire.name for open_wire in whole.wires if open_wire.size == "choose"}
    carried = {use.circuit.name for each in choice.cables.values() for use in each.uses if use.carried}
    assert set(choice.reasons) == open_wires | carried
    assert set(choice.least) == open_wires - carried
    assert choice.solved < 200
    for name in ("Main feed", "Boot ground", "Right front door run", "Drink cooler feed"):
        size = choice.vehicle.wire(name).size
        options = Stock().options(whole, whole.wire(name))
        at = options.sizes.index(size)
        if at == options.least:  # the house rules pull nothing thinner
            continue
        thinner = options.sizes[at - 1]
        plan = solve_vehicle(with_wire(choice.vehicle, name, size=thinner))
        assert any(
            circuit.grade != "fine" for circuit in plan.circuits if circuit.wire.name != "Right rear door run"
        ), name


def test_the_least_that_would_do_and_what_the_house_rules_pull() -> None:
    choice = demo_choice()
    label = {circuit.wire.name: circuit.conductor.label for circuit in choice.plan.circuits}
    assert label["Subwoofer run"] == "12 AWG"  # 600 W: the house rule from 300 to 1000 W
    assert choice.least["Subwoofer run"] == "18 AWG"
    assert "the house rules pull no less than 12 AWG" in choice.reasons["Subwoofer run"]
    assert label["Footwell light feed"] == "18 AWG"
    for name, least in choice.least.items():
        assert THICKER[label[name]] >= THICKER[least], name
        if least != label[name]:
            assert f"{least} by itself would keep every limit" in choice.reasons[name]
            size = ("AWG", float({"1/0": 0, "2/0": -1}.get(least.split()[0], least.split()[0])))
            plan = solve_vehicle(with_wire(choice.vehicle, name, size=size))
            assert {circuit.wire.name for circuit in plan.circuits if circuit.grade != "fine"} == {
                "Right rear door run"
            }, name


ORDER = (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, "1/0", "2/0")
THICKER = {f"{gauge} AWG": place for place, gauge in enumerate(ORDER)}


def test_the_demo_is_fused_for_its_wires_and_the_smaller_opens_first() -> None:
    choice = demo_choice()
    plan = choice.plan
    assert set(choice.fuse_reasons) == {
        fused_wire.name for fused_wire in vehicle_of(demo_plan()).wires if fused_wire.fuse == "choose"
    }
    for circuit in plan.circuits:
        if "before_a" in circuit.measures:
            assert circuit.measures["before_a"] <= circuit.measures["allowable_a"]
        if "fuse_a" in circuit.measures:
            assert circuit.measures["fuse_a"] in RATINGS_A
            assert circuit.measures["fuse_a"] >= circuit.measures["needed_a"]
    fuse = {circuit.wire.name: circuit.measures.get("fuse_a") for circuit in plan.circuits}
    main, front = fuse["Main feed"], fuse["Front amplifier feed"]
    assert main is not None
    assert front is not None
    assert main >= SELECTIVE * front
    bass = fuse["Subwoofer amplifier feed"]
    assert bass is not None
    assert main >= SELECTIVE * bass
    assert not any("may not open before" in warning for warning in plan.warnings)


def test_fuses_where_wires_get_thinner_and_selectivity_or_a_warning() -> None:
    whole = vehicle(
        BLOCK, load("Pump", draw_a=20), load("Lamp", draw_a=1),
        wire("main", "Battery", "Block", 1, ("AWG", 4.0), fuse="choose"),
        wire("pump", "Block", "Pump", 1, ("AWG", 14.0), fuse="choose"),
        wire("lamp", "Block", "Lamp", 1, ("AWG", 20.0), fuse="choose"),
        wire("bare", "Block", "Lamp", 1, ("AWG", 20.0)),
    )  # fmt: skip
    choice = choose_plan(whole)
    fuses = {fused_wire.name: fused_wire.fuse for fused_wire in choice.vehicle.wires}
    # 20 A are 80 % of 25 A, of which air of 30 °C leaves 99 %: 30 A
    assert fuses == {"main": 50, "pump": 30, "lamp": 1, "bare": "none"}
    assert any("upstream fuse 50 A" in reason for reason in choice.plan.circuit("bare").broken)
    tight = choose_plan(with_wire(whole, "main", size=("AWG", 14.0)))  # stands 32 A: 1.6 times 30 A does not fit
    assert tight.vehicle.wire("main").fuse == 30
    assert tight.vehicle.wire("pump").fuse == "none"  # of the same thickness: the one before protects it
    fixed = choose_plan(with_wire(with_wire(whole, "main", fuse=35.0), "pump", fuse=25.0))
    assert fixed.vehicle.wire("main").fuse == 35
    assert [warning for warning in fixed.plan.warnings if "may not open before" in warning] == [
        "The 25 A fuse of “pump” may not open before the 35 A fuse of “main”: 1.6 times as much above it is on the"
        " safe side."
    ]
    ground = wire("g", "Pump: minus", "Body: floor", 1, ("AWG", 14.0))  # stands 32 A: not what main lets through
    thick = with_wire(replace(whole, wires=(*whole.wires, ground)), "pump", size=("AWG", 4.0))
    assert choose_plan(thick).vehicle.wire("pump").fuse == 30
    large = choose_plan(with_wire(whole, "lamp", length_m=1, size=("AWG", 4.0)))
    assert large.vehicle.wire("lamp").fuse == 1  # the 40 A before it would do for the wire, but opens long after
    assert tight.fuse_reasons["pump"].startswith("None of its own: the 30 A before it protects it")


def test_a_wire_that_no_fuse_fits_says_so() -> None:
    thin = vehicle(load(draw_a=20), wire("feed", "Battery", "Load", 1, ("AWG", 18.0), fuse="choose"))
    choice = choose_plan(thin)
    assert choice.vehicle.wire("feed").fuse == "none"
    assert choice.fuse_reasons["feed"].startswith("None fits: it needs 25.3 A or more")
    assert any("no fuse protects it" in reason for reason in choice.plan.circuit("feed").broken)
    lead = vehicle(amplifier(), Device(name="Head", kind="head unit", draw_a=1), wire("h", "Battery", "Head"),
                   wire("f", "Battery", "Amplifier"),
                   wire("r", "Head: remote", "Amplifier: remote", fuse="choose"))  # fmt: skip
    assert choose_plan(lead).fuse_reasons["r"].startswith("None: what carries no supply current")


def test_without_operating_point_the_thickest_is_taken_and_said() -> None:
    hopeless = vehicle(load(power_w=20_000), wire("feed", "Battery", "Load", 90, "choose", fuse="choose"))
    choice = choose_plan(hopeless)
    assert choice.vehicle.wire("feed").size == ("AWG", -1.0)  # on order; 4/0 only if a person asks for it
    assert "not even this gives an operating point" in choice.reasons["feed"]
    assert choice.plan.problems
    assert choice.vehicle.wire("feed").fuse != "choose"


def test_heat_and_fuse_decide_where_no_limit_of_drop_does() -> None:
    short = vehicle(load(draw_a=40), wire("feed", "Battery", "Load", 0.2, "choose", fuse="choose", zone="boot"))
    choice = choose_plan(short)
    assert choice.plan.meets
    assert choice.reasons["feed"] == "8 AWG; not 10 AWG: that stands 48.5 A, and its fuse is one of 60 A."
    assert "thinnest on the shelf" in choose_plan(shared(1, 1, 0.2, 50.0, feed_w=0.5)).reasons["two"]


def test_where_a_wire_has_no_fuse_of_its_own_the_one_before_it_decides() -> None:
    demo = vehicle_of(demo_plan())
    own = replace(demo.wire("Drink cooler feed"), size="choose", fuse="none", length_m=1.0)
    wires = tuple(own if each.name == own.name else each for each in demo.wires)
    choice = choose_plan(replace(demo, wires=wires))
    stands_a, through_a = map(float, re.findall(r"([\d.]+) A\b", choice.reasons[own.name]))
    assert re.search(r"that stands .* A, and the fuses before it let .* A through\.$", choice.reasons[own.name])
    assert stands_a < through_a <= choice.plan.circuit(own.name).measures["largest_fuse_a"]


def test_a_pair_counts_twice_and_prices_decide() -> None:
    single = choose_plan(vehicle(load(draw_a=5), wire("feed", "Battery", "Load", 3, "choose")))
    pair = choose_plan(vehicle(load(draw_a=5), wire("feed", "Battery", "Load", 3, "choose", back="wire", parallel=2)))
    for choice, ways in ((single, 1), (pair, 4)):
        area = choice.plan.circuit("feed").conductor.area_m2
        assert choice.cost == pytest.approx(3 * ways * area * 1e6)
    offer = replace(FEW, price_per_m=dict.fromkeys(FEW.sizes, 2.0) | {("AWG", 4.0): 1.0})
    assert choose_plan(vehicle(load(draw_a=1), wire("f", "Battery", "Load", 1, "choose")), offer).vehicle.wire(
        "f"
    ).size == (
        "AWG",
        4.0,
    )  # thicker ones cost more, thinner ones too


@pytest.mark.parametrize(
    ("text", "sizes", "priced"),
    [
        ("16 AWG\n12 AWG", (("AWG", 16.0), ("AWG", 12.0)), False),
        ("16 AWG = 0.8; 2,5 mm2=1.5;; 16 AWG = 0.9", (("AWG", 16.0), ("mm2", 2.5)), True),
        ("16 AWG = 0.8; 12 AWG", (("AWG", 16.0), ("AWG", 12.0)), False),
    ],
)
def test_a_stock_list_is_read(text: str, sizes: Any, priced: bool) -> None:
    stock = read_stock(text)
    assert stock.sizes == sizes
    assert stock.priced == priced


@pytest.mark.parametrize("text", ["", "thick", "3.3 mm2", "16 AWG = cheap", "16 AWG = -1"])
def test_a_stock_list_that_cannot_be_read(text: str) -> None:
    with pytest.raises(InputError):
        read_stock(text)


def test_progress_is_told_and_can_end_the_work() -> None:
    told: list[float] = []
    choose_plan(shared(2, 1, 1, 50.0), progress=lambda share, what: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1

    def stop(share: float, what: str) -> None:
        raise KeyboardInterrupt(what)

    with pytest.raises(KeyboardInterrupt):
        choose_plan(shared(2, 1, 1, 50.0), progress=stop)


def test_rings_end() -> None:
    two = replace(BLOCK, name="Two")
    ring = vehicle(
        BLOCK, two, load(draw_a=5), wire("a", "Battery", "Block", size="choose", fuse="choose"),
        wire("b", "Block", "Two", size="choose", fuse="choose"),
        wire("c", "Two", "Block", size="choose", fuse="choose"),
        wire("d", "Two", "Load", size="choose", fuse="choose"), wire("g", "Load: minus", "Two: minus"),
        wire("h", "Two: minus", "Block: minus"), wire("i", "Block: minus", "Body: floor"),
        wire("j", "Block: minus", "Two: minus"),
    )  # fmt: skip
    choice = choose_plan(ring)
    assert choice.plan.problems == ()
    assert choice.vehicle.wire("a").fuse in RATINGS_A


def test_without_programs_wires_still_go_as_thin_as_the_network_allows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_sizes, "MOST_ROUNDS", 0)
    monkeypatch.setattr(plan_sizes, "MOST_TRIED", 0)
    own = task(shared(3, 1, 2, 60.0), FEW)
    best = search(own, silent)
    current = round_at(own, best)
    assert not current.broken(current.solved(best.row))
    for at in range(3):
        thinner = (*best.row[:at], best.row[at] - 1, *best.row[at + 1 :])
        assert best.row[at] == best.least[at] or current.broken(current.solved(thinner))


def test_a_fuse_that_grows_with_thinner_wires_is_counted() -> None:
    """7.9 A is 80 % of a 10 A fuse in air of 30 °C; over it, as the voltage falls, it takes 15 A and wire for that."""
    whole = vehicle(load(power_w=98.0), wire("f", "Battery", "Load", 1.2, "choose", fuse="choose"))
    choice = choose_plan(whole)
    circuit = choice.plan.circuit("f")
    assert choice.plan.meets
    assert circuit.measures["fuse_a"] == 15
    assert circuit.measures["largest_fuse_a"] >= 15
    assert circuit.conductor.label == "18 AWG"


def test_no_program_from_where_nothing_can_be_delivered() -> None:
    own = task(vehicle(load(power_w=900), wire("f", "Battery", "Load", 20, "choose")), Stock())
    current = round_of(own, {})
    solved = current.solved((0,))
    assert solved.answers[0].problem
    assert not current.hopeless
    assert program(current, (0,), (0,), solved) is None


def test_cheapest_by_trying_all() -> None:
    draw = np.random.default_rng(3)
    for _ in range(20):
        costs = [np.sort(draw.uniform(1, 9, size)) for size in (3, 4, 2)]
        growths = [np.sort(draw.uniform(0, 5, (2, size)))[:, ::-1] for size in (3, 4, 2)]
        room = draw.uniform(2, 12, 2)
        good = {
            row: sum(cost[at] for cost, at in zip(costs, row, strict=True))
            for row in itertools.product(range(3), range(4), range(2))
            if np.all(sum(grow[:, at] for grow, at in zip(growths, row, strict=True)) <= room)
        }
        cheapest_row = cheapest(costs, growths, room)
        assert (cheapest_row is None) == (not good)
        split = cheapest(costs, growths, room, rounded=True)
        if cheapest_row is not None:
            assert split in good
            assert good[split] >= good[cheapest_row] - 1e-9
            assert good[cheapest_row] == pytest.approx(min(good.values()))
            second = cheapest(costs, growths, room, cuts=[cheapest_row])
            left = {row: cost for row, cost in good.items() if any(np.array(row) > cheapest_row)}
            assert (second is None) == (not left)
            if second is not None:
                assert left[second] == pytest.approx(min(left.values()))


def test_many_wires_are_chosen_by_rounding(monkeypatch: pytest.MonkeyPatch) -> None:
    exact = choose_plan(shared(3, 1, 2, 60.0))
    monkeypatch.setattr(plan_sizes, "FEW", 2)
    many = choose_plan(shared(3, 1, 2, 60.0))
    assert many.plan.meets
    assert exact.cost - 1e-9 <= many.cost <= 1.15 * exact.cost


def test_a_size_is_not_passed_by_for_hardly_anything_without_a_word() -> None:
    """Six lights of 8 A: 3 % of 12.6 V are 0.378 V, of which 8 AWG over 5.5 m and back misses little."""
    plan = choose_plan(vehicle_of(JOBS["lights-and-relays"].text({"lights": "6", "draw_a": "8 A", "run_in": "loose"})))
    assert plan.plan.circuit("Light 1 run").conductor.label == "4 AWG"
    reason = plan.reasons["Light 1 run"]
    told = re.search(r"not 8 AWG: its limit is voltage drop of “Light 1 run” \(which it misses by (.*) %\)", reason)
    assert told is not None, reason
    circuit = solve_vehicle(with_wire(plan.vehicle, "Light 1 run", size=("AWG", 8.0))).circuit("Light 1 run")
    assert circuit.grade == "borderline"
    assert float(told[1]) == pytest.approx(100 * (circuit.measures["drop_fraction"] / 0.03 - 1), abs=1.0)
    feed = wire("Feed", "Battery", "Load", 6.0, "choose", fuse="choose", back="wire")
    assert "misses" not in choose_plan(vehicle(load(draw_a=48.0), feed)).reasons["Feed"]  # by far


def test_what_decides_for_more_than_the_thinnest_that_would_do_is_said() -> None:
    """No size is called the smallest that meets every limit beside a smaller one that does."""
    for key in ("signal-taken", "whole-system"):
        choice = choose_plan(vehicle_of(JOBS[key].text({})))
        for name, reason in choice.reasons.items():
            if "by itself would keep every limit" in reason:
                assert "smallest that meets every limit" not in reason, name
                thinner_is = ("the house rules pull no less than", "but is not on the shelf", "that are to play alike")
                assert any(words in reason for words in thinner_is), name
                assert "next that is pulled" not in reason
    assert choice.reasons["Left rear speaker run"].startswith(
        "18 AWG is the thinnest on the shelf, and it meets every limit. 16 AWG is pulled, as thick as the thickest"
    )
    feed = wire("Feed", "Battery", "Load", 6.0, "choose", fuse="choose", back="wire")
    odd = choose_plan(vehicle(load(draw_a=48.0), feed))
    assert odd.plan.circuit("Feed").conductor.label == "1/0 AWG"
    assert odd.reasons["Feed"].endswith("2 AWG by itself would keep every limit, but is not on the shelf.")
