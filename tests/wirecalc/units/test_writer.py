"""Quantities as a person reads them, and read back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.typed import KINDS, fixed
from wirecalc.units import (
    AREA,
    CAPACITANCE,
    COUNT,
    CURRENT,
    FREQUENCY,
    INDUCTANCE,
    LENGTH,
    LEVEL,
    MASS,
    NUMBER,
    POWER,
    RATIO,
    RESISTANCE,
    TEMPERATURE,
    VOLTAGE,
    read,
    read_standard_size,
    show,
    show_standard_size,
)


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (5.6388, LENGTH, "5.64 m"),
        (2.05e-3, LENGTH, "2.05 mm"),
        (0, LENGTH, "0 m"),
        (-5.0, LENGTH, "−5 m"),
        (1e-30, LENGTH, "1.00e−27 mm"),
        (1e20, LENGTH, "1.00e+20 m"),
        (3.309e-6, AREA, "3.31 mm²"),
        (93.0, POWER, "93 W"),
        (0.5, POWER, "0.5 W"),
        (1234.5, POWER, "1234 W"),
        (0.02, POWER, "20 mW"),
        (4.0, RESISTANCE, "4 Ω"),
        (0.255, RESISTANCE, "255 mΩ"),
        (0.9996, RESISTANCE, "1 Ω"),
        (47e3, RESISTANCE, "47 kΩ"),
        (math.inf, RESISTANCE, "∞ Ω"),
        (-math.inf, LEVEL, "−∞ dB"),
        (0.31, VOLTAGE, "0.31 V"),
        (0.15, CURRENT, "0.15 A"),
        (20.0, TEMPERATURE, "20 °C"),
        (-40.0, TEMPERATURE, "−40 °C"),
        (-0.0, TEMPERATURE, "0 °C"),
        (20e3, FREQUENCY, "20 kHz"),
        (2.5e-4, INDUCTANCE, "250 µH"),
        (1e-10, CAPACITANCE, "100 pF"),
        (0.5, CAPACITANCE, "0.5 F"),
        (0.25, MASS, "250 g"),
        (0.031, RATIO, "3.1 %"),
        (0.31, LEVEL, "0.31 dB"),
        (-0.3, LEVEL, "−0.30 dB"),
        (-0.001, LEVEL, "0.00 dB"),
        (4.0, NUMBER, "4"),
        (math.nan, POWER, "—"),
    ],
)
def test_shown_as_people_read_it(value, kind, expected):
    assert show(value, kind) == expected


@pytest.mark.parametrize(
    ("inches", "expected"),
    [
        (222, "18 ft 6 in"),
        (227.7, "18 ft 11½ in"),
        (227.8, "19 ft"),  # never 18 ft 12 in
        (-222, "−18 ft 6 in"),
        (12.5, "1 ft ½ in"),
        (11.6, "11.6 in"),
        (11.8, "1 ft"),
        (0.0808, "0.0808 in"),
        (0, "0 ft"),
    ],
)
def test_shown_in_feet(inches, expected):
    assert show(inches * 0.0254, LENGTH, feet=True) == expected


def test_feet_are_for_finite_lengths_only():
    assert show(4.0, RESISTANCE, feet=True) == "4 Ω"
    assert show(math.inf, LENGTH, feet=True) == "∞ m"


LENGTHS = st.floats(-1e6, 1e6, allow_nan=False)


@fixed
@given(LENGTHS)
def test_feet_are_exact(x):
    assert read(f"{x} ft", "Entry", LENGTH) == x * 0.3048


@fixed
@given(st.integers(0, 10_000), st.integers(0, 11), st.sampled_from(["", "½", " 1/4", ".5"]))
def test_feet_and_inches_agree_with_metres(feet, inches, part):
    extra = {"": 0, "½": 0.5, " 1/4": 0.25, ".5": 0.5}[part]
    metres = (feet * 12 + inches + extra) * 0.0254
    assert read(f"{feet} ft {inches}{part} in", "Entry", LENGTH) == pytest.approx(metres, rel=1e-14)
    assert read(f"{metres} m", "Entry", LENGTH) == metres


@fixed
@given(st.sampled_from([kind for kind in KINDS if kind not in (LEVEL, COUNT, TEMPERATURE)]), st.floats(1e-9, 1e9))
def test_what_is_shown_is_read_back_within_its_digits(kind, value):
    for signed in (value, -value):
        assert read(show(signed, kind), "Entry", kind) == pytest.approx(signed, rel=0.5e-2)
        assert read(show(signed, kind, digits=6), "Entry", kind) == pytest.approx(signed, rel=0.5e-5)


@fixed
@given(st.floats(-273, 1000))
def test_levels_and_temperatures_are_read_back(value):
    assert read(show(value, LEVEL), "Entry", LEVEL) == pytest.approx(value, abs=0.00501)
    assert read(show(value, TEMPERATURE), "Entry", TEMPERATURE) == pytest.approx(value, rel=0.5e-2)


@fixed
@given(st.floats(-1e5, 1e5))
def test_shown_feet_are_read_back_within_a_quarter_inch(metres):
    shown = show(metres, LENGTH, feet=True)
    assert not shown.endswith(" 12 in")
    assert read(shown, "Entry", LENGTH) == pytest.approx(metres, abs=0.2501 * 0.0254)


@fixed
@given(st.floats(0.01, 500))
def test_shown_areas_are_read_back(area_mm2):
    assert read_standard_size(show_standard_size("mm2", round(area_mm2, 2)))[1] == pytest.approx(
        area_mm2, rel=0.5e-2, abs=0.005
    )
