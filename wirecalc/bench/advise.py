"""What to read next of an unmarked wire: the reading that would tell most of its metal and size, and how to take it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from wirecalc.bench.identify import WALL_TIMES, see, through_wall, weigh
from wirecalc.bench.known_wires import (
    COPPER_AT,
    DENSITY_SPREAD,
    GROUP,
    LOG_DENSITY,
    LOG_RHO,
    METAL_KEYS,
    RHO_SPREAD,
    SIZES,
    any_count,
    makes,
)
from wirecalc.bench.meter import LIMIT_TO_DEVIATION
from wirecalc.bench.sample import FIELDS, Sample
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import COPPER
from wirecalc.wire.insulation import THIN_WALL_M, THIN_WALL_SHARE

Array = NDArray[np.float64]

_NEXT_M, _NEXT_STRIPPED_M, _NEXT_STRAND_M = 5.0, 0.5, 0.25e-3  # lengths to measure; a strand, where it is not known
_REST = 1e-3  # of the probability is left out of the sums below
_GRID = 160
HOW: Mapping[str, tuple[str, str]] = {
    "strands": (
        "count and diameter of the strands",
        "Strip 2 cm, fan the strands out and count them in tens; then close a micrometer gently on one straight "
        "strand, at three places, and take the middle value.",
    ),
    "strand": (
        "diameter of one strand",
        "Close a micrometer gently on one straight strand, at three places, and take the middle value.",
    ),
    "ohm": (
        "resistance of a length",
        f"Take a known length, {_NEXT_M:g} m or more; send a known current through it and read the voltage inside "
        "the current clamps (four wires), or note what the meter shows with its tips together, to be subtracted. "
        "Note the wire's temperature.",
    ),
    "mass": (
        "mass of a stripped length",
        f"Strip {_NEXT_STRIPPED_M:g} m or more clean, measure it pulled straight, coil it up and weigh it to 0.1 g.",
    ),
    "bare": (
        "diameter over the bare strands",
        "Strip 2 cm, twist the strands tight as they were laid, and measure across them without squeezing, twice at "
        "right angles.",
    ),
    "outer": ("diameter over the insulation", "Measure across the insulation without squeezing it, at three places."),
}
"""What else may be read: its name, and how to take it."""
_IN_FEET = {"2 cm": "¾ in", f"{_NEXT_M:g} m": "16 ft", f"{_NEXT_STRIPPED_M:g} m": "20 in"}  # for who has such a tape
_METRIC = re.compile(r"(?<![\d.])(?:" + "|".join(map(re.escape, _IN_FEET)) + r")\b")  # "5 m" also ends "0.5 m"


@dataclass(frozen=True, kw_only=True)
class ReadingAdvice:
    """A further reading, and how much it would tell."""

    name: str
    """Key of `HOW`."""
    bits: float
    """Expected information about metal and size, by Shannon. [bit]"""

    @property
    def title(self) -> str:
        """What it is."""
        return HOW[self.name][0]

    @property
    def how(self) -> str:
        """How to take it."""
        return HOW[self.name][1]

    def how_in(self, feet: bool) -> str:
        """How to take it, with lengths in feet and inches where `feet`.

        Parameters
        ----------
        feet : bool
            Else in metres.

        Returns
        -------
        str
            A few sentences.
        """
        return _METRIC.sub(lambda length: _IN_FEET[length[0]], self.how) if feet else self.how


def next_readings(sample: Sample) -> tuple[ReadingAdvice, ...]:
    """Which further reading of one wire would decide its metal and size best.

    Parameters
    ----------
    sample : Sample
        Of one wire.

    Returns
    -------
    tuple of Advice
        The best first, but after a count the diameter of a counted strand, which is at hand and makes the count tell.
        What is taken is left out, but for a resistance that can be read much better.

    Raises
    ------
    InputError
        If the sample is of more than one wire, or a reading is less than three times its own uncertainty.

    Notes
    -----
    The mutual information between (group of metals, size) and the reading as it would be taken with its usual accuracy,
    summed over cells of the reading's logarithm. The spread of a metal's resistivity is taken anew for a resistance
    that is read again, so that gain is a little too small or too large.
    """
    if sample.shape:
        raise InputError("Sample", f"shape {sample.shape}", "one wire")
    seen, ways = see(sample), makes()
    weighed = weigh(seen, ways)
    weight = np.exp(weighed.log_weight - weighed.log_weight.max())[0]
    weight /= weight.sum()
    ranked = np.argsort(-weight, axis=None)
    keep = ranked[: int((np.cumsum(weight.flat[ranked]) < 1 - _REST).sum()) + 1]
    make, metal = keep // len(METAL_KEYS), keep % len(METAL_KEYS)
    share = weight.flat[keep] / weight.flat[keep].sum()
    area, lay, area_v, lay_v, both_v = (np.broadcast_to(part[0], weight.shape).flat[keep] for part in weighed[1:6])
    _, thing = np.unique(GROUP[metal] * (len(SIZES) + 1) + ways.size[make], return_inverse=True)
    middle_m2 = math.exp(float(share @ area))
    round_m = 2 * math.sqrt(middle_m2 / math.pi)

    def usual_v(name: str, value: float) -> float:
        return (FIELDS[name].usual_limit(value) / value * LIMIT_TO_DEVIATION) ** 2

    gains: dict[str, float] = {}
    if sample.strand_m is None:
        counted = sample.strands is not None
        strand_m = round_m / math.sqrt(seen.strands[0]) if counted else _NEXT_STRAND_M
        strand_v = area_v + 4 * usual_v("strand_m", strand_m)
        gains["strand" if counted else "strands"] = _gain(
            share, thing, area, strand_v, None if counted else ways.strands[make]
        )
    warm_v = (COPPER.per_k_20c * FIELDS["temperature_c"].off_fixed * LIMIT_TO_DEVIATION) ** 2
    ohm_v = usual_v("ohm", 1.0) + usual_v("length_m", _NEXT_M) + warm_v
    if sample.ohm is None or 1 / seen.resistance_p[0, COPPER_AT] > 4 * (ohm_v + RHO_SPREAD[COPPER_AT] ** 2):
        ohm_v = area_v + lay_v - 2 * both_v + RHO_SPREAD[metal] ** 2 + ohm_v
        gains["ohm"] = _gain(share, thing, lay - area + LOG_RHO[metal], ohm_v)
    if sample.mass_kg is None:
        mass_v = usual_v("mass_kg", middle_m2 * _NEXT_STRIPPED_M * COPPER.kg_per_m3)
        mass_v += usual_v("mass_length_m", _NEXT_STRIPPED_M)
        mass_v = area_v + lay_v + 2 * both_v + DENSITY_SPREAD[metal] ** 2 + mass_v
        gains["mass"] = _gain(share, thing, lay + area + LOG_DENSITY[metal], mass_v)
    circle, circle_v = area - ways.log_fill[make], area_v + ways.fill_spread[make] ** 2
    if sample.bare_m is None:
        gains["bare"] = _gain(share, thing, circle, circle_v + 4 * usual_v("bare_m", round_m))
    if sample.outer_m is None:
        over_m = round_m * (1 + 2 * THIN_WALL_SHARE * WALL_TIMES) + 2 * THIN_WALL_M * WALL_TIMES
        gains["outer"] = _gain(share, thing, circle, circle_v + through_wall(np.array([over_m]), np.zeros(1))[1])
    advice = [ReadingAdvice(name=name, bits=bits) for name, bits in gains.items()]
    return tuple(sorted(advice, key=lambda reading: (reading.name != "strand", -reading.bits)))


_CUTS = np.array(
    [-4.0, -3.2, -2.6, -2.1, -1.65, -1.25, -0.9, -0.6, -0.3, 0, 0.3, 0.6, 0.9, 1.25, 1.65, 2.1, 2.6, 3.2, 4]
)


def _gain(share: Array, thing: NDArray[np.intp], mean: Array, variance: Array, counts: Array | None = None) -> float:
    """Mutual information of a thing and a reading that is normal in each part, with a count beside it. [bit]"""
    deviation = np.sqrt(variance)
    cuts = np.unique(mean[:, None] + deviation[:, None] * _CUTS)  # as close as the parts are narrow
    if len(cuts) > _GRID:
        cuts = cuts[np.linspace(0, len(cuts) - 1, _GRID).round().astype(np.intp)]
    below = np.pad(
        ndtr((cuts - mean[:, None]) / deviation[:, None]), ((0, 0), (1, 1)), constant_values=((0, 0), (0, 1))
    )
    cells = np.diff(below, axis=1) * share[:, None]
    things = int(thing.max()) + 1

    def of_things(part: NDArray[np.bool_]) -> Array:
        """Cells of some parts, summed by thing; a product of matrices would start threads that cost more."""
        kind, order = thing[part], np.argsort(thing[part], kind="stable")
        first = np.flatnonzero(np.diff(kind[order], prepend=-1))
        shares = np.zeros((things, cells.shape[1]))
        shares[kind[order][first]] = np.add.reduceat(cells[part][order], first, axis=0)
        return shares

    def left(joint: Array) -> float:
        """Entropy of thing and cell together, less that of the cell."""
        return _entropy(joint) - _entropy(joint.sum(axis=0))

    before = _entropy(np.bincount(thing, share, things).astype(np.float64))
    if counts is None:
        return max(0.0, before - left(of_things(np.ones(len(thing), bool))))
    other = np.isnan(counts)
    known = np.unique(counts[~other])
    each = any_count(known)
    unlisted = of_things(other)
    after = left(unlisted * (1 - each.sum()))
    for count, chance in zip(known, each, strict=True):
        after += left(unlisted * chance + of_things(counts == count))
    return max(0.0, before - after)


def _entropy(chance: Array) -> float:
    """-sum p log2 p; also of parts of a distribution. [bit]"""
    kept = chance[chance > 1e-15]
    return float(-(kept * np.log2(kept)).sum())
