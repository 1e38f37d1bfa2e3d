"""What every page does with a fault: a message is shown, the last good picture stays, and nobody sees a traceback."""

from __future__ import annotations

import errno
import functools
import html
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Protocol, TypeVar

import ipywidgets as w

from wirecalc.errors import InputError

_log = logging.getLogger(__name__)

_OURS = "This could not be worked out: a fault of the page, not of your entry."
_FULL = "The disk of the machine that serves these pages is full. Nothing is lost: try again once there is room on it."


class Alerting(Protocol):
    """A panel with a place for faults."""

    alert: w.HTML


Panel = TypeVar("Panel", bound=Alerting)


def guarded(refresh: Callable[[Panel], None]) -> Callable[[Panel], None]:
    """A panel's method that computes and draws, with its faults said in `panel.alert`."""

    @functools.wraps(refresh)
    def safe(panel: Panel) -> None:
        if getattr(panel, "settling", False):
            return
        try:
            refresh(panel)
        except Exception as fault:
            panel.alert.value = f"<div role='alert'>{said(fault)} The picture still shows the last good entries.</div>"

    return safe


@contextmanager
def together(panel: Any, draw: Callable[[], None]) -> Iterator[None]:
    """Around changes of many entries: the panel's guarded methods do nothing, and `draw` is called once, at the end."""
    before = getattr(panel, "settling", False)
    panel.settling = True
    try:
        yield
    finally:
        panel.settling = before
    draw()


def said(fault: Exception) -> str:
    """A fault in words for the viewer, as HTML; one that is ours is logged."""
    return html.escape(said_plainly(fault))


def said_plainly(fault: Exception) -> str:
    """As `said`, as plain text."""
    if isinstance(fault, InputError):
        return str(fault)
    _log.error("not of the viewer's making", exc_info=fault)
    if isinstance(fault, OSError) and fault.errno in (errno.ENOSPC, errno.EDQUOT):
        return _FULL
    return _OURS
