"""What the page asks of amplifier to speaker."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.panels.controls.fields import choice, ohms, optional, quantity, watts
from dashboards.panels.controls.numbers import mark
from dashboards.panels.kinds.form import Form, awg, written
from wirecalc import units
from wirecalc.circuits.rating import RatedAmplifier, Rating, bridged, for_load
from wirecalc.mark import plain
from wirecalc.runs.speaker import SpeakerRun

if TYPE_CHECKING:
    from wirecalc.vehicle.model import Device


class SpeakerForm(Form[SpeakerRun]):
    """Amplifier to speaker."""

    title = "Amplifier to speaker"
    key = "speaker"
    of_kind: type[SpeakerRun] = SpeakerRun
    start = (5.5, ("AWG", 16.0), awg(22, 18, 16, 14, 12, 10, 8))
    tiles = (
        ("loss_db", "lost in the wire"),
        ("load_w", "reaches the load"),
        ("drop_v", "drop across the wire"),
        ("damping_factor", "damping factor left"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.power = watts("Amplifier power", 100.0, "RMS, one channel")
        self.rated = ohms("Power rated at", 4.0, "ohms that the power is stated for")
        self.load = ohms("Speaker impedance", 4.0, "total on this run")
        self.damping = quantity(
            "Amplifier damping factor", units.NUMBER, 200.0, None, low=1, high=100000,
            help="default 200 at the rated impedance (shop practice)",
        )  # fmt: skip
        self.least = optional(
            "Least load allowed", units.RESISTANCE, "ohm", low=0.1, high=1000,
            help="left empty: the lowest impedance that a power is stated for",
        )  # fmt: skip
        self.second_power = optional(
            "Second rating, power", units.POWER, "W", low=0.001, high=20000,
            help="left empty: one rating; amplifiers often have a second at half the impedance",
        )  # fmt: skip
        self.second_ohm = optional(
            "Second rating, into", units.RESISTANCE, "ohm", low=0.1, high=1000, help="left empty: one rating"
        )
        self.bridge = choice("Channels", [("one channel", False), ("two, bridged", True)], False)
        self.share = quantity(
            "Average power", units.RATIO, 0.125, "%", low=0.001, high=1,
            help="of rated; default 12.5 %, the average of music (shop practice); a test tone 100 %",
        )  # fmt: skip
        self.asked = [self.power, self.rated, self.load]
        self.more = [self.damping, self.least, self.second_power, self.second_ohm, self.bridge, self.share]
        self.listen()

    def rated_amplifier(self) -> RatedAmplifier:
        """The amplifier with all its ratings."""
        ratings = [Rating(ohm=self.rated.value, power_w=self.power.value)]
        if self.second_power.value is not None and self.second_ohm.value is not None:
            ratings.append(Rating(ohm=self.second_ohm.value, power_w=self.second_power.value))
        ratings.sort(key=lambda rating: rating.ohm)
        channel = RatedAmplifier(
            ratings=tuple(ratings),
            damping_factor=self.damping.value,
            damping_ohm=self.rated.value,
            least_ohm=self.least.value,
        )
        return bridged(channel) if self.bridge.value else channel

    def run(self) -> SpeakerRun:
        """See `Form`."""
        applied = for_load(self.rated_amplifier(), self.load.value)
        return self.of_kind(amplifier=applied.amplifier, load_ohm=self.load.value, music_share=self.share.value)

    def cautions(self) -> tuple[str, ...]:
        """See `Form`: what `wirecalc.circuits.rating.for_load` minds about these ratings and this load."""
        # of one channel every rating is an entry; of two, bridged, each is worked out
        return for_load(self.rated_amplifier(), self.load.value, mark=mark if self.bridge.value else plain).cautions

    @classmethod
    def linked(cls, run: SpeakerRun, start: Device, end: Device, channels: int) -> dict[str, str]:
        """See `Form`: the ratings are the amplifier's, of which the run has only the one that applies."""
        linked = {
            "power": written(start.power_w, "W"),
            "rated": written(start.into_ohm, "ohm"),
            "load": written(end.impedance_ohm, "ohm"),
            "damping": written(start.damping_factor),
            "bridge": "yes" if channels == 2 else "no",
        }
        return linked | ({} if start.least_ohm is None else {"least": written(start.least_ohm, "ohm")})
