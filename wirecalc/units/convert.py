"""From one unit to another: by definition, or by pint's factors."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from wirecalc.units.kinds import WITH_UNIT, QuantityKind

if TYPE_CHECKING:
    import pint

_OWN = {kind.unit: kind.spellings[kind.unit] for kind in WITH_UNIT if kind.unit in kind.spellings}
_OWN["mm^2"] = "millimeter**2"
# without loading pint, which takes longer than the rest of a page: slope and zero, exact by definition (international
# yard and pound of 1959, International Temperature Scale; from memory, and the tests ask pint and GNU units)
_DEFINED = {
    ("foot", "m"): (0.3048, 0.0),
    ("inch", "m"): (0.0254, 0.0),
    ("yard", "m"): (0.9144, 0.0),
    ("foot", "inch"): (12.0, 0.0),
    ("inch**2", "m^2"): (0.00064516, 0.0),
    ("gram", "kg"): (1e-3, 0.0),
    ("milligram", "kg"): (1e-6, 0.0),
    ("pound", "kg"): (0.45359237, 0.0),
    ("ounce", "kg"): (0.028349523125, 0.0),
    ("kelvin", "degC"): (1.0, -273.15),
    ("percent", ""): (0.01, 0.0),
}
_TENS = {"": 0, "pico": -12, "nano": -9, "micro": -6, "milli": -3, "centi": -2, "kilo": 3, "mega": 6}  # of SI


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # here, because it takes longer to load than the rest of the package

    return pint.UnitRegistry()


@cache
def line(unit: str, to: str) -> tuple[float, float]:
    """The straight line that leads from one unit to another.

    Parameters
    ----------
    unit, to : str
        By pint's names.

    Returns
    -------
    tuple of (float, float)
        Slope, `to` for each `unit`; and where `unit` has its zero, in `to`.
    """
    if unit == to or (unit, to) in _DEFINED:
        return _DEFINED.get((unit, to), (1.0, 0.0))
    own = _OWN.get(to, "")
    for prefix, tens in _TENS.items():
        if unit == prefix + own:
            return float(f"1e{2 * tens if own.endswith('**2') else tens}"), 0.0
    quantity = _registry().Quantity
    zero = float(quantity(0.0, unit).m_as(to))
    slope = float(quantity(1.0, unit).m_as(to)) - zero
    return float(f"{slope:.15g}"), zero  # pint multiplies in steps: its foot is 0.30479999999999996 m


def convert(number: float, unit: str, to: str) -> float:
    """A number of one unit in another, as a person would round it.

    Parameters
    ----------
    number : float
        In `unit`.
    unit, to : str
        By pint's names.

    Returns
    -------
    float
        In `to`.
    """
    slope, zero = line(unit, to)
    # 68 °F is to be 20 °C, and absolute zero in °F not below itself
    return round(number * slope + zero, 9) if zero else number * slope


def to_spelling(value: float, spelling: str, kind: QuantityKind) -> float:
    """From the unit of a kind to another of its units.

    Parameters
    ----------
    value : float
        In `kind.unit`.
    spelling : str
        One of `kind.spellings`.
    kind : QuantityKind
        What it is.

    Returns
    -------
    float
        In the unit of `spelling`.
    """
    slope, zero = line(kind.spellings[spelling], kind.unit)
    return (value - zero) / slope


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
    >>> from wirecalc.units import AREA
    >>> quantity(2.5e-6, AREA).to("mm^2").round(3)
    <Quantity(2.5, 'millimeter ** 2')>
    """
    import pint

    return pint.Quantity(value, kind.unit)
