"""A log comes back as it was, and all that is wrong with a file is said in one go."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.kept_samples import CLAD_18, COPPER_18, IMPOSSIBLE, PLAIN, kept
from wirecalc.bench.log import MOST_BYTES, MOST_ROWS, WAYS, LoggedSample, from_csv, log_csv
from wirecalc.bench.sample import FIELDS
from wirecalc.errors import FileFaults, InputError

FROSTY = {**COPPER_18, "temperature_c": "-5 °C"}


def text_of(*log: LoggedSample) -> str:
    return log_csv(log).decode("utf-8-sig")


def at(row: int, column: int, text: str, *log: LoggedSample) -> bytes:
    """The log as CSV with one cell replaced; rows and columns as a spreadsheet counts them."""
    rows = list(csv.reader(io.StringIO(text_of(*log), newline="")))
    rows[row - 1][column - 1] = text
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


NAME = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20) | st.sampled_from(
    ["=1+1", "+cmd", "-2", "@SUM(A1)", "'quoted", "\t=1", "\r=1", '"', "a,b;c\nd"]
)


@settings(max_examples=tried(30))
@given(
    st.lists(st.tuples(NAME, st.sampled_from([{}, COPPER_18, CLAD_18, IMPOSSIBLE, FROSTY]), st.sampled_from(list(WAYS)),
                       st.sampled_from([None, ("AWG", 18.0), ("AWG", 0.0), ("mm2", 2.5)])), max_size=4),
)  # fmt: skip
def test_a_log_comes_back_as_it_was(rows: list[tuple[str, dict[str, str], str, Any]]) -> None:
    log = tuple(kept(texts, name=name, way=way, sold_as=sold_as) for name, texts, way, sold_as in rows)
    content = log_csv(log)
    assert from_csv(content) == log
    assert from_csv(content.decode("utf-8-sig").encode("utf-16")) == log
    cells = [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")) for cell in row]
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in cells)  # a spreadsheet runs it


@pytest.mark.parametrize("separator", [";", "\t"])
def test_a_spreadsheets_own_separator(separator: str) -> None:
    log = (kept(CLAD_18, sold_as=("AWG", 18.0)), kept(COPPER_18))
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows(csv.reader(io.StringIO(text_of(*log), newline="")))
    assert from_csv(out.getvalue().encode()) == log


def test_columns_may_stand_in_any_order_and_the_result_is_worked_out_anew() -> None:
    log = (kept(CLAD_18, sold_as=("AWG", 18.0)),)
    rows = [row[::-1] for row in csv.reader(io.StringIO(text_of(*log), newline=""))]
    rows[1][0] = "pure gold"
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    read_back = from_csv(out.getvalue().encode())
    assert read_back == log
    assert "gold" not in text_of(*read_back)
    assert "copper-clad aluminium is likely" in text_of(*read_back)


def test_every_fault_of_a_file_in_one_go() -> None:
    text = text_of(kept(COPPER_18), kept(CLAD_18), kept(COPPER_18))
    text = text.replace("16,", "7.5,", 1).replace("89.0 mohm", "89.0").replace("1 % + 3 counts", "3", 1)
    text = text.replace("two wires", "2 wires", 1)
    with pytest.raises(FileFaults) as caught:
        from_csv(text.encode())
    assert sorted(fault.field for fault in caught.value.faults) == [
        "Row 2, column 12 (Meter wires)",
        "Row 2, column 13 (Meter accuracy)",
        "Row 2, column 2 (Strands)",
        "Row 3, column 5 (Resistance)",
    ]


EMPTY = text_of()
ROW = text_of(PLAIN).splitlines()[1] + "\r\n"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the column “Sample”"),
        ("\ufeff\n".encode(), "the column “Sample”"),
        (EMPTY.replace("Strands", "Stands").encode(), "the column “Strands”"),
        (EMPTY.replace("Result", "Remark").encode(), "each column of the log once"),
        (EMPTY.replace("Result", "Sample").encode(), "each column of the log once"),
        ((EMPTY + "spool 4,7\r\n").encode(), "Row 2: “2 columns”"),
        (at(2, 5, "20.1 mohm", kept(COPPER_18)), "column 5 (Resistance)"),  # less the leads nothing is left
        (at(2, 14, "stone", PLAIN), "column 14 (Sold as)"),
        ((EMPTY + '"open').encode(), "a CSV file"),
        (b"\xff\xfe\x00", "the column “Sample”"),
        (b"\x81\x8d" * 9, "the column “Sample”"),
        (b"x" * 500_001, "500000 bytes or less"),
        ((EMPTY + ROW * 501).encode(), "500 rows or less"),
        ((EMPTY + "1,2\r\n" * 200).encode(), "100 more faults"),
    ],
)
def test_files_refused(content: bytes, words: str) -> None:
    with pytest.raises(InputError) as caught:
        from_csv(content)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("drop", "words"),
    [
        ("strands", "Strand diameter does not count yet: enter the strands."),
        ("length_m", "Resistance does not count yet: enter the measured length."),
        (
            "lead_ohm",
            "Resistance does not count yet: enter the meter leads, 0 if the meter was zeroed with its tips together.",
        ),
    ],
)
def test_a_reading_waits_for_what_belongs_to_it(drop: str, words: str) -> None:
    _, waits = kept({key: text for key, text in COPPER_18.items() if key != drop}).sample()
    assert waits == (words,)
    assert kept(COPPER_18).sample()[1] == ()


def test_four_wires_need_no_leads_and_subtract_none() -> None:
    four, waits = kept(COPPER_18, way="four").sample()
    assert four.lead_ohm is None
    assert waits == ()


def test_no_more_bytes_than_a_full_log_can_have() -> None:
    widest = kept(dict.fromkeys(FIELDS, "9" * 60), name="n" * 60)
    assert MOST_ROWS * (len("".join(widest.texts)) + 250) < MOST_BYTES
