"""The tables of a handout as an .xlsx workbook: numbers as numbers in one unit, text as text that is never run."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

from dashboards.panels.handout.table import Amount, Cell, CellMark, Table
from wirecalc import units

_WIDEST = 60  # characters of a column


def workbook_of(tables: Sequence[Table], feet: bool = False) -> bytes:
    """One sheet for each table.

    Parameters
    ----------
    tables : sequence of Table
        Their keys differ.
    feet : bool
        Lengths in feet with decimals instead of metres.

    Returns
    -------
    bytes
        Of an .xlsx file.
    """
    import openpyxl  # here: it takes long to load, and only files need it
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook(write_only=True)
    for table in tables:
        sheet = book.create_sheet(table.key)
        sheet.freeze_panes = "A2"
        sheet.page_setup.orientation = "landscape"
        sheet.print_title_rows = "1:1"
        written = [table.columns, *table.rows] if table.rows else [table.columns, (table.empty,)]
        for place, name in enumerate(table.columns):
            longest = max(len(_plain(row[place], feet)) for row in (table.columns, *table.rows))
            sheet.column_dimensions[get_column_letter(place + 1)].width = min(max(longest, len(name)) + 2, _WIDEST)
        for number, row in enumerate(written):
            line = []
            for content in row:
                value, shown = _value(content, feet)
                cell = WriteOnlyCell(sheet, value=value)
                cell.number_format = shown
                if isinstance(value, str):
                    cell.data_type = "s"  # never "f", whatever it begins with
                    cell.alignment = Alignment(wrap_text=True, vertical="top")
                if number == 0:
                    cell.font = Font(bold=True)
                line.append(cell)
            sheet.append(line)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _value(cell: Cell, feet: bool) -> tuple[str | float | None, str]:
    """Value and number format."""
    if isinstance(cell, Amount):
        if not math.isfinite(cell.value):
            return (None if math.isnan(cell.value) else cell.shown(feet)), "@"
        if feet and cell.kind == units.LENGTH:
            return float(units.quantity(cell.value, units.LENGTH).m_as("ft")), '0.00" ft"'
        unit = cell.kind.unit.replace("degC", "°C")
        return cell.value, f'General" {unit}"' if unit else "General"
    if isinstance(cell, int):
        return cell, "General"
    if cell is CellMark.TICK:
        return "☐", "@"
    return (cell if isinstance(cell, str) and cell else None), "@"


def _plain(cell: Cell, feet: bool) -> str:
    value, _ = _value(cell, feet)
    return "" if value is None else f"{value:.6g}      " if isinstance(value, float) else str(value)
