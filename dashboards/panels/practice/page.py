"""The page Practice: problems, lessons, a sheet for a class, and the progress of one person."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.address import Address, Fields, Listed, named, nested
from dashboards.panels.controls.error_messages import together
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.practice.lesson_tab import LessonTab
from dashboards.panels.practice.problem_tab import LOOK as PAGE_LOOK
from dashboards.panels.practice.problem_tab import ProblemTab
from dashboards.panels.practice.problem_view import LOOK as VIEW_LOOK
from dashboards.panels.practice.progress import ProgressTab
from dashboards.panels.practice.sheet import LOOK as SHEET_LOOK
from dashboards.panels.practice.sheet import SheetTab
from dashboards.panels.settings.units import SizeSystem, Units, switches
from wirecalc.practice.progress import Progress

PROBLEMS, LESSONS, SHEET, PROGRESS = "Problems", "Lessons", "Sheet for a class", "My progress"
KEYS = {PROBLEMS: "problems", LESSONS: "lessons", SHEET: "sheet", PROGRESS: "progress"}
"""Of the tabs, in the page's address."""


class PracticePanel:
    """Four tabs that share the progress of one person.

    Parameters
    ----------
    seed : int, optional
        Of the problems' numbers; fresh ones every time if it is not given.
    """

    def __init__(self, seed: int | None = None) -> None:
        self.progress = Progress()
        self.problems = ProblemTab(np.random.default_rng(seed), self._count)
        self.lessons = LessonTab(self._play, self._practise)
        self.sheet = SheetTab()
        self.kept = ProgressTab(lambda: self.progress, self._put)
        self._views = {
            PROBLEMS: self.problems.view,
            LESSONS: self.lessons.view,
            SHEET: self.sheet.view,
            PROGRESS: self.kept.view,
        }
        self.bar = Choice(list(self._views), PROBLEMS, kind="bar")
        self.bar.add_class("wc-bar")
        self.feet = Units()
        self.feet.observe(lambda change: self._use_feet(change["new"]), "value")
        self.system = SizeSystem(lambda _system: None)  # which follows its value, a link's too
        self.system.observe(lambda change: self._use_system(change["new"]), "value")
        top = w.Box([self.bar])
        top.add_class("wc-top")
        self.bar.observe(lambda _change: self._bring_forward(), "value")
        look = w.HTML(f"<style>{VIEW_LOOK}{SHEET_LOOK}{PAGE_LOOK}</style>")
        shown = w.Box([*self._views.values(), look])
        shown.add_class("wc-tab").add_class("wc-show")
        self.view = w.Box([top, shown])
        self.view.add_class("wc-page").add_class("wc-practice")
        self._bring_forward()
        packs = {"progress": self.kept.packed}
        self.address = Address(
            self.fields, packs, always=("units", "sizes"), others=self._others, together=self._filled
        )
        self.problems.changed = self.address.changed
        top.children = (self.bar, switches(self.feet, self.system), self.address)
        self.address.remember()
        self.address.changed()  # the problem has its number in the address from the start

    def fields(self) -> Fields:
        """What is in the page's address."""
        of_tabs = {**nested(KEYS[SHEET], self.sheet.fields), **nested(KEYS[LESSONS], self.lessons.fields)}
        return {
            **named(units=self.feet.field, sizes=Listed(self.system, str), tab=Listed(self.bar, KEYS.__getitem__)),
            **self.problems.fields,
            **of_tabs,
        }

    def _others(self) -> dict[str, Actable]:
        """See `Address`."""
        asked, lessons = self.problems, self.lessons
        return {
            "answer": asked.answer,
            "another": asked.another,
            "show": asked.show,
            "lesson-before": lessons.back,
            "next-lesson": lessons.on,
            "practise-this": lessons.practise,
            "file": self.kept.read,
        }

    @contextmanager
    def _filled(self) -> Iterator[None]:
        """See `Address`; a slider that a link moves does not count as practised."""
        with ExitStack() as tabs:
            tabs.enter_context(self.problems.filled())
            tabs.enter_context(together(self.sheet, self.sheet.refresh))
            tabs.enter_context(together(self.lessons, self.lessons.open))
            yield

    def _bring_forward(self) -> None:
        """Show the chosen tab; the others stay where they are, out of sight."""
        for title, view in self._views.items():
            show_if(title == self.bar.value, view)

    def _use_feet(self, feet: bool) -> None:
        for tab in (self.problems, self.lessons, self.sheet):
            tab.use_feet(feet)

    def _use_system(self, system: str) -> None:
        for tab in (self.problems, self.lessons, self.sheet):
            tab.use_mm2(system == "mm2")

    def _practise(self, kind: str) -> None:
        self.problems.practise(kind)
        self.bar.value = PROBLEMS

    def _count(self, kind: str, right: bool, tries: int) -> None:
        self._put(self.progress.counted(kind, right=right, tries=tries))

    def _play(self, lesson: str) -> None:
        self._put(self.progress.played(lesson))

    def _put(self, progress: Progress) -> None:
        self.progress = progress
        self.kept.refresh()
        self.address.changed()
