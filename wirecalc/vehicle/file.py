"""A plan's text in files: one workbook, with its house rules, or two CSV files, in and out.

A file that is saved and read again is the same. A cell is never run: what begins with = + - @ is written as text.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any

from wirecalc import csv_text, tables
from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.text import (
    MOST_COLUMNS,
    RULES_SHEET,
    SHEETS,
    PlanSheet,
    PlanText,
    SheetName,
    clean,
    same,
    text_of,
    vehicle_of,
)

HELP_SHEET = "Columns"
MOST_BYTES = 2_000_000
MOST_UNPACKED = 12_000_000  # of a workbook; what a short file can swell to
MOST_PARTS, MOST_TAGS = 300, 340_000  # each tag of a cell takes some 4 µs and 300 bytes to read
MOST_OTHER_TAGS, MOST_SHEETS, MOST_TEXTS = 20_000, 200, 100_000  # each other one, of a style or a name, up to 30 µs
_OF_CELLS = re.compile(rb"</?(?:\w{1,20}:)?(?:c|v|t|is|row|si|f)[\s/>]")
_TEXT = re.compile(rb"<(?:\w{1,20}:)?si[\s/>]")
_ENCODING = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([^\"']*)")
MOST_ROWS, LONGEST_CELL = 1_000, 500
_MOST_EMPTY = 10 * MOST_ROWS  # rows that formatting left behind


def _sheet(name: str, rows: Iterator[Sequence[str]]) -> PlanSheet:
    """Rows of text, the first the headings; empty ones at the end and empty columns at the right are left out."""
    kept: list[list[str]] = []
    for number, row in enumerate(rows, 1):
        if any(row[MOST_COLUMNS:]):
            raise _refused(f"{name}, line {number}", f"{len(row)} columns", f"at most {MOST_COLUMNS}")
        cells = [clean(text) for text in row[:MOST_COLUMNS]]
        while cells and not cells[-1]:
            cells.pop()
        if not cells and not kept:
            raise _refused(f"{name}, line 1", "an empty row", "the headings in line 1", "Delete the empty rows above.")
        for place, text in enumerate(cells):
            if len(text) > LONGEST_CELL:
                raise _refused(f"{name}, line {number}, column {place + 1}", f"{len(text)} characters",
                               f"at most {LONGEST_CELL}")  # fmt: skip
        if number > (MOST_ROWS + 1 if cells else _MOST_EMPTY):
            raise _refused(name, f"over {MOST_ROWS} rows", f"at most {MOST_ROWS}")
        kept.append(cells)
    while kept and not kept[-1]:
        kept.pop()
    if not kept:  # not even an empty row
        raise _refused(name, "nothing in it", "a row of headings, then one row for each")
    width = max(len(cells) for cells in kept)
    padded = [(*cells, *[""] * (width - len(cells))) for cells in kept]
    return PlanSheet(columns=padded[0], rows=tuple(padded[1:]))


def _refused(field: str, given: object, allowed: str, hint: str = "") -> FileFaults:
    return FileFaults([InputError(field, given, allowed, hint)])


def _check_size(content: bytes) -> None:
    if len(content) > MOST_BYTES:
        raise _refused("File", f"{len(content) / 1e6:.1f} MB", f"at most {MOST_BYTES / 1e6:g} MB")


def read_workbook(content: bytes) -> PlanText:
    """A workbook with the sheets Devices and Wires, and House rules if it has one: see `read_book`."""
    return read_book(content)[0]


def read_book(content: bytes) -> tuple[PlanText, tuple[str, ...]]:
    """A workbook with the sheets Devices and Wires, and House rules if it has one. What else is in it is not read.

    Parameters
    ----------
    content : bytes
        Of an .xlsx file.

    Returns
    -------
    text : PlanText
        A formula is its own text; nothing is calculated.
    others : tuple of str
        Names of the sheets that are not read, without the one that `write_workbook` adds to explain the columns.

    Raises
    ------
    FileFaults
        If it is no such workbook or too large, packed or unpacked.
    """
    _check_size(content)
    _check_parts(content)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of parts that are not read here
            sheets, titles = _read_sheets(content)
    except InputError:
        raise
    except Exception as why:  # a damaged file can fail anywhere in the library
        raise _refused("Workbook", type(why).__name__, "an .xlsx workbook", "Save it again as .xlsx.") from None
    others = tuple(title for title in titles if same(title) not in map(same, (*SHEETS, RULES_SHEET, HELP_SHEET)))
    return PlanText(devices=sheets["Devices"], wires=sheets["Wires"], rules=sheets.get(RULES_SHEET)), others


def _read_sheets(content: bytes) -> tuple[dict[str, PlanSheet], list[str]]:
    """The sheets that there are of ours, and the names of all.

    Of everything else only what cells refer to is read: texts and formats.
    """
    from openpyxl.reader.excel import ExcelReader  # here: it takes long to load, and only files need it
    from openpyxl.styles.stylesheet import apply_stylesheet
    from openpyxl.worksheet._reader import WorkSheetParser
    from openpyxl.xml.constants import SHEET_MAIN_NS
    from openpyxl.xml.functions import iterparse

    class Cells(WorkSheetParser):
        def parse_formula(self, element: Any) -> str:  # one that is shared is not worked out for each cell
            return f"={element.findtext(f'{{{SHEET_MAIN_NS}}}f') or ''}"

        def parse_cell(self, element: Any) -> dict[str, Any]:  # plain text, which most cells are, is taken as it stands
            inside = element.find(f"{{{SHEET_MAIN_NS}}}is")
            if inside is None or [element.tag for element in inside] != [f"{{{SHEET_MAIN_NS}}}t"]:
                return dict(super().parse_cell(element))
            element.set("t", "e")
            return {**super().parse_cell(element), "value": inside[0].text or ""}

    book = ExcelReader(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
    book.read_manifest()
    book.read_strings()
    book.read_workbook()
    workbook: Any = book.wb
    apply_stylesheet(book.archive, workbook)
    places = {sheet.name: relation.target for sheet, relation in book.parser.find_sheets()}

    def rows(place: str) -> Iterator[list[str]]:
        formats = {"date_formats": workbook._date_formats, "timedelta_formats": workbook._timedelta_formats}
        with book.archive.open(place) as source:
            cells = Cells(source, book.shared_strings, epoch=workbook.epoch, **formats)
            last = 0
            for _, element in iterparse(source):
                if element.tag != f"{{{SHEET_MAIN_NS}}}row":
                    continue
                number, row = cells.parse_row(element)
                element.clear()
                for _ in range(last + 1, min(number, _MOST_EMPTY + 2)):
                    yield []
                last = max(last, number)
                texts = {cell["column"]: _as_text(cell["value"]) for cell in row}
                yield [texts.get(column, "") for column in range(1, min(max(texts, default=0), MOST_COLUMNS + 1) + 1)]

    sheets: dict[str, PlanSheet] = {}
    for name in (*SHEETS, RULES_SHEET):
        title = next((title for title in places if same(title) == same(name)), None)
        if title is None and name == RULES_SHEET:
            continue
        if title is None:
            raise _refused("Workbook", f"the sheets {', '.join(places)[:80]}", f"a sheet named {name}",
                           "Start from the template.")  # fmt: skip
        sheets[name] = _sheet(name, rows(places[title]))
    return sheets, list(places)


def _check_parts(content: bytes) -> None:
    """Refuse what would swell when unpacked, before it is unpacked, and what would take long to read."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            sizes = [part.file_size for part in parts.infolist()]
            if len(sizes) > MOST_PARTS or sum(sizes) > MOST_UNPACKED:
                given = f"{len(sizes)} parts, {sum(sizes) / 1e6:.0f} MB unpacked"
                raise _refused("Workbook", given, f"at most {MOST_PARTS} parts and {MOST_UNPACKED / 1e6:g} MB unpacked")
            texts = [(part.filename, _plain(parts, part)) for part in parts.infolist()]
        # in all parts: any of them may say that it is a sheet, or the list of them
        of_cells = sum(1 for name, text in texts if name != "xl/styles.xml" for _ in _OF_CELLS.finditer(text))
        tags, sheets = (sum(text.count(mark) for _, text in texts) for mark in (b"<", b"sheetId"))
        shared = sum(1 for _, text in texts for _ in _TEXT.finditer(text))
        bounds = {
            "tags of XML": (tags, MOST_TAGS),
            "tags that are not of cells": (tags - of_cells, MOST_OTHER_TAGS),
            "sheets": (sheets, MOST_SHEETS),
            "texts": (shared, MOST_TEXTS),
        }
        over = {what: bound for what, bound in bounds.items() if bound[0] > bound[1]}
        if over:
            given = ", ".join(f"{count} {what}" for what, (count, _) in over.items())
            allowed = "at most " + ", ".join(f"{most} {what}" for what, (_, most) in over.items())
            raise _refused("Workbook", given, allowed, "Copy the two lists into a new workbook.")
    except InputError:
        raise
    except Exception:  # damaged or encrypted archives fail in many ways
        raise _refused("Workbook", "no archive", "an .xlsx workbook", "Save it again as .xlsx.") from None


def _plain(parts: zipfile.ZipFile, part: zipfile.ZipInfo) -> bytes:
    """A part unpacked, if it is packed and written as .xlsx files are: what is counted in it is then what is read."""
    if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _refused("Workbook", part.filename, "parts packed as .xlsx has them", "Save it again as .xlsx.")
    text = parts.read(part)
    is_xml = part.filename.endswith((".xml", ".rels"))
    encoding = _ENCODING.search(text)
    if (
        any(mark in text for mark in (b"<!DOCTYPE", b"<!ENTITY", b"<![CDATA["))
        or (is_xml and b"\0" in text)
        or (encoding and encoding[1].lower() not in (b"utf-8", b"us-ascii", b"ascii", b"iso-8859-1"))
    ):
        raise _refused("Workbook", part.filename, "plain XML in UTF-8 without definitions of its own")
    return text.replace(b"\0", b"")


def _as_text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(getattr(value, "text", None) or value)


def write_workbook(text: PlanText) -> bytes:
    """An .xlsx workbook: Devices, Wires, the house rules that differ, and a sheet that says what each column is.

    Every cell is text, so that nothing in it is ever run or turned into a date.
    """
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    def write(name: str, rows: Sequence[Sequence[str]]) -> None:
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for place, column in enumerate(zip(*rows, strict=True), 1):
            sheet.column_dimensions[get_column_letter(place)].width = min(max(map(len, column)) + 2, 40)
        for number, row in enumerate(rows):
            line = []
            for value in row:
                cell = WriteOnlyCell(sheet, value=value or None)
                if value:
                    cell.data_type = "s"  # never "f", whatever it begins with
                cell.number_format = "@"
                if number == 0:
                    cell.font = Font(bold=True)
                line.append(cell)
            sheet.append(line)

    book = openpyxl.Workbook(write_only=True)
    for sheet_name in SHEETS:
        sheet = text.sheet(sheet_name)
        write(sheet_name, (sheet.columns, *sheet.rows))
    if text.rules is not None:
        write(RULES_SHEET, (text.rules.columns, *text.rules.rows))
    told = [("Sheet", "Column", "What it is", "What may be written", "Needed by")]
    for sheet_name, fields in SHEETS.items():
        for field in fields:
            needed = "all" if len(field.needed) > 2 else ", ".join(field.needed)
            told.append((sheet_name, field.column, field.help, field.allowed, needed))
    write(HELP_SHEET, told)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read_csv(first: bytes, second: bytes) -> PlanText:
    """A plan from two CSV files, devices and wires in any order; columns parted by comma, semicolon or tab.

    Parameters
    ----------
    first, second : bytes
        Content of each file.

    Returns
    -------
    PlanText
        Without house rules, which CSV files do not hold.

    Raises
    ------
    FileFaults
        If they are not one of each, or too large.
    """
    sheets = [_csv(content, name) for content, name in ((first, "First file"), (second, "Second file"))]
    headings = [{same(column) for column in sheet.columns} for sheet in sheets]
    is_wires = ["from" in each for each in headings]
    if is_wires == [True, False] and "kind" in headings[1]:
        sheets.reverse()
    elif is_wires != [False, True] or "kind" not in headings[0]:
        raise _refused("CSV files", "not one of each", "one of devices, with a column Kind, and one of wires, with"
                       " a column From")  # fmt: skip
    return PlanText(devices=sheets[0], wires=sheets[1])


def which_list(name: str, content: bytes) -> SheetName:
    """Which of a plan's two lists a CSV file is, by its headings.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    content : bytes
        Of the file.

    Returns
    -------
    str
        "Devices" or "Wires".

    Raises
    ------
    FileFaults
        If it is none, or too large.
    """
    headings = {same(column) for column in _csv(content, name).columns}
    if "from" in headings:
        return "Wires"
    if "kind" in headings:
        return "Devices"
    allowed = "a list of devices, with a column Kind, or of wires, with a column From"
    raise _refused(name, "another list", allowed, "Start from a list that this page saved.")


def _csv(content: bytes, name: str) -> PlanSheet:
    _check_size(content)
    return _sheet(name, csv_text.read(csv_text.decoded(content).replace("\0", "\ufffd"), name))


def write_csv(text: PlanText) -> tuple[bytes, bytes]:
    """Devices and wires as two CSV files. An apostrophe goes before what a spreadsheet would run; `read_csv` takes it
    off again."""
    devices, wires = (csv_text.written((sheet.columns, *sheet.rows)) for sheet in (text.devices, text.wires))
    return devices, wires


def demo() -> PlanText:
    """Our invented vehicle: data/demo_devices.csv and data/demo_wires.csv."""
    return read_csv(*((tables.FOLDER / f"demo_{name}.csv").read_bytes() for name in ("devices", "wires")))


_EXAMPLES = (
    "Starter battery", "Body", "Boot fuse block", "Boot ground block", "Front amplifier", "Left front door speaker"
)  # fmt: skip


def template() -> PlanText:
    """Every column, with a few rows of the demo as examples to write over."""
    whole = vehicle_of(demo())
    devices = tuple(device for device in whole.devices if device.name in _EXAMPLES)
    wires = tuple(wire for wire in whole.wires if wire.start in _EXAMPLES and wire.end in _EXAMPLES)
    return text_of(Vehicle(devices=devices, wires=wires))
