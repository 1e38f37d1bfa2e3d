"""Where a limit comes from."""

from __future__ import annotations

from wirecalc.limit import Limit
from wirecalc.runs.choose import LIMITS
from wirecalc.workings.formula import Given, Working, worked


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
    usual = next((row for row in LIMITS[kind] if row.measure == limit.measure), limit)
    name = f"limit: {limit.name}, {limit.sense}"
    if usual.bound == limit.bound:
        return Given(f"{name}; {usual.reason}", float(limit.bound) * scale, unit, usual.source, usual.confidence)
    return Given(name, float(limit.bound) * scale, unit)
