"""The entries that every kind of circuit has and few runs need: metal, temperature, joints, and where the wire lies."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Choice, Switch
from dashboards.panels.controls.address import Fields, Listed, named
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, quantity
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.sizes import Size
from wirecalc import units
from wirecalc.advice.decision import insulation_for, stretches_of
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.stretches import Stretch
from wirecalc.runs import Run
from wirecalc.vehicle.places import Places, check_length, read_places
from wirecalc.wire import heat
from wirecalc.wire.as_sold import SYSTEMS, show_size, system_name
from wirecalc.wire.bought import read_size
from wirecalc.wire.conductor import COLDEST_C, HOTTEST_C, METALS, STRANDINGS, Conductor, conductor
from wirecalc.wire.insulation import INSULATIONS, Insulation
from wirecalc.wire.zones import ZONES

USUAL = "usual"  # insulation or place as the house rules have it for the kind of circuit
TABLES = ("IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1")
_PLACES_HELP = {
    False: "left empty: as above; else each with its length: engine bay 1 m; sill 3 m; boot 1 m",
    True: "left empty: as above; else each with its length: engine bay 3 ft; sill 10 ft; boot 3 ft",
}
RETURNS = {2: "conductor", 1: "body"}


class MoreEntries:
    """The entries behind the button More, and what they say together.

    Parameters
    ----------
    changed : callable
        Told of every change.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._feet = False
        self._of_wire()
        self._of_place()
        self.own = w.Box()  # what the chosen kind of circuit has here
        self.own.add_class("wc-own")
        wire: list[Entry[Any] | Choice] = [self.metal, self.stranding, self.metric_table, self.ways]
        wire += [self.temperature, self.joints, self.parallel]
        place: list[Entry[Any] | Choice] = [self.insulation, self.zone, self.places, self.loaded]
        place += [self.sheathed, self.terminal, self.sold]
        for part in (*wire, *place):
            if isinstance(part, Entry):
                part.changed = changed
            else:
                part.observe(lambda _change: changed(), "value")
        self.view = w.VBox([self.own, *(getattr(part, "view", part) for part in (*wire, *place))])
        self.view.add_class("wc-more").add_class("wc-shut")
        self.set_there = w.HTML()
        """What is set in here, in sight while this is folded."""
        self._usual: dict[Entry[Any] | Choice, str] = {part: _shown(part) for part in (*wire, *place)}
        self._parts: list[Entry[Any] | Choice] = [*wire, *place]
        self.open = Switch("More: metal, temperature, joints …")
        self.open.observe(self._toggle, "value")
        self.fields: Fields = named(
            metal=self.metal,
            stranding=self.stranding,
            metric_table=self.metric_table,
            insulation=self.insulation,
            zone=self.zone,
            temperature=self.temperature,
            return_=Listed(self.ways, RETURNS.__getitem__),
            joints=self.joints,
            parallel=self.parallel,
            loaded=self.loaded,
            places=self.places,
            sheathed=Listed(self.sheathed, lambda value: "yes" if value else "no"),
            terminal=self.terminal,
            sold=self.sold,
        )

    def _of_wire(self) -> None:
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

    def _of_place(self) -> None:
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
            lambda places: "; ".join(f"{zone} {units.show(m, units.LENGTH, feet=self._feet)}" for zone, m in places),
            (),
            help=_PLACES_HELP[False],
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
            "Largest wire the terminal takes",
            lambda text: read_size(text, "Largest wire the terminal takes") if text.strip() else None,
            lambda size: show_size(*size) if size else "",
            None,
            help="left empty: not known; of the device, such as 8 AWG; where one does not fit, several side by side",
        )
        self.sold = choice(
            "Wire to choose from",
            [("by the house rules", USUAL), *((system_name(system), system) for system in SYSTEMS)],
            USUAL,
        )

    def use(self, own: Sequence[Entry[Any] | Choice], ways: int) -> None:
        """Take the entries that a kind of circuit has here, and how its current usually comes back."""
        self.own.children = tuple(getattr(entry, "view", entry) for entry in own)
        for part in own:
            self._usual.setdefault(part, _shown(part))
        self._usual[self.ways] = next(words for words, value in self.ways.pairs if value == ways)
        wire_and_place = self._parts[-len(self.fields) :]
        self._parts = [*own, *wire_and_place]

    def use_feet(self, feet: bool) -> None:
        """Lengths in feet or in metres."""
        self._feet = feet
        self.places.tell(_PLACES_HELP[feet])
        self.places.rewrite()

    def say(self) -> None:
        """What is set here otherwise than usual, beside the button."""
        told = [(part, _shown(part)) for part in self._parts if _shown(part) != self._usual[part]]
        chips = "".join(f"<li>{html.escape(f'{_label(part)}: {words}')}</li>" for part, words in told)
        self.set_there.value = f"<ul class='wc-set' aria-label='Set under More'>{chips}</ul>" if chips else ""

    def _toggle(self, change: dict[str, Any]) -> None:
        show_if(change["new"], self.view)

    def conductor(self, size: Size) -> Conductor:
        """The conductor of a size, of the chosen metal and make."""
        return conductor(*size, METALS[self.metal.value], STRANDINGS[self.stranding.value], self.metric_table.value)

    def insulation_of(self, run: Run, rules: HouseRules, system: str = "AWG") -> Insulation:
        """The one chosen, or that of the type of wire, or that of the house rules."""
        chosen = self.insulation.value
        return insulation_for(run, rules, system) if chosen == USUAL else INSULATIONS[chosen]

    def system_of(self, run: Run, rules: HouseRules, asked: str) -> str:
        """How the wire to choose from is sold: as chosen, else by the house rules, else as the size asked about."""
        chosen = self.sold.value
        return rules.sold_as(run.house_kind or run.kind, asked) if chosen == USUAL else str(chosen)

    def stretches(self, run: Run, length_m: float, rules: HouseRules) -> tuple[Stretch, ...]:
        """The places that the run passes: those listed, the one chosen, or those that the house rules take."""
        if self.places.value:
            check_length(self.places.value, length_m)
        zone = None if self.zone.value == USUAL else self.zone.value
        return stretches_of(run, length_m, rules, places=self.places.value, zone=zone, loaded=self.loaded.value)


def _label(part: Entry[Any] | Choice) -> str:
    return part.text.description if isinstance(part, Entry) else part.description


def _shown(part: Entry[Any] | Choice) -> str:
    """What it says now."""
    if isinstance(part, Entry):
        return part.show(part.value)
    return next(words for words, value in part.pairs if value == part.value)
