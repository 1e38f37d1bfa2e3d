"""What a meter should read in each circuit of a plan: resistance, insulation and volts, each with its band."""

from __future__ import annotations

import math

from wirecalc.bench.faults import LEAST_INSULATION_OHM, FedBy, Right, fine, spread
from wirecalc.bench.finished import COVER, Expected, FinishedRun, expected, in_ohm, right_of
from wirecalc.bench.meter import LIMIT_TO_DEVIATION, Accuracy
from wirecalc.built.record import Visit
from wirecalc.circuits.loudspeaker import LOWEST_OF_RATED
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.fields import FACTORY_SIGNAL, LOUDSPEAKER, SUBWOOFER
from wirecalc.vehicle.model import Device
from wirecalc.vehicle.network import STATES
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.vehicle.supply import Supply

VOLTMETER, VOLT_COUNT_V = Accuracy(share=0.005, counts=2), 0.01  # a usual handheld meter: common practice, no source
LOAD_SHARE = 0.2 / math.sqrt(6)  # what a device draws is within 20 %, nearer likelier: common practice, no source
CHARGE_V = 0.4 / math.sqrt(3)  # a battery whose volts were not read is within 0.4 V: common practice, no source
INSULATION = f"{LEAST_INSULATION_OHM / 1e6:g} MΩ or more"
INSULATION_SOURCE = "IEC 60364-6, extra low voltage; published value, copy not checked"
TONE_METER, TONE_COUNT_V = Accuracy(share=0.01, counts=3), 1e-3  # alternating volts: common practice, no source
TONE_HZ = 100  # a handheld meter reads it, and a door speaker plays it: common practice, no source
SPEAKER_LIKELY = 1.2
"""Over a speaker's nominal impedance, what it likely is at such a tone: between `LOWEST_OF_RATED` and its resonance,
common practice, no source."""
INPUT_SHARE = 0.1  # of a line input's impedance: common practice, no source; next to a wire it decides nothing
TONE_CAUTION = (
    f"Test tone: a sine of {TONE_HZ} Hz, read on the meter's range for alternating volts. Unplug tweeters first and"
    " skip their runs. Turn the level up from zero until the terminals that give the tone read the volts under Test"
    " tone, no higher: a steady tone heats a coil far more than music does, and hurts ears. Make it short."
)
_LEAST_A = 1e-6


@dataclass(frozen=True, kw_only=True)
class Should:
    """What a good circuit reads."""

    circuit: Circuit
    ohm: Expected
    """Of a pair its loop with the far end joined, else from end to end."""
    right: Right
    volts: tuple[float, float, float] | None
    """Lower end of the band, as planned, upper end; None where none are read. [V]"""
    end: str
    """Kind of the device at its end."""
    along: bool
    """Whether volts are read along the wire, as of a ground; else at the device."""

    @property
    def pair(self) -> bool:
        """Whether it goes out and back by wire."""
        return self.right.pair

    @property
    def tone(self) -> bool:
        """Whether its volts are those of a test tone, as of a speaker; else of the supply."""
        return self.right.fed is not None and self.right.fed.tone

    @property
    def fed_v(self) -> float:
        """What feeds it while its volts are read; nan where none are. [V]"""
        return math.nan if self.right.fed is None else self.right.fed.source_v

    @property
    def ohm_in_words(self) -> str:
        """The band of the resistance."""
        return f"{in_ohm(self.ohm.low_ohm)} to {in_ohm(self.ohm.high_ohm)}"

    @property
    def volts_in_words(self) -> str:
        """The band of the volts; empty where none are read."""
        if self.volts is None:
            return ""
        low, _, high = self.volts
        if self.along:
            return f"{1e3 * max(low, 0.0):.0f} to {1e3 * high:.0f} mV along it"
        if self.tone:
            return f"{low:.2f} to {high:.2f} V of a {self.fed_v:g} V tone"
        return f"{low:.2f} to {high:.2f} V"


def should(plan: Plan, visit: Visit) -> tuple[Should, ...]:
    """What every circuit of a plan should read.

    Parameters
    ----------
    plan : Plan
    visit : Visit
        Says the meter, its leads, how warm the wires are, the battery's volts and the state that it is read in.

    Returns
    -------
    tuple of Should
        One for each circuit, in the plan's order.

    Notes
    -----
    Volts: the plan's network in that state, as one source, one load and all that lies between them; a battery whose
    volts were read replaces the plan's. A speaker's or signal's run has those of a test tone instead, which is set at
    the terminals that give it.
    """
    return tuple(_should(plan, visit, circuit) for circuit in plan.circuits)


def _should(plan: Plan, visit: Visit, circuit: Circuit) -> Should:
    wire = circuit.wire
    run = FinishedRun(
        conductor=circuit.conductor, length_m=wire.length_m, parallel=wire.parallel, joints_ohm=wire.joints_ohm,
        temperature_c=visit.wires_c, ways=circuit.laid.ways, leads_ohm=visit.leads_ohm,
    )  # fmt: skip
    end = plan.vehicle.device(wire.end)
    speaker_ohm = None
    if end.kind in (LOUDSPEAKER, SUBWOOFER):
        speaker_ohm = math.nan if end.impedance_ohm is None else end.impedance_ohm
    fed = _toned(visit, circuit, end) or _fed(plan.supply, visit, circuit, float(run.loop(leads_ohm=0.0)))
    right = right_of(run, visit.meter, speaker_ohm=speaker_ohm, fed=fed)
    return Should(circuit=circuit, ohm=expected(run, visit.meter), right=right, volts=_volts(right),
                  end=end.kind, along=circuit.kind == "ground")  # fmt: skip


def _volts(right: Right) -> tuple[float, float, float] | None:
    if right.fed is None:
        return None
    mean, covariance = spread(right, fine())
    at, half = float(mean[0, 1]), COVER * math.sqrt(covariance[0, 1, 1])
    return at - half, at, at + half


def _toned(visit: Visit, circuit: Circuit, end: Device) -> FedBy | None:
    """A test tone, set across the terminals of what gives it; None for what carries supply."""
    if circuit.kind not in ("speaker", "subwoofer", "line", FACTORY_SIGNAL):
        return None
    if end.kind in (LOUDSPEAKER, SUBWOOFER):
        load_ohm, share = end.impedance_ohm, (SPEAKER_LIKELY - LOWEST_OF_RATED) / SPEAKER_LIKELY / COVER
        load_ohm = None if load_ohm is None else SPEAKER_LIKELY * load_ohm
    else:
        load_ohm, share = end.line_in_ohm, INPUT_SHARE
    if load_ohm is None:
        return None
    read_v = float(TONE_METER.limit(visit.tone_v, TONE_COUNT_V)) * LIMIT_TO_DEVIATION
    return FedBy(
        source_v=visit.tone_v, source_dev_v=read_v, load_ohm=load_ohm, load_share=share, rest_ohm=0.0, meter_v=read_v,
        tone=True,
    )  # fmt: skip


def _fed(solved: Supply, visit: Visit, circuit: Circuit, own_ohm: float) -> FedBy | None:
    """What feeds a circuit in the state that it is read in; None for what carries no supply, or has no answer."""
    wire, wiring = circuit.wire, solved.wiring
    if wire.name not in wiring.places:
        return None
    state = next(place for place, each in enumerate(STATES) if each.name == visit.state)
    posts_v = float(solved.posts_v[state])
    current_a = max(abs(float(solved.current_a[state, wiring.places[wire.name]])), _LEAST_A)
    along = circuit.kind == "ground"
    end_v = posts_v - current_a * own_ohm if along else abs(_end_v(solved, circuit)[state])
    if not (math.isfinite(posts_v) and math.isfinite(end_v)) or end_v <= 0:
        return None
    source_v = posts_v if visit.battery_v is None else visit.battery_v
    error_v = float(VOLTMETER.limit(source_v, VOLT_COUNT_V)) * LIMIT_TO_DEVIATION
    at_v = current_a * own_ohm if along else end_v
    return FedBy(
        source_v=source_v,
        source_dev_v=CHARGE_V if visit.battery_v is None else error_v,
        load_ohm=end_v / current_a,
        load_share=LOAD_SHARE,
        rest_ohm=max((posts_v - end_v) / current_a - own_ohm, 0.0),
        meter_v=float(VOLTMETER.limit(at_v, VOLT_COUNT_V / 100 if along else VOLT_COUNT_V)) * LIMIT_TO_DEVIATION,
        across=along,
    )


def _end_v(solved: Supply, circuit: Circuit) -> list[float]:
    """At a wire's end against its device's own minus, or the battery's where it has none, in each state. [V]"""
    wiring, wire = solved.wiring, circuit.wire
    minus = wiring.minus(wire.end)
    if minus not in wiring.nodes:
        minus = (wiring.battery.name, "minus")
    return [float(volts) for volts in solved.at_v(wiring.ends(wire)[1], minus)]
