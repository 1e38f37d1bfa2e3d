"""The form of a new job: an entry for each of its questions, made of the job's data."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Choice, Press
from dashboards.panels.controls.address import Fields, name
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice
from wirecalc import units
from wirecalc.jobs.job import JobKind
from wirecalc.jobs.question import Number, Pick

MAKE = "Make the plan"


class JobForm:
    """Entries of one kind of job.

    Parameters
    ----------
    job : JobKind
    made : callable of (JobForm) -> None
        The person asks for the plan.
    """

    def __init__(self, job: JobKind, made: Callable[[JobForm], None]) -> None:
        self.job, self.feet = job, False
        self.entries: dict[str, Entry[float] | Choice] = {}
        self.make = Press(MAKE, lambda: made(self))
        self.make.add_class("wc-main-press")
        self.alert = w.HTML()
        asked: list[w.Widget] = []
        for question in job.questions:
            if isinstance(question, Number):
                entry = self._entry(question)
                self.entries[question.key] = entry
                asked.append(entry.view)
            else:
                box = choice(question.label, [(words, key) for key, words in question.options.items()], question.start)
                self.entries[question.key] = box
                asked.append(w.VBox([box, w.HTML(f"<div class='wc-help'>{html.escape(question.help)}</div>")]))
        about = f"<h2>{html.escape(job.title)}</h2><p>{html.escape(job.about)}</p>"
        fields = w.VBox(asked)
        fields.add_class("wc-job-fields")
        self.view = w.VBox([w.HTML(about), fields, self.alert, self.make])
        self.view.add_class("wc-job")

    def _entry(self, question: Number) -> Entry[float]:
        return Entry(
            question.label,
            lambda text: question.read(text, feet=self.feet),
            lambda value: self._shown(question, value),
            question.start,
            help=question.help,
        )

    def _shown(self, question: Number, value: float) -> str:
        if self.feet and question.feet and value == question.start:
            return question.feet
        return f"0 {question.bare}" if value == 0 else units.show(value, question.kind)

    def go_by(self, feet: bool) -> None:
        """Lengths that are as they began are round in this unit; a bare number is in it.

        Parameters
        ----------
        feet : bool
            Else metres.
        """
        if feet == self.feet:
            return
        for question in self.job.questions:
            if isinstance(question, Number) and question.feet:
                entry: Any = self.entries[question.key]
                before = self._shown(question, question.start)
                typed = entry.text.value
                self.feet = feet
                if typed == before:
                    entry.text.value = self._shown(question, question.start)
                self.feet = not feet
        self.feet = feet

    @property
    def fields(self) -> Fields:
        """By their keys in a page's address."""
        return {name(key): entry for key, entry in self.entries.items()}

    def answers(self) -> dict[str, str] | None:
        """What is answered, each number with its unit; None while an entry has a fault, which is then said."""
        answers: dict[str, str] = {}
        wrong = []
        for question in self.job.questions:
            entry = self.entries[question.key]
            if isinstance(question, Pick):
                assert isinstance(entry, Choice)
                answers[question.key] = entry.value
                continue
            assert isinstance(entry, Entry)
            if entry.fault is not None:
                wrong.append(question.label)
            answers[question.key] = question.with_unit(entry.text.value, feet=self.feet)
        message = f"Correct first: {html.escape('; '.join(wrong))}." if wrong else ""
        self.alert.value = f"<div role='alert'>{message}</div>" if wrong else ""
        return None if wrong else answers
