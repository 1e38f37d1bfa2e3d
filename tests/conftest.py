"""A Voilà server and a real browser, each started once; a page that watches what leaves the machine."""

from __future__ import annotations

import gc
import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page, sync_playwright

from tests.support.pages.left_open import PANELS, Left, state
from tests.support.paths import ROOT
from tests.support.server import faulty as faulty
from tests.support.site import CHROMIUM_FLAGS, READY, address, go, serving


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Which lines of `wirecalc` are reached is noted while its own examples run, doctests included, and only then.

    To note them makes a test twice as long; what is drawn at random, the pages and the server reach no others, and what
    takes long, marked where it stands, hardly any.
    """
    places = (ROOT / "tests" / "wirecalc", ROOT / "wirecalc")
    for item in items:
        drawn = getattr(getattr(item, "obj", None), "is_hypothesis_test", False)
        if drawn or not any(item.path.is_relative_to(place) for place in places):
            item.add_marker("no_cover")


def pytest_collection_finish() -> None:
    """Some thousand tests are objects that stay: looked through for garbage again and again, they cost a tenth."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    with serving(ROOT / "dashboards", forked=True) as where:
        yield where


@pytest.fixture(scope="session")
def chromium() -> Iterator[tuple[BrowserType, dict[str, Any]]]:
    """The browser's kind, and what it is launched with."""
    browsers = filter(None, map(shutil.which, ("chromium-headless-shell", "chromium")))
    path = os.environ.get("WIRECALC_CHROMIUM") or next(browsers, None)  # None: Playwright's own
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
    chromium: tuple[BrowserType, dict[str, Any]], tmp_path_factory: pytest.TempPathFactory, site: str
) -> Iterator[BrowserContext]:
    """One who comes back: the browser has a profile, where scripts are kept fetched and compiled."""
    kind, how = chromium
    # Playwright waits by evaluating text, which the pages' policy refuses; that policy is test_server_door's
    context = kind.launch_persistent_context(tmp_path_factory.mktemp("profile"), bypass_csp=True, **how)
    context.pages[0].goto(site)  # stays open, and with it the process in which all pages of the site open
    yield context
    context.close()


@pytest.fixture(scope="session")
def left_open() -> Iterator[dict[str, Left]]:
    """Pages that tests have left as they found them, by their names."""
    kept: dict[str, Left] = {}
    yield kept
    for left in kept.values():
        close(left.page)


@pytest.fixture
def open_page(visitor: BrowserContext, site: str, left_open: dict[str, Left]) -> Iterator[Callable[..., Page]]:
    """A function that opens a page of the dashboards and waits until it is drawn: until there is `ready`, a selector.

    It may be one that a test before has left, see `tests.support.pages.left_open`; `new` has never been touched. At the
    end of the test nothing may have asked another machine, and the console may hold no error.
    """
    opened: list[Left] = []

    def watch(left: Left, url: str) -> None:
        if not url.startswith((site, "data:", "blob:", "about:")):
            left.asked.append(url)

    def open_one(name: str, width: int = 1280, height: int = 900, ready: str = READY, new: bool = False) -> Page:
        left = None if new else left_open.pop(name, None)
        if left and not left.same():
            close(left.page)
            left = None
        if left is None:
            page = visitor.new_page()
            page.set_viewport_size({"width": 1280 if name in PANELS else width, "height": 900})
            opened.append(left := Left(page, name, []))
            page.on("request", lambda request: watch(left, request.url))
            page.on("framenavigated", lambda frame: left.went(frame.url))
            page.on("websocket", lambda socket: watch(left, socket.url.replace("ws://", "http://")))
            page.on("pageerror", lambda error: left.errors.append(str(error)))
            page.on("console", lambda message: left.errors.append(message.text) if message.type == "error" else None)
            go(page, address(site, name), ready)
            if name in PANELS and not new:
                left.state = state(page)
        else:
            opened.append(left)
        left.page.set_viewport_size({"width": width, "height": height})
        return left.page

    yield open_one
    for left in opened:
        if left.state and left.name not in left_open and left.back():
            left_open[left.name] = left
        else:
            close(left.page)
    assert [url for left in opened for url in left.asked] == []
    assert [error for left in opened for error in left.errors] == []


def close(page: Page) -> None:
    """As one leaves who has been there: nothing of it is kept for the next."""
    if page.is_closed():
        return
    if page.url.startswith("http"):
        page.evaluate("localStorage.clear()")  # what a test kept, such as feet, is not the next one's
    page.goto("about:blank")  # lets the page say goodbye to its kernel
    page.close()


@pytest.fixture
def opened(visitor: BrowserContext, site: str) -> Iterator[Callable[..., Page]]:
    """A function that opens a page; unlike `open_page` it lets the browser complain."""
    pages: list[Page] = []

    def open_one(address: str = f"{site}/voila/render/one_run.ipynb", ready: str = READY) -> Page:
        page = visitor.new_page()
        page.set_viewport_size({"width": 1280, "height": 900})
        pages.append(page)
        go(page, address, ready)
        return page

    yield open_one
    for page in pages:
        close(page)
    visitor.clear_cookies()
