"""Cables of a person's own: kept by the browser, saved and opened as a file, and what a link brings of them."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from types import ModuleType

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Press, Switch
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import said
from dashboards.panels.controls.fields import choice, optional
from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.packed import Packed
from dashboards.panels.settings.kept import Kept
from wirecalc import csv_text, units
from wirecalc.errors import FileFaults, InputError
from wirecalc.wire.cable_types import CABLES, LONGEST_NAME, MOST_OWN, OWN, CableType
from wirecalc.wire.insulation import INSULATIONS

REFUSED = "This browser keeps nothing for this page, as in a private window: save your cables as a file."
TOLD = (
    "A cable that is not in the list: say what it has, and it can be chosen wherever a cable is. This browser keeps it;"
    " a link to this page takes along what is chosen of it."
)


class OwnCables:
    """The table's cables, the person's own, and those that a link brings.

    Parameters
    ----------
    changed : callable of () -> None
        There are other cables to choose from.
    """

    def __init__(self, changed: Callable[[], None] = lambda: None) -> None:
        self.changed = changed
        self.used: Callable[[], Iterable[str]] = lambda: ()
        """Keys of the cables that the page has chosen: a link takes along those that are no cables of the table."""
        self.mine: dict[str, CableType] = {}
        self.brought: dict[str, CableType] = {}
        self.kept = Kept("own cables", self._from_browser, self._keeps_nothing)
        self.packed = Packed(
            what="These cables",
            instead="Save them as a file.",
            write=self._written,
            take=self._came,
            saved=lambda: True,
        )
        self._make_entries()
        self.keep, self.forget = Press("Keep this cable", self._keep_this), Press("Forget it", self._forget_this)
        self.which = choice("Own cable", [("none", "")], "")
        self.save = Download("Save my cables (.csv)", self._file)
        self.upload = Upload("Open cables (.csv)", ".csv", self._opened)
        self.note = w.HTML()
        self.open = Switch("Cables of your own …")
        self.open.observe(self._toggle, "value")
        entries = w.Box([getattr(entry, "view", entry) for entry in self._entries])
        entries.add_class("wc-fields")
        files = w.Box([self.keep, self.save, self.upload])
        files.add_class("wc-files")
        rest = w.Box([self.which, self.forget])
        rest.add_class("wc-files")
        self._inside = w.VBox([w.HTML(f"<p>{TOLD}</p>"), entries, files, rest])
        self.view = w.VBox([self.open, self.note, self._inside])
        self.view.add_class("wc-own-cables")
        self._toggle(None)

    def _make_entries(self) -> None:
        self.name: Entry[str] = Entry("Name of the cable", _name, str, "", help="as you call it")
        self.conductors: Entry[str] = Entry(
            "Conductors, by colour", _conductors, str, "",
            help="in order, with commas; a stripe behind a slash, a size of its own behind the colour: white,"
            " white/black, blue 20 AWG",
        )  # fmt: skip
        self.size: Entry[tuple[str, float]] = Entry(
            "Size of the others", lambda text: units.read_standard_size(text, "Size of the others"),
            lambda size: units.show_standard_size(*size), ("AWG", 18.0), help="default 18 AWG; or 0.75 mm2",
        )  # fmt: skip
        self.pairs = choice("Twisted", [("each two neighbours", True), ("none", False)], True)
        self.screen = choice("Screen", [("no", False), ("yes", True)], False)
        self.insulation = choice(
            "Insulation", [(insulation.name, key) for key, insulation in INSULATIONS.items()], "pvc_60"
        )
        self.outer = optional(
            "Diameter over the jacket", units.LENGTH, "mm", low=1e-3, high=0.1,
            help="left empty: the least that its conductors need",
        )  # fmt: skip
        self._entries = (
            self.name, self.conductors, self.size, self.pairs, self.screen, self.insulation, self.outer
        )  # fmt: skip

    @property
    def others(self) -> dict[str, Actable]:
        """See `dashboards.panels.controls.address.Address`."""
        entries = {
            "name": self.name.view,
            "conductors": self.conductors.view,
            "size": self.size.view,
            "outer": self.outer.view,
            "pairs": self.pairs,
            "screen": self.screen,
            "insulation": self.insulation,
            "which": self.which,
            "open": self.open,
            "keep": self.keep,
            "forget": self.forget,
            "file": self.upload,
        }
        return {f"own-cables.{name}": entry for name, entry in entries.items()}

    @property
    def shelf(self) -> Mapping[str, CableType]:
        """All cables, by their keys."""
        return {**CABLES, **self.mine, **self.brought}

    @property
    def options(self) -> list[tuple[str, str]]:
        """All of them for a list to choose from."""
        return [
            (cable.name if key in CABLES else f"{cable.name} ({'own' if key in self.mine else 'from the link'})", key)
            for key, cable in self.shelf.items()
        ]

    def _toggle(self, _change: object) -> None:
        show_if(self.open.value, self._inside)

    def _keep_this(self) -> None:
        try:
            faults = [entry.fault for entry in (self.name, self.conductors, self.size, self.outer) if entry.fault]
            if faults:
                raise faults[0]
            cores = _cable_file().read_conductors(self.conductors.value, self.size.value, twisted=self.pairs.value)
            made = _cable_file().own_cable(
                self.name.value, cores, INSULATIONS[self.insulation.value], outer_m=self.outer.value,
                screened=self.screen.value,
            )  # fmt: skip
            self._put({**self.mine, made.key: made})
        except InputError as fault:
            self._tell(fault)
        else:
            self.note.value = f"<p role='status'>{html.escape(made.name)} is kept.</p>"

    def _forget_this(self) -> None:
        self._put({key: cable for key, cable in self.mine.items() if key != self.which.value})

    def _opened(self, name: str, content: bytes) -> None:
        cables = _cable_file().read_cables(csv_text.decoded(content), name)
        self._put({**self.mine, **{cable.key: cable for cable in cables}})

    def _put(self, cables: dict[str, CableType]) -> None:
        if len(cables) > MOST_OWN:
            raise InputError("Cables of your own", len(cables), f"at most {MOST_OWN}", "Forget one first.")
        self.mine = cables
        self.brought = {key: cable for key, cable in self.brought.items() if key not in cables}
        self.kept.keep(csv_text.decoded(_cable_file().write_cables(cables.values())) if cables else "")
        self._changed()

    def _changed(self) -> None:
        self.which.options = [(cable.name, key) for key, cable in self.mine.items()] or [("none", "")]
        self.changed()

    def _file(self) -> tuple[str, bytes, str]:
        if not self.mine:
            raise InputError("Cables of your own", "", "a cable that is kept here")
        return "cables.csv", _cable_file().write_cables(self.mine.values()), "text/csv"

    def _written(self) -> bytes:
        shelf = self.shelf
        own = [shelf[key] for key in dict.fromkeys(self.used()) if key.startswith(OWN) and key in shelf]
        return _cable_file().write_cables(own) if own else b""

    def _came(self, content: bytes) -> None:
        """See `Packed`."""
        cables = {
            cable.key: cable for cable in _cable_file().read_cables(csv_text.decoded(content), "Address, these cables")
        }
        self.brought = {key: cable for key, cable in cables.items() if self.mine.get(key) != cable}
        self._changed()

    def _from_browser(self, text: str) -> None:
        """See `Kept`; what cannot be used is said, and stays kept until something is changed."""
        try:
            self.mine = (
                {cable.key: cable for cable in _cable_file().read_cables(text, "Cables kept by this browser")}
                if text
                else {}
            )
        except InputError as fault:
            self._tell(fault)
            return
        self.brought = {key: cable for key, cable in self.brought.items() if self.mine.get(key) != cable}
        self._changed()

    def _keeps_nothing(self) -> None:
        self.note.value = f"<div role='alert'>{REFUSED}</div>"

    def _tell(self, fault: InputError) -> None:
        first = fault.faults[0] if isinstance(fault, FileFaults) else fault
        self.note.value = f"<div role='alert'>{said(first)}</div>"


def _cable_file() -> ModuleType:
    """How cables are read and written; with the first of them, as it takes long to load."""
    return import_module("wirecalc.wire.cable_file")


def _name(text: str) -> str:
    if len(text) > LONGEST_NAME:
        raise InputError("Name of the cable", text[:20] + "…", f"at most {LONGEST_NAME} characters")
    return text.strip()


def _conductors(text: str) -> str:
    if text.strip():
        _cable_file().read_conductors(text, ("AWG", 18.0), twisted=False)
    return text.strip()
