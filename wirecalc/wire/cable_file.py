"""Cables of several conductors as a CSV file that a person saves, edits in a spreadsheet and opens again.

A row for each conductor, under these headings; what is left empty is in brackets:

    cable        what the person calls it (that of the row above)
    conductor    its colour, with a stripe behind a slash: white, white/black; a number tells alike ones apart: white 2
    size         18 AWG, 0.75 mm2 (that of the row above)
    pair         two that are twisted together have the same word (a loose one)
    channel      what the trade uses it for: front left, remote turn-on (nothing fixed)
    way          + or − of a pair (by the order)
    outer_mm     over the jacket, in the first row of a cable (the least that its conductors need)
    jacket_mm    how thick the jacket is, in the first row, for the drawing (1 mm, or what there is room for)
    insulation   as on the pages or its short name, in the first row (PVC without a rating)
    screen       yes or no, in the first row (no)
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence

from wirecalc import csv_text
from wirecalc.errors import FileFaults, InputError, check
from wirecalc.units import read_standard_size
from wirecalc.units_taken import takes_units
from wirecalc.wire.cable_types import CABLES, LONGEST_NAME, MOST_CORES, MOST_OWN, OWN, CableType, Core, Way
from wirecalc.wire.conductor import conductor
from wirecalc.wire.cross_section import cross_section, least_outer_m
from wirecalc.wire.insulation import INSULATIONS, Insulation

COLUMNS = ("cable", "conductor", "size", "pair", "channel", "way", "outer_mm", "insulation", "screen", "jacket_mm")
MOST_CHARACTERS = 100_000
OWN_SOURCE = "as entered; held against nothing"
COLOURS = {core.name: core.colour for cable in CABLES.values() for core in cable.cores if "/" not in core.name}
"""Colours that have a name, "#rrggbb" each: those of data/multicore_cables.csv."""
_WORDS = {"gray": "grey", "purple": "violet"}
_SIZE = re.compile(r"\s\d\S*\s*(?:awg|ga|gauge|mm2|mm²)\.?$", re.IGNORECASE)
_NUMBER = re.compile(r" \d{1,2}$")


def key_of(name: str) -> str:
    """What stands for a cable of one's own in links: small letters and figures with dashes between.

    Examples
    --------
    >>> key_of("Van, 12 × 0.75 mm²")
    'own-van-12-0-75-mm2'
    """
    plain = name.casefold().replace("²", "2")
    return OWN + re.sub(r"[\W_]+", "-", plain).strip("-")


def colours_of(name: str, field: str = "Conductor") -> tuple[str, str]:
    """Colour and stripe of a conductor by its name.

    Parameters
    ----------
    name : str
        "white/black 2" is a white one with a black stripe, told apart from another.
    field : str
        For messages.

    Returns
    -------
    tuple of (str, str)
        "#rrggbb" each; the stripe may be empty.

    Raises
    ------
    InputError
        If a colour has no name here.
    """
    words = [word.strip() for word in _NUMBER.sub("", name.casefold()).split("/")]
    known = [_WORDS.get(word, word) for word in words]
    if len(known) > 2 or not all(word in COLOURS for word in known):
        allowed = f"a colour, or two with a slash between: {', '.join(COLOURS)}"
        raise InputError(field, name, allowed, "Alike ones get a number: white 2.")
    return COLOURS[known[0]], COLOURS[known[1]] if len(known) == 2 else ""


def read_conductors(text: str, size: tuple[str, float], *, twisted: bool) -> tuple[Core, ...]:
    """Conductors as a person lists them: colours in order, with commas between.

    Parameters
    ----------
    text : str
        A size behind a colour is that one's own: "white, white/black, blue 20 AWG".
    size : tuple of (str, float)
        Of all others, as `wirecalc.units.read_standard_size` gives it.
    twisted : bool
        Whether each two neighbours are a pair; of an odd number the last is loose.

    Returns
    -------
    tuple of Core

    Raises
    ------
    InputError
        If a colour has no name here or a size cannot be read.

    Examples
    --------
    >>> [(core.name, core.conductor.label, core.pair) for core in
    ...  read_conductors("white, white/black, blue 20 AWG", ("AWG", 18.0), twisted=True)]
    [('white', '18 AWG', 'white'), ('white/black', '18 AWG', 'white'), ('blue', '20 AWG', '')]
    """
    parts = [part.strip() for part in re.split(r"[,;\n](?!\d)", text) if part.strip()]
    if not parts:
        raise InputError("Conductors", "", "colours with commas between, as in white, white/black, blue")
    cores: list[Core] = []
    for at, part in enumerate(parts):
        own = _SIZE.search(part)
        name = part[: own.start()].strip() if own else part
        colour, stripe = colours_of(name, "Conductors")
        system, number = read_standard_size(own[0].strip(), "Conductors") if own else size
        first = at - at % 2
        pair = ""
        if twisted and first + 1 < len(parts):
            pair = cores[first].name if at % 2 else name
        way: Way = "" if not pair else "−" if at % 2 else "+"
        cores.append(
            Core(name=name, colour=colour, stripe=stripe, conductor=conductor(system, number), pair=pair, way=way)
        )
    return tuple(cores)


def insulation_named(text: str, field: str = "Insulation") -> Insulation:
    """An insulation by its name or its short name; of none that of a wire without a rating.

    Parameters
    ----------
    text : str
        "pvc_80", or as the pages name it.
    field : str
        For messages.

    Returns
    -------
    Insulation

    Raises
    ------
    InputError
        If there is none such.
    """
    if not text:
        return INSULATIONS["pvc_60"]
    for key, insulation in INSULATIONS.items():
        if text.casefold() in (key, insulation.name.casefold()):
            return insulation
    raise InputError(field, text, ", ".join(INSULATIONS))


@takes_units
def own_cable(
    name: str,
    cores: Sequence[Core],
    insulation: Insulation,
    *,
    outer_m: float | None = None,
    jacket_m: float | None = None,
    screened: bool = False,
) -> CableType:
    """A cable of one's own.

    Parameters
    ----------
    name : str
        Up to 80 characters.
    cores : sequence of Core
        1 to 24.
    insulation : Insulation
        Of each conductor.
    outer_m : float, optional
        Over the jacket; the least that the conductors need if not given. [m]
    jacket_m : float, optional
        How thick the jacket is. [m]
    screened : bool
        Whether it has a screen.

    Returns
    -------
    CableType

    Raises
    ------
    InputError
        If there are too many conductors or too few, two have one name, a pair is no pair, or they do not fit.
    """
    if not name.strip() or len(name) > LONGEST_NAME or key_of(name) == OWN:
        raise InputError("Cable", name, f"a name of up to {LONGEST_NAME} characters")
    check(f"Conductors in “{name}”", len(cores), "", low=1, high=MOST_CORES)
    made = CableType(
        key=key_of(name), name=name.strip(), insulation=insulation, cores=tuple(cores), screened=screened,
        jacket_m=jacket_m,
        outer_m=math.ceil(least_outer_m(cores, insulation) * 1e5) * 1e-5 if outer_m is None else outer_m,
        source=OWN_SOURCE, confidence="not checked",
    )  # fmt: skip
    cross_section(made)  # says whether they fit
    return made


def read_cables(text: str, name: str = "Cables") -> tuple[CableType, ...]:
    """Cables from a CSV file.

    Parameters
    ----------
    text : str
        As this module's head says.
    name : str
        What the file is called in messages.

    Returns
    -------
    tuple of CableType
        In the order of the file.

    Raises
    ------
    FileFaults
        With all that is wrong, row by row as a spreadsheet counts them.
    """
    if len(text) > MOST_CHARACTERS:
        raise FileFaults([InputError(name, f"{len(text)} characters", f"at most {MOST_CHARACTERS}")])
    lines = csv_text.read_rows(text.removeprefix("\ufeff"), name)
    head = [cell.strip().casefold() for cell in next(lines, [])]
    if missing := [column for column in ("cable", "conductor", "size") if column not in head]:
        allowed = f"columns {', '.join(COLUMNS)}"
        raise FileFaults([InputError(f"{name}, row 1", ", ".join(head), allowed, f"There is no {missing[0]}.")])
    faults: list[InputError] = []
    groups: dict[str, list[tuple[int, dict[str, str]]]] = {}
    last = {"cable": "", "size": ""}
    for number, cells in enumerate(lines, start=2):
        row = {key: cell.strip() for key, cell in zip(head, cells, strict=False)}
        if not any(row.values()):
            continue
        if row.get("cable") and row["cable"] != last["cable"]:
            last = {"cable": row["cable"], "size": ""}
        last["size"] = row.get("size") or last["size"]
        groups.setdefault(last["cable"], []).append((number, {**row, **last}))
    cables = [cable for rows in groups.values() if (cable := _one(rows, faults)) is not None]
    if len(groups) > MOST_OWN:
        faults.append(InputError(name, f"{len(groups)} cables", f"at most {MOST_OWN}"))
    if len({cable.key for cable in cables}) < len(cables):
        faults.append(InputError(name, "two cables of one name", "each name once"))
    if not groups:
        faults.append(InputError(name, "", "a row for each conductor"))
    if faults:
        raise FileFaults(faults)
    return tuple(cables)


def _one(rows: Sequence[tuple[int, Mapping[str, str]]], faults: list[InputError]) -> CableType | None:
    """One cable; what is wrong with it goes to `faults`."""
    before = len(faults)
    first, top = rows[0]
    cores = [core for number, row in rows if (core := _core(number, row, faults)) is not None]
    try:
        outer_m, jacket_m = (
            _millimetres(top, first, column, low, high)
            for column, low, high in (("outer_mm", 1, 100), ("jacket_mm", 0.1, 5))
        )
        insulation = insulation_named(top.get("insulation", ""), f"Row {first}, insulation")
        screen = top.get("screen", "").casefold()
        if screen not in ("", "yes", "no"):
            raise InputError(f"Row {first}, screen", screen, "yes or no")
        if len(faults) > before:
            return None
        return own_cable(top["cable"], cores, insulation, outer_m=outer_m, jacket_m=jacket_m, screened=screen == "yes")
    except InputError as why:
        here = why.field if why.field.startswith("Row ") else f"Row {first}, {why.field}"
        faults.append(InputError(here, why.given, why.allowed, why.hint))
        return None


def _core(number: int, row: Mapping[str, str], faults: list[InputError]) -> Core | None:
    where = f"Row {number}"
    try:
        name = row.get("conductor", "")
        if not name:
            raise InputError(f"{where}, conductor", "", "a colour")
        for column in ("conductor", "pair", "channel"):
            if len(row.get(column, "")) > LONGEST_NAME:
                raise InputError(f"{where}, {column}", row[column][:20] + "…", f"at most {LONGEST_NAME} characters")
        colour, stripe = colours_of(name, f"{where}, conductor")
        way: dict[str, Way] = {"": "", "+": "+", "-": "−", "−": "−"}
        if row.get("way", "") not in way:
            raise InputError(f"{where}, way", row["way"], "+ or −, or nothing")
        return Core(
            name=name, colour=colour, stripe=stripe,
            conductor=conductor(*read_standard_size(row["size"], f"{where}, size")),
            pair=row.get("pair", ""), channel=row.get("channel", ""), way=way[row.get("way", "")],
        )  # fmt: skip
    except InputError as why:
        here = why.field if why.field.startswith("Row ") else f"{where}, {why.field}"
        faults.append(InputError(here, why.given, why.allowed, why.hint))
        return None


def _millimetres(row: Mapping[str, str], number: int, column: str, low: float, high: float) -> float | None:
    """A cell of the first row of a cable; None if empty. [m]"""
    text, field = row.get(column, "").replace(",", "."), f"Row {number}, {column}"
    if not text:
        return None
    try:
        given_mm = float(text)
    except ValueError:
        raise InputError(field, text, "millimetres, as in 9.5, or nothing") from None
    return float(check(field, given_mm, "mm", low=low, high=high)) * 1e-3


def write_cables(cables: Iterable[CableType]) -> bytes:
    """Cables as a CSV file, every cell written out; `read_cables` gives them again.

    Parameters
    ----------
    cables : iterable of CableType

    Returns
    -------
    bytes
    """
    rows: list[Sequence[str]] = [COLUMNS]
    for cable in cables:
        for at, core in enumerate(cable.cores):
            jacket = "" if cable.jacket_m is None else f"{cable.jacket_m * 1e3:.6g}"
            once = (f"{cable.outer_m * 1e3:.6g}", cable.insulation.key, "yes" if cable.screened else "no", jacket)
            size = core.conductor.label.replace("mm²", "mm2")
            own = (cable.name, core.name, size, core.pair, core.channel, core.way)
            rows.append((*own, *(once if at == 0 else ("",) * 4)))
    return csv_text.csv_bytes(rows)
