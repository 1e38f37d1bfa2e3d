"""What was read of an unmarked wire: any of ten readings, each with its own uncertainty, typed or measured."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields

import numpy as np
from numpy.typing import ArrayLike

from wirecalc import units
from wirecalc.bench.known_wires import FINE_FROM, MOST_STRANDS
from wirecalc.bench.meter import LIMIT_TO_DEVIATION, Accuracy, resolution
from wirecalc.errors import InputError, check
from wirecalc.quantities import is_plain
from wirecalc.units_taken import dataclass, unit_of, without_unit
from wirecalc.wire.conductor import COLDEST_C, HOTTEST_C


@dataclass(frozen=True)
class ReadingField:
    """One kind of reading."""

    title: str
    kind: units.QuantityKind
    bare: str | None
    """Unit of a number typed alone."""
    unit: str
    """Of the values here, as messages say it."""
    low: float
    high: float
    off_share: float = 0.0
    off_fixed: float = 0.0
    """How far off it may be where nothing is said of it: a share, and in `unit`. Common practice, no source."""

    def usual_limit(self, value: float) -> float:
        """How far off a reading may be where nothing is said of it. In `unit`."""
        return self.off_share * value + self.off_fixed


FIELDS: Mapping[str, ReadingField] = {
    "strands": ReadingField("Strands", units.COUNT, None, "", 1, MOST_STRANDS),
    "strand_m": ReadingField("Strand diameter", units.LENGTH, "mm", "m", 2e-5, 0.05, 0.0, 0.01e-3),  # micrometer
    "bare_m": ReadingField("Bare diameter", units.LENGTH, "mm", "m", 5e-5, 0.05, 0.0, 0.05e-3),
    "ohm": ReadingField("Resistance", units.RESISTANCE, None, "ohm", 1e-6, 1e4, 0.01),
    "lead_ohm": ReadingField("Meter leads", units.RESISTANCE, None, "ohm", 0, 100, 0.01),
    "length_m": ReadingField("Measured length", units.LENGTH, "m", "m", 0.01, 2000, 0.005, 0.002),  # tape
    "temperature_c": ReadingField("Wire temperature", units.TEMPERATURE, "°C", "°C", COLDEST_C, HOTTEST_C, 0.0, 3.0),
    "mass_kg": ReadingField("Mass", units.MASS, "g", "kg", 1e-6, 500, 0.0, 0.1e-3),  # scale of 0.1 g
    "mass_length_m": ReadingField("Stripped length", units.LENGTH, "m", "m", 0.005, 2000, 0.005, 0.002),
    "outer_m": ReadingField("Outer diameter", units.LENGTH, "mm", "m", 2e-4, 0.1, 0.0, 0.05e-3),
}
"""By field of `Sample`."""
_NEEDS = (
    ("strand_m", "strands", "Count the strands too."),
    ("ohm", "length_m", "Measure the piece."),
    ("mass_kg", "mass_length_m", "Measure the stripped piece."),
)


@dataclasses.dataclass(frozen=True, kw_only=True, eq=False)  # its unit is known where it is put into a `Sample`
class Reading:
    """One kind of reading, of one sample or of many; nan where it was not taken."""

    value: ArrayLike
    """In SI, or a quantity that `Sample` brings to SI."""
    uncertainty: ArrayLike = 0.0
    """One standard deviation; broadcasts with `value`. In the unit of `value`."""

    def in_si(self, name: str) -> Reading:
        """Without units, as a reading for one field of `Sample`.

        Raises
        ------
        InputError
            If a unit is not one of that field.
        """
        if is_plain(self.value) and is_plain(self.uncertainty):
            return self
        unit = unit_of(name)
        by = "delta_degC" if unit == "degC" and not is_plain(self.uncertainty) else unit  # a difference in kelvins
        return Reading(value=without_unit(name, self.value, unit), uncertainty=without_unit(name, self.uncertainty, by))

    def __post_init__(self) -> None:
        if not (is_plain(self.value) and is_plain(self.uncertainty)):
            return
        if np.asarray(self.value).dtype.kind not in "fiu":
            raise InputError("Reading", self.value, "a number")
        check("Uncertainty", self.uncertainty, "", low=0, high=1e9)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sample:
    """What was read of one wire or, with arrays that broadcast together, of many. Everything may be missing."""

    strands: Reading | None = None
    """How many, counted; the uncertainty 0 where the count is exact."""
    strand_m: Reading | None = None
    """Diameter of one strand; needs `strands`. [m]"""
    bare_m: Reading | None = None
    """Diameter over the bare strands, twisted tight. [m]"""
    ohm: Reading | None = None
    """One conductor from end to end, as the meter shows it; needs `length_m`. [ohm]"""
    lead_ohm: Reading | None = None
    """What the meter shows with its tips together, to be subtracted; None for four wires. [ohm]"""
    length_m: Reading | None = None
    """Between the contacts. [m]"""
    temperature_c: Reading | None = None
    """Of the wire while its resistance was read; None counts as 20 °C, give or take 10 K. [degC]"""
    mass_kg: Reading | None = None
    """Of a piece without insulation; needs `mass_length_m`. [kg]"""
    mass_length_m: Reading | None = None
    """Of that piece. [m]"""
    outer_m: Reading | None = None
    """Over the insulation. [m]"""

    def __post_init__(self) -> None:
        for name, reading in self.taken():
            object.__setattr__(self, name, reading.in_si(name))
        for name, reading in self.taken():
            what, value = FIELDS[name], np.asarray(reading.value, np.float64)
            check(what.title, value[~np.isnan(value)], what.unit, low=what.low, high=what.high)
        for name, other, hint in _NEEDS:
            if getattr(self, name) is not None and getattr(self, other) is None:
                allowed = f"a reading, as there is one of {FIELDS[name].title.lower()}"
                raise InputError(FIELDS[other].title, "", allowed, hint)
        _ = self.shape

    def taken(self) -> Iterator[tuple[str, Reading]]:
        """The readings that there are, by field."""
        for field in fields(self):
            reading = getattr(self, field.name)
            if reading is not None:
                yield field.name, reading

    @property
    def shape(self) -> tuple[int, ...]:
        """The shape of all readings broadcast together; () for one wire.

        Raises
        ------
        InputError
            If their shapes do not broadcast.
        """
        parts = [np.shape(part) for _, reading in self.taken() for part in (reading.value, reading.uncertainty)]
        try:
            return np.broadcast_shapes(*parts)
        except ValueError:
            shapes = ", ".join(f"{name} {np.shape(reading.value)}" for name, reading in self.taken())
            raise InputError("Sample", shapes, "arrays that broadcast together") from None


# --- what a person types ---------------------------------------------------------------------------------------------

_PLUS_MINUS = re.compile(r"±|\+/?-")
_NUMBER = "0123456789., "
_DIFFERENCE = re.compile(r"(?P<number>[0-9]{1,3}(?:[.,][0-9]{1,3})?) ?(?P<unit>K|(?:°|deg)? ?[CF])?")


def read_reading(text: str, name: str, accuracy: Accuracy | None = None) -> Reading:
    """One reading as typed: a value, and after "±" how far off it may be.

    Parameters
    ----------
    text : str
        "0.254 mm", "0.254 ± 0.005 mm" or "0.254 mm ± 2 %"; "+-" and "+/-" are "±".
    name : str
        Key of `FIELDS`.
    accuracy : Accuracy, optional
        Of the meter, for resistances; counts are of the last digit typed. Used where the text says nothing.

    Returns
    -------
    Reading
        Limits become a standard deviation as if every value within them were as likely.

    Raises
    ------
    InputError
        If it cannot be read in one way only, or is out of range.

    Examples
    --------
    >>> one = read_reading("20.5 mohm", "ohm", Accuracy(share=0.005, counts=2))
    >>> round(one.value, 6), round(one.uncertainty * 3**0.5, 7)       # 0.1025 mohm + 2 x 0.1 mohm
    (0.0205, 0.0003025)
    """
    field = FIELDS[name]
    before, *after = _PLUS_MINUS.split(text) if len(text) <= units.LONGEST_TEXT else [text]
    if len(after) > 1 or (after and not after[0].strip()):
        raise InputError(field.title, text, "a value, ± once, and how far off it may be", "Write 0.254 mm ± 0.005 mm.")
    unit = after[0].strip().lstrip(_NUMBER) if after else ""
    if unit not in ("", "%", "K") and not before.strip(_NUMBER):
        before = f"{before.strip()} {unit}"  # "0.254 ± 0.005 mm": the unit is of both
    value = units.read(before, field.title, field.kind, low=field.low, high=field.high, bare=field.bare)
    if after:
        limit = _off_by(after[0].strip(), before.strip().lstrip(_NUMBER) or field.bare, value, field)
    elif accuracy is not None and field.kind is units.RESISTANCE:
        limit = float(accuracy.limit(value, resolution(before, field.title, field.kind, field.bare)))
    elif name == "strands":
        limit = 0.0 if value <= FINE_FROM else 0.02 * value  # nobody counts 600 strands without a slip
    else:
        limit = field.usual_limit(value)
    return Reading(value=value, uncertainty=limit * LIMIT_TO_DEVIATION)


def _off_by(after: str, unit: str | None, value: float, reading: ReadingField) -> float:
    """What stands behind ±, in the unit of `value`."""
    field, kind = f"{reading.title}, ±", reading.kind
    if after.endswith("%"):
        return abs(value) * units.read(after, field, units.RATIO, low=0, high=0.5)
    if kind != units.TEMPERATURE:
        return units.read(after, field, units.NUMBER if kind == units.COUNT else kind, low=0, bare=unit)
    difference = _DIFFERENCE.fullmatch(after)  # 2 °C of difference are not 2 °C on the scale
    if not difference:
        raise InputError(field, after, "a difference in K, °C or °F", "Write 20 °C ± 2 K.")
    fahrenheit = (difference["unit"] or unit or "").endswith("F")
    return float(difference["number"].replace(",", ".")) * (5 / 9 if fahrenheit else 1.0)
