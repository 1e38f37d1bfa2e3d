"""The page House rules: what a shop pulls, stocks and allows, to edit, save and open."""

from __future__ import annotations

import html
from dataclasses import replace

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Choice, Press
from dashboards.panels.controls.address import Address, Fields, Listed, named
from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.settings.house import House
from dashboards.panels.settings.rule_list import groups_of, show, usual_value
from dashboards.panels.settings.units import SizeSystem, Units, switches
from dashboards.panels.settings.value_list import ValueList
from wirecalc import csv_text
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.house_rules_file import MOST_CHARACTERS, house_rules_csv, read_house_rules
from wirecalc.errors import InputError

ABOUT = (
    "<p class='wc-caution'>These are rules of workmanship. Limits of safety are not among them, and nothing here lowers"
    " one: what a wire may carry, what its insulation stands and the fuse that protects it stay as they are.</p>"
    "<p>Every page chooses and judges by these rules. This browser keeps what you change, on this device. It goes"
    " further only in what you hand on: a link, a plan or a file. It keeps metres or feet, and AWG or mm², for every"
    " page too.</p>"
)
ALL, CHANGED = "All rules", "Changed only"


class HouseRulesPanel:
    """The rules that hold, by sort; every change is kept at once."""

    def __init__(self) -> None:
        self.house = House(self._draw, about=False)
        groups = groups_of(self.house.rules, opened="least_size")
        self.list = ValueList(groups, self._put, lambda key: self._put(key, usual_value(key)))
        self.all_back = Press("All back to the defaults", lambda: self._open(HouseRules.from_table()))
        self.save = Download(
            "Save as a file", lambda: ("house_rules.csv", house_rules_csv(self.house.rules), "text/csv")
        )
        self.open = Upload("Open a file …", ".csv", self._read, MOST_CHARACTERS)
        self.which = Choice([ALL, CHANGED], ALL, kind="bar")
        self.which.add_class("wc-units")
        self.which.observe(lambda _change: self._draw(), "value")
        self.feet, self.system = Units(), SizeSystem(lambda _system: None)
        self.headline = w.HTML()
        packs = {"house": replace(self.house.packed, take=self._came)}
        self.address = Address(self.fields, packs, others=self._others)
        self.view = self._lay_out()
        self._draw()
        self.address.remember()

    def _lay_out(self) -> w.Widget:
        files = w.Box([self.save, self.open, self.all_back])
        files.add_class("wc-files")
        head = [w.HTML(ABOUT), switches(self.feet, self.system), self.headline, self.address]
        page = w.VBox([*head, self.house.view, files, self.which, self.list])
        page.add_class("wc-page").add_class("wc-rules")
        return page

    def _others(self) -> dict[str, Actable]:
        """See `Address`."""
        return {
            "units": self.feet,
            "sizes-in": self.system,
            "rules": self.list,
            "back": self.all_back,
            "file": self.open,
            **self.house.others,
        }

    def fields(self) -> Fields:
        """What is in the page's address, besides the rules."""
        return named(show=Listed(self.which, {ALL: "all", CHANGED: "changed"}.__getitem__))

    def _put(self, key: str, text: str) -> None:
        try:
            rules = self.house.rules.replace(key, text)
        except InputError as fault:
            unit = next(f" {rule.unit}" for rule in self.house.rules.rules if rule.key == key)
            fault.given = f"{fault.given}".removesuffix(unit)  # as it was typed; the unit stands beside the box
            fault.hint = fault.hint.replace(f"{unit}” is", "” is")
            raise
        self.house.put(rules)

    def _read(self, name: str, content: bytes) -> None:
        self._open(read_house_rules(csv_text.decoded(content), name))

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
        with self.list.hold_sync():
            self.list.only_changed = self.which.value == CHANGED
            show(self.list, rules)
        self.all_back.disabled = not changes
        status = f"{len(changes)} of {len(rules.rules)} rules changed from the defaults." if changes else (
            f"All {len(rules.rules)} rules are at their defaults."
        )  # fmt: skip
        self.headline.value = f"<p class='wc-told' role='status'>{html.escape(status)}</p>"
        self.address.changed()
