"""What a wire may carry for ever: the published table with its factors, and never more than the heat balance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import COPPER, HOTTEST_C, STRANDED, awg_area_m2
from wirecalc.wire.heat import MOST_LOADED, balance_a
from wirecalc.wire.insulation import Wires

Array = NDArray[np.float64]

TABLE_AMBIENT_C = 30.0  # 33 CFR 183.425 table 5; from memory
ENGINE_SPACE_C = 50.0  # 33 CFR 183.425 table 5 note 1; from memory
_TABLE = tables.rows("ampacity")  # thin to thick
_TABLE_COLUMNS = {float(str(name)[2:-1]): name for name in _TABLE[0] if str(name).startswith("a_")}
_TABLE_AREA_M2 = awg_area_m2(np.array([row["awg"] for row in _TABLE], np.float64))


def _factors(rule: str) -> tuple[Array, Array]:
    rows = [row for row in tables.rows("ampacity_factors") if row["rule"].startswith(rule)]
    return np.array([row["at"] for row in rows], np.float64), np.array([row["factor"] for row in rows], np.float64)


_ENGINE_SPACE = dict(zip(*_factors("engine space"), strict=True))
_BY_COUNT = [(1, *_factors("33 CFR")), (2, *_factors("IEC 60364"))]  # conductors of what is counted


def _column_c(limit_c: float) -> float:
    """The published column at or under a conductor limit; the lowest one is for everything unmarked."""
    check("Conductor limit", limit_c, "°C", low=min(_TABLE_COLUMNS), high=HOTTEST_C)
    return max(column for column in _TABLE_COLUMNS if column <= limit_c)


@takes_units
def table_a(ohm_per_m_20c: ArrayLike, limit_c: float) -> Array:
    """What 33 CFR 183.425 table 5 lets a conductor carry, in 30 degC air and not bundled.

    Parameters
    ----------
    ohm_per_m_20c : (...,) array_like
        One conductor. [ohm/m]
    limit_c : float
        Of the conductor; the table's column at or under it is used. [60 to 250 degC]

    Returns
    -------
    (...,) numpy.ndarray
        [A]

    Raises
    ------
    InputError
        If a resistance is not above 0 or the limit is under 60 degC.

    Notes
    -----
    The table is for stranded copper of gauge sizes. Any other conductor enters as the stranded copper of its
    own resistance, so aluminium and metric sizes count for what they conduct, not for what they measure.
    Between two gauges a straight line over area: current rises slower than area, so the line lies below.
    Under 18 AWG in proportion to area, which falls faster than any wire; over 4/0 nothing is added.
    """
    ohm = check("Resistance per metre", ohm_per_m_20c, "ohm/m", low=0, above=True)
    area_m2 = COPPER.ohm_m_20c * STRANDED.lay_factor / ohm
    column = _TABLE_COLUMNS[_column_c(limit_c)]
    cells_a = np.array([row[column] for row in _TABLE], np.float64)
    return np.asarray(np.interp(area_m2, np.append(0.0, _TABLE_AREA_M2), np.append(0.0, cells_a)))


@takes_units
def engine_space_factor(limit_c: float) -> float:
    """33 CFR 183.425 table 5 note 1 (from memory): what is left in an engine space at 50 degC."""
    return float(_ENGINE_SPACE[_column_c(limit_c)])


@takes_units
def ambient_factor(ambient_c: ArrayLike, limit_c: float) -> Array:
    """What is left of the table's current in warmer air.

    Parameters
    ----------
    ambient_c : (...,) array_like
        [degC]
    limit_c : float
        Of the conductor; see `table_a`. [degC]

    Returns
    -------
    (...,) numpy.ndarray
        1 up to 30 degC, 0 where the air is as hot as the limit.

    Raises
    ------
    InputError
        If the air is out of range.

    Notes
    -----
    ``sqrt((T - Ta) / (T - 30))``: the rise goes with the current squared. Colder air is not credited: the table is
    for 30 degC. It gives the engine-space factors
    of 33 CFR 183.425 but for 105 and 200 degC; from 50 degC on the lower of the two holds.
    """
    ambient = check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    column = _column_c(limit_c)
    by_rise = np.sqrt(np.clip((column - ambient) / (column - TABLE_AMBIENT_C), 0, 1))
    return np.where(ambient >= ENGINE_SPACE_C, np.minimum(by_rise, engine_space_factor(limit_c)), by_rise)


def bundle_factor(loaded: ArrayLike) -> Array:
    """What is left of the table's current when loaded conductors lie together.

    Parameters
    ----------
    loaded : (...,) array_like
        Loaded conductors, each way of a pair counted. [1 to 100]

    Returns
    -------
    (...,) numpy.ndarray
        The lower of IEC 60364-5-52's grouping in air, which counts circuits of two conductors, and 33 CFR 183.425
        note 2, which counts conductors; between listed counts that of the next larger one. So a pair that lies by
        itself, one circuit, has 1. Past IEC's 20 circuits it falls as 1/sqrt(n).

    Raises
    ------
    InputError
        If a count is out of range.
    """
    conductors = check("Loaded conductors", loaded, "", low=1, high=MOST_LOADED)
    factor = np.ones(conductors.shape)
    for each, up_to, left in _BY_COUNT:
        count = np.ceil(conductors / each)
        row = np.minimum(np.searchsorted(up_to, count), len(up_to) - 1)
        factor = np.minimum(factor, left[row] * np.sqrt(np.minimum(1, up_to[-1] / count)))
    return factor


@dataclass(frozen=True, kw_only=True, eq=False)
class Allowable:
    """Current that each wire may carry for ever, and where it is from. Arrays (..., n). [A]"""

    current_a: Array
    """The lower of the two below."""
    published_a: Array
    """33 CFR 183.425 table 5 times its factors for air and bundle."""
    balance_a: Array
    """By the heat balance."""


@takes_units
def allowable(wires: Wires, ambient_c: ArrayLike, loaded: ArrayLike = 1) -> Allowable:
    """What each wire may carry: never more than the published table, never more than the heat balance.

    Parameters
    ----------
    wires, ambient_c, loaded
        See `temperature_c`.

    Returns
    -------
    Allowable
        Fields of shape (..., n).

    Raises
    ------
    InputError
        If a value is out of range or the insulation's limit is under 60 degC.
    """
    limit_c = wires.insulation.limit_c
    published = table_a(wires.ohm_per_m_20c, limit_c) * ambient_factor(ambient_c, limit_c) * bundle_factor(loaded)
    balance = balance_a(wires, ambient_c, loaded)
    return Allowable(current_a=np.minimum(published, balance), published_a=published, balance_a=balance)
