"""Small files that would hold a page for long: every upload answers each within 2 s and 200 MB."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tests import DEEP
from tests.support.paths import ROOT
from tests.support.worst_files import lists, workbooks
from wirecalc.errors import InputError
from wirecalc.vehicle import file as plan_file

MOST_S, MOST_BYTES = 2.0, 200e6


def slowness() -> float:
    """How much longer this machine takes than the one on which the bounds were set; 1 where it is no slower."""
    began = time.process_time()
    sum(number * number for number in range(3_000_000))
    return max(1.0, (time.process_time() - began) / 0.25)


def test_every_upload_answers_whatever_the_file(tmp_path: Path) -> None:
    for name, files in {"workbooks": workbooks(), "lists": lists()}.items():
        (tmp_path / name).mkdir()
        for file, content in files.items():
            (tmp_path / name / file).write_bytes(content)
    command = [sys.executable, "-m", "tests.support.worst_files", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    measured = json.loads(done.stdout)
    assert {name for _, name, _ in measured["spent"]} == {*workbooks(), *lists()}
    assert len({(upload, name) for upload, name, _ in measured["spent"]}) >= (120 if DEEP else 50)
    limit = MOST_S * slowness()
    assert [spent for spent in measured["spent"] if spent[2] > limit] == []
    assert 10e6 < measured["bytes"] < MOST_BYTES  # a workbook of the largest size is more than nothing


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("40 000 sheets", ", 200 sheets"),
        ("280 000 fonts", "at most 20000 tags that are not of cells"),
        ("shared strings", "at most 100000 texts"),
        ("another alphabet", "plain XML in UTF-8"),
        ("another coding", "tags that are not of cells"),
    ],
)
def test_what_is_too_much_is_said(name: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        plan_file.read_workbook(workbooks()[name])


def book(**more: int) -> bytes:
    """Written by another program: dates, shared strings, other sheets, looks."""
    made = openpyxl.Workbook()
    made.active.title = "Devices"
    made.active.append(["Name", "Kind"])
    made.active.append(["Battery", "battery"])
    wires = made.create_sheet("Wires")
    wires.append(["From", "To", "Length"])
    wires.append(["Battery", None, 1.5])
    wires["B3"] = "=A2"
    for number in range(more.get("sheets", 0)):
        made.create_sheet(f"Sheet {number}").append([number, f"text {number}", "=A1+1"])
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def test_what_a_shop_has_is_read_and_the_rest_named() -> None:
    text, others = plan_file.read_book(book(sheets=30))
    assert text.devices.rows == (("Battery", "battery"),)
    assert text.wires.rows == (("Battery", "", "1.5"), ("", "=A2", ""))
    assert others == tuple(f"Sheet {number}" for number in range(30))


def test_a_workbook_is_opened_once(monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[object] = []
    made = zipfile.ZipFile.__init__
    monkeypatch.setattr(
        zipfile.ZipFile, "__init__", lambda self, *a, **k: (opened.append(self), made(self, *a, **k))[1]
    )
    content = book(sheets=1)
    opened.clear()
    plan_file.read_book(content)
    assert len(opened) == 1
