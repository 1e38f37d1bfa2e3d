"""What was read in a vehicle, visit by visit, as a list of text that travels with the plan.

One row of a visit names no wire: it says who read it, with which meter and how warm it was. Every other is a circuit.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import field, replace
from typing import Any

from wirecalc import units
from wirecalc.bench.faults import ENDS, AsRead, End
from wirecalc.bench.meter import Accuracy, Meter, read_accuracy, read_shown
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.network import STATES
from wirecalc.vehicle.text import BUILT_SHEET, PlanSheet, PlanText, clean_cell, same
from wirecalc.wire.conductor import COLDEST_C, HOTTEST_C

DATE, BY, WIRE = "Date", "Read by", "Wire"
OHM, INSULATION, END, VOLTS = "Resistance", "Insulation", "Far end", "Volts"
METER, DIGIT, LEADS, WARM, BATTERY, STATE, TONE = (
    "Meter accuracy", "Meter's last digit", "Meter leads", "Wires at", "Battery", "State", "Test tone"
)  # fmt: skip
READ = (OHM, INSULATION, END, VOLTS)
WITH = (METER, DIGIT, LEADS, WARM, BATTERY, STATE, TONE)
COLUMNS = (DATE, BY, WIRE, *READ, *WITH)
MOST_INSULATION_OHM = 1e13
MOST_V = 60.0
TONE_V = 1.0  # into 4 ohm a quarter of a watt, which no speaker minds: common practice, no source
LEAST_TONE_V, MOST_TONE_V = 0.1, 10.0
MOST_FAULTS = 20


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One day's readings."""

    date: str = ""
    by: str = ""
    accuracy: Accuracy = field(default_factory=lambda: Accuracy(share=0.005, counts=2))
    digit_ohm: float = 1e-3
    """One count of the meter's last digit. [ohm]"""
    leads_ohm: float = 0.0
    wires_c: float = 20.0
    battery_v: float | None = None
    """At its posts, under the same load; None if it was not read. [V]"""
    state: str = STATES[0].name
    """That the volts are read in, of `wirecalc.vehicle.network.STATES`."""
    tone_v: float = TONE_V
    """Of the test tone, across the terminals of the amplifier or output that gives it. [V, RMS]"""
    readings: Mapping[str, AsRead] = field(default_factory=dict)
    """By the wire's name."""

    @property
    def meter(self) -> Meter:
        """What resistance is read with."""
        return Meter(share=self.accuracy.share, counts=self.accuracy.counts, count_ohm=self.digit_ohm)


def read_date(text: str, field: str = DATE) -> str:
    """A date as typed; empty for none.

    Parameters
    ----------
    text : str
        As typed.
    field : str
        What a fault names.

    Returns
    -------
    str
        As ISO 8601 writes it.

    Raises
    ------
    InputError
        If it is none.
    """
    line = text.strip()
    if not line:
        return ""
    try:
        return datetime.date.fromisoformat(line).isoformat()
    except ValueError:
        raise InputError(field, line[:20], "a date such as 2026-05-31") from None


def read_end(text: str, field: str = END) -> End | None:
    """What was found at the far end, in the words of `wirecalc.bench.faults.ENDS`.

    Parameters
    ----------
    text : str
        As typed.
    field : str
        What a fault names.

    Returns
    -------
    {"right", "swapped", "other", "none"} or None
        None for nothing typed.

    Raises
    ------
    InputError
        If it is none of those words.
    """
    for key, words in ENDS.items():
        if same(text) in (same(key), same(words)):
            return key
    if text.strip():
        raise InputError(field, text[:40], ", ".join(ENDS.values()))
    return None


def read_volts(text: str, field: str = VOLTS) -> float | None:
    """Volts as a meter shows them; below 0 with the tips the wrong way round.

    Parameters
    ----------
    text : str
        As typed.
    field : str
        What a fault names.

    Returns
    -------
    float or None
        None for nothing typed. [V]

    Raises
    ------
    InputError
        If it is no voltage of a vehicle.
    """
    if not text.strip():
        return None
    minus = text.strip()[0] in "-−"
    volts = units.read(text.strip().lstrip("-−"), field, units.VOLTAGE, low=0, high=MOST_V, bare="V")
    return -volts if minus else volts


def _by(text: str, field: str) -> str:
    if len(text) > units.LONGEST_TEXT:
        raise InputError(field, text[:20] + "…", f"at most {units.LONGEST_TEXT} characters")
    return text.strip()


def _state(text: str, field: str) -> str:
    names = {same(each.name): each.name for each in STATES}
    if same(text) not in names:
        raise InputError(field, text[:40], ", ".join(names.values()))
    return names[same(text)]


READERS: dict[str, Callable[[str, str], Any]] = {
    DATE: read_date,
    BY: _by,
    OHM: read_shown,
    INSULATION: lambda text, field: read_shown(text, field, MOST_INSULATION_OHM),
    END: read_end,
    VOLTS: read_volts,
    METER: read_accuracy,
    DIGIT: lambda text, field: units.read(text, field, units.RESISTANCE, low=1e-7, high=10, bare="mohm"),
    LEADS: lambda text, field: units.read(text, field, units.RESISTANCE, low=0, high=10, bare="mohm"),
    WARM: lambda text, field: units.read(text, field, units.TEMPERATURE, low=COLDEST_C, high=HOTTEST_C, bare="degC"),
    BATTERY: lambda text, field: units.read(text, field, units.VOLTAGE, low=1, high=MOST_V, bare="V"),
    STATE: _state,
    TONE: lambda text, field: units.read(text, field, units.VOLTAGE, low=LEAST_TONE_V, high=MOST_TONE_V, bare="V"),
}
"""How each column is read, of text and what it is called; an empty cell is the default."""
_OF_VISIT = {BY: "by", METER: "accuracy", DIGIT: "digit_ohm", LEADS: "leads_ohm", WARM: "wires_c",
             BATTERY: "battery_v", STATE: "state", TONE: "tone_v"}  # fmt: skip
_OF_READINGS = {OHM: "ohm", INSULATION: "insulation_ohm", END: "end", VOLTS: "volts"}


def visits_of(text: PlanText) -> tuple[dict[str, Visit], tuple[InputError, ...]]:
    """What was read, by the date of the visit, the first first; and what of it cannot be used.

    Parameters
    ----------
    text : PlanText

    Returns
    -------
    visits : dict of str to Visit
        Cells that cannot be used count as empty.
    faults : tuple of InputError
        At most 20.
    """
    visits: dict[str, Visit] = {}
    faults: list[InputError] = []
    if text.built is None:
        return visits, ()
    at = {same(column): place for place, column in reversed(list(enumerate(text.built.columns)))}
    for number, row in enumerate(text.built.rows, 1):
        if not any(row):
            continue
        cells = {column: row[at[same(column)]] if same(column) in at else "" for column in COLUMNS}
        values: dict[str, Any] = {}
        for column, read in READERS.items():
            try:
                values[column] = read(cells[column], _named(number, column)) if cells[column] else ""
            except InputError as fault:
                faults.append(fault)
                values[column] = ""
        visit = visits.get(values[DATE], Visit(date=values[DATE]))
        if cells[WIRE]:
            known: dict[str, Any] = {
                name: values[of] for of, name in _OF_READINGS.items() if values[of] not in ("", None)
            }
            visit = replace(visit, readings={**visit.readings, cells[WIRE]: AsRead(**known)})
        else:
            known = {_OF_VISIT[column]: values[column] for column in _OF_VISIT if values[column] != ""}
            visit = replace(visit, **known)
        visits[values[DATE]] = visit
    return dict(sorted(visits.items())), tuple(faults[:MOST_FAULTS])


def _named(number: int, column: str) -> str:
    """What a fault of a cell says where it is; rows count from 1."""
    return f"{BUILT_SHEET}, row {number}, {column}"


def fault_field(text: PlanText, date: str, wire: str, column: str) -> str:
    """What the faults of `visits_of` name as the field of one cell.

    Parameters
    ----------
    text : PlanText
        With its record.
    date : str
        Of the visit, as ISO 8601 writes it.
    wire : str
        Whose row; empty for the visit's own.
    column : str
        As the record's sheet names it.

    Returns
    -------
    str
        Empty if there is no such row.
    """
    row = _row(text.built, date, wire)
    return "" if row is None else _named(row + 1, column)


def record_cell(text: PlanText, date: str, wire: str, column: str) -> str:
    """One cell of the record as typed.

    Parameters
    ----------
    text : PlanText
        With its record.
    date : str
        Of the visit, as ISO 8601 writes it.
    wire : str
        Whose row; empty for the visit's own.
    column : str
        As the record's sheet names it.

    Returns
    -------
    str
        Empty if there is no such cell.
    """
    row = _row(text.built, date, wire)
    if text.built is None or row is None or column not in text.built.columns:
        return ""
    return text.built.rows[row][text.built.columns.index(column)]


def with_cell(text: PlanText, date: str, wire: str, column: str, typed: str) -> PlanText:
    """A plan with another reading in its record.

    Parameters
    ----------
    text : PlanText
    date : str
        Of the visit.
    wire : str
        Its name; empty for what holds for the whole visit.
    column : str
        Of `COLUMNS`.
    typed : str
        Empty to take it out.

    Returns
    -------
    PlanText
    """
    sheet = text.built or PlanSheet(columns=COLUMNS, rows=())
    row = _row(sheet, date, wire)
    if row is None:
        if not clean_cell(typed):
            return text
        blank = {DATE: date, WIRE: wire}
        sheet = replace(sheet, rows=(*sheet.rows, tuple(blank.get(each, "") for each in sheet.columns)))
        row = len(sheet.rows) - 1
    sheet = sheet.with_cell(row, column, typed)
    kept = [each for each in sheet.rows if any(value for value, name in zip(each, sheet.columns, strict=True)
                                               if name not in (DATE, WIRE))]  # fmt: skip
    return replace(text, built=replace(sheet, rows=tuple(kept)) if kept else None)


def _row(sheet: PlanSheet | None, date: str, wire: str) -> int | None:
    """Place of a visit's row about a wire."""
    if sheet is None:
        return None
    pairs = zip(sheet.column(DATE), sheet.column(WIRE), strict=False)
    return next((place for place, pair in enumerate(pairs) if pair == (date, wire)), None)
