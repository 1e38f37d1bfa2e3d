"""Random journeys for as long as one likes, with kernels that die and connections that are cut: nothing may be lost.

`WIRECALC_SOAK_MINUTES=30` goes on for so long; in a run of all tests it is a few journeys.
"""

from __future__ import annotations

import os
import random
import time
from collections import Counter

import psutil
import pytest
from playwright.sync_api import Browser, Page
from playwright.sync_api import Error as BrowserError

from tests.support.journeys import READY, WAIT_MS, Journey, agreed, lost, said
from tests.support.server import Line, kernel, kernels
from tests.support.site import address, go

pytestmark = pytest.mark.browser

MINUTES = float(os.environ.get("WIRECALC_SOAK_MINUTES", "0.3"))
SEED = int(os.environ.get("WIRECALC_SEED", "1"))


def _server(site: str) -> psutil.Process:
    port = f"--port={site.rpartition(':')[2]}"
    return next(process for process in psutil.Process().children() if port in process.cmdline())


def _stand(server: psutil.Process) -> str:
    every = kernels(server).values()
    memory = sum(process.memory_info().rss for process in every) / 1e6
    return (
        f"server {server.memory_info().rss / 1e6:.0f} MB, {server.num_fds()} open files; "
        f"{len(every)} kernels, {memory:.0f} MB"
    )


def _die(journey: Journey, ready: str) -> list[str]:
    """The kernel dies after the last step, perhaps before it has heard of it."""
    page = journey.page
    journey.hold(journey.rng.random() < 0.5)
    journey.type()
    journey.kernel.kill()
    journey.held = False
    page.locator(".wc-notice").get_by_role("button", name="Load the page again").click(timeout=WAIT_MS)
    page.wait_for_selector(ready, state="attached", timeout=WAIT_MS)
    before = said(page)
    return agreed(journey, ready, before=before)


def _cut(journey: Journey, ready: str, line: Line) -> list[str]:
    """No connection during some steps; it comes back, or the page is loaded again when it is back."""
    page = journey.page
    line.cut()
    journey.go(len(journey.steps) + 3)
    line.whole = True
    if journey.rng.random() < 0.5:
        page.reload()
        page.wait_for_selector(ready, state="attached", timeout=WAIT_MS)
    return agreed(journey, ready)


def _journey(page: Page, name: str, rng: random.Random, line: Line) -> tuple[str, list[str], list[str]]:
    """One: what befell it, what disagrees, its steps."""
    journey = Journey(page, rng, kernel(page))
    journey.go(rng.randint(3, 10))
    fate = rng.choice(("nothing", "nothing", "kernel killed", "connection cut"))
    if fate == "kernel killed":
        disagreements = _die(journey, READY[name])
    elif fate == "connection cut":
        disagreements = _cut(journey, READY[name], line)
    else:
        disagreements = agreed(journey, READY[name])
    return fate, [*disagreements, *lost(journey)], journey.steps


def test_nothing_is_lost_however_long_it_goes_on(browser: Browser, site: str) -> None:
    server, counts = _server(site), Counter[str]()
    rng = random.Random(SEED)
    wrong: list[str] = []
    line = Line(int(site.rpartition(":")[2]))
    start = ""
    until = time.monotonic() + 60 * MINUTES
    while time.monotonic() < until:
        name = rng.choice(list(READY))
        page = browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True).new_page()
        go(page, address(f"http://127.0.0.1:{line.port}", name), READY[name])
        for _ in range(3):
            try:
                fate, disagreements, steps = _journey(page, name, rng, line)
            except (AssertionError, BrowserError) as fault:
                fate, disagreements, steps = "broken off", [f"broken off: {fault}"], []
                line.whole = True
            counts.update(["journeys", fate])
            if disagreements:
                lost_ones = [disagreement for disagreement in disagreements if ": typed " in disagreement]
                counts.update({"entries lost": len(lost_ones), "disagreements": len(disagreements) - len(lost_ones)})
                wrong.append(f"{name}, {fate}: {disagreements} after {steps}")
            if disagreements or time.monotonic() > until:
                break
        page.goto("about:blank")
        page.context.close()
        if not start:  # once the kernels that stand ready are there
            time.sleep(10)
            start = _stand(server)
    time.sleep(10)
    line.door.close()
    print(f"\n{dict(counts)}\nat the start: {start}\nat the end: {_stand(server)}")
    assert wrong == []
