"""What the page asks of a lamp strip."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.address import Fields, Listed
from dashboards.panels.controls.fields import LengthEntry, PerLengthEntry, choice, volts
from dashboards.panels.kinds.form import SUPPLY_STOPS, Form, awg, written
from wirecalc import units
from wirecalc.circuits.relay import LEAST_24V_SUPPLY_V, LEAST_SUPPLY_V
from wirecalc.runs.lamp import LampRun, of_system
from wirecalc.wire.cable import FOOT_M

if TYPE_CHECKING:
    from wirecalc.advice.house_rules import HouseRules
    from wirecalc.vehicle.model import Device


_SUPPLY_V, _LOWEST_V = {12.0: 12.6, 24.0: 25.2}, {12.0: LEAST_SUPPLY_V, 24.0: LEAST_24V_SUPPLY_V}


class LampForm(Form[LampRun]):
    """A lamp strip."""

    title = "Lamp strip"
    key = "lamp"
    of_kind = LampRun
    start = (3.0, ("AWG", 18.0), awg(22, 20, 18, 16, 14, 12))
    tiles = (
        ("load_v", "at the first lamp"),
        ("last_v", "at the dimmest lamp"),
        ("drop_v", "drop along the run"),
        ("current_a", "in the run"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.supply = volts("Supply voltage", 12.6, "where the run starts", SUPPLY_STOPS)
        self.strip = LengthEntry(
            "Strip length", 3.0, low=0, high=50, above=True, help="the lamps themselves",
            stops=(0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 10.0),
            foot_stops=tuple(feet * FOOT_M for feet in (1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 30)),
        )  # fmt: skip
        self.per_m = PerLengthEntry(
            "Strip current", units.CURRENT, 0.4, "A", low=0, high=20, above=True,
            stops=(0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0), help="watts of that length over 12 or 24 V",
        )  # fmt: skip
        self.strip_ohm = PerLengthEntry(
            "Strip resistance", units.RESISTANCE, 0.1, "ohm", low=0, high=5, above=True,
            help="both of its conductors together; 0.1 Ω is a guess: measure, far end shorted",
        )  # fmt: skip
        self.both_ends = choice("Fed from", [("one end", False), ("both ends, by like runs", True)], False)
        self.lamps = choice("Lamps", [("constant current", "constant current"), ("like filaments", "resistive")],
                            "constant current")  # fmt: skip
        self.nominal = choice("Strip made for", [("12 V", 12.0), ("24 V", 24.0)], 12.0)
        self.lowest = volts(
            "Lowest supply voltage", _LOWEST_V[12.0], "at which the lamps must still light", SUPPLY_STOPS
        )
        self.asked = [self.supply, self.nominal, self.strip, self.per_m, self.both_ends]
        self.more = [self.lowest, self.strip_ohm, self.lamps]
        self.listen()
        self.nominal.observe(self._follow, "value")

    def _follow(self, change: dict[str, float]) -> None:
        """Voltages that nobody changed follow what the strip is made for."""
        if self.supply.value == _SUPPLY_V[change["old"]]:
            self.supply.set(_SUPPLY_V[change["new"]])
        if self._rules is not None:
            self._move(self.by_rules(self._rules))
        elif self.lowest.value == _LOWEST_V[change["old"]]:
            self.lowest.set(_LOWEST_V[change["new"]])
        self.changed()

    def by_rules(self, rules: HouseRules) -> dict[str, float]:
        """See `Form`."""
        low_v = rules.rule("supply_v", "relay or lamp", case="battery low").number
        return {"lowest": of_system(low_v, self.nominal.value)}

    @property
    def fields(self) -> Fields:
        """See `Form`."""
        return {**super().fields, "nominal": Listed(self.nominal, lambda volt: f"{volt:g} V")}

    def run(self) -> LampRun:
        """See `Form`."""
        return LampRun(
            supply_v=self.supply.value,
            strip_m=self.strip.value,
            amps_per_m=self.per_m.value,
            strip_ohm_per_m=self.strip_ohm.value,
            both_ends=self.both_ends.value,
            lamps=self.lamps.value,
            nominal_v=self.nominal.value,
            least_supply_v=self.lowest.value,
        )

    @classmethod
    def linked(cls, run: LampRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "supply": written(run.supply_v, "V"),
            "strip": written(run.strip_m, "m"),
            "per-m": written(run.amps_per_m, "A"),
            "strip-ohm": written(run.strip_ohm_per_m, "ohm"),
            "nominal": f"{run.nominal_v:g} V",
            "lowest": written(run.lowest_v, "V"),
        }
