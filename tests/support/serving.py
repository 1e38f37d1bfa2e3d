"""Voilà with the project's own settings, started for a test."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def serving(folder: Path, *flags: str, **variables: str) -> Iterator[str]:
    """Voilà with the project's own settings on a free port; its address. `variables` are put in its environment."""
    port = free_port()
    log = folder / f"voila-{port}.log" if folder != ROOT / "dashboards" else Path(os.devnull)
    command = [sys.executable, "-m", "voila", str(folder), "--no-browser", f"--port={port}"]
    command += ["--Voila.port_retries=0", f"--Voila.config_file_paths={ROOT / 'dashboards' / 'server'}", *flags]
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=ROOT, stdout=out, stderr=subprocess.STDOUT, env=os.environ | variables)
    try:
        until = time.monotonic() + 60
        while True:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=2):
                    break
            except OSError:
                assert server.poll() is None, f"Voilà ended with {server.returncode}"
                assert time.monotonic() < until, "Voilà did not answer within a minute"
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(20)
