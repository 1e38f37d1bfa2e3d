"""What a person does on the page comes here in order and once, and each widget says what it has answered.

Only the browser sends acts, only the kernel writes what widgets show: no value has two writers, so none can be lost
between them. What the kernel shows carries the number of the last act that it knows of (`answers`); the browser draws
nothing over a later one. The browser's side is `acts.js` of the template.
"""

from __future__ import annotations

import itertools
import logging
import uuid
import weakref
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import anywidget
import traitlets
from ipywidgets import Layout
from ipywidgets.widgets import widget as every_widget

from dashboards.panels.acts import guest

_log = logging.getLogger(__name__)
_names = itertools.count(1)
_widened: dict[Any, type[Any]] = {}
"""See `Actable.add_traits`."""


class Acts:
    """Of one page, which has a kernel of its own: how many were done."""

    def __init__(self) -> None:
        self.done = 0
        self.after: weakref.WeakSet[Any] = weakref.WeakSet()
        """Widgets whose `acted` is called after each act."""


PAGE = Acts()


class Actable(anywidget.AnyWidget):
    """A widget on which a person acts; `take` does what they asked for."""

    answers = traitlets.Int().tag(sync=True)
    """The page's acts of which what is shown knows."""
    own = traitlets.Int().tag(sync=True)
    """Which widget this is, for as long as its kernel lives."""
    kept_as = traitlets.Unicode().tag(sync=True)
    """Which it is on the next load, by its name in the page's address; empty where nothing of it can be done again."""
    kernel = traitlets.Unicode(uuid.uuid4().hex).tag(sync=True)
    """Whose numbers the acts have: a page of JupyterLab has several kernels, one after the other too."""

    def __init_subclass__(cls, **how: Any) -> None:
        script = cls.__dict__.get("_esm")
        if not guest.SERVED and isinstance(script, str | Path):
            cls._esm = guest.WAITS + (script.read_text("utf-8") if isinstance(script, Path) else script)
        super().__init_subclass__(**how)

    def __init__(self, **settings: Any) -> None:
        guest.bring()
        # how widgets lie is said in CSS; with a layout for each, every page would be sent a hundred empty ones
        super().__init__(own=next(_names), **{"layout": guest.the_one(Layout)} | settings)
        self.on_msg(self._came)

    def add_traits(self, **traits: Any) -> None:
        """See `traitlets.HasTraits`: a class for all widgets of a kind, as one for each takes most of their making."""
        given = (type(self), *((name, trait.default_value) for name, trait in traits.items()))
        if given not in _widened:
            super().add_traits(**traits)
            _widened[given] = type(self)
            return
        self.__class__ = _widened[given]
        for name in traits:
            getattr(_widened[given], name).instance_init(self)

    def take(self, what: dict[str, Any]) -> None:
        """Do one act."""
        raise NotImplementedError

    def again(self, what: dict[str, Any]) -> None:
        """Do an act of before the page was loaded."""
        self.take(what)

    def get_state(self, key: Any = None, drop_defaults: bool = False) -> dict[str, Any]:
        """See `ipywidgets.Widget`: what is shown knows of all acts that are done."""
        state: dict[str, Any] = super().get_state(key, drop_defaults)
        return state | {"answers": PAGE.done} if "answers" in state else state

    def send_state(self, key: str | Iterable[str] | None = None) -> None:
        """See `ipywidgets.Widget`: nothing goes without that number."""
        keys = {key} if isinstance(key, str) else key
        super().send_state(keys if not keys else {*keys, "answers"})

    def _came(self, _widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict):
            return
        if content.get("show"):
            show_all()
            return
        number, what = content.get("act"), content.get("what")
        if not isinstance(number, int) or not isinstance(what, dict):
            return
        if buffers:  # a file's content
            what = {**what, "content": bytes(buffers[0])}
        if number == PAGE.done + 1:
            try:
                with self.hold_sync():  # all that changes here, and the answer, are one message
                    try:
                        self.take(what)
                    finally:
                        PAGE.done = number
                        self._states_to_send.add("answers")
            finally:
                for follower in tuple(PAGE.after):
                    follower.acted()
        elif number <= PAGE.done:
            self.send_state("answers")  # the answer was lost
        # else one before it was: the browser sends both again


def show_all() -> None:
    """Write everything anew: what was sent while there was no connection may be lost."""
    for widget in tuple(every_widget._instances.values()):
        try:
            widget.send_state()
        except Exception:
            _log.exception("%s could not be shown", type(widget).__name__)
