"""All that a panel shows as text, without a browser."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from typing import Any


def texts(widget: Any, seen: set[int] | None = None) -> Iterator[str]:
    """The markup of a widget and of all that it holds, each once; of tabs that were not opened, nothing."""
    seen = set() if seen is None else seen
    if id(widget) in seen:
        return
    seen.add(id(widget))
    for name in ("html", "value"):
        text = getattr(widget, name, None)
        if isinstance(text, str) and text:
            yield text
    for child in getattr(widget, "children", ()):
        yield from texts(child, seen)


def words(widget: Any) -> str:
    """What a person reads there, a blank for each tag."""
    return " ".join(plain(text) for text in texts(widget))


def plain(markup: str) -> str:
    """Markup as it is read, a blank for each tag."""
    return html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", markup)))


def tables(widget: Any) -> Iterator[tuple[list[str], list[list[str]]]]:
    """Heads and rows of every table."""
    for text in texts(widget):
        for table in re.findall(r"<table.*?</table>", text, re.DOTALL):
            rows = [
                re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL)
                for row in re.findall(r"<tr.*?</tr>", table, re.DOTALL)
            ]
            heads, *body = ([plain(cell).strip() for cell in row] for row in rows)
            yield heads, body
