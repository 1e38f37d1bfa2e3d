"""The structure holds: imports go downward only, physics knows no widgets, panels no formulas, nothing reaches out."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# from the bottom up, as DEVELOPERS.md has it; a file imports from rows above its own
ROWS = (
    ("errors",),
    ("units", "tables", "csv_text", "limit", "network", "cutting", "sound", "blind", "cheapest", "mark"),
    ("conductor",),
    ("cable", "skin", "pair", "source", "load"),
    ("rating", "loudspeaker", "impedance_file"),
    ("circuit",),
    ("response", "line_level", "turn_on", "relay", "strip", "supply"),
    ("heat",),
    ("fuse", "tolerance"),
    ("runs", "choose", "multicore"),
    ("formula", "words", "short", "contrast"),
    ("sheet", "meter", "packing", "verdict", "workings_circuit"),
    ("cross_section", "buy", "known_wires", "finished", "coils", "workings_heat"),
    ("workings", "sample", "leads"),
    ("identify",),
    ("advise", "sample_words"),
    ("sample_log",),
    ("workings_choice",),
    ("workings_response", "workings_spread", "workings_melting", "workings_line", "workings_rating", "workings_times"),
    ("problem",),
    ("problems_wire",),
    ("problems_speaker", "problems_supply", "problems_bench"),
    ("problems",),
    ("progress",),
    ("fields",),
    ("vehicle",),
    ("plan_text", "stock"),
    ("plan_file", "plan_network"),
    ("plan_supply", "plan_fuse"),
    ("plan",),
    ("plan_sizes",),
    ("plan_choose", "plan_cable", "plan_pulls"),
)
PLACE = {name: row for row, names in enumerate(ROWS) for name in names}
WITHIN_A_ROW = {("pair", "skin"), ("cable", "errors")}
MODULES = sorted((ROOT / "wirecalc").glob("[!_]*.py"))


def imported(path: Path) -> set[str]:
    """Top names of packages, and `wirecalc.x` for our own."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "wirecalc":
                found |= {f"wirecalc.{alias.name}" for alias in node.names}
            else:
                found.add(node.module)
    return {name if name.startswith(("wirecalc.", "dashboards")) else name.partition(".")[0] for name in found}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_imports_go_downward(path: Path) -> None:
    assert path.stem in PLACE, "give it a row"
    for name in imported(path):
        if name.startswith("wirecalc."):
            other = name.removeprefix("wirecalc.")
            assert PLACE[other] < PLACE[path.stem] or (path.stem, other) in WITHIN_A_ROW, other


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_the_computation_knows_no_widget_and_one_door(path: Path) -> None:
    outside = imported(path)
    assert not outside & {"ipywidgets", "anywidget", "plotly", "voila", "IPython", "traitlets"}
    assert not any(name.startswith("dashboards") for name in outside)
    assert ("pint" in outside) == (path.stem == "units")


def test_nothing_that_is_served_names_another_machine() -> None:
    served = [*(ROOT / "dashboards").rglob("*.py"), *(ROOT / "dashboards").rglob("*.ipynb")]
    served += [path for path in (ROOT / "dashboards" / "server" / "share").rglob("*") if path.is_file()]
    for path in served:
        found = re.findall(r"(?:https?:)?//[\w.-]+\.\w+", path.read_text(encoding="utf-8"))
        assert not found, (path.name, found)


def test_developers_md_names_every_file() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for path in MODULES:
        assert f"`{path.name}`" in told or path.stem.startswith("workings_"), path.name
