"""docs/symbols.md is the one table of formula symbols: all that formulas are written with, and what each stands for."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from tests.support.paths import ROOT

TABLE = ROOT / "docs" / "symbols.md"
HOLE = "…"
"""In place of what is only known when the formula is written: a number, a metal's name."""
ENTRIES = ("Given", "Rule", "field_of", "row_of")


def table() -> dict[str, list[str]]:
    """Symbol -> what it may stand for."""
    rows = re.findall(r"^\| `(\S+)` \| (.+) \|$", TABLE.read_text("utf-8"), re.MULTILINE)
    assert len(rows) == len(dict(rows)), "each symbol once"
    return {symbol.replace("¦", "|"): meanings.split("; ") for symbol, meanings in rows}


def text(node: ast.expr) -> str:
    """A text as it stands in the code; empty where it is none."""
    match node:
        case ast.Constant(value=str() as words):
            return words
        case ast.JoinedStr(values=parts):
            return re.sub(f"{HOLE}+", HOLE, "".join(text(part) or HOLE for part in parts))
    return ""


def title(node: ast.expr) -> str | None:
    """The words of an entry of a book; None where this is no entry."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ENTRIES and node.args:
        return text(node.args[0]) or HOLE
    return None


def pairs(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """Every symbol that is written in a module, with its words."""
    for node in ast.walk(tree):
        match node:
            case ast.Dict(keys=keys, values=values):
                yield from (
                    (text(key), words)
                    for key, value in zip(keys, values, strict=True)
                    if key is not None and (words := title(value)) is not None
                )
            case ast.Assign(targets=[ast.Subscript(slice=key)], value=value) if (words := title(value)) is not None:
                yield text(key), words
            case ast.Call(func=ast.Attribute(attr="put"), args=[symbol, given, *_]):
                yield text(symbol), title(given) or HOLE
            case ast.Call(func=ast.Attribute(attr="work" | "say"), args=[symbol, words, *_]):
                yield text(symbol), text(words) or HOLE


def written() -> dict[str, set[str]]:
    """Symbol -> words, as the workings have them."""
    used: dict[str, set[str]] = {}
    for path in (ROOT / "wirecalc" / "workings").rglob("*.py"):
        for symbol, words in pairs(ast.parse(path.read_text("utf-8"))):
            if symbol and not symbol.startswith(HOLE):
                used.setdefault(symbol, set()).add(words)
    return used


def means(words: str, meaning: str) -> bool:
    return words.casefold().startswith(meaning.casefold())


def test_every_symbol_is_in_the_table_with_what_it_stands_for() -> None:
    known = table()
    for symbol, titles in written().items():
        assert symbol in known, f"{symbol}, {titles}: give it a row in {TABLE.name}"
        for words in titles:
            assert words.startswith(HOLE) or any(means(words, meaning) for meaning in known[symbol]), (symbol, words)


def test_the_table_has_nothing_else() -> None:
    used = written()
    assert len(used) > 200
    for symbol, meanings in table().items():
        assert symbol in used, symbol
        open_ended = any(words.startswith(HOLE) for words in used[symbol])
        assert open_ended or all(any(means(words, meaning) for words in used[symbol]) for meaning in meanings), symbol
