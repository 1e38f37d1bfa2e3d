"""What is needed, what can be bought, and a plan of cuts."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pandas as pd

from wirecalc.errors import check
from wirecalc.units_taken import dataclass

Least = Literal["spools", "length", "price"]

LONGEST_M = 10_000.0  # over any spool that is sold: common practice, no source
MOST_PIECES = 5_000
PER_M = 1000  # lengths count in whole millimetres, finer than anybody cuts wire
CLOSE = 1e-7  # of two values that are the same but for rounding


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A length that is needed, so many times. Counts in whole millimetres, rounded up."""

    length_m: float
    count: int = 1
    name: str = ""

    def __post_init__(self) -> None:
        check("Piece length", self.length_m, "m", low=1 / PER_M, high=LONGEST_M)
        check("Number of pieces", self.count, "", low=1, high=MOST_PIECES)


@dataclass(frozen=True, kw_only=True)
class Spool:
    """A length that can be bought or is on the shelf. Counts in whole millimetres, rounded down."""

    length_m: float
    count: int | None = None
    """How many there are; None for as many as wanted."""
    price: float | None = None
    """Of one, in any currency; 0 for one that is paid for."""
    name: str = ""

    def __post_init__(self) -> None:
        check("Spool length", self.length_m, "m", low=1 / PER_M, high=LONGEST_M)
        check("Number of spools", 1 if self.count is None else self.count, "", low=0, high=1_000_000)
        check("Price of a spool", 0.0 if self.price is None else self.price, "", low=0, high=1e7)


@dataclass(frozen=True, kw_only=True)
class CutSpool:
    """One spool and the pieces that are cut from it, longest first, each with a count of 1."""

    spool: Spool
    pieces: tuple[Piece, ...]

    @property
    def left_m(self) -> float:
        """What is left on it. [m]"""
        return max(0.0, self.spool.length_m - math.fsum(piece.length_m for piece in self.pieces))


@dataclass(frozen=True, kw_only=True)
class Cuts:
    """A cutting plan that holds every piece once, and how good it can be at best."""

    spools: tuple[CutSpool, ...]
    least: Least
    """What was made as small as possible: the number, the length or the price of the spools."""
    value: float
    """That number, length [m] or price of this plan."""
    bound: float
    """What no plan can stay under, in the unit of `value`."""

    @property
    def proven(self) -> bool:
        """No plan is better than this one."""
        return self.value - self.bound <= CLOSE * max(1.0, self.value)

    @property
    def bought_m(self) -> float:
        """Length of all spools. [m]"""
        return math.fsum(spool.spool.length_m for spool in self.spools)

    @property
    def left_m(self) -> float:
        """What is left on all spools. [m]"""
        return math.fsum(spool.left_m for spool in self.spools)

    def in_words(self) -> str:
        """The plan in a sentence, and whether a better one may exist."""
        count = len(self.spools)
        sentence = (
            f"{count} spool{'' if count == 1 else 's'}, {self.bought_m:g} m, of which {self.left_m:.3g} m are left."
        )
        what = {"spools": "fewer spools", "length": "less length", "price": "less money"}[self.least]
        if self.proven:
            return f"{sentence} No plan needs {what}."
        unit = {"spools": " spools", "length": " m", "price": ""}[self.least]
        return f"{sentence} A plan with {what} may exist, but none under {self.bound:.6g}{unit}."

    def table(self) -> pd.DataFrame:
        """One row for each cut, in the order of cutting.

        Returns
        -------
        pandas.DataFrame
            spool (number from 1), spool_name, spool_m, piece, length_m, left_m (on the spool after this cut).
        """
        rows = []
        for number, spool in enumerate(self.spools, 1):
            lengths = np.array([piece.length_m for piece in spool.pieces])
            left = np.maximum(spool.spool.length_m - np.cumsum(lengths), 0.0)
            rows += [
                (number, spool.spool.name, spool.spool.length_m, piece.name, piece.length_m, float(rest))
                for piece, rest in zip(spool.pieces, left, strict=True)
            ]
        return pd.DataFrame(rows, columns=["spool", "spool_name", "spool_m", "piece", "length_m", "left_m"])
