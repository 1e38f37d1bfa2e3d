"""wirecalc for scripts and consoles: solve plans, answer for one run, write a template."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

FINE, BROKEN, BAD_FILE = 0, 1, 2
COMMANDS = ("run", "template", "schema")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; 0 if every limit is met, 1 if one is broken, 2 if what is given cannot be used."""
    typed = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal without Ω
    given = _parser(typed).parse_args(typed)
    from wirecalc.errors import FileFaults, InputError  # once it is known what is wanted: --help waits for nothing

    try:
        work: Callable[[argparse.Namespace], int] = given.work
        code = work(given)
        sys.stdout.flush()
        return code
    except FileFaults as why:
        for fault in why.faults:
            print(fault, file=sys.stderr)
        return BAD_FILE
    except InputError as why:
        print(why, file=sys.stderr)
        return BAD_FILE
    except BrokenPipeError:  # `wirecalc … | head`: who reads has enough; what is left in the buffer goes nowhere
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE


def _parser(typed: Sequence[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="wirecalc" if Path(sys.argv[0]).stem == "wirecalc" else "python -m wirecalc",
        description="Solve a vehicle's wiring plan: choose what is left to choose, and judge every circuit.",
        epilog="Also: wirecalc run POWER LOAD LENGTH [SIZE], wirecalc template FILE, wirecalc schema. "
        "Exit code: 0 all limits are met, 1 a limit is broken, 2 the plan cannot be read.",
    )
    if typed[:1] and typed[0] in COMMANDS:
        under = parser.add_subparsers(required=True)
        _run_parser(under.add_parser("run", help="one loudspeaker run"))
        template = under.add_parser("template", help="write an empty plan with examples")
        template.add_argument("file", metavar="FILE", type=Path, help="….xlsx, or …devices.csv for two lists")
        template.set_defaults(work=_template)
        under.add_parser("schema", help="print the JSON Schema of --json").set_defaults(work=_schema)
        return parser
    parser.add_argument(
        "plan", metavar="PLAN", nargs="+",
        help="an .xlsx workbook, one of the two CSV files (…devices.csv, …wires.csv), a folder, or a pattern with *;"
        " of several plans each gives a line of JSON",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print everything as JSON; see wirecalc schema")
    parser.add_argument(
        "--sold-as", metavar="HOW", help="sizes to choose from, instead of what the plan's house rules say: AWG, mm2, …"
    )
    parser.set_defaults(work=_plans)
    return parser


def _run_parser(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("power", metavar="POWER", help="rated power of the channel: “100 W”")
    parser.add_argument("load", metavar="LOAD", help="impedance of the loudspeaker: “4 ohm”")
    parser.add_argument("length", metavar="LENGTH", help="one way: “20 ft”, “18 ft 6 in”, “5.5 m”")
    parser.add_argument("size", metavar="SIZE", nargs="?", help="“18 AWG”, “1.5 mm2”; without it, what to pull")
    parser.add_argument("--subwoofer", action="store_true", help="by the rules for subwoofers")
    parser.add_argument("--zone", metavar="PLACE", help="where it lies; as the house rules have it if not given")
    parser.add_argument("--json", action="store_true", help="print everything as JSON; see wirecalc schema")
    parser.set_defaults(work=_run)


def _json(data: Any, *, indent: int | None = 2) -> str:
    """As UTF-8 where the console takes that, else all in ASCII."""
    takes_all = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "").startswith("utf")
    return json.dumps(data, indent=indent, ensure_ascii=not takes_all, allow_nan=False)


def _run(given: argparse.Namespace) -> int:
    from wirecalc.front.choice import choose
    from wirecalc.front.one_run import speaker_run, subwoofer_run
    from wirecalc.front.report import run_data

    make = subwoofer_run if given.subwoofer else speaker_run
    answer = make(given.power, given.load, given.length, given.size)
    choice = choose(answer, zone=given.zone)
    if given.json:
        print(_json(run_data(answer, given.zone)))
    else:
        print(*([answer.words] if answer.asked else []), choice.words, *choice.cautions, sep="\n")
    return BROKEN if choice.state in ("too thin", "too thick") or not choice.pull else FINE


def _template(given: argparse.Namespace) -> int:
    from wirecalc.errors import InputError
    from wirecalc.vehicle.file import template, write_csv, write_workbook

    path: Path = given.file
    if path.suffix.lower() == ".xlsx":
        files = {path: write_workbook(template())}
    elif path.name.endswith("devices.csv"):
        names = path, path.with_name(path.name.removesuffix("devices.csv") + "wires.csv")
        files = dict(zip(names, write_csv(template()), strict=True))
    else:
        raise InputError("FILE", str(path), "a name that ends in .xlsx, or in devices.csv for two lists")
    for name, content in files.items():
        try:
            with name.open("xb") as file:
                file.write(content)
        except FileExistsError:
            raise InputError("FILE", str(name), "a name that is not taken", "Nothing is written over.") from None
        except OSError as why:
            raise InputError("FILE", str(name), "a place that can be written to", f"{why.strerror}.") from None
        print(name)
    return FINE


def _schema(_given: argparse.Namespace) -> int:
    from wirecalc.front.schema import SCHEMA

    print(_json(SCHEMA))
    return FINE


def _plans(given: argparse.Namespace) -> int:
    from wirecalc.errors import InputError
    from wirecalc.front.many_plans import kept_clean, plans_in, solve_all, solved_file
    from wirecalc.front.report import as_data, plan_in_words
    from wirecalc.wire.as_sold import SYSTEMS

    if given.sold_as is not None and given.sold_as not in SYSTEMS:
        raise InputError("--sold-as", given.sold_as, f"one of {', '.join(SYSTEMS)}")
    paths = plans_in(given.plan)
    if len(paths) == 1:
        with kept_clean():
            choice = solved_file(paths[0], given.sold_as)
        print(_json(as_data(choice)) if given.json else plan_in_words(choice))
        return FINE if choice.plan.meets else BROKEN
    code = FINE
    for done, answer in enumerate(solve_all(paths, sold_as=given.sold_as), 1):
        print(_json(answer, indent=None), flush=True)
        state = "cannot be read" if "faults" in answer else "meets" if answer["meets"] else "limits broken"
        print(f"{done} of {len(paths)}: {answer['file']}: {state}", file=sys.stderr)
        code = max(code, BAD_FILE if "faults" in answer else FINE if answer["meets"] else BROKEN)
    return code


if __name__ == "__main__":
    sys.exit(main())
