"""Cells of a workbook as text, against what openpyxl, a general reader, makes of the same workbook."""

from __future__ import annotations

import datetime
import io
import zipfile

import openpyxl
import pytest
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from wirecalc.xlsx_text import Book

ROWS: list[list[object]] = [
    ["Name", "Wert äß", None, 1, -2, 1.5, 1e300, 2.0, 123456789012345678],
    [],
    [True, False, "#N/A", "=A1+1", "007", "5,5 m", " a\nb ", "<b>&amp;"],
    [None, None, datetime.datetime(2026, 3, 1), datetime.datetime(1999, 12, 31, 23, 59, 59), datetime.time(7, 30)],
    [datetime.timedelta(hours=30), datetime.date(2026, 7, 4), 0, 0.1],
]


def workbook(old: bool) -> bytes:
    made = openpyxl.Workbook()
    if old:
        made.epoch = CALENDAR_MAC_1904
    sheet = made.active
    sheet.title = "A sheet"
    for row in ROWS:
        sheet.append(row)
    sheet["B9"] = CellRichText("plain ", TextBlock(InlineFont(b=True), "bold"), " end")
    made.create_sheet("Other").append(["x"])
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def unpacked(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        return {name: parts.read(name) for name in parts.namelist()}


def as_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value)


@pytest.mark.parametrize("old", [False, True])
def test_every_kind_of_cell(old: bool) -> None:
    content = workbook(old)
    book = Book(unpacked(content))
    assert book.titles == ["A sheet", "Other"]
    theirs = openpyxl.load_workbook(io.BytesIO(content))["A sheet"].iter_rows(values_only=True)
    expected = [[as_text(value) for value in row] for row in theirs]
    rows = [row + [""] * (9 - len(row)) for row in book.rows("A sheet", 50)]
    assert rows == expected
    assert rows[8][1] == "plain bold end"
    assert next(book.rows("A sheet", 2)) == ["Name", "Wert äß"]


def test_the_strict_spelling_of_the_same_format_is_read() -> None:
    """ECMA-376 part 1 and part 4 have other namespaces for the same parts."""
    part = b"http://purl.oclc.org/ooxml/"
    transitional = b"http://schemas.openxmlformats.org/"
    strict = {
        name: text.replace(transitional + b"spreadsheetml/2006/main", part + b"spreadsheetml/main").replace(
            transitional + b"officeDocument/2006/relationships", part + b"officeDocument/relationships"
        )
        for name, text in unpacked(workbook(False)).items()
    }
    usual = Book(unpacked(workbook(False)))
    assert list(Book(strict).rows("A sheet", 50)) == list(usual.rows("A sheet", 50))
