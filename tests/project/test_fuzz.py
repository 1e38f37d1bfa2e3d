"""Whatever is typed or opened is read or refused in words, soon and in little memory; no export is ever run."""

from __future__ import annotations

import csv
import gc
import io
import os
import platform
import re
import subprocess
import sys
import time
import tracemalloc
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.controls.entry import Entry
from dashboards.panels.handout.document import workbook
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests import DEEP, some_of, tried
from tests.support.handout_example import hostile
from tests.support.parsers import PARSERS, held, with_part
from tests.support.paths import ROOT
from tests.support.worst_files import most_bytes
from wirecalc import csv_text
from wirecalc.bench import log as sample_log
from wirecalc.cutting.pieces import Spool
from wirecalc.errors import InputError
from wirecalc.practice import progress
from wirecalc.vehicle import buy, file
from wirecalc.vehicle.file import MOST_BYTES, MOST_TAGS, MOST_UNPACKED
from wirecalc.vehicle.text import SHEETS, PlanSheet, PlanText

RESET = Path("/proc/self/clear_refs")
MORE = int(os.environ.get("WIRECALC_FUZZ", "1"))  # times as many examples
SLOW = {"workbook", "part of a workbook", "plan as CSV", "bench log"}
# what has gone wrong in parsers of others: signs that look alike, numbers that are none, marks of a format
WORDS = [
    "nan", "inf", "-Infinity", "1e999", "1e-999", "-0", "0x10", "1_000", "９", "٣", "½", "²", "Ⅳ", "𝟗", "\0", "\u202e",
    "\ufeff", "\u2028", "\x85", "\x1c", "´", "″", "ß", "İ", "\ufffe", "\U0010ffff", "=1+1", "'", "''", '"', '""', ",",
    ";", "\t", "\r", "\n", "\r\n", " ", "1/0", "0/0", "±", "+-", "%", "&", "%00", "%ff", "#", "choose", "none", "null",
    "true", "{", "[", "]]>", "<c/>", "&#0;", "</row>", "<f>", "_x0000_", "9" * 400, "9" * 5000, "x" * 600, "\f\f",
]  # fmt: skip
NOISE = (
    st.binary(max_size=200)
    | st.text(max_size=100).map(lambda text: text.encode())
    | st.text(st.characters(), max_size=100).map(lambda text: text.encode("utf-8", "surrogatepass"))
    | st.lists(st.sampled_from(WORDS) | st.text("0123456789.,/-+ eE", max_size=6), max_size=8).map(
        lambda words: "".join(words).encode()
    )
)
PLACE = st.floats(0, 1)
CHANGE = st.tuples(
    st.sampled_from(["put", "delete", "double", "swap", "flip", "over", "columns", "cut"]),
    PLACE,
    PLACE,
    st.integers(1, 40),
    st.binary(max_size=8) | st.sampled_from(WORDS).map(lambda word: word.encode("utf-8", "surrogatepass")),
)


def changed(content: bytes, change: tuple[str, float, float, int, bytes]) -> bytes:
    """A valid file with one thing wrong."""
    what, start, other, length, put = change
    at, to = sorted(int(place * len(content)) for place in (start, other))
    end = min(at + length, len(content))
    match what:
        case "put":
            return content[:at] + put + content[at:]
        case "over":
            return content[:at] + put + content[at + len(put) :]
        case "delete":
            return content[:at] + content[end:]
        case "double":
            return content[:end] + content[at:end] * length + content[end:]
        case "swap":
            return content[:at] + content[to : to + length] + content[end:to] + content[at:end] + content[to + length :]
        case "flip":
            return content[:at] + bytes(byte ^ (1 << length % 8) for byte in content[at:end]) + content[end:]
        case "columns":
            rows = [row.split(b",") for row in content.split(b"\n")]
            return b"\n".join(b",".join(row[length % len(row) :] + row[: length % len(row)]) for row in rows)
        case _:
            return content[:at]


@pytest.mark.parametrize("name", PARSERS)
def test_noise_is_read_or_refused(name: str) -> None:
    @settings(max_examples=tried(15 if name in SLOW else 60) * MORE)
    @given(NOISE)
    def search(content: bytes) -> None:
        held(PARSERS[name], content)

    search()


@pytest.mark.parametrize("name", PARSERS)
def test_a_valid_entry_or_file_with_things_wrong_is_read_or_refused(name: str) -> None:
    parser = PARSERS[name]
    assert [held(parser, seed) for seed in parser.seeds] == [None] * len(parser.seeds)

    @settings(max_examples=tried(15 if name in SLOW else 60) * MORE)
    @given(st.sampled_from(parser.seeds), st.lists(CHANGE, min_size=1, max_size=4))
    def search(content: bytes, changes: list[tuple[str, float, float, int, bytes]]) -> None:
        for change in changes:
            content = changed(content, change)
        held(parser, content)

    search()


FOUND: list[tuple[str, bytes]] = [
    ("price list", b"Price,price,item\n1,2,a\n"),  # two columns alike
    ("price list", b"item,price\n\xed\xa0\x80,1\n"),
]


@pytest.mark.parametrize(("name", "content"), FOUND)
def test_what_was_found_once(name: str, content: bytes) -> None:
    held(PARSERS[name], content)


def test_every_entry_of_every_page_reads_or_refuses() -> None:
    """Every entry takes a tenth of the texts, and every text comes to a tenth of the entries; in the deep run all."""
    panels = [OneRunPanel(), BenchPanel(), PracticePanel(1), WholeVehiclePanel(), ShowAndHearPanel()]
    for panel in panels:
        bar = getattr(panel, "bar", None)
        for option in bar.options if bar else ():  # a tab is made when it is first shown
            bar.value = option[1] if isinstance(option, tuple) else option
    entries = [entry for entry in gc.get_objects() if isinstance(entry, Entry)]
    assert len(entries) >= 100
    typical = ["12 AWG", "5 m", "4 ohm", "1e300 m", "9" * 64, "20 °C ± 2 K", "1,5; 2", "OL", "-1", "0", "1;" * 50_000]
    texts = [*WORDS, *DANGEROUS, "\ud800", *typical]
    for number, text in enumerate(texts):
        for entry in entries if DEEP else entries[number % 10 :: 10]:
            try:
                assert isinstance(entry.show(entry.read(text)), str)
            except InputError as fault:
                message = str(fault)
                assert message.encode(), (entry.text.description, text)


# --- what is small and swells -----------------------------------------------------------------------------------------

_MAIN = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def sheet_part(inside: bytes, name: str = "xl/worksheets/sheet1.xml") -> bytes:
    return with_part(name, b"<worksheet " + _MAIN + b"><sheetData>" + inside + b"</sheetData></worksheet>")


def styles(inside: bytes) -> bytes:
    return with_part("xl/styles.xml", b"<styleSheet " + _MAIN + b">" + inside + b"</styleSheet>")


def packed_otherwise() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as parts:
        parts.writestr("xl/workbook.xml", b" " * 1_000_000)
    return out.getvalue()


def csv_plan(first: bytes, second: bytes = b"Name,From\n") -> Callable[[], object]:
    return lambda: file.read_csv(first, second)


BOMBS: dict[str, tuple[Callable[[], object], str]] = {
    "cells": (lambda: file.read_workbook(sheet_part(b"<row>" + b"<c/>" * 2_900_000 + b"</row>")), "tags of XML"),
    "rows": (lambda: file.read_workbook(sheet_part(b"<row/>" * 1_900_000)), "tags of XML"),
    "a sheet of another name": (
        lambda: file.read_workbook(sheet_part(b"<row/>" * 1_900_000, "xl/sheet.dat")), "tags of XML",
    ),
    "styles": (lambda: file.read_workbook(styles(b"<cellXfs>" + b"<xf/>" * 2_300_000 + b"</cellXfs>")), "tags"),
    "as many cells as a third of what may be": (
        lambda: file.read_workbook(sheet_part(b"<row>" + b"<c/>" * (MOST_TAGS // 3) + b"</row>")), "Devices",
    ),
    "a cell of 10 MB": (
        lambda: file.read_workbook(
            sheet_part(b'<row><c t="inlineStr"><is><t>' + b"x" * 10_000_000 + b"</t></is></c></row>")
        ),
        "10000000 characters",
    ),
    "unpacked": (lambda: file.read_workbook(with_part("a.xml", b" " * MOST_UNPACKED)), "12 MB unpacked"),
    "packed otherwise": (lambda: file.read_workbook(packed_otherwise()), "Save it again"),
    "the last row of all": (lambda: file.read_workbook(sheet_part(
        b'<row><c t="str"><v>Kind</v></c></row><row r="1048576"><c t="str"><v>x</v></c></row>'
    )), "over 1000 rows"),
    "a CSV file of 10 MB in one cell": (csv_plan(b'"' + b"x" * 10_000_000 + b'"'), "2 MB"),
    "a CSV file in one cell": (csv_plan(b'"' + b"x" * (MOST_BYTES - 10) + b'"'), "CSV"),
    "a CSV file of commas": (csv_plan(b"x" + b"," * (MOST_BYTES - 10) + b"x"), "at most 80"),
    "a CSV file of line ends": (csv_plan(b"Name,Kind" + b"\n" * (MOST_BYTES - 10)), "over 1000 rows"),
    "headings of a log": (lambda: sample_log.from_csv(b"Sample," * (sample_log.MOST_BYTES // 7)), "Strands"),
    "prices in columns": (lambda: buy.read_prices("item," * 400_000), "each once"),
    "prices in rows": (lambda: buy.read_prices("item,price\n" + "a,x\n" * 490_000), "Rows of the price list"),
    "wrong prices": (lambda: buy.read_prices("item,price\n" + "a,x\n" * buy.MOST_PRICES), "9990 rows more"),
    "an impedance file of marks": (lambda: PARSERS["impedance file"].take(b"1;" * 990_000), "990000 columns"),
    "brackets": (lambda: progress.from_json(b"[" * progress.MOST_BYTES), "JSON"),
    "sizes": (lambda: PARSERS["stock"].take(b"12 AWG;" * 500_000), "at most 100"),
    "lengths": (lambda: PARSERS["spools"].take(b"1;" * 1_000_000), "1 to 20 lengths"),
    "one text": (lambda: PARSERS["size"].take(b"9" * 4_000_000), "at most 64"),
}  # fmt: skip


@contextmanager
def watched() -> Iterator[list[float]]:
    """The most memory that is taken meanwhile: by each allocation in the deep run, else by Linux' count of pages."""
    taken = [0.0]
    if DEEP or not RESET.exists():
        tracemalloc.start()
        try:
            yield taken
            taken[0] = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        return
    gc.collect()
    RESET.write_text("5")  # from here on the most is counted anew
    before = most_bytes()
    yield taken
    taken[0] = most_bytes() - before


@pytest.mark.parametrize("name", some_of(BOMBS, 9))
def test_what_would_swell_is_refused_in_bounded_time_and_memory(name: str) -> None:
    act, words = BOMBS[name]
    start = time.process_time()
    with watched() as taken, pytest.raises(InputError, match=words):
        act()
    assert time.process_time() - start < 12  # where allocations are watched it takes two to five times as long
    assert taken[0] < 150e6


def test_the_fullest_plan_can_be_saved_and_opened() -> None:
    sheets = {}
    for name, fields in SHEETS.items():
        columns = tuple(field.column for field in fields)
        sheets[name] = PlanSheet(columns=columns, rows=(columns,) * file.MOST_ROWS)
    text = PlanText(devices=sheets["Devices"], wires=sheets["Wires"])
    content = file.write_workbook(text)
    start = time.process_time()
    assert file.read_workbook(content) == text
    assert time.process_time() - start < 10  # 1 to 2 where nothing else runs


def test_the_log_of_most_rows_is_read_in_bounded_time() -> None:
    log = sample_log.from_csv(PARSERS["bench log"].seeds[0])
    content = sample_log.log_csv(log[:1] * sample_log.MOST_ROWS)
    start = time.process_time()
    assert len(sample_log.from_csv(content)) == sample_log.MOST_ROWS
    assert time.process_time() - start < 10  # 1 to 2 where nothing else runs


# --- no cell is run ---------------------------------------------------------------------------------------------------

RUN = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
APART = (";", "\t", ",")  # what spreadsheets take for the mark between two cells, by the country they are set to
DANGEROUS = [f"{mark}1+1" for mark in RUN] + ["=HYPERLINK(1)", "''=1", "'@x", "'quoted", "-5 °C", "+"]
DANGEROUS += ["x;=1+1", "x;+1", "x\t=1+1", "x,=1+1", "x;'=1", 'x;"=1', 'x;""=1', ";;@x", "x;\n=1", "x\n=1+1", "x;ok"]


def runs_nothing(content: bytes) -> bool:
    """Of a workbook or a CSV file."""
    if content[:2] != b"PK":
        text = content.decode("utf-8-sig")
        cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
        # elsewhere: by another mark, with quotation marks that are then not where they belong taken away
        lines = [line for line in re.split("[\r\n]", text) if line]
        cells += [cell.strip('"') for mark in APART[:2] for line in lines for cell in line.split(mark)]
        return not any(cell.startswith(RUN) for cell in cells)
    book = openpyxl.load_workbook(io.BytesIO(content))
    kinds = {cell.data_type for page in book for row in page.iter_rows() for cell in row}
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        formulas = [name for name in parts.namelist() if b"<f" in parts.read(name) and "worksheets" in name]
    return kinds <= {"s", "n"} and not formulas


def dangerous_plan() -> PlanText:
    cells = [file.clean_cell(text) for text in DANGEROUS]
    rows = tuple((text, "battery", "end") for text in cells)
    return PlanText(
        devices=PlanSheet(columns=("Name", "Kind", "=1+1"), rows=rows),
        wires=PlanSheet(columns=("Name", "From", "@x"), rows=rows),
    )


def dangerous_log() -> tuple[sample_log.LoggedSample, ...]:
    sample = sample_log.from_csv(PARSERS["bench log"].seeds[0])[1]
    return tuple(
        sample_log.LoggedSample(name=text, texts=sample.texts, way="two", accuracy=sample.accuracy, sold_as=None)
        for text in DANGEROUS
    )


def dangerous_buy_list() -> buy.BuyList:
    pulls = [buy.Pull(name="run", wire=text, length_m=1.0) for text in DANGEROUS]
    return buy.buy(pulls, [Spool(length_m=10.0)], seconds=5)


EXPORTS: dict[str, Callable[[], tuple[bytes, ...]]] = {
    "plan .xlsx": lambda: (file.write_workbook(dangerous_plan()),),
    "plan .csv": lambda: file.write_csv(dangerous_plan()),
    "template .xlsx": lambda: (file.write_workbook(file.template()),),
    "price list .csv": lambda: (buy.price_list(dangerous_buy_list()),),
    "bench log .csv": lambda: (sample_log.log_csv(dangerous_log()),),
    "handout .xlsx": lambda: (workbook(hostile()),),
}


@pytest.mark.parametrize("name", EXPORTS)
def test_no_cell_of_an_export_is_run(name: str) -> None:
    assert all(runs_nothing(content) for content in EXPORTS[name]())


def test_what_is_made_safe_reads_back_as_it_was_typed() -> None:
    assert file.read_workbook(file.write_workbook(dangerous_plan())) == dangerous_plan()
    assert file.read_csv(*file.write_csv(dangerous_plan())) == dangerous_plan()
    assert sample_log.from_csv(sample_log.log_csv(dangerous_log())) == dangerous_log()
    buy_list = dangerous_buy_list()
    names = csv_text.decoded(buy.price_list(buy_list)).replace(",\r\n", ",2\r\n")
    assert set(buy.read_prices(names)) == {item.strip() for item in (*buy_list.offered, *buy_list.items["item"])}


@given(st.lists(st.lists(st.sampled_from([*WORDS, *DANGEROUS]) | st.text(max_size=5), min_size=2, max_size=2)))
def test_any_cells_come_back_from_csv(rows: list[list[str]]) -> None:
    whole = [["a", "b"], *rows]
    content = csv_text.csv_bytes(whole)
    assert runs_nothing(content)
    plain = [[cell.encode("utf-8", "replace").decode() for cell in row] for row in whole]
    assert list(csv_text.read_rows(csv_text.decoded(content), "File")) == plain


if sys.platform == "linux" and platform.machine() == "x86_64" and sys.version_info < (3, 15):  # atheris' wheels

    def test_a_search_led_by_coverage_finds_nothing() -> None:
        runs = max(tried(400), 100)  # every seed is tried first
        command = [sys.executable, "-m", "tests.support.fuzz_atheris", "all", f"-runs={runs}", "-seed=7"]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300)
        assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
        assert f"Done {runs} runs" in done.stderr
