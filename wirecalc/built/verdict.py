"""Which circuit is off and the likeliest fault; and what changed between two visits."""

from __future__ import annotations

import math
from collections.abc import Sequence

from wirecalc.bench.faults import ENDS, LEAST_INSULATION_OHM, AsRead
from wirecalc.bench.finished import COVER, Like, in_ohm, likes
from wirecalc.bench.meter import LIMIT_TO_DEVIATION, show_reading
from wirecalc.built.record import Visit
from wirecalc.built.should import Should, should
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.plan import Plan
from wirecalc.wire.conductor import at_temperature


@dataclass(frozen=True, kw_only=True)
class AsBuilt:
    """One circuit: what it should read, what it does, and what is wrong."""

    should: Should
    read: AsRead
    wrong: tuple[str, ...]
    """What is off, in words; empty where all that was read is right, or nothing was."""
    likes: tuple[Like, ...]
    """The faults that would read so, the likeliest first; empty where nothing is off."""
    doubt: str
    """What the meter cannot tell; else empty."""

    @property
    def state(self) -> str:
        """In one word or two."""
        return "off" if self.wrong else "right" if self.read.any else "not read"

    @property
    def name(self) -> str:
        """Of the wire."""
        return self.should.circuit.wire.name

    @property
    def in_words(self) -> tuple[str, str, str, str, str, str]:
        """Resistance that it should read, what it reads, insulation, far end, volts that it should read, and reads."""
        read, volts = self.read, ""
        if read.volts is not None:
            volts = f"{1e3 * read.volts:.0f} mV" if self.should.along else f"{read.volts:.2f} V"
        end = "" if read.end is None else ENDS[read.end]
        return (self.should.ohm_in_words, show_reading(read.ohm), show_reading(read.insulation_ohm), end,
                self.should.volts_in_words, volts)  # fmt: skip


def as_built(plan: Plan, visit: Visit) -> tuple[AsBuilt, ...]:
    """Every circuit of a plan against what was read in one visit.

    Parameters
    ----------
    plan : Plan
    visit : Visit

    Returns
    -------
    tuple of AsBuilt
        In the plan's order.
    """
    circuits = [_held(each, visit.readings.get(each.circuit.wire.name, AsRead())) for each in should(plan, visit)]
    return tuple(_with_partner(each, circuits) for each in circuits)


def _held(expected: Should, read: AsRead) -> AsBuilt:
    wrong, doubt = [], ""
    if read.ohm is not None:
        if not expected.ohm.low_ohm <= read.ohm <= expected.ohm.high_ohm:
            shown = "no path" if math.isinf(read.ohm) else in_ohm(read.ohm)
            wrong.append(f"resistance {shown}; a good one reads {expected.ohm_in_words}")
        elif expected.ohm.coarse:
            doubt = "this meter cannot tell a good wire from a bad one: use a finer range, or the drop under load"
    if read.insulation_ohm is not None and read.insulation_ohm < LEAST_INSULATION_OHM:
        wrong.append(f"insulation {_ohm(read.insulation_ohm)}; {_ohm(LEAST_INSULATION_OHM)} or more")
    if read.end is not None and read.end != "right":
        wrong.append(f"at the far end, {ENDS[read.end]}")
    if read.volts is not None and expected.volts is not None:
        low, _, high = expected.volts
        if not low <= read.volts <= high:
            shown = f"{1e3 * read.volts:.0f} mV" if expected.along else f"{read.volts:.2f} V"
            wrong.append(f"{shown}; a good one reads {expected.volts_in_words}")
    ranked = likes(expected.ohm, read, expected.right) if wrong else ()
    return AsBuilt(should=expected, read=read, wrong=tuple(wrong), likes=ranked, doubt=doubt)


def _ohm(ohm: float) -> str:
    for limit, unit in ((1e6, "MΩ"), (1e3, "kΩ")):
        if ohm >= 0.9995 * limit or (unit == "MΩ" and ohm >= 0.5e6):
            return f"{ohm / limit:.3g} {unit}"
    return in_ohm(ohm)


def _with_partner(circuit: AsBuilt, every: Sequence[AsBuilt]) -> AsBuilt:
    """Channels are swapped in twos: name the other circuit that looks so."""
    if not circuit.likes or circuit.likes[0].cause != "channels":
        return circuit
    from_same = [
        each.name for each in every
        if each is not circuit and each.likes and each.likes[0].cause == "channels"
        and each.should.circuit.wire.start == circuit.should.circuit.wire.start
    ]  # fmt: skip
    if not from_same:
        return circuit
    first = circuit.likes[0]
    words = f"{first.words.rstrip('.')}: with {' or '.join(from_same)}, which reads the same."
    told = Like(cause=first.cause, share=first.share, value=first.value, words=words, mend=first.mend)
    return AsBuilt(
        should=circuit.should,
        read=circuit.read,
        wrong=circuit.wrong,
        likes=(told, *circuit.likes[1:]),
        doubt=circuit.doubt,
    )


def compared(plan: Plan, before: Visit, now: Visit) -> tuple[str, ...]:
    """What a second visit finds that the first did not.

    Parameters
    ----------
    plan : Plan
    before, now : Visit

    Returns
    -------
    tuple of str
        One sentence for each circuit that was read in both and has changed by more than the meters can differ, or was
        right and is off. Resistances are compared at 20 °C, without the meter's leads.
    """
    changes = []
    for was, is_now in zip(as_built(plan, before), as_built(plan, now), strict=True):
        if not (was.read.any and is_now.read.any):
            continue
        parts = []
        if was.read.ohm is not None and is_now.read.ohm is not None:
            parts += _moved(was, before, is_now, now)
        if was.state == "right" and is_now.state == "off":
            parts.append("was right, is off now")
        if was.state == "off" and is_now.state == "right":
            parts.append("was off, is right now")
        if parts:
            changes.append(f"{is_now.name}: {'; '.join(parts)}.")
    return tuple(changes)


def _moved(was: AsBuilt, before: Visit, is_now: AsBuilt, now: Visit) -> list[str]:
    first, second = was.read.ohm, is_now.read.ohm
    assert first is not None
    assert second is not None
    if math.isinf(first) or math.isinf(second):
        return (
            [] if math.isinf(first) == math.isinf(second) else ["no path now" if math.isinf(second) else "a path now"]
        )
    metal = was.should.circuit.conductor.metal
    at_20 = [
        (ohm - visit.leads_ohm) / float(at_temperature(1.0, visit.wires_c, metal))
        for ohm, visit in ((first, before), (second, now))
    ]
    doubt = COVER * math.hypot(
        *(float(visit.meter.error_ohm(ohm)) * LIMIT_TO_DEVIATION for ohm, visit in ((first, before), (second, now))),
        0.02 * at_20[0],  # a temperature that is 5 K off: data/tolerances.csv
    )
    change = at_20[1] - at_20[0]
    if abs(change) <= doubt:
        return []
    more = "more: look for a joint that grows" if change > 0 else "less"
    return [f"{in_ohm(at_20[0])} then, {in_ohm(at_20[1])} now at 20 °C, {in_ohm(abs(change))} {more}"]
