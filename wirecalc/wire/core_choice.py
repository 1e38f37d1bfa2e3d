"""What a circuit asks of a cable, every set of its conductors that would do, and the best choice for all circuits.

What is best, first things first: see `best_options`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable_types import CableType, Core, Way
from wirecalc.wire.conductor import Conductor

Array = NDArray[np.float64]
Needs = Literal["pair", "single"]

MOST_STRAIN = 10.0  # over which two circuits that are both hopeless need no order


class Standing(NamedTuple):
    """How a circuit does on so many conductors each way."""

    does: bool
    words: str
    """By how much it does, or does not."""
    strain: float = 0.0
    """Share that is used of the limit that it uses up most; over 1 a limit is passed."""
    fine: bool = True
    """Whether every limit is kept in full; False where one of taste is passed by a little."""


Judge = Callable[[Conductor, int], Standing | tuple[bool, str]]


@dataclass(frozen=True, kw_only=True, eq=False)
class CableCircuit:
    """What a circuit asks of a cable."""

    name: str
    needs: Needs
    """"pair": out and back, in one twisted pair; "single": one way, such as a turn-on lead."""
    current_a: float
    """RMS through each way, all conductors of the way together; what heats. [A]"""
    judged: Judge | Mapping[int, tuple[bool, str]]
    """How so many conductors in parallel, each way, stand against the circuit's limits. Called with the conductor and
    the count; or a table by count of what a `Standing` begins with, for a cable whose conductors are all alike."""
    channel: str = ""
    """Whose colour it should have: "front left", "remote turn-on"."""
    alike: str = ""
    """Circuits with one word here match, as four doors of one amplifier do: they get conductors alike."""

    def __post_init__(self) -> None:
        check(f"Current of “{self.name}”", self.current_a, "A", low=0, high=10000)
        if self.needs not in get_args(Needs):
            raise InputError(f"Need of “{self.name}”", self.needs, "pair or single")

    def judge(self, conductor: Conductor, parallel: int) -> Standing:
        """How `parallel` of these conductors each way do. A count that the table lacks does not.

        Parameters
        ----------
        conductor : Conductor
            The cable's.
        parallel : int
            How many side by side, each way.

        Returns
        -------
        Standing
        """
        if isinstance(self.judged, Mapping):
            return Standing(*self.judged.get(parallel, (False, f"{parallel} in parallel were not looked at")))
        return Standing(*self.judged(conductor, parallel))


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
    fine: bool
    """Keeps every limit in full."""
    apart: int
    """How many of the sets side by side are no neighbours of one another."""
    kind: tuple[Conductor, int]
    """Which conductor, and how many each way: circuits that match have the same."""

    @property
    def places(self) -> list[int]:
        """Which conductors of the cable it takes, from 0."""
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
    for size in dict.fromkeys(size for size, _ in one_way):
        alike = [ways for other, ways in one_way if other == size]
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
    judged: dict[tuple[Conductor, int], Standing] = {}
    for size, count, cores in sets_of(cable, circuit.needs, parallel):
        if (size, count) not in judged:
            judged[size, count] = circuit.judge(size, count)
        if judged[size, count].does:
            own = [cable.cores[at] for _, at in cores]
            suits = sum(2 for core in own if circuit.channel and core.channel.casefold() == circuit.channel.casefold())
            torn = sum(1 for core in own if core.pair and circuit.needs == "single")
            yield Option(
                circuit=place, cores=cores, parallel=count, each_a=circuit.current_a / count, wanted=suits - torn,
                fine=judged[size, count].fine, apart=_apart(cable, own, circuit.needs), kind=(size, count),
            )  # fmt: skip


def _apart(cable: CableType, own: Sequence[Core], needs: Needs) -> int:
    """How many pairs, or loose conductors, of one circuit do not lie beside the one before.

    Neighbours lie side by side in the cable's list, or belong to one side or one axle: "front left" and "rear left".
    """
    words = list(dict.fromkeys(core.pair if needs == "pair" else core.name for core in own))
    order = list(cable.pairs) if needs == "pair" else [core.name for core in cable.cores]
    channel = {core.pair if needs == "pair" else core.name: set(core.channel.split()) for core in own}
    return sum(
        abs(order.index(word) - order.index(other)) > 1 and not channel[word] & channel[other]
        for word, other in pairwise(words)
    )


def strain_of(cable: CableType, circuit: CableCircuit) -> float:
    """How hard one conductor of a cable each way is for a circuit: who gains most by a wire of its own has the most.

    Parameters
    ----------
    cable : CableType
    circuit : CableCircuit

    Returns
    -------
    float
        Of its conductor that suits best; the share of the limit that is used up most, 10 at most.
    """
    sizes = dict.fromkeys(size for size, count, _ in sets_of(cable, circuit.needs, 1))
    strains = (circuit.judge(size, 1).strain for size in sizes)
    return min((min(max(strain, 0.0), MOST_STRAIN) for strain in strains), default=0.0)


class _Program:
    """Which options are taken, as a mixed-integer linear program."""

    def __init__(
        self,
        cable: CableType,
        circuits: Sequence[CableCircuit],
        options: Sequence[Option],
        limits_a: Array | None,
        room: int,
        must: Sequence[int],
    ) -> None:
        self.options, cores = options, len(cable.cores)
        self.matched = _matched(circuits, options)
        # unknowns: each option taken or not, how many are loaded at most: one of 0, 1, 2 ..., each kind of each match
        self.count = len(options)
        first = self.count + cores + 1
        self.unknowns = first + len(self.matched)
        self.rows: list[tuple[dict[int, float], float, float]] = []
        for circuit in {option.circuit for option in options}:
            least = 1 if circuit in must else 0
            self.rule({at: 1 for at, option in enumerate(options) if option.circuit == circuit}, least, 1)
        for core in range(cores):
            self.rule({at: 1 for at, option in enumerate(options) if core in option.places}, 0, 1)
        self.rule({at: len(option.cores) for at, option in enumerate(options)}, 0, room)
        self.rule({self.count + loaded: 1 for loaded in range(cores + 1)}, 1, 1)
        taken = {at: float(len(option.cores)) for at, option in enumerate(options) if option.each_a > 0}
        self.rule({**taken, **{self.count + loaded: -loaded for loaded in range(1, cores + 1)}}, -np.inf, 0)
        for at in taken if limits_a is not None else ():
            assert limits_a is not None
            cool = [
                self.count + loaded
                for loaded in range(1, cores + 1)
                if all(options[at].each_a <= limits_a[core, loaded - 1] for core in options[at].places)
            ]
            self.rule({at: 1, **dict.fromkeys(cool, -1)}, -np.inf, 0)
        for place, ((_, kind), members) in enumerate(self.matched.items(), first):
            for member in members:
                own = {at: 1.0 for at, option in enumerate(options) if option.circuit == member and option.kind == kind}
                # side by side for all that match or for none
                self.rule({**own, place: -1}, 0 if kind[1] > 1 else -np.inf, 0)
        for word in {word for word, _ in self.matched}:
            self.rule({at: 1 for at, (matched, _) in enumerate(self.matched, first) if matched == word}, 0, 1)

    def rule(self, values: Mapping[int, float], least: float, most: float) -> None:
        """A sum of unknowns between two bounds."""
        self.rows.append((dict(values), least, most))

    def solve(self, gain: Sequence[float]) -> Array | None:
        """The options taken, 0 or 1 each, that gain most; None if the rules cannot all be kept."""
        matrix = sparse.lil_array((len(self.rows), self.unknowns))
        for row, (values, _, _) in enumerate(self.rows):
            for at, value in values.items():
                matrix[row, at] = value
        bounds = np.array([each[1:] for each in self.rows])
        answer = milp(
            -np.array([*gain, *np.zeros(self.unknowns - self.count)], np.float64),
            integrality=np.ones(self.unknowns, np.intp),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(matrix.tocsc(), bounds[:, 0], bounds[:, 1]),
            options={"mip_rel_gap": 0.0},
        )
        return None if answer.x is None else np.round(answer.x[: self.count])


def _matched(
    circuits: Sequence[CableCircuit], options: Sequence[Option]
) -> dict[tuple[str, tuple[Conductor, int]], tuple[int, ...]]:
    """The circuits of each match of two or more, by its word and each kind of option that one of them has."""
    words = [circuit.alike for circuit in circuits]
    return {
        (words[option.circuit], option.kind): tuple(
            at for at, word in enumerate(words) if word == words[option.circuit]
        )
        for option in options
        if words[option.circuit] and words.count(words[option.circuit]) > 1
    }


@takes_units
def best_options(
    cable: CableType,
    circuits: Sequence[CableCircuit],
    options: Sequence[Option],
    limits_a: Array | None,
    room: int,
    must: Sequence[int] = (),
) -> tuple[Option, ...] | None:
    """The best choice of options.

    Parameters
    ----------
    cable : CableType
        Whose conductors the options are.
    circuits : sequence of CableCircuit
        All that the options are of.
    options : sequence of Option
        Of all circuits together.
    limits_a : (cores, counts) numpy.ndarray or None
        What each conductor may carry with 1, 2 ... loaded in the jacket; None to leave heat out. [A]
    room : int
        Most conductors that may be used.
    must : sequence of int
        Places of circuits that have to be carried. Then only whether that can be is looked for, not what is best.

    Returns
    -------
    tuple of Option or None
        At most one a circuit; None if the circuits of `must` cannot all be carried.

    Notes
    -----
    Circuits that match get conductors alike: one size, and side by side for all of them or for none.

    What is best, each only among what is best by all before it: (1) most circuits carried; (2) fewest that pass a
    limit of taste by a little; (3) who is put out gains most by it: the least sum of `strain_of` over what is carried;
    (4) fewest conductors; (5) the trade's colours: 2 for each conductor in the colour of its channel, 1 off for each
    pair that is torn apart; (6) sets side by side that are neighbours; (7) the cable's own order, circuits in theirs.

    Mixed-integer linear programs, each solved to its proven end by HiGHS through `scipy.optimize.milp`.
    """
    if set(must) - {option.circuit for option in options}:
        return None
    if not options:
        return ()
    program = _Program(cable, circuits, options, limits_a, room, must)
    cores = len(cable.cores)
    first = [2.0 * cores + (1.0 if option.fine else 0.0) for option in options]
    chosen = program.solve([0.0] * len(options) if must else first)
    if chosen is None:
        return None
    if not must:
        program.rule(dict(enumerate(first)), float(chosen @ first) - 0.5, np.inf)
        if chosen.sum() < len({option.circuit for option in options}):  # somebody is put out
            strains = {option.circuit: strain_of(cable, circuits[option.circuit]) for option in options}
            strain = [-strains[option.circuit] for option in options]
            chosen = program.solve(strain)
            assert chosen is not None
            program.rule(dict(enumerate(strain)), float(chosen @ strain) - 1e-6, np.inf)
        chosen = program.solve(_tidiness(cores, len(circuits), options))
        assert chosen is not None
    return tuple(option for option, value in zip(options, chosen, strict=True) if value > 0.5)


def _tidiness(cores: int, circuits: int, options: Sequence[Option]) -> list[float]:
    """What an option adds by levels 4 to 7 of `best_options`; each level outweighs all that is below it."""
    near = cores * cores * circuits + 1
    colour = near * (cores + 1)
    fewer = colour * (3 * cores + 1)
    return [
        float(
            colour * option.wanted
            - fewer * len(option.cores)
            - near * option.apart
            - sum(option.places) * (circuits - option.circuit)
        )
        for option in options
    ]
