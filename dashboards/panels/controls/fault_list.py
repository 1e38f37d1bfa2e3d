"""Faults of a plan in one list: a press on one leads to its cell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable


class FaultList(Actable):
    """Nothing is shown while there is no fault. `go` is given the place of the fault that was pressed."""

    _esm = Path(__file__).with_name("fault_list.js")
    _css = Path(__file__).with_name("fault_list.css")
    shown = traitlets.Dict({"title": "", "lines": []}).tag(sync=True)

    def __init__(self, go: Callable[[int], None]) -> None:
        super().__init__()
        self.go = go

    def show(self, title: str, lines: Sequence[str]) -> None:
        """What is at fault now."""
        self.shown = {"title": title, "lines": list(lines)}

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`; a fault that is there no longer leads nowhere."""
        lines, place = self.shown["lines"], what.get("place")
        places = [i for i, line in enumerate(lines) if line == what.get("line")]
        if places:
            self.go(place if place in places else places[0])
