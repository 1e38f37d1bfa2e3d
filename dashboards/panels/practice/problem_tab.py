"""One problem after the other: an answer, a hint that fits, the worked solution."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.address import Fields, Part, name, named
from dashboards.panels.controls.error_messages import guarded, said
from dashboards.panels.controls.fields import choice
from dashboards.panels.practice import problem_view
from dashboards.panels.practice.answer_box import AnswerBox
from wirecalc.errors import InputError
from wirecalc.practice.kinds import KINDS, problem
from wirecalc.practice.problem import MOST_SEED, Problem, in_mm2, whole

MIXED = "mixed"
SHOWN_AFTER = 2  # wrong answers until the worked solution can be asked for


class ProblemTab:
    """Asks a problem, marks the answer, gives hints and the solution.

    Parameters
    ----------
    rng : numpy.random.Generator
        Numbers the problems.
    counted : callable of (kind, right, tries)
        Told once of each problem that is done with.
    """

    def __init__(self, rng: np.random.Generator, counted: Callable[[str, bool, int], None]) -> None:
        self.rng, self.counted, self.feet, self.mm2 = rng, counted, False, False
        self.kind = choice("Kind of problem", [("Mixed", MIXED), *((k.title, k.key) for k in KINDS.values())], MIXED)
        self.alert, self.text, self.words, self.worked = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self.answer = AnswerBox(self._answered, self._read)
        self.another = Press("Another problem", lambda: self.next())
        self.show = Press("Show the worked solution", lambda: self.reveal())
        buttons = w.Box([self.another, self.show])
        buttons.add_class("wc-buttons")
        card = w.VBox([self.text, self.words])
        card.add_class("wc-problem")
        self.view = w.VBox([self.kind, self.alert, card, self.answer, buttons, self.worked])
        self.changed: Callable[[], None] = lambda: None
        self.fields: Fields = named(kind=self.kind, problem=Part(self._written, self._read, plain=""))
        self.problem: Problem
        self._wrong, self._done, self._told, self._waits = 0, False, True, False
        self.kind.observe(lambda _change: self.next(), "value")
        self.next(focus=False)

    def practise(self, kind: str) -> None:
        """A problem of this kind now."""
        if self.kind.value == kind:
            self.next()
        else:
            self.kind.value = kind

    def next(self, focus: bool = True) -> None:
        """Fresh numbers; a problem that was answered wrongly and is left counts as not solved."""
        if self._waits:
            return
        if self._wrong and not self._done:
            self._tell(right=False)
        self._ask(focus)

    @guarded
    def reveal(self) -> None:
        """Show the worked solution; a problem that is not solved before that counts as not solved."""
        self._tell(right=False)
        self._tell_solution()

    def _written(self) -> str:
        """See `Part`: which problem is asked; empty once it is solved or shown, so that none counts twice."""
        return "" if self._told else self.number

    @property
    def number(self) -> str:
        """Of the problem that is asked, as it stands in an address."""
        return f"{name(self.problem.kind.key)}.{self.problem.seed}"

    def _read(self, text: str) -> None:
        """See `Part`."""
        kind, _, seed = text.partition(".")
        kinds = {name(key): key for key in KINDS}
        if kind not in kinds:
            raise InputError("Address, problem", text, f"one of {', '.join(kinds)}, a point and its number")
        self._put(problem(kinds[kind], whole(seed, "Number of the problem", MOST_SEED)), focus=False)

    @contextmanager
    def filled(self) -> Iterator[None]:
        """Draw no problem while entries are filled from an address; draw one at the end if the kind has changed."""
        self._waits = True
        try:
            yield
        finally:
            self._waits = False
        if self.kind.value not in (MIXED, self.problem.kind.key):
            self._ask(focus=False)

    def _ask(self, focus: bool) -> None:
        key = self.kind.value if self.kind.value != MIXED else str(self.rng.choice(list(KINDS)))
        self._put(problem(key, int(self.rng.integers(1, MOST_SEED, endpoint=True))), focus)

    def _put(self, problem: Problem, focus: bool) -> None:
        self.problem = problem
        self._wrong, self._done, self._told = 0, False, False
        kind = self.problem.kind
        self.worked.value = self.alert.value = ""
        self._tell_problem()
        self.words.value = problem_view.words(self.problem.drawn.text, "problem")
        self.show.add_class("wc-shut")
        with self.answer.hold_sync():
            self.answer.reply, self.answer.button, self.answer.question = "", "Check", self.number
            self.answer.example = "such as " + (kind.quantity.example if kind.quantity else "12 AWG")
            self.answer.cleared += focus
        self.changed()

    def use_feet(self, feet: bool) -> None:
        """The same problem with its lengths in feet or in metres."""
        self.feet = feet
        self._tell_problem()

    def use_mm2(self, mm2: bool) -> None:
        """The same problem with its sizes in mm² and their gauges, or in gauges alone."""
        self.mm2 = mm2
        self._tell_problem()

    def _tell_problem(self) -> None:
        title, number = html.escape(self.problem.kind.title), self.problem.seed
        heading = f"<h2>{title} <small>no. {number}</small></h2>"
        self.text.value = heading + problem_view.text(self.problem, feet=self.feet, mm2=self.mm2)
        if self.worked.value:
            self._tell_solution()

    def _tell_solution(self) -> None:
        self.worked.value = problem_view.solution(self.problem, feet=self.feet, mm2=self.mm2)

    def _put_in(self, text: str) -> str:
        return in_mm2(text) if self.mm2 else text

    def _answered(self, typed: str) -> None:
        if self._done:
            self.next()
            return
        try:
            mark = self.problem.mark(typed)
        except InputError as fault:  # no try: what is typed stays and can be mended
            self.answer.reply = f"<div role='alert'>{said(fault)}</div>"
            return
        except Exception as fault:
            self.answer.reply = f"<div role='alert'>{said(fault)}</div>"
            return
        if mark.right:
            self._tell(right=True)
            self._done = True
            with self.answer.hold_sync():
                self.answer.reply = (
                    f"<div role='status' class='wc-right'>{html.escape(self._put_in(mark.message))}</div>"
                )
                self.answer.button = "Next problem"
        else:
            self._wrong += 1
            more = " The worked solution can be opened now." if self._wrong == SHOWN_AFTER else ""
            self.answer.reply = f"<div role='alert'>Not yet. {html.escape(self._put_in(mark.message) + more)}</div>"
        if self._done or self._wrong >= SHOWN_AFTER:
            self.show.remove_class("wc-shut")

    def _tell(self, *, right: bool) -> None:
        if not self._told:
            self._told = True
            self.changed()
            self.counted(self.problem.kind.key, right, self._wrong + 1)


LOOK = Path(__file__).with_name("problem_tab.css").read_text(encoding="utf-8")
"""CSS of the tab and of the page."""
