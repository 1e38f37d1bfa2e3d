"""Tables as HTML, by one builder: every table has a name, and scrolls in its own box, by the keyboard too."""

from __future__ import annotations

import html
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Html:
    """A cell that is markup already, such as a number that opens."""

    markup: str
    kind: str = ""
    """Of the page's style."""
    names_row: bool = False
    """Whether it says what its row is about, so that it is read out before each cell of the row."""


Cell = str | Html


def html_table(
    title: Cell,
    heads: Sequence[Cell],
    rows: Sequence[Sequence[Cell]],
    *,
    region: str = "",
    kind: str = "wc-words wc-wrap wc-as-cards",
    chosen: Collection[int] = (),
    row_kinds: Sequence[str] = (),
) -> str:
    """A table in a box that scrolls where it is too wide.

    Parameters
    ----------
    title : Cell
        Its caption; one of markup needs a `region`.
    heads : sequence of m Cell
        An empty one is over the names of the rows.
    rows : sequence of n sequence of m Cell
        Text is never markup; what is, is `Html`.
    region : str
        A short name of the box for who hears the page; the title without it.
    kind : str
        Classes of the table besides wc-table: wc-words for text, wc-wrap to wrap it, none for numbers; wc-as-cards
        where a phone shows each row as a card, with its head before each cell.
    chosen : collection of int
        Places of rows that stand out.
    row_kinds : sequence of n str, optional
        A class for each row, instead of `chosen`.

    Returns
    -------
    str
    """
    kinds = row_kinds or ["wc-chosen" if place in chosen else "" for place in range(len(rows))]
    head = "".join(_cell("th scope='col'", cell) if cell else "<td></td>" for cell in heads)
    cells = [f"td data-head='{_plain(cell)}'" if "wc-as-cards" in kind else "td" for cell in heads]
    body = "".join(
        f"<tr{_class(of_row)}>{''.join(map(_cell, cells, row))}</tr>" for row, of_row in zip(rows, kinds, strict=True)
    )
    name = region or (title.markup if isinstance(title, Html) else title)
    return scrolled_table(
        name, f"{_cell('caption', title)}<thead><tr>{head}</tr></thead><tbody>{body}</tbody>", f"wc-table {kind}"
    )


def scrolled_table(name: str, content: str, kind: str = "", *, box: str = "wc-scroll") -> str:
    """A table of rows that are markup already, in its box; `html_table` makes the rows too.

    Parameters
    ----------
    name : str
        Of the box, for who hears the page.
    content : str
        What is in the table, as HTML.
    kind : str
        Classes of the table.
    box : str
        Class of the box.

    Returns
    -------
    str
    """
    return scrolled(name, f"<table{_class(kind.strip())}>{content}</table>", box=box)


def _plain(cell: Cell) -> str:
    """A head as an attribute."""
    text = html.unescape(re.sub("<[^>]*>", "", cell.markup)) if isinstance(cell, Html) else cell
    return html.escape(text)


def _class(kind: str) -> str:
    return f" class='{kind}'" if kind else ""


def _cell(opens: str, cell: Cell) -> str:
    if not isinstance(cell, Html):
        cell = Html(html.escape(cell))
    opens = "th scope='row'" if cell.names_row else opens
    return f"<{opens}{_class(cell.kind)}>{cell.markup}</{opens.partition(' ')[0]}>"


def scrolled(title: str, content: str, *, box: str = "wc-scroll") -> str:
    """HTML in a box of its own, which scrolls where it is too wide: by the keyboard too, so the box has a name.

    Parameters
    ----------
    title : str
        The name, for who hears the page.
    content : str
    box : str
        Class of the box.

    Returns
    -------
    str
    """
    return f"<div class='{box}' tabindex='0' role='region' aria-label='{html.escape(title)}'>{content}</div>"
