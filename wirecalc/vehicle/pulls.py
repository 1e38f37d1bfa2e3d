"""A plan as what has to be pulled and bought: its wires, its cables of several conductors, their ends and fuses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wirecalc.cutting.shop import HOOK_UP, LINE, POWER, SEVERAL, SPEAKER
from wirecalc.vehicle.buy import Pull
from wirecalc.vehicle.fields import (
    ALTERNATOR,
    BATTERY,
    BODY,
    FACTORY_SIGNAL,
    HEAD,
    LAMPS,
    LOUDSPEAKER,
    OTHER,
    RELAY,
    SUBWOOFER,
)
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.wire.bought import in_shop, insulation_of
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
    HEAD: "butt splice",
    LAMPS: "butt splice",
    OTHER: "butt splice",
}
OTHERS, LINE_END = "ferrule", "line plug"
TWINS = {SPEAKER: "two-conductor speaker wire", LINE: "screened line cable"}
THICKEST_TWIN_M2 = 8.5e-6  # two-conductor speaker wire is sold up to 8 AWG: common practice, no source
POWER_FROM_M2 = 8.0e-6  # what a shop calls power wire begins at 8 AWG: common practice, no source


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
                    aisle=SEVERAL,
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
    aisle = _aisle(circuit)
    twin = aisle in (SPEAKER, LINE)
    for _ in range(sets):
        yield Pull(
            name=circuit.wire.name,
            wire=f"{TWINS[aisle]}, {_item(circuit)}" if twin else _item(circuit),
            length_m=circuit.wire.length_m,
            conductors=circuit.wire.parallel if twin else circuit.laid.ways * circuit.wire.parallel // sets,
            cores=2 if twin else 1,
            size=circuit.conductor.label,
            ends=(_end(plan, circuit, circuit.wire.start), _end(plan, circuit, circuit.wire.end)),
            fuse=_kind(plan, circuit),
            fuse_a=fuse_a,
            aisle=aisle,
        )


def _aisle(circuit: Circuit) -> str:
    """Where a shop has it: the two of a loudspeaker lie in one jacket, those of a line signal under a screen."""
    if circuit.laid.ways == 2 and circuit.kind == "line":
        return LINE
    assert not isinstance(circuit.wire.size, str)
    loose = insulation_of(circuit.wire.size[0]) is not None  # a type of single wire was asked for
    speaker = circuit.laid.ways == 2 and circuit.kind in ("speaker", "subwoofer", FACTORY_SIGNAL)
    if speaker and not loose and circuit.conductor.area_m2 <= THICKEST_TWIN_M2:
        return SPEAKER
    return POWER if circuit.conductor.area_m2 >= POWER_FROM_M2 else HOOK_UP


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
            aisle=_aisle(circuit),
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
    return "fuse" if family is None else family.name


def _end(plan: Plan, circuit: Circuit, device: str) -> str:
    if circuit.kind == "line":
        return LINE_END
    return ENDS.get(plan.vehicle.device(device).kind, OTHERS)
