"""What the page asks for each kind of circuit, and the run that the answers make."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import ipywidgets as w

from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, ohms, optional, quantity, volts, watts
from dashboards.panels.controls.numbers import mark
from dashboards.panels.controls.sizes import Size
from wirecalc import runs, tables, units
from wirecalc.circuits import line_level, relay, supply
from wirecalc.circuits.rating import RatedAmplifier, Rating, bridged, for_load
from wirecalc.mark import plain

SUPPLY_STOPS = (10.5, 11.0, 11.5, 12.0, 12.6, 13.0, 13.5, 13.8, 14.4)


def awg(*numbers: float) -> tuple[Size, ...]:
    """Sizes by gauge number."""
    return tuple(("AWG", float(number)) for number in numbers)


class Form:
    """Entries of one kind of circuit.

    `asked` stand on the page, `more` behind the button; `start` is the first length (m), size and sizes drawn;
    `ways` is 2 where a pair is pulled, 1 where the body brings the current back.
    """

    title: ClassVar[str]
    key: ClassVar[str]
    """In a page's address."""
    start: ClassVar[tuple[float, Size, tuple[Size, ...]]]
    ways: ClassVar[int] = 2
    tiles: ClassVar[tuple[tuple[str, str], ...]]
    """Measure and what is said beneath it."""

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None
        self.asked: list[Entry[Any] | w.Dropdown] = []
        self.more: list[Entry[Any] | w.Dropdown] = []

    def listen(self) -> None:
        """Pass on every change of an entry; called when all are made."""
        for one in (*self.asked, *self.more):
            if isinstance(one, Entry):
                one.changed = lambda: self.changed()
            else:
                one.observe(lambda _change: self.changed(), "value")

    @property
    def fields(self) -> Fields:
        """Entries by their keys in a page's address: the names of their attributes here."""
        return named(**{key: one for key, one in vars(self).items() if isinstance(one, (Entry, w.Dropdown))})

    def run(self) -> runs.Run:
        """The run that the last good values make; `InputError` where they do not go together."""
        raise NotImplementedError

    def cautions(self) -> tuple[str, ...]:
        """What the entries ask to be said, besides what the run itself does."""
        return ()


class SpeakerForm(Form):
    """Amplifier to speaker."""

    title = "Amplifier to speaker"
    key = "speaker"
    start = (5.5, ("AWG", 16.0), awg(22, 18, 16, 14, 12, 10, 8))
    tiles = (
        ("loss_db", "less at the load"),
        ("load_w", "reaches the load"),
        ("drop_v", "drop across the wire"),
        ("damping_factor", "damping at the load"),
    )
    of_kind: ClassVar[type[runs.SpeakerRun]] = runs.SpeakerRun

    def __init__(self) -> None:
        super().__init__()
        self.power = watts("Amplifier power", 100.0, "RMS, one channel")
        self.rated = ohms("Rated into", 4.0, "the impedance that the power is stated for")
        self.load = ohms("Load impedance", 4.0, "all coils on this run together")
        self.damping = quantity(
            "Amplifier damping factor", units.NUMBER, 200.0, None, low=1, high=100000,
            help="default 200 at the rated impedance (common practice, no source)",
        )  # fmt: skip
        self.least = optional(
            "Least load allowed", units.RESISTANCE, "ohm", low=0.1, high=1000,
            help="left empty: the lowest impedance that a power is rated into",
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
            help="of rated; default 12.5 %, music at one-eighth (16 CFR 432.3(c)); a test tone 100 %; heats the wire",
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

    def run(self) -> runs.Run:
        """See `Form`."""
        applied = for_load(self.rated_amplifier(), self.load.value)
        return self.of_kind(amplifier=applied.amplifier, load_ohm=self.load.value, music_share=self.share.value)

    def cautions(self) -> tuple[str, ...]:
        """See `Form`: what `wirecalc.circuits.rating.for_load` minds about these ratings and this load."""
        # of one channel every rating is an entry; of two, bridged, each is worked out
        return for_load(self.rated_amplifier(), self.load.value, mark=mark if self.bridge.value else plain).cautions


class SubwooferForm(SpeakerForm):
    """Amplifier to subwoofer."""

    title = "Amplifier to subwoofer"
    key = "subwoofer"
    start = (3.0, ("AWG", 12.0), awg(18, 16, 14, 12, 10, 8, 6))
    of_kind = runs.SubwooferRun


class LineForm(Form):
    """Line level."""

    title = "Line level"
    key = "line"
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
        self.capacitance = quantity(
            "Cable capacitance, per metre", units.CAPACITANCE, line_level.CABLE_FARAD_PER_M["shielded"], "pF",
            low=1e-12, high=1e-8, help="; ".join(
                f"{row['name']}: {units.show(row['farad_per_m'], units.CAPACITANCE)}"
                for row in tables.rows("cable_capacitance")
            ),
        )  # fmt: skip
        self.asked = [self.source, self.input, self.capacitance]
        self.listen()

    def run(self) -> runs.Run:
        """See `Form`."""
        return runs.LineRun(
            source_ohm=self.source.value, input_ohm=self.input.value, farad_per_m=self.capacitance.value
        )


class TurnOnForm(Form):
    """Remote turn-on."""

    title = "Remote turn-on"
    key = "turn-on"
    start = (6.0, ("AWG", 18.0), awg(22, 20, 18, 16, 14))
    ways = 1
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
            help="a few hundred mA is common (no source): the head unit's manual decides",
        )  # fmt: skip
        self.least = volts("Least turn-on voltage", 9.0, "what every device needs to wake up; their manuals decide")
        self.supply = volts("Turn-on voltage", 12.0, "at the head unit's output", SUPPLY_STOPS)
        self.asked = [self.draw, self.limit, self.supply, self.least]
        self.listen()

    def run(self) -> runs.Run:
        """See `Form`."""
        return runs.TurnOnRun(
            draw_a=self.draw.value,
            supply_v=self.supply.value,
            limit_a=self.limit.value,
            least_v=self.least.value,
        )


class RelayForm(Form):
    """A relay's coil."""

    title = "Relay"
    key = "relay"
    start = (4.0, ("AWG", 18.0), awg(22, 20, 18, 16, 14))
    ways = 1
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
            help="at 20 °C; 90 Ω is common for 12 V (from memory)",
        )  # fmt: skip
        self.pull_in = volts("Pull-in voltage", usual.pull_in_v, "at 20 °C; 7.2 to 8 V is common (from memory)")
        self.drop_out = volts("Drop-out voltage", usual.drop_out_v, "at 20 °C; 1.2 V is common (from memory)")
        self.hot = quantity(
            "Coil temperature", units.TEMPERATURE, 85.0, "°C", low=-40, high=180,
            stops=(20.0, 40.0, 60.0, 85.0, 105.0, 125.0), help="when it must pull in: hot air and its own heat",
        )  # fmt: skip
        self.supply = volts(
            "Supply voltage", relay.LEAST_SUPPLY_V, "the lowest that must still work; 10.5 V: ISO 16750-2 code D",
            SUPPLY_STOPS,
        )  # fmt: skip
        self.asked = [self.coil, self.pull_in, self.supply, self.hot]
        self.more = [self.drop_out]
        self.listen()

    def run(self) -> runs.Run:
        """See `Form`."""
        device = relay.Relay(coil_ohm=self.coil.value, pull_in_v=self.pull_in.value, drop_out_v=self.drop_out.value)
        return runs.RelayRun(relay=device, supply_v=self.supply.value, coil_c=self.hot.value)


class LampForm(Form):
    """A lamp strip."""

    title = "Lamp strip"
    key = "lamp"
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
        self.strip = quantity(
            "Strip length", units.LENGTH, 3.0, "m", low=0, high=50, above=True,
            stops=(0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 10.0), help="the lamps themselves",
        )  # fmt: skip
        self.per_m = quantity(
            "Strip current, per metre", units.CURRENT, 0.4, "A", low=0, high=20, above=True,
            stops=(0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0), help="watts per metre over 12 V",
        )  # fmt: skip
        self.strip_ohm = quantity(
            "Strip resistance, per metre", units.RESISTANCE, 0.1, "ohm", low=0, high=5, above=True,
            help="both of its conductors together; 0.1 Ω is a guess: measure, far end shorted",
        )  # fmt: skip
        self.both_ends = choice("Fed from", [("one end", False), ("both ends, by like runs", True)], False)
        self.lamps = choice("Lamps", [("constant current", "constant current"), ("like filaments", "resistive")],
                            "constant current")  # fmt: skip
        self.asked = [self.supply, self.strip, self.per_m, self.both_ends]
        self.more = [self.strip_ohm, self.lamps]
        self.listen()

    def run(self) -> runs.Run:
        """See `Form`."""
        return runs.LampRun(
            supply_v=self.supply.value,
            strip_m=self.strip.value,
            amps_per_m=self.per_m.value,
            strip_ohm_per_m=self.strip_ohm.value,
            both_ends=self.both_ends.value,
            lamps=self.lamps.value,
        )


class FeedForm(Form):
    """Battery to amplifier."""

    title = "Battery to amplifier"
    key = "feed"
    start = (5.0, ("AWG", 4.0), awg(10, 8, 6, 4, 2, 0, -1, -3))
    ways = 1
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
        self.full_v = volts("Rated at", supply.TEST_SUPPLY_V, "default 14.4 V (CTA-2006, from memory)")
        self.share = quantity(
            "Average output", units.RATIO, supply.MUSIC_SHARE, "%", low=0.001, high=1,
            help="of rated; default 12.5 %, music at one-eighth (16 CFR 432.3(c)); heats the wire",
        )  # fmt: skip
        self.asked = [self.power, self.supply, self.amplifier_class]
        self.more = [self.regulated, self.full_v, self.share]
        self.listen()

    def run(self) -> runs.Run:
        """See `Form`."""
        return runs.FeedRun(
            rated_w=self.power.value,
            amplifier_class=supply.CLASSES[self.amplifier_class.value],
            supply_v=self.supply.value,
            regulated=self.regulated.value,
            full_power_v=self.full_v.value,
            music_share=self.share.value,
        )


FORMS: tuple[type[Form], ...] = (
    SpeakerForm, SubwooferForm, LineForm, TurnOnForm, RelayForm, LampForm, FeedForm,
)  # fmt: skip
