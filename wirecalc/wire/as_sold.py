"""Sizes of wire as shops sell them, by the names of open standards: what is printed on the wire, and its metal.

A size is a system and a number, as everywhere: ("AWG", 4.0), ("mm2", 0.5), and here ("SAE", 4.0), ("TXL", 12.0),
("FLRY-B", 0.5), ("AVSS", 0.85). What is sold by a gauge without a type is ("SAE", 4.0): its metal is known, its
insulation is not.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables, units
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units

Size = tuple[str, float]
SAE, ISO = "SAE", "ISO"
"""Systems without a type: sizes of SAE J1127 and J1128, and of ISO 6722-1."""
_AWG_ALONE = "ASTM B258"  # full AWG wire, which `wirecalc.wire.conductor.awg` makes of any metal
_AUDIO = "audio power wire, "


@dataclass(frozen=True, kw_only=True)
class SoldSize:
    """One size of one type of wire, a row of data/bought_conductors.csv."""

    key: str
    standard: str
    """ "SAE J1128"."""
    system: str
    """Its type: "GPT", "FLRY-B", "thin grade"."""
    number: float
    """Gauge number, 0 is 1/0; or nominal area. [AWG or mm^2]"""
    label: str
    """As it is printed: "4 SAE SGT", "2.5 mm² FLRY-B"."""
    area_m2: float
    """Metal. [m^2]"""
    most_ohm_per_m_20c: float
    """Largest that the standard allows; nan where it gives metal only. [ohm/m]"""
    outer_m: float
    """Over the insulation; nan where it is not known. [m]"""
    insulation: str
    """Key of `wirecalc.wire.insulation.INSULATIONS`; empty where no type is named."""
    strands: tuple[int, float] | None
    """How many, and the diameter of one. [m]"""
    source: str
    confidence: str


def _number(printed: str) -> float:
    """ "4 SAE", "1/0 ga", "0.5f mm²" -> 4, 0, 0.5."""
    first = printed.split()[0].removesuffix("f")
    return 1.0 - int(first[0]) if first.endswith("/0") else float(first)


def gauge_label(number: float) -> str:
    """A whole gauge number as the trade writes it: 12 -> "12", -1 -> "2/0"."""
    return f"{1 - round(number)}/0" if number <= 0 else f"{number:g}"


def _sizes() -> dict[Size, SoldSize]:
    sizes: dict[Size, SoldSize] = {}
    for row in tables.rows("bought_conductors"):
        standard, printed = str(row["standard"]), str(row["size"])
        if standard == _AWG_ALONE:
            continue
        fine = str(row["type"]) == "AV" and printed.split()[0].endswith("f")  # 0.5 and 0.5f are two of its sizes
        system = str(row["type"]).removeprefix(_AUDIO) + (" f" if fine else "")
        strands = None if math.isnan(row["strands"]) else (int(row["strands"]), float(row["strand_mm"]) * 1e-3)
        sold = SoldSize(
            key=str(row["key"]), standard=standard, system=system, number=_number(printed),
            label=f"{printed} {system.removesuffix(' f')}", area_m2=float(row["area_mm2"]) * 1e-6,
            most_ohm_per_m_20c=float(row["max_mohm_per_m_20c"]) * 1e-3, outer_m=float(row["outer_mm"]) * 1e-3,
            insulation=str(row["insulation"]), strands=strands, source=str(row["source"]),
            confidence=str(row["confidence"]),
        )  # fmt: skip
        sizes[system, sold.number] = sold
        if standard.startswith(SAE) and (SAE, sold.number) not in sizes:
            sizes[SAE, sold.number] = replace(sold, system=SAE, label=printed, insulation="", outer_m=math.nan)
    return sizes


SOLD = _sizes()
"""Every size of every type, in the order of the table."""
STANDARDS: dict[str, str] = {
    SAE: "SAE J1127 and J1128",
    **{sold.system: sold.standard for sold in SOLD.values() if sold.system != SAE},
}
"""The standard of each system that has sizes in `SOLD`."""


def numbers_of(system: str) -> tuple[float, ...]:
    """The sizes that a type is made in, least metal first; none for a system that is not in `SOLD`.

    Examples
    --------
    >>> numbers_of("AVSS")
    (0.3, 0.5, 0.85, 1.25, 2.0)
    """
    own = sorted((sold.area_m2, number) for (name, number), sold in SOLD.items() if name == system)
    return tuple(number for _, number in own)


def by_gauge(system: str) -> bool:
    """Whether the sizes of a system are gauge numbers: AWG, SAE, and audio power wire sold as "4 ga"."""
    return system in ("AWG", SAE) or STANDARDS.get(system, "").startswith((SAE, "no standard"))


@takes_units
def ordinary_outer_m(area_m2: ArrayLike) -> NDArray[np.float64]:
    """Diameter over the insulation of ordinary primary wire and battery cable: SAE J1128 type GPT, J1127 type SGT.

    Parameters
    ----------
    area_m2 : (...,) array_like
        Metal of the conductor. [m^2]

    Returns
    -------
    (...,) numpy.ndarray
        Between two listed sizes along the root of the area; beyond them the ratio to that root stays. [m]

    Raises
    ------
    InputError
        If the area is none.
    """
    listed = sorted((sold.area_m2, sold.outer_m) for sold in SOLD.values() if sold.system in ("GPT", "SGT"))
    across, outer_m = np.sqrt([area for area, _ in listed]), np.array([outer for _, outer in listed])
    wanted = np.sqrt(check("Cross-section", area_m2, "m²", low=0, high=1))
    within = np.clip(wanted, across[0], across[-1])
    return np.asarray(np.interp(within, across, outer_m) * wanted / within)


def show_size(system: str, number: float) -> str:
    """The size of a conductor as a person reads it; the inverse of `wirecalc.wire.bought.read_size`.

    Parameters
    ----------
    system : str
        "AWG", "mm2", "ISO" or a system of `STANDARDS`.
    number : float
        Gauge number or area. [AWG or mm^2]

    Returns
    -------
    str

    Raises
    ------
    InputError
        If the system is none of these.

    Examples
    --------
    >>> show_size("TXL", 12), show_size("FLRY-B", 0.5), show_size("SAE", 0), show_size("AWG", 12)
    ('12 SAE TXL', '0.5 mm² FLRY-B', '1/0 SAE', '12 AWG')
    """
    if (system, number) in SOLD:
        return SOLD[system, number].label
    if system == ISO:
        return f"{units.show_standard_size('mm2', number)} ISO"
    if system not in STANDARDS:
        return units.show_standard_size(system, number)
    if by_gauge(system):
        unit = "ga" if system.endswith("grade") else SAE
        return f"{gauge_label(number)} {unit} {'' if system == SAE else system}".rstrip()
    return f"{number:g}{'f' if system.endswith(' f') else ''} mm² {system.removesuffix(' f')}"


def side_by_side(label: str, count: int) -> str:
    """Several conductors of one size as the trade writes them.

    Parameters
    ----------
    label : str
        Of one.
    count : int

    Returns
    -------
    str

    Examples
    --------
    >>> side_by_side("12 AWG", 1), side_by_side("12 AWG", 2)
    ('12 AWG', '2 × 12 AWG')
    """
    return f"{count} × {label}" if count > 1 else label


def system_name(system: str) -> str:
    """What a system is called in a list to choose from.

    Examples
    --------
    >>> system_name("TXL"), system_name("mm2"), system_name("thin grade")
    ('SAE TXL', 'metric IEC 60228', 'audio power wire, thin grade')
    """
    plain = {"AWG": "AWG", "mm2": "metric IEC 60228", ISO: "metric ISO 6722", SAE: "SAE, any type"}
    if system in plain:
        return plain[system]
    if system.endswith("grade"):
        return f"{_AUDIO}{system}"
    standard = STANDARDS[system]
    name = f"{system.removesuffix(' f')}, fine strands" if system.endswith(" f") else system
    return f"{standard.split()[0]} {name}"


SYSTEMS: tuple[str, ...] = ("AWG", SAE, "mm2", ISO, *(standard for standard in STANDARDS if standard != SAE))
"""Every way in which sizes are sold, for lists to choose from."""
