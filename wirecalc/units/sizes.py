"""The size of a conductor, as typed and as shown: a gauge number or an area."""

from __future__ import annotations

import math
import numbers
import re
from dataclasses import replace
from typing import Final

from wirecalc.errors import InputError, NotUnderstood, OutOfRange, range_in_words
from wirecalc.units.convert import convert
from wirecalc.units.kinds import AREA, NUMBER
from wirecalc.units.reader import Refused, clean_typed, decimal, echo, value_of
from wirecalc.units.writer import NO_VALUE, show

# How far a size is accepted: the scope of this package (common practice, no source), not of a standard.
AWG_LOW, AWG_HIGH = -3.0, 40.0  # -3 is 4/0
AREA_MM2_LOW, AREA_MM2_HIGH = 0.01, 500.0
_SIZE_AREA: Final = replace(AREA, name="size", unit="mm^2", example="12 AWG, 1/0 AWG or 4 mm2")
_AWG = re.compile(
    r"(?i:(?P<before>awg|gauge|ga\.?|#) ?)?(?P<number>[1-9]/0|[0-9.,]+)(?i: ?(?P<after>awg|gauge|ga\.?|g))?"
)
_PAIR = re.compile(r"([4-9]|[12][0-9])/[2-9](?: ?(?:awg|gauge|ga\.?|g))?", re.IGNORECASE)
_SEVERAL = re.compile(r"([1-9][0-9]?) ?[x×*] ?([0-9].*)", re.IGNORECASE)
_METAL = re.compile(r"(.*[0-9].*) (cca|ofc|copper|tinned|aluminium|aluminum)", re.IGNORECASE)


def read_standard_size(given: object, field: str = "Size") -> tuple[str, float]:
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
    A bare whole number is an AWG number, and "16/2" a cable with two conductors of that size (common practice, no
    source).

    Examples
    --------
    >>> read_standard_size("12 AWG"), read_standard_size("1/0"), read_standard_size("2,5 mm²")
    (('AWG', 12.0), ('AWG', 0.0), ('mm2', 2.5))
    """
    allowed = f"4/0 to {AWG_HIGH:g} AWG, or {range_in_words(AREA_MM2_LOW, AREA_MM2_HIGH, 'mm²')}"
    try:
        system, number = _size_of(given)
    except Refused as why:
        raise NotUnderstood(field, echo(given), allowed, str(why)) from None
    low, high = (AWG_LOW, AWG_HIGH) if system == "AWG" else (AREA_MM2_LOW, AREA_MM2_HIGH)
    if not low <= number <= high:
        hint = "For an area write its unit, as in 50 mm2." if system == "AWG" else "Write a size in that range."
        raise OutOfRange(field, echo(given), allowed, hint)
    return system, number


def _size_of(given: object) -> tuple[str, float]:
    text = clean_typed(given) if isinstance(given, str) else ""
    gauge = _AWG.fullmatch(text)
    if gauge:
        typed = gauge["number"]
        if typed.endswith("/0"):
            return "AWG", 1.0 - int(typed[0])
        if not typed.strip("0"):
            return "AWG", 1.0 - len(typed)
        number = decimal(typed)
        if not (typed.isdecimal() or gauge["before"] or gauge["after"]):
            raise Refused(f"It can be two things: write {number:g} mm2 (area) or {number:g} AWG (gauge).")
        return "AWG", number
    if pair := _PAIR.fullmatch(text):
        return "AWG", float(pair[1])
    if several := _SEVERAL.fullmatch(text):
        raise Refused(f"Write {several[2]} here, and {several[1]} where conductors side by side are asked for.")
    if metal := _METAL.fullmatch(text):
        raise Refused(f"Write {metal[1]} here, and choose {metal[2]} where the metal is asked for.")
    if "awg" in text.casefold():
        raise Refused(f"An AWG number has no fraction but 1/0 to 4/0: write {_SIZE_AREA.example}.")
    if isinstance(given, numbers.Real) and not isinstance(given, bool):
        number = value_of(given, NUMBER, None)
        if not number.is_integer():
            raise Refused(f"It can be two things: write {number:g} mm2 (area) or {number:g} AWG (gauge).")
        return "AWG", number
    # through the SI unit and back, 0.07 mm2 would come out as 0.06999999999999999
    return "mm2", value_of(given, _SIZE_AREA, None)


def show_standard_size(system: str, number: float) -> str:
    """The size of a conductor as a person reads it; the inverse of `read_standard_size`.

    Parameters
    ----------
    system : {"AWG", "mm2"}
    number : float
        As `read_standard_size` returns it.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If `system` is neither.

    Examples
    --------
    >>> [show_standard_size("AWG", size) for size in (12, -3, 13.5)], show_standard_size("mm2", 0.75)
    (['12 AWG', '4/0 AWG', '13.5 AWG'], '0.75 mm²')
    """
    if system not in ("AWG", "mm2"):
        raise InputError("Size system", system, "AWG or mm2")
    if math.isnan(number):
        return NO_VALUE
    if system == "mm2":
        return show(convert(number, "millimeter**2", AREA.unit), AREA)
    number = round(number, 2)
    if number > 0:
        return f"{number:g} AWG"
    if number == math.floor(number):
        return f"{1 - int(number)}/0 AWG"
    return f"between {1 - math.ceil(number)}/0 and {1 - math.floor(number)}/0 AWG"
