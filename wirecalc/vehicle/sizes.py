"""Sizes for the supply wires of a vehicle that are left to choose: the least cost with which every circuit keeps its
limits.

They share their drops, so they are chosen together. No wire may be thinner than its heat and its fuse allow. Around a
choice, drops follow resistances nearly as straight lines, so the cheapest choice is a small integer program
(`vehicle.cheapest`); the network is solved anew with what it gives, and the program is made anew from there, until
nothing changes. Then what the lines, with a margin, hold for possible and cheaper is solved, the cheapest first, for a
number of times. Last, each wire goes as thin as the solved network allows. So limits are always held by the solved
network, while the least cost may be missed by a little; tests compare with all combinations of small plans.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from wirecalc.vehicle.cheapest import cheapest
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.fuse import FuseTree, feeds, place
from wirecalc.vehicle.model import Vehicle, Wire
from wirecalc.vehicle.network import FUSE_DROP_V, Node, Wiring, wire_way_ohm
from wirecalc.vehicle.plan import limits_of, place_of, pull_in_v
from wirecalc.vehicle.stock import Size, Stock
from wirecalc.vehicle.supply import FULL, MUSIC, Supply, from_output, supplied
from wirecalc.wire import ampacity
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.fuse import LOADING, RATINGS_A
from wirecalc.wire.insulation import insulated

Array = NDArray[np.float64]
OUT_OF_REACH = 0.05  # a circuit that no size can save may lose this much more than the least that is possible
MOST_ROUNDS, MOST_REPEATS, MOST_TRIED, MANY_ROUNDS = 8, 3, 6, 3
FEW = 40  # open wires; with more, programs are rounded and fewer are made, for they take long
SPARE_V = 0.003  # what a straight line may be wrong by; drops are held to some 0.4 V
Progress = Callable[[float, str], None]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Rule:
    """A limit as a sum of node voltages that may not be over a bound in some states."""

    wire: Wire
    name: str
    nodes: tuple[tuple[Node, float], ...]
    bound: float
    kept: bool
    """False where no size on the shelf keeps the limit itself."""
    states: NDArray[np.bool_]

    def __str__(self) -> str:
        return (
            f"{self.name} of “{self.wire.name}”{'' if self.kept else ', which no size on the shelf brings low enough'}"
        )


class Search:
    """The wires that are left to choose, and a row of places in each one's options as a choice."""

    def __init__(self, vehicle: Vehicle, stock: Stock, tell: Progress) -> None:
        self.vehicle, self.tell = vehicle, tell
        self.wiring = wiring = Wiring(vehicle)
        self.open = [wire for wire in wiring.wires if wire.size == CHOOSE]
        self.options = [stock.options(wire) for wire in self.open]
        self.top = tuple(len(sizes) - 1 for sizes, _, _ in self.options)
        self.worth = [
            per_m * wire.length_m * vehicle.ways(wire) * wire.parallel
            for wire, (_, _, per_m) in zip(self.open, self.options, strict=True)
        ]
        self.way_ohm = [
            np.array([wire_way_ohm(wire, one, vehicle.ways(wire)) for one in conductors])
            for wire, (_, conductors, _) in zip(self.open, self.options, strict=True)
        ]
        thickest = {wire.name: one[1][-1] for wire, one in zip(self.open, self.options, strict=True)}
        self.allowed = [
            self._allowable(wire, conductors) for wire, (_, conductors, _) in zip(self.open, self.options, strict=True)
        ]
        self.fixed_a = {
            wire.name: float(self._allowable(wire, [wire.conductor(wire.size)]).current_a[0])
            for wire in wiring.wires
            if not isinstance(wire.size, str)
        }
        self.ohm = wiring.ohms(
            [thickest[wire.name] if isinstance(wire.size, str) else wire.conductor(wire.size) for wire in wiring.wires],
            {},
        )
        self.fuse_ohm = np.zeros(len(wiring.wires))
        self.solved = 0
        self.smallest_a = self._smallest_fuses(self.solve(self.top).draw_a)
        self._take(self.smallest_a)
        self.best = self.least = self.top
        self.why: dict[int, list[str]] = {}
        self.fuses_a: dict[str, float] = {}
        """Placed and sized for `best`."""
        self.rules: tuple[_Rule, ...] = ()

    def _allowable(self, wire: Wire, conductors: Sequence[Conductor]) -> ampacity.Allowable:
        where = place_of(self.vehicle, wire)
        return ampacity.allowable(insulated(conductors, where.insulation), where.ambient_c, where.loaded)

    def _take(self, fuses_a: dict[str, float]) -> None:
        """Go on with these fuses."""
        self._fuses_a = fuses_a
        self.fuse_ohm = np.array(
            [FUSE_DROP_V / fuses_a.get(wire.name, np.inf) / wire.parallel for wire in self.wiring.wires]
        )
        self.thickest = self.solve(self.top)
        self.hopeless = any(answer.problem for answer in self.thickest.answers)

    def _smallest_fuses(self, draw_a: Array) -> dict[str, float]:
        """Those that are given, and for the others the smallest that carries the draw."""
        fuses = {wire.name: wire.fuse for wire in self.wiring.wires if not isinstance(wire.fuse, str)}
        for wire in feeds(self.wiring):
            needed = draw_a[self.wiring.places[wire.name]] / wire.parallel / LOADING
            if wire.fuse == CHOOSE and needed <= RATINGS_A[-1]:
                fuses[wire.name] = float(_first_rating(needed))
        return fuses

    def run(self) -> None:
        """Find `best` and `fuses_a`; all stay at their thickest where not even that gives an operating point.

        Sizes and fuses in turn, as larger fuses have less resistance and ask for thicker wires.
        """
        kept: list[tuple[float, tuple[int, ...], dict[str, float], dict[int, list[str]]]] = []
        for number in range(MOST_REPEATS):
            self._sizes_for_these_fuses(number / MOST_REPEATS)
            self.fuses_a = self._fuses()
            before = self._fuses_a
            self._take(self.fuses_a)
            asked = self._least_places(self.thickest)
            holds = not self._over(self.solve(self.best)) and all(np.array(self.best) >= np.array(asked))
            kept.append((self.cost(self.best) if holds else np.inf, self.best, self.fuses_a, self.why))
            if self.hopeless or not self.open or self.fuses_a == before:
                break
        _, self.best, self.fuses_a, self.why = min(kept, key=lambda each: each[0])
        self._take(self.fuses_a)

    def _sizes_for_these_fuses(self, share: float) -> None:
        if self.hopeless or not self.open:
            return
        self.rules = self._rules(self.thickest)
        self.least = self._least_places(self.thickest)
        for _ in range(MOST_REPEATS):
            self._cheapest(share)
            # thinner wires change the currents a little, and with them what heat and fuses ask
            asked = self._least_places(self.solve(self.best))
            if all(at >= low for at, low in zip(self.best, asked, strict=True)):
                break
            self.least = tuple(max(pair) for pair in zip(self.least, asked, strict=True))

    def _cheapest(self, share: float) -> None:
        """The best with `least` as it is."""
        self.tell(0.1 + 0.8 * share, "choosing sizes for the shared feeds")
        row, found, seen = self.top, self.thickest, set[tuple[int, ...]]()
        self.best = self.top
        while row not in seen and len(seen) < (MOST_ROUNDS if len(self.open) <= FEW else MANY_ROUNDS):
            seen.add(row)
            row = self._program(row, found) or row
            found = self.solve(row)
            if self.cost(row) < self.cost(self.best) and not self._over(found):
                self.best = row
        # all that is cheaper by the straight lines and a margin, the cheapest first, until one holds or none is left
        cuts: list[tuple[int, ...]] = []
        found = self.solve(self.best)
        while len(cuts) < MOST_TRIED and len(self.open) <= FEW:
            self.tell(0.1 + 0.8 * share, "looking for a cheaper choice")
            tried = self._program(self.best, found, SPARE_V, cuts)
            if tried is None or self.cost(tried) >= self.cost(self.best) * (1 - 1e-9):
                break
            new = self.solve(tried)
            if self._over(new):
                cuts.append(tried)
            else:
                self.best, found = tried, new
        by_worth = sorted(range(len(self.open)), key=lambda at: -float(self.worth[at][self.top[at]]))
        self.best = self._thinned(self.best, by_worth)

    def _rules(self, found: Supply) -> tuple[_Rule, ...]:
        """The limits of all that draws; those that cannot be kept give way to near the best that is possible."""
        posts: Node = (self.wiring.battery.name, "plus")
        rules = []
        for wire in self.wiring.wires:
            kind = self.vehicle.circuit(wire)
            if kind in ("shared feed", "ground"):
                continue
            here = ((self.wiring.ends(wire)[1], -1.0), (self.wiring.minus(wire.end), 1.0))
            sums: list[tuple[str, tuple[tuple[Node, float], ...], float, NDArray[np.bool_]]] = []
            for limit in limits_of(self.vehicle, wire, {}):
                bound = limit.bound
                if limit.measure == "drop_v" and not isinstance(bound, str):
                    if kind == "remote":
                        sums.append((limit.name, self._lead(wire), bound, MUSIC))
                    else:
                        sums.append((limit.name, ((posts, 1.0), *here), bound, FULL))
                elif limit.measure == "drop_fraction" and not isinstance(bound, str):
                    sums.append((limit.name, ((posts, 1.0 - bound), *here), 0.0, MUSIC))
            if kind == "relay":
                sums.append(("pull-in when hot", here, -pull_in_v(self.vehicle.device(wire.end)), MUSIC | FULL))
            lost_v = float((found.posts_v - found.end_v(wire)).max())
            for name, nodes, bound, states in sums:
                least = float(self._value(found, nodes)[states].max())
                kept = least <= bound
                bound = bound if kept else least + OUT_OF_REACH * lost_v
                rules.append(_Rule(wire=wire, name=name, nodes=nodes, bound=bound, kept=kept, states=states))
        return tuple(rules)

    def _lead(self, wire: Wire) -> tuple[tuple[Node, float], ...]:
        """The drop of turn-on leads from the output on, as a sum of node voltages."""
        _, leads = from_output(self.wiring, wire)
        ends: list[tuple[Node, float]] = []
        for at in leads:
            one = self.wiring.wires[at]
            start, end = self.wiring.ends(one)
            ends += [(start, 1.0), (end, -1.0)]
            if self.vehicle.ways(one) == 2:
                ends += [(self.wiring.minus(one.end), 1.0), (self.wiring.minus(one.start), -1.0)]
        return tuple(ends)

    def _value(self, found: Supply, nodes: Sequence[tuple[Node, float]]) -> Array:
        return np.asarray(sum(factor * found.node_v[:, self.wiring.nodes[node]] for node, factor in nodes))

    def _over(self, found: Supply) -> list[_Rule]:
        """The rules that are not kept."""
        return [
            rule
            for rule in self.rules
            if not float(self._value(found, rule.nodes)[rule.states].max()) <= rule.bound + 1e-9
        ]

    def _least_places(self, found: Supply) -> tuple[int, ...]:
        """The thinnest that heat and fuses allow; the thickest where none does."""
        protection = FuseTree(self.wiring, {**self.smallest_a, **self._fuses_a})
        fed = set(feeds(self.wiring))
        least = []
        for wire, allowed in zip(self.open, self.allowed, strict=True):
            at = self.wiring.places[wire.name]
            needs_a = np.nan_to_num(protection.before_a(wire) if wire in fed else protection.return_a(wire), posinf=0.0)
            if wire in fed:
                needs_a = max(needs_a, _first_rating(found.draw_a[at] / wire.parallel / LOADING))
            good = (allowed.current_a >= needs_a) & (allowed.balance_a >= found.heat_a[at] / wire.parallel)
            least.append(int(np.argmax(good)) if good.any() else len(good) - 1)
        return tuple(least)

    def cost(self, row: Sequence[int]) -> float:
        """Of one choice."""
        return float(sum(cost[place] for cost, place in zip(self.worth, row, strict=True)))

    def solve(self, row: Sequence[int]) -> Supply:
        """The network with these sizes."""
        self.solved += 1
        return supplied(self.wiring, self._ohms(row))

    def _ohms(self, row: Sequence[int]) -> Array:
        ohm = self.ohm.copy()
        for wire, ways, at in zip(self.open, self.way_ohm, row, strict=True):
            number = self.wiring.places[wire.name]
            ohm[number] = ways[at]
            if self.wiring.back[number] >= 0:
                ohm[self.wiring.back[number]] = ways[at]
        ohm[: len(self.wiring.wires)] += self.fuse_ohm
        return ohm

    def _program(
        self, row: tuple[int, ...], found: Supply, spare_v: float = 0.0, cuts: Sequence[tuple[int, ...]] = ()
    ) -> tuple[int, ...] | None:
        """The cheapest choice if drops grow from here as straight lines; None if then there is none."""
        if any(answer.problem for answer in found.answers):
            return None
        factors, room, _ = self._slopes(self._ohms(row), found)
        places = [np.arange(low, top + 1) for low, top in zip(self.least, self.top, strict=True)]
        found_places = cheapest(
            [worth[each] for worth, each in zip(self.worth, places, strict=True)],
            [
                factors[:, [column]] * (ways[each] - ways[at])
                for column, (ways, each, at) in enumerate(zip(self.way_ohm, places, row, strict=True))
            ],
            room + spare_v,
            [tuple(at - low for at, low in zip(cut, self.least, strict=True)) for cut in cuts],
            rounded=len(self.open) > FEW,
        )
        return (
            None
            if found_places is None
            else tuple(int(x) + low for x, low in zip(found_places, self.least, strict=True))
        )

    def _slopes(self, ohm: Array, found: Supply) -> tuple[Array, Array, list[_Rule]]:
        """How each rule's sum grows with each open wire's resistance, (r, w), how much each may grow, (r,), and the
        rules; r is every rule in every state that it asks. Loads draw more or less with their voltage as they do here.
        """
        wiring = self.wiring
        numbers = np.array([wiring.places[wire.name] for wire in self.open])
        backs = wiring.back[numbers]
        factors, room, rows = [], list[float](), list[_Rule]()
        for state, answer in enumerate(found.answers):
            net, solution = answer.network, answer.solution
            assert solution is not None
            plus = np.concatenate((net.start, net.source_plus))
            minus = np.concatenate((net.end, net.source_minus))
            siemens = np.concatenate((1 / ohm, 1 / net.source_ohm))
            held_v = np.maximum(solution.load_v, net.floor_v)
            falls = np.where(solution.load_v < net.floor_v, 1.0, -1.0)
            plus, minus = np.concatenate((plus, net.load_plus)), np.concatenate((minus, net.load_minus))
            siemens = np.concatenate((siemens, net.siemens + falls * net.power_w / held_v**2))
            ends = coo_array(
                (
                    np.repeat([1.0, -1.0], len(plus)),
                    (np.tile(np.arange(len(plus)), 2), np.concatenate((plus, minus))),
                ),
                shape=(len(plus), net.nodes),
            ).tocsc()[:, 1:]
            matrix = csc_array(ends.T @ (ends * siemens[:, np.newaxis]))
            rules = [rule for rule in self.rules if rule.states[state]]
            asked = np.zeros((net.nodes, len(rules)))
            for column, rule in enumerate(rules):
                for node, factor in rule.nodes:
                    asked[wiring.nodes[node], column] += factor
            solved = np.zeros_like(asked)
            solved[1:] = splu(matrix).solve(asked[1:])
            # one more ohm in a branch is a voltage of its current in series with it
            through = (solved[net.start] - solved[net.end]) / ohm[:, np.newaxis] * solution.branch_a[:, np.newaxis]
            factors.append((through[numbers] + np.where(backs[:, np.newaxis] >= 0, through[backs], 0.0)).T)
            room += [rule.bound - float(self._value(found, rule.nodes)[state]) for rule in rules]
            rows += rules
        return np.concatenate(factors), np.array(room), rows

    def _thinned(self, row: tuple[int, ...], order: Sequence[int]) -> tuple[int, ...]:
        """Each wire in turn as thin as the solved network allows, size by size; what breaks goes into `why`.

        Where the straight lines say by more than their margin that a limit breaks, nothing is solved.
        """
        self.why = {}
        factors, room, asked = self._slopes(self._ohms(row), self.solve(row))
        for at in order:
            while row[at] > self.least[at]:
                thinner = (*row[:at], row[at] - 1, *row[at + 1 :])
                grows_v = factors[:, at] * (self.way_ohm[at][row[at] - 1] - self.way_ohm[at][row[at]]) - room
                broken = [rule for rule, by in zip(asked, grows_v, strict=True) if by > SPARE_V]
                broken = broken or self._over(found := self.solve(thinner))
                if broken or self.cost(thinner) >= self.cost(row):
                    self.why[at] = list(dict.fromkeys(str(rule) for rule in broken))
                    break
                row = thinner
                factors, room, asked = self._slopes(self._ohms(row), found)
        return row

    def sizes(self) -> dict[str, Size]:
        """By the name of each wire."""
        pairs = zip(self.open, self.options, self.best, strict=True)
        return {wire.name: sizes[place] for wire, (sizes, _, _), place in pairs}

    def reasons(self) -> dict[str, str]:
        """Why not thinner, by the name of each wire."""
        said = {}
        for at, (wire, (_, conductors, _)) in enumerate(zip(self.open, self.options, strict=True)):
            label = conductors[self.best[at]].label
            if self.hopeless:
                said[wire.name] = f"{label}, the thickest on the shelf: not even this gives an operating point."
            elif self.best[at] == 0:
                said[wire.name] = f"{label} is the thinnest on the shelf and serves."
            else:
                why = "its heat or its fuse asks for more"
                if self.best[at] > self.least[at]:
                    broken = ", ".join(self.why.get(at, ())[:3])
                    why = f"its limit is {broken}" if broken else "its fuse and the others' together ask for more"
                said[wire.name] = f"{label}; not {conductors[self.best[at] - 1].label}: {why}."
        return said

    def _fuses(self) -> dict[str, float]:
        """Placed and sized for `best`: `wirecalc.vehicle.fuse.place`."""
        found = self.solve(self.best)
        most = {
            wire.name: float(allowed.current_a[at])
            for wire, allowed, at in zip(self.open, self.allowed, self.best, strict=True)
        } | self.fixed_a
        allowed_a = np.array([most[wire.name] for wire in self.wiring.wires])
        return place(self.wiring, np.nan_to_num(found.draw_a), allowed_a)


def _first_rating(needed_a: float) -> float:
    """The smallest standard fuse that carries a current over `LOADING`; the largest if there is none. [A]"""
    at = int(np.searchsorted(RATINGS_A, needed_a * (1 - 1e-12)))
    return float(RATINGS_A[min(at, len(RATINGS_A) - 1)])
