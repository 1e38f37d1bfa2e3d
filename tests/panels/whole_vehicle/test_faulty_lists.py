"""What the page says while its lists have faults, and when nothing is in them."""

from __future__ import annotations

from typing import Any

import pytest

from dashboards.panels.whole_vehicle.page import CIRCUITS, NOTHING, WholeVehiclePanel
from tests.support.pages.plan_panel import of_job


@pytest.fixture
def panel() -> WholeVehiclePanel:
    """A small plan with its answer."""
    made = of_job("device-on-supply")
    assert "keeps every limit" in made.headline.value
    return made


def stale(view: Any) -> bool:
    return "wc-stale" in view._dom_classes


def test_an_old_verdict_is_dimmed_until_the_lists_are_right(panel: WholeVehiclePanel) -> None:
    assert not stale(panel.headline)
    panel.wires._write(0, "Size", "")
    assert panel.faults.shown["lines"][0].startswith("Wires, row 1, Size: missing;")
    assert stale(panel.headline)
    assert stale(panel.tabs[CIRCUITS])
    assert not stale(panel.tabs["Wires"])
    assert "Correct the lists first. Before: 1 circuit," in panel.headline.value
    panel.wires._write(0, "Size", "choose")
    assert not stale(panel.headline)
    assert not stale(panel.tabs[CIRCUITS])
    assert "Correct" not in panel.headline.value


def test_a_fault_leads_to_its_cell_by_the_number_that_is_seen(panel: WholeVehiclePanel) -> None:
    panel.devices._write(1, "Kind", "planet")
    panel._to_cell(0)
    assert panel.faults.shown["lines"][0].startswith("Devices, row 2, Kind:")
    assert panel.devices.grid.focus[:2] == [1, "Kind"]


def test_with_every_row_deleted_the_page_says_what_to_do(panel: WholeVehiclePanel) -> None:
    for tab in (panel.wires, panel.devices):
        while panel.desk.text.sheet(tab.name).rows:
            tab._remove(0)
    assert NOTHING in panel.headline.value.replace("&#x27;", "'")
    assert panel.faults.shown["lines"] == []
    assert "limit" not in panel.headline.value
    assert panel.circuits.html == ""
    panel.undo.click()
    assert NOTHING not in panel.headline.value


def test_without_a_battery_or_a_body_each_is_asked_for(panel: WholeVehiclePanel) -> None:
    panel.wires._remove(0)
    panel.devices._remove(0)
    panel.devices._remove(0)
    assert len(panel.faults.shown["lines"]) == 2
    assert "missing; give a row of the kind battery" in panel.faults.shown["lines"][0]


def test_a_bare_length_gets_the_units_of_the_page(panel: WholeVehiclePanel) -> None:
    at = panel.desk.text.wires.columns.index("Length")
    panel.wires._write(0, "Length", "18")
    assert panel.desk.text.wires.rows[0][at] == "18 m"
    panel.start.units.value = True
    panel.wires._write(0, "Length", "18")
    assert panel.desk.text.wires.rows[0][at] == "18 ft"
    panel.wires._write(0, "Length", "5 kg")
    assert panel.desk.text.wires.rows[0][at] == "5 kg"


def test_what_is_assumed_stands_in_the_empty_cells(panel: WholeVehiclePanel) -> None:
    assumed = panel.devices.grid.assumed
    assert assumed["amplifier"]["Class"] == "D"
    assert assumed["battery"]["Inner resistance"] == "0.005 Ω"
    assert "Power" not in assumed["amplifier"]
    assert assumed["speaker"] == assumed["loudspeaker"]
    assert panel.wires.grid.assumed[""]["Metal"] == "copper"


def test_what_is_assumed_goes_with_the_voltage_of_the_battery(panel: WholeVehiclePanel) -> None:
    row = panel.desk.text.devices.column("Kind").index("battery")
    for volt, full in (("25.2 V", "28.8 V"), ("50.4 V", "57.6 V"), ("12.6 V", "14.4 V")):
        panel.devices._write(row, "Voltage", volt)
        assert panel.devices.grid.assumed["amplifier"]["Full-power voltage"] == full
    panel.devices._write(row, "Voltage", "25.2 V")
    panel.devices._write(row, "Kind", "planet")  # what held before the fault
    assert panel.devices.grid.assumed["amplifier"]["Full-power voltage"] == "28.8 V"


def test_a_new_device_is_offered_its_wires(panel: WholeVehiclePanel) -> None:
    assert panel.offered.children == ()
    panel.devices.add.click()
    row = len(panel.desk.text.devices.rows) - 1
    for column, text in (("Name", "Amp"), ("Kind", "amplifier"), ("Power", "75"), ("Channels", "2")):
        panel.devices._write(row, column, text)
    (press,) = panel.offered.children
    assert press.description == "Add feed with fuse, ground for Amp"
    press.click()
    assert panel.offered.children == ()
    assert panel.faults.shown["lines"] == []
    panel.undo.click()
    assert len(panel.offered.children) == 1
