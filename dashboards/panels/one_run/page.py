"""The page One run: any kind of circuit, what a length and a size come to, and which size to pull."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.choices import Choice, Tick
from dashboards.panels.controls import address, lazy_tabs
from dashboards.panels.controls.address import Address, Fields, Listed
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, together
from dashboards.panels.controls.fields import choice, quantity
from dashboards.panels.controls.numbers import Numbers, number, to_html
from dashboards.panels.controls.sizes import AWG_STOPS, METRIC_STOPS, OFFERED, Size, SizePicker
from dashboards.panels.kinds import FORMS, Form
from dashboards.panels.one_run import length, request
from dashboards.panels.one_run.decision import decision
from dashboards.panels.one_run.limits import LimitEntries
from dashboards.panels.one_run.request import RunRequest, Tab
from dashboards.panels.settings.house import House
from dashboards.panels.settings.units import Units
from wirecalc import runs, units
from wirecalc.advice.stretches import Stretch, by_house_rules, in_zone
from wirecalc.circuits.circuit import without_wire_w
from wirecalc.errors import InputError
from wirecalc.runs import words
from wirecalc.vehicle.places import Places, check_length, read_places
from wirecalc.wire import heat
from wirecalc.wire.cable import FOOT_M, LONGEST_M
from wirecalc.wire.conductor import COLDEST_C, HOTTEST_C, METALS, STRANDINGS, Conductor, conductor, log_area
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES
from wirecalc.workings.measures import working
from wirecalc.workings.rating import TWICE, twice

USUAL = "usual"  # insulation or place as the house rules have it for the kind of circuit
METRE_STOPS = tuple(step / 4 for step in range(1, 49))
FOOT_STOPS = tuple(step * FOOT_M for step in range(1, 41))
SUITS: dict[str, str] = {"Response": "has_response", "Heat and fuse": "has_heat"}
"""Tabs that have something to say about some kinds of run only -> what of a run says so."""
TABLES = ("IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1")


TABS = {
    "Length": "length",
    "Which size?": "choice",
    "Heat and fuse": "heat",
    "Response": "response",
    "Spread": "spread",
}
"""Keys of the tabs in the page's address."""
RETURNS = {2: "conductor", 1: "body"}
# Tabs that are not shown first: module and class. They are imported when the page stands, so that it stands sooner.
LATER = {
    "Which size?": ("one_run.choice", "ChoiceTab"),
    "Heat and fuse": ("one_run.heat", "HeatTab"),
    "Response": ("one_run.response", "ResponseTab"),
    "Spread": ("one_run.spread", "SpreadTab"),
}


def suits(run: runs.Run, title: str) -> bool:
    """Whether a tab is of use for this run."""
    return title not in SUITS or bool(getattr(run, SUITS[title]))


def tiles(here: RunRequest, form: Form[Any]) -> str:
    """This run in a few figures, as HTML; each opens to where it comes from."""
    measures = {name: float(value[0]) for name, value in here.plain.items()}
    cells = []
    for measure, said in form.tiles:
        value, what = measures[measure], runs.MEASURES[measure]
        if not np.isfinite(value):
            big, unit = "none", ""
        elif what.unit == "dB":
            big, unit = words.decibels(value), "dB"
        elif measure == "load_w":
            big = words.watts(value)
            bare_w = float(without_wire_w(value, measures["loss_db"]))
            unit = f"of {number(words.watts(bare_w), 'bare_w:0')} W"
        else:
            big, unit = f"{value:.{min(what.decimals, 2)}f}".replace("-", "−"), what.unit
        cells.append(
            f"<div><strong>{number(big, f'{measure}:0')}</strong> <span>{unit}</span>"
            f"<small>{html.escape(said)}</small></div>"
        )
    at = units.show(here.laid.length_m, units.LENGTH, feet=here.feet)
    title = html.escape(f"{here.label}, {at} one way")
    return f"<section class='wc-tiles' aria-label='This run'><h2>{title}</h2>{''.join(cells)}</section>"


class OneRunPanel:
    """Entries -> RunRequest -> the shown tab. `compute` is handed in so that a test can count calls."""

    def __init__(self, compute: Callable[[RunRequest], length.LengthAnswer] = length.compute) -> None:
        self._forms: dict[type[Form[Any]], Form[Any]] = {}
        self._kept: dict[type[Form[Any]], tuple[float, Size, tuple[Size, ...]]] = {}
        self._situation: RunRequest | None = None
        self.kind = choice("Circuit", [(form.title, form) for form in FORMS], FORMS[0])
        self.kind.add_class("wc-kind")
        self.feet = Units()
        self.house = House(self._rules_changed)
        first_m, first_size, first_drawn = FORMS[0].start
        self.length = Entry(
            "Run length, one way",
            lambda text: units.read(
                text, "Run length", units.LENGTH, low=0, high=LONGEST_M, above=True, bare=self._length_unit()
            ),
            lambda value: units.show(value, units.LENGTH, feet=self.feet.value),
            first_m,
            stops=METRE_STOPS,
            help="as the wire runs, not as the crow flies",
        )
        self.size: Entry[Size] = Entry(
            "Size",
            self._read_size,
            lambda size: units.show_size(*size),
            first_size,
            stops=AWG_STOPS,
            position=lambda size: log_area(*size),
            help="AWG or mm²: 16 AWG, 1/0, 0.75 mm2",
        )
        self.picker = SizePicker(first_drawn)
        self._make_more()
        self.own, self.own_more = w.Box(), w.Box()
        for box in (self.own, self.own_more):
            box.add_class("wc-own")
        self.more = w.VBox([self.own_more, *self._common_more])
        self.more.add_class("wc-more").add_class("wc-shut")
        self.open_more = Tick("More: metal, temperature, joints …", kind="switch")
        self.open_more.observe(self._toggle_more, "value")

        self.alert = w.HTML()
        # what a kind of circuit changes; and the unit, in which the link's bare numbers are
        always = ("units", "circuit", "length", "size", "return", "sizes")
        packs = {"house": self.house.packed}
        self.address = Address(self.fields, packs, always=always, part=self._open, together=self._filled)
        self.decision = Numbers(answer=self.work_of_decision)
        self.decision.add_class("wc-decided")
        self.tiles = Numbers(answer=self.work)
        self.limits = LimitEntries()
        self.tabs: dict[str, Callable[[], Tab]] = {
            "Length": lambda: length.LengthTab(self.work, compute),
            **{title: functools.partial(lazy_tabs.made, *place) for title, place in LATER.items()},
        }
        self._made: dict[str, Tab] = {}
        self.bar = Choice(list(self.tabs), "Length", kind="bar")
        self.bar.add_class("wc-bar")
        self.page_of = w.Box()
        self.page_of.add_class("wc-tab")

        self._use_form()
        self.refresh()
        self._listen()
        self.address.remember()
        self.view = self._lay_out()
        # with the first typed foot, which waits for pint
        lazy_tabs.warm([module for module, _ in LATER.values()], lambda: units.read("1 ft", "Length", units.LENGTH))

    def _listen(self) -> None:
        typed = (self.length, self.size, self.temperature, self.joints, self.parallel, self.loaded, self.places)
        for entry in (*typed, self.terminal, self.limits):
            entry.changed = self.refresh
        self.picker.changed = self.refresh
        chosen = (self.metal, self.stranding, self.metric_table, self.ways, self.insulation, self.zone, self.sheathed)
        for box in (*chosen, self.bar):
            box.observe(lambda _change: self.refresh(), "value")
        self.feet.observe(self._change_units, "value")
        self.kind.observe(self._change_kind, "value")

    def _make_more(self) -> None:
        """The entries that every kind of circuit has, behind the button."""
        self.metal = choice("Metal", [(m.name, m.key) for m in METALS.values()], "copper")
        self.stranding = choice("Stranding", [(s.name, s.key) for s in STRANDINGS.values()], "stranded")
        self.metric_table = choice("Metric sizes by", [(t, t) for t in TABLES], TABLES[0])
        self.ways = choice("Return", [("by a second conductor", 2), ("by the vehicle's body", 1)], 2)
        self.temperature = quantity(
            "Conductor temperature", units.TEMPERATURE, 20.0, "°C", low=COLDEST_C, high=HOTTEST_C,
            help="default 20 °C, as the wire tables; a cabin parked in the sun reaches 60 °C and more",
        )  # fmt: skip
        self.joints = quantity(
            "Joints, whole loop", units.RESISTANCE, 0.0, "mohm", low=0, high=1,
            help="default 0 mΩ; add what crimps, plugs, fuse holder and the body measure",
        )  # fmt: skip
        self.parallel = Entry(
            "Conductors in parallel",
            lambda text: int(units.read(text, "Conductors in parallel", units.COUNT, low=1, high=16)),
            str,
            1,
            help="default 1; like conductors side by side, each way",
        )
        self.insulation = choice(
            "Insulation", [("usual for this circuit", USUAL), *((i.name, i.key) for i in INSULATIONS.values())], USUAL
        )
        self.zone = choice(
            "Where it lies",
            [("usual for this circuit", USUAL), *((f"{z.name}, {z.ambient_c:g} °C", z.key) for z in ZONES.values())],
            USUAL,
        )
        self.places: Entry[Places] = Entry(
            "Places it passes",
            lambda text: read_places(text, "Places it passes") if text.strip() else (),
            lambda places: "; ".join(f"{zone} {units.show(m, units.LENGTH)}" for zone, m in places),
            (),
            help="left empty: as above; else each with its length: engine bay 1 m; sill 3 m; boot 1 m",
        )
        self.loaded: Entry[int | None] = Entry(
            "Loaded wires together",
            lambda text: (
                int(units.read(text, "Loaded wires together", units.COUNT, low=1, high=heat.MOST_LOADED))
                if text.strip()
                else None
            ),
            lambda count: "" if count is None else str(count),
            None,
            help="left empty: this run alone; conductors that carry current in this bundle or jacket, each way counted",
        )
        self.sheathed = choice("Pulled as", [("loose wire", False), ("in a jacketed cable", True)], False)
        self.terminal: Entry[Size | None] = Entry(
            "Terminals take up to",
            lambda text: units.read_size(text, "Terminals take up to") if text.strip() else None,
            lambda size: units.show_size(*size) if size else "",
            None,
            help="left empty: not known; the thickest wire that the device's terminals take, such as 8 AWG",
        )
        self._common_more: list[w.Widget] = [
            self.metal,
            self.stranding,
            self.metric_table,
            self.ways,
            self.temperature.view,
            self.joints.view,
            self.parallel.view,
            self.insulation,
            self.zone,
            self.places.view,
            self.loaded.view,
            self.sheathed,
            self.terminal.view,
        ]

    def _lay_out(self) -> w.Widget:
        ask = w.VBox([self.kind, self.feet, self.own, self.length.view, self.size.view, self.open_more, self.more])
        ask.add_class("wc-ask")
        top = w.VBox([self.decision, self.alert, self.address, self.house.view])
        top.add_class("wc-top")
        show = w.VBox([self.tiles, self.bar, self.picker.view, self.limits.view, self.page_of])
        show.add_class("wc-show")
        page = w.Box([top, ask, show])
        page.add_class("wc-page")
        return page

    @property
    def form(self) -> Form[Any]:
        """The entries of the chosen kind of circuit."""
        of_kind = self.kind.value
        if of_kind not in self._forms:
            self._forms[of_kind] = of_kind()
            self._forms[of_kind].changed = self.refresh
        return self._forms[of_kind]

    def _use_form(self) -> None:
        form = self.form
        self.own.children = tuple(getattr(one, "view", one) for one in form.asked)
        self.own_more.children = tuple(getattr(one, "view", one) for one in form.more)

    def fields(self) -> Fields:
        """Every entry that the chosen kind of circuit has, by its name in the page's address."""
        found = {
            **address.named(
                units=self.feet.field,
                circuit=Listed(self.kind, lambda form: form.key),
            ),
            **self.form.fields,
            **address.named(
                length=self.length,
                metal=self.metal,
                stranding=self.stranding,
                metric_table=self.metric_table,
                insulation=self.insulation,
                zone=self.zone,
                temperature=self.temperature,
                size=self.size,
                return_=Listed(self.ways, RETURNS.__getitem__),
                joints=self.joints,
                parallel=self.parallel,
                loaded=self.loaded,
                places=self.places,
                sheathed=Listed(self.sheathed, lambda value: "yes" if value else "no"),
                terminal=self.terminal,
                sizes=self.picker.part,
                tab=Listed(self.bar, TABS.__getitem__),
            ),
        }
        found |= address.nested("choice", self.limits.fields)
        for title in filter(self._made.__contains__, self.bar.options):
            found |= address.nested(TABS[title], self._made[title].fields)
        return found

    @contextmanager
    def _filled(self) -> Iterator[None]:
        """See `Address`."""
        with together(self, self.refresh):
            yield
        if any(isinstance(field, Entry) and field.fault for field in self.fields().values()):
            self.open_more.value = True  # the fault may be said there

    def _open(self, part: str) -> None:
        """See `Address`."""
        for title in self.bar.options:
            if TABS[title] == part:
                with suppress(InputError):  # which the page has said
                    self._tab(title).show(self.situation())

    def _length_unit(self) -> str:
        return "ft" if self.feet.value else "m"

    def _conductor(self, size: Size) -> Conductor:
        return conductor(*size, METALS[self.metal.value], STRANDINGS[self.stranding.value], self.metric_table.value)

    def _read_size(self, text: str) -> Size:
        size = units.read_size(text, "Size")
        self._conductor(size)  # a metric size must be in the table
        self.size.set_stops(AWG_STOPS if size[0] == "AWG" else METRIC_STOPS)
        return size

    def _toggle_more(self, change: dict[str, Any]) -> None:
        (self.more.remove_class if change["new"] else self.more.add_class)("wc-shut")

    def _change_units(self, _change: dict[str, Any]) -> None:
        self.length.set_stops(FOOT_STOPS if self.feet.value else METRE_STOPS)
        self.length.rewrite()
        self.refresh()

    def _rules_changed(self) -> None:
        self.refresh()
        self.address.changed()

    def _change_kind(self, change: dict[str, Any]) -> None:
        """Each kind of circuit keeps its own length, size and drawn sizes."""
        with together(self, self.refresh):
            self._settle(change["old"], change["new"])

    def _settle(self, old: type[Form[Any]], new: type[Form[Any]]) -> None:
        self._kept[old] = (self.length.value, self.size.value, self.picker.picked)
        length_m, size, drawn = self._kept.get(new, new.start)
        self.length.set(length_m)
        self.size.set_stops(AWG_STOPS if size[0] == "AWG" else METRIC_STOPS)
        self.size.set(size)
        self.picker.pick(drawn)
        self._use_form()
        self.address.remember()
        shown = [title for title in self.tabs if suits(self.form.run(), title)]
        with self.bar.hold_trait_notifications():
            wanted = self.bar.value if self.bar.value in shown else "Length"
            self.bar.options, self.bar.value = shown, wanted
        if old.ways != new.ways:
            self.ways.value = new.ways

    def _tab(self, title: str) -> Tab:
        if title not in self._made:
            self._made[title] = self.tabs[title]()
            self._made[title].changed = self.refresh
        return self._made[title]

    def situation(self) -> RunRequest:
        """What the entries say now, the last good value of each."""
        picked, run, ways = self.picker.picked, self.form.run(), self.ways.value
        insulation = (
            self.house.rules.insulation(run.kind)
            if self.insulation.value == USUAL
            else INSULATIONS[self.insulation.value]
        )
        stretches = self._stretches(run)
        terminal = self.terminal.value
        return request.RunRequest(
            run=run,
            laid=runs.Installation(
                length_m=self.length.value,
                temperature_c=self.temperature.value,
                parallel=self.parallel.value,
                joints_ohm=self.joints.value,
                ways=ways,
            ),
            place=runs.Place(
                insulation=insulation,
                ambient_c=max(stretch.ambient_c for stretch in stretches),
                loaded=self.loaded.value or ways * self.parallel.value,
                zone=max(stretches, key=lambda stretch: stretch.ambient_c).zone,
            ),
            this=self._conductor(self.size.value),
            others=tuple(self._conductor(size) if size in picked else None for size in OFFERED),
            conductor=self._conductor,
            feet=self.feet.value,
            cautions=self.form.cautions(),
            stretches=stretches,
            rules=self.house.rules,
            limits=self.limits.of(run, self.house.rules),
            sheathed=self.sheathed.value,
            terminal_m2=None if terminal is None else self._conductor(terminal).area_m2,
        )

    def _stretches(self, run: runs.Run) -> tuple[Stretch, ...]:
        """The places that the run passes: those listed, the one chosen, or those that the house rules take."""
        length_m, loaded = self.length.value, self.loaded.value
        if self.places.value:
            check_length(self.places.value, length_m)
            return tuple(in_zone(zone, part_m, loaded) for zone, part_m in self.places.value)
        if self.zone.value == USUAL:
            return by_house_rules(run.kind, length_m, self.house.rules, loaded=loaded).stretches
        return (in_zone(self.zone.value, length_m, loaded),)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "measure:place among the situation's conductors"."""
        measure, place = key.split(":")
        if measure in TWICE:
            return to_html(twice(measure, float(place)))
        here = self._situation
        assert here is not None
        return to_html(working(measure, here.run, here.conductors[int(place)], here.laid, feet=here.feet))

    def work_of_decision(self, key: str) -> str:
        """Where a number of the decision comes from, as HTML; the key is that of `wirecalc.workings.advice.of_size`."""
        from wirecalc.workings.advice import of_size  # with the first click: no page needs it before

        here = self._situation
        assert here is not None
        asked = here.advice.asked
        assert asked is not None
        return to_html(of_size(key, here.advice.job, asked.candidate, feet=here.feet))

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw the tab that is shown."""
        now = self.situation()
        tab = self._tab(self.bar.value)
        tab.show(now)
        self._situation = now
        self.decision.html = decision(now)
        self.tiles.html = tiles(now, self.form)
        on_choice = TABS[self.bar.value] == "choice"
        (self.limits.view.remove_class if on_choice else self.limits.view.add_class)("wc-shut")
        (self.picker.view.remove_class if TABS[self.bar.value] == "length" else self.picker.view.add_class)("wc-shut")
        lazy_tabs.bring_forward(self.page_of, tab.view)
        self.alert.value = ""
