"""A vehicle's devices and the wires between them, as a person lists them, and all that is wrong between them.

What each number and word is called, what it may be and which kinds of device have it stands in `vehicle.fields`.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import Any, Literal

from wirecalc.advice.house_rules import HouseRules
from wirecalc.circuits import relay
from wirecalc.circuits.battery import MOST_IN_A_ROW
from wirecalc.circuits.rating import RatedAmplifier, Rating, bridged
from wirecalc.errors import FileFaults, InputError, check
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.fields import (
    ALTERNATOR,
    AMPLIFIER,
    BATTERY,
    BATTERY_V,
    BODY,
    BY_SYSTEM,
    CHOOSE,
    DEVICE_FIELDS,
    FACTORY_SIGNAL,
    HEAD,
    KINDS,
    LAMPS,
    NONE,
    OTHER,
    PROCESSOR,
    RELAY,
    WIRE_FIELDS,
    by_system,
    fill_and_check,
)
from wirecalc.vehicle.places import Places, hottest, mean_c, scaled
from wirecalc.vehicle.terminals import JOINS, TERMINALS, Roles, circuit_kind, covered_as, role
from wirecalc.wire.bought import insulation_of
from wirecalc.wire.conductor import METALS, STRANDINGS, Conductor, conductor
from wirecalc.wire.heat import MOST_LOADED
from wirecalc.wire.zones import ZONES

SUPPLY = ("amplifier feed", "load feed", "lamp", "shared feed", "ground")
MOST_W = 40_000.0  # of an amplifier: over what any vehicle can feed


def given(number: float | None) -> float:
    """A number that its kind of device always has."""
    assert number is not None
    return number


@dataclass(frozen=True, kw_only=True)
class Device:
    """One thing that wires end at, its fields as in `wirecalc.vehicle.fields.DEVICE_FIELDS`; None: not of its kind."""

    name: str
    kind: str
    power_w: float | None = None
    into_ohm: float | None = None
    channels: float | None = None
    amplifier_class: str | None = None
    regulated: str | None = None
    full_power_v: float | None = None
    damping_factor: float | None = None
    least_ohm: float | None = None
    voltage_v: float | None = None
    inner_ohm: float | None = None
    impedance_ohm: float | None = None
    draw_a: float | None = None
    line_out_ohm: float | None = None
    line_in_ohm: float | None = None
    remote_draw_a: float | None = None
    start_ratio: float | None = None
    start_s: float | None = None
    lowest_v: float | None = None
    remote_limit_a: float | None = None
    coil_ohm: float | None = None
    pull_in_v: float | None = None
    drop_out_v: float | None = None
    strip_m: float | None = None
    amps_per_m: float | None = None
    strip_ohm_per_m: float | None = None
    capacity_ah: float | None = None
    road_a: float | None = None
    idle_a: float | None = None
    quiescent_a: float | None = None
    engine_only: str | None = None
    critical: str | None = None
    takes: tuple[str, float] | None = None
    """As `wirecalc.wire.bought.read_size` returns it."""
    note: str = ""
    source: str = ""
    confidence: str = ""
    usual: Mapping[str, float] = field(default_factory=dict, compare=False, repr=False)
    """Those of `wirecalc.vehicle.fields.BY_SYSTEM` that nobody wrote, with what was assumed."""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputError("Kind", self.kind, ", ".join(KINDS))
        filled = fill_and_check(self, DEVICE_FIELDS, self.kind)
        still = {key: value for key, value in self.usual.items() if getattr(self, key) == value}
        object.__setattr__(self, "usual", still | {key: filled[key] for key in BY_SYSTEM if key in filled})
        if self.kind == RELAY:
            self.relay()
        if self.kind == OTHER and sum(x is not None for x in (self.power_w, self.draw_a, self.impedance_ohm)) != 1:
            raise InputError("Kind", OTHER, "one of Power, Draw and Impedance, and only one")
        if self.kind == AMPLIFIER:
            self.amplifier(1)
            check("Power", self.rated_w, "W for all channels together", high=MOST_W)

    def relay(self) -> relay.Relay:
        """A relay by its data."""
        return relay.Relay(
            coil_ohm=given(self.coil_ohm), pull_in_v=given(self.pull_in_v), drop_out_v=given(self.drop_out_v)
        )

    def amplifier(self, channels: int) -> RatedAmplifier:
        """One channel of an amplifier or head unit, or two of them bridged."""
        channel = RatedAmplifier(
            ratings=(Rating(ohm=given(self.into_ohm), power_w=given(self.power_w)),),
            damping_factor=given(self.damping_factor),
            least_ohm=self.least_ohm,
        )
        return bridged(channel) if channels == 2 else channel

    @property
    def rated_w(self) -> float:
        """All channels of an amplifier together. [W]"""
        return given(self.power_w) * given(self.channels)


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One run from a terminal to a terminal: a single conductor, or out and back where `Vehicle.ways` says 2.

    What each field is stands in `wirecalc.vehicle.fields.WIRE_FIELDS`.
    """

    name: str
    start: str
    start_terminal: str
    end: str
    end_terminal: str
    length_m: float
    size: tuple[str, float] | Literal["choose"]
    """As `wirecalc.wire.bought.read_size` returns it."""
    zone: str = ""
    """The hottest on its way. Empty only until it is in a `Vehicle`, and so is `insulation`."""
    places: Places = ()
    """Each place on its way with its length; empty if all of it lies in `zone`."""
    parallel: int = 1
    metal: str = "copper"
    stranding: str = "stranded"
    insulation: str = ""
    back: str = ""
    fuse: float | Literal["choose", "none"] = NONE
    """Rating of the fuse at the start, for each conductor in parallel. [A]"""
    bundle: str = ""
    cable: str = ""
    joints_ohm: float = 0.0
    there: str = ""
    """"yes" for a wire that the vehicle has already."""
    note: str = ""
    source: str = ""
    confidence: str = ""
    usual_insulation: bool = field(default=False, compare=False, repr=False)
    """Nobody wrote the insulation: it is that of the type of wire, or of the house rules."""

    def __post_init__(self) -> None:
        fill_and_check(self, WIRE_FIELDS, "wire")
        if isinstance(self.fuse, str):
            if self.fuse not in (CHOOSE, NONE):
                raise InputError("Fuse", self.fuse, "a rating, “choose” or “none”")
        else:
            check("Fuse", self.fuse, "A", low=0.1, high=1000)
        if not isinstance(self.size, str):
            self.conductor(self.size)
        elif self.size != CHOOSE:
            raise InputError("Size", self.size, "a size or “choose”")
        if self.places:
            object.__setattr__(self, "places", scaled(self.places, self.length_m))
            zones = [zone for zone, _ in self.places]
            object.__setattr__(self, "zone", hottest([*zones, self.zone] if self.zone else zones))

    def conductor(self, size: tuple[str, float]) -> Conductor:
        """One conductor of this wire, were it of this size."""
        return conductor(*size, METALS[self.metal], STRANDINGS[self.stranding])

    @property
    def ambient_c(self) -> float:
        """Air around it in the hottest place that it passes. [degC]"""
        return ZONES[self.zone].ambient_c

    @property
    def mean_c(self) -> float:
        """Air around it over its whole way, for its resistance. [degC]"""
        return mean_c(self.places) if self.places else self.ambient_c


@dataclass(frozen=True)
class Fault:
    """What is wrong with a list, and where."""

    sheet: Literal["Devices", "Wires"]
    row: int | None
    """Place in the list, from 0; None if it is about the whole list."""
    column: str
    given: object
    allowed: str
    hint: str = ""

    def error(self, where: str) -> InputError:
        """The fault as an exception; `where` names the row."""
        place = self.sheet if self.row is None else f"{self.sheet}, {where}"
        return InputError(f"{place}, {self.column}", self.given, self.allowed, self.hint)


def faults_between(
    devices: Sequence[Device | None], wires: Sequence[Wire | None], known: Collection[str] = ()
) -> list[Fault]:
    """All that is wrong between devices and wires that are right by themselves.

    Parameters
    ----------
    devices, wires : sequences
        In the order of the lists; None for one that is wrong by itself, about which nothing more is said.
    known : collection of str
        Names of devices that are None: a wire to them is not blamed for it.

    Returns
    -------
    list of Fault
    """
    faults: list[Fault] = []
    by_name: dict[str, Device] = {}
    for row, device in enumerate(devices):
        if device is None:
            continue
        if device.name in by_name:
            faults.append(Fault("Devices", row, "Name", device.name, "each name once", "Another device has it."))
        by_name.setdefault(device.name, device)
    complete = all(device is not None for device in devices) and all(wire is not None for wire in wires)
    if complete:
        faults += _needed_devices(list(by_name.values()))
    names: set[str] = set()
    into: dict[str, str] = {}
    for row, wire in enumerate(wires):
        if wire is None:
            continue
        if wire.name in names:
            faults.append(Fault("Wires", row, "Name", wire.name, "each name once", "Another wire has it."))
        names.add(wire.name)
        faults += _faults_of(row, wire, by_name, known, into)
    if complete and not faults:
        faults += _without_feed(by_name, [wire for wire in wires if wire is not None])
    return faults


def _needed_devices(devices: Sequence[Device]) -> list[Fault]:
    kinds = [device.kind for device in devices]
    needed = []
    if BATTERY not in kinds:
        needed.append(Fault("Devices", None, "Kind", "", "a row of the kind battery"))
    if kinds.count(BODY) != 1:
        bodies = f"{kinds.count(BODY)} bodies" if BODY in kinds else ""
        needed.append(Fault("Devices", None, "Kind", bodies, "a row of the kind body: the vehicle's, once"))
    return needed


def _faults_of(
    row: int, wire: Wire, devices: Mapping[str, Device], known: Collection[str], into: dict[str, str]
) -> list[Fault]:
    """The faults of one wire; `into` collects which wire feeds each loudspeaker and input."""
    faults = []
    ends: list[tuple[Device, str, tuple[int, ...]]] = []
    for column, name, terminal in (("From", wire.start, wire.start_terminal), ("To", wire.end, wire.end_terminal)):
        device = devices.get(name)
        if device is None:
            if name not in known:
                near = difflib.get_close_matches(name, devices, 1, 0.5)
                hint = f"Did you mean “{near[0]}”?" if near else "Add it to the devices, or correct the name."
                faults.append(Fault("Wires", row, column, name, "the name of a device", hint))
            continue
        does = role(device.kind, terminal)
        if does is None:
            allowed = ", ".join(TERMINALS[device.kind])
            faults.append(Fault("Wires", row, f"{column} terminal", terminal, f"of {device.name}: {allowed}"))
            continue
        if does[0] == "speaker":
            if device.power_w is None or device.channels is None:
                hint = f"Give {device.name} a Power in the list of devices."
                faults.append(Fault("Wires", row, f"{column} terminal", terminal, "an output that has a power", hint))
                continue
            if len(set(does[1])) < len(does[1]) or not all(1 <= number <= device.channels for number in does[1]):
                allowed = f"channels 1 to {device.channels:g} of {device.name}"
                faults.append(Fault("Wires", row, f"{column} terminal", terminal, allowed))
                continue
        ends.append((device, *does))
    if len(ends) < 2:
        return faults
    (start, start_role, _), (end, end_role, _) = ends
    if start is end:
        faults.append(Fault("Wires", row, "To", wire.end, "another device than the one it comes from"))
    elif end_role not in JOINS.get(start_role, ()):
        allowed = ", ".join(JOINS.get(start_role, ())) or "nothing: a wire starts where its current comes from"
        hint = "Turn the wire round: From is where the current or the signal comes from."
        given = f"{wire.start_terminal} to {wire.end_terminal}"
        faults.append(
            Fault("Wires", row, "To terminal", given, f"from {start_role}: {allowed}",
                  hint if start_role in JOINS.get(end_role, ()) else "")
        )  # fmt: skip
    elif end_role == "coil" and wire.back == "body":
        hint = "Many amplifiers are damaged when an output touches the body."
        faults.append(Fault("Wires", row, "Return", wire.back, "wire, for a speaker", hint))
    elif end_role == "coil":
        if wire.end in into:
            hint = f"Already fed by {into[wire.end]}."
            faults.append(Fault("Wires", row, "To", wire.end, "one wire for a speaker", hint))
        into.setdefault(wire.end, wire.name)
    return faults


def _without_feed(devices: Mapping[str, Device], wires: Sequence[Wire]) -> list[Fault]:
    """Devices that draw from the supply but that no wire connects to it."""
    reached = {device.name for device in devices.values() if device.kind in (BATTERY, ALTERNATOR)}
    beside: dict[str, list[str]] = {}
    for wire in wires:
        does = (role(devices[wire.start].kind, wire.start_terminal), role(devices[wire.end].kind, wire.end_terminal))
        roles = tuple(role[0] for role in does if role)
        if roles in (("plus", "plus"), ("plus", "contact in"), ("contact out", "plus")):
            beside.setdefault(wire.start, []).append(wire.end)
            beside.setdefault(wire.end, []).append(wire.start)
    waiting = list(reached)
    while waiting:
        new = [name for name in beside.get(waiting.pop(), ()) if name not in reached]
        reached.update(new)
        waiting += new
    draws = (HEAD, PROCESSOR, AMPLIFIER, LAMPS, OTHER)
    return [
        Fault("Devices", row, "Name", device.name, "a device with a wire to its plus from a battery, alternator or "
              "fuse block", "Add the wire that feeds it.")
        for row, device in enumerate(devices.values())
        if device.kind in draws and device.name not in reached
    ]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """Devices and wires that fit together; raises `wirecalc.errors.FileFaults` with every fault otherwise."""

    devices: tuple[Device, ...]
    wires: tuple[Wire, ...]
    rules: HouseRules = field(default_factory=HouseRules.from_table)
    """Of the shop that wires it."""

    def __post_init__(self) -> None:
        faults = faults_between(self.devices, self.wires)
        if faults:
            raise FileFaults([fault.error(self._row_name(fault)) for fault in faults])
        changes = [by_system(device, self.systems) for device in self.devices]
        devices = (replace(device, **new) if new else device for device, new in zip(self.devices, changes, strict=True))
        object.__setattr__(self, "devices", tuple(devices))
        object.__setattr__(self, "wires", tuple(self._filled(wire) for wire in self.wires))
        self.__dict__.pop("_starting", None)  # it had them as they were

    def _filled(self, wire: Wire) -> Wire:
        """With what holds where a person wrote no zone or no insulation."""
        kind = self.circuit(wire)
        feed = kind in SUPPLY
        change: dict[str, Any] = {}
        if not wire.insulation:
            of_type = None if isinstance(wire.size, str) else insulation_of(wire.size[0])
            usual = of_type or self.rules.insulation(covered_as(self, wire))
            change |= {"insulation": usual.key, "usual_insulation": True}
        if not wire.zone:
            at_battery = feed and self.device(wire.start).kind in (BATTERY, ALTERNATOR)
            parts = self.rules.places("battery to amplifier" if at_battery else "amplifier to speaker")
            change["places"] = tuple((part.zone, part.share * wire.length_m) for part in parts)
            if at_battery and kind == "ground":  # to the body beside the battery
                change = {**change, "places": (), "zone": parts[0].zone}
        return replace(wire, **change) if change else wire

    def _row_name(self, fault: Fault) -> str:
        rows: Sequence[Device | Wire] = self.devices if fault.sheet == "Devices" else self.wires
        return "" if fault.row is None else rows[fault.row].name

    @cached_property
    def _devices(self) -> dict[str, Device]:
        return {device.name: device for device in self.devices}

    @cached_property
    def _wires(self) -> dict[str, Wire]:
        return {wire.name: wire for wire in self.wires}

    @cached_property
    def _together(self) -> dict[tuple[str, str], int]:
        """Loaded conductors of each bundle and each cable."""
        together: dict[tuple[str, str], int] = {}
        for wire in self.wires:
            for key in (("bundle", wire.bundle), ("cable", wire.cable)):
                together[key] = together.get(key, 0) + self._conductors(wire)
        return together

    def _conductors(self, wire: Wire) -> int:
        return (
            0 if self.circuit(wire) in ("line", FACTORY_SIGNAL, "remote", "relay") else self.ways(wire) * wire.parallel
        )

    @cached_property
    def systems(self) -> int:
        """How many batteries of 12 V its first battery counts for: 2 in a vehicle of 24 V."""
        battery = next(device for device in self.devices if device.kind == BATTERY)
        return min(max(round(given(battery.voltage_v) / BATTERY_V), 1), MOST_IN_A_ROW)

    def device(self, name: str) -> Device:
        """By its name."""
        return self._devices[name]

    def wire(self, name: str) -> Wire:
        """By its name."""
        return self._wires[name]

    @cached_property
    def _starting(self) -> dict[str, list[Wire]]:
        starting: dict[str, list[Wire]] = {}
        for wire in self.wires:
            starting.setdefault(wire.start, []).append(wire)
        return starting

    def wires_from(self, device: str) -> Sequence[Wire]:
        """All that start at a device."""
        return self._starting.get(device, [])

    @cached_property
    def _roles(self) -> dict[tuple[str, str, str, str], Roles]:
        return {}

    def roles(self, wire: Wire) -> Roles:
        """What the terminals at both ends do, and the numbers in their names."""
        ends = (wire.start, wire.start_terminal, wire.end, wire.end_terminal)
        if ends not in self._roles:  # asked again and again while sizes are chosen
            self._roles[ends] = self._read_roles(wire)
        return self._roles[ends]

    def _read_roles(self, wire: Wire) -> Roles:
        start = role(self.device(wire.start).kind, wire.start_terminal)
        end = role(self.device(wire.end).kind, wire.end_terminal)
        assert start is not None
        assert end is not None
        return start, end

    def circuit(self, wire: Wire) -> str:
        """The kind of circuit: "speaker", "subwoofer", "line", "factory signal", "remote", "relay", "lamp",
        "amplifier feed", "load feed", "shared feed" or "ground"."""
        (start_role, _), (end_role, _) = self.roles(wire)
        return circuit_kind(self.device(wire.start).kind, start_role, self.device(wire.end).kind, end_role)

    def ways(self, wire: Wire) -> Literal[1, 2]:
        """2 where the wire is a pair, out and back."""
        if wire.back:
            return 2 if wire.back == "wire" and self.circuit(wire) != "ground" else 1
        return 2 if self.circuit(wire) in ("speaker", "subwoofer", "line", FACTORY_SIGNAL) else 1

    def loaded(self, wire: Wire) -> int:
        """Loaded conductors that lie together with this wire, its own counted: all of its bundle, or all of its cable
        if those are more. A return by the body does not count, and line level and turn-on leads carry next to nothing.

        Two of a pair are one circuit: `wirecalc.wire.ampacity.bundle_factor` counts so."""
        bundle = self._together[("bundle", wire.bundle)] if wire.bundle else 0
        cable = self._together[("cable", wire.cable)] if wire.cable else 0
        return min(max(bundle, cable, self._conductors(wire), 1), MOST_LOADED)
