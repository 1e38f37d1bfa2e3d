"""Where no size keeps everything: why, and what helps, which is not thicker wire."""

from __future__ import annotations

import math
import re

from wirecalc.advice.demands import NO_WIRE
from wirecalc.advice.job import Job
from wirecalc.advice.pick import Advice, Judged, SizePick
from wirecalc.advice.words import missed_by_little
from wirecalc.mark import Mark, plain

_HEAT = ("temperature_c", "current_a", "fuse_a")
_SAFE, _WORTH = "No size keeps every rule of safety here", "No size keeps every rule and limit here"
_MORE_METAL = ("thicker wire", "two in parallel")  # all sizes were tried, alone and side by side


def thickest(job: Job, judged: Judged) -> int:
    """Place of the thickest size to choose from, of those that go into the terminal if any does.

    Parameters
    ----------
    job : Job
    judged : Judged
        Its sizes by themselves, thin to thick; the size asked about may stand behind them.

    Returns
    -------
    int
    """
    sizes = _own(job, judged)
    fitting = [at for at in sizes if judged.terminal is None or judged.terminal.kept[at]]
    return (fitting or list(sizes))[-1]


def reason(job: Job, fails: SizePick, *, mark: Mark = plain) -> str:
    """That no size serves, and why: the air, or what the thickest single one does not keep.

    Parameters
    ----------
    job : Job
    fails : SizePick
        That of `thickest`.
    mark : Mark
        What is done to each number of that size: see `wirecalc.advice.held.Held.words`.

    Returns
    -------
    str
        One sentence.
    """
    hot, first = job.route.too_hot, fails.broken[0] if fails.broken else None
    if hot is not None:
        place = "" if not hot.zone else f" ({hot.name})"
        limit_c = job.route.insulation.limit_c
        side = "over" if hot.ambient_c > limit_c else "at"
        return f"{_SAFE}: the air of {hot.ambient_c:g} °C{place} is {side} the insulation's {limit_c:g} °C."
    if first is not None and first.limit.measure == "current_a" and first.bounds[fails.at] == 0:
        air = f"{job.route.ambient_c.max():g} °C"
        return f"{_SAFE}: in air of {air} the published table lets wire of this insulation carry nothing."
    label = fails.label
    if job.terminal_m2 is not None:
        label += ", the thickest that the terminal takes,"
    if first is None:  # by a house rule alone
        return f"{_WORTH}: not even {label} does."
    why = fails.first_reason(mark=mark)
    no_fuse = first.limit.measure == "fuse_a" and not math.isfinite(first.values[fails.at])
    if no_fuse and fails.fuse is not None and mark is plain:  # its figures are no measures of a size
        why = f"{fails.fuse.reason[:1].lower()}{fails.fuse.reason[1:].rstrip('.')}"
    if first.limit.measure in NO_WIRE:
        return f"{_SAFE}: {why}, which no wire mends."
    return f"{_SAFE if first.safety else _WORTH}: not even {label} does: {why}."


def advice_sentence(advice: Advice, *, mark: Mark = plain) -> str:
    """The sentence of an advice, with its numbers marked: of the size that fails, or that nearly does.

    Parameters
    ----------
    advice : Advice
    mark : Mark
        As for `reason`.

    Returns
    -------
    str
    """
    if advice.fails is not None:
        return reason(advice.job, advice.fails, mark=mark)
    if advice.nearly is None:
        return advice.sentence
    told = advice.sentence.removesuffix(missed_by_little(advice.job, advice.nearly))
    return f"{told}{missed_by_little(advice.job, advice.nearly, mark=mark)}"


def remedies(job: Job, judged: Judged) -> tuple[str, ...]:
    """What helps: remedies of what the thickest single size does not keep, without more metal.

    Parameters
    ----------
    job : Job
    judged : Judged
        As for `thickest`.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    hot = job.route.too_hot
    if hot is not None:
        air = f"{hot.ambient_c:g} °C"
        return (f"Take wire whose insulation stands more than {air}, or lead it another way, where it is cooler.",)
    last = _own(job, judged)[-1]
    broken, fuse = judged.state(last, job.rules.band[1])[1], judged.fuses[last]
    helps = [_sentence(held.limit.remedy, all_sizes=job.stock is None) for held in broken]
    if fuse is not None and (fuse.family is None or job.stock is not None):
        helps += fuse.changes
    elif any(held.limit.measure in _HEAT for held in broken):
        helps.append("Take wire whose insulation stands more heat, lead it where it is cooler, or split the load.")
    return tuple(dict.fromkeys(filter(None, helps)))


def _own(job: Job, judged: Judged) -> range:
    """Places of the sizes to choose from, without the one asked about."""
    return range(len(judged.candidates) - (job.asked is not None))


def _sentence(remedy: str, *, all_sizes: bool) -> str:
    """A limit's remedy as a sentence of its own; without thicker wire where all sizes were tried."""
    ways = re.split(r", (?:or )?", remedy)
    if all_sizes:
        ways = [way for way in ways if not way.startswith(_MORE_METAL)]
    if not ways or not ways[0]:
        return ""
    told = ways[0] if len(ways) == 1 else f"{', '.join(ways[:-1])} or {ways[-1]}"
    return f"{told[0].upper()}{told[1:]}."
