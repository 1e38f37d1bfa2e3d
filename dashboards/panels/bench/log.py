"""The log of samples: the present one is added, the file goes to the person's device and comes back from there."""

from __future__ import annotations

import html
from collections.abc import Callable
from functools import lru_cache

import ipywidgets as w

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import said
from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.controls.packed import Packed
from dashboards.panels.controls.table import html_table
from wirecalc import units
from wirecalc.bench.log import MOST_BYTES, MOST_ROWS, LoggedSample, from_csv, log_csv
from wirecalc.errors import InputError
from wirecalc.wire.as_sold import show_size

_result = lru_cache(maxsize=2 * MOST_ROWS)(LoggedSample.result)


@lru_cache(maxsize=1)
def _as_csv(log: tuple[LoggedSample, ...]) -> bytes:
    return log_csv(log, _result)


class LogPanel:
    """A table of samples. `now` gives the present one, under a name."""

    def __init__(self, now: Callable[[str], LoggedSample]) -> None:
        self.now = now
        self.changed: Callable[[], None] = lambda: None
        self.packed = Packed(
            what="This log",
            instead="Download it to keep it.",
            write=lambda: _as_csv(self.log) if self.log else b"",
            take=lambda content: self._take("", content),
            saved=lambda: self.log == self._saved,
        )
        self._saved: tuple[LoggedSample, ...] = ()
        self.log: tuple[LoggedSample, ...] = ()
        self.name = Entry("Name of this sample", str.strip, str, "", placeholder="spool 3, red")
        self.name.view.add_class("wc-name")
        self.add = Press("Add to the log", lambda: self._add())
        self.note, self.table = w.HTML(), w.HTML()
        self.save = Download("Download the log (CSV)", self._make)
        self.read = Upload("Read a log (CSV)", ".csv,text/csv", self._take, MOST_BYTES)
        fields = w.Box([self.name.view, self.add, self.save, self.read])
        fields.add_class("wc-fields")
        self.view = w.VBox([w.HTML("<h2>Log of samples</h2>"), fields, self.note, self.table])
        self.view.add_class("wc-tab")

    def _add(self) -> None:
        try:
            sample = self.now(self.name.value or f"sample {len(self.log) + 1}")
            self._set((*self.log, sample))
        except Exception as fault:
            self.note.value = f"<div role='alert'>Not added. {said(fault)}</div>"
        else:
            words = f"{sample.name} is in the log. A reload keeps it; download it before you leave."
            self.note.value = f"<p role='status'>{html.escape(words)}</p>"

    def _make(self) -> tuple[str, bytes, str]:
        if not self.log:
            raise InputError("Log of samples", "empty", "one sample or more", "Add this sample first.")
        self._saved = self.log
        self.changed()
        return "wire-samples.csv", _as_csv(self.log), "text/csv"

    def _take(self, _name: str, content: bytes) -> None:
        """Add the samples of a file, those that are here already once only."""
        kept = from_csv(content)
        self._set((*self.log, *(sample for sample in kept if sample not in self.log)))
        self.note.value = f"<p role='status'>{len(kept)} samples read, {len(self.log)} in the log.</p>"

    def _set(self, log: tuple[LoggedSample, ...]) -> None:
        if len(log) > MOST_ROWS:
            raise InputError("Log of samples", f"{len(log)} samples", f"{MOST_ROWS} at most", "Start another log.")
        rows = [
            (sample.name, show_size(*sample.sold_as) if sample.sold_as else units.NO_VALUE, _result(sample))
            for sample in log
        ]
        self.log, self.table.value = log, html_table("Samples in the log", ("Sample", "Sold as", "Result"), rows)
        self.changed()
