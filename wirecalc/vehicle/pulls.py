"""A plan as what has to be pulled and bought: its wires, its cables of several conductors, their ends and fuses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecalc.vehicle.buy import Pull
from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, BODY, LOUDSPEAKER, RELAY, SUBWOOFER
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.wire.conductor import METALS
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.multicore import Allocation

TAIL_M = 0.15  # from a fuse holder to where a cable begins: common practice, no source
# What goes on a conductor's end at a device: common practice, no source; the device's own terminals decide.
ENDS = {
    BATTERY: "ring terminal",
    ALTERNATOR: "ring terminal",
    BODY: "ring terminal",
    RELAY: "push-on terminal",
    LOUDSPEAKER: "push-on terminal",
    SUBWOOFER: "push-on terminal",
}
OTHERS = "ferrule"


def pulls(plan: Plan, cables: Sequence[tuple[str, Allocation]] = ()) -> tuple[Pull, ...]:
    """What has to be pulled.

    Parameters
    ----------
    plan : Plan
    cables : sequence of (str, Allocation)
        Name in the plan and what the cable carries, see `wirecalc.vehicle.cable.allocated`. What none carries is pulled
        as a wire of its own.

    Returns
    -------
    tuple of wirecalc.vehicle.buy.Pull
        A cable as long as its longest circuit. Not what the vehicle has already.
    """
    carried = {use.circuit.name for _, found in cables for use in found.uses if use.carried}
    by_name = {one.wire.name: one for one in plan.circuits}
    found: list[Pull] = []
    for name, allocation in cables:
        own = [by_name[use.circuit.name] for use in allocation.uses if use.carried]
        if own:
            found.append(
                Pull(
                    name=name,
                    wire=allocation.cable.name,
                    length_m=max(one.wire.length_m for one in own),
                    cores=sum(len(use.cores) for use in allocation.uses),
                )
            )
            found += [pull for one in own for pull in _fuse_only(plan, one)]
    for one in plan.circuits:
        if one.wire.name not in carried and one.wire.there != "yes":
            found += _own(plan, one)
    return tuple(found)


def _own(plan: Plan, one: Circuit) -> Iterator[Pull]:
    """A wire by itself; each of several in parallel has its own fuse, and so is a pull of its own."""
    fuse_a = one.measures.get("fuse_a")
    sets = one.wire.parallel if fuse_a is not None else 1
    for _ in range(sets):
        yield Pull(
            name=one.wire.name,
            wire=_item(one),
            length_m=one.wire.length_m,
            conductors=one.laid.ways * one.wire.parallel // sets,
            size=one.conductor.label,
            ends=(_end(plan, one.wire.start), _end(plan, one.wire.end)),
            fuse=_kind(plan, one),
            fuse_a=fuse_a,
        )


def _fuse_only(plan: Plan, one: Circuit) -> Iterator[Pull]:
    """The fuse of a circuit that a cable carries, on a tail of wire before the cable begins."""
    fuse_a = one.measures.get("fuse_a")
    if fuse_a is not None:
        yield Pull(
            name=f"{one.wire.name}, tail with its fuse",
            wire=_item(one),
            length_m=TAIL_M,
            size=one.conductor.label,
            fuse=_kind(plan, one),
            fuse_a=fuse_a,
        )


def _item(one: Circuit) -> str:
    """As it is asked for in the shop."""
    wire = one.wire
    return f"{one.conductor.label}, {METALS[wire.metal].name}, {INSULATIONS[wire.insulation].name}"


def _kind(plan: Plan, one: Circuit) -> str:
    """The family of its fuse, by the house rules; empty without one."""
    fuse_a = one.measures.get("fuse_a")
    if fuse_a is None:
        return ""
    family = fuse_family(plan.vehicle, one.wire, fuse_a)
    return "fuse" if family is None else family.key


def _end(plan: Plan, device: str) -> str:
    return ENDS.get(plan.vehicle.device(device).kind, OTHERS)
