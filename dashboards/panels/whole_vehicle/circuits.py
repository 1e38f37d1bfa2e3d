"""Every circuit of a plan with its verdict, as HTML: the table, and what stands behind one row of it."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping

import numpy as np

from dashboards.panels.controls.numbers import number, to_html
from dashboards.panels.controls.table import Cell, Html, html_table
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.links import one_run
from wirecalc import units
from wirecalc.runs import MEASURES, wire_ohm, with_heat
from wirecalc.runs.choose import figure
from wirecalc.vehicle.plan import Circuit
from wirecalc.vehicle.signed import work_of_circuit
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.cautions import cautions
from wirecalc.workings.measures import working

ONE_FINE = "1 circuit, which keeps every limit."
IN_FEET = re.compile(r"f(?:oo|ee)?t|in|['\"′″’”]", re.IGNORECASE)
"""In a length as it is typed."""
AS_CLOSE = 1e-6  # a working is shown only where it gives the plan's own number
WORST, LISTED, BROKEN = "Problems first", "as listed", "Problems only"
SIGNS = {"fine": "✓", "borderline": "≈", "too thin": "✗"}  # not by colour alone
ORDERS = {WORST: "worst", LISTED: "listed", BROKEN: "broken"}
"""With their keys in the page's address."""


def worst_first(circuit: Circuit) -> tuple[bool, float]:
    """The key by which circuits are sorted: what is too thin, then what uses most of its nearest limit."""
    return circuit.meets, -circuit.tightest[1]


def in_short(answer: PlanAnswer) -> str:
    """The verdict on the whole plan, in a sentence."""
    circuits = answer.plan.circuits
    broken = sum(not circuit.meets for circuit in circuits)
    if answer.plan.problems:
        return "The feed cannot deliver what is asked: see below."
    close = sum(circuit.grade == "borderline" for circuit in circuits)
    if broken == 0 and close:
        return f"{len(circuits)} circuits: none is too thin, {close} {'is' if close == 1 else 'are'} borderline."
    if broken == 0:
        return f"{len(circuits)} circuits, and each keeps every limit." if len(circuits) > 1 else ONE_FINE
    return f"{broken} of {len(circuits)} circuits {'breaks' if broken == 1 else 'break'} a limit."


def marks(answer: PlanAnswer) -> dict[str, str]:
    """A word for each wire by its name, to stand beside it in the list of wires."""
    by_wire = {}
    for circuit in answer.plan.circuits:
        name, used = circuit.tightest
        by_wire[circuit.wire.name] = f"{SIGNS[circuit.grade]} {100 * used:.0f} %" if circuit.meets else f"✗ {name}"
    return by_wire


def circuits_table(answer: PlanAnswer, order: str, typed: Mapping[str, str], *, feet: bool = False) -> str:
    """One row for each circuit.

    Parameters
    ----------
    answer : PlanAnswer
    order : str
        One of `ORDERS`.
    typed : mapping of str to str
        Lengths as a person wrote them, by the wire's name; those in the page's unit stay as they are.
    feet : bool
        Lengths in feet.
    """
    circuits = list(answer.plan.circuits)
    if order != LISTED:
        circuits.sort(key=worst_first)
    if order == BROKEN:
        circuits = [circuit for circuit in circuits if not circuit.meets]
    if not circuits:
        return "<p>No circuit breaks a limit.</p>"
    return html_table(
        "Circuits",
        ("Circuit", "Verdict", "Size", "Length", "Fuse", "Nearest limit"),
        [_row(answer, circuit, typed, feet) for circuit in circuits],
        kind="wc-words wc-circuits wc-as-cards",
        row_kinds=["" if circuit.meets else "wc-broken" for circuit in circuits],
    )


def _row(answer: PlanAnswer, circuit: Circuit, typed: Mapping[str, str], feet: bool) -> tuple[Cell, ...]:
    wire, measures = circuit.wire, circuit.measures
    opens, title = one_run(answer.plan.vehicle, circuit, feet=feet), html.escape(wire.name)
    named = f"<a href='{opens}' target='_blank' title='Open in One run'>{title}</a>" if opens else title
    ends = f"{circuit.kind}: {html.escape(wire.start)} → {html.escape(wire.end)}"
    reasons = html.escape("; ".join((*circuit.broken, *circuit.close)) or "keeps every limit")
    verdict = f"{SIGNS[circuit.grade]} {circuit.standing}: {reasons}"
    as_typed = typed.get(wire.name, "")
    same = as_typed and bool(IN_FEET.search(as_typed)) == feet
    length = as_typed if same else units.show(wire.length_m, units.LENGTH, feet=feet)
    rating = f"{measures['fuse_a']:g} A" if "fuse_a" in measures else "–"
    nearest, used = circuit.tightest
    share = f"{100 * used:.0f} % used" if np.isfinite(used) else "over it"
    return (
        Html(f"{named}<small>{ends}</small>", names_row=True),
        Html(verdict, "wc-say"),
        Html(f"{html.escape(size(circuit))}{_chosen(answer.reasons.get(wire.name))}", "wc-say"),
        length,
        Html(f"{rating}{_chosen(answer.fuse_reasons.get(wire.name))}", "wc-say"),
        Html(f"{html.escape(nearest)}<small>{number(share, wire.name)}</small>"),
    )


def _chosen(reason: str | None) -> str:
    return f"<small>◆ chosen: {html.escape(reason)}</small>" if reason else ""


def size(circuit: Circuit) -> str:
    """As it is pulled: "16 AWG", "2 × 16 AWG"."""
    return side_by_side(circuit.conductor.label, circuit.wire.parallel)


def behind(answer: PlanAnswer, name: str, *, feet: bool = False) -> str:
    """Everything behind one circuit: each limit with its reason, and how each number is worked out."""
    circuit = next((circuit for circuit in answer.plan.circuits if circuit.wire.name == name), None)
    if circuit is None:
        return f"<h2>{html.escape(name)}</h2><p>It is not in the plan that is shown.</p>"
    parts = [
        f"<h2>{html.escape(name)}</h2><p>{size(circuit)},"
        f" {html.escape(circuit.wire.start)} → {html.escape(circuit.wire.end)}</p>"
    ]
    for what, reasons in (("Size", answer.reasons), ("Fuse", answer.fuse_reasons)):
        if name in reasons:
            parts.append(f"<p>{what}: {html.escape(reasons[name])}</p>")
    mind = (*circuit.cautions, *cautions(work_of_circuit(answer.plan, circuit)))
    parts += [f"<p class='wc-caution'>{html.escape(text)}</p>" for text in mind]
    parts.append(_limits(circuit))
    opens = one_run(answer.plan.vehicle, circuit, feet=feet)
    if opens:
        parts.append(f"<p><a href='{opens}' target='_blank'>Open it in One run ↗</a></p>")
    workings = [part for part in (_worked_out(circuit, key, feet) for key in circuit.measures) if part]
    if workings:
        parts.append("<h3>How its numbers are worked out</h3>" + "".join(workings))
    else:
        parts.append(
            "<p><small>Its numbers come from solving the whole vehicle at once: no formula of its own gives them."
            "</small></p>"
        )
    return "".join(parts)


def _limits(circuit: Circuit) -> str:
    rows, kinds = [], []
    for limit, value, bound, grade in zip(
        circuit.verdict.limits, circuit.verdict.values[:, 0], circuit.verdict.bounds[:, 0], circuit.grades, strict=True
    ):
        bounded = figure(limit, bound) if np.isfinite(bound) else "none" if np.isnan(bound) else "no bound"
        kinds.append("wc-broken" if grade == "too thin" else "")
        rows.append(
            (f"{SIGNS[grade]} {limit.name}", figure(limit, value), f"{limit.sense} {bounded}",
             Html(f"<small>{html.escape(limit.reason)}</small>", "wc-say"))
        )  # fmt: skip
    return html_table(
        "Its limits", ("Limit", "Here", "Bound", "Why"), rows, kind="wc-words wc-as-cards", row_kinds=kinds
    )


def _worked_out(circuit: Circuit, key: str, feet: bool) -> str:
    """How numbers are worked out, where the run computed alone gives the same as in the plan."""
    if circuit.run is None or key not in MEASURES or not np.isfinite(circuit.measures[key]):
        return ""
    if not np.isclose(_alone(circuit).get(key, np.nan), circuit.measures[key], rtol=AS_CLOSE, atol=0):
        return ""
    worked = working(key, circuit.run, circuit.conductor, circuit.laid, circuit.place, feet=feet)
    what = MEASURES[key]
    title = f"{what.name}: {what.said(circuit.measures[key])} {what.unit}".rstrip()
    return f"<details><summary>{html.escape(title)}</summary>{to_html(worked)}</details>"


def _alone(circuit: Circuit) -> Mapping[str, float]:
    assert circuit.run is not None
    plain = {
        key: np.atleast_1d(value)
        for key, value in circuit.run.measures(
            wire_ohm([circuit.conductor], circuit.laid), circuit.laid.length_m
        ).items()
    }
    return {
        key: float(value[0])
        for key, value in with_heat(plain, [circuit.conductor], circuit.laid, circuit.place).items()
    }
