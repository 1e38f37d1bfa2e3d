"""The supply side of an amplifier: what it draws, and what its feed wire costs in volts and decibels."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]

MUSIC_SHARE = 1 / 8  # of rated power, as a sine: common practice, no source; see `wirecalc.wire.music`
TEST_SUPPLY_V = 14.4  # CTA-2006, from memory
HIGHEST_V = 60.0  # SELV's limit for direct current, from memory; 48 V vehicles are under it


@dataclass(frozen=True, kw_only=True)
class AmplifierClass:
    """How an amplifier turns supply power into output power."""

    key: str
    name: str
    efficiency: float
    """Output over draw with a sine at rated power, idle draw not counted. [-]"""
    exponent: float
    """The draw goes with the output power to this exponent: 0 constant, 0.5 with voltage, 1 with power."""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Efficiency", self.efficiency, "", low=0, high=1, above=True, hint="Was it in percent?")
        check("Draw exponent", self.exponent, "", low=0, high=1)


CLASSES = tables.keyed("amplifier_classes", AmplifierClass, efficiency="efficiency_at_rated", exponent="draw_exponent")


@dataclass(frozen=True, kw_only=True)
class Draw:
    """What an amplifier takes from its supply; every field has the broadcast shape of what went in."""

    power_w: Array
    """[W]"""
    current_a: Array
    """[A]"""
    efficiency: Array
    """Output over draw, idle draw counted; nan with no output and no draw. [-]"""


def draw(
    rated_w: ArrayLike,
    amplifier_class: AmplifierClass,
    *,
    share: ArrayLike = MUSIC_SHARE,
    idle_a: ArrayLike = 0.0,
    supply_v: ArrayLike = TEST_SUPPLY_V,
) -> Draw:
    """Draw of an amplifier at a share of its rated power.

    Parameters
    ----------
    rated_w : (...,) array_like
        All channels together. [W]
    amplifier_class : AmplifierClass
        One of `CLASSES`, or one's own.
    share : (...,) array_like
        Output over rated power: 1 for a sine at the rating, one-eighth for music. [0 to 1]
    idle_a : (...,) array_like
        Draw with no signal; added at every level, which is a little more than the truth. [A]
    supply_v : (...,) array_like
        At the amplifier. [V]

    Returns
    -------
    Draw

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``rated / efficiency x share**exponent + idle``. The exponent is from theory: class B takes current in
    proportion to its output voltage, so its efficiency is pi/4 sqrt(share). For noise-like music class B
    takes 11 % less than for a sine of the same power (mean over RMS: 0.798 against 0.900); not counted.

    References
    ----------
    .. [1] One-eighth of rated power: common practice, no source; 16 CFR 432.3(c) only warms amplifiers up with it.
    .. [2] Efficiencies: data/amplifier_classes.csv, row by row.

    Examples
    --------
    >>> float(draw(400, CLASSES["B"], share=1).current_a.round(3))      # 400 / (pi/4) / 14.4
    35.368
    """
    rated_w = check("Amplifier power", rated_w, "W", low=0, high=100_000)
    share = check("Share of rated power", share, "", low=0, high=1, hint="One-eighth is 0.125.")
    idle_a = check("Idle current", idle_a, "A", low=0, high=50)
    supply_v = check("Supply voltage", supply_v, "V", low=0, high=HIGHEST_V, above=True)
    power_w = np.asarray(rated_w / amplifier_class.efficiency * share**amplifier_class.exponent + idle_a * supply_v)
    with np.errstate(invalid="ignore"):
        efficiency = rated_w * share / power_w
    return Draw(power_w=power_w, current_a=power_w / supply_v, efficiency=efficiency)


@dataclass(frozen=True, kw_only=True)
class ConstantPower:
    """A constant-power draw through a feed; nan where there is no solution."""

    current_a: Array
    """The stable answer. [A]"""
    load_v: Array
    """The stable answer, at the load. [V]"""
    other_current_a: Array
    """The unstable answer of the same equation: more current. [A]"""
    other_load_v: Array
    """The unstable answer, at the load. [V]"""
    most_w: Array
    """The most that gets through the feed. [W]"""
    reason: str
    """Why there is no solution, for the first element without one; empty when all have one."""


def constant_power(
    source_v: ArrayLike, feed_ohm: ArrayLike, power_w: ArrayLike, *, mark: Mark = plain
) -> ConstantPower:
    """A load that draws the same power at any voltage, fed through a resistance.

    Parameters
    ----------
    source_v : (...,) array_like
        Of the battery with nothing drawn. [V]
    feed_ohm : (...,) array_like
        Everything on the way out and back: battery, wire, fuse, chassis. [ohm]
    power_w : (...,) array_like
        Drawn at the load. [W]
    mark : wirecalc.mark.Mark
        What is done to each number of the reason that was computed.

    Returns
    -------
    ConstantPower
        nan where the power is more than V^2/(4 R).

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``I = (V - sqrt(V^2 - 4 P R)) / (2 R)`` and the same with plus. With the load's input capacitor,
    ``C dv/dt = (V - v)/R - P/v``: a disturbance dies away where v^2 > P R, which is the answer with the
    higher voltage, as the two multiply to P R. The other runs away: up to the first, or down to nothing.

    Examples
    --------
    >>> found = constant_power(14.4, 0.005, 1000)
    >>> float(found.current_a.round(5)), float(found.load_v.round(5))
    (71.20491, 14.04398)
    """
    source_v = check("Supply voltage", source_v, "V", low=0, high=HIGHEST_V, above=True)
    feed_ohm = check("Feed resistance", feed_ohm, "ohm", low=0, high=1000)
    power_w = check("Power drawn", power_w, "W", low=0, high=100_000)
    source_v, feed_ohm, power_w = np.broadcast_arrays(source_v, feed_ohm, power_w)
    with np.errstate(divide="ignore", invalid="ignore"):  # no feed resistance; no power; no solution
        most_w = source_v**2 / (4 * feed_ohm)
        root = np.sqrt(1 - power_w / most_w)  # nan past the limit, by itself
        load_v = np.minimum(source_v / 2 * (1 + root), source_v)
        # by the product and the sum of the roots: the difference of near-equal numbers is never taken
        other_load_v = power_w * feed_ohm / load_v
        current_a = power_w / load_v
        other_current_a = load_v / feed_ohm
    none = np.isnan(load_v)
    reason = ""
    if none.any():
        volt, ohm, watt, most = (a[none][0] for a in (source_v, feed_ohm, power_w, most_w))
        reason = (
            f"{mark(f'{watt:.4g}', 'average_w')} W cannot be drawn through {mark(f'{ohm:.4g}', 'loop_ohm')} Ω from"
            f" {volt:.4g} V: at most {mark(f'{most:.4g}', 'most_w')} W gets through, at"
            f" {mark(f'{volt / 2:.4g}', 'most_v')} V. Beyond that a higher current loses more in the feed than it"
            " brings, the voltage collapses and the amplifier shuts down. Take a shorter or thicker feed, or"
            " less power."
        )
    return ConstantPower(
        current_a=current_a,
        load_v=load_v,
        other_current_a=other_current_a,
        other_load_v=other_load_v,
        most_w=most_w,
        reason=reason,
    )


def output_ratio(supply_v: ArrayLike, *, regulated: bool, full_power_v: float) -> Array:
    """Output power that an amplifier can reach over its rated power, as its supply voltage changes.

    Parameters
    ----------
    supply_v : (...,) array_like
        At the amplifier. [V]
    regulated : bool
        Whether its converter holds the inner voltage.
    full_power_v : float
        Where it just gives its rated power: for a regulated one the least such voltage, for an unregulated
        one the voltage of the rating (`TEST_SUPPLY_V`, if the maker does not say). [V]

    Returns
    -------
    (...,) numpy.ndarray
        Regulated: 1 down to `full_power_v`, and with the square of the voltage below. Unregulated: with the
        square of the voltage, below and above. When it switches off is not in the model. [-]

    Raises
    ------
    InputError
        If a voltage is out of range.

    Examples
    --------
    >>> [float(x) for x in output_ratio([7.2, 14.4], regulated=False, full_power_v=14.4)]
    [0.25, 1.0]
    """
    supply_v = check("Supply voltage", supply_v, "V", low=0, high=HIGHEST_V, above=True)
    full_power_v = float(check("Full-power voltage", full_power_v, "V", low=1, high=HIGHEST_V))
    square = np.asarray((supply_v / full_power_v) ** 2)
    return np.minimum(square, 1.0) if regulated else square


@dataclass(frozen=True, kw_only=True)
class Fed:
    """An amplifier at full output at the end of its feed."""

    supply_v: Array
    """At the amplifier. [V]"""
    current_a: Array
    """[A]"""
    output_ratio: Array
    """Output that it can reach over its rated power. [-]"""
    level_db: Array
    """Level at the speaker against a feed of no resistance; 0 or below. [dB]"""


@takes_units
def fed(source_v: ArrayLike, feed_ohm: ArrayLike, draw_w: ArrayLike, *, regulated: bool, full_power_v: float) -> Fed:
    """What a feed costs an amplifier that is driven to all that it can give.

    Parameters
    ----------
    source_v : (...,) array_like
        Of the battery with nothing drawn. [V]
    feed_ohm : (...,) array_like
        Out and back, with battery, fuse and chassis. [ohm]
    draw_w : (...,) array_like
        Draw at rated power with a supply of `full_power_v`, above 0: `draw` with a share of 1. [W]
    regulated, full_power_v
        See `output_ratio`.

    Returns
    -------
    Fed

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    A regulated amplifier draws constant power down to `full_power_v`. Below it, and at any voltage when
    unregulated, its full output and so its draw go with the square of the supply voltage: a resistance of
    ``full_power_v**2 / draw_w``. Where both are possible it is the higher voltage, coming from no load.
    So the level always has an answer; whether rated power has one is `constant_power`.

    Examples
    --------
    >>> float(fed(14.4, 0.02, 600, regulated=False, full_power_v=14.4).level_db.round(3))
    -0.489
    """
    draw_w = check("Power drawn", draw_w, "W", low=0, high=100_000, above=True)
    bare = output_ratio(source_v, regulated=regulated, full_power_v=full_power_v)
    feed = constant_power(source_v, feed_ohm, draw_w)
    ohm = full_power_v**2 / draw_w
    source_v = np.asarray(source_v, np.float64)
    supply_v = np.minimum(source_v * (ohm / (ohm + np.asarray(feed_ohm, np.float64))), source_v)
    if regulated:
        supply_v = np.where(feed.load_v >= full_power_v, feed.load_v, supply_v)
    ratio = output_ratio(supply_v, regulated=regulated, full_power_v=full_power_v)
    return Fed(
        supply_v=supply_v,
        current_a=ratio * draw_w / supply_v,
        output_ratio=ratio,
        level_db=10 * np.log10(ratio / bare),
    )
