"""Tables as HTML, by one builder: every table has a name, and scrolls in its own box, by the keyboard too."""

from __future__ import annotations

import html
from collections.abc import Collection, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Html:
    """A cell that is markup already, such as a number that opens."""

    markup: str
    kind: str = ""
    """Of the page's style."""


Cell = str | Html


def html_table(
    title: str,
    heads: Sequence[Cell],
    rows: Sequence[Sequence[Cell]],
    *,
    region: str = "",
    kind: str = "wc-words wc-wrap",
    chosen: Collection[int] = (),
    row_kinds: Sequence[str] = (),
) -> str:
    """A table in a box that scrolls where it is too wide.

    Parameters
    ----------
    title : str
        Its caption.
    heads : sequence of m Cell
    rows : sequence of n sequence of m Cell
        Text is never markup; what is, is `Html`.
    region : str
        A short name of the box for who hears the page; the title without it.
    kind : str
        Classes of the table besides wc-table: wc-words for text, wc-wrap to wrap it, none for numbers.
    chosen : collection of int
        Places of rows that stand out.
    row_kinds : sequence of n str, optional
        A class for each row, instead of `chosen`.
    """
    kinds = row_kinds or ["wc-chosen" if place in chosen else "" for place in range(len(rows))]
    head = "".join(_cell("th scope='col'", "th", one) for one in heads)
    body = "".join(
        f"<tr{_class(of_row)}>{''.join(_cell('td', 'td', one) for one in row)}</tr>"
        for row, of_row in zip(rows, kinds, strict=True)
    )
    return scrolled(
        region or title,
        f"<table class='{f'wc-table {kind}'.rstrip()}'><caption>{html.escape(title)}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>",
    )


def _class(kind: str) -> str:
    return f" class='{kind}'" if kind else ""


def _cell(opens: str, closes: str, cell: Cell) -> str:
    if isinstance(cell, Html):
        return f"<{opens}{_class(cell.kind)}>{cell.markup}</{closes}>"
    return f"<{opens}>{html.escape(cell)}</{closes}>"


def scrolled(title: str, content: str) -> str:
    """HTML in a box of its own, which scrolls where it is too wide: by the keyboard too, so the box has a name."""
    return f"<div class='wc-scroll' tabindex='0' role='region' aria-label='{html.escape(title)}'>{content}</div>"
