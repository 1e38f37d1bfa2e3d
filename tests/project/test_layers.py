"""The structure holds: imports go downward only, physics knows no widgets, panels no formulas, nothing reaches out."""

from __future__ import annotations

import ast
import re
import subprocess
import sysconfig
from collections import Counter
from pathlib import Path

import pytest

from tests.support.paths import ROOT

MODULES = sorted(path for path in (ROOT / "wirecalc").rglob("*.py") if not path.stem.startswith("_"))
FOLDERS = ("wirecalc", "dashboards", "tests")
LINT_IMPORTS = Path(sysconfig.get_path("scripts")) / "lint-imports"
MOST_MODULES = 22  # more in one folder and nobody sees what belongs together


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


def test_folders_import_only_downward_and_in_no_circle() -> None:
    """The contracts stand in pyproject.toml."""
    done = subprocess.run([LINT_IMPORTS, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_folder_holds_too_many_modules() -> None:
    for folder in FOLDERS:
        counts = Counter(path.parent for path in (ROOT / folder).rglob("*.py") if path.stem != "__init__")
        assert counts
        assert {str(place): count for place, count in counts.items() if count > MOST_MODULES} == {}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_the_computation_knows_no_widget_and_one_door(path: Path) -> None:
    outside = imported(path)
    assert not outside & {"ipywidgets", "anywidget", "plotly", "voila", "IPython", "traitlets"}
    assert not any(name.startswith("dashboards") for name in outside)
    assert "pint" not in outside or path.parent.name == "units"


def test_nothing_that_is_served_names_another_machine() -> None:
    kinds = (".py", ".ipynb", ".js", ".css")
    served = [path for path in (ROOT / "dashboards").rglob("*") if path.suffix in kinds]
    served += [path for path in (ROOT / "dashboards" / "server" / "share").rglob("*") if path.is_file()]
    for path in served:
        found = re.findall(r"(?:https?:)?//[\w.-]+\.\w+", path.read_text(encoding="utf-8"))
        assert not found, (path.name, found)
