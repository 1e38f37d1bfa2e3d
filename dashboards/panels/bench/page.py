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
from dashboards.panels.settings.units import SizeSystem, Units, switches

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


def cautions_html(*, folded: bool) -> str:
    """What to mind before a meter touches a wire: in full, or one line that opens to it."""
    told = "".join(f"<p class='wc-caution' role='note'>{text}</p>" for text in CAUTIONS)
    return (
        f"<details class='wc-minding'{'' if folded else ' open'}><summary>Battery off, 0 V first, never airbag wiring"
        f"</summary>{told}</details>"
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
        self.feet, self.system = Units(), SizeSystem(self._use_system)
        self.feet.observe(lambda _change: self._use_units(), "value")
        self.cautions = w.HTML(cautions_html(folded=False))
        self.show()
        identify = self.made[self.bar.value]
        log = identify.log
        others = {"to-log": log.add, "file": log.read, "zeroed": identify.zeroed, "sizes-in": self.system}
        self.address = Address(
            self.fields,
            {"log": log.packed},
            always=("units",),
            part=self._open,
            together=self._filled,
            others=lambda: others,
        )
        log.changed = self.address.changed
        self.address.remember()
        above = w.Box([Keypad(), switches(self.feet, self.system)])
        above.add_class("wc-above-bench")
        self.view = w.VBox([self.bar, above, self.address, self.cautions, self.shown])
        self.view.add_class("wc-page").add_class("wc-bench")
        lazy_tabs.warm([module for module, _ in PARTS.values()])

    def fields(self) -> Fields:
        """What is in the page's address: the part that is shown, and the entries of those that are made."""
        fields: dict[str, Field] = {"units": self.feet.field, "part": Listed(self.bar, KEYS.__getitem__)}
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
            part = self.made[title] = lazy_tabs.made(*PARTS[title])
            part.use_units(self.feet.value, self.system.value if self.system.value != "AWG" else "")
            if hasattr(part, "heard"):
                part.heard = lambda: self._mind(part.begun)
                self._mind(part.begun)
        return self.made[title]

    def _mind(self, begun: bool) -> None:
        """The cautions in full before the first reading, then in one line that opens."""
        self.cautions.value = cautions_html(folded=begun)

    def _use_units(self) -> None:
        for part in self.made.values():
            part.use_units(self.feet.value)

    def _use_system(self, system: str) -> None:
        """See `SizeSystem`."""
        for part in self.made.values():
            part.use_units(self.feet.value, system)

    def show(self) -> None:
        """Bring the chosen part forward."""
        lazy_tabs.bring_forward(self.shown, self._part(self.bar.value).view)
