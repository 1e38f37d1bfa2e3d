"""What comes back through each return wire of a vehicle: the devices behind it, and the feeds that it returns.

A ground, and the second conductor of a pair, have no fuse of their own. What may flow in them follows from the fuses of
all that comes back through them (`wirecalc.vehicle.fuse`), and they are no thinner than the feeds they belong to.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from functools import lru_cache

from wirecalc.units_taken import dataclass
from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, BLOCK, BODY
from wirecalc.vehicle.model import Wire
from wirecalc.vehicle.network import MIDDLE, Node, Wiring

SOURCES = (BATTERY, ALTERNATOR)
FEEDS = ("amplifier feed", "load feed", "lamp", "shared feed")


@lru_cache(maxsize=4)
def feeds(wiring: Wiring) -> tuple[Wire, ...]:
    """The wires that a fuse has to protect: what carries supply current out.

    Turn-on leads are limited by their output, and so are the coils of relays that such an output feeds; a coil's lead
    that starts at a battery or a fuse block is a feed.
    """

    def is_feed(wire: Wire) -> bool:
        kind = wiring.vehicle.circuit(wire)
        return kind in FEEDS or (kind == "relay" and wiring.ends(wire)[0][1] != "remote out")

    return tuple(wire for wire in wiring.wires if is_feed(wire))


@lru_cache(maxsize=4)
def feed_names(wiring: Wiring) -> frozenset[str]:
    """Names of the wires in `feeds`."""
    return frozenset(wire.name for wire in feeds(wiring))


@dataclass(frozen=True, kw_only=True)
class Returned:
    """What one return wire brings back."""

    devices: frozenset[str]
    """All that draws and whose current may come back through it."""
    feeds: tuple[Wire, ...]
    """Those that give nothing but what comes back through it; it is no thinner than any of them."""
    at_source: bool
    """It is the ground of a battery or an alternator, which also carries what starts the engine."""


@lru_cache(maxsize=4)
def returned(wiring: Wiring) -> Mapping[str, Returned]:
    """What each return brings back, by the name of the ground, or of the pair for its way back.

    Parameters
    ----------
    wiring : Wiring

    Returns
    -------
    mapping of str to Returned
        A wire that brings nothing back is not in it.

    Notes
    -----
    Current is followed from a device's minus along grounds and ways back towards a battery, whichever way a person
    wrote a battery's own ground down. Where it can take several ways each counts as if it were alone.
    """
    fed = feeds(wiring)
    back, starts = _ways_back(wiring)
    draws = {
        wiring.minus(device.name): device.name
        for device in wiring.vehicle.devices
        if device.kind not in (*SOURCES, BLOCK, BODY) and wiring.plus(device.name) in wiring.nodes
    }
    after = {wire.name: reached(wiring, wire) for wire in fed}
    ways = {}
    for name, start in starts.items():
        devices = frozenset(draws[node] for node in _all_before(back, start) if node in draws)
        if devices:
            wire = wiring.vehicle.wire(name)
            at_source = wiring.vehicle.device(wire.start).kind in SOURCES and name not in after
            own = [
                feed
                for feed in fed
                if (after[feed.name] and after[feed.name] <= devices) or (at_source and feed.start == wire.start)
            ]
            ways[name] = Returned(devices=devices, feeds=tuple(own), at_source=at_source)
    return ways


def _ways_back(wiring: Wiring) -> tuple[Mapping[Node, list[Node]], dict[str, Node]]:
    """Nodes before each node on the way back to a battery, and where each wire's way back starts."""
    before: dict[Node, list[Node]] = defaultdict(list)
    starts: dict[str, Node] = {}
    for wire in wiring.wires:
        start, end = wiring.ends(wire)
        if wiring.vehicle.circuit(wire) == "ground":
            if wiring.vehicle.device(wire.start).kind in SOURCES:
                start, end = end, start
        elif wiring.vehicle.ways(wire) == 2:
            start, end = wiring.minus(wire.end), wiring.minus(wire.start)
        else:
            continue
        starts[wire.name] = start
        before[end].append(start)
    middle = (wiring.body.name, MIDDLE)
    grounded = set(starts.values())
    for node in list(wiring.nodes):
        if node[0] == wiring.body.name and node != middle:
            before[middle].append(node)
            before[node].append(middle)
        elif node not in grounded and node == wiring.minus(node[0]):
            before[middle].append(node)  # by the body, as it has no other return
    return before, starts


def _all_before(before: Mapping[Node, Iterable[Node]], node: Node) -> set[Node]:
    before_it, waiting = {node}, deque([node])
    while waiting:
        new = [earlier for earlier in before.get(waiting.popleft(), ()) if earlier not in before_it]
        before_it.update(new)
        waiting.extend(new)
    return before_it


def reached(wiring: Wiring, wire: Wire) -> frozenset[str]:
    """The devices that draw through a feed.

    Parameters
    ----------
    wiring : Wiring
    wire : Wire
        The feed.

    Returns
    -------
    frozenset of str
        Their names.
    """
    first = wiring.ends(wire)[1]
    nodes, waiting = {first}, deque([first])
    while waiting:
        for _, after in wiring.onward(waiting.popleft()):
            if after not in nodes:
                nodes.add(after)
                waiting.append(after)
    kinds = (*SOURCES, BLOCK, BODY)
    return frozenset(
        name
        for name, role in nodes
        if wiring.vehicle.device(name).kind not in kinds and (name, role) == wiring.plus(name)
    )
