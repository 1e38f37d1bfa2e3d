"""The page Show and hear: two choices of wire for a customer, to see, to hear, and to take home on paper."""

from __future__ import annotations

import html
from typing import Any

import ipywidgets as w

from dashboards.panels.controls import glossary
from dashboards.panels.controls.address import Address, Fields, named, text
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, together
from dashboards.panels.controls.fields import FOOT_STOPS, METRE_STOPS, LengthEntry, choice
from dashboards.panels.controls.files import Download
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.sizes import Size, in_system, stops_of
from dashboards.panels.kinds import SpeakerForm
from dashboards.panels.settings.units import SizeSystem, Units, switches
from dashboards.panels.show_and_hear import compare
from dashboards.panels.show_and_hear.blind import BlindPart
from dashboards.panels.show_and_hear.hand_back import HandBack
from dashboards.panels.show_and_hear.hear import HearPart
from dashboards.panels.show_and_hear.leaflet import leaflet
from wirecalc import units
from wirecalc.circuits.loudspeaker import ABOUT_DEMO_DRIVERS, DEMO_DRIVERS
from wirecalc.hearing import verdict
from wirecalc.hearing.contrast import DEAREST_PER_M, NAMES, ComparedWire, Contrast, contrast
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cable import FOOT_M, LONGEST_M
from wirecalc.wire.conductor import METALS, conductor, log_area

_DEEPEST_HZ = 200.0  # resonance of a driver that plays the whole band of the comparison


class ChoiceForm:
    """Entries of one of the two choices; labels begin with its name, so that each is read out as its own."""

    def __init__(self, name: str, size: Size, panel: ShowAndHearPanel) -> None:
        self._feet = panel.feet
        self.size: Entry[Size] = Entry(
            f"{name}: size",
            lambda text: self._read_size(text, f"{name}: size"),
            lambda value: show_size(*value),
            size,
            stops_for=lambda size: stops_of(size[0]),
            position=lambda value: log_area(*value),
            help="AWG or mm²: 16 AWG, 1/0, 0.75 mm2",
        )
        self.metal = choice(f"{name}: metal", [(metal.name, metal.key) for metal in METALS.values()], "copper")
        self.length = LengthEntry(
            f"{name}: run length, one way", 5.5, low=0, high=LONGEST_M, above=True,
            stops=METRE_STOPS, foot_stops=FOOT_STOPS,
        )  # fmt: skip
        self.parallel = Entry(
            f"{name}: wires in parallel",
            lambda text: int(units.read(text, f"{name}: wires in parallel", units.COUNT, low=1, high=16)),
            str,
            1,
            help="like pairs side by side; usually 1",
        )
        self.price = Entry(
            f"{name}: price of the pair",
            self._read_price,
            lambda value: "" if value is None else f"{value * self._per():.2f}",
            None,
        )
        self.entries: tuple[Entry[Any], ...] = (self.size, self.length, self.parallel, self.price)
        self.use_units()
        for entry in self.entries:
            entry.changed = panel.refresh
        self.metal.observe(lambda _change: panel.refresh(), "value")
        head = w.HTML(f"<h2>Choice {name}</h2>")
        self.view = w.VBox([head, self.size.view, self.metal, self.length.view, self.parallel.view, self.price.view])

    def _per(self) -> float:
        """How many metres the unit has that the price is for."""
        return FOOT_M if self._feet.value else 1.0

    def _read_price(self, text: str) -> float | None:
        if not text.strip():
            return None
        most = DEAREST_PER_M * self._per()
        return units.read(text, self.price.text.description, units.NUMBER, low=0, high=most) / self._per()

    def _read_size(self, text: str, label: str) -> Size:
        size = read_size(text, label)
        conductor(*size)  # a metric size must be in the table
        return size

    def use_units(self) -> None:
        """Write length and price in the page's unit."""
        self.length.use_feet(self._feet.value)
        self.price.help = f"for one {'foot' if self._feet.value else 'metre'}, both conductors; may stay empty"
        self.price.rewrite()

    def use_system(self, system: str) -> None:
        """Have the size in AWG or mm²."""
        size = in_system(self.size.value, system)
        self.size.set(size)

    def choice(self) -> ComparedWire:
        """The last good value of each entry."""
        return ComparedWire(
            conductor=conductor(*self.size.value, METALS[self.metal.value]),
            length_m=self.length.value,
            parallel=self.parallel.value,
            pair_per_m=self.price.value,
        )


class ShowAndHearPanel:
    """Entries -> Contrast -> picture, sounds and leaflet."""

    def __init__(self) -> None:
        self.found: Contrast | None = None
        self.feet, self.system = Units(), SizeSystem(self._use_system)
        self.shared = SpeakerForm()
        demo = [
            (f"{name}, invented", name) for name, demo_driver in DEMO_DRIVERS.items() if demo_driver.fs_hz < _DEEPEST_HZ
        ]
        self.speaker = choice("Speaker", [("a plain load", ""), *demo], "")
        self.forms = tuple(
            ChoiceForm(name, ("AWG", size), self) for name, size in zip(NAMES, (16.0, 12.0), strict=True)
        )
        self.alert, self.told, self.picture = w.HTML(), w.HTML(), w.HTML()
        self.numbers, self.minds = w.HTML(), w.HTML()
        self.hear, self.blind = HearPart(), BlindPart()
        self.hand_back = HandBack(self._to_run)
        self.shop = Entry("Shop, on the leaflet", str.strip, str, "", help="name and telephone; may stay empty")
        self.shop.changed = lambda: None  # nothing is worked out anew
        self.shop.view.add_class("wc-controls")  # this page on paper is not the leaflet
        self.download = Download("Leaflet to print", self.leaflet)
        self.address = Address(
            self.fields,
            always=("units", "a-length", "b-length"),
            others=lambda: {"sizes-in": self.system},
            together=lambda: together(self, self.refresh),
        )
        self.refresh()
        self.shared.changed = self.refresh
        self.speaker.observe(self._change_speaker, "value")
        self.feet.observe(self._change_units, "value")
        self.address.remember()
        self.view = self._lay_out()

    def _lay_out(self) -> w.Widget:
        shared = self.shared
        own = w.Box([self.speaker, shared.power.view, shared.rated.view, shared.load.view, shared.damping.view])
        own.add_class("wc-own")
        choices = w.Box([form.view for form in self.forms])
        choices.add_class("wc-choices")
        ask = w.VBox(
            [
                switches(self.feet, self.system),
                choices,
                w.HTML("<h2>For both</h2>"),
                own,
                w.HTML(glossary.explanations()),
            ]
        )
        ask.add_class("wc-ask")
        for part in (self.hear.view, self.blind.view):
            part.add_class("wc-tab")
        self.hear.view.add_class("wc-controls")
        self.blind.view.add_class("wc-blind")
        top = w.VBox([self.told, self.alert, self.address, self.hand_back])
        top.add_class("wc-top")
        self.seen = w.Box([self.picture])
        self.seen.add_class("wc-seen")
        show = w.VBox([self.numbers, self.minds, self.shop.view, self.download, self.hear.view, self.blind.view])
        show.add_class("wc-show")
        page = w.Box([top, self.seen, ask, show])
        page.add_class("wc-page").add_class("wc-counter")
        return page

    def fields(self) -> Fields:
        """What is in the page's address: the entries; of a blind test what is asked, never its order or answers."""
        shared, blind = self.shared, self.blind
        fields = named(units=self.feet.field)
        for name, form in zip(NAMES, self.forms, strict=True):
            own = named(
                size=form.size, metal=form.metal, length=form.length, parallel=form.parallel, price=form.price
            )  # fmt: skip
            fields |= {f"{name.lower()}-{key}": field for key, field in own.items()}
        return fields | named(
            speaker=self.speaker,
            power=shared.power,
            rated=shared.rated,
            load=shared.load,
            damping=shared.damping,
            sound=self.hear.kind,
            question=blind.question,
            questions=blind.trials,
            test_sound=blind.kind,
            shop=self.shop,
        )

    def _to_run(self) -> dict[str, str]:
        """Choice A, and what both have, by their names in the address of One run."""
        first, shared = self.forms[0], self.shared
        fields = named(
            units=self.feet.field, size=first.size, metal=first.metal, length=first.length, parallel=first.parallel,
            power=shared.power, rated=shared.rated, load=shared.load, damping=shared.damping,
        )  # fmt: skip
        return {key: text(field) for key, field in fields.items()}

    def _change_speaker(self, change: dict[str, Any]) -> None:
        name = change["new"]
        if name:
            self.shared.load.set(float(ABOUT_DEMO_DRIVERS[name].rated_ohm))
        show_if(not name, self.shared.load.view)
        self.refresh()

    def _change_units(self, _change: dict[str, Any]) -> None:
        with together(self, self.refresh):
            for form in self.forms:
                form.use_units()

    def _use_system(self, system: str) -> None:
        """See `SizeSystem`."""
        with together(self, self.refresh):
            for form in self.forms:
                form.use_system(system)

    @property
    def _speaker_name(self) -> str:
        return f"the {self.speaker.value} (invented)" if self.speaker.value else ""

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw."""
        run = self.shared.run()
        first, second = (form.choice() for form in self.forms)
        compared = contrast(run, (first, second), DEMO_DRIVERS.get(self.speaker.value))
        if self.found is None or compared.asked != self.found.asked:
            self._draw(compared)
        self.system.show(self.forms[0].size.value[0])
        self.picture.value = compare.picture(compared, self.feet.value, glossary.marked)
        self.numbers.value = compare.comparison_table(compared, self.feet.value, glossary.marked)
        self.alert.value = ""

    def _draw(self, compared: Contrast) -> None:
        look = verdict.standing(compared).replace(" ", "-")
        told = f"<p class='wc-told wc-verdict wc-{look}' role='status'>{html.escape(verdict.verdict(compared))}</p>"
        self.told.value = f"{told}<p>{glossary.marked(compare.lead(compared))}</p>"
        self._cautions = (*self.shared.cautions(), verdict.NOT_ALL)
        minds = [f"<p class='wc-caution' role='note'>{glossary.marked(text)}</p>" for text in self._cautions]
        behind = glossary.marked(compare.behind(compared, self._speaker_name))
        self.minds.value = "".join([f"<p>{behind}</p>", *minds])
        self.found = compared
        self.hear.show(compared)
        self.blind.show(compared)

    def leaflet(self) -> tuple[str, bytes, str]:
        """See `Download`."""
        assert self.found is not None
        page = leaflet(
            self.found, self._speaker_name, self.feet.value, self._cautions, self.blind.said, self.shop.value
        )
        return "leaflet.html", page, "text/html"
