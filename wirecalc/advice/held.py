"""A value against a bound: limits of safety, which have no band, and limits of taste, which do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wirecalc.limit import Limit
from wirecalc.mark import Mark, plain
from wirecalc.runs.choose import figure
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]
State = Literal["fine", "borderline", "too thin", "too thick"]
FINE: State = "fine"
BORDERLINE: State = "borderline"
TOO_THIN: State = "too thin"
TOO_THICK: State = "too thick"
"""Thicker than the terminal takes."""

NO_FUSE = "no fuse of the shop's families carries the load and breaks the short there"
LITTLE = 0.1  # of a limit of taste: the next thinner size is named if it misses no more; common practice, no source
_CLOSE = 1e-9  # share of a bound by which a value may be over it and still keep it: the last binary digits


@dataclass(frozen=True, kw_only=True, eq=False)
class Held:
    """One limit, with n sizes held against it."""

    limit: Limit
    safety: bool
    """No band: over is broken."""
    values: Array
    """In the limit's unit; nan where there is none. (n,)"""
    bounds: Array
    """(n,)"""

    @cached_property
    def share(self) -> Array:
        """How much of the limit each uses: over 1 it is broken; inf where there is no value. (n,)"""
        at_most = self.limit.sense == "at most"
        # bounds of 0, such as a margin: any use under, none left over
        with np.errstate(divide="ignore", invalid="ignore"):
            share = self.values / self.bounds if at_most else self.bounds / self.values
        right = self.values <= self.bounds if at_most else self.values >= self.bounds
        flat = np.where(right, 0.5, 2.0)  # where a quotient says nothing: 0 or below on either side
        share = np.where((self.bounds <= 0) | (self.values <= 0), flat, share)
        return np.where(np.isfinite(self.values) & np.isfinite(self.bounds), share, np.where(right, 0.0, np.inf))

    @property
    def kept(self) -> NDArray[np.bool_]:
        """Whether each keeps the limit itself. (n,)"""
        return np.asarray(self.share <= 1 + _CLOSE)

    def in_band(self, borderline: float) -> NDArray[np.bool_]:
        """Whether each keeps the limit or, of taste, is within its band. (n,)"""
        return np.asarray(self.share <= (1.0 if self.safety else borderline) + _CLOSE)

    def words(self, at: int, *, mark: Mark = plain) -> str:
        """How one size stands, in words: "level lost 0.49 dB against 0.4, over by 0.09".

        Parameters
        ----------
        at : int
            Which size.
        mark : wirecalc.mark.Mark
            What is done to each number; keys are the measure, "bound measure" and "over measure".

        Returns
        -------
        str
            What is over or short is said only where the limit is not kept.
        """
        value, bound, limit = float(self.values[at]), float(self.bounds[at]), self.limit
        name = limit.name or limit.measure
        if not math.isfinite(value):
            if limit.unit == "°C":
                over = mark("250 °C", limit.measure)
                return f"{name} over {over}, limit {mark(figure(limit, bound), f'bound {limit.measure}')}"
            if limit.measure == "fuse_a":
                return NO_FUSE
            return f"{name} has no value here"
        shown = mark(figure(limit, value), limit.measure)
        most = mark(figure(limit, bound, unit=limit.measure == "drop_fraction", like=value), f"bound {limit.measure}")
        sentence = f"{name} {shown} against {most}"
        beyond = value - bound if limit.sense == "at most" else bound - value
        if self.kept[at]:
            return sentence
        by = figure(limit, beyond, unit=False, like=value)
        side = "over" if limit.sense == "at most" else "short"
        nothing = not any(digit in by for digit in "123456789")
        return f"{sentence}, just {side}" if nothing else f"{sentence}, {side} by {mark(by, f'over {limit.measure}')}"


def state(held: Sequence[Held], at: int, borderline: float) -> tuple[State, tuple[Held, ...]]:
    """How one size stands under all limits.

    Parameters
    ----------
    held : sequence of Held
    at : int
        Which size.
    borderline : float
        Share of a limit of taste up to which it is borderline.

    Returns
    -------
    State, tuple of Held
        And the limits that are not kept: those of safety first, then the one that is furthest over.
    """
    broken = sorted(
        (limit for limit in held if not limit.kept[at]), key=lambda limit: (not limit.safety, -float(limit.share[at]))
    )
    if not broken:
        return FINE, ()
    return (BORDERLINE if all(limit.in_band(borderline)[at] for limit in held) else TOO_THIN), tuple(broken)
