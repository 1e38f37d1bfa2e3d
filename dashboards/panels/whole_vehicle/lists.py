"""The tabs that hold a plan's two lists: one to type in each, with a row more, a column more, and what is at fault."""

from __future__ import annotations

import html
from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.grid import Grid
from dashboards.panels.whole_vehicle.circuits import marks
from dashboards.panels.whole_vehicle.desk import Desk, PlanAnswer, place
from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.vehicle.fields import KINDS, SHOWN
from wirecalc.vehicle.text import SHEETS, SheetName, assumed

_ONE: dict[SheetName, str] = {"Devices": "the device", "Wires": "the wire"}
ASSUMED = "What stands in grey is assumed: type over it what you know."
_OFFERED = {"size": ("choose",), "fuse": ("choose", "none")}


class ListTab:
    """One of the two lists."""

    def __init__(
        self,
        name: SheetName,
        desk: Desk,
        changed: Callable[[], None],
        *above: w.Widget,
        feet: Callable[[], bool] = lambda: False,
    ) -> None:
        self.feet = feet
        self.name, self.desk, self.changed = name, desk, changed
        fields = SHEETS[name]
        unused = {kind: [each.column for each in fields if not each.belongs(kind)] for kind in KINDS}
        unused |= {shown: unused[kind] for kind, shown in SHOWN.items()}
        self.grid = Grid(
            name,
            _ONE[name],
            {each.column: f"{each.help}: {each.allowed}" for each in fields},
            self._write,
            self._remove,
            judged=name == "Wires",
            by="Kind" if name == "Devices" else "",
            unused=unused if name == "Devices" else None,
            assumed=assumed(name),
        )
        self.alert = w.HTML()
        self.add = Press(f"Add {_ONE[name].removeprefix('the ')}", lambda: self._do(lambda: desk.add(name)))
        self.column = choice("Add a column", [("…", "")], "")
        self.column.observe(self._add_column, "value")
        foot = w.Box([self.add, self.column, w.HTML(f"<p class='wc-help'>{ASSUMED}</p>")])
        foot.add_class("wc-files")
        self.view = w.VBox([*above, self.alert, self.grid, foot])

    def _do(self, act: Callable[[], None]) -> None:
        try:
            act()
        except InputError as fault:
            self.alert.value = f"<div role='alert'>{html.escape(str(fault))}</div>"
            return
        self.alert.value = ""
        self.changed()

    def _write(self, row: int, column: str, text: str) -> None:
        self._do(lambda: self.desk.write(self.name, row, column, self._with_unit(column, text)))

    def _with_unit(self, column: str, text: str) -> str:
        """A length typed without a unit gets the one that the page goes by, for all to see."""
        is_length = any(each.column == column and each.kind is units.LENGTH for each in SHEETS[self.name])
        bare = bool(text.strip()) and not text.strip().strip("0123456789.,")
        return f"{text.strip()} {'ft' if self.feet() else 'm'}" if is_length and bare else text

    def _remove(self, row: int) -> None:
        self._do(lambda: self.desk.remove(self.name, row))

    def _add_column(self, change: dict[str, str]) -> None:
        if change["new"]:
            self._do(lambda: self.desk.add_column(self.name, change["new"]))

    def show(self) -> None:
        """Draw the list as it stands, and its faults."""
        sheet = self.desk.text.sheet(self.name)
        faults = [(place(fault), str(fault)) for fault in self.desk.parsed.faults]
        own = [(-1 if row is None else row, column, text) for (name, row, column), text in faults if name == self.name]
        vehicle = self.desk.parsed.vehicle
        with self.grid.hold_sync():
            if vehicle is not None:  # while there is a fault, what held before it
                self.grid.assumed = assumed(self.name, vehicle.systems)
            self.grid.words = self._words()
            self.grid.faults = [list(fault) for fault in own]
            self.grid.show(sheet.columns, sheet.rows)
        missing = [each.column for each in SHEETS[self.name] if each.column not in sheet.columns]
        self.column.options = [("…", ""), *((name, name) for name in missing)]

    def mark(self, answer: PlanAnswer) -> None:
        """Say beside each wire how it stands."""
        if "Name" not in self.desk.text.sheet(self.name).columns:
            return
        wire_marks = marks(answer)
        at = self.desk.text.sheet(self.name).columns.index("Name")
        self.grid.marks = [wire_marks.get(row[at], "") for row in self.desk.text.sheet(self.name).rows]

    def _words(self) -> dict[str, list[str]]:
        """What is offered while typing."""
        offered = {
            each.column: [SHOWN.get(word, word) for word in each.words] for each in SHEETS[self.name] if each.words
        }
        offered |= {each.column: list(_OFFERED[each.key]) for each in SHEETS[self.name] if each.key in _OFFERED}
        if self.name == "Wires":
            devices = self.desk.text.devices
            if "Name" in devices.columns:
                at = devices.columns.index("Name")
                offered["From"] = offered["To"] = list(dict.fromkeys(row[at] for row in devices.rows if row[at]))
        return offered
