"""Plan name, customer, vehicle, shop and date: typed once, they head every paper and travel with the plan."""

from __future__ import annotations

import functools
from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.lazy_tabs import show_if
from wirecalc.jobs.card import LABELS, card_of, read_line, with_line
from wirecalc.vehicle.text import PlanText

HELP = {"plan": "empty: the name of the file or the job", "date": "as 2026-05-31; empty: the day of the paper"}
OPEN, CLOSE = "Names for the papers …", "Names for the papers: close"


class JobCard:
    """An entry for each line, behind a button.

    Parameters
    ----------
    text : callable of () -> PlanText
        The plan as it stands.
    changed : callable of PlanText -> None
        A line was changed: the plan with it.
    """

    def __init__(self, text: Callable[[], PlanText], changed: Callable[[PlanText], None]) -> None:
        self._text, self._changed = text, changed
        self.entries: dict[str, Entry[str]] = {}
        for key, label in LABELS.items():
            entry = Entry(label, functools.partial(read_line, key), str, "", help=HELP.get(key, ""))
            entry.changed = functools.partial(self._typed, key)
            self.entries[key] = entry
        self.toggle = Press(OPEN, self._turn)
        self.view = w.VBox([entry.view for entry in self.entries.values()])
        self.view.add_class("wc-job-fields").add_class("wc-shut")
        self.whole = w.VBox([self.view])

    def _turn(self) -> None:
        shut = "wc-shut" in self.view._dom_classes
        show_if(shut, self.view)
        self.toggle.description = CLOSE if shut else OPEN

    def _typed(self, key: str) -> None:
        entry = self.entries[key]
        if entry.fault is None and entry.value != card_of(self._text()).get(key, ""):
            self._changed(with_line(self._text(), key, entry.value))

    def show(self) -> None:
        """Follow the plan, as after Undo; a line with a fault stays."""
        card = card_of(self._text())
        for key, entry in self.entries.items():
            if entry.fault is None and entry.value != card.get(key, ""):
                entry.set(card.get(key, ""))

    def others(self) -> dict[str, Actable]:
        """See `Address`."""
        return {"card": self.toggle, **{f"card.{key}": entry.view for key, entry in self.entries.items()}}
