"""CSV as spreadsheets write it, in and out: its code page, the mark between its cells, and no cell that is ever run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from wirecalc.errors import FileFaults, InputError

# What a spreadsheet may take for a formula, in full width too, or what was made safe before: where a cell begins, and
# behind what another spreadsheet takes for the mark between two cells; quotation marks may go when it reads them.
_BEGINS = r"(?:^|(?<=[,;\t\r\n]))"
_RUN = re.compile(_BEGINS + r"(?=['\"]*[=+\-@\t\r\n＝＋－＠])")
_SAFE = re.compile(_BEGINS + r"'(?=['\"]*[=+\-@\t\r\n＝＋－＠])")


def decoded(content: bytes) -> str:
    """Bytes to text: UTF-8, UTF-16 with its mark, or else Windows-1252. Never fails."""
    try:
        return content.decode("utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def read_rows(text: str, name: str) -> Iterator[list[str]]:
    """Rows of cells, parted by whichever of comma, semicolon and tab is most often in the first line.

    Parameters
    ----------
    text : str
        A whole file.
    name : str
        What the file is called in a message.

    Returns
    -------
    iterator of list of str
        A row each, as long as it is in the file.

    Raises
    ------
    FileFaults
        If it is no CSV: a quotation mark without its other one, or a cell of over 131072 characters.
    """
    head = text.partition("\n")[0]
    mark = max(",;\t", key=head.count)
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True):
            yield [_SAFE.sub("", cell) for cell in row]
    except csv.Error as why:
        raise FileFaults([InputError(name, str(why), "a CSV file", "Save it again as CSV.")]) from None


def csv_bytes(rows: Iterable[Sequence[str]]) -> bytes:
    """A CSV file. An apostrophe goes before what a spreadsheet would run; `read_rows` takes it off again."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([_RUN.sub("'", cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig", errors="replace")  # the mark tells spreadsheets that it is UTF-8
