"""What the page asks of a line-level run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.fields import PerLengthEntry, quantity
from dashboards.panels.kinds.form import Form, awg, written
from wirecalc import tables, units
from wirecalc.circuits import line_level
from wirecalc.runs.line import LineRun

if TYPE_CHECKING:
    from wirecalc.vehicle.model import Device


class LineForm(Form[LineRun]):
    """Line level."""

    title = "Line level"
    key = "line"
    of_kind = LineRun
    start = (5.0, ("AWG", 24.0), awg(26, 24, 22, 20))
    tiles = (
        ("loss_db", "level lost"),
        ("treble_loss_db", "more lost at 20 kHz"),
        ("corner_khz", "3 dB down"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.source = quantity(
            "Output impedance", units.RESISTANCE, 200.0, "ohm", low=0.1, high=100000, help="of the head unit's output"
        )
        self.input = quantity(
            "Input impedance", units.RESISTANCE, 10000.0, "ohm", low=10, high=10_000_000, help="of what is fed"
        )
        self.capacitance = PerLengthEntry(
            "Cable capacitance", units.CAPACITANCE, line_level.CABLE_FARAD_PER_M["shielded"], "pF",
            low=1e-12, high=1e-8, help="per metre: " + "; ".join(
                f"{row['name']}: {units.show(row['farad_per_m'], units.CAPACITANCE)}"
                for row in tables.rows("cable_capacitance")
            ),
        )  # fmt: skip
        self.asked = [self.source, self.input, self.capacitance]
        self.listen()

    def run(self) -> LineRun:
        """See `Form`."""
        return LineRun(source_ohm=self.source.value, input_ohm=self.input.value, farad_per_m=self.capacitance.value)

    @classmethod
    def linked(cls, run: LineRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "source": written(run.source_ohm, "ohm"),
            "input": written(run.input_ohm, "ohm"),
            "capacitance": written(run.farad_per_m * 1e12, "pF"),
        }
