"""What a circuit asks of a cable, every set of its conductors that would do, and the best choice for all circuits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from wirecalc.errors import InputError, check
from wirecalc.wire.cable_types import CableType, Way
from wirecalc.wire.conductor import Conductor

Array = NDArray[np.float64]
Needs = Literal["pair", "single"]
Judge = Callable[[Conductor, int], tuple[bool, str]]


@dataclass(frozen=True, kw_only=True, eq=False)
class CableCircuit:
    """What a circuit asks of a cable."""

    name: str
    needs: Needs
    """"pair": out and back, in one twisted pair; "single": one way, such as a turn-on lead."""
    current_a: float
    """RMS through each way, all conductors of the way together; what heats. [A]"""
    judged: Judge | Mapping[int, tuple[bool, str]]
    """Whether so many conductors in parallel, each way, meet the circuit's limits, and in words by how much they do or
    do not. Called with the conductor and the count; or a table by count, for a cable whose conductors are all alike."""
    channel: str = ""
    """Whose colour it should have, if that is free: "front left", "remote turn-on"."""

    def __post_init__(self) -> None:
        check(f"Current of “{self.name}”", self.current_a, "A", low=0, high=10000)
        if self.needs not in get_args(Needs):
            raise InputError(f"Need of “{self.name}”", self.needs, "pair or single")

    def judge(self, one: Conductor, parallel: int) -> tuple[bool, str]:
        """Whether `parallel` of these conductors each way do, and why. A count that the table lacks does not.

        Parameters
        ----------
        one : Conductor
            The cable's.
        parallel : int
            How many side by side, each way.

        Returns
        -------
        tuple of (bool, str)
            Whether they do, and by how much, in words.
        """
        if isinstance(self.judged, Mapping):
            return self.judged.get(parallel, (False, f"{parallel} in parallel were not looked at"))
        return self.judged(one, parallel)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to carry one circuit."""

    circuit: int
    cores: tuple[tuple[Way, int], ...]
    """By place in the cable."""
    parallel: int
    each_a: float
    wanted: int
    """How well the colours suit."""

    @property
    def places(self) -> list[int]:
        """Of its conductors in the cable, from 0."""
        return [place for _, place in self.cores]


def sets_of(
    cable: CableType, needs: Needs, parallel: int
) -> Iterator[tuple[Conductor, int, tuple[tuple[Way, int], ...]]]:
    """All sets of conductors of one size that a circuit could be given.

    Parameters
    ----------
    cable : CableType
        With its twisted pairs.
    needs : {"pair", "single"}
        Out and back in one pair, or one way only.
    parallel : int
        Most side by side, each way. [1 or more]

    Yields
    ------
    tuple of (Conductor, int, tuple of (str, int))
        The conductor, how many each way, and for each one its way and its place in the cable.

    Returns
    -------
    iterator
        Of these, a single one first, then two side by side and more.
    """
    place = {core.name: at for at, core in enumerate(cable.cores)}
    one_way: list[tuple[Conductor, tuple[tuple[Way, int], ...]]]
    if needs == "single":
        one_way = [(core.conductor, (("", at),)) for at, core in enumerate(cable.cores)]
    else:
        one_way = [
            (plus.conductor, (("+", place[plus.name]), ("−", place[minus.name])))
            for plus, minus in cable.pairs.values()
        ]
    for size in dict.fromkeys(one for one, _ in one_way):
        alike = [ways for one, ways in one_way if one == size]
        for count in range(1, min(parallel, len(alike)) + 1):
            for some in combinations(alike, count):
                yield size, count, tuple(way for ways in some for way in ways)


def options_of(cable: CableType, circuits: Sequence[CableCircuit], place: int, parallel: int) -> Iterator[Option]:
    """Every set of conductors that meets a circuit's own limits; heat is looked at later.

    Parameters
    ----------
    cable : CableType
        With its twisted pairs.
    circuits : sequence of CableCircuit
        All that the cable is to carry.
    place : int
        Which of them, from 0.
    parallel : int
        Most side by side, each way. [1 or more]

    Returns
    -------
    iterator of Option
        In the order of `sets_of`.
    """
    circuit = circuits[place]
    judged: dict[tuple[Conductor, int], bool] = {}
    for size, count, cores in sets_of(cable, circuit.needs, parallel):
        if (size, count) not in judged:
            judged[size, count] = circuit.judge(size, count)[0]
        if judged[size, count]:
            own = [cable.cores[at] for _, at in cores]
            suits = sum(2 for core in own if circuit.channel and core.channel.casefold() == circuit.channel.casefold())
            torn = sum(1 for core in own if core.pair and circuit.needs == "single")
            each_a = circuit.current_a / count
            yield Option(circuit=place, cores=cores, parallel=count, each_a=each_a, wanted=suits - torn)


def best_options(
    cable: CableType, options: Sequence[Option], limits_a: Array | None, room: int, must: Sequence[int] = ()
) -> tuple[Option, ...] | None:
    """The best choice of options: most circuits, then fewest conductors, then the trade's colours.

    Parameters
    ----------
    cable : CableType
        Whose conductors the options are.
    options : sequence of Option
        Of all circuits together.
    limits_a : (cores, counts) numpy.ndarray or None
        What each conductor may carry with 1, 2 ... loaded in the jacket; None to leave heat out. [A]
    room : int
        Most conductors that may be used.
    must : sequence of int
        Places of circuits that have to be carried.

    Returns
    -------
    tuple of Option or None
        At most one a circuit; None if the circuits of `must` cannot all be carried.

    Notes
    -----
    A mixed-integer linear program, solved to its proven end by HiGHS through `scipy.optimize.milp`.
    """
    if not options:
        return None if must else ()
    cores, count = len(cable.cores), len(options)
    # unknowns: each option taken or not, then how many are loaded at most: one of 0, 1, 2 ...
    unknowns = count + cores + 1
    rows: list[Array] = []
    low: list[float] = []
    high: list[float] = []

    def rule(values: Mapping[int, float], least: float, most: float) -> None:
        row = np.zeros(unknowns)
        row[list(values)] = list(values.values())
        rows.append(row)
        low.append(least)
        high.append(most)

    for circuit in {one.circuit for one in options}:
        least = 1 if circuit in must else 0
        rule({at: 1 for at, one in enumerate(options) if one.circuit == circuit}, least, 1)
    if set(must) - {one.circuit for one in options}:
        return None
    for core in range(cores):
        rule({at: 1 for at, one in enumerate(options) if core in one.places}, 0, 1)
    rule({at: len(one.cores) for at, one in enumerate(options)}, 0, room)
    rule({count + loaded: 1 for loaded in range(cores + 1)}, 1, 1)
    taken = {at: len(one.cores) for at, one in enumerate(options) if one.each_a > 0}
    rule({**taken, **{count + loaded: -loaded for loaded in range(1, cores + 1)}}, -np.inf, 0)
    if limits_a is not None:
        for at in taken:
            cool = [
                count + loaded
                for loaded in range(1, cores + 1)
                if all(options[at].each_a <= limits_a[core, loaded - 1] for core in options[at].places)
            ]
            rule({at: 1, **dict.fromkeys(cool, -1)}, -np.inf, 0)
    # each level outweighs all that is below it
    order_most = cores * cores
    colour = order_most + 1
    fewer = colour * (3 * cores + 1)
    more = fewer * (cores + 1)
    gain = [more - fewer * len(one.cores) + colour * one.wanted - sum(one.places) for one in options]
    answer = milp(
        -np.array([*gain, *np.zeros(cores + 1)], np.float64),
        integrality=np.ones(unknowns, np.intp),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(sparse.csc_array(np.array(rows)), np.array(low), np.array(high)),
        options={"mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None
    return tuple(one for one, value in zip(options, answer.x[:count], strict=True) if value > 0.5)
