"""What the page asks of an amplifier's feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.address import name
from dashboards.panels.controls.fields import choice, quantity, volts, watts
from dashboards.panels.kinds.form import SUPPLY_STOPS, Form, awg, written
from wirecalc import units
from wirecalc.circuits import supply
from wirecalc.circuits.battery import MOST_IN_A_ROW, in_a_row
from wirecalc.runs.feed import FeedRun

if TYPE_CHECKING:
    from wirecalc.advice.house_rules import HouseRules
    from wirecalc.vehicle.model import Device


class FeedForm(Form[FeedRun]):
    """Battery to amplifier."""

    title = "Battery to amplifier"
    key = "feed"
    of_kind = FeedRun
    start = (5.0, ("AWG", 4.0), awg(10, 8, 6, 4, 2, 0, -1, -3))
    tiles = (
        ("load_v", "at the amplifier"),
        ("drop_v", "drop at full output"),
        ("loss_db", "less at the speaker"),
        ("current_a", "at full output"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.power = watts("Rated power, all channels", 500.0, "RMS, all channels driven")
        self.supply = volts(
            "Battery voltage", 14.4, "engine running about 14.4 V, off about 12.6 V (common practice)", SUPPLY_STOPS
        )
        self.amplifier_class = choice("Class", [(c.name, c.key) for c in supply.CLASSES.values()], "D")
        self.regulated = choice("Power supply", [("not regulated", False), ("regulated", True)], False)
        self.full_v = volts(
            "Rated at",
            supply.TEST_SUPPLY_V,
            "default 14.4 V, twice that on 24 V (CTA-2006; published value, copy not checked)",
        )
        self.share = quantity(
            "Average output", units.RATIO, supply.MUSIC_SHARE, "%", low=0.001, high=1,
            help="of rated; default 12.5 %, the average of music (shop practice); heats the wire",
        )  # fmt: skip
        self.asked = [self.power, self.supply, self.amplifier_class]
        self.more = [self.regulated, self.full_v, self.share]
        self.listen()
        self.supply.changed = self._follow_supply

    def _follow_supply(self) -> None:
        """What the power is rated at is twice as much on 24 V, where nobody changed it."""
        usual = [supply.TEST_SUPPLY_V * count for count in range(1, MOST_IN_A_ROW + 1)]
        if self.full_v.value in usual:
            self.full_v.set(usual[in_a_row(self.supply.value) - 1])
        self.changed()

    def by_rules(self, rules: HouseRules) -> dict[str, float]:
        """See `Form`."""
        return {
            "supply": rules.rule("supply_v", "battery to amplifier", case="engine running").number,
            "share": rules.rule("average_of_music", "battery to amplifier").number,
        }

    def run(self) -> FeedRun:
        """See `Form`."""
        return FeedRun(
            rated_w=self.power.value,
            amplifier_class=supply.CLASSES[self.amplifier_class.value],
            supply_v=self.supply.value,
            regulated=self.regulated.value,
            full_power_v=self.full_v.value,
            music_share=self.share.value,
        )

    @classmethod
    def linked(cls, run: FeedRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "power": written(run.rated_w, "W"),
            "supply": written(run.supply_v, "V"),
            "amplifier-class": name(run.amplifier_class.key),
            "regulated": "yes" if run.regulated else "no",
            "full-v": written(run.full_power_v, "V"),
        }
