"""docs/ is as the code is: its examples run, what is made of the code is up to date, its links lead somewhere."""

from __future__ import annotations

import doctest
import importlib.util
import re
from pathlib import Path
from types import ModuleType
from typing import Any

import nbformat
import pytest

from tests.support.paths import ROOT

DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.glob("*.md"))]
NOTEBOOKS = sorted(DOCS.glob("*.ipynb"))


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_make", DOCS / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("page", [ROOT / "README.md", DOCS / "library.md"], ids=lambda path: path.name)
def test_examples_run(page: Path) -> None:
    failed, tried = doctest.testfile(str(page), module_relative=False, encoding="utf-8")
    assert failed == 0
    assert tried >= 3


def test_what_is_made_of_the_code_is_up_to_date(make: ModuleType) -> None:
    assert (DOCS / "plans.md").read_text("utf-8") == make.plans(), "run python docs/make.py"
    assert (DOCS / "api.md").read_text("utf-8") == make.api(), "run python docs/make.py"


def answers(notebook: Any) -> list[list[str]]:
    """What each cell of code says, as text."""
    return [
        [output.get("text") or output["data"]["text/plain"] for output in cell.outputs]
        for cell in notebook.cells
        if cell.cell_type == "code"
    ]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_says_what_it_said(path: Path, make: ModuleType) -> None:
    kept = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    assert all(answers(kept)[1:]), "its answers are kept"
    assert path.stat().st_size < 100_000
    assert answers(make.executed(path)) == answers(kept)


def test_there_are_three_notebooks_and_a_short_readme() -> None:
    assert len(NOTEBOOKS) == 3
    assert len((ROOT / "README.md").read_text("utf-8").splitlines()) <= 60


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text("utf-8")):
        assert link.startswith("https://") or (page.parent / link).exists(), link
