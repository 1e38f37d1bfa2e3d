"""Memory is no source: pages say that a published value was not checked, the data keep the honest mark."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from wirecalc import tables
from wirecalc.tables import FOLDER, shown_source

ROOT = FOLDER.parent
CODE = sorted(
    path for part in ("wirecalc", "dashboards") for path in (ROOT / part).rglob("*.py") if path.name != "tables.py"
)


def texts(path: Path) -> list[str]:
    """Strings that may be shown: docstrings are for readers of the code."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documents = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documents
    ]


@pytest.mark.parametrize("part", ["wirecalc", "dashboards"])
def test_no_text_of_the_code_gives_memory_as_a_source(part: str) -> None:
    files = [path for path in CODE if path.is_relative_to(ROOT / part)]
    assert len(files) > 50
    assert [(path.name, text) for path in files for text in texts(path) if "from memory" in text.casefold()] == []


def test_every_source_of_a_table_is_shown_without_memory_and_keeps_its_mark() -> None:
    unchecked = 0
    for path in sorted(FOLDER.glob("*.csv")):
        rows = tables.load(path.stem)
        if not {"source", "confidence"} <= set(rows.columns):
            continue
        for source, confidence in zip(rows["source"].astype(str), rows["confidence"].astype(str), strict=True):
            shown = shown_source(source, confidence)
            assert "memory" not in shown.casefold(), (path.name, source)
            if confidence.startswith("memory"):
                unchecked += 1
                assert "not checked" in shown, (path.name, source)
    assert unchecked > 20


def test_an_eighth_of_full_power_is_not_said_to_be_measured_of_music() -> None:
    """16 CFR 432.3(c) warms home amplifiers up before a test; it says nothing of music."""
    for path in CODE:
        for text in texts(path):
            assert "432.3" not in text or "precondition" in text or "warm" in text, (path.name, text)


def test_plain_blue_is_not_the_usual_turn_on_colour() -> None:
    rows = tables.load("lead_colours")
    (row,) = rows[rows.iloc[:, 0] == "remote turn-on"].to_dict("records")
    assert "white" in {str(value) for value in row.values()}
