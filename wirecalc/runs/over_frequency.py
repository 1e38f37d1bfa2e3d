"""Runs over frequency: a loudspeaker's with each of several sizes, and a line signal's with what it picks up."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import cast

import numpy as np
from numpy.typing import NDArray

from wirecalc.circuits import line_level, loudspeaker, response
from wirecalc.circuits.loudspeaker import LOWEST_OF_RATED, RatedCheck, check_rated
from wirecalc.circuits.speaker_load import BAND_HZ, SpeakerLoad
from wirecalc.errors import InputError
from wirecalc.runs.line import LineRun
from wirecalc.runs.run import Installation, Run, wire_ohm
from wirecalc.runs.speaker import SpeakerRun
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.insulation import Insulation, insulated
from wirecalc.wire.pair import Dielectric, Pair

Array = NDArray[np.float64]

POINTS = 200
INDUCTANCE_HZ = 1e3  # where a pair's inductance is told
_NEAR_M, _FAR_M = 5e-3, 1.0  # distances of a supply wire that are looked at, besides its own
# a search that only a new load needs again
_rated: Callable[..., RatedCheck] = functools.lru_cache(maxsize=4)(check_rated)


def to_loudspeaker(run: Run) -> SpeakerRun:
    """A run that says that its `response` is a loudspeaker's, as `speaker_response` takes it."""
    assert run.response == "loudspeaker"
    return cast(SpeakerRun, run)


def of_line(run: Run) -> LineRun:
    """A run that says that its `response` is a line signal's, as `line_response` takes it."""
    assert run.response == "line"
    return cast(LineRun, run)


@dataclass(frozen=True, kw_only=True)
class PairMake:
    """How the two conductors of a loudspeaker wire lie beside each other."""

    coat: Insulation
    """Of each conductor, for the thin wall."""
    dielectric: Dielectric
    wall_m: float | None = None
    """Thickness of the insulation; None for the thin wall of `wirecalc.wire.insulation.insulated`. [m]"""
    gap_m: float = 0.0
    """Between the two wires. [m]"""

    def pairs(self, conductors: Sequence[Conductor]) -> tuple[Pair, ...]:
        """Two of each conductor side by side."""
        walls_m = insulated(conductors, self.coat, self.wall_m).wall_m
        return tuple(
            Pair(conductor=conductor, insulation=self.dielectric, insulation_m=float(wall_m), gap_m=self.gap_m)
            for conductor, wall_m in zip(conductors, walls_m, strict=True)
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class SpeakerResponse:
    """A loudspeaker run with each of n sizes, its own first, at f frequencies."""

    run: SpeakerRun
    load: SpeakerLoad
    hz: Array
    """(f,)"""
    level_db: Array
    """Against no wire. (n, f)"""
    band: response.InBand
    """In the load's `band_hz`. (n,)"""
    load_ohm: Array
    """Modulus. (f,)"""
    rated: RatedCheck
    series_ohm: Array
    """Wire and amplifier output at DC. (n,)"""
    wired_qes: Array
    wired_qts: Array
    """With wire and amplifier; nan where the load is no driver. (n,)"""
    pairs: tuple[Pair, ...]
    """(n,)"""
    henry_per_m: float
    """Of the run's own pair, at `INDUCTANCE_HZ`."""
    farad_per_m: float

    @property
    def furthest(self) -> tuple[float, float]:
        """The frequency at which this run differs most from one without a wire, and by how much. [Hz], [dB]"""
        return float(self.band.worst_hz[0]), float(self.band.worst_db[0])

    @property
    def expects_ohm(self) -> float:
        """The lowest that the impedance may dip to: what an amplifier allows is a rated impedance too. [ohm]"""
        return LOWEST_OF_RATED * self.run.amplifier.least_load_ohm

    @property
    def too_low(self) -> bool:
        """The load counts as a lower rated impedance than the amplifier allows."""
        return self.rated.highest_rating_ohm < self.run.amplifier.least_load_ohm * (1 - 1e-9)

    @property
    def dips(self) -> bool:
        """The load's least impedance lies under what the amplifier allows."""
        return self.rated.least.ohm < self.run.amplifier.least_load_ohm * (1 - 1e-9)

    @property
    def q(self) -> tuple[float, float] | None:
        """Qes and Qts of the driver itself; None where the load is no driver."""
        driver = self.load.driver
        return None if driver is None else (driver.qes, driver.qts)

    def in_band(self, place: int) -> tuple[Array, Array]:
        """Frequencies in the load's band and the level of one size there. [Hz], [dB]"""
        low, high = self.load.band_hz
        inside = (self.hz >= low) & (self.hz <= high)
        return self.hz[inside], self.level_db[place, inside]


def _grid(low_hz: float, high_hz: float) -> Array:
    """Even steps of pitch, with the ends of the audio band among them."""
    steps = np.clip(np.geomspace(low_hz, high_hz, POINTS), low_hz, high_hz)
    return np.unique(np.append(steps, [hz for hz in BAND_HZ if low_hz < hz < high_hz]))


def speaker_response(
    run: SpeakerRun, conductors: Sequence[Conductor], laid: Installation, load: SpeakerLoad, make: PairMake
) -> SpeakerResponse:
    """A loudspeaker run over frequency.

    Parameters
    ----------
    run : SpeakerRun
    conductors : sequence of n Conductor
        The run's own, then others to hold it against.
    laid : Installation
        Taken as a pair, whatever brings the current back.
    load : SpeakerLoad
        In place of the run's plain resistance.
    make : PairMake

    Returns
    -------
    SpeakerResponse

    Raises
    ------
    InputError
        If there is no conductor, or a value is out of range.

    See Also
    --------
    line_response : Of a line signal.
    wirecalc.circuits.response.level_db : The level alone.
    """
    if not conductors:
        raise InputError("Conductors", "none", "one or more")
    pairs = make.pairs(conductors)
    hz = _grid(load.low_hz, load.high_hz)
    level_db = response.level_db(
        run.amplifier,
        load.load,
        pairs,
        laid.length_m,
        hz,
        temperature_c=laid.temperature_c,
        parallel=laid.parallel,
        joints_ohm=laid.joints_ohm,
    )
    series_ohm = wire_ohm(conductors, replace(laid, ways=2)) + run.amplifier.output_ohm
    qes = qts = np.full(len(pairs), np.nan)
    if load.driver:
        qes = loudspeaker.qes_with_wire(load.driver.qes, float(load.load.impedance(0.0).real), series_ohm)
        qts = loudspeaker.parallel_q(qes, load.driver.qms)
    return SpeakerResponse(
        run=run,
        load=load,
        hz=hz,
        level_db=level_db,
        band=response.in_band(hz, level_db, *load.band_hz),
        load_ohm=np.abs(load.load.impedance(hz)),
        rated=_rated(load.load, run.load_ohm, *load.band_hz),
        series_ohm=series_ohm,
        wired_qes=qes,
        wired_qts=qts,
        pairs=pairs,
        henry_per_m=float(pairs[0].henry_per_m(INDUCTANCE_HZ, laid.temperature_c)),
        farad_per_m=pairs[0].farad_per_m,
    )


@dataclass(frozen=True, kw_only=True)
class SupplyBeside:
    """A supply wire along a signal cable; see `wirecalc.circuits.line_level.pickup`."""

    ripple_a: float
    ripple_hz: float
    along_m: float
    distance_m: float
    spacing_m: float
    pitch_m: float


@dataclass(frozen=True, kw_only=True, eq=False)
class LineResponse:
    """A line signal with each of n sizes, its own first, at f frequencies."""

    hz: Array
    """(f,)"""
    level_db: Array
    """Against the source with nothing connected. (n, f)"""
    top: line_level.LowPass
    """At 20 kHz. (n,)"""
    distance_m: Array
    """Of the supply wire, from near to far, and its own at the end. (d,)"""
    pickup: line_level.Pickup
    """(d,)"""

    @property
    def furthest(self) -> tuple[float, float]:
        """This run at 20 kHz. [Hz], [dB]"""
        return line_level.TOP_HZ, float(self.top.level_db[0])


def line_response(
    run: LineRun, conductors: Sequence[Conductor], laid: Installation, beside: SupplyBeside
) -> LineResponse:
    """A line signal over frequency, and what it picks up.

    Parameters
    ----------
    run : LineRun
    conductors : sequence of n Conductor
        The run's own, then others to hold it against.
    laid : Installation
    beside : SupplyBeside

    Returns
    -------
    LineResponse

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    speaker_response : Of a loudspeaker.
    """
    hz = _grid(response.LOWEST_HZ, response.HIGHEST_HZ)
    source_ohm = run.source_ohm + wire_ohm(conductors, laid)
    curve = line_level.low_pass(source_ohm[:, None], run.input_ohm, run.farad_per_m, laid.length_m, hz)
    near, far = min(_NEAR_M, beside.distance_m), max(_FAR_M, beside.distance_m)
    distance_m = np.append(np.geomspace(near, far, POINTS), beside.distance_m)
    return LineResponse(
        hz=hz,
        level_db=curve.level_db,
        top=line_level.low_pass(source_ohm, run.input_ohm, run.farad_per_m, laid.length_m),
        distance_m=distance_m,
        pickup=line_level.pickup(
            beside.ripple_a, beside.ripple_hz, beside.along_m, distance_m, beside.spacing_m, beside.pitch_m
        ),
    )
