"""Files hold one idea and functions can be seen at once: none is longer than a reader keeps in mind."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.support.paths import ROOT

FILES = [
    ROOT / "audit.py",
    ROOT / "docs" / "conf.py",
    ROOT / "start.py",
    *sorted(path for top in ("wirecalc", "dashboards", "tests") for path in (ROOT / top).rglob("*.py")),
]
MOST_LINES = 500
MOST_IN_THE_MAP = 150
MOST_IN_A_FUNCTION = 60  # without its docstring
Function = ast.FunctionDef | ast.AsyncFunctionDef


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def lines_of(function: Function) -> int:
    """From `def` to the last line, without the docstring."""
    assert function.end_lineno is not None
    lines = function.end_lineno - function.lineno + 1
    if ast.get_docstring(function) is not None:
        docstring = function.body[0]
        assert docstring.end_lineno is not None
        lines -= docstring.end_lineno - docstring.lineno + 1
    return lines


def test_the_measure_of_a_function() -> None:
    text = 'def one(\n    a,\n):\n    """Said.\n\n    More.\n    """\n    b = a\n    return b\n'
    function = ast.parse(text).body[0]
    assert isinstance(function, ast.FunctionDef)
    assert lines_of(function) == 5


@pytest.mark.parametrize("path", FILES, ids=named)
def test_no_file_and_no_function_is_too_long(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    functions = [node for node in ast.walk(ast.parse(text)) if isinstance(node, Function)]
    too_long = {function.name: lines_of(function) for function in functions if lines_of(function) > MOST_IN_A_FUNCTION}
    assert too_long == {}


SAY_NOTHING = {"one", "found", "said"}


def bound(text: str) -> set[str]:
    """Names that a file binds: variables, parameters, names of `except` and `match`; no functions, no imports."""
    names: set[str | None] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            names.add(node.id)
        elif isinstance(node, ast.arg):
            names.add(node.arg)
        elif isinstance(node, (ast.ExceptHandler, ast.MatchAs, ast.MatchStar)):
            names.add(node.name)
        elif isinstance(node, ast.MatchMapping):
            names.add(node.rest)
    return {name for name in names if name}


def test_a_local_name_says_what_it_holds() -> None:
    """A loss, a circuit, a message; these three say nothing of it, and stood for all of them."""
    assert bound("def a(b, *c, d=0):\n    return [e for e in (f := b)]") == {"b", "c", "d", "e", "f"}
    assert bound("match a:\n    case {'b': [c, *d], **e}:\n        pass") == {"c", "d", "e"}
    assert bound("try:\n    a()\nexcept ValueError as b:\n    c = lambda d: d") == {"b", "c", "d"}
    vague = {named(path): names for path in FILES if (names := bound(path.read_text("utf-8")) & SAY_NOTHING)}
    assert vague == {}


IN_EACH_OF = {"plan_rows": "wirecalc/jobs/", "rules": "wirecalc/workings/kinds/"}
"""What every module of a folder has, by the same name: the rows of a job's plan; the formulas of a kind of circuit."""


def test_a_public_name_means_one_thing() -> None:
    """A class, and a function of wirecalc: where two files name theirs alike a reader of one thinks of the other."""
    files: dict[str, list[str]] = {}
    for path in FILES:
        room = path.relative_to(ROOT).parts[0]
        kinds = {"wirecalc": (ast.ClassDef, ast.FunctionDef), "dashboards": (ast.ClassDef,)}.get(room, ())
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, kinds) and not node.name.startswith("_"):  # type: ignore[attr-defined]
                files.setdefault(node.name, []).append(named(path))
    twice = {name: where for name, where in files.items() if len(where) > 1}
    for name, folder in IN_EACH_OF.items():
        assert all(where.startswith(folder) for where in twice.pop(name))
    assert twice == {}


def test_the_map_is_short_and_names_what_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_IN_THE_MAP
    paths = re.findall(r"`([\w./-]+\.(?:py|csv|css|js|md|toml))`", text)
    assert len(paths) > 20
    bases = [ROOT, ROOT / "wirecalc", ROOT / "dashboards", ROOT / "dashboards" / "panels"]
    assert [path for path in paths if "/" in path and not any((base / path).is_file() for base in bases)] == []
