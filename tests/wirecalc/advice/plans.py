"""Typical circuits as plans of their own: a battery, the body, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wirecalc.circuits.source import Amplifier
from wirecalc.vehicle.model import Device, Vehicle, Wire

IT = "The wire"
_BATTERY = Device(name="Battery", kind="battery", voltage_v=12.6, inner_ohm=0.005)
_BODY = Device(name="Body", kind="body", inner_ohm=1e-5)


def plan(details: Mapping[str, str]) -> Vehicle:
    """A vehicle with one circuit of the table, its size and fuse left to choose.

    Parameters
    ----------
    details : mapping of str to str
        See `tests.wirecalc.advice.circuits.details_of`.
    """
    kind = details["kind"]
    make = {"speaker": _speaker, "subwoofer": _speaker, "feed": _feed, "main": _main, "load": _load, "lamps": _lamps,
            "relay": _relay, "remote": _remote, "ground": _ground}[kind]  # fmt: skip
    devices, wires = make(details)
    return Vehicle(devices=(_BATTERY, _BODY, *devices), wires=tuple(wires))


def _wire(details: Mapping[str, str], start: str, end: str, name: str = IT, **more: Any) -> Wire:
    ends = []
    for text in (start, end):
        device, _, terminal = text.partition(": ")
        ends += [device, terminal or "plus"]
    own = {key: details[key] for key in ("zone", "insulation") if key in details and name == IT}
    more = {"length_m": float(details["length_m"]), "size": "choose"} | own | more
    return Wire(name=name, start=ends[0], start_terminal=ends[1], end=ends[2], end_terminal=ends[3], **more)


def _amplifier(name: str, watts: float, ohm: float = 4.0, kind: str = "D") -> Device:
    usual = Amplifier(power_w=watts, rated_ohm=ohm)
    return Device(name=name, kind="amplifier", power_w=watts, into_ohm=ohm, channels=1, amplifier_class=kind,
                  regulated="no", damping_factor=usual.damping_factor)  # fmt: skip


def _speaker(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    ohm = float(details["ohm"])
    amplifier = _amplifier("Amplifier", float(details["power_w"]), ohm)
    what = "subwoofer" if details["kind"] == "subwoofer" else "loudspeaker"
    feed = _wire(details, "Battery", "Amplifier", "Feed", length_m=0.5, fuse="choose")
    run = _wire(details, "Amplifier: speaker 1", "Loudspeaker: coil")
    return [amplifier, Device(name="Loudspeaker", kind=what, impedance_ohm=ohm)], [feed, run]


def _feed(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    amplifier = _amplifier("Amplifier", float(details["rated_w"]), kind=details.get("class", "D"))
    return [amplifier], [_wire(details, "Battery", "Amplifier", fuse="choose")]


def _main(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    amplifiers = [_amplifier(f"Amplifier {watts}", float(watts)) for watts in details["watts"].split()]
    names = [amplifier.name for amplifier in amplifiers]
    each = [
        _wire(details, "Block", name, f"Feed of {name}", length_m=0.5, zone="boot", fuse="choose") for name in names
    ]
    return [Device(name="Block", kind="fuse block"), *amplifiers], [
        _wire(details, "Battery", "Block", fuse="choose"), *each
    ]  # fmt: skip


def _ground(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    feeds = {**details, "length_m": details["feed_m"]}
    amplifier = _amplifier("Amplifier", float(details["watts"]))
    return [amplifier], [
        _wire(feeds, "Battery", "Amplifier", "Feed", fuse="choose"),
        _wire(details, "Amplifier: minus", "Body: boot", zone="boot", insulation="pvc_105"),
    ]


def _load(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    key = "power_w" if "power_w" in details else "draw_a"
    back = "wire" if details.get("ways") == "2" else "body"
    return [Device(name="Load", kind="other load", **{key: float(details[key])})], [
        _wire(details, "Battery", "Load", fuse="choose", back=back)
    ]


def _lamps(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    strip = Device(name="Strip", kind="lamp strip", strip_m=float(details["strip_m"]),
                   amps_per_m=float(details["amps_per_m"]), strip_ohm_per_m=0.05)  # fmt: skip
    return [strip], [_wire(details, "Battery", "Strip", fuse="choose", back="wire", zone="cabin")]


def _relay(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    coil = Device(name="Relay", kind="relay", coil_ohm=float(details["coil_ohm"]),
                  pull_in_v=float(details["pull_in_v"]), drop_out_v=1.2)  # fmt: skip
    return [coil], [_wire(details, "Battery", "Relay: 86", back="body", fuse="choose", zone="cabin")]


def _remote(details: Mapping[str, str]) -> tuple[list[Device], list[Wire]]:
    head = Device(name="Head unit", kind="head unit", draw_a=2.0, remote_limit_a=0.3)
    amplifier = Device(name="Amplifier", kind="amplifier", power_w=100.0, into_ohm=4.0, channels=1,
                       amplifier_class="D", regulated="no", remote_draw_a=float(details["draw_a"]))  # fmt: skip
    return [head, amplifier], [
        _wire(details, "Battery", "Head unit", "Feed", length_m=1.0, fuse="choose"),
        _wire(details, "Battery", "Amplifier", "Feed of the amplifier", length_m=1.0, fuse="choose"),
        _wire(details, "Head unit: remote", "Amplifier: remote", zone="cabin"),
    ]
