"""Fuses of a whole vehicle: which one stands before each wire, where one is missing, and whether the smaller opens
first."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.limits import next_rating
from wirecalc.vehicle.model import Wire
from wirecalc.vehicle.network import Node, Wiring
from wirecalc.vehicle.returns import SOURCES, feeds, returned

Array = NDArray[np.float64]

SELECTIVE = 1.6  # rating over that of the next fuse down: IEC 60269 gG fuses in line; from memory
_NO_FUSE_MA = 400_000_000  # over any sum of fuses, and six of it fit in 32 bits


class FuseTree:
    """The fuses before each wire; `fuses_a` holds a rating for each conductor of the wires that have one."""

    def __init__(self, wiring: Wiring, fuses_a: Mapping[str, float]) -> None:
        self.wiring, self.fuses_a = wiring, fuses_a
        sources = [node for node in wiring.nodes if node[1] == "plus" and self._kind(node) in SOURCES]
        self._above: dict[Node, frozenset[str]] = dict.fromkeys(sources, frozenset())
        # each node's ways from the sources: where from, and what the fuse on it lets through
        self._ways: dict[Node, list[tuple[Node, float]]] = {node: [] for node in sources}
        self._depth: dict[Node, int] = dict.fromkeys(sources, 0)
        waiting, seen = deque(sources), set[Node]()
        while waiting:
            node = waiting.popleft()
            for wire, after in wiring.onward(node):
                own = None if wire is None else fuses_a.get(wire.name)
                names = self._above[node] if wire is None or own is None else frozenset((wire.name,))
                names |= self._above.get(after, frozenset())
                if node not in seen:
                    most = np.inf if wire is None or own is None else own * wire.parallel
                    self._ways.setdefault(after, []).append((node, most))
                    self._depth.setdefault(after, self._depth[node] + 1)
                if names != self._above.get(after) or after not in seen:
                    self._above[after] = names
                    waiting.append(after)
            seen.add(node)
        self._is_tree = all(len(ways) < 2 for ways in self._ways.values())

    def _kind(self, node: Node) -> str:
        return self.wiring.vehicle.device(node[0]).kind

    def through_a(self, nodes: Collection[Node]) -> float:
        """The most that the fuses let through to these nodes together: a fuse that stands before several counts once;
        inf if a way to one of them has none, nan if there is no way to any. [A]"""
        nodes = [node for node in nodes if node in self._ways]
        if not nodes:
            return np.nan
        if not self._is_tree:
            return self._flow_a(nodes)
        asked = dict.fromkeys(nodes, np.inf)
        total_a = 0.0
        by_depth = defaultdict[int, set[Node]](set)
        for node in nodes:
            by_depth[self._depth[node]].add(node)
        for depth in range(max(by_depth), -1, -1):
            for node in by_depth[depth]:
                if not self._ways[node]:
                    total_a += asked[node]
                for before, most in self._ways[node]:
                    flow_a = min(asked[node], most)
                    asked[before] = flow_a if before not in asked else asked[before] + flow_a
                    by_depth[depth - 1].add(before)
        return total_a

    def _flow_a(self, nodes: Collection[Node]) -> float:
        """The same as `through_a` where a node is fed in more than one way: the largest flow, in whole milliamperes."""
        number = {node: place for place, node in enumerate(self._ways)}
        source, sink = len(number), len(number) + 1
        ends = [(source, number[node], np.inf) for node, ways in self._ways.items() if not ways]
        ends += [(number[before], number[node], most) for node, ways in self._ways.items() for before, most in ways]
        ends += [(number[node], sink, np.inf) for node in nodes]
        last = sink + 1  # behind one way of its own, so that no sum is over a 32-bit number
        start, end, most_a = zip(*ends, (sink, last, np.inf), strict=True)
        most_ma = np.minimum(np.array(most_a) * 1e3, _NO_FUSE_MA).astype(np.int32)
        ways = csr_array((most_ma, (start, end)), shape=(last + 1, last + 1))
        flow_ma = maximum_flow(ways, source, last).flow_value
        return np.inf if flow_ma >= _NO_FUSE_MA else flow_ma / 1e3

    def before_a(self, wire: Wire) -> float:
        """The rating that one conductor has to stand: its own fuse, or all that the fuse before its start lets
        through; inf if there is none. [A]"""
        own = self.fuses_a.get(wire.name)
        return self.start_a(wire) if own is None else own

    def start_a(self, wire: Wire) -> float:
        """All that the fuses before a wire's start let through, its own not counted; inf without any. [A]"""
        through_a = self.through_a([self.wiring.ends(wire)[0]])
        return np.inf if np.isnan(through_a) else through_a

    def return_a(self, wire: Wire) -> float:
        """What may come back through a ground, or a pair's second conductor, all conductors in parallel together.

        The sum of the fuses of the devices behind it, a fuse before several of them counted once and none for more
        than the fuse above it lets through; nan where none of them has a fuse, or nothing comes back. [A]
        """
        return self._returns_a.get(wire.name, np.nan)

    @cached_property
    def _returns_a(self) -> dict[str, float]:
        """What each return wire carries of what is behind a fuse, by the wire's name. What has no fuse at all is not
        counted: its own feed is refused for it."""
        returns = {}
        for name, back in returned(self.wiring).items():
            nodes = [self.wiring.plus(device) for device in back.devices]
            fused = [node for node in nodes if np.isfinite(self.through_a([node]))]
            if fused:
                returns[name] = self.through_a(fused)
        return returns

    @takes_units
    def unprotected(self, allowable_a: Array) -> set[str]:
        """Feeds and grounds that may carry less than the fuse before them lets through; `allowable_a` of one conductor
        of each wire of `Wiring.wires`, (w,)."""
        bare = set()
        fed = set(feeds(self.wiring))
        for wire, most in zip(self.wiring.wires, allowable_a, strict=True):
            if (wire in fed and self.before_a(wire) > most) or self.return_a(wire) / wire.parallel > most:
                bare.add(wire.name)
        return bare

    def fuses_above(self, wire: Wire) -> tuple[str, ...]:
        """The wires whose fuses are the next ones towards the sources."""
        return tuple(sorted(self._above.get(self.wiring.ends(wire)[0], ())))

    def warnings(self) -> tuple[str, ...]:
        """Where the larger fuse may open first or with the smaller, and where a wire is fed from both ends."""
        sentences = []
        for wire in feeds(self.wiring):
            own = self.fuses_a.get(wire.name)
            for above in self.fuses_above(wire) if own is not None else ():
                upper = self.fuses_a[above]
                if own is not None and upper < SELECTIVE * own * (1 - 1e-9):
                    sentences.append(
                        f"The {own:g} A fuse of “{wire.name}” may not open before the {upper:g} A fuse of"
                        f" “{above}”: {SELECTIVE:g} times as much above it is on the safe side."
                    )
            if self._kind(self.wiring.ends(wire)[1]) in SOURCES:
                sentences.append(
                    f"“{wire.name}” is fed from both ends: it needs a fuse at {wire.end} too, which is not in"
                    " this plan."
                )
        return tuple(sentences)


@takes_units
def place(wiring: Wiring, smallest_a: Mapping[str, float], allowable_a: Array) -> dict[str, float]:
    """Fuses for the wires that ask for one, beside those that have one.

    Parameters
    ----------
    wiring : Wiring
    smallest_a : mapping of str to float
        The smallest standard rating that carries the draw of one conductor, by the name of each feed; inf if there is
        none. [A]
    allowable_a : (w,) array
        The largest fuse that one conductor of each of `Wiring.wires` stands. [A]

    Returns
    -------
    dict of str to float
        Rating for each conductor, by the wire's name; a wire that asks for one and is not in it is protected by the
        fuse before it, or no standard rating fits. [A]

    Notes
    -----
    First the smallest rating that carries the draw. Then, where the wire allows it, one that is over the largest fuse
    below by `SELECTIVE`. Then no fuse where the one before protects the wire too and would open with it anyway. The
    last two only where no other feed or ground loses its protection by it.
    """
    asking = [wire for wire in feeds(wiring) if wire.fuse == CHOOSE]
    fuses = {wire.name: wire.fuse for wire in wiring.wires if not isinstance(wire.fuse, str)}

    def fitting(wire: Wire, least_a: float) -> float:
        rating = next_rating(wiring.vehicle, wire, least_a)
        return rating if rating <= allowable_a[wiring.places[wire.name]] else np.nan

    for wire in asking:
        rating = smallest_a[wire.name]
        if rating <= allowable_a[wiring.places[wire.name]]:
            fuses[wire.name] = rating
    now = FuseTree(wiring, fuses)
    bare = now.unprotected(allowable_a)
    raised = True
    while raised:  # ratings only rise, and there are few
        raised = False
        for wire in feeds(wiring):
            for name in now.fuses_above(wire) if wire.name in fuses else ():
                upper = wiring.vehicle.wire(name)
                rating = fitting(upper, SELECTIVE * fuses[wire.name] * (1 - 1e-12))
                if upper.fuse == CHOOSE and rating > fuses[name]:
                    tried = FuseTree(wiring, {**fuses, name: rating})
                    if tried.unprotected(allowable_a) <= bare:
                        fuses[name], raised = rating, True
    now = FuseTree(wiring, fuses)
    for wire in sorted(asking, key=lambda each: -fuses.get(each.name, 0.0)):
        own, above = fuses.get(wire.name), [fuses[name] for name in now.fuses_above(wire)]
        with_it = own is not None and any(upper < SELECTIVE * own * (1 - 1e-9) for upper in above)
        if with_it and now.start_a(wire) <= allowable_a[wiring.places[wire.name]]:
            others = {name: each for name, each in fuses.items() if name != wire.name}
            if FuseTree(wiring, others).unprotected(allowable_a) <= bare:
                fuses, now = others, FuseTree(wiring, others)
    return fuses
