"""Spread of any result of a run when several inputs are uncertain at once.

Two ways: Monte Carlo (`monte_carlo`), right at any spread, and first order (`first_order`), the law of
propagation of uncertainty, instant and right at small ones. Inputs are taken as independent of each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.limit import Limit
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import REFERENCE_C

Array = NDArray[np.float64]
Groups = NDArray[np.intp]
Shape = Literal["normal", "uniform", "triangular"]
Model = Callable[..., Mapping[str, ArrayLike]]
"""Takes each input by its name, scalar or (n,) array; gives each measure by its name, broadcast alike."""

LARGEST = 1e9  # of any value or spread, in SI: beyond it a slip of the unit is likelier
PERCENTS = (5.0, 50.0, 95.0)
BLOCK = 10_000  # draws at a time: 80 kB an array stays in the cache, a fifth faster than all at once
GROUPS = 32  # of equally likely values of one input, whose means are compared; 3000 draws in each by default
_NORMAL_REACH = 8.2  # standard deviations; a 53-bit uniform number reaches no further
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)  # exact to 1e-12 over the whole reach


@dataclass(frozen=True, kw_only=True)
class Uncertain:
    """A value that is not known exactly: what is expected, how far off it may be, and what cannot be."""

    value: float
    """Most likely value, in SI."""
    spread: float = 0.0
    """Standard deviation of a normal shape, half-width of the others; in the unit of `value`."""
    shape: Shape = "normal"
    low: float = -math.inf
    """What lies below is physically impossible: the shape is cut off there, the rest scaled up."""
    high: float = math.inf
    """The same above."""
    name: str = "Value"
    """As the person sees it."""

    def __post_init__(self) -> None:
        if self.shape not in get_args(Shape):
            raise InputError(f"{self.name}, shape", self.shape, ", ".join(get_args(Shape)))
        check(self.name, self.value, "", low=max(self.low, -LARGEST), high=min(self.high, LARGEST))
        check(f"{self.name}, spread", self.spread, "", low=0, high=LARGEST)

    @property
    def _reach(self) -> tuple[float, float]:
        """Ends of the shape, as multiples of the spread from the value."""
        far = _NORMAL_REACH if self.shape == "normal" else 1.0
        to_low, to_high = (self.low - self.value) / self.spread, (self.high - self.value) / self.spread
        return max(-far, to_low), min(far, to_high)

    def quantile(self, share: ArrayLike) -> Array:
        """The value that a share of all cases does not exceed.

        Parameters
        ----------
        share : (...,) array_like
            [0 to 1]

        Returns
        -------
        (...,) numpy.ndarray
            In the unit of `value`; between `low` and `high`.

        Raises
        ------
        InputError
            If a share is not 0 to 1.
        """
        share = check(f"{self.name}, share", share, "", low=0, high=1)
        if self.spread == 0:
            return np.full(share.shape, self.value)
        first, last = self._reach
        if self.shape == "normal":
            from scipy.special import ndtr, ndtri  # here, as below: no page needs it before this is asked

            below, above = float(ndtr(first)), float(ndtr(last))
            z = ndtri(below + (above - below) * share)
        elif self.shape == "uniform":
            z = first + (last - first) * share
        else:
            below, above = (0.5 + x - 0.5 * x * abs(x) for x in (first, last))
            half = below + (above - below) * share - 0.5
            z = np.copysign(1.0 - np.sqrt(np.maximum(1.0 - 2.0 * np.abs(half), 0.0)), half)
        return np.clip(self.value + self.spread * z, self.low, self.high)  # against rounding at the cut

    def moments(self) -> tuple[float, float]:
        """Mean and standard deviation of the shape as it is cut off."""
        if self.spread == 0:
            return self.value, 0.0
        first, last = self._reach
        # Two pieces, since the triangle has a corner at 0. A normal shape is integrated like the others.
        z = np.concatenate([first * (1.0 + _NODES) / 2.0, last * (1.0 + _NODES) / 2.0])
        weight = np.concatenate([-first * _WEIGHTS, last * _WEIGHTS])
        if self.shape == "normal":
            weight = weight * np.exp(-0.5 * z * z)
        elif self.shape == "triangular":
            weight = weight * (1.0 - np.abs(z))
        total = weight.sum()
        if total == 0:  # cut off on both sides at the value itself
            return self.value, 0.0
        mean = float((weight * z).sum() / total)
        deviation = math.sqrt(float((weight * (z - mean) ** 2).sum() / total))
        return self.value + self.spread * mean, self.spread * deviation


@dataclass(frozen=True, kw_only=True)
class Band:
    """One measure's spread."""

    mean: float
    deviation: float
    """Standard deviation."""
    low: float
    """5 % of all cases are below."""
    middle: float
    """50 % of all cases are below."""
    high: float
    """95 % of all cases are below."""
    shares: dict[str, float]
    """Input -> its share of the variance, the one that matters most first; all 0 where nothing varies."""


@dataclass(frozen=True, kw_only=True)
class Spread:
    """The result of `monte_carlo`."""

    bands: dict[str, Band]
    """By measure."""
    broken: tuple[float, ...]
    """Share of cases that break each limit, in the order given. [0 to 1]"""
    any_broken: float
    """Share of cases that break one limit or more. [0 to 1]"""


def monte_carlo(
    model: Model,
    inputs: Mapping[str, Uncertain],
    measures: Sequence[str],
    *,
    limits: Sequence[Limit] = (),
    draws: int = 100_000,
    seed: int = 1,
) -> Spread:
    """Spread of a model's measures by drawing all its inputs at random at once.

    Parameters
    ----------
    model : callable
        Called with every input by name: an (n,) array, or a scalar where the spread is 0.
    inputs : mapping of str to Uncertain
        Independent of each other.
    measures : sequence of str
        Which of the model's results to describe.
    limits : sequence of Limit
        On any of the model's results; bounds that are numbers.
    draws : int
        [100 to 10 000 000]
    seed : int
        The same seed gives the same numbers.

    Returns
    -------
    Spread

    Raises
    ------
    InputError
        If a measure is unknown or not finite everywhere, or `draws` is out of range.

    Notes
    -----
    An input's share is the variance of the measure's mean given that input, over the whole variance (the
    correlation ratio, or first-order index; freed from the bias of few draws by the factor
    ``(n - 1)/(n - groups)``, both from memory). What is missing to 1 is due to inputs acting together.

    Examples
    --------
    >>> power = lambda volt: {"w": volt**2 / 4.0}
    >>> spread = monte_carlo(power, {"volt": Uncertain(value=20.0, spread=1.0)}, ["w"])
    >>> round(spread.bands["w"].high)      # (20 + 1.645)^2 / 4 = 117.1
    117
    """
    draws = int(check("Draws", draws, "", low=100, high=10_000_000))
    generator = np.random.default_rng(seed)
    uniform = {name: generator.random(draws) for name, uncertain in inputs.items() if uncertain.spread > 0}
    wanted = dict.fromkeys([*measures, *(limit.measure for limit in limits)])
    drawn_measures = {measure: np.empty(draws) for measure in wanted}
    groups = {name: np.empty(draws, np.intp) for name in uniform}
    for start in range(0, draws, BLOCK):
        part = slice(start, min(start + BLOCK, draws))
        chances = {name: share[part] for name, share in uniform.items()}
        drawn: dict[str, ArrayLike] = {name: uncertain.value for name, uncertain in inputs.items()}
        drawn |= {name: inputs[name].quantile(share) for name, share in chances.items()}
        results = model(**drawn)
        for measure in wanted:
            drawn_measures[measure][part] = _finite(results, measure)
        for name, share in chances.items():
            groups[name][part] = share * GROUPS

    broken = np.empty((len(limits), draws), bool)
    for row, limit in zip(broken, limits, strict=True):
        compare = np.greater if limit.sense == "at most" else np.less
        compare(drawn_measures[limit.measure], float(limit.bound), out=row)

    sizes = {name: np.maximum(np.bincount(group, minlength=GROUPS), 1) for name, group in groups.items()}
    bands = {measure: _band(drawn_measures[measure], groups, sizes, inputs) for measure in dict.fromkeys(measures)}
    return Spread(
        bands=bands,
        broken=tuple(float(share) for share in broken.mean(axis=1)),
        any_broken=float(broken.any(axis=0).mean()),
    )


def _band(
    value: Array,
    groups: Mapping[str, Groups],
    sizes: Mapping[str, Groups],
    inputs: Iterable[str],
) -> Band:
    """The statistics of one measure. Works in `value` itself: fresh arrays take a quarter of the time."""
    draws = len(value)
    offset = float(value[0])  # sums of differences from it are exact where nothing varies
    value -= offset
    mean = float(value.mean())
    value -= mean
    variance = float(np.einsum("i,i->", value, value)) / draws  # no threads, unlike `value @ value`
    shares = dict.fromkeys(inputs, 0.0)
    if variance > 0:
        for name, group in groups.items():
            sums = np.bincount(group, value, GROUPS)
            explained = float((sums * sums / sizes[name]).sum()) / draws / variance
            shares[name] = max(0.0, 1.0 - (1.0 - explained) * (draws - 1) / (draws - GROUPS))
    low, middle, high = np.percentile(value, PERCENTS, overwrite_input=True) + (offset + mean)
    return Band(
        mean=offset + mean,
        deviation=math.sqrt(variance),
        low=float(low),
        middle=float(middle),
        high=float(high),
        shares=_largest_first(shares),
    )


def first_order(model: Model, inputs: Mapping[str, Uncertain], measures: Sequence[str]) -> dict[str, Band]:
    """Spread of a model's measures from what each input does alone, added as squares.

    Parameters
    ----------
    model, inputs, measures
        As for `monte_carlo`; the model is called once, with arrays of two values for each input and one.

    Returns
    -------
    dict of str to Band
        By measure; the band as if the measure were normally distributed.

    Raises
    ------
    InputError
        If a measure is unknown or not finite.

    Notes
    -----
    ``u(y)^2 = sum (c_i u(x_i))^2`` with ``c_i u(x_i) = (f(x_i + u(x_i)) - f(x_i - u(x_i))) / 2``, about the
    means of the inputs [1]_.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2 and the numerical form in the notes to 5.1.3; from memory.

    Examples
    --------
    >>> power = lambda volt: {"w": volt**2 / 4.0}
    >>> bands = first_order(power, {"volt": Uncertain(value=20.0, spread=1.0)}, ["w"])
    >>> round(bands["w"].deviation, 6)      # 2 V u(V) / R
    10.0
    """
    from scipy.special import ndtri

    count = 2 * len(inputs) + 1
    points = {}
    for index, (name, uncertain) in enumerate(inputs.items()):
        mean, deviation = uncertain.moments()
        points[name] = np.full(count, mean)
        points[name][[2 * index + 1, 2 * index + 2]] += deviation, -deviation
    results = model(**points)

    bands = {}
    for measure in measures:
        value = np.broadcast_to(_finite(results, measure), (count,))
        squares = ((value[1::2] - value[2::2]) / 2.0) ** 2
        variance = float(squares.sum())
        share = squares / variance if variance > 0 else squares
        mean, deviation = float(value[0]), math.sqrt(variance)
        low, middle, high = (mean + deviation * float(ndtri(percent / 100.0)) for percent in PERCENTS)
        bands[measure] = Band(
            mean=mean,
            deviation=deviation,
            low=low,
            middle=middle,
            high=high,
            shares=_largest_first(dict(zip(inputs, share.tolist(), strict=True))),
        )
    return bands


def _finite(results: Mapping[str, ArrayLike], measure: str) -> Array:
    if measure not in results:
        raise InputError("Measure", measure, ", ".join(results))
    value = np.asarray(results[measure], np.float64)
    if not np.all(np.isfinite(value)):
        raise InputError(f"Spread of {measure}", "infinite or undefined in some cases", "finite in all cases")
    return value


def _largest_first(shares: dict[str, float]) -> dict[str, float]:
    return dict(sorted(shares.items(), key=lambda pair: -pair[1]))


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """How far an input of a run usually strays."""

    key: str
    name: str
    relative: Literal["yes", "no"]
    """Whether `spread` is a share of the value."""
    spread: float
    """See `Uncertain.spread`. [in SI, or a share]"""
    shape: Shape
    low: float
    high: float
    reason: str
    source: str
    confidence: str


TOLERANCES = tables.keyed("tolerances", Tolerance)
"""By input of a run; see data/tolerances.csv."""


@takes_units
def run_inputs(
    length_m: float,
    temperature_c: float = REFERENCE_C,
    joints_ohm: float = 0.0,
) -> dict[str, Uncertain]:
    """The inputs of a run with the usual spread of each, from data/tolerances.csv; replace any that is known.

    Parameters
    ----------
    length_m, temperature_c, joints_ohm : float
        Of this run. [m], [degC], [ohm]

    Returns
    -------
    dict of str to Uncertain
        By length_m, temperature_c, joints_ohm, resistance_ratio and load_ratio; the ratios are 1. [m], [degC], [ohm],
        [-]

    Raises
    ------
    InputError
        If a value is outside what is physically possible.
    """
    values = {"length_m": length_m, "temperature_c": temperature_c, "joints_ohm": joints_ohm}
    inputs = {}
    for name, usual in TOLERANCES.items():
        value = values.get(name, 1.0)  # the others are ratios to nominal
        inputs[name] = Uncertain(
            value=value,
            spread=usual.spread * (value if usual.relative == "yes" else 1.0),
            shape=usual.shape,
            low=usual.low,
            high=usual.high,
            name=usual.name,
        )
    return inputs
