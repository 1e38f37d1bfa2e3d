"""A Voilà server and a real browser, each started once; a page that watches what leaves the machine."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page, TimeoutError, expect, sync_playwright

from tests.support.server import faulty as faulty
from tests.support.serving import ROOT as ROOT
from tests.support.serving import free_port as free_port
from tests.support.serving import serving as serving

CHROMIUM_FLAGS = [
    "--no-sandbox",  # the tests may run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SCREENS = {390: 844, 820: 1180, 1280: 900}  # width and height of a phone, a tablet, a desktop
CHART = ".js-plotly-plot .scatterlayer .trace"
expect.set_options(timeout=20_000)  # ms: two tests share the machine's two cores
READY = f"body:has({CHART}):has(.wc-entry .noUi-handle[aria-label])"


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


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    with serving(ROOT / "dashboards") as address:
        yield address


@pytest.fixture(scope="session")
def chromium() -> Iterator[tuple[BrowserType, dict[str, Any]]]:
    """The browser's kind, and what it is launched with."""
    path = os.environ.get("WIRECALC_CHROMIUM") or shutil.which("chromium") or None  # None: Playwright's own
    with sync_playwright() as playwright:
        yield playwright.chromium, {"executable_path": path, "args": CHROMIUM_FLAGS}


@pytest.fixture(scope="session")
def browser(chromium: tuple[BrowserType, dict[str, Any]]) -> Iterator[Browser]:
    kind, how = chromium
    browser = kind.launch(**how)
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def visitor(
    chromium: tuple[BrowserType, dict[str, Any]], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[BrowserContext]:
    """One who comes back: the browser has a profile, where scripts are kept fetched and compiled."""
    kind, how = chromium
    context = kind.launch_persistent_context(tmp_path_factory.mktemp("profile"), **how)
    yield context
    context.close()


def go(page: Page, address: str, ready: str) -> None:
    """Open an address and wait until it is drawn; if that never comes, what the browser has to say of it."""
    said: list[str] = []
    page.on("console", lambda one: said.append(f"{one.type}: {one.text}"))
    page.on("pageerror", lambda one: said.append(f"error: {one}"))
    page.on("requestfailed", lambda one: said.append(f"failed: {one.url}"))
    page.on("websocket", lambda one: said.append(f"socket: {one.url}"))
    page.goto(address)
    try:
        page.wait_for_selector(ready, state="attached", timeout=60_000)
    except TimeoutError:
        text = page.evaluate("document.body.innerText.slice(0, 400)")
        socket = page.evaluate("window.jupyterapp?.widgetManager?.kernel?.connectionStatus")
        raise AssertionError("\n".join(["not drawn", text, f"kernel {socket}", *said])) from None


@pytest.fixture
def open_page(visitor: BrowserContext, site: str) -> Iterator[Callable[..., Page]]:
    """A function that opens a page of the dashboards and waits until it is drawn: until there is `ready`, a selector.

    At the end of the test nothing may have asked another machine, and the console may hold no error.
    """
    opened: list[Page] = []
    outside: list[str] = []
    errors: list[str] = []

    def watch(url: str) -> None:
        if not url.startswith((site, "data:", "blob:", "about:")):
            outside.append(url)

    def open_one(name: str, width: int = 1280, height: int = 900, ready: str = READY) -> Page:
        page = visitor.new_page()
        page.set_viewport_size({"width": width, "height": height})
        page.on("request", lambda request: watch(request.url))
        page.on("websocket", lambda socket: watch(socket.url.replace("ws://", "http://")))
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
        opened.append(page)
        go(page, f"{site}/voila/render/{name}.ipynb", ready)
        return page

    yield open_one
    for page in opened:
        page.goto("about:blank")  # lets the page say goodbye to its kernel
        page.close()
    assert outside == []
    assert errors == []


@pytest.fixture
def opened(browser: Browser, site: str) -> Iterator[Callable[..., Page]]:
    """A function that opens a page; unlike `open_page` it lets the browser complain."""
    pages: list[Page] = []

    def open_one(address: str = f"{site}/voila/render/one_run.ipynb", ready: str = READY) -> Page:
        page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
        pages.append(page)
        go(page, address, ready)
        return page

    yield open_one
    for page in pages:
        if not page.is_closed():
            page.goto("about:blank")
            page.context.close()
