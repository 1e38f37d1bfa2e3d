"""A plan and its name as bytes, exactly as typed: unfinished rows and faults too. For the page's address."""

from __future__ import annotations

import json
from typing import Any

from wirecalc.errors import InputError
from wirecalc.vehicle.file import MOST_ROWS
from wirecalc.vehicle.text import CARD_COLUMNS, MORE, MOST_COLUMNS, PlanSheet, PlanText, clean_cell


def to_bytes(text: PlanText, name: str) -> bytes:
    """Name, devices, wires and, if any differ, house rules; of each list the headings, then the rows. Last what else
    there is, by its field."""
    sheets = [sheet for sheet in (text.devices, text.wires, text.rules) if sheet is not None]
    lists = [[sheet.columns, *sheet.rows] for sheet in sheets]
    more = {key: [sheet.columns, *sheet.rows] for key, sheet in text.more.items() if key not in ("rules", "card")}
    last = ({"card": text.card.rows} if text.card is not None else {}) | more
    return json.dumps([name, *lists, *([last] if last else [])], ensure_ascii=False, separators=(",", ":")).encode()


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
        last = rules.pop() if rules and isinstance(rules[-1], dict) else {}
        if len(rules) > 1 or not last.keys() <= {*MORE, "card"}:
            raise ValueError
        own = _sheet(rules[0]) if rules else None
        more = {key: _sheet(last[key]) for key in MORE if key not in ("rules", "card") and key in last}
        text = PlanText(devices=_sheet(devices), wires=_sheet(wires), rules=own, card=_card(last.get("card")), **more)
        return text, clean_cell(name)
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
    return clean_cell(text)
