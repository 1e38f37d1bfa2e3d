"""What each kind of run asks of its wire: its usual and its full current, its fuse, and its limits of two sorts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from wirecalc.advice.fuses import AT_BATTERY, BEHIND_A_FUSE
from wirecalc.advice.house_rules import HouseRules
from wirecalc.limit import Limit
from wirecalc.runs.choose import figure
from wirecalc.runs.measure import Array
from wirecalc.runs.run import Run
from wirecalc.units_taken import dataclass, takes_units

Current = Callable[[Array], Array]

AVERAGE, FULL = "average of music", "full power"
BY_BALANCE = {"temperature_c", "current_a", "fuse_headroom_a"}
"""Measures whose limits are held at the most for minutes, not at music's average: see `wirecalc.advice.size`."""
SAFETY = {"draw_a", "margin_v", "hold_v", "release_v", "load_v", "dimmest_percent"}
"""Measures whose limits are thresholds: over or under, with no band."""
NO_WIRE = frozenset({"draw_a"})
"""Measures that no wire changes: what an output would have to give to the inputs behind it."""
HEAVY_A = 50.0  # a steady load over this is fed from the battery's own post: common practice, no source
FROM_BATTERY = "battery to amplifier"
_SYSTEM_V = 14.0  # that the volts of the house rules are for


@dataclass(frozen=True, kw_only=True)
class Demands:
    """What one run asks of its wire."""

    run: Run
    house_kind: str
    """Its kind in the house rules."""
    power_w: float
    """Into the load with no wire; 0 where no rule goes by it. A feed on 28 V carries half the current, so half of its
    power counts: the house rules are for 14 V. [W]"""
    usual_a: Current | None
    """Loop resistance (n,) -> average current of the run (n,); None where no current heats the wire. [A]"""
    full_a: Current | None
    """Loop resistance (n,) -> the most that the source pushes through it for minutes (n,). [A]"""
    bounds: tuple[tuple[Limit, bool], ...]
    """Limits, and whether each is of safety."""
    has_fuse: bool
    fuse_where: str
    loading: float
    """Largest usual current over a fuse's rating."""
    full_loading: float
    supply_v: float
    inrush_a: float = 0.0
    inrush_s: float = 0.0

    @takes_units
    def limits(self, usual_ohm: Array, full_ohm: Array, length_m: float) -> Iterator[tuple[Limit, bool, Array]]:
        """Every limit, whether it is of safety, and the values of n sizes.

        Parameters
        ----------
        usual_ohm, full_ohm : (n,) array
            Loop resistance as warm as the run usually is, and with the most for minutes. [ohm]
        length_m : float
            [m]

        Yields
        ------
        Limit, bool, (n,) numpy.ndarray
            Values in the limit's unit.
        """
        usual, full = (_measures(self.run, ohm, length_m) for ohm in (usual_ohm, full_ohm))
        for limit, safety in self.bounds:
            if limit.measure == "average_drop_v":
                yield limit, safety, np.asarray(usual["heat_a"] * usual_ohm)
            elif limit.measure in ("drop_v", "drop_fraction"):
                yield limit, safety, np.asarray(full[limit.measure])
            elif limit.measure in usual:
                yield limit, safety, np.asarray(usual[limit.measure])

    @takes_units
    def beyond_wire(self, length_m: float) -> Iterator[str]:
        """What a wire without resistance would break too, and its remedy: a sentence each."""
        measures = _measures(self.run, np.zeros(1), length_m)
        for limit, _ in self.bounds:
            value, bound = float(measures[limit.measure][0]), limit.bound
            assert not isinstance(bound, str)
            if (value > bound if limit.sense == "at most" else value < bound) and limit.remedy:
                shown, most = figure(limit, value), figure(limit, bound, unit=False)
                yield f"Whatever the wire, the {limit.name} is {shown} against {most}: {limit.remedy}."


def _measures(run: Run, ohm: Array, length_m: float) -> dict[str, Array]:
    return {name: np.broadcast_to(value, ohm.shape) for name, value in run.measures(ohm, length_m).items()}


def demands_of(
    run: Run, rules: HouseRules, limits: tuple[Limit, ...] | None = None, *, critical: bool = True
) -> Demands:
    """What a run asks of its wire.

    Parameters
    ----------
    run : Run
    rules : HouseRules
    limits : tuple of Limit, optional
        Bounds that a person set; they replace the usual ones by measure.
    critical : bool
        Whether the load has to do at its full voltage: electronics, lamps, pumps; a heater does not.

    Returns
    -------
    Demands
    """
    house_kind = run.house_kind or run.kind
    demands = {
        limit.measure: limit
        for limit in (
            *rules.tasted(house_kind, run.limits()),
            *_by_rules(run, house_kind, rules, critical and run.critical),
        )
    }
    for limit in limits or ():
        if limit.measure in demands:
            demands[limit.measure] = limit
    bounds = tuple((limit, limit.measure in SAFETY) for limit in demands.values() if limit.measure not in BY_BALANCE)
    at_rest = run.measures(np.zeros(1), 1.0)
    heats = run.has_heat

    def usual(ohm: Array) -> Array:
        return np.asarray(run.measures(ohm, 1.0)["heat_a"])

    def full(ohm: Array) -> Array:
        # a voltage source pushes most through a wire of no resistance, a constant power asks most of a long one
        most = np.maximum(run.measures(ohm, 1.0)["full_a"], np.max(at_rest["full_a"]))
        return np.asarray(np.maximum(most, getattr(run, "limit_a", 0.0)))  # what an output may give

    steady = rules.find("fuse_loading", house_kind, case=AVERAGE)
    return Demands(
        run=run,
        house_kind=house_kind,
        power_w=run.power_w / (systems_of(run) if house_kind == FROM_BATTERY else 1),
        usual_a=usual if heats else None,
        full_a=full if heats else None,
        bounds=bounds,
        has_fuse="draw_a" in at_rest and run.starts_at != "output",
        fuse_where=fuse_where(run, at_rest),
        loading=rules.loading(house_kind) if steady is None else steady.number,
        full_loading=rules.loading(house_kind, FULL) if steady is not None else 1.0,
        supply_v=float(getattr(run, "supply_v", 0.0)),
        inrush_a=float(np.max(at_rest.get("inrush_a", 0.0))),
        inrush_s=float(np.max(at_rest.get("inrush_s", 0.0))),
    )


def fuse_where(run: Run, at_rest: Mapping[str, Any] | None = None) -> str:
    """Where the fuse of a run sits: at the battery too where a branch would have to carry over `HEAVY_A`.

    Parameters
    ----------
    run : Run
    at_rest : mapping of str to array, optional
        Its measures with a wire of no resistance, where they are known already.

    Returns
    -------
    str
        `wirecalc.advice.fuses.AT_BATTERY` or `BEHIND_A_FUSE`.
    """
    at_rest = run.measures(np.zeros(1), 1.0) if at_rest is None else at_rest
    heavy = "draw_a" in at_rest and float(np.max(at_rest["full_a"])) > HEAVY_A
    return AT_BATTERY if run.starts_at == "battery" or heavy else BEHIND_A_FUSE


def laid_as(run: Run) -> str:
    """The kind in the house rules by which a run is laid if nobody says: its places, and what its wire is covered with.

    What is fed from the battery's own post passes what any feed from there does, in the cable that shops pull there.

    Parameters
    ----------
    run : Run

    Returns
    -------
    str
        "battery to amplifier" where `fuse_where` is at the battery; else its own kind.
    """
    return FROM_BATTERY if fuse_where(run) == AT_BATTERY else run.house_kind or run.kind


def systems_of(run: Run) -> int:
    """How many batteries of 12 V its supply has in a row: 1 where it has none of its own."""
    return max(round(float(getattr(run, "supply_v", _SYSTEM_V)) / _SYSTEM_V), 1)


def _by_rules(run: Run, kind: str, rules: HouseRules, critical: bool) -> Iterator[Limit]:
    """Drops that the house rules allow; those in volts are for 14 V and twice as much on 28 V, as in AC 43.13-1B."""
    usual = {limit.measure: limit for limit in run.limits()}
    systems = systems_of(run)
    for rule in rules.rules:
        if rule.rule != "drop_limit" or rule.applies != kind:
            continue
        if rule.case == ("not critical" if critical else "critical"):
            continue
        measure = "average_drop_v" if rule.case == AVERAGE else "drop_fraction" if rule.unit == "%" else "drop_v"
        remedy = usual[measure].remedy if measure in usual else "thicker wire, two in parallel, or a shorter way"
        name = {AVERAGE: "drop with music's average", FULL: "drop at full power"}.get(rule.case, "voltage drop")
        yield Limit(
            measure=measure, name=name, sense="at most", bound=rule.number * (systems if rule.unit == "V" else 1),
            unit="" if rule.unit == "%" else rule.unit, reason=rule.reason, remedy=remedy,
            source=rule.source, confidence=rule.confidence,
        )  # fmt: skip
