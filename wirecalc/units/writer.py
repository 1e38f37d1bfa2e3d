"""A float becomes what a person reads."""

from __future__ import annotations

import math

from wirecalc.errors import range_in_words
from wirecalc.units.convert import line, to_spelling
from wirecalc.units.kinds import LENGTH, LEVEL, QuantityKind

NO_VALUE = "—"


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
    >>> from wirecalc.units import AREA, LENGTH, LEVEL, POWER, RESISTANCE
    >>> show(5.6388, LENGTH), show(5.6388, LENGTH, feet=True), show(0.2551, RESISTANCE)
    ('5.64 m', '18 ft 6 in', '255 mΩ')
    >>> show(-0.3, LEVEL), show(3.309e-6, AREA), show(float("nan"), POWER)
    ('−0.30 dB', '3.31 mm²', '—')
    """
    if math.isnan(value):
        return NO_VALUE
    if feet and kind == LENGTH and math.isfinite(value):
        return _feet(value, digits)
    spelling = spelling_for(float(f"{value:.{digits - 1}e}"), kind)
    number = to_spelling(value, spelling, kind)
    return f"{plain_number(number, digits, digits - 1 if kind == LEVEL else None)} {spelling}".rstrip()


def spelling_for(value: float, kind: QuantityKind) -> str:
    """Spelling of the unit in which `value` is shown; 0 and infinity take the plain one.

    Parameters
    ----------
    value : float
        In `kind.unit`; its sign does not matter.
    kind : QuantityKind
        What it is.

    Returns
    -------
    str
        One of `kind.spellings`.
    """
    size = abs(value) if value and math.isfinite(value) else 1
    return [spelling for start, spelling in kind.shown if start <= size][-1]


def plain_number(number: float, digits: int, decimals: int | None = None) -> str:
    """`number` with a proper minus sign, without useless zeros and without a sign before 0.

    Parameters
    ----------
    number : float
        Of any size; infinite too.
    digits : int
        Significant digits.
    decimals : int, optional
        Digits after the point instead.

    Returns
    -------
    str
        Without unit.
    """
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
    inches = abs(metres) / line("inch", LENGTH.unit)[0]
    half_inches = round(2 * inches)
    if half_inches < 24:  # in a foot
        text = f"{plain_number(inches, digits)} {'in' if inches else 'ft'}"
    else:
        feet, rest = divmod(half_inches, 24)
        text = f"{feet} ft {rest // 2 or ''}{'½' if rest % 2 else ''}".rstrip() + (" in" if rest else "")
    return f"−{text}" if metres < 0 else text


def range_of(low: float, high: float, kind: QuantityKind, spelling: str, *, above: bool = False) -> str:
    """An allowed range in the unit that a person reads: "above 0 up to 200 m".

    Parameters
    ----------
    low, high : float
        Ends included. In `kind.unit`.
    kind : QuantityKind
        What it is.
    spelling : str
        One of `kind.spellings`: the unit of the text.
    above : bool
        `low` itself is not allowed.

    Returns
    -------
    str

    See Also
    --------
    wirecalc.errors.range_in_words : The same for numbers that have their unit already.
    """
    low, high = to_spelling(low, spelling, kind), to_spelling(high, spelling, kind)
    return range_in_words(low, high, spelling, above=above).replace("-", "−")
