"""An amplifier's ratings at several impedances, and the one that applies to a given load."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError, check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Rating:
    """One line of the ratings: a power into an impedance."""

    ohm: float
    power_w: float

    def __post_init__(self) -> None:
        check("Rated impedance", self.ohm, "Ω", low=0.1, high=1000)
        check("Amplifier power", self.power_w, "W", low=0.001, high=20000)

    @property
    def volt(self) -> float:
        """RMS voltage at the terminals. [V]"""
        return math.sqrt(self.power_w * self.ohm)

    @property
    def ampere(self) -> float:
        """RMS current. [A]"""
        return math.sqrt(self.power_w / self.ohm)


@dataclass(frozen=True, kw_only=True)
class RatedAmplifier:
    """An amplifier channel, or a bridged pair, with all its ratings; they may be given in any order."""

    ratings: tuple[Rating, ...]
    damping_factor: float = 200.0
    """`damping_ohm` over the output impedance."""
    damping_ohm: float | None = None
    """The load that the damping factor is quoted at; the highest rated one if not said. [ohm]"""
    least_ohm: float | None = None
    """Lowest load that the maker allows; the lowest rated one if not said. [ohm]"""

    def __post_init__(self) -> None:
        by_ohm = tuple(sorted(self.ratings, key=lambda rating: rating.ohm))
        if len({rating.ohm for rating in by_ohm}) < max(len(by_ohm), 1):
            given = ", ".join(f"{rating.power_w:g} W at {rating.ohm:g} Ω" for rating in by_ohm) or "none"
            raise InputError("Ratings", given, "at least one, each at its own impedance")
        object.__setattr__(self, "ratings", by_ohm)
        lowest, highest = by_ohm[0].ohm, by_ohm[-1].ohm
        damping_ohm = float(check("Damping factor's load", self.quoted_ohm, "Ω", low=0.1, high=1000))
        # at no rated load may the output impedance be the larger one: that is a slip, not an amplifier
        low, high = damping_ohm / lowest, 100_000 * damping_ohm / highest
        check("Damping factor", self.damping_factor, "", low=low, high=high)
        check("Least load", self.least_load_ohm, "Ω", low=0.1, high=lowest, hint="A rating below it exists.")

    @property
    def quoted_ohm(self) -> float:
        """The load that the damping factor is quoted at. [ohm]"""
        return self.ratings[-1].ohm if self.damping_ohm is None else self.damping_ohm

    @property
    def output_ohm(self) -> float:
        """Output impedance, from the damping factor. [ohm]"""
        return self.quoted_ohm / self.damping_factor

    @property
    def least_load_ohm(self) -> float:
        """Lowest allowed load. [ohm]"""
        return self.ratings[0].ohm if self.least_ohm is None else self.least_ohm


@dataclass(frozen=True, kw_only=True)
class Applied:
    """What a `RatedAmplifier` is for one load."""

    amplifier: Amplifier
    """Ready for `wirecalc.circuits.circuit`."""
    cautions: tuple[str, ...]
    """What the person must know about this load; empty when all is well."""


def rated_v(amplifier: RatedAmplifier, load_ohm: ArrayLike) -> Array:
    """RMS voltage that the ratings allow at the terminals.

    Parameters
    ----------
    amplifier : RatedAmplifier
        Its ratings.
    load_ohm : (...,) array_like
        Above 0. [ohm]

    Returns
    -------
    (...,) numpy.ndarray
        [V]

    Raises
    ------
    InputError
        If a load is not above 0.

    Notes
    -----
    Between two ratings: the point on the straight line from one's (current, voltage) to the other's, as if
    the supply sagged evenly; it meets both ratings exactly. Outside them: the voltage of the nearest rating,
    a voltage source, which overstates the power below the lowest rating. An assumption, no source.

    Examples
    --------
    >>> pair = RatedAmplifier(ratings=(Rating(ohm=4, power_w=100), Rating(ohm=2, power_w=170)))
    >>> [float(v) for v in rated_v(pair, [1, 2, 3, 4, 8]).round(3)]
    [18.439, 18.439, 19.451, 20.0, 20.0]
    """
    load_ohm = check("Load impedance", load_ohm, "Ω", low=0, above=True)
    ohm, volt, ampere = (
        np.array([getattr(rating, name) for rating in amplifier.ratings]) for name in ("ohm", "volt", "ampere")
    )
    if ohm.size == 1:
        return np.full(load_ohm.shape, volt[0])
    load_ohm = np.clip(load_ohm, ohm[0], ohm[-1])
    below = np.clip(np.searchsorted(ohm, load_ohm, side="right") - 1, 0, ohm.size - 2)
    rise_v, fall_a = np.diff(volt)[below], -np.diff(ampere)[below]
    # along the line, V - load I is below 0 at the lower rating and above 0 at the higher: they cross once
    way = (load_ohm * ampere[below] - volt[below]) / (rise_v + load_ohm * fall_a)
    return np.asarray(volt[below] + way * rise_v)


@takes_units
def for_load(amplifier: RatedAmplifier, load_ohm: float, *, mark: Mark = plain) -> Applied:
    """The rating that applies to a load, and what to mind.

    Parameters
    ----------
    amplifier : RatedAmplifier
        Its ratings; `bridged` for a bridged pair.
    load_ohm : float
        Nominal, all loudspeakers of this output together. [ohm]
    mark : wirecalc.mark.Mark
        What is done to each number of the ratings in the cautions; the key holds the number.

    Returns
    -------
    Applied
        The amplifier is rated at `load_ohm` itself, or at the nearest rated impedance when `load_ohm` is
        outside the ratings. A load that is too low is a caution, not an error.

    Raises
    ------
    InputError
        If the load is not above 0.

    Examples
    --------
    >>> pair = RatedAmplifier(ratings=(Rating(ohm=4, power_w=100), Rating(ohm=2, power_w=170)))
    >>> round(for_load(bridged(pair), 4).amplifier.power_w)
    340
    """
    volt = float(rated_v(amplifier, load_ohm))
    lowest, highest = amplifier.ratings[0].ohm, amplifier.ratings[-1].ohm
    ohm = min(max(load_ohm, lowest), highest)
    cautions = []

    def ohms(value: float) -> str:
        return mark(f"{value:g} Ω", f"rating_ohm:{value!r}")

    def watts(value: float) -> str:
        return mark(f"{value:g} W", f"rating_w:{value!r}")

    if load_ohm < amplifier.least_load_ohm:
        cautions.append(
            f"{load_ohm:g} Ω is under the least load of {ohms(amplifier.least_load_ohm)}: the amplifier may"
            " shut down, overheat or fail. Wire coils or loudspeakers for a higher impedance."
        )
    if load_ohm < lowest:
        cautions.append(
            f"There is no rating under {ohms(lowest)}. Computed with the voltage of that rating, which is more"
            " power and more current than the amplifier is likely to give."
        )
    for low, high in pairwise(amplifier.ratings):
        if low.volt > high.volt * 1.01:  # 1 %: two printed powers of equal voltage may be rounded apart
            cautions.append(
                f"{watts(low.power_w)} at {ohms(low.ohm)} is a higher voltage than {watts(high.power_w)} at"
                f" {ohms(high.ohm)}: check both, they may be measured in different ways."
            )
    return Applied(
        amplifier=Amplifier(
            power_w=volt**2 / ohm,
            rated_ohm=ohm,
            damping_factor=ohm / amplifier.output_ohm,
            least_ohm=amplifier.least_load_ohm,
        ),
        cautions=tuple(cautions),
    )


def bridged(channel: RatedAmplifier) -> RatedAmplifier:
    """Two like channels driving one load in opposite phase, as one amplifier.

    Each channel sees half of the load. So each rating becomes twice the power into twice the impedance, and
    the least load and the output impedance double.

    Parameters
    ----------
    channel : RatedAmplifier
        One of the two.

    Returns
    -------
    RatedAmplifier

    Raises
    ------
    InputError
        If a doubled rating is out of range.
    """
    return replace(
        channel,
        ratings=tuple(Rating(ohm=2 * rating.ohm, power_w=2 * rating.power_w) for rating in channel.ratings),
        damping_ohm=2 * channel.quoted_ohm,
        least_ohm=2 * channel.least_load_ohm,
    )
