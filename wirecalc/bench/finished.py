"""A finished run at the bench: what an ohmmeter should read, and what a wrong reading is like.

The far end is shorted, the meter reads the loop: out, back, all joints, and its own leads.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.bench.faults import KINDS, PER_SIZE, AsRead, Cause, Right, conductors_off, posterior
from wirecalc.bench.meter import Meter
from wirecalc.circuits.device import NOMINAL_V
from wirecalc.errors import check
from wirecalc.runs.tolerance import Uncertain, first_order, run_inputs
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import (
    AWG_THICKEST,
    AWG_THINNEST,
    COLDEST_C,
    HOTTEST_C,
    METALS,
    REFERENCE_C,
    Conductor,
    at_temperature,
    awg_label,
    gauge,
    metric_sizes_mm2,
)

Array = NDArray[np.float64]
Outcome = Literal["in band", "high", "low", "open", "under leads"]

COVER = 2.0  # standard deviations either side: 95 % of good runs read inside (JCGM 100 6.2, from memory)
TEMPERATURE_K = 5.0  # half-width of a temperature that was felt or read nearby; common practice, no source
LEAST_SHARE = 1 / 500  # of faults that are shown
COARSE = 0.25  # of the wire's own resistance: with a wider half band a gross fault passes; common practice, no source
HEATS_A = 10.0  # current at which a bad joint's heat is told


@dataclass(frozen=True, kw_only=True)
class FinishedRun:
    """A pair that lies in the vehicle, its far end joined; or one conductor, read from end to end."""

    conductor: Conductor
    length_m: float
    """One way. [m]"""
    parallel: int = 1
    """Like conductors side by side, each way."""
    joints_ohm: float = 0.0
    """All of the loop together. [ohm]"""
    temperature_c: float = REFERENCE_C
    """Of the conductor. [degC]"""
    ways: Literal[1, 2] = 2
    """2 for a pair, 1 for one conductor from end to end."""
    leads_ohm: float = 0.0
    """What the meter reads with its tips held together; 0 where it was zeroed so. [ohm]"""

    def __post_init__(self) -> None:
        check("Meter leads", self.leads_ohm, "ohm", low=0, high=10)
        self.loop()

    def loop(self, **other: ArrayLike) -> Array:
        """What the meter should read, with any uncertain value given otherwise. Broadcasts. [ohm]"""
        kelvin = other.get("temperature_c", self.temperature_c)
        per_m = at_temperature(self.conductor.ohm_per_m_20c, kelvin, self.conductor.metal)
        run = loop_ohm(
            per_m * np.asarray(other.get("resistance_ratio", 1.0)),
            other.get("length_m", self.length_m),
            parallel=self.parallel,
            joints_ohm=other.get("joints_ohm", self.joints_ohm),
            ways=self.ways,
        )
        return np.asarray(
            run + np.asarray(other.get("leads_ohm", self.leads_ohm)) + np.asarray(other.get("meter_ohm", 0.0))
        )

    @property
    def wire_ohm(self) -> float:
        """Out and back, without joints and leads. [ohm]"""
        return float(self.loop(joints_ohm=0.0, leads_ohm=0.0))


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What a good run reads."""

    run: FinishedRun
    meter: Meter
    ohm: float
    """With every input as given. [ohm]"""
    low_ohm: float
    high_ohm: float
    """The band that holds 95 % of good runs. [ohm]"""
    shares: dict[str, float]
    """Input -> its share of the variance, the largest first."""

    @property
    def coarse(self) -> bool:
        """The band is so wide, against the wire's own resistance, that a gross fault can pass."""
        return (self.high_ohm - self.low_ohm) / 2 > COARSE * self.run.wire_ohm


def inputs(run: FinishedRun, meter: Meter) -> dict[str, Uncertain]:
    """What is uncertain about the reading: data/tolerances.csv, the temperature by 5 K, the meter as its maker says.

    Parameters
    ----------
    run : FinishedRun
        As it was planned.
    meter : Meter
        What it is measured with.

    Returns
    -------
    dict of str to Uncertain
        By the name of the input, in its own SI unit.
    """
    usual = run_inputs(run.length_m, run.temperature_c, run.joints_ohm)
    spreads = {name: usual[name] for name in ("length_m", "joints_ohm", "resistance_ratio")}
    spreads["temperature_c"] = Uncertain(
        value=run.temperature_c,
        spread=TEMPERATURE_K,
        shape="uniform",
        low=COLDEST_C,
        high=HOTTEST_C,
        name="Conductor temperature",
    )
    error_ohm = float(meter.error_ohm(run.loop()))
    spreads["meter_ohm"] = Uncertain(value=0.0, spread=error_ohm, shape="uniform", name="Meter")
    if run.leads_ohm > 0:  # read by the same meter, and taken off by hand
        error_ohm = float(meter.error_ohm(run.leads_ohm))
        spreads["leads_ohm"] = Uncertain(
            value=run.leads_ohm, spread=error_ohm, shape="uniform", low=0, name="Meter leads"
        )
    return spreads


def expected(run: FinishedRun, meter: Meter) -> Expected:
    """What a good run reads, and the band around it.

    Parameters
    ----------
    run : FinishedRun
    meter : Meter

    Returns
    -------
    Expected

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The band is the mean and two standard deviations either side, by `wirecalc.runs.tolerance.first_order`.

    Examples
    --------
    >>> from wirecalc.wire.conductor import awg
    >>> good = expected(FinishedRun(conductor=awg(16), length_m=5.5), Meter(share=0.005, counts=2, count_ohm=1e-3))
    >>> [round(1e3 * one) for one in (good.low_ohm, good.ohm, good.high_ohm)]
    [140, 148, 157]
    """
    band = first_order(lambda **given: {"ohm": run.loop(**given)}, inputs(run, meter), ["ohm"])["ohm"]
    return Expected(
        run=run,
        meter=meter,
        ohm=float(run.loop()),
        low_ohm=max(0.0, band.mean - COVER * band.deviation),
        high_ohm=band.mean + COVER * band.deviation,
        shares=band.shares,
    )


@dataclass(frozen=True, kw_only=True)
class Like:
    """One fault that the readings are like."""

    cause: Cause
    share: float
    """How likely, given that there is one fault. [0 to 1]"""
    value: float
    """Ohm of the joint or load, gauge sizes, ratio of resistivities, metres, ways that are off; nan for none."""
    words: str
    mend: str
    """What to do about it."""


@dataclass(frozen=True, kw_only=True)
class ReadingVerdict:
    """A reading held against what was expected."""

    expected: Expected
    reading_ohm: float
    outcome: Outcome
    likes: tuple[Like, ...]

    @property
    def excess_ohm(self) -> float:
        """Reading less what was expected. [ohm]"""
        return self.reading_ohm - self.expected.ohm

    def in_words(self) -> str:
        """The verdict in a sentence or two."""
        expected = self.expected
        band, read = f"{in_ohm(expected.low_ohm)} to {in_ohm(expected.high_ohm)}", in_ohm(self.reading_ohm)
        if self.outcome == "open":
            return (
                "The meter shows no path: the run is open, a plug is not on, or the far end is not shorted. "
                f"A good run reads {band}."
            )
        if self.outcome == "under leads":
            return (
                f"{read} is less than the meter's leads alone ({in_ohm(expected.run.leads_ohm)}): hold the tips "
                "together and read them again. If that holds, the run is shorted where the meter is."
            )
        if self.outcome == "in band":
            doubt = " But this meter cannot tell a good run from a bad one" if expected.coarse else ""
            how = ": use a finer range, four wires, or the drop at a known current." if doubt else ""
            return f"{read} is in the band of a good run, {band}.{doubt}{how}"
        side = "too high" if self.outcome == "high" else "too low"
        return f"{read} is {_in_counts(abs(self.excess_ohm), expected.meter)} {side}: a good run reads {band}."


@takes_units
def judge_reading(expected: Expected, reading_ohm: float) -> ReadingVerdict:
    """Hold a reading against what was expected, and say which faults would read so.

    Parameters
    ----------
    expected : Expected
    reading_ohm : float
        As the meter shows it, leads included; infinite for "OL". [ohm]

    Returns
    -------
    ReadingVerdict

    Raises
    ------
    InputError
        If the reading is below 0.
    """
    reading = float(check("Reading", reading_ohm, "ohm", low=0))
    leads_ohm = expected.run.leads_ohm
    outcome: Outcome = "in band"
    if math.isinf(reading):
        outcome = "open"
    elif reading > expected.high_ohm:
        outcome = "high"
    elif reading < min(expected.low_ohm, leads_ohm - float(expected.meter.error_ohm(leads_ohm))):
        outcome = "under leads"
    elif reading < expected.low_ohm:
        outcome = "low"
    off = outcome not in ("in band", "under leads")
    ranked = likes(expected, AsRead(ohm=reading), right_of(expected.run, expected.meter)) if off else ()
    return ReadingVerdict(expected=expected, reading_ohm=reading, outcome=outcome, likes=ranked)


def right_of(run: FinishedRun, meter: Meter, **other: Any) -> Right:
    """A run as the ranking of faults needs it.

    Parameters
    ----------
    run : FinishedRun
    meter : Meter
    **other
        What else is known of it: `fed`, `speaker_ohm`. See `wirecalc.bench.faults.Right`.

    Returns
    -------
    wirecalc.bench.faults.Right
    """
    usual = {name: uncertain.moments()[1] for name, uncertain in inputs(run, meter).items()}
    kelvin = usual["temperature_c"] * run.conductor.metal.per_k_20c
    return Right(
        conductor=run.conductor,
        wire_ohm=run.wire_ohm,
        wire_share=math.hypot(usual["length_m"] / run.length_m, usual["resistance_ratio"], kelvin),
        joints_ohm=run.joints_ohm,
        joints_dev_ohm=usual["joints_ohm"],
        leads_ohm=run.leads_ohm,
        meter=meter,
        pair=run.ways == 2,
        parallel=run.parallel,
        **{"speaker_ohm": math.nan if run.ways == 2 else None, **other},
    )


def likes(expected: Expected, read: AsRead, right: Right) -> tuple[Like, ...]:
    """Every fault that the readings are like, the likeliest first.

    Parameters
    ----------
    expected : Expected
        Of the resistance.
    read : wirecalc.bench.faults.AsRead
        At least one of them.
    right : wirecalc.bench.faults.Right
        The same run, see `right_of`.

    Returns
    -------
    tuple of Like
        Those of one in 500 or more.
    """
    likely = [(cause, share) for cause, share in posterior(right, read).items() if share >= LEAST_SHARE]
    return tuple(_like(expected, read.ohm, cause, share) for cause, share in likely)


def _like(expected: Expected, reading: float | None, cause: Cause, share: float) -> Like:
    """In words, with what the resistance says of its extent where it was read."""
    kind, run = KINDS[cause], expected.run
    value, words = math.nan, f"{kind.name[0].upper()}{kind.name[1:]}."
    if reading is not None and math.isfinite(reading):
        excess, ratio = reading - expected.ohm, (reading - run.leads_ohm - run.joints_ohm) / run.wire_ohm
        value, words = _extent(expected, cause, reading, excess, ratio) or (value, words)
    elif cause == "channels":
        words = "Channels swapped in a plug: the far end that you joined belongs to another pair."
    return Like(cause=cause, share=share, value=value, words=words, mend=kind.mend)


def _extent(expected: Expected, cause: Cause, reading: float, excess: float, ratio: float) -> tuple[float, str] | None:
    """How large a fault would give this reading; None where the reading does not say."""
    run = expected.run
    length_m = ratio * run.length_m
    if cause == "joint" and excess > 0:
        heat = f"at {HEATS_A:g} A it would make {excess * HEATS_A**2:.2g} W of heat in one spot"
        if excess * HEATS_A > NOMINAL_V:
            heat = f"nothing that takes {HEATS_A:g} A works through it"
        return excess, f"One bad crimp or plug of {_in_counts(excess, expected.meter)}; {heat}."
    if cause == "speaker" and excess > 0:
        speaker = _in_counts(excess, expected.meter)
        return excess, f"A speaker of {speaker} may still sit in the loop: is the far end joined by a bare wire?"
    if cause == "leads" and excess > 0:
        leads = _in_counts(excess, expected.meter)
        return excess, f"The meter's leads, {leads}, counted with the run: were its tips held together first?"
    if cause in ("thinner", "thicker") and ratio > 0:
        sizes = abs(math.log(ratio) / math.log(PER_SIZE))
        than = "its label" if cause == "thinner" else "entered"
        return sizes, f"Wire {sizes:.1f} gauge sizes {cause} than {than}, about as {_like_size(run.conductor, ratio)}."
    if cause == "metal":
        other = min(METALS.values(), key=lambda metal: abs(metal.ohm_m_20c / run.conductor.metal.ohm_m_20c / ratio - 1))
        times = other.ohm_m_20c / run.conductor.metal.ohm_m_20c
        return times, f"Wire of the right size, but of {other.name}: {times:.2f} times the resistance."
    if cause in ("longer", "shorter") and ratio > 0:
        more = "more" if cause == "longer" else "less"
        off_m = abs(length_m - run.length_m)
        return length_m, f"A run of {length_m:.1f} m one way, {off_m:.1f} m {more} than entered."
    if cause == "parallel":
        off = conductors_off(_counted(run))
        place = min(range(len(off)), key=lambda at: abs(off[at][0] - ratio))
        where = f" {off[place][1]}".rstrip()
        return place + 1.0, f"One of the {run.parallel} conductors side by side{where} is not connected."
    if cause == "shorted" and run.ways == 2 and reading < expected.low_ohm:
        return _shorted(expected, reading)
    return None


def _in_counts(ohm: float, meter: Meter) -> str:
    """As `in_ohm`, no finer than the meter's last digit; finer where that would leave nothing."""
    return in_ohm(round(ohm / meter.count_ohm) * meter.count_ohm or ohm)


def _counted(run: FinishedRun) -> Right:
    return right_of(run, Meter(share=0.0, counts=1, count_ohm=1e-3))


def _shorted(expected: Expected, reading: float) -> tuple[float, str]:
    """Where a pair is shorted, in metres from the meter."""
    run = expected.run
    per_m = run.wire_ohm / run.length_m
    # all joints may lie before the short, or none
    near_m, far_m = ((reading - run.leads_ohm - joints) / per_m for joints in (run.joints_ohm, 0.0))
    usual = inputs(run, expected.meter)
    ratio_off, kelvin_off = (usual[name].moments()[1] for name in ("resistance_ratio", "temperature_c"))
    share = COVER * math.hypot(ratio_off, kelvin_off * run.conductor.metal.per_k_20c)
    doubt_m = (
        float(expected.meter.error_ohm(reading) + (expected.meter.error_ohm(run.leads_ohm) if run.leads_ohm else 0))
        / per_m
    )
    ends = (near_m * (1 - share) - doubt_m, (near_m + far_m) / 2, far_m * (1 + share) + doubt_m)
    from_m, at_m, to_m = (min(max(metres, 0.0), run.length_m) for metres in ends)
    return at_m, f"Shorted early, at about {at_m:.1f} m from the meter (look from {from_m:.1f} to {to_m:.1f} m)."


def _like_size(conductor: Conductor, ratio: float) -> str:
    """The size, of the same system, whose resistance is nearest to `ratio` times this one's."""
    area_m2 = conductor.area_m2 / ratio
    if "mm²" not in conductor.label:  # counted by gauge
        return awg_label(min(max(round(float(gauge(area_m2))), AWG_THICKEST), AWG_THINNEST))
    return f"{min(metric_sizes_mm2(), key=lambda size: abs(math.log(size * 1e-6 / area_m2))):g} mm²"


@takes_units
def in_ohm(ohm: float) -> str:
    """A resistance as a meter shows it: mΩ below 1 Ω, kΩ from 1000 Ω on."""
    if 999.5 <= abs(ohm) < math.inf:
        return f"{ohm / 1e3:.3g} kΩ"
    return f"{ohm * 1e3:.3g} mΩ" if abs(ohm) < 0.9995 else f"{ohm:.3g} Ω"
