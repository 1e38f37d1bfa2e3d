"""A fault in the settings ends the start, in whatever way the server is started: asked from outside, nobody answers."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

from tests import DEEP
from tests.support.paths import ROOT
from tests.support.site import QUICK, free_port
from tests.support.starting import load

SERVER = Path("dashboards") / "server"


def lose_a_place(folder: Path) -> None:
    path = folder / "dashboards" / "bench.ipynb"
    book = nbformat.read(path, 4)
    del book.metadata["place"]
    nbformat.write(book, path)


def break_a_package(folder: Path) -> None:
    (folder / "plotly.py").write_text("raise RuntimeError('half an update')\n")


def append(name: str, text: str) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        with (folder / SERVER / name).open("a") as file:
            file.write(text)

    return change


def replaced(name: str, old: str, new: str) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        path = folder / SERVER / name
        text = path.read_text()
        assert text.count(old) == 1
        path.write_text(text.replace(old, new))

    return change


BREAKS: dict[str, tuple[Callable[[Path], None], str]] = {
    "a notebook without its place": (lose_a_place, "bench.ipynb has no place"),
    "a broken package": (break_a_package, "half an update"),
    "no Python": (append("settings.py", "\ndef half(:\n"), "SyntaxError"),
    "half an update": (lambda folder: (folder / SERVER / "kernels.py").unlink(), "kernels"),
    "a value that is none": (
        replaced("settings.py", "cull_idle_timeout = 120", "cull_idle_timeout = 'soon'"),
        "cull_idle_timeout",
    ),
    "another library's insides": (replaced("pages.py", '"send_updates"', '"send_news"'), "send_news is gone"),
    "a setting that another one undoes": (
        replaced(
            "settings.py", "c.VoilaConfiguration.file_allowlist = []", "c.VoilaConfiguration.file_allowlist = ['.*']"
        ),
        "files of the folder would be served",
    ),
}


def start_flags(port: int) -> list[str]:
    """As start.py starts it."""
    return load().server_arguments(port)  # type: ignore[no-any-return]


def plain_flags(port: int) -> list[str]:
    """As one who does without start.py does, and wants it on the network."""
    return ["dashboards", "--no-browser", f"--port={port}", "--Voila.ip=0.0.0.0", f"--Voila.config_file_paths={SERVER}"]


EARLY_AND_LATE = ("a notebook without its place", "a value that is none", "a setting that another one undoes")
TRIED = [(fault, start_flags) for fault in EARLY_AND_LATE]
TRIED += [(fault, plain_flags) for fault in BREAKS if DEEP or fault not in EARLY_AND_LATE]


@pytest.mark.parametrize(("fault", "way"), TRIED, ids=[f"{fault}, {way.__name__}" for fault, way in TRIED])
def test_a_fault_in_the_settings_ends_the_start(tmp_path: Path, fault: str, way: Callable[[int], list[str]]) -> None:
    change, words = BREAKS[fault]
    shutil.copytree(ROOT / "dashboards", tmp_path / "dashboards", ignore=shutil.ignore_patterns("__pycache__", "*.png"))
    (tmp_path / "wirecalc").symlink_to(ROOT / "wirecalc")
    change(tmp_path)
    port = free_port()
    environment = os.environ | {"WIRECALC_TOKEN": "open-sesame-open-sesame", "PYTHONPATH": str(tmp_path)}
    server = subprocess.Popen(
        [sys.executable, "-c", QUICK, "voila", *way(port)],
        cwd=tmp_path,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        until = time.monotonic() + 60
        while server.poll() is None:
            with socket.socket() as probe:
                assert probe.connect_ex(("127.0.0.1", port)) != 0, "it serves"
            assert time.monotonic() < until
            time.sleep(0.02)
        output = server.communicate()[0]
    finally:
        server.kill()
    assert server.returncode == 1, output
    assert words in output


def test_what_is_not_broken_starts(tmp_path: Path) -> None:
    """The copy in which the faults are made is a whole one."""
    change = BREAKS["a broken package"][0]
    shutil.copytree(ROOT / "dashboards", tmp_path / "dashboards", ignore=shutil.ignore_patterns("__pycache__", "*.png"))
    (tmp_path / "wirecalc").symlink_to(ROOT / "wirecalc")
    change(tmp_path)
    (tmp_path / "plotly.py").unlink()
    port = free_port()
    flags = [*start_flags(port), "--VoilaConfiguration.preheat_kernel=False"]
    server = subprocess.Popen([sys.executable, "-c", QUICK, "voila", *flags], cwd=tmp_path, stderr=subprocess.DEVNULL)
    try:
        until = time.monotonic() + 60
        while True:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    return
            assert server.poll() is None
            assert time.monotonic() < until
            time.sleep(0.05)
    finally:
        server.terminate()
        server.wait(20)
