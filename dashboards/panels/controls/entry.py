"""One entry: what a person types, a slider beside it, and a note that says how it was read or why it was not."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

import ipywidgets as w

from wirecalc.errors import InputError

Value = TypeVar("Value")


class Entry(Generic[Value]):
    """A text box and, where there are stops, a slider over them.

    The last good value stays in `value` whatever is typed; the text itself is never changed by a fault.

    Parameters
    ----------
    label : str
        The field's name.
    read : callable of str -> Value
        Raises `InputError` for a text it cannot use.
    show : callable of Value -> str
        What the text box says when the slider sets it.
    start : Value
        First value.
    stops : sequence of Value
        What the slider stops at, in its order; none for a plain text box.
    position : callable of Value -> float
        Where a value lies among the stops, to put the slider at the nearest one.
    help : str
        Said beneath the box while nothing else is.
    """

    def __init__(
        self,
        label: str,
        read: Callable[[str], Value],
        show: Callable[[Value], str],
        start: Value,
        *,
        stops: Sequence[Value] = (),
        position: Callable[[Value], float] = float,  # type: ignore[assignment]
        help: str = "",
    ) -> None:
        self.read, self.show, self.position, self.help = read, show, position, help
        self.value = start
        self.fault: InputError | None = None
        self.changed: Callable[[], None] = lambda: None
        self._stops: Sequence[Value] = ()
        self._quiet = False
        self.text = w.Text(value=show(start), description=label, continuous_update=False)
        self.text.style.description_width = "auto"
        self.slider = w.IntSlider(min=0, max=1, readout=False)
        self.note = w.HTML(layout={"margin": "0"})
        self.note.add_class("wc-note")
        parts = [self.text, self.slider, self.note] if stops else [self.text, self.note]
        self.view = w.VBox(parts)
        self.view.add_class("wc-entry")
        self.text.observe(self._typed, "value")
        self.slider.observe(self._slid, "value")
        self.set_stops(stops)
        self._say()

    def set_stops(self, stops: Sequence[Value]) -> None:
        """Change what the slider stops at; the value stays."""
        self._stops = stops
        if stops:
            self._silently(lambda: setattr(self.slider, "max", len(stops) - 1))
            self._place()

    def set(self, value: Value) -> None:
        """Take a value that came from elsewhere; text and slider follow, and `changed` is not called."""
        self.value, self.fault = value, None
        self.rewrite()

    def rewrite(self) -> None:
        """Write the last good value into the text anew, as after a change of units; a faulty text stays."""
        if self.fault is None:
            self._silently(lambda: setattr(self.text, "value", self.show(self.value)))
        self._place()
        self._say()

    def _silently(self, act: Callable[[], None]) -> None:
        self._quiet = True
        try:
            act()
        finally:
            self._quiet = False

    def _place(self) -> None:
        if self._stops:
            at = self.position(self.value)
            near = min(range(len(self._stops)), key=lambda i: abs(self.position(self._stops[i]) - at))
            self._silently(lambda: setattr(self.slider, "value", near))

    def _say(self) -> None:
        if self.fault is not None:
            self.note.value = f"<div role='alert'>{html.escape(str(self.fault))}</div>"
        else:
            shown = self.show(self.value)
            read_as = "" if shown == self.text.value.strip() else f"read as {shown}"
            self.note.value = html.escape(read_as or self.help)

    def _typed(self, _change: object) -> None:
        if self._quiet:
            return
        try:
            self.value = self.read(self.text.value)
            self.fault = None
        except InputError as fault:
            self.fault = fault
        self.changed()  # first: the charts wait for it
        self._place()
        self._say()

    def _slid(self, change: dict[str, int]) -> None:
        if self._quiet:
            return
        self.value, self.fault = self._stops[change["new"]], None
        self.changed()
        self._silently(lambda: setattr(self.text, "value", self.show(self.value)))
        self._say()
