"""What the four states of a vehicle's supply mean for each of its wires: currents, drops and what an amplifier gets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wirecalc.circuits import supply
from wirecalc.vehicle.fields import AMPLIFIER
from wirecalc.vehicle.model import Wire, given
from wirecalc.vehicle.network import STATES, Node, OperatingPoint, Wiring

Array = NDArray[np.float64]


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

    @property
    def draw_a(self) -> Array:
        """The most of each wire in any state, (w,). [A]"""
        return np.asarray(np.abs(self.current_a).max(axis=0))

    @property
    def music_a(self) -> Array:
        """The most of each wire with music, (w,). [A]"""
        return np.asarray(np.abs(self.current_a[MUSIC]).max(axis=0))


FULL = np.array([state.full for state in STATES])
MUSIC = ~FULL
ENGINE = np.array([state.engine for state in STATES])


def supplied(wiring: Wiring, ohm: Array) -> Supply:
    """Solve all states.

    Parameters
    ----------
    wiring : Wiring
    ohm : (b,) array
        Of every branch: `Wiring.ohms`.

    Returns
    -------
    Supply

    Raises
    ------
    InputError
        If some terminal has no path to a battery.
    """
    answers = tuple(wiring.answer(ohm, state) for state in STATES)
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
    return Supply(
        wiring=wiring, answers=answers, node_v=node_v, current_a=branch_a[:, :count], wire_v=wire_v
    )  # fmt: skip


def measures_of(found: Supply, wire: Wire) -> dict[str, float]:
    """What limits ask of one wire of the supply, by the keys of `wirecalc.runs.MEASURES`.

    The drop of a circuit is what is lost from the battery's posts to the device, shared feeds and returns included: for
    an amplifier at full power and, apart from that, with music, the engine running; for what else draws the most of the
    states with music, for peaks pass. Of a turn-on lead it is that of the leads from the output on. What heats a wire,
    full_a, is the most of all states: a test tone lasts minutes; heat_a is the most with music.

    Parameters
    ----------
    found : Supply
        The solved network.
    wire : Wire
        One of its wires.

    Returns
    -------
    dict of str to float
        Each in the unit that `wirecalc.runs.MEASURES` names. A shared feed or a ground has no voltage at a load.
    """
    kind = found.wiring.vehicle.circuit(wire)
    place = found.wiring.places[wire.name]
    values = {"full_a": float(found.draw_a[place]), "heat_a": float(found.music_a[place])}
    values["draw_a"] = values["full_a"]
    values["wire_w"] = float(np.abs(found.wire_v[:, place] * found.current_a[:, place])[MUSIC].max())
    if kind in ("shared feed", "ground"):
        values["drop_v"] = float(np.abs(found.wire_v[FULL, place]).max())
        return values
    here_v = found.end_v(wire)
    judged = FULL & ENGINE if kind == "amplifier feed" else MUSIC
    drop_v = found.posts_v - here_v
    if kind == "remote":
        output, leads = from_output(found.wiring, wire)
        drop_v = found.wire_v[:, leads].sum(axis=1)
        sent = [found.wiring.places[one.name] for one in found.wiring.leaving[output]]
        values["draw_a"] = float(found.current_a[:, sent].sum(axis=1).max())
    values["load_v"] = float(here_v[judged].min())
    values["drop_v"] = float(drop_v[judged].max())
    values["drop_fraction"] = float((drop_v / found.posts_v)[judged].max())
    device = found.wiring.vehicle.device(wire.end)
    if kind == "amplifier feed":
        values["loss_db"] = float(feed_db(found, device.name)[judged].max())
        values["music_drop_v"] = float(drop_v[MUSIC & ENGINE].max())
        ratio = _ratio(here_v, device.name, found.wiring)
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


def feed_db(found: Supply, amplifier: str) -> Array:
    """Level that an amplifier's feed costs at full output, against the voltage at the battery's posts.

    Parameters
    ----------
    found : Supply
        The solved network.
    amplifier : str
        Name of the device.

    Returns
    -------
    (4,) numpy.ndarray
        In the order of `STATES`; 0 or above for a loss. 0 for a device that is no amplifier. [dB]
    """
    wiring = found.wiring
    if wiring.vehicle.device(amplifier).kind != AMPLIFIER:
        return np.zeros(len(STATES))
    here_v = found.at_v(wiring.plus(amplifier), wiring.minus(amplifier))
    return np.asarray(
        10 * np.log10(_ratio(found.posts_v, amplifier, wiring) / _ratio(here_v, amplifier, wiring))
    )  # fmt: skip
