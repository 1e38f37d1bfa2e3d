"""From limits to a size: the smallest candidate that meets all of them, and what each other one breaks.

Works on quantities computed elsewhere (`circuits.circuit`, `wire.ampacity`, `wire.fuse`), so it serves every kind of
circuit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.limit import Limit
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.conductor import Conductor

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
_DECIMALS = {"dB": 2, "V": 2, "°C": 0, "mm²": 2}  # of values under limits; other units by their size


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A conductor, or several alike side by side, to be judged."""

    conductor: Conductor
    parallel: int = 1

    def __post_init__(self) -> None:
        check("Conductors in parallel", self.parallel, "", low=1, high=16)

    @property
    def label(self) -> str:
        """As the trade writes it: "12 AWG", "2 × 12 AWG"."""
        return side_by_side(self.conductor.label, self.parallel)

    @property
    def area_m2(self) -> float:
        """Metal, all conductors of one way together. [m^2]"""
        return self.parallel * self.conductor.area_m2


def candidates(conductors: Iterable[Conductor], parallel: Sequence[int] = (1,)) -> tuple[Candidate, ...]:
    """Every conductor in every number side by side, least metal first; of equal metal the fewest first.

    Parameters
    ----------
    conductors : iterable of Conductor
    parallel : sequence of int
        Numbers of alike conductors side by side, each way. [1 to 16]

    Returns
    -------
    tuple of Candidate
        One for each conductor with each number.

    Raises
    ------
    InputError
        If a number is not 1 to 16.
    """
    made = [Candidate(conductor=conductor, parallel=count) for conductor in conductors for count in parallel]
    return tuple(sorted(made, key=lambda each: (each.area_m2, each.parallel)))


def _limits() -> dict[str, tuple[Limit, ...]]:
    limits: dict[str, tuple[Limit, ...]] = {}
    for row, limit in zip(tables.rows("limits"), tables.records("limits", Limit), strict=True):
        bound = str(limit.bound)
        limit = replace(limit, bound=float(bound) if bound[0].isdigit() else bound)
        limits[row["kind"]] = (*limits.get(row["kind"], ()), limit)
    return limits


LIMITS = _limits()
"""Sensible limits for each kind of circuit; each with its reason and source."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Verdict:
    """n candidates, smallest first, under m limits."""

    labels: tuple[str, ...]
    limits: tuple[Limit, ...]
    values: Array
    """(m, n), each in its limit's unit."""
    bounds: Array
    """(m, n)."""
    meets: NDArray[np.bool_]
    """(m, n); False where a value or bound is not a number."""

    @property
    def over_by(self) -> Array:
        """How far each value is beyond its bound; below 0 by what is left. (m, n)"""
        sign = np.array([[1.0 if limit.sense == "at most" else -1.0] for limit in self.limits])
        return np.asarray(sign * (self.values - self.bounds))

    @property
    def chosen(self) -> int | None:
        """Place of the smallest candidate that meets every limit; None if there is none."""
        good = np.flatnonzero(self.meets.all(axis=0))
        return int(good[0]) if good.size else None

    @property
    def nearest(self) -> int:
        """Place of the chosen one; if none, of the one that breaks the fewest limits, then by the least share."""
        if self.chosen is not None:
            return self.chosen
        scale = np.maximum(np.abs(self.bounds), np.abs(self.values))
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.nan_to_num(self.over_by / scale, nan=1.0, posinf=1.0)
        worst = np.where(self.meets, 0.0, share).max(axis=0)
        return int(np.lexsort((worst, (~self.meets).sum(axis=0)))[0])

    def breaks(self, place: int, *, mark: Mark = plain) -> tuple[str, ...]:
        """Each limit that a candidate breaks, and by how much, in words.

        Parameters
        ----------
        place : int
            Which candidate, in the order of `labels`.
        mark : wirecalc.mark.Mark
            What is done to each number. Its keys are "measure:place", "over measure:place" and "bound measure:place";
            where the bound is another measure, that measure's key.

        Returns
        -------
        tuple of str
            One for each limit that is not kept; empty if all are.

        Raises
        ------
        InputError
            If there is no such place.
        """
        check("Candidate", place, "", low=0, high=len(self.labels) - 1)
        return tuple(
            _in_words(limit, value, bound, over_by, lambda text, key: mark(text, f"{key}:{place}"))
            for limit, meets, value, bound, over_by in zip(
                self.limits,
                self.meets[:, place],
                self.values[:, place],
                self.bounds[:, place],
                self.over_by[:, place],
                strict=True,
            )
            if not meets
        )

    def in_words(self, *, mark: Mark = plain, among: str = "") -> str:
        """The outcome in a few sentences: what to pull and why not smaller, or what to change; see `breaks`.

        Parameters
        ----------
        mark : Mark
            As of `breaks`.
        among : str
            What the candidates are, such as "on the shelf", where there are thinner ones.

        Returns
        -------
        str
        """
        place = self.nearest
        if self.chosen is not None:
            sentence = f"{self.labels[place]} is the smallest{f' {among}' if among else ''} that meets every limit."
            if place:
                sentence += f" {self.labels[place - 1]} does not: {'; '.join(self.breaks(place - 1, mark=mark))}."
            return sentence
        broken = [limit for limit, meets in zip(self.limits, self.meets[:, place], strict=True) if not meets]
        remedies = dict.fromkeys(limit.remedy for limit in broken if limit.remedy)
        sentence = (
            f"None meets every limit. Nearest is {self.labels[place]}: {'; '.join(self.breaks(place, mark=mark))}."
        )
        return sentence + "".join(f" What helps: {remedy}." for remedy in remedies)

    def table(self) -> pd.DataFrame:
        """One row for each candidate and limit, candidates smallest first.

        Returns
        -------
        pandas.DataFrame
            label, measure, name, value, sense, bound, unit, over_by, meets, chosen.
        """
        import pandas as pd  # here, as in tables: a page is ready sooner without it

        m, n = self.meets.shape
        chosen = np.arange(n) == (-1 if self.chosen is None else self.chosen)
        return pd.DataFrame(
            {
                "label": np.repeat(self.labels, m),
                "measure": [limit.measure for limit in self.limits] * n,
                "name": [limit.name for limit in self.limits] * n,
                "value": self.values.T.ravel(),
                "sense": [limit.sense for limit in self.limits] * n,
                "bound": self.bounds.T.ravel(),
                "unit": [limit.unit for limit in self.limits] * n,
                "over_by": self.over_by.T.ravel(),
                "meets": self.meets.T.ravel(),
                "chosen": np.repeat(chosen, m),
            }
        )


def figure(limit: Limit, value: float, *, unit: bool = True, like: float | None = None) -> str:
    """A value under a limit with the two digits that decide, and its unit.

    Parameters
    ----------
    limit : Limit
    value : float
        In the limit's unit.
    unit : bool
        Whether the unit is said.
    like : float, optional
        A value whose number of decimals is taken; its own if not given.

    Returns
    -------
    str
        "none" for a value that is not finite; drop_fraction in per cent.

    Examples
    --------
    >>> loss = Limit(measure="loss_db", sense="at most", bound=0.4, unit="dB")
    >>> figure(loss, 0.4936), figure(loss, 0.4, unit=False)
    ('0.49 dB', '0.4')
    """
    if not np.isfinite(value):
        return "none"
    scale, name = (100.0, "%") if limit.measure == "drop_fraction" else (1.0, limit.unit)
    scaled = value * scale
    size = abs(value if like is None or not np.isfinite(like) else like) * scale
    decimals = (2 if size < 10 else 1 if size < 100 else 0) if name == "A" else _DECIMALS.get(name, 1)
    text = f"{scaled:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return (f"{text} {name}" if unit and name else text).replace("-", "−")


def _in_words(limit: Limit, value: float, bound: float, over_by: float, mark: Mark) -> str:
    if np.isnan(value) or np.isnan(bound):
        return f"{limit.name} has no value here"
    side = "over" if limit.sense == "at most" else "short"
    if not np.isfinite(over_by):
        return f"{limit.name}: {side} by more than can be told"
    by = figure(limit, over_by, like=value)
    beyond = mark(by, f"over {limit.measure}") if any(digit in by for digit in "123456789") else "a hair"
    if bound == 0:
        return f"{limit.name}: {side} by {beyond}"
    shown = mark(figure(limit, value), limit.measure)
    most = mark(figure(limit, bound), limit.bound if isinstance(limit.bound, str) else f"bound {limit.measure}")
    return f"{limit.name} {shown}, {limit.sense} {most} allowed: {side} by {beyond}"


def judge_candidates(labels: Sequence[str], measures: Mapping[str, ArrayLike], limits: Sequence[Limit]) -> Verdict:
    """Hold candidates against limits.

    Parameters
    ----------
    labels : sequence of n str
        Candidates, smallest first.
    measures : mapping of str to (n,) or scalar array_like
        What was computed for each candidate, by the keys that the limits name. nan counts as broken.
    limits : sequence of m Limit
        See `LIMITS`.

    Returns
    -------
    Verdict

    Raises
    ------
    InputError
        If there is no candidate or no limit, a measure is missing, or it has another number of values.

    Examples
    --------
    >>> loss = Limit(measure="loss_db", name="level loss", sense="at most", bound=0.4, unit="dB")
    >>> print(judge_candidates(["18 AWG", "14 AWG"], {"loss_db": [0.62, 0.26]}, [loss]).in_words())
    14 AWG is the smallest that meets every limit. 18 AWG does not: level loss 0.62 dB, at most 0.4 dB \
allowed: over by 0.22 dB.
    """
    n = len(labels)
    if not n or not limits:
        raise InputError("Choice", f"{n} candidates, {len(limits)} limits", "at least one of each")

    def line(key: str) -> Array:
        if key not in measures:
            raise InputError("Measure", key, ", ".join(measures) or "none was given")
        values = np.asarray(measures[key], np.float64)
        if values.shape not in ((), (1,), (n,)):
            raise InputError("Measure", f"{key} of shape {values.shape}", f"one value or {n}")
        return np.broadcast_to(values, (n,))

    values = np.stack([line(limit.measure) for limit in limits])
    bounds = np.stack(
        [line(limit.bound) if isinstance(limit.bound, str) else np.full(n, limit.bound) for limit in limits]
    )
    most = np.array([[limit.sense == "at most"] for limit in limits])
    return Verdict(
        labels=tuple(labels),
        limits=tuple(limits),
        values=values,
        bounds=bounds,
        meets=np.where(most, values <= bounds, values >= bounds),
    )
