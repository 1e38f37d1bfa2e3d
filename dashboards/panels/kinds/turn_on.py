"""What the page asks of a remote turn-on lead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.fields import quantity, volts
from dashboards.panels.kinds.form import SUPPLY_STOPS, Form, awg, written
from wirecalc import units
from wirecalc.circuits import relay
from wirecalc.runs.turn_on import TurnOnRun

if TYPE_CHECKING:
    from wirecalc.advice.house_rules import HouseRules
    from wirecalc.vehicle.model import Device


class TurnOnForm(Form[TurnOnRun]):
    """Remote turn-on."""

    title = "Remote turn-on"
    key = "turn-on"
    of_kind = TurnOnRun
    start = (6.0, ("AWG", 18.0), awg(22, 20, 18, 16, 14))
    tiles = (
        ("load_v", "at the last device"),
        ("drop_v", "drop along the lead"),
        ("current_a", "all devices together"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.draw = quantity(
            "Draw of all devices", units.CURRENT, 0.15, "mA", low=0, high=20, above=True,
            stops=(0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 1.0, 2.0),
            help="turn-on inputs, relay coils, motor aerials: from their manuals",
        )  # fmt: skip
        self.limit = quantity(
            "Head unit's limit", units.CURRENT, 0.3, "mA", low=0, high=20, above=True,
            help="a few hundred mA is common (shop practice): the head unit's manual decides",
        )  # fmt: skip
        self.least = volts("Least turn-on voltage", 9.0, "what every device needs to wake up; their manuals decide")
        self.supply = volts(
            "Turn-on voltage", relay.LEAST_SUPPLY_V, "at the head unit's output, on the lowest battery; 10.5 V: ISO"
            " 16750-2 code D", SUPPLY_STOPS,
        )  # fmt: skip
        self.asked = [self.draw, self.limit, self.supply, self.least]
        self.listen()

    def by_rules(self, rules: HouseRules) -> dict[str, float]:
        """See `Form`."""
        return {"supply": rules.rule("supply_v", "remote turn-on", case="battery low").number}

    def run(self) -> TurnOnRun:
        """See `Form`."""
        return TurnOnRun(
            draw_a=self.draw.value,
            supply_v=self.supply.value,
            limit_a=self.limit.value,
            least_v=self.least.value,
        )

    @classmethod
    def linked(cls, run: TurnOnRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "draw": written(run.draw_a, "A"),
            "limit": written(run.limit_a, "A"),
            "supply": written(run.supply_v, "V"),
            "least": written(run.least_v, "V"),
        }
