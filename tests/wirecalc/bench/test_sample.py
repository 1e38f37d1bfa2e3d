"""Readings of an unmarked wire as they are typed."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError
from typing import Any

import pytest

from wirecalc.bench.meter import Accuracy
from wirecalc.bench.sample import Reading, Sample, read_reading
from wirecalc.errors import InputError

ONE = Reading(value=0.001)

METER = Accuracy(share=0.005, counts=2)


@pytest.mark.parametrize(
    ("text", "name", "value", "limit"),
    [
        ("20.5 mohm", "ohm", 0.0205, 0.005 * 0.0205 + 2e-4),
        ("0.020 ohm", "ohm", 0.020, 0.005 * 0.020 + 2e-3),
        ("20.5 mohm ± 0.1 mohm", "ohm", 0.0205, 1e-4),
        ("0.254 ± 0.005 mm", "strand_m", 0.254e-3, 5e-6),
        ("0.254 +- 0.005", "strand_m", 0.254e-3, 5e-6),
        ("0.01 in +/- 2 %", "strand_m", 0.254e-3, 0.02 * 0.254e-3),
        ("0.254", "strand_m", 0.254e-3, 0.01e-3),
        ("20 ± 2 K", "temperature_c", 20.0, 2.0),
        ("68 °F ± 9", "temperature_c", 20.0, 5.0),
        ("68 ± 9 °F", "temperature_c", 20.0, 5.0),
        ("-5 °C", "temperature_c", -5.0, 3.0),
        ("19", "strands", 19, 0.0),
        ("105", "strands", 105, 2.1),
        ("105 ± 1", "strands", 105, 1.0),
        ("7.4 g", "mass_kg", 7.4e-3, 1e-4),
        ("2 m", "length_m", 2.0, 0.012),
    ],
)
def test_readings_as_typed(text: str, name: str, value: float, limit: float) -> None:
    reading = read_reading(text, name, METER)
    assert reading.value == pytest.approx(value, rel=1e-9)
    assert reading.uncertainty == pytest.approx(limit / math.sqrt(3), rel=1e-9)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("0.254 mm ±", "strand_m"),
        ("0.254 ± 0.01 ± 0.02 mm", "strand_m"),
        ("0.254 mm ± 60 %", "strand_m"),
        ("0.254 mm ± 1 g", "strand_m"),
        ("0.254 mm ± -1 mm", "strand_m"),
        ("± 1 mm", "strand_m"),
        ("1 m", "strand_m"),
        ("20 °C ± two", "temperature_c"),
        ("1e-3 ohm", "ohm"),  # its last digit is not known
        ("7.5", "strands"),
        ("0", "strands"),
        ("0.254 mm" + " ± 1" * 40, "strand_m"),
    ],
)
def test_readings_refused(text: str, name: str) -> None:
    with pytest.raises(InputError):
        read_reading(text, name, METER)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Sample(strand_m=ONE), "Count the strands"),
        (lambda: Sample(ohm=ONE), "Measured length"),
        (lambda: Sample(mass_kg=ONE), "Stripped length"),
        (lambda: Sample(strands=Reading(value=0)), "Strands"),
        (lambda: Sample(bare_m=Reading(value=1.2)), "Bare diameter"),
        (lambda: Sample(strands=Reading(value=[7, 19]), bare_m=Reading(value=[1e-3] * 3)), "broadcast"),
        (lambda: Reading(value="7"), "a number"),
        (lambda: Reading(value=7, uncertainty=-1), "Uncertainty"),
    ],
)
def test_refused(make: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_frozen() -> None:
    for frozen, name in ((Reading(value=1.0), "value"), (Sample(), "ohm")):
        with pytest.raises(FrozenInstanceError):
            setattr(frozen, name, None)
