"""What is signed for each circuit of a plan: what to pull, how it stands and why, its fuse, and what to mind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from wirecalc.units_taken import dataclass
from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, FACTORY_SIGNAL
from wirecalc.vehicle.limits import Grade, fuse_family, short_a
from wirecalc.vehicle.plan import Circuit, Plan
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.cautions import StartsAt, Work, cautions
from wirecalc.wire.fuse_families import FuseFamily, short_in_words

_UNHEATED = ("line", FACTORY_SIGNAL, "remote", "relay")
_FROM_OUTPUTS = ("speaker", "subwoofer", *_UNHEATED)


@dataclass(frozen=True, kw_only=True)
class Signed:
    """One circuit."""

    circuit: Circuit
    pull: str
    """As the trade writes it: "12 AWG", "2 × 1/0 AWG"."""
    least: str
    """The thinnest by itself that keeps every limit; empty where the size was given."""
    grade: Grade
    first_reason: str
    """Of what is not kept, the first; of a fine circuit why this size, where it was chosen; else empty."""
    fuse_a: float | None
    """Of each of its conductors; None without one. [A]"""
    family: FuseFamily | None
    """Of that fuse: has the rating and breaks the short there; None where none does."""
    short_a: float | None
    """The strongest short there. [A]"""
    cautions: tuple[str, ...]

    @property
    def fuse(self) -> str:
        """In words: "100 A terminal fuse on a post (single bolt), breaks 2 kA"; empty without one."""
        if self.fuse_a is None:
            return ""
        if self.family is None:
            return f"{self.fuse_a:g} A fuse, of a kind that breaks {short_in_words(self.short_a or 0)}: none is known"
        return f"{self.family.named(self.fuse_a)}, breaks {self.family.breaking_a / 1e3:g} kA"


def signed(plan: Plan, reasons: Mapping[str, str], least: Mapping[str, str]) -> tuple[Signed, ...]:
    """What is signed for every circuit.

    Parameters
    ----------
    plan : Plan
        With nothing left to choose.
    reasons : mapping of str to str
        Why this size, by the name of each wire whose size was left to choose.
    least : mapping of str to str
        The thinnest that keeps every limit, likewise.

    Returns
    -------
    tuple of Signed
        One for each circuit, in the plan's order.

    See Also
    --------
    wirecalc.vehicle.choose.choose_plan : Gives all three.
    wirecalc.advice.size.advise : The same of one run that shares nothing.
    """
    return tuple(_signed(plan, circuit, reasons, least) for circuit in plan.circuits)


def _signed(plan: Plan, circuit: Circuit, reasons: Mapping[str, str], least: Mapping[str, str]) -> Signed:
    fuse_a, name = circuit.measures.get("fuse_a"), circuit.wire.name
    reasons_why = (*circuit.broken, *circuit.close, *filter(None, (reasons.get(name),)))
    return Signed(
        circuit=circuit,
        pull=side_by_side(circuit.conductor.label, circuit.wire.parallel),
        least=least.get(name, ""),
        grade=circuit.grade,
        first_reason=reasons_why[0] if reasons_why else "",
        fuse_a=fuse_a,
        family=None if fuse_a is None else fuse_family(plan.vehicle, circuit.wire, fuse_a),
        short_a=None if fuse_a is None else short_a(plan.vehicle, circuit.wire, fuse_a),
        cautions=(*circuit.cautions, *cautions(work_of_circuit(plan, circuit))),
    )


def work_of_circuit(plan: Plan, circuit: Circuit) -> Work:
    """What the cautions have to know of one circuit.

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
    at_battery = plan.vehicle.device(wire.start).kind in (ALTERNATOR, BATTERY)
    run = circuit.run
    starts: StartsAt = "output" if kind in _FROM_OUTPUTS else "battery" if at_battery else "branch"
    return Work(
        starts_at=starts,
        loudspeaker=kind in ("speaker", "subwoofer"),
        music_v=0.0 if run is None else run.music_v,
        music_w=0.0 if run is None else run.power_w,
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
    return tuple(work_of_circuit(plan, circuit) for circuit in (plan.circuits if circuits is None else circuits))
