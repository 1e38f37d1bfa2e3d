"""The door: what is accepted, what is refused and why, and pint's factors against GNU units."""

import math
import os
import subprocess
import sys
import time

import numpy as np
import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.units import (
    AREA,
    CAPACITANCE,
    COUNT,
    CURRENT,
    FREQUENCY,
    INDUCTANCE,
    LENGTH,
    LEVEL,
    LONGEST_TEXT,
    MASS,
    NUMBER,
    POWER,
    RATIO,
    RESISTANCE,
    TEMPERATURE,
    VOLTAGE,
    QuantityKind,
    quantity,
    read,
    read_size,
    show,
    show_size,
)

KINDS = [
    LENGTH, AREA, POWER, RESISTANCE, VOLTAGE, CURRENT, TEMPERATURE, FREQUENCY, INDUCTANCE, CAPACITANCE, MASS,
    RATIO, LEVEL, NUMBER, COUNT,
]  # fmt: skip
fixed = settings(derandomize=True, deadline=None)  # no deadline: the first read loads pint
SPELLINGS = [(kind, spelling) for kind in KINDS for spelling in kind.spellings]


def refusal(entry, kind, **limits):
    with pytest.raises(InputError) as caught:
        read(entry, "Entry", kind, **limits)
    assert caught.value.field == "Entry"
    return caught.value


# Expected values: the international yard and pound agreement of 1959 (1 ft = 0.3048 m, 1 lb = 0.45359237 kg;
# from memory), SI prefixes and arithmetic. Spellings: common practice, no source.
@pytest.mark.parametrize(
    ("text", "kind", "expected", "why"),
    [
        ("5.5 m", LENGTH, 5.5, "plain"),
        ("18 ft 6 in", LENGTH, 5.6388, "feet then inches are added, not multiplied"),
        ("18ft6in", LENGTH, 5.6388, "no spaces"),
        ("18 feet 6 inches", LENGTH, 5.6388, "words"),
        ("18 ft. 6 in.", LENGTH, 5.6388, "dots after abbreviations"),
        ("18' 6\"", LENGTH, 5.6388, "typewriter marks"),
        ("18′ 6″", LENGTH, 5.6388, "primes"),
        ("18’6”", LENGTH, 5.6388, "what a phone makes of the marks"),
        ("18'6''", LENGTH, 5.6388, "two apostrophes for inches"),
        ("18ft2in", LENGTH, 5.5372, "not square feet"),
        ("18 FT 6 IN", LENGTH, 5.6388, "capitals"),
        ("-18 ft 6 in", LENGTH, -5.6388, "the sign goes for both parts"),
        ("-0 ft 6 in", LENGTH, -0.1524, "even when the first part is 0"),
        ("2 m 50 cm", LENGTH, 2.5, "metres then centimetres"),
        ("6 1/2 in", LENGTH, 0.1651, "mixed fraction"),
        ("6-1/2 in", LENGTH, 0.1651, "mixed fraction as printed on drawings"),
        ("6½ in", LENGTH, 0.1651, "fraction character"),
        ("18 ft 6 1/2 in", LENGTH, 5.6515, "fraction in the last part"),
        ("⅜ in", LENGTH, 0.009525, "fraction alone"),
        ("3⁄8 in", LENGTH, 0.009525, "fraction slash"),
        ("5,5 m", LENGTH, 5.5, "decimal comma"),
        ("1,5 m", LENGTH, 1.5, "pint would read 15 m"),
        ("0,750 m", LENGTH, 0.75, "no thousands begin with 0"),
        ("1234,500 m", LENGTH, 1234.5, "no thousands mark stands after four digits"),
        ("1.500 m", LENGTH, 1.5, "a point is always a decimal point"),
        (".5 m", LENGTH, 0.5, "no 0 before the point"),
        ("5. m", LENGTH, 5.0, "nothing after the point"),
        ("1e3 m", LENGTH, 1000.0, "power of ten"),
        ("1E-3m", LENGTH, 0.001, "power of ten, capital, no space"),
        ("+5 m", LENGTH, 5.0, "plus"),
        ("−5 m", LENGTH, -5.0, "proper minus: whether it makes sense is for the range"),
        ("– 5 m", LENGTH, -5.0, "dash and space"),
        ("5\u00a0m", LENGTH, 5.0, "non-breaking space"),
        ("5\u2009m", LENGTH, 5.0, "thin space"),
        ("\t5   m\r\n", LENGTH, 5.0, "pasted from a spreadsheet"),
        ("5.5 M", LENGTH, 5.5, "no other length is written so"),
        ("4 MM", LENGTH, 0.004, "caps lock; megametres are not meant"),
        ("2,5 mm²", AREA, 2.5e-6, "as printed on the reel"),
        ("4mm^2", AREA, 4e-6, "as typed"),
        ("4 sq. mm", AREA, 4e-6, "two words, dot"),
        ("2.5 MM2", AREA, 2.5e-6, "as printed on a jacket"),
        ("100 w", POWER, 100.0, "one meaning only"),
        ("50 mw", POWER, 0.05, "milli has its own letter case"),
        ("0.1 KW", POWER, 100.0, "no other prefix is written k"),
        ("4 OHM", RESISTANCE, 4.0, "capitals"),
        ("4Ω", RESISTANCE, 4.0, "Greek letter"),
        ("4 \u2126", RESISTANCE, 4.0, "ohm sign"),
        ("255 mΩ", RESISTANCE, 0.255, "milli"),
        ("255 MILLIOHM", RESISTANCE, 0.255, "written in full, capitals cannot mislead"),
        ("14.4V", VOLTAGE, 14.4, "no space"),
        ("30 Amps", CURRENT, 30.0, "word"),
        ("20 degC", TEMPERATURE, 20.0, "pint refuses it"),
        ("20 DEGC", TEMPERATURE, 20.0, "capitals"),
        ("20º c", TEMPERATURE, 20.0, "ordinal sign for the degree sign"),
        ("20 ℃", TEMPERATURE, 20.0, "one character"),
        ("20 degrees Celsius", TEMPERATURE, 20.0, "words"),
        ("68 °F", TEMPERATURE, 20.0, "offset as well as slope"),
        ("293.15 K", TEMPERATURE, 20.0, "offset"),
        ("-40 F", TEMPERATURE, -40.0, "where both scales meet"),
        ("-459.67 °F", TEMPERATURE, -273.15, "absolute zero itself"),
        ("0 K", TEMPERATURE, -273.15, "absolute zero itself"),
        ("20 kHz", FREQUENCY, 2e4, "kilo"),
        ("1 MHZ", FREQUENCY, 1e6, "the prefix has its letter case"),
        ("250 \u03bcH", INDUCTANCE, 250e-6, "Greek mu"),
        ("250 uH", INDUCTANCE, 250e-6, "u for micro"),
        ("100 pf", CAPACITANCE, 100e-12, "small letters"),
        ("2 lb", MASS, 0.90718474, "pounds of mass"),
        ("2½ lb", MASS, 1.133980925, "fraction of a pound"),
        ("1/8", RATIO, 0.125, "as rated power is divided"),
        ("5 %", RATIO, 0.05, "per cent"),
        ("0.05", RATIO, 0.05, "no unit is needed"),
        ("0.5 db", LEVEL, 0.5, "small letters"),
        ("-3 dB", LEVEL, -3.0, "a loss"),
        ("2.5", NUMBER, 2.5, "no unit is needed"),
        ("4", COUNT, 4.0, "whole"),
    ],
)
def test_accepted(text, kind, expected, why):
    assert read(text, "Entry", kind) == pytest.approx(expected, rel=1e-14), why


@pytest.mark.parametrize(
    ("text", "kind", "part"),
    [
        ("", LENGTH, "Nothing is entered: write 5.5 m or 18 ft 6 in"),
        ("   ", LENGTH, "Nothing is entered"),
        ("5", LENGTH, "“5” has no unit: write 5.5 m or 18 ft 6 in"),
        ("18 ft 6", LENGTH, "“6” has no unit"),
        ("1 500 m", LENGTH, "“1” has no unit"),
        ("5 -6 m", LENGTH, "“-6 m” is not understood"),
        ("6 in 18 ft", LENGTH, "the larger first"),
        ("5 m 3 in", LENGTH, "Only feet then inches, or metres then centimetres"),
        ("1 ft 2 in 3 in", LENGTH, "Only feet then inches"),
        ("4 V 3 V", VOLTAGE, "Only feet then inches"),
        ("18 ft 12 in", LENGTH, "“12 in” makes a whole foot or more"),
        ("2 m 100 cm", LENGTH, "makes a whole meter"),
        ("18.5 ft 6 in", LENGTH, "Only the last number may have a fraction, not “18.5”"),
        ("18 ft -6 in", LENGTH, "Only the first number may have a sign"),
        ("18 ft.6 in", LENGTH, "in two ways"),
        ("18 ft and 6 in", LENGTH, "“and 6 in” after the unit is no number"),
        ("1,500 m", LENGTH, "“1,500” can mean 1.5 or 1500: write 1.5 or 1500"),
        ("1,234.5 m", LENGTH, "separators between thousands: leave them out"),
        ("1.234,5 m", LENGTH, "separators between thousands: leave them out"),
        ("1_000 m", LENGTH, "“_000 m” is not understood"),
        (". m", LENGTH, "“.” is no number"),
        ("5, m", LENGTH, "“5,” is no number"),
        ("1e400 m", LENGTH, "too large"),
        ("1e308 km", LENGTH, "too large"),
        ("1e-400 m", LENGTH, "too small"),
        ("1/0 m", LENGTH, "0 below the line"),
        ("12/24 V", VOLTAGE, "“12/24” can be a fraction or two numbers"),
        ("4/8 ohm", RESISTANCE, "a fraction or two numbers"),
        ("4-8 ohm", RESISTANCE, "“-8 ohm” is not understood"),
        ("5² m", LENGTH, "“²” is not a plain digit"),
        ("٥ m", LENGTH, "“٥” is not a plain digit"),
        ("５ m", LENGTH, "“５” is not a plain digit"),
        ("4 V", LENGTH, "“V” is a voltage, not a length: write 5.5 m"),
        ("4 volts", LENGTH, "is a voltage"),
        ("4 OHMS", LENGTH, "“OHMS” is a resistance, not a length"),
        ("5 F", LENGTH, "a temperature or a capacitance"),
        ("5 mm²", LENGTH, "is an area, not a length"),
        ("4 mm 2", AREA, "“mm” is a length, not an area"),
        ("5 m", NUMBER, "“m” is a length, not a plain number: write 4"),
        ("5 dB", RATIO, "“dB” is a level"),
        (
            "5 furlong",
            LENGTH,
            "allowed: a length in m, ft, in, cm, mm, yd, km. The unit “furlong” is not known",
        ),
        ("5 метр", LENGTH, "The unit “метр” is not known"),
        ("5 MW", POWER, "“MW” can mean milli or mega: for milli write mW"),
        ("5 MOHM", RESISTANCE, "“MOHM” can mean milli or mega: for milli write mohm"),
        ("5 Mohm", RESISTANCE, "“Mohm” can mean milli or mega"),
        ("5 MΩ", RESISTANCE, "“MΩ” can mean milli or mega"),
        ("500 MA", CURRENT, "“MA” can mean milli or mega"),
        ("5 mhz", FREQUENCY, "“mhz” can mean milli or mega: for mega write MHz"),
        ("5 Mm", LENGTH, "“Mm” can mean milli or mega"),
        ("1 MF", CAPACITANCE, "not known"),
        ("nan", LENGTH, "“nan” is no number"),
        ("inf m", LENGTH, "“inf m” is no number"),
        ("abc", LENGTH, "“abc” is no number"),
        ("about 5 m", LENGTH, "“about 5 m” is no number: write 5.5 m or 18 ft 6 in, nothing else"),
        ("5 m m", LENGTH, "“m” after the unit is no number"),
        ("9**9**9 m", LENGTH, "“**9**9 m” is not understood"),
        ("5 m/s", LENGTH, "“/s” after the unit"),
        ("--5 m", LENGTH, "is no number"),
        ("<b>18", LENGTH, "“<b>18” is no number"),
        ("5\x00 m", LENGTH, "“5\ufffd m” cannot be used"),
        ("5\u200b m", LENGTH, "hidden or control characters"),
        ("5\tm", LENGTH, "hidden or control characters"),
        ("\ud800", LENGTH, "hidden or control characters"),
        ("1" * 10_000 + " m", LENGTH, "It has 10002 characters: write at most 64"),
        ("2.5", COUNT, "write a whole number"),
        ("-274 °C", TEMPERATURE, "allowed: −273.15 °C or more"),
        ("-460 F", TEMPERATURE, "allowed: −273.15 °C or more"),
        ("-1 K", TEMPERATURE, "This is −274.15 °C"),
    ],
)
def test_refused_with_the_reason(text, kind, part):
    message = str(refusal(text, kind))
    assert part in message
    assert message.replace("\u00a0", " ").isprintable()
    assert len(message) < 400


@pytest.mark.parametrize(
    ("entry", "limits", "allowed", "hint"),
    [
        ("-5 m", {"low": 0, "high": 60}, "0 to 60 m", "This is −5 m: write a length in that range."),
        ("0 m", {"low": 0, "above": True}, "above 0 m", "This is 0 m: write a length in that range."),
        ("200 ft", {"low": 0, "high": 60}, "0 to 60 m", "This is 60.96 m: write a length in that range."),
        ("200", {"low": 0, "high": 60.96 / 2, "bare": "ft"}, "0 to 100 ft", "This is 200 ft: write"),
        (-2.0, {"low": 0, "high": 60}, "0 to 60 m", "This is −2 m"),
        ("5 m", {"high": 0.02}, "20 mm or less", "This is 5000 mm"),
    ],
)
def test_range_in_the_unit_a_person_reads(entry, limits, allowed, hint):
    error = refusal(entry, LENGTH, **limits)
    assert error.given == entry
    assert error.allowed == allowed
    assert error.hint.startswith(hint)


def test_ends_of_the_range():
    assert read("60 m", "Entry", LENGTH, low=60, high=60) == 60
    assert refusal("0.07 mm2", AREA, low=1e-7).allowed == "0.1 mm² or more"
    assert refusal("101 %", RATIO, low=0, high=1).allowed == "0 to 100 %"


def test_a_number_without_unit_is_in_the_unit_of_the_page():
    assert read("18.5", "Entry", LENGTH, bare="ft") == pytest.approx(5.6388, rel=1e-14)
    assert read("6½", "Entry", LENGTH, bare="in") == pytest.approx(0.1651, rel=1e-14)
    assert read("5 m", "Entry", LENGTH, bare="ft") == 5  # a typed unit wins
    assert "“6” has no unit" in str(refusal("18 ft 6", LENGTH, bare="in"))  # one number alone, never a part


@pytest.mark.parametrize("number", [5, 5.0, np.float32(5), np.float64(5), np.int64(5)])
def test_numbers_are_in_the_unit_of_the_kind(number):
    found = read(number, "Entry", LENGTH)
    assert found == 5
    assert type(found) is float


@pytest.mark.parametrize("thing", [None, True, np.bool_(True), [1.0], {}, 1j, b"5 m", np.array([1.0, 2.0])])
def test_what_is_no_number_is_refused(thing):
    assert refusal(thing, LENGTH).hint == "Write 5.5 m or 18 ft 6 in."


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, 10**400])
def test_numbers_that_are_not_finite_are_refused(number):
    assert "too large or is none" in str(refusal(number, LENGTH))


def test_minus_nought_is_nought():
    assert math.copysign(1, read("-0 m", "Entry", LENGTH)) == 1
    assert math.copysign(1, read(-0.0, "Entry", LENGTH)) == 1


OTHER = pint.UnitRegistry()
OTHER.define("cubit = 0.5 m")


@pytest.mark.parametrize(
    ("magnitude", "unit", "kind", "expected"),
    [
        (18.5, "ft", LENGTH, 5.6388),
        (np.float32(2), "m", LENGTH, 2.0),
        (3, "cubit", LENGTH, 1.5),
        (2.5, "mm^2", AREA, 2.5e-6),
        (5, "V/A", RESISTANCE, 5.0),
        (68, "degF", TEMPERATURE, 20.0),
        (5, "percent", RATIO, 0.05),
        (3, "dB", LEVEL, 3.0),
        (20, "1/s", FREQUENCY, 20.0),
    ],
)
def test_quantities_of_another_registry(magnitude, unit, kind, expected):
    assert read(OTHER.Quantity(magnitude, unit), "Entry", kind) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("magnitude", "unit", "kind", "why"),
    [
        (4, "V", LENGTH, "another dimension"),
        (5, "delta_degC", TEMPERATURE, "a difference is no temperature"),
        (60, "rpm", FREQUENCY, "pint would give 6.28 Hz"),
        (10, "", LEVEL, "10 or 20 log10?"),
        (3, "dB", NUMBER, "power or voltage?"),
        ([1, 2], "m", LENGTH, "two values"),
        ([1.0], "m", LENGTH, "an array, though of one value"),
        (math.nan, "m", LENGTH, "no value"),
        (-300, "degC", TEMPERATURE, "below absolute zero"),
    ],
)
def test_quantities_refused(magnitude, unit, kind, why):
    error = refusal(OTHER.Quantity(magnitude, unit), kind)
    assert error.hint, why


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_quantity_comes_back_and_mixes_with_the_callers(kind):
    made = quantity(2.0, kind)
    assert isinstance(made, pint.Quantity)
    assert made == pint.Quantity(2.0, kind.unit)
    assert read(made, "Entry", kind) == 2


def test_quantity_of_an_array():
    lengths = quantity(np.array([1.0, 2.0]), LENGTH) + pint.Quantity(1, "m")
    np.testing.assert_allclose(lengths.m_as("cm"), [200, 300])


# What GNU units calls a spelling, where it does not know it or knows something else by it.
GNU = (
    dict.fromkeys(["'", "feet"], "ft")
    | dict.fromkeys(['"', "inches"], "in")
    | {
        "MM": "mm",
        "sq mm": "mm^2",
        "mm²": "mm^2",
        "MM2": "mm^2",
        "MM²": "mm^2",
        "MM^2": "mm^2",
        "mm2": "mm^2",
    }
    | {"sq in": "in^2", "in2": "in^2", "in²": "in^2", "sq cm": "cm^2", "cm2": "cm^2", "cm²": "cm^2"}
    | {"sq m": "m^2", "m2": "m^2", "m²": "m^2", "MCM": "1000 circularmil", "cmil": "circularmil"}
    | {"R": "ohm", "kilohm": "kiloohm", "kilohms": "kiloohm", "VDC": "volt"}
    | {"Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm", "µH": "microhenry", "µF": "microfarad"}
    | {"%": "percent", "": "1", "dB": "1"}
    | dict.fromkeys(["°C", "degC", "C", "deg C", "degrees C", "° C", "Celsius", "degrees Celsius"], "tempC")
    | dict.fromkeys(["°F", "degF", "F", "deg F", "degrees F", "° F", "Fahrenheit", "degrees Fahrenheit"], "tempF")
)


def test_factor_of_every_spelling_against_gnu_units():
    points = [300.0, 301.0, 1000.0]  # three, so that an offset shows; none below absolute zero on any scale
    asked = ""
    for kind, spelling in SPELLINGS:
        gnu = spelling if (kind, spelling) == (CAPACITANCE, "F") else GNU.get(spelling, spelling)
        have = "{0}({1})" if gnu.startswith("temp") else "{1} {0}"
        want = {"degC": "tempC", "": "1", "dB": "1"}.get(kind.unit, kind.unit)
        asked += "".join(f"{have.format(gnu, point)}\n{want}\n" for point in points)
    answer = subprocess.run(  # not installed: an error, never a skip
        ["units", "--terse", "--output-format", "%.17g"],
        input=asked,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=os.environ | {"LC_ALL": "C.UTF-8"},
        timeout=60,
        check=True,
    ).stdout.split("\n")
    expected = iter(answer)
    for kind, spelling in SPELLINGS:
        for point in points:
            found = read(f"{point:g} {spelling}", "Entry", kind)
            slack = 1e-9 if kind == TEMPERATURE else 0.0  # rounded to that on purpose
            assert found == pytest.approx(float(next(expected)), rel=2e-15, abs=slack), (kind.name, spelling)
    assert list(expected) == [""]


def test_case_folding_never_changes_the_unit():
    for kind in KINDS:
        by_fold = {}
        for spelling, name in kind.spellings.items():
            assert by_fold.setdefault(spelling.casefold(), name) == name


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        *((text, ("AWG", 12)) for text in ("12 AWG", "12awg", "AWG 12", "AWG12", "12 ga", "12 gauge", "12 Ga.")),
        *((text, ("AWG", 12)) for text in ("#12", "# 12", "#12 AWG", "12", " 12\u00a0AWG ", 12, np.int64(12), 12.0)),
        *((text, ("AWG", 0)) for text in ("1/0", "1/0 AWG", "0", "0 AWG", "AWG 1/0", "1/0ga")),
        *((text, ("AWG", -1)) for text in ("2/0", "00", -1)),
        *((text, ("AWG", -3)) for text in ("4/0", "0000", "4/0 AWG")),
        *((text, ("AWG", 13.5)) for text in ("13.5 AWG", "AWG 13,5")),
        ("40", ("AWG", 40)),
        *((text, ("mm2", 4)) for text in ("4 mm2", "4 mm²", "4mm^2", "4 sq mm", "4 MM2")),
        ("2,5 mm2", ("mm2", 2.5)),
        ("0.75 mm2", ("mm2", 0.75)),
        ("0.07 mm2", ("mm2", 0.07)),
        ("500 mm2", ("mm2", 500)),
        (OTHER.Quantity(4, "mm^2"), ("mm2", 4)),
    ],
)
def test_sizes_accepted(text, expected):
    assert read_size(text) == expected  # exactly: sizes are looked up in tables


def test_size_in_thousand_circular_mils():
    # A circular mil is the area of a circle 0.001 in across: the definition (from memory), computed.
    system, area_mm2 = read_size("250 kcmil")
    assert system == "mm2"
    assert area_mm2 == pytest.approx(250e3 * math.pi / 4 * 0.0254**2, rel=1e-14)


@pytest.mark.parametrize(
    ("entry", "part"),
    [
        ("0.75", "write 0.75 mm2 (area) or 0.75 AWG (gauge)"),
        ("2,5", "write 2.5 mm2 (area) or 2.5 AWG (gauge)"),
        (2.5, "write 2.5 mm2 (area) or 2.5 AWG (gauge)"),
        ("50", "as in 50 mm2"),
        ("41 AWG", "allowed: 4/0 to 40 AWG, or 0.01 to 500 mm²"),
        ("5/0", "allowed: 4/0 to 40 AWG"),
        ("00000", "allowed: 4/0 to 40 AWG"),
        (-4, "allowed: 4/0 to 40 AWG"),
        ("0.009 mm2", "Write a size in that range"),
        ("501 mm2", "Write a size in that range"),
        ("-4 mm2", "Write a size in that range"),
        ("4 mm", "“mm” is a length, not a size: write 12 AWG, 1/0 AWG or 4 mm2"),
        ("-1", "“-1” has no unit"),
        ("½ AWG", "no fraction but 1/0 to 4/0"),
        ("0/0", "a fraction or two numbers"),
        ("12,500 AWG", "can mean 12.5 or 12500"),
        ("1.2.3 AWG", "separators"),
        ("", "Nothing is entered"),
        ("abc", "“abc” is no number"),
        ("2x1.5 mm2", "The unit “x” is not known"),
        ("12 AWG 14 AWG", "write 12 AWG"),
        (None, "Write 12 AWG"),
        (True, "Write 12 AWG"),
        (math.nan, "too large or is none"),
        (OTHER.Quantity(4, "mm"), "no single size"),
        ("1" * 10_000, "10000 characters"),
    ],
)
def test_sizes_refused_with_the_reason(entry, part):
    with pytest.raises(InputError) as caught:
        read_size(entry, "Conductor")
    assert caught.value.field == "Conductor"
    assert part in str(caught.value)


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


@pytest.mark.parametrize(
    ("system", "number", "expected"),
    [
        ("AWG", 12.0, "12 AWG"),
        ("AWG", 1, "1 AWG"),
        ("AWG", 0.0, "1/0 AWG"),
        ("AWG", -3.0, "4/0 AWG"),
        ("AWG", 13.5, "13.5 AWG"),
        ("AWG", 11.9999, "12 AWG"),
        ("AWG", -0.5, "between 1/0 and 2/0 AWG"),
        ("AWG", math.nan, "—"),
        ("mm2", 0.75, "0.75 mm²"),
        ("mm2", math.nan, "—"),
    ],
)
def test_sizes_shown(system, number, expected):
    assert show_size(system, number) == expected


def test_a_size_system_must_be_known():
    with pytest.raises(InputError, match="AWG or mm2"):
        show_size("SWG", 12)


@pytest.mark.parametrize("number", range(-3, 41))
def test_a_shown_gauge_is_read_back(number):
    assert read_size(show_size("AWG", number)) == ("AWG", number)


@pytest.mark.parametrize("shown", [(), ((1, "m"),), ((0, "m"), (-1, "m")), ((0, "furlong"),)])
def test_a_kind_checks_itself(shown):
    with pytest.raises(ValueError, match="shown must ascend"):
        QuantityKind(name="reach", unit="m", example="1 m", spellings={"m": "meter"}, shown=shown)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_example_is_accepted(kind):
    for text in kind.example.split(" or "):
        assert math.isfinite(read(text, "Entry", kind))


# Properties

HOSTILE = [
    "9**9**9 m",
    "1" * LONGEST_TEXT,
    "1 " * 32,
    "1 m " * 16,
    "1/" * 32,
    "1-" * 32,
    "m" * LONGEST_TEXT,
    "1" + "m" * 63,
    "1" + "°" * 63,
    "1" + "° " * 31,
    "½" * LONGEST_TEXT,
    "." * LONGEST_TEXT,
    "1e" + "9" * 62,
    "9" * 31 + "/" + "9" * 32,
    " " * 100_000,
    "½" * 100_000,
    "a" * 1_000_000,
    "-" * LONGEST_TEXT,
    "'" * LONGEST_TEXT,
]


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:12]))
def test_any_text_is_answered_at_once(text):
    """5 ms is 1000 times what an ordinary entry takes; of the processor, the best of five."""

    def seconds(work, *arguments):
        start = time.process_time()
        with pytest.raises(InputError):
            work(*arguments)
        return time.process_time() - start

    assert min(seconds(read, text, "Entry", LENGTH) for _ in range(5)) < 5e-3
    assert min(seconds(read_size, text) for _ in range(5)) < 5e-3


PIECES = [spelling for _, spelling in SPELLINGS] + list("0123456789+-−./,'\"½²^ eE°%#\u00a0\x00") + ["18", "AWG", "1/0"]
TEXTS = st.text(max_size=80) | st.lists(st.sampled_from(PIECES), max_size=12).map("".join)


@fixed
@given(TEXTS, st.sampled_from(KINDS))
@example("1e99999999 m", LENGTH)
def test_any_text_gives_a_finite_number_or_an_input_error(text, kind):
    caught = []
    try:
        assert math.isfinite(read(text, "Entry", kind, low=-1e6, high=1e6))
    except InputError as error:
        caught.append(error)
    try:
        system, number = read_size(text)
        assert (-3 <= number <= 40) if system == "AWG" else (0.01 <= number <= 500)
    except InputError as error:
        caught.append(error)
    for error in caught:
        assert error.allowed
        assert error.hint
        assert str(error).encode()  # a lone surrogate would not go out to the page


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
    assert read_size(show_size("mm2", round(area_mm2, 2)))[1] == pytest.approx(area_mm2, rel=0.5e-2, abs=0.005)


def test_typed_text_never_reaches_pint(monkeypatch):
    read("1 ft", "Entry", LENGTH)  # now the factor is known

    def fail(*_):
        raise AssertionError("pint was asked")

    monkeypatch.setattr(units, "_registry", fail)
    assert read("18 ft", "Entry", LENGTH) == 18 * 0.3048
    assert "“**9**9” after the unit is no number" in str(refusal("18 ft**9**9", LENGTH))


def test_pint_is_not_loaded_before_it_is_needed():
    code = "import sys, wirecalc.units; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
