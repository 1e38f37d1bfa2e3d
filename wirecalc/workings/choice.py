"""Where a limit comes from, and by how much a value is beyond it."""

from __future__ import annotations

from wirecalc import runs
from wirecalc.limit import Limit
from wirecalc.runs.choose import LIMITS
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.formula import Given, Rule, Working, worked
from wirecalc.workings.measures import formulas


def bound(limit: Limit, kind: str) -> Working:
    """The bound of a limit that is a number; that of the table, or entered.

    Parameters
    ----------
    limit : wirecalc.limit.Limit
    kind : str
        Key of `wirecalc.runs.choose.LIMITS`.

    Returns
    -------
    Working
        In the limit's unit; a drop over supply in per cent.
    """
    return worked(f"bound {limit.measure}", {"B": given_bound(limit, kind)}, "B")


def given_bound(limit: Limit, kind: str) -> Given:
    """The bound as an input of a formula.

    Parameters
    ----------
    limit : Limit
        With the bound that holds.
    kind : str
        A key of `LIMITS`: whose usual bound it is held against.

    Returns
    -------
    Given
        In the limit's unit, a fraction in percent; with its source where it is the usual bound.
    """
    scale, unit = (100.0, "%") if limit.measure == "drop_fraction" else (1.0, limit.unit)
    usual = next((one for one in LIMITS[kind] if one.measure == limit.measure), limit)
    name = f"limit: {limit.name}, {limit.sense}"
    if usual.bound == limit.bound:
        return Given(f"{name}; {usual.reason}", float(limit.bound) * scale, unit, usual.source, usual.confidence)
    return Given(name, float(limit.bound) * scale, unit)


def beyond(
    limit: Limit,
    run: runs.Run,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place,
    *,
    feet: bool = False,
) -> Working:
    """By how much a value is beyond its bound.

    Parameters
    ----------
    limit : wirecalc.limit.Limit
    run, conductor, laid, place, feet
        See `wirecalc.workings.measures.working`.

    Returns
    -------
    Working
        Below 0 by what is left. In the limit's unit; a drop over supply in per cent.
    """
    told = formulas(limit.measure, run, conductor, laid, place, feet=feet)
    unit = "%" if limit.measure == "drop_fraction" else limit.unit
    value = told.symbols["drop_percent" if limit.measure == "drop_fraction" else limit.measure]
    book, most = dict(told.book), "B"
    if isinstance(limit.bound, str):
        most = told.symbols[limit.bound]
    else:
        book["B"] = given_bound(limit, run.kind)
    formula, side = (f"{value}-{most}", "over") if limit.sense == "at most" else (f"{most}-{value}", "short")
    if value == "u%":
        formula = f"100*u-{most}"
    book["Δ"] = Rule(f"{limit.name[0].upper()}{limit.name[1:]}: {side} by", formula, unit, "By definition")
    return worked(f"over {limit.measure}", book, "Δ")
