"""A plan to and from the person's device: one workbook, or two CSV files one after the other; a file's faults in one
list."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

import ipywidgets as w

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.files import Download, Upload
from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle.file import (
    MOST_BYTES,
    read_book,
    read_csv,
    template,
    which_list,
    write_csv,
    write_workbook,
)
from wirecalc.vehicle.text import PlanText, parse

_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class PlanFiles:
    """Buttons that open and save.

    Parameters
    ----------
    text : callable of () -> PlanText
        What is saved.
    take : callable of (str, PlanText) -> None
        A file was opened: its name and what is in it.
    """

    def __init__(self, text: Callable[[], PlanText], take: Callable[[str, PlanText], None]) -> None:
        self._text, self._take = text, take
        self.changed: Callable[[], None] = lambda: None
        self._in_file: dict[str, PlanText] = {}
        self._left_out: tuple[str, ...] = ()
        self._first: tuple[str, bytes] | None = None
        self._faulty: tuple[str, PlanText] | None = None
        self.open = self.another()
        self.book = self._saving("Save as .xlsx", "plan.xlsx", write_workbook, _XLSX)
        self.devices = self._saving("Devices as .csv", "devices.csv", lambda text: write_csv(text)[0], "text/csv")
        self.wires = self._saving("Wires as .csv", "wires.csv", lambda text: write_csv(text)[1], "text/csv")
        self.template = Download("Template .xlsx", lambda: ("template.xlsx", write_workbook(template()), _XLSX))
        self.said = w.HTML()
        self.anyway = Press("Open it all the same, to correct it here", lambda: self._open_faulty())
        self.anyway.add_class("wc-shut")
        self.row = w.Box([self.open, self.book, self.devices, self.wires, self.template])
        self.row.add_class("wc-files")
        self.view = w.VBox([self.row, self.said, self.anyway])

    def another(self) -> Upload:
        """A button that opens a plan, to stand elsewhere."""
        return Upload("Open a plan …", ".xlsx,.csv", self.take, MOST_BYTES, multiple=True)

    def _saving(self, label: str, name: str, write: Callable[[PlanText], bytes], kind: str) -> Download:
        def make() -> tuple[str, bytes, str]:
            text = self._text()
            content = write(text)
            self._in_file[name] = text
            self.changed()
            return name, content, kind

        return Download(label, make)

    def kept(self, text: PlanText) -> bool:
        """Whether the plan is in a file as it stands: the one it was opened from, or one that was saved."""
        return any(
            all(self._in_file.get(name) == text for name in names)
            for names in (("",), ("plan.xlsx",), ("devices.csv", "wires.csv"))
        )

    def take(self, name: str, content: bytes) -> None:
        """A file from the device. `InputError` where it is refused; its faults are listed beneath the buttons."""
        self._say("")
        self._left_out = ()
        try:
            text = self._read(name, content)
        except FileFaults as fault:
            self._list(name, fault.faults)
            raise InputError(name, "the file", "an .xlsx workbook, or two CSV files", "See below.") from None
        if text is None:
            return
        parsed = parse(text)
        if parsed.faults:
            self._list(name, parsed.faults)
            self._faulty = (name, text)
            self.anyway.remove_class("wc-shut")
            count = f"{len(parsed.faults)} fault{'s' if len(parsed.faults) > 1 else ''}"
            raise InputError(name, count, "none", "All are listed below; the plan on the page stays as it was.")
        self._say("".join(f"<p>{html.escape(notice)}</p>" for notice in (*left_out(self._left_out), *parsed.notices)))
        self._hand_on(name, text)

    def _read(self, name: str, content: bytes) -> PlanText | None:
        """The plan of the files that were chosen; None while the second of two files is still missing."""
        if not name.casefold().endswith(".csv"):
            self._first = None
            text, self._left_out = read_book(content)
            return text
        if self._first is None:
            other = "wires" if which_list(name, content) == "Devices" else "devices"
            self._first = (name, content)
            self._say(f"<p>{html.escape(name)} is one of two: now open the .csv file of {other}.</p>")
            return None
        first, self._first = self._first, None
        return read_csv(first[1], content)

    def _open_faulty(self) -> None:
        if self._faulty is not None:
            name, text = self._faulty
            self._say("")
            self._hand_on(name, text)

    def _hand_on(self, name: str, text: PlanText) -> None:
        self._in_file = {"": text}
        self._take(name, text)

    def _say(self, message: str) -> None:
        self.said.value = message
        self._faulty = None
        self.anyway.add_class("wc-shut")

    def _list(self, name: str, faults: Sequence[InputError]) -> None:
        self.said.value = listed(f"Faults of {name}; row 1 is the first below the headings", faults)


def left_out(others: Sequence[str]) -> tuple[str, ...]:
    """What is said of a workbook's sheets that are not read."""
    if not others:
        return ()
    named = ", ".join(f"“{title}”" for title in others)
    return (f"Not read, and not in what is saved from here: the sheet{'s' * (len(others) > 1)} {named}.",)


def listed(title: str, faults: Sequence[InputError]) -> str:
    """Every fault, one line each, as HTML."""
    lines = "".join(f"<li>{html.escape(str(fault))}</li>" for fault in faults)
    return f"<div role='alert' class='wc-faults'><b>{html.escape(title)}</b><ul>{lines}</ul></div>"
