"""Two sounds that run in step, so that one can switch between them while they play.

The sounds come as messages, on the first press of a button and again when `version` has changed; they are never part
of the widget's state. With `asks` it is a question: it sends which answer was pressed, and knows nothing of the
right one.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable
from dashboards.panels.controls.error_messages import said
from wirecalc.hearing.sound import RATE_HZ

Sounds = tuple[bytes, bytes]


class Player(Actable):
    """Two sounds behind big buttons.

    Parameters
    ----------
    names : sequence of two str
        On the buttons.
    caution : str
        Always shown.
    make : callable of () -> (bytes, bytes)
        Two WAV files of one length, asked when a button is pressed first. Its `InputError` is said here.
    take : callable of (int, str) -> None, optional
        Given version and answer.
    """

    _esm = Path(__file__).with_name("player.js")
    _css = Path(__file__).with_name("player.css")
    names = traitlets.List(traitlets.Unicode()).tag(sync=True)
    caution = traitlets.Unicode().tag(sync=True)
    asks = traitlets.List(traitlets.Unicode()).tag(sync=True)
    status = traitlets.Unicode().tag(sync=True)
    version = traitlets.Int().tag(sync=True)
    """Another number means that the sounds have changed."""
    ended = traitlets.Int().tag(sync=True)
    """Counts finished tests: the result, said elsewhere on the page, comes into view."""
    rate_hz = traitlets.Int(RATE_HZ).tag(sync=True)

    def __init__(
        self,
        names: tuple[str, str],
        caution: str,
        make: Callable[[], Sounds],
        take: Callable[[int, str], None] = lambda _version, _answer: None,
    ) -> None:
        super().__init__(names=list(names), caution=caution)
        self.make, self.answered = make, take
        self.on_msg(self._asked)

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        try:
            self.answered(int(what["version"]), str(what["answer"]))
        except Exception as fault:
            self._say(fault)

    def _asked(self, _widget: Any, content: Any, _buffers: Any) -> None:
        if not isinstance(content, dict) or "play" not in content:
            return
        try:
            self.send({"version": self.version}, list(self.make()))
        except Exception as fault:
            self._say(fault)

    def _say(self, fault: Exception) -> None:
        self.status = f"<div role='alert'>{said(fault)}</div>"
