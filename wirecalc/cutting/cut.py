"""A list of pieces and spools to a plan: whole units in, names and lengths out."""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Sequence
from typing import get_args

import numpy as np

from wirecalc.cutting.patterns import CuttingJob, Pattern
from wirecalc.cutting.pieces import MOST_PIECES, PER_M, Cuts, CutSpool, Least, Piece, Spool
from wirecalc.cutting.search import best_plan
from wirecalc.errors import InputError, check

_MONEY = 10_000  # prices count to four decimals


def cut(pieces: Sequence[Piece], spools: Sequence[Spool], *, least: Least | None = None, seconds: float = 2.0) -> Cuts:
    """Cut pieces from spools so that the least is used.

    Parameters
    ----------
    pieces : sequence of Piece
        Up to 5000 in all.
    spools : sequence of Spool
        The kinds that there are.
    least : {"spools", "length", "price"}, optional
        What to make small: the number of spools, their length together (least left over), or their price. Without it
        the price where every spool has one, else the length. Of equal length or price the fewest spools found.
    seconds : float
        After about that long the best plan so far is given, with its distance to the bound.

    Returns
    -------
    Cuts
        Never worse than first-fit-decreasing.

    Raises
    ------
    InputError
        If there is no piece or no spool, a piece is longer than every spool, the spools do not hold all pieces, or
        the price is asked for and one has none.

    Notes
    -----
    The saw takes nothing: wire is snipped. Where the plan over the generated patterns stays over the linear program's
    bound, every pattern whose reduced cost would allow a better plan is listed and the MILP solved again: that proves
    the optimum, unless there are too many or the time is over.

    Examples
    --------
    >>> plan = cut([Piece(length_m=6.0, count=2), Piece(length_m=4.0, count=2)], [Spool(length_m=10.0)])
    >>> len(plan.spools), plan.proven, plan.left_m
    (2, True, 0.0)
    """
    least = _checked(pieces, spools, least)
    end = time.monotonic() + float(check("Time", seconds, "s", low=0.01, high=600))
    piece_mm = [math.ceil(piece.length_m * PER_M - 1e-6) for piece in pieces]
    spool_mm = [math.floor(spool.length_m * PER_M + 1e-6) for spool in spools]
    longest = int(np.argmax(piece_mm))
    usable = [spool.count != 0 for spool in spools]
    room_mm = max((mm for mm, use in zip(spool_mm, usable, strict=True) if use), default=0)
    if piece_mm[longest] > room_mm:
        name = pieces[longest].name
        raise InputError(
            f"Piece “{name}”" if name else "Piece length",
            f"{pieces[longest].length_m:g} m",
            f"up to {room_mm / PER_M:g} m, the longest spool",
            "Add a longer spool, or join the wire where it can be reached.",
        )
    needed: dict[int, int] = defaultdict(int)
    for mm, piece in zip(piece_mm, pieces, strict=True):
        needed[mm] += piece.count
    lengths = sorted(needed, reverse=True)
    unit = math.gcd(*lengths)
    cost = {
        "spools": [1] * len(spools),
        "length": spool_mm,
        "price": [round((spool.price or 0.0) * _MONEY) for spool in spools],
    }[least]
    step = math.gcd(*cost) or 1
    total = sum(needed.values())
    job = CuttingJob(
        lengths=tuple(mm // unit for mm in lengths),
        wanted=tuple(needed[mm] for mm in lengths),
        caps=tuple(mm // unit for mm in spool_mm),
        costs=tuple(price // step for price in cost),
        stock=tuple(total if spool.count is None else min(total, spool.count) for spool in spools),
    )
    plan, bound = best_plan(job, end)
    short = [job.lengths[counts.index(1)] * unit / PER_M for kind, counts in plan if kind < 0]
    if short:
        raise InputError(
            "Spools",
            f"{len(short)} of {total} pieces found no place, the longest of {max(short):g} m",
            "spools that hold every piece",
            "Add a spool.",
        )
    scale = step / {"spools": 1, "length": PER_M, "price": _MONEY}[least]
    value = sum(job.costs[kind] for kind, _ in plan)
    cuts = _named(plan, pieces, piece_mm, lengths, spools)
    return Cuts(spools=cuts, least=least, value=value * scale, bound=bound * scale)


def _checked(pieces: Sequence[Piece], spools: Sequence[Spool], least: Least | None) -> Least:
    if not pieces or not spools:
        raise InputError("Cutting list", f"{len(pieces)} pieces, {len(spools)} spools", "at least one of each")
    check("Number of pieces", sum(piece.count for piece in pieces), "", low=1, high=MOST_PIECES)
    priced = all(spool.price is not None for spool in spools)
    if least is None:
        return "price" if priced else "length"
    if least not in get_args(Least):
        raise InputError("What to make small", least, ", ".join(get_args(Least)))
    if least == "price" and not priced:
        without = next(spool for spool in spools if spool.price is None)
        raise InputError("Price of a spool", f"none for {without.length_m:g} m", "one for every spool")
    return least


def _named(
    plan: Sequence[Pattern],
    pieces: Sequence[Piece],
    piece_mm: Sequence[int],
    lengths: Sequence[int],
    spools: Sequence[Spool],
) -> tuple[CutSpool, ...]:
    """The plan with the pieces' own names and lengths, fullest spools first."""
    waiting: dict[int, list[Piece]] = defaultdict(list)
    for mm, piece in zip(piece_mm, pieces, strict=True):
        waiting[mm] += [Piece(length_m=piece.length_m, name=piece.name)] * piece.count
    cut_spools = []
    for kind, counts in sorted(plan, key=lambda use: (use[0], [-count for count in use[1]])):
        taken = [waiting[mm].pop(0) for mm, count in zip(lengths, counts, strict=True) for _ in range(count)]
        cut_spools.append(CutSpool(spool=spools[kind], pieces=tuple(taken)))
    return tuple(cut_spools)
