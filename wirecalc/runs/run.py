"""What every kind of run has, how a run is laid, and what heat and a fuse ask of its wire.

A run's `measures` take the loop's resistance and the length, as arrays of any shape, and give every result by
name, broadcast alike; `wirecalc.runs.measure.MEASURES` says what each name means. So charts, choice and spread work
for all kinds, and ask the run itself for what differs.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.errors import check
from wirecalc.limit import Limit
from wirecalc.mark import Mark, plain
from wirecalc.runs.choose import LIMITS
from wirecalc.runs.measure import Array, Measures
from wirecalc.runs.tolerance import Model
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import ampacity, heat
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import REFERENCE_C, Conductor, at_temperature, ohms_per_metre
from wirecalc.wire.fuse import LOADING, headroom_a
from wirecalc.wire.insulation import Insulation, Wires, insulated


class Run(ABC):
    """A circuit of one kind, without its wire. A kind is a frozen dataclass that says here all that is its own."""

    kind: ClassVar[str]
    """Key of `wirecalc.runs.choose.LIMITS`, different for each kind."""
    drawn: ClassVar[tuple[str, str]]
    """The two measures that are drawn against length."""
    columns: ClassVar[tuple[str, ...]]
    """The measures in the table of sizes."""
    varies: ClassVar[str]
    """What `load_ratio` scales, as a person reads it."""
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "branch"
    """Whether the wire starts at the battery, at a fused branch of the supply, or at another device's output."""
    usual_ways: ClassVar[Literal[1, 2]] = 2
    """2 where a pair is pulled, 1 where the body brings the current back."""
    response: ClassVar[Literal["", "loudspeaker", "line"]]
    """What its level over frequency ends in; empty where that is of no interest. Each kind says it."""
    has_heat: ClassVar[bool] = True
    """Whether its current may heat the wire; its measures then have heat_a and full_a."""
    own_bounds: ClassVar[Mapping[str, str]] = {}
    """Measure -> the field of this run that is the bound of its limit."""
    house_kind: ClassVar[str] = ""
    """Its kind in the house rules, data/house_rules.csv; `kind` if empty."""
    handled_as: ClassVar[str] = ""
    """Where no gauge is judged: the kind whose thinnest loose wire in the house rules it takes for handling."""
    critical: bool = True
    """Whether the load has to do as well on a low battery; a kind may let each run say."""
    fuse_note: ClassVar[str] = ""
    """What must be said beside its fuse where no short can be reckoned."""

    @abstractmethod
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Every result.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way. [m]
        load_ratio : (...,) array_like
            Scales the load: its impedance, or its draw. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            By the keys of `wirecalc.runs.measure.MEASURES`; each broadcasts with the arguments. Where the kind
            `has_heat`, full_a is the most current that its source can push through the wire for minutes.
        """

    @abstractmethod
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What this run comes to, in one or two sentences that a customer and an installer understand.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length.
        size : str
            As the trade writes it.
        laid : Installation
        wire_ohm : float
            Loop resistance. [ohm]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        str
            One or two sentences; the reason where there is no answer.
        """

    def cautions(self, here: Mapping[str, float], *, mark: Mark = plain) -> tuple[str, ...]:
        """What must be said wherever a wire for this run is decided on.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length.
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        tuple of str
            A sentence each; empty where there is nothing to mind.
        """
        return ()

    def load_cautions(self) -> tuple[str, ...]:
        """What is wrong with the load that its source has, whatever the wire; empty where nothing is."""
        return ()

    def no_gauge(self, thinnest: str) -> str:
        """What decides instead of a gauge, said where `has_heat` is false.

        Parameters
        ----------
        thinnest : str
            The thinnest wire that the house rules pull loose for `handled_as`; empty if that is.

        Returns
        -------
        str
        """
        return (
            "No gauge is judged here: the cable's capacitance, the impedances at its ends and its screen decide. Take"
            " screened cable as it comes."
        )

    def needed(self, measure: str) -> float | None:
        """The value of a measure that the load must get, where there is one: a line on its chart."""
        return None

    def limits(self) -> tuple[Limit, ...]:
        """The usual limits of this kind, with the bounds that this run itself sets."""
        return tuple(
            replace(limit, bound=getattr(self, self.own_bounds[limit.measure]))
            if limit.measure in self.own_bounds
            else limit
            for limit in LIMITS[self.kind]
        )

    @takes_units
    def from_load(self, load_v: float) -> Measures:
        """Measures that follow from the voltage at the load alone, however it is fed; none for most kinds of load.

        Parameters
        ----------
        load_v : float
            Above 0. [V]
        """
        return {}

    @property
    def short_v(self) -> float | None:
        """What drives a short circuit at the far end; None where its source limits it by itself. [V]"""
        return None

    @property
    def power_w(self) -> float:
        """Rated power of the amplifier, into the load that it has; 0 for kinds without one. [W]"""
        return 0.0

    @property
    def music_v(self) -> float:
        """What full power puts between its conductors, RMS; 0 for kinds without an amplifier's output. [V]"""
        return 0.0

    @property
    def fed_twice(self) -> bool:
        """Whether a like run feeds the load from its other end, with a fuse of its own."""
        return False


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a wire lies, for its heat and its fuse."""

    insulation: Insulation
    ambient_c: float
    """Air around it. [degC]"""
    loaded: int = 2
    """Loaded conductors that lie together, each way of each pair counted. [1 to 100]"""
    zone: str = ""
    """Key of `wirecalc.wire.zones.ZONES`; empty where only the air is known."""

    def __post_init__(self) -> None:
        check("Air around the wire", self.ambient_c, "°C", low=-50, high=200)
        check("Loaded conductors together", self.loaded, "", low=1, high=heat.MOST_LOADED)


@dataclass(frozen=True, kw_only=True)
class Installation:
    """How a run is laid, whatever it feeds."""

    length_m: float
    """One way. [m]"""
    temperature_c: float = REFERENCE_C
    """Of the conductors, for the resistance. [degC]"""
    parallel: int = 1
    joints_ohm: float = 0.0
    ways: Literal[1, 2] = 2
    """See `wirecalc.wire.cable.loop_ohm`."""


@takes_units
def wire_ohm(conductors: Sequence[Conductor], laid: Installation, length_m: ArrayLike | None = None) -> Array:
    """Loop resistance with each of n conductors, at one or more lengths.

    Parameters
    ----------
    conductors : sequence of n Conductor
    laid : Installation
        Gives temperature, conductors side by side, joints and ways; the length too if `length_m` is not given.
    length_m : (...,) array_like, optional
        One way, instead of that of `laid`. [m]

    Returns
    -------
    (n, ...) numpy.ndarray
        Joints included. [ohm]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    lengths = np.asarray(laid.length_m if length_m is None else length_m, np.float64)
    per_m = ohms_per_metre(conductors, laid.temperature_c).reshape(-1, *(1,) * lengths.ndim)
    return loop_ohm(per_m, lengths, parallel=laid.parallel, joints_ohm=laid.joints_ohm, ways=laid.ways)


@takes_units
def measured(
    run: Run, conductors: Sequence[Conductor], laid: Installation, length_m: ArrayLike | None = None
) -> Measures:
    """Every measure of a run with each of n conductors, at one or more lengths.

    Parameters
    ----------
    run : Run
    conductors : sequence of n Conductor
    laid : Installation
    length_m : (...,) array_like, optional
        One way, instead of that of `laid`. [m]

    Returns
    -------
    dict of str to (n, ...) array
        All of one shape.
    """
    ohm = wire_ohm(conductors, laid, length_m)
    measures = run.measures(ohm, laid.length_m if length_m is None else length_m)
    return {name: np.broadcast_to(value, ohm.shape) for name, value in measures.items()}


def with_heat(
    measures: Mapping[str, Array], conductors: Sequence[Conductor], laid: Installation, place: Place
) -> Measures:
    """Measures of n conductors at one length, with what the heat and a fuse ask of them.

    Parameters
    ----------
    measures : mapping of str to (n,) array
        Of a run at one length.
    conductors : sequence of n Conductor
    laid : Installation
    place : Place

    Returns
    -------
    dict of str to (n,) array
        Those given and temperature_c, limit_c, allowable_a (one conductor) and, where a draw is known,
        fuse_headroom_a (a fuse for each conductor in parallel). `current_a` becomes the average current of
        one conductor, which the limits hold against `allowable_a`.
    """
    each_a, draw_a = (
        np.broadcast_to(measures[key] / laid.parallel, len(conductors)) if key in measures else None
        for key in ("heat_a", "draw_a")
    )
    wires = insulated(conductors, place.insulation)
    return {**measures, **warmed(wires, place.ambient_c, place.loaded, each_a=each_a, draw_a=draw_a)}


@takes_units
def warmed(
    wires: Wires,
    ambient_c: ArrayLike,
    loaded: ArrayLike,
    *,
    each_a: Array | None = None,
    draw_a: Array | None = None,
) -> Measures:
    """The measures of heat and of a fuse for n insulated conductors, each with its own current.

    Parameters
    ----------
    wires : wirecalc.wire.insulation.Wires
        n conductors of one insulation.
    ambient_c : (n,) or scalar array_like
        Air around each. [degC]
    loaded : (n,) or scalar array_like
        Loaded conductors that lie together.
    each_a : (n,) array, optional
        Average current of each; nan where there is none. [A]
    draw_a : (n,) array, optional
        Draw at the fuse of each; nan where there is none. [A]

    Returns
    -------
    dict of str to (n,) array
        limit_c, allowable_a; with `each_a` temperature_c and current_a, with `draw_a` fuse_headroom_a.
    """
    allowed_a = ampacity.allowable(wires, ambient_c, loaded).current_a
    shape = wires.core_m.shape
    warm = {"limit_c": np.full(shape, wires.insulation.limit_c), "allowable_a": np.broadcast_to(allowed_a, shape)}
    if each_a is not None:
        known = np.isfinite(each_a)
        hot_c = heat.temperature_c(wires, np.where(known, each_a, 0.0), ambient_c, loaded)
        warm["temperature_c"] = np.where(known, hot_c, np.nan)
        warm["current_a"] = each_a
    if draw_a is not None:
        known = np.isfinite(draw_a) & (draw_a > 0)
        room_a = headroom_a(np.where(known, draw_a, 1.0), warm["allowable_a"], loading=LOADING)
        warm["fuse_headroom_a"] = np.where(known, room_a, np.nan)
    return warm


def model(run: Run, conductor: Conductor, laid: Installation) -> Model:
    """A run as a model for `wirecalc.runs.tolerance`: its measures from the inputs of `tolerance.run_inputs`.

    Parameters
    ----------
    run : Run
    conductor : Conductor
    laid : Installation
        Gives conductors side by side and ways; length, temperature and joints are inputs of the model.

    Returns
    -------
    callable
        From length_m [m], temperature_c [degC], joints_ohm [ohm], resistance_ratio and load_ratio [-] by keyword, all
        (...,) array_like, to the measures of the run, each (...,).
    """

    def measures(
        *,
        length_m: ArrayLike,
        temperature_c: ArrayLike,
        joints_ohm: ArrayLike,
        resistance_ratio: ArrayLike,
        load_ratio: ArrayLike,
    ) -> Measures:
        cold = conductor.ohm_per_m_20c * np.asarray(resistance_ratio, np.float64)
        per_m = at_temperature(cold, temperature_c, conductor.metal)
        ohm = loop_ohm(per_m, length_m, parallel=laid.parallel, joints_ohm=joints_ohm, ways=laid.ways)
        return run.measures(ohm, length_m, load_ratio)

    return measures
