"""The limits of the chosen kind of circuit as entries: every bound that is no fact of the run itself can be changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import ipywidgets as w

from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.entry import Entry
from wirecalc import runs, units
from wirecalc.advice.demands import demands_of
from wirecalc.advice.house_rules import HouseRules
from wirecalc.limit import Limit


class LimitEntries:
    """Entries for each kind of circuit, made when it is first asked for."""

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None
        self._entries: dict[str, dict[str, Entry[float]]] = {}
        self._kind = ""
        self._usual: dict[tuple[str, str], float] = {}
        self.view = w.Box()
        self.view.add_class("wc-limits")

    @property
    def fields(self) -> Fields:
        """The entries of the kind that was asked for last, by their measure."""
        return named(**self._entries.get(self._kind, {}))

    def of(self, run: runs.Run, rules: HouseRules) -> tuple[Limit, ...]:
        """The limits of a run, with the bounds that the person set; a bound of 0 has no other.

        Parameters
        ----------
        run : wirecalc.runs.Run
        rules : wirecalc.advice.house_rules.HouseRules
            What the shop allows; an entry that was not touched follows them.
        """
        usual = [limit for limit, _ in demands_of(run, rules).bounds]
        entries = self._entries.setdefault(run.kind, {})
        for limit in usual:
            if isinstance(limit.bound, str) or not limit.bound or limit.measure in run.own_bounds:
                continue
            if limit.measure not in entries:
                entries[limit.measure] = self._entry(limit)
            elif entries[limit.measure].value == self._usual[run.kind, limit.measure] != limit.bound:
                entries[limit.measure].set(limit.bound)
            self._usual[run.kind, limit.measure] = limit.bound
        if self._kind != run.kind:
            self._kind = run.kind
            self.view.children = tuple(entry.view for entry in entries.values())
        return tuple(
            replace(limit, bound=entries[limit.measure].value) if limit.measure in entries else limit for limit in usual
        )

    def _entry(self, limit: Limit) -> Entry[float]:
        sense = "Max" if limit.sense == "at most" else "Min"
        unit, scale = ("%", 100.0) if limit.measure == "drop_fraction" else (limit.unit, 1.0)
        label = f"{sense} {limit.name}{f' ({unit})' if unit else ''}"
        assert not isinstance(limit.bound, str)
        entry: Entry[float] = Entry(
            label,
            lambda text: units.read(text, label, units.NUMBER, low=0, high=1000, above=True) / scale,
            lambda value: f"{value * scale:g}",
            float(limit.bound),
            help=f"{limit.reason} {limit.source}".strip(),
        )
        entry.changed = lambda: self.changed()
        return entry
