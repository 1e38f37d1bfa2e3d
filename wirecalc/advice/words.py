"""What to pull, in one sentence."""

from __future__ import annotations

from wirecalc.advice.job import Job
from wirecalc.advice.pick import SizePick


def sentence(job: Job, least: SizePick | None, pull: SizePick | None, why: str) -> str:
    """Both answers, in one sentence and, if need be, why they differ.

    Parameters
    ----------
    job : Job
    least, pull : SizePick or None
        As `wirecalc.advice.pick.Advice` has them.
    why : str
        Why they differ; empty where they are one.

    Returns
    -------
    str
        What is on the shelf is called so, and what is not has to be ordered; neither where no rule says what is.
    """
    if pull is None and least is None:
        return "No size keeps every rule of safety here."
    if pull is None:
        assert least is not None
        return f"{least.label} is the least that keeps every rule and limit, but nothing on the shelf does."
    shelf = on_the_shelf(job, pull)
    order = f" {pull.candidate.conductor.label} is not on the shelf: order it." if shelf is False else ""
    if least is None:
        return f"No size keeps every limit; {pull.label} is the nearest that is safe.{order}"
    if not why:
        there = ", and on the shelf" if shelf else ""
        return f"Pull {pull.label}: the least that keeps every rule and limit{there}.{order}"
    return f"Pull {pull.label}; {least.label} is the least that keeps every rule and limit. {why}{order}"


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
