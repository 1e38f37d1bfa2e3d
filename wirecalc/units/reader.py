"""What a person types, or a pint quantity, becomes a float.

Typed text is read by a small grammar of our own and never reaches pint's parser, which takes "18 ft 6 in" for
108 ft*in, "1,5 m" for 15 m, and can be made to hang.
"""

from __future__ import annotations

import math
import numbers
import re
from functools import cache
from typing import Any, NamedTuple

from wirecalc.errors import NotUnderstood, OutOfRange
from wirecalc.units.convert import convert, to_spelling
from wirecalc.units.kinds import LENGTH, LEVEL, MASS, RATIO, WITH_UNIT, QuantityKind
from wirecalc.units.writer import plain_number, range_of, spelling_for

LONGEST_TEXT = 64  # characters; what bounds the time any text can take

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
_SMALLER = {"foot": "inch", "meter": "centimeter"}  # the only units that may follow one another


class Refused(Exception):
    """Why an entry cannot be used, and what to write instead; becomes the hint of an `InputError`."""


class _Part(NamedTuple):
    text: str  # the number as typed
    sign: str
    size: float
    unit: str  # "" where none was typed


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
    >>> from wirecalc.units import CURRENT, LENGTH, TEMPERATURE
    >>> read("18 ft 6 in", "Length", LENGTH)
    5.6388
    >>> read("5,5", "Length", LENGTH, bare="m")
    5.5
    >>> read("68 °F", "Air", TEMPERATURE)
    20.0
    >>> read("4 V", "Draw", CURRENT)
    Traceback (most recent call last):
    wirecalc.errors.NotUnderstood: Draw: didn’t understand “4 V”; try a current in A, mA. “V” is a voltage, \
not a current: write 30 A.
    """
    try:
        value = value_of(given, kind, bare)
    except Refused as why:
        raise NotUnderstood(field, echo(given), kind.allowed, str(why)) from None
    low = max(low, kind.floor)
    if not ((value > low if above else value >= low) and value <= high):
        finite = [abs(limit) for limit in (low, high) if math.isfinite(limit)]
        spelling = spelling_for(max(finite, default=0.0), kind) if bare is None else bare
        this = f"{plain_number(to_spelling(value, spelling, kind), 6)} {spelling}".rstrip()
        hint = f"This is {this}: write {kind} in that range."
        raise OutOfRange(field, echo(given), range_of(low, high, kind, spelling, above=above), hint)
    return value


def value_of(given: object, kind: QuantityKind, bare: str | None) -> float:
    """What was typed or given as a float, of any size: `read` without its range.

    Parameters
    ----------
    given : str, pint.Quantity or real number
        See `read`.
    kind : QuantityKind
        What is expected.
    bare : str or None
        See `read`.

    Returns
    -------
    float
        Finite. In `kind.unit`.

    Raises
    ------
    Refused
        If it cannot be read in one way only, or is of another kind.
    """
    if isinstance(given, str):
        value = _typed(clean_typed(given), kind, bare)
    elif hasattr(given, "m_as"):
        value = _from_quantity(given, kind)
    elif isinstance(given, numbers.Real) and not isinstance(given, bool):
        try:
            value = float(given)
        except OverflowError:
            value = math.inf
    else:
        raise Refused(f"Write {kind.example}.")
    if not math.isfinite(value):
        raise Refused(f"The number is too large or is none: write {kind.example}.")
    if kind.whole and value != math.floor(value):
        raise Refused("There is no part of one here: write a whole number.")
    return value + 0.0  # -0 becomes 0


def _from_quantity(given: Any, kind: QuantityKind) -> float:
    """By the quantity's own registry, which alone knows its units."""
    import pint

    try:
        names = f"{given.units} {given.to_root_units().units}"
        # pint takes 1 rad/s for 1 Hz, and 3 dB for the plain number 2
        if "radian" in names or ("decibel" in names) != (kind == LEVEL):
            raise Refused(f"Its unit is “{given.units}”: give {kind.example}.")
        magnitude = given.m_as(kind.unit)
        if getattr(magnitude, "shape", ()):
            raise TypeError("an array")
        return float(magnitude)
    except (pint.PintError, TypeError, ValueError, ArithmeticError):
        raise Refused(f"It is no single {kind.name}: give {kind.example}.") from None


def echo(given: object) -> object:
    """`given` for a message: as it is, unless it is too long to print or does not print."""
    if not isinstance(given, str):
        return given
    text = given if len(given) <= LONGEST_TEXT else given[: LONGEST_TEXT // 2] + "…"
    return "".join(c if c.isprintable() or c in _SPACES else "\ufffd" for c in text)


def clean_typed(text: str) -> str:
    """Typed text with one way to write each sign and one space between words; refuses what is too long or hidden."""
    if len(text) > LONGEST_TEXT:
        raise Refused(f"It has {len(text)} characters: write at most {LONGEST_TEXT}.")
    text = text.translate(_SAME).strip(" \t\r\n").replace("''", '"')
    if not text.isprintable():
        raise Refused("It holds hidden or control characters: type it again by hand.")
    return " ".join(text.split())


def _typed(text: str, kind: QuantityKind, bare: str | None) -> float:
    if kind.follows and text.casefold().endswith(kind.follows) and text[: -len(kind.follows)].strip():
        text = text[: -len(kind.follows)].rstrip()
    parts = _parts(text, kind)
    if len(parts) == 2 and not parts[1].unit and kind.spellings.get(parts[0].unit.casefold()) == "foot":
        parts[1] = parts[1]._replace(unit="in")  # "18 ft 6", as it is said
    if len(parts) == 1 and not parts[0].unit and bare is not None:
        parts = [parts[0]._replace(unit=bare)]
    names = [_unit(part, kind) for part in parts]
    _check_together(parts, names)
    number, name = parts[0].size, names[0]
    for part, smaller in zip(parts[1:], names[1:], strict=True):  # in the smaller unit, where it is exact
        number, name = convert(number, name, smaller) + part.size, smaller
    return convert(-number if parts[0].sign == "-" else number, name, kind.unit)


def _parts(text: str, kind: QuantityKind) -> list[_Part]:
    if not text:
        raise Refused(f"Nothing is entered: write {kind.example}.")
    parts: list[_Part] = []
    at = 0
    while at < len(text):
        number = _NUMBER.match(text, at)
        if not number:
            if text[at].isnumeric():
                raise Refused(f"“{text[at]}” is not a plain digit: write {kind.example}.")
            where = "after the unit " if parts else ""
            raise Refused(f"“{text[at:]}” {where}is no number: write {kind.example}, nothing else.")
        if parts and number["sign"]:
            raise Refused(f"Only the first number may have a sign: write {kind.example}.")
        if parts and number["decimal"] and number["decimal"][0] in ".,":  # "18 ft.6 in": 6 or 0.6?
            raise Refused(f"“{text[at:]}” can be read in two ways: write a 0 before the decimal point.")
        at = number.end()
        at += text[at : at + 1] == " "
        if text[at : at + 1].isnumeric() and not text[at].isascii():
            raise Refused(f"“{text[at]}” is not a plain digit: write {kind.example}.")
        unit = _UNIT.match(text, at)
        word = unit[0].replace(".", "") if unit else ""
        parts.append(_Part(number[0], number["sign"], _size(number, kind), word))
        if not unit and at < len(text):
            if text[at] in "0123456789":
                raise Refused(f"“{number[0]}” has no unit: write {kind.example}.")
            raise Refused(f"“{text[at:]}” is not understood: write {kind.example}.")
        at = unit.end() if unit else at
        at += text[at : at + 1] == " "
    return parts


def _size(number: re.Match[str], kind: QuantityKind) -> float:
    """The number without its sign."""
    if number["over"]:
        if kind not in (LENGTH, MASS, RATIO):  # "12/24 V" and "4/8 ohm" are two numbers
            raise Refused(f"“{number[0]}” can be a fraction or two numbers: write one number.")
        if not int(number["under"]):
            raise Refused("A fraction cannot have 0 below the line: write a number.")
        return int(number["whole"] or 0) + int(number["over"]) / int(number["under"])
    size = decimal(number["decimal"], number["power"] or "")
    if math.isinf(size) or (size == 0 and number["decimal"].strip("0.,")):
        raise Refused("The number is too large or too small to use.")
    return size


def decimal(text: str, power: str = "") -> float:
    """A decimal number with a point or a comma.

    Parameters
    ----------
    text : str
        Digits with at most one point or comma.
    power : str
        "e3" and the like, or nothing.

    Returns
    -------
    float

    Raises
    ------
    Refused
        If it is no number, or a comma may stand for thousands.
    """
    if text.count(".") + text.count(",") > 1:
        raise Refused(f"“{text}” has separators between thousands: leave them out, as in 1234.5.")
    if not _DECIMAL.fullmatch(text):
        raise Refused(f"“{text}” is no number: write one like 5.5.")
    if _THOUSANDS.fullmatch(text):
        point, none = text.replace(",", "."), text.replace(",", "")
        raise Refused(f"“{text}” can mean {float(point):g} or {none}: write {float(point):g} or {none}.")
    return float(text.replace(",", ".") + power)


def _unit(part: _Part, kind: QuantityKind) -> str:
    """Pint's name of the unit of one part."""
    typed = part.unit
    if typed in kind.spellings:
        return kind.spellings[typed]
    if not typed:
        raise Refused(f"“{part.text}” has no unit: write {kind.example}.")
    right = _fold(kind).get(typed.casefold())
    if right is not None:
        name = kind.spellings[right]
        prefix = name[:5] if name.startswith("milli") else name[:4] if name.startswith("mega") else ""
        if prefix and right[0] in "mM" and typed[0] != right[0] and not right.lower().startswith(prefix):
            raise Refused(f"“{typed}” can mean milli or mega: for {prefix} write {right}.")
        return name
    others = [str(other) for other in WITH_UNIT if typed in other.spellings]
    others = others or [str(other) for other in WITH_UNIT if typed.casefold() in _fold(other)]
    if others:
        raise Refused(f"“{typed}” is {' or '.join(others)}, not {kind}: write {kind.example}.")
    raise Refused(f"The unit “{typed}” is not known here: write {kind.example}.")


@cache
def _fold(kind: QuantityKind) -> dict[str, str]:
    """Spelling by its lower-case form; the first listed wins."""
    return {spelling.casefold(): spelling for spelling in reversed(list(kind.spellings))}


def _check_together(parts: list[_Part], names: list[str]) -> None:
    """Feet then inches, or metres then centimetres, may be added up; each less than one of the first."""
    for i in range(len(parts) - 1):
        if _SMALLER.get(names[i]) != names[i + 1]:
            raise Refused(
                "Only feet then inches, or metres then centimetres, go together, the larger first: "
                f"write {LENGTH.example}."
            )
        if not parts[i].size.is_integer():
            raise Refused(f"Only the last number may have a fraction, not “{parts[i].text}”.")
        if parts[i + 1].size >= round(convert(1, names[i], names[i + 1])):
            raise Refused(f"“{parts[i + 1].text} {parts[i + 1].unit}” makes a whole {names[i]} or more: add it up.")
