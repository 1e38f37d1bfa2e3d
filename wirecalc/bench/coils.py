"""Voice coils on one pair of wires: what each way to wire them reads, and which way a reading fits.

Direct current only: a meter reads the coils' Re, not their rated impedance.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from wirecalc.bench.meter import Meter
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]

MOST_COILS = 8
MOST_UNEVEN = 4  # of more coils only the ways that share the power evenly: five have 24 ways, eight have 522
RE_SHARE = 0.1  # one type's coils differ by up to 10 % (data/tolerances.csv, load_ratio): common practice, no source


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way to wire some or all of n like coils."""

    words: str
    key: str
    """The network in short: "s" or "p" with how many parts in series or parallel, then each of them; 1 is a coil."""
    coils: int
    """Connected ones."""
    factor: float
    """Resistance over that of one coil."""
    even: bool
    """Every coil takes the same power."""


@dataclass(frozen=True)
class _Net:
    """A network of like coils: a coil, or parts in series or in parallel that are not themselves so joined."""

    kind: str
    parts: tuple[_Net, ...] = ()

    @property
    def factor(self) -> float:
        if self.kind == "series":
            return sum(part.factor for part in self.parts)
        return 1 / sum(1 / part.factor for part in self.parts) if self.parts else 1.0

    @property
    def even(self) -> bool:
        """Equal parts throughout: in series and in parallel they then share alike."""
        return len(set(self.parts)) <= 1 and all(part.even for part in self.parts)

    @property
    def key(self) -> str:
        return "-".join([f"{self.kind[0]}{len(self.parts)}", *(p.key for p in self.parts)]) if self.parts else "1"

    @property
    def words(self) -> str:
        if not self.parts:
            return "one coil"
        count, first = len(self.parts), self.parts[0]
        if not first.parts and self.even:
            return f"{count} in {self.kind}"
        if self.even:
            return f"{count} groups in {self.kind}, each {first.words}"
        inner = (part.words if part.even else f"({part.words})" for part in self.parts)
        return f"in {self.kind}: {', '.join(inner)}"


_COIL = _Net("coil")


def _joined(coils: int, kind: str) -> Iterator[_Net]:
    """Every network of exactly so many coils that is joined in this way at its outermost."""
    other = "parallel" if kind == "series" else "series"
    for sizes in _partitions(coils, coils - 1):
        pools = [(size, sizes.count(size)) for size in dict.fromkeys(sizes)]
        nets: list[tuple[_Net, ...]] = [()]
        for size, times in pools:
            parts = [_COIL] if size == 1 else list(_joined(size, other))
            nets = [old + new for old in nets for new in combinations_with_replacement(parts, times)]
        for joined in nets:
            yield _Net(kind, joined)


def _partitions(total: int, most: int) -> Iterator[tuple[int, ...]]:
    """Whole numbers, falling, none over `most`, that add up to `total`."""
    if total == 0:
        yield ()
    for first in range(min(total, most), 0, -1):
        for rest in _partitions(total - first, first):
            yield (first, *rest)


def _even(coils: int) -> Iterator[_Net]:
    """Groups in parallel, each of so many in series: every way of like shares that is in use."""
    for groups in range(1, coils + 1):
        if coils % groups == 0:
            row = coils // groups
            group = _Net("series", (_COIL,) * row) if row > 1 else _COIL
            yield _Net("parallel", (group,) * groups) if groups > 1 else group


@cache
def ways(coils: int) -> tuple[Way, ...]:
    """Every way to wire n like coils, all of them first, then those with some left off; by falling resistance.

    Parameters
    ----------
    coils : int
        [1 to 8]

    Returns
    -------
    tuple of Way
        Up to four coils every series and parallel network; of more, groups of equal rows only.

    Raises
    ------
    InputError
        If the number is out of range.

    Examples
    --------
    >>> [(one.words, one.factor) for one in ways(2)]
    [('2 in series', 2.0), ('2 in parallel', 0.5), ('one coil', 1.0)]
    """
    count = int(check("Coils", coils, "", low=1, high=MOST_COILS))
    wirings = []
    for connected in range(count, 0, -1):
        if connected == 1:
            nets = [_COIL]
        elif connected <= MOST_UNEVEN:
            nets = [*_joined(connected, "series"), *_joined(connected, "parallel")]
        else:
            nets = list(_even(connected))
        wirings += [
            Way(words=net.words, key=net.key, coils=connected, factor=net.factor, even=net.even)
            for net in sorted(nets, key=lambda net: -net.factor)
        ]
    return tuple(wirings)


@dataclass(frozen=True, kw_only=True, eq=False)
class Readings:
    """What each of m ways reads through the wire. Arrays are (m,)."""

    ways: tuple[Way, ...]
    coils: int
    re_ohm: float
    wire_ohm: float
    ohm: Array
    low_ohm: Array
    high_ohm: Array


@takes_units
def readings(coils: int, re_ohm: float, meter: Meter, *, wire_ohm: float = 0.0, re_share: float = RE_SHARE) -> Readings:
    """What every way to wire n like coils should read.

    Parameters
    ----------
    coils : int
        [1 to 8]
    re_ohm : float
        DC resistance of one coil. [ohm]
    meter : Meter
    wire_ohm : float
        In series with the coils: out and back, joints, meter leads. [ohm]
    re_share : float
        How far all coils together may be off, either side. [0 to 0.5]

    Returns
    -------
    Readings
        The bands are limits, not statistics: every coil off to the same side, and the meter too.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> from wirecalc.bench.meter import Meter
    >>> readings(2, 3.4, Meter(share=0.005, counts=2, count_ohm=0.1)).ohm.tolist()
    [6.8, 1.7, 3.4]
    """
    check("Re", re_ohm, "Ω", low=0.1, high=1000)
    check("Wire", wire_ohm, "Ω", low=0, high=100)
    check("Spread of Re", re_share, "", low=0, high=0.5)
    wirings = ways(coils)
    net = np.array([way.factor for way in wirings]) * re_ohm
    low, high = net * (1 - re_share) + wire_ohm, net * (1 + re_share) + wire_ohm
    return Readings(
        ways=wirings,
        coils=int(coils),
        re_ohm=re_ohm,
        wire_ohm=wire_ohm,
        ohm=net + wire_ohm,
        low_ohm=np.maximum(low - meter.error_ohm(low), 0.0),
        high_ohm=high + meter.error_ohm(high),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class CoilVerdict:
    """Which ways a reading fits."""

    readings: Readings
    planned: int
    """Place of the planned way."""
    reading_ohm: float
    fits: tuple[int, ...]
    """Places of all ways that may read so, the nearest first."""
    shorted: bool
    """No more than the wire itself: the coils are bridged."""

    @property
    def as_planned(self) -> bool:
        """The planned way may read so; others may too."""
        return self.planned in self.fits

    def in_words(self) -> str:
        """The verdict in a sentence or two."""
        all_ways = self.readings.ways
        plan = f"“{_told(self.readings, self.planned)}”"
        if np.isinf(self.reading_ohm):
            return f"No path: a coil or a plug is open. {plan} should read {_span(self.readings, self.planned)}."
        read = f"{self.reading_ohm:.3g} Ω"
        if self.shorted:
            return f"{read} is the wire alone: the coils are bridged. Do not connect an amplifier."
        if not self.fits:
            nearest = int(np.argmin(np.abs(np.log(self.readings.ohm / max(self.reading_ohm, 1e-9)))))
            return (
                f"{read} fits no way to wire these coils; the nearest is “{_told(self.readings, nearest)}”, "
                f"{_span(self.readings, nearest)}. A coil of another Re, a bad joint, or a fault."
            )
        others = [place for place in self.fits if place != self.planned]
        listed = "; ".join(f"“{_told(self.readings, place)}”" for place in others)
        if not self.as_planned:
            return f"{read} is not {plan} ({_span(self.readings, self.planned)}). It fits {listed}."
        if not others:
            return f"{read} fits {plan} and no other way."
        fewer = any(all_ways[place].coils < self.readings.coils for place in others)
        apart = "read each coil alone with its links off" if fewer else "follow the links by eye"
        return f"{read} fits {plan}, but this is ambiguous: it fits {listed} as well. To tell them apart, {apart}."


@takes_units
def judge_coils(given: Readings, planned: int, reading_ohm: float) -> CoilVerdict:
    """Hold a reading against every way to wire the coils.

    Parameters
    ----------
    given : Readings
        Each way that the coils can be wired, with the band of its reading.
    planned : int
        Place of the planned way in `given.ways`.
    reading_ohm : float
        As the meter shows it; infinite for "OL". [ohm]

    Returns
    -------
    CoilVerdict
        Which ways the reading fits, and whether the planned one is among them.

    Raises
    ------
    InputError
        If the reading is below 0, or there is no such way.
    """
    reading = float(check("Reading", reading_ohm, "ohm", low=0))
    if not 0 <= planned < len(given.ways):
        raise InputError("Planned way", planned, f"0 to {len(given.ways) - 1}")
    inside = np.flatnonzero((given.low_ohm <= reading) & (reading <= given.high_ohm))
    off = np.abs(given.ohm[inside] - reading)
    return CoilVerdict(
        readings=given,
        planned=planned,
        reading_ohm=reading,
        fits=tuple(int(place) for place in inside[np.argsort(off, kind="stable")]),
        shorted=bool(not len(inside) and reading < (given.low_ohm.min() + given.wire_ohm) / 2),
    )


def alike(given: Readings, place: int) -> tuple[int, ...]:
    """Places of the other ways whose bands overlap this one's: no reading in both tells them apart.

    Parameters
    ----------
    given : Readings
        Each way that the coils can be wired, with the band of its reading.
    place : int
        Of one way in `given.ways`.

    Returns
    -------
    tuple of int
        Places of the others, in order; empty if this way's reading tells it apart.
    """
    overlap = (given.low_ohm <= given.high_ohm[place]) & (given.high_ohm >= given.low_ohm[place])
    return tuple(int(other) for other in np.flatnonzero(overlap) if other != place)


def _told(given: Readings, place: int) -> str:
    way = given.ways[place]
    left = given.coils - way.coils
    return way.words + (f" ({left} coil{'s' if left > 1 else ''} not connected)" if left else "")


def _span(given: Readings, place: int) -> str:
    return f"{given.low_ohm[place]:.3g} to {given.high_ohm[place]:.3g} Ω"
