"""The page House rules: what a shop pulls, stocks and allows, to edit, save and open."""

from __future__ import annotations

import html
from collections.abc import Iterator
from dataclasses import replace

import ipywidgets as w

from dashboards.panels.acts.choices import Choice, Press
from dashboards.panels.controls.address import Address, Fields, Listed, named
from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.settings.house import House
from dashboards.panels.settings.value_list import Group, Value, ValueList
from wirecalc import csv_text
from wirecalc.advice.house_rules import MOST_CHARACTERS, HouseRule, HouseRules, by_rule, read
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES

TITLES = {
    "least_size": "Thinnest wire that is pulled",
    "shelf_sizes": "Sizes on the shelf",
    "sizes_on_order": "Sizes that are ordered when none on the shelf does",
    "sizes_when_asked": "Sizes only when asked for by name",
    "drop_limit": "Voltage that may be lost",
    "fuse_loading": "How far a fuse is loaded",
    "fuse_family": "Families of fuses",
    "insulation": "Insulation, if nobody says",
    "places": "Where a wire passes, if nobody says",
    "fuse_distance": "Wire before the main fuse",
    "taste_band": "From when a limit of taste is borderline, and too thin",
    "matched_level": "Level of channels that match",
    "matched_size": "Size of channels that match",
    "average_of_music": "Average of music",
    "supply_v": "Voltage of the supply",
}
"""Of each sort of rule."""
NOTES = {
    "places": "Each place with its per cent of the length, the battery’s end first. Places: "
    + ", ".join(f"{zone.key} ({zone.name})" for zone in ZONES.values())
    + ".",
}
ABOUT = (
    "<p class='wc-caution'>These are rules of workmanship. Limits of safety are not among them, and nothing here lowers"
    " one: what a wire may carry, what its insulation stands and the fuse that protects it stay as they are.</p>"
    "<p>Every page chooses and judges by these rules. This browser keeps what you change, on this device. It goes"
    " further only in what you hand on: a link, a plan or a file.</p>"
)
ALL, CHANGED = "All rules", "Changed only"


class HouseRulesPanel:
    """The rules that hold, by sort; every change is kept at once."""

    def __init__(self) -> None:
        self.house = House(self._draw, about=False)
        groups = list(_groups(self.house.rules))
        self.list = ValueList(groups, self._put, self._back)
        self.all_back = Press("All back to the defaults", lambda: self._open(HouseRules.from_table()))
        self.save = Download("Save as a file", lambda: ("house_rules.csv", self.house.rules.to_csv(), "text/csv"))
        self.open = Upload("Open a file …", ".csv", self._read, MOST_CHARACTERS)
        self.which = Choice([ALL, CHANGED], ALL, kind="bar")
        self.which.add_class("wc-units")
        self.which.observe(lambda _change: self._draw(), "value")
        self.headline = w.HTML()
        packs = {"house": replace(self.house.packed, take=self._came)}
        self.address = Address(self.fields, packs, others=lambda: {"rules": self.list})
        self.view = self._lay_out()
        self._draw()
        self.address.remember()

    def _lay_out(self) -> w.Widget:
        files = w.Box([self.save, self.open, self.all_back])
        files.add_class("wc-files")
        page = w.VBox(
            [w.HTML(ABOUT), self.headline, self.address, self.house.view, files, self.which, self.list]
        )  # fmt: skip
        page.add_class("wc-page").add_class("wc-rules")
        return page

    def fields(self) -> Fields:
        """What is in the page's address, besides the rules."""
        return named(show=Listed(self.which, {ALL: "all", CHANGED: "changed"}.__getitem__))

    def _put(self, key: str, text: str) -> None:
        self.house.put(self.house.rules.replace(key, text))

    def _back(self, key: str) -> None:
        usual = {rule.key: rule.value for rule in HouseRules.from_table().rules}
        self._put(key, usual[key])

    def _read(self, name: str, content: bytes) -> None:
        self._open(read(csv_text.decoded(content), name))

    def _open(self, rules: HouseRules) -> None:
        """All of them at once."""
        self.list.forget()
        self.house.put(rules)

    def _came(self, content: bytes) -> None:
        """See `Packed`."""
        self.house.packed.take(content)
        self._draw()

    def _draw(self) -> None:
        rules = self.house.rules
        changes = rules.changes
        usual = {rule.key: rule.value for rule in HouseRules.from_table().rules if rule.key in changes}
        with self.list.hold_sync():
            self.list.only_changed = self.which.value == CHANGED
            self.list.show({rule.key: rule.value for rule in rules.rules}, usual)
        self.all_back.disabled = not changes
        said = f"{len(changes)} of {len(rules.rules)} rules changed from the defaults." if changes else (
            f"All {len(rules.rules)} rules are at their defaults."
        )  # fmt: skip
        self.headline.value = f"<p class='wc-told' role='status'>{html.escape(said)}</p>"
        self.address.changed()


def _groups(rules: HouseRules) -> Iterator[Group]:
    for sort, of_sort in by_rule(rules):
        yield Group(
            title=TITLES[sort],
            note=NOTES.get(sort, ""),
            open=sort == "least_size",
            values=[_value(rule) for rule in of_sort],
        )


def _value(rule: HouseRule) -> Value:
    source = rule.source if rule.source.startswith("common practice") else f"Source: {rule.source}"
    label = replace(rule, what="", unit="").name
    return Value(
        key=rule.key,
        label=label[0].upper() + label[1:],
        what=rule.what,
        unit=rule.unit.replace("mm2", "mm²"),
        why=(rule.reason, f"{source[0].upper()}{source[1:]}."),
        options=[(option, _word(option)) for option in rule.options],
    )


def _word(option: str) -> str:
    return INSULATIONS[option].name if option in INSULATIONS else option
