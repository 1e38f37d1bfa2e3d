"""Every size and fuse of a plan that is left to choose.

Loudspeaker and line level runs are chosen one by one, the supply's wires together (`wirecalc.vehicle.search.sizes`),
then the fuses are placed (`wirecalc.vehicle.fuse`) and the whole is solved. Then the cables of several conductors get
their circuits (`wirecalc.vehicle.cable`): what a cable carries has its conductors, what it does not is chosen anew as a
wire by itself, and the whole is solved again. This is the only place where that is decided.

A typed size stays: a cable carries it with conductors of that size or not at all. What is best, each only among what
is best before it: most circuits carried; fewest limits of taste passed by a little; who is put out gains most by it;
fewest conductors; each channel in its colour (a loss is said); doubled pairs that are neighbours; the cable's own
order. Channels that match get conductors alike, doubled all or none. `wire/core_choice.py` has the details;
`tests/wirecalc/wire/test_multicore.py` holds it against trying every way.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from wirecalc.advice.job import counted_as, standard_sizes
from wirecalc.advice.size import MOST_PARALLEL
from wirecalc.runs import with_heat
from wirecalc.runs.choose import Verdict, judge_candidates
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.as_run import held_at_full, laid_of, matching, place_of, signal_measures
from wirecalc.vehicle.cable import Pulled, all_allocated, settled_in
from wirecalc.vehicle.fields import BATTERY, CHOOSE, NONE
from wirecalc.vehicle.fits import least_terminal
from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.limits import fuse_of_wire, limits_of
from wirecalc.vehicle.model import SUPPLY, Vehicle, Wire
from wirecalc.vehicle.plan import Plan, solve_vehicle
from wirecalc.vehicle.search.sizes import Found, Progress, least_alone, round_of, search
from wirecalc.vehicle.search.task import OpenWire, Task, solved_supply, task_of
from wirecalc.vehicle.stock import Options, Size, Stock, insulation_as_sold, least_rule, sold_as
from wirecalc.vehicle.terminals import devices_behind, house_kind
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.multicore import Allocation


@dataclass(frozen=True, kw_only=True, eq=False)
class ChosenPlan:
    """A plan with nothing left to choose."""

    vehicle: Vehicle
    plan: Plan
    reasons: Mapping[str, str]
    """Why this size, by the name of each wire that was left to choose, and of each that is listed for a cable."""
    least: Mapping[str, str]
    """The thinnest size that keeps every limit, whatever the house rules and the shelf say, by the name of each wire
    that was left to choose and that no cable carries."""
    fuse_reasons: Mapping[str, str]
    """Which fuse, or why none, by the name of each wire whose fuse was left to choose."""
    cost: float
    """Of all wires that were chosen, those that are listed for a cable left out: money, or cm³ of metal if not every
    size has a price."""
    solved: int
    """How many times the network was solved."""
    cables: Mapping[str, Allocation] = field(default_factory=dict)
    """What each cable of several conductors carries, by its name in the plan; none without an operating point."""


def choose_plan(
    vehicle: Vehicle, stock: Stock | None = None, progress: Progress | None = None, pulled: Pulled | None = None
) -> ChosenPlan:
    """Choose all that is left to choose, then solve.

    Parameters
    ----------
    vehicle : Vehicle
    stock : Stock, optional
        `USUAL_SIZES` without prices if not given.
    progress : callable, optional
        Is told the share that is done and what is being done; what it raises ends the work.
    pulled : Pulled, optional
        What is pulled for the cables of several conductors; if not given, what suits best.

    Returns
    -------
    ChosenPlan
        A wire in a cable has the cable's conductors; one that the cable does not carry is in no cable. A size that is
        not left to choose stays: a cable carries it with conductors of that size or not at all.

    Raises
    ------
    InputError
        If some terminal has no path to a battery.
    """
    stock = Stock() if stock is None else stock
    tell = progress or (lambda share, what: None)
    chosen = _on_shelf_or_order(vehicle, stock, tell)
    if any(wire.cable for wire in vehicle.wires):
        tell(0.97, "giving the cables' conductors to their circuits")
        chosen = _in_cables(vehicle, stock, chosen, pulled or Pulled())
    tell(1.0, "done")
    return chosen


def _in_cables(vehicle: Vehicle, stock: Stock, chosen: ChosenPlan, pulled: Pulled) -> ChosenPlan:
    """With the cables' conductors given to their circuits, and wires by themselves chosen for what they do not carry.

    What is carried has to stand in the whole that comes of it; what does not is put out, and all is given anew.
    """
    barred: set[str] = set()
    while True:
        cables = all_allocated(chosen.plan, pulled, barred, vehicle)
        if not cables:
            return chosen
        own = {use.circuit.name for each in cables.values() for use in each.uses}
        laid = settled_in(vehicle, cables)
        known = {wire.name: wire for wire in chosen.vehicle.wires}
        rest = tuple(wire if wire.name in own else known[wire.name] for wire in laid.wires)
        rest_chosen = _on_shelf_or_order(replace(laid, wires=rest), stock, lambda share, what: None)
        if _failing(rest_chosen.plan)[:2] > _failing(chosen.plan)[:2]:  # the rest depends on it
            rest_chosen = _on_shelf_or_order(laid, stock, lambda share, what: None)
        carried = {use.circuit.name for each in cables.values() for use in each.uses if use.carried}
        failed = {name for name in carried if not rest_chosen.plan.circuit(name).meets} - barred
        if not failed:
            return _told(chosen, rest_chosen, cables)
        barred |= failed


def _told(before: ChosenPlan, after: ChosenPlan, cables: Mapping[str, Allocation]) -> ChosenPlan:
    """A plan whose cables are decided, with every reason."""
    reasons, least = {**before.reasons, **after.reasons}, {**before.least, **after.least}
    for name, each in cables.items():
        for use in each.uses:
            wire = use.circuit.name
            if use.carried:
                colours = ", ".join(core.name for _, core in use.cores)
                reasons[wire] = f"in the {name}, {colours}: {use.reason}"
                least.pop(wire, None)
            else:
                reasons[wire] = f"not in the {name}: {use.reason} {after.reasons.get(wire, '')}".rstrip()
    return replace(
        after, cables=cables, reasons=reasons, cost=before.cost, least=least,
        fuse_reasons={**before.fuse_reasons, **after.fuse_reasons}, solved=before.solved + after.solved,
    )  # fmt: skip


def _on_shelf_or_order(vehicle: Vehicle, stock: Stock, tell: Progress) -> ChosenPlan:
    """With what is on the shelf; what is not fine with that gets what is ordered, then several side by side."""
    chosen = _chosen(vehicle, stock, tell, usual=True)

    def better(changed: Vehicle, ordered: Collection[str]) -> ChosenPlan:
        new = _chosen(changed, stock, lambda share, what: tell(max(share, 0.9), what), ordered)
        best = new if new.plan.problems or _failing(new.plan) < _failing(chosen.plan) else chosen
        return replace(best, solved=chosen.solved + new.solved)

    if _not_fine(vehicle, chosen.plan):
        chosen = better(vehicle, ())
    laid, ordered = vehicle, _not_fine(vehicle, chosen.plan)
    if ordered and stock.is_usual:
        chosen = better(vehicle, ordered)
        if returns := _returns(chosen, _too_thin(vehicle, chosen.plan)) - ordered:
            ordered |= returns
            chosen = better(vehicle, ordered)
    for count in range(2, MOST_PARALLEL + 1):
        thin = _too_thin(vehicle, chosen.plan)
        if not thin or chosen.plan.problems:  # what no wire can feed, several cannot either
            break
        for beside in (_tight_returns(vehicle, thin), _returns(chosen, thin)):
            wider = _side_by_side(laid, {name for name in thin | beside if vehicle.wire(name).parallel == 1}, count)
            if wider != laid and _too_thin(vehicle, chosen.plan):
                laid, chosen = wider, better(wider, ordered)
    return chosen


def _failing(plan: Plan) -> tuple[int, int, int]:
    """The more that is wrong the larger."""
    grades = [circuit.grade for circuit in plan.circuits]
    return len(plan.problems), grades.count("too thin"), grades.count("borderline")


def _not_fine(vehicle: Vehicle, plan: Plan) -> set[str]:
    """The wires whose size was left to choose, and for which nothing fine was found."""
    left = {wire.name for wire in vehicle.wires if wire.size == CHOOSE}
    return {circuit.wire.name for circuit in plan.circuits if circuit.grade != "fine" and circuit.wire.name in left}


def _too_thin(vehicle: Vehicle, plan: Plan) -> set[str]:
    """The wires whose size was left to choose, and for which nothing was found that will do."""
    return {name for name in _not_fine(vehicle, plan) if not plan.circuit(name).meets}


def _returns(chosen: ChosenPlan, feeds: Collection[str]) -> set[str]:
    """Grounds whose size was left to choose on the way back of what these feed, about as thick as the feed or more.

    A ground that was fine by itself holds a feed back which it is too thin to return.
    """
    vehicle = chosen.vehicle
    batteries = [device.name for device in vehicle.devices if device.kind == BATTERY]
    grounds: set[str] = set()
    for name in feeds:
        feed = vehicle.wire(name)
        reached = {*devices_behind(vehicle, feed), *batteries}  # each battery's own, which returns all of its feeds
        while more := _grounds_of(chosen, reached) - grounds:
            grounds |= more
            reached |= {vehicle.wire(ground).end for ground in more}
    areas = {name: _area_m2(vehicle.wire(name)) for name in (*feeds, *grounds)}
    least = min((areas[name] for name in feeds), default=0.0) / 2
    return {name for name in grounds if areas[name] >= least}


def _grounds_of(chosen: ChosenPlan, devices: Collection[str]) -> set[str]:
    """Grounds that start at these, whose size was left to choose."""
    return {
        wire.name
        for wire in chosen.vehicle.wires
        if wire.name in chosen.reasons and wire.start in devices and chosen.vehicle.circuit(wire) == "ground"
    }


def _area_m2(wire: Wire) -> float:
    assert not isinstance(wire.size, str)
    return wire.conductor(wire.size).area_m2 * wire.parallel


def _tight_returns(vehicle: Vehicle, feeds: Collection[str]) -> set[str]:
    """Open grounds of what these feed whose terminal takes no thicker wire: they have to be as thick as the feed."""
    fed = {vehicle.wire(name).end for name in feeds}
    return {
        wire.name
        for wire in vehicle.wires
        if wire.size == CHOOSE
        and wire.start in fed
        and vehicle.circuit(wire) == "ground"
        and least_terminal(vehicle, wire)
    }


def _side_by_side(vehicle: Vehicle, names: Collection[str], count: int) -> Vehicle:
    """With several conductors side by side, each with its own fuse, where a person did not say how many."""
    wires = [
        replace(wire, parallel=count)
        if wire.name in names and not wire.cable and isinstance(wire.fuse, str) and vehicle.circuit(wire) in SUPPLY
        else wire
        for wire in vehicle.wires
    ]
    return replace(vehicle, wires=tuple(wires))


def _chosen(
    vehicle: Vehicle, stock: Stock, tell: Progress, ordered: Collection[str] = (), *, usual: bool = False
) -> ChosenPlan:
    """With what is on the shelf and, for some wires, what is ordered; see `Stock.options` for `usual`."""
    options = {
        wire.name: stock.options(
            vehicle, wire, on_order=wire.name in ordered, when_asked=wire.parallel > 1, usual=usual
        )
        for wire in vehicle.wires
        if wire.size == CHOOSE
    }
    vehicle = _insulated(vehicle, options)
    task = task_of(vehicle, options)
    best = search(task, tell)
    sizes = {piece.wire.name: piece.options.sizes[at] for piece, at in zip(task.open, best.row, strict=True)}
    reasons = _reasons(task, best)
    least = _least(task, best)
    cost = task.cost(best.row)
    for wire in vehicle.wires:
        if wire.name in options and wire.name not in task.wiring.places:
            own = options[wire.name]
            at, reasons[wire.name], least[wire.name] = _signal(vehicle, wire, own)
            sizes[wire.name] = own.sizes[at]
            cost += 0.0 if wire.cable else float(own.per_m[at]) * wire.length_m * vehicle.ways(wire) * wire.parallel
    for name, size in _alike(vehicle, sizes).items():
        if size != sizes[name]:
            sizes[name] = size
            thick = vehicle.wire(name).conductor(size).label
            reasons[name] += f" {thick} is pulled, as thick as the thickest of the speakers that are to play alike."
    tell(0.95, "solving the chosen plan")
    chosen = replace(
        vehicle,
        wires=tuple(
            replace(
                wire,
                size=sizes.get(wire.name, wire.size),
                fuse=best.fuses_a.get(wire.name, NONE) if wire.fuse == CHOOSE else wire.fuse,
            )
            for wire in vehicle.wires
        ),
    )
    plan = solve_vehicle(chosen)
    asked = [wire for wire in vehicle.wires if wire.fuse == CHOOSE]
    return ChosenPlan(
        vehicle=chosen,
        plan=plan,
        reasons={name: _both(chosen, name, reason, least, options[name]) for name, reason in reasons.items()},
        least=least,
        fuse_reasons={wire.name: _fuse_reason(plan, wire.name) for wire in asked},
        cost=cost,
        solved=best.solved,
    )


def _insulated(vehicle: Vehicle, options: Mapping[str, Options]) -> Vehicle:
    """With the insulation of the types of wire that there are to choose from, where nobody wrote another."""
    wires = tuple(
        replace(wire, insulation=insulation_as_sold(wire, options[wire.name])) if wire.name in options else wire
        for wire in vehicle.wires
    )
    return vehicle if wires == vehicle.wires else replace(vehicle, wires=wires)


def _every_size(vehicle: Vehicle, wire: Wire) -> Sequence[Size]:
    """For the least that would do: all sizes in which the wire on the shelf is made."""
    return standard_sizes(sold_as(vehicle, wire))


def _both(vehicle: Vehicle, name: str, reason: str, least: Mapping[str, str], own: Options) -> str:
    """A reason, and the thinnest that would do where that is another size, with what decides for the thicker one."""
    wire = vehicle.wire(name)
    assert not isinstance(wire.size, str)
    conductor = wire.conductor(wire.size)
    if least[name] == conductor.label:
        return reason
    rule = least_rule(vehicle, wire, counted_as(wire.size[0]))
    reason += f" {least[name]} by itself would keep every limit"
    if rule is not None and rule.sizes and wire.size[1] == rule.sizes[0][1]:
        return f"{reason}; the house rules pull no less than {conductor.label} for it: {rule.reason}"
    if least[name] not in [each.label for each in own.conductors]:
        return f"{reason}, but is not on the shelf."
    return f"{reason}."


def _signal(vehicle: Vehicle, wire: Wire, own: Options) -> tuple[int, str, str]:
    """Place of the option, reason and the thinnest that would do for a wire that shares nothing."""
    laid, where = laid_of(vehicle, wire), place_of(vehicle, wire)
    limits = limits_of(vehicle, wire, {})

    def judged(conductors: Sequence[Conductor]) -> Verdict:
        measures = with_heat(held_at_full(signal_measures(vehicle, wire, conductors)), conductors, laid, where)
        return judge_candidates([conductor.label for conductor in conductors], measures, limits)

    low = max(own.least, _spare(vehicle, wire, own))
    verdict = judged(own.conductors[low:])
    sentence = verdict.in_words(among="on the shelf")
    every = judged([wire.conductor(size) for size in _every_size(vehicle, wire)])
    at = low + verdict.nearest
    least = every.labels[every.nearest] if every.chosen is not None else own.conductors[at].label
    if at == low and verdict.chosen is not None:
        which = "that the house rules let pass" if at else "on the shelf"
        sentence = f"{own.conductors[at].label} is the thinnest {which}, and it meets every limit."
        if at > own.least:
            loading = vehicle.rules.rule("wire_loading", house_kind(vehicle, wire))
            sentence += f" They load it to {100 * loading.number:g} % of what it carries: {loading.reason}"
    return at, sentence, least


def _alike(vehicle: Vehicle, sizes: Mapping[str, Size]) -> dict[str, Size]:
    """The thickest size of speakers that are to play alike for all of them, if the house rules say so."""
    if not vehicle.rules.match_sizes:
        return {}
    groups: dict[tuple[str, int, float, str], list[Wire]] = {}
    for wire in vehicle.wires:
        key = matching(vehicle, wire)
        if wire.name in sizes and key is not None and not wire.cable:
            groups.setdefault((*key, wire.metal), []).append(wire)
    matched: dict[str, Size] = {}
    for wires in groups.values():
        thickest = max(wires, key=lambda wire: wire.conductor(sizes[wire.name]).area_m2)
        matched |= {wire.name: sizes[thickest.name] for wire in wires}
    return matched


def _spare(vehicle: Vehicle, wire: Wire, own: Options) -> int:
    """Place of the thinnest that is loaded no further than the house rules load a loudspeaker's wire."""
    rule = vehicle.rules.find("wire_loading", house_kind(vehicle, wire))
    if rule is None:
        return 0
    laid, where = laid_of(vehicle, wire), place_of(vehicle, wire)
    measures = held_at_full(signal_measures(vehicle, wire, own.conductors))
    warmed = with_heat(measures, own.conductors, laid, where)
    if "current_a" not in warmed:
        return 0
    good = np.flatnonzero(warmed["current_a"] <= rule.number * warmed["allowable_a"] * (1 + 1e-9))
    return int(good[0]) if good.size else 0


def _least(task: Task, best: Found) -> dict[str, str]:
    """The thinnest that keeps every limit, by the name of each open supply wire, the others as they were chosen."""
    if best.hopeless or not best.kept:
        return {
            piece.wire.name: piece.options.conductors[at].label for piece, at in zip(task.open, best.row, strict=True)
        }
    every = {}
    for piece, at in zip(task.open, best.row, strict=True):
        every_size = _every_size(task.vehicle, piece.wire)
        sizes = {size: piece.wire.conductor(size) for size in (*every_size, piece.options.sizes[at])}
        ordered = sorted(sizes, key=lambda size: sizes[size].area_m2)
        conductors = tuple(sizes[size] for size in ordered)
        per_m = np.array([each.area_m2 * 1e6 for each in conductors])
        every[piece.wire.name] = Options(sizes=tuple(ordered), conductors=conductors, per_m=per_m, least=0, rule=None)
    wide = task_of(task.vehicle, every)
    row = tuple(
        own.options.sizes.index(piece.options.sizes[at])
        for own, piece, at in zip(wide.open, task.open, best.row, strict=True)
    )
    wide = wide.warmed(solved_supply(wide, row, best.fuses_a))
    least = least_alone(round_of(wide, best.fuses_a), row)
    return {piece.wire.name: piece.options.conductors[at].label for piece, at in zip(wide.open, least, strict=True)}


def _reasons(task: Task, best: Found) -> dict[str, str]:
    """Why not thinner, by the name of each open supply wire."""
    reasons, protection = {}, FuseTree(task.wiring, best.fuses_a)
    for number, (piece, at) in enumerate(zip(task.open, best.row, strict=True)):
        label = piece.options.conductors[at].label
        if best.hopeless:
            reasons[piece.wire.name] = f"{label}, the thickest on the shelf: not even this gives an operating point."
        elif at == 0:
            reasons[piece.wire.name] = f"{label} is the thinnest on the shelf and serves."
        elif at == piece.options.least:
            reasons[piece.wire.name] = f"{label} is the thinnest that the house rules let pass, and it serves."
        else:
            why = _why_by_itself(protection, piece, at)
            if at > best.least[number]:
                broken = ", ".join(best.why.get(number, ())[:3])
                why = f"its limit is {broken}" if broken else "its fuse and the others' together ask for more"
            reasons[piece.wire.name] = f"{label}; not {piece.options.conductors[at - 1].label}: {why}."
    return reasons


def _why_by_itself(protection: FuseTree, piece: OpenWire, at: int) -> str:
    """What the next thinner size of a wire does not stand, whatever the others are: see `Task.least_places`."""
    wire, stands_a = piece.wire, float(piece.may_a[at - 1])
    own = wire.name in protection.fuses_a
    for fuse_a, what in (
        (protection.before_a(wire), "its fuse is one of {:g} A" if own else "the fuses before it let {:.3g} A through"),
        (protection.return_a(wire) / wire.parallel, "the fuses of what it returns let {:.3g} A through"),
    ):
        if np.isfinite(fuse_a) and fuse_a > stands_a * (1 + 1e-9):
            return f"that stands {stands_a:.3g} A, and {what.format(fuse_a)}"
    if protection.wiring.vehicle.circuit(wire) == "ground":
        return "the feed that it returns asks for more"
    return "its heat, or the fuse that its load needs, asks for more"


def _fuse_reason(plan: Plan, name: str) -> str:
    circuit = plan.circuit(name)
    wire, measures = circuit.wire, circuit.measures
    own = circuit.measures.get("fuse_a")
    allowed, needed = measures["largest_fuse_a"], measures.get("needed_a", np.nan)
    if own is not None:
        full_a, music_a = np.nan_to_num([measures["full_a"], measures["heat_a"]]) / wire.parallel
        least = fuse_of_wire(plan.vehicle, wire, float(full_a), float(music_a), allowed)
        if least.rating_a == own:
            return least.reason
        return f"{own:g} A: it needs {needed:.3g} A or more, and the wire stands {allowed:.3g} A."
    before = circuit.measures.get("before_a", np.nan)
    if before <= allowed:
        return f"None of its own: the {before:g} A before it protects it, for it stands {allowed:.3g} A."
    if np.isnan(before):
        return "None: what carries no supply current from a battery has no fuse."
    return f"None fits: it needs {needed:.3g} A or more and the wire stands {allowed:.3g} A."
