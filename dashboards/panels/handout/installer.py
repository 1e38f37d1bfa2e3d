"""The installer's tables: what to pull where, pin-outs, fuses, what to cut and buy, what to mind; each to tick off."""

from __future__ import annotations

import math
from dataclasses import replace

import pandas as pd

from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.handout.table import Amount, Cell, CellMark, Table
from wirecalc import units
from wirecalc.runs import wire_ohm
from wirecalc.vehicle.fields import BATTERY, FACTORY_SIGNAL
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.plan import Circuit
from wirecalc.vehicle.signed import works
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.cautions import cautions
from wirecalc.wire.conductor import METALS, REFERENCE_C
from wirecalc.wire.multicore import Use
from wirecalc.wire.zones import ZONES

SLACK_TO_ADD = "add slack"  # where no buy list has done it


def tables(job: HandoutJob) -> list[Table]:
    """All tables, in the order of work."""
    return [pulls(job), pin_outs(job), fuses(job), unfused(job), buying(job), cutting(job), minding(job)]


def pulls(job: HandoutJob) -> Table:
    """Every wire by place and bundle, then the cables that hold several."""
    ordered = sorted(job.plan.circuits, key=lambda circuit: (list(ZONES).index(circuit.wire.zone), circuit.wire.bundle))
    rows = [_pull(job, circuit) for circuit in ordered]
    for name, allocation in job.allocations.items():
        carried = [use for use in allocation.uses if use.carried]
        way, cut = _way(job, name), _cut(job, name)
        held = f"{len(carried)} circuits, see its pin-out"
        rows.append(
            ("Cables of several conductors", CellMark.TICK, name, "as its circuits", "as its circuits",
             allocation.cable.name, way, cut, held, "", CellMark.BLANK)
        )  # fmt: skip
    return Table(
        key="Pull list", title="Pull list", grouped=True,
        columns=("Place", "Done", "Wire", "From", "To", "Pull", "Way", "Cut to", "Conductor", "Expect", "Measured"),
        rows=tuple(rows),
        note="Way: one way, as planned. Cut to: each length, with slack and service loops. Expect: of a pair its loop"
        f" at {REFERENCE_C:g} °C with the far end joined, speaker off; of a supply wire the least voltage at its"
        " end; of a shared feed or a ground the most that it drops.",
    )  # fmt: skip


def _pull(job: HandoutJob, circuit: Circuit) -> tuple[Cell, ...]:
    wire = circuit.wire
    place = f"{ZONES[wire.zone].name} · {f'bundle “{wire.bundle}”' if wire.bundle else 'by itself'}"
    use = _use(job, wire.name)
    cut = _cut(job, wire.name)
    ends = (f"{wire.start}, {wire.start_terminal}", f"{wire.end}, {wire.end_terminal}")
    if use is not None and use.carried:
        what = f"in “{wire.cable}”"
        cut, conductor = what, ", ".join(f"{core.name} {way}".strip() for way, core in use.cores)
    else:
        count = circuit.laid.ways * wire.parallel
        what = side_by_side(circuit.conductor.label, count)
        what += ", shielded" if circuit.kind == "line" else ""
        conductor = _item(job, wire.name) or METALS[wire.metal].name
    return (place, CellMark.TICK, wire.name, *ends, what, _metres(wire.length_m), cut, conductor, _expect(circuit),
            CellMark.BLANK)  # fmt: skip


def _use(job: HandoutJob, wire: str) -> Use | None:
    """What a cable does for a wire."""
    uses = (use for allocation in job.allocations.values() for use in allocation.uses)
    return next((use for use in uses if use.circuit.name == wire), None)


def _cut(job: HandoutJob, run: str) -> Cell:
    """Length to cut for a run."""
    pieces = _pieces(job, run)
    return SLACK_TO_ADD if pieces.empty else _metres(float(pieces["length_m"].iloc[0]))


def _way(job: HandoutJob, run: str) -> Cell:
    """Length of a cable, as the buy list has it."""
    pieces = _pieces(job, run)
    return None if pieces.empty else _metres(float(pieces["way_m"].iloc[0]))


def _pieces(job: HandoutJob, run: str) -> pd.DataFrame:
    """What the buy list cuts for a run; empty without one."""
    if job.buy_list is None:
        return pd.DataFrame()
    return job.buy_list.pieces[job.buy_list.pieces["run"] == run]


def _item(job: HandoutJob, run: str) -> str:
    """What to ask for in the shop."""
    pieces = _pieces(job, run)
    return "" if pieces.empty else ", ".join(pieces["wire"].unique())


def _metres(value: float) -> Amount:
    return Amount(value=value, kind=units.LENGTH)


def _expect(circuit: Circuit) -> str:
    """What a meter should read."""
    if circuit.kind in ("shared feed", "ground"):
        return f"drop at most {units.show(circuit.measures['drop_v'], units.VOLTAGE)}"
    if "load_v" in circuit.measures and circuit.kind not in ("speaker", "subwoofer", "line", FACTORY_SIGNAL):
        return f"{units.show(circuit.measures['load_v'], units.VOLTAGE)} or more"
    laid = replace(circuit.laid, temperature_c=REFERENCE_C)
    ohm = units.show(float(wire_ohm([circuit.conductor], laid)[0]), units.RESISTANCE)
    return f"{ohm} loop" if laid.ways == 2 else f"{ohm} end to end"


def pin_outs(job: HandoutJob) -> Table:
    """Every conductor of every cable."""
    rows: list[tuple[Cell, ...]] = []
    for name, allocation in job.allocations.items():
        pins = allocation.pin_out()
        rows += [
            (
                name,
                pin["number"],
                pin["conductor"],
                pin["pair"],
                pin["size"],
                f"{pin['circuit']} {pin['way']}".strip(),
                CellMark.TICK,
                CellMark.BLANK,
            )
            for pin in pins.to_dict("records")
        ]
    return Table(
        key="Pin-outs", title="Pin-outs", grouped=True, rows=tuple(rows),
        columns=("Cable", "Number", "Conductor", "Pair", "Size", "Circuit", "Done", "Measured"),
        empty="No cable of several conductors is in this plan.",
    )  # fmt: skip


def fuses(job: HandoutJob) -> Table:
    """Every fuse that is put in."""
    rows = []
    for circuit in job.plan.circuits:
        if isinstance(circuit.wire.fuse, str):
            continue
        rating = circuit.wire.fuse
        family = fuse_family(job.plan.vehicle, circuit.wire, rating)
        known = family is not None and rating in family.ratings_a
        kind = f"{family.named(rating)}, breaks {family.breaking_a / 1e3:g} kA" if family is not None and known else ""
        at_battery = job.plan.vehicle.device(circuit.wire.start).kind == BATTERY
        where = f"{circuit.wire.start}, {circuit.wire.start_terminal}"
        where += ": as near to the battery as can be, see the cautions" if at_battery else ": where the wire starts"
        each = f"{circuit.wire.parallel}, one for each conductor" if circuit.wire.parallel > 1 else "1"
        rows.append(
            (CellMark.TICK, circuit.wire.name, where, Amount(value=rating, kind=units.CURRENT), each,
             kind or "not a rating of our table",
             Amount(value=circuit.measures["largest_fuse_a"], kind=units.CURRENT, digits=3), circuit.conductor.label)
        )  # fmt: skip
    return Table(
        key="Fuses", title="Fuses", rows=tuple(rows),
        columns=("Done", "Wire", "Place", "Rating", "Count", "Type", "Wire stands", "Size"),
        note="A fuse protects the wire after it: never a larger one than listed.", empty="No fuse is in this plan.",
    )  # fmt: skip


def unfused(job: HandoutJob) -> Table:
    """Supply wires without a fuse of their own, and why."""
    rows: list[tuple[Cell, ...]] = []
    for circuit in job.plan.circuits:
        before_a = circuit.measures.get("before_a", circuit.measures.get("return_a", math.nan))
        if isinstance(circuit.wire.fuse, str) and not math.isnan(before_a):
            before = "none: nothing protects it" if math.isinf(before_a) else units.show(before_a, units.CURRENT)
            allowed = Amount(value=circuit.measures["largest_fuse_a"], kind=units.CURRENT, digits=3)
            rows.append((circuit.wire.name, before, allowed, job.fuse_reasons.get(circuit.wire.name, "")))
    return Table(
        key="No fuse of their own", title="Wires without a fuse of their own", rows=tuple(rows),
        columns=("Wire", "Fuse before it", "Wire stands", "Why"), empty="Every supply wire has its own fuse.",
    )  # fmt: skip


def buying(job: HandoutJob) -> Table:
    """What to take from the shop."""
    rows, note = [], ""
    columns: tuple[str, ...] = ("Aisle", "Done", "Item", "Count", "Length", "For")
    if job.buy_list is not None:
        priced = job.buy_list.total is not None
        columns = (*columns, "Price", "Cost") if priced else columns
        note = job.buy_list.in_words()[-1] if priced else ""
        for row in job.buy_list.items.to_dict("records"):
            money = [Amount(value=row[key], kind=units.NUMBER, digits=6) for key in ("price", "cost") if priced]
            length = None if math.isnan(row["length_m"]) else _metres(row["length_m"])
            aisle = row["aisle"].capitalize()
            rows.append((aisle, CellMark.TICK, row["item"], int(row["count"]), length, row["for"], *money))
    return Table(
        key="Buy list", title="Buy list", columns=columns, rows=tuple(rows), note=note, grouped=True,
        empty="The lengths that wire is sold in are not known: no list was made.",
    )  # fmt: skip


def cutting(job: HandoutJob) -> Table:
    """Every cut, spool by spool."""
    rows = []
    if job.buy_list is not None:
        for row in job.buy_list.cut_list().to_dict("records"):
            spool = " ".join(filter(None, (f"{row['spool']}", f"({row['spool_name']})" if row["spool_name"] else "")))
            rows.append(
                (row["wire"], CellMark.TICK, row["piece"], _metres(row["length_m"]), spool, _metres(row["spool_m"]),
                 _metres(row["left_m"]))
            )  # fmt: skip
    return Table(
        key="Cut list", title="Cut list", rows=tuple(rows), grouped=True,
        columns=("Of", "Done", "For", "Cut", "From spool", "Spool holds", "Then left"),
        note="In this order; measure twice.", empty="The lengths that wire is sold in are not known: no list was made.",
    )  # fmt: skip


def minding(job: HandoutJob) -> Table:
    """Cautions that apply, what the plan warns of, and every limit that is broken."""
    plan = job.plan
    reminders = [("Cautions", text) for text in cautions(works(plan))]
    reminders += [("Cautions", text) for allocation in job.allocations.values() for text in allocation.cautions]
    reminders += [("Cables", f"{name}: {allocation.in_words()}") for name, allocation in job.allocations.items()]
    reminders += [("No answer", text) for text in plan.problems]
    reminders += [("Warnings", text) for text in plan.warnings]
    reminders += [
        ("Limits that are broken", f"{text.wire.name}: {each}") for text in plan.circuits for each in text.broken
    ]
    rows = tuple((kind, CellMark.TICK, text) for kind, text in dict.fromkeys(reminders))
    return Table(key="Cautions", title="Cautions", columns=("Kind", "Read", "What"), rows=rows, grouped=True)
