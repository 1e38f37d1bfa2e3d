"""The kinds of quantity that can be typed and shown, and how their units may be spelled."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from wirecalc.english import with_article

ABSOLUTE_ZERO_DEGC = -273.15  # exact, by the definition of the degree Celsius (SI brochure; from memory)


@dataclass(frozen=True, kw_only=True)
class QuantityKind:
    """A kind of quantity that can be typed and shown.

    Attributes
    ----------
    name : str
        As a person says it.
    unit : str
        Of the floats on the inner side of the door, as pint writes it; empty for a plain number.
    example : str
        One or two entries that `read` accepts, for messages.
    spellings : mapping of str to str
        What may be typed -> pint's name of that unit. "" stands for a number without unit.
    shown : tuple of (float, str)
        The spelling that `show` uses from this size up, in `unit`; ascending from 0.
    floor : float
        Nothing lower exists. In `unit`.
    whole : bool
        Only whole numbers exist.
    follows : str
        A word that may follow and changes nothing: "rms" after watts.

    Raises
    ------
    ValueError
        If `shown` does not start at 0, does not ascend, or uses an unknown spelling.
    """

    name: str
    unit: str
    example: str
    spellings: Mapping[str, str] = field(hash=False)
    shown: tuple[tuple[float, str], ...]
    floor: float = -math.inf
    whole: bool = False
    follows: str = ""

    def __post_init__(self) -> None:
        starts = [start for start, _ in self.shown]
        known = all(spelling in self.spellings for _, spelling in self.shown)
        if starts[:1] != [0] or starts != sorted(starts) or not known:
            raise ValueError(f"{self.name}: shown must ascend from 0 in known spellings, not {self.shown}")

    def __str__(self) -> str:
        return with_article(self.name)

    @property
    def allowed(self) -> str:
        """What may be entered: "a level in dB"; one spelling of each unit."""
        first = {name: spelling for spelling, name in reversed(list(self.spellings.items()))}
        units = ", ".join(spelling for spelling in reversed(list(first.values())) if spelling)
        return f"{self} in {units}" if units else str(self)


def _spell(words: Mapping[str, str]) -> dict[str, str]:
    """Spellings by pint's name, space between them and "_" for a space inside one -> name by spelling."""
    return {word.replace("_", " "): name for name, line in words.items() for word in line.split()}


LENGTH: Final = QuantityKind(
    name="length",
    unit="m",
    example="5.5 m or 18 ft 6 in",
    spellings=_spell(
        {
            "meter": "m meter meters metre metres",
            "foot": "ft foot feet '",
            "inch": 'in inch inches "',
            "centimeter": "cm centimeter centimeters centimetre centimetres",
            "millimeter": "mm MM millimeter millimeters millimetre millimetres",
            "yard": "yd yard yards",
            "kilometer": "km kilometer kilometers kilometre kilometres",
        }
    ),
    shown=((0, "mm"), (0.1, "m")),
)
AREA: Final = QuantityKind(
    name="area",
    unit="m^2",
    example="4 mm2",
    spellings=_spell(
        {
            "millimeter**2": "mm2 mm² mm^2 sq_mm MM2 MM² MM^2",
            "kcmil": "kcmil MCM",
            "cmil": "cmil",
            "inch**2": "in2 in² in^2 sq_in",
            "centimeter**2": "cm2 cm² cm^2 sq_cm",
            "meter**2": "m2 m² m^2 sq_m",
        }
    ),
    shown=((0, "mm²"),),
)
POWER: Final = QuantityKind(
    name="power",
    unit="W",
    example="100 W",
    spellings=_spell({"watt": "W watt watts", "milliwatt": "mW milliwatt milliwatts", "kilowatt": "kW"}),
    shown=((0, "mW"), (0.1, "W")),
    follows="rms",
)
RESISTANCE: Final = QuantityKind(
    name="resistance",
    unit="ohm",
    example="4 ohm or 255 mohm",
    spellings=_spell(
        {
            "ohm": "ohm Ω ohms R",
            "milliohm": "mohm mΩ mohms milliohm milliohms",
            "kiloohm": "kohm kΩ kohms kiloohm kiloohms kilohm kilohms",
        }
    ),
    shown=((0, "mΩ"), (1, "Ω"), (1e3, "kΩ")),
)
VOLTAGE: Final = QuantityKind(
    name="voltage",
    unit="V",
    example="14.4 V",
    spellings=_spell({"volt": "V volt volts VDC", "millivolt": "mV millivolt millivolts"}),
    shown=((0, "mV"), (0.1, "V")),
)
CURRENT: Final = QuantityKind(
    name="current",
    unit="A",
    example="30 A",
    spellings=_spell(
        {
            "ampere": "A amp amps ampere amperes",
            "milliampere": "mA milliamp milliamps milliampere milliamperes",
        }
    ),
    shown=((0, "mA"), (0.1, "A")),
)
TEMPERATURE: Final = QuantityKind(
    name="temperature",
    unit="degC",
    example="20 °C or 68 °F",
    spellings=_spell(
        {
            "degree_Celsius": "°C degC C deg_C degrees_C °_C Celsius degrees_Celsius",
            "degree_Fahrenheit": "°F degF F deg_F degrees_F °_F Fahrenheit degrees_Fahrenheit",
            "kelvin": "K kelvin kelvins",
        }
    ),
    shown=((0, "°C"),),
    floor=ABSOLUTE_ZERO_DEGC,
)
FREQUENCY: Final = QuantityKind(
    name="frequency",
    unit="Hz",
    example="1 kHz",
    spellings=_spell({"hertz": "Hz hertz", "kilohertz": "kHz kilohertz", "megahertz": "MHz megahertz"}),
    shown=((0, "Hz"), (1e3, "kHz")),
)
INDUCTANCE: Final = QuantityKind(
    name="inductance",
    unit="H",
    example="250 uH",
    spellings=_spell(
        {
            "microhenry": "uH µH microhenry microhenries",
            "millihenry": "mH millihenry millihenries",
            "nanohenry": "nH nanohenry nanohenries",
            "henry": "H henry henries",
        }
    ),
    shown=((0, "nH"), (1e-6, "µH"), (1e-3, "mH"), (1, "H")),
)
CAPACITANCE: Final = QuantityKind(  # no mF: on older parts it means microfarad
    name="capacitance",
    unit="F",
    example="100 pF",
    spellings=_spell(
        {
            "picofarad": "pF picofarad picofarads",
            "nanofarad": "nF nanofarad nanofarads",
            "microfarad": "uF µF microfarad microfarads",
            "farad": "F farad farads",
        }
    ),
    shown=((0, "pF"), (1e-9, "nF"), (1e-6, "µF"), (0.1, "F")),
)
MASS: Final = QuantityKind(
    name="mass",
    unit="kg",
    example="1.2 kg or 2 lb",
    spellings=_spell(
        {
            "kilogram": "kg kilogram kilograms",
            "gram": "g gram grams",
            "pound": "lb lbs pound pounds",
            "ounce": "oz ounce ounces",
            "milligram": "mg milligram milligrams",
        }
    ),
    shown=((0, "g"), (1, "kg")),
)
RATIO: Final = QuantityKind(
    name="ratio",
    unit="",
    example="0.05 or 5 %",
    spellings={"%": "percent", "percent": "percent", "": "dimensionless"},
    shown=((0, "%"),),
)
LEVEL: Final = QuantityKind(name="level", unit="dB", example="0.5 dB", spellings={"dB": "decibel"}, shown=((0, "dB"),))
NUMBER: Final = QuantityKind(
    name="plain number", unit="", example="4", spellings={"": "dimensionless"}, shown=((0, ""),)
)
COUNT: Final = QuantityKind(
    name="whole number", unit="", example="4", spellings={"": "dimensionless"}, shown=((0, ""),), whole=True
)
WITH_UNIT = (
    LENGTH, AREA, POWER, RESISTANCE, VOLTAGE, CURRENT, TEMPERATURE, FREQUENCY, INDUCTANCE, CAPACITANCE, MASS,
    RATIO, LEVEL,
)  # fmt: skip
