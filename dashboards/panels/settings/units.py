"""Metres or feet, AWG or mm², chosen once: the browser keeps both for every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.address import Listed
from dashboards.panels.settings.kept import Kept

METRES, FEET = "metres", "feet"


class Units(Choice):
    """Its value is whether it is feet.

    A link has its own unit, in which its bare numbers are: whatever the browser keeps, that one holds. A page whose
    address has anything in it therefore writes its unit too, see `Address`, `always`.
    """

    def __init__(self) -> None:
        super().__init__([("Metres", False), ("Feet", True)], False, kind="bar")
        self.add_class("wc-units")
        self.kept = Kept("units", self._heard, unless_asked=True)

    @property
    def field(self) -> Listed:
        """For the page's address."""
        return Listed(self, lambda feet: FEET if feet else METRES)

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`: what a person chooses holds for every page."""
        super().take(what)
        self.kept.keep(FEET if self.value else METRES)

    def _heard(self, text: str) -> None:
        if text in ("", METRES, FEET):  # else another program's
            self.value = text == FEET


class SizeSystem(Choice):
    """Whether sizes are in AWG or in mm²; its value is "AWG" or "mm2".

    The page's sizes say theirs themselves, in a link too: it shows what they are in, and a press changes them.

    Parameters
    ----------
    use : callable of str -> None
        Put the page's sizes into this system.
    """

    def __init__(self, use: Callable[[str], None]) -> None:
        super().__init__([("AWG", "AWG"), ("mm²", "mm2")], "AWG", kind="bar")
        self.use = use
        self.add_class("wc-units")
        self.kept = Kept("sizes", self._heard, unless_asked=True)

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        super().take(what)
        self.kept.keep(self.value)
        self.use(self.value)

    def show(self, system: str) -> None:
        """The page's size is in this one."""
        if system in ("AWG", "mm2") and system != self.value:
            self.value = system

    def _heard(self, text: str) -> None:
        if text in ("AWG", "mm2") and text != self.value:
            self.value = text
            self.use(text)


def switches(*boxes: Units | SizeSystem) -> w.Box:
    """The switches of a page side by side."""
    row = w.Box(boxes)
    row.add_class("wc-switches")
    return row
