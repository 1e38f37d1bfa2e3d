"""What must be said wherever a wire or a fuse is decided on: one rule for each caution, for every page and paper."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import COPPER, Metal
from wirecalc.wire.zones import ZONES

StartsAt = Literal["battery", "branch", "output"]

SHOCK_V = 50.0  # RMS, where extra-low voltage ends: IEC 60364-4-41, from memory
LOUD_W = 100.0  # over it a loudspeaker in a closed cabin is loud enough to hurt: common practice, no source
TOGETHER = 3  # more loaded conductors than this are a bundle that heats itself: common practice, no source
BAY = ("battery_side", "engine_bay")
BOAT_ENGINE = "engine_space"
THROUGH_METAL = (*BAY, BOAT_ENGINE, "outside")

CAUTIONS: dict[str, str] = {
    "battery feed": (
        "Fuse the feed within about 450 mm (18 in) of wire from the battery (common practice, no source): "
        "the wire before the fuse is protected by nothing, and a battery can weld and set fire. Take the "
        "battery's negative lead off before you start. The fuse must be able to break what the battery can "
        "deliver into a short: blade fuses are rated to break 1000 A (ISO 8820-3)."
    ),
    "battery sensor": (
        "Many vehicles have a current sensor on the battery's negative post: ground to the body, not to the post, or"
        " the charging goes wrong. Some switch circuits off or start by themselves: the vehicle maker's procedure says"
        " how to take the battery off."
    ),
    "branch": "Wherever a wire gets thinner, the thinner wire needs a fuse of its own at that point.",
    "fuse type": (
        "A fuse's own data sheet comes before the limits used here. Never put in a larger fuse to stop it from "
        "opening: find the fault or take thicker wire."
    ),
    "warm holder": (
        "Feel every fuse holder and lug after ten minutes at full load: one that is too warm to touch has a loose,"
        " dirty or badly crimped contact, whatever the fuse."
    ),
    "parallel": (
        "Conductors side by side must be alike, of one length and joined at both ends. One fuse for all does not"
        " protect the last one left when the others come off: fuse each at what it alone may carry."
    ),
    "test tones": (
        "No fuse protects a speaker's wire. Test tones, clipped bass and a stuck amplifier heat it, and the voice"
        " coil, far more than music does: set levels with short tones, and switch off what smells hot."
    ),
    "shock": (
        f"At full power this circuit carries {SHOCK_V:g} V or more, where extra-low voltage ends (alternating, RMS; IEC"
        " 60364-4-41; published value, copy not checked): it can give a dangerous shock. Switch the amplifier off"
        " before you touch bare ends or terminals, insulate them so that nothing can touch them, and keep to the local"
        " rules for such voltages."
    ),
    "hearing": (
        f"Over {LOUD_W:g} W in a closed cabin can harm hearing within minutes (100 dB(A) for 15 minutes a day at most:"
        " NIOSH; published value, copy not checked). Start every test with the level down, doors open, and wear ear"
        " protection."
    ),
    "clad aluminium": (
        "Copper-clad aluminium is pressed thin by a crimp and creeps, so that the contact gets loose and hot: take"
        " terminals and a tool that are made for it, never solder or a bare screw, tighten again after the first hot"
        " run, and keep water out. It carries what copper two gauge sizes thinner does: a 4 AWG of it counts as 6 AWG."
    ),
    "grommets": (
        "Where a wire passes sheet metal it needs a grommet, beside edges and moving parts a sleeve and a clip: worn"
        " insulation is how wires burn. Pull it so that water runs off before the hole."
    ),
    "hot bundle": (
        "Wires in a bundle heat each other, and where it passes through foam, carpet or a closed tube it is "
        "hotter than calculated here for still air. Spread loaded wires, or take thicker ones."
    ),
    "engine bay": (
        "Next to the exhaust or the radiator it is hotter than the zone's air. Use wire marked for the heat, in a "
        "sleeve, clear of moving and hot parts, with a grommet through the bulkhead."
    ),
    "boat engine": (
        "In the engine space of a boat with petrol, what may spark (fuses, switches, relays) has to be of a kind that"
        " ignites no vapour: 33 CFR 183.410 and local rules say which."
    ),
    "airbag": (
        "Keep away from airbag and belt-tensioner circuits (often yellow connectors and sleeves): do not probe, "
        "cut, tap or share a bundle with them. An airbag that fires by accident can kill. Work near them only "
        "by the vehicle maker's procedure."
    ),
}
LOCAL_CODES = (
    "Local codes, the vehicle maker's instructions and the data sheets of wire and fuse come first; where the "
    "law or doubt asks for it, leave the work to a licensed professional."
)


@dataclass(frozen=True, kw_only=True)
class Work:
    """A circuit, how it is laid and where; of several together all that holds for any."""

    starts_at: StartsAt = "branch"
    """Whether its wire starts at the battery, at a fused branch of the supply, or at another device's output."""
    loudspeaker: bool = False
    """It feeds a loudspeaker."""
    music_v: float = 0.0
    """RMS between its conductors at the music's full power; 0 where it carries no music. [V]"""
    music_w: float = 0.0
    """That power, of which a loudspeaker is loud. [W]"""
    ground: bool = False
    """It brings supply current back to the body or the battery."""
    fused: bool = True
    """It has a fuse, or needs one."""
    parallel: int = 1
    loaded: int = 1
    """Loaded conductors that lie together, its own counted, in the fullest place."""
    zones: tuple[str, ...] = ()
    """Keys of `wirecalc.wire.zones.ZONES` that it passes; none where only the air is known."""
    metal: Metal = COPPER

    def __post_init__(self) -> None:
        check("Voltage at full power", self.music_v, "V", low=0, high=100_000)
        check("Full power", self.music_w, "W", low=0, high=1e9)
        check("Conductors in parallel", self.parallel, "", low=1, high=16)
        check("Loaded conductors together", self.loaded, "", low=0, high=1000)
        for zone in self.zones:
            if zone not in ZONES:
                raise InputError("Place", zone, ", ".join(ZONES))

    @property
    def applies(self) -> dict[str, bool]:
        """Which of `CAUTIONS` hold, by key, in the order in which they are said."""
        supply = self.fused and self.starts_at != "output"
        return {
            "battery feed": self.starts_at == "battery" and not self.ground,
            "battery sensor": self.starts_at == "battery" or self.ground,
            "branch": supply,
            "fuse type": supply,
            "warm holder": supply,
            "parallel": self.parallel > 1,
            "test tones": self.loudspeaker,
            "shock": self.music_v >= SHOCK_V,
            "hearing": self.loudspeaker and self.music_w > LOUD_W,
            "clad aluminium": self.metal.key.startswith("cca") or self.metal.key == "aluminium",
            "grommets": len(set(self.zones)) > 1 or any(zone in THROUGH_METAL for zone in self.zones),
            "hot bundle": self.loaded > TOGETHER,
            "engine bay": any(zone in BAY for zone in self.zones),
            "boat engine": BOAT_ENGINE in self.zones,
            "airbag": True,
        }


def keys(work: Work | Iterable[Work]) -> tuple[str, ...]:
    """Keys of `CAUTIONS` that hold for some work, or for any of several, in order, each once."""
    all_work = (work,) if isinstance(work, Work) else tuple(work)
    needed = {key for work in all_work for key, does in work.applies.items() if does} or {"airbag"}
    return tuple(key for key in CAUTIONS if key in needed)


def cautions(work: Work | Iterable[Work]) -> tuple[str, ...]:
    """What to say where a wire or a fuse for this work is decided on.

    Parameters
    ----------
    work : Work or iterable of Work
        Of several, a caution is said once if it holds for any.

    Returns
    -------
    tuple of str
        One text each; local codes at the end, always.

    Examples
    --------
    >>> keys(Work(starts_at="output", loudspeaker=True))
    ('test tones', 'airbag')
    """
    return (*(CAUTIONS[key] for key in keys(work)), LOCAL_CODES)
