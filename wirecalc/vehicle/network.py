"""A vehicle's supply as a network: feeds and returns that are shared, fuses, the body, sources and loads; solved in
four states.

How warm conductors get is for `wirecalc.vehicle.supply`. What is simplified: the body is a star of equal resistances
from its ground points to its middle; what a turn-on output itself drops is not counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from wirecalc.circuits import supply
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.fields import (
    ALTERNATOR,
    AMPLIFIER,
    BATTERY,
    BLOCK,
    BODY,
    FACTORY_SIGNAL,
    HEAD,
    LAMPS,
    OTHER,
    PROCESSOR,
    RELAY,
)
from wirecalc.vehicle.model import Device, Vehicle, Wire, given
from wirecalc.vehicle.nodal import FloatingNode, Network, NoOperatingPoint, Solution, solve_network

Array = NDArray[np.float64]
Node = tuple[str, str]
"""Device and what its terminal does; for the body the name of the point."""

FUSE_DROP_V = 0.07  # cold resistance of a blade fuse times its rating: 10 A has about 7 milliohm; from memory
CONTACT_OHM = 5e-3  # of a closed relay contact; from memory
OUTPUT_OHM = 1e-3  # of a turn-on output: next to nothing, see above
LEAST_OHM = 1e-6  # of a way: no joint is better; the network takes nothing less
MIDDLE = "middle"


@dataclass(frozen=True, kw_only=True)
class State:
    """What the vehicle and the music do."""

    engine: bool
    """The alternator feeds."""
    full: bool
    """All amplifiers give a sine at full power at the same time; else music at one-eighth."""

    @property
    def name(self) -> str:
        """As a person reads it."""
        return f"engine {'on' if self.engine else 'off'}, {'full power' if self.full else 'music'}"


STATES = tuple(State(engine=engine, full=full) for engine in (False, True) for full in (True, False))


@dataclass(frozen=True, kw_only=True, eq=False)
class OperatingPoint:
    """One state, solved."""

    state: State
    network: Network
    """With the sources that give current in this state."""
    solution: Solution | None
    """None if there is no operating point."""
    problem: str
    """Why there is none; else empty."""


class Wiring:
    """A vehicle's supply wires as branches between numbered nodes; resistances and states come later.

    Attributes
    ----------
    wires : tuple of Wire
        Those that carry supply or turn-on current, in the vehicle's order.
    nodes : dict of (str, str) to int
        Number of each node; 0 is the first battery's minus.
    branches : list of str
        What each branch is: a wire's name for its way out, then further ones.
    """

    def __init__(self, vehicle: Vehicle) -> None:
        self.vehicle = vehicle
        self.wires = tuple(
            wire
            for wire in vehicle.wires
            if vehicle.circuit(wire) not in ("line", FACTORY_SIGNAL, "speaker", "subwoofer")
        )
        self.body = next(device for device in vehicle.devices if device.kind == BODY)
        self.battery = next(device for device in vehicle.devices if device.kind == BATTERY)
        self.nodes: dict[Node, int] = {(self.battery.name, "minus"): 0}
        self.branches: list[str] = []
        self._ends: list[tuple[int, int]] = []
        self._ohm: list[float] = []
        self.ways = np.array([vehicle.ways(wire) for wire in self.wires])
        returned = set()
        for wire in self.wires:
            self._branch(wire.name, *self.ends(wire), np.nan)
            if vehicle.circuit(wire) == "ground":
                returned.add((wire.start, self.ends(wire)[0][1]))
        self.back = np.full(len(self.wires), -1)
        for place, wire in enumerate(self.wires):
            if self.ways[place] == 2:
                start, end = (self.minus(name) for name in (wire.start, wire.end))
                self.back[place] = len(self.branches)
                self._branch(f"{wire.name}, back", end, start, np.nan)
                returned.add(end)
        self._devices(returned)
        self.start, self.end = (np.array(ends, np.intp) for ends in zip(*self._ends, strict=True))
        self.fixed_ohm = np.array(self._ohm)

    def ends(self, wire: Wire) -> tuple[Node, Node]:
        """The nodes that a wire joins, out."""
        (start, _), (end, _) = self.vehicle.roles(wire)
        return self._node(wire.start, start, wire.start_terminal), self._node(wire.end, end, wire.end_terminal)

    def minus(self, device: str) -> Node:
        """The node where a device's current leaves it."""
        return device, "coil minus" if self.vehicle.device(device).kind == RELAY else "minus"

    def plus(self, device: str) -> Node:
        """The node where a device's supply current enters it."""
        return device, "coil plus" if self.vehicle.device(device).kind == RELAY else "plus"

    def _node(self, device: str, role: str, terminal: str) -> Node:
        return device, " ".join(terminal.casefold().split()) if role == "point" else role

    def _number(self, node: Node) -> int:
        return self.nodes.setdefault(node, len(self.nodes))

    def _branch(self, name: str, start: Node, end: Node, ohm: float) -> None:
        self.branches.append(name)
        self._ends.append((self._number(start), self._number(end)))
        self._ohm.append(ohm)

    def _devices(self, returned: set[Node]) -> None:
        """Body, contacts, turn-on outputs, and the body as the return of what has no other."""
        used = set(self.nodes)
        for device in self.vehicle.devices:
            if device.kind == BODY:
                continue
            if {(device.name, "contact in"), (device.name, "contact out")} <= used:
                self._branch(f"{device.name}, contact", (device.name, "contact in"), (device.name, "contact out"),
                             CONTACT_OHM)  # fmt: skip
            if (device.name, "remote out") in used:
                self._branch(f"{device.name}, output", (device.name, "plus"), (device.name, "remote out"), OUTPUT_OHM)
            names = {role for name, role in used if name == device.name}
            needs = {"minus"} if device.kind == BLOCK else {"plus", "minus", "coil plus", "remote in"}
            if names & needs and self.minus(device.name) not in returned:
                self._branch(f"{device.name}, on the body", self.minus(device.name), (self.body.name, MIDDLE),
                             given(self.body.inner_ohm))  # fmt: skip
        for name, role in list(self.nodes):
            if name == self.body.name and role != MIDDLE:
                self._branch(f"{name}, {role}", (name, role), (name, MIDDLE), given(self.body.inner_ohm))

    @cached_property
    def places(self) -> dict[str, int]:
        """Place of each of `wires` by name."""
        return {wire.name: place for place, wire in enumerate(self.wires)}

    @cached_property
    def arriving(self) -> dict[Node, list[Wire]]:
        """Wires by the node that they end at."""
        by_node: dict[Node, list[Wire]] = {}
        for wire in self.wires:
            by_node.setdefault(self.ends(wire)[1], []).append(wire)
        return by_node

    @cached_property
    def leaving(self) -> dict[Node, list[Wire]]:
        """Wires by the node that they start at."""
        by_node: dict[Node, list[Wire]] = {}
        for wire in self.wires:
            by_node.setdefault(self.ends(wire)[0], []).append(wire)
        return by_node

    def onward(self, node: Node) -> Iterator[tuple[Wire | None, Node]]:
        """Wires that start at a node, or a relay's contact (None), and the nodes that they lead to, no source."""
        for wire in self.leaving.get(node, ()):
            after = self.ends(wire)[1]
            if self.vehicle.device(after[0]).kind not in (BATTERY, ALTERNATOR):
                yield wire, after
        after = (node[0], "contact out")
        if node[1] == "contact in" and after in self.nodes:
            yield None, after

    @cached_property
    def sources(self) -> tuple[Device, ...]:
        """Batteries first, then alternators."""
        kinds = (BATTERY, ALTERNATOR)
        wired = [device for device in self.vehicle.devices if (device.name, "plus") in self.nodes]
        return tuple(
            sorted((device for device in wired if device.kind in kinds), key=lambda device: kinds.index(device.kind))
        )

    @cached_property
    def loads(self) -> tuple[tuple[Device, Node], ...]:
        """What draws, and where from; a turn-on input is a load of its own."""
        kinds = (HEAD, PROCESSOR, AMPLIFIER, LAMPS, OTHER)
        nodes = [(device, self.plus(device.name)) for device in self.vehicle.devices if device.kind in (*kinds, RELAY)]
        inputs = [(device, (device.name, "remote in")) for device in self.vehicle.devices]
        return tuple((device, node) for device, node in (*nodes, *inputs) if node in self.nodes)

    @takes_units
    def ohms(self, way_ohm: Array, fuses_a: Mapping[str, float]) -> Array:
        """Resistance of every branch, fuses included.

        Parameters
        ----------
        way_ohm : (..., w) array
            One way of each of `wires`. [ohm]
        fuses_a : mapping of str to float
            Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

        Returns
        -------
        (..., b) numpy.ndarray
            In the order of `branches`. [ohm]
        """
        ohm = np.broadcast_to(self.fixed_ohm, (*way_ohm.shape[:-1], len(self.fixed_ohm))).copy()
        ohm[..., : len(self.wires)] = way_ohm + self.fuses_ohm(fuses_a)
        pairs = self.back >= 0
        ohm[..., self.back[pairs]] = way_ohm[..., pairs]
        return ohm

    @takes_units
    def fuses_ohm(self, fuses_a: Mapping[str, float]) -> Array:
        """Cold resistance of the fuses of each of `wires`, side by side as its conductors are; 0 for none. (w,) [ohm]

        Parameters
        ----------
        fuses_a : mapping of str to float
            Rating of the fuse of each conductor, by the wire's name. [A]
        """
        return np.array([FUSE_DROP_V / fuses_a.get(wire.name, np.inf) / wire.parallel for wire in self.wires])

    @takes_units
    def network(self, ohm: Array, state: State, giving: Sequence[Device], source_ratio: float = 1.0) -> Network:
        """The network in a state, with some of its sources.

        Parameters
        ----------
        ohm : (b,) array
            Of every branch: `ohms`. [ohm]
        state : State
            Says what each load draws and what each source gives.
        giving : sequence of Device
            The batteries and alternators that give current.
        source_ratio : float
            Scales their inner resistance. [-]

        Returns
        -------
        Network
            To be solved by `wirecalc.vehicle.nodal.solve_network`.

        Raises
        ------
        InputError
            If a resistance, a source or a draw is out of range.
        """
        share = 1.0 if state.full else self.music_share
        drawn = np.array(
            [
                (0.0, 0.0, 0.0, 0.0)
                if device.engine_only == "yes" and not state.engine
                else _drawn(device, node[1], share)
                for device, node in self.loads
            ]
        )
        drawn = drawn.reshape(-1, 4).T
        return Network(
            nodes=len(self.nodes),
            start=self.start,
            end=self.end,
            ohm=ohm,
            source_plus=np.array([self.nodes[source.name, "plus"] for source in giving], np.intp),
            source_minus=np.array([self.nodes[source.name, "minus"] for source in giving], np.intp),
            source_v=np.array([self._source_v(source, state) for source in giving]),
            source_ohm=np.array([given(source.inner_ohm) for source in giving]) * source_ratio,
            load_plus=np.array([self.nodes[node] for _, node in self.loads], np.intp),
            load_minus=np.array([self.nodes[self.minus(device.name)] for device, _ in self.loads], np.intp),
            power_w=drawn[0],
            current_a=drawn[1],
            siemens=drawn[2],
            floor_v=drawn[3],
        )

    @property
    def music_share(self) -> float:
        """Average of music over full power, by the house rules. [0 to 1]"""
        return self.vehicle.rules.rule("average_of_music", "battery to amplifier").number

    def _source_v(self, source: Device, state: State) -> float:
        """The voltage of a battery at rest, or of an alternator. [V]

        A plan without an alternator has an engine all the same: with it on, a battery has what the house rules say.
        """
        volt = given(source.voltage_v)
        if source.kind == ALTERNATOR or not state.engine or any(source.kind == ALTERNATOR for source in self.sources):
            return volt
        running_v = self.vehicle.rules.rule("supply_v", "battery to amplifier", case="engine running").number
        return max(volt, running_v * max(round(volt / 12.6), 1))

    @takes_units
    def answer(self, ohm: Array, state: State, source_ratio: float = 1.0) -> OperatingPoint:
        """Solve one state.

        With the engine on, only the alternators give current, for a full battery takes next to nothing; a battery whose
        posts would fall below its own voltage gives current too.

        Parameters
        ----------
        ohm : (b,) array
            Of every branch: `ohms`. [ohm]
        state : State
        source_ratio : float
            Scales the inner resistance of all sources. [-]

        Returns
        -------
        OperatingPoint
            Without a solution, but with the problem in words, where the feed cannot deliver what is drawn.

        Raises
        ------
        InputError
            If a terminal has no path to a battery, or a resistance, a source or a draw is out of range.
        """
        engines = [source for source in self.sources if source.kind == ALTERNATOR]
        batteries = [source for source in self.sources if source.kind == BATTERY]
        giving = [*engines] if state.engine and engines else [*batteries]
        while True:
            network = self.network(ohm, state, giving, source_ratio)
            waiting = [battery for battery in batteries if battery not in giving]
            try:
                solution = solve_network(network)
            except FloatingNode as why:
                apart = [source for source in waiting if self.nodes[source.name, "plus"] in why.nodes]
                if not apart:
                    raise self._floating(why) from None
                giving += apart
                continue
            except NoOperatingPoint as why:
                if not waiting:
                    problem = self._in_words(why, state, giving)
                    return OperatingPoint(state=state, network=network, solution=None, problem=problem)
                giving += waiting
                continue
            low = [source for source in waiting if self._across(solution.node_v, source.name) < given(source.voltage_v)]
            if not low:
                return OperatingPoint(state=state, network=network, solution=solution, problem="")
            giving += low

    def _across(self, node_v: Array, device: str) -> float:
        return float(node_v[self.nodes[self.plus(device)]] - node_v[self.nodes[self.minus(device)]])

    def _floating(self, why: FloatingNode) -> InputError:
        names = [f"{name} ({role})" for (name, role), number in self.nodes.items() if number in why.nodes]
        return InputError("Wires", ", ".join(names[:5]), "a path to a battery for every terminal",
                          "Add the missing feed or ground wire.")  # fmt: skip

    def _in_words(self, why: NoOperatingPoint, state: State, giving: Sequence[Device]) -> str:
        device, _ = self.loads[why.load]
        sentence = (
            f"With the {state.name} there is no operating point: the feed cannot deliver this. At most"
            f" {why.share * 100:.3g} % of what is drawn gets through; there {device.name} is down to"
            f" {why.load_v:.3g} V and collapses."
        )
        assert why.branch is not None, "there are always wires"
        sentence += f" “{self.branches[why.branch]}” takes the most from it, {why.drop_v:.3g} V: take it thicker or"
        sentence += " shorter, or draw less."
        if why.source is not None:
            sentence += f" The inner resistance of {giving[why.source].name} takes still more."
        return sentence


def _drawn(device: Device, role: str, share: float) -> tuple[float, float, float, float]:
    """Power, current, conductance and the voltage where the power gives way."""
    if role == "remote in":
        return 0.0, given(device.remote_draw_a), 0.0, 0.0
    if device.kind == AMPLIFIER:
        power_w = amplifier_draw_w(device, share)
        full_v = given(device.full_power_v)
        if share < 1:  # the listener's level: power that is wanted at any voltage
            return power_w, 0.0, 0.0, 0.0
        return (power_w, 0.0, 0.0, full_v) if device.regulated == "yes" else (0.0, 0.0, power_w / full_v**2, 0.0)
    if device.kind == RELAY:
        return 0.0, 0.0, 1 / given(device.coil_ohm), 0.0
    if device.kind == LAMPS:
        return 0.0, given(device.amps_per_m) * given(device.strip_m), 0.0, 0.0
    if device.kind == OTHER:
        return device.power_w or 0.0, device.draw_a or 0.0, 1 / (device.impedance_ohm or np.inf), 0.0
    return 0.0, given(device.draw_a), 0.0, 0.0


def amplifier_draw_w(device: Device, share: float) -> float:
    """What an amplifier takes from the supply for a share of its power, at its full-power voltage.

    Parameters
    ----------
    device : Device
        The amplifier.
    share : float
        Of its rated power. [0 to 1]

    Returns
    -------
    float
        [W]

    Raises
    ------
    InputError
        If the share is out of range.
    """
    kind = supply.CLASSES[str(device.amplifier_class)]
    return float(supply.draw(device.rated_w, kind, share=share, supply_v=given(device.full_power_v)).power_w)
