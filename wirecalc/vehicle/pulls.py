"""A plan as what has to be pulled and bought: its wires, its cables of several conductors, their ends and fuses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecalc.vehicle.buy import Pull
from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, BODY, LOUDSPEAKER, RELAY, SUBWOOFER
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.wire.bought import in_shop
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
    carried = {use.circuit.name for _, allocation in cables for use in allocation.uses if use.carried}
    by_name = {circuit.wire.name: circuit for circuit in plan.circuits}
    to_pull: list[Pull] = []
    for name, allocation in cables:
        own = [by_name[use.circuit.name] for use in allocation.uses if use.carried]
        if own:
            to_pull.append(
                Pull(
                    name=name,
                    wire=allocation.cable.name,
                    length_m=max(circuit.wire.length_m for circuit in own),
                    cores=sum(len(use.cores) for use in allocation.uses),
                )
            )
            to_pull += [pull for circuit in own for pull in _fuse_only(plan, circuit)]
    for circuit in plan.circuits:
        if circuit.wire.name not in carried and circuit.wire.there != "yes":
            to_pull += _own(plan, circuit)
    return tuple(to_pull)


def _own(plan: Plan, circuit: Circuit) -> Iterator[Pull]:
    """A wire by itself; each of several in parallel has its own fuse, and so is a pull of its own."""
    fuse_a = circuit.measures.get("fuse_a")
    sets = circuit.wire.parallel if fuse_a is not None else 1
    for _ in range(sets):
        yield Pull(
            name=circuit.wire.name,
            wire=_item(circuit),
            length_m=circuit.wire.length_m,
            conductors=circuit.laid.ways * circuit.wire.parallel // sets,
            size=circuit.conductor.label,
            ends=(_end(plan, circuit.wire.start), _end(plan, circuit.wire.end)),
            fuse=_kind(plan, circuit),
            fuse_a=fuse_a,
        )


def _fuse_only(plan: Plan, circuit: Circuit) -> Iterator[Pull]:
    """The fuse of a circuit that a cable carries, on a tail of wire before the cable begins."""
    fuse_a = circuit.measures.get("fuse_a")
    if fuse_a is not None:
        yield Pull(
            name=f"{circuit.wire.name}, tail with its fuse",
            wire=_item(circuit),
            length_m=TAIL_M,
            size=circuit.conductor.label,
            fuse=_kind(plan, circuit),
            fuse_a=fuse_a,
        )


def _item(circuit: Circuit) -> str:
    """The wire by the name that the shop sells it under."""
    wire = circuit.wire
    assert not isinstance(wire.size, str)
    return in_shop(wire.size, METALS[wire.metal], INSULATIONS[wire.insulation])


def _kind(plan: Plan, circuit: Circuit) -> str:
    """The family of its fuse, by the house rules; empty without one."""
    fuse_a = circuit.measures.get("fuse_a")
    if fuse_a is None:
        return ""
    family = fuse_family(plan.vehicle, circuit.wire, fuse_a)
    return "fuse" if family is None else family.key


def _end(plan: Plan, device: str) -> str:
    return ENDS.get(plan.vehicle.device(device).kind, OTHERS)
