"""Sizes for the supply wires of a vehicle that are left to choose: the least cost with which every circuit keeps its
limits.

They share their drops, so they are chosen together. No wire may be thinner than its heat and its fuse allow. For the
currents that flow every drop is a sum of resistances times factors, so the cheapest choice is a small integer program
(solved exactly by HiGHS); then the network is solved anew with the chosen sizes and the program once more, until
nothing changes. A last pass takes each wire as thin as the solved network allows. So limits are held by the solved
network, and the least cost is exact up to how far currents change with the sizes; tests compare with all combinations.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from wirecalc import heat, units
from wirecalc.conductor import Conductor, conductor
from wirecalc.errors import InputError, check
from wirecalc.fields import CHOOSE
from wirecalc.fuse import LOADING, RATINGS_A
from wirecalc.plan import limits_of, place_of, pull_in_v
from wirecalc.plan_fuse import Protection, feeds, place
from wirecalc.plan_network import FUSE_DROP_V, Node, Wiring, wire_way_ohm
from wirecalc.plan_supply import FULL, MUSIC, Supply, from_output, supplied
from wirecalc.vehicle import Vehicle, Wire

Array = NDArray[np.float64]
Size = tuple[str, float]

# Gauges that vehicle wire is commonly sold in: common practice, no source.
USUAL_SIZES: tuple[Size, ...] = tuple(("AWG", float(n)) for n in (22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -3))
OUT_OF_REACH = 0.05  # a circuit that no size can save may lose this much more than the least that is possible
MOST_ROUNDS = 12
MOST_REPEATS = 3
MOST_SECONDS = 10.0  # for one integer program; the best found until then is taken
Progress = Callable[[float, str], None]


@dataclass(frozen=True, kw_only=True)
class Stock:
    """The sizes on the shelf."""

    sizes: tuple[Size, ...] = USUAL_SIZES
    """As `wirecalc.units.read_size` returns them, in any order."""
    price_per_m: Mapping[Size, float] = field(default_factory=dict, hash=False)
    """Of one conductor. Unless every size has one, the least metal counts as the cheapest. [money per m]"""

    def __post_init__(self) -> None:
        if not self.sizes:
            raise InputError("Sizes on the shelf", "none", "one size or more, as in 16 AWG, 12 AWG")
        for size, price in self.price_per_m.items():
            check(f"Price of {units.show_size(*size)}", price, "per metre", low=0, high=100_000)

    @property
    def priced(self) -> bool:
        """Whether cost is money; else it is metal."""
        return all(size in self.price_per_m for size in self.sizes)

    def options(self, wire: Wire) -> tuple[tuple[Size, ...], tuple[Conductor, ...], Array]:
        """Sizes for a wire, thinnest first, as conductors, and the cost of a metre of one. A size that is dearer than a
        thicker one is left out: there is no reason to take it."""
        per_m = []
        for size in dict.fromkeys(self.sizes):
            one = wire.conductor(size)
            per_m.append((one.area_m2, self.price_per_m[size] if self.priced else one.area_m2 * 1e6, size, one))
        per_m.sort(key=lambda each: each[0])
        kept = [each for place, each in enumerate(per_m) if all(each[1] <= other[1] for other in per_m[place + 1 :])]
        return tuple(each[2] for each in kept), tuple(each[3] for each in kept), np.array([each[1] for each in kept])


def read_stock(text: str) -> Stock:
    """A stock list as typed: sizes parted by commas or lines, each with its price per metre if there is one.

    Raises
    ------
    InputError
        If a size or a price cannot be read.

    Examples
    --------
    >>> read_stock("16 AWG = 0.80; 4 mm2 = 2").price_per_m
    {('AWG', 16.0): 0.8, ('mm2', 4.0): 2.0}
    """
    sizes, prices = [], {}
    for part in text[:10_000].replace("\n", ";").split(";"):
        if part.strip():
            size_text, equals, price_text = part.partition("=")
            size = units.read_size(size_text.strip(), "Size on the shelf")
            conductor(*size)  # a metric size has to be in its table
            sizes.append(size)
            if equals:
                prices[size] = units.read(price_text.strip(), f"Price of {size_text.strip()}", units.NUMBER, low=0)
    return Stock(sizes=tuple(dict.fromkeys(sizes)), price_per_m=prices)


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
        self.ohm = wiring.ohms(
            [thickest[wire.name] if isinstance(wire.size, str) else wire.conductor(wire.size) for wire in wiring.wires],
            {},
        )
        self.fuse_ohm = np.zeros(len(wiring.wires))
        self.solved = 0
        self.fuses_a = self._first_fuses(self.solve(self.top).draw_a)
        for name, rating in self.fuses_a.items():
            self.fuse_ohm[wiring.places[name]] = FUSE_DROP_V / rating / vehicle.wire(name).parallel
        self.thickest = self.solve(self.top)
        self.hopeless = any(answer.problem for answer in self.thickest.answers)
        self.best = self.least = self.top
        self.rules: tuple[_Rule, ...] = ()

    def _first_fuses(self, draw_a: Array) -> dict[str, float]:
        """Those that are given, and for the others the smallest that carries the draw."""
        fuses = {wire.name: wire.fuse for wire in self.wiring.wires if not isinstance(wire.fuse, str)}
        for wire in feeds(self.wiring):
            needed = draw_a[self.wiring.places[wire.name]] / wire.parallel / LOADING
            if wire.fuse == CHOOSE and needed <= RATINGS_A[-1]:
                fuses[wire.name] = float(_first_rating(needed))
        return fuses

    def run(self) -> None:
        """Find `best`; all stay at their thickest where not even that gives an operating point."""
        if self.hopeless or not self.open:
            return
        self.least = self._least_places(self.thickest)
        self.rules = self._rules(self.thickest)
        for number in range(MOST_REPEATS):
            self._cheapest(number / MOST_REPEATS)
            # thinner wires change the currents a little, and with them what heat and fuses ask
            asked = self._least_places(self.solve(self.best))
            if all(at >= low for at, low in zip(self.best, asked, strict=True)):
                break
            self.least = tuple(max(pair) for pair in zip(self.least, asked, strict=True))

    def _cheapest(self, share: float) -> None:
        """The best with `least` as it is."""
        row, found, seen = self.top, self.thickest, set()
        self.best = self.top
        for _ in range(MOST_ROUNDS):
            self.tell(0.1 + 0.8 * share, "choosing sizes for the shared feeds")
            seen.add(row)
            proposed = self._program(row, found)
            if proposed is None or proposed in seen:
                break
            row, found = proposed, self.solve(proposed)
            if self.cost(row) < self.cost(self.best) and not self._over(found):
                self.best = row
        by_worth = sorted(range(len(self.open)), key=lambda at: -float(self.worth[at][self.top[at]]))
        self.best = min((self._thinned(self.best, order) for order in (by_worth, by_worth[::-1])), key=self.cost)

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
        protection = Protection(self.wiring, self.fuses_a)
        fed = set(feeds(self.wiring))
        least = []
        for wire, (_, conductors, _) in zip(self.open, self.options, strict=True):
            at = self.wiring.places[wire.name]
            where = place_of(self.vehicle, wire)
            allowed = heat.allowable(heat.insulated(conductors, where.insulation), where.ambient_c, where.loaded)
            needs_a = np.nan_to_num(protection.before_a(wire) if wire in fed else protection.return_a(wire), posinf=0.0)
            if wire in fed:
                needs_a = max(needs_a, _first_rating(found.draw_a[at] / wire.parallel / LOADING))
            good = (allowed.current_a >= needs_a) & (allowed.balance_a >= found.heat_a[at] / wire.parallel)
            least.append(int(np.argmax(good)) if good.any() else len(conductors) - 1)
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

    def _program(self, row: tuple[int, ...], found: Supply) -> tuple[int, ...] | None:
        """The cheapest choice if all currents stay as they are; None if then there is none."""
        if any(answer.problem for answer in found.answers):
            return None
        factors, room = self._slopes(self._ohms(row), found)
        places = [np.arange(low, top + 1) for low, top in zip(self.least, self.top, strict=True)]
        wire_of = np.repeat(np.arange(len(places)), [len(each) for each in places])
        change = np.concatenate(
            [ways[each] - ways[at] for ways, each, at in zip(self.way_ohm, places, row, strict=True)]
        )  # fmt: skip
        cost = np.concatenate([worth[each] for worth, each in zip(self.worth, places, strict=True)])
        one_each = coo_array((np.ones(len(wire_of)), (wire_of, np.arange(len(wire_of)))))
        scale = np.abs(factors).max(axis=1, initial=1e-9)[:, np.newaxis]
        answer = milp(
            cost / max(float(cost.max()), 1e-12),
            integrality=np.ones(len(cost), np.int8),
            bounds=Bounds(0, 1),
            constraints=[
                LinearConstraint(one_each, 1, 1),
                LinearConstraint(factors[:, wire_of] * change / scale, -np.inf, room / scale[:, 0]),
            ],
            options={"time_limit": MOST_SECONDS, "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        starts = np.cumsum([0, *(len(each) for each in places)])
        return tuple(
            int(each[np.argmax(answer.x[start : start + len(each)])])
            for each, start in zip(places, starts[:-1], strict=True)
        )  # fmt: skip

    def _slopes(self, ohm: Array, found: Supply) -> tuple[Array, Array]:
        """How each rule's sum grows with each open wire's resistance, (r, w), and how much each may grow, (r,); r is
        every rule in every state that it asks. Loads are taken as the currents that they draw."""
        wiring = self.wiring
        numbers = np.array([wiring.places[wire.name] for wire in self.open])
        backs = wiring.back[numbers]
        factors, room = [], []
        for state, answer in enumerate(found.answers):
            net, solution = answer.network, answer.solution
            assert solution is not None
            plus = np.concatenate((net.start, net.source_plus))
            minus = np.concatenate((net.end, net.source_minus))
            siemens = np.concatenate((1 / ohm, 1 / net.source_ohm))
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
            room += [rule.bound - self._value(found, rule.nodes)[state] for rule in rules]
        return np.concatenate(factors), np.array(room)

    def _thinned(self, row: tuple[int, ...], order: Sequence[int]) -> tuple[int, ...]:
        """Each wire in turn as thin as the solved network allows, size by size."""
        for at in order:
            while row[at] > self.least[at]:
                thinner = (*row[:at], row[at] - 1, *row[at + 1 :])
                if self.cost(thinner) >= self.cost(row) or self._over(self.solve(thinner)):
                    break
                row = thinner
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
                    found = self.solve((*self.best[:at], self.best[at] - 1, *self.best[at + 1 :]))
                    why = ", ".join(str(rule) for rule in self._over(found)[:3])
                    why = f"its limit is {why}" if why else "a thicker one costs no more"
                said[wire.name] = f"{label}; not {conductors[self.best[at] - 1].label}: {why}."
        return said

    def fuses(self) -> dict[str, float]:
        """Placed and sized for the chosen sizes: `wirecalc.plan_fuse.place`."""
        found, sizes = self.solve(self.best), self.sizes()
        allowed = []
        for wire in self.wiring.wires:
            one = wire.conductor(sizes[wire.name] if isinstance(wire.size, str) else wire.size)
            where = place_of(self.vehicle, wire)
            coated = heat.insulated([one], where.insulation)
            allowed.append(float(heat.allowable(coated, where.ambient_c, where.loaded).current_a[0]))
        return place(self.wiring, np.nan_to_num(found.draw_a), np.array(allowed))


def _first_rating(needed_a: float) -> float:
    """The smallest standard fuse that carries a current over `LOADING`; the largest if there is none. [A]"""
    at = int(np.searchsorted(RATINGS_A, needed_a * (1 - 1e-12)))
    return float(RATINGS_A[min(at, len(RATINGS_A) - 1)])
