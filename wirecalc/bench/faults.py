"""Which fault of a run its readings are like: every fault of data/wiring_faults.csv by Bayes' rule.

A fault that can be small or large is a row of points over its spread, each as likely as the spread says. For every
point the readings have a mean and, to first order, a covariance: length, wire and joints stray in ohm and volts alike.
The likelihood of a fault is the sum over its points.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wirecalc import tables
from wirecalc.bench.meter import LIMIT_TO_DEVIATION, Meter
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import METALS, Conductor, metric_sizes_mm2

Array = NDArray[np.float64]
Cause = Literal[
    "open", "joint", "swapped", "channels", "speaker", "leads", "shorted", "chafed", "thinner", "thicker", "metal",
    "longer", "shorter", "parallel", "before",
]  # fmt: skip
End = Literal["right", "swapped", "other", "none"]
ENDS: dict[End, str] = {
    "right": "the right end answers",
    "swapped": "+ and − are swapped",
    "other": "another circuit's end answers",
    "none": "no end answers",
}
"""What is found at the far end when the near one is touched."""

LEAST_INSULATION_OHM = 0.5e6  # of circuits of extra low voltage: IEC 60364-6, table of insulation values; from memory
"""Of a finished circuit, read at 250 V with every device unplugged: valid from 10 to 40 degC and dry; it halves with
each 10 K or so, and with electronics left on, or with the few volts of a multimeter, it says nothing. [ohm]"""
PER_SIZE = 92.0 ** (2 / 39)  # area of a gauge over that of the next thinner: ASTM B258
CLEAR_RATIO = 1.2  # metals nearer to each other than this are not told apart by such a reading
POINTS = 400
USUAL_SPEAKERS_OHM = (2.0, 4.0, 8.0)  # nominal, where it is not known: common practice, no source
SIZES_OFF, EVEN_OFTENER = 6, 4.0  # shops stock even gauges: common practice, no source
_MISREAD = 0.02  # of readings that are no number: common practice, no source
_BLUNDER = 1e-4  # of numbers that mean nothing
_SHORT_OHM = 100.0  # less than this between two that must not touch is a short
_LOWEST_INSULATION_OHM = 0.01
_DEAD_V = 0.1  # what a meter shows where nothing arrives


@dataclass(frozen=True, kw_only=True)
class FaultKind:
    """One row of data/wiring_faults.csv."""

    key: Cause
    name: str
    applies: Literal["all", "pair", "loudspeaker", "parallel", "copper", "fed"]
    weight: float
    """How often, against the others."""
    low: float
    high: float
    """What it spreads over: ohm of a joint, share of the length, and so on; nan for a fault without more or less."""
    spread: str
    """"log", "even", or nothing."""
    mend: str


KINDS = tables.keyed("wiring_faults", FaultKind, key="fault")


@dataclass(frozen=True, kw_only=True)
class FedBy:
    """What brings current to a circuit's device while its volts are read."""

    source_v: float
    source_dev_v: float
    """One standard deviation. [V]"""
    load_ohm: float
    """Of the device, or of all that is behind: volts over amperes there. [ohm]"""
    load_share: float
    """One standard deviation of it, as a share."""
    rest_ohm: float
    """In the way, without this circuit. [ohm]"""
    meter_v: float
    """One standard deviation of the voltmeter. [V]"""
    across: bool = False
    """Read along the wire, as of a ground; else at the device."""
    tone: bool = False
    """An alternating test tone, set at the circuit's own source: a meter shows no sign of it, and nothing is shared."""


@dataclass(frozen=True, kw_only=True)
class Right:
    """A run as it was planned, and how far good ones stray: one standard deviation each."""

    conductor: Conductor
    wire_ohm: float
    """Out and back for a pair, without joints and leads. [ohm]"""
    wire_share: float
    joints_ohm: float
    joints_dev_ohm: float
    leads_ohm: float
    meter: Meter
    pair: bool = True
    parallel: int = 1
    speaker_ohm: float | None = None
    """Nominal, of the loudspeaker at its end; nan for one that is not known. [ohm]"""
    fed: FedBy | None = None

    def has(self, kind: FaultKind) -> bool:
        """Whether a run of this sort can have such a fault."""
        return {
            "all": True,
            "pair": self.pair,
            "loudspeaker": self.speaker_ohm is not None,
            "parallel": self.parallel > 1,
            "copper": bool(_metals(self)),
            "fed": self.fed is not None and not self.fed.tone,
        }[kind.applies]


@dataclass(frozen=True, kw_only=True)
class AsRead:
    """What was read; None for what was not. Resistance or insulation of no path ("OL") is infinite."""

    ohm: float | None = None
    insulation_ohm: float | None = None
    end: End | None = None
    volts: float | None = None

    @property
    def any(self) -> bool:
        """Whether there is one."""
        return any(reading is not None for reading in (self.ohm, self.insulation_ohm, self.end, self.volts))


@dataclass(frozen=True, kw_only=True, eq=False)
class Effect:
    """What a fault does to the readings, point by point. (k,) arrays that broadcast."""

    value: Array
    """What is varied: ohm, sizes, ratio, share, metres over metres."""
    weight: Array
    times: Array | float = 1.0
    """Of the wire's resistance."""
    extra_ohm: Array | float = 0.0
    """More in this circuit."""
    meter_ohm: Array | float = 0.0
    """More at the meter alone."""
    before_ohm: Array | float = 0.0
    """More before this circuit."""
    joints: float = 1.0
    """Share of the joints that the meter reads."""
    path: bool = True
    """False where the ohmmeter finds none."""
    feeds: float = 1.0
    """0 where the device gets nothing, -1 where it gets it the wrong way round."""
    end: End = "right"
    insulation: Literal["good", "short", "hurt"] = "good"
    smooth: bool = False
    """Whether the points stand for all that lies between them."""


def effects(right: Right) -> Iterator[tuple[FaultKind, Effect]]:
    """What each fault that such a run can have does to its readings."""
    for kind in KINDS.values():
        if right.has(kind):
            yield kind, _effect(kind, right)


def fine() -> Effect:
    """Of a run without a fault."""
    return Effect(value=np.zeros(1), weight=np.ones(1))


def _effect(kind: FaultKind, right: Right) -> Effect:
    value, smooth = np.zeros(1), bool(kind.spread)
    if smooth:
        share = (np.arange(POINTS) + 0.5) / POINTS
        low, high = np.log((kind.low, kind.high)) if kind.spread == "log" else (kind.low, kind.high)
        value = low + share * (high - low)
        value = np.exp(value) if kind.spread == "log" else value
    weight = np.full(len(value), 1 / len(value))
    match kind.key:
        case "open":
            return Effect(value=value, weight=weight, path=False, feeds=0.0, end="none")
        case "joint":
            return Effect(value=value, weight=weight, extra_ohm=value, smooth=True)
        case "swapped":
            return Effect(value=value, weight=weight, end="swapped", feeds=-1.0)
        case "channels":
            return Effect(value=value, weight=weight, path=False, end="other")
        case "speaker":
            known = right.speaker_ohm is not None and not math.isnan(right.speaker_ohm)
            nominal = np.array([right.speaker_ohm] if known else USUAL_SPEAKERS_OHM, dtype=float)
            ohm = np.sort((nominal[:, None] * value).ravel())
            weight = np.full(len(ohm), 1 / len(ohm))
            return Effect(value=ohm, weight=weight, meter_ohm=ohm, smooth=True)
        case "leads":
            return Effect(value=value, weight=weight, meter_ohm=value, smooth=True)
        case "shorted":
            times = value if right.pair else np.ones(len(value))
            return Effect(value=value, weight=weight, times=times, joints=0.5 if right.pair else 1.0, feeds=0.0,
                          insulation="short", smooth=right.pair)  # fmt: skip
        case "chafed":
            return Effect(value=value, weight=weight, insulation="hurt")
        case "before":
            return Effect(value=value, weight=weight, before_ohm=value, smooth=True)
        case "longer" | "shorter":
            return Effect(value=value, weight=weight, times=value, smooth=True)
        case "thinner" | "thicker":
            sizes, weight = _sizes_off(right.conductor, thinner=kind.key == "thinner")
            return Effect(value=sizes, weight=weight, times=sizes)
        case "metal":
            ratios = np.array(list(_metals(right).values()))
            return Effect(value=ratios, weight=np.full(len(ratios), 1 / len(ratios)), times=ratios)
        case "parallel":
            times = np.array([ratio for ratio, _ in conductors_off(right)])
            return Effect(value=np.arange(1.0, len(times) + 1), weight=np.full(len(times), 1 / len(times)), times=times)


def _metals(right: Right) -> dict[str, float]:
    """Metals of a clearly larger resistance, by how many times."""
    own = right.conductor.metal.ohm_m_20c
    return {key: metal.ohm_m_20c / own for key, metal in METALS.items() if metal.ohm_m_20c / own > CLEAR_RATIO}


def conductors_off(right: Right) -> list[tuple[float, str]]:
    """Of conductors side by side, one that is off: times the resistance, and where."""
    without = right.parallel / (right.parallel - 1)
    return [((1 + without) / 2, "of one way"), (without, "of each way")] if right.pair else [(without, "")]


def _sizes_off(conductor: Conductor, *, thinner: bool) -> tuple[Array, Array]:
    """Times the resistance of the sizes that it may be by mistake, the nearest likeliest, and their weights."""
    if "mm²" in conductor.label:
        own = conductor.area_m2 * 1e6
        sizes = sorted((mm2 for mm2 in metric_sizes_mm2() if (mm2 < 0.99 * own) == thinner), reverse=thinner)
        sizes = [size for size in sizes if abs(size / own - 1) > 0.05][: SIZES_OFF // 2]
        times = np.array([own / size for size in sizes] or [1.26 if thinner else 1 / 1.26])
        weight = 0.5 ** np.arange(len(times))
    else:
        steps = np.arange(1, SIZES_OFF + 1)
        times = PER_SIZE ** (steps if thinner else -steps)
        weight = 0.5 ** (steps / 2) * np.where(steps % 2 == 0, EVEN_OFTENER, 1.0)
    return times, weight / weight.sum()


def posterior(right: Right, read: AsRead) -> dict[Cause, float]:
    """How likely each fault is, given that there is one, the likeliest first.

    Parameters
    ----------
    right : Right
    read : AsRead

    Returns
    -------
    dict of str to float
        By the keys of `KINDS` that such a run can have; they sum to 1. Empty where nothing was read.

    Notes
    -----
    Bayes' rule with the weights of data/wiring_faults.csv. What one cannot tell apart from the readings comes in the
    order of those weights. Where a resistance without a path is all that was read, a fault that leaves one is out.
    """
    if not read.any:
        return {}
    no_path = read == AsRead(ohm=math.inf)  # alone, from tips held on bare ends: no loop that is whole reads so
    odds: dict[Cause, float] = {
        kind.key: 0.0 if no_path and effect.path else kind.weight * likelihood(right, effect, read)
        for kind, effect in effects(right)
    }
    total = sum(odds.values())
    return {key: cause_odds / total for key, cause_odds in sorted(odds.items(), key=lambda each: -each[1])}


def likelihood(right: Right, effect: Effect, read: AsRead) -> float:
    """How likely such readings are with such a fault, up to a factor that is the same for all faults.

    Parameters
    ----------
    right : Right
        What a circuit without fault would read.
    effect : Effect
        What the fault does to it.
    read : AsRead
        What was read.

    Returns
    -------
    float
        0 or above.
    """
    known = _worded(effect, read)
    if read.ohm is not None and (math.isinf(read.ohm) or not effect.path):
        known *= (1 - _MISREAD if math.isinf(read.ohm) else _MISREAD * _flat(read.ohm)) if not effect.path else _MISREAD
        read = AsRead(volts=read.volts)
    mean, covariance = spread(right, effect)
    given = np.array([math.nan if reading is None else reading for reading in (read.ohm, read.volts)])
    told = ~np.isnan(given)
    if not told.any():
        return known
    off = (given - mean)[:, told]
    covariance = covariance[:, told][:, :, told]
    solved = np.linalg.solve(covariance, off[..., None])[..., 0]
    exponent = -0.5 * np.sum(off * solved, axis=1)
    density = np.exp(exponent) / np.sqrt(np.linalg.det(2 * math.pi * covariance))
    flat = np.prod([_flat(reading) for reading in given[told]])
    return float(known * ((1 - _BLUNDER) * np.sum(effect.weight * density) + _BLUNDER * flat))


def _flat(value: float) -> float:
    """A density that is nowhere near 0."""
    return 0.1 / (1 + abs(value))


def _worded(effect: Effect, read: AsRead) -> float:
    """Likelihood of which end answers, and of the insulation."""
    known = 1.0
    if read.end is not None:
        known *= 1 - _MISREAD if read.end == effect.end else _MISREAD / (len(ENDS) - 1)
    if read.insulation_ohm is not None:
        good = read.insulation_ohm >= LEAST_INSULATION_OHM
        bounds = {"good": (_LOWEST_INSULATION_OHM, LEAST_INSULATION_OHM), "short": (_LOWEST_INSULATION_OHM, _SHORT_OHM),
                  "hurt": (_SHORT_OHM, LEAST_INSULATION_OHM)}  # fmt: skip
        low, high = bounds[effect.insulation]
        is_so = low <= max(read.insulation_ohm, _LOWEST_INSULATION_OHM) < high
        likely = 1 - _MISREAD if effect.insulation != "good" else _MISREAD
        if good:
            known *= 1 - likely
        else:
            known *= likely / math.log(high / low) if is_so else _MISREAD * likely
    return known


def spread(right: Right, effect: Effect) -> tuple[Array, Array]:
    """What is read with a fault, point by point.

    Parameters
    ----------
    right : Right
        What a circuit without fault would read.
    effect : Effect
        What the fault does to it, at k points of its spread.

    Returns
    -------
    mean : (k, 2) ndarray
        Of ohm and volts; volts are nan where the circuit is not fed. [ohm, V]
    covariance : (k, 2, 2) ndarray
    """
    count = len(effect.value)
    times, extra, meter, before = (
        np.broadcast_to(np.asarray(quantity, dtype=float), count)
        for quantity in (effect.times, effect.extra_ohm, effect.meter_ohm, effect.before_ohm)
    )
    wire, joints = times * right.wire_ohm, effect.joints * right.joints_ohm
    ohm = wire + joints + extra + meter + right.leads_ohm
    error = right.meter.error_ohm(ohm) * LIMIT_TO_DEVIATION
    if right.leads_ohm:
        error = np.hypot(error, right.meter.error_ohm(right.leads_ohm) * LIMIT_TO_DEVIATION)
    # one column for each of wire, joints, load and source
    ohm_by = np.stack([wire * right.wire_share, np.full(count, effect.joints * right.joints_dev_ohm),
                       np.zeros(count), np.zeros(count)], axis=1)  # fmt: skip
    volts, volts_by, volts_error = np.full(count, math.nan), np.zeros((count, 4)), 1.0
    if right.fed is not None:
        volts, volts_by, volts_error = _volts(right, right.fed, effect, wire + extra + right.joints_ohm, before, wire)
    mean = np.stack([ohm, volts], axis=1)
    by = np.stack([ohm_by, volts_by], axis=1)
    covariance = by @ by.transpose(0, 2, 1)
    covariance[:, 0, 0] += error**2
    covariance[:, 1, 1] += volts_error**2
    if effect.smooth and count > 1:  # each point stands for what lies around it
        step = np.nan_to_num(np.gradient(mean, axis=0)) / 2
        covariance += step[:, :, None] * step[:, None, :]
    return mean, covariance


def _volts(
    right: Right, fed: FedBy, effect: Effect, own: Array, before: Array, wire: Array
) -> tuple[Array, Array, float]:
    """Mean, what each unsure input does by one standard deviation, and the meter's own."""
    if effect.feeds == 0.0:
        count = len(own)
        dead = np.full(count, fed.source_v if fed.across and not effect.path else 0.0)
        return dead, np.zeros((count, 4)), math.hypot(fed.meter_v, _DEAD_V)
    whole = fed.load_ohm + fed.rest_ohm + before + own
    sign = 1.0 if fed.across or fed.tone else effect.feeds
    part = own if fed.across else np.full(len(own), fed.load_ohm)
    volts = sign * fed.source_v * part / whole
    by_own = sign * fed.source_v * ((whole - own) if fed.across else -part) / whole**2
    by_load = fed.source_v * fed.load_ohm * (-own if fed.across else whole - fed.load_ohm) / whole**2
    by = np.stack(
        [
            by_own * wire * right.wire_share,
            by_own * right.joints_dev_ohm,
            sign * by_load * fed.load_share,
            sign * part / whole * fed.source_dev_v,
        ],
        axis=1,
    )
    return volts, by, fed.meter_v
