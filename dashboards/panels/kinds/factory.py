"""What the page asks of a factory signal at speaker level."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.fields import ohms, quantity, watts
from dashboards.panels.kinds.form import Form, awg, written
from wirecalc import units
from wirecalc.circuits.source import Amplifier
from wirecalc.runs.factory import FactoryRun

if TYPE_CHECKING:
    from wirecalc.vehicle.model import Device


class FactoryForm(Form[FactoryRun]):
    """Factory signal at speaker level."""

    title = "Factory signal at speaker level"
    key = "factory"
    of_kind = FactoryRun
    start = (3.0, ("AWG", 18.0), awg(24, 22, 20, 18, 16))
    tiles = (
        ("signal_ma", "at full power"),
        ("load_v", "that the input has to stand"),
        ("loss_db", "lost in the wire"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.power = watts("Factory unit's power", 18.0, "RMS, one channel; most head units give 15 to 20 W")
        self.rated = ohms("Power rated at", 4.0, "ohms that the power is stated for")
        self.input = quantity(
            "Input impedance", units.RESISTANCE, 1000.0, "ohm", low=20, high=10_000_000,
            help="of the high-level input: some hundred ohms to tens of kilohms; with its load resistor if it has one",
        )  # fmt: skip
        self.damping = quantity(
            "Factory unit's damping factor", units.NUMBER, 100.0, None, low=1, high=100000,
            help="default 100 (shop practice)",
        )  # fmt: skip
        self.asked = [self.power, self.rated, self.input]
        self.more = [self.damping]
        self.listen()

    def run(self) -> FactoryRun:
        """See `Form`."""
        amplifier = Amplifier(
            power_w=self.power.value, rated_ohm=self.rated.value, damping_factor=self.damping.value
        )  # fmt: skip
        return FactoryRun(amplifier=amplifier, input_ohm=self.input.value)

    @classmethod
    def linked(cls, run: FactoryRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "power": written(run.amplifier.power_w, "W"),
            "rated": written(run.amplifier.rated_ohm, "ohm"),
            "input": written(run.input_ohm, "ohm"),
            "damping": written(run.amplifier.damping_factor),
        }
