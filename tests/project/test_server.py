"""The kernels of the pages: how long one lives, and what the page says when something breaks."""

from __future__ import annotations

import time
import urllib.error
import urllib.request
from concurrent.futures import Future
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from dashboards.server.kernels import PageKernels
from tests.support.server import Line, Opener, apart, kernel, kernels, moved, status
from tests.support.site import READY
from tests.support.viewer import Viewer

pytestmark = pytest.mark.browser


def test_an_abandoned_page_loses_its_kernel_and_an_open_one_does_not(opened: Opener, faulty: tuple[str, Path]) -> None:
    address = f"{faulty[0]}/voila/render/callbacks.ipynb"
    kept, left = opened(address, ".noUi-handle"), opened(address, ".noUi-handle")
    process = kernel(left)
    left.close()  # at once, as a browser that dies: without a goodbye
    process.wait(60)
    kept.get_by_role("button", name="Count").click()
    expect(kept.locator("body")).to_contain_text("1")


def test_what_a_slow_kernel_shows_late_is_waited_for(opened: Opener, faulty: tuple[str, Path]) -> None:
    opened(f"{faulty[0]}/voila/render/late.ipynb", ".noUi-handle")


def test_a_killed_kernel_is_said_and_a_reload_keeps_the_address(opened: Opener, site: str) -> None:
    address = f"{site}/voila/render/one_run.ipynb?units=feet&length=18+ft"
    page = opened(address)
    began = time.monotonic()
    kernel(page).kill()
    notice = page.locator(".wc-notice")
    expect(notice).to_contain_text("has stopped", timeout=10_000)
    assert time.monotonic() - began < 5
    expect(notice).to_have_attribute("role", "alert")
    assert "Traceback" not in page.content()
    notice.get_by_role("button", name="Load the page again").click()
    page.wait_for_selector(f"{READY}:not(:has(.wc-notice))", state="attached", timeout=30_000)
    assert "length=18+ft" in page.url
    expect(page.get_by_label("Run length, one way", exact=True)).to_have_value("18 ft")
    moved(page)
    # the links that ask the kernel for the run lead on without it
    kernel(page).kill()
    expect(notice).to_contain_text("has stopped", timeout=10_000)
    page.locator(".wc-pages a[href*='show_and_hear']").click()
    page.wait_for_url("**/show_and_hear.ipynb*")
    page.wait_for_selector(".wc-watts", state="attached", timeout=30_000)
    kernel(page).kill()
    page.locator(".wc-pages a[href*='one_run']").click()  # at once: the page has still to find out
    page.wait_for_url("**/one_run.ipynb*", timeout=15_000)


def test_a_waiting_kernel_that_died_is_replaced(opened: Opener) -> None:
    for process in kernels().values():
        process.kill()
    moved(opened())


def test_more_pages_than_the_machine_holds_are_refused_in_words(faulty: tuple[str, Path]) -> None:
    viewers = [Viewer(faulty[0], "callbacks") for _ in range(3)]
    address = f"{faulty[0]}/voila/render/callbacks.ipynb"

    async def come() -> str:
        for viewer in viewers:
            await viewer.open()
        with pytest.raises(urllib.error.HTTPError, match="503") as refused:
            urllib.request.urlopen(address, timeout=20)
        for viewer in viewers:
            await viewer.close()
        return refused.value.read().decode()

    assert "As many pages are open here as this machine holds" in apart(come())
    assert status(address) == 200


def test_nobody_waits_for_a_kernel_that_has_yet_to_be_started() -> None:
    """Voilà counts those too, and would have the second viewer wait for the delay before the pool is filled again."""

    class Pools(PageKernels):
        def get_pool_size(self, name: str) -> int:
            return len(self._pools[name])

        get_rendered_notebook = fill_if_needed = get_pool_size

    def pooled(number: str, drawn: Future[Any]) -> Future[Any]:
        future = Future[Any]()
        future.set_result({"kernel_id": number, "task": drawn})
        return future

    failed = Future[Any]()
    failed.set_exception(OSError())
    ready, due, dead = pooled("ready", Future()), Future[Any](), pooled("dead", Future())
    pools = Pools.__new__(Pools)
    ended = {"ready": None, "dead": -9}
    pools._kernels = {
        name: SimpleNamespace(provisioner=SimpleNamespace(process=SimpleNamespace(poll=lambda code=code: code)))
        for name, code in ended.items()
    }
    for pool, count in (
        ([ready, due], 2),
        ([ready], 1),
        ([due, ready], 0),
        ([failed], 0),
        ([dead, ready], 0),
        ([pooled("ready", failed)], 0),
        ([], 0),
    ):
        pools._pools = {"page": pool}
        assert pools.get_pool_size("page") == count
    assert pools.get_pool_size("other") == 0


def test_a_connection_dropped_for_ten_seconds_and_a_departure_that_was_not_made(opened: Opener, site: str) -> None:
    line = Line(int(site.rpartition(":")[2]))
    page = opened(f"http://127.0.0.1:{line.port}/voila/render/one_run.ipynb")
    entry = page.get_by_role("textbox", name="Run length, one way", exact=True)
    entry.fill("7 m")
    entry.press("Enter")
    expect(page.locator(".wc-tiles h2")).to_contain_text("7 m one way")
    line.cut()
    expect(page.locator(".wc-notice")).to_contain_text("No connection", timeout=5_000)
    entry.fill("8 m")  # while there is none
    entry.press("Enter")
    time.sleep(10)
    line.whole = True
    expect(page.locator(".wc-notice")).to_have_count(0, timeout=15_000)
    expect(page.locator(".wc-tiles h2")).to_contain_text("8 m one way", timeout=10_000)
    moved(page)
    # a departure is announced, as by a link that starts another program: Voilà ends the kernel at the announcement
    page.evaluate("window.dispatchEvent(new Event('beforeunload'))")
    expect(page.locator(".wc-notice")).to_contain_text("has stopped", timeout=15_000)
    page.goto("about:blank")
    line.door.close()


SEEN = """
const what = { outline: '#wc-outline:has(h1:not(:empty)) progress', widgets: '#rendered_cells .jupyter-widgets' };
window.seen = {};
new MutationObserver(() => {
  for (const [name, selector] of Object.entries(what)) {
    const found = document.querySelector(selector);
    if (found) window.seen[name] ??= [performance.now(), document.querySelector('#wc-outline h1')?.textContent];
  }
}).observe(document, { subtree: true, childList: true });
"""


def test_title_outline_and_progress_come_before_the_kernel(browser: Browser, faulty: tuple[str, Path]) -> None:
    """This server keeps no kernel warm."""
    page = browser.new_context().new_page()
    page.add_init_script(SEEN)
    page.goto(f"{faulty[0]}/voila/render/callbacks.ipynb")
    page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)
    expect(page.locator("#wc-outline")).to_have_count(0)
    seen = page.evaluate("window.seen")
    painted = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert seen["outline"][1] == "A trial"
    assert max(painted, seen["outline"][0]) < seen["widgets"][0]
    page.goto("about:blank")
    page.context.close()


# --- faults are seen, and only by who should ---------------------------------------------------------------


def test_a_fault_in_a_callback_is_said_and_logged(opened: Opener, faulty: tuple[str, Path]) -> None:
    """Of every sort, one after the other on one page, which goes on after each."""
    address, log = faulty
    page = opened(f"{address}/voila/render/callbacks.ipynb", ".noUi-handle")
    page.evaluate(
        "() => { window.heard = []; window.jupyterapp.widgetManager.kernel._ws.addEventListener('message',"
        " event => window.heard.push(new TextDecoder().decode(event.data))); }"
    )
    where = page.get_by_role("textbox", name="Where")
    acts = {"a button": "Press", "a slider": "", "a timer": "Timer", "a thread": "Thread"}
    for count, (act, button) in enumerate(acts.items(), 1):
        where.fill(act)
        where.press("Tab")
        if button:
            page.get_by_role("button", name=button).click()
        else:
            page.get_by_role("slider").focus()
            page.keyboard.press("ArrowRight")
        notice = page.get_by_role("alert")
        expect(notice).to_contain_text("a fault of the page, not of your entry")
        seen = page.content() + "".join(page.evaluate("window.heard"))
        assert "only for the log" not in seen
        assert "Traceback" not in seen
        log_text = log.read_text()
        assert f"ZeroDivisionError: only for the log: of of of {act}" in log_text
        assert log_text.count("Traceback") >= count
        page.get_by_role("button", name="Count").click()
        expect(page.locator("body")).to_contain_text(str(count))  # the page goes on
        notice.get_by_role("button", name="Close").click()
        expect(notice).to_have_count(0)


def test_a_fault_in_a_cell_is_said_without_a_traceback(opened: Opener, faulty: tuple[str, Path]) -> None:
    address, log = faulty
    page = opened(f"{address}/voila/render/cell.ipynb", ".jp-RenderedText")
    expect(page.locator("body")).to_contain_text("a fault of the page, not of yours")
    expect(page.locator("body")).to_contain_text("first")
    assert "Traceback" not in page.content()
    assert "ZeroDivision" not in page.content()
    assert "ZeroDivisionError" in log.read_text()
