"""The tab Cables: what each cable of several conductors carries, its pin-out, and how it looks cut across."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any
from urllib.parse import parse_qsl, urlencode

import ipywidgets as w
import pandas as pd

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.address import Part
from dashboards.panels.controls.cable_picture import cable_picture
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.table import Html, html_table, scrolled
from dashboards.panels.settings.own_cables import OwnCables
from dashboards.panels.whole_vehicle.drawings.plug import plug_picture
from wirecalc import csv_text, units
from wirecalc.errors import InputError
from wirecalc.tables import shown_source
from wirecalc.vehicle.cable import Pulled, bundled
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.text import MORE, PlanSheet, PlanText, same
from wirecalc.wire.cable_types import MOST_CORES
from wirecalc.wire.cross_section import cross_section
from wirecalc.wire.multicore import MOST_CIRCUITS, Allocation

NO_CABLE = (
    "<p>No wire of this plan names a cable. Give wires that may share one jacket the same name in the column Cable of"
    " the list of wires.</p>"
)

IN_VAIN = "<p>The feeds cannot deliver what is asked: mend them first, then the cables are looked at.</p>"


class CableChoice(Choice):
    """Which cable of the plan is looked at; what is asked for before the plan is solved is chosen then."""

    _wanted = ""

    @property
    def name(self) -> str:
        """Of the cable; also of one that the plan, not yet solved, is still to bring."""
        return str(self._wanted or self.value)

    def want(self, name: str) -> None:
        """See `Part`."""
        self._wanted = name
        self.offer(self.options)

    def offer(self, cables: Sequence[Any]) -> None:
        """These there are now."""
        self.options = cables
        if self._wanted and any(key == self._wanted for _, key in self.pairs):
            self.value, self._wanted = self._wanted, ""

    def written(self) -> str:
        """See `Part`: the first needs no place in the address."""
        return "" if self.name == self.pairs[0][1] else self.name

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        self._wanted = ""
        super().take(what)

    def again(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        self.want(str(what.get("label", "")))


class CablesTab:
    """One cable of the plan at a time, as it was decided with the plan; `changed` asks for another decision."""

    def __init__(self, own: OwnCables | None = None) -> None:
        self.changed: Callable[[], None] = lambda: None
        self.decided: Callable[[], Mapping[str, Allocation]] = lambda: {}
        """What the plan's cables carry, whether it is shown here or not."""
        self.own = own or OwnCables()
        self.own.changed, self.own.used = self._offer, self._used
        self._cables: Mapping[str, Allocation] = {}
        self._ends: dict[str, str] = {}
        self._types: dict[str, str] = {}
        self._quiet = False
        self._none, self._over = NO_CABLE, dict[str, int]()
        self.alert = w.HTML()
        self.which = CableChoice([("none", "")], "", "Cable of the plan")
        self.which.add_class("wc-choice")
        self.type = choice("Cable to use", [("Best fit", ""), *self.own.options], "")
        self.spare: Entry[int] = Entry(
            "Conductors to keep spare",
            lambda text: int(units.read(text, "Spare conductors", units.COUNT, low=0, high=MOST_CORES)),
            str,
            0,
            help="default 0; for what is added later",
        )
        self.part = Part(self._written, self._read, (self.type,))
        self.looked_at = Part(self.which.written, self.which.want, (self.which,))
        self.shown = w.HTML()
        self.which.observe(self._other, "value")
        self.type.observe(self._set_type, "value")
        self.spare.changed = lambda: self.changed()
        entries = w.Box([self.which, self.type, self.spare.view])
        entries.add_class("wc-fields")
        self.view = w.VBox([entries, self.own.view, self.alert, self.shown])

    @property
    def pulled(self) -> Pulled:
        """What is pulled for the cables of the plan."""
        shelf = self.own.shelf
        types = {name: shelf[key] for name, key in self._types.items() if key in shelf}
        return Pulled(types=types, spare=self.spare.value, shelf=tuple(shelf.values()))

    def sheets(self) -> tuple[PlanSheet | None, PlanSheet | None]:
        """What is pulled, and what of it is one's own, as a plan's file has them."""
        shelf = self.own.shelf
        rows = [(name, shelf[key].name) for name, key in self._types.items() if key in shelf]
        rows += [(self.spare.text.description, str(self.spare.value))] if self.spare.value else []
        own = [tuple(row) for row in csv_text.read_rows(csv_text.decoded(self.own.packed.write()), "Own cables")]
        return (
            PlanSheet(columns=MORE["pulled"][1], rows=tuple(rows)) if rows else None,
            PlanSheet(columns=own[0], rows=tuple(own[1:])) if own else None,
        )

    def take_sheets(self, text: PlanText) -> None:
        """What a plan's file says is pulled; `InputError` for a cable that is nowhere."""
        if text.own is not None:
            self.own.packed.take(csv_text.csv_bytes((text.own.columns, *text.own.rows)))
        keys = {same(cable.name): key for key, cable in self.own.shelf.items()}
        types, spare = {}, 0
        for name, pulled, *_ in text.pulled.rows if text.pulled is not None else ():
            if name == self.spare.text.description:
                spare = self.spare.read(pulled)
            elif same(pulled) in keys:
                types[name] = keys[same(pulled)]
            elif name:
                raise InputError(f"{MORE['pulled'][0]}, {name}", pulled, "a cable of the list, or one of Own cables")
        self._types = types
        self.spare.set(spare)
        self._other(None)

    def _offer(self) -> None:
        """There are other cables to choose from."""
        self._quiet = True
        self.type.options = [("Best fit", ""), *self.own.options]
        self._quiet = False
        self._types = {name: key for name, key in self._types.items() if key in self.own.shelf}
        self._other(None)
        self.changed()

    def _used(self) -> Iterable[str]:
        """Keys of what is chosen, or best, for the cables of the plan."""
        return (*self._types.values(), *(allocation.cable.key for allocation in self.decided().values()))

    def show(self, plan: Plan, cables: Mapping[str, Allocation]) -> None:
        """Draw for another plan, whose cables are decided."""
        self._cables = cables
        self._ends = {wire.name: wire.end for wire in plan.vehicle.wires}
        self._quiet = True
        self._over = {name: len(some) for name, some in bundled(plan).items() if len(some) > MOST_CIRCUITS}
        self.which.offer([*cables, *self._over] or [("none", "")])
        self._quiet = False
        self._none = IN_VAIN if plan.problems else NO_CABLE
        self._other(None)

    def _written(self) -> str:
        """See `Part`: what is pulled for each cable."""
        return urlencode({name: key for name, key in self._types.items() if key})

    def _read(self, text: str) -> None:
        """See `Part`."""
        types = dict(parse_qsl(text))
        if wrong := [key for key in types.values() if key not in self.own.shelf]:
            allowed = f"one of {', '.join(self.own.shelf)} for each cable"
            raise InputError("Address, cables", ", ".join(wrong), allowed)
        self._types = types
        self._other(None)
        self.changed()

    def _other(self, _change: object) -> None:
        if self._quiet:
            return
        self._quiet = True
        self.type.value = self._types.get(self.which.name, "")
        self._quiet = False
        self.draw()

    def _set_type(self, change: dict[str, str]) -> None:
        if not self._quiet:
            self._types[self.which.name] = change["new"]
            self.changed()

    @guarded
    def draw(self) -> None:
        """Draw the cable that is chosen."""
        allocation = self._cables.get(self.which.value)
        over = self._over.get(self.which.value)
        if over is not None:
            self.shown.value = (
                f"<p>{over} wires name the cable “{html.escape(self.which.value)}”; one cable takes {MOST_CIRCUITS}"
                " circuits at most. Give some of them another name in the column Cable.</p>"
            )
        else:
            self.shown.value = self._none if allocation is None else drawn(allocation, self._ends)
        self.alert.value = ""


def drawn(allocation: Allocation, ends: Mapping[str, str]) -> str:
    """An allocation in words, as tables and as pictures, as HTML; `ends` is where each circuit ends, by its name."""
    cable = allocation.cable
    pins = allocation.pin_out()
    uses = {
        row["conductor"]: f"{row['circuit']} {row['way']}".strip() for row in pins.to_dict("records")
    }  # fmt: skip
    told = (
        f"<p class='wc-told' role='status'>{html.escape(allocation.in_words())}</p>"
        f"<p>{html.escape(shown_source(cable.source, cable.confidence))}</p>"
    )
    plug = scrolled("The conductors in the order of the plug", plug_picture(allocation, ends))
    picture = scrolled("The cable, cut across", cable_picture(cross_section(cable), uses, under=True))
    pictures = f"<div class='wc-cable-pictures'>{plug}{picture}</div>"
    return told + pictures + words(allocation.table(), "Circuits in this cable") + words(pins, "Pin-out")


def words(table: pd.DataFrame, caption: str) -> str:
    """A table as HTML."""
    heads = [str(name).capitalize() for name in table.columns]
    rows = [[Html(html.escape(_cell(value)), "wc-say") for value in row] for row in table.itertuples(index=False)]
    return html_table(caption, heads, rows, kind="wc-words wc-as-cards")


def _cell(value: object) -> str:
    if isinstance(value, float):
        return "–" if value != value else f"{value:.4g}"
    return str(value)
