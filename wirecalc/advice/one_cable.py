"""One cable of several conductors for one run: does a pair do, do two side by side, or is wire of its own pulled.

Each is judged by `wirecalc.advice.size.advise`, with all that the cable then carries in one jacket.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from wirecalc.advice.held import FINE, TOO_THIN, State
from wirecalc.advice.job import Job
from wirecalc.advice.none_fits import advice_sentence
from wirecalc.advice.size import Advice, SizePick, advise
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass
from wirecalc.wire.cable_types import CableType
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.core_choice import sets_of
from wirecalc.wire.heat import MOST_LOADED

MOST_CIRCUITS = 24
SOUND = ("amplifier to speaker", "subwoofer", "line signal", "factory signal")
"""Kinds of run whose two ways stay in one twisted pair."""
TURN = 12.0  # length of one turn over a wire's diameter: common practice, no source
TWISTED = math.hypot(1.0, math.pi / TURN)
"""Length of a wire over that of the pair that it is twisted into: it winds round the middle at half its own diameter
either side, so a turn of `TURN` diameters takes that much of the diagonal of a turn and the way round."""

TWIST = (
    f"Two loose wires of one size, a turn every {TURN:g} diameters (common practice, no source): as quiet as a bought"
    f" pair, {100 * (TWISTED - 1):.0f} % longer than the way."
)


@dataclass(frozen=True, kw_only=True)
class Laying:
    """So many conductors of a cable side by side, each way, for every circuit."""

    parallel: int
    conductor: Conductor
    pick: SizePick | None
    """How one circuit stands when the cables carry all that is asked for; None where no gauge is judged."""
    job: Job
    """One circuit as `pick` was judged."""
    sets: int
    """Sets of conductors of this size for one circuit each: one conductor, or two for out and back."""
    takes: int
    """Most such circuits that one cable carries, all kept and none too warm. [0 or more]"""
    cables: int
    """How many of these cables all circuits take; 0 if not one circuit can be carried."""
    carries: int
    """Circuits in each of them, in the last one perhaps fewer."""
    used: tuple[tuple[str, ...], ...]
    """Conductors of each circuit of a full cable, out before back, by their colours."""
    spare: tuple[str, ...]
    """Conductors of each that nothing uses."""
    room: bool
    """Whether the cable has conductors for one such circuit."""
    price: float | None
    """Of all cables; None where it is not known."""

    @property
    def state(self) -> State | None:
        """The verdict on one circuit; None where no gauge is judged."""
        return None if self.pick is None else self.pick.state

    @property
    def does(self) -> bool:
        """Whether the circuit can be signed so, at least nearly."""
        return self.takes > 0


@dataclass(frozen=True, kw_only=True)
class OneCable:
    """What a cable on the shelf is worth for a run."""

    job: Job
    cable: CableType
    circuits: int
    """So many alike are to be laid."""
    single: Laying | None
    """One conductor each way; None where the cable has none that could be used."""
    double: Laying | None
    """Two side by side each way."""
    separate: Advice
    """What is pulled instead."""
    separate_price: float | None
    """Of all circuits in separate wire; None where it is not known."""

    @property
    def one_way(self) -> bool:
        """The run takes one conductor, and the body brings the current back."""
        return self.job.route.ways == 1

    @property
    def best(self) -> Laying | None:
        """The way that serves with fewest cables, fine before nearly fine, then with fewest conductors; or None."""
        able = [each for each in (self.single, self.double) if each is not None and each.does]
        return min(
            able, key=lambda laying: (laying.cables, laying.state not in (FINE, None), laying.parallel), default=None
        )

    @property
    def twist(self) -> bool:
        """Whether two loose wires, twisted by hand, are worth a thought: out and back, two circuits at most."""
        return not self.one_way and self.circuits <= 2

    @property
    def twisted_price(self) -> float | None:
        """The price of all circuits in wire that is twisted by hand; None where it is not known."""
        return None if self.separate_price is None else self.separate_price * TWISTED

    @cached_property
    def sentence(self) -> str:
        """The answer, in two or three sentences."""
        return self.words()

    def words(self, *, mark: Mark = plain) -> str:
        """The answer, in two or three sentences.

        Parameters
        ----------
        mark : wirecalc.mark.Mark
            What is done to each number; keys are those of `wirecalc.workings.one_cable.of_cable`.

        Returns
        -------
        str
        """
        needed = "conductor" if self.one_way else "pair"
        many = f"two {needed}s side by side"
        if self.single is None:
            lacks = "no twisted pair, which sound out and back needs" if not self.one_way else "no conductor"
            return f"This cable has {lacks}. {self._instead(mark)}"
        if self.single.pick is None:
            screen = "a screen" if self.cable.screened else "no screen: take screened cable for line level"
            return (
                f"No gauge is judged here: the cable’s screen and capacitance decide. It has {needed}s for"
                f" {takes_words(self.single, 'single', mark)} like this, and {screen}."
            )
        double = self.double
        reason = first_reason(self.single.pick, "single", mark)
        if self.single.does:
            near = "" if self.single.state == FINE else f", nearly: {reason}"
            text = f"One {needed} does{near}."
            if self.best is double:
                text += f" {many.capitalize()} are better."
            return f"{text} {self._all(self.best, mark)}"
        text = f"One {needed} does not: {reason}."
        if double is not None and double.does:
            return f"{text} {many.capitalize()} do. {self._all(double, mark)}"
        if double is not None and double.pick is not None and double.state == TOO_THIN:
            text = f"Not even {many} do: {first_reason(double.pick, 'double', mark)}."
        return f"{text} {self._instead(mark)}"

    def separate_words(self, mark: Mark = plain) -> str:
        """Of separate wire, what the decision says; `mark` as in `words`."""
        return advice_sentence(self.separate, mark=lambda text, key: mark(text, f"separate:{key}"))

    def _instead(self, mark: Mark, pull_it: str = "Pull") -> str:
        pull = self.separate.pull
        if pull is None:
            return self.separate_words(mark)
        return f"{pull_it} separate wire: {pull.label}."

    def _all(self, laying: Laying | None, mark: Mark) -> str:
        assert laying is not None
        name = "double" if laying is self.double else "single"
        takes = f"One cable takes {takes_words(laying, name, mark)} like this"
        if laying.cables > 1:
            cables = mark(str(laying.cables), f"{name}:cables")
            return f"{takes}, so {self.circuits} take {cables} cables. {self._instead(mark, 'Or pull')}"
        spare = ", ".join(laying.spare)
        stays = "nothing is left for later" if not spare else f"{spare} stay{'s' * (len(laying.spare) == 1)} spare"
        text = f"{takes}; with {_circuits(self.circuits)} in it {stays}."
        return text if self.single is not None and self.single.does else f"{text} {self._instead(mark, 'Or pull')}"


def _circuits(count: int) -> str:
    return f"{count} circuit" if count == 1 else f"{count} circuits"


def takes_words(laying: Laying, name: str, mark: Mark = plain) -> str:
    """How many circuits one cable takes, in words: "2 circuits".

    Parameters
    ----------
    laying : Laying
    name : str
        "single" or "double", for the key of its number.
    mark : wirecalc.mark.Mark
        What is done to the number.

    Returns
    -------
    str
    """
    count, _, rest = _circuits(laying.takes).partition(" ")
    return f"{mark(count, f'{name}:takes')} {rest}"


def first_reason(pick: SizePick, name: str, mark: Mark = plain) -> str:
    """Why a way is not fine, without a full stop; empty if it is.

    Parameters
    ----------
    pick : SizePick
    name : str
        "single" or "double", for the keys of its numbers.
    mark : wirecalc.mark.Mark
        What is done to each number.

    Returns
    -------
    str
    """
    return pick.first_reason(mark=lambda text, key: mark(text, f"{name}:{key}")).rstrip(".")


def one_cable(
    job: Job,
    cable: CableType,
    circuits: int = 1,
    *,
    cable_price: float | None = None,
    wire_price: float | None = None,
) -> OneCable:
    """Judge a cable for a run, and so many circuits like it.

    Parameters
    ----------
    job : Job
        The run as it would be pulled in separate wire; its way, places and limits hold for the cable too.
    cable : CableType
    circuits : int
        So many alike. [1 to 24]
    cable_price : float, optional
        Of one metre of the cable, in any currency.
    wire_price : float, optional
        Of one metre of one separate conductor.

    Returns
    -------
    OneCable

    Raises
    ------
    InputError
        If a value is out of range.
    """
    check("Such circuits", circuits, "", low=1, high=MOST_CIRCUITS)
    single, double = (_laid(job, cable, circuits, parallel, cable_price) for parallel in (1, 2))
    separate = advise(replace(job, asked=None, route=job.route.side_by_side(1)))
    price = None
    if wire_price is not None and separate.pull is not None:
        conductors = separate.pull.candidate.parallel * job.route.ways * circuits
        price = wire_price * conductors * job.route.length_m
    return OneCable(
        job=job, cable=cable, circuits=circuits, single=single, double=double, separate=separate, separate_price=price
    )


def laid_job(job: Job, cable: CableType, conductor: Conductor, parallel: int, count: int) -> Job:
    """One circuit in a cable that carries so many like it.

    Parameters
    ----------
    job : Job
        In separate wire.
    cable : CableType
    conductor : Conductor
        Of the cable.
    parallel : int
        So many side by side, each way.
    count : int
        Circuits in the cable, all loaded.

    Returns
    -------
    Job
        Whose one size to choose from is `conductor`.
    """
    loaded = min(count * job.route.ways * parallel, MOST_LOADED)
    stretches = tuple(replace(each, loaded=max(each.loaded or 0, loaded)) for each in job.route.stretches)
    route = replace(job.route, insulation=cable.insulation, parallel=parallel, stretches=stretches)
    return replace(job, asked=conductor, stock=(conductor,), route=route, sheathed=True)


def _laid(job: Job, cable: CableType, circuits: int, parallel: int, price: float | None) -> Laying | None:
    """With the conductor of the cable that carries most; None if the cable has none."""
    by_conductor = _sets(cable, job.route.ways, job.run.kind in SOUND)
    layings = [
        _with(job, cable, circuits, parallel, conductor, sets, price) for conductor, sets in by_conductor.items()
    ]
    return max(layings, key=lambda laying: (laying.takes, laying.room, laying.conductor.area_m2), default=None)


def _sets(cable: CableType, ways: int, sound: bool) -> dict[Conductor, list[Sequence[str]]]:
    """Sets of conductors that one circuit could have, by their size: conductors one by one, or two for out and back.

    Sound goes out and back in one twisted pair; a supply does in any two of a size.
    """
    by_conductor: dict[Conductor, list[Sequence[str]]] = {}
    for conductor, _, cores in sets_of(cable, "pair" if ways == 2 else "single", 1):
        by_conductor.setdefault(conductor, []).append([cable.cores[at].name for _, at in cores])
    if ways == 2 and not sound:
        loose: dict[Conductor, list[str]] = {}
        for core in cable.cores:
            if not core.pair:
                loose.setdefault(core.conductor, []).append(core.name)
        for conductor, names in loose.items():
            by_conductor.setdefault(conductor, []).extend(names[at : at + 2] for at in range(0, len(names) - 1, 2))
    return {conductor: sets for conductor, sets in by_conductor.items() if sets}


def _with(
    job: Job, cable: CableType, circuits: int, parallel: int, conductor: Conductor, sets: Sequence[Sequence[str]],
    price: float | None,
) -> Laying:  # fmt: skip
    room = len(sets) // parallel

    def judged(count: int) -> SizePick | None:
        return advise(laid_job(job, cable, conductor, parallel, count)).asked

    takes = room
    together = max(min(circuits, room), 1)
    pick = judged(together)
    if pick is not None:
        does = {min(circuits, room): pick.state not in (TOO_THIN,)}
        low, high = 0, room  # more in one jacket is never cooler: halve the range
        while low < high:
            middle = (low + high + 1) // 2
            if middle not in does:
                middle_standing = judged(middle)
                does[middle] = middle_standing is not None and middle_standing.state != TOO_THIN
            low, high = (middle, high) if does[middle] else (low, middle - 1)
        takes = low
        if 0 < takes < min(circuits, room):
            together = takes
            pick = judged(takes)
    carries = min(circuits, takes)
    taken = [sets[at * parallel : (at + 1) * parallel] for at in range(carries)]
    each = tuple(tuple(name for some in own for name in some) for own in taken)
    used = {name for some in each for name in some}
    cables = math.ceil(circuits / takes) if takes else 0
    return Laying(
        parallel=parallel, conductor=conductor, pick=pick, job=laid_job(job, cable, conductor, parallel, together),
        sets=len(sets), takes=takes, cables=cables, carries=carries, room=room > 0,
        used=each, spare=tuple(core.name for core in cable.cores if core.name not in used),
        price=None if price is None or not cables else price * cables * job.route.length_m,
    )  # fmt: skip
