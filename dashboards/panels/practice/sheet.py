"""A sheet of problems for a class: the same number gives the same sheet; with its answer key it prints."""

from __future__ import annotations

import html
from collections.abc import Sequence
from pathlib import Path

import ipywidgets as w

from dashboards.panels.acts.choices import Choice, Several
from dashboards.panels.controls import colours
from dashboards.panels.controls.address import Fields, named, ticks
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.files import Download
from dashboards.panels.practice import problem_view
from wirecalc.practice.kinds import KINDS, MOST_PROBLEMS, sheet
from wirecalc.practice.problem import MOST_SEED, Problem, whole
from wirecalc.wire.cautions import LOCAL_CODES

_START = ("loop", "drop", "decibels", "parallel", "damping", "smallest", "fuse", "plot")


def to_html(problems: Sequence[Problem], seed: int, *, key: bool, feet: bool = False, mm2: bool = False) -> str:
    """The sheet and, on a page of its own at the end, its answer key."""
    texts = (problem_view.text(problem, feet=feet, mm2=mm2) for problem in problems)
    asked = "".join(f"<li>{text}<p class='wc-line'>Answer:</p></li>" for text in texts)
    parts = [
        f"<article class='wc-sheet'><h2>Practice sheet {seed}</h2><p class='wc-name'>Name:</p>"
        f"<p>Write each answer with its unit. All vehicles are invented. {html.escape(LOCAL_CODES)}</p><ol>{asked}</ol>"
    ]
    if key:
        answers = "".join(f"<li>{problem_view.key_line(problem, mm2=mm2)}</li>" for problem in problems)
        told = any(problem_view.in_metres(problem, feet=feet) for problem in problems)
        metres = f"<p>{problem_view.METRES}</p>" if told else ""
        parts.append(f"<section class='wc-key'><h2>Answer key to sheet {seed}</h2>{metres}<ol>{answers}</ol></section>")
    return "".join(parts) + "</article>"


def to_file(problems: Sequence[Problem], seed: int, *, key: bool, feet: bool = False, mm2: bool = False) -> bytes:
    """The same as a file that stands alone."""
    return (
        "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>Practice sheet {seed}</title><style>{colours.CSS}{_FILE}{problem_view.LOOK}{LOOK}</style></head>"
        f"<body>{to_html(problems, seed, key=key, feet=feet, mm2=mm2)}</body></html>"
    ).encode()


class SheetTab:
    """A sheet of problems from its number, the kinds and how many."""

    def __init__(self) -> None:
        self.feet = self.mm2 = False
        self.seed = Entry("Number of the sheet", lambda text: whole(text, "Number of the sheet", MOST_SEED), str, 1,
                          help="the same number, kinds and count make the same sheet again")  # fmt: skip
        self.count = Entry("Problems", lambda text: whole(text, "Problems", MOST_PROBLEMS), str, 8,
                           help=f"1 to {MOST_PROBLEMS}; the kinds take turns")  # fmt: skip
        kinds = [(kind.title, key) for key, kind in KINDS.items()]
        self.kinds = Several(kinds, [key for key in KINDS if key in _START], "Kinds of problem")
        self.kinds.add_class("wc-long")
        self.key = Choice([("With the answer key", True), ("Without", False)], True, kind="bar")
        self.key.add_class("wc-units")
        asked = ticks("kinds of problem", self.kinds, str)
        self.fields: Fields = named(number=self.seed, count=self.count, kinds=asked, key=self.key)
        self.alert, self.shown = w.HTML(), w.HTML()
        self.save = Download("Save the sheet as a file", self._file)
        entries = w.Box([self.seed.view, self.count.view, self.key])
        entries.add_class("wc-fields")
        controls = w.VBox([entries, self.kinds, self.save])
        controls.add_class("wc-controls")
        self.view = w.VBox([controls, self.alert, self.shown])
        self.kinds.observe(lambda _change: self.refresh(), "value")
        self.key.observe(lambda _change: self.refresh(), "value")
        self.seed.changed = self.count.changed = self.refresh
        self.refresh()

    def use_feet(self, feet: bool) -> None:
        """Lengths in feet or in metres."""
        self.feet = feet
        self.refresh()

    def use_mm2(self, mm2: bool) -> None:
        """Sizes in mm² with their gauges, or gauges alone."""
        self.mm2 = mm2
        self.refresh()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """The problems of the entries as they are now."""
        return sheet(self.seed.value, self.kinds.value, self.count.value)

    @guarded
    def refresh(self) -> None:
        """Draw the sheet as it prints."""
        self.shown.value = to_html(self.problems, self.seed.value, key=self.key.value, feet=self.feet, mm2=self.mm2)
        self.alert.value = ""

    def _file(self) -> tuple[str, bytes, str]:
        content = to_file(self.problems, self.seed.value, key=self.key.value, feet=self.feet, mm2=self.mm2)
        return f"practice-sheet-{self.seed.value}.html", content, "text/html"


_FILE = Path(__file__).with_name("sheet_file.css").read_text(encoding="utf-8")
LOOK = Path(__file__).with_name("sheet.css").read_text(encoding="utf-8")
"""CSS of the sheet, for the page and for the file."""
