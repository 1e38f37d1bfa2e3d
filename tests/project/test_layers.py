"""The structure holds: imports go downward only, physics knows no widgets, panels no formulas, nothing reaches out."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import sysconfig
from collections import Counter
from pathlib import Path

import pytest

from tests.support import panel_rules
from tests.support.paths import ROOT

MODULES = sorted(path for path in (ROOT / "wirecalc").rglob("*.py") if not path.stem.startswith("_"))
PANELS = sorted((ROOT / "dashboards" / "panels").rglob("*.py"))
FOLDERS = ("wirecalc", "dashboards", "tests")
LINT_IMPORTS = Path(sysconfig.get_path("scripts")) / "lint-imports"
MOST_MODULES = 22  # more in one folder and nobody sees what belongs together


def imported(path: Path) -> set[str]:
    """Top names of packages, and `wirecalc.x` for our own."""
    modules = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            modules |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "wirecalc":
                modules |= {f"wirecalc.{alias.name}" for alias in node.names}
            else:
                modules.add(node.module)
    return {name if name.startswith(("wirecalc.", "dashboards")) else name.partition(".")[0] for name in modules}


def test_folders_import_only_downward_and_in_no_circle() -> None:
    """The contracts stand in pyproject.toml."""
    done = subprocess.run([LINT_IMPORTS, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def of_tests(text: str) -> set[str]:
    """Modules of tests among what a module imports."""
    named = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            named |= {f"{node.module or ''}.{alias.name}" for alias in node.names}
    return {name for name in named if any(part.startswith("test_") for part in name.split("."))}


def test_no_test_imports_from_a_module_of_tests() -> None:
    """What tests share stands in tests/support: else one cannot be changed or moved without the other."""
    assert of_tests("import tests.project.test_a") == {"tests.project.test_a"}
    assert of_tests("from tests.project import test_a") == {"tests.project.test_a"}
    assert of_tests("from tests.project.test_a import b") == {"tests.project.test_a.b"}
    assert of_tests("from tests.support.paths import ROOT") == set()
    offenders = {
        path.relative_to(ROOT).as_posix(): names
        for path in sorted((ROOT / "tests").rglob("*.py"))
        if (names := of_tests(path.read_text(encoding="utf-8")))
    }
    assert offenders == {}


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


@pytest.mark.parametrize("path", PANELS, ids=lambda path: f"{path.parent.stem}/{path.stem}")
def test_panels_hold_no_physics(path: Path) -> None:
    assert panel_rules.broken(path.read_text(encoding="utf-8"), path.name) == []


@pytest.mark.parametrize(
    "line",
    [
        "bare = load_w * 10 ** (loss / 10)",
        "level = -20 * np.log10(wired)",
        "drop_v = run.current_a * loop_ohm",
        "watts = out['load_v'] / found['load_ohm']",
        "used = (hot_c - air_c) / (limit_c - air_c)",
        "share = float(here.load_w) / float(bare.load_w)",
        "feet = metres / 0.3048",
        "area = math.pi / 4 * diameter",
        "loaded = 1.7241e-8 * length",
        "feed = LOADING * rating",
        "from math import sqrt",
        "from numpy import log",
        "mean = np.mean(values)",
    ],
)
def test_physics_in_a_panel_is_seen(line: str) -> None:
    head = "import math\nimport numpy as np\nfrom wirecalc.wire.fuse import LOADING\n"
    assert panel_rules.broken(head, "some.py") == []
    assert panel_rules.broken(head + line, "some.py") != []


@pytest.mark.parametrize(
    "line",
    [
        "x = np.linspace(0.0, 1.12 * high, 50)",
        "shown = 100 * share",
        "ohms = 1e3 * loop_ohm",
        "feet = length_m / FOOT_M",
        "text = '−' * below + figure",
        "place = HERE / 'share' / 'page.js'",
    ],
)
def test_drawing_and_units_are_no_physics(line: str) -> None:
    head = "import numpy as np\nfrom wirecalc.wire.cable import FOOT_M\n"
    assert panel_rules.broken(head + line, "some.py") == []


def test_no_exception_of_the_rule_is_stale() -> None:
    """What is drawn in one way only has to be drawn so still."""
    used = {(path.name, attribute) for path in PANELS for attribute in panel_rules.functions(path.read_text("utf-8"))}
    assert used >= panel_rules.DRAWING
    assert {attribute for _, attribute in used} >= panel_rules.SHAPING


def test_nothing_that_is_served_names_another_machine() -> None:
    kinds = (".py", ".ipynb", ".js", ".css")
    served = [path for path in (ROOT / "dashboards").rglob("*") if path.suffix in kinds]
    served += [path for path in (ROOT / "dashboards" / "server" / "share").rglob("*") if path.is_file()]
    for path in served:
        addresses = re.findall(r"(?:https?:)?//[\w.-]+\.\w+", path.read_text(encoding="utf-8"))
        assert not addresses, (path.name, addresses)


def test_what_takes_long_to_load_is_not_loaded_by_a_page_that_opens() -> None:
    code = (
        "import sys; from dashboards.panels.one_run.page import OneRunPanel; OneRunPanel().view; "
        "assert 'scipy.special' not in sys.modules; from dashboards.panels.bench.page import BenchPanel; "
        "BenchPanel().view; print(sorted({'pandas', 'pint', 'scipy.optimize', 'scipy.stats', 'openpyxl'} "
        "& set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
