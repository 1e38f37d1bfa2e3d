"""The tab As built: what the meter should read in each circuit, what it read, and what is off; kept in the plan."""

from __future__ import annotations

import datetime
import functools
import html
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.keypad import Keypad
from dashboards.panels.controls.numbers import Numbers, number, to_html
from dashboards.panels.controls.table import Html, html_table
from wirecalc import units
from wirecalc.bench.faults import ENDS
from wirecalc.bench.finished import in_ohm
from wirecalc.bench.meter import show_reading
from wirecalc.built import record
from wirecalc.built.record import Visit, record_cell, visits_of, with_cell
from wirecalc.built.should import INSULATION, INSULATION_SOURCE, TONE_CAUTION
from wirecalc.built.verdict import AsBuilt, as_built, compared
from wirecalc.vehicle.network import STATES
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.text import PlanText
from wirecalc.workings.built import of_reading

FIRST = (
    "Battery's negative lead off and both ends unplugged before resistance and insulation are read; volts come last,"
    " with all in place and switched on. Never probe airbag wiring."
)
LIKELIEST = "Likeliest first; how often each fault is found is common practice, no source:"
NOT_YET = "<p>What the meters should read follows when the plan is solved.</p>"
MOST_LIKES = 4
TABLE = ("Circuit", "Should read", "Read", "Insulation", "Far end", "Volts should be", "Volts", "Verdict")


class AsBuiltTab:
    """Entries of one visit and one circuit at a time, and the table of all.

    Parameters
    ----------
    text : callable of () -> PlanText
        The plan as it stands.
    changed : callable of PlanText -> None
        A reading was typed: the plan with it.
    """

    def __init__(self, text: Callable[[], PlanText], changed: Callable[[PlanText], None]) -> None:
        self._text, self._changed = text, changed
        self._plan: Plan | None = None
        self._quiet = False
        self.today = datetime.date.today().isoformat()
        self.date: Entry[str] = Entry("Date of the visit", record.read_date, str, self.today, help="default: today")
        self.date.changed = self._other
        self.last = Press("Show the last visit", self._to_last)
        self.wire = choice("Circuit", [("none", "")], "")
        self.wire.observe(lambda _change: self._other(), "value")
        self.following = Press("Next circuit", self._next)
        self.of_visit = {
            record.BY: self._entry(record.BY, "Read by", "", "your name, for the paper"),
            record.LEADS: self._entry(
                record.LEADS, "Meter leads", "0 mΩ", "what it shows with its tips held together; 0 where it was zeroed"
            ),
            record.METER: self._entry(record.METER, "Meter accuracy", str(Visit().accuracy), "by its data sheet"),
            record.DIGIT: self._entry(record.DIGIT, "Meter's last digit", "1 mΩ", "many pocket meters show 100 mΩ"),
            record.WARM: self._entry(record.WARM, "Wires at", "20 °C", "where the wires lie, within 5 K"),
            record.BATTERY: self._entry(record.BATTERY, "Battery at its posts", "", "under the same load; volts"),
            record.TONE: self._entry(
                record.TONE, "Test tone", f"{record.TONE_V:g} V", "read where it comes from, amplifier or output"
            ),
        }
        self.state = choice("Volts are read with", [(each.name, each.name) for each in STATES], STATES[0].name)
        self.state.observe(lambda _change: self._type("", record.STATE, self.state.value), "value")
        self.readings = {
            record.OHM: self._entry(record.OHM, "Resistance", "", "as 148 mohm or 0.27 ohm; OL for no path"),
            record.INSULATION: self._entry(
                record.INSULATION, "Insulation", "", "to the body and its partner; as 2 Mohm, OL"
            ),
            record.VOLTS: self._entry(record.VOLTS, "Volts under load", "", "below 0 if it shows a minus"),
        }
        self.end = choice("Far end", [("not looked at", ""), *((words, key) for key, words in ENDS.items())], "")
        self.end.observe(lambda _change: self._type(self.wire.value, record.END, ENDS.get(self.end.value, "")), "value")
        self.should = Numbers(answer=self.work)
        self.told, self.table, self.alert = w.HTML(), w.HTML(), w.HTML()
        self._one: AsBuilt | None = None
        self.view = self._lay_out()

    def _lay_out(self) -> w.VBox:
        visit = w.Box([self.date.view, *(entry.view for entry in self.of_visit.values()), self.state])
        circuit = w.Box([self.wire, *(reading.view for reading in self.readings.values()), self.end])
        for box in (visit, circuit):
            box.add_class("wc-fields")
        presses = w.Box([self.following, self.last])
        presses.add_class("wc-files")
        first = w.HTML(f"<p class='wc-caution' role='note'>{FIRST}</p>")
        self.about = w.HTML("<h2>This visit</h2>")
        parts = [
            Keypad(), first, w.HTML("<h2>This circuit</h2>"), circuit, presses, self.should, self.told, self.about,
            visit, self.alert, self.table,
        ]  # fmt: skip
        return w.VBox(parts)

    def _entry(self, column: str, label: str, start: str, help: str) -> Entry[Any]:
        read = record.READERS[column]
        told = f"default {start}; {help}" if start else f"{help}; empty for none"
        entry: Entry[Any] = Entry(
            label,
            lambda text: read(text, label) if text.strip() else None,
            lambda value: _shown(column, value),
            None,
            help=told,
            placeholder=start,
        )
        entry.changed = functools.partial(self._typed, column, entry)
        return entry

    def _typed(self, column: str, entry: Entry[Any]) -> None:
        self._type(self.wire.value if column in self.readings else "", column, entry.text.value)

    def _type(self, wire: str, column: str, text: str) -> None:
        """What was typed goes into the plan as it is, faulty or not: nothing is lost."""
        if self._quiet or (column in record.READ and not wire):
            return
        if column == record.STATE and text == STATES[0].name:
            text = ""
        made = with_cell(self._text(), self._day, wire, column, text)
        if made != self._text():
            self._changed(made)

    @property
    def _day(self) -> str:
        return self.date.value or self.today

    def _to_last(self) -> None:
        visits = [date for date in visits_of(self._text())[0] if date]
        if visits:
            self.date.set(visits[-1])
            self._other()

    def _next(self) -> None:
        values = [value for _, value in self.wire.pairs]
        self.wire.value = values[(values.index(self.wire.value) + 1) % len(values)]

    def _other(self) -> None:
        """Another visit or circuit."""
        if not self._quiet:
            self.draw()

    def show(self, plan: Plan) -> None:
        """Draw for another plan, or another text of it."""
        self._plan = plan
        names = [circuit.wire.name for circuit in plan.circuits]
        if [value for _, value in self.wire.pairs] != names and names:
            self._quiet = True
            self.wire.options = names
            self._quiet = False
        self.draw()

    def _fill(self) -> None:
        """Follow the record, as after Undo; what was typed is read again, faults too."""
        text, self._quiet = self._text(), True
        try:
            for column, entry in (*self.of_visit.items(), *self.readings.items()):
                kept = record_cell(text, self._day, self.wire.value if column in self.readings else "", column)
                if kept.strip() != entry.text.value.strip():
                    entry.text.value = kept
            end = record_cell(text, self._day, self.wire.value, record.END)
            self.end.value = next((key for key, words in ENDS.items() if end in (key, words)), "")
            state = record_cell(text, self._day, "", record.STATE)
            self.state.value = state if state in [each.name for each in STATES] else STATES[0].name
        finally:
            self._quiet = False

    @guarded
    def draw(self) -> None:
        """Everything, of the plan that was shown last."""
        if self._plan is None:
            self._one, self.should.html, self.told.value, self.table.value = None, NOT_YET, "", ""
            return
        self._fill()
        visits, faults = visits_of(self._text())
        visit = visits.get(self._day, Visit(date=self._day))
        circuits = as_built(self._plan, visit)
        circuit = next((each for each in circuits if each.name == self.wire.value), None)
        self._one, self.should.html = circuit, "" if circuit is None else should_html(circuit)
        wrong = "".join(f"<li>{html.escape(str(fault))}</li>" for fault in faults if fault.field not in self._in_sight)
        self.told.value = ("" if circuit is None else told_html(circuit)) + (
            f"<div role='alert'><ul>{wrong}</ul></div>" if wrong else ""
        )
        before = [each for date, each in visits.items() if date and date < self._day]
        changes = compared(self._plan, before[-1], visit) if before else ()
        self.table.value = changes_html(before[-1].date if before else "", changes, bool(visit.readings)) + table_html(
            circuits
        )
        days = ", ".join(date for date in visits if date)
        self.about.value = f"<h2>This visit</h2><p>{f'On record: {days}.' if days else 'None is on record yet.'}</p>"
        (self.last.remove_class if days else self.last.add_class)("wc-shut")

    def work(self, key: str) -> str:
        """Where a number of what the circuit should read comes from; keys as `wirecalc.workings.built.of_reading`."""
        assert self._one is not None
        return to_html(of_reading(key, self._one.should))

    @property
    def _in_sight(self) -> set[str]:
        """Fields of the record whose faults stand beside their boxes."""
        return {
            record.fault_field(self._text(), self._day, self.wire.value if column in self.readings else "", column)
            for column, entry in (*self.of_visit.items(), *self.readings.items())
            if entry.fault is not None
        }

    def others(self) -> dict[str, Actable]:
        """See `Address`."""
        entries = {**self.of_visit, **self.readings}
        return {
            "built.last": self.last,
            "built.next": self.following,
            "built.state": self.state,
            "built.end": self.end,
            "built.wire": self.wire,
            "built.date": self.date.view,
            **{f"built.{key.casefold().replace(' ', '-')}": entry.view for key, entry in entries.items()},
        }


def _shown(column: str, value: Any) -> str:
    """As a person types it."""
    if value is None:
        return ""
    if column in (record.OHM, record.INSULATION, record.DIGIT, record.LEADS):
        return show_reading(value)
    if column in (record.VOLTS, record.BATTERY, record.TONE):
        return f"{'−' if value < 0 else ''}{units.show(abs(value), units.VOLTAGE)}"
    return units.show(value, units.TEMPERATURE) if column == record.WARM else str(value)


def should_html(circuit: AsBuilt) -> str:
    """What the meter should read in one circuit, as HTML."""
    should = circuit.should
    how = "with the far end joined" if should.pair else "from end to end"
    ohm = [number(in_ohm(each), "ohm") for each in (should.ohm.low_ohm, should.ohm.high_ohm)]
    volts = "No volts to read: no supply current runs in it."
    if should.volts:
        low, _, rest = should.volts_in_words.partition(" to ")
        high, _, rest = rest.partition(" ")
        where = "at the device, " if should.tone else ""
        volts = f"Volts: {where}{number(low, 'low')} to {number(high, 'high')} {html.escape(rest)}."
    tone = f"<p class='wc-caution' role='note'>{html.escape(TONE_CAUTION)}</p>" if should.tone else ""
    return (
        f"<p>Should read: resistance <b>{' to '.join(ohm)}</b> {how}; insulation"
        f" {INSULATION}, far end open ({INSULATION_SOURCE})."
        f" {volts} {html.escape(circuit.doubt.capitalize())}</p>{tone}"
    )


def told_html(circuit: AsBuilt) -> str:
    """The verdict of one circuit and its likeliest faults, as HTML."""
    if circuit.state == "not read":
        return "<p role='status'>Nothing is read yet.</p>"
    if circuit.state == "right":
        return f"<p role='status' class='wc-told'>{html.escape(circuit.name)} reads right.</p>"
    wrong = html.escape("; ".join(circuit.wrong))
    likes = "".join(
        f"<li><b>{like.share:.0%}</b> {html.escape(like.words)} <small>{html.escape(like.mend)}</small></li>"
        for like in circuit.likes[:MOST_LIKES]
    )
    return (
        f"<p role='status' class='wc-told'><b>{html.escape(circuit.name)} is off</b>: {wrong}.</p>"
        f"<p>{LIKELIEST}</p><ol>{likes}</ol>"
    )


def changes_html(before: str, changes: Sequence[str], read: bool) -> str:
    """What differs from the visit before, as HTML."""
    if not before or not read:
        return ""
    list_items = (
        "".join(f"<li>{html.escape(change)}</li>" for change in changes) or "<li>Nothing that the meters can tell.</li>"
    )
    return f"<h2>Changed since {html.escape(before)}</h2><ul>{list_items}</ul>"


def table_html(circuits: Sequence[AsBuilt]) -> str:
    """Every circuit, what is off first, as HTML."""
    order = {"off": 0, "right": 1, "not read": 2}
    rows = []
    for circuit in sorted(circuits, key=lambda each: order[each.state]):
        first = f": {circuit.likes[0].words}" if circuit.likes else ""
        rows.append((Html(html.escape(circuit.name), names_row=True), *circuit.in_words, f"{circuit.state}{first}"))
    count = sum(circuit.state == "off" for circuit in circuits)
    read = sum(circuit.read.any for circuit in circuits)
    title = f"{read} of {len(circuits)} circuits read, {count} off"
    kinds = [
        "wc-chosen" if circuit.state == "off" else ""
        for circuit in sorted(circuits, key=lambda each: order[each.state])
    ]
    return html_table(title, TABLE, rows, row_kinds=kinds)
