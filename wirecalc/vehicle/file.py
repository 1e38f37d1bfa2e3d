"""A plan's text in files: one workbook, with its house rules, or two CSV files, in and out.

A file that is saved and read again is the same. A cell is never run: what begins with = + - @ is written as text.
"""

from __future__ import annotations

import io
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
MOST_PARTS, MOST_TAGS = 300, 300_000  # each tag takes some 3 to 20 µs and 300 bytes to read
MOST_ROWS, LONGEST_CELL = 1_000, 500
_MOST_EMPTY = 10 * MOST_ROWS  # rows that formatting left behind


def _sheet(name: str, rows: Iterator[Sequence[str]]) -> PlanSheet:
    """Rows of text, the first the headings; empty ones at the end and empty columns at the right are left out."""
    kept: list[list[str]] = []
    for number, row in enumerate(rows, 1):
        if any(row[MOST_COLUMNS:]):
            raise _refused(f"{name}, row {number}", f"{len(row)} columns", f"at most {MOST_COLUMNS}")
        cells = [clean(text) for text in row[:MOST_COLUMNS]]
        while cells and not cells[-1]:
            cells.pop()
        if not cells and not kept:
            raise _refused(f"{name}, row 1", "an empty row", "the headings in row 1", "Delete the empty rows above.")
        for place, text in enumerate(cells):
            if len(text) > LONGEST_CELL:
                raise _refused(f"{name}, row {number}, column {place + 1}", f"{len(text)} characters",
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


def other_sheets(content: bytes) -> tuple[str, ...]:
    """Names of a workbook's sheets that `read_workbook`, which has to have taken it, does not read.

    Parameters
    ----------
    content : bytes

    Returns
    -------
    tuple of str
        Without the sheet that `write_workbook` adds to explain the columns.
    """
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        titles = openpyxl.load_workbook(io.BytesIO(content), read_only=True, keep_links=False).sheetnames
    return tuple(title for title in titles if same(title) not in map(same, (*SHEETS, RULES_SHEET, HELP_SHEET)))


def _refused(field: str, given: object, allowed: str, hint: str = "") -> FileFaults:
    return FileFaults([InputError(field, given, allowed, hint)])


def _check_size(content: bytes) -> None:
    if len(content) > MOST_BYTES:
        raise _refused("File", f"{len(content) / 1e6:.1f} MB", f"at most {MOST_BYTES / 1e6:g} MB")


def read_workbook(content: bytes) -> PlanText:
    """A workbook with the sheets Devices and Wires, and House rules if it has one. What else is in it is not read.

    Parameters
    ----------
    content : bytes
        Of an .xlsx file.

    Returns
    -------
    PlanText
        A formula is its own text; nothing is calculated.

    Raises
    ------
    FileFaults
        If it is no such workbook or too large, packed or unpacked.
    """
    import openpyxl  # here: it takes long to load, and only files need it

    _check_size(content)
    _check_parts(content)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of parts that are not read here
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
            found: dict[str, PlanSheet] = {}
            for name in SHEETS:
                title = next((title for title in book.sheetnames if same(title) == same(name)), None)
                if title is None:
                    given = ", ".join(book.sheetnames)[:80]
                    raise _refused(
                        "Workbook", f"the sheets {given}", f"a sheet named {name}", "Start from the template."
                    )
                sheet = book[title]
                sheet.reset_dimensions()  # a file may say anything about its size
                cells = sheet.iter_rows(max_row=_MOST_EMPTY + 1, max_col=MOST_COLUMNS + 1, values_only=True)
                found[name] = _sheet(name, ([_as_text(value) for value in row] for row in cells))
            rules = next((title for title in book.sheetnames if same(title) == same(RULES_SHEET)), None)
            if rules is not None:
                book[rules].reset_dimensions()
                cells = book[rules].iter_rows(max_row=_MOST_EMPTY + 1, max_col=MOST_COLUMNS + 1, values_only=True)
                found[RULES_SHEET] = _sheet(RULES_SHEET, ([_as_text(value) for value in row] for row in cells))
    except InputError:
        raise
    except Exception as why:  # a damaged file can fail anywhere in the library
        raise _refused("Workbook", type(why).__name__, "an .xlsx workbook", "Save it again as .xlsx.") from None
    return PlanText(devices=found["Devices"], wires=found["Wires"], rules=found.get(RULES_SHEET))


def _check_parts(content: bytes) -> None:
    """Refuse what would swell when unpacked, before it is unpacked, and what would take long to read."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            sizes = [part.file_size for part in parts.infolist()]
            if len(sizes) > MOST_PARTS or sum(sizes) > MOST_UNPACKED:
                given = f"{len(sizes)} parts, {sum(sizes) / 1e6:.0f} MB unpacked"
                raise _refused("Workbook", given, f"at most {MOST_PARTS} parts and {MOST_UNPACKED / 1e6:g} MB unpacked")
            tags = 0
            for part in parts.infolist():
                if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                    raise _refused(
                        "Workbook", part.filename, "parts packed as .xlsx has them", "Save it again as .xlsx."
                    )
                text = parts.read(part)
                is_xml = part.filename.endswith((".xml", ".rels"))
                if b"<!DOCTYPE" in text or b"<!ENTITY" in text or (is_xml and b"\0" in text):
                    raise _refused("Workbook", part.filename, "plain XML without definitions of its own")
                tags += text.count(b"<")  # in all parts: any of them may say that it is a sheet
            if tags > MOST_TAGS:
                raise _refused("Workbook", f"{tags} tags of XML", f"at most {MOST_TAGS}", "Keep the two lists only.")
    except InputError:
        raise
    except Exception:  # damaged or encrypted archives fail in many ways
        raise _refused("Workbook", "no archive", "an .xlsx workbook", "Save it again as .xlsx.") from None


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
    """Two CSV files, devices and wires in any order; parted by comma, semicolon or tab.

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
    "Starter battery", "Body", "Boot fuse block", "Boot ground block", "Front amplifier", "Left front door loudspeaker"
)  # fmt: skip


def template() -> PlanText:
    """Every column, with a few rows of the demo as examples to write over."""
    whole = vehicle_of(demo())
    devices = tuple(device for device in whole.devices if device.name in _EXAMPLES)
    wires = tuple(wire for wire in whole.wires if wire.start in _EXAMPLES and wire.end in _EXAMPLES)
    return text_of(Vehicle(devices=devices, wires=wires))
