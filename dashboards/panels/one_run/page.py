"""The page One run: any kind of circuit, what a length and a size come to, and which size to pull."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any
from urllib.parse import urlencode

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls import address, lazy_tabs
from dashboards.panels.controls.address import Address, Fields, Listed
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, together
from dashboards.panels.controls.fields import FOOT_STOPS, METRE_STOPS, LengthEntry
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.numbers import Numbers, number, to_html
from dashboards.panels.controls.sizes import OFFERED, Size, SizePicker, in_system, stops_of
from dashboards.panels.kinds import FORMS, Form, SpeakerForm
from dashboards.panels.kinds.pictures import picture
from dashboards.panels.one_run import length, request
from dashboards.panels.one_run.decision import decision
from dashboards.panels.one_run.hand_on import HandOn, to_counter
from dashboards.panels.one_run.limits import LimitEntries
from dashboards.panels.one_run.more import MoreEntries
from dashboards.panels.one_run.request import RunRequest, Tab
from dashboards.panels.settings.house import House
from dashboards.panels.settings.own_cables import OwnCables
from dashboards.panels.settings.units import SizeSystem, Units, switches
from wirecalc import runs, units
from wirecalc.circuits.circuit import without_wire_w
from wirecalc.errors import InputError
from wirecalc.runs import words
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.conductor import log_area
from wirecalc.workings.measures import working
from wirecalc.workings.rating import TWICE, twice

SUITS: dict[str, str] = {"Response": "response", "Heat and fuse": "has_heat"}
"""Tabs that have something to say about some kinds of run only -> what of a run says so."""
TABS = {
    "Length": "length",
    "Which size?": "choice",
    "My cable": "cable",
    "Heat and fuse": "heat",
    "Response": "response",
    "How sure?": "spread",
}
"""Keys of the tabs in the page's address."""
# Tabs that are not shown first: module and class. They are imported when the page stands, so that it stands sooner.
LATER = {
    "Which size?": ("one_run.choice", "ChoiceTab"),
    "My cable": ("one_run.cable", "CableTab"),
    "Heat and fuse": ("one_run.heat", "HeatTab"),
    "Response": ("one_run.response", "ResponseTab"),
    "How sure?": ("one_run.spread", "SpreadTab"),
}


def suits(run: runs.Run, title: str) -> bool:
    """Whether a tab is of use for this run."""
    return title not in SUITS or bool(getattr(run, SUITS[title]))


def tiles(here: RunRequest, form: Form[Any]) -> str:
    """This run in a few figures, as HTML; each opens to where it comes from."""
    measures = {name: float(value[0]) for name, value in here.plain.items()}
    cells = []
    for measure, label in form.tiles:
        value, what = measures[measure], runs.MEASURES[measure]
        if not np.isfinite(value):
            big, unit = "none", ""
        elif what.unit == "dB":
            big, unit = words.decibels(value) if abs(value) >= 0.005 else what.said(value), "dB"
        elif measure == "load_w":
            big = words.watts(value)
            bare_w = float(without_wire_w(value, measures["loss_db"]))
            unit = f"of {number(words.watts(bare_w), 'bare_w:0')} W"
        else:
            big, unit = what.said(value), what.unit
        cells.append(
            f"<div><strong>{number(big, f'{measure}:0')}</strong> <span>{unit}</span>"
            f"<small>{html.escape(label)}</small></div>"
        )
    at = units.show(here.laid.length_m, units.LENGTH, feet=here.feet)
    at_c = units.show(here.laid.temperature_c, units.TEMPERATURE)
    title = html.escape(f"{here.label}, {at} one way, wire at {at_c}")
    wire = f"<p>{html.escape(here.wire_in_words)}</p>" if here.wire_in_words else ""
    return f"<section class='wc-tiles' aria-label='This run'><h2>{title}</h2>{wire}{''.join(cells)}</section>"


class OneRunPanel:
    """Entries -> RunRequest -> the shown tab. `compute` is handed in so that a test can count calls."""

    def __init__(self, compute: Callable[[RunRequest], length.LengthAnswer] = length.compute) -> None:
        self._forms: dict[type[Form[Any]], Form[Any]] = {}
        self._kept: dict[type[Form[Any]], tuple[float | None, Size, tuple[Size, ...]]] = {}
        self._situation: RunRequest | None = None
        self.kind = Choice([(form.title, form) for form in FORMS], FORMS[0], "Circuit", kind="bar")
        self.kind.pictures = [picture(form.key) for form in FORMS]
        self.kind.add_class("wc-kinds")
        self.feet, self.system = Units(), SizeSystem(self._use_system)
        self.house = House(self._rules_changed)
        self.own_cables = OwnCables()
        first_m, first_size, first_drawn = FORMS[0].start
        self.more = MoreEntries(self.refresh)
        self.length = self._length_entry(first_m)
        self.size = self._size_entry(first_size)
        self.picker = SizePicker(first_drawn)
        self.own = w.Box()
        self.own.add_class("wc-own")

        self.alert = w.HTML()
        # what a kind of circuit changes; and the unit, in which the link's bare numbers are
        always = ("units", "circuit", "length", "size", "return", "sizes")
        packs = {"house": self.house.packed, "cables": self.own_cables.packed}
        self.address = Address(
            self.fields, packs, always=always, part=self._open, others=self._others, together=self._filled
        )
        self.decision = Numbers(answer=self.work_of_decision)
        self.decision.add_class("wc-decided")
        self.tiles = Numbers(answer=self.work)
        self.limits = LimitEntries()
        self.hand_on = HandOn(
            lambda: to_counter(self.form, self.situation(), self.feet.field.key(self.feet.value)),
            lambda: urlencode(self.address.written()),
        )
        self.tabs: dict[str, Callable[[], Tab]] = {
            "Length": lambda: length.LengthTab(self.work, compute),
            **{title: functools.partial(lazy_tabs.made, *place) for title, place in LATER.items()},
            "My cable": functools.partial(lazy_tabs.made, *LATER["My cable"], own=self.own_cables),
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

    @staticmethod
    def _length_entry(first_m: float) -> LengthEntry:
        return LengthEntry(
            "Run length, one way", first_m, low=0, high=LONGEST_M, above=True,
            stops=METRE_STOPS, foot_stops=FOOT_STOPS, help="as the wire runs, not as the crow flies",
        )  # fmt: skip

    def _size_entry(self, first: Size) -> Entry[Size]:
        return Entry(
            "Size",
            self._read_size,
            lambda size: show_size(*size),
            first,
            stops_for=lambda size: stops_of(size[0]),
            position=lambda size: log_area(*size),
            help="16 AWG, 1/0, 0.75 mm2; or as printed: 12 SAE TXL, 0.5 mm² FLRY-B",
        )

    def _listen(self) -> None:
        for entry in (self.length, self.size, self.limits):
            entry.changed = self.refresh
        self.picker.changed = self.refresh
        self.bar.observe(lambda _change: self.refresh(), "value")
        self.feet.observe(self._change_units, "value")
        self.kind.observe(self._change_kind, "value")

    def _lay_out(self) -> w.Widget:
        more = (self.more.open, self.more.set_there, self.more.view)
        ask = w.VBox([self.kind, switches(self.feet, self.system), self.own, self.length.view, self.size.view, *more])
        ask.add_class("wc-ask")
        top = w.VBox([self.decision, self.alert, self.address, self.house.view, self.own_cables.kept])
        top.add_class("wc-top")
        show = w.VBox([self.hand_on, self.tiles, self.bar, self.picker.view, self.limits.view, self.page_of])
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
            self._forms[of_kind].use_feet(self.feet.value)
            self._forms[of_kind].changed = self.refresh
        self._forms[of_kind].follow(self.house.rules)
        return self._forms[of_kind]

    def _use_form(self) -> None:
        form = self.form
        self.hand_on.heard = isinstance(form, SpeakerForm)
        self.own.children = tuple(getattr(entry, "view", entry) for entry in form.asked)
        self.more.use(form.more, form.of_kind.usual_ways)

    def fields(self) -> Fields:
        """Every entry that the chosen kind of circuit has, by its name in the page's address."""
        fields = {
            **address.named(
                units=self.feet.field,
                circuit=Listed(self.kind, lambda form: form.key),
            ),
            **self.form.fields,
            **address.named(length=self.length),
            **self.more.fields,  # before the size, which must be in the chosen table
            **address.named(size=self.size, sizes=self.picker.part, tab=Listed(self.bar, TABS.__getitem__)),
        }
        fields |= address.nested("choice", self.limits.fields)
        for title in filter(self._made.__contains__, self.bar.options):
            fields |= address.nested(TABS[title], self._made[title].fields)
        return fields

    def _others(self) -> dict[str, Actable]:
        """See `Address`."""
        response: Any = self._made.get("Response")
        return {
            **self.house.others,
            **self.own_cables.others,
            "sizes-in": self.system,
            **({"response.file": response.speaker.upload} if response else {}),
        }

    @contextmanager
    def _filled(self) -> Iterator[None]:
        """See `Address`."""
        with together(self, self.refresh):
            yield
        if any(isinstance(field, Entry) and field.fault for field in self.fields().values()):
            self.more.open.value = True  # the fault may be said there

    def _open(self, part: str) -> None:
        """See `Address`."""
        for title in self.bar.options:
            if TABS[title] == part:
                with suppress(InputError):  # which the page has said
                    self._tab(title).show(self.situation())

    def _read_size(self, text: str) -> Size:
        size = read_size(text, "Size")
        self.more.conductor(size)  # a metric size must be in the table
        return size

    def _change_units(self, _change: dict[str, Any]) -> None:
        with together(self, self.refresh):
            self.length.use_feet(self.feet.value)
            self.more.use_feet(self.feet.value)
            for form in self._forms.values():
                form.use_feet(self.feet.value)

    def _use_system(self, system: str) -> None:
        """See `SizeSystem`."""
        with together(self, self.refresh):
            self._put_into(system)

    def _put_into(self, system: str) -> None:
        size = in_system(self.size.value, system)
        self.size.set(size)
        self.picker.use(system)

    def _rules_changed(self) -> None:
        self.refresh()
        self.address.changed()

    def _change_kind(self, change: dict[str, Any]) -> None:
        """Each kind of circuit keeps its own length, size and drawn sizes."""
        with together(self, self.refresh):
            self._settle(change["old"], change["new"])

    def _settle(self, old: type[Form[Any]], new: type[Form[Any]]) -> None:
        length = None if self.length.untouched else self.length.value
        self._kept[old] = (length, self.size.value, self.picker.picked)
        start_m = self.length.start_at(new.start[0])
        length_m, size, drawn = self._kept.get(new, (None, *new.start[1:]))
        self.length.set(start_m if length_m is None else length_m)
        system = self.system.value
        self.size.set(size)
        self.picker.pick(drawn)
        if new not in self._kept:
            self._put_into(system)
        self._use_form()
        self.address.remember()
        shown = [title for title in self.tabs if suits(self.form.run(), title)]
        with self.bar.hold_trait_notifications():
            wanted = self.bar.value if self.bar.value in shown else "Length"
            self.bar.options, self.bar.value = shown, wanted
        if old.of_kind.usual_ways != new.of_kind.usual_ways:
            self.more.ways.value = new.of_kind.usual_ways

    def _tab(self, title: str) -> Tab:
        if title not in self._made:
            self._made[title] = self.tabs[title]()
            self._made[title].changed = self.refresh
        return self._made[title]

    def situation(self) -> RunRequest:
        """What the entries say now, the last good value of each."""
        picked, run, more = self.picker.picked, self.form.run(), self.more
        stretches = more.stretches(run, self.length.value, self.house.rules)
        terminal, asked = more.terminal.value, self.size.value[0]
        system = more.system_of(run, self.house.rules, asked)
        return request.RunRequest(
            run=run,
            laid=runs.Installation(
                length_m=self.length.value,
                temperature_c=more.temperature.value,
                parallel=more.parallel.value,
                joints_ohm=more.joints.value,
                ways=more.ways.value,
            ),
            place=runs.Place(
                insulation=more.insulation_of(run, self.house.rules, asked),
                ambient_c=max(stretch.ambient_c for stretch in stretches),
                loaded=more.loaded.value or more.ways.value * more.parallel.value,
                zone=max(stretches, key=lambda stretch: stretch.ambient_c).zone,
            ),
            this=more.conductor(self.size.value),
            others=tuple(more.conductor(size) if size in picked else None for size in OFFERED),
            conductor=more.conductor,
            feet=self.feet.value,
            cautions=self.form.cautions(),
            stretches=stretches,
            rules=self.house.rules,
            limits=self.limits.of(run, self.house.rules),
            sheathed=more.sheathed.value,
            terminal_m2=None if terminal is None else more.conductor(terminal).area_m2,
            takes="" if terminal is None else show_size(*terminal),
            size=self.size.value,
            system=system,
            choice_insulation=more.insulation_of(run, self.house.rules, system),
        )

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
        return to_html(of_size(key, here.own_job, asked.candidate, feet=here.feet))

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw the tab that is shown."""
        now = self.situation()
        tab = self._tab(self.bar.value)
        tab.show(now)
        self._situation = now
        self.decision.html = decision(now)
        self.tiles.html = tiles(now, self.form)
        self.system.show(self.size.value[0])
        self.more.say()
        on_choice = TABS[self.bar.value] == "choice"
        show_if(on_choice, self.limits.view)
        show_if(TABS[self.bar.value] == "length", self.picker.view)
        lazy_tabs.bring_forward(self.page_of, tab.view)
        self.alert.value = ""
