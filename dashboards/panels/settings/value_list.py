"""Many values to edit in one widget, by groups: each with its unit, what it is, why, its default beside a change."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable
from dashboards.panels.controls.error_messages import said_plainly
from wirecalc.errors import InputError

LONGEST = 500  # characters of one value


@dataclass(frozen=True, kw_only=True)
class Value:
    """One of them.

    Parameters
    ----------
    key : str
        Its own name.
    label, what, unit : str
        As a person reads it: what it is for, what it is.
    why : sequence of str
        Its reason and its source, a paragraph each.
    options : sequence of (str, str)
        What there is to choose from, with words; none where anything may be typed.
    """

    key: str
    label: str
    what: str = ""
    unit: str = ""
    why: Sequence[str] = ()
    options: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True, kw_only=True)
class Group:
    """Values under one heading."""

    title: str
    values: Sequence[Value]
    note: str = ""
    open: bool = False


class ValueList(Actable):
    """What is typed and cannot be used stays in its box with what is wrong; the last good value holds.

    Parameters
    ----------
    groups : sequence of Group
        They stay the same for as long as the page is open.
    put : callable of (str, str) -> None
        A value was typed or chosen: its key and text. `InputError` where it cannot be used.
    back : callable of str -> None
        A value is to be its default again.
    """

    _esm = Path(__file__).with_name("value_list.js")
    _css = Path(__file__).with_name("value_list.css")
    groups: Any = traitlets.List().tag(sync=True)
    shown: Any = traitlets.Dict().tag(sync=True)
    only_changed = traitlets.Bool().tag(sync=True)

    def __init__(self, groups: Sequence[Group], put: Callable[[str, str], None], back: Callable[[str], None]) -> None:
        super().__init__(groups=[_sent(group) for group in groups])
        self.put, self.back = put, back
        self.own_keys = {value.key for group in groups for value in group.values}
        self._faulty: dict[str, tuple[str, str]] = {}
        self._now: Mapping[str, str] = {}
        self._usual: Mapping[str, str] = {}

    def show(self, now: Mapping[str, str], usual: Mapping[str, str]) -> None:
        """Draw these.

        Parameters
        ----------
        now : mapping of str to str
            The text of each value, by its key.
        usual : mapping of str to str
            The defaults of those that are changed.
        """
        self._now, self._usual = now, usual
        self._draw()

    def forget(self) -> None:
        """What was typed and could not be used is gone: all values are from elsewhere now."""
        self._faulty = {}

    def _draw(self) -> None:
        self.shown = {
            key: {
                "text": self._faulty.get(key, (text, ""))[0],
                "usual": self._usual.get(key),
                "fault": self._faulty.get(key, ("", ""))[1],
            }
            for key, text in self._now.items()
        }

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        key, text, back = what.get("key"), what.get("text"), what.get("back")
        if back in self.own_keys:
            self._faulty.pop(back, None)
            self.back(back)
            self._draw()
        elif key in self.own_keys and isinstance(text, str):
            self.type(key, text)

    def type(self, key: str, text: str) -> None:
        """As a person types it."""
        try:
            if len(text) > LONGEST:
                raise InputError("Value", text[:20] + "…", f"at most {LONGEST} characters")
            self._faulty.pop(key, None)
            self.put(key, text)
        except Exception as fault:
            self._faulty[key] = text[:LONGEST], said_plainly(fault)
        self._draw()


def _sent(group: Group) -> dict[str, Any]:
    rows = [{**vars(value), "why": list(value.why), "options": [list(option) for option in value.options]}
            for value in group.values]  # fmt: skip
    return {"title": group.title, "note": group.note, "open": group.open, "rows": rows}
