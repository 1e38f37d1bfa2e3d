"""The page At the bench: what a wire is, whether a finished run reads right, and what passes a hole."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls import lazy_tabs
from dashboards.panels.controls.address import Address, Field, Fields, Listed, nested
from dashboards.panels.controls.error_messages import together
from dashboards.panels.controls.keypad import Keypad

PARTS = {
    "What wire?": ("bench.identify", "IdentifyPanel"),
    "Run right?": ("bench.finished_run", "FinishedRunPanel"),
    "Will it fit?": ("bench.bundle", "BundlePanel"),
}
KEYS = {"What wire?": "wire", "Run right?": "run", "Will it fit?": "fit"}
"""Of the parts, in the page's address."""
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
        self.bar = Choice(list(PARTS), next(iter(PARTS)), kind="bar")
        self.bar.add_class("wc-bar")
        self.bar.observe(lambda _change: self.show(), "value")
        self.shown = w.Box()
        self.shown.add_class("wc-tab")
        cautions = w.HTML("".join(f"<p class='wc-caution' role='note'>{text}</p>" for text in CAUTIONS))
        self.show()
        log = self.made[self.bar.value].log
        others = {"to-log": log.add, "file": log.read}
        self.address = Address(
            self.fields, {"log": log.packed}, part=self._open, together=self._filled, others=lambda: others
        )
        log.changed = self.address.changed
        self.address.remember()
        self.view = w.VBox([self.bar, Keypad(), self.address, cautions, self.shown])
        self.view.add_class("wc-page").add_class("wc-bench")
        lazy_tabs.warm([module for module, _ in PARTS.values()])

    def fields(self) -> Fields:
        """What is in the page's address: the part that is shown, and the entries of those that are made."""
        fields: dict[str, Field] = {"part": Listed(self.bar, KEYS.__getitem__)}
        for title in filter(self.made.__contains__, PARTS):
            fields |= nested(KEYS[title], self.made[title].fields)
        return fields

    @contextmanager
    def _filled(self) -> Iterator[None]:
        """See `Address`."""
        with ExitStack() as all_made:
            for panel in self.made.values():
                all_made.enter_context(together(panel, panel.refresh))
            yield

    def _open(self, part: str) -> None:
        """See `Address`."""
        for title in PARTS:
            if KEYS[title] == part:
                self._part(title)

    def _part(self, title: str) -> Any:
        if title not in self.made:
            self.made[title] = lazy_tabs.made(*PARTS[title])
        return self.made[title]

    def show(self) -> None:
        """Bring the chosen part forward."""
        lazy_tabs.bring_forward(self.shown, self._part(self.bar.value).view)
