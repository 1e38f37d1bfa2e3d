"""Sizes for the supply wires of a vehicle that are left to choose: the least cost with which every circuit keeps its
limits.

The objective: the least cost of all open wires, in money where every size has a price, else in metal, over all sizes
and fuses with which the solved network keeps every limit and every wire stands the fuses before it. Of fuses that cost
the same, `wirecalc.vehicle.fuse.place` says which.

They share their drops, so they are chosen together. No wire may be thinner than its heat, its fuse, the feed that it
returns and the house rules allow. Around a choice, drops follow resistances nearly as straight lines, so the cheapest
choice is a small integer program (`wirecalc.vehicle.search.cheapest`); the network is solved anew with what it gives,
and the program is made anew from there, until nothing changes. Then what the lines, with a margin, hold for possible
and cheaper is solved, the cheapest first, for a number of times. Last, each wire goes as thin as the solved network
allows. Fuses are chosen in turn with the sizes, and those before others are tried one rating larger, which drops less.
So limits are always held by the solved network, while the least cost may be missed by a little:
`tests/wirecalc/vehicle/test_joint_choice.py` compares with every size and fuse of small plans.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from wirecalc.advice.held import LITTLE
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.fuse import FuseTree, place
from wirecalc.vehicle.limits import RETURN_SHARE, next_rating
from wirecalc.vehicle.search.cheapest import cheapest
from wirecalc.vehicle.search.task import (
    Fuses,
    Link,
    OpenWire,
    Row,
    Task,
    VoltageBound,
    bounds_of,
    smallest_ratings,
    solved_supply,
)
from wirecalc.vehicle.supply import Supply

Array = NDArray[np.float64]
MOST_ROUNDS, MOST_REPEATS, MOST_TRIED, MANY_ROUNDS = 8, 3, 6, 3
FEW = 40  # open wires; with more, programs are rounded and fewer are made, for they take long
MOST_RAISED = 8  # fuses that are tried one rating larger
SPARE_V = 0.003  # what a straight line may be wrong by; drops are held to some 0.4 V
LINES_MISS = 1.1  # drops grow faster than a straight line: by less than this for one wire of few
MOST_MM2 = 2e3  # more metal than any wire and all in parallel have
Progress = Callable[[float, str], None]


@dataclass(frozen=True, kw_only=True, eq=False)
class Round:
    """Sizes are chosen for these fuses, under these rules."""

    task: Task
    fuses_a: Fuses
    thickest: Supply
    """All open wires at their thickest."""
    rules: tuple[VoltageBound, ...]
    _known: dict[Row, Supply] = field(default_factory=dict, init=False, repr=False)

    @property
    def hopeless(self) -> bool:
        """Not even the thickest wires give an operating point."""
        return any(answer.problem for answer in self.thickest.answers)

    def solved(self, row: Sequence[int]) -> Supply:
        """The network with a choice, solved once."""
        key = tuple(row)
        if key not in self._known:
            self._known[key] = self.thickest if key == self.task.top else solved_supply(self.task, key, self.fuses_a)
        return self._known[key]

    def broken(self, supply: Supply) -> tuple[VoltageBound, ...]:
        """The rules that are not kept."""
        return tuple(rule for rule in self.rules if not rule.holds(supply))

    def least(self, supply: Supply) -> Row:
        """The thinnest that heat and fuses allow, see `Task.least_places`."""
        return self.task.least_places(supply, {**self.task.smallest_fuses(self.thickest), **self.fuses_a})


@dataclass(frozen=True, kw_only=True, eq=False)
class Found:
    """A choice of sizes, and the fuses that go with it."""

    row: Row
    least: Row
    """The thinnest that heat, fuses and house rules allow."""
    fuses_a: Fuses
    """Of each conductor, by the wire's name. [A]"""
    why: Mapping[int, tuple[str, ...]]
    """What breaks with the next thinner size, by place among the open wires."""
    cost: float
    """inf where a rule is not kept."""
    hopeless: bool
    solved: int
    """How many times the network was solved."""

    @property
    def kept(self) -> bool:
        """Whether every rule is kept as the shelf can keep it."""
        return bool(np.isfinite(self.cost))


@takes_units
def round_of(task: Task, fuses_a: Fuses) -> Round:
    """The rules that sizes are chosen under with these fuses, and the network at its thickest.

    Parameters
    ----------
    task : Task
    fuses_a : mapping of str to float
        Rating of the fuse of each conductor, by the wire's name. [A]

    Returns
    -------
    Round
        Without rules where not even the thickest wires give an operating point.

    Raises
    ------
    InputError
        If a terminal has no path to a battery.
    """
    thickest = solved_supply(task, task.top, fuses_a)
    bare = Round(task=task, fuses_a=fuses_a, thickest=thickest, rules=())
    return bare if bare.hopeless else replace(bare, rules=bounds_of(task, thickest))


def search(task: Task, tell: Progress) -> Found:
    """Sizes and fuses for the open wires; all at their thickest where not even that gives an operating point.

    Sizes and fuses are chosen in turn, as larger fuses have less resistance and ask for thicker wires; then fuses
    before others are tried one rating larger.

    Parameters
    ----------
    task : Task
    tell : callable
        Is told the share that is done and what is being done; what it raises ends the work.

    Returns
    -------
    Found
        The cheapest of the turns that keep every rule.
    """
    bare = solved_supply(task, task.top, {})
    task = task.warmed(bare)
    current = round_of(task, task.smallest_fuses(bare))
    count, kept, rounds = 2, list[Found](), list[Round]()
    for number in range(MOST_REPEATS):
        share = 0.1 + 0.8 * number / MOST_REPEATS
        row, least, why, used = _sizes(current, partial(tell, share))
        smallest_a = {wire.name: rating for wire, rating in smallest_ratings(current.solved(row)).items()}
        placed = place(task.wiring, smallest_a, task.allowed_a(row))
        task = task.warmed(solved_supply(task, row, placed))
        after = round_of(task, placed)
        count += used + 3
        kept.append(_held(after, row, least, why, count))
        rounds.append(after)
        if after.hopeless or not task.open or dict(current.fuses_a) == dict(placed):
            break
        current = after
    at = int(np.argmin([each.cost for each in kept]))
    best = kept[at]
    if best.kept and task.open:
        best, used = _with_larger_fuses(rounds[at], best, partial(tell, 0.9))
        count += used
    return replace(best, solved=count)


def _held(after: Round, row: Row, least: Row, why: Mapping[int, tuple[str, ...]], count: int) -> Found:
    """A choice with the fuses of a round; its cost is inf where it does not stand with them."""
    asked = after.least(after.thickest)
    holds = not after.hopeless and not after.broken(after.solved(row)) and all(np.array(row) >= np.array(asked))
    return Found(row=row, least=least, fuses_a=after.fuses_a, why=why, hopeless=after.hopeless, solved=count,
                 cost=after.task.cost(row) if holds else np.inf)  # fmt: skip


def _with_larger_fuses(current: Round, best: Found, tell: Callable[[str], None]) -> tuple[Found, int]:
    """The same with a larger fuse before others where its lower resistance lets a wire be so much thinner.

    A fuse is tried where the straight lines promise less cost; how often the network was solved comes with it.
    """
    task, count = current.task, 0
    above = dict.fromkeys(name for wire in task.wiring.wires if wire.name in best.fuses_a
                          for name in FuseTree(task.wiring, best.fuses_a).fuses_above(wire))  # fmt: skip
    for name in list(above)[:MOST_RAISED]:
        wire = task.vehicle.wire(name)
        rating = next_rating(task.vehicle, wire, best.fuses_a[name] * (1 + 1e-9))
        if wire.fuse != CHOOSE or not np.isfinite(rating):
            continue
        fuses = {**best.fuses_a, name: rating}
        around = replace(current, fuses_a=fuses)
        supply = solved_supply(task, best.row, fuses)
        count += 1
        line = program(around, around.least(supply), best.row, supply)
        if line is None or task.cost(line) >= best.cost * (1 - 1e-9):
            continue
        larger = round_of(task, fuses)
        row, least, why, used = _sizes(larger, tell)
        count += used + 3
        tried = _held(larger, row, least, why, count)
        best = min(best, tried, key=lambda each: each.cost)
    return best, count


def _sizes(current: Round, tell: Callable[[str], None]) -> tuple[Row, Row, Mapping[int, tuple[str, ...]], int]:
    """The choice for these fuses, the thinnest that was allowed, why not thinner, and how often it was solved."""
    task = current.task
    if current.hopeless or not task.open:
        return task.top, task.top, {}, 0
    least, count = current.least(current.thickest), 0
    row: Row = task.top
    why: Mapping[int, tuple[str, ...]] = {}
    for _ in range(MOST_REPEATS):
        row, why, used = _cheapest(current, least, tell)
        # thinner wires change the currents a little, and with them what heat and fuses ask
        asked = current.least(current.solved(row))
        count += used + 1
        if all(at >= low for at, low in zip(row, asked, strict=True)):
            break
        least = tuple(max(pair) for pair in zip(least, asked, strict=True))
    return row, least, why, count


def _cheapest(
    current: Round, least: Row, tell: Callable[[str], None]
) -> tuple[Row, Mapping[int, tuple[str, ...]], int]:
    """The best that is no thinner than `least`."""
    task = current.task
    few = len(task.open) <= FEW
    tell("choosing sizes for the shared feeds")
    row, supply, best, count = task.top, current.thickest, task.top, 0
    seen = set[Row]()
    while row not in seen and len(seen) < (MOST_ROUNDS if few else MANY_ROUNDS):
        seen.add(row)
        row = program(current, least, row, supply) or row
        supply = current.solved(row)
        count += 1
        if task.cost(row) < task.cost(best) and not current.broken(supply):
            best = row
    # all that is cheaper by the straight lines and a margin, the cheapest first, until one holds or none is left
    cuts: tuple[Row, ...] = ()
    supply = current.solved(best)
    while len(cuts) < MOST_TRIED and few:
        tell("looking for a cheaper choice")
        tried = program(current, least, best, supply, SPARE_V, cuts)
        if tried is None or task.cost(tried) >= task.cost(best) * (1 - 1e-9):
            break
        new = current.solved(tried)
        count += 1
        if current.broken(new):
            cuts = (*cuts, tried)
        else:
            best, supply = tried, new
    best, why, used = thinned(current, least, best)
    return best, why, count + used + 1


@takes_units
def program(
    current: Round, least: Row, row: Row, supply: Supply, spare_v: float = 0.0, cuts: Sequence[Row] = ()
) -> Row | None:
    """The cheapest choice if drops grow from here as straight lines; None if there is none.

    Parameters
    ----------
    current : Round
    least : tuple of int
        No wire goes thinner.
    row, supply : tuple of int, Supply
        A choice and the network with it.
    spare_v : float
        What each sum may be over its bound. [V]
    cuts : sequence of tuple of int
        Choices that are known to fail.

    Returns
    -------
    tuple of int or None
    """
    task = current.task
    if any(answer.problem for answer in supply.answers):
        return None
    factors, room, rows = slopes(current, row, supply)
    states = np.array([state for state, _ in rows], np.intp)
    places = [np.arange(low, top + 1) for low, top in zip(least, task.top, strict=True)]
    growths = [
        factors[:, [column]] * (open_wire.way_ohm[:, each] - open_wire.way_ohm[:, [at]])[states]
        for column, (open_wire, each, at) in enumerate(zip(task.open, places, row, strict=True))
    ]
    links = [link for link in task.links if link.feed is not None]  # the others are in `least`
    for column, (open_wire, each) in enumerate(zip(task.open, places, strict=True)):
        growths[column] = np.concatenate((growths[column], _metal(open_wire, each, column, links)))
    chosen = cheapest(
        [open_wire.worth[each] for open_wire, each in zip(task.open, places, strict=True)],
        growths,
        np.concatenate((room + spare_v, np.zeros(len(links)))),
        [tuple(at - low for at, low in zip(cut, least, strict=True)) for cut in cuts],
        rounded=len(task.open) > FEW,
    )
    if chosen is None:
        return None
    return task.lifted([int(at) + low for at, low in zip(chosen, least, strict=True)])


def _metal(open_wire: OpenWire, each: NDArray[np.intp], column: int, links: Sequence[Link]) -> Array:
    """What a wire's options add to the metal that each feed has over its return, (links, options). [mm^2]"""
    added_mm2 = np.zeros((len(links), len(each)))
    for number, link in enumerate(links):
        if link.feed == column:
            added_mm2[number] = RETURN_SHARE * open_wire.metal_mm2[each] * (1 - 1e-9)
        elif link.back == column:
            added_mm2[number] = -open_wire.metal_mm2[each]
            added_mm2[number, each == len(open_wire.worth) - 1] = -MOST_MM2  # the thickest there is has to do
    return added_mm2


def slopes(current: Round, row: Row, supply: Supply) -> tuple[Array, Array, list[tuple[int, VoltageBound]]]:
    """How each rule's sum grows with each open wire's resistance around a choice.

    Parameters
    ----------
    current : Round
    row, supply : tuple of int, Supply
        A choice and the network with it, which has an operating point in every state.

    Returns
    -------
    (r, w) array, (r,) array, list of r (int, Rule)
        Growth [V per ohm], how much each sum may grow [V], and every rule with every state that it asks. Loads
        draw more or less with their voltage as they do here.
    """
    task, wiring, ohm = current.task, current.task.wiring, current.task.ohms(row, current.fuses_a)
    numbers = np.array([open_wire.place for open_wire in task.open])
    backs = wiring.back[numbers]
    factors, room, rows = [], list[float](), list[tuple[int, VoltageBound]]()
    values = {rule: rule.value(supply) for rule in current.rules}
    for state, answer in enumerate(supply.answers):
        net, solution = answer.network, answer.solution
        assert solution is not None
        held_v = np.maximum(solution.load_v, net.floor_v)
        falls = np.where(solution.load_v < net.floor_v, 1.0, -1.0)
        plus = np.concatenate((net.start, net.source_plus, net.load_plus))
        minus = np.concatenate((net.end, net.source_minus, net.load_minus))
        siemens = np.concatenate((1 / ohm[state], 1 / net.source_ohm, net.siemens + falls * net.power_w / held_v**2))
        ends = coo_array(
            (np.repeat([1.0, -1.0], len(plus)), (np.tile(np.arange(len(plus)), 2), np.concatenate((plus, minus)))),
            shape=(len(plus), net.nodes),
        ).tocsc()[:, 1:]
        rules = [rule for rule in current.rules if rule.states[state]]
        asked = np.zeros((net.nodes, len(rules)))
        for column, rule in enumerate(rules):
            for node, factor in rule.nodes:
                asked[wiring.nodes[node], column] += factor
        responses = np.zeros_like(asked)
        responses[1:] = splu(csc_array(ends.T @ (ends * siemens[:, np.newaxis]))).solve(asked[1:])
        # one more ohm in a branch is a voltage of its current in series with it
        through = (responses[net.start] - responses[net.end]) * (solution.branch_a / ohm[state])[:, np.newaxis]
        factors.append((through[numbers] + np.where(backs[:, np.newaxis] >= 0, through[backs], 0.0)).T)
        room += [rule.bound - float(values[rule][state]) for rule in rules]
        rows += [(state, rule) for rule in rules]
    return np.concatenate(factors), np.array(room), rows


def thinned(current: Round, least: Row, row: Row) -> tuple[Row, Mapping[int, tuple[str, ...]], int]:
    """Each open wire in turn made as thin as the solved network allows, size by size, the dearest first.

    A size is not even solved where the drops, taken as straight lines of the resistances, break a limit by more than
    `SPARE_V`.

    Parameters
    ----------
    current : Round
        Gives the rules and the fuses.
    least : tuple of int
        The thinnest place that each open wire may have.
    row : tuple of int
        The choice to start from: a place among the options of each open wire.

    Returns
    -------
    tuple of int
        The choice.
    mapping of int to tuple of str
        What breaks with the next thinner size, by place among the open wires.
    int
        How often the network was solved.
    """
    task = current.task
    order = sorted(range(len(task.open)), key=lambda at: -float(task.open[at].worth[-1]))
    why: dict[int, tuple[str, ...]] = {}
    factors, room, asked = slopes(current, row, current.solved(row))
    count, moved = 1, True
    while moved:  # again, as a return may follow the feed that went thinner after it
        moved = False
        for at in order:
            while row[at] > least[at]:
                thinner = (*row[:at], row[at] - 1, *row[at + 1 :])
                if not task.linked(thinner):
                    why[at] = ("the feed that it returns, which is as thick",)
                    break
                more_ohm = task.open[at].way_ohm[:, row[at] - 1] - task.open[at].way_ohm[:, row[at]]
                grows_v = factors[:, at] * more_ohm[[state for state, _ in asked]] - room
                broken = tuple(rule for (_, rule), by in zip(asked, grows_v, strict=True) if by > SPARE_V)
                supply = None
                if not broken:
                    supply = current.solved(thinner)
                    count, broken = count + 1, current.broken(supply)
                if broken or supply is None or task.cost(thinner) >= task.cost(row):
                    near = all(by <= LITTLE * rule.allowed_v or by <= SPARE_V
                               for (_, rule), by in zip(asked, grows_v, strict=True))  # fmt: skip
                    count += near and supply is None
                    why[at] = _said(broken, current.solved(thinner) if near else None)
                    break
                row, moved = thinner, True
                factors, room, asked = slopes(current, row, supply)
    return row, why, count


def _said(broken: Sequence[VoltageBound], supply: Supply | None) -> tuple[str, ...]:
    """What breaks, each once; by how much where it is a limit of taste that a solved network misses by little."""
    words = []
    for rule in dict.fromkeys(broken):
        missed = np.inf if supply is None or any(each.problem for each in supply.answers) else rule.missed_by(supply)
        by = f" (which it misses by {max(100 * missed, 0.1):.2g} %)" if 0 < missed <= LITTLE else ""
        words.append(f"{rule}{by}")
    return tuple(words)


def least_alone(current: Round, row: Row) -> Row:
    """The thinnest of each wire with which every limit is kept while the others stay as they are.

    Parameters
    ----------
    current : Round
        With all sizes as options and no house rule on the least.
    row : tuple of int
        A choice that keeps every limit.

    Returns
    -------
    tuple of int
        By the straight lines of `slopes` with a margin, so that no network is solved.
    """
    if current.hopeless or not current.task.open:
        return row
    task, supply = current.task, current.solved(row)
    if any(answer.problem for answer in supply.answers):
        return row
    low = task.least_places(supply, current.fuses_a)
    factors, room, asked = slopes(current, row, supply)
    states = [state for state, _ in asked]
    least = list(row)
    for at, open_wire in enumerate(task.open):
        while least[at] > low[at]:
            thinner = (*row[:at], least[at] - 1, *row[at + 1 :])
            more_ohm = open_wire.way_ohm[:, least[at] - 1] - open_wire.way_ohm[:, row[at]]
            grows_v = LINES_MISS * factors[:, at] * more_ohm[states]
            if np.any(grows_v > np.maximum(room, 0.0) + 1e-9) or not task.linked(thinner):
                break
            least[at] -= 1
    return tuple(least)
