"""What a wire off the shelf may be: metals, sizes and strandings, and how likely each is before anything is read.

Every way a wire of the tables is made, with one more for wire that is on no table.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.bench.meter import LIMIT_TO_DEVIATION
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import ISO, STANDARDS
from wirecalc.wire.conductor import (
    COPPER,
    METALS,
    STRANDINGS,
    awg_area_m2,
    awg_diameter_m,
    conductor,
    metric_sizes_mm2,
)

Array = NDArray[np.float64]
Size = tuple[str, float]
"""As `wirecalc.units.read_standard_size` returns it."""

AWG_SIZES: tuple[Size, ...] = tuple(
    ("AWG", float(n)) for n in (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)
)
THIN = "thin grade"


class StandardStranding(NamedTuple):
    """A row of data/bought_strandings.csv."""

    label: str
    """ "0.5 mm² ISO 6722-1 type A"."""
    size: Size
    """An SAE wire is what the AWG wire of its number is, strand for strand; only its least metal is less."""
    strands: int
    strand_m: float


def _of_row(row: Mapping[Hashable, Any]) -> StandardStranding:
    number, unit = str(row["size"]).split()
    if unit == "mm²":
        size = ("mm2", float(number.removesuffix("f")))
    else:
        gauge = 1.0 - int(number[0]) if number.endswith("/0") else float(number)
        size = (THIN if str(row["type"]).endswith(THIN) else "AWG", gauge)
    return StandardStranding(str(row["label"]), size, int(row["strands"]), float(row["strand_mm"]) * 1e-3)


BOUGHT: tuple[StandardStranding, ...] = tuple(map(_of_row, tables.rows("bought_strandings")))
"""Strandings by which a wire's standard is known."""
METRIC_SIZES: tuple[Size, ...] = tuple(
    ("mm2", area)
    for area in sorted(
        {*metric_sizes_mm2("ISO 6722-1"), *metric_sizes_mm2("IEC 60228 class 5")}
        | {bought.size[1] for bought in BOUGHT if bought.size[0] == "mm2"}
    )
)
THIN_SIZES: tuple[Size, ...] = tuple(dict.fromkeys(bought.size for bought in BOUGHT if bought.size[0] == THIN))
SIZES = AWG_SIZES + METRIC_SIZES + THIN_SIZES
"""What a wire may be by the tables; one place more, the last, stands for a wire that is none of them."""
METAL_KEYS = tuple(METALS)
_METAL_ROWS = {str(row["metal"]): row for row in tables.rows("metals")}
GROUPS: Mapping[str, tuple[str, ...]] = {
    str(metal["alike"]): tuple(key for key, row in _METAL_ROWS.items() if row["alike"] == metal["alike"])
    for metal in _METAL_ROWS.values()
}
"""Metals that matter to an installer; the eye tells tin better than a meter does."""

# --- what is taken for likely before anything is read: common practice, no source, unless another is named ------------
_ALL_PRIORS = math.fsum(float(row["prior"]) for row in _METAL_ROWS.values())
METAL_PRIOR: Mapping[str, float] = {key: float(row["prior"]) / _ALL_PRIORS for key, row in _METAL_ROWS.items()}
OFF_TABLE_PRIOR = 0.07  # thin wire sold under a size that it is not
_SOLID, _PUBLISHED = 0.1, 0.7  # of a size's share: solid; the strandings in data/. The rest: any other stranding
_OFF_AREA_M2, _OFF_SPREAD = 4e-6, 2.0  # a wire off the tables: median area, and standard deviation of its logarithm
OWN_SPREAD = 0.05  # of the area, any other stranding
# a drawn wire's area against nominal, ASTM B3: within 2 %, from the table; limits, so a rectangle
KNOWN_SPREAD = LIMIT_TO_DEVIATION * float(tables.cell("tolerances", "spread", input="resistance_ratio"))
_LAY_SPREAD, _OTHER_LAY, _OTHER_LAY_SPREAD = 0.01, 1.03, 0.015
_SOLID_SPREAD = 1e-4  # a solid wire has no lay and no gaps; not 0, which nothing can be divided by
FINE_FROM = 50  # strands; fewer are laid concentrically, more bunched or roped
_FILL_SPREAD = 0.07
# as metals differ from lot to lot: resistivity, density
METAL_SPREAD: Mapping[str, tuple[float, float]] = {
    key: (float(row["resistivity_spread"]), float(row["density_spread"])) for key, row in _METAL_ROWS.items()
}
MOST_STRANDS = 10_000
_SAME_STRAND = 0.01  # strands of two tables whose diameters are as near are one
_USUAL_COUNT = 0.5  # of wire whose stranding is on no list, how much has a count that is on one


def size_area_m2(size: Size) -> float:
    """Nominal cross-section of a size. [m^2]

    Raises
    ------
    InputError
        If it is none.
    """
    system, number = size
    if system == "AWG":
        return float(awg_area_m2(number))
    if system == "mm2":
        return float(check("Size", number, "mm²", low=0, above=True)) * 1e-6
    if system == ISO or system in STANDARDS:
        return conductor(system, number).area_m2
    raise InputError("Size", system, "AWG or mm2")


class Makes(NamedTuple):
    """Every way, in order of size; the two off the tables last. (k,) each"""

    size: NDArray[np.intp]
    log_share: Array
    log_area: Array
    area_spread: Array
    log_lay: Array
    lay_spread: Array
    log_fill: Array
    fill_spread: Array
    strands: Array
    """nan: any number, from two."""


@cache
def makes() -> Makes:
    """Every way a wire may be made, with its share before anything is read."""
    stranded, fine = STRANDINGS["stranded"], STRANDINGS["fine"]
    any_fill = math.sqrt(stranded.fill * fine.fill)
    rows: list[tuple[float, ...]] = []

    def add(place: int, share: float, area_m2: float, spread: float, strands: float) -> None:
        if strands == 1:
            lay, lay_spread, fill, fill_spread = 1.0, _SOLID_SPREAD, 1.0, _SOLID_SPREAD
        elif math.isnan(strands):
            lay, lay_spread, fill, fill_spread = _OTHER_LAY, _OTHER_LAY_SPREAD, any_fill, _FILL_SPREAD
        else:
            made = fine if strands > FINE_FROM else stranded
            lay, lay_spread, fill, fill_spread = made.lay_factor, _LAY_SPREAD, made.fill, _FILL_SPREAD
        logs = [math.log(part) for part in (share, area_m2, lay, fill)]
        rows.append((place, logs[0], logs[1], spread, logs[2], lay_spread, logs[3], fill_spread, strands))

    each = (1 - OFF_TABLE_PRIOR) / len(SIZES)
    for place, size in enumerate(SIZES):
        nominal_m2, known = size_area_m2(size), published(size)
        add(place, each * _SOLID, nominal_m2, KNOWN_SPREAD, 1)
        for strands, strand_m in known:
            add(place, each * _PUBLISHED / len(known), strands * np.pi / 4 * strand_m**2, KNOWN_SPREAD, strands)
        add(place, each * (1 - _SOLID - (_PUBLISHED if known else 0)), nominal_m2, OWN_SPREAD, math.nan)
    add(len(SIZES), OFF_TABLE_PRIOR * _SOLID, _OFF_AREA_M2, _OFF_SPREAD, 1)
    add(len(SIZES), OFF_TABLE_PRIOR * (1 - _SOLID), _OFF_AREA_M2, _OFF_SPREAD, math.nan)
    place, *others = np.array(rows).T
    return Makes(place.astype(np.intp), *others)


@dataclass(frozen=True, kw_only=True)
class PublishedStranding:
    """A row of a table of strandings: the strand by its gauge or by its diameter."""

    size: float
    """In the gauge or the square millimetres of its table."""
    strands: int
    strand_awg: float = math.nan
    strand_mm: float = math.nan

    @property
    def strand_m(self) -> float:
        """Diameter of a strand. [m]"""
        return self.strand_mm * 1e-3 if math.isnan(self.strand_awg) else float(awg_diameter_m(self.strand_awg))


@cache
def published(size: Size) -> tuple[tuple[int, float], ...]:
    """Strand count and strand diameter of a size's strandings in data/. [m]"""
    strandings: list[tuple[int, float]] = []
    for strands, strand_m in (
        *_of_wire(size),
        *((bought.strands, bought.strand_m) for bought in BOUGHT if bought.size == size),
    ):
        if not any(strands == count and abs(strand_m / other_m - 1) < _SAME_STRAND for count, other_m in strandings):
            strandings.append((strands, strand_m))
    return tuple(strandings)


def _of_wire(size: Size) -> tuple[tuple[int, float], ...]:
    """The published strandings of a size, by the tables for wire in general."""
    if size[0] == THIN:
        return ()
    name = "awg_strandings" if size[0] == "AWG" else "iec60228_class5_strandings"
    rows = [row for row in tables.records(name, PublishedStranding, size="awg" if size[0] == "AWG" else "area_mm2")
            if row.size == size[1]]  # fmt: skip
    return tuple((row.strands, row.strand_m) for row in rows)


METAL_LOG_PRIOR = np.log([METAL_PRIOR[key] for key in METAL_KEYS])
LOG_RHO = np.log([METALS[key].ohm_m_20c for key in METAL_KEYS])
LOG_RHO_AS_COPPER = LOG_RHO - math.log(COPPER.ohm_m_20c)
LOG_DENSITY = np.log([METALS[key].kg_per_m3 for key in METAL_KEYS])
PER_K = np.array([METALS[key].per_k_20c for key in METAL_KEYS])
RHO_SPREAD, DENSITY_SPREAD = np.array([METAL_SPREAD[key] for key in METAL_KEYS]).T
COPPER_AT = METAL_KEYS.index("copper")
GROUP = np.array([next(i for i, keys in enumerate(GROUPS.values()) if key in keys) for key in METAL_KEYS])
IN_GROUP = np.eye(len(GROUPS))[GROUP]
_ANY_COUNT = 1 / sum(1 / n for n in range(2, MOST_STRANDS + 1))  # over n: any count, fewer are likelier


@cache
def _usual_counts() -> Array:
    """Share of each count among the listed strandings, by count: machines are set up for 7, 19, 37."""
    counts = [strands for size in SIZES for strands, _ in published(size)]
    return np.bincount(counts, minlength=MOST_STRANDS + 1) / len(counts)


def any_count(strands: ArrayLike) -> Array:
    """How likely a count is of wire whose stranding is on no list; a machine that lays 19 lays other 19s too.

    Parameters
    ----------
    strands : (...,) array_like
        Counted, to the nearest whole number; below 1.5 none: a solid wire is no stranding.

    Returns
    -------
    (...,) numpy.ndarray
        [0 to 1]
    """
    counted = np.asarray(strands, float)
    whole = np.clip(np.nan_to_num(np.rint(counted)), 0, MOST_STRANDS).astype(int)
    share = (1 - _USUAL_COUNT) * _ANY_COUNT / np.maximum(counted, 1.0) + _USUAL_COUNT * _usual_counts()[whole]
    return np.where(counted < 1.5, 0.0, share)
