"""The door: what a person types, or a pint quantity, becomes a float; a float becomes what a person reads."""

from wirecalc.units.convert import quantity
from wirecalc.units.kinds import (
    ABSOLUTE_ZERO_DEGC,
    AREA,
    CAPACITANCE,
    COUNT,
    CURRENT,
    FREQUENCY,
    INDUCTANCE,
    LENGTH,
    LEVEL,
    MASS,
    NUMBER,
    POWER,
    RATIO,
    RESISTANCE,
    TEMPERATURE,
    VOLTAGE,
    QuantityKind,
)
from wirecalc.units.reader import LONGEST_TEXT, read
from wirecalc.units.sizes import AREA_MM2_HIGH, AREA_MM2_LOW, AWG_HIGH, AWG_LOW, read_standard_size, show_standard_size
from wirecalc.units.writer import NO_VALUE, show

__all__ = [
    "ABSOLUTE_ZERO_DEGC",
    "AREA",
    "AREA_MM2_HIGH",
    "AREA_MM2_LOW",
    "AWG_HIGH",
    "AWG_LOW",
    "CAPACITANCE",
    "COUNT",
    "CURRENT",
    "FREQUENCY",
    "INDUCTANCE",
    "LENGTH",
    "LEVEL",
    "LONGEST_TEXT",
    "MASS",
    "NO_VALUE",
    "NUMBER",
    "POWER",
    "RATIO",
    "RESISTANCE",
    "TEMPERATURE",
    "VOLTAGE",
    "QuantityKind",
    "quantity",
    "read",
    "read_standard_size",
    "show",
    "show_standard_size",
]
