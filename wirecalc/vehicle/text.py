"""A plan as text, as a person typed it, and what it means: a `Vehicle`, or every fault in one go.

What was typed stays, unknown columns too.
"""

from __future__ import annotations

import numbers
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal

from wirecalc import units
from wirecalc.advice.house_rules import HouseRules
from wirecalc.english import with_article
from wirecalc.errors import FileFaults, InputError
from wirecalc.quantities import is_plain, numbers_in
from wirecalc.units_taken import dataclass
from wirecalc.vehicle import fits
from wirecalc.vehicle.fields import CHOOSE, DEVICE_FIELDS, KINDS, NONE, SHOWN, WIRE_FIELDS, Field, usual_of
from wirecalc.vehicle.model import Device, Vehicle, Wire, faults_between
from wirecalc.vehicle.places import check_length, read_places, written_places
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.as_typed import split
from wirecalc.wire.bought import read_size
from wirecalc.wire.conductor import conductor

SheetName = Literal["Devices", "Wires"]
RULES_SHEET, RULE_COLUMNS = "House rules", ("Rule", "Value")
CARD_SHEET, CARD_COLUMNS = "Job card", ("What", "Value")
BUILT_SHEET = "As built"
MORE: dict[str, tuple[str, tuple[str, ...]]] = {
    "rules": (RULES_SHEET, RULE_COLUMNS),
    "card": (CARD_SHEET, CARD_COLUMNS),
    "built": (BUILT_SHEET, ()),
    "pulled": ("Cables pulled", ("Cable", "Pulled")),
    "own": ("Own cables", ()),
}
"""What a plan may have besides its two lists: field of `PlanText`, sheet, and columns (none: any)."""
SHEETS: dict[SheetName, tuple[Field, ...]] = {"Devices": DEVICE_FIELDS, "Wires": WIRE_FIELDS}
MOST_COLUMNS = 80
MOST_FAULTS = 200  # past that a list helps nobody; the last entry says how many more
_NAMES = ("name", "start", "end", "start_terminal", "end_terminal", "bundle", "cable")


def clean_cell(text: str) -> str:
    """A cell as it is kept: line ends alike, no blanks around it, no control characters, which no workbook holds."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    if not text.isprintable():
        text = "".join(c if c == "\n" or unicodedata.category(c) not in ("Cc", "Cs", "Cn") else "\ufffd" for c in text)
    return text.strip()


def _cell(value: Any, unit: str) -> str:
    """A cell of a DataFrame as it is typed: a number with its unit, a whole one without its point."""
    if not is_plain(value):
        return f"{numbers_in(value, unit):.12g} {unit}".rstrip()
    if isinstance(value, numbers.Real) and not isinstance(value, bool):
        number = float(value)
        return f"{int(number) if number.is_integer() else number!r} {unit}".rstrip()
    return clean_cell(str(value))


@dataclass(frozen=True, kw_only=True)
class PlanSheet:
    """A table of text, as typed; every row is as long as the columns."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @classmethod
    def from_table(cls, table: Any, fields: Sequence[Field]) -> PlanSheet:
        """A DataFrame, or what makes one, as text.

        Parameters
        ----------
        table : pandas.DataFrame, or what makes one
        fields : sequence of Field
            What its columns may be.

        Returns
        -------
        PlanSheet
        """
        import pandas as pd

        frame = pd.DataFrame(table).astype(object)
        blank = frame.isna().to_numpy()
        si = {same(field.column): field.kind.unit for field in fields if field.kind is not None}
        units_of = [si.get(same(str(name)), "") for name in frame.columns]
        rows = [
            tuple("" if no else _cell(*each) for *each, no in zip(row, units_of, gaps, strict=True))
            for row, gaps in zip(frame.to_numpy(), blank, strict=True)
        ]
        return cls(columns=tuple(clean_cell(str(name)) for name in frame.columns), rows=tuple(rows))

    def column(self, name: str) -> list[str]:
        """The cells of one column, row by row; none if the list has no such column."""
        if name not in self.columns:
            return []
        at = self.columns.index(name)
        return [row[at] for row in self.rows]

    def with_cell(self, row: int, column: str, text: str) -> PlanSheet:
        """The table with another text in one cell; a column that is not there yet is added.

        Parameters
        ----------
        row : int
            From 0.
        column : str
            Its heading.
        text : str
            Is cleaned as by `clean_cell`.

        Returns
        -------
        PlanSheet

        Raises
        ------
        InputError
            If there is no such row, or no room for another column.
        """
        text = clean_cell(text)
        if column not in self.columns:
            if len(self.columns) >= MOST_COLUMNS:
                raise InputError("Column", column, f"at most {MOST_COLUMNS} columns")
            return PlanSheet(
                columns=(*self.columns, column), rows=tuple((*each, "") for each in self.rows)
            ).with_cell(row, column, text)  # fmt: skip
        if not 0 <= row < len(self.rows):
            raise InputError("Row", row, f"0 to {len(self.rows) - 1}")
        at = self.columns.index(column)
        changed = (*self.rows[row][:at], text, *self.rows[row][at + 1 :])
        return replace(self, rows=(*self.rows[:row], changed, *self.rows[row + 1 :]))


@dataclass(frozen=True, kw_only=True)
class PlanText:
    """Both lists as typed, and the house rules that differ. Rows count from 1, the first below the headings."""

    devices: PlanSheet
    wires: PlanSheet
    rules: PlanSheet | None = None
    """What the shop's house rules have other than by default, in `RULE_COLUMNS`; None if nothing."""
    card: PlanSheet | None = None
    """What heads every paper, in `CARD_COLUMNS`: see `wirecalc.jobs.card`; None if nothing."""
    built: PlanSheet | None = None
    """What was read in the vehicle: see `wirecalc.built.record`; None if nothing."""
    pulled: PlanSheet | None = None
    """What is pulled for each cable, as the page's tab of cables has it. None if what suits best."""
    own: PlanSheet | None = None
    """Those of them that are the shop's own: see `wirecalc.wire.cable_file`; None if none is."""

    @classmethod
    def from_tables(cls, devices: Any, wires: Any) -> PlanText:
        """Two lists as pandas has them.

        Parameters
        ----------
        devices, wires : pandas.DataFrame, or what makes one
            A row each, the columns as in the lists of a plan ("Length", "From terminal"); a blank cell may be None,
            nan or nothing. A number where a quantity belongs is in SI; a quantity of pint stays what it is.

        Returns
        -------
        PlanText
        """
        return cls(devices=PlanSheet.from_table(devices, DEVICE_FIELDS), wires=PlanSheet.from_table(wires, WIRE_FIELDS))

    def sheet(self, name: SheetName) -> PlanSheet:
        """One of the two."""
        return self.devices if name == "Devices" else self.wires

    @property
    def more(self) -> dict[str, PlanSheet]:
        """What there is of `MORE`, by its field."""
        return {key: getattr(self, key) for key in MORE if getattr(self, key) is not None}


@dataclass(frozen=True, kw_only=True)
class Parsed:
    """What a plan's text means."""

    vehicle: Vehicle | None
    """None if there is any fault."""
    faults: tuple[InputError, ...]
    """In the order of the lists; each `field` names sheet, row and column."""
    notices: tuple[str, ...]
    """Notices that are no faults: columns that are kept but not used."""


def parse(text: PlanText) -> Parsed:
    """From text to a vehicle, or to every fault in one go.

    Parameters
    ----------
    text : PlanText

    Returns
    -------
    Parsed
    """
    faults_at: list[tuple[int, int, int, InputError]] = []
    notices: list[str] = []
    made: dict[SheetName, list[tuple[int, Device | Wire | None]]] = {}
    known: set[str] = set()
    for place, (name, fields) in enumerate(SHEETS.items()):
        sheet = text.sheet(name)
        at, faults, headings = _headings(name, sheet, fields)
        faults_at += [(place, -1, 0, fault) for fault in faults]
        notices += headings
        made[name] = []
        for row, cells in enumerate(sheet.rows):
            if not any(cells):
                continue
            part, wrong = _one(name, row, {key: cells[column] for key, column in at.items()}, fields)
            made[name].append((row, None if faults else part))
            if not faults:
                faults_at += [(place, row, order, fault) for order, fault in wrong]
            if part is None and name == "Devices" and "name" in at:
                known.add(cells[at["name"]])
    devices, wires = made["Devices"], made["Wires"]
    between = faults_between(
        [part if isinstance(part, Device) else None for _, part in devices],
        [part if isinstance(part, Wire) else None for _, part in wires],
        known,
    )
    for fault in between:
        rows = [row for row, _ in (devices if fault.sheet == "Devices" else wires)]
        row = rows[fault.row] if fault.row is not None else -1
        place = list(SHEETS).index(fault.sheet)
        order = [each.column for each in SHEETS[fault.sheet]].index(fault.column)
        faults_at.append((place, row, order, fault.error(f"row {row + 1}")))
    rules, wrong_rules = house_rules_of(text.rules)
    ordered = (*(each[-1] for each in sorted(faults_at, key=lambda each: each[:3])), *wrong_rules)
    if len(ordered) > MOST_FAULTS:
        more = InputError("Faults", f"{len(ordered) - MOST_FAULTS} more", "none", "Correct these first.")
        ordered = (*ordered[:MOST_FAULTS], more)
    vehicle = None
    if not ordered:
        vehicle = Vehicle(
            devices=tuple(part for _, part in devices if isinstance(part, Device)),
            wires=tuple(part for _, part in wires if isinstance(part, Wire)),
            rules=rules,
        )
    return Parsed(vehicle=vehicle, faults=ordered, notices=tuple(notices))


def house_rules_of(sheet: PlanSheet | None) -> tuple[HouseRules, list[InputError]]:
    """The house rules of a plan, and all that is wrong with those that differ."""
    rules, faults = HouseRules.from_table(), list[InputError]()
    if sheet is None:
        return rules, faults
    headings = [same(column) for column in sheet.columns]
    try:
        rule, value = (headings.index(same(column)) for column in RULE_COLUMNS)
    except ValueError:
        return rules, [InputError(f"{RULES_SHEET}, headings", ", ".join(sheet.columns), " and ".join(RULE_COLUMNS))]
    for number, cells in enumerate(sheet.rows, 1):
        try:
            rules = rules.replace(cells[rule], cells[value]) if any(cells) else rules
        except InputError as fault:
            where = f"{RULES_SHEET}, row {number}, {fault.field}"
            faults.append(InputError(where, fault.given, fault.allowed, fault.hint))
    return rules, faults


def vehicle_of(text: PlanText) -> Vehicle:
    """As `parse`, when only a vehicle without fault is of use.

    Raises
    ------
    FileFaults
        With every fault.
    """
    parsed = parse(text)
    if parsed.vehicle is None:
        raise FileFaults(parsed.faults)
    return parsed.vehicle


def same(heading: str) -> str:
    """A heading or word without case and blanks: two that are then alike count as one."""
    return " ".join(heading.casefold().split())


def _headings(
    name: SheetName, sheet: PlanSheet, fields: Sequence[Field]
) -> tuple[dict[str, int], list[InputError], list[str]]:
    """Place of each known column; faults; notices."""
    by_heading = {same(each.column): each for each in fields}
    at: dict[str, int] = {}
    faults, unknown = [], []
    for place, heading in enumerate(sheet.columns):
        field = by_heading.get(same(heading))
        if field is None:
            unknown.append(heading or f"number {place + 1}, without a heading")
        elif field.key in at:
            faults.append(InputError(f"{name}, headings", heading, "each column once", "Delete or rename one."))
        else:
            at[field.key] = place
    for each in fields:
        if each.key not in at and ("wire" in each.needed or set(each.needed) == set(KINDS)):
            faults.append(InputError(f"{name}, headings", "", f"a column “{each.column}”"))
    notices = [f"{name}: the column “{heading}” is not known here; it is kept." for heading in unknown]
    return at, faults, notices


def _one(
    name: SheetName, row: int, cells: Mapping[str, str], fields: Sequence[Field]
) -> tuple[Device | Wire | None, list[tuple[int, InputError]]]:
    """A device or wire, or all that is wrong with it: place of the column and fault."""
    where = f"{name}, row {row + 1}"
    kind = "wire"
    order = {each.column: place for place, each in enumerate(fields)}
    if name == "Devices":
        field = next(each for each in fields if each.key == "kind")
        try:
            kind = _read(field, cells.get("kind", ""), f"{where}, Kind")
        except InputError as fault:
            return None, [(order["Kind"], fault)]
    faults: list[tuple[int, InputError]] = []
    values: dict[str, Any] = {}
    cells, also = _taken_apart(cells) if name == "Wires" else (cells, {})
    for each in fields:
        text = cells.get(each.key, "")
        full = f"{where}, {each.column}"
        if each.key in also and not text:
            values[each.key] = also[each.key]
            continue
        try:
            if not text:
                if kind in each.needed:
                    raise InputError(full, "", each.allowed, f"Needed for {with_article(kind)} ({each.help}).")
            elif not each.belongs(kind):
                raise InputError(full, text, "nothing here", f"No number for {with_article(kind)}: leave it empty.")
            else:
                values[each.key] = _read(each, text, full)
        except InputError as fault:
            faults.append((order[each.column], fault))
    if faults:
        return None, faults
    try:
        if "places" in values:
            check_length(values["places"], values["length_m"])
        return (Device(**values) if name == "Devices" else Wire(**values)), []
    except InputError as fault:
        again = InputError(f"{where}, {fault.field}", fault.given, fault.allowed, fault.hint)
        return None, [(order.get(fault.field, 0), again)]


def _taken_apart(cells: Mapping[str, str]) -> tuple[Mapping[str, str], dict[str, Any]]:
    """A wire's cells with the size alone where more was written for it, "2x16" or "18 AWG CCA"; and what that was."""
    typed = split(cells.get("size", ""))
    also = {key: value for key, value in (("parallel", typed.parallel), ("metal", typed.metal)) if value is not None}
    if not also or any(cells.get(key) for key in also):  # twice: then the size's own reader says what to do
        return cells, {}
    return {**cells, "size": typed.size}, also


def _read(field: Field, text: str, where: str) -> Any:
    """One cell that is not empty, or for "kind" may be."""
    if field.words:
        for key, name in field.words.items():
            if same(text) in (same(key), same(name)):
                return key
        raise InputError(where, text, field.allowed)
    if field.kind is not None:
        bare = field.kind.unit if field.kind is not units.LENGTH else None  # feet or metres: that has to be written
        number = units.read(text, where, field.kind, low=field.low, high=field.high, above=field.above, bare=bare)
        return int(number) if field.kind.whole else number
    if field.key == "size":
        if same(text) == CHOOSE:
            return CHOOSE
        try:
            return read_size(text, where)
        except InputError as fault:
            raise InputError(where, fault.given, f"{fault.allowed}, or “choose”", fault.hint) from None
    if field.key == "takes":
        size = read_size(text, where)
        conductor(*size)  # a metric size has to be in its table
        return size
    if field.key == "fuse":
        if same(text) in (CHOOSE, NONE):
            return same(text)
        try:
            return units.read(text, where, units.CURRENT, low=0.1, high=1000, bare="A")
        except InputError as fault:
            raise InputError(where, fault.given, f"{fault.allowed}, or “choose” or “none”", fault.hint) from None
    if field.key == "places":
        return read_places(text, where)
    if field.key in _NAMES and len(text) > units.LONGEST_TEXT:
        raise InputError(where, text[:20] + "…", f"at most {units.LONGEST_TEXT} characters")
    return text


def text_of(vehicle: Vehicle) -> PlanText:
    """A vehicle as text, every number with all its digits.

    Returns
    -------
    PlanText
        `parse` gives the same vehicle again.
    """

    def sheet(rows: Iterable[Device | Wire], fields: Sequence[Field]) -> PlanSheet:
        lines = [tuple(cell_text(each, getattr(row, each.key)) for each in fields) for row in rows]
        return PlanSheet(columns=tuple(each.column for each in fields), rows=tuple(lines))

    changes = tuple(vehicle.rules.changes.items())
    return PlanText(
        devices=sheet(vehicle.devices, DEVICE_FIELDS),
        wires=sheet(vehicle.wires, WIRE_FIELDS),
        rules=PlanSheet(columns=RULE_COLUMNS, rows=changes) if changes else None,
    )


def cell_text(field: Field, value: Any) -> str:
    """A value as it stands in a cell, a number with all its digits.

    Parameters
    ----------
    field : Field
    value : float, str, tuple or None
        Of a device's or wire's attribute; None is an empty cell.

    Returns
    -------
    str
    """
    if value is None:
        return ""
    if field.key == "places":
        return written_places(value)
    if isinstance(value, tuple):
        return f"{value[1]!r} mm2" if value[0] == "mm2" else show_size(*value)
    if isinstance(value, str):
        return SHOWN.get(value, value) if field.key == "kind" else value
    spelling = "A" if field.key == "fuse" else ""
    if field.kind is not None:
        spelling = field.kind.unit  # which every kind of `fields` lists among its spellings
    return f"{int(value) if float(value).is_integer() else float(value)!r} {spelling}".rstrip()


def assumed(name: SheetName, systems: int = 1) -> dict[str, dict[str, str]]:
    """What holds in a list's empty cells.

    Parameters
    ----------
    name : {"Devices", "Wires"}
    systems : int
        Batteries of 12 V in a row: 2 in a vehicle of 24 V.

    Returns
    -------
    dict of str to dict of str to str
        By kind of device, or under "" for every wire: by heading, as it may be written.
    """

    def of(kind: str) -> dict[str, str]:
        own = {each: usual_of(each, kind, systems) for each in SHEETS[name]}
        cells = {each.column: cell_text(each, value) for each, value in own.items() if value not in (None, "", ())}
        return {column: text.replace("ohm", "Ω") for column, text in cells.items()}

    if name == "Wires":
        return {"": of("wire")}
    by_kind = {kind: of(kind) | fits.ALWAYS_TAKEN.get(kind, {}) for kind in KINDS}
    return {**by_kind, **{shown: by_kind[kind] for kind, shown in SHOWN.items()}}


def assumed_in(text: PlanText, systems: int = 1) -> dict[tuple[SheetName, str, str], tuple[str, ...]]:
    """What is assumed in a plan, as nobody wrote it.

    Parameters
    ----------
    text : PlanText
    systems : int
        As of `assumed`.

    Returns
    -------
    dict of (str, str, str) to tuple of str
        By list, heading and value: the names of what it is assumed of, in their order.
    """
    names_of: dict[tuple[SheetName, str, str], list[str]] = {}
    for sheet_name in SHEETS:
        sheet, of = text.sheet(sheet_name), assumed(sheet_name, systems)
        at = {same(column): place for place, column in reversed(list(enumerate(sheet.columns)))}
        by = {same(kind): defaults for kind, defaults in of.items()}
        for row in sheet.rows:
            kind = "" if sheet_name == "Wires" or "kind" not in at else same(row[at["kind"]])
            for column, value in by.get(kind, {}).items() if any(row) else ():
                if same(column) not in at or not row[at[same(column)]]:
                    names_of.setdefault((sheet_name, column, value), []).append(row[at["name"]] if "name" in at else "")
    return {key: tuple(names) for key, names in names_of.items()}
