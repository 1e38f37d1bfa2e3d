"""The texts of a workbook's cells, from its parts: XML after ECMA-376 part 1, clause 18 (SpreadsheetML).

Nothing is calculated, and of everything else in a workbook only that is read which cells refer to: texts and formats.
"""

from __future__ import annotations

import io
import posixpath
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree

Element = ElementTree.Element


class Book:
    """A workbook.

    Parameters
    ----------
    parts : mapping of str to bytes
        Its unpacked parts by their names; XML without definitions of its own, or reading it may take for ever.

    Raises
    ------
    Exception
        A damaged workbook can fail anywhere, here and in `rows`.
    """

    def __init__(self, parts: Mapping[str, bytes]) -> None:
        from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900  # here: long to load

        self._parts = parts
        place = next(target for kind, target in self._relations("").values() if kind.endswith("/officeDocument"))
        root, relations = ElementTree.fromstring(parts[place]), self._relations(place)
        places = {kind.rpartition("/")[2]: target for kind, target in relations.values()}
        self._sheets: dict[str, str] = {}
        old = False
        for element in root.iter():
            if _local(element) == "workbookPr":
                old = element.get("date1904", "0") in ("1", "true")
            elif _local(element) == "sheet":
                number = next((value for key, value in element.attrib.items() if key.endswith("}id")), "")
                if number in relations:
                    self._sheets[element.attrib["name"]] = relations[number][1]
        self._epoch = CALENDAR_MAC_1904 if old else CALENDAR_WINDOWS_1900
        self._texts = self._shared(places.get("sharedStrings", ""))
        self._formats = self._of_styles(places.get("styles", ""))

    @property
    def titles(self) -> list[str]:
        """Titles of all sheets, in their order."""
        return list(self._sheets)

    def rows(self, title: str, most_columns: int) -> Iterator[list[str]]:
        """The rows of a sheet, empty ones between them too.

        Parameters
        ----------
        title : str
        most_columns : int
            What stands further right is not read.

        Yields
        ------
        list of str
            A formula is its own text, a date as Python writes it; nothing at the right of the last cell.
        """
        last = 0
        for _, element in ElementTree.iterparse(io.BytesIO(self._parts[self._sheets[title]])):
            if _local(element) == "sheetData":  # what stands behind it is not of cells
                return
            if _local(element) != "row":
                continue
            number = int(element.get("r", last + 1))
            for _ in range(last + 1, number):
                yield []
            last, column, texts = max(last, number), 0, dict[int, str]()
            for cell in element:
                column = _column(cell.get("r", "").rstrip("0123456789")) or column + 1
                if column <= most_columns:
                    texts[column] = self._text(cell)
            element.clear()
            yield [texts.get(place, "") for place in range(1, max(texts, default=0) + 1)]

    def _relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Kind and place of what a part refers to, by its number there."""
        folder, name = posixpath.split(part)
        places = {}
        for relation in ElementTree.fromstring(self._parts[posixpath.join(folder, "_rels", f"{name}.rels")]):
            if relation.get("TargetMode") != "External":
                place = posixpath.normpath(posixpath.join("/", folder, relation.attrib["Target"])).lstrip("/")
                places[relation.attrib["Id"]] = (relation.attrib["Type"], place)
        return places

    def _shared(self, place: str) -> list[str]:
        texts = []
        for _, element in ElementTree.iterparse(io.BytesIO(self._parts[place])) if place in self._parts else ():
            if _local(element) == "si":
                texts.append(_words(element).replace("x005F_", ""))
                element.clear()
        return texts

    def _of_styles(self, place: str) -> list[str]:
        """The number format of each style of cells."""
        from openpyxl.styles.numbers import builtin_format_code

        if place not in self._parts:
            return []
        root = ElementTree.fromstring(self._parts[place])
        own = {
            element.get("numFmtId", ""): element.get("formatCode", "")
            for element in root.iter()
            if _local(element) == "numFmt"
        }
        styles = next((part for part in root if _local(part) == "cellXfs"), ())
        numbers = [element.get("numFmtId", "0") for element in styles]
        return [own.get(number) or builtin_format_code(int(number)) or "" for number in numbers]

    def _text(self, cell: Element) -> str:
        from openpyxl.utils.datetime import from_excel, from_ISO8601

        inside = {_local(part): part for part in cell}
        kind = cell.get("t", "n")
        if "f" in inside:
            return f"={inside['f'].text or ''}"
        if kind == "inlineStr":
            return _words(inside["is"]) if "is" in inside else ""
        value = inside["v"].text if "v" in inside else None
        if not value:
            return ""
        if kind == "s":
            return self._texts[int(value)]
        if kind == "b":
            return "yes" if int(value) else "no"
        if kind == "d":
            return str(from_ISO8601(value))  # type: ignore[no-untyped-call]
        if kind != "n":
            return value
        number = float(value) if any(mark in value for mark in ".eE") else int(value)
        style = int(cell.get("s", 0))
        is_date, is_span = _dated(self._formats[style]) if style < len(self._formats) else (False, False)
        if is_date:
            try:
                return str(from_excel(number, self._epoch, timedelta=is_span))
            except (OverflowError, ValueError):
                return "#VALUE!"
        return str(int(number)) if abs(number) < 1e15 and number == int(number) else str(number)


def _local(element: Any) -> str:
    """Its name without its namespace, of which there are two for the same (clause 18, strict and transitional)."""
    return str(element.tag).rpartition("}")[2]


def _words(element: Element) -> str:
    """A text, of several looks or of one; how it is to be read aloud does not belong to it."""
    words = []
    for part in element:
        for run in part if _local(part) == "r" else (part,):
            if _local(run) == "t":
                words.append(run.text or "")
    return "".join(words)


@lru_cache(maxsize=1000)
def _column(letters: str) -> int:
    """From 1; 0 of none."""
    from openpyxl.utils import column_index_from_string

    return column_index_from_string(letters) if letters else 0


@lru_cache(maxsize=1000)
def _dated(number_format: str) -> tuple[bool, bool]:
    """Whether a number of this format is a date or a time, and whether it is a span of time."""
    from openpyxl.styles.numbers import is_date_format, is_timedelta_format

    return bool(is_date_format(number_format)), bool(is_timedelta_format(number_format))
