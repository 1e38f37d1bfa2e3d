"""Fuses of a whole vehicle: which one stands before each wire, where one is missing, and whether the smaller opens
first."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, BLOCK, BODY, CHOOSE, RELAY
from wirecalc.vehicle.model import Wire
from wirecalc.vehicle.network import Node, Wiring
from wirecalc.wire.fuse import LOADING, RATINGS_A, fuse_a

Array = NDArray[np.float64]

SELECTIVE = 1.6  # rating over that of the next fuse down: IEC 60269 gG fuses in line; from memory
_SOURCES = (BATTERY, ALTERNATOR)


def feeds(wiring: Wiring) -> tuple[Wire, ...]:
    """The wires that a fuse has to protect: what carries supply current out. Turn-on leads are limited by their
    output."""
    kinds = ("amplifier feed", "load feed", "lamp", "shared feed")
    return tuple(wire for wire in wiring.wires if wiring.vehicle.circuit(wire) in kinds)


class FuseTree:
    """The fuses before each wire; `fuses_a` holds a rating for each conductor of the wires that have one."""

    def __init__(self, wiring: Wiring, fuses_a: Mapping[str, float]) -> None:
        self.wiring, self.fuses_a = wiring, fuses_a
        sources = [node for node in wiring.nodes if node[1] == "plus" and self._kind(node) in _SOURCES]
        # what the fuses before a node let through, and which they are
        self._at: dict[Node, float] = dict.fromkeys(sources, np.inf)
        self._above: dict[Node, frozenset[str]] = dict.fromkeys(sources, frozenset())
        waiting = deque(sources)
        while waiting:
            node = waiting.popleft()
            for wire, after in self._onward(node):
                own = None if wire is None else fuses_a.get(wire.name)
                through, names = self._at[node], self._above[node]
                if wire is not None and own is not None:
                    through, names = own * wire.parallel, frozenset((wire.name,))
                names |= self._above.get(after, frozenset())
                if through > self._at.get(after, -1.0) or names != self._above.get(after):
                    self._at[after] = max(through, self._at.get(after, -1.0))
                    self._above[after] = names
                    waiting.append(after)
        self._back = self._returns()

    def _kind(self, node: Node) -> str:
        return self.wiring.vehicle.device(node[0]).kind

    def _onward(self, node: Node) -> Iterator[tuple[Wire | None, Node]]:
        """Wires that start at a node, or a relay's contact, and the nodes that they lead to; no source is one."""
        for wire in self.wiring.leaving.get(node, ()):
            after = self.wiring.ends(wire)[1]
            if self._kind(after) not in _SOURCES:
                yield wire, after
        after = (node[0], "contact out")
        if node[1] == "contact in" and after in self.wiring.nodes:
            yield None, after

    def _returns(self) -> dict[Node, float]:
        """The largest fuse of what comes back at each node on the way to the body."""
        found: dict[Node, float] = {}
        for device in self.wiring.vehicle.devices:
            rating = self._at.get(self.wiring.plus(device.name), np.inf)
            if device.kind not in (*_SOURCES, BLOCK, BODY, RELAY) and np.isfinite(rating):
                found[self.wiring.minus(device.name)] = rating
        waiting = deque(found)
        while waiting:
            node = waiting.popleft()
            for wire in self.wiring.leaving.get(node, ()):
                after = self.wiring.ends(wire)[1]
                if self._kind(after) not in (*_SOURCES, BODY) and found[node] > found.get(after, -1.0):
                    found[after] = found[node]
                    waiting.append(after)
        return found

    def before_a(self, wire: Wire) -> float:
        """The rating that one conductor has to stand: its own fuse, or all that the fuse before its start lets
        through; inf if there is none. [A]"""
        own = self.fuses_a.get(wire.name)
        return self.start_a(wire) if own is None else own

    def start_a(self, wire: Wire) -> float:
        """All that the fuses before a wire's start let through, its own not counted; inf without any. [A]"""
        return self._at.get(self.wiring.ends(wire)[0], np.inf)

    def return_a(self, wire: Wire) -> float:
        """The largest fuse of what a ground wire brings back; nan where that is a battery itself, or unknown. [A]"""
        return self._back.get(self.wiring.ends(wire)[0], np.nan)

    def unprotected(self, allowable_a: Array) -> set[str]:
        """Feeds and grounds that may carry less than the fuse before them lets through; `allowable_a` of one conductor
        of each wire of `Wiring.wires`, (w,)."""
        found = set()
        fed = set(feeds(self.wiring))
        for wire, most in zip(self.wiring.wires, allowable_a, strict=True):
            if (wire in fed and self.before_a(wire) > most) or self.return_a(wire) > most:
                found.add(wire.name)
        return found

    def fuses_above(self, wire: Wire) -> tuple[str, ...]:
        """The wires whose fuses are the next ones towards the sources."""
        return tuple(sorted(self._above.get(self.wiring.ends(wire)[0], ())))

    def warnings(self) -> tuple[str, ...]:
        """Where the larger fuse may open first or with the smaller, and where a wire is fed from both ends."""
        said = []
        for wire in feeds(self.wiring):
            own = self.fuses_a.get(wire.name)
            for above in self.fuses_above(wire) if own is not None else ():
                upper = self.fuses_a[above]
                if own is not None and upper < SELECTIVE * own * (1 - 1e-9):
                    said.append(
                        f"The {own:g} A fuse of “{wire.name}” may not open before the {upper:g} A fuse of"
                        f" “{above}”: {SELECTIVE:g} times as much above it is on the safe side."
                    )
            if self._kind(self.wiring.ends(wire)[1]) in _SOURCES:
                said.append(
                    f"“{wire.name}” is fed from both ends: it needs a fuse at {wire.end} too, which is not in"
                    " this plan."
                )
        return tuple(said)


def place(wiring: Wiring, draw_a: Array, allowable_a: Array) -> dict[str, float]:
    """Fuses for the wires that ask for one, beside those that have one.

    Parameters
    ----------
    wiring : Wiring
    draw_a : (w,) array
        The most that each wire of `Wiring.wires` carries, all conductors. [A]
    allowable_a : (w,) array
        What one conductor may carry. [A]

    Returns
    -------
    dict of str to float
        Rating for each conductor, by the wire's name; a wire that asks for one and is not in it is protected by the
        fuse before it, or no standard rating fits. [A]

    Notes
    -----
    First the smallest rating that carries the draw. Then, where the wire allows it, one that is over the largest fuse
    below by `SELECTIVE`. Then no fuse where the one before protects the wire too. The last two only where no other
    feed or ground loses its protection by it.
    """
    asking = [wire for wire in feeds(wiring) if wire.fuse == CHOOSE]
    fuses = {wire.name: wire.fuse for wire in wiring.wires if not isinstance(wire.fuse, str)}

    def fitting(wire: Wire, least_a: float) -> float:
        at = wiring.places[wire.name]
        return float(fuse_a(max(least_a, 1e-9), allowable_a[at], ratings=RATINGS_A))

    for wire in asking:
        rating = fitting(wire, float(draw_a[wiring.places[wire.name]]) / wire.parallel)
        if not np.isnan(rating):
            fuses[wire.name] = rating
    now = FuseTree(wiring, fuses)
    bare = now.unprotected(allowable_a)
    raised = True
    while raised:  # ratings only rise, and there are few
        raised = False
        for wire in feeds(wiring):
            for name in now.fuses_above(wire) if wire.name in fuses else ():
                upper = wiring.vehicle.wire(name)
                rating = fitting(upper, SELECTIVE * fuses[wire.name] * LOADING)
                if upper.fuse == CHOOSE and rating > fuses[name]:
                    tried = FuseTree(wiring, {**fuses, name: rating})
                    if tried.unprotected(allowable_a) <= bare:
                        fuses[name], raised = rating, True
    now = FuseTree(wiring, fuses)
    for wire in sorted(asking, key=lambda each: -fuses.get(each.name, 0.0)):
        if wire.name in fuses and now.start_a(wire) <= allowable_a[wiring.places[wire.name]]:
            others = {name: each for name, each in fuses.items() if name != wire.name}
            if FuseTree(wiring, others).unprotected(allowable_a) <= bare:
                fuses, now = others, FuseTree(wiring, others)
    return fuses
