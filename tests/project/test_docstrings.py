"""What a public function takes and gives is said where it stands: shapes and units belong to a number."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.paths import ROOT

FILES = sorted((ROOT / "wirecalc").rglob("*.py"))
NOTHING = ("None", "NoReturn")
Function = ast.FunctionDef | ast.AsyncFunctionDef


def public(body: list[ast.stmt], owner: str = "") -> Iterator[tuple[str, Function]]:
    """Functions, and methods of classes, whose names start without an underscore."""
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public(node.body, f"{node.name}.")
        elif isinstance(node, Function) and not node.name.startswith("_"):
            yield f"{owner}{node.name}", node


def parameters(function: Function) -> list[str]:
    """Names as a docstring says them, `self` left out."""
    of = function.args
    names = [each.arg for each in (*of.posonlyargs, *of.args, *of.kwonlyargs)]
    names += [f"*{of.vararg.arg}"] if of.vararg else []
    names += [f"**{of.kwarg.arg}"] if of.kwarg else []
    return [name for name in names if name not in ("self", "cls")]


def section(docstring: str, title: str) -> str:
    """The lines under a title that is underlined; empty if there is no such section."""
    match = re.search(rf"^{title}\n-+\n(.*?)(?=^\S[^\n]*\n-{{3,}}$|\Z)", docstring, re.DOTALL | re.MULTILINE)
    return match[1] if match else ""


def refuses(function: Function) -> bool:
    """Whether it refuses a value by itself, not only by what it calls."""
    calls = [node.func for node in ast.walk(function) if isinstance(node, ast.Call)]
    names = [call.id for call in calls if isinstance(call, ast.Name)]
    raised = [ast.unparse(node.exc) for node in ast.walk(function) if isinstance(node, ast.Raise) and node.exc]
    return "check" in names or any(error.startswith(("InputError", "FileFaults")) for error in raised)


def faults(function: Function) -> list[str]:
    """What the docstring leaves out: Raises, and of a function with two parameters or more these and what it gives."""
    names, docstring = parameters(function), ast.get_docstring(function) or ""
    unsaid = ["Raises"] if refuses(function) and not section(docstring, "Raises") else []
    if len(names) < 2:
        return unsaid
    entries = [line for line in section(docstring, "Parameters").splitlines() if line[:1].strip()]
    described = {name.strip() for line in entries for name in line.partition(" : ")[0].split(",")}
    left_out = [name for name in names if name not in described]
    gives = function.returns is not None and ast.unparse(function.returns) not in NOTHING
    if gives and not section(docstring, "Returns") and not section(docstring, "Yields"):
        left_out.append("Returns")
    return left_out + unsaid


def test_what_is_left_out_is_found() -> None:
    text = '''
def bare(a, b: int) -> int:
    """Said."""
def half(a, *rest, b=1) -> int:
    """Said.

    Parameters
    ----------
    a, b : int
        Of what.

    Returns
    -------
    int
    """
def strict(a):
    """Said."""
    raise InputError("A", a, "b")
def nothing(a, b) -> None:
    """Said.

    Parameters
    ----------
    a : int
    b : int
    """
'''
    bare, half, strict, nothing = (function for _, function in public(ast.parse(text).body))
    assert faults(bare) == ["a", "b", "Returns"]
    assert faults(half) == ["*rest"]
    assert faults(strict) == ["Raises"]
    assert faults(nothing) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_parameter_and_what_is_returned_is_said(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert {name: faults(function) for name, function in public(tree.body) if faults(function)} == {}
