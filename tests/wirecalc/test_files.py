"""Files to and from the person's device, without a browser: the pages' journeys press the buttons."""

from __future__ import annotations

import errno
import logging
from typing import Any

import pytest

from dashboards.panels.controls.files import Download, Upload
from wirecalc.errors import InputError


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, Any]]:
    downloads: list[tuple[Any, Any]] = []
    monkeypatch.setattr(Download, "send", lambda _self, content, buffers=None: downloads.append((content, buffers)))
    return downloads


def test_a_press_sends_what_is_made_then(sent: list[tuple[Any, Any]]) -> None:
    content = [b"first"]
    button = Download("Save", lambda: ("a.csv", content[0], "text/csv"))
    content[0] = b"second"
    button.take({"make": True})
    assert sent == [({"name": "a.csv", "type": "text/csv", "note": ""}, [b"second"])]


def test_what_cannot_be_made_is_said(sent: list[tuple[Any, Any]], caplog: pytest.LogCaptureFixture) -> None:
    faults = iter([InputError("Plan", "<none>", "one wire at least"), ZeroDivisionError("secret")])

    def make() -> tuple[str, bytes, str]:
        raise next(faults)

    button = Download("Save", make)
    button.take({"make": True})
    assert "&lt;none&gt;" in sent[0][0]["note"]
    with caplog.at_level(logging.ERROR):
        button.take({"make": True})
    assert "fault of the page" in sent[1][0]["note"]
    assert "secret" not in sent[1][0]["note"]
    assert "secret" in caplog.text


def test_a_full_disk_is_said(sent: list[tuple[Any, Any]]) -> None:
    def make() -> tuple[str, bytes, str]:
        raise OSError(errno.ENOSPC, "No space left on device")  # openpyxl writes to a temporary file first

    Download("Save", make).take({"make": True})
    assert "disk of the machine that serves these pages is full" in sent[0][0]["note"]


def test_a_file_is_handed_on() -> None:
    taken: list[tuple[str, bytes]] = []
    upload = Upload("Read", ".csv", lambda name, content: taken.append((name, content)))
    upload.take({"name": "<a>.csv", "size": 3, "content": b"1,2"})
    assert taken == [("<a>.csv", b"1,2")]
    assert "&lt;a&gt;.csv was read" in upload.note


@pytest.mark.parametrize(
    "what",
    [
        {"name": "big.csv", "size": 11},
        {"name": "big.csv", "size": 1, "content": b"12345678901"},  # a browser that lies
        {"name": "big.csv", "size": 1},
    ],
)
def test_a_file_too_large_is_refused(what: dict[str, Any]) -> None:
    upload = Upload("Read", ".csv", lambda _name, _content: pytest.fail("taken"), most_bytes=10)
    upload.take(what)
    assert "role='alert'" in upload.note
    assert "big.csv" in upload.note


@pytest.mark.parametrize("name", ["plan.exe", "plan", "plan.csv.exe", "../csv", "", "plan.xls"])
def test_a_file_of_another_kind_is_refused(name: str) -> None:
    upload = Upload("Read", ".csv,.xlsx,text/csv", lambda _name, _content: pytest.fail("taken"))
    upload.take({"name": name, "size": 1, "content": b"1"})
    assert "ends with .csv or .xlsx" in upload.note
    taken: list[str] = []
    Upload("Read", ".csv", lambda name, _content: taken.append(name)).take(
        {"name": "PLAN.CSV", "size": 1, "content": b"1"}
    )
    assert taken == ["PLAN.CSV"]


def test_a_message_of_another_shape_is_no_traceback() -> None:
    upload = Upload("Read", ".csv", lambda _name, _content: pytest.fail("taken"))
    upload.take({"name": 1})
    assert "role='alert'" in upload.note
