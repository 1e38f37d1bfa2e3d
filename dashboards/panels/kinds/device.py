"""What the page asks of a device on the supply."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, quantity, volts
from dashboards.panels.kinds.form import SUPPLY_STOPS, Form, awg, written
from wirecalc import tables, units
from wirecalc.circuits import device
from wirecalc.runs.device import CRITICAL_DROP, USUAL_DROP, DeviceRun

if TYPE_CHECKING:
    from wirecalc.vehicle.model import Device

Draw = tuple[float, str]
"""A number and its unit, "A" or "W": as the type plate has it."""
TYPICAL = {row["device"]: row for row in tables.rows("typical_devices")}


def read_draw(text: str) -> Draw:
    """What a type plate says: "10 A", "250 mA", "120 W"; a number alone is in amperes."""
    if text.strip().casefold().endswith(("w", "watt", "watts")):
        return units.read(text, "Draw", units.POWER, low=0, high=20_000, above=True), "W"
    return units.read(text, "Draw", units.CURRENT, low=0, high=1000, above=True, bare="A"), "A"


def show_draw(draw: Draw) -> str:
    """As `read_draw` reads it."""
    return units.show(draw[0], units.CURRENT if draw[1] == "A" else units.POWER)


class DeviceForm(Form[DeviceRun]):
    """A device on the supply."""

    title = "Device on the supply"
    key = "device"
    of_kind = DeviceRun
    start = (4.0, ("AWG", 14.0), awg(18, 16, 14, 12, 10, 8))
    tiles = (
        ("load_v", "at the device"),
        ("drop_v", "drop along the way"),
        ("current_a", "drawn"),
        ("inrush_a", "when it starts"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.example = choice(
            "Typical device", [("as entered here", ""), *((device, device) for device in TYPICAL)], ""
        )
        self.draw: Entry[Draw] = Entry(
            "Draw", read_draw, show_draw, (10.0, "A"),
            help="amperes or watts, from the type plate; typical devices are shop practice",
        )  # fmt: skip
        self.behaviour = choice(
            "It draws", [("constant current", "constant current"), ("constant power", "constant power"),
                         ("as a resistance", "resistance")], "constant current",
        )  # fmt: skip
        self.critical = choice(
            "May lose",
            [
                (f"{USUAL_DROP:.0%}, where the voltage is not critical".replace("%", " %"), False),
                (f"{CRITICAL_DROP:.0%}, lamps, pumps, electronics".replace("%", " %"), True),
            ],
            True,
        )
        self.supply = volts("Supply voltage", 12.6, "where its wire starts", SUPPLY_STOPS)
        self.ratio = quantity(
            "Start current, over draw", units.NUMBER, device.START_RATIO, None, low=1, high=100,
            help="1 for none; motors about 3 to 6, filaments about 8 (shop practice)",
        )  # fmt: skip
        self.lasts = quantity(
            "Start lasts",
            units.NUMBER,
            device.START_S,
            None,
            low=0,
            high=60,
            help="seconds; its fuse must stand that long",
        )
        self.nominal = volts("Draw stated at", device.NOMINAL_V, "default 12 V; the type plate decides")
        self.asked = [self.draw, self.example, self.behaviour, self.supply, self.critical]
        self.more = [self.ratio, self.lasts, self.nominal]
        self.listen()
        self._filling = False
        self.example.observe(self._fill, "value")

    @property
    def fields(self) -> Fields:
        """See `Form`: without the list of typical devices, which only fills in the others."""
        return {key: field for key, field in super().fields.items() if field is not self.example}

    def listen(self) -> None:
        """See `Form`: an entry that is changed is no longer that of a typical device."""
        super().listen()

        def edited() -> None:
            if not self._filling:
                self._leave()
                self.changed()

        for entry in (*self.asked, *self.more):
            if isinstance(entry, Entry):
                entry.changed = edited

    def _leave(self) -> None:
        self._filling = True
        self.example.value = ""
        self._filling = False

    def _fill(self, change: dict[str, Any]) -> None:
        row = TYPICAL.get(change["new"])
        if row is None or self._filling:
            return
        self._filling = True
        self.draw.set((float(row["draw"]), row["unit"]))
        self.ratio.set(float(row["inrush_ratio"]))
        self.lasts.set(float(row["inrush_s"]))
        self.nominal.set(device.NOMINAL_V)
        self.behaviour.value = row["behaviour"]
        self._filling = False
        self.changed()

    def run(self) -> DeviceRun:
        """See `Form`."""
        number, unit = self.draw.value
        return DeviceRun(
            rated_a=number if unit == "A" else number / self.nominal.value,
            supply_v=self.supply.value,
            behaviour=self.behaviour.value,
            nominal_v=self.nominal.value,
            inrush_ratio=self.ratio.value,
            inrush_s=self.lasts.value,
            critical=self.critical.value,
        )

    @classmethod
    def linked(cls, run: DeviceRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`."""
        return {
            "draw": written(run.rated_a, "A"),
            "behaviour": run.behaviour.replace(" ", "-"),
            "supply": written(run.supply_v, "V"),
            "critical": "yes" if run.critical else "no",
            "ratio": written(run.inrush_ratio),
            "lasts": written(run.inrush_s),
            "nominal": written(run.nominal_v, "V"),
        }
