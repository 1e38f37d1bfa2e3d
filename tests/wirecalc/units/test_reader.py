"""What is accepted as a quantity, what is refused and why."""

import math

import numpy as np
import pytest

from tests.support.typed import KINDS, OTHER, refusal
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
)


# Expected values: the international yard and pound agreement of 1959 (1 ft = 0.3048 m, 1 lb = 0.45359237 kg;
# from memory), SI prefixes and arithmetic. Spellings: common practice, no source.
@pytest.mark.parametrize(
    ("text", "kind", "expected", "why"),
    [
        ("5.5 m", LENGTH, 5.5, "plain"),
        ("18 ft 6", LENGTH, 5.6388, "what follows feet is inches"),
        ("18' 6", LENGTH, 5.6388, "what follows feet is inches"),
        ("100 watts rms", POWER, 100, "as printed on amplifiers"),
        ("75W RMS", POWER, 75, "as printed on amplifiers"),
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
        ("5 m 40", LENGTH, "“40” has no unit"),
        ("100 W peak", POWER, "“peak”"),
        ("rms", POWER, "“rms” is no number"),
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
            "try a length in m, ft, in, cm, mm, yd, km. The unit “furlong” is not known",
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
        ("5\x00 m", LENGTH, "didn’t understand “5\ufffd m”"),
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
    assert "“6” has no unit" in str(refusal("5 m 6", LENGTH, bare="in"))  # one number alone, never a part


@pytest.mark.parametrize("number", [5, 5.0, np.float32(5), np.float64(5), np.int64(5)])
def test_numbers_are_in_the_unit_of_the_kind(number):
    length_m = read(number, "Entry", LENGTH)
    assert length_m == 5
    assert type(length_m) is float


@pytest.mark.parametrize("thing", [None, True, np.bool_(True), [1.0], {}, 1j, b"5 m", np.array([1.0, 2.0])])
def test_what_is_no_number_is_refused(thing):
    assert refusal(thing, LENGTH).hint == "Write 5.5 m or 18 ft 6 in."


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, 10**400])
def test_numbers_that_are_not_finite_are_refused(number):
    assert "too large or is none" in str(refusal(number, LENGTH))


def test_minus_nought_is_nought():
    assert math.copysign(1, read("-0 m", "Entry", LENGTH)) == 1
    assert math.copysign(1, read(-0.0, "Entry", LENGTH)) == 1


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
def test_every_example_is_accepted(kind):
    for text in kind.example.split(" or "):
        assert math.isfinite(read(text, "Entry", kind))
