"""Conductors of one cable given to circuits: as well as trying every way, pairs whole, nothing too warm."""

from __future__ import annotations

import dataclasses
import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from wirecalc.errors import InputError
from wirecalc.wire import ampacity, heat
from wirecalc.wire.cable_types import CABLES, CableType, Core
from wirecalc.wire.conductor import Conductor, awg
from wirecalc.wire.core_choice import CableCircuit
from wirecalc.wire.cross_section import JACKET_M, cross_section
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.multicore import Allocation, allocate

NINE, FOUR, TRAILER = CABLES["speaker_9"], CABLES["speaker_4"], CABLES["trailer_7"]
DOES = {count: (True, f"{count} does", 0.5 / count) for count in range(1, 5)}
NEARLY = {1: (True, "borderline: level loss 0.45 dB", 1.1, False), 2: (True, "level loss 0.23 dB", 0.55)}
NEEDS_TWO = {1: (False, "level loss 0.7 dB, 0.4 dB allowed", 1.75, False), 2: (True, "level loss 0.35 dB", 0.88)}
NEVER = {count: (False, f"level loss {2 / count:g} dB, 0.4 dB allowed") for count in range(1, 5)}


def pair(name: str, current_a: float = 1.0, judged: object = DOES, channel: str = "", alike: str = "") -> CableCircuit:
    return CableCircuit(name=name, needs="pair", current_a=current_a, judged=judged, channel=channel, alike=alike)  # type: ignore[arg-type]


def single(name: str, current_a: float = 0.1, judged: object = DOES, channel: str = "") -> CableCircuit:
    return CableCircuit(name=name, needs="single", current_a=current_a, judged=judged, channel=channel)  # type: ignore[arg-type]


def colours(allocation: Allocation, name: str) -> list[str]:
    use = next(use for use in allocation.uses if use.circuit.name == name)
    return [core.name for _, core in use.cores]


def test_the_trades_colours_go_to_their_channels() -> None:
    # as in the trade's own list: front left white, front right grey, rear left green, rear right violet, turn-on blue;
    # common practice, no source
    channels = {"front left": "white", "front right": "grey", "rear left": "green", "rear right": "violet"}
    circuits = [pair(f"speaker {channel}", channel=channel) for channel in reversed(channels)]
    circuits.insert(1, single("amplifier on", channel="Remote turn-on"))
    allocation = allocate(NINE, circuits, ambient_c=40)
    for channel, colour in channels.items():
        assert colours(allocation, f"speaker {channel}") == [colour, f"{colour}/black"]
    assert colours(allocation, "amplifier on") == ["blue"]
    wires = insulated([awg(18)], NINE.insulation)
    nine = float(ampacity.allowable(wires, 40, 9).current_a[0])
    assert [use.allowable_a for use in allocation.uses] == pytest.approx([nine] * 5)
    assert any("bundle" in told for told in allocation.cautions)
    assert not any("side by side" in told for told in allocation.cautions)
    assert allocation.loaded == 9
    assert allocation.spare == ()
    assert "carries 5 of 5 circuits; spare: none" in allocation.in_words()


def test_pin_out_has_every_conductor_once() -> None:
    allocation = allocate(NINE, [pair("left", channel="rear left"), single("on")], ambient_c=40)
    pins = allocation.pin_out()
    assert list(pins.columns) == ["number", "conductor", "pair", "size", "circuit", "way"]
    assert list(pins["conductor"]) == [core.name for core in NINE.cores]
    assert set(pins["size"]) == {"18 AWG"}
    way = pins.set_index("conductor")
    assert (way.loc["green", "circuit"], way.loc["green", "way"]) == ("left", "+")
    assert (way.loc["green/black", "circuit"], way.loc["green/black", "way"]) == ("left", "−")
    assert (way.loc["blue", "circuit"], way.loc["blue", "way"]) == ("on", "")  # the loose one: no pair is torn
    assert list(pins["circuit"]).count("spare") == 6
    assert {core.name for core in allocation.spare} == set(pins.loc[pins["circuit"] == "spare", "conductor"])


def test_two_pairs_side_by_side_where_one_is_too_thin() -> None:
    allocation = allocate(NINE, [pair("sub", judged=NEEDS_TWO, channel="rear left")], ambient_c=40)
    use = allocation.uses[0]
    assert {core.name for way, core in use.cores if way == "+"} == {"white", "green"}
    assert {core.name for way, core in use.cores if way == "−"} == {"white/black", "green/black"}
    assert allocation.table().loc[0, "parallel"] == 2
    assert "2 × 18 AWG in parallel: level loss 0.35 dB; one alone does not: level loss 0.7 dB" in use.reason
    wires = insulated([awg(18)], NINE.insulation)
    assert use.allowable_a == pytest.approx(2 * float(ampacity.allowable(wires, 40, 4).current_a[0]))
    assert any("side by side must be alike" in told for told in allocation.cautions)
    alone = allocate(NINE, [pair("sub", judged=NEEDS_TWO)], ambient_c=40, parallel=1)
    assert math.isnan(alone.uses[0].allowable_a)
    assert not any("bundle heat" in told for told in alone.cautions)
    assert not alone.uses[0].carried
    assert "Even 18 AWG of this cable will not do: level loss 0.7 dB" in alone.uses[0].reason


def test_more_circuits_go_before_a_thirsty_one() -> None:
    circuits = [pair("sub", judged=NEEDS_TWO), pair("a"), pair("b"), pair("c")]
    allocation = allocate(NINE, circuits, ambient_c=40)
    assert [use.carried for use in allocation.uses] == [False, True, True, True]
    assert allocation.uses[0].verdict == "pull a discrete pair instead"
    assert "the other circuits need them" in allocation.uses[0].reason


DOORS = ("front left", "front right", "rear left", "rear right")


def doors(judged: object, current_a: float = 1.0) -> list[CableCircuit]:
    return [pair(name, current_a, judged, channel=name, alike="doors") for name in DOORS]


def test_four_doors_match() -> None:
    """Nine conductors of 18 AWG, four channels that one pair does not serve: none is doubled, for all cannot be."""
    allocation = allocate(NINE, [*doors(NEEDS_TWO), single("on", channel="remote turn-on")], ambient_c=40)
    assert [use.carried for use in allocation.uses] == [False] * 4 + [True]
    for use in allocation.uses[:4]:
        assert "2 side by side would do, but 4 channels match" in use.reason
        assert "together they would need 16, and 9 may be used" in use.reason
    two = allocate(NINE, doors(NEEDS_TWO)[:2], ambient_c=40)  # both doors of an axle, each with its side's own pairs
    assert colours(two, "front left") == ["white", "white/black", "green", "green/black"]
    assert colours(two, "front right") == ["grey", "grey/black", "violet", "violet/black"]
    nearly = allocate(NINE, doors(NEARLY), ambient_c=40)
    assert [use.parallel for use in nearly.uses] == [1] * 4
    assert all("borderline" in use.reason for use in nearly.uses)
    # two of them nearly, two in full: all alike, and all four side by side do not go into nine
    mixed = [*doors(NEARLY)[:2], *doors(DOES)[2:]]
    assert [use.parallel for use in allocate(NINE, mixed, ambient_c=40).uses] == [1] * 4
    three = allocate(NINE, mixed[1:3], ambient_c=40)
    assert [use.parallel for use in three.uses] == [2, 2]
    assert "alike with the channels that it matches" in three.uses[1].reason


def test_who_gains_most_is_put_out() -> None:
    strain = dict(zip("abcde", (0.6, 0.95, 0.3, 0.8, 0.5), strict=True))
    circuits = [pair(name, judged={1: (True, "does", share)}) for name, share in strain.items()]
    allocation = allocate(NINE, circuits, ambient_c=40)
    assert [use.circuit.name for use in allocation.uses if not use.carried] == ["b"]


def test_a_colour_that_is_lost_is_said() -> None:
    twice = [pair("woofer", channel="rear left"), pair("tweeter", channel="rear left")]
    allocation = allocate(NINE, twice, ambient_c=40)
    assert colours(allocation, "tweeter") == ["green", "green/black"]
    assert "not in its own colour, green: “tweeter” has it, or fewer would be carried" in allocation.uses[0].reason
    assert "own colour" not in allocation.uses[1].reason


def test_spare_conductors_stay() -> None:
    circuits = [pair(name) for name in "abcd"]
    assert sum(use.carried for use in allocate(NINE, circuits, ambient_c=40, spare=1).uses) == 4
    allocation = allocate(NINE, circuits, ambient_c=40, spare=3)
    assert [use.carried for use in allocation.uses].count(True) == 3
    assert len(allocation.spare) >= 3
    assert "3 conductors that are to stay spare" in next(use.reason for use in allocation.uses if not use.carried)
    none = allocate(NINE, circuits[:1], ambient_c=40, spare=8)
    assert none.uses[0].reason == "It needs 2 conductors, 1 may be used."
    assert (none.loaded, none.hottest_c) == (0, 40)
    assert "one jacket" not in none.in_words()


def test_why_a_circuit_needs_wire_of_its_own() -> None:
    assert (
        allocate(NINE, [pair("far", judged=NEVER)], ambient_c=40).uses[0].reason
        == "Even 2 × 18 AWG of this cable will not do: level loss 1 dB, 0.4 dB allowed."
    )
    assert allocate(TRAILER, [pair("door")], ambient_c=40).uses[0].reason == "The cable has no twisted pair."
    hot = allocate(NINE, [single("pump", current_a=60.0)], ambient_c=40).uses[0]
    assert hot.verdict == "pull a discrete wire instead"
    assert "too warm for their insulation (60 °C)" in hot.reason
    assert not allocate(NINE, [single("on")], ambient_c=60).uses[0].carried  # the air is as hot as the limit
    assert allocate(NINE, [single("sense", current_a=0.0)], ambient_c=60).uses[0].carried


def test_what_fits_alone_may_be_too_warm_in_company() -> None:
    limit = ampacity.allowable(insulated([awg(18)], NINE.insulation), 45, np.array([[2], [6], [8]])).current_a[:, 0]
    current = float(limit[1])  # just what six loaded conductors may carry
    allocation = allocate(NINE, [pair(name, current_a=current) for name in "abcd"], ambient_c=45, parallel=1)
    assert allocation.loaded == 6
    assert [use.carried for use in allocation.uses].count(True) == 3
    assert {use.reason for use in allocation.uses if not use.carried} == {
        "With the others in one jacket the conductors would be too warm."
    }
    assert allocation.hottest_c <= NINE.insulation.limit_c
    wires = insulated([awg(18)], NINE.insulation)
    assert allocation.hottest_c == pytest.approx(float(heat.temperature_c(wires, current, 45, 6)[0]))
    # two in parallel halve the current: heat alone can ask for it
    more = float(limit[0]) * 1.05
    two = allocate(NINE, [pair("a", current_a=more)], ambient_c=45)
    assert len(two.uses[0].cores) == 4
    assert "one alone would be too warm" in two.uses[0].reason


def test_a_judge_is_asked_by_size_and_a_table_that_lacks_a_count_says_no() -> None:
    asked = []

    def judge(core: Conductor, count: int) -> tuple[bool, str]:
        asked.append((core.label, count))
        return core.area_m2 * count > 2e-6, "by area"

    allocation = allocate(TRAILER, [single("feed", judged=judge, channel="stop")], ambient_c=40)
    assert colours(allocation, "feed") == ["white"]  # the one that is thick enough alone
    assert set(asked) == {("1.5 mm²", 1), ("1.5 mm²", 2), ("2.5 mm²", 1)}
    assert pair("x", judged={}).judge(awg(18), 2)[:2] == (False, "2 in parallel were not looked at")


Score = tuple[int, int, float, int, int]


def score_of(taken: list[tuple[CableCircuit, list[Core]]], circuits: list[CableCircuit]) -> Score:
    """What goes before what, written down once more: carried, not only nearly, who gains most, fewest, colours."""
    single = {circuit.name: circuit.judge(awg(18), 1).strain for circuit in circuits}
    return (
        len(taken),
        -sum(not circuit.judge(awg(18), _count(circuit, cores)).fine for circuit, cores in taken),
        -round(sum(single[circuit.name] for circuit, _ in taken), 6),
        -sum(len(cores) for _, cores in taken),
        sum(
            2 * (core.channel == circuit.channel != "") - (circuit.needs == "single" and core.pair != "")
            for circuit, cores in taken
            for core in cores
        ),
    )


def _count(circuit: CableCircuit, cores: list[Core]) -> int:
    return len(cores) // (2 if circuit.needs == "pair" else 1)


def alike(taken: list[tuple[CableCircuit, list[Core]]], circuits: list[CableCircuit]) -> bool:
    """Whether what matches has conductors alike, and side by side for all or for none."""
    for word in {circuit.alike for circuit in circuits if circuit.alike}:
        own = [(circuit, cores) for circuit, cores in taken if circuit.alike == word]
        kinds = {(cores[0].conductor, _count(circuit, cores)) for circuit, cores in own}
        every = len(own) == sum(circuit.alike == word for circuit in circuits)
        if len(kinds) > 1 or (not every and any(count > 1 for _, count in kinds)):
            return False
    return True


def every_way(cable: CableType, circuits: list[CableCircuit], ambient_c: float, spare: int) -> Score:
    """The best score, by trying all ways with plain loops."""
    best: Score = (0, 0, 0.0, 0, 0)

    def fits(taken: list[tuple[CableCircuit, list[Core]]]) -> bool:
        loaded = sum(len(cores) for circuit, cores in taken if circuit.current_a > 0)
        for circuit, cores in taken:
            each = circuit.current_a / _count(circuit, cores)
            for core in cores:
                wires = insulated([core.conductor], cable.insulation)
                if each > 0 and each > ampacity.allowable(wires, ambient_c, loaded).current_a[0]:
                    return False
        return sum(len(cores) for _, cores in taken) <= len(cable.cores) - spare and alike(taken, circuits)

    def place(at: int, free: list[Core], taken: list[tuple[CableCircuit, list[Core]]]) -> None:
        nonlocal best
        if at == len(circuits):
            score = score_of(taken, circuits)
            if score > best and fits(taken):
                best = score
            return
        place(at + 1, free, taken)
        circuit = circuits[at]
        for number in (1, 2):
            groups: list[list[Core]] = [[core] for core in free]
            if circuit.needs == "pair":
                groups = [[a, b] for a, b in combinations(free, 2) if a.pair and a.pair == b.pair]
            for some in combinations(groups, number):
                cores = [core for group in some for core in group]
                same = len({core.conductor for core in cores}) == 1
                if same and circuit.judge(cores[0].conductor, number).does:
                    rest = [core for core in free if core not in cores]
                    place(at + 1, rest, [*taken, (circuit, cores)])

    place(0, list(cable.cores), [])
    return best


def small(pairs: int, loose: int) -> CableType:
    """A cable of our own, invented: one pair thicker than the others."""
    sizes = [16, 18, 18]
    cores = [
        Core(
            name=f"p{at}{way}",
            colour="#ffffff",
            conductor=awg(sizes[at]),
            pair=f"p{at}",
            way=way,
            channel=f"ch {at}",
        )
        for at in range(pairs)
        for way in "+−"
    ]
    cores += [Core(name=f"s{at}", colour="#000000", conductor=awg(18), channel=f"on {at}") for at in range(loose)]
    return CableType(key="own", name="own", outer_m=9e-3, insulation=INSULATIONS["pvc_60"], cores=tuple(cores))


CIRCUITS = st.lists(
    st.tuples(
        st.sampled_from(["pair", "single"]),
        st.sampled_from([0.0, 0.5, 3.0, 6.0, 9.0]),
        st.sampled_from([DOES, NEARLY, NEEDS_TWO, NEVER]),
        st.sampled_from(["", "ch 0", "ch 1", "on 0"]),
        st.sampled_from(["", "doors"]),
    ),
    min_size=1,
    max_size=3,
)


@given(CIRCUITS, st.integers(0, 2), st.integers(0, 2), st.integers(0, 3), st.sampled_from([30.0, 48.0]))
@settings(max_examples=tried(60), deadline=None, derandomize=True)
def test_as_good_as_trying_every_way(
    asked: list[tuple[str, float, dict[int, tuple[bool, str]], str, str]],
    pairs: int,
    loose: int,
    spare: int,
    ambient_c: float,
) -> None:
    cable = small(pairs + 1, loose)
    spare = min(spare, len(cable.cores))
    circuits = [
        CableCircuit(name=f"{at}", needs=needs, current_a=current, judged=judged, channel=channel, alike=match)  # type: ignore[arg-type]
        for at, (needs, current, judged, channel, match) in enumerate(asked)
    ]
    allocation = allocate(cable, circuits, ambient_c=ambient_c, spare=spare)
    cores = [core.name for use in allocation.uses for _, core in use.cores]
    assert len(set(cores)) == len(cores)
    assert len(allocation.spare) >= spare
    assert allocation.hottest_c <= cable.insulation.limit_c or allocation.loaded == 0
    taken = [(use.circuit, [core for _, core in use.cores]) for use in allocation.uses if use.carried]
    assert score_of(taken, circuits) == every_way(cable, circuits, ambient_c, spare)
    assert alike(taken, circuits)
    for use in allocation.uses:
        by_way = {way: {core.pair for w, core in use.cores if w == way} for way in ("+", "−")}
        assert use.circuit.needs == "single" or by_way["+"] == by_way["−"]
        assert use.reason


def _cable(**changes: object) -> CableType:
    return dataclasses.replace(NINE, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: allocate(NINE, [], ambient_c=40), "Number of circuits"),
        (lambda: allocate(NINE, [pair("a"), pair("a")], ambient_c=40), "each name once"),
        (lambda: allocate(NINE, [pair("a")], ambient_c=400), "Ambient temperature"),
        (lambda: allocate(NINE, [pair("a")], ambient_c=40, spare=10), "Spare conductors"),
        (lambda: allocate(NINE, [pair("a")], ambient_c=40, spare=0.5), "a whole number, 0 to 9"),  # type: ignore[arg-type]
        (lambda: allocate(NINE, [pair("a")], ambient_c=40, parallel=9), "Conductors in parallel"),
        (lambda: pair("a", current_a=math.nan), "Current of “a”"),
        (lambda: CableCircuit(name="a", needs="three", current_a=1.0, judged=DOES), "pair or single"),  # type: ignore[arg-type]
        (lambda: _cable(outer_m=9.5), "Was it in mm"),
        (lambda: _cable(cores=()), "Conductors in"),
        (lambda: _cable(cores=NINE.cores[:1] * 2), "each colour once"),
        (lambda: _cable(cores=NINE.cores[:1]), "two conductors of one size"),
        (lambda: cross_section(_cable(outer_m=6.5e-3)), "7.0 mm or more"),
    ],
)
def test_what_cannot_be_allocated(make: object, told: str) -> None:
    with pytest.raises(InputError, match=told):
        make()  # type: ignore[operator]


@pytest.mark.parametrize("cable", CABLES.values(), ids=CABLES)
def test_conductors_lie_in_the_jacket_and_not_over_each_other(cable: CableType) -> None:
    section = cross_section(cable)
    assert section.outer_m >= section.inner_m + 2 * JACKET_M
    assert [placed_core.number for placed_core in section.placed] == list(range(1, len(cable.cores) + 1))
    slack = 1e-9
    for placed_core in section.placed:
        assert placed_core.metal_m < placed_core.outer_m
        assert math.hypot(placed_core.x_m, placed_core.y_m) + placed_core.outer_m / 2 <= section.inner_m / 2 + slack
    for placed_core, other in combinations(section.placed, 2):
        apart = math.hypot(placed_core.x_m - other.x_m, placed_core.y_m - other.y_m)
        assert apart >= (placed_core.outer_m + other.outer_m) / 2 - slack
        if placed_core.core.pair and placed_core.core.pair == other.core.pair:  # a twisted pair lies together
            assert apart <= 1.2 * (placed_core.outer_m + other.outer_m) / 2


def test_unequal_conductors_keep_their_own_size() -> None:
    placed = {placed_core.core.name: placed_core for placed_core in cross_section(TRAILER).placed}
    assert placed["white"].outer_m > placed["red"].outer_m
    assert placed["red"].outer_m == placed["blue"].outer_m


def test_cable_table_is_whole() -> None:
    assert [len(cable.cores) for cable in (NINE, FOUR, TRAILER)] == [9, 4, 7]
    assert [len(cable.pairs) for cable in (NINE, FOUR, TRAILER)] == [4, 2, 0]
    for cable in CABLES.values():
        assert all(core.colour.startswith("#") for core in cable.cores)
        assert all((core.stripe != "") == ("/" in core.name) for core in cable.cores)
        assert all([core.way for core in two] == ["+", "−"] for two in cable.pairs.values())
