"""Faults of a plan in one list: a press on one leads to its cell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import anywidget
import traitlets


class FaultList(anywidget.AnyWidget):
    """Nothing is shown while there is no fault. `go` is given the place of the fault that was pressed."""

    _esm = Path(__file__).with_name("fault_list.js")
    _css = Path(__file__).with_name("fault_list.css")
    shown = traitlets.Dict({"title": "", "lines": []}).tag(sync=True)

    def __init__(self, go: Callable[[int], None]) -> None:
        super().__init__()
        self.go = go
        self.on_msg(self._pressed)

    def show(self, title: str, lines: Sequence[str]) -> None:
        """What is at fault now."""
        self.shown = {"title": title, "lines": list(lines)}

    def _pressed(self, _widget: Any, content: Any, _buffers: Any) -> None:
        place = content.get("place") if isinstance(content, dict) else None
        if type(place) is int and 0 <= place < len(self.shown["lines"]):
            self.go(place)
