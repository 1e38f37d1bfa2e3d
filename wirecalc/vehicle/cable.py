"""The cables of several conductors in a plan: what each of their wires asks of a conductor, and which type suits."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace

from wirecalc.errors import InputError
from wirecalc.runs import with_heat
from wirecalc.runs.choose import judge_candidates
from wirecalc.units import read_standard_size
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.as_run import held_at_full, laid_of, matching, place_of, signal_measures
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.limits import limits_of
from wirecalc.vehicle.model import Vehicle, Wire
from wirecalc.vehicle.plan import Circuit, Plan, solve_vehicle
from wirecalc.wire import multicore
from wirecalc.wire.as_sold import show_size, side_by_side
from wirecalc.wire.cable_types import CABLES, CableType
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.core_choice import CableCircuit, Standing, sets_of
from wirecalc.wire.multicore import Allocation, CoreChoice

BARRED = "with all that the cable carries it breaks a limit"


@dataclass(frozen=True, kw_only=True)
class Pulled:
    """What is pulled for the cables of a plan."""

    types: Mapping[str, CableType] = field(default_factory=dict)
    """By the name that the plan gives the cable; for any other the best of `shelf`."""
    spare: int = 0
    """Conductors of each that are to stay unused."""
    shelf: tuple[CableType, ...] = tuple(CABLES.values())
    """To choose from."""


def bundled(plan: Plan) -> dict[str, tuple[Circuit, ...]]:
    """The circuits that may run in a cable of several conductors, by the name that the plan gives the cable."""
    by_cable: dict[str, tuple[Circuit, ...]] = {}
    for circuit in plan.circuits:
        if circuit.wire.cable:
            by_cable[circuit.wire.cable] = (*by_cable.get(circuit.wire.cable, ()), circuit)
    return by_cable


class Judging:
    """What circuits of a plan ask of cables: each conductor size is judged once for all cables that have it."""

    def __init__(
        self, plan: Plan, circuits: Sequence[Circuit], barred: Collection[str] = (), listed: Vehicle | None = None
    ) -> None:
        self.plan, self.circuits, self.barred = plan, tuple(circuits), frozenset(barred)
        self._listed = {} if listed is None else {wire.name: wire for wire in listed.wires if wire.size != CHOOSE}
        self.judged = 0
        """How many times a conductor was held against the limits of a circuit."""
        self._known: dict[tuple[str, str, int, str], Standing] = {}

    def asked(self, cable: CableType) -> tuple[CableCircuit, ...]:
        """What the circuits ask of a cable: judged by their own limits in the plan, with the cable's conductor instead.

        Parameters
        ----------
        cable : CableType

        Returns
        -------
        tuple of wirecalc.wire.core_choice.CableCircuit
            A shared supply is solved anew for each size that is asked about.
        """
        return tuple(self._asked(circuit, cable) for circuit in self.circuits)

    def _asked(self, circuit: Circuit, cable: CableType) -> CableCircuit:
        def judged(core: Conductor, parallel: int) -> Standing:
            if circuit.wire.name in self.barred:
                return Standing(False, BARRED)
            listed = self._listed.get(circuit.wire.name)
            if listed is not None and not _is_listed(listed, core, parallel):
                return Standing(False, f"{_size(listed)} is listed for it; “choose” in its place lets the cable decide")
            key = (circuit.wire.name, core.label, parallel, cable.insulation.key)
            if key not in self._known:
                self.judged += 1
                self._known[key] = _judged(self.plan, circuit, cable, core, parallel)
            return self._known[key]

        each_a = circuit.measures.get("current_a", 0.0) if "full_a" in circuit.measures else 0.0
        return CableCircuit(
            name=circuit.wire.name,
            needs="pair" if circuit.laid.ways == 2 else "single",
            current_a=each_a * circuit.wire.parallel,
            judged=judged,
            channel=_channel(circuit),
            alike="" if circuit.wire.name in self._listed else _alike(self.plan, circuit),
        )

    def at_most(self, cable: CableType, spare: int) -> int:
        """Most circuits that a cable can have conductors for, heat and matches left out.

        Parameters
        ----------
        cable : CableType
        spare : int
            Conductors that are to stay unused.

        Returns
        -------
        int
        """
        able = [circuit.needs for circuit in self.asked(cable) if _has_option(circuit, cable)]
        return _at_most(cable, spare, able.count("pair"), able.count("single"))


def _has_option(circuit: CableCircuit, cable: CableType) -> bool:
    kinds = dict.fromkeys((size, count) for size, count, _ in sets_of(cable, circuit.needs, multicore.PARALLEL))
    return any(circuit.judge(size, count).does for size, count in kinds)


def _is_listed(wire: Wire, core: Conductor, parallel: int) -> bool:
    assert not isinstance(wire.size, str)
    own = wire.conductor(wire.size)
    return (own.label, own.metal, wire.parallel) == (core.label, core.metal, parallel)


def _size(wire: Wire) -> str:
    assert not isinstance(wire.size, str)
    return side_by_side(show_size(*wire.size), wire.parallel)


def _judged(plan: Plan, circuit: Circuit, cable: CableType, core: Conductor, parallel: int) -> Standing:
    """With this conductor in the place of the wire's own."""
    wire = in_cable(circuit.wire, cable, core, parallel)
    wires = tuple(wire if each.name == wire.name else each for each in plan.vehicle.wires)
    vehicle = replace(plan.vehicle, wires=wires)
    if wire.name in plan.supply.wiring.places:
        judged = solve_vehicle(vehicle).circuit(wire.name)
    else:  # it shares nothing with others: no need to solve them again
        laid, place = laid_of(vehicle, wire), place_of(vehicle, wire)
        each = with_heat(held_at_full(signal_measures(vehicle, wire, [core])), [core], laid, place)
        values = {key: float(value[0]) for key, value in each.items()}
        verdict = judge_candidates([core.label], values, limits_of(vehicle, wire, values))
        judged = replace(circuit, wire=wire, conductor=core, measures=values, verdict=verdict, laid=laid, place=place)
    name, used = judged.tightest
    if not judged.meets:
        return Standing(False, "; ".join(judged.broken), used, False)
    if judged.close:
        return Standing(True, f"borderline: {'; '.join(judged.close)}", used, False)
    return Standing(True, f"keeps every limit, {100 * used:.0f} % of the limit on {name}", used)


def in_cable(wire: Wire, cable: CableType, core: Conductor, parallel: int) -> Wire:
    """A wire as conductors of a cable.

    Parameters
    ----------
    wire : Wire
    cable : CableType
        Gives the insulation.
    core : Conductor
        One of its conductors.
    parallel : int
        How many side by side, each way.

    Returns
    -------
    Wire
    """
    return replace(
        wire, size=read_standard_size(core.label), parallel=parallel, metal="copper", stranding="stranded",
        insulation=cable.insulation.key,
    )  # fmt: skip


def settled_in(vehicle: Vehicle, cables: Mapping[str, Allocation]) -> Vehicle:
    """A vehicle whose cables are decided.

    Parameters
    ----------
    vehicle : Vehicle
        As a person listed it.
    cables : mapping of str to wirecalc.wire.multicore.Allocation
        By the name in the plan.

    Returns
    -------
    Vehicle
        What a cable carries has the size and the number of the cable's conductors; what it does not carry is a wire by
        itself, in no cable.
    """
    uses = {use.circuit.name: (each.cable, use) for each in cables.values() for use in each.uses}
    wires = []
    for wire in vehicle.wires:
        if wire.name in uses:
            cable, use = uses[wire.name]
            if use.carried:
                wire = in_cable(wire, cable, use.cores[0][1].conductor, use.parallel)
            else:
                wire = replace(wire, cable="")
        wires.append(wire)
    return replace(vehicle, wires=tuple(wires))


def all_allocated(
    plan: Plan, pulled: Pulled, barred: Collection[str] = (), listed: Vehicle | None = None
) -> dict[str, Allocation]:
    """All cables of a plan, given to its circuits.

    Parameters
    ----------
    plan : Plan
        Solved; a cable's wires are taken by what they carry in it.
    pulled : Pulled
    barred : collection of str
        Circuits that no cable may carry.
    listed : Vehicle, optional
        As a person listed it: a size that was not left to choose is carried only by conductors of that size.

    Returns
    -------
    dict of str to wirecalc.wire.multicore.Allocation
        By the name in the plan; none where some state has no operating point, and none of a cable that over 24 wires
        name.
    """
    allocations = {}
    for name, circuits in bundled(plan).items():
        if plan.problems or len(circuits) > multicore.MOST_CIRCUITS:
            continue
        judging = Judging(plan, circuits, barred, listed)
        allocations[name] = allocated(
            plan, name, pulled.types.get(name), spare=pulled.spare, circuits=circuits, judging=judging,
            types=pulled.shelf,
        )  # fmt: skip
    return allocations


def _channel(circuit: Circuit) -> str:
    """Which of the trade's colours it should have."""
    if circuit.kind == "remote":
        return "remote turn-on"
    words = circuit.wire.end.casefold().replace("-", " ").split()
    ends = [next((word for word in pair if word in words), "") for pair in (("front", "rear"), ("left", "right"))]
    return " ".join(ends) if all(ends) else ""


def _alike(plan: Plan, circuit: Circuit) -> str:
    """The match of a loudspeaker's channel: the same output of one device into the same load; empty for what has none.

    The house rule "matched_size" says whether channels that match get the same wire.
    """
    key = matching(plan.vehicle, circuit.wire) if plan.vehicle.rules.match_sizes else None
    return "" if key is None else ", ".join(map(str, key))


def allocated(
    plan: Plan, name: str, cable: CableType | None = None, *, spare: int = 0, circuits: Sequence[Circuit] | None = None,
    judging: Judging | None = None, types: Sequence[CableType] = (),
) -> Allocation:  # fmt: skip
    """The circuits of one cable of a plan, given to conductors.

    Parameters
    ----------
    plan : Plan
    name : str
        As in the plan's column Cable.
    cable : CableType, optional
        If not given, the one of `types` that carries most of the circuits, with the fewest conductors of those.
    spare : int
        Conductors to leave unused.
    circuits : sequence of Circuit, optional
        Those of the cable; all that the plan names for it if not given.
    judging : Judging, optional
        One that knows these circuits already.
    types : sequence of CableType, optional
        Those of `wirecalc.wire.cable_types.CABLES` if not given.

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
    circuits = bundled(plan).get(name) if circuits is None else tuple(circuits)
    if circuits is None:
        raise InputError("Cable", name, ", ".join(bundled(plan)) or "none: the plan names no cable")
    judging = judging or Judging(plan, circuits)
    ambient_c = max(circuit.place.ambient_c for circuit in circuits)
    types = (cable,) if cable is not None else tuple(types) or tuple(CABLES.values())
    return multicore.explained(_best(judging, types, ambient_c, spare))


def _best(judging: Judging, types: Sequence[CableType], ambient_c: float, spare: int) -> CoreChoice:
    """The cable that carries most, with the fewest conductors of those, the first in the list of those.

    None is tried that could not be better than the best so far: by its conductors and pairs, then by what they do.
    """

    def rank(carried: int, at: int) -> tuple[int, int, int]:
        return carried, -len(types[at].cores), -at

    def room(at: int) -> int:
        return min(spare, len(types[at].cores))

    pairs = sum(circuit.laid.ways == 2 for circuit in judging.circuits)
    singles = len(judging.circuits) - pairs
    by_count = {at: _at_most(each, room(at), pairs, singles) for at, each in enumerate(types)}
    best: tuple[tuple[int, int, int], CoreChoice] | None = None
    for at in sorted(by_count, key=lambda at: rank(by_count[at], at), reverse=True):
        if best is not None and (
            rank(by_count[at], at) < best[0] or rank(judging.at_most(types[at], room(at)), at) < best[0]
        ):
            continue
        choice = multicore.chosen(types[at], judging.asked(types[at]), ambient_c=ambient_c, spare=room(at))
        if best is None or rank(choice.carried, at) > best[0]:
            best = rank(choice.carried, at), choice
    assert best is not None
    return best[1]


def _at_most(cable: CableType, spare: int, pairs: int, singles: int) -> int:
    """Most circuits that a cable has conductors for, be they thick enough."""
    room = len(cable.cores) - spare
    most = min(len(cable.pairs), pairs, room // 2)
    return max(two + min(singles, room - 2 * two) for two in range(most + 1))
