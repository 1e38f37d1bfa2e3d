"""How a shop sells: its aisles, the lengths on its spools, and what one's own shelf already holds."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Literal

from wirecalc import tables, units
from wirecalc.cutting.pieces import LONGEST_M, Spool
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass, takes_units

Market = Literal["metres", "feet"]
SPEAKER, LINE, POWER, HOOK_UP, SEVERAL = (
    "speaker wire", "line cable", "power wire", "hook-up wire", "cable of several conductors"
)  # fmt: skip
OTHER, ENDS, FUSES, HOLDERS, SHELF = "wire", "ends", "fuses", "fuse holders", "from your shelf"
AISLES = (SHELF, POWER, SPEAKER, LINE, SEVERAL, HOOK_UP, OTHER, ENDS, FUSES, HOLDERS)
"""In the order of a walk through the shop; first what one has already."""
ON_SHELF = "on the shelf"
MOST_HELD, MOST_COUNT = 200, 100_000
_PARTS = re.compile(r"[;\n]")
_WORDS = re.compile(r"[^\w./]+")


@dataclass(frozen=True, kw_only=True)
class SoldSpool:
    """One row of data/spools.csv."""

    aisle: str
    market: Market
    length_m: float
    sold_as: str


SOLD = tables.records("spools", SoldSpool)


def sold(market: Market = "metres") -> dict[str, list[Spool]]:
    """The spools of each aisle; under "" those of any other wire.

    Parameters
    ----------
    market : {"metres", "feet"}
        Where the shop is: spools are round in the one or the other.

    Returns
    -------
    dict of str to list of Spool
    """
    of: dict[str, list[Spool]] = {}
    for spool in SOLD:
        if spool.market == market:
            of.setdefault(spool.aisle, []).append(Spool(length_m=spool.length_m))
    return {**of, "": of[HOOK_UP]}


@dataclass(frozen=True, kw_only=True)
class OnShelf:
    """One thing that lies on one's own shelf."""

    what: str
    """Some words of its name on the list: "speaker wire 16 AWG"."""
    lengths_m: tuple[float, ...] = ()
    """Of each piece of wire. [m]"""
    count: int = 0
    """Of what is no wire."""


def read_shelf(text: str, field: str = "On your shelf") -> tuple[OnShelf, ...]:
    """What the shelf holds, as typed: "speaker wire 16 AWG = 12 m + 30 ft; ferrule 16 AWG = 20".

    Parameters
    ----------
    text : str
        Parted by semicolons. A number alone is a count; a length has its unit, several are added with +.
    field : str
        For messages.

    Returns
    -------
    tuple of OnShelf

    Raises
    ------
    InputError
        If a part is anything else.
    """
    parts = [part.strip() for part in _PARTS.split(text) if part.strip()]
    if len(parts) > MOST_HELD:
        raise InputError(field, f"{len(parts)} things", f"at most {MOST_HELD}")
    return tuple(_held(part, field) for part in parts)


def _held(part: str, field: str) -> OnShelf:
    what, equals, amount = (side.strip() for side in part.partition("="))
    if not equals or not what or not amount:
        raise InputError(field, part[:60], "a name, =, and how much", "Write speaker wire 16 AWG = 12 m.")
    if amount.isdecimal():
        if not 1 <= int(amount[:9]) <= MOST_COUNT:
            raise InputError(f"{field}, {what[:40]}", amount[:20], f"1 to {MOST_COUNT}")
        return OnShelf(what=what, count=int(amount))
    lengths = amount.split("+")[:MOST_HELD]
    return OnShelf(
        what=what,
        lengths_m=tuple(
            units.read(length, f"{field}, {what[:40]}", units.LENGTH, low=0, high=LONGEST_M, above=True)
            for length in lengths
        ),
    )


def written_shelf(held: Iterable[OnShelf]) -> str:
    """As `read_shelf` reads it."""
    return "; ".join(
        f"{stock.what} = {' + '.join(units.show(length, units.LENGTH) for length in stock.lengths_m) or stock.count}"
        for stock in held
    )


def by_full_name(held: Sequence[OnShelf], wires: Sequence[str], others: Sequence[str]) -> dict[str, OnShelf]:
    """What is held, by the full name of the thing on the list.

    Parameters
    ----------
    held : sequence of OnShelf
    wires, others : sequence of str
        Names that a length, or a count, may mean.

    Returns
    -------
    dict of str to OnShelf
        What the list does not ask for is left out.

    Raises
    ------
    InputError
        If some words mean two things on the list.
    """
    by_name: dict[str, OnShelf] = {}
    for stock in held:
        names = dict.fromkeys(wires if stock.lengths_m else others)
        asked = _words(stock.what)
        fits = [name for name in names if asked <= _words(name)]
        exact = [name for name in fits if _words(name) == asked]
        if len(exact or fits) > 1:
            raise InputError(
                "On your shelf", stock.what, f"words of one thing on the list; these fit {len(fits)}",
                f"As {fits[0]}, or {fits[1]}?",
            )  # fmt: skip
        for name in exact or fits:
            before = by_name.get(name, OnShelf(what=name))
            by_name[name] = OnShelf(
                what=name, lengths_m=before.lengths_m + stock.lengths_m, count=before.count + stock.count
            )
    return by_name


def _words(text: str) -> frozenset[str]:
    return frozenset(filter(None, _WORDS.split(text.casefold())))


@takes_units
def with_shelf(spools: Sequence[Spool], lengths_m: Sequence[float]) -> tuple[list[Spool], bool]:
    """The spools of a shop with what lies on one's own shelf, which costs nothing.

    Parameters
    ----------
    spools : sequence of Spool
    lengths_m : sequence of float
        Of the pieces on the shelf. [m]

    Returns
    -------
    spools : list of Spool
    by_length : bool
        Whether a spool's price is its length, as not all of them have one.
    """
    if not lengths_m:
        return list(spools), False
    by_length = any(spool.price is None for spool in spools)
    shop = [Spool(length_m=spool.length_m, count=spool.count, name=spool.name,
                  price=spool.length_m if by_length else spool.price) for spool in spools]  # fmt: skip
    counts = {length: lengths_m.count(length) for length in dict.fromkeys(lengths_m)}
    own = [Spool(length_m=math.floor(length * 1000) / 1000, count=count, price=0.0, name=ON_SHELF)
           for length, count in counts.items()]  # fmt: skip
    return [*shop, *own], by_length
