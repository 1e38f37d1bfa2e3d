"""Where an answer is typed: a box and a button in one form, so that Enter checks, and the reply under it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable


class AnswerBox(Actable):
    """A form of one answer.

    Parameters
    ----------
    take : callable of str -> None
        Given what is typed, on Enter or on the button.
    """

    _esm = Path(__file__).with_name("answer_box.js")
    _css = Path(__file__).with_name("answer_box.css")
    button = traitlets.Unicode("Check").tag(sync=True)
    example = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    """HTML."""
    cleared = traitlets.Int().tag(sync=True)
    """Counts; the box is emptied and gets the focus when it changes."""

    def __init__(self, take: Callable[[str], None]) -> None:
        super().__init__()
        self.answered = take

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        self.answered(str(what["answer"]))
