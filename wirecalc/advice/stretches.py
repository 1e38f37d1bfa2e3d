"""One run through several places: heat is judged in the hottest, drop over all, each as warm as it gets there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import ampacity, heat
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C, Conductor
from wirecalc.wire.insulation import Insulation, insulated
from wirecalc.wire.zones import ZONES

Array = NDArray[np.float64]

_CLOSE_K, _MOST_ROUNDS = 0.02, 40


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A part of a run that lies in one place."""

    length_m: float
    """One way. [m]"""
    ambient_c: float
    """Air around it. [degC]"""
    loaded: int | None = None
    """Loaded conductors that lie together here, the run's own counted, each way of a pair; None for its own alone."""
    zone: str = ""
    """Key of `wirecalc.wire.zones.ZONES`; empty where only the air is known."""

    def __post_init__(self) -> None:
        check("Length of a stretch", self.length_m, "m", low=0, high=LONGEST_M, above=True)
        check("Air around the wire", self.ambient_c, "°C", low=-50, high=200)
        if self.loaded is not None:
            check("Loaded conductors together", self.loaded, "", low=1, high=heat.MOST_LOADED)
        if self.zone and self.zone not in ZONES:
            raise InputError("Place", self.zone, ", ".join(ZONES))

    @property
    def name(self) -> str:
        """As a person reads it: "boot, beside amplifiers"."""
        return ZONES[self.zone].name if self.zone else f"{self.ambient_c:g} °C"


@takes_units
def in_zone(zone: str, length_m: float, loaded: int | None = None) -> Stretch:
    """A stretch in one of the zones, in its air.

    Parameters
    ----------
    zone : str
        Key of `wirecalc.wire.zones.ZONES`.
    length_m : float
        Of the stretch. [m]
    loaded : int, optional
        See `Stretch`.

    Returns
    -------
    Stretch
        Its air is that of the zone. [degC]

    Raises
    ------
    InputError
        If there is no such zone or the length is out of range.
    """
    if zone not in ZONES:
        raise InputError("Place", zone, ", ".join(ZONES))
    return Stretch(length_m=length_m, ambient_c=ZONES[zone].ambient_c, loaded=loaded, zone=zone)


@dataclass(frozen=True, kw_only=True)
class Route:
    """The way of a run, from its source to its load, and how it is laid."""

    stretches: tuple[Stretch, ...]
    """In order, the source's end first."""
    insulation: Insulation
    ways: Literal[1, 2] = 2
    """2 for a pair; 1 where the body brings the current back: a return by the body heats no wire."""
    parallel: int = 1
    """Like conductors side by side, each way."""
    joints_ohm: float = 0.0
    """Crimps and terminals of the loop, with `ways` 1 the body too. [ohm]"""

    def __post_init__(self) -> None:
        if not self.stretches:
            raise InputError("Stretches", "none", "one or more")
        check("Run length", self.length_m, "m", low=0, high=LONGEST_M, above=True)
        check("Conductors in parallel", self.parallel, "", low=1, high=16)
        check("Joints", self.joints_ohm, "ohm", low=0, high=10)

    @property
    def length_m(self) -> float:
        """One way. [m]"""
        return sum(stretch.length_m for stretch in self.stretches)

    @property
    def ambient_c(self) -> Array:
        """The air of each stretch. (s,) [degC]"""
        return np.array([stretch.ambient_c for stretch in self.stretches])

    @property
    def loaded(self) -> Array:
        """Loaded conductors in each stretch, never fewer than the run's own. (s,)"""
        own = self.ways * self.parallel
        return np.array([max(stretch.loaded or own, own) for stretch in self.stretches], np.float64)

    @property
    def too_hot(self) -> Stretch | None:
        """The hottest place, where its air alone is as hot as the insulation may get: no wire of it serves there."""
        hottest = max(self.stretches, key=lambda stretch: stretch.ambient_c)
        return hottest if hottest.ambient_c >= self.insulation.limit_c else None

    def side_by_side(self, parallel: int) -> Route:
        """The same way with another number of conductors side by side."""
        return replace(self, parallel=parallel)


@takes_units
def by_house_rules(
    kind: str,
    length_m: float,
    rules: HouseRules | None = None,
    *,
    insulation: Insulation | None = None,
    ways: Literal[1, 2] = 2,
    loaded: int | None = None,
) -> Route:
    """Where a run of a kind passes, and in what insulation, if nobody says.

    Parameters
    ----------
    kind : str
        Of circuit.
    length_m : float
        One way. [m]
    rules : HouseRules, optional
        The defaults if not given.
    insulation : Insulation, optional
        Instead of that of the rules.
    ways : int
        See `Route`.
    loaded : int, optional
        See `Stretch`; in every place.

    Returns
    -------
    Route
        A stretch for each place of the rules, each with its share of the length.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    rules = HouseRules.from_table() if rules is None else rules
    check("Run length", length_m, "m", low=0, high=LONGEST_M, above=True)
    return Route(
        stretches=tuple(in_zone(place.zone, length_m * place.share, loaded) for place in rules.places(kind)),
        insulation=rules.insulation(kind) if insulation is None else insulation,
        ways=ways,
    )


def carries_a(route: Route, conductors: Sequence[Conductor]) -> ampacity.Allowable:
    """What each of n conductors may carry for ever in the place that allows least.

    Parameters
    ----------
    route : Route
        Gives the insulation, and air and loaded conductors of each stretch.
    conductors : sequence of n Conductor

    Returns
    -------
    wirecalc.wire.ampacity.Allowable
        Fields of shape (n,): each the least over the stretches. [A]
    """
    wires = insulated(conductors, route.insulation)
    all_places = ampacity.allowable(wires, route.ambient_c[:, np.newaxis], route.loaded[:, np.newaxis])
    return ampacity.Allowable(
        current_a=all_places.current_a.min(axis=0),
        published_a=all_places.published_a.min(axis=0),
        balance_a=all_places.balance_a.min(axis=0),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Settled:
    """A run once nothing changes any more, with each of n conductors."""

    current_a: Array
    """In one conductor. (n,) [A]"""
    temperature_c: Array
    """Of the conductor in each stretch; inf over 250. (s, n) [degC]"""
    loop_ohm: Array
    """Of the run as warm as it is. (n,) [ohm]"""

    @property
    def hottest_c(self) -> Array:
        """Over the stretches. (n,) [degC]"""
        return np.asarray(self.temperature_c.max(axis=0))

    @property
    def hottest_at(self) -> NDArray[np.intp]:
        """Which stretch is the hottest. (n,)"""
        return np.asarray(self.temperature_c.argmax(axis=0))


@takes_units
def route_ohm(route: Route, conductors: Sequence[Conductor], temperature_c: Array) -> Array:
    """Loop resistance with each stretch at its own temperature.

    Parameters
    ----------
    route : Route
    conductors : sequence of n Conductor
    temperature_c : (..., s, n) array
        Over 250 counts as 250, where the straight line in temperature ends. [degC]

    Returns
    -------
    (..., n) numpy.ndarray
        [ohm]
    """
    lengths = np.array([stretch.length_m for stretch in route.stretches])
    cold = np.array([conductor.ohm_per_m_20c for conductor in conductors])
    per_k = np.array([conductor.metal.per_k_20c for conductor in conductors])
    warm = 1 + per_k * (
        np.minimum(temperature_c, HOTTEST_C) - REFERENCE_C
    )  # a straight line: `conductor.at_temperature`
    return lengths @ (cold * warm) * route.ways / route.parallel + route.joints_ohm


@takes_units
def settle(route: Route, conductors: Sequence[Conductor], current_a: Callable[[Array], Array]) -> Settled:
    """Temperature, resistance and current of a run that depend on one another.

    Parameters
    ----------
    route : Route
    conductors : sequence of n Conductor
    current_a : callable
        Loop resistance (n,) -> current of the whole run (n,), nan where there is none to be had. [ohm] -> [A]

    Returns
    -------
    Settled
        Where there is no current to be had the temperature is inf.

    See Also
    --------
    settle_each : Of several loads at once.

    Notes
    -----
    Starts cold and repeats until nothing moves by more than 0.02 K. A load of constant power that takes more the warmer
    its wire gets either settles or has no answer at all.
    """
    return settle_each(route, conductors, [current_a])[0]


def settle_each(
    route: Route, conductors: Sequence[Conductor], loads: Sequence[Callable[[Array], Array]]
) -> tuple[Settled, ...]:
    """A run with one load, and with another: in one go, which costs little more than one of them.

    Parameters
    ----------
    route : Route
    conductors : sequence of n Conductor
    loads : sequence of callable
        See `settle`.

    Returns
    -------
    tuple of Settled
        One for each load.

    See Also
    --------
    settle : Of one load.
    """
    wires = insulated(conductors, route.insulation)
    ambient, loaded = route.ambient_c[:, np.newaxis], route.loaded[:, np.newaxis]
    hot = np.broadcast_to(ambient, (len(loads), len(route.stretches), len(conductors))).copy()
    for _ in range(_MOST_ROUNDS):
        ohm = route_ohm(route, conductors, hot)
        runs_a = [np.broadcast_to(load(row), row.shape) for load, row in zip(loads, ohm, strict=True)]
        each = np.array(runs_a) / route.parallel
        known = np.isfinite(each)[:, np.newaxis]
        drawn = np.where(known, np.minimum(each[:, np.newaxis], 9999.0), 0.0)
        new = np.where(known, heat.temperature_c(wires, drawn, ambient, loaded), np.inf)
        with np.errstate(invalid="ignore"):
            moved = np.nan_to_num(np.abs(np.minimum(new, HOTTEST_C) - np.minimum(hot, HOTTEST_C)))
        hot = new
        if float(moved.max()) < _CLOSE_K:
            break
    ohm = route_ohm(route, conductors, hot)
    return tuple(Settled(current_a=each[at], temperature_c=hot[at], loop_ohm=ohm[at]) for at in range(len(loads)))
