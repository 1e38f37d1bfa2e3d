"""What there is to choose from, as tables: insulations, places, metals, strandings."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pandas as pd

from wirecalc.wire.conductor import METALS, STRANDINGS
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES


def _table(rows: Iterable[Any], *columns: str) -> pd.DataFrame:
    return pd.DataFrame([{column: getattr(row, column) for column in ("key", "name", *columns)} for row in rows])


def insulations() -> pd.DataFrame:
    """Every insulation by its key, with the steady temperature that it stands.

    Examples
    --------
    >>> import wirecalc
    >>> list(wirecalc.insulations().columns)
    ['key', 'name', 'limit_c', 'source']
    """
    return _table(INSULATIONS.values(), "limit_c", "source")


def zones() -> pd.DataFrame:
    """Every place in a vehicle by its key, with the air around a wire there.

    Examples
    --------
    >>> import wirecalc
    >>> "engine_bay" in set(wirecalc.zones()["key"])
    True
    """
    return _table(ZONES.values(), "ambient_c", "source")


def metals() -> pd.DataFrame:
    """Every metal by its key, with its resistivity at 20 degC.

    Examples
    --------
    >>> import wirecalc
    >>> wirecalc.metals()["key"].tolist()[0]
    'copper'
    """
    return _table(METALS.values(), "ohm_m_20c", "per_k_20c", "source")


def strandings() -> pd.DataFrame:
    """Every way to strand a conductor by its key.

    Examples
    --------
    >>> import wirecalc
    >>> "stranded" in set(wirecalc.strandings()["key"])
    True
    """
    return _table(STRANDINGS.values(), "source")
