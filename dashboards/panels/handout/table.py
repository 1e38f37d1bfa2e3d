"""A table of a handout, once: as HTML to read and print here, as a sheet of a workbook in `handout_workbook`."""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import groupby

from dashboards.panels.controls.table import scrolled_table
from wirecalc import units


@dataclass(frozen=True, kw_only=True)
class Amount:
    """A number with its unit; text where it is read, a number in a workbook."""

    value: float
    """In `kind.unit`; nan for none."""
    kind: units.QuantityKind
    digits: int = 4

    def shown(self, feet: bool) -> str:
        """As a person reads it."""
        return units.show(self.value, self.kind, feet=feet, digits=self.digits)


class CellMark(Enum):
    """A cell that is filled in by hand."""

    TICK = "to tick"
    BLANK = "to write into"


Cell = str | int | Amount | CellMark | None


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows of a handout; the last column or columns may be filled in by hand."""

    key: str
    """Name of its sheet, at most 31 characters, none of []:*?/\\."""
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    """Each as long as the columns."""
    note: str = ""
    grouped: bool = False
    """Rows come in groups by the first column; it becomes a heading over each."""
    flowing: bool = False
    """Many columns, most of them empty: what is filled follows the first column in one cell, each with its heading."""
    empty: str = "Nothing."
    """What is said without rows."""

    def group(self, name: str) -> Table:
        """One group by itself."""
        rows = tuple(row[1:] for row in self.rows if row[0] == name)
        return replace(self, columns=self.columns[1:], rows=rows, grouped=False, title=name)


def to_html(table: Table, feet: bool = False, level: int = 3) -> str:
    """A table with its heading; every text is escaped.

    Parameters
    ----------
    table : Table
    feet : bool
        Lengths in feet and inches.
    level : int
        Of the heading.
    """
    title, note = html.escape(table.title), f"<p>{html.escape(table.note)}</p>" if table.note else ""
    heading = f"<h{level}>{title}</h{level}>"
    if not table.rows:
        return f"<section>{heading}<p>{html.escape(table.empty)}</p></section>"
    body = _flow(table, feet) if table.flowing else _body(table, feet)
    return f"<section>{heading}{note}{scrolled_table(table.title, body, box='scroll')}</section>"


def _head(columns: Sequence[str]) -> str:
    cells = "".join(f'<th scope="col">{html.escape(column)}</th>' for column in columns)
    return f"<thead><tr>{cells}</tr></thead>"


def _body(table: Table, feet: bool) -> str:
    if not table.grouped:
        return f"{_head(table.columns)}<tbody>{_rows(table.columns, table.rows, feet)}</tbody>"
    parts = [_head(table.columns[1:])]
    for name, rows in groupby(table.rows, key=lambda row: row[0]):
        span = len(table.columns) - 1
        heading = f'<tr><th scope="rowgroup" colspan="{span}">{html.escape(str(name))}</th></tr>'
        parts.append(f"<tbody>{heading}{_rows(table.columns[1:], [row[1:] for row in rows], feet)}</tbody>")
    return "".join(parts)


def _rows(columns: Sequence[str], rows: Sequence[Sequence[Cell]], feet: bool) -> str:
    return "".join(f"<tr>{''.join(_cells(columns, row, feet))}</tr>" for row in rows)


def _cells(columns: Sequence[str], row: Sequence[Cell], feet: bool) -> list[str]:
    words = [cell for cell in row if isinstance(cell, str)]
    subject = words[0] if words else ""
    cells, named = [], len(words) < 2
    for column, cell in zip(columns, row, strict=True):
        if isinstance(cell, CellMark):
            name = html.escape(f"{column}: {subject}")
            kind = "checkbox" if cell is CellMark.TICK else "text"
            cells.append(f'<td class="hand"><input type="{kind}" aria-label="{name}" autocomplete="off"></td>')
        elif not named and isinstance(cell, str):
            named = True
            cells.append(f'<th scope="row">{html.escape(cell)}</th>')
        else:
            number = ' class="number"' if isinstance(cell, Amount | int) else ""
            cells.append(f"<td{number}>{html.escape(text(cell, feet))}</td>")
    return cells


def _flow(table: Table, feet: bool) -> str:
    rows = []
    for row in table.rows:
        filled = [(name, text(cell, feet)) for name, cell in zip(table.columns[1:], row[1:], strict=True)]
        spans = " ".join(
            f"<span><i>{html.escape(name)}</i> {html.escape(value)}</span>" for name, value in filled if value
        )
        rows.append(f'<tr><th scope="row">{html.escape(text(row[0], feet))}</th><td class="flow">{spans}</td></tr>')
    return f"{_head((table.columns[0], 'With'))}<tbody>{''.join(rows)}</tbody>"


def text(cell: Cell, feet: bool = False) -> str:
    """A cell as text; empty where it is filled in by hand."""
    if isinstance(cell, Amount):
        return cell.shown(feet)
    return "" if cell is None or isinstance(cell, CellMark) else str(cell)
