"""JupyterLab and Voilà as a person starts them in a checkout: none of our settings, none of the person's either."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.support.paths import ROOT
from tests.support.site import QUICK, free_port

ALSO = ("jupyter_lsp", "jupyter_server_terminals", "notebook_shim", "voila.server_extension")
"""Parts of the server that a notebook does not need and that take seconds to start."""
NEWS = "@jupyterlab/apputils-extension:announcements"
"""It asks whether it may look for news elsewhere."""


def checkout(folder: Path) -> Path:
    """A folder like a checkout whose notebooks may be saved."""
    (folder / "dashboards").mkdir(parents=True)
    for name in ("wirecalc", "data", "voila.json"):
        (folder / name).symlink_to(ROOT / name)
    for name in ("__init__.py", "panels", "server"):
        (folder / "dashboards" / name).symlink_to(ROOT / "dashboards" / name)
    for notebook in (ROOT / "dashboards").glob("*.ipynb"):
        shutil.copy(notebook, folder / "dashboards")
    return folder


@contextmanager
def _started(work: Path, *command: str) -> Iterator[str]:
    """A server of Jupyter's on a free port; its address."""
    own = {name: str(work / name.lower()) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")}
    alien = ("JUPYTER", "VOILA", "WIRECALC", "PYTHONPATH")
    environment = {name: text for name, text in os.environ.items() if not name.startswith(alien)} | own
    pages = Path(own["JUPYTER_CONFIG_DIR"]) / "labconfig" / "page_config.json"
    pages.parent.mkdir(parents=True, exist_ok=True)
    pages.write_text(json.dumps({"disabledExtensions": {NEWS: True}}))
    lean = {"ServerApp": {"jpserver_extensions": dict.fromkeys(ALSO, False)}}
    (pages.parents[1] / "jupyter_server_config.json").write_text(json.dumps(lean))
    port, log = free_port(), work / "server.log"
    line = [sys.executable, "-c", QUICK, *command, "--no-browser", f"--port={port}"]
    with log.open("w") as out:
        server = subprocess.Popen(line, cwd=work, env=environment, stdout=out, stderr=subprocess.STDOUT)
    address, until = f"http://127.0.0.1:{port}", time.monotonic() + 120
    try:
        while True:
            try:
                with urllib.request.urlopen(f"{address}/static/favicon.ico", timeout=5):
                    break
            except urllib.error.HTTPError:
                break
            except OSError:
                assert server.poll() is None, log.read_text()
                assert time.monotonic() < until, log.read_text()
                time.sleep(0.1)
        yield address
    finally:
        server.terminate()
        try:
            server.wait(30)
        except subprocess.TimeoutExpired:
            server.kill()


@contextmanager
def lab(work: Path) -> Iterator[str]:
    """JupyterLab, for a `checkout` in `work`."""
    flags = ["--LabApp.extension_manager=readonly", "--expose-app-in-browser"]
    flags += ["--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--IdentityProvider.token="]
    flags += ["--ServerApp.ip=127.0.0.1", "--allow-root", f"--ServerApp.root_dir={work}"]
    with _started(work, "jupyterlab", *flags) as address:
        yield address


@contextmanager
def plain_voila(work: Path, notebook: str) -> Iterator[str]:
    """`voila NOTEBOOK`, in a `checkout`."""
    with _started(work, "voila", notebook, "--Voila.ip=127.0.0.1") as address:
        yield address
