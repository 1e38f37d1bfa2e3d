"""Parts of a page of which one is shown; modules of the others are imported in the background or when first shown."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable
from importlib import import_module
from typing import Any

import ipywidgets as w

WARM_AFTER_S = 2.0


def made(module: str, name: str, **more: Any) -> Any:
    """A part, by its module in `dashboards.panels` and its class; `more` is handed to it."""
    return getattr(import_module(f"dashboards.panels.{module}"), name)(**more)


def warm(modules: Iterable[str], also: Callable[[], object] = lambda: None) -> None:
    """Import in the background, while the person reads, what the first click on another part would wait for."""

    def load() -> None:
        for module in modules:
            import_module(f"dashboards.panels.{module}")
        also()

    if "VOILA_BASE_URL" in os.environ:
        timer = threading.Timer(WARM_AFTER_S, load)
        timer.daemon = True
        timer.start()


def show_if(shown: object, view: w.DOMWidget) -> None:
    """Show a view or hide it; one that is hidden stays in its box, see DEVELOPERS.md."""
    (view.remove_class if shown else view.add_class)("wc-shut")


def bring_forward(box: w.Box, view: w.Widget) -> None:
    """Show one part of a box and hide the others; a chart that left its box and came back would draw on a dead view."""
    if view not in box.children:
        box.children = (*box.children, view)
    for child in box.children:
        show_if(child is view, child)
