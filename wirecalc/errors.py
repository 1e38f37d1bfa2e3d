"""The one exception for a value that cannot be used, one for all of a file's, and the check that raises it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.quantities import PLAIN, WrongUnit, numbers_in

_LONGEST_GIVEN = 500  # characters that a message repeats


class InputError(ValueError):
    """An entry that cannot be used: which field, what was given, what is allowed, what to do.

    Attributes
    ----------
    field : str
        The field's name as the person sees it.
    given : object
        What was entered, unchanged.
    allowed : str
        What would have been accepted, with units.
    hint : str
        What to do next; may be empty.
    words : str
        How it is said, of the class; that something is missing is said by itself.
    """

    words = "{given} won’t work; needed: {allowed}."
    choices: tuple[str, ...] = ()

    def __init__(self, field: str, given: object, allowed: str, hint: str = "") -> None:
        super().__init__(field, given, allowed, hint)  # all four in args, so that it pickles
        self.field, self.given, self.allowed, self.hint = field, given, allowed, hint

    def __str__(self) -> str:
        given = f"{self.given}"
        given = given if len(given) <= _LONGEST_GIVEN else given[:_LONGEST_GIVEN] + "…"
        given = f"“{given}”" if isinstance(self.given, str) else given
        missing = self.given is None or (isinstance(self.given, str) and not self.given.strip())
        words = "missing; give {allowed}." if missing else self.words
        message = f"{self.field}: {words.format(given=given, allowed=self.allowed)} {self.hint}".rstrip()
        return message.encode("utf-8", "replace").decode()  # half a surrogate pair would not go out to the page


class AskedBack(InputError):
    """An entry that can mean several things.

    Attributes
    ----------
    choices : tuple of str
        What may be entered instead, which a page offers to press.
    """

    words = "{given} can be several things: {allowed}."

    def __init__(self, field: str, given: object, allowed: str, hint: str = "", choices: tuple[str, ...] = ()) -> None:
        super().__init__(field, given, allowed, hint)
        self.choices = choices
        self.args = (field, given, allowed, hint, choices)  # so that it pickles


class NotUnderstood(InputError):
    """An entry that cannot be read at all."""

    words = "didn’t understand {given}; try {allowed}."


class OutOfRange(InputError):
    """An entry that is understood, and too small or too large."""

    words = "{given} is out of range; allowed: {allowed}."


class FileFaults(InputError):
    """All that is wrong with a file, in one go.

    Attributes
    ----------
    faults : tuple of InputError
        In the order of the file; each `field` names the row, as a spreadsheet counts them, and the column.
    """

    def __init__(self, faults: Sequence[InputError]) -> None:
        first = faults[0]
        super().__init__(first.field, first.given, first.allowed, first.hint)
        self.faults = tuple(faults)
        self.args = (self.faults,)  # so that it pickles

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


def check(
    field: str,
    value: ArrayLike,
    unit: str,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    above: bool = False,
    hint: str = "",
) -> NDArray[np.float64]:
    """`value` as a float array when every element lies in the allowed range; otherwise `InputError`.

    Parameters
    ----------
    field : str
        The field's name as the person sees it.
    value : (...,) array_like
        In `unit`; or quantities of any registry, which are brought to it.
    unit : str
        Printed after the range; empty for a plain number.
    low, high : float
        Allowed range, ends included. In `unit`.
    above : bool
        `low` itself is not allowed.
    hint : str
        What to do, put into the message.

    Returns
    -------
    (...,) numpy.ndarray of float64

    Raises
    ------
    InputError
        If any element is outside, is not a number (nan included), or is of another dimension.
    """
    # a plain number, the usual case, without numpy's way around; this way round, nan fails
    if type(value) is float and (low < value if above else low <= value) and value <= high:
        return np.asarray(value)
    kind: Any = value.__class__
    try:
        plain = kind in PLAIN or (kind is np.ndarray and value.dtype.kind != "O")  # type: ignore[union-attr]
        given_array = np.asarray(value if plain else numbers_in(value, unit))
    except WrongUnit as why:
        unfit = f"Its unit is {why}."
        raise NotUnderstood(field, str(value), range_in_words(low, high, unit, above=above), unfit) from None
    if given_array.dtype.kind not in "fiub":  # text, objects and complex numbers are not silently converted
        raise NotUnderstood(field, value, range_in_words(low, high, unit, above=above), hint)
    array = given_array.astype(np.float64, copy=False)
    allowed = array > low if above else array >= low  # this way round, nan fails too
    if high < math.inf:
        allowed = allowed & (array <= high)
    if not allowed.all():
        bad: Any = array[~allowed].flat[0] if array.ndim else array[()]
        given = f"{bad:g} {unit}".rstrip()
        if array.size > 1:
            place = np.argwhere(~allowed)[0].tolist()
            given += f" at place {place[0] if array.ndim == 1 else tuple(place)} of {' × '.join(map(str, array.shape))}"
        raise OutOfRange(field, given, range_in_words(low, high, unit, above=above), hint)
    return array


def range_in_words(low: float, high: float, unit: str, *, above: bool = False) -> str:
    """The allowed range as text: "above 0 up to 200 m".

    Parameters
    ----------
    low, high : float
        Ends included; an infinite one is left out. In `unit`.
    unit : str
        Empty for a plain number.
    above : bool
        `low` itself is not allowed.

    Returns
    -------
    str
        "a number" where both ends are infinite.
    """
    tail = f" {unit}".rstrip()
    if math.isinf(low) and math.isinf(high):
        return f"a number{' in' + tail if tail else ''}"
    if math.isinf(high):
        return f"{'above ' if above else ''}{low:g}{tail}{'' if above else ' or more'}"
    if math.isinf(low):
        return f"{high:g}{tail} or less"
    return f"above {low:g} up to {high:g}{tail}" if above else f"{low:g} to {high:g}{tail}"
