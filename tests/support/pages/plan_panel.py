"""The page Whole vehicle without a browser: of a job, an edit, and what a row of its table says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests.support.jobs import row
from wirecalc.jobs import JOBS
from wirecalc.vehicle.choose import choose_plan


def of_job(key: str) -> WholeVehiclePanel:
    """With the default plan of a job and its answer, which stays as it is whatever is typed."""
    job = JOBS[key]
    chosen = choose_plan(job.vehicle())
    answer = PlanAnswer(plan=chosen.plan, reasons=chosen.reasons, fuse_reasons=chosen.fuse_reasons, final=True)

    def soon(*_arguments: Any) -> Iterator[PlanAnswer]:
        yield answer

    panel = WholeVehiclePanel(soon)
    panel._begin(job.text(), job.title)
    return panel


def edit(panel: WholeVehiclePanel, name: str, column: str, text: str) -> None:
    """As the browser sends it."""
    grid = panel.wires.grid
    grid.take({"id": grid.sheet["ids"][row(panel.desk.text, name)], "column": column, "text": text})


def cells(page: str, name: str) -> str:
    """One row of the table, as text."""
    match = re.search(rf"<tr[^>]*><th scope='row'>(?:<a[^>]*>)?{re.escape(name)}<.*?</tr>", page)
    assert match is not None
    return re.sub("<[^>]+>", " ", match[0])
