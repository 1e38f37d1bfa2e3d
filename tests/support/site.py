"""A Voilà server of the project's own pages, and what tests do with a page in a browser."""

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

from playwright.sync_api import Page, TimeoutError, expect

from tests.support.paths import ROOT
from tests.support.starting import load

QUICK = load().QUICK  # how start.py runs a module
CHROMIUM_FLAGS = [
    "--no-sandbox",  # the tests may run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--process-per-site",  # a page opens in the process of those before it, where scripts are compiled
]
SCREENS = {390: 844, 820: 1180, 1280: 900}  # width and height of a phone, a tablet, a desktop
CHART = ".js-plotly-plot .scatterlayer .trace"
expect.set_options(timeout=20_000)  # ms: two tests share the machine's two cores
READY = f"body:has({CHART}):has(.wc-entry input[type=range])"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def by_tab(page: Page, last: str = "") -> list[str]:
    """Names of what the Tab key reaches from here, in its order, to the page's end or to `last`."""
    reached: list[str] = []
    while len(reached) < 120 and (not last or last not in reached):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "(() => { const e = document.activeElement; if (!e || e === document.body) return '';"
            " return e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent })()"
        )
        if not name:
            break
        reached.append(name)
    return reached


def screens(page: Page) -> Iterator[tuple[int, int]]:
    """The page on a phone, a tablet and a desktop by turns; on none may it be scrolled sideways."""
    for width, height in SCREENS.items():
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function("width => document.documentElement.scrollWidth <= width", arg=width)
        yield width, height


@contextmanager
def serving(folder: Path, *flags: str, forked: bool = False, **variables: str) -> Iterator[str]:
    """Voilà with the project's own settings on a free port; its address. `variables` are put in its environment.

    Its kernels are `forked`, see `tests.support.pages.forking`, or started as a person's server does.
    """
    port = free_port()
    log = folder / f"voila-{port}.log" if folder != ROOT / "dashboards" else Path(os.devnull)
    forking = (
        "from tests.support.pages import forking; forking.put_in_place()" if forked and sys.platform == "linux" else ""
    )
    command = [sys.executable, "-c", f"{forking}{QUICK}", "voila", str(folder), "--no-browser", f"--port={port}"]
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
        server.wait(60)


def address(site: str, name: str) -> str:
    """Of a page by its name, with what may stand behind a question mark: "whole_vehicle?open=demo"."""
    page, mark, query = name.partition("?")
    return f"{site}/voila/render/{page}.ipynb{mark}{query}"


def go(page: Page, address: str, ready: str) -> None:
    """Open an address and wait until it is drawn; if that never comes, what the browser has to say of it."""
    events: list[str] = []
    page.on("console", lambda message: events.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: events.append(f"error: {error}"))
    page.on("requestfailed", lambda request: events.append(f"failed: {request.url}"))
    page.on("websocket", lambda websocket: events.append(f"socket: {websocket.url}"))
    page.goto(address, timeout=60_000)
    try:
        page.wait_for_selector(ready, state="attached", timeout=60_000)
    except TimeoutError:
        text = page.evaluate("document.body.innerText.slice(0, 400)")
        socket = page.evaluate("window.jupyterapp?.widgetManager?.kernel?.connectionStatus")
        raise AssertionError("\n".join(["not drawn", text, f"kernel {socket}", *events])) from None
