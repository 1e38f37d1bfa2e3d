"""Small files made to hold a page for long, given to every upload of the pages.

As a program it reads them from a folder and prints, as JSON, what each took of the processor in each upload, and what
memory was taken at most: in a process of its own that made none of them, as what was once taken is not seen to go.
"""

from __future__ import annotations

import importlib
import io
import json
import re
import resource
import sys
import time
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from dashboards.panels.controls.files import MOST_BYTES
from tests import DEEP
from tests.support.parsers import parts, with_part
from wirecalc.vehicle import file as plan_file
from wirecalc.vehicle.text import SHEETS, PlanSheet, PlanText

_MAIN = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
_RELATIONS = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def _styles(inside: bytes) -> bytes:
    return with_part("xl/styles.xml", b"<styleSheet " + _MAIN + b">" + inside + b"</styleSheet>")


def _sheet(inside: bytes) -> bytes:
    return with_part("xl/worksheets/sheet1.xml", b"<worksheet " + _MAIN + b">" + inside + b"</worksheet>")


def _rows(cell: bytes, count: int) -> bytes:
    row = b"<row>" + cell * 60 + b"</row>"
    return _sheet(b"<sheetData>" + row * (count // 60) + b"</sheetData>")


def _put(name: str, before: bytes, text: bytes) -> bytes:
    old = parts()[name]
    assert before in old
    return with_part(name, old.replace(before, text + before))


def _strings(inside: bytes) -> bytes:
    """With shared strings, which our template has none of: in the place of its theme."""
    name = "xl/_rels/workbook.xml.rels"
    old = parts()[name]
    assert b'/theme"' in old
    new = with_part("xl/theme/theme1.xml", b"<sst " + _MAIN + b">" + inside + b"</sst>")
    return _replace(new, name, old.replace(b'/theme"', b'/sharedStrings"'))


def _replace(book: bytes, name: str, text: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for other in old.namelist():
            new.writestr(other, text if other == name else old.read(other))
    return out.getvalue()


def _fullest() -> PlanText:
    """As many rows as there may be, each faulty in every column."""
    made = {}
    for name, fields in SHEETS.items():
        columns = tuple(field.column for field in fields)
        rows = tuple(tuple(f"{place} <{number}>" for place in range(len(columns))) for number in range(1000))
        made[name] = PlanSheet(columns=columns, rows=rows[: plan_file.MOST_ROWS])
    return PlanText(devices=made["Devices"], wires=made["Wires"])


@cache
def workbooks() -> dict[str, bytes]:
    """What holds a reader of workbooks for long, one of each idea, over and just under what is refused."""
    other = plan_file.MOST_OTHER_TAGS - 3000
    cells = plan_file.MOST_TAGS - 3000
    sheet = b'<sheet name="a" sheetId="9" xmlns:r="' + _RELATIONS + b'" r:id="rId1"/>'
    names = b"<definedNames>" + b"<definedName name='a'>A1</definedName>" * (other // 2) + b"</definedNames>"
    relations = b'<Relationship Id="a" Type="t" Target="x"/>' * other
    looks = b"<si>" + b"<r><rPr><b/><sz val='1'/></rPr><t>x</t></r>" * (other // 7) + b"</si>"
    merged = b"<mergeCells>" + b'<mergeCell ref="A1:XFD1048576"/>' * other + b"</mergeCells>"
    fonts = "<fonts>" + "<font/>" * 280_000 + "</fonts>"
    other_alphabet = b'<?xml version="1.0" encoding="cp037"?>' + fonts.encode("cp037")
    formula = b'<c><f t="shared" si="0">' + b"A1+" * 2000 + b"A1</f></c>"
    return {
        "40 000 sheets": _put("xl/workbook.xml", b"</sheets>", sheet * 40_000),
        "as many sheets as may be": _put("xl/workbook.xml", b"</sheets>", sheet * (plan_file.MOST_SHEETS - 3)),
        "280 000 fonts": _styles(b"<fonts>" + b"<font/>" * 280_000 + b"</fonts>"),
        "as many fonts as may be": _styles(b"<fonts>" + b"<font/>" * other + b"</fonts>"),
        "as many formats as may be": _styles(b"<cellXfs>" + b"<xf/>" * other + b"</cellXfs>"),
        "formats in cells' names": _styles(b"<cellXfs>" + b"<c/>" * cells + b"</cellXfs>"),
        "names": _put("xl/workbook.xml", b"<calcPr", names),
        "views": _put("xl/workbook.xml", b"<sheets>", b"<bookViews>" + b"<workbookView/>" * other + b"</bookViews>"),
        "parts": _put("[Content_Types].xml", b"</Types>", b'<Override PartName="/a" ContentType="a/b"/>' * other),
        "relations": _put("xl/_rels/workbook.xml.rels", b"</Relationships>", relations),
        "shared strings": _strings(b"<si/>" * (cells - other)),
        "shared strings of letters": _strings(b"<si><t>x</t></si>" * (cells // 4)),
        "strings of many looks": _strings(looks),
        "empty cells": _rows(b"<c/>", cells - 9000),
        "cells of text": _rows(b'<c t="inlineStr"><is><t>x</t></is></c>', cells // 6 - 900),
        "cells of numbers": _rows(b'<c s="1"><v>1.5</v></c>', cells // 4 - 900),
        "rows": _sheet(b"<sheetData>" + b"<row/>" * cells + b"</sheetData>"),
        "rows far down": _sheet(b"<sheetData>" + b'<row r="1048576"/>' * cells + b"</sheetData>"),
        "one formula for many cells": _rows(formula + b'<c><f t="shared" si="0"/></c>' * 59, 60_000),
        "merged cells": _sheet(b"<sheetData/>" + merged),
        "a format for many places": _sheet(b'<sheetData/><conditionalFormatting sqref="' + b"A1 " * 1_000_000 + b'"/>'),
        "another alphabet": with_part("xl/styles.xml", other_alphabet),
        "another coding": with_part("xl/x.dat", fonts.encode("utf-16")),
        "every cell wrong": plan_file.write_workbook(_fullest()),
    }  # fmt: skip


@cache
def lists() -> dict[str, bytes]:
    """The same for lists in text and for JSON."""
    many = MOST_BYTES - 100
    return {
        "one letter": b"x" * many,
        "one cell": b'"' + b"x" * many + b'"',
        "commas": b"," * many,
        "line ends": b"a,b\n" + b"\n" * many,
        "quotation marks": b'"' * many,
        "rows": b"item,price\n" + b"a,1\n" * (many // 4),
        "wrong rows": b"item,price\n" + b"a,x\n" * (many // 4),
        "different items": b"item,price\n" + b"".join(b"%d,1\n" % number for number in range(220_000)),
        "numbers": b"Freq,Mag,Phase\n" + b"".join(b"%d;4;0\n" % number for number in range(1, 150_000)),
        "the same number": b"10;4;0\n" * (many // 7),
        "long numbers": (b"9" * 4000 + b";4;0\n") * (many // 4010),
        "apostrophes": b"item,price\n" + b"'" * many,
        "separators in a cell": b'a,b\n"' + b";'=" * (many // 3 - 10) + b'",1\n',
        "headings": b"Sample,Strands\n" + b"=1,+2\n" * (many // 7),
        "brackets": b"[" * many,
        "braces": b'{"a":' * (many // 5),
        "names": b"{" + b",".join(b'"%d":1' % number for number in range(150_000)) + b"}",
        "digits": b'{"scores":' + b"9" * (many - 20) + b"}",
        "letters of another alphabet": ("\ufffe" * (many // 4)).encode("utf-16"),
        "letters of three bytes": "\u20ac".encode() * (many // 3),
    }


def most_bytes() -> float:
    """What memory this process has had at most."""
    status = Path("/proc/self/status")  # what `resource` says includes the process that this one was started from
    if status.exists():
        return 1024 * float(re.findall(r"VmHWM:\s*(\d+) kB", status.read_text())[0])
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def spent(folder: Path) -> Iterator[tuple[str, str, float]]:
    """Upload, file, and what it took of the processor, for the files written there. [s]

    Each upload of lists takes every third, and each list comes to a third of the uploads; in the deep run all.
    """
    uploads = importlib.import_module("tests.panels.controls.test_uploads")
    given = 0
    for page in uploads.PAGES:
        for case in page():
            ending = "." + case.good[0][0].rpartition(".")[2]
            paths = sorted((folder / ("workbooks" if ending == ".xlsx" else "lists")).iterdir())
            if ending != ".xlsx" and not DEEP:
                paths, given = paths[given % 3 :: 3], given + 1
            for path in paths:
                content = path.read_bytes()
                began = time.process_time()
                reply = uploads.give(case.upload, f"a{ending}", content)
                yield f"{page.__name__} {ending}", path.name, time.process_time() - began
                assert "Traceback" not in reply
                assert "fault of the page" not in reply, (path.name, reply[:300])


if __name__ == "__main__":
    case = next(importlib.import_module("tests.panels.controls.test_uploads").plan())  # what is imported is nobody's
    importlib.import_module("openpyxl")
    before = most_bytes()
    timings = list(spent(Path(sys.argv[1])))
    print(json.dumps({"spent": timings, "bytes": most_bytes() - before}))
