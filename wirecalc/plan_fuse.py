"""Fuses of a whole vehicle: which one stands before each wire, where one is missing, and whether the smaller opens
first."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from wirecalc.fields import ALTERNATOR, BATTERY, BLOCK, CHOOSE, RELAY
from wirecalc.fuse import LOADING, RATINGS_A, fuse_a
from wirecalc.plan_network import Node, Wiring
from wirecalc.vehicle import Wire

Array = NDArray[np.float64]

SELECTIVE = 1.6  # rating over that of the next fuse down: IEC 60269 gG fuses in line; from memory
_SOURCES = (BATTERY, ALTERNATOR)


def feeds(wiring: Wiring) -> tuple[Wire, ...]:
    """The wires that a fuse has to protect: what carries supply current out. Turn-on leads are limited by their
    output."""
    kinds = ("amplifier feed", "load feed", "lamp", "shared feed")
    return tuple(wire for wire in wiring.wires if wiring.vehicle.circuit(wire) in kinds)


class Protection:
    """The fuses before each wire; `fuses_a` holds a rating for each conductor of the wires that have one."""

    def __init__(self, wiring: Wiring, fuses_a: Mapping[str, float]) -> None:
        self.wiring, self.fuses_a = wiring, fuses_a
        self._at: dict[Node, float] = {}
        self._above: dict[Node, tuple[Wire, ...]] = {}

    def before_a(self, wire: Wire) -> float:
        """The rating that one conductor has to stand: its own fuse, or all that the fuse before its start lets
        through; inf if there is none. [A]"""
        own = self.fuses_a.get(wire.name)
        return self._node_a(self.wiring.ends(wire)[0]) if own is None else own

    def _through_a(self, wire: Wire) -> float:
        own = self.fuses_a.get(wire.name)
        return self._node_a(self.wiring.ends(wire)[0]) if own is None else own * wire.parallel

    def _node_a(self, node: Node) -> float:
        if node not in self._at:
            self._at[node] = 0.0  # while a ring is followed
            name, does = node
            kind = self.wiring.vehicle.device(name).kind
            if kind in _SOURCES:
                self._at[node] = np.inf
            elif does == "contact out":
                self._at[node] = self._node_a((name, "contact in"))
            else:
                arriving = [self._through_a(wire) for wire in self.wiring.arriving.get(node, ())]
                self._at[node] = max(arriving, default=np.inf)
        return self._at[node]

    def return_a(self, wire: Wire) -> float:
        """The largest fuse of what a ground wire brings back; nan where that is the battery itself, or unknown. [A]"""
        device = self.wiring.vehicle.device(wire.start)
        if device.kind in (*_SOURCES, RELAY):
            return np.nan
        found = [
            self.return_a(other)
            for other in self.wiring.arriving.get(self.wiring.minus(device.name), ())
            if self.wiring.vehicle.circuit(other) == "ground" and other is not wire
        ]
        plus = self.wiring.plus(device.name)
        if device.kind != BLOCK and plus in self.wiring.nodes:
            found.append(self._node_a(plus))
        known = [rating for rating in found if np.isfinite(rating)]
        return max(known, default=np.nan)

    def fuses_above(self, wire: Wire) -> tuple[Wire, ...]:
        """The wires whose fuses are the next ones towards the sources."""
        return self._fuses_at(self.wiring.ends(wire)[0])

    def _fuses_at(self, node: Node) -> tuple[Wire, ...]:
        if node not in self._above:
            self._above[node] = ()
            name, does = node
            found: list[Wire] = []
            if does == "contact out":
                found += self._fuses_at((name, "contact in"))
            if self.wiring.vehicle.device(name).kind not in _SOURCES:
                for other in self.wiring.arriving.get(node, ()):
                    found += [other] if other.name in self.fuses_a else self.fuses_above(other)
            self._above[node] = tuple(found)
        return self._above[node]

    def warnings(self) -> tuple[str, ...]:
        """Where the larger fuse may open first or with the smaller, and where a wire is fed from both ends."""
        said = []
        for wire in feeds(self.wiring):
            own = self.fuses_a.get(wire.name)
            for above in self.fuses_above(wire) if own is not None else ():
                upper = self.fuses_a[above.name]
                if own is not None and upper < SELECTIVE * own * (1 - 1e-9):
                    said.append(
                        f"The {own:g} A fuse of “{wire.name}” may not open before the {upper:g} A fuse of"
                        f" “{above.name}”: {SELECTIVE:g} times as much above it is on the safe side."
                    )
            if self.wiring.vehicle.device(wire.end).kind in _SOURCES:
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
    From the ends to the sources: the smallest rating that carries the draw, over the largest fuse below by `SELECTIVE`
    if the wire allows that. Then from the sources to the ends: no fuse where the one before protects the thinner wire.
    """
    fuses = {wire.name: wire.fuse for wire in wiring.wires if not isinstance(wire.fuse, str)}
    asking = [wire for wire in feeds(wiring) if wire.fuse == CHOOSE]
    below: dict[str, float] = {}

    def below_a(wire: Wire, seen: frozenset[str]) -> float:
        """Largest rating of the next fuses towards the loads."""
        if wire.name not in below:
            node = wiring.ends(wire)[1]
            nodes = [node, (node[0], "contact out")] if node[1] == "contact in" else [node]
            after = [each for here in nodes for each in wiring.leaving.get(here, ()) if each.name not in seen]
            found = [rating(each, seen | {each.name}) for each in after if each in protected]
            below[wire.name] = max(found, default=0.0)
        return below[wire.name]

    def rating(wire: Wire, seen: frozenset[str]) -> float:
        if wire.fuse != CHOOSE:
            return fuses.get(wire.name, below_a(wire, seen))
        if wire.name not in fuses:
            at = wiring.places[wire.name]
            each_a = max(float(draw_a[at]) / wire.parallel, 1e-9)
            wanted = max(each_a, SELECTIVE * below_a(wire, seen) * LOADING)
            fits = float(fuse_a(wanted, allowable_a[at], ratings=RATINGS_A))
            if np.isnan(fits):
                fits = float(fuse_a(each_a, allowable_a[at], ratings=RATINGS_A))
            if np.isnan(fits):
                return below_a(wire, seen)
            fuses[wire.name] = fits
        return fuses[wire.name]

    protected = set(feeds(wiring))
    for wire in asking:
        rating(wire, frozenset((wire.name,)))
    for wire in sorted(asking, key=lambda each: -fuses.get(each.name, 0.0)):
        if wire.name in fuses:
            others = {name: each for name, each in fuses.items() if name != wire.name}
            if Protection(wiring, others).before_a(wire) <= allowable_a[wiring.places[wire.name]]:
                del fuses[wire.name]
    return fuses
