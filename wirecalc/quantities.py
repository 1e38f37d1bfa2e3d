"""A number with a unit, of pint or alike, becomes a float in the unit that is asked for; or is refused.

numpy would take its magnitude and forget its unit, so every number that comes from outside passes here: by `check`
(`wirecalc.errors`), or where the name of a parameter says its unit (`wirecalc.units_taken`).
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

# what is said beside a number -> the unit as pint writes it, where they differ
_WRITTEN = {
    "Ω": "ohm",
    "°C": "degC",
    "": "dimensionless",
    "ohm m": "ohm*m",
    "W/(m K)": "W/(m*K)",
    "J/(m K)": "J/(m*K)",
    "J/(m³ K)": "J/(m**3*K)",
    "kg/m³": "kg/m**3",
    "m²": "m**2",
    "m³": "m**3",
    "mm²": "mm**2",
    "A h": "A*h",
    "W for all channels together": "W",
    "of rated": "dimensionless",
    "counts": "dimensionless",
}
PLAIN: set[type] = {float, int, bool, type(None), np.float64, np.int64, np.bool_}
"""Classes whose values are no quantities and hold none; it grows with what is met."""


class WrongUnit(ValueError):
    """A quantity of another dimension, or of a unit that is not known."""


@cache
def _carries_unit(kind: type) -> bool:
    """Whether it is pint's, or another library's, which is refused rather than stripped of its unit."""
    return hasattr(kind, "dimensionality") or (hasattr(kind, "unit") and hasattr(kind, "to_value"))


def is_plain(value: object) -> bool:
    """Whether `value` is neither a quantity nor holds one: a list, an array of objects, a column of a table.

    Parameters
    ----------
    value : object
        Of any class.

    Returns
    -------
    bool
    """
    kind: Any = value.__class__
    if kind in PLAIN:
        return True
    if _carries_unit(kind):
        return False
    if isinstance(value, np.ndarray):
        return value.dtype.kind != "O" or all(map(is_plain, value.flat))
    if isinstance(value, list | tuple):
        return PLAIN.issuperset(map(type, value)) or all(map(is_plain, value))
    if hasattr(kind, "__array__"):  # a column of a table; one of pint's own kind is of objects once it is an array
        kind_of = getattr(getattr(value, "dtype", None), "kind", "O")
        return kind_of != "O" or all(map(is_plain, np.asarray(value, object).flat))
    if not hasattr(kind, "__iter__"):
        PLAIN.add(kind)
    return True


def numbers_in(value: Any, unit: str) -> Any:
    """`value` without units: floats or arrays in `unit`.

    Parameters
    ----------
    value : (...,) array_like, pint.Quantity, or an array or nested list of quantities
        A plain number is in `unit` already. A quantity may come from any registry.
    unit : str
        As pint writes it, or as it is said beside a number; empty for a plain number.

    Returns
    -------
    float, complex or (...,) numpy.ndarray
        What is plain comes back as it is.

    Raises
    ------
    WrongUnit
        If a quantity is of another dimension.

    Examples
    --------
    >>> import pint
    >>> numbers_in([pint.Quantity(1, "km"), pint.Quantity(50, "cm"), 2.0], "m")
    [1000.0, 0.5, 2.0]
    """
    if is_plain(value):
        return value
    if _carries_unit(value.__class__):
        return _magnitude(value, unit)
    if isinstance(value, list | tuple):
        return [numbers_in(each, unit) for each in value]
    array = np.asarray(value, object)
    return np.array([numbers_in(each, unit) for each in array.flat]).reshape(array.shape)


def _magnitude(given: Any, unit: str) -> Any:
    """By the quantity's own registry, which alone knows its units; else by ours, through base units."""
    to = _WRITTEN.get(unit, unit)
    try:
        names = f"{given.units} {given.to_root_units().units}"
        # pint takes 1 rad/s for 1 Hz, and 3 dB for the plain number 2
        if "radian" in names or ("decibel" in names) != (to == "dB"):
            raise WrongUnit(f"{given.units}")
        magnitude = given.m_as(to)
        if isinstance(magnitude, np.ndarray) and magnitude.ndim:
            return magnitude
        return complex(magnitude) if isinstance(magnitude, complex) else float(magnitude)
    except WrongUnit:
        raise
    except Exception as why:  # pint's faults share no class that can be named without loading pint
        raise WrongUnit(str(getattr(given, "units", getattr(given, "unit", given)))) from why
