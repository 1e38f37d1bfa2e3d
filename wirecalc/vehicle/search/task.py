"""What there is to choose in a vehicle's supply: the open wires with their options, the rules that a choice is held to,
and the network solved with a choice.

A choice is a row of places, one in each open wire's options, thinnest first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.as_run import place_of, pull_in_v, tired_by_v
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.limits import LEAST_REMOTE_V, RETURN_SHARE, fuse_of_wire, largest_fuse_a, limits_of, metal_mm2
from wirecalc.vehicle.model import Device, Vehicle, Wire, given
from wirecalc.vehicle.network import STATES, Node, Wiring
from wirecalc.vehicle.returns import feeds, returned
from wirecalc.vehicle.stock import Options
from wirecalc.vehicle.supply import ENGINE, FULL, MUSIC, Supply, Warmth, from_output, supplied
from wirecalc.wire.ampacity import Allowable, allowable
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.insulation import insulated

Array = NDArray[np.float64]
Row = tuple[int, ...]
Fuses = Mapping[str, float]
Sum = tuple[tuple[Node, float], ...]
"""Nodes and factors: a sum of node voltages."""

NOMINAL_V = 12.0  # of a lamp strip, as in `wirecalc.circuits.strip.Strip`
OUT_OF_REACH = 0.05  # a circuit that no size can save may lose this much more than the least that is possible


@dataclass(frozen=True, kw_only=True, eq=False)
class OpenWire:
    """A supply wire whose size is left to choose; arrays (k,) if not said, one for each option."""

    wire: Wire
    options: Options
    place: int
    """In `Wiring.wires`."""
    way_ohm: Array
    """One way, as warm as it gets in each state. (4, k) [ohm]"""
    worth: Array
    """All of it: money, or cm³ of metal."""
    may_a: Array
    """The largest fuse that one conductor stands. [A]"""
    heat_a: Array
    """What brings one conductor to its insulation's limit. [A]"""
    metal_mm2: Array
    """As copper that conducts as much, all conductors in parallel. [mm^2]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Link:
    """A return that is no thinner than a feed. Places among the open wires; None for one that is not open."""

    back: int
    feed: int | None
    feed_mm2: float
    """Of a feed that is not open. [mm^2]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class VoltageBound:
    """A limit as a sum of node voltages that may not be over a bound in some states."""

    wire: Wire
    name: str
    nodes: Sum
    bound: float
    kept: bool
    """False where no size on the shelf keeps the limit itself."""
    states: NDArray[np.bool_]
    is_drop: bool = False
    """Whether the wire's own fuse, which no thicker wire mends, is left out."""
    allowed_v: float = np.nan
    """Of a limit of taste: the drop that it allows. [V]"""

    def missed_by(self, supply: Supply) -> float:
        """Share of the drop that a limit of taste allows by which it is missed; inf for a limit of safety."""
        over_v = float(self.value(supply)[self.states].max()) - self.bound
        return over_v / self.allowed_v if self.kept and np.isfinite(self.allowed_v) else np.inf

    def __str__(self) -> str:
        reach = "" if self.kept else ", which no size on the shelf brings low enough"
        return f"{self.name} of “{self.wire.name}”{reach}"

    def value(self, supply: Supply) -> Array:
        """The sum in each state, of a drop without the wire's own fuse, (4,). [V]"""
        number = supply.wiring.nodes
        total = np.asarray(sum(factor * supply.node_v[:, number[node]] for node, factor in self.nodes))
        return total - supply.fuse_v[:, supply.wiring.places[self.wire.name]] if self.is_drop else total

    def holds(self, supply: Supply) -> bool:
        """Whether the solved network keeps it."""
        return bool(self.value(supply)[self.states].max() <= self.bound + 1e-9)


@dataclass(frozen=True, kw_only=True, eq=False)
class Task:
    """A vehicle's open supply wires and all that does not change while they are chosen."""

    vehicle: Vehicle
    wiring: Wiring
    open: tuple[OpenWire, ...]
    base_ohm: Array
    """Of every branch in each state, without fuses; an open wire's is overwritten. (4, b) [ohm]"""
    fixed_a: Mapping[str, float]
    """The largest fuse that one conductor of a wire that is not open stands. [A]"""
    links: tuple[Link, ...]

    @property
    def top(self) -> Row:
        """All as thick as the shelf has them."""
        return tuple(len(open_wire.worth) - 1 for open_wire in self.open)

    def cost(self, row: Sequence[int]) -> float:
        """Of a choice: money, or cm³ of metal."""
        return float(sum(open_wire.worth[at] for open_wire, at in zip(self.open, row, strict=True)))

    @takes_units
    def ohms(self, row: Sequence[int], fuses_a: Fuses) -> Array:
        """Resistance of every branch with a choice and its fuses.

        Parameters
        ----------
        row : sequence of int
            A place among the options of each open wire.
        fuses_a : mapping of str to float
            Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

        Returns
        -------
        (4, b) numpy.ndarray
            In the order of `Wiring.branches`. [ohm]
        """
        ohm = self.base_ohm.copy()
        for open_wire, at in zip(self.open, row, strict=True):
            ohm[:, open_wire.place] = open_wire.way_ohm[:, at]
            if self.wiring.back[open_wire.place] >= 0:
                ohm[:, self.wiring.back[open_wire.place]] = open_wire.way_ohm[:, at]
        ohm[:, : len(self.wiring.wires)] += self.wiring.fuses_ohm(fuses_a)
        return ohm

    def warmed(self, supply: Supply) -> Task:
        """With every option as warm as it gets with the currents of a solved network.

        Parameters
        ----------
        supply : Supply
            With some choice: another one changes the currents only a little.

        Returns
        -------
        Task
        """
        wires = [wire for wire in self.wiring.wires if wire.size != CHOOSE]
        at = np.array([self.wiring.places[wire.name] for wire in wires], np.intp)
        fixed = Warmth(self.wiring, wires, [wire.conductor(wire.size) for wire in wires if wire.size != CHOOSE])
        base_ohm = self.base_ohm.copy()
        way_ohm = fixed.way_ohm(fixed.mean_c(supply.current_a[:, at]))
        base_ohm[:, at] = way_ohm
        pairs = self.wiring.back[at] >= 0
        base_ohm[:, self.wiring.back[at][pairs]] = way_ohm[:, pairs]
        counts = [len(open_wire.worth) for open_wire in self.open]
        every = np.repeat([open_wire.place for open_wire in self.open], counts)
        options = Warmth(
            self.wiring,
            [open_wire.wire for open_wire, count in zip(self.open, counts, strict=True) for _ in range(count)],
            [each for open_wire in self.open for each in open_wire.options.conductors],
        )
        ohm = options.way_ohm(options.mean_c(supply.current_a[:, every.astype(np.intp)]))
        parts = np.split(ohm, np.cumsum(counts)[:-1], axis=1) if counts else []
        opened = (replace(open_wire, way_ohm=part) for open_wire, part in zip(self.open, parts, strict=True))
        return replace(self, open=tuple(opened), base_ohm=base_ohm)

    def allowed_a(self, row: Sequence[int]) -> Array:
        """The largest fuse that one conductor of each of `Wiring.wires` stands, (w,). [A]"""
        most = {open_wire.wire.name: float(open_wire.may_a[at]) for open_wire, at in zip(self.open, row, strict=True)}
        return np.array([most.get(wire.name, self.fixed_a.get(wire.name, np.nan)) for wire in self.wiring.wires])

    def linked(self, row: Sequence[int]) -> bool:
        """Whether each return is as thick as the feeds that it returns."""
        return all(
            self.open[link.back].metal_mm2[row[link.back]] >= RETURN_SHARE * self._feed_mm2(link, row) * (1 - 1e-9)
            or row[link.back] == len(self.open[link.back].worth) - 1
            for link in self.links
        )

    def _feed_mm2(self, link: Link, row: Sequence[int]) -> float:
        return link.feed_mm2 if link.feed is None else float(self.open[link.feed].metal_mm2[row[link.feed]])

    def lifted(self, row: Sequence[int]) -> Row:
        """With returns as thick as the feeds that they return, where the shelf has it."""
        new = list(row)
        for _ in range(len(self.links) + 1):
            for link in self.links:
                asked = RETURN_SHARE * self._feed_mm2(link, new) * (1 - 1e-9)
                good = np.flatnonzero(self.open[link.back].metal_mm2 >= asked)
                new[link.back] = max(new[link.back], int(good[0]) if good.size else len(self.open[link.back].worth) - 1)
        return tuple(new)

    @cached_property
    def given_fuses_a(self) -> Fuses:
        """The fuses that are not left to choose."""
        return {wire.name: wire.fuse for wire in self.wiring.wires if not isinstance(wire.fuse, str)}

    def smallest_fuses(self, supply: Supply) -> Fuses:
        """Those that are given, and for the others the smallest that carries the draw."""
        fuses = dict(self.given_fuses_a)
        for wire, rating in smallest_ratings(supply).items():
            if wire.fuse == CHOOSE and np.isfinite(rating):
                fuses[wire.name] = rating
        return fuses

    @takes_units
    def least_places(self, supply: Supply, fuses_a: Fuses) -> Row:
        """The thinnest size of each open wire that heat, fuses and house rules allow.

        Parameters
        ----------
        supply : Supply
            The solved network, for what each wire carries. [A]
        fuses_a : mapping of str to float
            Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

        Returns
        -------
        tuple of int
            A place among the options of each open wire; the thickest where none is allowed.
        """
        protection = FuseTree(self.wiring, fuses_a)
        needs = smallest_ratings(supply)
        least = []
        for open_wire in self.open:
            wire = open_wire.wire
            asked = [protection.return_a(wire) / wire.parallel]
            if wire in needs:
                asked += [protection.before_a(wire), needs[wire]]
            known = [each for each in asked if np.isfinite(each)]
            good = (open_wire.may_a >= max(known, default=0.0)) & (
                open_wire.heat_a >= supply.draw_a[open_wire.place] / wire.parallel
            )
            place = int(np.argmax(good)) if good.any() else len(good) - 1
            least.append(max(place, open_wire.options.least))
        return self.lifted(least)


def smallest_ratings(supply: Supply) -> dict[Wire, float]:
    """The smallest standard fuse that carries the draw of one conductor of each feed; inf if there is none. [A]"""
    wiring = supply.wiring
    full_a, music_a = np.nan_to_num(supply.draw_a), np.nan_to_num(supply.music_a)
    return {
        wire: fuse_of_wire(
            wiring.vehicle, wire, float(full_a[at]) / wire.parallel, float(music_a[at]) / wire.parallel
        ).smallest_a
        for wire in feeds(wiring)
        for at in (wiring.places[wire.name],)
    }


def task_of(vehicle: Vehicle, options: Mapping[str, Options]) -> Task:
    """A vehicle's open supply wires, each with its options.

    Parameters
    ----------
    vehicle : Vehicle
    options : mapping of str to Options
        By the name of each supply wire that is left to choose.

    Returns
    -------
    Task
    """
    wiring = Wiring(vehicle)
    opened = []
    for at, wire in enumerate(wiring.wires):
        if wire.size == CHOOSE:
            own = options[wire.name]
            may = _allowable(vehicle, wire, own.conductors)
            opened.append(
                OpenWire(
                    wire=wire, options=own, place=at, may_a=largest_fuse_a(may), heat_a=may.balance_a,
                    way_ohm=_in_air_ohm(wiring, [wire] * len(own.conductors), own.conductors),
                    worth=own.per_m * wire.length_m * vehicle.ways(wire) * wire.parallel,
                    metal_mm2=np.array([metal_mm2(wire, conductor) for conductor in own.conductors]),
                )
            )  # fmt: skip
    fixed = {wire.name: wire.conductor(wire.size) for wire in wiring.wires if not isinstance(wire.size, str)}
    return Task(
        vehicle=vehicle,
        wiring=wiring,
        open=tuple(opened),
        base_ohm=wiring.ohms(
            _in_air_ohm(
                wiring,
                wiring.wires,
                [fixed.get(wire.name) or options[wire.name].conductors[-1] for wire in wiring.wires],
            ),
            {},
        ),
        fixed_a={
            wire.name: float(largest_fuse_a(_allowable(vehicle, wire, [fixed[wire.name]]))[0])
            for wire in wiring.wires
            if wire.name in fixed
        },
        links=_links(wiring, opened, fixed),
    )  # fmt: skip


def _in_air_ohm(wiring: Wiring, wires: Sequence[Wire], conductors: Sequence[Conductor]) -> Array:
    """One way of each in each state, as warm as the air, (4, n). [ohm]"""
    warmth = Warmth(wiring, wires, conductors)
    return warmth.way_ohm(warmth.mean_c(np.zeros((len(STATES), len(wires)))))


def _allowable(vehicle: Vehicle, wire: Wire, conductors: Sequence[Conductor]) -> Allowable:
    where = place_of(vehicle, wire)
    return allowable(insulated(conductors, where.insulation), where.ambient_c, where.loaded)


def _links(wiring: Wiring, opened: Sequence[OpenWire], fixed: Mapping[str, Conductor]) -> tuple[Link, ...]:
    place = {open_wire.wire.name: at for at, open_wire in enumerate(opened)}
    links = []
    for name, back in returned(wiring).items():
        for feed in back.feeds if name in place else ():
            if feed.name != name:
                own = place.get(feed.name)
                mm2 = metal_mm2(feed, fixed[feed.name]) if own is None else 0.0
                links.append(Link(back=place[name], feed=own, feed_mm2=mm2))
    return tuple(links)


def bounds_of(task: Task, supply: Supply) -> tuple[VoltageBound, ...]:
    """The limits of all that draws.

    Parameters
    ----------
    task : Task
    supply : Supply
        With all open wires at their thickest. A limit that is not kept even so gives way to near the best that is
        possible.

    Returns
    -------
    tuple of Rule
    """
    rules = []
    for wire in task.wiring.wires:
        if task.vehicle.circuit(wire) in ("shared feed", "ground"):
            continue
        lost_v = float((supply.posts_v - supply.end_v(wire)).max())
        for name, nodes, bound, states in _sums(task, wire):
            share = 1.0 - nodes[0][1]  # of a drop that is held to a share of the supply
            allowed_v = share * float(supply.posts_v.min()) if bound == 0 else bound if bound > 0 else np.nan
            rule = VoltageBound(wire=wire, name=name, nodes=nodes, bound=bound, kept=True, states=states,
                        allowed_v=allowed_v, is_drop=bound >= 0 and task.vehicle.circuit(wire) != "remote")  # fmt: skip
            least = float(rule.value(supply)[states].max())
            if least > bound:
                rule = replace(rule, bound=least + OUT_OF_REACH * lost_v, kept=False)
            rules.append(rule)
    return tuple(rules)


def _sums(task: Task, wire: Wire) -> list[tuple[str, Sum, float, NDArray[np.bool_]]]:
    """Name, sum, bound and states of each limit of a wire that hangs on the wires before it."""
    vehicle, wiring = task.vehicle, task.wiring
    kind, device = vehicle.circuit(wire), vehicle.device(wire.end)
    posts: Node = (wiring.battery.name, "plus")
    here = ((wiring.ends(wire)[1], -1.0), (wiring.minus(wire.end), 1.0))
    sums: list[tuple[str, Sum, float, NDArray[np.bool_]]] = []
    asked = dict.fromkeys({"relay": ("margin_v",), "remote": ("wake_v",), "lamp": ("dimmest_percent",)}.get(kind, ()))
    for limit in limits_of(vehicle, wire, asked):
        bound, name = limit.bound, limit.name
        if isinstance(bound, str):
            continue
        if limit.measure == "drop_v" and kind == "remote":
            sums.append((name, _lead(task, wire), bound, MUSIC))
        elif limit.measure == "drop_v":
            sums.append((name, ((posts, 1.0), *here), bound, FULL & ENGINE))
        elif limit.measure == "music_drop_v":
            sums.append((name, ((posts, 1.0), *here), bound, MUSIC & ENGINE))
        elif limit.measure == "drop_fraction":
            sums.append((name, ((posts, 1.0 - bound), *here), 0.0, MUSIC))
        elif limit.measure == "margin_v":
            sums.append((name, here, -pull_in_v(device) - tired_by_v(vehicle, wire), MUSIC))
        elif limit.measure == "wake_v":
            sums.append((name, here, -LEAST_REMOTE_V - tired_by_v(vehicle, wire), MUSIC | FULL))
        elif limit.measure == "dimmest_percent":
            sums.append(
                (name, here, -_first_lamp_v(device, bound / 100 * vehicle.systems) - tired_by_v(vehicle, wire), MUSIC)
            )
    return sums


def _first_lamp_v(device: Device, share: float) -> float:
    """What the first lamp of a strip needs so that the last gets a share of nominal, all drawing the same. [V]"""
    amps_per_m, strip_m, ohm_per_m = map(given, (device.amps_per_m, device.strip_m, device.strip_ohm_per_m))
    return share * NOMINAL_V + 0.5 * amps_per_m * strip_m**2 * ohm_per_m


def _lead(task: Task, wire: Wire) -> Sum:
    """The drop of turn-on leads from the output on."""
    wiring = task.wiring
    _, leads = from_output(wiring, wire)
    ends: list[tuple[Node, float]] = []
    for at in leads:
        lead = wiring.wires[at]
        start, end = wiring.ends(lead)
        ends += [(start, 1.0), (end, -1.0)]
        if task.vehicle.ways(lead) == 2:
            ends += [(wiring.minus(lead.end), 1.0), (wiring.minus(lead.start), -1.0)]
    return tuple(ends)


@takes_units
def solved_supply(task: Task, row: Sequence[int], fuses_a: Fuses) -> Supply:
    """The network solved with a choice and its fuses.

    Parameters
    ----------
    task : Task
    row : sequence of int
        A place among the options of each open wire.
    fuses_a : mapping of str to float
        Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

    Returns
    -------
    Supply

    Raises
    ------
    InputError
        If a terminal has no path to a battery.
    """
    return supplied(task.wiring, task.ohms(row, fuses_a), task.wiring.fuses_ohm(fuses_a))
