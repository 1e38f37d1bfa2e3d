"""The demo vehicle as a job to hand over: plan chosen, two cables allocated, a buy list cut; all invented."""

from __future__ import annotations

import dataclasses
import datetime
from functools import cache

from dashboards.panels.handout.document import handout
from dashboards.panels.handout.job import HandoutJob
from tests.support.jobs import two_faults
from wirecalc.cutting.pieces import Spool
from wirecalc.vehicle.buy import buy
from wirecalc.vehicle.cable import Pulled
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.pulls import pulls
from wirecalc.vehicle.text import PlanSheet, PlanText, vehicle_of
from wirecalc.wire.cable_types import CABLES

DATE = datetime.date(2026, 11, 25)
TYPES = {"boot cable": CABLES["speaker_9"], "left door cable": CABLES["speaker_4"]}
HOSTILE = "=<script>alert('x')</script>\"&"  # as markup, in an attribute, as a formula


def job(text: PlanText | None = None, **more: object) -> HandoutJob:
    """The demo, or another plan's text, handed over."""
    return dataclasses.replace(_job(two_faults() if text is None else text), **more)  # type: ignore[arg-type]


@cache
def demo_page() -> str:
    """The demo's handout."""
    return handout(job())


@cache
def _job(text: PlanText) -> HandoutJob:
    choice = choose_plan(vehicle_of(text), pulled=Pulled(types=TYPES))
    return HandoutJob(
        title="Blue estate, invented", date=DATE, version="1.2.3", text=text, plan=choice.plan, reasons=choice.reasons,
        fuse_reasons=choice.fuse_reasons, allocations=choice.cables,
        buy_list=buy(
            pulls(choice.plan, tuple(choice.cables.items())), [Spool(length_m=10.0), Spool(length_m=30.0)], seconds=0.5
        ),
    )  # fmt: skip


def hostile() -> HandoutJob:
    """The demo with a title, devices, wires, a bundle, a note that try to be run."""
    names = ("Main feed", "Front amplifier", "right sill", "Left dash speaker", "along the left sill")
    return job(_renamed({old: f"{HOSTILE}{at}" for at, old in enumerate(names)}), title=HOSTILE)


def _renamed(names: dict[str, str]) -> PlanText:
    """The demo with other words in some cells."""

    def of(sheet: PlanSheet) -> PlanSheet:
        rows = tuple(tuple(names.get(cell, cell) for cell in row) for row in sheet.rows)
        return PlanSheet(columns=sheet.columns, rows=rows)

    demo = two_faults()
    return PlanText(devices=of(demo.devices), wires=of(demo.wires))
