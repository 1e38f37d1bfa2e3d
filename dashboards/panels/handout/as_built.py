"""The last page of a handout: what each circuit should read and what it did, with date and name; or to write into."""

from __future__ import annotations

import html

from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.handout.table import Cell, CellMark, Table, to_html
from wirecalc.bench.meter import show_reading
from wirecalc.built.record import Visit, visits_of
from wirecalc.built.should import INSULATION, INSULATION_SOURCE, TONE_CAUTION
from wirecalc.built.verdict import AsBuilt, as_built, compared


def last_visit(job: HandoutJob) -> Visit | None:
    """The one that is printed; None if nothing was read yet."""
    visits = [each for each in visits_of(job.text)[0].values() if each.readings]
    return visits[-1] if visits else None


def table(job: HandoutJob) -> Table:
    """Every circuit: what it should read, what it did, and the verdict."""
    visit = last_visit(job)
    rows = tuple(_row(circuit, visit is not None) for circuit in as_built(job.plan, visit or Visit()))
    return Table(
        key="As built", title="What the meter should read, and did", rows=rows,
        columns=("Circuit", "Resistance should be", "Read", f"Insulation ({INSULATION})",
                 "Far end", "Volts should be", "Volts", "Verdict"),
        note="Resistance: of a pair its loop with the far end joined, else from end to end, the meter's leads counted."
        f" Volts: {(visit or Visit()).state}; at the device, of a ground along it. Insulation: {INSULATION_SOURCE}."
        f" {TONE_CAUTION}",
    )  # fmt: skip


def _row(circuit: AsBuilt, typed: bool) -> tuple[Cell, ...]:
    if not typed:
        hand = CellMark.BLANK
        volts = circuit.should.volts_in_words or "none to read"
        return (circuit.name, circuit.should.ohm_in_words, hand, hand, hand, volts, hand, CellMark.TICK)
    verdict = circuit.state
    if circuit.wrong:
        verdict = f"off: {'; '.join(circuit.wrong)}" + (f". {circuit.likes[0].words}" if circuit.likes else "")
    should, read, insulation, end, volts_should, volts_read = circuit.in_words
    return (circuit.name, should, read, insulation, end, volts_should or "none to read", volts_read, verdict)


def page(job: HandoutJob) -> str:
    """The page, as HTML."""
    visit = last_visit(job)
    if visit is None:
        head = "<p>Nothing is read yet: to write into. Date: ____________ Read by: ____________________</p>"
        return head + to_html(table(job), job.feet)
    by = f", by {html.escape(visit.by)}" if visit.by else ""
    leads = show_reading(visit.leads_ohm) or "0 Ω"
    meter = f"Meter {visit.accuracy}, last digit {show_reading(visit.digit_ohm)}, leads {leads}"
    head = f"<p>Read on {html.escape(visit.date)}{by}. {html.escape(meter)}; wires at {visit.wires_c:g} °C.</p>"
    before = [each for date, each in visits_of(job.text)[0].items() if date < visit.date and each.readings]
    if before:
        changes = compared(job.plan, before[-1], visit) or ("Nothing that the meters can tell.",)
        lines = "".join(f"<li>{html.escape(change)}</li>" for change in changes)
        head += f"<h3>Changed since {html.escape(before[-1].date)}</h3><ul>{lines}</ul>"
    return head + to_html(table(job), job.feet)
