"""What to pull, and how the size asked about stands, in a sentence each."""

from __future__ import annotations

from wirecalc.advice.demands import NO_WIRE
from wirecalc.advice.job import Job
from wirecalc.advice.pick import Advice, SizePick
from wirecalc.mark import Mark, plain
from wirecalc.wire.conductor import COPPER, Metal


def sentence(job: Job, least: SizePick | None, pull: SizePick | None, why: str, fails: str) -> str:
    """Both answers, in one sentence and, if need be, why they differ.

    Parameters
    ----------
    job : Job
    least, pull : SizePick or None
        As `wirecalc.advice.pick.Advice` has them.
    why : str
        Why they differ; empty where they are one.
    fails : str
        Where nothing is pulled, why: see `wirecalc.advice.none_fits.reason`.

    Returns
    -------
    str
        What is on the shelf is called so, and what is not has to be ordered; neither where no rule says what is.
    """
    if pull is None and least is None:
        return fails
    if pull is None:
        assert least is not None
        return f"{least.label} is the least that keeps every rule and limit, but nothing on the shelf does."
    shelf = on_the_shelf(job, pull)
    order = f" {pull.candidate.conductor.label} is not on the shelf: order it." if shelf is False else ""
    if least is None:
        return f"No size keeps every limit; {pull.label} is the nearest that is safe.{order}"
    label = pull.label if job.asked is None else beside(pull, job.asked.metal)
    if not why:
        there = ", and on the shelf" if shelf else ""
        return f"Pull {label}: the least that keeps every rule and limit{there}.{order}"
    return f"Pull {label}; {least.label} is the least that keeps every rule and limit. {why}{order}"


def missed_by_little(job: Job, thinner: SizePick, *, mark: Mark = plain) -> str:
    """That the next thinner size would miss no more than limits of taste, by little: a person may decide for it.

    Parameters
    ----------
    job : Job
    thinner : SizePick
        Thinner than what is pulled; all that it breaks is taste.
    mark : Mark
        What is done to each number of that size: see `wirecalc.advice.held.Held.words`.

    Returns
    -------
    str
        One sentence.
    """
    which = "the next thinner on the shelf" if on_the_shelf(job, thinner) else "the next thinner"
    missed = " and ".join(held.words(thinner.at, mark=mark) for held in thinner.broken)
    limits = "a limit" if len(thinner.broken) == 1 else "limits"
    return (
        f"{thinner.label}, {which}, keeps every rule of safety and misses only {limits} of taste, by little: {missed}."
    )


def on_the_shelf(job: Job, pick: SizePick) -> bool | None:
    """Whether the shop has a size on the shelf for this kind of circuit.

    Parameters
    ----------
    job : Job
    pick : SizePick

    Returns
    -------
    bool or None
        None where no house rule says what is on the shelf, or the sizes to choose from are no standard ones.
    """
    shelf = job.shelf(job.demands.house_kind)
    if job.stock is not None or pick.size is None or not shelf:
        return None
    return pick.size in shelf


def asked_sentence(advice: Advice) -> str:
    """How the size asked about stands, and the first reason why it is not fine.

    Parameters
    ----------
    advice : Advice

    Returns
    -------
    str
        Empty where none was asked about.
    """
    asked, other = advice.asked, advice.pull or advice.least
    if asked is None:
        return ""
    label = asked.label if other is None else beside(asked, other.candidate.conductor.metal)
    why = f": {asked.first_reason()}" if asked.reasons else ""
    return f"{label} {asked_standing(advice)}{why}."


def asked_standing(advice: Advice) -> str:
    """How the size asked about stands: "is fine", "is too thin"; not that it is thin where no wire would do.

    Parameters
    ----------
    advice : Advice
        With a size asked about.

    Returns
    -------
    str
        The end of a sentence.
    """
    assert advice.asked is not None
    unmended = any(held.limit.measure in NO_WIRE for held in advice.asked.broken)
    none = advice.pull is None and (advice.job.route.too_hot is not None or unmended)
    return "does not do either" if none else f"is {advice.asked.state}"


def beside(pick: SizePick, other: Metal) -> str:
    """The label of a size, with its metal where that differs from another's: 8 AWG may be too thin and be pulled.

    Parameters
    ----------
    pick : SizePick
    other : Metal
        Of the size beside it.

    Returns
    -------
    str
        "8 AWG", "8 AWG copper-clad aluminium".
    """
    metal = pick.candidate.conductor.metal
    if metal == other:
        return pick.label
    name = _in_short(metal)
    return f"{pick.label} {metal.name if name == _in_short(other) else name}"


def _in_short(metal: Metal) -> str:
    """Without its share of copper, and without how copper is made."""
    return "copper" if metal == COPPER else metal.name.rstrip("0123456789 %")
