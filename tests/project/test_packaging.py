"""The files that say what is installed agree with each other, and what is built holds the tables."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

import wirecalc
from tests.support.paths import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
LIBRARY = [Requirement(text) for text in PROJECT["dependencies"]]
PAGES, DOCS, TEST = (
    [Requirement(text) for text in PROJECT["optional-dependencies"][extra]] for extra in ("pages", "docs", "test")
)
RUN = LIBRARY + PAGES
LOCKS = ["requirements.lock", "requirements-test.lock"]
PYTHONS = ["3.11", "3.12", "3.13", "3.14", "3.15"]
DIRECT = [(need, lock) for needs, locks in ((RUN, LOCKS), (DOCS + TEST, LOCKS[1:])) for need in needs for lock in locks]


class Pin(NamedTuple):
    """One requirement of a lock file."""

    need: Requirement
    hashes: tuple[str, ...]


def pins(lock: str) -> list[Pin]:
    """Every requirement of a lock file, with its hashes."""
    text = (ROOT / lock).read_text("utf-8").replace("\\\n", " ")
    rows = [line.split(" --hash=") for line in text.splitlines()]
    return [Pin(Requirement(row[0].strip()), tuple(part.strip() for part in row[1:])) for row in rows]


def locked(lock: str, python: str = "3.11") -> dict[str, Version]:
    """Name -> version that a Python on Linux takes from a lock file."""
    there = {
        "platform_machine": "x86_64",
        "python_version": python,
        "python_full_version": f"{python}.0",
        "sys_platform": "linux",
        "os_name": "posix",
    }
    taken = [pin.need for pin in pins(lock) if pin.need.marker is None or pin.need.marker.evaluate(there)]
    names = [canonicalize_name(need.name) for need in taken]
    assert len(set(names)) == len(names), "one version a Python"
    return {name: Version(str(need.specifier).removeprefix("==")) for name, need in zip(names, taken, strict=True)}


@pytest.mark.parametrize(("need", "lock"), DIRECT, ids=str)
def test_each_direct_dependency_is_locked_at_a_version_it_allows(need: Requirement, lock: str) -> None:
    for python in PYTHONS:
        there = {"python_version": python, "sys_platform": "linux", "platform_machine": "x86_64"}
        if need.marker is None or need.marker.evaluate(there):
            assert locked(lock, python)[canonicalize_name(need.name)] in need.specifier


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_exact_versions_with_hashes_and_nothing_else(lock: str) -> None:
    assert len(pins(lock)) > len(RUN)
    for need, hashes in pins(lock):
        assert re.fullmatch(r"==[^*,]+", str(need.specifier)), need
        assert hashes, need
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", each) for each in hashes), need
    text = (ROOT / lock).read_text("utf-8").lower()
    assert [word for word in ("://", "index-url", "find-links", "file:", "#") if word in text] == []


def test_the_test_lock_holds_the_run_lock() -> None:
    run, test = ({(need.name, need.specifier, hashes) for need, hashes in pins(lock)} for lock in LOCKS)
    assert run < test
    for python in PYTHONS:
        run_here, test_here = (locked(lock, python).items() for lock in LOCKS)
        assert run_here < test_here


def test_conda_takes_the_same_versions() -> None:
    conda = yaml.safe_load((ROOT / "environment.yml").read_text("utf-8"))
    needs = {canonicalize_name(need.name): need.specifier for need in map(Requirement, conda["dependencies"])}
    python = needs.pop("python")
    within = [each for each in PYTHONS if python.contains(each)]
    assert within[0] == PYTHONS[0] == PROJECT["requires-python"].removeprefix(">=")
    assert set(needs) == {need.name for need in RUN}
    for each in within:
        exact = {name: f"=={locked(LOCKS[0], each)[name]}" for name in needs}
        assert {name: str(specifier) for name, specifier in needs.items()} == exact


owning = cache(packages_distributions)  # reads a file of each package


def imported(folder: str) -> set[str]:
    """The distributions that the Python files under a folder import; the project's own and Python's left out."""
    trees = [ast.parse(file.read_text("utf-8")) for file in (ROOT / folder).rglob("*.py")]
    nodes = [node for tree in trees for node in ast.walk(tree)]
    names = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in nodes if isinstance(node, ast.ImportFrom)}
    owners = owning()
    tops = {name.partition(".")[0] for name in names} - sys.stdlib_module_names - {"wirecalc", "dashboards", "tests"}
    return {canonicalize_name(owners.get(top, [top])[0]) for top in tops}


@pytest.mark.parametrize(
    ("folder", "needs"),
    [("wirecalc", LIBRARY), ("dashboards", RUN), ("tests", RUN + TEST)],
    ids=["wirecalc", "dashboards", "tests"],
)
def test_what_is_imported_is_asked_for(folder: str, needs: list[Requirement]) -> None:
    assert imported(folder)
    assert imported(folder) <= {canonicalize_name(need.name) for need in needs}


def build(what: str, source: Path, target: Path) -> Path:
    """Build a wheel or an sdist with what is installed here: no net, no other environment."""
    code = f"import sys, setuptools.build_meta as backend; print(backend.build_{what}(sys.argv[1]))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(target)], cwd=source, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return target / done.stdout.split()[-1]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What is installed from a wheel built from an sdist built from a copy of the project."""
    work = tmp_path_factory.mktemp("build")
    copy = work / "copy"
    junk = shutil.ignore_patterns("__pycache__", "*.egg-info", "build", "dist", "node_modules", ".*")
    shutil.copytree(ROOT, copy, ignore=junk)
    with tarfile.open(build("sdist", copy, work)) as sdist:
        sdist.extractall(work, filter="data")
    source = next(path for path in work.iterdir() if path.is_dir() and path != copy)
    with zipfile.ZipFile(build("wheel", source, work)) as wheel:
        wheel.extractall(work / "installed")
    return work / "installed"


def test_what_is_built_is_the_library_with_every_table(unpacked: Path) -> None:
    def inside(folder: Path, pattern: str) -> set[str]:
        return {path.relative_to(folder).as_posix() for path in folder.rglob(pattern)}

    about = next(path.name for path in unpacked.iterdir() if path.name.endswith(".dist-info"))
    assert {path.name for path in unpacked.iterdir()} == {"wirecalc", about}
    assert about == f"wirecalc-{wirecalc.__version__}.dist-info"
    assert inside(unpacked / "wirecalc", "*.py") == inside(ROOT / "wirecalc", "*.py")
    assert inside(unpacked / "wirecalc" / "data", "*.csv") == inside(ROOT / "data", "*.csv")
    assert (unpacked / "wirecalc" / "py.typed").is_file()
    needs = re.findall(r"^Requires-Dist: ([^;\n]+)$", (unpacked / about / "METADATA").read_text("utf-8"), re.MULTILINE)
    assert len(needs) == len(LIBRARY) == 5
    assert "wirecalc = wirecalc.__main__:main" in (unpacked / about / "entry_points.txt").read_text("utf-8")


def test_the_version_has_its_changes() -> None:
    changes = re.findall(r"^## ([0-9.]+)", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert changes[0] == wirecalc.__version__
    assert changes == sorted(changes, key=Version, reverse=True)


def modules_imported(file: Path) -> list[str]:
    """Modules that a file imports, from wherever."""
    nodes = list(ast.walk(ast.parse(file.read_text("utf-8"))))
    plain = [alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names]
    return plain + [str(node.module) for node in nodes if isinstance(node, ast.ImportFrom)]


def test_no_private_module_of_another_package_is_imported() -> None:
    files = [file for folder in ("wirecalc", "dashboards", "tests") for file in (ROOT / folder).rglob("*.py")]
    private = [
        (file.relative_to(ROOT).as_posix(), module)
        for file in files
        for module in modules_imported(file)
        if any(part.startswith("_") and not part.startswith("__") for part in module.split("."))
    ]
    assert private == []


def test_what_is_patched_is_capped() -> None:
    patching = [
        file for file in (ROOT / "dashboards" / "server").glob("*.py") if "import replace" in file.read_text("utf-8")
    ]
    owners = packages_distributions()
    capped = {
        canonicalize_name(need.name) for need in RUN if any(specifier.operator == "<" for specifier in need.specifier)
    }
    for file in patching:
        tops = {module.partition(".")[0] for module in modules_imported(file)}
        patched = {
            canonicalize_name(owners[top][0]) for top in tops & {"voila", "jupyter_server", "nbclient", "nbconvert"}
        }
        assert patched
        assert patched <= capped, file.name


def test_what_is_built_finds_its_tables(unpacked: Path, tmp_path: Path) -> None:
    code = "import sys; sys.path.insert(0, sys.argv[1]); from wirecalc import tables; "
    code += "print(tables.__file__, len(tables.load('metals')), sep='\\n')"
    done = subprocess.run(
        [sys.executable, "-I", "-c", code, str(unpacked)], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    file, rows = done.stdout.splitlines()
    assert Path(file).is_relative_to(unpacked)
    assert int(rows) == len((ROOT / "data" / "metals.csv").read_text("utf-8").splitlines()) - 1
