"""What each wire of a vehicle is held to: limits of safety, which nothing moves, and of taste, which have a band.

The bounds of taste are the shop's own (`wirecalc.advice.house_rules`), those of safety follow from the insulation, the
fuses and the devices.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from wirecalc.advice import fuses
from wirecalc.advice.demands import NO_WIRE
from wirecalc.advice.fuses import FuseAdvice
from wirecalc.advice.house_rules import HouseRules
from wirecalc.circuits.battery import BLOCK_OHM, Battery, prospective_a
from wirecalc.circuits.device import NOMINAL_V
from wirecalc.limit import Limit
from wirecalc.runs.choose import LIMITS, Verdict
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import ALTERNATOR, BATTERY, OTHER
from wirecalc.vehicle.model import Vehicle, Wire, given
from wirecalc.vehicle.terminals import HOUSE_KINDS, LIMIT_KINDS, devices_behind, house_kind, stated_a
from wirecalc.wire.ampacity import Allowable
from wirecalc.wire.conductor import COPPER, Conductor
from wirecalc.wire.fuse_families import RATINGS_A, SUSTAINED, FuseFamily
from wirecalc.wire.zones import ZONES

Array = NDArray[np.float64]
Grade = Literal["fine", "borderline", "too thin"]

TASTE = frozenset(
    {"loss_db", "damping_factor", "drop_v", "music_drop_v", "drop_fraction", "treble_loss_db", "matched_db"}
)
"""Measures whose limits are no edge: see `grades`."""
BY_GAIN = frozenset({"matched_db"})
"""Measures of taste that a gain sets right, so that no wire is too thin for them."""
LEAST_REMOTE_V = 9.0  # wakes up a device: common practice, no source; the manuals come first
M2_PER_A = 0.2e-6  # wire before a fuse, for each ampere of it: as thick as anybody pulls; common practice, no source
RETURN_SHARE = 0.88  # sizes sold under one number differ by up to 12 % of metal: SAE J1127 against the AWG number

_WAKES = Limit(
    measure="wake_v", name="turn-on voltage on a tired battery", sense="at least", bound=LEAST_REMOTE_V, unit="V",
    reason="Under it the device does not wake up.", remedy="thicker wire, or a relay near the devices",
    source="common practice, no source; the manuals come first", confidence="common practice",
)  # fmt: skip
_FUSE = Limit(
    measure="fuse_a", name="fuse", sense="at least", bound="needed_a", unit="A",
    reason="A fuse at its limit opens without a fault.", remedy="a larger fuse if the wire allows it, or thicker wire",
    source="loading of fuses by the house rules: common practice, no source", confidence="common practice",
)  # fmt: skip
_BEFORE = Limit(
    measure="before_a", name="upstream fuse", sense="at most", bound="largest_fuse_a", unit="A",
    reason="A fuse protects a wire only if the wire may carry what it lets through.",
    remedy="a smaller fuse where the wire starts, or thicker wire",
    source="the wire decides: FAA AC 43.13-1B 11-48, a breaker opens before the wire's rating is exceeded",
    confidence="read",
)  # fmt: skip
_BACK = replace(
    _BEFORE, measure="return_a", name="fuses of what it returns",
    reason="A return has no fuse of its own: it stands what the fuses of all that comes back through it let through.",
    remedy="thicker wire, or a return of its own for each device",
)  # fmt: skip
_METAL = Limit(
    measure="metal_mm2", name="metal against the feed it returns", sense="at least", bound="returned_mm2", unit="mm²",
    reason="What flows out flows back: a return is no thinner than the feed it belongs to.",
    remedy="a return as thick as the feed", source="common practice, no source", confidence="common practice",
)  # fmt: skip
_MATCHED = Limit(
    measure="matched_db", name="level under the loudest of its matches", sense="at most", bound=0.0, unit="dB",
    reason="", remedy="the same wire for all that match, or the gain", source="", confidence="",
)  # fmt: skip
EXTRA = (_WAKES, _FUSE, _BEFORE, _BACK, _METAL)
_OF_SUPPLY = ("drop_v", "drop_fraction", "load_v")  # bounds of the house rules, and on a tired battery, instead
_OF_LOAD = ("margin_v", "hold_v", "release_v", "dimmest_percent")


def no_thinness(broken: Collection[str], measures: Mapping[str, float]) -> str:
    """What is wrong with a circuit all of whose broken limits thicker wire does not mend.

    Parameters
    ----------
    broken : collection of str
        Measures of its broken limits.
    measures : mapping of str to float
        Of the circuit.

    Returns
    -------
    str
        "no wire does", "no fuse", "fuse too small" or "fuse too large"; empty where a thicker wire helps: also where no
        fuse that carries the draw is one that the wire stands.
    """
    if broken and set(broken) <= NO_WIRE:
        return "no wire does"
    if not measures.get("fuse_headroom_a", -1.0) >= 0:  # no fuse does for load and wire
        return ""
    if set(broken) == {"fuse_a"}:
        return "fuse too small"
    if "before_a" in broken and set(broken) <= {"before_a", "return_a"}:  # of a pair the same fuse is behind both
        return "fuse too large" if "fuse_a" in measures else "no fuse"
    return ""


def fuse_that_fits(measures: Mapping[str, float]) -> str:
    """The fuse that a feed without one needs, by its measures, in words: "put one of at most 30 A where it starts".

    Parameters
    ----------
    measures : mapping of str to float
        Of its circuit.

    Returns
    -------
    str
        Why none fits, where none does.
    """
    most, needed = measures["largest_fuse_a"], measures.get("needed_a", np.nan)
    if measures.get("fuse_headroom_a", 0.0) < 0 and np.isfinite(needed):
        between = ", and no rating lies between" if needed <= most else ""
        return f"none fits, as it needs {needed:.3g} A or more and the wire stands {most:.3g} A{between}"
    return f"put one of at most {most:.3g} A where it starts"


def start_over(vehicle: Vehicle, wire: Wire) -> tuple[float, float]:
    """What a feed carries beyond its draw while a device behind it starts: one at a time, the others running.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        A feed of that vehicle.

    Returns
    -------
    (float, float)
        The most of any of its devices, as its battery at rest drives it, all conductors in parallel together; and
        the longest that one of them takes: the safe side where one has more and another takes longer. [A], [s]
    """
    nominal_v = NOMINAL_V * vehicle.systems
    battery = next(device for device in vehicle.devices if device.kind == BATTERY)
    most_a = longest_s = 0.0
    for name in devices_behind(vehicle, wire):
        device = vehicle.device(name)
        if device.kind != OTHER or given(device.start_ratio) == 1:
            continue
        draw_a = sum(stated_a(device, nominal_v).values())  # of another load only one is stated
        started_a = given(device.start_ratio) * draw_a * given(battery.voltage_v) / nominal_v
        most_a = max(most_a, started_a - draw_a)
        longest_s = max(longest_s, given(device.start_s))
    return most_a, longest_s


def limits_of(vehicle: Vehicle, wire: Wire, measures: Mapping[str, Any]) -> tuple[Limit, ...]:
    """The limits of a wire: those of its kind of circuit that can be judged, and those of its fuse and its return.

    Parameters
    ----------
    vehicle : Vehicle
        Its house rules give the bounds on drops.
    wire : Wire
    measures : mapping
        Those of its measures that are known; a limit of fuse, return, relay, turn-on or last lamp is only asked where
        its measure is there.

    Returns
    -------
    tuple of wirecalc.limit.Limit
        A shared feed and a ground have no drop of their own to keep to: it counts in each circuit that they serve.
    """
    kind = vehicle.circuit(wire)
    limits = [
        limit
        for limit in vehicle.rules.tasted(HOUSE_KINDS[kind], LIMITS[LIMIT_KINDS[kind]])
        if limit.measure not in _OF_SUPPLY and (limit.measure not in _OF_LOAD or limit.measure in measures)
    ]
    drop = {limit.measure: limit for limit in LIMITS[LIMIT_KINDS[kind]]}
    rules = vehicle.rules
    if kind == "amplifier feed":
        full, music = (
            rules.rule("drop_limit", "battery to amplifier", case=c) for c in ("full power", "average of music")
        )
        limits = [
            replace(drop["drop_v"], name="voltage drop at full power, engine running", bound=full.number,
                    reason=full.reason, source=full.source, confidence=full.confidence),
            replace(drop["drop_v"], measure="music_drop_v", name="voltage drop with music, engine running",
                    bound=music.number, reason=music.reason, source=music.source, confidence=music.confidence),
            *limits,
        ]  # fmt: skip
    elif kind == "remote":
        start = vehicle.device(wire.start)
        limits = [replace(drop["drop_v"], bound=rules.rule("drop_limit", "remote turn-on").number), *limits]
        if start.remote_limit_a is not None:
            limits = [
                replace(limit, bound=start.remote_limit_a) if limit.measure == "draw_a" else limit for limit in limits
            ]
    elif kind in ("relay", "lamp", "load feed"):
        critical = "not critical" if vehicle.device(wire.end).critical == "no" else "critical"
        case = critical if kind == "load feed" else ""
        bound = rules.rule("drop_limit", HOUSE_KINDS[kind], case=case).number
        limits = [replace(drop["drop_fraction"], bound=bound), *limits]
    if kind == "ground":
        limits = [limit for limit in limits if limit.measure != "fuse_headroom_a"]
    if "matched_db" in measures:
        rule = rules.rule("matched_level", "amplifier to speaker")
        limits.append(
            replace(_MATCHED, bound=rule.number, reason=rule.reason, source=rule.source, confidence=rule.confidence)
        )
    return (*limits, *(limit for limit in EXTRA if limit.measure in measures))


def grades(verdict: Verdict, rules: HouseRules) -> tuple[Grade, ...]:
    """How each limit of the first candidate stands.

    Parameters
    ----------
    verdict : Verdict
    rules : HouseRules
        Their band says up to which share of its bound a value of taste is fine, and up to which borderline.

    Returns
    -------
    tuple of str
        "fine", "borderline" or "too thin" for each limit; one of safety, or without a value, is never borderline,
        and one that a gain sets right never too thin.
    """
    fine, borderline = rules.band
    by_limit: list[Grade] = []
    for limit, value, bound, meets in zip(
        verdict.limits, verdict.values[:, 0], verdict.bounds[:, 0], verdict.meets[:, 0], strict=True
    ):
        share = np.inf
        if limit.measure in TASTE and np.isfinite(value) and np.isfinite(bound) and value > 0 and bound > 0:
            share = value / bound if limit.sense == "at most" else bound / value
        if meets or share <= fine:
            by_limit.append("fine")
        else:
            by_limit.append("borderline" if share <= borderline or limit.measure in BY_GAIN else "too thin")
    return tuple(by_limit)


@takes_units
def fuse_of_wire(vehicle: Vehicle, wire: Wire, full_a: float, music_a: float, allowed_a: float = np.inf) -> FuseAdvice:
    """The fuse of one conductor of a feed, of the shop's family, derated by its air, that stands the devices' start.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        A feed; its fuse sits where it starts.
    full_a, music_a : float
        The most in any state, and the most with music, of one conductor. [A]
    allowed_a : float
        The largest rating that the wire stands. [A]

    Returns
    -------
    wirecalc.advice.fuses.FuseAdvice
        It breaks the short that the first battery can deliver there.
    """
    kind, rules = house_kind(vehicle, wire), vehicle.rules
    by_music = kind == "battery to amplifier"
    more_a, start_s = start_over(vehicle, wire)
    need = fuses.FuseNeed(
        # 8 A on a 10 A fuse is 80 %, whatever the last digits of a solved network say
        steady_a=(music_a if by_music else full_a) * (1 - 1e-7),
        full_a=full_a * (1 - 1e-7),
        loading=rules.loading(kind, "average of music" if by_music else ""),
        full_loading=rules.loading(kind, "full power") if by_music else 1.0,
        inrush_a=full_a + more_a / wire.parallel,
        inrush_s=start_s,
        air_c=ZONES[wire.places[0][0] if wire.places else wire.zone].ambient_c,
        where=_where(vehicle, wire),
        supply_v=highest_v(vehicle),
    )
    return fuses.fuse_for(need, allowed_a, lambda rating: short_a(vehicle, wire, rating), rules)


def highest_v(vehicle: Vehicle) -> float:
    """What fuses have to break: the most that a source gives. [V]"""
    return max(given(device.voltage_v) for device in vehicle.devices if device.kind in (BATTERY, ALTERNATOR))


@takes_units
def short_a(vehicle: Vehicle, wire: Wire, rating_a: float) -> float:
    """The strongest short that a fuse has to break where a feed starts.

    Parameters
    ----------
    vehicle : Vehicle
        Its first battery delivers it.
    wire : Wire
        The feed, which starts at the battery or behind a fuse.
    rating_a : float
        Of the fuse, whose own resistance counts. [A]

    Returns
    -------
    float
        [A]
    """
    source = next(device for device in vehicle.devices if device.kind == BATTERY)
    battery = Battery(volt=given(source.voltage_v), ohm=given(source.inner_ohm))
    distance_m = vehicle.rules.rule("fuse_distance", "at the battery").number
    at_battery = _where(vehicle, wire) == fuses.AT_BATTERY
    before_ohm = COPPER.ohm_m_20c * distance_m / (M2_PER_A * rating_a) if at_battery else BLOCK_OHM * vehicle.systems
    return float(prospective_a(battery, before_ohm, rating_a))


@takes_units
def fuse_family(vehicle: Vehicle, wire: Wire, rating_a: float) -> FuseFamily | None:
    """The family for a fuse of a rating where a feed starts: the shop's own, or another that breaks the short there.

    Parameters
    ----------
    vehicle : Vehicle
        Gives the house rules.
    wire : Wire
        The feed, which starts at the battery or behind a fuse.
    rating_a : float
        [A]

    Returns
    -------
    FuseFamily or None
        None if no family has the rating and breaks the short.
    """
    where = _where(vehicle, wire)
    return fuses.family_of(rating_a, where, short_a(vehicle, wire, rating_a), highest_v(vehicle), vehicle.rules)


def _where(vehicle: Vehicle, wire: Wire) -> str:
    at_battery = vehicle.device(wire.start).kind in (BATTERY, ALTERNATOR)
    return fuses.AT_BATTERY if at_battery else fuses.BEHIND_A_FUSE


@takes_units
def next_rating(vehicle: Vehicle, wire: Wire, least_a: float) -> float:
    """The smallest fuse of the shop's families for a feed that has at least a rating.

    Parameters
    ----------
    vehicle : Vehicle
        Gives the house rules.
    wire : Wire
        The feed.
    least_a : float
        [A]

    Returns
    -------
    float
        inf if there is none. [A]
    """
    for rating in RATINGS_A:
        family = fuse_family(vehicle, wire, rating)
        if rating >= least_a * (1 - 1e-9) and family is not None and rating in family.ratings_a:
            return rating
    return float(np.inf)


def largest_fuse_a(allowed: Allowable) -> Array:
    """The largest fuse that each wire stands, (n,): its table's current, and what a fuse lets through for ever. [A]"""
    return np.asarray(np.minimum(allowed.published_a, allowed.balance_a / SUSTAINED))


def metal_mm2(wire: Wire, conductor: Conductor) -> float:
    """Metal of all conductors in parallel, as copper that conducts as much.

    Parameters
    ----------
    wire : Wire
        Gives the number of conductors in parallel.
    conductor : Conductor
        One of them.

    Returns
    -------
    float
        [mm^2]
    """
    return conductor.area_m2 * 1e6 * wire.parallel * COPPER.ohm_m_20c / conductor.metal.ohm_m_20c
