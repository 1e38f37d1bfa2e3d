"""A measured impedance in place of a driver's parameters: CSV text in, impedance over frequency out.

Three columns: frequency in Hz, magnitude in ohm, phase in degrees, frequency rising. A header, blank lines and
lines that begin with * or # are allowed. Columns are parted by semicolon, tab or comma; with semicolon or tab
a comma may be the decimal sign.
"""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import csv_text
from wirecalc.errors import FileFaults, InputError, check, range_in_words
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]

MOST_BYTES = 2_000_000
MOST_ROWS = 20_000
MOST_FAULTS = 200  # past that a list helps nobody; the last entry says how many more
_SHOWN = 40  # characters of a cell that a message repeats
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_OTHER_UNIT = re.compile(r"khz|kohm|kω|\brad")


@dataclass(frozen=True, kw_only=True)
class _Column:
    name: str
    unit: str
    low: float
    high: float
    above: bool
    words: tuple[str, ...]
    """Any of these in a header names this column."""


# a passive load's phase stays within a quarter turn
_COLUMNS = (
    _Column(name="frequency", unit="Hz", low=0, high=200e3, above=True, words=("freq", "hz")),
    _Column(name="magnitude", unit="Ω", low=0, high=100e3, above=True, words=("mag", "ohm", "imp", "ω")),
    _Column(name="phase", unit="°", low=-90, high=90, above=False, words=("phase", "deg", "°")),
)


@dataclass(frozen=True, kw_only=True, eq=False)
class MeasuredImpedance:
    """An impedance known at some frequencies; rising, two or more."""

    frequency_hz: Array
    magnitude_ohm: Array
    phase_deg: Array

    def __post_init__(self) -> None:
        for column, values in zip(_COLUMNS, (self.frequency_hz, self.magnitude_ohm, self.phase_deg), strict=True):
            field = column.name.capitalize()
            check(field, values, column.unit, low=column.low, high=column.high, above=column.above)
            if np.shape(values) != (len(self.frequency_hz),):
                raise InputError(field, f"shape {np.shape(values)}", "one row, as long as the frequencies")
        if len(self.frequency_hz) < 2 or not np.all(np.diff(self.frequency_hz) > 0):
            raise InputError("Frequency", "not rising, or fewer than two", "two or more, each above the last")

    @property
    def lowest_hz(self) -> float:
        """The first frequency that was measured. [Hz]"""
        return float(self.frequency_hz[0])

    @property
    def highest_hz(self) -> float:
        """The last frequency that was measured. [Hz]"""
        return float(self.frequency_hz[-1])

    def impedance(self, frequency_hz: ArrayLike) -> NDArray[np.complex128]:
        """Complex impedance, interpolated: log magnitude and phase, both straight over log frequency.

        Parameters
        ----------
        frequency_hz : (...,) array_like
            Within what was measured; nothing is made up outside. [Hz]

        Returns
        -------
        (...,) numpy.ndarray of complex128
            [ohm]

        Raises
        ------
        InputError
            If a frequency is outside what was measured.
        """
        frequency_hz = check(
            "Frequency",
            frequency_hz,
            "Hz",
            low=self.lowest_hz,
            high=self.highest_hz,
            hint="The measured file goes no further: narrow the band or measure wider.",
        )
        place, known = np.log(frequency_hz), np.log(self.frequency_hz)
        magnitude = np.exp(np.interp(place, known, np.log(self.magnitude_ohm)))
        phase = np.deg2rad(np.interp(place, known, self.phase_deg))
        return np.asarray(magnitude * np.exp(1j * phase), np.complex128)


def read_impedance(content: str | bytes) -> MeasuredImpedance:
    """Read a measured impedance.

    Parameters
    ----------
    content : str or bytes
        The file's content, not its name. Bytes are UTF-8, UTF-16 with its mark, or else Windows-1252.

    Returns
    -------
    MeasuredImpedance

    Raises
    ------
    FileFaults
        With every fault in the file: row, column, what was given and what is allowed.
    """
    if len(content) > MOST_BYTES:
        raise _one("File", f"{len(content)} bytes", f"{MOST_BYTES} bytes or less", "Is it an impedance file?")
    lines = (csv_text.decoded(content) if isinstance(content, bytes) else content).splitlines()
    plain = ((number, line.lstrip(" \ufeff").rstrip(" \t,;")) for number, line in enumerate(lines, 1))
    rows = [(number, line) for number, line in plain if line and line.lstrip('"')[:1] not in ("*", "#")]
    if len(rows) > MOST_ROWS:
        raise _one("File", f"{len(rows)} rows", f"{MOST_ROWS} rows or less", "Keep every tenth row.")
    joined = "\n".join(line for _, line in rows)
    separator = next((mark for mark in "\t;" if mark in joined), ",")
    cells = [(number, [cell.strip(" \"'") for cell in line.split(separator)]) for number, line in rows]

    faults: list[InputError] = []
    if cells and all(math.isnan(_number(cell, separator)) for cell in cells[0][1]):
        faults += _header_faults(*cells.pop(0))
    points: list[list[float]] = []
    last = 0.0
    for number, row in cells:
        values, wrong = _row(number, row, separator)
        if values[0] <= last:  # never so for nan: that row has its fault already
            allowed = f"above {last:g} Hz, the row before"
            wrong.append(_fault(number, 0, row[0], allowed, "Sort the rows; each frequency once."))
        last = max(last, values[0])  # last stays where the new one is nan
        faults += wrong
        points.append(values)
    if len(cells) < 2:
        faults.append(InputError("File", f"{len(cells)} rows of numbers", "two rows or more"))
    if len(faults) > MOST_FAULTS:
        more = len(faults) - MOST_FAULTS
        faults[MOST_FAULTS:] = [InputError("File", f"{more} more faults", "none", "Mend those above first.")]
    if faults:
        raise FileFaults(faults)
    frequency, magnitude, phase = np.array(points, np.float64).T
    return MeasuredImpedance(frequency_hz=frequency, magnitude_ohm=magnitude, phase_deg=phase)


def _row(number: int, row: list[str], separator: str) -> tuple[list[float], list[InputError]]:
    """The three values of a row, nan where one cannot be used; and what is wrong with it."""
    if len(row) != len(_COLUMNS):
        hint = "Part columns by ; or tab; a comma is then the decimal sign." if separator == "," else ""
        given = f"{len(row)} columns"
        fault = InputError(f"Row {number}", given, "3 columns: frequency, magnitude, phase", hint)
        return [math.nan] * len(_COLUMNS), [fault]
    values: list[float] = []
    faults: list[InputError] = []
    for place, (column, cell) in enumerate(zip(_COLUMNS, row, strict=True)):
        value = _number(cell, separator)
        try:
            check("", value, "", low=column.low, high=column.high, above=column.above)
        except InputError:
            allowed = range_in_words(column.low, column.high, column.unit, above=column.above)
            faults.append(_fault(number, place, cell, allowed, "Write a number." if math.isnan(value) else ""))
            value = math.nan
        values.append(value)
    return values, faults


def _header_faults(number: int, row: list[str]) -> list[InputError]:
    """A header whose words belong to another column, or to another unit."""
    faults = []
    for place, cell in enumerate(row[: len(_COLUMNS)]):
        word = cell.lower()
        others = [column for column in _COLUMNS if column is not _COLUMNS[place]]
        own = any(known in word for known in _COLUMNS[place].words)
        other = any(known in word for column in others for known in column.words)
        if (other and not own) or _OTHER_UNIT.search(word):
            allowed = f"{_COLUMNS[place].name} in {_COLUMNS[place].unit}"
            faults.append(_fault(number, place, cell, allowed, "Order: frequency, magnitude, phase."))
    return faults


def _number(cell: str, separator: str) -> float:
    """A cell as a number; nan where it is anything else."""
    plain = cell if separator == "," else cell.replace(",", ".")
    return float(plain) if _NUMBER.fullmatch(plain) else math.nan


def _fault(number: int, place: int, given: str, allowed: str, hint: str) -> InputError:
    field = f"Row {number}, column {place + 1} ({_COLUMNS[place].name})"
    return InputError(field, given if len(given) <= _SHOWN else given[:_SHOWN] + "…", allowed, hint)


def _one(field: str, given: str, allowed: str, hint: str) -> FileFaults:
    return FileFaults([InputError(field, given, allowed, hint)])
