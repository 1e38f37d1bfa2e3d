"""The door: what a person types, or a pint quantity, becomes a float; a float becomes what a person reads.

Typed text is read by a small grammar of our own and never reaches pint's parser, which takes "18 ft 6 in" for
108 ft*in, "1,5 m" for 15 m, and can be made to hang. Pint gives the conversion factors.
"""

from __future__ import annotations

import math
import numbers
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from wirecalc.errors import InputError, range_in_words

if TYPE_CHECKING:
    import pint

# How far a size is accepted: the scope of this package (common practice, no source), not of a standard.
AWG_LOW, AWG_HIGH = -3.0, 40.0  # -3 is 4/0
AREA_MM2_LOW, AREA_MM2_HIGH = 0.01, 500.0

LONGEST_TEXT = 64  # characters; what bounds the time any text can take
NO_VALUE = "—"
ABSOLUTE_ZERO_DEGC = -273.15  # exact, by the definition of the degree Celsius (SI brochure; from memory)


@dataclass(frozen=True, kw_only=True)
class QuantityKind:
    """A kind of quantity that can be typed and shown.

    Attributes
    ----------
    name : str
        As a person says it.
    unit : str
        Of the floats on the inner side of the door, as pint writes it; empty for a plain number.
    example : str
        One or two entries that `read` accepts, for messages.
    spellings : mapping of str to str
        What may be typed -> pint's name of that unit. "" stands for a number without unit.
    shown : tuple of (float, str)
        The spelling that `show` uses from this size up, in `unit`; ascending from 0.
    floor : float
        Nothing lower exists. In `unit`.
    whole : bool
        Only whole numbers exist.

    Raises
    ------
    ValueError
        If `shown` does not start at 0, does not ascend, or uses an unknown spelling.
    """

    name: str
    unit: str
    example: str
    spellings: Mapping[str, str] = field(hash=False)
    shown: tuple[tuple[float, str], ...]
    floor: float = -math.inf
    whole: bool = False

    def __post_init__(self) -> None:
        starts = [start for start, _ in self.shown]
        known = all(spelling in self.spellings for _, spelling in self.shown)
        if starts[:1] != [0] or starts != sorted(starts) or not known:
            raise ValueError(f"{self.name}: shown must ascend from 0 in known spellings, not {self.shown}")

    def __str__(self) -> str:
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"

    @property
    def allowed(self) -> str:
        """What may be entered: "a level in dB"; one spelling of each unit."""
        first = {name: spelling for spelling, name in reversed(list(self.spellings.items()))}
        units = ", ".join(spelling for spelling in reversed(list(first.values())) if spelling)
        return f"{self} in {units}" if units else str(self)


def _spell(words: Mapping[str, str]) -> dict[str, str]:
    """Spellings by pint's name, space between them and "_" for a space inside one -> name by spelling."""
    return {word.replace("_", " "): name for name, line in words.items() for word in line.split()}


LENGTH: Final = QuantityKind(
    name="length",
    unit="m",
    example="5.5 m or 18 ft 6 in",
    spellings=_spell(
        {
            "meter": "m meter meters metre metres",
            "foot": "ft foot feet '",
            "inch": 'in inch inches "',
            "centimeter": "cm centimeter centimeters centimetre centimetres",
            "millimeter": "mm MM millimeter millimeters millimetre millimetres",
            "yard": "yd yard yards",
            "kilometer": "km kilometer kilometers kilometre kilometres",
        }
    ),
    shown=((0, "mm"), (0.1, "m")),
)
AREA: Final = QuantityKind(
    name="area",
    unit="m^2",
    example="4 mm2",
    spellings=_spell(
        {
            "millimeter**2": "mm2 mm² mm^2 sq_mm MM2 MM² MM^2",
            "kcmil": "kcmil MCM",
            "cmil": "cmil",
            "inch**2": "in2 in² in^2 sq_in",
            "centimeter**2": "cm2 cm² cm^2 sq_cm",
            "meter**2": "m2 m² m^2 sq_m",
        }
    ),
    shown=((0, "mm²"),),
)
_SIZE_AREA: Final = replace(AREA, name="size", unit="mm^2", example="12 AWG, 1/0 AWG or 4 mm2")
POWER: Final = QuantityKind(
    name="power",
    unit="W",
    example="100 W",
    spellings=_spell({"watt": "W watt watts", "milliwatt": "mW milliwatt milliwatts", "kilowatt": "kW"}),
    shown=((0, "mW"), (0.1, "W")),
)
RESISTANCE: Final = QuantityKind(
    name="resistance",
    unit="ohm",
    example="4 ohm or 255 mohm",
    spellings=_spell(
        {
            "ohm": "ohm Ω ohms R",
            "milliohm": "mohm mΩ mohms milliohm milliohms",
            "kiloohm": "kohm kΩ kohms kiloohm kiloohms kilohm kilohms",
        }
    ),
    shown=((0, "mΩ"), (1, "Ω"), (1e3, "kΩ")),
)
VOLTAGE: Final = QuantityKind(
    name="voltage",
    unit="V",
    example="14.4 V",
    spellings=_spell({"volt": "V volt volts VDC", "millivolt": "mV millivolt millivolts"}),
    shown=((0, "mV"), (0.1, "V")),
)
CURRENT: Final = QuantityKind(
    name="current",
    unit="A",
    example="30 A",
    spellings=_spell(
        {
            "ampere": "A amp amps ampere amperes",
            "milliampere": "mA milliamp milliamps milliampere milliamperes",
        }
    ),
    shown=((0, "mA"), (0.1, "A")),
)
TEMPERATURE: Final = QuantityKind(
    name="temperature",
    unit="degC",
    example="20 °C or 68 °F",
    spellings=_spell(
        {
            "degree_Celsius": "°C degC C deg_C degrees_C °_C Celsius degrees_Celsius",
            "degree_Fahrenheit": "°F degF F deg_F degrees_F °_F Fahrenheit degrees_Fahrenheit",
            "kelvin": "K kelvin kelvins",
        }
    ),
    shown=((0, "°C"),),
    floor=ABSOLUTE_ZERO_DEGC,
)
FREQUENCY: Final = QuantityKind(
    name="frequency",
    unit="Hz",
    example="1 kHz",
    spellings=_spell({"hertz": "Hz hertz", "kilohertz": "kHz kilohertz", "megahertz": "MHz megahertz"}),
    shown=((0, "Hz"), (1e3, "kHz")),
)
INDUCTANCE: Final = QuantityKind(
    name="inductance",
    unit="H",
    example="250 uH",
    spellings=_spell(
        {
            "microhenry": "uH µH microhenry microhenries",
            "millihenry": "mH millihenry millihenries",
            "nanohenry": "nH nanohenry nanohenries",
            "henry": "H henry henries",
        }
    ),
    shown=((0, "nH"), (1e-6, "µH"), (1e-3, "mH"), (1, "H")),
)
CAPACITANCE: Final = QuantityKind(  # no mF: on older parts it means microfarad
    name="capacitance",
    unit="F",
    example="100 pF",
    spellings=_spell(
        {
            "picofarad": "pF picofarad picofarads",
            "nanofarad": "nF nanofarad nanofarads",
            "microfarad": "uF µF microfarad microfarads",
            "farad": "F farad farads",
        }
    ),
    shown=((0, "pF"), (1e-9, "nF"), (1e-6, "µF"), (0.1, "F")),
)
MASS: Final = QuantityKind(
    name="mass",
    unit="kg",
    example="1.2 kg or 2 lb",
    spellings=_spell(
        {
            "kilogram": "kg kilogram kilograms",
            "gram": "g gram grams",
            "pound": "lb lbs pound pounds",
            "ounce": "oz ounce ounces",
            "milligram": "mg milligram milligrams",
        }
    ),
    shown=((0, "g"), (1, "kg")),
)
RATIO: Final = QuantityKind(
    name="ratio",
    unit="",
    example="0.05 or 5 %",
    spellings={"%": "percent", "percent": "percent", "": "dimensionless"},
    shown=((0, "%"),),
)
LEVEL: Final = QuantityKind(name="level", unit="dB", example="0.5 dB", spellings={"dB": "decibel"}, shown=((0, "dB"),))
NUMBER: Final = QuantityKind(
    name="plain number", unit="", example="4", spellings={"": "dimensionless"}, shown=((0, ""),)
)
COUNT: Final = QuantityKind(
    name="whole number", unit="", example="4", spellings={"": "dimensionless"}, shown=((0, ""),), whole=True
)
_WITH_UNIT = (
    LENGTH, AREA, POWER, RESISTANCE, VOLTAGE, CURRENT, TEMPERATURE, FREQUENCY, INDUCTANCE, CAPACITANCE, MASS,
    RATIO, LEVEL,
)  # fmt: skip

_OWN = {kind.unit: kind.spellings[kind.unit] for kind in _WITH_UNIT if kind.unit in kind.spellings}

_SPACES = "\u00a0\u1680\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200B)))
# One way to write what keyboards, phones and spreadsheets write in many.
_SAME = str.maketrans(
    dict.fromkeys(_SPACES, " ")
    | dict.fromkeys("\u2212\u2010\u2011\u2013", "-")
    | dict.fromkeys("′’‘ʹ´", "'")
    | dict.fromkeys("″”“ʺ", '"')
    | {"\u03bc": "µ", "\u2126": "Ω", "º": "°", "℃": "°C", "℉": "°F", "⁄": "/"}
    | {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
)
_NUMBER = re.compile(
    r"(?P<sign>[+-]?) ?(?:(?:(?P<whole>[0-9]+)[ -])?(?P<over>[0-9]+)/(?P<under>[0-9]+)"
    r"|(?P<decimal>[0-9.,]+)(?P<power>[eE][+-]?[0-9]+)?)"
)
_UNIT = re.compile(r"""['"%]|(?i:(?:sq|deg|degrees|°)\.? )?(?:[^\W0-9_]|°)+(?:\^?[23](?=\.?$))?(?:\.(?![0-9]))?""")
_DECIMAL = re.compile(r"[0-9]+\.?|[0-9]*[.,][0-9]+")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_AWG = re.compile(
    r"(?i:(?P<before>awg|gauge|ga\.?|#) ?)?(?P<number>[1-9]/0|[0-9.,]+)(?i: ?(?P<after>awg|gauge|ga\.?))?"
)
_SMALLER = {"foot": "inch", "meter": "centimeter"}  # the only units that may follow one another


class _Refused(Exception):
    """Why an entry cannot be used, and what to write instead; becomes the hint of an `InputError`."""


class _Part(NamedTuple):
    text: str  # the number as typed
    sign: str
    size: float
    unit: str  # "" where none was typed


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # here, because it takes longer to load than the rest of the package

    return pint.UnitRegistry()


@cache
def _line(unit: str, to: str) -> tuple[float, float]:
    """Slope and zero of the straight line from `unit` to `to`, both by pint's names."""
    if unit == _OWN.get(to):
        return 1.0, 0.0  # without loading pint: a page that only shows SI values is ready sooner
    quantity = _registry().Quantity
    zero = float(quantity(0.0, unit).m_as(to))
    slope = float(quantity(1.0, unit).m_as(to)) - zero
    return float(f"{slope:.15g}"), zero  # pint multiplies in steps: its foot is 0.30479999999999996 m


def _convert(number: float, unit: str, to: str) -> float:
    slope, zero = _line(unit, to)
    # 68 °F is to be 20 °C, and absolute zero in °F not below itself
    return round(number * slope + zero, 9) if zero else number * slope


def read(
    given: object,
    field: str,
    kind: QuantityKind,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    above: bool = False,
    bare: str | None = None,
) -> float:
    """What a person typed, a pint quantity, or a number -> float in `kind.unit`.

    Parameters
    ----------
    given : str, pint.Quantity or real number
        A number is already in `kind.unit`. A quantity may come from any registry.
    field : str
        The field's name as the person sees it, for messages.
    kind : QuantityKind
        What is expected.
    low, high : float
        Allowed range, ends included. In `kind.unit`.
    above : bool
        `low` itself is not allowed.
    bare : str, optional
        Spelling of the unit of a typed number that has none; without it such a number is refused. Messages
        give the range in it.

    Returns
    -------
    float
        Finite. In `kind.unit`.

    Raises
    ------
    InputError
        If the entry cannot be read in one way only, is of another kind, or is out of range.

    Examples
    --------
    >>> read("18 ft 6 in", "Length", LENGTH)
    5.6388
    >>> read("5,5", "Length", LENGTH, bare="m")
    5.5
    >>> read("68 °F", "Air", TEMPERATURE)
    20.0
    >>> read("4 V", "Draw", CURRENT)
    Traceback (most recent call last):
    wirecalc.errors.InputError: Draw: “4 V” cannot be used; allowed: a current in A, mA. “V” is a voltage, \
not a current: write 30 A.
    """
    try:
        value = _value(given, kind, bare)
    except _Refused as why:
        raise InputError(field, _echo(given), kind.allowed, str(why)) from None
    low = max(low, kind.floor)
    if not ((value > low if above else value >= low) and value <= high):
        finite = [abs(limit) for limit in (low, high) if math.isfinite(limit)]
        spelling = _spelling(max(finite, default=0.0), kind) if bare is None else bare
        this = f"{_plain(_to(value, spelling, kind), 6)} {spelling}".rstrip()
        hint = f"This is {this}: write {kind} in that range."
        raise InputError(field, _echo(given), _range(low, high, kind, spelling, above=above), hint)
    return value


def _value(given: object, kind: QuantityKind, bare: str | None) -> float:
    if isinstance(given, str):
        value = _typed(_clean(given), kind, bare)
    elif hasattr(given, "m_as"):
        value = _from_quantity(given, kind)
    elif isinstance(given, numbers.Real) and not isinstance(given, bool):
        try:
            value = float(given)
        except OverflowError:
            value = math.inf
    else:
        raise _Refused(f"Write {kind.example}.")
    if not math.isfinite(value):
        raise _Refused(f"The number is too large or is none: write {kind.example}.")
    if kind.whole and value != math.floor(value):
        raise _Refused("There is no part of one here: write a whole number.")
    return value + 0.0  # -0 becomes 0


def _from_quantity(given: Any, kind: QuantityKind) -> float:
    """By the quantity's own registry, which alone knows its units."""
    import pint

    try:
        names = f"{given.units} {given.to_root_units().units}"
        # pint takes 1 rad/s for 1 Hz, and 3 dB for the plain number 2
        if "radian" in names or ("decibel" in names) != (kind == LEVEL):
            raise _Refused(f"Its unit is “{given.units}”: give {kind.example}.")
        magnitude = given.m_as(kind.unit)
        if getattr(magnitude, "shape", ()):
            raise TypeError("an array")
        return float(magnitude)
    except (pint.PintError, TypeError, ValueError, ArithmeticError):
        raise _Refused(f"It is no single {kind.name}: give {kind.example}.") from None


def _echo(given: object) -> object:
    """`given` for a message: as it is, unless it is too long to print or does not print."""
    if not isinstance(given, str):
        return given
    text = given if len(given) <= LONGEST_TEXT else given[: LONGEST_TEXT // 2] + "…"
    return "".join(c if c.isprintable() or c in _SPACES else "\ufffd" for c in text)


def _clean(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise _Refused(f"It has {len(text)} characters: write at most {LONGEST_TEXT}.")
    text = text.translate(_SAME).strip(" \t\r\n").replace("''", '"')
    if not text.isprintable():
        raise _Refused("It holds hidden or control characters: type it again by hand.")
    return " ".join(text.split())


def _typed(text: str, kind: QuantityKind, bare: str | None) -> float:
    parts = _parts(text, kind)
    if len(parts) == 1 and not parts[0].unit and bare is not None:
        parts = [parts[0]._replace(unit=bare)]
    names = [_unit(part, kind) for part in parts]
    _check_together(parts, names)
    number, name = parts[0].size, names[0]
    for part, smaller in zip(parts[1:], names[1:], strict=True):  # in the smaller unit, where it is exact
        number, name = _convert(number, name, smaller) + part.size, smaller
    return _convert(-number if parts[0].sign == "-" else number, name, kind.unit)


def _parts(text: str, kind: QuantityKind) -> list[_Part]:
    if not text:
        raise _Refused(f"Nothing is entered: write {kind.example}.")
    parts: list[_Part] = []
    at = 0
    while at < len(text):
        found = _NUMBER.match(text, at)
        if not found:
            if text[at].isnumeric():
                raise _Refused(f"“{text[at]}” is not a plain digit: write {kind.example}.")
            where = "after the unit " if parts else ""
            raise _Refused(f"“{text[at:]}” {where}is no number: write {kind.example}, nothing else.")
        if parts and found["sign"]:
            raise _Refused(f"Only the first number may have a sign: write {kind.example}.")
        if parts and found["decimal"] and found["decimal"][0] in ".,":  # "18 ft.6 in": 6 or 0.6?
            raise _Refused(f"“{text[at:]}” can be read in two ways: write a 0 before the decimal point.")
        at = found.end()
        at += text[at : at + 1] == " "
        if text[at : at + 1].isnumeric() and not text[at].isascii():
            raise _Refused(f"“{text[at]}” is not a plain digit: write {kind.example}.")
        unit = _UNIT.match(text, at)
        word = unit[0].replace(".", "") if unit else ""
        parts.append(_Part(found[0], found["sign"], _size(found, kind), word))
        if not unit and at < len(text):
            if text[at] in "0123456789":
                raise _Refused(f"“{found[0]}” has no unit: write {kind.example}.")
            raise _Refused(f"“{text[at:]}” is not understood: write {kind.example}.")
        at = unit.end() if unit else at
        at += text[at : at + 1] == " "
    return parts


def _size(found: re.Match[str], kind: QuantityKind) -> float:
    """The number without its sign."""
    if found["over"]:
        if kind not in (LENGTH, MASS, RATIO):  # "12/24 V" and "4/8 ohm" are two numbers
            raise _Refused(f"“{found[0]}” can be a fraction or two numbers: write one number.")
        if not int(found["under"]):
            raise _Refused("A fraction cannot have 0 below the line: write a number.")
        return int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    size = _decimal(found["decimal"], found["power"] or "")
    if math.isinf(size) or (size == 0 and found["decimal"].strip("0.,")):
        raise _Refused("The number is too large or too small to use.")
    return size


def _decimal(text: str, power: str = "") -> float:
    if text.count(".") + text.count(",") > 1:
        raise _Refused(f"“{text}” has separators between thousands: leave them out, as in 1234.5.")
    if not _DECIMAL.fullmatch(text):
        raise _Refused(f"“{text}” is no number: write one like 5.5.")
    if _THOUSANDS.fullmatch(text):
        point, none = text.replace(",", "."), text.replace(",", "")
        raise _Refused(f"“{text}” can mean {float(point):g} or {none}: write {float(point):g} or {none}.")
    return float(text.replace(",", ".") + power)


def _unit(part: _Part, kind: QuantityKind) -> str:
    """Pint's name of the unit of one part."""
    typed = part.unit
    if typed in kind.spellings:
        return kind.spellings[typed]
    if not typed:
        raise _Refused(f"“{part.text}” has no unit: write {kind.example}.")
    right = _fold(kind).get(typed.casefold())
    if right is not None:
        name = kind.spellings[right]
        prefix = name[:5] if name.startswith("milli") else name[:4] if name.startswith("mega") else ""
        if prefix and right[0] in "mM" and typed[0] != right[0] and not right.lower().startswith(prefix):
            raise _Refused(f"“{typed}” can mean milli or mega: for {prefix} write {right}.")
        return name
    others = [str(other) for other in _WITH_UNIT if typed in other.spellings]
    others = others or [str(other) for other in _WITH_UNIT if typed.casefold() in _fold(other)]
    if others:
        raise _Refused(f"“{typed}” is {' or '.join(others)}, not {kind}: write {kind.example}.")
    raise _Refused(f"The unit “{typed}” is not known here: write {kind.example}.")


@cache
def _fold(kind: QuantityKind) -> dict[str, str]:
    """Spelling by its lower-case form; the first listed wins."""
    return {spelling.casefold(): spelling for spelling in reversed(list(kind.spellings))}


def _check_together(parts: list[_Part], names: list[str]) -> None:
    """Feet then inches, or metres then centimetres, may be added up; each less than one of the first."""
    for i in range(len(parts) - 1):
        if _SMALLER.get(names[i]) != names[i + 1]:
            raise _Refused(
                "Only feet then inches, or metres then centimetres, go together, the larger first: "
                f"write {LENGTH.example}."
            )
        if not parts[i].size.is_integer():
            raise _Refused(f"Only the last number may have a fraction, not “{parts[i].text}”.")
        if parts[i + 1].size >= round(_convert(1, names[i], names[i + 1])):
            raise _Refused(f"“{parts[i + 1].text} {parts[i + 1].unit}” makes a whole {names[i]} or more: add it up.")


def _to(value: float, spelling: str, kind: QuantityKind) -> float:
    """From `kind.unit` to another of its units."""
    slope, zero = _line(kind.spellings[spelling], kind.unit)
    return (value - zero) / slope


def _range(low: float, high: float, kind: QuantityKind, spelling: str, *, above: bool = False) -> str:
    low, high = _to(low, spelling, kind), _to(high, spelling, kind)
    return range_in_words(low, high, spelling, above=above).replace("-", "−")


def read_size(given: object, field: str = "Size") -> tuple[str, float]:
    """What a person typed for the size of a conductor -> its system and its number.

    Parameters
    ----------
    given : str, pint.Quantity or real number
        A number is an AWG number, -1 for 2/0; a quantity is an area.
    field : str
        The field's name as the person sees it, for messages.

    Returns
    -------
    tuple of (str, float)
        ("AWG", number), where 0 is 1/0, -1 is 2/0, -2 is 3/0 and -3 is 4/0; or ("mm2", area in mm2).

    Raises
    ------
    InputError
        If the entry cannot be read in one way only, or is out of range.

    Notes
    -----
    A bare whole number is an AWG number (common practice, no source).

    Examples
    --------
    >>> read_size("12 AWG"), read_size("1/0"), read_size("2,5 mm²")
    (('AWG', 12.0), ('AWG', 0.0), ('mm2', 2.5))
    """
    areas = _range(AREA_MM2_LOW, AREA_MM2_HIGH, _SIZE_AREA, "mm²")
    allowed = f"4/0 to {AWG_HIGH:g} AWG, or {areas}"
    try:
        system, number = _size_of(given)
    except _Refused as why:
        raise InputError(field, _echo(given), allowed, str(why)) from None
    low, high = (AWG_LOW, AWG_HIGH) if system == "AWG" else (AREA_MM2_LOW, AREA_MM2_HIGH)
    if not low <= number <= high:
        hint = "For an area write its unit, as in 50 mm2." if system == "AWG" else "Write a size in that range."
        raise InputError(field, _echo(given), allowed, hint)
    return system, number


def _size_of(given: object) -> tuple[str, float]:
    text = _clean(given) if isinstance(given, str) else ""
    found = _AWG.fullmatch(text)
    if found:
        typed = found["number"]
        if typed.endswith("/0"):
            return "AWG", 1.0 - int(typed[0])
        if not typed.strip("0"):
            return "AWG", 1.0 - len(typed)
        number = _decimal(typed)
        if not (typed.isdecimal() or found["before"] or found["after"]):
            raise _Refused(f"It can be two things: write {number:g} mm2 (area) or {number:g} AWG (gauge).")
        return "AWG", number
    if "awg" in text.casefold():
        raise _Refused(f"An AWG number has no fraction but 1/0 to 4/0: write {_SIZE_AREA.example}.")
    if isinstance(given, numbers.Real) and not isinstance(given, bool):
        number = _value(given, NUMBER, None)
        if not number.is_integer():
            raise _Refused(f"It can be two things: write {number:g} mm2 (area) or {number:g} AWG (gauge).")
        return "AWG", number
    # through the SI unit and back, 0.07 mm2 would come out as 0.06999999999999999
    return "mm2", _value(given, _SIZE_AREA, None)


def show(value: float, kind: QuantityKind, *, feet: bool = False, digits: int = 3) -> str:
    """A float in `kind.unit` -> what a person reads.

    Parameters
    ----------
    value : float
        In `kind.unit`; nan becomes a dash.
    kind : QuantityKind
        What it is.
    feet : bool
        Lengths in feet and inches, to the half inch from one foot up.
    digits : int
        Significant digits; those before the decimal point are never dropped. Levels have
        `digits` - 1 decimals.

    Returns
    -------
    str
        With unit. `read` accepts it, unless nan or infinite.

    Examples
    --------
    >>> show(5.6388, LENGTH), show(5.6388, LENGTH, feet=True), show(0.2551, RESISTANCE)
    ('5.64 m', '18 ft 6 in', '255 mΩ')
    >>> show(-0.3, LEVEL), show(3.309e-6, AREA), show(float("nan"), POWER)
    ('−0.30 dB', '3.31 mm²', '—')
    """
    if math.isnan(value):
        return NO_VALUE
    if feet and kind == LENGTH and math.isfinite(value):
        return _feet(value, digits)
    spelling = _spelling(float(f"{value:.{digits - 1}e}"), kind)
    number = _to(value, spelling, kind)
    return f"{_plain(number, digits, digits - 1 if kind == LEVEL else None)} {spelling}".rstrip()


def _spelling(value: float, kind: QuantityKind) -> str:
    """Spelling of the unit in which `value` is shown; 0 and infinity take the plain one."""
    size = abs(value) if value and math.isfinite(value) else 1
    return [spelling for start, spelling in kind.shown if start <= size][-1]


def _plain(number: float, digits: int, decimals: int | None = None) -> str:
    """`number` with a proper minus sign, without useless zeros and without a sign before 0."""
    if math.isinf(number):
        return "∞" if number > 0 else "−∞"
    rounded = f"{number:.{digits - 1}e}"
    exponent = int(rounded.partition("e")[2])
    if decimals is not None:
        text = f"{number:.{decimals}f}"
    elif float(rounded) and not -7 < exponent < 15:  # else as many zeros as a page is wide
        text = rounded
    else:
        text = f"{number:.{max(0, digits - 1 - exponent)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−") if float(text) else text.lstrip("-")


def _feet(metres: float, digits: int) -> str:
    inches = abs(metres) / _line("inch", LENGTH.unit)[0]
    half_inches = round(2 * inches)
    if half_inches < 24:  # in a foot
        text = f"{_plain(inches, digits)} {'in' if inches else 'ft'}"
    else:
        feet, rest = divmod(half_inches, 24)
        text = f"{feet} ft {rest // 2 or ''}{'½' if rest % 2 else ''}".rstrip() + (" in" if rest else "")
    return f"−{text}" if metres < 0 else text


def show_size(system: str, number: float) -> str:
    """The size of a conductor as a person reads it; the inverse of `read_size`.

    Parameters
    ----------
    system : {"AWG", "mm2"}
    number : float
        As `read_size` returns it.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If `system` is neither.

    Examples
    --------
    >>> show_size("AWG", 12), show_size("AWG", -3), show_size("AWG", 13.5), show_size("mm2", 0.75)
    ('12 AWG', '4/0 AWG', '13.5 AWG', '0.75 mm²')
    """
    if system not in ("AWG", "mm2"):
        raise InputError("Size system", system, "AWG or mm2")
    if math.isnan(number):
        return NO_VALUE
    if system == "mm2":
        return show(_convert(number, "millimeter**2", AREA.unit), AREA)
    number = round(number, 2)
    if number > 0:
        return f"{number:g} AWG"
    if number == math.floor(number):
        return f"{1 - int(number)}/0 AWG"
    return f"between {1 - math.ceil(number)}/0 and {1 - math.floor(number)}/0 AWG"


def quantity(value: Any, kind: QuantityKind) -> pint.Quantity[Any]:
    """A float or array in `kind.unit` -> quantity of pint's application registry, to mix with the caller's.

    Parameters
    ----------
    value : (...,) array_like
        In `kind.unit`.
    kind : QuantityKind
        What it is.

    Returns
    -------
    pint.Quantity
        Same shape.

    Examples
    --------
    >>> quantity(2.5e-6, AREA).to("mm^2").round(3)
    <Quantity(2.5, 'millimeter ** 2')>
    """
    import pint

    return pint.Quantity(value, kind.unit)
