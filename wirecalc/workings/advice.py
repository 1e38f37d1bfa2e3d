"""Where the numbers of a decision come from: each size under each rule of safety and each limit.

A run that passes several places is as warm in each as it gets there. Its loop then is that of a run which is all over
at one temperature, and from that the formulas of `wirecalc.workings.measures` go on; the tests hold both together.
"""

from __future__ import annotations

import numpy as np

from wirecalc import runs
from wirecalc.advice.demands import FULL
from wirecalc.advice.held import Held
from wirecalc.advice.size import Job, Judged, judge_sizes
from wirecalc.advice.stretches import Settled, carries_a
from wirecalc.runs.choose import Candidate
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C
from wirecalc.wire.fuse_families import SUSTAINED
from wirecalc.workings.formula import Book, Given, Rule, Working, worked
from wirecalc.workings.heat import steady_rules
from wirecalc.workings.measures import formulas, working

AT_FULL = ("temperature_c", "current_a")
"""Measures that are held at the most for minutes."""


def of_size(key: str, job: Job, candidate: Candidate, *, feet: bool = False) -> Working:
    """How one number of one size was worked out.

    Parameters
    ----------
    key : str
        A measure of `wirecalc.advice.held.Held`, or that with "bound " or "over " before it, as
        `Held.words` marks them.
    job : wirecalc.advice.size.Job
    candidate : wirecalc.runs.choose.Candidate
        The size, and how many side by side.
    feet : bool
        Whether the length was entered in feet.

    Returns
    -------
    wirecalc.workings.formula.Working

    Raises
    ------
    KeyError
        If nothing is held by that measure.
    """
    judged = judge_sizes(job, [candidate.conductor], candidate.parallel)
    how, _, measure = key.rpartition(" ")
    held = {row.limit.measure: row for row in (*judged.held, *([judged.terminal] if judged.terminal else []))}[measure]
    if how == "bound":
        return _bound(held, job, candidate)
    if how == "over":
        return _over(held)
    return _value(held, job, judged, candidate, feet)


def warm_c(job: Job, candidate: Candidate, settled: Settled) -> float:
    """The one temperature all over at which the loop is that of all stretches, each at its own.

    Parameters
    ----------
    job : wirecalc.advice.size.Job
    candidate : wirecalc.runs.choose.Candidate
    settled : wirecalc.advice.stretches.Settled
        Of this candidate alone.

    Returns
    -------
    float
        [degC]
    """
    route, conductor = job.route, candidate.conductor
    cold = conductor.ohm_per_m_20c * route.length_m * route.ways / candidate.parallel
    warm = float(settled.loop_ohm[0]) - route.joints_ohm
    return float(np.clip(REFERENCE_C + (warm / cold - 1) / conductor.metal.per_k_20c, REFERENCE_C - 60, HOTTEST_C))


def _numbers(held: Held) -> tuple[float, float, str]:
    """Value, bound and unit as shown."""
    scale, unit = (100.0, "%") if held.limit.measure == "drop_fraction" else (1.0, held.limit.unit)
    return float(held.values[0]) * scale, float(held.bounds[0]) * scale, unit


def _value(held: Held, job: Job, judged: Judged, candidate: Candidate, feet: bool) -> Working:
    measure = held.limit.measure
    if measure == "fuse_a":
        return _fuse(judged, job)
    if measure == "area_mm2":
        given = Given(f"metal of {candidate.conductor.label}", float(held.values[0]), "mm²", candidate.conductor.source)
        return worked(measure, {"A": given}, "A")
    at_full = measure in AT_FULL or held.limit.name.endswith(FULL)
    settled = judged.full if at_full else judged.usual
    laid = runs.Installation(
        length_m=job.route.length_m,
        temperature_c=warm_c(job, candidate, settled),
        parallel=candidate.parallel,
        joints_ohm=job.route.joints_ohm,
        ways=job.route.ways,
    )
    if measure == "average_drop_v":
        return _average_drop(judged)
    stretch = int(settled.hottest_at[0])
    place = runs.Place(
        insulation=job.route.insulation,
        ambient_c=float(job.route.ambient_c[stretch]),
        loaded=int(job.route.side_by_side(candidate.parallel).loaded[stretch]),
    )
    if measure in AT_FULL:
        return _at_full(measure, job, candidate, settled, laid, place)
    named = "drop_percent" if measure == "drop_fraction" else measure
    return working(named, job.run, candidate.conductor, laid, place, feet=feet)


def _at_full(
    measure: str, job: Job, candidate: Candidate, settled: Settled, laid: runs.Installation, place: runs.Place
) -> Working:
    """The most for minutes in one conductor, and how warm that makes it in the hottest place."""
    each = float(settled.current_a[0])
    most = Given(
        "the most that the source pushes through one conductor for minutes, not only music", each, "A",
        "rated power as a steady tone into its load, or full draw; the wire counted only where it adds", "computed",
    )  # fmt: skip
    if measure != "current_a" and np.isnan(each):
        text = "no current is known, as the voltage is used up on the way: taken as hotter than any limit"
        return worked(measure, {"Tc": Given(text, np.inf, "°C", confidence="computed")}, "Tc")
    if measure == "current_a" or not np.isfinite(each):
        return worked(measure, {"I1": most}, "I1")
    book = dict(formulas(measure, job.run, candidate.conductor, laid, place).book)
    hot = float(settled.hottest_c[0])
    book |= {"I1": most} | steady_rules("I1", hot)
    return worked(measure, book, "Tc", hot)


def _average_drop(judged: Judged) -> Working:
    current, ohm = float(judged.usual.current_a[0]), float(judged.usual.loop_ohm[0])
    count = judged.candidates[0].parallel
    book: Book = {
        "Im": Given(
            "current of one conductor with music's average", current, "A", "the run's own measures", "computed"
        ),
        "n": Given("conductors side by side", count),
        "Rw": Given("loop as warm as it usually is", ohm, "ohm", "each place at the temperature it gets", "computed"),
        "Vm": Rule("Drop with music's average", "Im*n*Rw", "V", "Ohm's law"),
    }
    return worked("average_drop_v", book, "Vm", current * count * ohm)


def _fuse(judged: Judged, job: Job) -> Working:
    """The least rating that carries the load, and the next standard one."""
    fuse = judged.fuses[0]
    assert fuse is not None
    demands = job.demands
    steady, full = float(judged.usual.current_a[0]), float(judged.full.current_a[0])
    family = "" if fuse.family is None else fuse.family.name
    book: Book = {
        "Is": Given("usual current of one conductor", steady, "A", "the run's own measures", "computed"),
        "If": Given("most for minutes in one conductor", max(full, steady), "A", "the run's own measures", "computed"),
        "a": Given("largest usual current over the rating", demands.loading, "", "house rules"),
        "b": Given("largest current for minutes over the rating", demands.full_loading, "", "house rules"),
        "k": Given(f"what air of {fuse.air_c:g} °C leaves of the rating", fuse.derate, "", family, "memory"),
        "In": Rule("Least rating that carries the load", "max(Is/(a*k),If/(b*k))", "A", "House rules"),
        "Fn": Given("the next standard rating that breaks the short here", fuse.smallest_a, "A", family, after="In"),
    }
    return worked("fuse_a", book, "Fn", fuse.smallest_a)


def _bound(held: Held, job: Job, candidate: Candidate) -> Working:
    limit, route = held.limit, job.route
    _, value, unit = _numbers(held)
    if limit.measure == "temperature_c":
        insulation = route.insulation
        given = Given(f"limit of {insulation.name}", value, unit, insulation.source, insulation.confidence)
    elif limit.measure in ("current_a", "fuse_a"):
        carries = carries_a(route.side_by_side(candidate.parallel), [candidate.conductor])
        published, balance = float(carries.published_a[0]), float(carries.balance_a[0])
        source = "the published table in the hottest place, data/ampacity.csv"
        if limit.measure == "fuse_a" and balance / SUSTAINED < published:
            source = f"heat balance in the hottest place over {SUSTAINED:g}, what a fuse carries for hours"
        given = Given(f"what {candidate.conductor.label} carries there", value, unit, source, "computed")
    else:
        given = Given(
            f"limit: {limit.name}, {limit.sense}; {limit.reason}", value, unit, limit.source, limit.confidence
        )
    return worked(f"bound {limit.measure}", {"B": given}, "B")


def _over(held: Held) -> Working:
    value, bound, unit = _numbers(held)
    at_most = held.limit.sense == "at most"
    book: Book = {
        "x": Given(held.limit.name or held.limit.measure, value, unit, "worked out for this size", "computed"),
        "B": Given(f"limit, {held.limit.sense}", bound, unit, held.limit.source, held.limit.confidence),
        "Δ": Rule("Over by" if at_most else "Short by", "x-B" if at_most else "B-x", unit, "By definition"),
    }
    return worked(f"over {held.limit.measure}", book, "Δ")
