"""The demo vehicle as a job to hand over: plan chosen, two cables allocated, a buy list cut; all invented."""

from __future__ import annotations

import dataclasses
import datetime
from functools import cache

from dashboards.panels.handout.document import handout
from dashboards.panels.handout.job import Job
from tests.support.jobs import two_faults
from wirecalc.cutting.pieces import Spool
from wirecalc.vehicle.buy import Pull, buy
from wirecalc.vehicle.choose import choose
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.text import PlanSheet, PlanText, vehicle_of
from wirecalc.wire.cable_types import CABLES
from wirecalc.wire.core_choice import CableCircuit
from wirecalc.wire.multicore import Allocation, allocate

DATE = datetime.date(2026, 11, 25)
TYPES = {"boot cable": CABLES["speaker_9"], "left door cable": CABLES["speaker_4"]}
HOSTILE = "=<script>alert('x')</script>\"&"  # as markup, in an attribute, as a formula


def job(text: PlanText | None = None, **more: object) -> Job:
    """The demo, or another plan's text, handed over."""
    return dataclasses.replace(_job(two_faults() if text is None else text), **more)  # type: ignore[arg-type]


@cache
def demo_page() -> str:
    """The demo's handout."""
    return handout(job())


@cache
def _job(text: PlanText) -> Job:
    choice = choose(vehicle_of(text))
    allocations = {name: _allocated(choice.plan, name) for name in TYPES if _wires(choice.plan, name)}
    return Job(
        title="Blue estate, invented", date=DATE, version="1.2.3", text=text, plan=choice.plan, reasons=choice.reasons,
        fuse_reasons=choice.fuse_reasons, allocations=allocations,
        buy_list=buy(_pulls(choice.plan, allocations), [Spool(length_m=10.0), Spool(length_m=30.0)], seconds=0.5),
    )  # fmt: skip


def _wires(plan: Plan, cable: str) -> list[str]:
    return [one.wire.name for one in plan.circuits if one.wire.cable == cable]


def _allocated(plan: Plan, cable: str) -> Allocation:
    circuits = [
        CableCircuit(name=name, needs="pair" if plan.circuit(name).laid.ways == 2 else "single", current_a=1.0,
                judged={1: (name != "Right dash run", "meets every limit"), 2: (True, "meets every limit")})
        for name in _wires(plan, cable)
    ]  # fmt: skip
    return allocate(TYPES[cable], circuits, ambient_c=45.0)


def _pulls(plan: Plan, allocations: dict[str, Allocation]) -> list[Pull]:
    carried = {use.circuit.name for one in allocations.values() for use in one.uses if use.carried}
    pulls = [
        Pull(name=one.wire.name, wire=f"{one.conductor.label} {one.wire.metal}", length_m=one.wire.length_m,
             conductors=one.laid.ways * one.wire.parallel, ends=("ring M8", ""),
             fuse="" if isinstance(one.wire.fuse, str) else "blade",
             fuse_a=None if isinstance(one.wire.fuse, str) else one.wire.fuse)
        for one in plan.circuits if one.wire.name not in carried
    ]  # fmt: skip
    cables = [
        Pull(name=name, wire=one.cable.name, length_m=max(plan.circuit(wire).wire.length_m for wire in carried & set(
             _wires(plan, name))), cores=len(one.cable.cores) - len(one.spare), ends=("pin", "pin"), size="18 AWG")
        for name, one in allocations.items()
    ]  # fmt: skip
    return pulls + cables


def hostile() -> Job:
    """The demo with a title, devices, wires, a bundle, a note that try to be run."""
    names = ("Main feed", "Front amplifier", "right sill", "Left dash loudspeaker", "along the left sill")
    return job(_renamed({old: f"{HOSTILE}{at}" for at, old in enumerate(names)}), title=HOSTILE)


def _renamed(names: dict[str, str]) -> PlanText:
    """The demo with other words in some cells."""

    def of(sheet: PlanSheet) -> PlanSheet:
        rows = tuple(tuple(names.get(cell, cell) for cell in row) for row in sheet.rows)
        return PlanSheet(columns=sheet.columns, rows=rows)

    demo = two_faults()
    return PlanText(devices=of(demo.devices), wires=of(demo.wires))
