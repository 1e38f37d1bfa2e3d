"""What a job takes from the shop: wire cut from spools, ends, fuses; with what it costs where prices are given."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice

import pandas as pd

from wirecalc import csv_text, units
from wirecalc.cutting.cut import cut
from wirecalc.cutting.pieces import Cuts, Piece, Spool
from wirecalc.cutting.shop import (
    AISLES,
    ENDS,
    FUSES,
    HOLDERS,
    ON_SHELF,
    OTHER,
    SHELF,
    OnShelf,
    by_full_name,
    with_shelf,
)
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.fuse_families import fuse_name

SLACK, SERVICE_LOOP_M = (
    0.10,
    0.15,
)  # way round corners, and what lets a device be lifted out: common practice, no source
MOST_PULLS, MOST_PRICES, MOST_HEADS = 2_000, 10_000, 10
_MOST_BAD, _SHOWN = 10, 40  # rows that a message names, characters of a cell in it


@dataclass(frozen=True, kw_only=True)
class Pull:
    """One run to pull: so many equal lengths of one wire."""

    name: str
    """The circuit or run: "front left speaker"."""
    wire: str
    """What is asked for in the shop: "12 AWG copper", or a cable's name."""
    length_m: float
    """Way of the run, one way. [m]"""
    conductors: int = 1
    """Equal lengths of it: 2 for out and back, more for conductors in parallel; 1 for a cable of several conductors."""
    colour: str = ""
    """Of the insulation, where it matters."""
    cores: int = 1
    """Conductors in each length that get an end: those in use of a cable of several conductors."""
    size: str = ""
    """For the ends: "12 AWG"; without it the wire's name."""
    ends: tuple[str, str] = ("", "")
    """What goes on each end of each conductor: "ring M8"; empty for a bare end."""
    fuse: str = ""
    """Kind of the fuse in it, "medium blade fuse (type C)"; empty for none."""
    fuse_a: float | None = None
    """[A]"""
    aisle: str = OTHER
    """Where a shop has it, of `wirecalc.cutting.shop.AISLES`."""

    def __post_init__(self) -> None:
        for field, text in (("Name of a run", self.name), ("Wire", self.wire)):
            if not text.strip():
                raise InputError(field, text, "some text")
        check(f"Length of “{self.name}”", self.length_m, "m", low=0, high=1000, above=True)
        for field, count in (("Conductors", self.conductors), ("Conductors in a length", self.cores)):
            number = float(check(f"{field} of “{self.name}”", count, "", low=1, high=100))
            if not number.is_integer():
                raise InputError(f"{field} of “{self.name}”", count, "a whole number")
        if bool(self.fuse) != (self.fuse_a is not None):
            given = self.fuse or f"{self.fuse_a:g} A"
            raise InputError(f"Fuse of “{self.name}”", given, "a kind with its rating, or neither")
        check(f"Fuse of “{self.name}”", 1.0 if self.fuse_a is None else self.fuse_a, "A", low=0, high=1000, above=True)

    @property
    def item(self) -> str:
        """The wire with its colour: what one spool is of."""
        return f"{self.wire}, {self.colour}" if self.colour else self.wire


@dataclass(frozen=True, kw_only=True, eq=False)
class BuyList:
    """All that a job takes."""

    items: pd.DataFrame
    """aisle (of `wirecalc.cutting.shop.AISLES`), kind ("wire", "end", "fuse", "fuse holder"), item, length_m (of one
    spool, nan for others), count, for (runs); with prices also price and cost, nan where an item has none."""
    pieces: pd.DataFrame
    """What is cut: wire, run, way_m, length_m (with slack and service loops), count."""
    cuts: dict[str, Cuts]
    """The cutting plan of each wire."""
    offered: tuple[str, ...]
    """Every spool that could have been taken, as prices name it."""

    @property
    def total(self) -> float | None:
        """Cost of all that has a price; None if no price was given."""
        return math.fsum(self.items["cost"].dropna()) if "cost" in self.items else None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Items without a price, if there are prices at all."""
        return tuple(self.items.loc[self.items["cost"].isna(), "item"]) if "cost" in self.items else ()

    def cut_list(self) -> pd.DataFrame:
        """Every cut in the order of cutting: wire, then the columns of `Cuts.table`."""
        tables = [plan.table().assign(wire=wire) for wire, plan in self.cuts.items()]
        table = pd.concat(tables, ignore_index=True)
        return table[["wire", *(name for name in table.columns if name != "wire")]]

    def in_words(self) -> tuple[str, ...]:
        """A sentence for each wire, and one for the cost if there are prices."""
        sentences = [f"{wire}: {plan.in_words()}" for wire, plan in self.cuts.items()]
        if self.total is not None:
            without = f", without {', '.join(self.unpriced)}, which have no price" if self.unpriced else ""
            sentences.append(f"Cost: {self.total:.2f}{without}.")
        return tuple(sentences)


def spool_item(wire: str, spool: Spool) -> str:
    """The item of one spool, as prices name it: "12 AWG copper, red, 30 m spool (on the shelf)".

    Parameters
    ----------
    wire : str
        With its colour: "12 AWG copper, red".
    spool : Spool
        Gives length and, if it has one, name. [m]

    Returns
    -------
    str
    """
    return f"{wire}, {spool.length_m:g} m spool" + (f" ({spool.name})" if spool.name else "")


@takes_units
def buy(
    pulls: Sequence[Pull],
    spools: Sequence[Spool] | Mapping[str, Sequence[Spool]],
    *,
    slack: float = SLACK,
    service_loop_m: float = SERVICE_LOOP_M,
    prices: Mapping[str, float] | None = None,
    held: Sequence[OnShelf] = (),
    seconds: float = 2.0,
) -> BuyList:
    """List what to buy for a job and how to cut it.

    Parameters
    ----------
    pulls : sequence of Pull
        Up to 2000.
    spools : sequence of Spool, or mapping of str to sequence of Spool
        The lengths that wire is sold in; as a mapping by `Pull.item` or `Pull.aisle`, "" for all others.
    slack : float
        Share added to every way. [0 to 1]
    service_loop_m : float
        Added at each end. [m]
    prices : mapping of str to float, optional
        Price of one of each item, spools named as by `spool_item`; it goes before a spool's own price. A wire whose
        spools all have a price is cut for least cost, any other for least length. Without prices no cost is shown.
    held : sequence of wirecalc.cutting.shop.OnShelf
        What one's own shelf has: it is used first and stands by itself on the list.
    seconds : float
        For the cutting of all wires together, about; see `wirecalc.cutting.cut.cut`.

    Returns
    -------
    BuyList

    Raises
    ------
    InputError
        If there is no run, a wire has no spools, a piece is longer than every spool, or a value is out of range.

    Examples
    --------
    >>> feed = Pull(name="sub feed", wire="4 AWG copper", length_m=5.0, colour="red", ends=("ring M8", ""))
    >>> found = buy([feed], [Spool(length_m=10.0)])
    >>> found.items[["item", "count"]].values.tolist()
    [['4 AWG copper, red, 10 m spool', 1], ['ring M8, for 4 AWG copper', 1]]
    """
    check("Runs to pull", len(pulls), "", low=1, high=MOST_PULLS)
    check("Slack", slack, "", low=0, high=1, hint="A share: 0.1 is ten per cent.")
    check("Service loop", service_loop_m, "m", low=0, high=10)
    for item, price in (prices or {}).items():
        check(f"Price of “{item}”", price, "", low=0, high=1e7)
    aisles = {pull.item: pull.aisle for pull in pulls}
    of = {wire: _of(wire, aisle, spools) for wire, aisle in aisles.items()}
    own_prices = {
        spool_item(wire, spool): spool.price for wire, some in of.items() for spool in some if spool.price is not None
    }
    prices = {**own_prices, **(prices or {})}
    has = by_full_name(held, list(of), [item for item, _, _ in _small(pulls)])
    rows: list[tuple[str, str, float, float, int]] = []
    cuts, lines = {}, _Lines()
    for wire, some in of.items():
        own = [pull for pull in pulls if pull.item == wire]
        pieces = [
            Piece(length_m=_length_m(pull, slack, service_loop_m), count=pull.conductors, name=pull.name)
            for pull in own
        ]
        rows += [
            (wire, pull.name, pull.length_m, piece.length_m, pull.conductors)
            for pull, piece in zip(own, pieces, strict=True)
        ]
        offers, by_length = with_shelf(_priced(wire, some, prices), has[wire].lengths_m if wire in has else ())
        cut_plan = cut(pieces, offers, seconds=max(0.05, seconds / len(of)))
        cuts[wire] = replace(cut_plan, least="length") if by_length else cut_plan
        for used in cut_plan.spools:
            aisle = SHELF if wire in has and used.spool.name == ON_SHELF else aisles[wire]
            names = [piece.name for piece in used.pieces]
            lines.add((aisle, "wire", spool_item(wire, used.spool), used.spool.length_m), 1, names)
    left = {name: stock.count for name, stock in has.items()}
    for item, kind, pull in _small(pulls):
        count = pull.conductors * pull.cores if kind == "end" else 1
        taken = min(left.get(item, 0), count)
        left[item] = left.get(item, 0) - taken
        for aisle, number in ((SHELF, taken), (_AISLE[kind], count - taken)):
            if number:
                lines.add((aisle, kind, item, math.nan), number, [pull.name])
    columns = ["wire", "run", "way_m", "length_m", "count"]
    offered = tuple(spool_item(wire, spool) for wire, some in of.items() for spool in some)
    return BuyList(
        items=lines.table(prices), pieces=pd.DataFrame(rows, columns=columns), cuts=cuts, offered=offered
    )  # fmt: skip


_AISLE = {"end": ENDS, "fuse": FUSES, "fuse holder": HOLDERS}
_Line = tuple[str, str, str, float]


def _small(pulls: Sequence[Pull]) -> Iterator[tuple[str, str, Pull]]:
    """What is no wire: item, kind, and what it is for."""
    for pull in pulls:
        for end in filter(None, pull.ends):
            yield f"{end}, for {pull.size or pull.wire}", "end", pull
        if pull.fuse_a is not None:
            yield fuse_name(pull.fuse, pull.fuse_a), "fuse", pull
            yield f"holder of a {pull.fuse}, for {pull.size or pull.wire}", "fuse holder", pull


class _Lines:
    """What is bought, as it adds up: aisle, kind, item, length of a spool; how many, for which runs."""

    def __init__(self) -> None:
        self.counts: Counter[_Line] = Counter()
        self.runs: dict[_Line, list[str]] = {}

    def add(self, line: _Line, count: int, names: Sequence[str]) -> None:
        key = (*line[:3], -1.0 if math.isnan(line[3]) else line[3])
        self.counts[key] += count
        self.runs.setdefault(key, []).extend(names)

    def table(self, prices: Mapping[str, float]) -> pd.DataFrame:
        """See `BuyList.items`; aisle by aisle, each in the order it came in."""
        order = sorted(self.counts, key=lambda key: AISLES.index(key[0]) if key[0] in AISLES else len(AISLES))
        items = pd.DataFrame(
            [(*key[:3], key[3] if key[3] > 0 else math.nan, self.counts[key], ", ".join(dict.fromkeys(self.runs[key])))
             for key in order],
            columns=["aisle", "kind", "item", "length_m", "count", "for"],
        )  # fmt: skip
        if prices:
            shelf = items["aisle"] == SHELF
            items["price"] = items["item"].map(prices).astype(float).mask(shelf, 0.0)
            items["cost"] = items["price"] * items["count"]
        return items


def _length_m(pull: Pull, slack: float, service_loop_m: float) -> float:
    """With slack and a service loop at each end, to the millimetre above."""
    return math.ceil((pull.length_m * (1 + slack) + 2 * service_loop_m) * 1000 - 1e-6) / 1000


def _of(wire: str, aisle: str, spools: Sequence[Spool] | Mapping[str, Sequence[Spool]]) -> Sequence[Spool]:
    if not isinstance(spools, Mapping):
        return spools
    own = spools.get(wire, spools.get(aisle, spools.get("", ())))
    if not own:
        raise InputError(
            "Spools", f"none of “{wire}”", "a spool length for every wire", "Add the lengths it is sold in."
        )
    return own


def _priced(wire: str, spools: Sequence[Spool], prices: Mapping[str, float]) -> list[Spool]:
    return [replace(spool, price=prices.get(spool_item(wire, spool))) for spool in spools]


def read_prices(text: str) -> dict[str, float]:
    """A price list: CSV with the columns item and price, in one currency, whichever.

    Parameters
    ----------
    text : str
        As `price_list` writes it, the prices filled in. Rows with no price, and what heads the list, are left out.

    Returns
    -------
    dict of str to float

    Raises
    ------
    InputError
        If a column is missing, or with every row that cannot be read.
    """
    read = csv_text.read_rows(text.removeprefix("\ufeff"), "Price list")
    rows = list(islice(read, MOST_PRICES + 2 + MOST_HEADS)) or [[]]
    heads = [[cell.strip().casefold() for cell in row] for row in rows[: MOST_HEADS + 1]]
    first = next((at for at, names in enumerate(heads) if "item" in names and "price" in names), 0)
    names, body = heads[first], rows[first + 1 :]
    if names.count("item") != 1 or names.count("price") != 1:
        given = ", ".join(names) or "nothing"
        raise InputError("Price list", given, "the columns item and price, each once")
    check("Rows of the price list", len(body), "", low=0, high=MOST_PRICES)
    prices: dict[str, float] = {}
    bad = []
    for number, row in enumerate(body, first + 2):
        cells = dict(zip(names, map(str.strip, row), strict=False))
        item, price = cells.get("item", ""), cells.get("price", "")
        if len(row) > len(names):
            bad.append(f"row {number}: {len(row)} columns")
        elif price:
            try:
                value = units.read(price, "Price", units.NUMBER, low=0, high=1e7)
            except InputError:
                bad.append(f"row {number}: {price[:_SHOWN]}")
                continue
            if prices.setdefault(item, value) != value:
                bad.append(f"row {number}: {price} for {item[:_SHOWN]}, before it was {prices[item]:g}")
    if bad:
        more = [f"and {len(bad) - _MOST_BAD} rows more"] if len(bad) > _MOST_BAD else []
        allowed = "a number from 0 on, with a decimal point and no currency sign, one for each item"
        raise InputError("Prices", "; ".join([*bad[:_MOST_BAD], *more]), allowed)
    return prices


def price_list(bought: BuyList, heads: Sequence[tuple[str, str]] = ()) -> bytes:
    """The items, and the spools that could have been taken, as CSV to fill in; a price that is in the list stays.

    Parameters
    ----------
    bought : BuyList
    heads : sequence of (str, str)
        What stands above it, at most `MOST_HEADS` labels and texts: whose job it is, on paper too.

    Returns
    -------
    bytes
    """
    items = bought.items.drop_duplicates("item").set_index("item")
    known = items["price"].dropna() if "price" in items else pd.Series(dtype=float)
    names = dict.fromkeys([*bought.offered, *items.index])
    prices = [repr(float(known[name])) if name in known else "" for name in names]
    return csv_text.csv_bytes([*heads[:MOST_HEADS], ("item", "price"), *zip(names, prices, strict=True)])
