"""The notebooks of the pages."""

from __future__ import annotations

import os
from pathlib import Path
from tempfile import TemporaryDirectory

import nbclient
import nbformat
from traitlets.config import Config

from tests.support.paths import ROOT

DASHBOARDS = ROOT / "dashboards"
NOTEBOOKS = sorted(DASHBOARDS.glob("*.ipynb"))


def metadata() -> list[nbformat.NotebookNode]:
    return [nbformat.read(path, as_version=4).metadata for path in NOTEBOOKS]  # type: ignore[no-untyped-call]


def execute(notebook: nbformat.NotebookNode, folder: Path) -> None:
    """Run its cells in a kernel of its own that starts in `folder`.

    Not over ports: one that is free when it is chosen may be taken when the kernel asks for it, which then hangs.
    """
    with TemporaryDirectory() as own:  # a short path: names of sockets are
        sockets = {"transport": "ipc", "connection_file": f"{own}/kernel.json"} if os.name != "nt" else {}
        client = nbclient.NotebookClient(
            notebook, timeout=120, kernel_name="python3", config=Config(KernelManager=sockets)
        )
        client.resources = {"metadata": {"path": str(folder)}}
        client.execute()
