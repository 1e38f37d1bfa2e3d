"""The tab Cables: what each cable of several conductors carries, its pin-out, and how it looks cut across."""

from __future__ import annotations

import html
from collections.abc import Callable
from urllib.parse import parse_qsl, urlencode

import ipywidgets as w
import pandas as pd

from dashboards.panels.controls.address import Part
from dashboards.panels.controls.cable_picture import cable_picture
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.table import scrolled
from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.tables import shown_source
from wirecalc.vehicle.cable import allocated, bundled
from wirecalc.vehicle.plan import Plan
from wirecalc.wire.cable_types import CABLES, MOST_CORES
from wirecalc.wire.cross_section import cross_section
from wirecalc.wire.multicore import Allocation

NO_CABLE = (
    "<p>No wire of this plan names a cable. Give wires that may share one jacket the same name in the column Cable of"
    " the list of wires.</p>"
)


class CablesTab:
    """One cable of the plan at a time."""

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None
        self._plan: Plan | None = None
        self._found: dict[tuple[str, str, int], Allocation] = {}
        self._types: dict[str, str] = {}
        self._quiet = False
        self.alert = w.HTML()
        self.which = choice("Cable of the plan", [("none", "")], "")
        types = [("Best fit", ""), *((one.name, key) for key, one in CABLES.items())]
        self.type = choice("Cable to use", types, "")
        self.spare: Entry[int] = Entry(
            "Conductors to keep spare",
            lambda text: int(units.read(text, "Spare conductors", units.COUNT, low=0, high=MOST_CORES)),
            str,
            0,
            help="default 0; for what is added later",
        )
        self.part = Part(self._written, self._read, (self.type,))
        self.shown = w.HTML()
        self.which.observe(self._other, "value")
        self.type.observe(self._set_type, "value")
        self.spare.changed = self._anew
        entries = w.Box([self.which, self.type, self.spare.view])
        entries.add_class("wc-fields")
        self.view = w.VBox([entries, self.alert, self.shown])

    def show(self, plan: Plan) -> None:
        """Draw for another plan."""
        self._plan, self._found = plan, {}
        names = list(bundled(plan))
        self._quiet = True
        self.which.options = names or [("none", "")]
        self._quiet = False
        self._other(None)

    def allocations(self, plan: Plan) -> tuple[tuple[str, Allocation], ...]:
        """What each cable of the plan carries, with the cable types that were picked."""
        if plan is not self._plan:
            self._plan, self._found = plan, {}
        return tuple((name, self._allocation(name)) for name in bundled(plan))

    def _written(self) -> str:
        """See `Part`: what is pulled for each cable."""
        return urlencode({name: key for name, key in self._types.items() if key})

    def _read(self, text: str) -> None:
        """See `Part`."""
        types = dict(parse_qsl(text))
        if wrong := [key for key in types.values() if key not in CABLES]:
            raise InputError("Address, cables", ", ".join(wrong), f"one of {', '.join(CABLES)} for each cable")
        self._types, self._found = types, {}
        if self._plan is not None:
            self._other(None)
        self.changed()

    def _other(self, _change: object) -> None:
        if self._quiet:
            return
        self._quiet = True
        self.type.value = self._types.get(self.which.value, "")
        self._quiet = False
        self.draw()

    def _set_type(self, change: dict[str, str]) -> None:
        if not self._quiet:
            self._types[self.which.value] = change["new"]
            self._anew()

    def _anew(self) -> None:
        self.draw()
        self.changed()

    def _allocation(self, name: str) -> Allocation:
        assert self._plan is not None
        key = self._types.get(name, "")
        place = (name, key, self.spare.value)
        if place not in self._found:
            cable = CABLES.get(key)
            self._found[place] = allocated(self._plan, name, cable, spare=self.spare.value)
        return self._found[place]

    @guarded
    def draw(self) -> None:
        """Draw the cable that is chosen."""
        if self._plan is None or not bundled(self._plan):
            self.shown.value = NO_CABLE
            return
        self.shown.value = drawn(self._allocation(self.which.value))
        self.alert.value = ""


def drawn(found: Allocation) -> str:
    """An allocation in words, as tables and as a picture, as HTML."""
    cable = found.cable
    pins = found.pin_out()
    uses = {
        row["conductor"]: f"{row['circuit']} {row['way']}".strip() for row in pins.to_dict("records")
    }  # fmt: skip
    told = (
        f"<p class='wc-told' role='status'>{html.escape(found.in_words())}</p>"
        f"<p>{html.escape(shown_source(cable.source, cable.confidence))}</p>"
    )
    picture = scrolled("The cable, cut across", cable_picture(cross_section(cable), uses))
    return told + words(found.table(), "Circuits in this cable") + picture + words(pins, "Pin-out")


def words(table: pd.DataFrame, caption: str) -> str:
    """A table as HTML."""
    heads = "".join(f"<th scope='col'>{html.escape(str(name).capitalize())}</th>" for name in table.columns)
    rows = "".join(
        "<tr>" + "".join(f"<td class='wc-say'>{html.escape(_cell(value))}</td>" for value in row) + "</tr>"
        for row in table.itertuples(index=False)
    )
    return scrolled(
        caption,
        f"<table class='wc-table wc-words'><caption>{html.escape(caption)}</caption>"
        f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>",
    )


def _cell(value: object) -> str:
    if isinstance(value, float):
        return "–" if value != value else f"{value:.4g}"
    return str(value)
