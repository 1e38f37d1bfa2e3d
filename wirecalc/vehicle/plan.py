"""A whole vehicle solved: every circuit's measures with the shared feeds counted, its limits and its verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wirecalc import runs
from wirecalc.circuits import line_level, supply
from wirecalc.circuits.rating import for_load
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.choose import LIMITS, Verdict, judge
from wirecalc.vehicle.fields import CHOOSE, HEAD, REMOTE_LIMIT_A
from wirecalc.vehicle.fuse import FuseTree, feeds
from wirecalc.vehicle.model import Device, Vehicle, Wire, given
from wirecalc.vehicle.network import STATES, Wiring
from wirecalc.vehicle.supply import FULL, Supply, feed_db, measures_of, supplied
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import Conductor, at_temperature, ohms_per_metre
from wirecalc.wire.fuse import LOADING
from wirecalc.wire.insulation import INSULATIONS, insulated

Array = NDArray[np.float64]

COIL_C = 85.0  # of a relay's coil that must pull in when hot: common practice, no source
LEAST_REMOTE_V = 9.0  # wakes up a device: common practice, no source; the manuals come first
# Circuits of a vehicle -> the kinds of run whose limits they are held to.
LIMIT_KINDS = {
    "speaker": "amplifier to speaker",
    "subwoofer": "subwoofer",
    "line": "line signal",
    "remote": "remote turn-on",
    "relay": "relay",
    "lamp": "lamp strip",
    "load feed": "lamp strip",
    "amplifier feed": "battery to amplifier",
    "shared feed": "battery to amplifier",
    "ground": "battery to amplifier",
}
_OF_LOAD = ("margin_v", "dimmest_percent")  # what `Run.from_load` tells, where the load gets a voltage at all
_FUSE = Limit(
    measure="fuse_a", name="fuse", sense="at least", bound="needed_a", unit="A",
    reason="A fuse at its limit opens without a fault.", remedy="a larger fuse if the wire allows it, or thicker wire",
    source="80 % of the rating: common practice, no source", confidence="common practice",
)  # fmt: skip
_BEFORE = Limit(
    measure="before_a", name="fuse before it", sense="at most", bound="allowable_a", unit="A",
    reason="A fuse protects a wire only if the wire may carry what it lets through.",
    remedy="a smaller fuse where the wire starts, or thicker wire",
    source="the wire decides: FAA AC 43.13-1B 11-48, a breaker opens before the wire's rating is exceeded",
    confidence="read",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Circuit:
    """One wire of the plan, judged."""

    wire: Wire
    kind: str
    """See `wirecalc.vehicle.model.Vehicle.circuit`."""
    conductor: Conductor
    measures: Mapping[str, float]
    """By the keys of `wirecalc.runs.MEASURES`, and fuse_a, needed_a, before_a. nan without operating point."""
    verdict: Verdict
    run: runs.Run | None
    """For the page of one run, fed as the plan feeds it; None for a shared feed, a ground and plain loads."""
    laid: runs.Installation
    place: runs.Place
    cautions: tuple[str, ...]

    @property
    def meets(self) -> bool:
        """Whether every limit is met."""
        return bool(self.verdict.meets.all())

    @property
    def broken(self) -> tuple[str, ...]:
        """Each limit that is broken, in words."""
        said = self.verdict.breaks(0)
        if np.isinf(self.measures.get("before_a", 0.0)):
            most = f"{self.measures['allowable_a']:.3g} A"
            named = [limit.name for limit, meets in zip(self.verdict.limits, self.verdict.meets[:, 0], strict=True)
                     if not meets]  # fmt: skip
            no_fuse = f"no fuse protects it: put one of at most {most} where it starts"
            said = tuple(no_fuse if name == _BEFORE.name else one for name, one in zip(named, said, strict=True))
        return said

    @property
    def tightest(self) -> tuple[str, float]:
        """The limit that is used up most, and how much of it; over 1 it is broken. Of a temperature the rise counts."""
        rise = np.array([self.place.ambient_c * (limit.measure == "temperature_c") for limit in self.verdict.limits])
        values, bounds = self.verdict.values[:, 0] - rise, self.verdict.bounds[:, 0] - rise
        most = np.array([limit.sense == "at most" for limit in self.verdict.limits])
        with np.errstate(divide="ignore", invalid="ignore"):
            used = np.where(most, values / bounds, bounds / values)
        used = np.where(bounds == 0, np.where(self.verdict.meets[:, 0], 0.0, np.inf), used)
        used = np.nan_to_num(used, nan=np.inf, posinf=np.inf)
        place = int(np.argmax(used))
        return self.verdict.limits[place].name, float(used[place])


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """A vehicle without anything left to choose, solved."""

    vehicle: Vehicle
    supply: Supply
    circuits: tuple[Circuit, ...]
    """One for each wire, in the vehicle's order."""
    problems: tuple[str, ...]
    """States without operating point, in words."""
    warnings: tuple[str, ...]
    """Warnings that break no limit: fuses that may open in the wrong order, loads too low for an amplifier."""

    @property
    def meets(self) -> bool:
        """Whether all states have an operating point and every limit is met."""
        return not self.problems and all(circuit.meets for circuit in self.circuits)

    def circuit(self, wire: str) -> Circuit:
        """By the wire's name."""
        return next(circuit for circuit in self.circuits if circuit.wire.name == wire)

    @cached_property
    def table(self) -> pd.DataFrame:
        """One row for each wire: wire, circuit, start, end, size, length_m, ways, parallel, fuse_a (nan: none), meets,
        verdict, tightest, used, and every measure as a column (nan where it has none)."""
        rows = []
        for one in self.circuits:
            wire, (tightest, used) = one.wire, one.tightest
            rows.append(
                {
                    "wire": wire.name,
                    "circuit": one.kind,
                    "start": wire.start,
                    "end": wire.end,
                    "size": one.conductor.label,
                    "length_m": wire.length_m,
                    "ways": one.laid.ways,
                    "parallel": wire.parallel,
                    "meets": one.meets,
                    "verdict": "; ".join(one.broken) or "meets every limit",
                    "tightest": tightest,
                    "used": used,
                    "fuse_a": np.nan,
                    **one.measures,
                }
            )
        return pd.DataFrame(rows)

    @cached_property
    def limits(self) -> pd.DataFrame:
        """One row for each wire and limit: wire, measure, name, value, sense, bound, unit, over_by, meets."""
        found = [one.verdict.table().assign(wire=one.wire.name) for one in self.circuits]
        columns = ["wire", "measure", "name", "value", "sense", "bound", "unit", "over_by", "meets"]
        return pd.concat(found, ignore_index=True)[columns]

    @cached_property
    def levels(self) -> pd.DataFrame:
        """What each loudspeaker loses at full power, engine off and on: wire, amplifier, loudspeaker, engine, supply_v,
        feed_db, run_db, total_db, load_w. A head unit's own output stage is taken not to depend on its supply."""
        rows = []
        for one in self.circuits:
            if one.kind not in ("speaker", "subwoofer"):
                continue
            amplifier = one.wire.start
            wired = self.supply.wiring.plus(amplifier) in self.supply.wiring.nodes
            assert wired, "a vehicle without fault feeds what draws"
            feed = feed_db(self.supply, amplifier)
            at_v = self.supply.at_v(self.supply.wiring.plus(amplifier), self.supply.wiring.minus(amplifier))
            for row, state in enumerate(STATES):
                if state.full:
                    full = self._full_power(amplifier, float(at_v[row]))
                    rows.append(
                        {
                            "wire": one.wire.name,
                            "amplifier": amplifier,
                            "loudspeaker": one.wire.end,
                            "engine": "on" if state.engine else "off",
                            "supply_v": at_v[row],
                            "feed_db": feed[row],
                            "run_db": one.measures["loss_db"],
                            "total_db": feed[row] + one.measures["loss_db"],
                            "load_w": one.measures["load_w"] * full,
                        }
                    )
        columns = ["wire", "amplifier", "loudspeaker", "engine", "supply_v", "feed_db", "run_db", "total_db", "load_w"]
        return pd.DataFrame(rows, columns=columns)

    def _full_power(self, amplifier: str, supply_v: float) -> float:
        """Output over rated output."""
        device = self.vehicle.device(amplifier)
        if device.kind == HEAD or not supply_v > 0:
            return 1.0 if device.kind == HEAD else np.nan
        regulated, full_v = device.regulated == "yes", given(device.full_power_v)
        return float(supply.output_ratio(supply_v, regulated=regulated, full_power_v=full_v))

    @cached_property
    def nodes(self) -> pd.DataFrame:
        """Voltages against the first battery's minus: state, device, terminal, node_v."""
        names = list(self.supply.wiring.nodes)
        return pd.DataFrame(
            {
                "state": np.repeat([state.name for state in STATES], len(names)),
                "device": [name for name, _ in names] * len(STATES),
                "terminal": [role for _, role in names] * len(STATES),
                "node_v": self.supply.node_v.ravel(),
            }
        )

    @cached_property
    def currents(self) -> pd.DataFrame:
        """Of each supply wire in each state: state, wire, current_a, drop_v."""
        names = [wire.name for wire in self.supply.wiring.wires]
        return pd.DataFrame(
            {
                "state": np.repeat([state.name for state in STATES], len(names)),
                "wire": names * len(STATES),
                "current_a": self.supply.current_a.ravel(),
                "drop_v": self.supply.wire_v.ravel(),
            }
        )

    @cached_property
    def bundles(self) -> pd.DataFrame:
        """Heat of the wires that lie together: bundle, wire, loaded, ambient_c, temperature_c, limit_c; a wire by
        itself is a bundle of its own name."""
        hot = [one for one in self.circuits if "temperature_c" in one.measures]
        return pd.DataFrame(
            {
                "bundle": [one.wire.bundle or one.wire.cable or one.wire.name for one in hot],
                "wire": [one.wire.name for one in hot],
                "loaded": [one.place.loaded for one in hot],
                "ambient_c": [one.place.ambient_c for one in hot],
                "temperature_c": [one.measures["temperature_c"] for one in hot],
                "limit_c": [one.measures["limit_c"] for one in hot],
            }
        )


def solve(vehicle: Vehicle) -> Plan:
    """Solve a vehicle in all states and judge each of its circuits.

    Parameters
    ----------
    vehicle : Vehicle
        With every size and fuse chosen: see `wirecalc.vehicle.choose.choose`.

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        If a size or fuse is left to choose, or some terminal has no path to a battery.
    """
    for wire in vehicle.wires:
        if CHOOSE in (wire.size, wire.fuse):
            raise InputError(f"Wire {wire.name}", CHOOSE, "a size and a fuse", "Let them be chosen first.")
    wiring = Wiring(vehicle)
    conductors = {wire.name: wire.conductor(wire.size) for wire in vehicle.wires if not isinstance(wire.size, str)}
    fuses_a = {wire.name: wire.fuse for wire in vehicle.wires if not isinstance(wire.fuse, str)}
    found = supplied(wiring, wiring.ohms([conductors[wire.name] for wire in wiring.wires], fuses_a))
    protection = FuseTree(wiring, fuses_a)
    protected = set(feeds(wiring))
    measures, made = [], []
    for wire in vehicle.wires:
        laid = laid_of(vehicle, wire)
        if wire.name in wiring.places:
            run = _supply_run(found, wire)
            values = measures_of(found, wire)
            if wire in protected:
                values["before_a"] = protection.before_a(wire)
                values["needed_a"] = values["draw_a"] / wire.parallel / LOADING * (1 - 1e-12)  # as `fuse._checked`
                if wire.name in fuses_a:
                    values["fuse_a"] = fuses_a[wire.name]
            elif vehicle.circuit(wire) == "ground" and not np.isnan(protection.return_a(wire)):
                values["before_a"] = protection.return_a(wire)
            if run is not None and (least_v := float(found.end_v(wire).min())) > 0:
                values |= {key: float(value) for key, value in run.from_load(least_v).items()}
        else:
            run = signal_run(vehicle, wire)
            ohm = _way_ohm(wire, conductors[wire.name], laid)
            values = {key: float(value) for key, value in run.measures(ohm, wire.length_m).items()}
        made.append((run, laid, place_of(vehicle, wire)))
        measures.append(values)
    _add_heat(vehicle.wires, [conductors[wire.name] for wire in vehicle.wires], [one[2] for one in made], measures)
    circuits = []
    for wire, values, (run, laid, where) in zip(vehicle.wires, measures, made, strict=True):
        kind = vehicle.circuit(wire)
        cautions = _load_cautions(vehicle, wire) if kind in ("speaker", "subwoofer") else ()
        circuits.append(
            Circuit(
                wire=wire, kind=kind, conductor=conductors[wire.name], measures=values, run=run, laid=laid, place=where,
                verdict=judge([conductors[wire.name].label], values, limits_of(vehicle, wire, values)),
                cautions=cautions,
            )
        )  # fmt: skip
    warnings = [f"{one.wire.name}: {said}" for one in circuits for said in one.cautions]
    return Plan(
        vehicle=vehicle,
        supply=found,
        circuits=tuple(circuits),
        problems=tuple(answer.problem for answer in found.answers if answer.problem),
        warnings=(*warnings, *protection.warnings()),
    )


def limits_of(vehicle: Vehicle, wire: Wire, measures: Mapping[str, Any]) -> tuple[Limit, ...]:
    """The limits of a wire: those of its kind of circuit that can be judged, and those of its fuse.

    A shared feed and a ground have no drop of their own to keep to: it counts in each circuit that they serve.
    """
    kind = vehicle.circuit(wire)
    found = list(LIMITS[LIMIT_KINDS[kind]])
    if kind in ("shared feed", "ground"):
        found = [limit for limit in found if limit.measure != "drop_v"]
    if kind == "ground":
        found = [limit for limit in found if limit.measure != "fuse_headroom_a"]
    if kind == "remote":
        start = vehicle.device(wire.start)
        if start.remote_limit_a is not None:
            found = [
                replace(limit, bound=start.remote_limit_a) if limit.measure == "draw_a" else limit for limit in found
            ]
    found = [limit for limit in found if limit.measure not in _OF_LOAD or limit.measure in measures]
    extra = ((_FUSE, "fuse_a"), (_BEFORE, "before_a"))
    return (*found, *(limit for limit, key in extra if key in measures))


def laid_of(vehicle: Vehicle, wire: Wire) -> runs.Installation:
    """How a wire is laid, as warm as the air around it."""
    return runs.Installation(
        length_m=wire.length_m, temperature_c=wire.ambient_c, parallel=wire.parallel, joints_ohm=wire.joints_ohm,
        ways=vehicle.ways(wire),
    )  # fmt: skip


def place_of(vehicle: Vehicle, wire: Wire) -> runs.Place:
    """Where a wire lies."""
    return runs.Place(
        insulation=INSULATIONS[wire.insulation], ambient_c=wire.ambient_c, loaded=vehicle.loaded(wire),
        zone=wire.zone,
    )  # fmt: skip


def _way_ohm(wire: Wire, conductor: Conductor, laid: runs.Installation) -> float:
    per_m = ohms_per_metre([conductor], laid.temperature_c)[0]
    ohm = loop_ohm(per_m, wire.length_m, parallel=wire.parallel, joints_ohm=wire.joints_ohm, ways=laid.ways)
    return float(ohm)


def _output_load_ohm(vehicle: Vehicle, wire: Wire) -> float:
    """All loudspeakers on the output that a wire starts at, in parallel."""
    output = (wire.start, vehicle.roles(wire)[0][1] or (1,))
    loads = [
        given(vehicle.device(one.end).impedance_ohm)
        for one in vehicle.wires_from(wire.start)
        if vehicle.circuit(one) in ("speaker", "subwoofer") and (one.start, vehicle.roles(one)[0][1] or (1,)) == output
    ]
    return 1 / sum(1 / load for load in loads)


def _load_cautions(vehicle: Vehicle, wire: Wire) -> tuple[str, ...]:
    channels = max(len(vehicle.roles(wire)[0][1]), 1)
    rated = vehicle.device(wire.start).amplifier(channels)
    return for_load(rated, _output_load_ohm(vehicle, wire)).cautions


def signal_run(vehicle: Vehicle, wire: Wire) -> runs.Run:
    """A loudspeaker's run or a line level one."""
    start, end = vehicle.device(wire.start), vehicle.device(wire.end)
    (does, numbers), _ = vehicle.roles(wire)
    channels = max(len(numbers), 1)
    kind = vehicle.circuit(wire)
    if kind == "line":
        source_ohm = start.amplifier(channels).output_ohm if does == "speaker" else given(start.line_out_ohm)
        return runs.LineRun(
            source_ohm=source_ohm, input_ohm=given(end.line_in_ohm),
            farad_per_m=line_level.CABLE_FARAD_PER_M["shielded"],
        )  # fmt: skip
    applied = for_load(start.amplifier(channels), _output_load_ohm(vehicle, wire))
    of_kind = runs.SubwooferRun if kind == "subwoofer" else runs.SpeakerRun
    return of_kind(amplifier=applied.amplifier, load_ohm=given(end.impedance_ohm))


def _supply_run(found: Supply, wire: Wire) -> runs.Run | None:
    """As a run of its own, fed with what the plan has at its start; None where there is no such kind."""
    vehicle = found.wiring.vehicle
    kind, end = vehicle.circuit(wire), vehicle.device(wire.end)
    if kind not in ("amplifier feed", "lamp", "relay", "remote"):
        return None
    start_v = found.start_v(wire)
    here_v = float(start_v[FULL].min() if kind == "amplifier feed" else start_v[~FULL].min())
    if not here_v > 0:
        return None
    if kind == "amplifier feed":
        return runs.FeedRun(
            rated_w=end.rated_w, amplifier_class=supply.CLASSES[str(end.amplifier_class)], supply_v=here_v,
            regulated=end.regulated == "yes", full_power_v=given(end.full_power_v),
        )  # fmt: skip
    if kind == "lamp":
        return runs.LampRun(
            supply_v=here_v, strip_m=given(end.strip_m), amps_per_m=given(end.amps_per_m),
            strip_ohm_per_m=given(end.strip_ohm_per_m),
        )  # fmt: skip
    if kind == "relay":
        return runs.RelayRun(relay=end.relay(), supply_v=here_v, coil_c=COIL_C)
    limit_a = vehicle.device(wire.start).remote_limit_a or REMOTE_LIMIT_A
    draw_a = float(found.heat_a[found.wiring.places[wire.name]])
    return runs.TurnOnRun(draw_a=draw_a, supply_v=here_v, limit_a=limit_a, least_v=LEAST_REMOTE_V)


def pull_in_v(device: Device) -> float:
    """What a relay's hot coil needs. [V]"""
    return float(at_temperature(device.relay().pull_in_v, COIL_C))


def _add_heat(
    wires: Sequence[Wire],
    conductors: Sequence[Conductor],
    places: Sequence[runs.Place],
    measures: list[dict[str, float]],
) -> None:
    """Put in what heat and fuses ask; all wires of one insulation at once. See `wirecalc.runs.with_heat`."""
    for key in {wire.insulation for wire in wires}:
        rows = [row for row, wire in enumerate(wires) if wire.insulation == key]
        coated = insulated([conductors[row] for row in rows], INSULATIONS[key])
        ambient_c, loaded, parallel = (
            np.array(values)
            for values in zip(
                *((places[row].ambient_c, places[row].loaded, wires[row].parallel) for row in rows), strict=True
            )
        )
        each_a, draw_a = (
            np.array([measures[row].get(key, np.nan) for row in rows]) / parallel for key in ("heat_a", "draw_a")
        )
        found = runs.warmed(coated, ambient_c, loaded, each_a=each_a, draw_a=draw_a)
        for at, row in enumerate(rows):
            known = measures[row]
            known |= {
                name: float(value[at]) for name, value in found.items() if _MADE_OF.get(name) in (None, *known)
            }  # fmt: skip


_MADE_OF = {"temperature_c": "heat_a", "current_a": "heat_a", "fuse_headroom_a": "draw_a"}
