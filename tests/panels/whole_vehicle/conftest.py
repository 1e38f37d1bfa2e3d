"""The demo with its two faults, chosen once for all that only look at it."""

from __future__ import annotations

import pytest

from dashboards.panels.whole_vehicle.desk import PlanAnswer
from tests.support.jobs import two_faults
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.text import vehicle_of


@pytest.fixture(scope="session")
def answer() -> PlanAnswer:
    chosen = choose_plan(vehicle_of(two_faults()))
    return PlanAnswer(
        plan=chosen.plan, reasons=chosen.reasons, fuse_reasons=chosen.fuse_reasons, final=True, cables=chosen.cables
    )
