"""Large keys on the screen, for gloves: they type into the entry that was touched last."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets


class Keypad(anywidget.AnyWidget):
    """Off at first, but on where the pointer is a finger."""

    _esm = Path(__file__).with_name("keypad.js")
    _css = Path(__file__).with_name("keypad.css")
    on = traitlets.Bool(False).tag(sync=True)

    def __init__(self) -> None:
        super().__init__()
        self.add_class("wc-keypad")
