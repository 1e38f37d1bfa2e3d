"""One conductor: from its size, metal and stranding to ohm per metre, diameter and mass.

AWG by the formula of ASTM B258; metric sizes by the resistance tables of IEC 60228 and ISO 6722-1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.as_sold import ISO, SOLD, STANDARDS, SoldSize, numbers_of, show_size

Array = NDArray[np.float64]
MetricTable = Literal["IEC 60228 class 2", "IEC 60228 class 5", "ISO 6722-1"]

AWG_THICKEST, AWG_THINNEST = -3, 40  # 4/0 is -3; the formula's own range ends at 56, cable stops at 40
REFERENCE_C = 20.0  # every table's resistance is at this temperature (IEC 60028)
COLDEST_C, HOTTEST_C = -60.0, 250.0  # where the straight line in temperature is used


@dataclass(frozen=True, kw_only=True)
class Metal:
    """What a conductor is made of, at 20 degC."""

    key: str
    name: str
    ohm_m_20c: float
    """Resistivity. [ohm m]"""
    per_k_20c: float
    """Temperature coefficient of resistance. [1/K]"""
    kg_per_m3: float
    """Density. [kg/m^3]"""
    j_per_m3_k: float = 2.5e6
    """Heat that warms it by 1 K, by volume; that of aluminium, which warms quickest, if not given. [J/(m^3 K)]"""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Heat capacity", self.j_per_m3_k, "J/(m³ K)", low=1e6, high=1e7)
        check("Resistivity", self.ohm_m_20c, "ohm m", low=1e-9, high=1e-5, hint="Was it in ohm mm²/m?")
        check("Temperature coefficient", self.per_k_20c, "1/K", low=0, high=0.01)
        check("Density", self.kg_per_m3, "kg/m³", low=1000, high=25000)


@dataclass(frozen=True, kw_only=True)
class Stranding:
    """How a conductor is laid up of strands."""

    key: str
    name: str
    lay_factor: float
    """Length of a strand over the length of the cable. [-]"""
    fill: float
    """Metal in the circle around the strands. [-]"""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Lay factor", self.lay_factor, "", low=1.0, high=1.2)
        check("Fill", self.fill, "", low=0, high=1, above=True)


METALS = tables.keyed(
    "metals",
    Metal,
    ohm_m_20c="resistivity_ohm_m_20c",
    per_k_20c="temperature_coefficient_per_k_20c",
    kg_per_m3="density_kg_m3",
    j_per_m3_k="heat_capacity_j_per_m3_k",
)
STRANDINGS = tables.keyed("strandings", Stranding)
COPPER = METALS["copper"]
STRANDED = STRANDINGS["stranded"]
_METRIC: dict[tuple[str, str, float], float] = {
    (row["table"], row["coating"], row["area_mm2"]): row["max_ohm_per_km_20c"]
    for row in tables.rows("metric_conductors")
}


def awg_diameter_m(awg: ArrayLike) -> Array:
    """Diameter of a solid wire of an American wire gauge size.

    Parameters
    ----------
    awg : (...,) array_like
        Whole or fractional; 0 is 1/0, -3 is 4/0. [-3 to 40]

    Returns
    -------
    (...,) numpy.ndarray
        [m]

    Raises
    ------
    InputError
        If any size is outside 4/0 to 40.

    References
    ----------
    .. [1] ASTM B258: 0.127 mm x 92**((36 - n)/39), 36 AWG being 0.005 in and 4/0 being 0.46 in.

    Examples
    --------
    >>> float((awg_diameter_m(12) * 1e3).round(4))
    2.0525
    """
    awg = check("Size", awg, "AWG", low=AWG_THICKEST, high=AWG_THINNEST, hint="4/0 counts as -3, 1/0 as 0.")
    return np.asarray(0.127e-3 * 92.0 ** ((36.0 - awg) / 39.0))


def awg_area_m2(awg: ArrayLike) -> Array:
    """Metal cross-section of an American wire gauge size. [m^2] See `awg_diameter_m`.

    Examples
    --------
    >>> float((awg_area_m2([0, 12]) * 1e6).round(3)[1])
    3.309
    """
    return np.pi / 4 * awg_diameter_m(awg) ** 2


def log_area(system: str, number: float) -> float:
    """The logarithm of a size's metal: sizes in even steps, for what lays them along a line.

    Parameters
    ----------
    system : str
        "AWG", "mm2", "ISO" or a type of `wirecalc.wire.as_sold`.
    number : float
        Gauge number, 0 is 1/0; or area. [AWG or mm^2]

    Returns
    -------
    float
        Of the area in m^2.

    Examples
    --------
    >>> log_area("AWG", 12.0) < log_area("mm2", 4.0) < log_area("AWG", 10.0)
    True
    """
    if (system, number) in SOLD:
        return math.log(SOLD[system, number].area_m2)
    return math.log(float(awg_area_m2(number)) if system == "AWG" else number * 1e-6)


def gauge(area_m2: ArrayLike) -> Array:
    """Fractional American wire gauge number of a metal cross-section; also past the ends of the table. [AWG]

    Raises
    ------
    InputError
        If an area is not above 0.

    Examples
    --------
    >>> float(gauge(0.823e-6).round(2))
    18.0
    """
    area_m2 = check("Cross-section", area_m2, "m²", low=0, above=True)
    return np.asarray(36.0 - 39.0 * np.log(np.sqrt(4 / np.pi * area_m2) / 0.127e-3) / math.log(92.0))  # ASTM B258


@takes_units
def ohm_per_metre(
    area_m2: ArrayLike, temperature_c: ArrayLike = REFERENCE_C, metal: Metal = COPPER, lay_factor: float = 1.0
) -> Array:
    """DC resistance of one conductor from its cross-section, per metre of cable.

    Parameters
    ----------
    area_m2 : (...,) array_like
        Metal cross-section, all strands together, above 0. [m^2]
    temperature_c : (...,) array_like
        Of the conductor, not of the air; broadcasts with `area_m2`. [degC]
    metal : Metal
        What it is made of.
    lay_factor : float
        Length of a strand over the length of the cable.

    Returns
    -------
    (...,) numpy.ndarray
        One conductor, one way. [ohm/m]

    Raises
    ------
    InputError
        If any area is not above 0 or any temperature is out of range.

    Examples
    --------
    >>> float(ohm_per_metre(1e-6).round(6))
    0.017241
    """
    area_m2 = check("Cross-section", area_m2, "m²", low=0, above=True)
    return at_temperature(metal.ohm_m_20c * lay_factor / area_m2, temperature_c, metal)


@takes_units
def at_temperature(ohm_20c: ArrayLike, temperature_c: ArrayLike, metal: Metal = COPPER) -> Array:
    """Resistance at a temperature from the resistance at 20 degC.

    Parameters
    ----------
    ohm_20c : (...,) array_like
        Any resistance of this metal at 20 degC.
    temperature_c : (...,) array_like
        Of the conductor. [degC]
    metal : Metal
        Gives the temperature coefficient.

    Returns
    -------
    (...,) numpy.ndarray
        In the unit of `ohm_20c`.

    Raises
    ------
    InputError
        If a temperature is outside -60 to 250 degC, or a resistance is out of range.

    Notes
    -----
    ``1 + alpha20 (T - 20)`` [1]_: a straight line, taken from -60 to 250 degC, the deepest frost to the hottest
    insulation. Copper is within 2 % of it there (a handbook's resistivities, from memory); hotter, it curves upward.

    References
    ----------
    .. [1] IEC 60028; the value of alpha20 stands with each metal in data/metals.csv.

    Examples
    --------
    >>> float(at_temperature(5.2108, 75).round(4))     # 12 AWG, ohm/km
    6.3371
    """
    temperature_c = check("Conductor temperature", temperature_c, "°C", low=COLDEST_C, high=HOTTEST_C)
    return check("Resistance at 20 °C", ohm_20c, "ohm", low=0) * (1.0 + metal.per_k_20c * (temperature_c - REFERENCE_C))


@dataclass(frozen=True, kw_only=True)
class Conductor:
    """One conductor as it is on the spool. Made by `awg`, `metric` or `conductor`."""

    label: str
    """As the trade writes it: "12 AWG", "0.75 mm²"."""
    area_m2: float
    """Metal cross-section, nominal. [m^2]"""
    ohm_per_m_20c: float
    """One way, at 20 degC. [ohm/m]"""
    metal: Metal
    stranding: Stranding
    source: str
    """Where the resistance is from."""

    def __post_init__(self) -> None:
        check("Cross-section", self.area_m2, "m²", low=0, above=True)
        check("Resistance per metre", self.ohm_per_m_20c, "ohm/m", low=0, above=True)

    @property
    def diameter_m(self) -> float:
        """Over the metal, strands and the gaps between them included. [m]"""
        return 2 * math.sqrt(self.area_m2 / self.stranding.fill / math.pi)

    @property
    def kg_per_m(self) -> float:
        """Mass of the metal, lay included. [kg/m]"""
        return self.area_m2 * self.stranding.lay_factor * self.metal.kg_per_m3


def awg(number: float, metal: Metal = COPPER, stranding: Stranding = STRANDED) -> Conductor:
    """A conductor of an American wire gauge size: 0 is 1/0, -3 is 4/0; fractional sizes too.

    Parameters
    ----------
    number : float
        12 for 12 AWG. [-3 to 40]
    metal : Metal
        See `METALS`.
    stranding : Stranding
        See `STRANDINGS`.

    Returns
    -------
    Conductor
        Its resistance by ASTM B258's area, resistivity and lay.

    Raises
    ------
    InputError
        If the size is outside 4/0 to 40.

    See Also
    --------
    metric : Of a standard metric size.
    """
    area_m2 = float(awg_area_m2(number))
    return Conductor(
        label=awg_label(number),
        area_m2=area_m2,
        ohm_per_m_20c=metal.ohm_m_20c * stranding.lay_factor / area_m2,
        metal=metal,
        stranding=stranding,
        source=f"area: ASTM B258 formula; resistivity: {metal.source}; lay: {stranding.source}",
    )


def awg_label(number: float) -> str:
    """The trade's way to write a gauge number: 12 -> "12 AWG", -1 -> "2/0 AWG"."""
    if number <= 0 and number == round(number):
        return f"{1 - round(number)}/0 AWG"
    return f"{number:g} AWG"


@takes_units
def metric(
    area_mm2: float,
    metal: Metal = COPPER,
    stranding: Stranding = STRANDED,
    table: MetricTable = "IEC 60228 class 5",
) -> Conductor:
    """A conductor of a standard metric size, at the table's largest allowed resistance.

    The tables give copper, lay included; for another metal the resistance is in proportion to resistivity,
    and for solid wire (which the tables of stranded classes do not hold) it follows from the nominal area.

    Parameters
    ----------
    area_mm2 : float
        Nominal cross-section; must be in the table. [mm^2]
    metal : Metal
        Tinned copper is looked up in its own column where the table has one.
    stranding : Stranding
        Sets the diameter and the mass.
    table : str
        "IEC 60228 class 5" (flexible), "IEC 60228 class 2" (stranded) or "ISO 6722-1" (road vehicles).

    Returns
    -------
    Conductor
        At the table's largest allowed resistance.

    Raises
    ------
    InputError
        If the size is not in the table; the message lists the nearest ones.

    See Also
    --------
    awg : Of a gauge size.
    """
    sizes = metric_sizes_mm2(table)
    if not sizes:
        raise InputError("Table of metric sizes", table, ", ".join(get_args(MetricTable)))
    if area_mm2 not in sizes:
        near = sorted(sizes, key=lambda size: abs(math.log(size / area_mm2)) if area_mm2 > 0 else size)[:3]
        allowed = f"a size of {table}: {', '.join(f'{size:g}' for size in sizes)} mm²"
        hint = f"Nearest: {', '.join(f'{size:g}' for size in sorted(near))} mm²."
        raise InputError("Size", f"{area_mm2:g} mm²", allowed, hint)
    area_m2 = area_mm2 * 1e-6
    tinned = _METRIC.get((table, "tinned", area_mm2)) if metal.key == "tinned_copper" else None
    if stranding.key == "solid":
        ohm_per_m, source = metal.ohm_m_20c / area_m2, f"nominal area; resistivity: {metal.source}"
    elif tinned is not None:
        ohm_per_m, source = tinned * 1e-3, f"largest allowed resistance: {table}, tinned"
    else:
        ohm_per_m = _METRIC[table, "plain", area_mm2] * 1e-3 * metal.ohm_m_20c / COPPER.ohm_m_20c
        source = f"largest allowed resistance: {table}, plain"
        if metal != COPPER:
            source += f"; times the ratio of resistivities: {metal.source}"
    return Conductor(
        label=f"{area_mm2:g} mm²",
        area_m2=area_m2,
        ohm_per_m_20c=ohm_per_m,
        metal=metal,
        stranding=stranding,
        source=source,
    )


def metric_sizes_mm2(table: MetricTable = "IEC 60228 class 5") -> tuple[float, ...]:
    """The nominal sizes that a table holds, thin to thick. [mm^2]"""
    return tuple(sorted({area for name, _, area in _METRIC if name == table}))


@takes_units
def ohms_per_metre(conductors: Sequence[Conductor], temperature_c: ArrayLike = REFERENCE_C) -> Array:
    """Resistance of each of n conductors, one way, at temperatures they share.

    Parameters
    ----------
    conductors : sequence of n Conductor
    temperature_c : (...,) array_like
        [degC]

    Returns
    -------
    (n, ...) numpy.ndarray
        [ohm/m]
    """
    warmth = {
        metal: at_temperature(1.0, temperature_c, metal) for metal in {conductor.metal for conductor in conductors}
    }
    return np.array([conductor.ohm_per_m_20c * warmth[conductor.metal] for conductor in conductors])


@lru_cache(maxsize=4096)
def conductor(
    system: str,
    number: float,
    metal: Metal = COPPER,
    stranding: Stranding = STRANDED,
    table: MetricTable = "IEC 60228 class 5",
) -> Conductor:
    """A conductor of a size as `wirecalc.wire.bought.read_size` returns it.

    Parameters
    ----------
    system : str
        How the size is counted: "AWG", "mm2", "ISO", or a type of `wirecalc.wire.as_sold`, such as "SAE" or "FLRY-B".
    number : float
        A gauge number, or an area. [mm^2]
    metal : Metal
        See `METALS`.
    stranding : Stranding
        See `STRANDINGS`.
    table : str
        Of a metric size; see `metric`.

    Returns
    -------
    Conductor
        Of that size.

    Raises
    ------
    InputError
        If the system is neither, or there is no such size.

    See Also
    --------
    awg, metric : Of one system.
    """
    if system == "AWG":
        return awg(number, metal, stranding)
    if system == "mm2":
        return metric(number, metal, stranding, table)
    if system == ISO:
        return replace(metric(number, metal, stranding, "ISO 6722-1"), label=show_size(system, number))
    if (system, number) in SOLD:
        return _sold(SOLD[system, number], metal)
    if system in STANDARDS:
        allowed = ", ".join(show_size(system, number) for number in numbers_of(system))
        raise InputError("Size", show_size(system, number), f"a size of {STANDARDS[system]}: {allowed}")
    raise InputError("Size", system, "AWG or mm2")


def _sold(sold: SoldSize, metal: Metal) -> Conductor:
    """A wire of the largest resistance that its standard allows; where it gives metal only, of that and the lay."""
    ohm_per_m = sold.most_ohm_per_m_20c
    source = sold.source
    if math.isnan(ohm_per_m):
        ohm_per_m = COPPER.ohm_m_20c * STRANDED.lay_factor / sold.area_m2
        source += f"; resistivity: {COPPER.source}; lay: {STRANDED.source}"
    if metal != COPPER:
        ohm_per_m *= metal.ohm_m_20c / COPPER.ohm_m_20c
        source += f"; times the ratio of resistivities: {metal.source}"
    return Conductor(
        label=sold.label, area_m2=sold.area_m2, ohm_per_m_20c=ohm_per_m, metal=metal, stranding=STRANDED, source=source
    )
