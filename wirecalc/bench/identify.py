"""What an unmarked wire is: its readings -> how likely each metal and size, and what area the metal has.

Bayes' rule over every metal and every way of `bench.known_wires`. Within each the real metal area and the lay of the
strands vary; in logarithms every reading is a straight sum of them, so that all is normal and exact in closed form,
for thousands of samples in one call.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr

from wirecalc.bench.known_wires import (
    COPPER_AT,
    DENSITY_SPREAD,
    IN_GROUP,
    LOG_DENSITY,
    LOG_RHO,
    LOG_RHO_AS_COPPER,
    METAL_KEYS,
    METAL_LOG_PRIOR,
    PER_K,
    RHO_SPREAD,
    SIZES,
    Makes,
    Size,
    any_count,
    makes,
    size_area_m2,
)
from wirecalc.bench.meter import LIMIT_TO_DEVIATION
from wirecalc.bench.sample import FIELDS, Reading, Sample
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import METALS, REFERENCE_C, at_temperature, gauge
from wirecalc.wire.insulation import THIN_WALL_M, THIN_WALL_SHARE

Array = NDArray[np.float64]

WALL_TIMES, _WALL_SPREAD = 1.5, 0.5  # walls of vehicle and speaker wire over the thin wall, and the log of its spread
UNKNOWN_C = (REFERENCE_C, 10.0)  # wire temperature nobody took: 20 °C, give or take 10 K
CONTRADICTORY = 1e-3  # chance, were the best metal right, of readings that fit as badly
DISAGREE = 2.576  # standard deviations: one in a hundred good samples of copper
INTERVAL = (0.05, 0.5, 0.95)
_COARSE = 3.0  # a reading must be this many times its own uncertainty
_DROPPED = 1e-6  # of the probability, the least likely of it, is left out of intervals
_CHUNK = 32  # samples at a time: what is worked on stays in the cache


@dataclass(frozen=True, kw_only=True, eq=False)
class Identified:
    """What `identify_sample` finds, for samples of any shape `(...)`."""

    probability: Array
    """Probability of each metal of `METAL_KEYS` at each size of `SIZES`; the last column is "another size than these".
    (..., metals, sizes + 1)"""
    area_m2: Array
    """Metal cross-section: 5, 50 and 95 %. (..., 3) [m^2]"""
    copper_m2: Array
    """Cross-section of copper that conducts alike: 5, 50 and 95 %. (..., 3) [m^2]"""
    as_copper_m2: dict[str, Array]
    """Area by each way alone, were it copper: "strands", "bare diameter", "resistance", "mass". nan: not read. (...)"""
    as_copper_spread: dict[str, Array]
    """Standard deviation of each, relative. (...)"""
    chi_square: Array
    """Of the metal that fits best, any area allowed. (...)"""
    freedom: Array
    """Degrees of freedom: readings that tell an area, less one; below 1 nothing can contradict. (...)"""

    def __post_init__(self) -> None:
        check("Probability", self.probability, "", low=0, high=1 + 1e-9)
        check("Area", self.area_m2, "m²", low=0, above=True)
        check("Area as copper", self.copper_m2, "m²", low=0, above=True)

    @property
    def gauge(self) -> Array:
        """Effective gauge, of copper that conducts alike: thickest, middle and thinnest of 90 %. (..., 3) [AWG]"""
        return gauge(self.copper_m2)[..., ::-1]

    @property
    def chance(self) -> Array:
        """The chance that readings of the best metal fit as badly as these. (...) [0 to 1]"""
        return np.where(self.freedom > 0, chdtrc(np.maximum(self.freedom, 1.0), self.chi_square), 1.0)

    @property
    def contradictory(self) -> NDArray[np.bool_]:
        """The readings fit no metal of the table at any area; nothing is then to be chosen. (...)"""
        return np.asarray(self.chance < CONTRADICTORY)

    @property
    def metal(self) -> Array:
        """Probability of each of `METAL_KEYS`. (..., metals)"""
        return np.asarray(self.probability.sum(axis=-1))

    @property
    def grouped(self) -> Array:
        """`probability` with the metals of each of `GROUPS` together. (..., groups, sizes + 1)"""
        return np.asarray(IN_GROUP.T @ self.probability)

    @property
    def group(self) -> Array:
        """Probability of each of `GROUPS`. (..., groups)"""
        return np.asarray(self.grouped.sum(axis=-1))

    @property
    def size(self) -> Array:
        """Probability of each of `SIZES`; the last one is "another size than these". (..., sizes + 1)"""
        return np.asarray(self.probability.sum(axis=-2))

    def disagreement(self, first: str = "strands", other: str = "resistance") -> tuple[Array, NDArray[np.bool_]]:
        """By how much two ways to an area differ, both taken for copper.

        Parameters
        ----------
        first, other : str
            Keys of `as_copper_m2`.

        Returns
        -------
        tuple of (...) arrays
            What the lesser area lacks of the greater [0 to 1], nan where not both were read; and whether that is
            more than chance (`DISAGREE`).
        """
        log = np.abs(np.log(self.as_copper_m2[first] / self.as_copper_m2[other]))
        spread = np.hypot(self.as_copper_spread[first], self.as_copper_spread[other])
        return -np.expm1(-log), log > DISAGREE * spread

    def thinner(self, size: Size) -> Array:
        """Gauge sizes thinner than a label by what they conduct, below 0 thicker: 5, 50 and 95 %. (..., 3)

        Raises
        ------
        InputError
            If the size is none.
        """
        return self.gauge - float(gauge(size_area_m2(size)))


# --- readings as logarithms ----------------------------------------------------------------------------------------


class Seen(NamedTuple):
    """What readings say, as logarithms. (n,), or (n, metals) where it goes by metal; a precision is 0 if not read"""

    strands: Array
    strands_u: Array
    geometry: Array
    """Area."""
    geometry_p: Array
    bare: Array
    """Area over fill; nan if not read."""
    bare_v: Array
    outer: Array
    outer_v: Array
    resistance: Array
    """Lay over area, by metal."""
    resistance_p: Array
    mass: Array
    """Area times lay, by metal."""
    mass_p: Array
    freedom: Array


def see(sample: Sample) -> Seen:
    """The readings as logarithms of what they tell of; `InputError` where one is too coarse to have one."""
    logs: dict[str, tuple[Array, Array]] = {}
    shape = sample.shape
    for field in fields(sample):
        reading: Reading | None = getattr(sample, field.name)
        given = (math.nan, 0.0) if reading is None else (reading.value, reading.uncertainty)
        value, spread = (np.broadcast_to(np.asarray(part, np.float64), shape).ravel() for part in given)
        logs[field.name] = value, spread
    strands, strands_u = logs["strands"]
    log_strand, strand_v = _log("strand_m", logs)
    log_bare, bare_v = _log("bare_m", logs)
    log_length, length_v = _log("length_m", logs)
    log_mass, mass_v = _log("mass_kg", logs)
    log_piece, piece_v = _log("mass_length_m", logs)
    _log("outer_m", logs)
    outer, outer_v = through_wall(*logs["outer_m"])
    lead, lead_u = logs["lead_ohm"]
    read, read_u = logs["ohm"]
    logs["ohm"] = read - np.nan_to_num(lead), np.hypot(read_u, lead_u)
    log_ohm, ohm_v = _log("ohm", logs, "Measure a longer piece, or with four wires; leads are subtracted.")
    warm_c, warm_u = logs["temperature_c"]
    warm_u = np.where(np.isnan(warm_c), UNKNOWN_C[1] * LIMIT_TO_DEVIATION, warm_u)
    warm_c = np.where(np.isnan(warm_c), UNKNOWN_C[0], warm_c)
    warmth = np.stack([at_temperature(1.0, warm_c, METALS[key]) for key in METAL_KEYS], axis=-1)
    geometry = np.log(strands * np.pi / 4) + 2 * log_strand
    per_m = log_ohm - log_length
    kg_per_m = log_mass - log_piece
    ways = (geometry, log_bare, outer, per_m, kg_per_m)
    return Seen(
        strands,
        strands_u,
        *_precise(geometry, np.maximum(4 * strand_v + (strands_u / strands) ** 2, 1e-10)),
        2 * log_bare + math.log(np.pi / 4),
        4 * bare_v,
        outer,
        outer_v,
        *_precise(
            per_m[:, None] - LOG_RHO - np.log(warmth),
            (ohm_v + length_v)[:, None] + RHO_SPREAD**2 + (PER_K * warm_u[:, None] / warmth) ** 2,
        ),
        *_precise(kg_per_m[:, None] - LOG_DENSITY, (mass_v + piece_v)[:, None] + DENSITY_SPREAD**2),
        np.sum([~np.isnan(way) for way in ways], axis=0) - 1.0,
    )


def _log(
    name: str, readings: Mapping[str, tuple[Array, Array]], hint: str = "Use a finer instrument."
) -> tuple[Array, Array]:
    """Logarithm of a reading, and its variance; nan where it was not taken."""
    value, spread = readings[name]
    bad = (value <= 0) | (value < _COARSE * spread)  # never so for nan
    if bad.any():
        at = int(np.argmax(bad))
        what = FIELDS[name]
        given = f"{value[at]:.3g} {what.unit} with an uncertainty of {spread[at]:.2g} {what.unit}"
        raise InputError(what.title, given, f"at least {_COARSE:g} times its own uncertainty", hint)
    return np.log(value), (spread / value) ** 2


def _precise(value: Array, variance: Array) -> tuple[Array, Array]:
    """The value and its precision; 0 and 0 where nothing was read."""
    missing = np.isnan(value)
    return np.where(missing, 0.0, value), np.where(missing, 0.0, 1 / np.where(missing, 1.0, variance))


_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@takes_units
def through_wall(outer_m: Array, spread_m: Array) -> tuple[Array, Array]:
    """ln of the bare circle's area and its variance, from the diameter over a wall nobody knows.

    Parameters
    ----------
    outer_m : (n,) numpy.ndarray
        Diameter over the insulation. [m]
    spread_m : (n,) numpy.ndarray
        Its standard deviation. [m]

    Returns
    -------
    tuple of two (n,) numpy.ndarray
        Mean and variance of ln of the area of the bare circle. [ln m^2]
    """
    times = WALL_TIMES * np.exp(_WALL_SPREAD * _NODES)
    bare_m = (outer_m[:, None] - 2 * THIN_WALL_M * times) / (1 + 2 * THIN_WALL_SHARE * times)
    log = np.log(np.maximum(bare_m, 0.05 * outer_m[:, None]))  # a wall of nearly all there is, at most
    mean = log @ _WEIGHTS
    variance = (log - mean[:, None]) ** 2 @ _WEIGHTS + (spread_m / outer_m) ** 2
    return 2 * mean + math.log(np.pi / 4), 4 * variance


# --- Bayes ------------------------------------------------------------------------------------------------------------


class Mixture(NamedTuple):
    """Of each way and metal. (n, k, metals) each, or broadcast to it"""

    log_weight: Array
    area: Array
    """Mean of ln of area."""
    lay: Array
    area_v: Array
    lay_v: Array
    both_v: Array
    misfit: Array
    """Chi-square at the best area and lay."""


def weigh(seen: Seen, ways: Makes) -> Mixture:
    """Normal in ln of area and ln of lay, so that each evidence is a closed form; see Notes of `identify_sample`.

    Everything is reckoned from the middle of each way, against loss of digits.

    Parameters
    ----------
    seen : Seen
        What was read of n wires, as logarithms with their variances.
    ways : Makes
        The m metals and strandings that a wire may be of.

    Returns
    -------
    Mixture
        A normal distribution for each of the (n, m), and how likely each is.
    """
    alone = [np.where(seen.geometry_p[:, None] > 0, seen.geometry[:, None] - ways.log_area, 0.0)]
    precisions = [np.broadcast_to(seen.geometry_p[:, None], alone[0].shape)]
    for circle, variance in ((seen.bare, seen.bare_v), (seen.outer, seen.outer_v)):
        off = circle[:, None] + ways.log_fill - ways.log_area
        off, precision = _precise(off, variance[:, None] + ways.fill_spread**2)
        alone.append(off)
        precisions.append(precision)
    weighted = [precision * off for precision, off in zip(precisions, alone, strict=True)]
    nothing = np.zeros(())
    alone_p, alone_n = sum(precisions, nothing), sum(weighted, nothing)
    alone_q = sum((weight * off for weight, off in zip(weighted, alone, strict=True)), nothing)

    prior_a, prior_l = ways.area_spread**-2, ways.lay_spread**-2
    ohm_p, mass_p = seen.resistance_p[:, None, :], seen.mass_p[:, None, :]
    ohm_off = seen.resistance[:, None, :] - (ways.log_lay - ways.log_area)[:, None]
    mass_off = seen.mass[:, None, :] - (ways.log_lay + ways.log_area)[:, None]
    ohm_n, mass_n = ohm_p * ohm_off, mass_p * mass_off
    aa = (prior_a + alone_p)[:, :, None] + (ohm_p + mass_p)
    ll = prior_l[:, None] + (ohm_p + mass_p)
    al = mass_p - ohm_p
    eta_a, eta_l = alone_n[:, :, None] - ohm_n + mass_n, ohm_n + mass_n
    det = aa * ll - al * al
    area, lay = (ll * eta_a - al * eta_l) / det, (aa * eta_l - al * eta_a) / det
    misfit = alone_q[:, :, None] + ohm_n * ohm_off + mass_n * mass_off - eta_a * area - eta_l * lay
    norm = 0.5 * np.log(prior_a * prior_l) + sum(map(_half_log, precisions), nothing)
    by_make = ways.log_share + norm + _log_count(seen, ways)
    by_metal = METAL_LOG_PRIOR + _half_log(seen.resistance_p) + _half_log(seen.mass_p)
    return Mixture(
        log_weight=by_make[:, :, None] + by_metal[:, None, :] - 0.5 * (np.log(det) + misfit),
        area=area + ways.log_area[:, None],
        lay=lay + ways.log_lay[:, None],
        area_v=ll / det,
        lay_v=aa / det,
        both_v=-al / det,
        misfit=misfit,
    )


def _half_log(precision: Array) -> Array:
    return 0.5 * np.log(np.where(precision > 0, precision, 1.0))


def _log_count(seen: Seen, ways: Makes) -> Array:
    """ln of the chance to count so many strands. (n, k)"""
    counted, spread = seen.strands[:, None], np.maximum(seen.strands_u, 0.05)[:, None]
    # the mass of one whole number under a normal curve; 0.05 leaves an exact count exact
    near = ndtr((counted - ways.strands + 0.5) / spread) - ndtr((counted - ways.strands - 0.5) / spread)
    other = any_count(counted)
    with np.errstate(divide="ignore"):
        log = np.log(np.where(np.isnan(ways.strands), other, near))
    return np.where(np.isnan(counted), 0.0, log)


def identify_sample(sample: Sample) -> Identified:
    """How likely each metal and size is, and what area the metal has.

    Parameters
    ----------
    sample : Sample
        Of one wire, or of many with arrays of a shape `(...)`.

    Returns
    -------
    Identified

    Raises
    ------
    InputError
        If a reading is less than three times its own uncertainty.

    Notes
    -----
    With a = ln(area) and k = ln(lay factor), each reading is a straight sum of both: strands and their diameter
    give a; resistance per metre k - a + ln(resistivity); mass per metre a + k + ln(density); the diameter over the
    strands a - ln(fill). Every spread is taken as normal in the logarithm, so each way to make a wire has a normal
    posterior of (a, k) and an evidence in closed form (linear Gaussian model, any textbook). Ways are those of
    `published`, a solid wire, "any other stranding" of each size, and any area at all. Readings contradict each
    other when the chi-square of the best metal, over any area, has a chance under `CONTRADICTORY`.

    Of 3000 made-up wires, a fifth with strandings on no list, read with 1 % of noise (tests/support/wires.py), at
    most 2 % of those of which it is over 95 % sure have another size than it says; the true size is first in 90 %
    where strands are counted and measured, in 82 % by the count and a resistance, in 71 % by mass and bare diameter,
    in 51 % by a resistance alone. A count alone makes it sure of nothing.

    Examples
    --------
    >>> from wirecalc.bench.known_wires import GROUPS
    >>> wire = Sample(
    ...     strands=Reading(value=16), strand_m=Reading(value=0.254e-3, uncertainty=3e-6),
    ...     ohm=Reading(value=0.0345, uncertainty=0.0003), length_m=Reading(value=1.0, uncertainty=0.003),
    ... )
    >>> found = identify_sample(wire)
    >>> list(GROUPS)[found.group.argmax()], SIZES[found.size.argmax()], found.gauge.round(1).tolist()
    ('copper-clad aluminium', ('AWG', 18.0), [19.9, 20.1, 20.2])
    """
    seen, shape, ways = see(sample), sample.shape, makes()
    starts = np.searchsorted(ways.size, np.arange(len(SIZES) + 1))
    off = Makes(ways.size[-2:], *(part[-2:] for part in ways[1:]))._replace(area_spread=np.full(2, 1e3))
    count = math.prod(shape)
    probability = np.empty((count, len(METAL_KEYS), len(SIZES) + 1))
    area, copper, chi_square = np.empty((count, 3)), np.empty((count, 3)), np.empty(count)
    for start in range(0, count, _CHUNK):
        part = slice(start, start + _CHUNK)
        mine = Seen(*(column[part] for column in seen))
        mixture = weigh(mine, ways)
        weight = np.exp(mixture.log_weight - mixture.log_weight.max(axis=(1, 2), keepdims=True))
        weight /= weight.sum(axis=(1, 2), keepdims=True)
        probability[part] = np.add.reduceat(weight, starts, axis=1).swapaxes(1, 2)
        area[part], copper[part] = _quantiles(weight, mixture)
        possible = np.isfinite(_log_count(mine, off))[:, :, None]
        chi_square[part] = np.where(possible, weigh(mine, off).misfit, np.inf).min(axis=(1, 2))
    areas, spreads = _as_copper(seen)
    return Identified(
        probability=probability.reshape(*shape, *probability.shape[1:]),
        area_m2=np.exp(area).reshape(*shape, 3),
        copper_m2=np.exp(copper).reshape(*shape, 3),
        as_copper_m2={name: way.reshape(shape) for name, way in areas.items()},
        as_copper_spread={name: way.reshape(shape) for name, way in spreads.items()},
        chi_square=np.maximum(chi_square, 0.0).reshape(shape),  # against rounding
        freedom=seen.freedom.reshape(shape),
    )


def _quantiles(weight: Array, mixture: Mixture) -> tuple[Array, Array]:
    """5, 50 and 95 % of ln of area, and of that of copper that conducts alike. (n, 3) each"""
    flat = weight.reshape(len(weight), -1)
    order = np.argsort(-flat, axis=1)
    ranked = np.take_along_axis(flat, order, axis=1)
    keep = int((np.cumsum(ranked, axis=1) < 1 - _DROPPED).sum(axis=1).max()) + 1
    order, ranked = order[:, :keep], ranked[:, :keep]
    mean = np.take_along_axis(mixture.area.reshape(flat.shape), order, axis=1)
    deviation = np.sqrt(np.take_along_axis(mixture.area_v.reshape(flat.shape), order, axis=1))
    share = ranked / ranked.sum(axis=1, keepdims=True)
    shift = LOG_RHO_AS_COPPER[order % len(METAL_KEYS)]
    return _quantile(share, mean, deviation), _quantile(share, mean - shift, deviation)


def _quantile(share: Array, mean: Array, deviation: Array) -> Array:
    """Where the distribution reaches a share, found by halving to 1e-6."""
    low = np.repeat((mean - 6 * deviation).min(axis=1)[:, None], len(INTERVAL), axis=1)
    high = np.repeat((mean + 6 * deviation).max(axis=1)[:, None], len(INTERVAL), axis=1)
    for _ in range(math.ceil(math.log2(float((high - low).max()) / 1e-6))):
        middle = 0.5 * (low + high)
        parts = ndtr((middle[:, :, None] - mean[:, None]) / deviation[:, None])
        below = np.einsum("ijk,ik->ij", parts, share) < INTERVAL
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(0.5 * (low + high))


def _as_copper(seen: Seen) -> tuple[dict[str, Array], dict[str, Array]]:
    """Area by each way alone, were it copper with the usual lay and fill, and its relative spread. (n,) each"""
    ways, solid = makes(), seen.strands == 1
    lay, lay_spread, fill, fill_spread = (
        np.where(solid, part[-2], part[-1])  # the two ways off the tables: solid, any stranding
        for part in (ways.log_lay, ways.lay_spread, ways.log_fill, ways.fill_spread)
    )

    def variance(precision: Array) -> Array:
        return np.where(precision > 0, 1 / np.where(precision > 0, precision, 1.0), np.nan)

    ohm_v, mass_v = variance(seen.resistance_p[:, COPPER_AT]), variance(seen.mass_p[:, COPPER_AT])
    gauges = {
        "strands": (seen.geometry, variance(seen.geometry_p)),
        "bare diameter": (seen.bare + fill, seen.bare_v + fill_spread**2),
        "resistance": (lay - seen.resistance[:, COPPER_AT], ohm_v + lay_spread**2),
        "mass": (seen.mass[:, COPPER_AT] - lay, mass_v + lay_spread**2),
    }
    areas = {name: np.where(np.isnan(wide), np.nan, np.exp(log)) for name, (log, wide) in gauges.items()}
    return areas, {name: np.sqrt(wide) for name, (_, wide) in gauges.items()}
