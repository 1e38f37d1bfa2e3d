"""A vehicle's supply solved in its four states, and what they mean for each of its wires.

A warmer conductor resists more, which changes the currents a little, and with them the warmth: `settled` repeats the
two until nothing moves. One run does the same for one wire, in `wirecalc.advice.stretches.settle`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits import supply
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.fields import AMPLIFIER
from wirecalc.vehicle.model import Wire, given
from wirecalc.vehicle.network import LEAST_OHM, STATES, Node, OperatingPoint, Wiring
from wirecalc.wire import heat
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C, Conductor
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES

Array = NDArray[np.float64]

_CLOSE_K, _MOST_ROUNDS = 0.01, 25
_STIFF = 0.02  # of every resistance: a supply that holds its voltage


@dataclass(frozen=True, kw_only=True, eq=False)
class Supply:
    """Arrays (4, w): states in the order of `STATES`, wires in that of `Wiring.wires`; nan without operating point."""

    wiring: Wiring
    answers: tuple[OperatingPoint, ...]
    node_v: Array
    """(4, n). [V]"""
    current_a: Array
    """Out, all conductors in parallel together; below 0 where it flows towards the start. [A]"""
    wire_v: Array
    """Dropped by the wire with its fuse, both ways of a pair. [V]"""
    fuse_v: Array
    """Dropped by the wire's own fuse, which no thicker wire mends. [V]"""
    mean_c: Array
    """Of each wire's conductors over their whole way. [degC]"""
    ohm: Array
    """Of every branch. (4, b) [ohm]"""

    @property
    def posts_v(self) -> Array:
        """At the posts of the first battery, (4,). [V]"""
        return self.node_v[:, self.wiring.nodes[self.wiring.battery.name, "plus"]]

    def at_v(self, plus: Node, minus: Node) -> Array:
        """Voltage between two nodes in each state.

        Parameters
        ----------
        plus, minus : (str, str)
            Nodes: device and what its terminal does.

        Returns
        -------
        (4,) numpy.ndarray
            In the order of `STATES`. [V]
        """
        return self.node_v[:, self.wiring.nodes[plus]] - self.node_v[:, self.wiring.nodes[minus]]

    def end_v(self, wire: Wire) -> Array:
        """What a wire's end gets against that device's own minus, (4,). [V]"""
        return self.at_v(self.wiring.ends(wire)[1], self.wiring.minus(wire.end))

    def start_v(self, wire: Wire) -> Array:
        """What a wire starts with: of a pair at its start, else against the minus of its end, (4,). [V]"""
        back = wire.start if self.wiring.vehicle.ways(wire) == 2 else wire.end
        return self.at_v(self.wiring.ends(wire)[0], self.wiring.minus(back))

    @cached_property
    def draw_a(self) -> Array:
        """The most of each wire in any state, or of sources and wires that hold their voltage, (w,). [A]"""
        return np.asarray(np.maximum(np.abs(self.current_a).max(axis=0), self._stiff_a))

    @property
    def _stiff_a(self) -> Array:
        """Engine on, full power, with next to no resistance anywhere: a strong alternator, a full second battery, a
        wire that was taken thicker later. What heats a wire and what its fuse carries may not hang on a voltage that
        happens to sag. (w,) [A]"""
        row = int(np.flatnonzero(FULL & ENGINE)[0])
        ohm = np.maximum(self.ohm[row] * _STIFF, LEAST_OHM)
        answer = self.wiring.answer(ohm, STATES[row], source_ratio=_STIFF)
        if answer.solution is None:
            return np.zeros(len(self.wiring.wires))
        return np.asarray(np.abs(answer.solution.branch_a[: len(self.wiring.wires)]))

    @property
    def music_a(self) -> Array:
        """The most of each wire with music, (w,). [A]"""
        return np.asarray(np.abs(self.current_a[MUSIC]).max(axis=0))


FULL = np.array([state.full for state in STATES])
MUSIC = ~FULL
ENGINE = np.array([state.engine for state in STATES])


@takes_units
def supplied(wiring: Wiring, ohm: Array, fuse_ohm: Array, mean_c: ArrayLike = np.nan) -> Supply:
    """Solve all states.

    Parameters
    ----------
    wiring : Wiring
    ohm : (b,) or (4, b) array
        Of every branch, in all states or in each: `Wiring.ohms`. [ohm]
    fuse_ohm : (w,) array
        Of each wire's own fuses: `Wiring.fuses_ohm`. [ohm]
    mean_c : (4, w) or broadcastable array_like
        How warm each wire was taken to be. [degC]

    Returns
    -------
    Supply

    Raises
    ------
    InputError
        If some terminal has no path to a battery.
    """
    ohm = np.broadcast_to(ohm, (len(STATES), len(wiring.branches)))
    answers = tuple(wiring.answer(own, state) for own, state in zip(ohm, STATES, strict=True))
    count = len(wiring.wires)
    node_v = np.full((len(STATES), len(wiring.nodes)), np.nan)
    branch_a = np.full((len(STATES), len(wiring.branches)), np.nan)
    for row, answer in enumerate(answers):
        if answer.solution is not None:
            node_v[row], branch_a[row] = answer.solution.node_v, answer.solution.branch_a
    drop_v = branch_a * ohm
    pairs = wiring.back >= 0
    wire_v = drop_v[:, :count].copy()
    wire_v[:, pairs] += drop_v[:, wiring.back[pairs]]
    current_a = branch_a[:, :count]
    return Supply(
        wiring=wiring, answers=answers, node_v=node_v, current_a=current_a, wire_v=wire_v, ohm=ohm,
        fuse_v=current_a * fuse_ohm, mean_c=np.broadcast_to(mean_c, current_a.shape),
    )  # fmt: skip


class Warmth:
    """Conductors in the places that their wires pass; several may stand for one wire, as sizes to choose from.

    Parameters
    ----------
    wiring : Wiring
    wires : sequence of n Wire
        Of that wiring's vehicle; a wire may stand there more than once.
    conductors : sequence of n Conductor
        One for each of them.
    """

    def __init__(self, wiring: Wiring, wires: Sequence[Wire], conductors: Sequence[Conductor]) -> None:
        vehicle = wiring.vehicle
        self._cold_ohm = np.array([conductor.ohm_per_m_20c for conductor in conductors])
        self._per_k = np.array([conductor.metal.per_k_20c for conductor in conductors])
        self._length_m, self._parallel, self._joints_ohm = (
            np.array([getattr(wire, name) for wire in wires], np.float64)
            for name in ("length_m", "parallel", "joints_ohm")
        )
        self._joints_ohm /= np.array([vehicle.ways(wire) for wire in wires])
        parts = [
            (at, zone, part_m / wire.length_m)
            for at, wire in enumerate(wires)
            for zone, part_m in (wire.places or ((wire.zone, wire.length_m),))
        ]
        self._of = np.array([at for at, _, _ in parts], np.intp)
        self._first = np.flatnonzero(np.diff(self._of, prepend=-1))
        self._share = np.array([share for _, _, share in parts])
        self._ambient_c = np.array([ZONES[zone].ambient_c for _, zone, _ in parts])
        loaded = np.array([vehicle.loaded(wire) for wire in wires], np.float64)
        self._groups = []
        for key in {wire.insulation for wire in wires}:
            own = np.array([row for row, at in enumerate(self._of) if wires[at].insulation == key], np.intp)
            coated = insulated([conductors[self._of[row]] for row in own], INSULATIONS[key])
            self._groups.append((own, coated, loaded[self._of[own]]))

    @takes_units
    def mean_c(self, current_a: Array) -> Array:
        """Temperature over the whole way of each wire, each place by its length.

        Parameters
        ----------
        current_a : (..., n) array
            Of each wire, all its conductors in parallel together; nan counts as none. [A]

        Returns
        -------
        (..., n) numpy.ndarray
            What is over 250 counts as 250, where the straight line in temperature ends. [degC]
        """
        each_a = np.nan_to_num(np.abs(current_a)) / self._parallel
        of_part = np.empty((*each_a.shape[:-1], len(self._of)))
        for own, coated, loaded in self._groups:
            here_a = np.minimum(each_a[..., self._of[own]], 9999.0)
            mean = heat.temperature_c(coated, here_a, self._ambient_c[own], loaded)
            of_part[..., own] = np.minimum(mean, HOTTEST_C)
        if not len(self._first):
            return each_a
        return np.asarray(np.add.reduceat(of_part * self._share, self._first, axis=-1))

    @takes_units
    def way_ohm(self, temperature_c: Array) -> Array:
        """Resistance of one way of each wire.

        Parameters
        ----------
        temperature_c : (..., n) array
            See `mean_c`. [degC]

        Returns
        -------
        (..., n) numpy.ndarray
            With the joints of that way, at least `wirecalc.vehicle.network.LEAST_OHM`. [ohm]
        """
        warm = 1 + self._per_k * (temperature_c - REFERENCE_C)
        ohm = self._cold_ohm * warm * self._length_m / self._parallel + self._joints_ohm
        return np.maximum(ohm, LEAST_OHM)


@takes_units
def settled(wiring: Wiring, conductors: Sequence[Conductor], fuses_a: Mapping[str, float]) -> Supply:
    """A vehicle's supply solved with every conductor as warm as its own current makes it, in each state.

    Parameters
    ----------
    wiring : Wiring
    conductors : sequence of w Conductor
        One for each of `Wiring.wires`.
    fuses_a : mapping of str to float
        Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

    Returns
    -------
    Supply

    Raises
    ------
    InputError
        If some terminal has no path to a battery.

    Notes
    -----
    Starts as warm as the air and repeats until no conductor moves by more than 0.01 K. A state without operating point
    is left as warm as the air.
    """
    warmth = Warmth(wiring, wiring.wires, conductors)
    mean_c = warmth.mean_c(np.zeros(len(wiring.wires)))
    for _ in range(_MOST_ROUNDS):
        ways_ohm = warmth.way_ohm(mean_c)
        supply = supplied(wiring, wiring.ohms(ways_ohm, fuses_a), wiring.fuses_ohm(fuses_a), mean_c)
        new_c = warmth.mean_c(supply.current_a)
        moved_k = float(np.max(np.abs(new_c - mean_c), initial=0.0))
        if moved_k < _CLOSE_K:
            break
        mean_c = new_c
    return supply


def measures_of(supply: Supply, wire: Wire) -> dict[str, float]:
    """What limits ask of one wire of the supply, by the keys of `wirecalc.runs.MEASURES`.

    The drop of a circuit is what is lost from the battery's posts to the device, shared feeds and returns included but
    not its own fuse, which no thicker wire mends: for
    an amplifier at full power and, apart from that, with music, the engine running; for what else draws the most of the
    states with music, for peaks pass. Of a turn-on lead it is that of the leads from the output on. What heats a wire,
    full_a, is the most of all states: a test tone lasts minutes; heat_a is the most with music.

    Parameters
    ----------
    supply : Supply
        The solved network.
    wire : Wire
        One of its wires.

    Returns
    -------
    dict of str to float
        Each in the unit that `wirecalc.runs.MEASURES` names. A shared feed or a ground has no voltage at a load.
    """
    kind = supply.wiring.vehicle.circuit(wire)
    place = supply.wiring.places[wire.name]
    values = {"full_a": float(supply.draw_a[place]), "heat_a": float(supply.music_a[place])}
    values["draw_a"] = values["full_a"]
    values["wire_w"] = float(np.abs(supply.wire_v[:, place] * supply.current_a[:, place])[MUSIC].max())
    if kind in ("shared feed", "ground"):
        values["drop_v"] = float(np.abs(supply.wire_v[FULL, place]).max())
        return values
    here_v = supply.end_v(wire)
    judged = FULL & ENGINE if kind == "amplifier feed" else MUSIC
    drop_v = supply.posts_v - here_v - supply.fuse_v[:, place]
    if kind == "remote":
        output, leads = from_output(supply.wiring, wire)
        drop_v = supply.wire_v[:, leads].sum(axis=1)
        sent = [supply.wiring.places[wire.name] for wire in supply.wiring.leaving[output]]
        values["draw_a"] = float(supply.current_a[:, sent].sum(axis=1).max())
    values["load_v"] = float(here_v[judged].min())
    values["drop_v"] = float(drop_v[judged].max())
    values["drop_fraction"] = float((drop_v / supply.posts_v)[judged].max())
    device = supply.wiring.vehicle.device(wire.end)
    if kind == "amplifier feed":
        values["loss_db"] = float(feed_db(supply, device.name)[judged].max())
        values["music_drop_v"] = float(drop_v[MUSIC & ENGINE].max())
        ratio = _ratio(here_v, device.name, supply.wiring)
        values["output_w"] = device.rated_w * float(min(ratio[judged].min(), 1.0))
    return values


def from_output(wiring: Wiring, wire: Wire) -> tuple[Node, list[int]]:
    """The turn-on output that a lead comes from, and the leads on the way.

    Parameters
    ----------
    wiring : Wiring
    wire : Wire
        A turn-on lead.

    Returns
    -------
    (str, str)
        Node of the output.
    list of int
        Places of the leads in `Wiring.wires`, this one first and that at the output last.
    """
    leads = [wiring.places[wire.name]]
    node = wiring.ends(wire)[0]
    while node[1] != "remote out":
        before = wiring.arriving[node][0]
        if wiring.places[before.name] in leads:  # a ring without an output has no voltage at all
            break
        leads.append(wiring.places[before.name])
        node = wiring.ends(before)[0]
    return node, leads


def _ratio(supply_v: Array, amplifier: str, wiring: Wiring) -> Array:
    device = wiring.vehicle.device(amplifier)
    known = np.where(supply_v > 0, supply_v, 1.0)
    ratio = supply.output_ratio(
        known, regulated=device.regulated == "yes", full_power_v=given(device.full_power_v)
    )  # fmt: skip
    return np.where(supply_v > 0, ratio, np.nan)


def feed_db(supply: Supply, amplifier: str) -> Array:
    """Level that an amplifier's feed costs at full output, against the voltage at the battery's posts.

    Parameters
    ----------
    supply : Supply
        The solved network.
    amplifier : str
        Name of the device.

    Returns
    -------
    (4,) numpy.ndarray
        In the order of `STATES`; 0 or above for a loss. 0 for a device that is no amplifier. [dB]
    """
    wiring = supply.wiring
    if wiring.vehicle.device(amplifier).kind != AMPLIFIER:
        return np.zeros(len(STATES))
    here_v = supply.at_v(wiring.plus(amplifier), wiring.minus(amplifier))
    return np.asarray(
        10 * np.log10(_ratio(supply.posts_v, amplifier, wiring) / _ratio(here_v, amplifier, wiring))
    )  # fmt: skip
