"""One setting that the browser keeps for a person, on their own device, over pages, tabs and visits."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets


class Kept(anywidget.AnyWidget):
    """The page's end of it; it has no view, its model is enough.

    Parameters
    ----------
    name : str
        What it is called in the browser's storage, on every page alike.
    take : callable of str -> None
        What the browser has kept, when the page opens and whenever another tab changes it; empty for nothing. It may
        be anything: other programs and older versions write there too.
    refused : callable of () -> None
        The browser keeps nothing, as some do in private windows.
    unless_asked : bool
        A page that is opened by a link with entries is not told at first: what it is about is the link's.
    """

    _esm = Path(__file__).with_name("kept.js")
    name = traitlets.Unicode().tag(sync=True)

    unless_asked = traitlets.Bool().tag(sync=True)
    kept: Any = traitlets.Tuple((0, "")).tag(sync=True)
    """How often this page had something kept, and what last."""

    def __init__(
        self,
        name: str,
        take: Callable[[str], None],
        refused: Callable[[], None] = lambda: None,
        *,
        unless_asked: bool = False,
    ) -> None:
        super().__init__(name=name, unless_asked=unless_asked)
        self.take, self.refused = take, refused
        self.text = ""
        """What is kept, as far as this page knows."""
        self.on_msg(self._came)

    def keep(self, text: str) -> None:
        """Keep this from now on; empty: forget it."""
        if text != self.text:
            self.text = text
            self.kept = (self.kept[0] + 1, text)

    def _came(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if not isinstance(content, dict):
            return
        if content.get("refused"):
            self.refused()
            return
        text = content.get("text")
        if content.get("after") != self.kept[0]:  # said before it heard of what is kept since
            self.send_state("kept")
        elif isinstance(text, str) and text != self.text:
            self.text = text
            self.take(text)
