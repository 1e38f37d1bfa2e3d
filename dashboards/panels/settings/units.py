"""Metres or feet, chosen once: the browser keeps it for every page."""

from __future__ import annotations

from typing import Any

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
