"""A plan and its name as bytes, exactly as typed: unfinished rows and faults too. For the page's address."""

from __future__ import annotations

import json
from typing import Any

from wirecalc.errors import InputError
from wirecalc.vehicle.file import MOST_ROWS
from wirecalc.vehicle.text import CARD_COLUMNS, MOST_COLUMNS, PlanSheet, PlanText, clean


def to_bytes(text: PlanText, name: str) -> bytes:
    """Name, devices, wires and, if any differ, house rules; of each list the headings, then the rows."""
    sheets = [sheet for sheet in (text.devices, text.wires, text.rules) if sheet is not None]
    lists = [[sheet.columns, *sheet.rows] for sheet in sheets]
    card = [{"card": text.card.rows}] if text.card is not None else []
    return json.dumps([name, *lists, *card], ensure_ascii=False, separators=(",", ":")).encode()


def from_bytes(content: bytes) -> tuple[PlanText, str]:
    """The plan and its name.

    Raises
    ------
    InputError
        If it is not what `to_bytes` writes.
    """
    try:
        name, devices, wires, *rules = json.loads(content)
        if not isinstance(name, str):
            raise ValueError
        card = rules.pop()["card"] if rules and isinstance(rules[-1], dict) else None
        if len(rules) > 1:
            raise ValueError
        own = _sheet(rules[0]) if rules else None
        return PlanText(devices=_sheet(devices), wires=_sheet(wires), rules=own, card=_card(card)), clean(name)
    except (ValueError, TypeError, KeyError, RecursionError):
        raise InputError("Address, this plan", "another kind of content", "a link that this page made") from None


def _card(rows: Any) -> PlanSheet | None:
    return None if rows is None else _sheet([list(CARD_COLUMNS), *rows])


def _sheet(table: Any) -> PlanSheet:
    """`ValueError` or `TypeError` if it is no table of text."""
    if not isinstance(table, list) or not all(isinstance(row, list) for row in table):
        raise TypeError
    columns, *rows = (tuple(map(_cell, row)) for row in table)
    if len(columns) > MOST_COLUMNS or len(rows) > MOST_ROWS or any(len(row) != len(columns) for row in rows):
        raise ValueError
    return PlanSheet(columns=columns, rows=tuple(rows))


def _cell(text: object) -> str:
    if not isinstance(text, str):
        raise TypeError
    return clean(text)
