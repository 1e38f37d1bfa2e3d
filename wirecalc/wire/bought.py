"""Wire as shops buy it, by the names of open standards, and what "4 ga" may mean."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from wirecalc import tables
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS, STRANDED, Conductor, awg
from wirecalc.wire.insulation import INSULATIONS, Insulation

_GAUGE = re.compile(r"\s*(?:(\d)/0|(\d{1,2}))\s*(?:ga|gauge|g|gge)\.?\s*", re.IGNORECASE)
_ZEROES = {0: "1/0", -1: "2/0", -2: "3/0", -3: "4/0"}


@dataclass(frozen=True, kw_only=True)
class BoughtWire:
    """One size of a type of wire."""

    key: str
    standard: str
    """ "SAE J1128"."""
    type: str
    """ "GPT"."""
    size: str
    """As it is printed: "4 SAE", "2.5 mm²"."""
    conductor: Conductor
    insulation: Insulation
    """With the conductor's limit of this type."""
    outer_m: float
    """Over the insulation; nan where the standard does not say. [m]"""
    source: str
    confidence: str

    @property
    def name(self) -> str:
        """ "4 SAE SGT (SAE J1127)"."""
        return f"{self.size} {self.type} ({self.standard})"


def _wire(row: dict[str, str | float]) -> BoughtWire:
    def number(column: str) -> float:
        return float(row[column] if row[column] != "" else math.nan)

    metal = METALS[str(row["metal"])]
    area_m2 = number("area_mm2") * 1e-6
    most = number("max_mohm_per_m_20c") * 1e-3
    ohm = metal.ohm_m_20c * STRANDED.lay_factor / area_m2 if math.isnan(most) else most
    usual = INSULATIONS[str(row["insulation"])]
    limit_c = min(number("limit_c"), usual.damage_c)
    return BoughtWire(
        key=str(row["key"]),
        standard=str(row["standard"]),
        type=str(row["type"]),
        size=str(row["size"]),
        conductor=Conductor(
            label=str(row["size"]), area_m2=area_m2, ohm_per_m_20c=ohm, metal=metal, stranding=STRANDED,
            source=str(row["source"]),
        ),
        insulation=usual if limit_c == usual.limit_c else replace(usual, limit_c=limit_c),
        outer_m=number("outer_mm") * 1e-3,
        source=str(row["source"]),
        confidence=str(row["confidence"]),
    )  # fmt: skip


BOUGHT: dict[str, BoughtWire] = {str(row["key"]): _wire(row) for row in tables.rows("bought_conductors")}  # type: ignore[arg-type]
"""By key; see data/bought_conductors.csv."""


def types() -> tuple[tuple[str, str], ...]:
    """Every standard and type that there are sizes of, in the order of the table."""
    return tuple(dict.fromkeys((wire.standard, wire.type) for wire in BOUGHT.values()))


def sizes_of(standard: str, type_: str) -> tuple[BoughtWire, ...]:
    """All sizes of a type, least metal first.

    Parameters
    ----------
    standard, type_ : str
        As `types` has them: "SAE J1127" and "SGT".

    Returns
    -------
    tuple of BoughtWire
        At least one.

    Raises
    ------
    InputError
        If there is no such type.
    """
    found = [wire for wire in BOUGHT.values() if (wire.standard, wire.type) == (standard, type_)]
    if not found:
        raise InputError("Type of wire", f"{standard} {type_}", ", ".join(" ".join(each) for each in types()))
    return tuple(sorted(found, key=lambda wire: wire.conductor.area_m2))


def _sae(label: str) -> Iterator[Conductor]:
    for wire in BOUGHT.values():
        if wire.standard.startswith("SAE") and wire.size == f"{label} SAE":
            yield wire.conductor


def meanings(text: str) -> tuple[Conductor, ...]:
    """What a size that is typed as a bare gauge may be: AWG, and SAE, which has less metal.

    Parameters
    ----------
    text : str
        "4 ga", "1/0 gauge", "14g".

    Returns
    -------
    tuple of Conductor
        AWG first; one alone where SAE has no such size; none where the text is no bare gauge.

    Examples
    --------
    >>> [one.label for one in meanings("4 ga")], meanings("4 AWG")
    (['4 AWG', '4 SAE'], ())
    """
    match = _GAUGE.fullmatch(text)
    if match is None:
        return ()
    number = 1 - int(match[1]) if match[1] else int(match[2])
    if not -3 <= number <= 40:
        return ()
    label = _ZEROES.get(number, f"{number}")
    return (awg(number), *list(_sae(label))[:1])


def asked_back(text: str) -> str:
    """What to ask of a size typed as a bare gauge; empty where it can mean one thing only.

    Examples
    --------
    >>> asked_back("4 ga")
    '“4 ga”: AWG or SAE? 4 AWG has 21.15 mm², 4 SAE 18.93 mm², 10 % less.'
    """
    found = meanings(text)
    if len(found) < 2:
        return ""
    first, second = found[:2]
    less = 100 * (1 - second.area_m2 / first.area_m2)
    return (
        f"“{text.strip()}”: AWG or SAE? {first.label} has {first.area_m2 * 1e6:.4g} mm², {second.label}"
        f" {second.area_m2 * 1e6:.4g} mm², {less:.0f} % less."
    )
