"""The cables of several conductors in a plan: what each of their wires asks of a conductor, and which type suits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wirecalc.errors import InputError
from wirecalc.runs import with_heat
from wirecalc.runs.choose import judge
from wirecalc.units import read_size
from wirecalc.vehicle.as_run import held_at_full, laid_of, place_of, signal_measures
from wirecalc.vehicle.limits import limits_of
from wirecalc.vehicle.plan import Circuit, Plan, solve
from wirecalc.wire import multicore
from wirecalc.wire.cable_types import CABLES, CableType
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.core_choice import CableCircuit
from wirecalc.wire.multicore import Allocation


def bundled(plan: Plan) -> dict[str, tuple[Circuit, ...]]:
    """The circuits that may run in a cable of several conductors, by the name that the plan gives the cable."""
    found: dict[str, tuple[Circuit, ...]] = {}
    for one in plan.circuits:
        if one.wire.cable:
            found[one.wire.cable] = (*found.get(one.wire.cable, ()), one)
    return found


def asked(plan: Plan, circuits: Sequence[Circuit], cable: CableType) -> tuple[CableCircuit, ...]:
    """What circuits ask of a cable: judged by their own limits in the plan, each with the cable's conductor instead.

    Parameters
    ----------
    plan : Plan
    circuits : sequence of Circuit
        Of this plan.
    cable : CableType

    Returns
    -------
    tuple of wirecalc.wire.core_choice.CableCircuit
        A shared supply is solved anew for each size that is asked about.
    """
    return tuple(_asked(plan, one, cable) for one in circuits)


def _asked(plan: Plan, one: Circuit, cable: CableType) -> CableCircuit:
    known: dict[tuple[str, int], tuple[bool, str]] = {}

    def judged(core: Conductor, parallel: int) -> tuple[bool, str]:
        key = (core.label, parallel)
        if key not in known:
            known[key] = _judged(plan, one, cable, core, parallel)
        return known[key]

    each_a = one.measures.get("current_a", 0.0) if "full_a" in one.measures else 0.0
    return CableCircuit(
        name=one.wire.name,
        needs="pair" if one.laid.ways == 2 else "single",
        current_a=each_a * one.wire.parallel,
        judged=judged,
        channel=_channel(one),
    )


def _judged(plan: Plan, one: Circuit, cable: CableType, core: Conductor, parallel: int) -> tuple[bool, str]:
    """With this conductor in the place of the wire's own."""
    wire = replace(
        one.wire, size=read_size(core.label), parallel=parallel, metal="copper", stranding="stranded",
        insulation=cable.insulation.key,
    )  # fmt: skip
    wires = tuple(wire if each.name == wire.name else each for each in plan.vehicle.wires)
    vehicle = replace(plan.vehicle, wires=wires)
    if wire.name in plan.supply.wiring.places:
        found = solve(vehicle).circuit(wire.name)
    else:  # it shares nothing with others: no need to solve them again
        laid, place = laid_of(vehicle, wire), place_of(vehicle, wire)
        each = with_heat(held_at_full(signal_measures(vehicle, wire, [core])), [core], laid, place)
        values = {key: float(value[0]) for key, value in each.items()}
        verdict = judge([core.label], values, limits_of(vehicle, wire, values))
        found = replace(one, wire=wire, conductor=core, measures=values, verdict=verdict, laid=laid, place=place)
    if not found.meets:
        return False, "; ".join(found.broken)
    name, used = found.tightest
    return True, f"keeps every limit, {100 * used:.0f} % of the limit on {name}"


def _channel(one: Circuit) -> str:
    """Which of the trade's colours it should have."""
    if one.kind == "remote":
        return "remote turn-on"
    words = one.wire.end.casefold().split()
    ends = [next((word for word in pair if word in words), "") for pair in (("front", "rear"), ("left", "right"))]
    return " ".join(ends) if all(ends) else ""


def allocated(plan: Plan, name: str, cable: CableType | None = None, *, spare: int = 0) -> Allocation:
    """The circuits of one cable of a plan, given to conductors.

    Parameters
    ----------
    plan : Plan
    name : str
        As in the plan's column Cable.
    cable : CableType, optional
        If not given, the one of `wirecalc.wire.cable_types.CABLES` that carries most of the circuits, with the fewest
        conductors of those.
    spare : int
        Conductors to leave unused.

    Returns
    -------
    wirecalc.wire.multicore.Allocation

    Raises
    ------
    InputError
        If the plan has no such cable, or some state of it has no operating point.
    """
    if plan.problems:
        raise InputError("Plan", "no operating point", "feeds that can deliver what is asked", "Mend the feeds first.")
    circuits = bundled(plan).get(name)
    if circuits is None:
        raise InputError("Cable", name, ", ".join(bundled(plan)) or "none: the plan names no cable")
    ambient_c = max(one.place.ambient_c for one in circuits)
    found = [
        multicore.allocate(each, asked(plan, circuits, each), ambient_c=ambient_c, spare=min(spare, len(each.cores)))
        for each in ((cable,) if cable is not None else CABLES.values())
    ]
    return max(found, key=lambda one: (sum(use.carried for use in one.uses), -len(one.cable.cores)))
