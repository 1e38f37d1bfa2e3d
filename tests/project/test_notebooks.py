"""Every notebook is thin, is kept without outputs, and runs."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from tests.support.pages.notebooks import DASHBOARDS, NOTEBOOKS, execute, metadata


def test_there_are_pages() -> None:
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PYTHONPATH", raising=False)  # as a kernel of JupyterLab, which starts beside the notebook
    notebook = nbformat.read(path, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert not any(cell.outputs or cell.execution_count for cell in code), "strip the outputs"
    assert sum(len(cell.source.splitlines()) for cell in code) <= 5
    assert notebook.metadata.title
    assert notebook.metadata.place == sum(other.place <= notebook.metadata.place for other in metadata())
    execute(notebook, DASHBOARDS)
    shown = [output for cell in code for output in cell.outputs]
    assert any("application/vnd.jupyter.widget-view+json" in output.get("data", {}) for output in shown)
    assert not [output for output in shown if output.output_type in ("error", "stream")]
