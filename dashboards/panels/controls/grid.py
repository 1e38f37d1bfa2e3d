"""A list to type in: a table of text boxes that stays light with some hundreds of rows.

The kernel holds the text; the browser sends each cell that was changed and draws only cells whose text came back
different, so that what is being typed elsewhere stays.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets

_log = logging.getLogger(__name__)


class Grid(anywidget.AnyWidget):
    """An editable list.

    Parameters
    ----------
    label : str
        Of the table.
    one : str
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
    """

    _esm = Path(__file__).with_name("grid.js")
    _css = Path(__file__).with_name("grid.css")
    label = traitlets.Unicode().tag(sync=True)
    one = traitlets.Unicode().tag(sync=True)
    help = traitlets.Dict().tag(sync=True)
    judged = traitlets.Bool().tag(sync=True)
    by = traitlets.Unicode().tag(sync=True)
    unused = traitlets.Dict().tag(sync=True)
    sheet: traitlets.Dict[str, Any] = traitlets.Dict({"columns": [], "rows": [], "number": 0}).tag(sync=True)
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
        one: str,
        help: Mapping[str, str],
        write: Callable[[int, str, str], None],
        remove: Callable[[int], None],
        *,
        judged: bool = False,
        by: str = "",
        unused: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        super().__init__(label=label, one=one, help=dict(help), judged=judged, by=by, unused=dict(unused or {}))
        self.write, self.remove = write, remove
        self.on_msg(self._told)

    def show(self, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Draw this; `number` counts the rows' changes of place, so that an edit never lands in another row."""
        number = self.sheet["number"] + (len(rows) != len(self.sheet["rows"]))
        self.sheet = {"columns": list(columns), "rows": [list(row) for row in rows], "number": number}

    def go(self, row: int, column: str) -> None:
        """Put the person into a cell."""
        self.focus = [row, column, self.focus[2] + 1]

    def _told(self, _widget: Any, content: Any, _buffers: Any) -> None:
        try:
            if int(content["number"]) != self.sheet["number"]:
                return
            if "remove" in content:
                self.remove(int(content["remove"]))
            elif content["column"] in self.sheet["columns"]:
                self.write(int(content["row"]), str(content["column"]), str(content["text"]))
        except Exception:
            _log.exception("a cell could not be taken")
