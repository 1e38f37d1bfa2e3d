"""What must be said of a vehicle's circuits: `wirecalc.wire.cautions` for each of them."""

from __future__ import annotations

from collections.abc import Iterable

from wirecalc.vehicle.fields import BATTERY
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.wire.cautions import StartsAt, Work

_FROM_OUTPUTS = ("speaker", "subwoofer", "line", "remote", "relay")
_UNHEATED = ("line", "remote", "relay")


def work_of(plan: Plan, circuit: Circuit) -> Work:
    """What one circuit is to the cautions.

    Parameters
    ----------
    plan : Plan
    circuit : Circuit
        Of that plan.

    Returns
    -------
    Work
    """
    wire, kind = circuit.wire, circuit.kind
    ground = kind == "ground"
    at_battery = plan.vehicle.device(wire.start).kind == BATTERY
    starts: StartsAt = "output" if kind in _FROM_OUTPUTS else "battery" if at_battery else "branch"
    return Work(
        starts_at=starts,
        loudspeaker=kind in ("speaker", "subwoofer"),
        ground=ground,
        fused=starts != "output" and not ground,
        parallel=wire.parallel,
        loaded=0 if kind in _UNHEATED else circuit.place.loaded,
        zones=tuple(filter(None, (circuit.place.zone,))),
        metal=circuit.conductor.metal,
    )


def works(plan: Plan, circuits: Iterable[Circuit] | None = None) -> tuple[Work, ...]:
    """The circuits of a plan, all or some, for `wirecalc.wire.cautions.cautions`.

    Parameters
    ----------
    plan : Plan
    circuits : iterable of Circuit, optional
        Of that plan; all if not given.

    Returns
    -------
    tuple of Work
        One for each circuit, in their order.
    """
    return tuple(work_of(plan, circuit) for circuit in (plan.circuits if circuits is None else circuits))
