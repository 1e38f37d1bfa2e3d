"""`start.py --edit`: who changes the code sees it at the next load of a page."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.support.paths import ROOT
from tests.support.site import free_port
from tests.support.starting import FILE

pytestmark = pytest.mark.browser

WORDS = "Every page chooses and judges by these rules."


def test_the_first_reload_shows_what_was_changed(browser: Browser, tmp_path: Path) -> None:
    """In a copy of the pages, with the environment that these tests run in."""
    shutil.copytree(ROOT / "dashboards", tmp_path / "dashboards", ignore=shutil.ignore_patterns("__pycache__", "*.png"))
    for name in ("wirecalc", "data"):
        (tmp_path / name).symlink_to(ROOT / name)
    port = free_port()
    code = (
        "import importlib.util, pathlib, signal, sys\n"
        "signal.signal(signal.SIGTERM, signal.default_int_handler)\n"
        f"spec = importlib.util.spec_from_file_location('start', {str(FILE)!r})\n"
        "start = importlib.util.module_from_spec(spec)\n"
        "spec.loader.exec_module(start)\n"
        f"here = start.HERE = start.ENV = pathlib.Path({str(tmp_path)!r})\n"
        f"start.PYTHON = pathlib.Path({sys.executable!r})\n"
        "start.prepare = lambda *locks, repair: None\n"
        f"start.main(['--edit', '--no-browser', '--port', '{port}'])\n"
    )
    started = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=tmp_path)
    try:
        assert started.stdout is not None
        assert any(line.startswith("Ready: ") for line in started.stdout)
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{port}/voila/render/house_rules.ipynb")
        panel = page.locator(".wc-page")
        expect(panel).to_contain_text(WORDS, timeout=60_000)
        source = tmp_path / "dashboards" / "panels" / "house_rules" / "page.py"
        text = source.read_text("utf-8")
        assert text.count(WORDS) == 1
        source.write_text(text.replace(WORDS, f"Changed a moment ago. {WORDS}"), "utf-8")
        page.reload()
        expect(panel).to_contain_text("Changed a moment ago.", timeout=60_000)
        page.close()
    finally:
        started.terminate()
        started.communicate(timeout=30)
