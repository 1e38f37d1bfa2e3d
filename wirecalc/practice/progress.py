"""What one person has practised: counted, written to a file, and read from one that may be faulty."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import field, replace
from types import MappingProxyType
from typing import Any

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.practice.kinds import KINDS
from wirecalc.units_taken import dataclass

FORMAT, VERSION = "wirecalc practice", 1
MOST_BYTES = 20_000  # all kinds and lessons at their largest counts take a tenth of it
MOST = 1_000_000
LESSONS: tuple[str, ...] = tuple(row["lesson"] for row in tables.rows("lessons"))
"""Keys of the lessons, in their order."""

_ANOTHER = "Choose a file that this page has saved. Your progress in the page stays as it is."


@dataclass(frozen=True, kw_only=True)
class Score:
    """Problems of one kind."""

    solved: int = 0
    at_once: int = 0
    """Of these, with the first answer."""
    shown: int = 0
    """Left unsolved, their solution looked at or passed over after a wrong answer."""

    def __post_init__(self) -> None:
        for name in ("solved", "at_once", "shown"):
            check(name, getattr(self, name), "", low=0, high=MOST)
        check("at_once", self.at_once, "", low=0, high=self.solved)


@dataclass(frozen=True, kw_only=True)
class Progress:
    """Scores by kind of problem, and the lessons that were played with."""

    scores: Mapping[str, Score] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    lessons: frozenset[str] = frozenset()

    def of(self, kind: str) -> Score:
        """The score of a kind; all 0 if it was never tried."""
        return self.scores.get(kind, Score())

    def counted(self, kind: str, *, right: bool, tries: int) -> Progress:
        """With one more problem: solved with the answer of number `tries`, or left unsolved.

        Parameters
        ----------
        kind : str
            Key of the kind of problem, or of a lesson.
        right : bool
            It was solved.
        tries : int
            Which answer was right, from 1.

        Returns
        -------
        Progress
            Anew; counts stop at `MOST`.
        """
        old = self.of(kind)
        if right:
            at_once = min(old.at_once + (tries == 1), MOST)
            new = replace(old, solved=min(old.solved + 1, MOST), at_once=at_once)
        else:
            new = replace(old, shown=min(old.shown + 1, MOST))
        return replace(self, scores=MappingProxyType({**self.scores, kind: new}))

    def played(self, lesson: str) -> Progress:
        """With one lesson more."""
        return replace(self, lessons=self.lessons | {lesson})


def to_json(progress: Progress) -> bytes:
    """A file of the progress, for `from_json`."""
    scores = {
        kind: {"solved": score.solved, "at_once": score.at_once, "shown": score.shown}
        for kind, score in sorted(progress.scores.items())
    }
    whole = {"format": FORMAT, "version": VERSION, "problems": scores, "lessons": sorted(progress.lessons)}
    return (json.dumps(whole, indent=1) + "\n").encode()


def from_json(content: bytes) -> Progress:
    """Progress from a file.

    Raises
    ------
    InputError
        If it is too large, no JSON, of another format or version, or holds anything that `to_json` does not write.
    """
    if len(content) > MOST_BYTES:
        raise _refused(f"{len(content)} bytes", f"at most {MOST_BYTES} bytes")
    try:
        whole = json.loads(content.decode())
    except (ValueError, RecursionError):  # no UTF-8, no JSON, or brackets without end
        raise _refused("no JSON", "a JSON file") from None
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise _refused("another kind of file", f"one with the format “{FORMAT}”")
    if type(whole.get("version")) is not int or whole["version"] != VERSION:
        raise _refused(f"version {_short(whole.get('version'))}", f"version {VERSION}")
    if set(whole) != {"format", "version", "problems", "lessons"}:
        raise _refused("parts missing or unknown", "format, version, problems, lessons")
    problems, lessons = whole["problems"], whole["lessons"]
    if not isinstance(problems, dict) or not isinstance(lessons, list):
        raise _refused("problems or lessons of another type", "problems by kind, and a list of lessons")
    for name, known in [*((kind, KINDS) for kind in problems), *((lesson, LESSONS) for lesson in lessons)]:
        if not isinstance(name, str) or name not in known:
            raise _refused(_short(name), "kinds and lessons that this version has")
    scores = MappingProxyType({kind: _score(kind, counts) for kind, counts in problems.items()})
    return Progress(scores=scores, lessons=frozenset(lessons))


def _score(kind: str, counts: Any) -> Score:
    names = {"solved", "at_once", "shown"}
    if not isinstance(counts, dict) or set(counts) != names or any(type(count) is not int for count in counts.values()):
        raise _refused(f"{kind}: {_short(counts)}", "whole numbers solved, at_once and shown")
    try:
        return Score(**counts)
    except InputError as fault:
        raise _refused(f"{kind}: {fault.field} {_short(fault.given)}", fault.allowed) from None


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:40] + "…"


def _refused(given: str, allowed: str) -> InputError:
    return InputError("File of your progress", given, allowed, _ANOTHER)
