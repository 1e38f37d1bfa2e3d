"""The notebooks of the pages."""

from __future__ import annotations

import nbformat

from tests.support.paths import ROOT

DASHBOARDS = ROOT / "dashboards"
NOTEBOOKS = sorted(DASHBOARDS.glob("*.ipynb"))


def metadata() -> list[nbformat.NotebookNode]:
    return [nbformat.read(path, as_version=4).metadata for path in NOTEBOOKS]  # type: ignore[no-untyped-call]
