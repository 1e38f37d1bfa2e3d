"""One practice problem: numbers from a seed, the answer, the mistakes that are known by their number, the marking.

The kinds of problem stand in `problems_*.py`; answer and mistakes are computed by the package's other modules, a
mistake by handing them the wrong input.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Sequence
from dataclasses import field
from itertools import combinations
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from wirecalc import units
from wirecalc.errors import InputError, NotUnderstood
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import Conductor, awg, conductor
from wirecalc.workings.formula import Working

Array = NDArray[np.float64]
Value = TypeVar("Value")

MOST_SEED = 999_999
FOOT_M = 0.3048  # exact: the international foot
# invented, all of them
VEHICLES = (
    "an Orlo estate", "a Tavin van", "a Brelo hatchback", "a Dunvar pickup", "a Pellow camper", "a Marrec minibus",
    "a Sennet saloon",
)  # fmt: skip

_MOST_DRAWS = 500
_APART = 1.1  # two tolerances and a bit between any two numbers that mean something
_CLOSE = 4  # tolerances: a slip of rounding, not of thought

ONE_WAY = "The current has to come back too. Count the wire out and the wire back."
FEET = "The run is given in feet. Turn it into metres first: 1 ft is 0.3048 m."
_THOUSAND = "The digits are right, but a thousand is lost. Look at milli: 1000 mΩ are 1 Ω, 1000 mA are 1 A."
_NEAR = "You are close. Keep one more digit in the steps before, and round only at the end."


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """A wrong way that many take, and the number that it leads to."""

    key: str
    value: float
    """In the answer's unit."""
    hint: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Curves:
    """Lines over one axis, to be read by eye."""

    title: str
    x_name: str
    y_name: str
    x: Array
    """(k,)"""
    lines: tuple[tuple[str, Array], ...]
    """Name and (k,) values of each."""


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnProblem:
    """One problem's numbers."""

    text: str
    answer: float
    """In the unit of the kind's quantity; a gauge number where a size is asked."""
    mistakes: tuple[Mistake, ...]
    work: Callable[[], tuple[Working, ...]] = field(repr=False)
    """The worked solution; the last one's last step leads to the answer."""
    curves: Curves | None = None
    closing: str = ""
    """Said with the worked solution."""


@dataclass(frozen=True, kw_only=True)
class ProblemKind:
    """A kind of problem."""

    key: str
    title: str
    quantity: units.QuantityKind | None
    """What is asked for; None for the size of a conductor in AWG."""
    low: float
    high: float
    """No sane answer lies outside. In the answer's unit."""
    draw: Callable[[np.random.Generator], DrawnProblem | None] = field(repr=False)
    """None for numbers that make no problem."""
    nudge: str
    """Said of a wrong answer that is none of the known mistakes."""
    tolerance: float = 0.02
    """Largest share by which an answer may be off."""


@dataclass(frozen=True, kw_only=True)
class Marking:
    """What an answer is worth."""

    right: bool
    mistake: Mistake | None
    message: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Problem:
    """A problem of a kind with the numbers of a seed."""

    kind: ProblemKind
    seed: int
    drawn: DrawnProblem

    def shown(self, value: float) -> str:
        """An answer as a person writes it."""
        if self.kind.quantity is None:
            return units.show_standard_size("AWG", value)
        return units.show(value, self.kind.quantity)

    def asked(self, *, feet: bool = False, metric_sizes: bool = False) -> str:
        """What is asked.

        Parameters
        ----------
        feet : bool
            For who has a tape in feet: each length in feet, with the metres that the worked solution takes, and the
            resistance of each foot of a wire.
        metric_sizes : bool
            For who buys wire by its metal: each size in mm², with its gauge.

        Returns
        -------
        str
        """
        text = in_feet(self.drawn.text) if feet else self.drawn.text
        return in_mm2(text) if metric_sizes else text

    def read(self, typed: str) -> float:
        """What a person typed as the answer.

        Raises
        ------
        InputError
            If it is no quantity of the kind that is asked for.
        """
        if typed.strip() and not any(map(str.isdigit, typed)):  # the unit alone, or words
            such = f"a number such as {self.kind.quantity.example}" if self.kind.quantity else "a size such as 12 AWG"
            raise NotUnderstood("Your answer", typed, such)
        if self.kind.quantity is not None:
            return units.read(typed, "Your answer", self.kind.quantity)
        system, number = units.read_standard_size(typed, "Your answer")
        if system == "AWG":
            return number
        gauge = _gauge(number)
        if gauge is None:
            raise InputError("Your answer", typed, "a size of the problem", "Write it as 12 AWG, 1/0 or 3.31 mm².")
        return gauge

    def mark(self, typed: str) -> Marking:
        """Whether an answer is right; if not, the hint that fits.

        Raises
        ------
        InputError
            If it cannot be read; that is no try.
        """
        value, answer = self.read(typed), self.drawn.answer
        if self._same(value, answer):
            return Marking(right=True, mistake=None, message=f"Right: {self.shown(answer)}.")
        for mistake in self.drawn.mistakes:
            if self._same(value, mistake.value):
                return Marking(right=False, mistake=mistake, message=mistake.hint)
        message = self.kind.nudge
        if self.kind.quantity is not None:
            if any(self._same(value, answer * slip) for slip in (1e3, 1e-3)):
                message = _THOUSAND
            elif abs(value - answer) <= _CLOSE * self.kind.tolerance * answer:
                message = _NEAR
        return Marking(right=False, mistake=None, message=message)

    def _same(self, value: float, number: float) -> bool:
        if self.kind.quantity is None:
            return value == number
        return abs(value - number) <= self.kind.tolerance * number


def make_problem(kind: ProblemKind, seed: int) -> Problem:
    """The problem of a kind that belongs to a seed: the same every time.

    Numbers are drawn anew until the answer is within the kind's range and no mistake can be taken for the answer or
    for another mistake.

    Parameters
    ----------
    kind : ProblemKind
        How its numbers are drawn.
    seed : int
        1 to 999999.

    Returns
    -------
    Problem
        With answer, way to it and known mistakes.

    Raises
    ------
    InputError
        If the seed is not a whole number from 1 to 999999.
    """
    seed = whole(seed, "Number of the problem", MOST_SEED)
    rng = np.random.default_rng([seed, zlib.crc32(kind.key.encode())])
    for _ in range(_MOST_DRAWS):
        drawn = kind.draw(rng)
        if drawn is not None and _clear(kind, drawn):
            return Problem(kind=kind, seed=seed, drawn=drawn)
    raise RuntimeError(f"{kind.key}: {_MOST_DRAWS} draws gave no clear problem")


def whole(given: object, field: str, most: int) -> int:
    """A whole number from 1 up, typed or not.

    Parameters
    ----------
    given : object
        As typed, or a number.
    field : str
        For messages.
    most : int
        The largest that is allowed.

    Returns
    -------
    int
        1 to `most`.

    Raises
    ------
    InputError
        If it is none, or over `most`.
    """
    return int(units.read(given, field, units.COUNT, low=1, high=most))


def in_feet(text: str) -> str:
    """A problem's text with each length in metres said in feet first, to a tenth.

    Parameters
    ----------
    text : str
        As a kind has drawn it.

    Returns
    -------
    str

    Examples
    --------
    >>> in_feet("13.4 mΩ in each metre; the run is 6 m long")
    '4.08 mΩ in each foot (13.4 in each metre); the run is 19.7 ft (6 m) long'
    """
    each = re.sub(
        r"(\d+(?:\.\d+)?) (mΩ|Ω|A|pF) in each metre",
        lambda match: f"{float(match[1]) * FOOT_M:.3g} {match[2]} in each foot ({match[1]} in each metre)",
        text,
    )
    return re.sub(r"(\d+(?:\.\d+)?) m\b(?![²/])", lambda match: f"{float(match[1]) / FOOT_M:.1f} ft ({match[0]})", each)


_SIZES = re.compile(r"((?:\d+(?:/0)?(?:, | to ))*\d+(?:/0)?) AWG")
_MOST_GAUGE, _NAMED_ALIKE = 40, 0.03  # 3.3 mm² for 12 AWG, whose metal is 3.31


def in_mm2(text: str) -> str:
    """A problem's text with the metal of each size said first.

    Parameters
    ----------
    text : str
        As a kind has drawn it.

    Returns
    -------
    str

    Examples
    --------
    >>> in_mm2("a pair of 12 AWG; on the shelf is 14, 12 AWG")
    'a pair of 3.31 mm² (12 AWG); on the shelf is 2.08, 3.31 mm² (14, 12 AWG)'
    """

    def area(size: re.Match[str]) -> str:
        return f"{awg(units.read_standard_size(f'{size[0]} AWG', 'Size')[1]).area_m2 * 1e6:.3g}"

    def with_area(match: re.Match[str]) -> str:
        return f"{re.sub(r'[0-9]+(?:/0)?', area, match[1])} mm² ({match[0]})"

    return _SIZES.sub(with_area, text)


def _gauge(area_mm2: float) -> float | None:
    """The gauge with so much metal; None where none is near."""
    gauges = np.arange(-3.0, _MOST_GAUGE + 1)
    areas = np.array([awg(float(gauge)).area_m2 * 1e6 for gauge in gauges])
    nearest = int(np.argmin(abs(areas / area_mm2 - 1)))
    return float(gauges[nearest]) if abs(areas[nearest] / area_mm2 - 1) <= _NAMED_ALIKE else None


def _clear(kind: ProblemKind, drawn: DrawnProblem) -> bool:
    numbers = [drawn.answer, *(mistake.value for mistake in drawn.mistakes)]
    if not kind.low <= drawn.answer <= kind.high:
        return False
    if kind.quantity is None:
        return len(set(numbers)) == len(numbers)
    room = _APART * kind.tolerance
    return min(numbers) > 0 and all(abs(a - b) > room * (a + b) for a, b in combinations(numbers, 2))


# --- what the kinds share -------------------------------------------------------------------------------------


def pick(rng: np.random.Generator, values: Sequence[Value]) -> Value:
    """One of several, each as likely.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of the problem's seed.
    values : sequence
        At least one.

    Returns
    -------
    object
        One of `values`.
    """
    return values[int(rng.integers(len(values)))]


def step(rng: np.random.Generator, low: int, high: int, by: int = 1) -> int:
    """A round number from `low` to `high`, both included.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of the problem's seed.
    low, high : int
        Ends, both included.
    by : int
        `low` plus a multiple of it comes out.

    Returns
    -------
    int
        Each as likely.
    """
    return low + by * int(rng.integers((high - low) // by + 1))


def stranded(rng: np.random.Generator, *numbers: int) -> Conductor:
    """Stranded copper of one of several gauges.

    Parameters
    ----------
    rng : numpy.random.Generator
        Of the problem's seed.
    *numbers : int
        AWG numbers, 0 for 1/0.

    Returns
    -------
    Conductor
        At the resistance of its gauge.
    """
    return awg(pick(rng, numbers))


def told(wire: Conductor) -> str:
    """A stranded copper wire as the problems name it, with its resistance: 3 digits."""
    return f"{wire.label} stranded copper ({wire.ohm_per_m_20c * 1e3:.3g} mΩ in each metre of one conductor at 20 °C)"


@takes_units
def nearest(sizes: Sequence[int], ohm_per_m: float) -> int:
    """The gauge whose stranded copper comes nearest to a resistance, by their ratio.

    Parameters
    ----------
    sizes : sequence of int
        AWG numbers, 0 for 1/0.
    ohm_per_m : float
        Above 0. [ohm/m]

    Returns
    -------
    int
        One of `sizes`.
    """
    known = np.array([conductor("AWG", size).ohm_per_m_20c for size in sizes])
    return sizes[int(np.argmin(np.abs(np.log(known / ohm_per_m))))]
