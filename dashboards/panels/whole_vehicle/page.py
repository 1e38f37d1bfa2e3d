"""The page Whole vehicle: the lists of a plan, every circuit's verdict, pictures, cables and what to buy."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Iterator
from dataclasses import replace

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Choice, Press
from dashboards.panels.controls.address import Address, Fields, Listed, Part, named
from dashboards.panels.controls.background import BackgroundWork
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, said
from dashboards.panels.controls.fault_list import FaultList
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.numbers import Numbers
from dashboards.panels.controls.packed import Packed
from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.settings.house import House
from dashboards.panels.settings.units import SizeSystem, switches
from dashboards.panels.whole_vehicle import bars, circuits, tree
from dashboards.panels.whole_vehicle.above import AboveTab
from dashboards.panels.whole_vehicle.as_built import AsBuiltTab
from dashboards.panels.whole_vehicle.buy import BuyTab
from dashboards.panels.whole_vehicle.cables import CablesTab
from dashboards.panels.whole_vehicle.desk import Desk, PlanAnswer, answers, place
from dashboards.panels.whole_vehicle.files import PlanFiles
from dashboards.panels.whole_vehicle.handout import buttons, job
from dashboards.panels.whole_vehicle.job_card import JobCard
from dashboards.panels.whole_vehicle.kept import from_bytes, to_bytes
from dashboards.panels.whole_vehicle.limits import LimitsTab
from dashboards.panels.whole_vehicle.lists import ListTab
from dashboards.panels.whole_vehicle.sold_as import SoldAs
from dashboards.panels.whole_vehicle.start import CHOICE, PLAN, UNITS_KEY, Start
from wirecalc.jobs.card import LABELS, card_of
from wirecalc.jobs.companions import Offer, added, offers
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.signed import works
from wirecalc.vehicle.stock import Stock, read_stock
from wirecalc.vehicle.text import PlanText, SheetName, house_rules_of
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.cautions import cautions

DEMO, DEMO_KEY, NEW_KEY = "Demo vehicle (invented)", "demo", "new"
FIRST = "<p role='status'>Choose a job, answer what it asks, and every wire and fuse of it is chosen and judged.</p>"
ABOVE, CIRCUITS, WIRES, DEVICES, LIMITS = "From above", "Circuits", "Wires", "Devices", "Limits"
TREE, BARS, CABLES, BUY, BUILT = "Currents and volts", "Decibels and heat", "Cables", "To buy", "As built"
NOTHING = (
    "Nothing is in the lists. Press New job … for the plan of a common job, or Undo; or add a battery and the body in"
    " Devices."
)
LISTS = (WIRES, DEVICES, LIMITS)
MOST_OFFERS = 5  # at a time; the next come when these are taken
NO_WIRES = "No wire yet: add the devices in the list Devices, then a wire from one to another in the list Wires."
KEYS = {
    ABOVE: "above", CIRCUITS: "circuits", WIRES: "wires", DEVICES: "devices", LIMITS: "limits", TREE: "currents",
    BARS: "levels", CABLES: "cables", BUY: "buy", BUILT: "built",
}  # fmt: skip
"""Of the tabs, in the page's address."""
BEFORE = "Fuse feeds at the battery, keep off airbag circuits, put local codes first: read this before you pull a wire."


class WholeVehiclePanel:
    """Lists -> `Desk` -> `answers`, in the background -> the shown tab. `work` is handed in, for tests to count it."""

    def __init__(self, work: Callable[..., Iterator[PlanAnswer]] = answers) -> None:
        self.work = work
        self.desk = Desk(demo_plan(), DEMO)
        self.answer: PlanAnswer | None = None
        self._typed: dict[str, str] = {}
        self._settled = False  # whether the answer is that of the text as it stands
        self.background: BackgroundWork[PlanAnswer] = BackgroundWork(self._tell, self._show, self._end)
        self.headline, self.progress, self.alert = w.HTML(), w.HTML(), w.HTML()
        self.faults = FaultList(self._to_cell)
        self.house = House(self._rules_changed)
        self.files = PlanFiles(self._saved, self._opened)
        self.start = Start(self.files.another(), self._begin, lambda: self.start.show(PLAN), self._arrange)
        self.opens = Part(self._opens, self._open, plain="")
        self.new = Press("New job …", lambda: self.start.show(CHOICE))
        self.undo, self.redo = Press("Undo", lambda: self._step(-1)), Press("Redo", lambda: self._step(1))
        self.handouts = buttons(self._job)
        self.card = JobCard(lambda: self.desk.text, self._carded)
        self.files.row.children = (
            self.new,
            self.undo,
            self.redo,
            *self.files.row.children,
            *self.handouts,
            self.card.toggle,
        )
        self.shelf: Entry[Stock] = Entry(
            "Sizes on the shelf", lambda text: read_stock(text.replace(",", ";")) if text.strip() else Stock(),
            show_stock, Stock(), placeholder="by the house rules",
            help="for “choose”; left empty: by the house rules; else separated by semicolons, with a price per metre:"
            " 16 AWG = 0.80; 12 SAE TXL = 1.60",
        )  # fmt: skip
        self.shelf.changed = self._work
        self.shelf.view.add_class("wc-shelf")
        self.sold = SoldAs(self.house)
        self.system = SizeSystem(self.sold.use)
        self.start.units.observe(lambda _change: self._go_by_units(), "value")
        self._make_tabs()
        self._untouched = self.desk.text
        plan = Packed(
            what="This plan",
            instead="Save it as .xlsx.",
            write=self._kept,
            take=self._came,
            saved=lambda: self.desk.text is self._untouched or self.files.kept(self._saved()),
        )
        house = replace(self.house.packed, take=self._rules_came)
        packs = {"plan": plan, "house": house, "prices": self.buy.packed, "cables": self.cables.own.packed}
        self.address = Address(
            self.fields, packs, others=self._others, always=(UNITS_KEY,), came=lambda: self.start.show(PLAN)
        )
        self.files.changed = self.buy.changed = self.address.changed
        self.view = self._lay_out()
        self._arrange()
        self._changed()
        self.address.remember()

    def _others(self) -> dict[str, Actable]:
        """See `Address`."""
        return {
            **self.start.others(),
            **self.card.others(),
            **self.built.others(),
            "new": self.new,
            "mend": self.above.mend,
            "edit": self.above.edit,
            "undo": self.undo,
            "redo": self.redo,
            "wires.list": self.wires.grid,
            "wires.add": self.wires.add,
            "wires.column": self.wires.column,
            "devices.list": self.devices.grid,
            "devices.add": self.devices.add,
            "devices.column": self.devices.column,
            "limits.list": self.limits.list,
            **self.house.others,
            **self.cables.own.others,
            "file": self.files.open,
            "to-buy.file": self.buy.open,
            "sold": self.sold.choice,
            "sizes-in": self.system,
        }

    def _make_tabs(self) -> None:
        self.order = Choice(list(circuits.ORDERS), circuits.WORST, kind="bar")
        self.state = Choice(list(tree.STATE_NAMES), tree.STATE_NAMES[0], kind="bar")
        self.engine = Choice([("engine off", "off"), ("engine on", "on")], "off", kind="bar")
        for box in (self.order, self.state, self.engine):
            box.add_class("wc-units")
            box.observe(lambda _change: self._draw(), "value")
        self.minded = w.HTML()
        self.circuits, self.tree, self.bars = (Numbers(answer=self._behind) for _ in range(3))
        self.above = AboveTab(self.desk, self._changed, self._to_row, self.minded, feet=lambda: self.start.units.value)
        self.wires = ListTab(
            "Wires", self.desk, self._changed, self.shelf.view, self.sold.choice, feet=lambda: self.start.units.value
        )
        self.offered = w.Box([])
        self.offered.add_class("wc-files")
        self.devices = ListTab("Devices", self.desk, self._changed, self.offered, feet=lambda: self.start.units.value)
        self.limits = LimitsTab(self.house)
        self.cables = CablesTab()
        self.cables.changed = self._cables_changed
        self.cables.decided = lambda: self.answer.cables if self.answer else {}
        self.buy = BuyTab(feet=lambda: self.start.units.value, heads=self._heads)
        self.built = AsBuiltTab(lambda: self.desk.text, self._carded)
        self.tabs: dict[str, w.Widget] = {
            ABOVE: self.above.view,
            CIRCUITS: w.VBox([self.order, self.circuits]),
            WIRES: self.wires.view,
            DEVICES: self.devices.view,
            LIMITS: self.limits.view,
            TREE: w.VBox([self.state, self.tree]),
            BARS: w.VBox([self.engine, self.bars]),
            CABLES: self.cables.view,
            BUY: self.buy.view,
            BUILT: self.built.view,
        }
        self.bar = Choice(list(self.tabs), ABOVE, kind="bar")
        self.bar.add_class("wc-bar")
        self.bar.observe(lambda _change: self._draw(), "value")

    def _lay_out(self) -> w.Widget:
        top = w.VBox([self.headline, self.progress, self.address, self.start.units.kept, self.system.kept])
        top.add_class("wc-top")
        begun = w.VBox([self.faults, self.alert, self.bar, *self.tabs.values()])
        self.of_plan = (self.files.row, begun, self.card.whole)
        own = self.cables.own.kept
        by = switches(self.start.units, self.system)
        show = w.VBox([by, self.house.view, own, self.start.view, self.files.view, self.card.whole, begun])
        show.add_class("wc-show")
        page = w.Box([top, show])
        page.add_class("wc-page").add_class("wc-plan")
        return page

    def fields(self) -> Fields:
        """What is in the page's address, besides the plan."""
        shown = named(
            tab=Listed(self.bar, KEYS.__getitem__),
            order=Listed(self.order, circuits.ORDERS.__getitem__),
            state=Listed(self.state, tree.STATE_KEYS.__getitem__),
            engine=self.engine,
            shelf=self.shelf,
            spare=self.cables.spare,
            cable=self.cables.looked_at,
            cables=self.cables.part,
        )
        unit = {UNITS_KEY: self.start.units.field}  # before what is typed in it
        return {"open": self.opens, **unit, **self.start.fields, **shown, **self.buy.fields}

    def _opens(self) -> str:
        """What is open, in the address: a plan that is there itself needs no word."""
        if self.start.shown == CHOICE:
            return NEW_KEY if self.start.opened else ""
        if self.start.shown != PLAN:
            return self.start.shown
        return "" if self._kept() else DEMO_KEY

    def _open(self, what: str) -> None:
        self.start.opened = what == NEW_KEY or bool(self._kept())
        self.start.show({DEMO_KEY: PLAN, NEW_KEY: CHOICE}.get(what, what))

    def _begin(self, text: PlanText, name: str) -> None:
        """Another plan; what was open before can be come back to."""
        if self.start.opened:
            self.desk.put(text, name)
        else:
            self.desk.begin(text, name)
        self.bar.value = ABOVE
        self._forget()
        self._changed()
        self.start.show(PLAN)  # after the change, so that the work on it begins once

    def _forget(self) -> None:
        """No verdict is shown until there is one of this plan."""
        self.background.stop()
        self._tell(1.0, "")
        self.headline.remove_class("wc-waits")
        self.answer, self.circuits.html, self.minded.value = None, "", ""

    def _arrange(self) -> None:
        """Show the plan, or what stands before it."""
        for view in self.of_plan:
            show_if(self.start.shown == PLAN, view)
        if self.answer is None:
            self._work()
        self._draw()
        self.address.changed()

    def _kept(self) -> bytes:
        """See `Packed`: the example needs no place in the address while nothing in it was changed."""
        if (self.desk.text, self.desk.name) == (self._untouched, DEMO):
            return b""
        return to_bytes(self.desk.text, self.desk.name)

    def _came(self, content: bytes) -> None:
        """See `Packed`: this plan replaces the example."""
        text, name = from_bytes(content)
        self._take_rules(text, "link")
        self.desk.begin(text, name)
        self._forget()
        self._changed()
        self._draw()

    def _to_cell(self, fault: int) -> None:
        """Move to the cell of a fault."""
        sheet, row, column = place(self.desk.parsed.faults[fault])
        for tab in (self.wires, self.devices):
            if tab.name == sheet:
                self._to_row(sheet, max(row or 0, 0), column)

    def _to_row(self, sheet: SheetName, row: int, column: str) -> None:
        self.bar.value = sheet
        (self.wires if sheet == WIRES else self.devices).grid.go(row, column)

    def _saved(self) -> PlanText:
        """The plan as it is saved, with what is the page's of it."""
        pulled, own = self.cables.sheets()
        return replace(self.desk.whole, pulled=pulled, own=own)

    def _opened(self, name: str, text: PlanText) -> None:
        self.cables.take_sheets(text)
        self._take_rules(text, "plan")
        self.desk.put(text, name)
        self._changed()
        self.start.show(PLAN)

    def _take_rules(self, text: PlanText, by: str) -> None:
        """A plan that says nothing of house rules is read by those that hold; of faulty ones it was said."""
        rules, faults = house_rules_of(text.rules)
        if text.rules is not None and not faults:
            self.house.take(rules, by)
            self._go_by_rules()

    def _go_by_rules(self) -> None:
        self.desk.go_by(self.house.rules)
        self.limits.show()
        self.sold.show()
        self.system.show(self.sold.system)

    def _go_by_units(self) -> None:
        self.buy.use_feet(self.start.units.value)
        self._draw()

    def _rules_came(self, content: bytes) -> None:
        """See `Packed`."""
        self.house.packed.take(content)
        self._rules_changed()

    def _rules_changed(self) -> None:
        self._go_by_rules()
        self._changed()

    def _cables_changed(self) -> None:
        self._work()
        self.address.changed()

    def _step(self, by: int) -> None:
        self.desk.step(by)
        self._changed()

    def _changed(self) -> None:
        """The text has changed: draw the lists, and compute if it has no fault."""
        self.undo.disabled, self.redo.disabled = (not can for can in self.desk.can)
        self._settled = False
        for tab in (self.wires, self.devices):
            tab.show()
        self.address.changed()
        self._offer()
        self.card.show()
        faults = self.desk.parsed.faults
        if self.desk.empty:
            self._forget()
            faults = ()
        self.faults.show(f"{len(faults)} to correct in the lists", [str(fault) for fault in faults])
        self._dim()
        if not faults:
            self.alert.value = ""
            self._work()

    def _carded(self, text: PlanText) -> None:
        """No circuit depends on what heads the papers, nor on what was read: nothing is computed anew."""
        self.desk.put(text)
        self.undo.disabled, self.redo.disabled = (not can for can in self.desk.can)
        self.address.changed()
        self._draw()

    def _title(self) -> str:
        """The plan's name and what else heads its papers, as HTML."""
        card = card_of(self.desk.text)
        heads = " · ".join(html.escape(line) for key, line in card.items() if key != "plan")
        return f"<h2>{html.escape(card.get('plan') or self.desk.name)}</h2>" + (
            f"<p><small>{heads}</small></p>" if heads else ""
        )

    def _heads(self) -> list[tuple[str, str]]:
        """What heads a list on paper: label and line."""
        card = {"plan": self.desk.name, **card_of(self.desk.text)}
        return [(LABELS[key], card[key]) for key in LABELS if key in card]

    def _offer(self) -> None:
        """Buttons that add the wires which a device still needs."""
        offered = offers(self.desk.text)[:MOST_OFFERS]
        self.offered.children = tuple(Press(offer.title, functools.partial(self._add, offer)) for offer in offered)

    def _add(self, offer: Offer) -> None:
        self.desk.put(added(self.desk.text, offer))
        self._changed()

    def _dim(self) -> None:
        """While the lists have faults, what is shown is the answer of before them, and looks so."""
        for view in (self.headline, *(view for title, view in self.tabs.items() if title not in LISTS)):
            (view.add_class if self.desk.parsed.faults and self.answer else view.remove_class)("wc-stale")
        self._draw()

    def _work(self) -> None:
        vehicle = self.desk.parsed.vehicle
        if vehicle is None or (self.start.shown != PLAN and self.answer is None):  # nobody asked for the example yet
            return
        if not vehicle.wires:
            self._forget()
            self._draw()
            return
        wires = self.desk.text.wires
        at = {column: place for place, column in enumerate(wires.columns)}
        self._typed = {row[at["Name"]]: row[at["Length"]] for row in wires.rows}
        stock, before, self._settled = self.shelf.value, self.answer, False
        pulled = self.cables.pulled
        self.headline.add_class("wc-waits")
        self.background.start(lambda tell: self.work(vehicle, stock, before, tell, pulled))

    def _tell(self, share: float, what: str) -> None:
        """Show how far long work has come."""
        bar = f"<progress max='1' value='{share:.2f}' aria-label='Progress'></progress>" if what else ""
        self.progress.value = f"<div class='wc-busy' role='status'>{bar} {html.escape(what)}</div>" if what else ""

    def _show(self, answer: PlanAnswer) -> None:
        self.answer = answer
        if not answer.final:
            self._tell(0.0, "choosing sizes anew; until then the verdicts are with those from before")
        self._draw()

    def _end(self, fault: Exception | None) -> None:
        self._tell(1.0, "")
        self.headline.remove_class("wc-waits")
        self._settled = fault is None and self.desk.parsed.vehicle is not None
        if fault is not None:
            self.alert.value = f"<div role='alert'>{said(fault)} The page still shows the last good plan.</div>"

    @guarded
    def _draw(self) -> None:
        """The headline, and the tab that is shown."""
        for title, view in self.tabs.items():
            show_if(title == self.bar.value, view)
        answer = self.answer
        if self.start.shown != PLAN:
            self.headline.value = FIRST
            self.headline.remove_class("wc-waits")  # no verdict
            return
        if answer is None:
            vehicle = self.desk.parsed.vehicle
            waits = "Working …" if vehicle else "No verdicts before the lists are corrected."
            if vehicle is not None and not vehicle.wires:
                waits = NO_WIRES
            if self.desk.empty:
                waits = NOTHING
            self.headline.value = f"{self._title()}<p>{waits}</p>"
            return
        short = html.escape(circuits.in_short(answer))
        if self.desk.parsed.faults:
            short = f"Correct the lists first. Before: {short}"
        kind = "wc-fine" if answer.plan.meets else "wc-broken"
        self.headline.value = f"{self._title()}<p class='{kind}' role='status'>{short}</p>"
        self.wires.mark(answer)
        shown = self.bar.value
        if shown == ABOVE:
            self.minded.value = minded(answer)
            self.above.show(answer)
        elif shown == CIRCUITS:
            self.circuits.html = circuits.circuits_table(
                answer, self.order.value, self._typed, feet=self.start.units.value
            )
        elif shown == TREE:
            self.tree.html = tree.tree(answer.plan, self.state.value)
        elif shown == BARS:
            self.bars.html = bars.levels(answer.plan, self.engine.value) + bars.heat(answer.plan)
        elif shown == CABLES and answer.final:
            self.cables.show(answer.plan, answer.cables)
        elif shown == BUY and answer.final:
            self.buy.show(answer.plan, answer.cables)
        elif shown == BUILT:
            self.built.show(answer.plan)

    def _job(self) -> HandoutJob:
        answer = self.answer if self._settled else None
        return job(
            self.desk.name,
            self.desk.whole,
            answer,
            lambda: self.buy.list_of(answer.plan, answer.cables) if answer else None,
            feet=self.start.units.value,
        )

    def _behind(self, name: str) -> str:
        assert self.answer is not None
        return circuits.behind(self.answer, name, feet=self.start.units.value)


def show_stock(stock: Stock) -> str:
    """As a person types it; nothing where the house rules say it."""
    if stock == Stock():
        return ""
    return "; ".join(
        show_size(*size) + (f" = {stock.price_per_m[size]:g}" if size in stock.price_per_m else "")
        for size in stock.sizes
    )


def minded(answer: PlanAnswer) -> str:
    """Cautions of this plan, then those of every plan, as HTML."""
    own = "".join(f"<p role='alert'>{html.escape(text)}</p>" for text in answer.plan.problems)
    own += "".join(f"<p class='wc-caution'>{html.escape(text)}</p>" for text in answer.plan.warnings)
    always = "".join(f"<p class='wc-caution'>{html.escape(text)}</p>" for text in cautions(works(answer.plan)))
    own += "".join(f"<p>{html.escape(text)}</p>" for text in answer.plan.energy.words())
    own += f"<p><small>Assumed: {html.escape('; '.join(answer.plan.energy.assumed))}.</small></p>"
    title = f"<summary class='wc-caution'>{BEFORE}</summary>"
    return f"{own}<details>{title}<div class='wc-minded'>{always}</div></details>"
