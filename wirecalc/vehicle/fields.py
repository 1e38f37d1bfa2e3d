"""What can be written about a device or a wire: names of columns, units, ranges, words, and what holds if empty."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field
from typing import Any, Literal

from wirecalc import units
from wirecalc.circuits import device, relay, supply
from wirecalc.english import with_article
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.conductor import METALS, STRANDINGS
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES

BATTERY, ALTERNATOR, BLOCK, BODY = "battery", "alternator", "fuse block", "body"
HEAD, PROCESSOR, AMPLIFIER = "head unit", "processor", "amplifier"
LOUDSPEAKER, SUBWOOFER, RELAY, LAMPS, OTHER = "loudspeaker", "subwoofer", "relay", "lamp strip", "other load"
KINDS = (
    BATTERY, ALTERNATOR, BLOCK, BODY, HEAD, PROCESSOR, AMPLIFIER, LOUDSPEAKER, SUBWOOFER, RELAY, LAMPS, OTHER
)  # fmt: skip
SHOWN = {LOUDSPEAKER: "speaker"}
"""Kinds that a person reads by another name; both may be written."""
FACTORY_SIGNAL = "factory signal"
"""The circuit from a speaker output to an input."""
CHOOSE: Literal["choose"] = "choose"
NONE: Literal["none"] = "none"

BODY_OHM = 0.5e-3  # from a ground point to the middle of a steel body: common practice, no source; measure it
BATTERY_V, BATTERY_OHM = 12.6, 5e-3  # full, at rest; of a healthy starter battery: common practice, no source
ALTERNATOR_OHM = 12e-3  # common practice, no source
HEAD_A, PROCESSOR_A = 2.5, 1.5  # steady draws: common practice, no source; the manuals come first
STRIP_OHM_PER_M = 0.1  # both conductors of a lamp strip: a guess, common practice, no source; measure it
REMOTE_DRAW_A, REMOTE_LIMIT_A = 0.02, 0.3  # common practice, no source; the manuals come first
LINE_INPUT_OHM, LINE_OUTPUT_OHM = 10e3, 200.0  # common practice, no source; the manuals come first

_NAME = "one name, each once; at most 64 characters"


@dataclass(frozen=True, kw_only=True)
class Field:
    """One column of a list of devices or wires."""

    key: str
    """Name of the attribute."""
    column: str
    """As a person reads it at the head of the column."""
    help: str
    kind: units.QuantityKind | None = None
    """What is typed; None for a word, a size or a fuse."""
    low: float = 0.0
    high: float = float("inf")
    above: bool = False
    words: Mapping[str, str] = field(default_factory=dict, hash=False)
    """Key -> what a person reads; if there are any, nothing else may be written."""
    needed: Collection[str] = ()
    """Kinds of device that must have it; a wire's field: "wire" if it must be there."""
    default: Mapping[str, Any] = field(default_factory=dict, hash=False)
    """Kinds of device that may have it, and what holds if nothing is written."""

    def belongs(self, kind: str) -> bool:
        """Whether a device of this kind has it."""
        return kind in self.needed or kind in self.default

    @property
    def allowed(self) -> str:
        """What may be written."""
        if self.words:
            return ", ".join(SHOWN.get(word, word) for word in self.words)
        if self.kind is None:
            return self.help
        return f"{self.kind.allowed}, as in {self.kind.example}"


def _words(*words: str) -> dict[str, str]:
    return {word: word for word in words}


_ALL = dict.fromkeys(KINDS, "")
_SHEET_END = (
    Field(key="note", column="Note", help="anything", default=_ALL),
    Field(key="source", column="Source", help="where the numbers are from", default=_ALL),
    Field(key="confidence", column="Confidence", help="how sure they are", default=_ALL),
)
DEVICE_FIELDS: tuple[Field, ...] = (
    Field(key="name", column="Name", help=_NAME, needed=KINDS),
    Field(key="kind", column="Kind", help="what it is", words={kind: SHOWN.get(kind, kind) for kind in KINDS},
          needed=KINDS),
    Field(
        key="power_w", column="Power", help="amplifier: rated, one channel; other load: what it draws",
        kind=units.POWER, low=0.001, high=20000, needed=(AMPLIFIER,), default={HEAD: None, OTHER: None},
    ),
    Field(
        key="into_ohm", column="Into", help="the impedance that the power is rated into", kind=units.RESISTANCE,
        low=0.1, high=1000, default={HEAD: 4.0, AMPLIFIER: 4.0},
    ),
    Field(
        key="channels", column="Channels", help="number of channels of that power", kind=units.COUNT, low=1, high=32,
        needed=(AMPLIFIER,), default={HEAD: 4},
    ),
    Field(
        key="amplifier_class", column="Class", help="class of the amplifier", default={AMPLIFIER: "D"},
        words={key: sort.name for key, sort in supply.CLASSES.items()},
    ),
    Field(
        key="regulated", column="Regulated", help="whether its power stays the same when the supply sags",
        words=_words("yes", "no"), default={AMPLIFIER: "no"},
    ),
    Field(
        key="full_power_v", column="Full-power voltage", help="supply voltage of the rated power; of a regulated one"
        " the lowest", kind=units.VOLTAGE, low=1, high=supply.HIGHEST_V, default={AMPLIFIER: supply.TEST_SUPPLY_V},
    ),
    Field(
        key="damping_factor", column="Damping factor", help="rated impedance over output impedance",
        kind=units.NUMBER, low=1, high=100_000, default={AMPLIFIER: 200.0, HEAD: 50.0},
    ),
    Field(
        key="least_ohm", column="Least load", help="lowest load that the maker allows", kind=units.RESISTANCE,
        low=0.1, high=1000, default={AMPLIFIER: None, HEAD: None},
    ),
    Field(
        key="voltage_v", column="Voltage", help="battery: at rest; alternator: as regulated", kind=units.VOLTAGE,
        low=1, high=supply.HIGHEST_V, default={BATTERY: BATTERY_V, ALTERNATOR: supply.TEST_SUPPLY_V},
    ),
    Field(
        key="inner_ohm", column="Inner resistance", help="of a battery or alternator; of the body from a ground point"
        " to its middle", kind=units.RESISTANCE, low=1e-5, high=10,
        default={BODY: BODY_OHM, BATTERY: BATTERY_OHM, ALTERNATOR: ALTERNATOR_OHM},
    ),
    Field(
        key="impedance_ohm", column="Impedance", help="speaker: all coils together; other load: its resistance",
        kind=units.RESISTANCE, low=0.1, high=100_000, needed=(LOUDSPEAKER, SUBWOOFER), default={OTHER: None},
    ),
    Field(
        key="draw_a", column="Draw", help="steady current from the supply", kind=units.CURRENT, low=0, high=1000,
        above=True, default={OTHER: None, HEAD: HEAD_A, PROCESSOR: PROCESSOR_A},
    ),
    Field(
        key="line_out_ohm", column="Line output impedance", help="of the outputs that feed amplifiers",
        kind=units.RESISTANCE, low=0.1, high=100_000, default=dict.fromkeys((HEAD, PROCESSOR), LINE_OUTPUT_OHM),
    ),
    Field(
        key="line_in_ohm", column="Line input impedance", help="of the inputs", kind=units.RESISTANCE, low=10,
        high=10e6, default=dict.fromkeys((PROCESSOR, AMPLIFIER), LINE_INPUT_OHM),
    ),
    Field(
        key="remote_draw_a", column="Remote draw", help="current into its turn-on input", kind=units.CURRENT, low=0,
        high=20, above=True, default=dict.fromkeys((PROCESSOR, AMPLIFIER), REMOTE_DRAW_A),
    ),
    Field(
        key="remote_limit_a", column="Remote limit", help="the most that its turn-on output may give",
        kind=units.CURRENT, low=0, high=20, above=True, default=dict.fromkeys((HEAD, PROCESSOR), REMOTE_LIMIT_A),
    ),
    Field(
        key="coil_ohm", column="Coil resistance", help="of a relay, at 20 °C", kind=units.RESISTANCE, low=1,
        high=100_000, default={RELAY: relay.USUAL_12V.coil_ohm},
    ),
    Field(
        key="pull_in_v", column="Pull-in voltage", help="a relay closes at or over it", kind=units.VOLTAGE, high=60,
        above=True, default={RELAY: relay.USUAL_12V.pull_in_v},
    ),
    Field(
        key="drop_out_v", column="Drop-out voltage", help="a relay opens at or under it", kind=units.VOLTAGE, high=60,
        above=True, default={RELAY: relay.USUAL_12V.drop_out_v},
    ),
    Field(
        key="strip_m", column="Strip length", help="of the lamps themselves", kind=units.LENGTH, high=50, above=True,
        needed=(LAMPS,),
    ),
    Field(
        key="amps_per_m", column="Strip current per metre", help="of the lamps", kind=units.CURRENT, high=20,
        above=True, needed=(LAMPS,),
    ),
    Field(
        key="strip_ohm_per_m", column="Strip resistance per metre", help="both its conductors together",
        kind=units.RESISTANCE, high=5, above=True, default={LAMPS: STRIP_OHM_PER_M},
    ),
    Field(
        key="start_ratio", column="Start over draw", help="current when it starts, over its draw: 3 for a motor, 1 for"
        " what starts as it runs", kind=units.NUMBER, low=1, high=100, default={OTHER: device.START_RATIO},
    ),
    Field(
        key="start_s", column="Start lasts", help="in seconds, a number; its fuse must stand that long",
        kind=units.NUMBER, low=0, high=60, default={OTHER: device.START_S},
    ),
    Field(  # a head unit's most flows in peaks of loud music, and it works on a low battery: common practice, no source
        key="critical", column="Voltage critical", help="no: it takes what it gets, as heaters, cabin lights and"
        " chargers do, and its wire may lose more", words=_words("yes", "no"), default={HEAD: "no", OTHER: "yes"},
    ),
    Field(
        key="lowest_v", column="Lowest supply", help="the lowest voltage of the battery at which it has to work; as the"
        " house rules say if empty", kind=units.VOLTAGE, low=1, high=supply.HIGHEST_V,
        default=dict.fromkeys((RELAY, LAMPS)),
    ),
    Field(
        key="capacity_ah", column="Capacity", help="of a battery, in ampere-hours: a number", kind=units.NUMBER, low=1,
        high=5000, default={BATTERY: None},
    ),
    Field(
        key="road_a", column="Output on the road", help="the most that an alternator gives at driving speed",
        kind=units.CURRENT, low=1, high=1000, default={ALTERNATOR: None},
    ),
    Field(
        key="idle_a", column="Output at idle", help="the most that an alternator gives with the engine idling",
        kind=units.CURRENT, low=0, high=1000, default={ALTERNATOR: None},
    ),
    Field(
        key="quiescent_a", column="Parked draw", help="current that it takes when it is off", kind=units.CURRENT,
        low=0, high=10, default=dict.fromkeys((HEAD, PROCESSOR, AMPLIFIER, RELAY, OTHER)),
    ),
    Field(
        key="engine_only", column="Only with the engine", help="yes: it draws while the engine runs, as a charger"
        " between batteries does", words=_words("yes", "no"), default={OTHER: "no"},
    ),
    Field(
        key="takes", column="Terminals take", help="the thickest wire that its power terminals take, of a loudspeaker"
        " its own, such as 8 AWG; empty: what such devices usually take is assumed, and said where the wire is thicker",
        default=dict.fromkeys(KINDS),
    ),
    *_SHEET_END,
)  # fmt: skip
_WIRE, _MAY = ("wire",), {"wire": None}
WIRE_FIELDS: tuple[Field, ...] = (
    Field(key="name", column="Name", help=_NAME, needed=_WIRE),
    Field(key="start", column="From", help="name of a device", needed=_WIRE),
    Field(key="start_terminal", column="From terminal", help="such as plus, speaker 1, line out 2", needed=_WIRE),
    Field(key="end", column="To", help="name of a device", needed=_WIRE),
    Field(key="end_terminal", column="To terminal", help="such as plus, coil, line in 2", needed=_WIRE),
    Field(
        key="length_m", column="Length", help="one way", kind=units.LENGTH, high=LONGEST_M, above=True, needed=_WIRE
    ),
    Field(key="size", column="Size", help="a size such as 12 AWG or 4 mm2, or “choose”", needed=_WIRE),
    Field(
        key="parallel", column="Parallel", help="like conductors side by side", kind=units.COUNT, low=1, high=16,
        default={"wire": 1},
    ),
    Field(
        key="metal", column="Metal", help="of the conductor", default={"wire": "copper"},
        words={key: metal.name for key, metal in METALS.items()},
    ),
    Field(
        key="stranding", column="Stranding", help="of the conductor", default={"wire": "stranded"},
        words={key: stranding.name for key, stranding in STRANDINGS.items()},
    ),
    Field(
        key="insulation", column="Insulation", help="as printed on the wire; empty: what the house rules take for a"
        " feed or ground, or for others; over 50 A from a battery is a feed", default={"wire": ""},
        words={key: insulation.name for key, insulation in INSULATIONS.items()},
    ),
    Field(
        key="back", column="Return", help="how the current comes back; empty: by a second wire for speakers and"
        " line level, by the body for the rest", words=_words("wire", "body"), default={"wire": ""},
    ),
    Field(
        key="fuse", column="Fuse", help="a rating such as 30 A at the start of the wire, “choose” or “none”",
        default={"wire": NONE},
    ),
    Field(
        key="zone", column="Zone", help="the hottest place on its way; empty: what Places or the house rules say, for a"
        " feed from the battery the engine bay first", default={"wire": ""},
        words={key: zone.name for key, zone in ZONES.items()},
    ),
    Field(
        key="places", column="Places", help="each place on its way with its length, as in engine bay 1 m; sill 3 m;"
        " boot 1 m: the hottest decides its heat, all of them its drop", default={"wire": ()},
    ),
    Field(key="bundle", column="Bundle", help="the same name for wires that lie together", default={"wire": ""}),
    Field(key="cable", column="Cable", help="name of a cable of several conductors it may run in",
          default={"wire": ""}),
    Field(
        key="joints_ohm", column="Joints", help="all crimps and terminals of this wire together",
        kind=units.RESISTANCE, high=10, default={"wire": 0.0},
    ),
    Field(
        key="there", column="Already there", help="yes: the vehicle's own wire, which is judged but not bought",
        words=_words("yes", "no"), default={"wire": "no"},
    ),
    *(Field(key=field.key, column=field.column, help=field.help, default={"wire": ""}) for field in _SHEET_END),
)  # fmt: skip


BY_SYSTEM = ("voltage_v", "full_power_v", "inner_ohm")
"""What of sources and amplifiers is assumed for each 12 V of a vehicle: batteries in a row add up, and an amplifier is
rated at what the engine charges them to. An alternator's resistance goes along: common practice, no source."""
_BY_SYSTEM = {each.key: each for each in DEVICE_FIELDS if each.key in BY_SYSTEM}
_OF_SUPPLY = (BATTERY, ALTERNATOR, AMPLIFIER)


def usual_of(field: Field, kind: str, systems: int = 1) -> Any:
    """What holds where nobody wrote it.

    Parameters
    ----------
    field : Field
    kind : str
        Of the device; "wire" for a wire.
    systems : int
        Batteries of 12 V in a row: 2 in a vehicle of 24 V.

    Returns
    -------
    Any
        As the attribute has it; None where nothing is assumed.
    """
    usual = field.default.get(kind)
    return usual * systems if field.key in BY_SYSTEM and kind in _OF_SUPPLY and usual is not None else usual


def by_system(device: Any, systems: int) -> dict[str, Any]:
    """What a device has in a vehicle of some voltage where nobody wrote it.

    Parameters
    ----------
    device : Device
        Its `usual` says what nobody wrote.
    systems : int
        Batteries of 12 V in a row.

    Returns
    -------
    dict of str to Any
        What changes, by attribute; its `usual` among them.
    """
    usual = {key: usual_of(_BY_SYSTEM[key], device.kind, systems) for key in device.usual}
    changes = {key: value for key, value in usual.items() if value != device.usual[key]}
    return {**changes, "usual": usual} if changes else {}


def fill_and_check(part: Any, fields: Sequence[Field], kind: str) -> dict[str, Any]:
    """Check every field of a device or wire, and fill what is empty with what then holds.

    Parameters
    ----------
    part : Device or Wire
        Is changed: an empty field that has a default gets it.
    fields : sequence of Field
        Those that are looked at.
    kind : str
        Kind of the device; "wire" for a wire.

    Returns
    -------
    dict of str to Any
        What was filled, by attribute.

    Raises
    ------
    InputError
        If a field that the kind needs is empty, one that it does not have is filled, or a value is out of range.
    """
    filled: dict[str, Any] = {}
    for each in fields:
        value = getattr(part, each.key)
        if value is None or (isinstance(value, str | tuple) and not value):
            if kind in each.needed:
                raise InputError(each.column, "", each.allowed, f"Needed for {with_article(kind)} ({each.help}).")
            if each.default.get(kind, value) != value:
                filled[each.key] = each.default[kind]
                object.__setattr__(part, each.key, each.default[kind])
        elif not each.belongs(kind):
            raise InputError(each.column, value, "nothing here", f"No number for {with_article(kind)}: leave it empty.")
        elif each.kind is not None:
            check(each.column, value, each.kind.unit, low=each.low, high=each.high, above=each.above)
        elif each.words and value not in each.words:
            raise InputError(each.column, value, each.allowed)
    return filled
