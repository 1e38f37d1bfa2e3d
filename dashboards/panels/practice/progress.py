"""What has been practised, saved to a file and read from one."""

from __future__ import annotations

import html
from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.controls.packed import Packed
from dashboards.panels.controls.table import Html, html_table
from wirecalc import tables
from wirecalc.practice.kinds import KINDS
from wirecalc.practice.progress import LESSONS, MOST_BYTES, Progress, Score, from_json, to_json

TITLES: dict[str, str] = {row["lesson"]: row["title"] for row in tables.rows("lessons")}


def progress_table(progress: Progress) -> str:
    """All kinds and lessons, as HTML."""
    scores = [(kind.title, progress.of(key)) for key, kind in KINDS.items()]
    most = max(score.solved + score.shown for _, score in scores)
    rows = [
        (title, str(score.solved), str(score.at_once), str(score.shown), Html(_bar(score, most)))
        for title, score in scores
    ]
    heads = ("Kind", "Solved", "Of these at once", "Not solved", "As a bar")
    lessons = "".join(
        f"<li><span class='wc-sign' aria-hidden='true'>{'●' if key in progress.lessons else '○'}</span>"
        f" {html.escape(TITLES[key])}: {'played with' if key in progress.lessons else 'not yet'}</li>"
        for key in LESSONS
    )
    solved = sum(score.solved for score in progress.scores.values())
    return (
        f"<p class='wc-told'>{solved} problem{'' if solved == 1 else 's'} solved,"
        f" {len(progress.lessons)} of {len(LESSONS)} lessons played with.</p>"
        f"<p class='wc-done-key'>{_KEY}</p>"
        f"{html_table('Problems by kind', heads, rows, kind='wc-words wc-as-cards')}<h2>Lessons</h2><ol>{lessons}</ol>"
    )


_KEY = " ".join(
    f"<span><svg class='wc-done' viewBox='0 0 14 20' aria-hidden='true'><rect class='{kind}' x='1' y='2' width='12'"
    f" height='16' rx='2'/></svg>{name}</span>"
    for kind, name in (("wc-at-once", "solved at once"), ("wc-later", "solved later"), ("wc-open", "not solved"))
)
"""What the bars' blocks mean: above the table, whose head a phone does not show."""


def _bar(score: Score, most: int) -> str:
    """One kind as a bar of blocks, a problem each where there is room; the columns beside it say the same."""
    step = 200 / max(most, 10)
    kinds = (("wc-at-once", score.at_once), ("wc-later", score.solved - score.at_once), ("wc-open", score.shown))
    blocks, at = "", 0
    for kind, count in kinds:
        blocks += "".join(
            f"<rect class='{kind}' x='{step * place:.1f}' y='2' width='{max(step - 2, 1):.1f}' height='16' rx='2'/>"
            for place in range(at, at + count)
        )
        at += count
    return f"<svg class='wc-done' viewBox='0 0 200 20' aria-hidden='true'><path d='M0 19H200'/>{blocks}</svg>"


class ProgressTab:
    """The progress of this page; it is kept until the page is closed.

    Parameters
    ----------
    get, put : callable
        The page's progress as it is, and what a file had instead.
    """

    def __init__(self, get: Callable[[], Progress], put: Callable[[Progress], None]) -> None:
        self.get, self.put = get, put
        self._saved = Progress()
        self.packed = Packed(
            what="Your progress",
            instead="Save it.",
            write=lambda: to_json(get()) if get() != Progress() else b"",
            take=lambda content: self._take("", content),
            saved=lambda: get() == self._saved,
        )
        self.save = Download("Save my progress", self._make)
        self.read = Upload("Read my progress", ".json,application/json", self._take, MOST_BYTES)
        self.shown = w.HTML()
        files = w.Box([self.save, self.read])
        files.add_class("wc-buttons").add_class("wc-controls")
        note = w.HTML(
            "<p>Your progress is kept in this page and its address only: a reload keeps it. Save it before you close"
            " the page. A file that you read takes its place.</p>"
        )
        note.add_class("wc-controls")
        self.view = w.VBox([note, files, self.shown])
        self.refresh()

    def refresh(self) -> None:
        """Show the progress as it is."""
        self.shown.value = progress_table(self.get())

    def _make(self) -> tuple[str, bytes, str]:
        self._saved = self.get()
        return "practice.json", to_json(self._saved), "application/json"

    def _take(self, _name: str, content: bytes) -> None:
        self.put(from_json(content))
        self.refresh()
