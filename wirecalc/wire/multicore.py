"""Which conductors of one multi-conductor cable carry which circuits, and which circuits need wire of their own.

A circuit's two ways stay in one twisted pair; two pairs go side by side where one is too thin; what is loaded shares
one jacket; channels that match get conductors alike. What goes before what: `wirecalc.wire.core_choice.best_options`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.ampacity import allowable
from wirecalc.wire.cable_types import CableType, Core, Way
from wirecalc.wire.cautions import Work, cautions
from wirecalc.wire.core_choice import CableCircuit, Option, Standing, best_options, options_of, sets_of
from wirecalc.wire.heat import temperature_c
from wirecalc.wire.insulation import insulated

Array = NDArray[np.float64]

MOST_CIRCUITS, MOST_PARALLEL = 24, 4
PARALLEL = 2  # more than two ends of strand in one terminal are hard to crimp: common practice, no source


@dataclass(frozen=True, kw_only=True, eq=False)
class Use:
    """Whether the cable carries one circuit, by which conductors, and why."""

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
    def parallel(self) -> int:
        """How many conductors side by side, each way; 0 if the cable does not carry it."""
        return len(self.cores) // (2 if self.circuit.needs == "pair" else 1)

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
        sentence = f"The {self.cable.name} carries {carried} of {len(self.uses)} circuits; spare: {spare}."
        if self.loaded:
            sentence += (
                f" {self.loaded} loaded conductors in one jacket reach {self.hottest_c:.0f} °C at most; "
                f"{limit_c:g} °C is the insulation's limit."
            )
        return sentence

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind, by `wirecalc.wire.cautions`."""
        twin = any(use.parallel > 1 for use in self.uses)
        return cautions(Work(fused=self.loaded > 0, parallel=2 if twin else 1, loaded=self.loaded))

    def table(self) -> pd.DataFrame:
        """One row for each circuit: circuit, verdict, conductors (colours), parallel (each way; 0: none), reason."""
        return pd.DataFrame(
            [
                (
                    use.circuit.name,
                    use.verdict,
                    ", ".join(core.name for _, core in use.cores),
                    use.parallel,
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


@dataclass(frozen=True, kw_only=True, eq=False)
class CoreChoice:
    """Which conductors of a cable the circuits get; why stands in the `Allocation` that is made of it."""

    cable: CableType
    circuits: tuple[CableCircuit, ...]
    chosen: tuple[Option, ...]
    options: tuple[Option, ...]
    limits_a: Array
    """What each conductor may carry with 1, 2 ... loaded. (cores, counts) [A]"""
    ambient_c: float
    room: int
    """Most conductors that may be used."""
    parallel: int

    @property
    def carried(self) -> int:
        """How many circuits."""
        return len(self.chosen)


@takes_units
def allocate(
    cable: CableType,
    circuits: Sequence[CableCircuit],
    *,
    ambient_c: float,
    spare: int = 0,
    parallel: int = PARALLEL,
) -> Allocation:
    """Give the conductors of one cable to circuits, and say why.

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
        The best by `wirecalc.wire.core_choice.best_options`.

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
    return explained(chosen(cable, circuits, ambient_c=ambient_c, spare=spare, parallel=parallel))


@takes_units
def chosen(
    cable: CableType,
    circuits: Sequence[CableCircuit],
    *,
    ambient_c: float,
    spare: int = 0,
    parallel: int = PARALLEL,
) -> CoreChoice:
    """As `allocate`, without the reasons: to compare cables.

    Parameters
    ----------
    cable, circuits, ambient_c, spare, parallel
        See `allocate`.

    Returns
    -------
    CoreChoice

    Raises
    ------
    InputError
        As `allocate`.
    """
    names = [circuit.name for circuit in circuits]
    twice = {name for name in names if names.count(name) > 1}
    check("Number of circuits", len(circuits), "", low=1, high=MOST_CIRCUITS)
    if twice:
        raise InputError("Circuits", ", ".join(sorted(twice)), "each name once")
    check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    spare = _whole("Spare conductors", spare, 0, len(cable.cores))
    parallel = _whole("Conductors in parallel", parallel, 1, MOST_PARALLEL)
    options = tuple(option for place in range(len(circuits)) for option in options_of(cable, circuits, place, parallel))
    limits_a, room = _limits_a(cable, ambient_c), len(cable.cores) - spare
    return CoreChoice(
        cable=cable, circuits=tuple(circuits), options=options, limits_a=limits_a, ambient_c=ambient_c, room=room,
        parallel=parallel, chosen=best_options(cable, circuits, options, limits_a, room) or (),
    )  # fmt: skip


def explained(choice: CoreChoice) -> Allocation:
    """A choice with its reasons.

    Parameters
    ----------
    choice : CoreChoice
        See `chosen`.

    Returns
    -------
    Allocation
    """
    cable = choice.cable
    by_circuit = {option.circuit: option for option in choice.chosen}
    loaded = sum(len(option.cores) for option in choice.chosen if option.each_a > 0)
    uses = []
    for place, circuit in enumerate(choice.circuits):
        option = by_circuit.get(place)
        if option is not None:
            cores = tuple((way, cable.cores[at]) for way, at in option.cores)
            reason = _why_carried(choice, circuit, cores)
            allowable_a = option.parallel * float(min(choice.limits_a[at, max(loaded, 1) - 1] for at in option.places))
        else:
            cores, allowable_a = (), math.nan
            reason = _why_not(choice, place)
        uses.append(Use(circuit=circuit, cores=cores, reason=reason, allowable_a=allowable_a))
    hottest_c = max(
        (
            float(
                temperature_c(insulated([of.conductor], cable.insulation), option.each_a, choice.ambient_c, loaded)[0]
            )
            for option in choice.chosen
            for of in [cable.cores[option.places[0]]]
            if option.each_a > 0
        ),
        default=choice.ambient_c,
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


def _why_carried(choice: CoreChoice, circuit: CableCircuit, cores: tuple[tuple[Way, Core], ...]) -> str:
    count = len(cores) // (2 if circuit.needs == "pair" else 1)
    conductor = cores[0][1].conductor
    meets = circuit.judge(conductor, count).words
    colour = _off_colour(choice, circuit, [core for _, core in cores])
    if count == 1:
        return f"{conductor.label}: {meets}{colour}"
    single = circuit.judge(conductor, 1)
    why = f"one alone does not: {single.words}"
    if single.does and not single.fine:
        why = f"one alone is only borderline: {single.words}"
    elif single.does:
        others = [each for each in choice.circuits if each.alike == circuit.alike != "" and each is not circuit]
        alike = any(not each.judge(conductor, 1).fine for each in others)
        why = "alike with the channels that it matches" if alike else "one alone would be too warm"
    return f"{count} × {conductor.label} in parallel: {meets}; {why}{colour}"


def _off_colour(choice: CoreChoice, circuit: CableCircuit, cores: Sequence[Core]) -> str:
    """A sentence where a circuit lacks the colour of its channel, and which circuit has it; else empty."""
    channel = circuit.channel.casefold()
    own = [core for core in choice.cable.cores if channel and core.channel.casefold() == channel]
    if not own or set(own) & set(cores):
        return ""
    has = {
        choice.cable.cores[at]: choice.circuits[option.circuit].name for option in choice.chosen for at in option.places
    }
    other = next((has[core] for core in own if core in has), "")
    whose = f"“{other}” has it, or fewer would be carried" if other else "it does not do here"
    return f". Mind: not in its own colour, {own[0].name}: {whose}"


def _why_not(choice: CoreChoice, place: int) -> str:
    cable, circuits, room = choice.cable, choice.circuits, choice.room
    circuit, carried = circuits[place], {option.circuit for option in choice.chosen}
    sets = {(size, count): None for size, count, _ in sets_of(cable, circuit.needs, choice.parallel)}
    if not sets:
        return "The cable has no twisted pair."
    own = [option for option in choice.options if option.circuit == place]
    if not own:
        largest = max(sets, key=lambda pair: pair[1] * pair[0].area_m2)
        many = f"{largest[1]} × " if largest[1] > 1 else ""
        return f"Even {many}{largest[0].label} of this cable will not do: {circuit.judge(*largest).words.rstrip('.')}."
    loose = tuple(replace(circuit, alike="") for circuit in circuits)

    def possible(must: Sequence[int], limits_a: Array | None, most: int, matched: bool = True) -> bool:
        some = circuits if matched else loose
        return best_options(cable, some, choice.options, limits_a, most, must=must) is not None

    limits, alone = choice.limits_a, [place]
    if not possible(alone, limits, room, matched=False):
        if not possible(alone, None, room, matched=False):
            return f"It needs {min(len(option.cores) for option in own)} conductors, {room} may be used."
        return f"It would make the conductors too warm for their insulation ({cable.insulation.limit_c:g} °C)."
    if not possible(alone, limits, room):
        return _why_unlike(choice, place, own)
    both = [*carried, place]
    if possible(both, None, room):
        return "With the others in one jacket the conductors would be too warm."
    if possible(both, None, len(cable.cores)):
        return f"There is room for it only in the {len(cable.cores) - room} conductors that are to stay spare."
    return "No conductors are left that suit it: the other circuits need them."


def _why_unlike(choice: CoreChoice, place: int, own: Sequence[Option]) -> str:
    """Why a circuit that could be carried is not: its channels would not have like conductors."""
    circuit = choice.circuits[place]
    least = min(own, key=lambda option: len(option.cores))
    many = sum(wanted.alike == circuit.alike for wanted in choice.circuits)
    size, count = least.kind
    single: Standing = circuit.judge(size, 1)
    return (
        f"One {size.label} does not: {single.words}. {count} side by side would do, but {many} channels match and get"
        f" conductors alike: together they would need {many * len(least.cores)}, and {choice.room} may be used."
    )
