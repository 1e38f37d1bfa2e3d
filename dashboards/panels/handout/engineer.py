"""The engineer's tables: what went in as typed, what came out of each circuit, the network, models and sources."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.handout.table import Amount, Cell, Table
from wirecalc import runs, units
from wirecalc.circuits.supply import CLASSES
from wirecalc.tables import shown_source
from wirecalc.vehicle.as_run import COIL_C
from wirecalc.vehicle.fields import BODY_OHM
from wirecalc.vehicle.fuse import SELECTIVE
from wirecalc.vehicle.limits import LEAST_REMOTE_V
from wirecalc.vehicle.network import CONTACT_OHM, FUSE_DROP_V, OUTPUT_OHM, STATES
from wirecalc.vehicle.plan import Circuit
from wirecalc.vehicle.text import SHEETS, assumed_in
from wirecalc.wire.cable_types import CableType
from wirecalc.wire.conductor import METALS, STRANDINGS
from wirecalc.wire.fuse import LOADING
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.music import MUSIC_FRACTION
from wirecalc.wire.zones import ZONES
from wirecalc.workings.measures import working

_KINDS: dict[str, tuple[units.QuantityKind, float]] = {  # of a measure's unit; its own in one of the kind's
    "dB": (units.LEVEL, 1), "W": (units.POWER, 1), "V": (units.VOLTAGE, 1), "A": (units.CURRENT, 1),
    "°C": (units.TEMPERATURE, 1), "kHz": (units.FREQUENCY, 1e3), "%": (units.RATIO, 0.01), "": (units.NUMBER, 1),
    "mm²": (units.NUMBER, 1),
}  # fmt: skip
MOST_NAMED = 3  # of all that there are; more are "all"
_MORE = {
    "fuse_a": "Fuse of its own",
    "needed_a": "Least fuse for the draw",
    "before_a": "Fuse before it",
    "return_a": "Fuses of what it returns",
    "largest_fuse_a": "Largest fuse that it stands",
}
_OTHERS = {
    "usual_c": ("Usual warmth, with music", "°C"),
    "music_drop_v": ("Drop with music", "V"),
    "wake_v": ("Turn-on voltage on a tired battery", "V"),
    "metal_mm2": ("Metal of the return in mm²", "mm²"),
    "matched_db": ("Level under the loudest of its matches", "dB"),
    "returned_mm2": ("Least metal of the return in mm²", "mm²"),
}


def tables(job: HandoutJob) -> list[Table]:
    """All tables, from the entries to the sources of the models."""
    return [
        *typed(job), assumptions(job), measures(job), levels(job), limits(job), why(job), nodes(job),
        currents(job), drops(job), models(job), sources(job),
    ]  # fmt: skip


def amount(value: float, unit: str, measure: str = "") -> Amount:
    """A number in the unit of a measure or limit."""
    kind, scale = (units.RATIO, 1) if measure == "drop_fraction" else _KINDS[unit]
    return Amount(value=value * scale, kind=kind)


def typed(job: HandoutJob) -> list[Table]:
    """Both lists, every cell as it was typed."""
    tables = []
    for name in SHEETS:
        sheet = job.text.sheet(name)
        rows = tuple(tuple(row) for row in sheet.rows if any(row))
        tables.append(
            Table(key=f"{name} as typed", title=f"{name} as typed", columns=sheet.columns, rows=rows, flowing=True)
        )
    return tables


def assumptions(job: HandoutJob) -> Table:
    """What was assumed where a cell is empty, and of which devices and wires."""
    rows = [
        (sheet, column, value, _some(names, len([row for row in job.text.sheet(sheet).rows if any(row)])))
        for (sheet, column, value), names in assumed_in(job.text, job.plan.vehicle.systems).items()
    ]
    usual = {wire.name: INSULATIONS[wire.insulation].name for wire in job.plan.vehicle.wires if wire.usual_insulation}
    for insulation in dict.fromkeys(usual.values()):
        names = tuple(name for name, each in usual.items() if each == insulation)
        rows.append(("Wires", "Insulation", f"{insulation}, by the house rules", _some(names, len(job.plan.circuits))))
    return Table(
        key="Assumed", title="Assumed", columns=("List", "What", "Assumed", "Of"), rows=tuple(rows), grouped=True,
        note="Nobody wrote these: measure or look them up, and type them, where they matter.",
        empty="Nothing: every cell was typed.",
    )  # fmt: skip


def _some(names: Sequence[str], of: int) -> str:
    return f"all {of}" if len(names) == of > MOST_NAMED else ", ".join(names)


def measures(job: HandoutJob) -> Table:
    """Every measure of every circuit."""
    told = (
        {key: (measure.name, measure.unit) for key, measure in runs.MEASURES.items()}
        | {key: (name, "A") for key, name in _MORE.items()}
        | _OTHERS
    )
    used = [key for key in told if any(key in circuit.measures for circuit in job.plan.circuits)]
    rows = tuple(
        (circuit.wire.name, circuit.kind, circuit.conductor.label, circuit.wire.parallel, circuit.laid.ways,
         circuit.place.loaded, Amount(value=circuit.wire.length_m, kind=units.LENGTH),
         *(amount(circuit.measures[key], told[key][1], key) if key in circuit.measures else None for key in used))
        for circuit in job.plan.circuits
    )  # fmt: skip
    columns = ("Wire", "Circuit", "Size", "Parallel", "Ways", "Loaded together", "Length")
    return Table(
        key="Measures", title="Measures of each circuit", columns=(*columns, *(told[key][0] for key in used)),
        rows=rows, flowing=True, note="The worst of the states that count for each measure.",
    )  # fmt: skip


def levels(job: HandoutJob) -> Table:
    """What each speaker loses."""
    rows = tuple(
        (row["wire"], row["loudspeaker"], row["amplifier"], row["engine"], amount(row["supply_v"], "V"),
         amount(row["feed_db"], "dB"), amount(row["run_db"], "dB"), amount(row["total_db"], "dB"),
         amount(row["load_w"], "W"))
        for row in job.plan.levels.to_dict("records")
    )  # fmt: skip
    columns = ("Wire", "Speaker", "Amplifier", "Engine", "Supply", "Feed", "Run", "Together", "Arrives")
    return Table(
        key="Levels", title="Level lost at full power, in the feed and in the run", columns=columns, rows=rows,
        grouped=True, empty="No speaker is in this plan.",
    )  # fmt: skip


_GRADES = {"fine": "met", "borderline": "borderline", "too thin": "BROKEN"}


def limits(job: HandoutJob) -> Table:
    """Every limit with its bound, its reason and source."""
    rows = []
    for circuit in job.plan.circuits:
        numbers = zip(circuit.verdict.values[:, 0], circuit.verdict.bounds[:, 0], circuit.grades, strict=True)
        for limit, (value, bound, grade) in zip(circuit.verdict.limits, numbers, strict=True):
            here, edge = (amount(float(number), limit.unit, limit.measure) for number in (value, bound))
            source = shown_source(limit.source, limit.confidence)
            rows.append((circuit.wire.name, limit.name, here, limit.sense, edge, _GRADES[grade], source))
    columns = ("Wire", "Limit", "Value", "Must be", "Bound", "Verdict", "Source of the bound")
    return Table(key="Limits", title="Limits", columns=columns, rows=tuple(rows), grouped=True)


def why(job: HandoutJob) -> Table:
    """Why these sizes and fuses were chosen."""
    rows = tuple(
        (circuit.wire.name, circuit.conductor.label, job.reasons.get(circuit.wire.name, "as typed"),
         job.fuse_reasons.get(circuit.wire.name, ""))
        for circuit in job.plan.circuits
    )  # fmt: skip
    return Table(key="Reasons", title="Why these sizes and fuses", columns=("Wire", "Size", "Why", "Fuse"), rows=rows)


_STATES = tuple(state.name for state in STATES)


def nodes(job: HandoutJob) -> Table:
    """Voltage of each node in the four states."""
    wiring, node_v = job.plan.supply.wiring, job.plan.supply.node_v
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (device, terminal, *(amount(_quiet(value), "V") for value in node_v[:, at]))
        for (device, terminal), at in wiring.nodes.items()
    )
    return Table(
        key="Node voltages", title="Node voltages", columns=("Device", "Terminal", *_STATES), rows=rows,
        note="Against the first battery’s minus.",
    )  # fmt: skip


def _quiet(value: float) -> float:
    """A value without the solver's rounding noise around 0, which is below a nanovolt or nanoampere."""
    return round(float(value), 9) + 0.0


def currents(job: HandoutJob) -> Table:
    """Current of each supply wire in the four states."""
    return _of_wires(job, "Currents", "Currents", job.plan.supply.current_a, "A",
                     "All conductors in parallel together; below 0 where it flows towards the start.")  # fmt: skip


def drops(job: HandoutJob) -> Table:
    """Voltage drop of each supply wire in the four states."""
    return _of_wires(job, "Drops", "Voltage drops", job.plan.supply.wire_v, "V",
                     "Of the wire with its fuse, both ways of a pair.")  # fmt: skip


def _of_wires(job: HandoutJob, key: str, title: str, values: np.ndarray, unit: str, note: str) -> Table:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (wire.name, *(amount(_quiet(value), unit) for value in values[:, at]))
        for at, wire in enumerate(job.plan.supply.wiring.wires)
    )
    return Table(key=key, title=title, columns=("Wire", *_STATES), rows=rows, note=note)


def models(job: HandoutJob) -> Table:
    """Every formula that the circuits' measures go through, once for each kind of circuit, and what the network takes
    to be so."""
    rows: list[tuple[Cell, ...]] = [("Supply network", *circuit) for circuit in _NETWORK]
    seen = set()
    for circuit in _one_of_each(job):
        for title, formula, source, note in _formulas(circuit):
            if (title, formula) not in seen:
                seen.add((title, formula))
                rows.append((f"Circuit: {circuit.kind}", title, formula, source, note))
    columns = ("Of", "What", "Formula or value", "Source", "Note")
    return Table(key="Models", title="Models", columns=columns, rows=tuple(rows), grouped=True)


def _one_of_each(job: HandoutJob) -> list[Circuit]:
    """The first circuit of each kind that is a run by itself."""
    first: dict[str, Circuit] = {}
    for circuit in job.plan.circuits:
        if circuit.run is not None:
            first.setdefault(circuit.kind, circuit)
    return list(first.values())


def _formulas(circuit: Circuit) -> Iterator[tuple[str, str, str, str]]:
    assert circuit.run is not None
    given = (circuit.run, circuit.conductor, circuit.laid, circuit.place)
    plain = {
        key: np.atleast_1d(value) for key, value in circuit.run.measures(_ohm(circuit), circuit.laid.length_m).items()
    }
    for measure in runs.with_heat(plain, [circuit.conductor], circuit.laid, circuit.place):
        for step in working(measure, *given).steps:
            if step.formula:
                yield step.title, f"{step.symbol} = {step.formula}", step.source, step.note


def _ohm(circuit: Circuit) -> float:
    return float(runs.wire_ohm([circuit.conductor], circuit.laid)[0])


def _said(value: float, kind: units.QuantityKind) -> str:
    return units.show(value, kind)


_NETWORK: tuple[tuple[str, str, str, str], ...] = (
    ("Node voltages", "Kirchhoff’s current law at every node, solved by Newton’s steps", "any textbook of circuits",
     "Conductors are as warm as the air around them."),
    ("Full power", "all amplifiers give a sine at rated power together", "worst case, by definition", ""),
    ("Music", f"{_said(MUSIC_FRACTION, units.RATIO)} of rated power",
     "common practice, no source; 16 CFR 432.3(c) preconditions amplifiers with it", "Usual warmth of wires."),
    ("A fuse’s resistance", f"{_said(FUSE_DROP_V, units.VOLTAGE)} over its rating", "published value, copy not checked",
     "Cold resistance of a blade fuse."),
    ("A relay’s closed contact", _said(CONTACT_OHM, units.RESISTANCE), "published value, copy not checked", ""),
    ("A turn-on output", _said(OUTPUT_OHM, units.RESISTANCE), "a simplification", "What it drops itself is left out."),
    ("The body", f"a star; {_said(BODY_OHM, units.RESISTANCE)} to its middle where nothing else is typed",
     "common practice, no source", "Measure it."),
    ("A relay’s coil when hot", _said(COIL_C, units.TEMPERATURE), "common practice, no source", ""),
    ("Wakes up a device", _said(LEAST_REMOTE_V, units.VOLTAGE), "common practice, no source",
     "The manuals come first."),
    ("Draw over fuse rating", f"at most {_said(LOADING, units.RATIO)}", "common practice, no source", ""),
    ("Fuse over the next fuse down", f"{_said(SELECTIVE, units.NUMBER)} or more",
     "IEC 60269 gG fuses in line; published value, copy not checked", "So that the smaller opens first."),
)  # fmt: skip


def sources(job: HandoutJob) -> Table:
    """Where the numbers of tables are from that this plan uses."""
    wires = job.plan.vehicle.wires
    classes = [device.amplifier_class for device in job.plan.vehicle.devices if device.amplifier_class]
    rows = [
        *_rows("Metal", METALS, (wire.metal for wire in wires)),
        *_rows("Stranding", STRANDINGS, (wire.stranding for wire in wires)),
        *_rows("Insulation", INSULATIONS, (wire.insulation for wire in wires)),
        *_rows("Place", ZONES, (wire.zone for wire in wires)),
        *_rows("Amplifier class", CLASSES, iter(classes)),
    ]
    cables: dict[str, CableType] = {allocation.cable.key: allocation.cable for allocation in job.allocations.values()}
    rows += _rows("Cable", cables, iter(cables))
    held = [limit for circuit in job.plan.circuits for limit in circuit.verdict.limits]
    rows += sorted(
        (f"Limit: {limit.name}", limit.reason, shown_source(limit.source, limit.confidence)) for limit in set(held)
    )
    columns = ("What", "Name", "Source")
    return Table(key="Sources", title="Sources", columns=columns, rows=tuple(dict.fromkeys(rows)), grouped=True)


def _rows(what: str, known: Mapping[str, object], used: Iterator[str]) -> list[tuple[Cell, ...]]:
    records = [known[key] for key in dict.fromkeys(used)]
    return [(what, record.name, shown_source(record.source, record.confidence)) for record in records]  # type: ignore[attr-defined]
