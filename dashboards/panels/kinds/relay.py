"""What the page asks of a relay's coil."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.fields import quantity, volts
from dashboards.panels.kinds.form import SUPPLY_STOPS, Form, awg, written
from wirecalc import units
from wirecalc.circuits import relay
from wirecalc.runs.relay import RelayRun

if TYPE_CHECKING:
    from wirecalc.advice.house_rules import HouseRules
    from wirecalc.vehicle.model import Device


class RelayForm(Form[RelayRun]):
    """A relay's coil."""

    title = "Relay"
    key = "relay"
    of_kind = RelayRun
    start = (4.0, ("AWG", 18.0), awg(22, 20, 18, 16, 14))
    tiles = (
        ("load_v", "at the coil"),
        ("margin_v", "over pull-in when hot"),
        ("drop_v", "drop along the run"),
        ("current_a", "coil current"),
    )

    def __init__(self) -> None:
        super().__init__()
        usual = relay.USUAL_12V
        self.coil = quantity(
            "Coil resistance", units.RESISTANCE, usual.coil_ohm, "ohm", low=1, high=100_000,
            help="at 20 °C; 90 Ω is common for 12 V (shop practice)",
        )  # fmt: skip
        self.pull_in = volts("Pull-in voltage", usual.pull_in_v, "at 20 °C; 7.2 to 8 V is common (shop practice)")
        self.drop_out = volts("Drop-out voltage", usual.drop_out_v, "at 20 °C; 1.2 V is common (shop practice)")
        self.hot = quantity(
            "Coil temperature", units.TEMPERATURE, 85.0, "°C", low=-40, high=180,
            stops=(20.0, 40.0, 60.0, 85.0, 105.0, 125.0), help="when it must pull in: hot air and its own heat",
        )  # fmt: skip
        self.supply = volts(
            "Supply voltage", relay.LEAST_SUPPLY_V, "the lowest that must still work; 10.5 V: ISO 16750-2 code D",
            SUPPLY_STOPS,
        )  # fmt: skip
        self.off = quantity(
            "Voltage left when off", units.VOLTAGE, 0.0, "V", low=0, high=60,
            help="on its lead, by a lamp across the switch or an output that leaks; 0 where nothing does",
        )  # fmt: skip
        self.dip = volts(
            "Supply while the engine starts", relay.DIP_SUPPLY_V, "a relay that has pulled in must hold; 12 V for 24 V",
        )  # fmt: skip
        self.asked = [self.coil, self.pull_in, self.supply, self.hot]
        self.more = [self.drop_out, self.off, self.dip]
        self.listen()

    def by_rules(self, rules: HouseRules) -> dict[str, float]:
        """See `Form`."""
        return {"supply": rules.rule("supply_v", "relay or lamp", case="battery low").number}

    def run(self) -> RelayRun:
        """See `Form`."""
        device = relay.Relay(coil_ohm=self.coil.value, pull_in_v=self.pull_in.value, drop_out_v=self.drop_out.value)
        return RelayRun(
            relay=device, supply_v=self.supply.value, coil_c=self.hot.value, off_v=self.off.value, dip_v=self.dip.value
        )  # fmt: skip

    @classmethod
    def linked(cls, run: RelayRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "coil": written(run.relay.coil_ohm, "ohm"),
            "pull-in": written(run.relay.pull_in_v, "V"),
            "drop-out": written(run.relay.drop_out_v, "V"),
            "supply": written(run.supply_v, "V"),
            "hot": written(run.coil_c, "°C"),
            "off": written(run.off_v, "V"),
            "dip": written(run.lowest_v, "V"),
        }
