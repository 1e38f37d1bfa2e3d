"""A wire of a vehicle as a run of its own: what feeds it, how it is laid and where it lies."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from wirecalc import runs
from wirecalc.advice.stretches import Route, Settled, in_zone, settle
from wirecalc.circuits import line_level, supply
from wirecalc.circuits.device import NOMINAL_V
from wirecalc.circuits.rating import for_load
from wirecalc.runs.device import counted_for_hours
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import AMPLIFIER, FACTORY_SIGNAL, REMOTE_LIMIT_A
from wirecalc.vehicle.limits import LEAST_REMOTE_V
from wirecalc.vehicle.model import Device, Vehicle, Wire, given
from wirecalc.vehicle.supply import ENGINE, FULL, Supply
from wirecalc.vehicle.terminals import HOUSE_KINDS, devices_behind, stated_a
from wirecalc.wire.conductor import HOTTEST_C, Conductor, at_temperature
from wirecalc.wire.insulation import INSULATIONS

Array = NDArray[np.float64]
LOW_KIND = "relay or lamp"  # whose lowest supply holds for kinds without one of their own

COIL_C = 85.0  # of a relay's coil that must pull in when hot: common practice, no source


def laid_of(vehicle: Vehicle, wire: Wire) -> runs.Installation:
    """How a wire is laid.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    wirecalc.runs.Installation
        Its temperature is that of the air, the mean over the places that the wire passes. [degC]
    """
    return runs.Installation(
        length_m=wire.length_m, temperature_c=wire.mean_c, parallel=wire.parallel, joints_ohm=wire.joints_ohm,
        ways=vehicle.ways(wire),
    )  # fmt: skip


def place_of(vehicle: Vehicle, wire: Wire) -> runs.Place:
    """The hottest place that a wire passes.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    wirecalc.runs.Place
        With the wire's insulation and the loaded conductors that lie with it.
    """
    return runs.Place(
        insulation=INSULATIONS[wire.insulation], ambient_c=wire.ambient_c, loaded=vehicle.loaded(wire),
        zone=wire.zone,
    )  # fmt: skip


def route_of(vehicle: Vehicle, wire: Wire) -> Route:
    """The way of a wire, place by place.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    wirecalc.advice.stretches.Route
    """
    loaded = vehicle.loaded(wire)
    return Route(
        stretches=tuple(in_zone(zone, part_m, loaded) for zone, part_m in wire.places or ((wire.zone, wire.length_m),)),
        insulation=INSULATIONS[wire.insulation], ways=vehicle.ways(wire), parallel=wire.parallel,
        joints_ohm=wire.joints_ohm,
    )  # fmt: skip


def signal_measures(vehicle: Vehicle, wire: Wire, conductors: Sequence[Conductor]) -> runs.Measures:
    """Measures of a loudspeaker's wire or a line level cable with each of n conductors.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Its circuit is "speaker", "subwoofer", "line" or "factory signal".
    conductors : sequence of n Conductor

    Returns
    -------
    dict of str to (n,) numpy.ndarray
        As warm as the wire usually is, with the average of music.
    """
    run, ohm = signal_run(vehicle, wire), _usual(vehicle, wire, conductors).loop_ohm
    measures = run.measures(ohm, wire.length_m)
    if "full_a" in measures:  # most flows through a wire of no resistance
        measures = {**measures, "full_a": np.maximum(measures["full_a"], run.measures(0.0, wire.length_m)["full_a"])}
    return {key: np.broadcast_to(value, ohm.shape) for key, value in measures.items()}


def output_load_ohm(vehicle: Vehicle, wire: Wire) -> float:
    """All loudspeakers on the output that a wire starts at, in parallel.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of a loudspeaker of that vehicle.

    Returns
    -------
    float
        Nominal. [ohm]
    """
    output = (wire.start, vehicle.roles(wire)[0][1] or (1,))
    loads = [
        given(vehicle.device(beside.end).impedance_ohm)
        for beside in vehicle.wires_from(wire.start)
        if vehicle.circuit(beside) in ("speaker", "subwoofer")
        and (beside.start, vehicle.roles(beside)[0][1] or (1,)) == output
    ]
    return 1 / sum(1 / load for load in loads)


def output_w(vehicle: Vehicle, wire: Wire) -> float:
    """What a loudspeaker's wire carries at the output's rated voltage.

    That is the voltage at which the output gives its rated power to all of its loudspeakers together.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of a loudspeaker of that vehicle.

    Returns
    -------
    float
        [W]
    """
    channels = max(len(vehicle.roles(wire)[0][1]), 1)
    rated = vehicle.device(wire.start).amplifier(channels)
    own = for_load(rated, output_load_ohm(vehicle, wire)).amplifier
    return own.power_w * own.rated_ohm / given(vehicle.device(wire.end).impedance_ohm)


def fed_w(vehicle: Vehicle, wire: Wire) -> float:
    """Rated power of all amplifiers that a feed serves, as of a supply of 12 V: half of it counts on 24 V.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        A feed of that vehicle.

    Returns
    -------
    float
        0 where it serves none but through another battery. [W]
    """
    behind = [vehicle.device(name) for name in devices_behind(vehicle, wire)]
    watts = sum(device.rated_w for device in behind if device.kind == AMPLIFIER)
    return watts / vehicle.systems


def matching(vehicle: Vehicle, wire: Wire) -> tuple[str, int, float] | None:
    """What speakers that are to play alike have in common: their amplifier, channels bridged or not, and impedance.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    (str, int, float) or None
        None for what is no wire of a speaker, and for subwoofers. [-, -, ohm]
    """
    if vehicle.circuit(wire) != "speaker":
        return None
    (_, numbers), _ = vehicle.roles(wire)
    return wire.start, len(numbers), given(vehicle.device(wire.end).impedance_ohm)


def load_cautions(vehicle: Vehicle, wire: Wire) -> tuple[str, ...]:
    """What is to be minded of a wire's load, whatever the wire.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of that vehicle.

    Returns
    -------
    tuple of str
        A sentence each, of a loudspeaker's output (`wirecalc.circuits.rating.for_load`) or of the feed of another load
        (`wirecalc.runs.device.counted_for_hours`); else empty.
    """
    kind = vehicle.circuit(wire)
    if kind == "load feed":
        return counted_for_hours(sum(stated_a(vehicle.device(wire.end), NOMINAL_V * vehicle.systems).values()))
    if kind not in ("speaker", "subwoofer"):
        return ()
    channels = max(len(vehicle.roles(wire)[0][1]), 1)
    rated = vehicle.device(wire.start).amplifier(channels)
    return for_load(rated, output_load_ohm(vehicle, wire)).cautions


def signal_run(vehicle: Vehicle, wire: Wire) -> runs.Run:
    """The run of a loudspeaker's wire, or of a line level cable.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Its circuit is "speaker", "subwoofer", "line" or "factory signal".

    Returns
    -------
    wirecalc.runs.Run
        A LineRun, FactoryRun, SubwooferRun or SpeakerRun.
    """
    start, end = vehicle.device(wire.start), vehicle.device(wire.end)
    (_, numbers), _ = vehicle.roles(wire)
    channels = max(len(numbers), 1)
    kind = vehicle.circuit(wire)
    if kind == FACTORY_SIGNAL:
        input_ohm = given(end.line_in_ohm)
        applied = for_load(start.amplifier(channels), input_ohm)  # the rating at the highest load
        return runs.FactoryRun(amplifier=applied.amplifier, input_ohm=input_ohm)
    if kind == "line":
        source_ohm = given(start.line_out_ohm)
        return runs.LineRun(
            source_ohm=source_ohm, input_ohm=given(end.line_in_ohm),
            farad_per_m=line_level.CABLE_FARAD_PER_M["shielded"],
        )  # fmt: skip
    applied = for_load(start.amplifier(channels), output_load_ohm(vehicle, wire))
    of_kind = runs.SubwooferRun if kind == "subwoofer" else runs.SpeakerRun
    return of_kind(amplifier=applied.amplifier, load_ohm=given(end.impedance_ohm))


def signal_c(vehicle: Vehicle, wire: Wire, conductor: Conductor) -> float:
    """How warm a loudspeaker's wire or a line level cable usually is, over its whole way.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        From an output to a loudspeaker or an input.
    conductor : Conductor

    Returns
    -------
    float
        The mean over its length, at most `HOTTEST_C`. [degC]
    """
    parts = route_of(vehicle, wire).stretches
    hot_c = _usual(vehicle, wire, [conductor]).temperature_c[:, 0]
    return float(np.average(np.minimum(hot_c, HOTTEST_C), weights=[part.length_m for part in parts]))


def _usual(vehicle: Vehicle, wire: Wire, conductors: Sequence[Conductor]) -> Settled:
    """A wire that shares nothing, with the average of music."""
    return _settled(signal_run(vehicle, wire), route_of(vehicle, wire), wire.length_m, tuple(conductors))


@lru_cache(maxsize=8192)
def _settled(run: runs.Run, route: Route, length_m: float, conductors: tuple[Conductor, ...]) -> Settled:
    """Kept: a vehicle has many wires alike, and all but one stay as they are when one is edited."""

    def usual_a(ohm: Array) -> Array:
        return np.asarray(run.measures(ohm, length_m)["heat_a"]) if run.has_heat else np.zeros_like(ohm)

    kept = settle(route, conductors, usual_a)
    for values in (kept.current_a, kept.temperature_c, kept.loop_ohm):
        values.setflags(write=False)  # it is the same object for all who ask
    return kept


def held_at_full(measures: runs.Measures) -> runs.Measures:
    """Measures whose heat is that of the most current for minutes, full power as a sine, not that of music."""
    return {**measures, "heat_a": measures["full_a"]} if "full_a" in measures else measures


def supply_run(solved: Supply, wire: Wire) -> runs.Run | None:
    """A supply wire as a run of its own, fed with what the plan has at its start.

    Parameters
    ----------
    solved : Supply
        The solved network.
    wire : Wire
        Of that vehicle.

    Returns
    -------
    wirecalc.runs.Run or None
        For an amplifier its supply is the least of full power with the engine on, for all else the least with music.
        None for a shared feed, a ground or a signal; where no voltage is left at the start; and for a device that draws
        in several ways at once, or not at all.

    Raises
    ------
    InputError
        If the voltage at the start, or a draw, is out of range.
    """
    vehicle = solved.wiring.vehicle
    kind, end = vehicle.circuit(wire), vehicle.device(wire.end)
    if kind not in ("amplifier feed", "lamp", "relay", "remote", "load feed"):
        return None
    start_v = solved.start_v(wire)
    here_v = float(start_v[FULL & ENGINE].min() if kind == "amplifier feed" else start_v[~FULL].min())
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
            strip_ohm_per_m=given(end.strip_ohm_per_m), nominal_v=NOMINAL_V * vehicle.systems,
            least_supply_v=lowest_v(vehicle, wire),
        )  # fmt: skip
    if kind == "load feed":
        return run_of_device(end, here_v, NOMINAL_V * vehicle.systems)
    if kind == "relay":
        return runs.RelayRun(relay=end.relay(), supply_v=here_v, coil_c=COIL_C)
    limit_a = vehicle.device(wire.start).remote_limit_a or REMOTE_LIMIT_A
    draw_a = float(solved.draw_a[solved.wiring.places[wire.name]])
    return runs.TurnOnRun(draw_a=draw_a, supply_v=here_v, limit_a=limit_a, least_v=LEAST_REMOTE_V)


@takes_units
def run_of_device(device: Device, supply_v: float, nominal_v: float = NOMINAL_V) -> runs.DeviceRun | None:
    """The run of a device that draws in one way only: a constant power, a constant current or a resistance.

    Parameters
    ----------
    device : Device
    supply_v : float
        Where its wire starts. [V]
    nominal_v : float
        What its draw is stated at: 24 in a vehicle of 24 V. [V]

    Returns
    -------
    wirecalc.runs.DeviceRun or None
        None where the list gives the device several draws at once, or none.

    Raises
    ------
    InputError
        If the voltage or the draw is out of range.
    """
    drawn = [(behaviour, rated_a) for behaviour, rated_a in stated_a(device, nominal_v).items() if rated_a]
    if len(drawn) != 1:
        return None
    behaviour, rated_a = drawn[0]
    return runs.DeviceRun(
        rated_a=rated_a, supply_v=supply_v, behaviour=behaviour, nominal_v=nominal_v, critical=device.critical != "no",
        inrush_ratio=1.0 if device.start_ratio is None else device.start_ratio, inrush_s=device.start_s or 0.0,
    )  # fmt: skip


def pull_in_v(device: Device) -> float:
    """What a relay's hot coil needs. [V]"""
    return float(at_temperature(device.relay().pull_in_v, COIL_C))


def lowest_v(vehicle: Vehicle, wire: Wire) -> float:
    """The lowest supply at which what a wire feeds has to work.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Its circuit is "relay", "lamp", "remote" or "load feed".

    Returns
    -------
    float
        As its device says; else as the house rules do, for a relay or lamp where they say nothing of its kind. [V]
    """
    own_v = vehicle.device(wire.end).lowest_v
    if own_v is not None:
        return own_v
    rules, kind = vehicle.rules, HOUSE_KINDS[vehicle.circuit(wire)]
    rule = rules.find("supply_v", kind, case="battery low") or rules.rule("supply_v", LOW_KIND, case="battery low")
    return rule.number * vehicle.systems


def tired_by_v(vehicle: Vehicle, wire: Wire) -> float:
    """How far the first battery may fall from its voltage at rest to the lowest of `lowest_v`.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        See `lowest_v`.

    Returns
    -------
    float
        0 or above. [V]
    """
    battery = next(device for device in vehicle.devices if device.kind == "battery")
    return max(given(battery.voltage_v) - lowest_v(vehicle, wire), 0.0)
