"""The page At the bench: what a wire is, whether a finished run reads right, and what passes a hole."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from dashboards.panels import parts
from dashboards.panels.keypad import Keypad

PARTS = {
    "What wire?": ("identify", "IdentifyPanel"),
    "Run right?": ("finished_run", "FinishedRunPanel"),
    "Will it fit?": ("bundle", "BundlePanel"),
}
CAUTIONS = (
    "Battery disconnected (its negative lead off), amplifier off, both ends of the run unplugged, before a meter "
    "touches wire in a vehicle.",
    "Never ohms on a live circuit: the reading is nonsense, the meter can be destroyed. See that it shows 0 V first.",
    "Airbag and belt-tensioner wiring (often yellow) is never probed, cut or bundled with, not even with the battery "
    "off: an airbag that fires by accident can kill. Leave it to those licensed for it, and keep to local codes.",
)


class BenchPanel:
    """A bar of three parts, of which one is shown; a part is made when it is first shown."""

    def __init__(self) -> None:
        self.made: dict[str, Any] = {}
        self.bar = w.ToggleButtons(options=list(PARTS), value=next(iter(PARTS)))
        self.bar.add_class("wc-bar")
        self.bar.observe(lambda _change: self.show(), "value")
        self.shown = w.Box()
        self.shown.add_class("wc-tab")
        cautions = w.HTML("".join(f"<p class='wc-caution' role='note'>{text}</p>" for text in CAUTIONS))
        self.show()
        self.view = w.VBox([self.bar, Keypad(), cautions, self.shown])
        self.view.add_class("wc-page").add_class("wc-bench")
        parts.warm([module for module, _ in PARTS.values()])

    def show(self) -> None:
        """Bring the chosen part forward."""
        title = self.bar.value
        if title not in self.made:
            self.made[title] = parts.made(*PARTS[title])
        parts.bring_forward(self.shown, self.made[title].view)
