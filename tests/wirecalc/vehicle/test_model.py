from __future__ import annotations

import pickle
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest

from tests.support.plans import BATTERY, BLOCK, BODY, amplifier, load, vehicle, wire
from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle.fields import DEVICE_FIELDS, KINDS, WIRE_FIELDS
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.model import Device, Vehicle, faults_between
from wirecalc.vehicle.terminals import TERMINALS, role
from wirecalc.vehicle.text import vehicle_of

SPEAKER = Device(name="Door", kind="loudspeaker", impedance_ohm=4)
HEAD = Device(name="Head", kind="head unit", draw_a=2)


def test_the_demo_has_every_kind_of_device_and_of_circuit() -> None:
    whole = vehicle_of(demo_plan())
    assert 30 <= len(whole.wires) <= 40
    assert {device.kind for device in whole.devices} == set(KINDS)
    assert Counter(whole.circuit(each_wire) for each_wire in whole.wires) == {
        "shared feed": 4, "ground": 6, "amplifier feed": 2, "load feed": 5, "lamp": 3, "relay": 1, "remote": 3,
        "line": 5, "speaker": 6, "subwoofer": 1,
    }  # fmt: skip
    cables = Counter(each_wire.cable for each_wire in whole.wires if each_wire.cable)
    assert cables == {"left door cable": 2, "boot cable": 3}
    assert sum(each_wire.size == "choose" for each_wire in whole.wires) > 10
    assert sum(each_wire.fuse == "choose" for each_wire in whole.wires) > 5
    assert {each_wire.zone for each_wire in whole.wires} >= {"engine_bay", "boot", "cabin", "outside"}


NEEDS: dict[str, dict[str, Any]] = {
    "battery": {"voltage_v": 12.6, "inner_ohm": 0.005},
    "alternator": {"voltage_v": 14.4, "inner_ohm": 0.01},
    "fuse block": {},
    "body": {},
    "head unit": {"draw_a": 2.0},
    "processor": {"draw_a": 1.0},
    "amplifier": {"power_w": 50.0, "into_ohm": 4.0, "channels": 2, "amplifier_class": "AB", "regulated": "no"},
    "loudspeaker": {"impedance_ohm": 4.0},
    "subwoofer": {"impedance_ohm": 2.0},
    "relay": {},
    "lamp strip": {"strip_m": 2.0, "amps_per_m": 0.5},
}


def test_an_amplifier_needs_no_more_than_what_is_printed_on_it() -> None:
    device = Device(name="x", kind="amplifier", power_w=75.0, channels=4)
    assert (device.into_ohm, device.amplifier_class, device.regulated) == (4.0, "D", "no")
    assert Device(name="x", kind="battery").inner_ohm == 5e-3


@pytest.mark.parametrize("kind", NEEDS)
def test_a_device_asks_for_what_its_kind_needs_and_for_nothing_else(kind: str) -> None:
    needed, fields = NEEDS[kind], {field.key: field for field in DEVICE_FIELDS}
    device = Device(name="x", kind=kind, **needed)
    for field in DEVICE_FIELDS:
        value = getattr(device, field.key)
        if field.belongs(kind):
            assert value == needed.get(field.key, field.default.get(kind, value))
        else:
            assert value is None
    for key in needed:
        field, others = fields[key], {other: value for other, value in needed.items() if other != key}
        if field.belongs(kind) and kind not in field.needed:  # most people do not know it: it is assumed
            assert getattr(Device(name="x", kind=kind, **others), key) == field.default[kind]
            continue
        with pytest.raises(InputError, match="Needed for"):
            Device(name="x", kind=kind, **others)
    foreign = next(field for field in DEVICE_FIELDS if field.kind and not field.belongs(kind))
    with pytest.raises(InputError, match="nothing here"):
        Device(name="x", kind=kind, **needed, **{foreign.key: 1.0})


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"kind": "radio"}, "Kind"),
        ({"name": ""}, "Name"),
        ({"power_w": 0.0}, "Power"),
        ({"power_w": float("nan")}, "Power"),
        ({"amplifier_class": "Z"}, "Class"),
        ({"regulated": "maybe"}, "Regulated"),
        ({"least_ohm": 8.0}, "Least load"),  # a rating below it exists
    ],
)
def test_an_amplifier_that_cannot_be(change: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as error:
        replace(amplifier(), **change)
    assert error.value.field == field


def test_a_relay_and_a_load_are_one_thing() -> None:
    with pytest.raises(InputError, match="Drop-out voltage"):
        Device(name="x", kind="relay", pull_in_v=5, drop_out_v=6)
    assert load(power_w=5.0).power_w == 5
    for draws in ({}, {"power_w": 5.0, "draw_a": 1.0}):
        with pytest.raises(InputError, match="only one"):
            load(**draws)


def test_a_bridged_amplifier_is_twice_the_power_into_twice_the_impedance() -> None:
    single, bridged = (amplifier(damping_factor=100.0).amplifier(channels) for channels in (1, 2))
    assert (bridged.ratings[0].power_w, bridged.ratings[0].ohm) == (200, 8)
    assert bridged.output_ohm == pytest.approx(2 * single.output_ohm)
    assert amplifier().rated_w == 400


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"length_m": 0.0}, "Run length|Length"),
        ({"length_m": 500.0}, "Length"),
        ({"size": "thick"}, "Size"),
        ({"size": ("mm2", 3.3)}, "Size"),  # in no table
        ({"fuse": "some"}, "Fuse"),
        ({"fuse": 0.0}, "Fuse"),
        ({"parallel": 17}, "Parallel"),
        ({"metal": "gold"}, "Metal"),
        ({"places": (("moon", 1.0),)}, "Places"),
        ({"places": (("boot", 0.0),)}, "Places"),
        ({"zone": "moon"}, "Zone"),
        ({"back": "air"}, "Return"),
        ({"joints_ohm": -1.0}, "Joints"),
    ],
)
def test_a_wire_that_cannot_be(change: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError, match=field):
        replace(wire("w", "Battery", "Load"), **change)


@pytest.mark.parametrize(
    ("kind", "terminal", "expected"),
    [
        ("battery", "+", ("plus", ())),
        ("battery", "Negative", ("minus", ())),
        ("battery", "remote", None),
        ("fuse block", "out 12", ("plus", (12,))),
        ("body", "left sill, anything", ("point", ())),
        ("head unit", "Line Out 2", ("line out", (2,))),
        ("head unit", "speaker", ("speaker", ())),
        ("amplifier", "speaker 1 + 2", ("speaker", (1, 2))),
        ("amplifier", "speaker 1+2+3", None),
        ("relay", "86", ("coil plus", ())),
        ("relay", "88", None),
        ("loudspeaker", "coil", ("coil", ())),
        ("lamp strip", "", None),
        ("head unit", "line out 99999999999999999999999", ("line out", (9999,))),
    ],
)
def test_what_a_terminal_does(kind: str, terminal: str, expected: object) -> None:
    assert role(kind, terminal) == expected


FEED = wire("Feed", "Battery", "Amplifier")
RUN = wire("Run", "Amplifier: speaker 1", "Door: coil")
WRONG: dict[str, tuple[tuple[Any, ...], list[tuple[str, str]]]] = {
    "a device twice": ((amplifier(), SPEAKER, SPEAKER, FEED, RUN), [("Devices, Door, Name", "each name once")]),
    "a wire twice": ((amplifier(), FEED, FEED), [("Wires, Feed, Name", "each name once")]),
    "no such device": ((amplifier(), FEED, wire("x", "Amplifer: speaker 2", "Dor: coil"), SPEAKER),
                       [("Wires, x, From", "Did you mean “Amplifier”?"), ("Wires, x, To", "Did you mean “Door”?")]),
    "nothing like it": ((amplifier(), FEED, wire("x", "Zzz", "Amplifier")), [("Wires, x, From", "Add it")]),
    "no such terminal": ((amplifier(), FEED, wire("x", "Battery: remote", "Amplifier: remote")),
                         [("Wires, x, From terminal", "plus, minus")]),
    "the wrong way round": ((amplifier(), SPEAKER, FEED, wire("x", "Door: coil", "Amplifier: speaker 1")),
                            [("Wires, x, To terminal", "Turn the wire round")]),
    "two things that do not go together": ((amplifier(), SPEAKER, FEED, wire("x", "Battery", "Door: coil")),
                                           [("Wires, x, To terminal", "from plus: plus, coil plus, contact in")]),
    "to itself": ((BLOCK, wire("x", "Block: out 1", "Block: plus")), [("Wires, x, To", "another device")]),
    "no such channel": ((amplifier(), SPEAKER, FEED, wire("x", "Amplifier: speaker 5", "Door: coil")),
                        [("Wires, x, From terminal", "channels 1 to 4")]),
    "bridged with itself": ((amplifier(), SPEAKER, FEED, wire("x", "Amplifier: speaker 2+2", "Door: coil")),
                            [("Wires, x, From terminal", "channels 1 to 4")]),
    "an output without power": ((HEAD, SPEAKER, wire("f", "Battery", "Head"),
                                 wire("x", "Head: speaker 1", "Door: coil")),
                                [("Wires, x, From terminal", "Give Head a Power")]),
    "a loudspeaker on the body": ((amplifier(), SPEAKER, FEED, replace(RUN, back="body")),
                                  [("Wires, Run, Return", "wire, for a speaker")]),
    "a loudspeaker fed twice": ((amplifier(), SPEAKER, FEED, RUN, replace(RUN, name="x")),
                                [("Wires, x, To", "one wire for a speaker")]),
    "two bodies": ((BODY, replace(BODY, name="Frame"), load(draw_a=1), wire("f", "Battery", "Load")),
                   [("Devices, Kind", "a row of the kind body")]),
    "nothing feeds it": ((amplifier(), load(draw_a=1), wire("f", "Battery", "Load")),
                         [("Devices, Amplifier, Name", "Add the wire that feeds it")]),
    "a feed that hangs in the air": ((BLOCK, amplifier(), wire("f", "Block", "Amplifier")),
                                     [("Devices, Amplifier, Name", "Add the wire that feeds it")]),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_does_not_fit_together_is_said_with_its_place(case: str) -> None:
    parts, expected = WRONG[case]
    with pytest.raises(FileFaults) as error:
        vehicle(*parts)
    faults = error.value.faults
    assert [fault.field for fault in faults] == [field for field, _ in expected]
    for fault, (_, phrase) in zip(faults, expected, strict=True):
        assert phrase in str(fault)
    assert pickle.loads(pickle.dumps(error.value)).faults[0].field == faults[0].field


def test_all_faults_come_in_one_go_and_nothing_is_blamed_on_what_is_already_wrong() -> None:
    with pytest.raises(FileFaults) as error:
        Vehicle(devices=(amplifier(),), wires=(FEED, FEED))
    fields = [fault.field for fault in error.value.faults]
    assert fields == ["Devices, Kind", "Devices, Kind", "Wires, Feed, From", "Wires, Feed, Name", "Wires, Feed, From"]
    assert faults_between([None, BATTERY], [FEED], known={"Amplifier"}) == []
    assert [fault.column for fault in faults_between([None, BATTERY], [FEED])] == ["To"]


def test_a_pair_comes_back_and_a_single_wire_does_not() -> None:
    whole = vehicle(
        amplifier(), SPEAKER, load(draw_a=1.0), FEED, RUN, wire("Pair", "Battery", "Load", back="wire", bundle="b"),
        wire("Ground", "Amplifier: minus", "Body: boot", back="wire", bundle="b", parallel=2),
    )  # fmt: skip
    assert [whole.ways(each_wire) for each_wire in whole.wires] == [1, 2, 2, 1]
    assert [whole.loaded(each_wire) for each_wire in whole.wires] == [1, 2, 4, 4]
    assert whole.wire("Run") is RUN
    assert [each_wire.name for each_wire in whole.wires_from("Battery")] == ["Feed", "Pair"]
    assert list(whole.wires_from("Body")) == []


def test_wires_of_one_cable_heat_each_other_and_signals_do_not_count() -> None:
    whole = vehicle_of(demo_plan())
    sill = [
        each_wire
        for each_wire in whole.wires
        if each_wire.bundle == "right sill" and whole.circuit(each_wire) not in ("line", "remote")
    ]
    assert whole.loaded(whole.wire("Left dash run")) == 2 * len(sill) > 6
    assert whole.loaded(whole.wire("Left door light feed")) == 4  # with the loudspeaker's pair in its cable


def test_every_kind_says_its_terminals() -> None:
    assert set(TERMINALS) == set(KINDS)
    for fields in (DEVICE_FIELDS, WIRE_FIELDS):
        assert len({field.column.casefold() for field in fields}) == len(fields)
        assert all(field.help for field in fields)
        assert all(field.allowed for field in fields)
