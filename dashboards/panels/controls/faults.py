"""Faults that no panel shows itself: in any callback, timer or thread of a page's kernel.

An extension of IPython, loaded by the server into every kernel. Without it such a fault shows nowhere. It is logged in
full, and the page says in one sentence that there was one; `life.js` of the template has the place for it.
"""

from __future__ import annotations

import logging
import sys
import threading
from pathlib import Path
from typing import Any

import anywidget
import traitlets

_log = logging.getLogger("wirecalc.page")


class Faults(anywidget.AnyWidget):
    """Tells the page that there was a fault; it draws nothing itself."""

    _esm = Path(__file__).with_name("faults.js")
    count = traitlets.Int().tag(sync=True)


class _Told(logging.Handler):
    """Passes on what asyncio logs about a timer or a task."""

    def __init__(self, faults: Faults) -> None:
        super().__init__(logging.ERROR)
        self.faults = faults

    def emit(self, _record: logging.LogRecord) -> None:
        self.faults.count += 1


def load_ipython_extension(shell: Any) -> None:
    """Have every fault of this kernel shown on the page and logged.

    Parameters
    ----------
    shell : IPython.core.interactiveshell.InteractiveShell
        The kernel's.
    """
    sys.setswitchinterval(2e-4)  # what is sent must not wait 5 ms, as by default, for what is still computed
    faults = Faults()
    # not sys.stderr, which goes to the viewer's browser
    logging.basicConfig(stream=sys.__stderr__, format="%(asctime)s %(name)s: %(message)s")
    logging.getLogger("asyncio").addHandler(_Told(faults))
    shown = shell.showtraceback

    def show(*arguments: Any, **settings: Any) -> None:
        """Widgets and comms come here with what a callback raised; a cell's own fault is Voilà's to say."""
        if shell.get_parent().get("header", {}).get("msg_type") == "execute_request":
            shown(*arguments, **settings)
            return
        _log.error("a callback failed", exc_info=True)
        faults.count += 1

    def thread_failed(what: threading.ExceptHookArgs) -> None:
        _log.error("a thread failed", exc_info=what.exc_value)
        faults.count += 1

    shell.showtraceback = show
    threading.excepthook = thread_failed
