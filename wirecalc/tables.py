"""The tables in data/, each read once, with the source and the confidence of every row."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Hashable
from dataclasses import Field, fields
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Protocol, TypeVar

if TYPE_CHECKING:
    import pandas as pd


class _Dataclass(Protocol):
    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]


Record = TypeVar("Record", bound=_Dataclass)

_HERE = Path(__file__).parent
_PLACES = (_HERE / "data", _HERE.parent / "data")  # in a wheel; in a checkout
FOLDER = next(folder for folder in _PLACES if folder.is_dir())


@cache
def _read(name: str) -> pd.DataFrame:
    import pandas as pd  # here, because it is two thirds of the memory of a page that does not need it

    return pd.read_csv(FOLDER / f"{name}.csv")


@cache
def _columns(name: str) -> dict[str, list[Any]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        head, *cells = csv.reader(file)
    return {key: _typed(column) for key, column in zip(head, zip(*cells, strict=True), strict=True)}


def _typed(cells: tuple[str, ...]) -> list[Any]:
    """Whole numbers where all are, else numbers, else text; nan for an empty cell, as pandas has it."""
    for kind in (int, float):
        try:
            return [kind(cell) if cell or kind is int else math.nan for cell in cells]
        except ValueError:
            continue
    return [cell or math.nan for cell in cells]


def rows(name: str) -> list[dict[Hashable, Any]]:
    """The table data/`name`.csv as one dictionary a row; see `load`, which takes longer.

    Parameters
    ----------
    name : str
        The file's name without ending, such as "metals".

    Returns
    -------
    list of dict
        By the columns' names. An empty cell is nan.

    Raises
    ------
    FileNotFoundError
        If there is no such table.
    """
    columns = _columns(name)
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def cell(name: str, column: str, **where: str) -> Any:
    """One cell of a table.

    Parameters
    ----------
    name : str
        Of the table in data/, without ".csv".
    column : str
        The cell's column.
    **where : str
        What other columns of its row hold.

    Returns
    -------
    object
        A number or text, as `rows` has it.

    Raises
    ------
    FileNotFoundError
        If there is no such table.
    ValueError
        If not just one row is so.

    See Also
    --------
    rows : All of them.

    Examples
    --------
    >>> cell("metals", "name", metal="copper")
    'annealed copper'
    """
    (value,) = [row[column] for row in rows(name) if all(row[key] == wanted for key, wanted in where.items())]
    return value


def records(name: str, kind: type[Record], **columns: str) -> tuple[Record, ...]:
    """Every row of the table data/`name`.csv as a dataclass.

    Parameters
    ----------
    name : str
        The file's name without ending, such as "metals".
    kind : type
        A dataclass whose fields are named like the columns; `key` is the first column. A field without a column keeps
        its default, a column without a field is left out. Of an empty cell a field of text is "", one that may be
        None is None, any other nan.
    **columns : str
        By field, the name of its column where it has another.

    Returns
    -------
    tuple of `kind`
        In the table's order.

    Raises
    ------
    FileNotFoundError
        If there is no such table.
    KeyError
        If one of `columns` is no column of it.
    InputError
        If `kind` cannot take a row.

    See Also
    --------
    keyed : The same by the first column.
    """
    loaded = []
    for row in rows(name):
        cells: dict[Hashable, Any] = {"key": next(iter(row.values())), **row}
        values = {
            field.name: cells[columns.get(field.name, field.name)]
            for field in fields(kind)
            if field.name in columns or field.name in cells
        }
        empty: dict[str, str | None] = {field.name: "" for field in fields(kind) if field.type == "str"}
        empty |= {field.name: None for field in fields(kind) if str(field.type).endswith("| None")}
        loaded.append(
            kind(**{key: empty.get(key, value) if value != value else value for key, value in values.items()})
        )
    return tuple(loaded)


def keyed(name: str, kind: type[Record], **columns: str) -> dict[str, Record]:
    """The rows of a table as records, by the cell in their first column.

    Parameters
    ----------
    name : str
        Of the table in data/, without ".csv".
    kind : type
        The dataclass of a row.
    **columns : str
        By field, the name of its column where it has another.

    Returns
    -------
    dict of str to record
        In the order of the table.

    Raises
    ------
    ValueError
        If two rows have the same.

    See Also
    --------
    records : The same in a row.
    """
    by_key = dict(
        zip((str(next(iter(row.values()))) for row in rows(name)), records(name, kind, **columns), strict=True)
    )
    if len(by_key) < len(rows(name)):
        raise ValueError(f"data/{name}.csv: two rows with one key")
    return by_key


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


_NOT_CHECKED = "published value, copy not checked"
_FROM_MEMORY = re.compile(r"[;,]?\s*\(?(?:all |both )?from memory\)?(?:, (?=checked))?")


def shown_source(source: str, confidence: str = "") -> str:
    """A source as pages and papers say it: what was not checked is said so, and memory is no source.

    Parameters
    ----------
    source : str
        As it stands in a table or beside a formula.
    confidence : str
        As in the tables' column: "read", "computed", "memory", "memory, uncertain: …", "common practice", "invented".

    Returns
    -------
    str

    Examples
    --------
    >>> shown_source("ISO 6722 class C, 125 °C; from memory", "memory")
    'ISO 6722 class C, 125 °C; published value, copy not checked'
    >>> shown_source("common practice, no source", "common practice")
    'common practice, no source'
    >>> shown_source("IEC 60028", "read")
    'IEC 60028 (read)'
    """
    cleaned = _FROM_MEMORY.sub("", source).strip(" ;,")
    remembered = cleaned != source.strip(" ;,") or confidence.startswith("memory")
    uncertain = confidence.partition("uncertain")[2].strip(" :")
    if remembered and _NOT_CHECKED not in cleaned:
        cleaned = f"{cleaned}; {_NOT_CHECKED}" if cleaned else _NOT_CHECKED
    if uncertain:
        return f"{cleaned}; uncertain: {uncertain}"
    if not confidence or remembered or confidence in cleaned:
        return cleaned
    return f"{cleaned} ({confidence})" if cleaned else confidence
