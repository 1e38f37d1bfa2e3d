"""A panel on a page that is not ours, such as a notebook in JupyterLab or under plain Voilà, brings what it needs.

On our own pages the template has it already. There is one of these a kernel; the browser loads it when the first
widget is made, and the others' scripts wait for it. What it brings leaves the page around the panel as it is.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, TypeVar

import anywidget
from ipywidgets import Widget

W = TypeVar("W", bound=Widget)

SERVED = "WIRECALC_SERVED" in os.environ
"""Whether the page around is ours; our server's settings say so."""
TEMPLATE = Path(__file__).parents[2] / "server" / "share" / "jupyter" / "voila" / "templates" / "wirecalc"
WAITS = "await (globalThis.wirecalcBrought ??= Promise.withResolvers()).promise;\n"
"""Before a script that needs what is brought."""


def _template(name: str) -> str:
    return (TEMPLATE / name).read_text(encoding="utf-8")


def styles() -> str:
    """The template's, for a panel alone; dark where the notebook is, not where the device is."""
    tokens = (
        _template("tokens.css").replace(":root", ".wc-page").replace("color-scheme: light dark", "color-scheme: light")
    )
    light, separator, rest = tokens.partition("@media (prefers-color-scheme: dark) {\n  .wc-page {")
    dark, end, paper = rest.partition("  }\n}\n")
    if not separator or not end:
        raise ValueError("tokens.css has no block for the dark as guest.py knows it")
    tokens = f"{light}[data-jp-theme-light=false] .wc-page {{ color-scheme: dark;\n{dark}}}\n{paper}"
    jupyter = _template("jupyter.css").replace("body, body.jp-Notebook", ".wc-page")
    return f"{tokens}{jupyter}.wc-page {{ padding: 8px; }}\n{_template('page.css')}"


def scripts() -> str:
    """The template's, once a page whatever number of kernels it has."""
    brought = "".join(map(_template, ("acts.js", "entry.js", "choices.js")))
    return (
        "if (!globalThis.wirecalcActs) {\nglobalThis.wirecalcGuest = true;\n"
        f"{brought}}}\n(globalThis.wirecalcBrought ??= Promise.withResolvers()).resolve();\nexport default {{}};\n"
    )


class Guest(anywidget.AnyWidget):
    """Brings styles and scripts; it is never shown."""

    if not SERVED:
        _esm = scripts()
        _css = styles()


_kept: dict[type[Any], Any] = {}


def the_one(kind: type[W]) -> W:
    """The kernel's only widget of a class, made anew when a person has closed all widgets."""
    if kind not in _kept or not _kept[kind].comm:
        _kept[kind] = kind()
    kept: W = _kept[kind]
    return kept


def bring() -> None:
    """What a page that is not ours lacks."""
    if not SERVED:
        the_one(Guest)
