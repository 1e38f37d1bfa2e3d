"""Solve a plan for scripts: python -m wirecalc PLAN [--json]."""

from __future__ import annotations

import argparse
import io
import json
import math
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd

from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle.choose import ChosenPlan, choose
from wirecalc.vehicle.file import MOST_BYTES, read_csv, read_workbook
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.signed import Signed, signed, works
from wirecalc.vehicle.text import PlanText, vehicle_of
from wirecalc.wire.as_sold import SYSTEMS
from wirecalc.wire.cautions import cautions

FINE, BROKEN, BAD_FILE = 0, 1, 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; 0 if every limit is met, 1 if one is broken, 2 if the file cannot be used."""
    parser = argparse.ArgumentParser(
        prog="python -m wirecalc",
        description="Solve a vehicle's wiring plan: choose what is left to choose, and judge every circuit.",
        epilog="Exit code: 0 all limits are met, 1 a limit is broken, 2 the plan cannot be read.",
    )
    parser.add_argument(
        "plan", metavar="PLAN", type=Path,
        help="an .xlsx workbook, one of the two CSV files (…devices.csv, …wires.csv), or a folder with both",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    parser.add_argument(
        "--sold-as", choices=SYSTEMS, metavar="HOW",
        help=f"sizes to choose from, instead of what the plan's house rules say: {', '.join(SYSTEMS)}",
    )  # fmt: skip
    given = parser.parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal without Ω
    try:
        choice = choose(_of_shelf(vehicle_of(read(given.plan)), given.sold_as))
    except FileFaults as why:
        for fault in why.faults:
            print(fault, file=sys.stderr)
        return BAD_FILE
    except InputError as why:
        print(why, file=sys.stderr)
        return BAD_FILE
    print(json.dumps(as_data(choice), indent=2, ensure_ascii=False) if given.json else in_words(choice))
    return FINE if choice.plan.meets else BROKEN


def _of_shelf(vehicle: Vehicle, system: str | None) -> Vehicle:
    """With house rules that take wire sold in this way for every circuit."""
    rules = vehicle.rules
    for rule in vehicle.rules.rules if system else ():
        if rule.rule == "sold_as":
            rules = rules.replace(rule.key, str(system))
    return replace(vehicle, rules=rules)


def read(path: Path) -> PlanText:
    """A plan from disk.

    Raises
    ------
    InputError
        If there is no such file, or it cannot be used.
    """
    if path.suffix.lower() == ".xlsx":
        return read_workbook(_content(path))
    if path.is_dir():
        found = {part: sorted(path.glob(f"*{part}.csv")) for part in ("devices", "wires")}
        for part, files in found.items():
            if len(files) != 1:
                raise InputError("Plan", str(path), f"a folder with one file *{part}.csv", f"It has {len(files)}.")
        return read_csv(_content(found["devices"][0]), _content(found["wires"][0]))
    for part, other in (("devices", "wires"), ("wires", "devices")):
        if path.stem.endswith(part):
            return read_csv(_content(path), _content(path.with_name(f"{path.stem.removesuffix(part)}{other}.csv")))
    raise InputError("Plan", str(path), "an .xlsx workbook, a file …devices.csv beside one …wires.csv, or a folder")


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as why:
        raise InputError("Plan", str(path), "a file that can be read", f"{why.strerror}.") from None


def in_words(choice: ChosenPlan) -> str:
    """The solved plan as lines of text."""
    plan = choice.plan
    lines = []
    for each in signed(plan, choice.reasons, choice.least):
        one = each.circuit
        parts = [each.pull, *(["pair"] if one.laid.ways == 2 else []), *filter(None, (each.fuse,))]
        lines.append(f"{each.grade:<10}  {one.wire.name}: {', '.join(parts)}")
        lines += [f"            {said}" for said in (*one.broken, *one.close)]
        if each.least not in ("", one.conductor.label):
            lines.append(f"            {choice.reasons[one.wire.name]}")
    lines += ["", "Level lost at full power, feed and run:"]
    for row in plan.levels.to_dict("records"):
        lines.append(
            f"     {row['loudspeaker']}, engine {row['engine']}: {row['feed_db']:.2f} + {row['run_db']:.2f} ="
            f" {row['total_db']:.2f} dB, with {row['supply_v']:.2f} V at {row['amplifier']}"
        )
    lines += ["", "Alternator and battery:", *(f"     {said}" for said in plan.energy.words())]
    lines += [f"     Assumed: {'; '.join(plan.energy.assumed)}."]
    for title, said in (("No operating point:", plan.problems), ("To mind:", (*plan.warnings, *cautions(works(plan))))):
        lines += ["", title, *(f"     {each}" for each in said)] if said else []
    return "\n".join(lines)


def as_data(choice: ChosenPlan) -> dict[str, Any]:
    """The solved plan for JSON; a value that there is not is null."""
    plan = choice.plan
    return {
        "meets": plan.meets,
        "advice": [_advice(each) for each in signed(plan, choice.reasons, choice.least)],
        "circuits": _records(plan.table),
        "limits": _records(plan.limits),
        "levels": _records(plan.levels),
        "nodes": _records(plan.nodes),
        "currents": _records(plan.currents),
        "charge": [*plan.energy.words(), *(f"Assumed: {said}" for said in plan.energy.assumed)],
        "problems": list(plan.problems),
        "warnings": [*plan.warnings, *cautions(works(plan))],
        "sizes": dict(choice.reasons),
        "least": dict(choice.least),
        "fuses": dict(choice.fuse_reasons),
    }


def _advice(each: Signed) -> dict[str, Any]:
    """What is signed for one circuit."""
    family = each.family
    return {
        "wire": each.circuit.wire.name,
        "pull": each.pull,
        "least": each.least or None,
        "grade": each.grade,
        "first_reason": each.first_reason or None,
        "fuse_a": each.fuse_a,
        "fuse_family": None if family is None else family.name,
        "fuse_standard": None if family is None else family.standard,
        "breaking_a": None if family is None else family.breaking_a,
        "short_a": each.short_a,
        "cautions": list(each.cautions),
    }


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [
        {
            str(key): None if isinstance(value, float) and not math.isfinite(value) else value
            for key, value in row.items()
        }
        for row in table.to_dict("records")
    ]


if __name__ == "__main__":
    sys.exit(main())
