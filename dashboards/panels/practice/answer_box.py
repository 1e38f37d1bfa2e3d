"""Where an answer is typed: a box and a button in one form, so that Enter checks, and the reply under it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable

MOST_TYPED = 200  # characters, as in answer_box.js
OTHER = "That answer was to the problem before. It stays in the box; this problem is another one."


class AnswerBox(Actable):
    """A form of one answer.

    Parameters
    ----------
    answered : callable of str -> None
        Given what is typed, on Enter or on the button.
    ask : callable of str -> None
        Ask again the question that an answer of before a load was given to.
    """

    _esm = Path(__file__).with_name("answer_box.js")
    _css = Path(__file__).with_name("answer_box.css")
    button = traitlets.Unicode("Check").tag(sync=True)
    example = traitlets.Unicode().tag(sync=True)
    reply = traitlets.Unicode().tag(sync=True)
    """HTML."""
    cleared = traitlets.Int().tag(sync=True)
    """Counts; the box is emptied and gets the focus when it changes."""
    question = traitlets.Unicode().tag(sync=True)
    """Which one it is that is answered."""
    typed = traitlets.Unicode().tag(sync=True)
    """What stood in the box, not yet handed in, before the page was loaded again."""

    def __init__(self, answered: Callable[[str], None], ask: Callable[[str], None]) -> None:
        super().__init__()
        self.answered, self.ask = answered, ask

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`; an answer is not held against another question than the one it was given to."""
        if isinstance(what.get("typed"), str):
            return  # the page is being left
        if what.get("to") == self.question:
            self.answered(str(what["answer"])[:MOST_TYPED])
        else:
            self.reply = f"<div role='status'>{OTHER}</div>"

    def again(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        if what.get("to") != self.question:
            self.ask(str(what.get("to")))
        self.typed = str(what.get("typed", what.get("answer", "")))[:MOST_TYPED]
        self.take(what)
