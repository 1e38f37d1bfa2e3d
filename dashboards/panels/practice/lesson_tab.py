"""Short lessons in their order: a few sentences and one picture to play with."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.chart import Charts
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import LengthEntry, choice
from dashboards.panels.controls.sizes import in_system
from dashboards.panels.practice import problem_view
from dashboards.panels.practice.lessons import PICTURES
from wirecalc import tables
from wirecalc.practice.problem import in_feet, in_mm2
from wirecalc.practice.progress import LESSONS
from wirecalc.wire.cautions import LOCAL_CODES

_TEXTS: dict[str, dict[str, str]] = {
    str(row["lesson"]): {str(name): str(value) for name, value in row.items()} for row in tables.rows("lessons")
}


class LessonTab:
    """One lesson at a time.

    Parameters
    ----------
    played : callable of str -> None
        Told the lesson whose picture was played with.
    practise : callable of str -> None
        Asked for a problem of this kind.
    """

    def __init__(self, played: Callable[[str], None], practise: Callable[[str], None]) -> None:
        self.played, self.feet, self.mm2 = played, False, False
        options = [(f"{place}. {_TEXTS[key]['title']}", key) for place, key in enumerate(LESSONS, 1)]
        self.which = choice("Lesson", options, LESSONS[0])
        self.alert, self.text, self.told = w.HTML(), w.HTML(), w.HTML()
        self.sliders, self.charts = w.Box(), Charts(height=380)
        self.sliders.add_class("wc-fields").add_class("wc-controls")
        self.charts.add_class("wc-one")
        self.back = Press("Lesson before", lambda: self._step(-1))
        self.on = Press("Next lesson", lambda: self._step(1))
        self.practise = Press("Practise this", lambda: practise(_TEXTS[self.key]["practise"]))
        buttons = w.Box([self.back, self.on, self.practise])
        buttons.add_class("wc-buttons")
        card = w.VBox([self.text])
        card.add_class("wc-problem")
        self.view = w.VBox([self.which, card, self.sliders, self.alert, self.charts, self.told, buttons])
        self._entries: dict[str, dict[str, Entry[Any]]] = {}
        self.which.observe(lambda _change: self.open(), "value")
        self.open()

    @property
    def key(self) -> str:
        """Of the lesson that is open."""
        return str(self.which.value)

    @property
    def fields(self) -> Fields:
        """Of the lesson that is open, by their names in the page's address."""
        return named(lesson=self.which, **self._sliders)

    @property
    def entries(self) -> tuple[Entry[Any], ...]:
        """Of the lesson that is open."""
        return tuple(self._sliders.values())

    @property
    def _sliders(self) -> dict[str, Entry[Any]]:
        """By their keys in the page's address; each lesson keeps its own."""
        if self.key not in self._entries:
            self._entries[self.key] = PICTURES[self.key][0]()
            for entry in self._entries[self.key].values():
                if isinstance(entry, LengthEntry):
                    entry.use_feet(self.feet)
                entry.changed = self._play
            if self.mm2:
                self._use_system(self._entries[self.key])
        return self._entries[self.key]

    def use_feet(self, feet: bool) -> None:
        """Lengths in feet or in metres; this is no play."""
        self.feet = feet
        for entry in (lesson_entry for lesson in self._entries.values() for lesson_entry in lesson.values()):
            if isinstance(entry, LengthEntry):
                entry.use_feet(feet)
        self.open()

    def use_mm2(self, mm2: bool) -> None:
        """Sizes in mm² with their gauges, or gauges alone."""
        self.mm2 = mm2
        for entries in self._entries.values():
            self._use_system(entries)
        self.open()

    def _use_system(self, entries: dict[str, Entry[Any]]) -> None:
        if (size := entries.get("size")) is not None:
            size.set(in_system(size.value, "mm2" if self.mm2 else "AWG"))

    def _put(self, text: str) -> str:
        """In the units of the page."""
        text = in_feet(text) if self.feet else text
        return in_mm2(text) if self.mm2 else text

    def _step(self, by: int) -> None:
        self.which.value = LESSONS[(LESSONS.index(self.key) + by) % len(LESSONS)]

    @guarded
    def open(self) -> None:
        """Show the lesson that is chosen."""
        texts = _TEXTS[self.key]
        texts = {name: self._put(text) for name, text in texts.items()}
        told = f"{texts['text']} {texts['play']}"
        caution = f"<p class='wc-caution'>{html.escape(LOCAL_CODES)}</p>" if self.key == "heat" else ""
        self.text.value = (
            f"<h2>{html.escape(texts['title'])}</h2><p class='wc-asked'>{html.escape(texts['text'])}</p>{caution}"
            f"<p><b>Play:</b> {html.escape(texts['play'])}</p>{problem_view.words(told, 'lesson')}"
        )
        self.sliders.children = tuple(entry.view for entry in self.entries)
        self._draw()

    @guarded
    def _play(self) -> None:
        self._draw()
        if not any(entry.fault for entry in self.entries):
            self.played(self.key)

    def _draw(self) -> None:
        first, second = self.entries
        (traces, layout), told = PICTURES[self.key][1](first.value, second.value)
        title, told = self._put(layout["title"]["text"]), self._put(told)
        traces = [{**trace, "name": self._put(trace["name"])} for trace in traces]
        layout = {**layout, "title": {**layout["title"], "text": title}, "meta": title}
        self.charts.redraw((traces, layout))
        self.told.value = f"<p class='wc-told' role='status'>{html.escape(told)}</p>"
        self.alert.value = ""
