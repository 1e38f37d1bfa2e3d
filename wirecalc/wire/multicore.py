"""Which conductors of one multi-conductor cable carry which circuits, and which circuits need wire of their own.

A circuit's two ways stay in one twisted pair; two pairs go side by side where one is too thin; what is loaded shares
one jacket. Solved to the end by scipy's MILP: most circuits, then fewest conductors, then the trade's colours.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.units import read_size
from wirecalc.wire.ampacity import allowable
from wirecalc.wire.conductor import Conductor, conductor
from wirecalc.wire.fuse import cautions
from wirecalc.wire.heat import temperature_c
from wirecalc.wire.insulation import INSULATIONS, Insulation, insulated

Array = NDArray[np.float64]
Way = Literal["+", "−", ""]
Needs = Literal["pair", "single"]
Judge = Callable[[Conductor, int], tuple[bool, str]]

MOST_CORES, MOST_CIRCUITS, MOST_PARALLEL = 24, 24, 4
PARALLEL = 2  # more than two ends of strand in one terminal are hard to crimp: common practice, no source


@dataclass(frozen=True, kw_only=True)
class Core:
    """One conductor in the jacket."""

    name: str
    """Its colour as the trade says it: "white/black" is white with a black stripe."""
    colour: str
    """To draw it: "#rrggbb"."""
    conductor: Conductor
    stripe: str = ""
    """"#rrggbb", or empty."""
    pair: str = ""
    """The two that are twisted together have the same word here; empty for a loose one."""
    channel: str = ""
    """What the trade uses it for: "front left", "remote turn-on"; empty if nothing is fixed."""
    way: Way = ""
    """Of a pair, which is which by custom."""


@dataclass(frozen=True, kw_only=True)
class CableType:
    """A cable of several conductors, as it is on the spool."""

    key: str
    name: str
    outer_m: float
    """Over the jacket. [m]"""
    insulation: Insulation
    cores: tuple[Core, ...]
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Cable diameter", self.outer_m, "m", low=1e-3, high=0.1, hint="Was it in mm?")
        check(f"Conductors in “{self.name}”", len(self.cores), "", low=1, high=MOST_CORES)
        names = [core.name for core in self.cores]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise InputError(f"Colours in “{self.name}”", ", ".join(sorted(twice)), "each colour once")
        for pair, cores in self.pairs.items():
            if len(cores) != 2 or cores[0].conductor != cores[1].conductor:
                told = ", ".join(core.name for core in cores)
                raise InputError(f"Pair “{pair}” in “{self.name}”", told, "two conductors of one size")

    @property
    def pairs(self) -> dict[str, tuple[Core, ...]]:
        """The twisted pairs, + first."""
        words = dict.fromkeys(core.pair for core in self.cores if core.pair)
        return {
            word: tuple(sorted((core for core in self.cores if core.pair == word), key=lambda core: core.way == "−"))
            for word in words
        }


def _cables() -> dict[str, CableType]:
    found = {}
    for key, rows in tables.load("multicore_cables").fillna("").groupby("cable", sort=False):
        first = rows.iloc[0]
        cores = tuple(
            Core(
                name=row["conductor"],
                colour=row["colour"],
                stripe=row["stripe"],
                conductor=conductor(*read_size(row["size"])),
                pair=row["pair"],
                channel=row["channel"],
                way=row["way"],
            )
            for row in rows.to_dict("records")
        )
        found[str(key)] = CableType(
            key=str(key),
            name=first["cable_name"],
            outer_m=first["outer_mm"] * 1e-3,
            insulation=INSULATIONS[first["insulation"]],
            cores=cores,
            source=first["source"],
            confidence=first["confidence"],
        )
    return found


CABLES: dict[str, CableType] = _cables()
"""The cable types of data/multicore_cables.csv."""


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
        """Whether `parallel` of these conductors each way do, and why. A count that the table lacks does not."""
        if isinstance(self.judged, Mapping):
            return self.judged.get(parallel, (False, f"{parallel} in parallel were not looked at"))
        return self.judged(one, parallel)


@dataclass(frozen=True, kw_only=True, eq=False)
class Use:
    """What became of one circuit."""

    circuit: CableCircuit
    cores: tuple[tuple[Way, Core], ...]
    """Each conductor it gets and for which way; none if it needs wire of its own."""
    reason: str
    allowable_a: float
    """What each way may carry with all that is loaded in the jacket, its conductors together: no fuse may be larger;
    nan if the cable does not carry it. [A]"""

    @property
    def carried(self) -> bool:
        """The cable carries it."""
        return bool(self.cores)

    @property
    def verdict(self) -> str:
        """What to pull, in a few words."""
        if self.carried:
            return "use this cable"
        return "pull a discrete pair instead" if self.circuit.needs == "pair" else "pull a discrete wire instead"


@dataclass(frozen=True, kw_only=True, eq=False)
class Allocation:
    """Which conductor of a cable does what."""

    cable: CableType
    uses: tuple[Use, ...]
    """In the order of the circuits."""
    loaded: int
    """Conductors that carry current, together in the jacket."""
    hottest_c: float
    """Of the warmest conductor, were all that are loaded like it; the ambient if none is loaded. [degC]"""

    @property
    def spare(self) -> tuple[Core, ...]:
        """Conductors that nothing uses."""
        used = {core.name for use in self.uses for _, core in use.cores}
        return tuple(core for core in self.cable.cores if core.name not in used)

    def in_words(self) -> str:
        """The outcome in a few sentences."""
        carried = sum(use.carried for use in self.uses)
        spare = ", ".join(core.name for core in self.spare) or "none"
        limit_c = self.cable.insulation.limit_c
        said = f"The {self.cable.name} carries {carried} of {len(self.uses)} circuits; spare: {spare}."
        if self.loaded:
            said += (
                f" {self.loaded} loaded conductors in one jacket reach {self.hottest_c:.0f} °C at most; "
                f"{limit_c:g} °C is the insulation's limit."
            )
        return said

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind, from `wirecalc.wire.fuse.cautions`."""
        twin = any(len(use.cores) > (2 if use.circuit.needs == "pair" else 1) for use in self.uses)
        warm = ("branch", "hot bundle") if self.loaded else ()
        return cautions(*(["parallel"] if twin else []), *warm, "airbag")

    def table(self) -> pd.DataFrame:
        """One row for each circuit: circuit, verdict, conductors (colours), parallel (each way; 0: none), reason."""
        return pd.DataFrame(
            [
                (
                    use.circuit.name,
                    use.verdict,
                    ", ".join(core.name for _, core in use.cores),
                    len(use.cores) // (2 if use.circuit.needs == "pair" else 1),
                    use.reason,
                )
                for use in self.uses
            ],
            columns=["circuit", "verdict", "conductors", "parallel", "reason"],
        )

    def pin_out(self) -> pd.DataFrame:
        """One row for each conductor of the cable, in its order.

        Returns
        -------
        pandas.DataFrame
            number (from 1, as in the picture), conductor, pair, size, circuit ("spare" where unused), way (+, − or
            empty).
        """
        used = {core.name: (use.circuit.name, way) for use in self.uses for way, core in use.cores}
        return pd.DataFrame(
            [
                (number, core.name, core.pair, core.conductor.label, *used.get(core.name, ("spare", "")))
                for number, core in enumerate(self.cable.cores, 1)
            ],
            columns=["number", "conductor", "pair", "size", "circuit", "way"],
        )


@dataclass(frozen=True, kw_only=True)
class _Option:
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
        return [place for _, place in self.cores]


def allocate(
    cable: CableType,
    circuits: Sequence[CableCircuit],
    *,
    ambient_c: float,
    spare: int = 0,
    parallel: int = PARALLEL,
) -> Allocation:
    """Give the conductors of one cable to circuits.

    Parameters
    ----------
    cable : CableType
        See `CABLES`.
    circuits : sequence of CableCircuit
        Up to 24, with names that differ.
    ambient_c : float
        Air around the cable: `wirecalc.wire.zones.ZONES`. [degC]
    spare : int
        Conductors to leave unused at the least.
    parallel : int
        Most side by side, each way. [1 to 4]

    Returns
    -------
    Allocation
        Most circuits carried; of those the fewest conductors; of those the most in the colours of their channel and
        the fewest pairs torn apart; then in the cable's own order.

    Raises
    ------
    InputError
        If there is no circuit or too many, two have one name, or a value is out of range.

    Notes
    -----
    A conductor may carry what `wirecalc.wire.ampacity.allowable` grants with all loaded conductors of the jacket around
    it, taken as if all carried as much as this one: on the safe side for conductors of one size. A conductor without
    current does not count. Only conductors of one size go side by side.
    """
    names = [circuit.name for circuit in circuits]
    twice = {name for name in names if names.count(name) > 1}
    check("Number of circuits", len(circuits), "", low=1, high=MOST_CIRCUITS)
    if twice:
        raise InputError("Circuits", ", ".join(sorted(twice)), "each name once")
    check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    spare = _whole("Spare conductors", spare, 0, len(cable.cores))
    parallel = _whole("Conductors in parallel", parallel, 1, MOST_PARALLEL)
    options = [one for place in range(len(circuits)) for one in _options(cable, circuits, place, parallel)]
    limits = _limits_a(cable, ambient_c)
    room = len(cable.cores) - spare
    chosen = _solve(cable, options, limits, room) or ()
    by_circuit = {one.circuit: one for one in chosen}
    loaded = sum(len(one.cores) for one in chosen if one.each_a > 0)
    uses = []
    for place, circuit in enumerate(circuits):
        one = by_circuit.get(place)
        if one is not None:
            cores = tuple((way, cable.cores[at]) for way, at in one.cores)
            reason = _why_carried(circuit, cores)
            allowable_a = one.parallel * float(min(limits[at, max(loaded, 1) - 1] for at in one.places))
        else:
            cores, allowable_a = (), math.nan
            reason = _why_not(cable, circuits, place, parallel, options, set(by_circuit), limits, room)
        uses.append(Use(circuit=circuit, cores=cores, reason=reason, allowable_a=allowable_a))
    hottest_c = max(
        (
            float(temperature_c(insulated([of.conductor], cable.insulation), one.each_a, ambient_c, loaded)[0])
            for one in chosen
            for of in [cable.cores[one.places[0]]]
            if one.each_a > 0
        ),
        default=ambient_c,
    )
    return Allocation(cable=cable, uses=tuple(uses), loaded=loaded, hottest_c=hottest_c)


def _whole(field: str, value: int, low: int, high: int) -> int:
    number = float(check(field, value, "", low=low, high=high))
    if not number.is_integer():
        raise InputError(field, value, f"a whole number, {low} to {high}")
    return int(number)


def _limits_a(cable: CableType, ambient_c: float) -> Array:
    """What each conductor may carry with 1, 2 ... loaded in the jacket. (cores, counts) [A]"""
    wires = insulated([core.conductor for core in cable.cores], cable.insulation)
    counts = np.arange(1, len(cable.cores) + 1)
    return allowable(wires, ambient_c, counts[:, None]).current_a.T


def _sets(
    cable: CableType, needs: Needs, parallel: int
) -> Iterator[tuple[Conductor, int, tuple[tuple[Way, int], ...]]]:
    """Conductor, count each way, and conductors with their ways: all sets of one size that a circuit could be given."""
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


def _options(cable: CableType, circuits: Sequence[CableCircuit], place: int, parallel: int) -> Iterator[_Option]:
    """Every set of conductors that meets the circuit's own limits; heat is looked at later."""
    circuit = circuits[place]
    judged: dict[tuple[Conductor, int], bool] = {}
    for size, count, cores in _sets(cable, circuit.needs, parallel):
        if (size, count) not in judged:
            judged[size, count] = circuit.judge(size, count)[0]
        if judged[size, count]:
            own = [cable.cores[at] for _, at in cores]
            suits = sum(2 for core in own if circuit.channel and core.channel.casefold() == circuit.channel.casefold())
            torn = sum(1 for core in own if core.pair and circuit.needs == "single")
            each_a = circuit.current_a / count
            yield _Option(circuit=place, cores=cores, parallel=count, each_a=each_a, wanted=suits - torn)


def _solve(
    cable: CableType, options: Sequence[_Option], limits_a: Array | None, room: int, must: Sequence[int] = ()
) -> tuple[_Option, ...] | None:
    """The best choice of options; None if the circuits of `must` cannot all be carried. Without limits no heat."""
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


def _why_carried(circuit: CableCircuit, cores: tuple[tuple[Way, Core], ...]) -> str:
    count = len(cores) // (2 if circuit.needs == "pair" else 1)
    one = cores[0][1].conductor
    meets = circuit.judge(one, count)[1]
    if count == 1:
        return f"{one.label}: {meets}"
    single_does, single = circuit.judge(one, 1)
    why = "one alone would be too warm" if single_does else f"one alone does not: {single}"
    return f"{count} × {one.label} in parallel: {meets}; {why}"


def _why_not(
    cable: CableType,
    circuits: Sequence[CableCircuit],
    place: int,
    parallel: int,
    options: Sequence[_Option],
    carried: set[int],
    limits_a: Array,
    room: int,
) -> str:
    circuit = circuits[place]
    sets = {(size, count): None for size, count, _ in _sets(cable, circuit.needs, parallel)}
    if not sets:
        return "The cable has no twisted pair."
    own = [one for one in options if one.circuit == place]
    if not own:
        largest = max(sets, key=lambda one: one[1] * one[0].area_m2)
        many = f"{largest[1]} × " if largest[1] > 1 else ""
        return f"Even {many}{largest[0].label} of this cable will not do: {circuit.judge(*largest)[1]}"
    if _solve(cable, own, limits_a, room, must=[place]) is None:
        if _solve(cable, own, None, room, must=[place]) is None:
            return f"It needs {min(len(one.cores) for one in own)} conductors, {room} may be used."
        return f"It would make the conductors too warm for their insulation ({cable.insulation.limit_c:g} °C)."
    both = [*carried, place]
    if _solve(cable, options, None, room, must=both) is not None:
        return "With the others in one jacket the conductors would be too warm."
    if _solve(cable, options, None, len(cable.cores), must=both) is not None:
        return f"There is room for it only in the {len(cable.cores) - room} conductors that are to stay spare."
    return "No conductors are left that suit it: the other circuits need them."
