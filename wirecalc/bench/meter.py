"""How far off a meter may be, as its data sheet says it: "0.5 % + 2 counts"."""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import units
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]

_SHARE = r"(?P<share>[0-9]{1,3}(?:[.,][0-9]{1,4})?) ?%(?: ?(?:of )?(?:rdg|reading))?"
_COUNTS = r"(?P<counts>[0-9]{1,3}) ?(?:counts?|digits?|dgts?|d|lsd)"
_ACCURACY = tuple(map(re.compile, (rf"{_SHARE} ?\+ ?{_COUNTS}", _SHARE, _COUNTS)))
_ACCURACY_EXAMPLE = "Write 0.5 % + 2 counts, as in the meter's data sheet."
_MOST_SHARE, _MOST_COUNTS = 0.2, 200  # past that it is no meter for this: common practice, no source
LIMIT_TO_DEVIATION = 1 / math.sqrt(3)  # limits taken as a rectangle, GUM 4.3.7 (from memory)


@dataclass(frozen=True, kw_only=True)
class Accuracy:
    """How far off a meter may be, as its data sheet says it."""

    share: float
    """Of the reading. [0 to 0.2]"""
    counts: int
    """Of the last digit shown. [0 to 200]"""

    def __post_init__(self) -> None:
        check("Meter accuracy", self.share, "", low=0, high=_MOST_SHARE, hint="Was it in percent?")
        check("Meter counts", self.counts, "counts", low=0, high=_MOST_COUNTS)

    def limit(self, value: ArrayLike, count: ArrayLike) -> Array:
        """How far off a reading may be, where the last digit shown counts `count`. In the unit of `value`.

        Parameters
        ----------
        value : (...,) array_like
            Readings, 0 or more. [any unit]
        count : (...,) array_like
            What one count of the last digit is worth. [that unit]

        Returns
        -------
        (...,) numpy.ndarray
            Either way. [that unit]

        Raises
        ------
        InputError
            If a reading is below 0.
        """
        value = check("Reading", value, "", low=0)
        return np.asarray(self.share * value + self.counts * check("Resolution", count, "", low=0))

    def __str__(self) -> str:
        """As `read_accuracy` reads it."""
        return f"{100 * self.share:.6g} % + {self.counts} counts"


@dataclass(frozen=True, kw_only=True)
class Meter(Accuracy):
    """An ohmmeter in one of its ranges."""

    count_ohm: float
    """One count of the last digit. [ohm]"""

    def __post_init__(self) -> None:
        super().__post_init__()
        check("Meter's last digit", self.count_ohm, "ohm", low=1e-7, high=10)

    @takes_units
    def error_ohm(self, reading_ohm: ArrayLike) -> Array:
        """Largest error that the maker allows, either side. (...,) [ohm] -> (...,) [ohm]"""
        return self.limit(reading_ohm, self.count_ohm)


def read_accuracy(text: str, field: str = "Meter accuracy") -> Accuracy:
    """A meter's accuracy as its data sheet writes it.

    Parameters
    ----------
    text : str
        A share of the reading, counts of the last digit, or both; at most 64 characters.
    field : str
        For messages.

    Returns
    -------
    Accuracy
        Share of the reading and counts of the last digit.

    Raises
    ------
    InputError
        If it is anything else, or out of range.

    Examples
    --------
    >>> read_accuracy("±(0.5 % + 2 counts)")
    Accuracy(share=0.005, counts=2)
    """
    allowed = f"a share of the reading up to {_MOST_SHARE:.0%}, counts up to {_MOST_COUNTS}, or both"
    if len(text) > units.LONGEST_TEXT:
        raise InputError(field, text[: units.LONGEST_TEXT // 2] + "…", allowed, _ACCURACY_EXAMPLE)
    plain = " ".join(text.lower().split()).removeprefix("±").strip()
    if plain.startswith("(") and plain.endswith(")"):
        plain = plain[1:-1].strip()
    matched = next(filter(None, (pattern.fullmatch(plain) for pattern in _ACCURACY)), None)
    parts = matched.groupdict() if matched else {}
    share = float((parts.get("share") or "0").replace(",", ".")) / 100
    counts = int(parts.get("counts") or 0)
    if share > _MOST_SHARE or counts > _MOST_COUNTS or not (share or counts):
        raise InputError(field, text, allowed, _ACCURACY_EXAMPLE)
    return Accuracy(share=share, counts=counts)


def read_shown(text: str, field: str, high: float = 1e6) -> float | None:
    """What an ohmmeter shows, as a person types it.

    Parameters
    ----------
    text : str
        Empty while nothing is read; "OL" for no path.
    field : str
        For messages.
    high : float
        The most. [ohm]

    Returns
    -------
    float or None
        Infinite for no path. [ohm]

    Raises
    ------
    InputError
        If it is anything else, or out of range.
    """
    word = text.strip().casefold().replace(".", "")
    if word in ("ol", "0l", "open", "∞"):
        return math.inf
    return units.read(text, field, units.RESISTANCE, low=0, high=high, bare="ohm") if word else None


def show_reading(value: float | None) -> str:
    """As `read_shown` reads it."""
    if value is None:
        return ""
    return "OL" if math.isinf(value) else units.show(value, units.RESISTANCE, digits=4)


def resolution(text: str, field: str, kind: units.QuantityKind, bare: str | None = None) -> float:
    """What one count of the last digit typed is worth: "20.5 mohm" -> 0.0001. In `kind.unit`.

    Parameters
    ----------
    text : str
        A reading as the meter shows it.
    field : str
        For messages.
    kind : wirecalc.units.QuantityKind
        What was read.
    bare : str, optional
        Unit of a number that has none; see `wirecalc.units.read`.

    Returns
    -------
    float
        In `kind.unit`.

    Raises
    ------
    InputError
        If the text is no number as a meter shows it.
    """
    digits = [place for place, character in enumerate(text) if character in "0123456789"]
    if not digits or re.search(r"[0-9][eE]", text):
        raise InputError(field, text, "digits as the meter shows them", "Write 0.0205 ohm.")
    count = "".join("1" if place == digits[-1] else "0" if place in digits else each for place, each in enumerate(text))
    return units.read(count, field, kind, low=0, bare=bare)
