"""Every kind of run that is wired in a vehicle, as one model: what a wire's resistance does to what it feeds.

A run's `measures` take the loop's resistance and the length, as arrays of any shape, and give every result by
name, broadcast alike; `MEASURES` says what each name means. So charts, choice and spread work for all kinds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits import line_level, relay, strip, supply
from wirecalc.circuits.circuit import solve
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import check
from wirecalc.wire import ampacity, heat
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import REFERENCE_C, Conductor, at_temperature, ohms_per_metre
from wirecalc.wire.fuse import LOADING, headroom_a
from wirecalc.wire.insulation import Insulation, insulated
from wirecalc.wire.music import MUSIC_FRACTION, music_rms_a

if TYPE_CHECKING:
    from wirecalc.circuits.tolerance import Model

Array = NDArray[np.float64]
Measures = dict[str, Array]


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What a result is called, and how it is shown."""

    name: str
    unit: str
    decimals: int


MEASURES: dict[str, Measure] = {
    "loss_db": Measure(name="Level lost", unit="dB", decimals=3),
    "load_w": Measure(name="Power at the load", unit="W", decimals=2),
    "wire_w": Measure(name="Power in the wire", unit="W", decimals=2),
    "drop_v": Measure(name="Drop", unit="V", decimals=3),
    "drop_fraction": Measure(name="Drop over supply", unit="", decimals=4),
    "damping_factor": Measure(name="Damping at the load", unit="", decimals=1),
    "current_a": Measure(name="Current", unit="A", decimals=3),
    "heat_a": Measure(name="Average current", unit="A", decimals=3),
    "draw_a": Measure(name="Draw at the fuse", unit="A", decimals=2),
    "load_v": Measure(name="Voltage at the load", unit="V", decimals=3),
    "last_v": Measure(name="Voltage at the last lamp", unit="V", decimals=3),
    "treble_loss_db": Measure(name="Lost at 20 kHz under mid band", unit="dB", decimals=4),
    "corner_khz": Measure(name="−3 dB point", unit="kHz", decimals=1),
    "margin_v": Measure(name="Over pull-in when hot", unit="V", decimals=3),
    "output_w": Measure(name="Output that is left", unit="W", decimals=1),
    "temperature_c": Measure(name="Conductor temperature", unit="°C", decimals=1),
    "limit_c": Measure(name="Insulation's limit", unit="°C", decimals=0),
    "allowable_a": Measure(name="Allowable current", unit="A", decimals=1),
    "fuse_headroom_a": Measure(name="Room for a fuse", unit="A", decimals=1),
}


class Run(Protocol):
    """What all kinds have."""

    kind: ClassVar[str]
    """Key of `wirecalc.circuits.choose.LIMITS`."""
    drawn: ClassVar[tuple[str, str]]
    """The two measures that are drawn against length."""

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Every result; arguments broadcast. `load_ratio` scales the load (its impedance, or its draw)."""


@dataclass(frozen=True, kw_only=True)
class SpeakerRun:
    """Amplifier to loudspeaker."""

    kind: ClassVar[str] = "amplifier to speaker"
    drawn: ClassVar[tuple[str, str]] = ("loss_db", "load_w")

    amplifier: Amplifier
    load_ohm: complex
    """Nominal, or at one frequency. [ohm]"""
    music_share: float = MUSIC_FRACTION
    """Average power over rated power, for the heat. [0 to 1]"""

    def __post_init__(self) -> None:
        check("Load impedance", abs(self.load_ohm), "Ω", low=0, high=100_000, above=True)
        check("Average power", self.music_share, "of rated", low=0, high=1, above=True)

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; level and watts by `wirecalc.circuits.circuit.solve`."""
        load_ohm = self.load_ohm * np.asarray(load_ratio, np.float64)
        out = solve(self.amplifier.emf_v, self.amplifier.output_ohm, wire_ohm, load_ohm)
        return {
            "loss_db": -out.level_db,
            "load_w": out.load_w,
            "wire_w": out.wire_w,
            "drop_v": out.drop_v,
            "load_v": out.load_v,
            "damping_factor": out.damping_factor,
            "current_a": out.current_a,
            "heat_a": music_rms_a(out.current_a, self.music_share),
        }


@dataclass(frozen=True, kw_only=True)
class SubwooferRun(SpeakerRun):
    """Amplifier to subwoofer: the same circuit, held to a higher damping factor."""

    kind: ClassVar[str] = "subwoofer"


@dataclass(frozen=True, kw_only=True)
class LineRun:
    """Line level: head unit or processor to an amplifier's or processor's input."""

    kind: ClassVar[str] = "line signal"
    drawn: ClassVar[tuple[str, str]] = ("loss_db", "treble_loss_db")

    source_ohm: float
    input_ohm: float
    farad_per_m: float

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; by `wirecalc.circuits.line_level.low_pass`, the wire added to the source."""
        input_ohm = self.input_ohm * np.asarray(load_ratio, np.float64)
        found = line_level.low_pass(self.source_ohm + np.asarray(wire_ohm), input_ohm, self.farad_per_m, length_m)
        return {
            "loss_db": -found.middle_db,
            "treble_loss_db": -found.treble_db,
            "corner_khz": found.corner_hz / 1e3,
        }


@dataclass(frozen=True, kw_only=True)
class TurnOnRun:
    """Remote turn-on: one lead from the head unit, all devices taken to be at its end."""

    kind: ClassVar[str] = "remote turn-on"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "drop_v")

    draw_a: float
    """All devices together. [A]"""
    supply_v: float
    """At the head unit's output. [V]"""
    limit_a: float
    """The most that the output may give. [A]"""
    least_v: float
    """The least that wakes up every device. [V]"""

    def __post_init__(self) -> None:
        check("Turn-on draw", self.draw_a, "A", low=0, high=20, above=True)
        check("Head unit voltage", self.supply_v, "V", low=0, high=supply.HIGHEST_V, above=True)
        check("Head unit limit", self.limit_a, "A", low=0, high=20, above=True)
        check("Least turn-on voltage", self.least_v, "V", low=0, high=supply.HIGHEST_V)

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; a constant draw, so the drop is on the high side."""
        current_a, wire_ohm = np.broadcast_arrays(
            self.draw_a * np.asarray(load_ratio, np.float64), np.asarray(wire_ohm, np.float64)
        )
        drop_v = np.minimum(current_a * wire_ohm, self.supply_v)
        return {
            "drop_v": drop_v,
            "load_v": self.supply_v - drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "current_a": current_a,
            "heat_a": current_a,
            "draw_a": current_a,
        }


@dataclass(frozen=True, kw_only=True)
class RelayRun:
    """A relay's coil at the end of a run."""

    kind: ClassVar[str] = "relay or lamp"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "margin_v")

    relay: relay.Relay
    supply_v: float
    coil_c: float
    """Of the coil, when it must pull in. [degC]"""

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; by `wirecalc.circuits.relay.pull`. A coil of more ohms takes the same share of its own."""
        scaled = np.asarray(wire_ohm, np.float64) / np.asarray(load_ratio, np.float64)
        found = relay.pull(self.relay, scaled, self.coil_c, supply_v=self.supply_v)
        current_a = found.current_a / np.asarray(load_ratio, np.float64)
        return {
            "load_v": found.coil_v,
            "drop_v": self.supply_v - found.coil_v,
            "drop_fraction": 1 - found.coil_v / self.supply_v,
            "margin_v": found.margin_v,
            "current_a": current_a,
            "heat_a": current_a,
            "draw_a": current_a,
        }


@dataclass(frozen=True, kw_only=True)
class LampRun:
    """A lamp strip at the end of a run, fed from one end or, by a like run, from both."""

    kind: ClassVar[str] = "relay or lamp"
    drawn: ClassVar[tuple[str, str]] = ("last_v", "drop_v")

    supply_v: float
    strip_m: float
    amps_per_m: float
    strip_ohm_per_m: float
    """Both conductors of the strip together. [ohm/m]"""
    both_ends: bool = False
    lamps: Literal["constant current", "resistive"] = "constant current"

    def strip(self, wire_ohm: ArrayLike, load_ratio: ArrayLike = 1.0) -> strip.Strip:
        """The strip on its feed."""
        return strip.Strip(
            supply_v=self.supply_v,
            length_m=self.strip_m,
            amps_per_m=self.amps_per_m * np.asarray(load_ratio, np.float64),
            loop_ohm_per_m=self.strip_ohm_per_m,
            near_feed_ohm=wire_ohm,
            far_feed_ohm=wire_ohm if self.both_ends else strip.ONE_END,
            lamps=self.lamps,
        )

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; by `wirecalc.circuits.strip.lit`; nan where the lamps would use up the voltage."""
        found = strip.lit(self.strip(wire_ohm, load_ratio))
        current_a = found.near_a
        drop_v = self.supply_v - found.near_v
        return {
            "load_v": found.near_v,
            "last_v": found.least_v,
            "drop_v": drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "current_a": current_a,
            "heat_a": current_a,
            "draw_a": current_a,
        }


@dataclass(frozen=True, kw_only=True)
class FeedRun:
    """Battery to amplifier."""

    kind: ClassVar[str] = "battery to amplifier"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "loss_db")

    rated_w: float
    """All channels together. [W]"""
    amplifier_class: supply.AmplifierClass
    supply_v: float
    """At the battery. [V]"""
    regulated: bool = False
    full_power_v: float = supply.TEST_SUPPLY_V
    music_share: float = supply.MUSIC_SHARE
    """Average output over rated output, for the heat. [0 to 1]"""

    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """See `Run`; at full output by `circuits.supply.fed`, for the heat a constant power: nan if it has none."""
        ratio = np.asarray(load_ratio, np.float64)
        full = supply.draw(self.rated_w, self.amplifier_class, share=1.0, supply_v=self.full_power_v).power_w
        average = supply.draw(self.rated_w, self.amplifier_class, share=self.music_share, supply_v=self.full_power_v)
        found = supply.fed(
            self.supply_v, wire_ohm, full * ratio, regulated=self.regulated, full_power_v=self.full_power_v
        )
        mean = supply.constant_power(self.supply_v, wire_ohm, average.power_w * ratio)
        drop_v = self.supply_v - found.supply_v
        return {
            "load_v": found.supply_v,
            "drop_v": drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "loss_db": -found.level_db,
            "output_w": self.rated_w * found.output_ratio,
            "current_a": found.current_a,
            "heat_a": mean.current_a,
            "draw_a": found.current_a,
        }


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a wire lies, for its heat and its fuse."""

    insulation: Insulation
    ambient_c: float
    """Air around it. [degC]"""
    loaded: int = 2
    """Loaded conductors that lie together, each way of each pair counted. [1 to 100]"""

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


def wire_ohm(conductors: Sequence[Conductor], laid: Installation, length_m: ArrayLike | None = None) -> Array:
    """Loop resistance with each of n conductors, at one or more lengths. (n, ...) [ohm]"""
    lengths = np.asarray(laid.length_m if length_m is None else length_m, np.float64)
    per_m = ohms_per_metre(conductors, laid.temperature_c).reshape(-1, *(1,) * lengths.ndim)
    return loop_ohm(per_m, lengths, parallel=laid.parallel, joints_ohm=laid.joints_ohm, ways=laid.ways)


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
    wires = insulated(conductors, place.insulation)
    found = dict(measures)
    shape = (len(conductors),)
    found["limit_c"] = np.full(shape, place.insulation.limit_c)
    allowed = ampacity.allowable(wires, place.ambient_c, place.loaded).current_a
    found["allowable_a"] = np.broadcast_to(allowed, shape)
    if "heat_a" in measures:
        each_a = np.broadcast_to(measures["heat_a"] / laid.parallel, shape)
        known = np.isfinite(each_a)
        hot = heat.temperature_c(wires, np.where(known, each_a, 0.0), place.ambient_c, place.loaded)
        found["temperature_c"] = np.where(known, hot, np.nan)
        found["current_a"] = each_a
    if "draw_a" in measures:
        draw_a = np.broadcast_to(measures["draw_a"], shape)
        known = np.isfinite(draw_a) & (draw_a > 0)
        each_a = np.where(known, draw_a, 1.0) / laid.parallel
        room = headroom_a(each_a, found["allowable_a"], loading=LOADING)
        found["fuse_headroom_a"] = np.where(known, room, np.nan)
    return found


def model(run: Run, conductor: Conductor, laid: Installation) -> Model:
    """A run as a model for `wirecalc.circuits.tolerance`: its measures from the inputs of `tolerance.run_inputs`."""

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
