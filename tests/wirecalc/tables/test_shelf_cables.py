"""Cables on the shelf: colours, functions and cross-sections of open standards, and what every cable has to keep."""

from __future__ import annotations

import pytest

from wirecalc import tables
from wirecalc.units import read_standard_size
from wirecalc.wire.cable_types import CABLES

TABLE = tables.load("multicore_cables").fillna("")

# Contact, colour, mm2, function of ISO 1724 and ISO 11446: two public digests; read
ISO_1724 = [
    ("yellow", 1.5, "left turn"),
    ("blue", 1.5, "rear fog"),
    ("white", 2.5, "earth"),
    ("green", 1.5, "right turn"),
    ("brown", 1.5, "right tail"),
    ("red", 1.5, "stop"),
    ("black", 1.5, "left tail"),
]
ISO_11446 = [
    *ISO_1724,
    ("pink", 1.5, "reversing"),
    ("orange", 2.5, "permanent supply"),
    ("grey", 2.5, "switched supply"),
    ("white/black", 2.5, "earth of the switched supply"),
    ("white/red", 2.5, "earth of the permanent supply"),
]
# Colour and function of ISO 3732 (type 12 S): a public digest; read
ISO_3732 = {
    "yellow": "reversing",
    "white": "earth of the permanent supply",
    "green": "permanent supply",
    "brown": "",
    "red": "switched supply",
    "black": "earth of the switched supply",
}
# SAE J2863 colours, and gauges of one public digest; read
SAE_J2863 = {
    "white": ("10 AWG", "earth"),
    "black": ("10 AWG", "permanent supply"),
    "blue": ("12 AWG", "electric brakes"),
    "brown": ("14 AWG", "tail"),
    "yellow": ("14 AWG", "left turn and stop"),
    "green": ("14 AWG", "right turn and stop"),
}


@pytest.mark.parametrize(("key", "contacts"), [("trailer_7", ISO_1724), ("trailer_13", ISO_11446)])
def test_trailer_cables_of_iso(key: str, contacts: list[tuple[str, float, str]]) -> None:
    rows = TABLE[TABLE["cable"] == key]
    conductors = [
        (row["conductor"], read_standard_size(row["size"])[1], row["channel"]) for row in rows.to_dict("records")
    ]  # in the order of the contacts
    assert conductors == contacts


def test_supplementary_trailer_cable() -> None:
    rows = TABLE[TABLE["cable"] == "trailer_7s"].set_index("conductor")["channel"]
    assert {colour: rows[colour] for colour in ISO_3732} == ISO_3732


def test_american_seven_way() -> None:
    rows = TABLE[TABLE["cable"] == "trailer_7us"].set_index("conductor")
    assert {colour: tuple(rows.loc[colour, ["size", "channel"]]) for colour in SAE_J2863} == SAE_J2863


@pytest.mark.parametrize("key", [key for key in CABLES if key.startswith("speaker_9")])
def test_nine_conductors_are_four_channels_and_turn_on(key: str) -> None:
    cable = CABLES[key]
    assert [two[0].channel for two in cable.pairs.values()] == ["front left", "front right", "rear left", "rear right"]
    assert [core.channel for core in cable.cores if not core.pair] == ["remote turn-on"]
    assert len({core.conductor.label for core in cable.cores}) == 1


@pytest.mark.parametrize("gauge", [18, 16, 14, 12, 10, 8])
def test_two_conductor_speaker_cable(gauge: int) -> None:
    (pair,) = CABLES[f"speaker_2_{gauge}"].pairs.values()
    assert [(core.name, core.conductor.label) for core in pair] == [("red", f"{gauge} AWG"), ("black", f"{gauge} AWG")]


def test_a_colour_looks_alike_in_every_cable() -> None:
    plain = TABLE.assign(base=TABLE["conductor"].str.split("/").str[0]).groupby("base")["colour"].nunique()
    assert (plain == 1).all()


def test_thicker_cables_of_a_kind_are_thicker_outside() -> None:
    for kind in ("speaker_2", "speaker_9"):
        some = [cable for key, cable in CABLES.items() if key.startswith(kind)]
        by_area = sorted(some, key=lambda cable: cable.cores[0].conductor.area_m2)
        assert [cable.outer_m for cable in by_area] == sorted(cable.outer_m for cable in some)
