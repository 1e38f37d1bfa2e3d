"""The customer's page: why these wires, in plain words, with one picture and what is likely to be heard."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence

from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.handout.picture import Bar, picture, steps_db
from wirecalc import units
from wirecalc.runs.choose import LIMITS
from wirecalc.runs.words import heard
from wirecalc.vehicle.fields import ALTERNATOR
from wirecalc.vehicle.plan import Circuit

MOST_BARS, MOST_NAMES = 10, 2  # so that the page stays one
_LOSS = next(limit for limit in LIMITS["amplifier to speaker"] if limit.measure == "loss_db")


def bars(job: HandoutJob) -> list[Bar]:
    """Every speaker in the state in which it loses most, the worst first."""
    levels = job.plan.levels.sort_values("total_db", ascending=False).drop_duplicates("wire")
    return [
        Bar(name=row["loudspeaker"], feed_db=row["feed_db"], run_db=row["run_db"], load_w=row["load_w"])
        for row in levels.to_dict("records")
    ]


def customer(job: HandoutJob) -> str:
    """The page, without its heading."""
    return f"{_losses(bars(job))}<h3>Why these wires</h3><ul>{''.join(map(_item, _why(job)))}</ul>{_open(job)}{_WORDS}"


def _item(text: str) -> str:
    return f"<li>{html.escape(text)}</li>"


def _losses(bars: Sequence[Bar]) -> str:
    if not bars:
        return "<p>This plan has no speaker. Its wires feed other things in the vehicle.</p>"
    shown = bars[:MOST_BARS]
    rest = len(bars) - len(shown)
    title = "Loudness lost on the way to each speaker"
    lines = " ".join(f"Up to {step:g} dB: {heard(step)}" for step in steps_db(shown))
    caption = (
        "Loudness lost when everything plays at its loudest, in decibels. Striped: in the wire that feeds the"
        f" amplifier. Plain: in the wire to the speaker. The lines are steps of hearing. {lines}"
    )
    more = f" Only the {MOST_BARS} that lose most are drawn. {rest} more lose less." if rest else ""
    return (
        "<p>Every wire takes a little of the sound’s power. Thicker and shorter wires take less. The picture shows what"
        " each speaker loses. Compare it with what people can hear.</p>"
        f"<figure>{picture(shown, title)}<figcaption>{html.escape(caption + more)}</figcaption></figure>"
        f"<h3>What you are likely to hear</h3><ul>{_heard(bars)}</ul>"
    )


def _heard(bars: Sequence[Bar]) -> str:
    """Loudspeakers by what is heard of their loss."""
    groups: dict[str, list[Bar]] = {}
    for bar in bars:
        sentence = heard(max(bar.total_db, 0.0)) if math.isfinite(bar.total_db) else "There is no answer for that."
        groups.setdefault(sentence, []).append(bar)
    items = []
    for sentence, some in groups.items():
        known = [bar.total_db for bar in some if math.isfinite(bar.total_db)]
        least, most = (units.show(of(known), units.LEVEL) if known else "" for of in (min, max))
        lost = "" if not known else f" loses {most}" if len(some) == 1 else f" lose up to {most}"
        lost = f" lose {most} each" if len(some) > 1 and known and least == most else lost
        items.append(_item(f"{_named([bar.name for bar in some])}{lost}. {sentence}"))
    return "".join(items)


def _named(names: Sequence[str]) -> str:
    """Some names and how many more there are; never "1 more", which takes as much room as the name."""
    some = list(names[: MOST_NAMES + (len(names) == MOST_NAMES + 1)])
    more = len(names) - len(some)
    if more:
        some.append(f"{more} more")
    return some[0] if len(some) == 1 else f"{', '.join(some[:-1])} and {some[-1]}"


def _why(job: HandoutJob) -> list[str]:
    """Why the wires are as thick as they are, how warm they get, how they are fused, and why they are not thicker."""
    sentences = []
    vehicle = job.plan.vehicle
    feeds = [
        circuit for circuit in job.plan.circuits
        if circuit.kind in ("shared feed", "amplifier feed") and vehicle.device(circuit.wire.start).kind != ALTERNATOR
    ]  # fmt: skip
    known = [circuit for circuit in feeds if math.isfinite(circuit.measures["draw_a"])]
    if known:
        most = max(known, key=lambda circuit: circuit.measures["draw_a"])
        current = units.show(most.measures["draw_a"], units.CURRENT)
        sentences.append(
            f"“{most.wire.name}” carries up to {current}. So much current needs thick wire: thin wire would get warm,"
            " and the amplifiers would get too little."
        )
    fuses = sum(not isinstance(circuit.wire.fuse, str) for circuit in job.plan.circuits)
    if fuses:
        sentences.append(
            f"{fuses} of the wires {'has a fuse' if fuses == 1 else 'have fuses'}. A fuse guards its wire: it is there"
            " to open before a damaged wire can start a fire. Never put in a larger one."
        )
    warm = _warmest(job)
    if warm is not None:
        here, stands = (units.show(warm.measures[key], units.TEMPERATURE, digits=2) for key in _WARM)
        sentences.append(
            f"Of all wires “{warm.wire.name}” is nearest to its limit: {here} with music. Its cover stands {stands}."
        )
    bound = units.show(float(_LOSS.bound), units.LEVEL)
    sentences.append(
        f"We aim for at most {bound} lost in a wire to a speaker. {heard(float(_LOSS.bound))} Still thicker wire"
        " costs more, and few would hear what it brings."
    )
    return sentences


_WARM = ("temperature_c", "limit_c")


def _warmest(job: HandoutJob) -> Circuit | None:
    """The wire whose temperature comes nearest to the limit of its insulation."""
    hot = [circuit for circuit in job.plan.circuits if math.isfinite(circuit.measures.get("temperature_c", math.nan))]
    return min(hot, key=lambda circuit: circuit.measures["limit_c"] - circuit.measures["temperature_c"], default=None)


def _open(job: HandoutJob) -> str:
    """Limits that are broken and warnings that stand."""
    sentences = []
    if job.plan.problems:
        sentences.append("The battery and its wires cannot deliver all of this at the same time.")
    broken = [circuit.wire.name for circuit in job.plan.circuits if not circuit.meets]
    if broken:
        verb = "misses" if len(broken) == 1 else "miss"
        sentences.append(f"{_named(broken)} {verb} a limit that we set. The installer’s pages say which.")
    if not sentences:
        return ""
    return f"<h3>Not settled yet</h3><ul>{''.join(map(_item, sentences))}</ul>"


_WORDS = (
    '<h3>Words</h3><dl class="words">'
    "<dt>Decibel (dB)</dt><dd>A step of loudness. Three decibels less is half the power.</dd>"
    "<dt>Feed</dt><dd>The wire that brings battery power to an amplifier.</dd>"
    "<dt>Run</dt><dd>The wire from an amplifier to a speaker.</dd>"
    "<dt>Watt (W)</dt><dd>What power is counted in.</dd>"
    "<dt>Ampere (A)</dt><dd>What electric current is counted in.</dd></dl>"
)
