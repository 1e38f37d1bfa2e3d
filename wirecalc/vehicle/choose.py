"""Every size and fuse of a plan that is left to choose.

Loudspeaker and line level runs are chosen one by one, the supply's wires together (`wirecalc.vehicle.sizes`), then the
fuses are placed (`wirecalc.vehicle.fuse`) and the whole is solved.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from wirecalc.runs import wire_ohm, with_heat
from wirecalc.runs.choose import judge
from wirecalc.vehicle.fields import CHOOSE, NONE
from wirecalc.vehicle.model import Vehicle, Wire
from wirecalc.vehicle.plan import Plan, laid_of, limits_of, place_of, signal_run, solve
from wirecalc.vehicle.sizes import Progress, Search
from wirecalc.vehicle.stock import Size, Stock


@dataclass(frozen=True, kw_only=True, eq=False)
class ChosenPlan:
    """A plan with nothing left to choose."""

    vehicle: Vehicle
    plan: Plan
    reasons: Mapping[str, str]
    """Why this size, by the name of each wire that was left to choose."""
    fuse_reasons: Mapping[str, str]
    """Which fuse, or why none, by the name of each wire whose fuse was left to choose."""
    cost: float
    """Of all wires that were chosen: money, or cm³ of metal if not every size has a price."""
    solved: int
    """How many times the network was solved."""


def choose(vehicle: Vehicle, stock: Stock | None = None, progress: Progress | None = None) -> ChosenPlan:
    """Choose all that is left to choose, then solve.

    Parameters
    ----------
    vehicle : Vehicle
    stock : Stock, optional
        `USUAL_SIZES` without prices if not given.
    progress : callable, optional
        Is told the share that is done and what is being done; what it raises ends the work.

    Returns
    -------
    ChosenPlan

    Raises
    ------
    InputError
        If some terminal has no path to a battery.
    """
    stock = Stock() if stock is None else stock
    tell = progress or (lambda share, what: None)
    sizes: dict[str, Size] = {}
    reasons: dict[str, str] = {}
    cost = 0.0
    search = Search(vehicle, stock, tell)
    for wire in vehicle.wires:
        if wire.size == CHOOSE and wire.name not in search.wiring.places:
            sizes[wire.name], reasons[wire.name], per_m = _signal(vehicle, wire, stock)
            cost += per_m * wire.length_m * vehicle.ways(wire) * wire.parallel
    search.run()
    sizes |= search.sizes()
    reasons |= search.reasons()
    cost += search.cost(search.best)
    fuses = search.fuses_a
    tell(0.95, "solving the chosen plan")
    chosen = Vehicle(
        devices=vehicle.devices,
        wires=tuple(
            replace(
                wire,
                size=sizes.get(wire.name, wire.size),
                fuse=fuses.get(wire.name, NONE) if wire.fuse == CHOOSE else wire.fuse,
            )
            for wire in vehicle.wires
        ),
    )
    plan = solve(chosen)
    tell(1.0, "done")
    asked = [wire for wire in vehicle.wires if wire.fuse == CHOOSE]
    return ChosenPlan(
        vehicle=chosen,
        plan=plan,
        reasons=reasons,
        fuse_reasons={wire.name: _fuse_reason(plan, wire.name) for wire in asked},
        cost=cost,
        solved=search.solved,
    )


def _signal(vehicle: Vehicle, wire: Wire, stock: Stock) -> tuple[Size, str, float]:
    """Size, reason and cost per metre of a wire that shares nothing."""
    sizes, conductors, per_m = stock.options(wire)
    run, laid = signal_run(vehicle, wire), laid_of(vehicle, wire)
    measures = run.measures(wire_ohm(conductors, laid), wire.length_m)
    hot = with_heat(measures, conductors, laid, place_of(vehicle, wire))
    verdict = judge([one.label for one in conductors], hot, limits_of(vehicle, wire, {}))
    return sizes[verdict.nearest], verdict.in_words(), float(per_m[verdict.nearest])


def _fuse_reason(plan: Plan, name: str) -> str:
    one = plan.circuit(name)
    own = one.measures.get("fuse_a")
    allowed, needed = one.measures["allowable_a"], one.measures.get("needed_a", np.nan)
    if own is not None:
        return f"{own:g} A: it needs {needed:.3g} A or more, and the wire may carry {allowed:.3g} A."
    before = one.measures.get("before_a", np.nan)
    if before <= allowed:
        return f"None of its own: the {before:g} A before it protects it, for it may carry {allowed:.3g} A."
    if np.isnan(before):
        return "None: what carries no supply current from a battery has no fuse."
    return f"None fits: it needs {needed:.3g} A or more and the wire may carry {allowed:.3g} A."
