"""The house rules of a page: the shop's own, kept by its browser, or those that a link brings.

What differs from the defaults is kept by the browser on the person's device and read by every page; it goes elsewhere
only in what the person hands on: a link, a plan, a file.
"""

from __future__ import annotations

import html
import json
from collections.abc import Callable, Collection

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.packed import Packed
from dashboards.panels.settings.kept import Kept
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults, InputError

PAGE = "house_rules.ipynb"
MOST_CHANGES, LONGEST = 500, 500  # there are some hundred rules; characters of a name or a value
MOST_SAID = 5
REFUSED = (
    "This browser keeps nothing for this page, as in a private window: your house rules hold until the page is closed."
    " Save them as a file."
)


class House:
    """Defaults, the person's own changes, and what a link brings, of which the last that there is holds.

    Parameters
    ----------
    changed : callable of () -> None
        Other rules hold now. Not called by `take`, whose caller draws anyway.
    about : bool
        Whether it is said on the page, with a link to the page of the rules, that some differ from the defaults.
    """

    def __init__(self, changed: Callable[[], None] = lambda: None, *, about: bool = True) -> None:
        self.changed, self.about = changed, about
        self.mine = HouseRules.from_table()
        self.brought: HouseRules | None = None
        """By the page's address or a plan, if they differ from the person's own."""
        self.by = "link"
        self._wished: dict[str, str] = {}
        self._faults: tuple[InputError, ...] = ()
        self._refused = False
        self.kept = Kept("house rules", self._from_browser, self._keeps_nothing)
        self.packed = Packed(
            what="These house rules",
            instead="Save them as a file.",
            write=lambda: to_bytes(self.rules),
            take=lambda content: self.take(from_bytes(content, "Address, these house rules")),
            saved=lambda: True,
        )
        self.note = w.HTML()
        self.use_mine = Press("Use mine", lambda: self._decide(self.mine))
        self.keep_these = Press("Keep these as mine", lambda: self._decide(self.rules))
        self.choice = w.Box([self.use_mine, self.keep_these])
        self.choice.add_class("wc-files")
        self.view = w.VBox([self.note, self.choice, self.kept])
        self.view.add_class("wc-house")
        self._say()

    @property
    def others(self) -> dict[str, Actable]:
        """See `Address`."""
        return {"use-mine": self.use_mine, "keep-these": self.keep_these}

    @property
    def rules(self) -> HouseRules:
        """Those that hold on this page."""
        return self.mine if self.brought is None else self.brought

    def put(self, rules: HouseRules) -> None:
        """The person changed them here: kept for all pages, unless this page goes by those of a link."""
        if self.brought is not None:
            self.brought = None if rules == self.mine else rules
        else:
            self.mine = rules
            self._keep()
        self._say()
        self.changed()

    def take(self, rules: HouseRules, by: str = "link") -> None:
        """Go by these, which came with a link or a plan; the person's own stay kept."""
        self.by = by
        self.brought = None if rules == self.mine else rules
        self._say()

    def put_here(self, rules: HouseRules, by: str) -> None:
        """The person changed them for this page alone, whose link or plan has them."""
        before = self.rules
        self.take(rules, by)
        if self.rules != before:
            self.changed()

    def wish(self, values: dict[str, str]) -> None:
        """What the person's own switch asks of some rules, by their keys: where a page goes by that, it is no news."""
        self._wished = values
        self._say()

    def _news(self, keys: Collection[str]) -> tuple[str, ...]:
        """Of the rules with these keys, those that are not as the person's own switch asks."""
        now = {rule.key: rule.value for rule in self.rules.rules}
        return tuple(key for key in keys if self._wished.get(key) != now[key])

    def _decide(self, rules: HouseRules) -> None:
        if self.brought is None:  # the button was pressed twice
            return
        before, self.brought = self.rules, None
        if rules != self.mine:
            self.mine = rules
            self._keep()
        self._say()
        if self.rules != before:
            self.changed()

    def _keep(self) -> None:
        self._faults = ()
        self.kept.keep(to_bytes(self.mine).decode())

    def _from_browser(self, text: str) -> None:
        """See `Kept`. What of it can be used is; the rest is said, and stays kept until something is changed."""
        before = self.rules
        try:
            changes = _changes(text.encode("utf-8", "replace"), "House rules kept by this browser")
            self.mine, self._faults = HouseRules.from_table(), ()
            for key, value in changes.items():
                try:
                    self.mine = self.mine.replace(key, value)
                except InputError as fault:
                    self._faults = (*self._faults, fault)
        except InputError as fault:
            self.mine, self._faults = HouseRules.from_table(), (fault,)
        if self.brought == self.mine:
            self.brought = None
        self._say()
        if self.rules != before:
            self.changed()

    def _keeps_nothing(self) -> None:
        self._refused = True
        self._say()

    def _say(self) -> None:
        brought = () if self.brought is None else self._news(differing(self.brought, self.mine))
        show_if(brought, self.choice)
        messages = [_faults(self._faults)] if self._faults else []
        if self._refused:
            messages.append(f"<div role='alert'>{REFUSED}</div>")
        if brought:
            messages.append(f"<p class='wc-caution' role='status'>{self._compared(len(brought))}</p>")
        elif self.about and (count := len(self._news(self.rules.changes))):
            messages.append(f"<p class='wc-own-rules'>By your {_link()}: {count} changed from the defaults.</p>")
        self.note.value = "".join(messages)

    def _compared(self, count: int) -> str:
        whose = "yours" if self.mine.changes else "the defaults"
        differ = "differs" if count == 1 else "differ"
        return (
            f"This {self.by} brings its own {_link()}: {count} {differ} from {whose}. This page goes by the"
            f" {self.by}’s until you choose."
        )


def differing(first: HouseRules, other: HouseRules) -> tuple[str, ...]:
    """Keys of the rules that are not the same in both."""
    return tuple(mine.key for mine, its in zip(first.rules, other.rules, strict=True) if mine.value != its.value)


def to_bytes(rules: HouseRules) -> bytes:
    """What differs from the defaults, as kept and packed; nothing where nothing does."""
    return json.dumps(rules.changes, ensure_ascii=False, separators=(",", ":")).encode() if rules.changes else b""


def from_bytes(content: bytes, what: str) -> HouseRules:
    """The rules that `to_bytes` wrote.

    Raises
    ------
    InputError
        If it is something else, or with all the rules that cannot be used.
    """
    return HouseRules.from_changes(_changes(content, what))


def _changes(content: bytes, what: str) -> dict[str, str]:
    try:
        changes = json.loads(content) if content else {}
        if not isinstance(changes, dict) or len(changes) > MOST_CHANGES:
            raise ValueError
        if any(not isinstance(value, str) or len(key) + len(value) > LONGEST for key, value in changes.items()):
            raise ValueError
    except (ValueError, RecursionError):
        hint = "The defaults hold instead; open your rules from a file or set them anew."
        raise InputError(what, "another kind of content", "what this program wrote", hint) from None
    return changes


def _link() -> str:
    return f"<a href='{PAGE}' target='_blank'>house rules</a>"


def _faults(faults: tuple[InputError, ...]) -> str:
    own = [fault_of for fault in faults for fault_of in (fault.faults if isinstance(fault, FileFaults) else (fault,))]
    more = [f"and {len(own) - MOST_SAID} more"] if len(own) > MOST_SAID else []
    lines = "".join(f"<li>{html.escape(text)}</li>" for text in (*map(str, own[:MOST_SAID]), *more))
    return (
        "<div role='alert'>Of the house rules that this browser kept, what follows cannot be used and the defaults hold"
        f" there.<ul>{lines}</ul></div>"
    )
