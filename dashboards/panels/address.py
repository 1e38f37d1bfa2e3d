"""A page's entries in its address, so that a link, a bookmark or a reload brings them back.

`one_run.ipynb?circuit=line-level&size=22+AWG`: each part is an entry's label in small letters, with a dash for whatever
is neither letter nor digit, and what a person would type there; of a list it is the option, written alike. What is left
out stays as the page has it. Values go through the entries, so a bad one is said beside its own box.

The browser hands the address over when the page is drawn. Voilà's own way, `voila.utils.get_query_string`, makes a
kernel that is kept warm wait before it has made its panel: every visit would pay for it, here only one with a query.
"""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import parse_qsl, urlencode

import anywidget
import ipywidgets as w
import traitlets

from dashboards.panels.aside import kernel_loop
from dashboards.panels.entry import Entry
from dashboards.panels.guard import said
from wirecalc.errors import InputError

MOST_PARTS, LONGEST = 100, 4000
SERVERS_OWN = ("token", "theme", "template")  # parts that Voilà reads; they stay where they are
WRITE_AFTER_S = 0.2  # once typing and sliding pause: what a key press changes is drawn first

Field = Entry[Any] | w.Dropdown | w.ToggleButtons
Fields = Mapping[str, Field]

_ESM = (
    f"const own = {list(SERVERS_OWN)};"
    + """
export default { render({ model, el }) {
  const write = () => {
    const query = new URLSearchParams(model.get('query'));
    for (const [name, value] of new URLSearchParams(location.search)) if (own.includes(name)) query.append(name, value);
    const text = query.toString();
    history.replaceState(history.state, '', location.pathname + (text && '?' + text) + location.hash);
  };
  const note = () => { el.innerHTML = model.get('note'); };
  model.on('change:query', write);
  model.on('change:note', note);
  note();
  if (location.search.length > 1) model.send({ came: location.search.slice(1) });
  return () => { model.off('change:query', write); model.off('change:note', note); };
} };
"""
)


class Address(anywidget.AnyWidget):
    """The page's end of its address; shows what of it cannot be used.

    Parameters
    ----------
    take : callable of dict of str to str
        Is given what came with the address, when it did. What it raises is said.
    written : callable of () -> dict of str to str
        What is to stand in the address; asked soon after `changed`.
    """

    _esm = _ESM
    query = traitlets.Unicode().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)

    def __init__(self, take: Callable[[dict[str, str]], None], written: Callable[[], Mapping[str, str]]) -> None:
        super().__init__()
        self.take, self.written = take, written
        self._due: asyncio.TimerHandle | None = None
        self.on_msg(self._came)

    def _came(self, _widget: Any, content: Any, _buffers: Any) -> None:
        try:
            self.take(read(str(content["came"])))
        except Exception as fault:
            self.note = f"<div role='alert' style='white-space: pre-line'>{said(fault)}</div>"
        else:
            self.note = ""

    def changed(self) -> None:
        """Some entry changed: write the address soon."""
        if self._due is not None:
            self._due.cancel()
        loop = kernel_loop()
        if loop is None:
            self._write()
        else:
            self._due = loop.call_later(WRITE_AFTER_S, self._write)

    def _write(self) -> None:
        self._due = None
        self.query = urlencode(self.written())


def read(query: str) -> dict[str, str]:
    """The parts of an address after its question mark, without those that are the server's.

    Raises
    ------
    InputError
        If it is too long.
    """
    if len(query) > LONGEST:
        raise InputError("Address", f"{len(query)} characters", f"at most {LONGEST}")
    try:
        parts = parse_qsl(query, keep_blank_values=True, max_num_fields=MOST_PARTS)
    except ValueError:
        raise InputError("Address", "too many parts", f"at most {MOST_PARTS}") from None
    return {name: value for name, value in parts if name not in SERVERS_OWN}


def link(page: str, values: Mapping[str, str]) -> str:
    """The address of another page with these entries, to stand in an `href`.

    Examples
    --------
    >>> link("one_run", {"length": "5.6 m"})
    'one_run.ipynb?length=5.6+m'
    """
    return html.escape(f"{page}.ipynb?{urlencode(values)}")


def name(label: str) -> str:
    """What an entry or an option is called in an address.

    Examples
    --------
    >>> name("Second rating, power")
    'second-rating-power'
    """
    return re.sub(r"[\W_]+", "-", label.casefold()).strip("-")


def named(*fields: Field) -> dict[str, Field]:
    """Entries by their names in an address."""
    return {name(one.text.description if isinstance(one, Entry) else one.description): one for one in fields}


def fill(fields: Fields, values: Mapping[str, str]) -> list[InputError]:
    """Put values into entries as if they had been typed.

    Returns
    -------
    list of InputError
        Names and options that there are not. What an entry itself cannot read it says beside its box.
    """
    faults = []
    for key, text in values.items():
        field = fields.get(key)
        if field is None:
            faults.append(InputError(f"Address, {key}", text, f"one of {', '.join(fields)}"))
        elif isinstance(field, Entry):
            field.text.value = text
        else:
            found = {_option(label, value): value for label, value in _options(field)}
            if name(text) in found:
                field.value = found[name(text)]
            else:
                faults.append(InputError(f"Address, {key}", text, f"one of {', '.join(found)}"))
    return faults


def text(field: Field) -> str:
    """What stands for an entry in an address: what was typed, or the last good value where that is at fault."""
    if not isinstance(field, Entry):
        return next(_option(label, value) for label, value in _options(field) if value == field.value)
    return field.text.value if field.fault is None else field.show(field.value)


def _options(field: w.Dropdown | w.ToggleButtons) -> list[tuple[str, Any]]:
    return [one if isinstance(one, tuple) else (str(one), one) for one in field.options]


def _option(label: str, value: Any) -> str:
    """An option's own key where it has one, such as a metal's; else its words."""
    return name(value if isinstance(value, str) else label)
