"""The page Whole vehicle without a browser: an edit, and what a row of its table says."""

from __future__ import annotations

import re

from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests.support.jobs import row


def edit(panel: WholeVehiclePanel, name: str, column: str, text: str) -> None:
    """As the browser sends it."""
    grid = panel.wires.grid
    grid.take({"id": grid.sheet["ids"][row(panel.desk.text, name)], "column": column, "text": text})


def cells(page: str, name: str) -> str:
    """One row of the table, as text."""
    found = re.search(rf"<tr[^>]*><th scope='row'>(?:<a[^>]*>)?{re.escape(name)}<.*?</tr>", page)
    assert found is not None
    return re.sub("<[^>]+>", " ", found[0])
