"""The sizes on the shelf, and what a metre of each costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from wirecalc import units
from wirecalc.errors import InputError, check
from wirecalc.vehicle.model import Wire
from wirecalc.wire.conductor import Conductor, conductor

Array = NDArray[np.float64]
Size = tuple[str, float]

MOST_SIZES = 100
# Gauges that vehicle wire is commonly sold in: common practice, no source.
USUAL_SIZES: tuple[Size, ...] = tuple(("AWG", float(n)) for n in (22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -3))


@dataclass(frozen=True, kw_only=True)
class Stock:
    """The sizes on the shelf."""

    sizes: tuple[Size, ...] = USUAL_SIZES
    """As `wirecalc.units.read_size` returns them, in any order."""
    price_per_m: Mapping[Size, float] = field(default_factory=dict, hash=False)
    """Of one conductor. Unless every size has one, the least metal counts as the cheapest. [money per m]"""

    def __post_init__(self) -> None:
        if not self.sizes:
            raise InputError("Sizes on the shelf", "none", "one size or more, as in 16 AWG, 12 AWG")
        for size, price in self.price_per_m.items():
            check(f"Price of {units.show_size(*size)}", price, "per metre", low=0, high=100_000)

    @property
    def priced(self) -> bool:
        """Whether cost is money; else it is metal."""
        return all(size in self.price_per_m for size in self.sizes)

    def options(self, wire: Wire) -> tuple[tuple[Size, ...], tuple[Conductor, ...], Array]:
        """Sizes for a wire, thinnest first, as conductors, and the cost of a metre of one. A size that is dearer than a
        thicker one is left out: there is no reason to take it."""
        per_m = []
        for size in dict.fromkeys(self.sizes):
            one = wire.conductor(size)
            per_m.append((one.area_m2, self.price_per_m[size] if self.priced else one.area_m2 * 1e6, size, one))
        per_m.sort(key=lambda each: each[0])
        kept = [each for place, each in enumerate(per_m) if all(each[1] <= other[1] for other in per_m[place + 1 :])]
        return tuple(each[2] for each in kept), tuple(each[3] for each in kept), np.array([each[1] for each in kept])


def read_stock(text: str) -> Stock:
    """A stock list as typed: sizes parted by commas or lines, each with its price per metre if there is one.

    Raises
    ------
    InputError
        If a size or a price cannot be read, or there are too many.

    Examples
    --------
    >>> read_stock("16 AWG = 0.80; 4 mm2 = 2").price_per_m
    {('AWG', 16.0): 0.8, ('mm2', 4.0): 2.0}
    """
    sizes, prices = [], {}
    parts = text.replace("\n", ";").split(";")
    if len(parts) > MOST_SIZES:
        raise InputError(
            "Sizes on the shelf", f"{len(parts)} parts", f"at most {MOST_SIZES}", "Leave out what is rare."
        )
    for part in parts:
        if part.strip():
            size_text, equals, price_text = part.partition("=")
            size = units.read_size(size_text.strip(), "Size on the shelf")
            conductor(*size)  # a metric size has to be in its table
            sizes.append(size)
            if equals:
                prices[size] = units.read(price_text.strip(), f"Price of {size_text.strip()}", units.NUMBER, low=0)
    return Stock(sizes=tuple(dict.fromkeys(sizes)), price_per_m=prices)
