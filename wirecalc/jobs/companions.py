"""The wires that a device needs and a plan does not have yet: feed with its fuse, ground, turn-on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from wirecalc.jobs.job import Row, fused, job_wire
from wirecalc.jobs.question import ACROSS_M
from wirecalc.jobs.vehicle_own import GROUND_M
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.fields import AMPLIFIER, BATTERY, BLOCK, BODY, HEAD, LAMPS, OTHER, PROCESSOR, SHOWN, WIRE_FIELDS
from wirecalc.vehicle.terminals import role
from wirecalc.vehicle.text import PlanSheet, PlanText, cell_text, same

DRAWS = (HEAD, PROCESSOR, AMPLIFIER, LAMPS, OTHER)
FROM_BLOCK_M = 1.0  # from a fuse block to a device beside it: common practice, no source
ASSUMED = "length assumed: measure it"
_BY_SHOWN = {shown: kind for kind, shown in SHOWN.items()}


@dataclass(frozen=True, kw_only=True)
class Offer:
    """Wires for one device."""

    device: str
    wires: tuple[Row, ...]
    what: str
    """ "feed with fuse, ground, turn-on"."""

    @property
    def title(self) -> str:
        """As it stands on a button."""
        return f"Add {self.what} for {self.device}"


def offers(text: PlanText) -> tuple[Offer, ...]:
    """What is missing, device by device; of a plan with faults too.

    Parameters
    ----------
    text : PlanText

    Returns
    -------
    tuple of Offer
        In the order of the list. Nothing for a device that is fed, grounded and turned on, or where there is nothing to
        feed it from.
    """
    kinds = _kinds(text.devices)
    ends = _ends(text.wires)
    offered = []
    for name, kind in kinds.items():
        if kind not in DRAWS:
            continue
        wires = tuple(_missing(name, kind, kinds, ends))
        if wires:
            what = ", ".join(label for label, _ in wires)
            offered.append(Offer(device=name, wires=tuple(wire for _, wire in wires), what=what))
    return tuple(offered)


def added(text: PlanText, offer: Offer) -> PlanText:
    """The plan with the wires of an offer at the end of its list.

    Parameters
    ----------
    text : PlanText
    offer : Offer
        Of this plan.

    Returns
    -------
    PlanText
    """
    fields = {each.key: each for each in WIRE_FIELDS}
    sheet = text.wires
    have = {same(column) for column in sheet.columns}
    new = [fields[key].column for wire in offer.wires for key in wire if same(fields[key].column) not in have]
    columns = (*sheet.columns, *dict.fromkeys(new))
    by_heading = {same(each.column): each.key for each in WIRE_FIELDS}
    rows = [(*row, *[""] * (len(columns) - len(row))) for row in sheet.rows]
    for wire in offer.wires:
        keys = [by_heading.get(same(column), "") for column in columns]
        rows.append(tuple(cell_text(fields[key], wire[key]) if key in wire else "" for key in keys))
    return replace(text, wires=PlanSheet(columns=columns, rows=tuple(rows)))


def _kinds(sheet: PlanSheet) -> dict[str, str]:
    """Kind of each device by its name, as far as both are written."""
    at = {same(column): place for place, column in enumerate(sheet.columns)}
    if not {"name", "kind"} <= at.keys():
        return {}
    typed = {row[at["name"]]: same(row[at["kind"]]) for row in sheet.rows if row[at["name"]]}
    return {name: _BY_SHOWN.get(kind, kind) for name, kind in typed.items()}


def _ends(sheet: PlanSheet) -> list[tuple[str, str, str, str]]:
    """Device and terminal at each end of every wire."""
    at = {same(column): place for place, column in enumerate(sheet.columns)}
    heads = ("from", "from terminal", "to", "to terminal")
    if not set(heads) <= at.keys():
        return []
    return [(row[at["from"]], row[at["from terminal"]], row[at["to"]], row[at["to terminal"]]) for row in sheet.rows]


def _missing(
    name: str, kind: str, kinds: Mapping[str, str], ends: list[tuple[str, str, str, str]]
) -> list[tuple[str, Row]]:
    def has(does: str, *, arriving: bool) -> bool:
        own = ((end[2], end[3]) if arriving else (end[0], end[1]) for end in ends)
        return any(device == name and (role(kind, terminal) or ("",))[0] == does for device, terminal in own)

    missing: list[tuple[str, Row]] = []
    feed = _source(name, kinds, ends)
    if feed is not None and not has("plus", arriving=True):
        start, length_m = feed
        missing.append(("feed with fuse", fused(f"{name} feed", start, (name, "plus"), length_m, ASSUMED)))
    body = next((other for other, its in kinds.items() if its == BODY), None)
    if kind in (AMPLIFIER, PROCESSOR, HEAD) and body is not None and not has("minus", arriving=False):
        end = (body, f"beside {name}"[:40])
        missing.append(("ground", job_wire(f"{name} ground", (name, "minus"), end, GROUND_M, ASSUMED)))
    wakes = next((other for other, its in kinds.items() if its == PROCESSOR and other != name), None)
    head = next((other for other, its in kinds.items() if its == HEAD), None)
    terminal = {AMPLIFIER: "remote", PROCESSOR: "remote in"}.get(kind)
    if terminal is not None and (wakes or head) and not has("remote in", arriving=True):
        by = wakes if wakes is not None and kind == AMPLIFIER else head
        if by is not None:
            out = "remote out" if kinds[by] == PROCESSOR else "remote"
            missing.append(("turn-on", job_wire(f"{name} turn-on", (by, out), (name, terminal), ACROSS_M, ASSUMED)))
    return missing


def _source(
    name: str, kinds: Mapping[str, str], ends: list[tuple[str, str, str, str]]
) -> tuple[tuple[str, str], float] | None:
    """Where a feed starts: at a fuse block that is fed, or at the battery; and how long it is. [m]"""
    for block, kind in kinds.items():
        fed = any(end == block and (role(BLOCK, terminal) or ("",))[0] == "plus" for _, _, end, terminal in ends)
        if kind == BLOCK and block != name and fed:
            used = sum(start == block for start, *_ in ends)
            return (block, f"out {used + 1}"), FROM_BLOCK_M
    battery = next((other for other, kind in kinds.items() if kind == BATTERY), None)
    return None if battery is None else ((battery, "plus"), ACROSS_M)
