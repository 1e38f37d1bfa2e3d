"""What heads every paper of a plan: its name, the customer, the vehicle, the shop and the date."""

from __future__ import annotations

import datetime
from dataclasses import replace

from wirecalc.errors import InputError
from wirecalc.units import LONGEST_TEXT
from wirecalc.vehicle.text import CARD_COLUMNS, PlanSheet, PlanText, clean_cell, same

LABELS = {"plan": "Plan name", "customer": "Customer", "vehicle": "Vehicle", "shop": "Shop", "date": "Date"}
"""What may stand on it, in its order."""


def read_line(key: str, text: str) -> str:
    """One line of it as typed.

    Parameters
    ----------
    key : str
        Of `LABELS`.
    text : str
        Empty for nothing.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If it is too long, or the date is none.
    """
    line = " ".join(clean_cell(text).split())
    if len(line) > LONGEST_TEXT:
        raise InputError(LABELS[key], line[:20] + "…", f"at most {LONGEST_TEXT} characters")
    if key == "date" and line:
        try:
            return datetime.date.fromisoformat(line).isoformat()
        except ValueError:
            raise InputError(LABELS[key], line, "a date such as 2026-05-31; left empty: the day of the paper") from None
    return line


def card_of(text: PlanText) -> dict[str, str]:
    """What is on a plan's card, by the keys of `LABELS` in their order; what cannot be used is left out."""
    card: dict[str, str] = {}
    if text.card is None or [same(column) for column in text.card.columns[:2]] != [
        same(column) for column in CARD_COLUMNS
    ]:
        return card
    typed = {same(row[0]): row[1] for row in text.card.rows}
    for key, label in LABELS.items():
        try:
            line = read_line(key, typed.get(same(label), ""))
        except InputError:
            continue
        if line:
            card[key] = line
    return card


def with_line(text: PlanText, key: str, line: str) -> PlanText:
    """A plan with another line on its card.

    Parameters
    ----------
    text : PlanText
    key : str
        Of `LABELS`.
    line : str
        As `read_line` gives it.

    Returns
    -------
    PlanText
    """
    lines = {**card_of(text), key: line}
    rows = tuple((label, lines[key]) for key, label in LABELS.items() if lines.get(key))
    return replace(text, card=PlanSheet(columns=CARD_COLUMNS, rows=rows) if rows else None)
