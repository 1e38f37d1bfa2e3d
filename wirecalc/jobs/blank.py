"""A plan with nothing in it but the vehicle's own battery and body."""

from __future__ import annotations

from wirecalc.jobs.vehicle_own import supply
from wirecalc.vehicle.fields import DEVICE_FIELDS, KINDS, WIRE_FIELDS
from wirecalc.vehicle.text import PlanSheet, PlanText, cell_text

DEVICE_COLUMNS = ("name", "kind", "power_w", "into_ohm", "channels", "voltage_v", "inner_ohm", "impedance_ohm",
                  "draw_a", "note")  # fmt: skip
WIRE_COLUMNS = ("fuse", "zone", "note")


def blank() -> PlanText:
    """Battery and body, no wire, and the columns that most plans need.

    Returns
    -------
    PlanText
    """
    devices = [each for each in DEVICE_FIELDS if each.key in DEVICE_COLUMNS or set(each.needed) == set(KINDS)]
    wires = [each for each in WIRE_FIELDS if "wire" in each.needed or each.key in WIRE_COLUMNS]
    rows = tuple(
        tuple(cell_text(each, row[each.key]) if each.key in row else "" for each in devices) for row in supply()
    )
    return PlanText(
        devices=PlanSheet(columns=tuple(each.column for each in devices), rows=rows),
        wires=PlanSheet(columns=tuple(each.column for each in wires), rows=()),
    )
