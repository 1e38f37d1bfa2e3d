"""A table of words, as HTML: it scrolls in its own box and wraps within its cells."""

from __future__ import annotations

import html
from collections.abc import Collection, Sequence


def html_table(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], chosen: Collection[int] = ()) -> str:
    """Cells are text, never markup; the rows at the places `chosen` stand out."""
    head = "".join(f"<th scope='col'>{html.escape(one)}</th>" for one in heads)
    body = ""
    for place, row in enumerate(rows):
        cells = "".join(f"<td>{html.escape(cell)}</td>" for cell in row)
        body += f"<tr{' class=wc-chosen' if place in chosen else ''}>{cells}</tr>"
    return scrolled(
        title,
        f"<table class='wc-table wc-words wc-wrap'><caption>{html.escape(title)}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>",
    )


def scrolled(title: str, content: str) -> str:
    """HTML in a box of its own, which scrolls where it is too wide: by the keyboard too, so the box has a name."""
    return f"<div class='wc-scroll' tabindex='0' role='region' aria-label='{html.escape(title)}'>{content}</div>"
