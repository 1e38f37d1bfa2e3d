"""One entry: what a person types, a slider beside it, and a note that says how it was read or why it was not."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import Any, Generic, TypeVar

import traitlets

from dashboards.panels.acts.acts import Actable
from wirecalc.errors import InputError

Value = TypeVar("Value")
MOST_TYPED = 2000  # characters


class EntryBox(Actable):
    """What an entry looks like: its parts are drawn, and acted on, by `entry.js` of the template."""

    _esm = "export default { render: view => wirecalcEntry(view) };"
    description = traitlets.Unicode().tag(sync=True)
    placeholder = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)
    """HTML."""
    at = traitlets.Int(0).tag(sync=True)
    last = traitlets.Int(-1).tag(sync=True)
    """The slider's place and its last one; -1 without a slider."""
    stops = traitlets.Int(-1).tag(sync=True)
    """Which stops the slider has: a step means the stop that it was made to, also when they change meanwhile."""

    def __init__(self, act: Callable[[dict[str, Any]], None], **settings: Any) -> None:
        super().__init__(**settings)
        self.act = act
        self.add_class("wc-entry")

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        self.act(what)


class _Text(traitlets.HasTraits):
    """What stands in the box; set, it counts as typed."""

    value = traitlets.Unicode()
    description = traitlets.Unicode()


class _Slider(traitlets.HasTraits):
    """The place among the stops; set, it counts as moved."""

    value = traitlets.Int()
    max = traitlets.Int()


class _Note(traitlets.HasTraits):
    """HTML."""

    value = traitlets.Unicode()


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
    stops_for : callable of Value -> sequence of Value, optional
        What it stops at while that is the value, in place of `stops`; the same object each time for the same stops.
    position : callable of Value -> float
        Where a value lies among the stops, to put the slider at the nearest one.
    help : str
        Said beneath the box while nothing else is.
    placeholder : str
        Stands in the box while nothing else does.
    """

    def __init__(
        self,
        label: str,
        read: Callable[[str], Value],
        show: Callable[[Value], str],
        start: Value,
        *,
        stops: Sequence[Value] = (),
        stops_for: Callable[[Value], Sequence[Value]] | None = None,
        position: Callable[[Value], float] = float,  # type: ignore[assignment]
        help: str = "",
        placeholder: str = "",
    ) -> None:
        self.read, self.show, self.position, self.help = read, show, position, help
        self.stops_for = stops_for
        self.value = start
        self.fault: InputError | None = None
        self.changed: Callable[[], None] = lambda: None
        self._stops: Sequence[Value] = ()
        self._all_stops: list[Sequence[Value]] = []
        self._quiet = False
        self.text, self.slider, self.note = _Text(value=show(start), description=label), _Slider(), _Note()
        stops = stops_for(start) if stops_for else stops
        last = len(stops) - 1
        self.view = EntryBox(self._act, description=label, placeholder=placeholder, text=self.text.value, last=last)
        for part, name, shown in (
            (self.text, "value", "text"),
            (self.text, "description", "description"),
            (self.slider, "value", "at"),
            (self.slider, "max", "last"),
            (self.note, "value", "note"),
        ):
            part.observe(lambda change, shown=shown: self.view.set_trait(shown, change["new"]), name)
        self.text.observe(self._typed, "value")
        self.slider.observe(self._slid, "value")
        self.set_stops(stops)
        self._say()

    def _act(self, what: dict[str, Any]) -> None:
        """What a person did in the browser."""
        if isinstance(what.get("text"), str):
            self.text.value = what["text"][:MOST_TYPED]
            return
        at, of = what.get("at"), what.get("of")
        if not (isinstance(at, int) and isinstance(of, int) and 0 <= of < len(self._all_stops)):
            return
        stops = self._all_stops[of]
        if stops is self._stops and at != self.slider.value and 0 <= at < len(stops):
            self.slider.value = at
        elif 0 <= at < len(stops):  # a stop that the slider has no longer, or one beside what was typed before
            self.set(stops[at])
            self.changed()

    def set_stops(self, stops: Sequence[Value]) -> None:
        """Change what the slider stops at; the value stays."""
        self._stops = stops
        if stops:
            if not any(offered is stops for offered in self._all_stops):
                self._all_stops.append(stops)
            self.view.stops = next(i for i, offered in enumerate(self._all_stops) if offered is stops)
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
        if self.stops_for and (stops := self.stops_for(self.value)) is not self._stops:
            self.set_stops(stops)
        if self._stops:
            at = self.position(self.value)
            near = min(range(len(self._stops)), key=lambda i: abs(self.position(self._stops[i]) - at))
            self._silently(lambda: setattr(self.slider, "value", near))

    def _say(self) -> None:
        if self.fault is not None:
            self.note.value = f"<div role='alert'>{html.escape(str(self.fault))}</div>{_offered(self.fault.choices)}"
        else:
            shown = self.show(self.value)
            read_as = "" if shown == self.text.value.strip() else f"read as {shown}"
            self.note.value = html.escape(read_as or self.help)

    def tell(self, help: str) -> None:
        """Say something else beneath the box while nothing more pressing is."""
        if help != self.help:
            self.help = help
            self._say()

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


def _offered(choices: Sequence[str]) -> str:
    """What may be entered instead as buttons, which `entry.js` types into the box."""
    buttons = "".join(
        f"<button type='button' class='wc-offer' data-text='{html.escape(text)}'>{html.escape(text)}</button>"
        for text in choices
    )
    return f"<div class='wc-offers'>{buttons}</div>" if buttons else ""
