"""Practice problems about what to pull and which fuse: the right answer is what the pages advise."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from wirecalc import runs
from wirecalc.advice.fuses import BEHIND_A_FUSE, FuseAdvice
from wirecalc.advice.held import Held
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.size import Advice, Job, SizePick, advise, judge_sizes
from wirecalc.advice.stretches import by_house_rules, in_zone
from wirecalc.circuits.source import Amplifier
from wirecalc.practice.problem import FOOT_M, ONE_WAY, VEHICLES, DrawnProblem, Mistake, ProblemKind, pick, step
from wirecalc.runs.choose import Candidate, figure
from wirecalc.units import CURRENT
from wirecalc.units_taken import takes_units
from wirecalc.wire.cautions import Work, cautions
from wirecalc.wire.conductor import awg
from wirecalc.wire.fuse_families import FAMILIES, derating
from wirecalc.wire.zones import ZONES
from wirecalc.workings.advice import of_size
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.sheet import FormulaSheet

_FUSED = (16, 14, 12, 10)
_LOADS = {"lamp bar": (3, 12), "air pump": (6, 20), "cool box": (4, 12), "work light": (3, 10), "heater fan": (5, 18)}
_ASKED = {"loss_db": "costs", "damping_factor": "leaves a damping factor of"}
_SHOP_BLADES = tuple(rating for rating in FAMILIES["blade"].ratings_a if rating <= 30)


@lru_cache(maxsize=1)
def _rules() -> HouseRules:
    """As shops begin with: the problem says those that it needs."""
    return HouseRules.from_table()


@takes_units
def size_job(power_w: float, load_ohm: float, length_m: float, *, bass: bool) -> Job:
    """The run of a loudspeaker whose size is asked for, as the pages have it where nobody says more.

    Parameters
    ----------
    power_w : float
        Of the amplifier into the load. [W]
    load_ohm : float
        [ohm]
    length_m : float
        One way. [m]
    bass : bool
        Whether it is a subwoofer.

    Returns
    -------
    wirecalc.advice.size.Job
    """
    of = runs.SubwooferRun if bass else runs.SpeakerRun
    run = of(amplifier=Amplifier(power_w=power_w, rated_ohm=load_ohm, damping_factor=200), load_ohm=load_ohm)
    return Job(run=run, route=by_house_rules(run.kind, length_m, _rules()), rules=_rules())


@takes_units
def fuse_job(draw_a: float, size: int, length_m: float) -> Job:
    """The feed of a steady load behind a fuse block, whose fuse is asked for.

    Parameters
    ----------
    draw_a : float
        [A]
    size : int
        AWG number.
    length_m : float
        A pair, one way. [m]

    Returns
    -------
    wirecalc.advice.size.Job
    """
    run = runs.DeviceRun(rated_a=draw_a, supply_v=12.6)
    route = replace(by_house_rules("device on the supply", length_m, _rules()), stretches=(in_zone("cabin", length_m),))
    return Job(run=run, route=route, asked=awg(size), rules=_rules(), fuse_where=BEHIND_A_FUSE)


@lru_cache(maxsize=4096)
def _advised(power_w: float, load_ohm: float, length_m: float, bass: bool) -> Advice:
    return advise(size_job(power_w, load_ohm, length_m, bass=bass))


@lru_cache(maxsize=512)
def _fused(draw_a: float, size: int) -> FuseAdvice | None:
    """The fuse for a wire of a size; its length changes nothing behind a block."""
    job = fuse_job(draw_a, size, 2.0)
    assert job.asked is not None
    return judge_sizes(job, [job.asked]).fuses[0]


def _number(picked: SizePick | None) -> float:
    """The gauge of one conductor; nan if there is none, or several lie side by side."""
    return np.nan if picked is None or picked.size is None or picked.candidate.parallel > 1 else picked.size[1]


def _smallest(rng: np.random.Generator) -> DrawnProblem | None:
    bass = bool(step(rng, 0, 1))
    load_ohm, feet = pick(rng, (2, 4) if bass else (2, 4, 8)), step(rng, 4, 16, 2) if bass else step(rng, 8, 30, 2)
    power_w = pick(rng, (150, 200, 300, 400, 500, 600, 800, 1000) if bass else (40, 50, 60, 75, 100, 120, 150))
    advice = _advised(power_w, load_ohm, feet * FOOT_M, bass)
    right, least = _number(advice.pull), _number(advice.least)
    halved = _number(_advised(power_w, load_ohm, feet * FOOT_M / 2, bass).pull)
    metres = _number(_advised(power_w, load_ohm, float(feet), bass).pull)
    if not np.isfinite([right, least, halved, metres]).all():
        return None
    mistakes = [Mistake(key="one way", value=halved, hint=ONE_WAY)] if halved != right else []
    if metres not in (right, halved):
        hint = "The run is given in feet. Turn it into metres first: 1 ft is 0.3048 m."
        mistakes.append(Mistake(key="feet for metres", value=metres, hint=hint))
    if least not in (right, halved, metres):
        mistakes.append(Mistake(key="least by the limits", value=least, hint=advice.why_differ))
    if len(mistakes) < 2:
        return None
    return DrawnProblem(
        text=_asked(rng, advice, power_w, load_ohm, feet, bass=bass),
        answer=right,
        mistakes=tuple(mistakes),
        work=lambda: _why(advice),
        closing=_closing(advice),
    )


def _asked(rng: np.random.Generator, advice: Advice, power_w: float, load_ohm: float, feet: int, *, bass: bool) -> str:
    job = advice.job
    kind = job.demands.house_kind
    loss = next(limit for limit, _ in job.demands.bounds if limit.measure == "loss_db")
    damping = next(limit for limit, _ in job.demands.bounds if limit.measure == "damping_factor")
    least = job.rules.least_size(kind, "AWG", job.demands.power_w)
    shelf = ", ".join(f"{size[1]:g}" for size in job.rules.shelf(kind, "AWG"))
    what = "subwoofer" if bass else "speaker"
    assert least is not None
    return (
        f"An amplifier gives {power_w} W to the {load_ohm} Ω {what} in {pick(rng, VEHICLES)}. The run is {feet} ft of"
        f" wire, one way, behind trim in {job.route.stretches[0].ambient_c:g} °C. The wire may cost at most"
        f" {loss.bound:g} dB, a damping factor of {damping.bound:g} or more has to be left of the amplifier's 200, and"
        f" it stands a test tone at full power for minutes. For so much power the shop pulls {least.value} AWG or"
        f" thicker. On the shelf is stranded copper of {shelf} AWG. Which size do you pull?"
    )


def _closing(advice: Advice) -> str:
    """Why this size and no other, of those on the shelf of the text."""
    pulled, least = _picked(advice)
    kept = _held(advice.job, pulled)
    told = f"It {' and '.join(_told(kept[measure]) for measure in _ASKED)}."
    if least == pulled:
        thinner, measure = _thinner(advice)
        held = _held(advice.job, thinner)[measure]
        lead = f"Pull {pulled.label}, the thinnest on the shelf that keeps every limit. {told} {thinner.label}"
        if measure not in _ASKED:  # a limit that somebody has added
            return f"{lead} does not: {held.words(0)}."
        bound = figure(held.limit, float(held.bounds[0]))
        against = f"more than the {bound} allowed" if measure == "loss_db" else f"less than the {bound} needed"
        return f"{lead} {_told(held)}, {against}."
    house = advice.job.rules.least_size(advice.job.demands.house_kind, "AWG", advice.job.demands.power_w)
    assert house is not None
    assert advice.least is not None
    on_shelf = advice.least.size in advice.job.rules.shelf(advice.job.demands.house_kind, "AWG")
    return (
        f"Pull {pulled.label}: for so much power the shop pulls nothing thinner. {told} The limits alone would allow"
        f" {least.label}{'' if on_shelf else ', which is not on the shelf'}. The shop's reason:"
        f" {house.reason[0].lower()}{house.reason[1:]}"
    )


def _picked(advice: Advice) -> tuple[Candidate, Candidate]:
    """What is pulled, and the least that the limits allow."""
    assert advice.pull is not None
    assert advice.least is not None
    return advice.pull.candidate, advice.least.candidate


def _thinner(advice: Advice) -> tuple[Candidate, str]:
    """The next thinner size than the least, and the measure by which it fails."""
    assert advice.least is not None
    assert advice.least.size is not None
    thinner = advice.job.make(("AWG", advice.least.size[1] + 2))
    judged = advise(replace(advice.job, asked=thinner)).asked
    assert judged is not None
    return Candidate(conductor=thinner, parallel=1), judged.broken[0].limit.measure


def _held(job: Job, candidate: Candidate) -> dict[str, Held]:
    """How a size stands under each limit, by its measure."""
    return {held.limit.measure: held for held in judge_sizes(job, [candidate.conductor]).held}


def _told(held: Held) -> str:
    """What a size does by one of the limits of the text, in words."""
    return f"{_ASKED[held.limit.measure]} {figure(held.limit, float(held.values[0]))}"


def _why(advice: Advice) -> tuple[Working, ...]:
    """The limit that the next thinner size breaks, with it and with what is pulled; where the shop's own rule
    decides, the limits that what is pulled keeps."""
    pulled, least = _picked(advice)
    if least == pulled:
        thinner, measure = _thinner(advice)
        shown = [(thinner, measure), (pulled, measure)]
    else:
        shown = [(pulled, measure) for measure in _ASKED]
    works = ((candidate, of_size(measure, advice.job, candidate)) for candidate, measure in shown)
    return tuple(
        replace(work, title=f"{candidate.label}: {work.title[0].lower()}{work.title[1:]}") for candidate, work in works
    )


def _fuse(rng: np.random.Generator) -> DrawnProblem | None:
    size, load = pick(rng, _FUSED), pick(rng, tuple(_LOADS))
    draw_a = step(rng, *_LOADS[load])
    right = _fused(draw_a, size)
    if right is None or right.rating_a is None or right.family is None or right.family.key != "blade":
        return None
    allowed_a, air_c = round(right.allowed_a, 1), ZONES["cabin"].ambient_c
    if allowed_a >= _SHOP_BLADES[-1]:
        return None
    left = float(derating("blade", air_c))
    shelf = ", ".join(f"{each:g}" for each in _SHOP_BLADES)

    def up(least_a: float) -> float:
        return next((each for each in _SHOP_BLADES if each >= least_a), np.inf)

    mistakes = {
        up(draw_a): ("no margin", "It would be loaded to more than 80 %, and age. Divide the draw by 0.8."),
        max(each for each in _SHOP_BLADES if each <= allowed_a): (
            "as large as the wire",
            "The wire would stand it. Take the smallest fuse that carries the load: it opens sooner.",
        ),
        up(allowed_a * 1.0001): (
            "over the wire",
            "The wire may not carry that much. With such a fuse the wire itself would be the fuse.",
        ),
    }
    wrong_answers = tuple(Mistake(key=key, value=value, hint=hint) for value, (key, hint) in mistakes.items())
    return DrawnProblem(
        text=f"The {load} in {pick(rng, VEHICLES)} draws {draw_a} A, steady. Its {size} AWG wire may carry"
        f" {allowed_a:g} A where it lies. The fuse block beside it is in {air_c:g} °C too, where a blade fuse keeps"
        f" {100 * left:.0f} % of its rating. The shop has blade fuses of {shelf} A. A fuse should be loaded to at most"
        " 80 % of what the heat leaves of it. Which is the smallest that carries the load and protects the wire?",
        answer=right.rating_a,
        mistakes=wrong_answers,
        work=lambda: _worked(right, draw_a, allowed_a, left),
        closing=" ".join((right.reason, *cautions(Work(starts_at="battery")))),
    )


def _worked(right: FuseAdvice, draw_a: float, allowed_a: float, left: float) -> tuple[Working, ...]:
    assert right.rating_a is not None
    sheet = FormulaSheet()
    sheet.put("I", Given("draw", draw_a, "A"))
    sheet.put("s", Given("largest draw over rating", 0.8, "", "common practice, no source", "common practice"))
    sheet.put("k", Given("what the heat leaves of the rating", left, "", "as in the text"))
    sheet.work("If", "Least rating for the draw", "I/(s*k)", "A", "At most 80 % of what is left of a rating")
    sheet.put("Fn", Given("the next rating up on the shelf", right.rating_a, "A", "ISO 8820-3"))
    sheet.put("Iz", Given("what the wire may carry", allowed_a, "A", "as in the text"))
    sheet.work("F", "Fuse, at or under what the wire may carry", "min(Fn,Iz)", "A", "A fuse protects the wire", "",
               right.rating_a)  # fmt: skip
    return (sheet.working("fuse_a"),)


KINDS = (
    ProblemKind(key="smallest", title="Which size to pull", quantity=None, low=6, high=18, draw=_smallest,
         nudge="Ask three things: what it costs in level and damping, whether it stands full power, and what the shop"
         " pulls for so much power. The thickest of the three answers is pulled."),
    ProblemKind(key="fuse", title="Which fuse", quantity=CURRENT, low=2, high=30, draw=_fuse, tolerance=0.01,
         nudge="Divide the draw by 0.8 and by what the heat leaves. Take the next fuse up, and see that the wire may"
         " carry it."),
)  # fmt: skip
