"""A list to type in: a table of text boxes that stays light with some hundreds of rows.

The kernel holds the text; the browser sends each cell that was changed and draws only cells whose text came back
different, so that what is being typed elsewhere stays.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable


class Grid(Actable):
    """An editable list.

    Parameters
    ----------
    label : str
        Of the table.
    row_name : str
        What a row is: "the wire".
    help : mapping of str to str
        What is said over each heading.
    write : callable of (int, str, str) -> None
        Row from 0, heading, text: a cell was changed.
    remove : callable of int -> None
        A row is to go.
    judged : bool
        Whether `marks` are shown.
    by, unused : str, mapping of str to sequence of str
        The headings that a row does not need, by what stands in the column `by`.
    assumed : mapping of str to mapping of str to str
        What holds where a cell is empty, by what stands in the column `by` (nothing without one) and heading.
    """

    _esm = Path(__file__).with_name("grid.js")
    _css = Path(__file__).with_name("grid.css")
    label = traitlets.Unicode().tag(sync=True)
    row_name = traitlets.Unicode().tag(sync=True)
    help = traitlets.Dict().tag(sync=True)
    judged = traitlets.Bool().tag(sync=True)
    by = traitlets.Unicode().tag(sync=True)
    unused = traitlets.Dict().tag(sync=True)
    assumed = traitlets.Dict().tag(sync=True)
    sheet: traitlets.Dict[str, Any] = traitlets.Dict({"columns": [], "rows": [], "ids": []}).tag(sync=True)
    """What stands in it; `ids` says which row is which, wherever it moves to."""
    words = traitlets.Dict().tag(sync=True)
    """What is offered while typing, by heading."""
    marks: traitlets.List[str] = traitlets.List().tag(sync=True)
    """What is said of each row."""
    faults: traitlets.List[Any] = traitlets.List().tag(sync=True)
    """Row, heading and what is wrong."""
    focus: traitlets.List[Any] = traitlets.List([-1, "", 0]).tag(sync=True)

    def __init__(
        self,
        label: str,
        row_name: str,
        help: Mapping[str, str],
        write: Callable[[int, str, str], None],
        remove: Callable[[int], None],
        *,
        judged: bool = False,
        by: str = "",
        unused: Mapping[str, Sequence[str]] | None = None,
        assumed: Mapping[str, Mapping[str, str]] | None = None,
    ) -> None:
        super().__init__(
            label=label, row_name=row_name, help=dict(help), judged=judged, by=by, unused=dict(unused or {})
        )
        self.assumed = {key: dict(each) for key, each in (assumed or {}).items()}
        self.write, self.remove = write, remove
        self._new = itertools.count(1)

    def show(self, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Draw this. Rows that stay at the head or at the end are the same rows, so an edit never lands in another."""
        now, before, ids = [list(row) for row in rows], self.sheet["rows"], self.sheet["ids"]
        head = end = 0
        if list(columns) != self.sheet["columns"] and len(now) == len(before):
            head = len(now)
        least = min(len(now), len(before))
        while head < least and now[head] == before[head]:
            head += 1
        while end < least - head and now[-1 - end] == before[-1 - end]:
            end += 1
        if len(now) == len(before) == head + end + 1:  # a cell was changed
            head += 1
        new = [next(self._new) for _ in range(len(now) - head - end)]
        ids = [*ids[:head], *new, *ids[len(before) - end :]]
        self.sheet = {"columns": list(columns), "rows": now, "ids": ids}

    def go(self, row: int, column: str) -> None:
        """Put the person into a cell."""
        self.focus = [row, column, self.focus[2] + 1]

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`; what was done to a row that is no longer there is left."""
        if what.get("id") in self.sheet["ids"]:
            self._take(self.sheet["ids"].index(what["id"]), what)

    def again(self, what: dict[str, Any]) -> None:
        """See `Actable`: to the row that begins and reads there as that one did, nearest to its place."""
        columns = self.sheet["columns"]
        at = columns.index(what["column"]) if what.get("column") in columns else 0
        alike = [
            place
            for place, row in enumerate(self.sheet["rows"])
            if row and row[0] == what["first"] and row[at] == what["was"]
        ]
        if alike:
            self._take(min(alike, key=lambda place: abs(place - int(what["row"]))), what)

    def _take(self, row: int, what: dict[str, Any]) -> None:
        if what.get("remove"):
            self.remove(row)
        elif what["column"] in self.sheet["columns"]:
            self.write(row, str(what["column"]), str(what["text"]))
