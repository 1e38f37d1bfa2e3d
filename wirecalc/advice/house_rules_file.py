"""House rules as a CSV file that a shop saves, edits in a spreadsheet and opens again."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc import csv_text
from wirecalc.advice.house_rule import NAMING, HouseRule, range_end
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults, InputError, check

MOST_CHARACTERS = 200_000  # of a file of rules: the table itself has under 20 000
_COLUMNS = (
    "rule",
    "applies",
    "case",
    "above",
    "up_to",
    "of",
    "value",
    "unit",
    "what",
    "reason",
    "source",
    "confidence",
)


def house_rules_csv(rules: HouseRules) -> bytes:
    """All rules as a CSV file.

    See Also
    --------
    read : The way back.
    """
    rows = [
        [cell if isinstance(cell := getattr(rule, column), str) else range_end(cell) for column in _COLUMNS]
        for rule in rules.rules
    ]
    return csv_text.csv_bytes([_COLUMNS, *rows])


def read_house_rules(text: str, name: str = "House rules") -> HouseRules:
    """House rules from a CSV file that a shop has saved.

    Parameters
    ----------
    text : str
        As `house_rules_csv` writes it: a line of column names, then a row for each rule. A rule without a row keeps
        its default; only `value` is read, the other columns say which rule it is.
    name : str
        What the file is called in messages.

    Returns
    -------
    HouseRules

    Raises
    ------
    FileFaults
        With all that is wrong, row by row as a spreadsheet counts them.

    See Also
    --------
    to_csv : The way out.
    """
    if len(text) > MOST_CHARACTERS:
        raise FileFaults([InputError(name, f"{len(text)} characters", f"at most {MOST_CHARACTERS}")])
    lines = csv_text.read_rows(text, name)
    head = [cell.strip().lower() for cell in next(lines, [])]
    missing = [column for column in (*NAMING, "value") if column not in head]
    if missing:
        raise FileFaults([InputError(name, ", ".join(head), f"columns {', '.join((*NAMING, 'value'))}", "Row 1.")])
    rules, faults = HouseRules.from_table(), []
    seen: dict[str, int] = {}
    for number, cells in enumerate(lines, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        row = dict(zip(head, [cell.strip() for cell in cells], strict=False))
        try:
            key = _key_of(row, rules, number)
            if key in seen:
                raise InputError(f"Row {number}", key, f"each rule once: row {seen[key]} has it")
            seen[key] = number
            rules = rules.replace(key, row.get("value", ""))
        except InputError as why:
            where = "" if why.field.startswith("Row ") else f"Row {number}, "
            faults.append(InputError(f"{where}{why.field}", why.given, why.allowed, why.hint))
    if faults:
        raise FileFaults(faults)
    return rules


def _key_of(row: Mapping[str, str], rules: HouseRules, number: int) -> str:
    """Which rule a row of a file is."""
    ends: dict[str, float | None] = {}
    for column in ("above", "up_to"):
        cell = row.get(column, "").replace(",", ".")
        try:
            end = float(cell) if cell else None
        except ValueError:
            raise InputError(f"Row {number}, {column}", cell, "a number, or nothing") from None
        ends[column] = end if end is None else float(check(f"Row {number}, {column}", end, "", low=0, high=1e6))
    words = {column: row.get(column, "") for column in ("rule", "applies", "case", "unit")}
    key = HouseRule(value="", above=ends["above"], up_to=ends["up_to"], **words).key
    if key not in rules.by_key:
        near = [rule.key for rule in rules.rules if rule.rule == words["rule"]]
        allowed = ", ".join(near) if near else ", ".join(dict.fromkeys(rule.rule for rule in rules.rules))
        raise InputError(f"Row {number}", key, allowed, "Only values can be changed; take the other columns as saved.")
    return key
