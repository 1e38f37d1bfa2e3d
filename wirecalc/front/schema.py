"""What `--json` prints, as a JSON Schema (draft 2020-12); its version changes when a reader would have to change."""

from __future__ import annotations

from typing import Any

VERSION = 1
PLAN, RUN, FAULTS = (f"wirecalc/{what}/{VERSION}" for what in ("plan", "run", "faults"))

_TEXT: dict[str, Any] = {"type": "string"}
_TEXTS: dict[str, Any] = {"type": "array", "items": _TEXT}
_NUMBER: dict[str, Any] = {"type": ["number", "null"]}
_CELL: dict[str, Any] = {"type": ["number", "string", "boolean", "null"]}
_ROWS: dict[str, Any] = {"type": "array", "items": {"type": "object", "additionalProperties": _CELL}}
_WORDS: dict[str, Any] = {"type": "object", "additionalProperties": _TEXT}


def _all_of(**properties: Any) -> dict[str, Any]:
    """An object that has these and nothing else."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _rows(**columns: Any) -> dict[str, Any]:
    """A table: these columns in each row, and more."""
    row = {"type": "object", "properties": columns, "required": list(columns), "additionalProperties": _CELL}
    return {"type": "array", "items": row}


_ADVICE = _all_of(
    wire=_TEXT,
    pull={**_TEXT, "description": "What to pull: 2 × 8 AWG, 4 AWG."},
    least={"type": ["string", "null"], "description": "The least size that keeps every rule; null where it was given."},
    grade={"enum": ["fine", "borderline", "too thin", "too thick"]},
    first_reason={"type": ["string", "null"]},
    fuse_a={**_NUMBER, "description": "Rating [A]; null for none."},
    fuse_family={"type": ["string", "null"]},
    fuse_standard={"type": ["string", "null"]},
    breaking_a={**_NUMBER, "description": "What its family breaks [A]."},
    short_a={**_NUMBER, "description": "What a short may draw through it [A]."},
    cautions=_TEXTS,
)
_PLAN = _all_of(
    schema={"const": PLAN},
    version={**_TEXT, "description": "Of wirecalc."},
    meets={"type": "boolean", "description": "Whether every limit is met."},
    advice={"type": "array", "items": _ADVICE, "description": "What is signed, a wire each."},
    circuits={
        **_rows(wire=_TEXT, circuit=_TEXT, size=_TEXT, length_m=_NUMBER, meets={"type": "boolean"}, grade=_TEXT),
        "description": "Every measure of each wire; the end of a name is its unit.",
    },
    limits=_rows(wire=_TEXT, measure=_TEXT, value=_NUMBER, sense=_TEXT, bound=_NUMBER, unit=_TEXT, grade=_TEXT),
    levels=_ROWS,
    nodes=_ROWS,
    currents=_ROWS,
    charge=_TEXTS,
    problems=_TEXTS,
    warnings=_TEXTS,
    sizes={**_WORDS, "description": "Why this size, by wire."},
    least=_WORDS,
    fuses={**_WORDS, "description": "Why this fuse, by wire."},
)
_RUN = _all_of(
    schema={"const": RUN},
    version=_TEXT,
    words=_TEXT,
    size={"type": ["string", "null"], "description": "That was asked about."},
    length_m={"type": "number"},
    measures={"type": "object", "additionalProperties": _NUMBER, "description": "The end of a name is its unit."},
    choice=_all_of(words=_TEXT, pull=_TEXT, least=_TEXT, state=_TEXT, cautions=_TEXTS),
)
_FAULTS = _all_of(
    schema={"const": FAULTS},
    version=_TEXT,
    faults={
        "type": "array",
        "minItems": 1,
        "items": _all_of(field=_TEXT, given=_TEXT, allowed=_TEXT, hint=_TEXT, words=_TEXT),
    },
)


def _of_many(single: dict[str, Any]) -> dict[str, Any]:
    """As a line of many plans: with its file."""
    return {**single, "properties": {"file": _TEXT, **single["properties"]}}


SCHEMA: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "What wirecalc --json prints",
    "oneOf": [_of_many(_PLAN), _RUN, _of_many(_FAULTS)],
}
"""A plan, one run, or the faults of a plan; `file` is there where many plans are solved, a line each."""
