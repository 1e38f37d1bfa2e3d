"""A page's entries in its address, so that a link, a bookmark or a reload brings them back.

`one_run.ipynb?circuit=line&size=22+AWG`: each part is an entry's key and what a person would type there; of a list it
is the key of the option. Keys are given where entries are gathered, never made from what is shown, so that a label may
be reworded; links from when they were, `dashboards.panels.controls.old_links` still reads. What is left out stays as
the page has it. Values go through the entries, so a bad one is said beside its own box. What is longer
than an entry, such as a plan, goes behind the #, see `dashboards.panels.controls.packed`.

The browser hands the address over when the page is drawn. Voilà's own way, `voila.utils.get_query_string`, makes a
kernel that is kept warm wait before it has made its panel: every visit would pay for it, here only one with a query.
"""

from __future__ import annotations

import asyncio
import functools
import html
import re
import unicodedata
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias
from urllib.parse import parse_qsl, urlencode

import ipywidgets as w
import traitlets

from dashboards.panels.acts.acts import PAGE, Actable
from dashboards.panels.acts.choices import Choice, Several
from dashboards.panels.controls.background import kernel_loop
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import said
from dashboards.panels.controls.old_links import renewed
from dashboards.panels.controls.packed import MOST_PACKED, Packed, pack, unpack
from wirecalc.errors import FileFaults, InputError

MOST_AGAIN = 500  # acts of before a load
MOST_PARTS, LONGEST = 200, 8000  # every entry of the bench at once is half of it; what servers and proxies still take
SERVERS_OWN = ("token", "theme", "template")  # parts that Voilà reads; they stay where they are
WRITE_AFTER_S = 0.2  # once typing and sliding pause: what a key press changes is drawn first


@dataclass(frozen=True, eq=False)
class Part:
    """Something with a place in the address that is not a single entry."""

    write: Callable[[], str]
    read: Callable[[str], None]
    """`InputError` if it cannot be used."""
    watched: Sequence[w.Widget] = ()
    """Whose values it is made of."""
    plain: str | None = None
    """What needs no place in the address; None: what it is at first."""


@dataclass(frozen=True, eq=False)
class Listed:
    """A list whose options have keys in an address that are not their values."""

    box: Choice
    key: Callable[[Any], str]
    """Of an option's value."""


Field: TypeAlias = Entry[Any] | Choice | Listed | Part
Fields = Mapping[str, Field]


class Address(Actable):
    """Keeps the page's address and its entries alike; shows which parts of an address cannot be used or do not fit in.

    Entries are listened to; what else changes, the panel says by `changed`.

    Parameters
    ----------
    fields : callable of () -> mapping of str to Field
        What the page has now, in the order to be filled: what brings or changes others stands before them.
    packs : mapping of str to Packed
        What goes behind the #, by its name there; it is taken before the entries.
    always : collection of str
        Entries that are written as soon as any is: those that others change.
    part : callable of str -> None
        A part of the page, whose entries are `nested`, is in an address: it is to be there before they are filled.
    others : callable of () -> mapping of str to Actable
        What is acted on besides, by names for the next load: it does again what the address does not have yet.
    together : callable of () -> context manager
        Around the filling of several entries.
    came : callable of () -> None
        Before anything of it is taken: there is something in the address of this load.
    """

    _esm = Path(__file__).with_name("address.js")
    servers_own = traitlets.List(list(SERVERS_OWN)).tag(sync=True)
    query = traitlets.Unicode().tag(sync=True)
    fragment = traitlets.Unicode().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)
    packs = traitlets.List(traitlets.Unicode()).tag(sync=True)
    unsaved = traitlets.Bool().tag(sync=True)
    """Leaving would lose work: the browser asks."""
    upto = traitlets.Int().tag(sync=True)
    """The address has all acts up to this one: the browser need not keep them for a reload."""

    def __init__(
        self,
        fields: Callable[[], Fields],
        packs: Mapping[str, Packed] | None = None,
        *,
        always: Collection[str] = (),
        part: Callable[[str], None] = lambda _name: None,
        others: Callable[[], Mapping[str, Actable]] = dict,
        together: Callable[[], AbstractContextManager[None]] = nullcontext,
        came: Callable[[], None] = lambda: None,
    ) -> None:
        super().__init__(packs=list(packs or ()))
        self.fields, self.packed, self.always, self.part, self.together = fields, packs or {}, always, part, together
        self.came = came
        self._plain: dict[Any, str] = {}
        self.others = others
        self._last: dict[str, tuple[bytes, str]] = {}
        self._faults, self._too_long = "", ""
        self._due: asyncio.TimerHandle | None = None
        PAGE.after.add(self)

    def remember(self) -> Fields:
        """Note the values that new entries start with: those need no place in the address."""
        fields = self.fields()
        for key, field in fields.items():
            if _box(field) not in self._plain:
                plain = field.plain if isinstance(field, Part) else None
                self._plain[_box(field)] = text(field) if plain is None else plain
                for watched in _watched(field):
                    watched.observe(lambda _change: self.changed(), "value")
                for place, acted_on in enumerate(_actable(field)):
                    acted_on.kept_as = f"{key}:{place}"
        for key, other in self.others().items():
            other.kept_as = key
        return fields

    def acted(self) -> None:
        """After each act: what it brought is not yet changed, and a reload brings its entries back."""
        self.remember()
        self.changed()

    def take(self, what: dict[str, Any]) -> None:
        """What came in the address, then, one by one, the acts of before the load that it does not have."""
        faults = []
        again = what.get("again")
        takes: list[Callable[[], None]] = [
            lambda: self._take_packs(str(what.get("hash", ""))),
            lambda: self._take(str(what.get("came", ""))),
            *(functools.partial(self._again, *act) for act in (again if isinstance(again, list) else [])[:MOST_AGAIN]),
        ]
        for take in takes:
            try:
                take()
            except Exception as fault:
                faults.append(said(fault))
        told = "\n".join(faults)
        self._faults = f"<div role='alert' style='white-space: pre-line'>{told}</div>" if told else ""
        self._say()
        self.changed()

    def _again(self, key: str, what: dict[str, Any]) -> None:
        """One act, on what has this key now; what is there no longer is left."""
        name_, _, place = str(key).rpartition(":")
        if name_ not in self.remember() and "." in name_:
            self.part(name_.partition(".")[0])
        field, other = self.remember().get(name_), self.others().get(str(key))
        if other is not None:
            other.again(what)
        elif field is not None and place.isdecimal() and int(place) < len(actables := _actable(field)):
            actables[int(place)].again(what)

    def _take_packs(self, fragment: str) -> None:
        if len(fragment) > (MOST_PACKED + 100) * max(len(self.packed), 1):
            raise InputError(
                "Address", f"{len(fragment)} characters behind its #", f"at most {MOST_PACKED} for each part"
            )
        if fragment:
            self.came()
        faults: list[InputError] = []
        for key, packed in parse_qsl(fragment, keep_blank_values=True):
            pack = self.packed.get(key)
            if pack is None:
                faults.append(InputError(f"Address, {key[:40]}", "a part behind its #", " or ".join(self.packed)))
                continue
            try:
                pack.take(unpack(packed, pack.what.casefold()))
            except InputError as fault:
                faults.append(fault)
        if faults:
            raise FileFaults(faults)

    def _take(self, query: str) -> None:
        values = renewed(read(query))
        if values:
            self.came()
        own = {key: value for key, value in values.items() if "." not in key}
        faults = self._fill(own)
        inner = {key: value for key, value in values.items() if key not in own}
        for name_ in dict.fromkeys(key.partition(".")[0] for key in inner):
            self.part(name_)
        if inner:
            faults += self._fill(inner)
        if faults:
            raise FileFaults(faults)

    def _fill(self, values: Mapping[str, str]) -> list[InputError]:
        """Fill entries in the order of the fields; filling one may bring others."""
        left, faults = dict(values), []
        with self.together():
            while key := next((key for key in self.remember() if key in left), None):
                faults += fill(self.fields(), {key: left.pop(key)})
        return faults + fill(self.fields(), left)

    def changed(self) -> None:
        """Something changed: write the address soon."""
        if self._due is not None:
            self._due.cancel()
        loop = kernel_loop()
        if loop is None:
            self._write()
        else:
            self._due = loop.call_later(WRITE_AFTER_S, self._write)

    def written(self) -> dict[str, str]:
        """Every entry that differs from what it started with."""
        fields = self.remember()
        texts = {key: text(field) for key, field in fields.items()}
        changed = {key for key, field in fields.items() if texts[key] != self._plain[_box(field)]}
        return {key: text for key, text in texts.items() if key in changed or key in self.always} if changed else {}

    def _write(self) -> None:
        self._due = None
        fragment: dict[str, str] = {}
        query, told, unsaved = urlencode(self.written()), [], False
        if len(query) > LONGEST:
            told.append(
                f"These entries are too long for the page’s address: {len(query)} characters, at most {LONGEST}."
            )
            query = ""
        for key, part in self.packed.items():
            packed = self._pack(key, part.write())
            if len(packed) <= MOST_PACKED:
                fragment |= {key: packed} if packed else {}
                continue
            told.append(
                f"{part.what} is too long for a link ({len(packed)} characters, at most {MOST_PACKED}): it is not in"
                f" the page’s address, and loading the page again would lose it. {part.instead}"
            )
            unsaved |= not part.saved()
        self._too_long = "".join(f"<div role='status'>{html.escape(text)}</div>" for text in told)
        self._say()
        with self.hold_sync():
            self.query, self.fragment, self.unsaved, self.upto = query, urlencode(fragment), unsaved, PAGE.done

    def _pack(self, key: str, content: bytes) -> str:
        if key not in self._last or self._last[key][0] != content:
            self._last[key] = content, pack(content) if content else ""
        return self._last[key][1]

    def _say(self) -> None:
        self.note = self._faults + self._too_long


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


def name(key: str) -> str:
    """A key as it stands in an address: small letters, and a dash for whatever is neither letter nor digit.

    Examples
    --------
    >>> name("pvc_80"), name("0.75 mm²")
    ('pvc-80', '0-75-mm2')
    """
    return re.sub(r"[\W_]+", "-", unicodedata.normalize("NFKC", key).casefold()).strip("-")


def named(**fields: Field) -> dict[str, Field]:
    """Entries by their keys in an address.

    Examples
    --------
    >>> list(named(second_power=Choice((1,)), return_=Choice((1,))))
    ['second-power', 'return']
    """
    return {name(key): field for key, field in fields.items()}


def nested(part: str, fields: Fields) -> dict[str, Field]:
    """Entries of a part of the page, by their keys in its address: `spread.length`."""
    return {f"{part}.{key}": field for key, field in fields.items()}


def ticks(label: str, boxes: Several, key: Callable[[Any], str]) -> Part:
    """Which boxes are ticked, by the keys of their options, written one after the other with points between."""
    names = {name(key(option)): option for _, option in boxes.pairs}

    def write() -> str:
        return ".".join(name(key(option)) for option in boxes.value)

    def take(text: str) -> None:
        wanted = {name(word) for word in text.split(".") if word}
        boxes.value = tuple(option for word, option in names.items() if word in wanted)
        if unknown := sorted(wanted - set(names)):
            raise InputError(f"Address, {label}", ", ".join(unknown), f"of {', '.join(names)}")

    return Part(write, take, [boxes])


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
            faults.append(InputError(f"Address, {key[:60]}", text, f"one of {', '.join(fields)}"))
        elif isinstance(field, Entry):
            field.text.value = text
        elif isinstance(field, Part):
            try:
                field.read(text)
            except InputError as fault:
                faults.append(fault)
        else:
            choices = options(field)
            if name(text) in choices:
                _box(field).value = choices[name(text)]
            else:
                faults.append(InputError(f"Address, {key}", text, f"one of {', '.join(choices)}"))
    return faults


def text(field: Field) -> str:
    """The text of an entry in an address: what was typed, or the last good value where that cannot be used."""
    if isinstance(field, Entry):
        return field.text.value if field.fault is None else field.show(field.value)
    if isinstance(field, Part):
        return field.write()
    return next(key for key, value in options(field).items() if value == _box(field).value)


def _actable(field: Field) -> list[Actable]:
    """The widgets of a field on which a person acts."""
    if isinstance(field, Entry):
        return [field.view]
    return [box for box in (field.watched if isinstance(field, Part) else [_box(field)]) if isinstance(box, Actable)]


def _watched(field: Field) -> Sequence[w.Widget]:
    if isinstance(field, Part):
        return field.watched
    return (field.text,) if isinstance(field, Entry) else (_box(field),)


def _box(field: Any) -> Any:
    return field.box if isinstance(field, Listed) else field


def options(field: Choice | Listed) -> dict[str, Any]:
    """Values of a list by their keys in an address; texts and whole numbers are their own, True and False yes and no.

    Raises
    ------
    TypeError
        If an option's value is anything else and the list is not `Listed`.
    """
    of = field.key if isinstance(field, Listed) else _own_key
    values = [value for _, value in _box(field).pairs]
    return {name(of(value)): value for value in values}


def _own_key(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str | int):
        return str(value)
    raise TypeError(f"{value!r} has no key in an address: see Listed")
