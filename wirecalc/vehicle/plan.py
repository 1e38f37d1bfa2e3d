"""A whole vehicle solved: every circuit's measures with the shared feeds counted, its limits and its verdict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wirecalc import runs
from wirecalc.advice.demands import NO_WIRE
from wirecalc.advice.house_rules import HouseRules
from wirecalc.circuits import supply
from wirecalc.circuits.relay import too_little
from wirecalc.errors import InputError
from wirecalc.runs.choose import Verdict, judge_candidates
from wirecalc.runs.factory import FactoryRun
from wirecalc.units_taken import dataclass
from wirecalc.vehicle import fits
from wirecalc.vehicle.as_run import (
    laid_of,
    load_cautions,
    matching,
    place_of,
    signal_c,
    signal_measures,
    signal_run,
    supply_run,
    tired_by_v,
)
from wirecalc.vehicle.energy import Energy, energy
from wirecalc.vehicle.fields import BATTERY, CHOOSE, HEAD, RELAY
from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.limits import (
    BY_GAIN,
    RETURN_SHARE,
    TASTE,
    Grade,
    fuse_family,
    fuse_of_wire,
    fuse_that_fits,
    grades,
    highest_v,
    largest_fuse_a,
    limits_of,
    metal_mm2,
    no_thinness,
    short_a,
)
from wirecalc.vehicle.model import Vehicle, Wire, given
from wirecalc.vehicle.network import STATES, Wiring
from wirecalc.vehicle.returns import feed_names, returned
from wirecalc.vehicle.supply import FULL, MUSIC, Supply, feed_db, measures_of, settled
from wirecalc.wire import ampacity, heat
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.fuse_families import RATINGS_A, short_in_words
from wirecalc.wire.insulation import INSULATIONS, insulated

Array = NDArray[np.float64]
LEAST_V = 0.1  # at a device that gets less, or nothing, on a tired battery


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
    rules: HouseRules

    @property
    def meets(self) -> bool:
        """Whether every limit of safety is met, and every limit of taste at least nearly."""
        return self.grade != "too thin"

    @cached_property
    def grades(self) -> tuple[Grade, ...]:
        """How each limit of the verdict stands: see `wirecalc.vehicle.limits.grades`."""
        return grades(self.verdict, self.rules)

    @property
    def grade(self) -> Grade:
        """The worst of `grades`."""
        order: tuple[Grade, ...] = ("too thin", "borderline", "fine")
        return next(grade for grade in order if grade in self.grades or grade == "fine")

    @property
    def standing(self) -> str:
        """The grade as a person reads it: see `wirecalc.vehicle.limits.no_thinness`."""
        broken = {
            limit.measure for limit, own in zip(self.verdict.limits, self.grades, strict=True) if own == "too thin"
        }
        return no_thinness(broken, self.measures) or self.grade

    @property
    def broken(self) -> tuple[str, ...]:
        """Each limit that is broken, in words."""
        return self._passed("too thin")

    @property
    def close(self) -> tuple[str, ...]:
        """Each limit of taste that is passed by little, in words."""
        return self._passed("borderline")

    def _passed(self, grade: Grade) -> tuple[str, ...]:
        sentences = iter(self.verdict.breaks(0))
        rows: list[tuple[bool, str]] = []
        for limit, meets, own in zip(self.verdict.limits, self.verdict.meets[:, 0], self.grades, strict=True):
            text = "" if meets else next(sentences)
            if limit.measure == "before_a" and np.isinf(self.measures["before_a"]):
                text = f"no fuse protects it: {fuse_that_fits(self.measures)}"
            if text and limit.measure in NO_WIRE:
                text = f"{text}; no wire mends that, but {limit.remedy}"
            if own == grade and text:
                rows.append((limit.measure in TASTE, text))
        return tuple(text for _, text in sorted(rows, key=lambda row: row[0]))  # safety first

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
        used[[limit.measure in BY_GAIN for limit in self.verdict.limits]] = -np.inf  # asks for no other wire
        place = int(np.argmax(used))
        return self.verdict.limits[place].name, float(used[place])


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """A vehicle without anything left to choose, solved."""

    vehicle: Vehicle
    supply: Supply
    circuits: tuple[Circuit, ...]
    """One for each wire, in the vehicle's order."""
    energy: Energy
    """Whether the charge lasts."""
    problems: tuple[str, ...]
    """States without operating point, in words."""
    warnings: tuple[str, ...]
    """Warnings that break no limit: fuses that may open in the wrong order, loads too low for an amplifier."""

    @property
    def meets(self) -> bool:
        """Whether all states have an operating point and no circuit is too thin."""
        return not self.problems and all(circuit.meets for circuit in self.circuits)

    def circuit(self, wire: str) -> Circuit:
        """By the wire's name."""
        return next(circuit for circuit in self.circuits if circuit.wire.name == wire)

    @cached_property
    def table(self) -> pd.DataFrame:
        """One row for each wire: wire, circuit, start, end, size, length_m, ways, parallel, fuse_a (nan: none), meets,
        grade, verdict, tightest, used, and every measure as a column (nan where it has none)."""
        rows = []
        for circuit in self.circuits:
            wire, (tightest, used) = circuit.wire, circuit.tightest
            rows.append(
                {
                    "wire": wire.name,
                    "circuit": circuit.kind,
                    "start": wire.start,
                    "end": wire.end,
                    "size": circuit.conductor.label,
                    "length_m": wire.length_m,
                    "ways": circuit.laid.ways,
                    "parallel": wire.parallel,
                    "meets": circuit.meets,
                    "grade": circuit.grade,
                    "verdict": "; ".join((*circuit.broken, *circuit.close)) or "meets every limit",
                    "tightest": tightest,
                    "used": used,
                    "fuse_a": np.nan,
                    **circuit.measures,
                }
            )
        return pd.DataFrame(rows)

    @cached_property
    def limits(self) -> pd.DataFrame:
        """One row for each wire and limit: wire, measure, name, value, sense, bound, unit, over_by, meets, grade."""
        tables = [
            circuit.verdict.table().assign(wire=circuit.wire.name, grade=circuit.grades) for circuit in self.circuits
        ]
        columns = ["wire", "measure", "name", "value", "sense", "bound", "unit", "over_by", "meets", "grade"]
        return pd.concat(tables, ignore_index=True)[columns]

    @cached_property
    def levels(self) -> pd.DataFrame:
        """What each loudspeaker loses at full power, engine off and on: wire, amplifier, loudspeaker, engine, supply_v,
        feed_db, run_db, total_db, load_w. A head unit's own output stage is taken not to depend on its supply."""
        rows = []
        for circuit in self.circuits:
            if circuit.kind not in ("speaker", "subwoofer"):
                continue
            amplifier = circuit.wire.start
            wired = self.supply.wiring.plus(amplifier) in self.supply.wiring.nodes
            assert wired, "a vehicle without fault feeds what draws"
            feed = feed_db(self.supply, amplifier)
            at_v = self.supply.at_v(self.supply.wiring.plus(amplifier), self.supply.wiring.minus(amplifier))
            for row, state in enumerate(STATES):
                if state.full:
                    full = self._full_power(amplifier, float(at_v[row]))
                    rows.append(
                        {
                            "wire": circuit.wire.name,
                            "amplifier": amplifier,
                            "loudspeaker": circuit.wire.end,
                            "engine": "on" if state.engine else "off",
                            "supply_v": at_v[row],
                            "feed_db": feed[row],
                            "run_db": circuit.measures["loss_db"],
                            "total_db": feed[row] + circuit.measures["loss_db"],
                            "load_w": circuit.measures["load_w"] * full,
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
        """Current and drop of each supply wire in each state: columns state, wire, current_a, drop_v."""
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
        """Heat of the wires that lie together: bundle, wire, loaded, ambient_c, temperature_c, usual_c, limit_c.

        A wire by itself is a bundle of its own name.
        """
        hot = [circuit for circuit in self.circuits if "temperature_c" in circuit.measures]
        return pd.DataFrame(
            {
                "bundle": [circuit.wire.bundle or circuit.wire.cable or circuit.wire.name for circuit in hot],
                "wire": [circuit.wire.name for circuit in hot],
                "loaded": [circuit.place.loaded for circuit in hot],
                "ambient_c": [circuit.place.ambient_c for circuit in hot],
                "temperature_c": [circuit.measures["temperature_c"] for circuit in hot],
                "usual_c": [circuit.measures["usual_c"] for circuit in hot],
                "limit_c": [circuit.measures["limit_c"] for circuit in hot],
            }
        )


def solve_vehicle(vehicle: Vehicle) -> Plan:
    """Solve a vehicle in all states and judge each of its circuits.

    Parameters
    ----------
    vehicle : Vehicle
        With every size and fuse chosen: see `wirecalc.vehicle.choose.choose_plan`.

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
    supply = settled(wiring, [conductors[wire.name] for wire in wiring.wires], fuses_a)
    protection = FuseTree(wiring, fuses_a)
    measures = [_measures(supply, wire, conductors, protection) for wire in vehicle.wires]
    places = [place_of(vehicle, wire) for wire in vehicle.wires]
    _add_heat(vehicle, [conductors[wire.name] for wire in vehicle.wires], places, measures)
    _add_matched(vehicle, measures)
    circuits = []
    for wire, values, where in zip(vehicle.wires, measures, places, strict=True):
        kind = vehicle.circuit(wire)
        circuits.append(
            Circuit(
                wire=wire, kind=kind, conductor=conductors[wire.name], measures=values, place=where,
                run=supply_run(supply, wire) if wire.name in wiring.places else signal_run(vehicle, wire),
                laid=_laid(supply, wire, conductors[wire.name]), rules=vehicle.rules,
                verdict=judge_candidates([conductors[wire.name].label], values, limits_of(vehicle, wire, values)),
                cautions=load_cautions(vehicle, wire),
            )
        )  # fmt: skip
    warnings = [f"{circuit.wire.name}: {caution}" for circuit in circuits for caution in circuit.cautions]
    return Plan(
        vehicle=vehicle,
        supply=supply,
        circuits=tuple(circuits),
        energy=energy(supply),
        problems=tuple(answer.problem for answer in supply.answers if answer.problem),
        warnings=(
            *warnings,
            *_of_factory_signals(circuits),
            *fits.warnings(vehicle),
            *protection.warnings(),
            *_of_unknown_fuses(vehicle),
            *_at_sources(wiring),
            *_between_batteries(wiring),
            *_of_relays(wiring),
        ),
    )


def _of_factory_signals(circuits: Sequence[Circuit]) -> Iterator[str]:
    """What matters where signal is taken at speaker level: once for all such wires, with the most that one brings."""
    taken = [circuit for circuit in circuits if circuit.run is not None and circuit.run.kind == FactoryRun.kind]
    most = max(taken, key=lambda circuit: circuit.measures["load_v"], default=None)
    if most is not None and most.run is not None:
        for caution in most.run.cautions(most.measures):
            yield f"Factory signal, {', '.join(circuit.wire.name for circuit in taken)}: {caution}"


def _add_matched(vehicle: Vehicle, measures: Sequence[dict[str, float]]) -> None:
    """How far each speaker lies under the loudest of those that are to play alike, by their wires alone."""
    alike: dict[tuple[str, int, float], list[dict[str, float]]] = {}
    for wire, values in zip(vehicle.wires, measures, strict=True):
        key = matching(vehicle, wire)
        if key is not None:
            alike.setdefault(key, []).append(values)
    for same in alike.values():
        if len(same) > 1:
            least_db = min(values["loss_db"] for values in same)
            for values in same:
                values["matched_db"] = values["loss_db"] - least_db


def _laid(supply: Supply, wire: Wire, conductor: Conductor) -> runs.Installation:
    """How a wire is laid, as warm as it is with music."""
    wiring = supply.wiring
    if wire.name in wiring.places:
        warm_c = float(supply.mean_c[MUSIC, wiring.places[wire.name]].max())
    else:
        warm_c = signal_c(wiring.vehicle, wire, conductor)
    return replace(laid_of(wiring.vehicle, wire), temperature_c=warm_c)


def _measures(
    supply: Supply, wire: Wire, conductors: Mapping[str, Conductor], protection: FuseTree
) -> dict[str, float]:
    """All of one wire but its heat."""
    wiring = supply.wiring
    vehicle = wiring.vehicle
    if wire.name not in wiring.places:
        found_here = signal_measures(vehicle, wire, [conductors[wire.name]])
        return {key: float(value[0]) for key, value in found_here.items()}
    values = measures_of(supply, wire)
    if wire.name in feed_names(wiring):
        values["before_a"] = protection.before_a(wire)
        full_a, music_a = (values[key] / wire.parallel for key in ("full_a", "heat_a"))
        least = fuse_of_wire(vehicle, wire, *np.nan_to_num([full_a, music_a]).tolist())
        values["needed_a"], values["smallest_fuse_a"] = least.needed_a, least.smallest_a
        if wire.name in protection.fuses_a:
            values["fuse_a"] = protection.fuses_a[wire.name]
    back = returned(wiring).get(wire.name)
    if back is not None and not np.isnan(protection.return_a(wire)):
        values["return_a"] = protection.return_a(wire) / wire.parallel
    others = [metal_mm2(each, conductors[each.name]) for each in back.feeds if each is not wire] if back else []
    if others:
        values["metal_mm2"] = metal_mm2(wire, conductors[wire.name])
        values["returned_mm2"] = RETURN_SHARE * max(others)
    kind = vehicle.circuit(wire)
    fed = supply_run(supply, wire)
    if fed is not None and kind != "amplifier feed":
        # a relay has to pull in and a lamp to light with music; a turn-on input has to stay on at full power too
        judged = MUSIC | FULL if kind == "remote" else MUSIC
        tired_v = float(supply.end_v(wire)[judged].min()) - tired_by_v(vehicle, wire)
        values |= {"wake_v": tired_v} if kind == "remote" else {}
        values |= {key: float(value) for key, value in fed.from_load(max(tired_v, LEAST_V)).items()}
    return values


def _of_unknown_fuses(vehicle: Vehicle) -> Iterator[str]:
    """Typed fuses of which nothing is known but the rating, which is all that their wire is judged by."""
    for wire in vehicle.wires:
        if isinstance(wire.fuse, str) or fuse_family(vehicle, wire, wire.fuse) is not None:
            continue
        short = short_in_words(short_a(vehicle, wire, wire.fuse))
        lacks = f"breaks {short} at {highest_v(vehicle):g} V, the short there" if wire.fuse in RATINGS_A else "has it"
        yield (
            f"The fuse of “{wire.name}” is {wire.fuse:g} A, and no kind known here {lacks}. Only its rating is judged:"
            f" whether it breaks {short}, and how soon it opens, is not known. Its data sheet has to say both."
        )


def _of_relays(wiring: Wiring) -> tuple[str, ...]:
    """Relays whose coil is made for half the vehicle's voltage or less."""
    volt = given(wiring.battery.voltage_v)
    relays = [device for device in wiring.vehicle.devices if device.kind == RELAY]
    return tuple(each for device in relays for each in too_little(f"“{device.name}”", given(device.pull_in_v), volt))


def _between_batteries(wiring: Wiring) -> tuple[str, ...]:
    """What a wire from one battery to another carries beside this plan."""
    vehicle = wiring.vehicle
    return tuple(
        f"“{wire.name}” joins two batteries. This plan has no current that charges one from the other; a flat one takes"
        " 50 A and more at once. Size it and its fuses, one at each end, for the most that may flow, or put a charger"
        " with its current between them."
        for wire in wiring.wires
        if vehicle.circuit(wire) != "ground"
        and {vehicle.device(wire.start).kind, vehicle.device(wire.end).kind} == {BATTERY}
    )


def _at_sources(wiring: Wiring) -> tuple[str, ...]:
    """What a battery's own ground carries beside this plan."""
    return tuple(
        f"“{name}” also carries the starter's current when the engine starts. Leave the vehicle's own ground cable in"
        " place and lay this one beside it: the starter's cable is the vehicle's own and not judged here."
        for name, back in returned(wiring).items()
        if back.at_source and wiring.vehicle.device(wiring.vehicle.wire(name).start).kind == BATTERY
    )


def _add_heat(
    vehicle: Vehicle, conductors: Sequence[Conductor], places: Sequence[runs.Place], measures: list[dict[str, float]]
) -> None:
    """Put in what heat and fuses ask; all wires of one insulation at once. See `wirecalc.runs.with_heat`."""
    wires = vehicle.wires
    for key in {wire.insulation for wire in wires}:
        rows = [row for row, wire in enumerate(wires) if wire.insulation == key]
        coated = insulated([conductors[row] for row in rows], INSULATIONS[key])
        ambient_c, loaded, parallel = (
            np.array(values)
            for values in zip(
                *((places[row].ambient_c, places[row].loaded, wires[row].parallel) for row in rows), strict=True
            )
        )
        allowed = ampacity.allowable(coated, ambient_c, loaded)
        largest_a = largest_fuse_a(allowed)
        each_a = np.array([[measures[row].get(key, np.nan) for row in rows] for key in ("full_a", "heat_a")]) / parallel
        known = np.isfinite(each_a)
        hot_c = np.where(known, heat.temperature_c(coated, np.where(known, each_a, 0.0), ambient_c, loaded), np.nan)
        for at, row in enumerate(rows):
            values = measures[row]
            values["limit_c"], values["allowable_a"] = coated.insulation.limit_c, float(allowed.current_a[at])
            values["largest_fuse_a"] = float(largest_a[at])
            if "full_a" in values:
                values["temperature_c"], values["current_a"] = float(hot_c[0, at]), float(each_a[0, at])
                values["usual_c"] = float(hot_c[1, at])
            if "draw_a" in values:
                drawn = np.isfinite(values["draw_a"]) and values["draw_a"] > 0
                least_a = values.pop("smallest_fuse_a", values["draw_a"] / wires[row].parallel)
                values["fuse_headroom_a"] = float(largest_a[at]) - least_a if drawn else np.nan
