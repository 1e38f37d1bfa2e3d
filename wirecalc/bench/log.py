"""A log of unmarked wires: what was typed of each, kept as CSV that a spreadsheet opens and this reads back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TypeVar

from wirecalc import csv_text
from wirecalc.bench.identify import identify_sample
from wirecalc.bench.known_wires import Size
from wirecalc.bench.meter import Accuracy, read_accuracy
from wirecalc.bench.sample import FIELDS, Sample, read_reading
from wirecalc.bench.words import said
from wirecalc.errors import FileFaults, InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size

Value = TypeVar("Value")

MOST_ROWS, MOST_BYTES, MOST_FAULTS = 500, 500_000, 100
WAYS: Mapping[str, str] = {"two": "two wires", "four": "four wires"}  # of two, the leads are subtracted
_COLUMNS = {
    "name": "Sample",
    **{key: field.title for key, field in FIELDS.items()},
    "way": "Meter wires",
    "accuracy": "Meter accuracy",
    "sold_as": "Sold as",
}
_LEADS_TOO = ", 0 if the meter was zeroed with its tips together"
_RESULT = "Result"  # written for people; worked out anew when read


@dataclass(frozen=True, kw_only=True)
class LoggedSample:
    """One sample of the log."""

    name: str
    texts: tuple[str, ...]
    """Of each of `wirecalc.bench.sample.FIELDS` as it was typed, "" where nothing was."""
    way: str
    """Key of `WAYS`."""
    accuracy: Accuracy
    """Of the meter."""
    sold_as: Size | None
    """The size on its label, if any."""

    def sample(self) -> tuple[Sample, tuple[str, ...]]:
        """The readings, and what is left out because something that belongs to it is missing.

        Raises
        ------
        InputError
            If a text cannot be read.
        """
        readings = {
            key: read_reading(text, key, self.accuracy)
            for key, text in zip(FIELDS, self.texts, strict=True)
            if text and not (key == "lead_ohm" and self.way == "four")
        }
        leads = ("lead_ohm",) if self.way == "two" else ()
        needs = {"strand_m": ("strands",), "ohm": ("length_m", *leads), "mass_kg": ("mass_length_m",)}
        waits = []
        for key, others in needs.items():
            missing = [FIELDS[other].title.lower() for other in others if other not in readings]
            if key in readings and missing:
                del readings[key]
                told = f"{FIELDS[key].title} does not count yet: enter the {' and the '.join(missing)}"
                waits.append(f"{told}{_LEADS_TOO if 'lead_ohm' not in readings and 'lead_ohm' in others else ''}.")
        return Sample(**readings), tuple(waits)

    def result(self) -> str:
        """What was found, in sentences."""
        return " ".join(said(identify_sample(self.sample()[0]), self.sold_as))


def log_csv(log: Sequence[LoggedSample], result: Callable[[LoggedSample], str] = LoggedSample.result) -> bytes:
    """The log as CSV, entries as they were typed; `from_csv` reads it back to equals.

    Parameters
    ----------
    log : sequence of LoggedSample
        In the order of the rows.
    result : callable of LoggedSample -> str
        The last column: `LoggedSample.result`, or a function that remembers what that said.

    Returns
    -------
    bytes
        UTF-8 with a byte order mark, as spreadsheets want it.

    See Also
    --------
    from_csv : The way back.
    """
    rows = [[*_COLUMNS.values(), _RESULT]]
    for kept in log:
        label = show_size(*kept.sold_as) if kept.sold_as else ""
        rows.append([kept.name, *kept.texts, WAYS[kept.way], str(kept.accuracy), label, result(kept)])
    return csv_text.csv_bytes(rows)


def from_csv(content: bytes) -> tuple[LoggedSample, ...]:
    """Read a log.

    Parameters
    ----------
    content : bytes
        Columns in any order, parted by comma, semicolon or tab; UTF-8, UTF-16 or a Western code page.

    Raises
    ------
    FileFaults
        With every fault of the file, by row and column.
    """
    if len(content) > MOST_BYTES:
        raise FileFaults([InputError("File", f"{len(content)} bytes", f"{MOST_BYTES} bytes or less")])
    rows = list(csv_text.read_rows(csv_text.decoded(content), "File"))
    heads = [cell.strip() for cell in rows[0]] if rows else []
    body = [(number, row) for number, row in enumerate(rows[1:], 2) if any(cell.strip() for cell in row)]
    faults = _of_heads(heads)
    if len(body) > MOST_ROWS:
        faults.append(InputError("File", f"{len(body)} rows", f"{MOST_ROWS} rows or less"))
    log = []
    if not faults:
        for number, row in body:
            kept, wrong = _row(number, row, heads)
            faults += wrong
            log += kept
    if len(faults) > MOST_FAULTS:
        more = f"{len(faults) - MOST_FAULTS} more faults"
        faults[MOST_FAULTS:] = [InputError("File", more, "none", "Mend those above first.")]
    if faults:
        raise FileFaults(faults)
    return tuple(log)


def _of_heads(heads: Sequence[str]) -> list[InputError]:
    wanted = (*_COLUMNS.values(), _RESULT)
    faults = [InputError("Row 1", "", f"the column “{name}”") for name in wanted[:-1] if name not in heads]
    left = set(wanted)
    for place, name in enumerate(heads, 1):
        if name not in left:
            allowed, hint = "each column of the log once", "Keep notes in the column Sample."
            faults.append(InputError(f"Row 1, column {place}", name, allowed, hint))
        left.discard(name)
    return faults


def _row(number: int, row: Sequence[str], heads: Sequence[str]) -> tuple[list[LoggedSample], list[InputError]]:
    """One row, or all that is wrong with it."""
    if len(row) != len(heads):
        return [], [InputError(f"Row {number}", f"{len(row)} columns", f"{len(heads)}, as the first row has")]
    cells = dict(zip(heads, row, strict=True))
    faults: list[InputError] = []

    def fault(head: str, why: InputError) -> None:
        place = f", column {heads.index(head) + 1} ({head})" if head in heads else ""
        faults.append(InputError(f"Row {number}{place}", why.given, why.allowed, why.hint))

    def taken(key: str, read: Callable[[str], Value]) -> Value | None:
        try:
            return read(cells[_COLUMNS[key]].strip())
        except InputError as why:
            fault(_COLUMNS[key], why)
            return None

    way = taken("way", _read_way)
    accuracy = taken("accuracy", read_accuracy)
    sold_as = taken("sold_as", read_label)
    texts = {key: cells[_COLUMNS[key]].strip() for key in FIELDS}
    for key in filter(texts.get, texts):
        taken(key, partial(read_reading, name=key))
    if way is None or accuracy is None or faults:
        return [], faults
    kept = LoggedSample(
        name=cells[_COLUMNS["name"]],
        texts=tuple(texts.values()),
        way=way,
        accuracy=accuracy,
        sold_as=sold_as,
    )
    try:
        identify_sample(kept.sample()[0])
    except InputError as why:
        fault(why.field, why)
    return [] if faults else [kept], faults


def _read_way(text: str) -> str:
    ways = {words: key for key, words in WAYS.items()}
    if text not in ways:
        raise InputError("Meter wires", text, " or ".join(ways))
    return ways[text]


def read_label(text: str) -> Size | None:
    """The size on a wire's label; None where there is none. `InputError` if it is no size."""
    return read_size(text, "Sold as") if text.strip() else None
