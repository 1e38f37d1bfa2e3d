"""docs/ is as the code is: its examples run, it builds without a warning, its links lead somewhere."""

from __future__ import annotations

import doctest
import html
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import nbformat
import pytest

import wirecalc
from tests.support.pages.notebooks import execute
from tests.support.paths import ROOT
from wirecalc.vehicle.fields import DEVICE_FIELDS, WIRE_FIELDS

DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.glob("*.md"))]
NOTEBOOKS = sorted(DOCS.glob("*.ipynb"))


@pytest.mark.parametrize("page", [ROOT / "README.md", DOCS / "library.md"], ids=lambda path: path.name)
def test_examples_run(page: Path) -> None:
    failed, tried = doctest.testfile(str(page), module_relative=False, encoding="utf-8")
    assert failed == 0
    assert tried >= 3


def test_sphinx_builds_them_and_they_fetch_nothing(tmp_path: Path) -> None:
    """All pages once, a warning is a fault: every name of the front door, every column of a plan, the answers kept."""
    built = tmp_path / "html"
    command = [sys.executable, "-m", "sphinx", "-W", "-q", "-d", str(tmp_path / "trees"), str(DOCS), str(built)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    pages = {path.stem: path.read_text("utf-8") for path in built.glob("*.html")}
    assert pages.keys() >= {path.stem for path in (*DOCS.glob("*.md"), *NOTEBOOKS)}
    shown = set(re.findall(r'id="wirecalc\.(?:front\.wires\.)?(\w+)"', pages["api"]))
    assert shown == set(wirecalc.__all__) - {"__version__"}
    for field in (*DEVICE_FIELDS, *WIRE_FIELDS):
        assert f"<p>{html.escape(field.column, quote=False)}</p>" in pages["plans"], field.column
    assert all('class="output ' in pages[path.stem] for path in NOTEBOOKS)
    fetched = re.compile(
        r"<(?:script|link|img|iframe)[^>]*(?:src|href)=\"((?:https?:)?//[^\"]*)|url\(\"?((?:https?:)?//[^)]*)"
    )
    for path in (*built.rglob("*.html"), *built.rglob("*.css")):
        assert fetched.search(path.read_text("utf-8")) is None, path


def answers(notebook: Any) -> list[str]:
    """What each cell of code says, as text: a kernel may send in two pieces what it prints."""
    return [
        "".join(output.get("text") or output["data"]["text/plain"] for output in cell.outputs)
        for cell in notebook.cells
        if cell.cell_type == "code"
    ]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_says_what_it_said(path: Path) -> None:
    """`python -m jupyter nbconvert --to notebook --execute --inplace docs/*.ipynb` writes it anew."""
    kept = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    assert all(answers(kept)[1:]), "its answers are kept"
    assert path.stat().st_size < 100_000
    kept_answers, anew = answers(kept), nbformat.reads(nbformat.writes(kept), as_version=4)
    execute(anew, DOCS)
    assert answers(anew) == kept_answers


def test_there_are_three_notebooks_and_a_short_readme() -> None:
    assert len(NOTEBOOKS) == 3
    readme = (ROOT / "README.md").read_text("utf-8")
    assert len(readme.splitlines()) <= 60
    pictures = {
        name: ROOT / "dashboards" / "pictures" / f"{name}.png"
        for name in (path.stem for path in (ROOT / "dashboards").glob("*.ipynb"))
    }
    assert all(f"(dashboards/pictures/{name}.png)" in readme for name in pictures), "a picture of each page"
    assert all(path.stat().st_size < 120_000 for path in pictures.values())


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text("utf-8")):
        assert link.startswith("https://") or (page.parent / link).exists(), link
