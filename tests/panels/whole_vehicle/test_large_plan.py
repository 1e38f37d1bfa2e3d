"""Three hundred wires on the page Whole vehicle, without a browser."""

from __future__ import annotations

import time

import numpy as np

from dashboards.panels.whole_vehicle.desk import answers
from dashboards.panels.whole_vehicle.page import (
    CIRCUITS,
    WIRES,
    WholeVehiclePanel,
)
from tests.support.jobs import fixed, large
from tests.support.pages.plan_panel import cells, edit
from wirecalc.vehicle.file import write_workbook


def test_three_hundred_wires_load_and_answer() -> None:
    """An edit among 300 wires takes no longer than 300/36 edits among 36 would, twice over for a busy machine."""

    def seconds(panel: WholeVehiclePanel) -> float:
        taken = []
        for size in ("18 AWG", "16 AWG", "14 AWG"):
            start = time.process_time()
            edit(panel, "Right dash run", "Size", size)
            taken.append(time.process_time() - start)
            assert size in cells(panel.circuits.html, "Right dash run")
        return min(taken)

    panel = WholeVehiclePanel(lambda *_: iter(()))  # until there is nothing to choose
    panel.bar.value = CIRCUITS
    panel.work = answers
    panel.files.take("small.xlsx", write_workbook(fixed()))
    small = seconds(panel)
    panel.files.take("large.xlsx", write_workbook(large(300)))
    assert panel.circuits.html.count("<tr") == 301
    assert len(panel.wires.grid.sheet["rows"]) == 300
    ratio = seconds(panel) / small
    print(f"an edit among 300 wires over one among 36: {ratio:.1f}")
    assert ratio < 2 * 300 / 36
    panel.bar.value = WIRES
    assert np.isin(["✓", "✗"], [mark[:1] for mark in panel.wires.grid.marks]).all()
