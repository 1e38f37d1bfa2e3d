"""The first tab of the page Whole vehicle: the vehicle from above, and what needs a hand."""

from __future__ import annotations

import html
from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.numbers import Numbers
from dashboards.panels.whole_vehicle import circuits
from dashboards.panels.whole_vehicle.desk import Desk, PlanAnswer
from dashboards.panels.whole_vehicle.from_above import DEVICE, cards, drawing, of_device
from wirecalc.errors import InputError
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.text import SheetName


class AboveTab:
    """Drawing and cards; what was opened last can be edited, and wires that are too thin can be chosen anew.

    Parameters
    ----------
    desk : Desk
    changed : callable of () -> None
        The plan has another text.
    go : callable of (str, int, str) -> None
        To a cell: sheet, row from 0 and column.
    below : ipywidgets.Widget
        What stands under the cards.
    feet : callable of () -> bool
        Whether lengths are in feet.
    """

    def __init__(
        self,
        desk: Desk,
        changed: Callable[[], None],
        go: Callable[[SheetName, int, str], None],
        below: w.Widget,
        feet: Callable[[], bool] = lambda: False,
    ) -> None:
        self.feet = feet
        self.desk, self.changed, self.go = desk, changed, go
        self.answer: PlanAnswer | None = None
        self._opened: tuple[SheetName, str] | None = None
        self.drawing, self.cards = (Numbers(answer=self._behind) for _ in range(2))
        self.mend = Press("Choose what is too thin anew", self._mend)
        self.edit = Press("Edit", self._edit)
        self.alert = w.HTML()
        for button in (self.mend, self.edit):
            button.add_class("wc-shut")
        acts = w.Box([self.mend, self.edit])
        acts.add_class("wc-files")
        right = w.VBox([self.cards, acts, self.alert, below])
        self.view = w.Box([self.drawing, right])
        self.view.add_class("wc-above")

    def show(self, answer: PlanAnswer) -> None:
        """Draw this plan."""
        self.answer = answer
        self.drawing.html, self.cards.html = drawing(answer), cards(answer)
        show_if(self._typed_thin(), self.mend)

    def _typed_thin(self) -> list[str]:
        """Wires that are too thin or wrongly fused, and whose size a person typed."""
        assert self.answer is not None
        wires = self.desk.text.wires
        typed = {name for name, size in zip(wires.column("Name"), wires.column("Size"), strict=False) if size != CHOOSE}
        return [c.wire.name for c in self.answer.plan.circuits if not c.meets and c.wire.name in typed]

    def _mend(self) -> None:
        try:
            self.desk.choose_anew(self._typed_thin())
        except InputError as fault:
            self.alert.value = f"<div role='alert'>{html.escape(str(fault))}</div>"
            return
        self.alert.value = ""
        self.changed()

    def _behind(self, key: str) -> str:
        assert self.answer is not None
        if key.startswith(DEVICE):
            self._offer("Devices", key.removeprefix(DEVICE))
            return of_device(self.answer, key.removeprefix(DEVICE))
        self._offer("Wires", key)
        return circuits.behind(self.answer, key, feet=self.feet())

    def _offer(self, sheet: SheetName, name: str) -> None:
        """What was opened can be edited next."""
        self._opened = sheet, name
        self.edit.description = f"Edit {name}"
        self.edit.remove_class("wc-shut")

    def _edit(self) -> None:
        if self._opened is None:
            return
        sheet, name = self._opened
        names = self.desk.text.sheet(sheet).column("Name")
        if name in names:
            self.go(sheet, names.index(name), "Size" if sheet == "Wires" else "Name")
