"""A plan's text in files: one workbook or two CSV files, each with its house rules, in and out.

A file that is saved and read again is the same. A cell is never run: what begins with = + - @ is written as text.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator, Sequence

from wirecalc import csv_text, tables
from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.text import (
    MORE,
    MOST_COLUMNS,
    RULE_COLUMNS,
    SHEETS,
    PlanSheet,
    PlanText,
    SheetName,
    clean_cell,
    same,
    text_of,
    vehicle_of,
)
from wirecalc.xlsx_text import Book

HELP_SHEET = "Columns"
_MAY_BE = tuple(sheet for sheet, _ in MORE.values())
RULE_KIND, CSV_RULE_COLUMNS = "house rule", ("House rule", "Value of the house rule")  # in a CSV file of devices
MORE_COLUMN = "Of the plan"  # in a CSV file of devices, numbered
MOST_BYTES = 2_000_000
MOST_UNPACKED = 12_000_000  # of a workbook; what a short file can swell to
MOST_PARTS, MOST_TAGS = 300, 380_000  # each tag of a cell takes some 2 µs and 300 bytes to read
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
        cells = [clean_cell(text) for text in row[:MOST_COLUMNS]]
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
    parts = _parts(content)
    try:
        book = Book(parts)
        sheets = _read_sheets(book)
    except InputError:
        raise
    except Exception as why:  # a damaged file can fail anywhere in the library
        raise _refused("Workbook", type(why).__name__, "an .xlsx workbook", "Save it again as .xlsx.") from None
    others = tuple(title for title in book.titles if same(title) not in map(same, (*SHEETS, *_MAY_BE, HELP_SHEET)))
    more = {key: sheets.get(sheet) for key, (sheet, _) in MORE.items()}
    return PlanText(devices=sheets["Devices"], wires=sheets["Wires"], **more), others


def _read_sheets(book: Book) -> dict[str, PlanSheet]:
    """The sheets that there are of ours."""
    sheets: dict[str, PlanSheet] = {}
    for name in (*SHEETS, *_MAY_BE):
        title = next((title for title in book.titles if same(title) == same(name)), None)
        if title is None and name in _MAY_BE:
            continue
        if title is None:
            raise _refused("Workbook", f"the sheets {', '.join(book.titles)[:80]}", f"a sheet named {name}",
                           "Start from the template.")  # fmt: skip
        sheets[name] = _sheet(name, book.rows(title, MOST_COLUMNS + 1))
    return sheets


def _parts(content: bytes) -> dict[str, bytes]:
    """The parts by their names; refuses what would swell, before it is unpacked, and what would take long to read."""
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
        return dict(texts)
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
    for key, sheet in text.more.items():
        write(MORE[key][0], (sheet.columns, *sheet.rows))
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
        With the house rules and what else is written among its devices: see `write_csv`.

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
    devices, more = _without_more(sheets[0])
    devices, rules = _parted(devices)
    return PlanText(devices=devices, wires=sheets[1], **{"rules": rules, **more})


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
    return _sheet(name, csv_text.read_rows(csv_text.decoded(content).replace("\0", "\ufffd"), name))


def write_csv(text: PlanText) -> tuple[bytes, bytes]:
    """Devices and wires as two CSV files. An apostrophe goes before what a spreadsheet would run; `read_csv` takes it
    off again.

    House rules that differ are rows at the end of the devices, of the kind "house rule", in columns of their own. So
    are job card, record and the others of `MORE`, of the kind that their sheet is called, the first row their headings.
    """
    lists = (_with_more(_with_rules(text), text), text.wires)
    devices, wires = (csv_text.csv_bytes((sheet.columns, *sheet.rows)) for sheet in lists)
    return devices, wires


def _with_more(sheet: PlanSheet, text: PlanText) -> PlanSheet:
    """The list of devices, with what else a plan has as rows at its end."""
    more = {
        MORE[key][0]: (extra.columns, *extra.rows) for key, extra in text.more.items() if key != "rules" and extra.rows
    }
    if not more:
        return sheet
    width = max(len(rows[0]) for rows in more.values())
    kind = next(at for at, column in enumerate(sheet.columns) if same(column) == "kind")
    made = [(*row, *[""] * width) for row in sheet.rows]
    for title, rows in more.items():
        blank = [""] * len(sheet.columns)
        blank[kind] = title.casefold()
        made += [(*blank, *row, *[""] * (width - len(row))) for row in rows]
    return PlanSheet(columns=(*sheet.columns, *(f"{MORE_COLUMN} {at}" for at in range(1, width + 1))), rows=tuple(made))


def _without_more(sheet: PlanSheet) -> tuple[PlanSheet, dict[str, PlanSheet]]:
    """The list of devices without what else the plan has at its end, and that by its field."""
    first = next((at for at, each in enumerate(sheet.columns) if same(each) == same(f"{MORE_COLUMN} 1")), None)
    if first is None:
        return sheet, {}
    kind = next(at for at, column in enumerate(sheet.columns) if same(column) == "kind")
    by_title = {same(title): key for key, (title, _) in MORE.items() if key != "rules"}
    rows_by_field: dict[str, list[tuple[str, ...]]] = {}
    devices = []
    for row in sheet.rows:
        key = by_title.get(same(row[kind]))
        if key is None:
            devices.append(row[:first])
        else:
            rows_by_field.setdefault(key, []).append(row[first:])
    more = {}
    for key, (columns, *rows) in rows_by_field.items():
        width = max(at for at, each in enumerate(columns, 1) if each) if any(columns) else 0
        more[key] = PlanSheet(columns=columns[:width], rows=tuple(row[:width] for row in rows))
    return PlanSheet(columns=sheet.columns[:first], rows=tuple(devices)), more


def _with_rules(text: PlanText) -> PlanSheet:
    """The list of devices, with house rules that differ as rows at its end."""
    sheet, rules = text.devices, text.rules
    if rules is None or not rules.rows:
        return sheet
    kind = next(at for at, column in enumerate(sheet.columns) if same(column) == "kind")
    rows = [(*row, "", "") for row in sheet.rows]
    for rule in rules.rows:
        blank = [""] * len(sheet.columns)
        blank[kind] = RULE_KIND
        rows.append((*blank, *(*rule, "", "")[:2]))
    return PlanSheet(columns=(*sheet.columns, *CSV_RULE_COLUMNS), rows=tuple(rows))


def _parted(sheet: PlanSheet) -> tuple[PlanSheet, PlanSheet | None]:
    """The list of devices without the house rules at its end, and those."""
    if tuple(map(same, sheet.columns[-2:])) != tuple(map(same, CSV_RULE_COLUMNS)):
        return sheet, None
    kind = next(at for at, column in enumerate(sheet.columns) if same(column) == "kind")
    rules = tuple(row[-2:] for row in sheet.rows if same(row[kind]) == same(RULE_KIND))
    devices = tuple(row[:-2] for row in sheet.rows if same(row[kind]) != same(RULE_KIND))
    return PlanSheet(columns=sheet.columns[:-2], rows=devices), PlanSheet(columns=RULE_COLUMNS, rows=rules)


def demo_plan() -> PlanText:
    """Our invented vehicle: data/demo_devices.csv and data/demo_wires.csv."""
    return read_csv(*((tables.FOLDER / f"demo_{name}.csv").read_bytes() for name in ("devices", "wires")))


_EXAMPLES = (
    "Starter battery", "Body", "Boot fuse block", "Boot ground block", "Front amplifier", "Left front door speaker"
)  # fmt: skip


def template() -> PlanText:
    """Every column, with a few rows of the demo as examples to write over."""
    whole = vehicle_of(demo_plan())
    devices = tuple(device for device in whole.devices if device.name in _EXAMPLES)
    wires = tuple(wire for wire in whole.wires if wire.start in _EXAMPLES and wire.end in _EXAMPLES)
    return text_of(Vehicle(devices=devices, wires=wires))
