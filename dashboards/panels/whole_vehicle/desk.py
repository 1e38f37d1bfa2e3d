"""A plan being edited: its text, undo and redo, and the last good answer. No widgets."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace

from dashboards.panels.controls.background import Progress
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import InputError
from wirecalc.vehicle.cable import Pulled
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.fields import CHOOSE, NONE
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import Plan, solve_vehicle
from wirecalc.vehicle.stock import Stock
from wirecalc.vehicle.text import RULE_COLUMNS, Parsed, PlanSheet, PlanText, SheetName, parse
from wirecalc.wire.multicore import Allocation

MOST_STEPS = 200
_WHERE = re.compile(r"(Devices|Wires)(?:, row (\d+))?(?:, (.+))?")


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanAnswer:
    """A plan with all sizes, and why they are so."""

    plan: Plan
    reasons: Mapping[str, str]
    """Of each size that was chosen, by the wire's name."""
    fuse_reasons: Mapping[str, str]
    final: bool
    """False while sizes are those of the answer before."""
    cables: Mapping[str, Allocation] = field(default_factory=dict)
    """What each cable of several conductors carries, by its name in the plan: the plan has its conductors."""


class Desk:
    """The text and the name of a plan, with undo and redo."""

    def __init__(self, text: PlanText, name: str) -> None:
        self._rules: PlanSheet | None = None
        self.parsed: Parsed
        self.begin(text, name)

    def begin(self, text: PlanText, name: str) -> None:
        """Begin with another plan; nothing can be undone."""
        self._steps = [(_without(text), name)]
        self._move(0)

    def go_by(self, rules: HouseRules) -> None:
        """Have the plan read by these house rules, whichever it came with."""
        self._rules = with_rules(rules)
        self._move(self._at)

    @property
    def text(self) -> PlanText:
        """As it stands; its house rules are the page's."""
        return self._steps[self._at][0]

    @property
    def whole(self) -> PlanText:
        """With the house rules that differ from the defaults, as it is saved."""
        return replace(self.text, rules=self._rules)

    @property
    def name(self) -> str:
        """Of the plan, or of the file that it is from."""
        return self._steps[self._at][1]

    @property
    def empty(self) -> bool:
        """Whether no row of either list has anything in it."""
        return not any(any(row) for sheet in (self.text.devices, self.text.wires) for row in sheet.rows)

    @property
    def can(self) -> tuple[bool, bool]:
        """Whether there is a step to undo, and one to redo."""
        return self._at > 0, self._at < len(self._steps) - 1

    def put(self, text: PlanText, name: str = "") -> None:
        """A new step, under the same name if none is given; what was undone before is gone."""
        step = (_without(text), name or self.name)
        if step == self._steps[self._at]:
            return
        self._steps = [*self._steps[: self._at + 1][-MOST_STEPS:], step]
        self._move(len(self._steps) - 1)

    def step(self, by: int) -> None:
        """Back (-1) or forth (1)."""
        self._move(min(max(self._at + by, 0), len(self._steps) - 1))

    def _move(self, at: int) -> None:
        self._at = at
        self.parsed = parse(self.whole)

    def write(self, name: SheetName, row: int, column: str, text: str) -> None:
        """Another text in one cell. What is longer than a file may have is refused: `InputError`."""
        self._put_sheet(name, self.text.sheet(name).with_cell(row, column, text))

    def add(self, name: SheetName) -> None:
        """An empty row at the end."""
        sheet = self.text.sheet(name)
        self._put_sheet(name, replace(sheet, rows=(*sheet.rows, ("",) * len(sheet.columns))))

    def add_column(self, name: SheetName, column: str) -> None:
        """A column that the list does not have yet."""
        sheet = self.text.sheet(name)
        if column not in sheet.columns:
            rows = tuple((*row, "") for row in sheet.rows)
            self._put_sheet(name, PlanSheet(columns=(*sheet.columns, column), rows=rows))

    def remove(self, name: SheetName, row: int) -> None:
        """Take a row out."""
        rows = self.text.sheet(name).rows
        if not 0 <= row < len(rows):
            raise InputError("Row", row + 1, f"1 to {len(rows)}" if rows else "none: the list is empty")
        self._put_sheet(name, replace(self.text.sheet(name), rows=(*rows[:row], *rows[row + 1 :])))

    def choose_anew(self, wires: Collection[str]) -> None:
        """Leave size and fuse of these wires to be chosen, where a size or a rating was typed; one step."""
        sheet = self.text.wires
        names = sheet.column("Name")
        for column in ("Size", "Fuse"):
            for row, (name, typed) in enumerate(zip(names, sheet.column(column), strict=False)):
                if name in wires and typed not in ("", NONE):
                    sheet = sheet.with_cell(row, column, CHOOSE)
        self._put_sheet("Wires", sheet)

    def _put_sheet(self, name: SheetName, sheet: PlanSheet) -> None:
        self.put(replace(self.text, **{name.casefold(): sheet}))


def _without(text: PlanText) -> PlanText:
    """Without what comes with a plan and is the page's from then on."""
    return replace(text, rules=None, pulled=None, own=None)


def with_rules(rules: HouseRules) -> PlanSheet | None:
    """What differs from the defaults as a plan has it; None if nothing."""
    changes = tuple(rules.changes.items())
    return PlanSheet(columns=RULE_COLUMNS, rows=changes) if changes else None


def place(fault: InputError) -> tuple[str, int | None, str]:
    """Sheet, row from 0 (None if it is about the whole list) and column that a fault of a plan is about."""
    match = _WHERE.fullmatch(fault.field)
    if match is None:
        return "", None, ""
    return match[1], int(match[2]) - 1 if match[2] else None, match[3] or ""


def answers(
    vehicle: Vehicle, stock: Stock, before: PlanAnswer | None, tell: Progress, pulled: Pulled | None = None
) -> Iterator[PlanAnswer]:
    """First with the sizes that were chosen before, so that an edit has its verdict soon; then with all chosen anew.

    Parameters
    ----------
    vehicle : Vehicle
    stock : Stock
    before : PlanAnswer or None
    tell : callable
        See `wirecalc.vehicle.choose.choose_plan`.
    pulled : wirecalc.vehicle.cable.Pulled, optional
        What is pulled for the cables of several conductors.

    Yields
    ------
    PlanAnswer
        One, or two.
    """
    kept = vehicle if before is None else as_before(vehicle, before)
    if kept is not vehicle:
        assert before is not None
        anew = None if _open(kept) == 0 else choose_plan(kept, stock, pulled=pulled)
        yield PlanAnswer(
            plan=solve_vehicle(kept) if anew is None else anew.plan,
            reasons=_of_open(vehicle, "size", before.reasons, anew.reasons if anew else {}),
            fuse_reasons=_of_open(vehicle, "fuse", before.fuse_reasons, anew.fuse_reasons if anew else {}),
            final=False,
            cables=before.cables if anew is None else anew.cables,
        )
    cables = any(wire.cable for wire in vehicle.wires)
    if _open(vehicle) == 0:
        yield PlanAnswer(plan=solve_vehicle(vehicle), reasons={}, fuse_reasons={}, final=not cables)
        if not cables:
            return
    chosen = _chosen(vehicle, stock, tell, pulled)
    yield PlanAnswer(
        plan=chosen.plan, reasons=chosen.reasons, fuse_reasons=chosen.fuse_reasons, final=True, cables=chosen.cables
    )


_OF_LATE: deque[tuple[object, ChosenPlan]] = deque(maxlen=8)


def _chosen(vehicle: Vehicle, stock: Stock, tell: Progress, pulled: Pulled | None) -> ChosenPlan:
    """See `choose_plan`; what was chosen of late is remembered: what is undone, or come back to, is there at once."""
    asked = (vehicle, [wire.usual_insulation for wire in vehicle.wires], stock, pulled)
    known = next((chosen for of, chosen in _OF_LATE if of == asked), None)
    if known is None:
        known = choose_plan(vehicle, stock, tell, pulled)
        _OF_LATE.append((asked, known))
    return known


def _of_open(vehicle: Vehicle, what: str, *reasons: Mapping[str, str]) -> dict[str, str]:
    """The reasons of wires whose size is still left to be chosen; a size that was typed meanwhile needs none."""
    still = {wire.name for wire in vehicle.wires if getattr(wire, what) == CHOOSE}
    return {name: reason for some in reasons for name, reason in some.items() if name in still}


def _open(vehicle: Vehicle) -> int:
    return sum((wire.size == CHOOSE) + (wire.fuse == CHOOSE) for wire in vehicle.wires)


def as_before(vehicle: Vehicle, before: PlanAnswer) -> Vehicle:
    """With the sizes, fuses and conductors of cables that were chosen before, for wires that still ask for one.

    The same object if there are none.
    """
    known = {wire.name: wire for wire in before.plan.vehicle.wires}
    in_cable = {use.circuit.name: name for name, each in before.cables.items() for use in each.uses}
    wires = []
    for wire in vehicle.wires:
        was = known.get(wire.name)
        if was is not None and wire.size == CHOOSE and wire.cable and in_cable.get(wire.name) == wire.cable:
            wire = replace(
                wire, size=was.size, parallel=was.parallel, metal=was.metal, stranding=was.stranding,
                insulation=was.insulation, cable=was.cable,
            )  # fmt: skip
        elif was is not None and wire.size == CHOOSE and wire.name in before.reasons:
            insulation = was.insulation if wire.usual_insulation else wire.insulation
            wire = replace(wire, size=was.size, insulation=insulation, parallel=max(was.parallel, wire.parallel))
        if was is not None and wire.fuse == CHOOSE and wire.name in before.fuse_reasons:
            wire = replace(wire, fuse=was.fuse)
        wires.append(wire)
    return replace(vehicle, wires=tuple(wires)) if tuple(wires) != vehicle.wires else vehicle
