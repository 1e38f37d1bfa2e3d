"""The decision: what to pull for one run, whether the size asked for is fine, and the fuse with it.

Two sorts of rule are kept apart. Safety has no band: a wire stands the most that its source can push through it for
minutes, in the hottest place it passes; thresholds are met; there is a fuse that both carries the load and protects
the wire. Taste (level, damping, drop) has one. What the shop pulls is never under either.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wirecalc.advice import fuses
from wirecalc.advice.fuses import AT_BATTERY, FuseAdvice, FuseNeed
from wirecalc.advice.held import BORDERLINE, FINE, LITTLE, TOO_THIN, Held, State
from wirecalc.advice.house_rule import HouseRule, Size
from wirecalc.advice.job import AWG_SIZES as AWG_SIZES
from wirecalc.advice.job import LEAST_OF_A_NUMBER
from wirecalc.advice.job import Job as Job
from wirecalc.advice.job import standard_sizes as standard_sizes
from wirecalc.advice.none_fits import reason, remedies, thickest
from wirecalc.advice.pick import Advice as Advice
from wirecalc.advice.pick import Judged as Judged
from wirecalc.advice.pick import SizePick as SizePick
from wirecalc.advice.stretches import Route, Settled, carries_a, settle_each
from wirecalc.advice.terminal import instead
from wirecalc.advice.words import missed_by_little, sentence
from wirecalc.circuits.battery import BLOCK_OHM, in_a_row, prospective_a, usual_battery
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.choose import Candidate
from wirecalc.wire.as_sold import ISO
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.fuse_families import SUSTAINED

Array = NDArray[np.float64]

MOST_PARALLEL = 4  # side by side, when no single size does
ON_STUDS = "load"  # the kind whose heaviest devices, inverters and winches, take lugs of any size
_SUPPLY_TOP_V = 16.0  # a fuse of a 12 V vehicle has to break more than the regulator holds: common practice, no source


def judge_sizes(job: Job, conductors: Sequence[Conductor], parallel: int = 1) -> Judged:
    """Hold conductors against every rule of safety and every limit.

    Parameters
    ----------
    job : Job
    conductors : sequence of n Conductor
    parallel : int
        Side by side.

    Returns
    -------
    Judged

    Raises
    ------
    InputError
        If a value is out of range, or the run is a line signal, on which no gauge is judged.
    """
    demands, route = job.demands, job.route.side_by_side(parallel)
    if demands.usual_a is None or demands.full_a is None:
        raise InputError("Run", job.run.kind, "a run whose current heats its wire")
    usual, full = settle_each(route, conductors, [demands.usual_a, demands.full_a])
    carries = carries_a(route, conductors)
    shape = (len(conductors),)
    allowed = np.minimum(carries.published_a, carries.balance_a / SUSTAINED)
    chosen = [_fuse(job, route, conductor, usual, full, allowed, at) for at, conductor in enumerate(conductors)]
    limit_c = np.full(shape, route.insulation.limit_c)
    safety = [
        _held("temperature_c", "conductor at the most for minutes", "°C", full.hottest_c, limit_c,
              "A wire carries the most that its source can push through it for minutes, not only music."),
        _held("current_a", "most for minutes", "A", full.current_a, carries.published_a,
              "What the published table lets the wire carry in the hottest place it passes."),
    ]  # fmt: skip
    if any(fuse is not None for fuse in chosen):
        smallest = np.array([fuse.smallest_a if fuse else np.nan for fuse in chosen])
        safety.append(
            _held("fuse_a", "fuse that the load needs", "A", smallest, allowed,
                  "A fuse stands at or below what the thinnest wire behind it carries, in the hottest place.")
        )  # fmt: skip
    for limit, is_safety, values in demands.limits(usual.loop_ohm, full.loop_ohm, job.route.length_m):
        limited = Held(
            limit=limit, safety=is_safety, values=np.broadcast_to(values, shape), bounds=_bound(limit, shape)
        )
        safety.append(limited)
    terminal = None
    if job.terminal_m2 is not None:
        areas = np.array([conductor.area_m2 * 1e6 for conductor in conductors])
        terminal = _held("area_mm2", "conductor in the terminal", "mm²", areas, np.full(shape, job.terminal_m2 * 1e6),
                         "What the device's terminal takes.")  # fmt: skip
    return Judged(
        candidates=tuple(Candidate(conductor=conductor, parallel=parallel) for conductor in conductors),
        held=tuple(sorted(safety, key=lambda held: not held.safety)),
        terminal=terminal,
        usual=usual,
        full=full,
        fuses=tuple(chosen),
        carries_a=carries.current_a,
    )


def _held(measure: str, name: str, unit: str, values: Array, bounds: Array, reason: str) -> Held:
    limit = Limit(measure=measure, name=name, sense="at most", bound=f"{measure} limit", unit=unit, reason=reason)
    return Held(limit=limit, safety=True, values=np.asarray(values), bounds=np.asarray(bounds))


def _bound(limit: Limit, shape: tuple[int, ...]) -> Array:
    assert not isinstance(limit.bound, str)
    return np.full(shape, limit.bound)


def _fuse(
    job: Job, route: Route, conductor: Conductor, usual: Settled, full: Settled, allowed: Array, at: int
) -> FuseAdvice | None:
    """The fuse of one conductor; None where the run starts at an output, or no current can be had."""
    demands = job.demands
    steady, most = float(usual.current_a[at]), float(full.current_a[at])
    if not demands.has_fuse or not np.isfinite(steady) or not np.isfinite(most):
        return None
    where = job.fuse_where or demands.fuse_where
    before = BLOCK_OHM * in_a_row(demands.supply_v)
    if where == AT_BATTERY:
        reach = job.rules.find("fuse_distance", AT_BATTERY)
        metres = min(0.0 if reach is None else reach.number, route.length_m)
        before = fuses.before_ohm(conductor, metres, route.parallel)
    need = FuseNeed(
        steady_a=steady,
        full_a=max(most, steady),
        loading=demands.loading,
        full_loading=demands.full_loading,
        inrush_a=demands.inrush_a / route.parallel,
        inrush_s=demands.inrush_s,
        air_c=float(route.ambient_c[0]) if job.fuse_air_c is None else job.fuse_air_c,
        where=where,
        supply_v=max(_SUPPLY_TOP_V, demands.supply_v),
    )
    battery = job.battery or usual_battery(demands.supply_v)
    return fuses.fuse_for(
        need, float(allowed[at]), lambda rating: float(prospective_a(battery, before, rating)), job.rules
    )


def _pick(job: Job, judged: Judged, at: int, size: Size | None) -> SizePick:
    rules = job.rules
    grade, broken = judged.state(at, rules.band[1])
    reasons = [held.words(at) for held in broken]
    house = _house_least(job)
    candidate = judged.candidates[at]
    if house is not None and grade in (FINE, BORDERLINE) and candidate.conductor.area_m2 < _least_area(job, house):
        mechanical = _mechanical_least(job)
        thinner = mechanical is not None and candidate.conductor.area_m2 < _least_area(job, mechanical)
        grade = TOO_THIN if thinner else BORDERLINE
        reasons.append(f"the shop pulls {job.make(house.sizes[0]).label} or thicker: {house.reason.rstrip('.')}")
    stretch = int(judged.full.hottest_at[at])
    return SizePick(
        candidate=candidate,
        size=size,
        state=grade,
        reasons=tuple(reasons),
        fuse=judged.fuses[at],
        usual_c=float(judged.usual.hottest_c[at]),
        full_c=float(judged.full.hottest_c[at]),
        hottest=job.route.stretches[stretch].name,
        loop_ohm=float(judged.usual.loop_ohm[at]),
        each_a=float(judged.full.current_a[at]),
        broken=broken,
        nearest=max(
            (held for held in judged.held if not held.safety), key=lambda held: float(held.share[at]), default=None
        ),
        at=at,
    )


def _house_least(job: Job) -> HouseRule | None:
    """The rule of the thinnest wire of this run."""
    if job.sheathed:
        return job.rules.least_size("sheathed pair", job.counted_as)
    least = job.rules.least_size(job.demands.house_kind, job.counted_as, job.demands.power_w)
    return least if least is not None and least.sizes else None


def _mechanical_least(job: Job) -> HouseRule | None:
    """The thinnest that is pulled for this kind at any power: for crimps, pull and abrasion."""
    if job.sheathed:
        return _house_least(job)
    least = job.rules.least_size(job.demands.house_kind, job.counted_as, 0.0)
    return least if least is not None and least.sizes else None


def _least_area(job: Job, rule: HouseRule) -> float:
    full = job.stock is None and job.system in ("AWG", "mm2", ISO)
    named_alike = 1 - 1e-6 if full else LEAST_OF_A_NUMBER  # 4 SAE is a 4, with less metal
    return job.make(rule.sizes[0]).area_m2 * named_alike


def advise(job: Job) -> Advice:
    """What to pull for one run, and how the size asked for stands.

    Parameters
    ----------
    job : Job

    Returns
    -------
    Advice

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The least is looked for among all standard sizes; what to pull on the shelf, then among what is ordered, then among
    both within the band of taste, then side by side, 4/0 and the like only when asked for by name.
    """
    if job.demands.usual_a is None:
        return _no_gauge(job)
    search = _Search(job)
    least, thinner = search.least()
    pull = search.pull(least)
    asked = None if job.asked is None else _pick(job, search.judged(job.route.parallel), search.asked_at, None)
    decided = f"{thinner.label}: {thinner.reasons[0]}" if thinner and thinner.reasons else ""
    why = _why(job, least, pull, search)
    fails = None if least or pull else search.pick(thickest(job, search.judged(1)), 1)
    nearly = search.nearly(pull)
    told = sentence(job, least, pull, why, "" if fails is None else reason(job, fails))
    return Advice(
        job=job,
        fails=fails,
        least=least,
        pull=pull,
        asked=asked,
        decided_by=decided,
        why_differ=why,
        sentence=told if nearly is None else f"{told} {missed_by_little(job, nearly)}",
        nearly=nearly,
        changes=(
            *(() if least is not None and pull is not None else remedies(job, search.judged(1))),
            *instead(job.takes, pull.candidate if pull else None, fused=job.demands.has_fuse),
        ),
    )


def _no_gauge(job: Job) -> Advice:
    kind = job.run.handled_as
    least = job.rules.least_size(kind, job.counted_as, 0.0) if kind else None
    return Advice(
        job=job,
        least=None,
        pull=None,
        asked=None,
        decided_by="",
        why_differ="",
        sentence=job.run.no_gauge(job.make(least.sizes[0]).label if least and least.sizes else ""),
        changes=tuple(dict.fromkeys(job.demands.beyond_wire(job.route.length_m))),
    )


_Lot = tuple[Size, ...] | None  # None: everything there is


class _Search:
    """Standard sizes of a job, judged once for each number side by side."""

    def __init__(self, job: Job) -> None:
        self.job = job
        made: list[tuple[Size | None, Conductor]]
        if job.stock is None:
            made = [(size, job.make(size)) for size in standard_sizes(job.system)]
        else:
            made = [(None, conductor) for conductor in job.stock]
        made.sort(key=lambda each: each[1].area_m2)
        self.sizes, self.conductors = tuple(each[0] for each in made), [each[1] for each in made]
        self.asked_at = len(self.sizes)  # judged with them, never picked among them
        self._with_asked = self.conductors if job.asked is None else [*self.conductors, job.asked]
        self._judged: dict[int, Judged] = {}
        self._states: dict[int, list[State]] = {}

    def judged(self, parallel: int) -> Judged:
        if parallel not in self._judged:
            self._judged[parallel] = judge_sizes(self.job, self._with_asked, parallel)
        return self._judged[parallel]

    def states(self, parallel: int) -> list[State]:
        if parallel not in self._states:
            judged, band = self.judged(parallel), self.job.rules.band[1]
            self._states[parallel] = [judged.state(at, band)[0] for at in range(len(self.sizes))]
        return self._states[parallel]

    def spare(self, parallel: int) -> NDArray[np.bool_]:
        """Whether each size is loaded no further than the house rules load a wire of this kind."""
        judged, rule = self.judged(parallel), self.job.rules.find("wire_loading", self.job.demands.house_kind)
        most = 1.0 if rule is None else rule.number
        return np.asarray(judged.full.current_a <= most * judged.carries_a * (1 + 1e-9)) | (rule is None)

    def pick(self, at: int, parallel: int) -> SizePick:
        return _pick(self.job, self.judged(parallel), at, self.sizes[at])

    def tight(self, pick: SizePick) -> bool:
        """Whether a size is loaded further than the house rules load it."""
        return not self.spare(pick.candidate.parallel)[pick.at]

    def least(self) -> tuple[SizePick | None, SizePick | None]:
        """The least metal that keeps everything, and the next thinner size, which does not."""
        for parallel in range(1, MOST_PARALLEL + 1):
            for at, grade in enumerate(self.states(parallel)):
                if grade == FINE:
                    return self.pick(at, parallel), self.pick(at - 1, parallel) if at else None
        return None, None

    def pull(self, least: SizePick | None) -> SizePick | None:
        """What the shop takes; None where nothing is safe."""
        kind = self.job.demands.house_kind
        shelf: _Lot = self.job.shelf(kind)
        ordered: _Lot = self.job.on_order(kind)
        asked: _Lot = self.job.when_asked(kind) if kind == ON_STUDS else ()
        house = _house_least(self.job)
        floor = 0.0 if house is None else _least_area(self.job, house)
        if self.job.stock is not None or not shelf:
            shelf, ordered, asked = None, (), ()
        plenty: list[list[tuple[_Lot, int]]] = [[(shelf, n), (ordered, n)] for n in range(1, MOST_PARALLEL + 1)]
        plenty.insert(2, [(asked, 1), (asked, 2)])  # rather two of the thickest than three of what is on the shelf
        for wanted in (FINE, BORDERLINE):
            candidate = self._first(plenty[0], wanted, floor)
            if candidate is not None:
                return candidate
        for lots in plenty[1:]:
            for wanted in (FINE, BORDERLINE):
                candidate = self._first(lots, wanted, floor)
                if candidate is not None:
                    return candidate
        return None

    def nearly(self, pull: SizePick | None) -> SizePick | None:
        """The next thinner on the shelf, no thinner than the house rules, where all that it misses is taste by little.

        What is pulled is thicker for hardly anything then, as from 4 AWG to 1/0.
        """
        if pull is None or pull.candidate.parallel > 1:
            return None
        shelf, house = self.job.shelf(self.job.demands.house_kind), _house_least(self.job)
        floor = 0.0 if house is None else _least_area(self.job, house)
        thinner = [
            at
            for at in range(pull.at)
            if (self.job.stock is not None or not shelf or self.sizes[at] in shelf)
            and floor <= self.conductors[at].area_m2 < pull.candidate.conductor.area_m2
        ]
        if not thinner or self.states(1)[thinner[-1]] != BORDERLINE or not self.spare(1)[thinner[-1]]:
            return None
        next_one = self.pick(thinner[-1], 1)
        return next_one if all(held.share[next_one.at] <= 1 + LITTLE for held in next_one.broken) else None

    def _first(self, lots: Sequence[tuple[_Lot, int]], wanted: State, floor: float) -> SizePick | None:
        mechanical = _mechanical_least(self.job)
        alone = 0.0 if mechanical is None else _least_area(self.job, mechanical)
        for sizes, parallel in lots:
            spare = self.spare(parallel)
            for at, grade in enumerate(self.states(parallel)):
                each_m2 = self.conductors[at].area_m2
                # side by side they count together
                thick = each_m2 * parallel >= floor and each_m2 >= alone and spare[at]
                if grade == wanted and thick and (sizes is None or self.sizes[at] in sizes):
                    return self.pick(at, parallel)
        return None


def _why(job: Job, least: SizePick | None, pull: SizePick | None, search: _Search) -> str:
    """One sentence on why the shop pulls something else."""
    if least is None or pull is None or least.candidate == pull.candidate:
        return ""
    house = _house_least(job)
    if house is not None and least.candidate.conductor.area_m2 < _least_area(job, house):
        return f"The house rules pull nothing thinner here than {job.make(house.sizes[0]).label}: {house.reason}"
    loading = job.rules.find("wire_loading", job.demands.house_kind)
    if loading is not None and search.tight(least):
        return f"The house rules load it to {100 * loading.number:g} % of what it carries at most: {loading.reason}"
    if pull.candidate.parallel > 1 and pull.candidate.parallel > least.candidate.parallel:
        return f"{least.label} is pulled only when asked for: several thinner ones bend and fit the terminals."
    if pull.state == BORDERLINE:
        return f"No size on the shelf keeps every limit of taste; {pull.label} is borderline."
    return f"{least.label} is not on the shelf."
