"""Solve a plan for scripts: python -m wirecalc PLAN [--json]."""

from __future__ import annotations

import argparse
import io
import json
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from wirecalc.errors import FileFaults, InputError
from wirecalc.front.from_disk import read
from wirecalc.front.report import as_data, in_words
from wirecalc.vehicle.choose import choose
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.text import vehicle_of
from wirecalc.wire.as_sold import SYSTEMS

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


if __name__ == "__main__":
    sys.exit(main())
