"""The tables in data/, each read once, with the source and the confidence of every row."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pandas as pd

_HERE = Path(__file__).parent
_PLACES = (_HERE / "data", _HERE.parent / "data")  # in a wheel; in a checkout
FOLDER = next(folder for folder in _PLACES if folder.is_dir())


@cache
def _read(name: str) -> pd.DataFrame:
    return pd.read_csv(FOLDER / f"{name}.csv")


def load(name: str) -> pd.DataFrame:
    """The table data/`name`.csv; the columns `source` and `confidence` say where each row is from.

    Parameters
    ----------
    name : str
        The file's name without ending, such as "metals".

    Returns
    -------
    pandas.DataFrame
        A copy: changing it changes nobody else's.

    Raises
    ------
    FileNotFoundError
        If there is no such table.
    """
    return _read(name).copy()
