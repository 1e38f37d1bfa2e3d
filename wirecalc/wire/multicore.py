"""Which conductors of one multi-conductor cable carry which circuits, and which circuits need wire of their own.

A circuit's two ways stay in one twisted pair; two pairs go side by side where one is too thin; what is loaded shares
one jacket. Most circuits come first, then fewest conductors, then the trade's colours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wirecalc.errors import InputError, check
from wirecalc.wire.ampacity import allowable
from wirecalc.wire.cable_types import CableType, Core, Way
from wirecalc.wire.cautions import Work, cautions
from wirecalc.wire.core_choice import CableCircuit, Option, best_options, options_of, sets_of
from wirecalc.wire.heat import temperature_c
from wirecalc.wire.insulation import insulated

Array = NDArray[np.float64]

MOST_CIRCUITS, MOST_PARALLEL = 24, 4
PARALLEL = 2  # more than two ends of strand in one terminal are hard to crimp: common practice, no source


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
        """What to mind, by `wirecalc.wire.cautions`."""
        twin = any(len(use.cores) > (2 if use.circuit.needs == "pair" else 1) for use in self.uses)
        return cautions(Work(fused=self.loaded > 0, parallel=2 if twin else 1, loaded=self.loaded))

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
    options = [one for place in range(len(circuits)) for one in options_of(cable, circuits, place, parallel)]
    limits = _limits_a(cable, ambient_c)
    room = len(cable.cores) - spare
    chosen = best_options(cable, options, limits, room) or ()
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
    options: Sequence[Option],
    carried: set[int],
    limits_a: Array,
    room: int,
) -> str:
    circuit = circuits[place]
    sets = {(size, count): None for size, count, _ in sets_of(cable, circuit.needs, parallel)}
    if not sets:
        return "The cable has no twisted pair."
    own = [one for one in options if one.circuit == place]
    if not own:
        largest = max(sets, key=lambda one: one[1] * one[0].area_m2)
        many = f"{largest[1]} × " if largest[1] > 1 else ""
        return f"Even {many}{largest[0].label} of this cable will not do: {circuit.judge(*largest)[1]}"
    if best_options(cable, own, limits_a, room, must=[place]) is None:
        if best_options(cable, own, None, room, must=[place]) is None:
            return f"It needs {min(len(one.cores) for one in own)} conductors, {room} may be used."
        return f"It would make the conductors too warm for their insulation ({cable.insulation.limit_c:g} °C)."
    both = [*carried, place]
    if best_options(cable, options, None, room, must=both) is not None:
        return "With the others in one jacket the conductors would be too warm."
    if best_options(cable, options, None, len(cable.cores), must=both) is not None:
        return f"There is room for it only in the {len(cable.cores) - room} conductors that are to stay spare."
    return "No conductors are left that suit it: the other circuits need them."
