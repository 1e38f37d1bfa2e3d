"""The page against its floors, as ratios taken in one run.

- a key press to the last chart painted, against the same charts with the same data drawn by plotly.js in a page
  without a kernel;
- the last of 60 steps of a drag to the right picture;
- the page ready, kernel started cold or kept warm, against a page of one slider and one label from the same Voilà.

`WIRECALC_LOADS=10` times more loads than a run of all tests does.
"""

from __future__ import annotations

import os
import shutil
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import nbformat
import psutil
import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.benchmarks.painting import against_plain
from tests.support.paths import ROOT
from tests.support.server import kernels
from tests.support.site import CHART, READY, serving

pytestmark = pytest.mark.browser

# Measured where nothing else runs: 1.78 (58 ms against 33: one picture is drawn, which halved what ours is held
# against; with two it was 1.14), 1.49 and 1.35 to 2.0 (1.5 to 1.8 s; a bare page takes 0.7 to 1.3), where 1.25, 1.5 and
# 1.1 are aimed at. The rest is for a busy machine.
UPDATE_LIMIT, COLD_LIMIT, WARM_LIMIT = 2.4, 2.2, 2.6
LOADS = int(os.environ.get("WIRECALC_LOADS", "3"))
DRAGS, STEPS, DRAG_S, LATE_MS = 3, 60, 2.0, 200
KNOB_PX = 28  # of the slider, in page.css


def test_a_key_press_costs_little_more_than_its_charts(
    browser: Browser, site: str, tmp_path: Path, record_property: pytest.RecordProperty
) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 900}, bypass_csp=True)
    page.goto(f"{site}/voila/render/one_run.ipynb")
    page.wait_for_selector(CHART, state="attached")
    page.get_by_role("slider", name="Speaker impedance, slider").focus()

    def step(i: int) -> None:  # the slider that changes every curve
        page.keyboard.press("ArrowRight" if i % 2 == 0 else "ArrowLeft")

    ratio, figures = against_plain(browser, page, step, tmp_path, visible=1)
    record_property("ratio", ratio)
    print(f"\n{figures} (limit {UPDATE_LIMIT})")
    assert ratio < UPDATE_LIMIT, figures


DRAWN = """() => {
window.moved = window.drawn = 0;
new MutationObserver(() => { window.moved = performance.now(); })
  .observe(document.activeElement, { attributeFilter: ['aria-valuenow'] });  // the slider, where it has the focus
document.querySelectorAll('.js-plotly-plot').forEach(chart =>
  chart.on('plotly_afterplot', () => { window.drawn = performance.now(); }));
}"""
PICTURE = (
    "[...document.querySelectorAll('.js-plotly-plot')].map(c => JSON.stringify(c.data.map(t => Array.from(t.y ?? []))))"
)


def test_a_drag_ends_on_the_right_picture(browser: Browser, site: str, record_property: pytest.RecordProperty) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 900}, bypass_csp=True)
    page.goto(f"{site}/voila/render/one_run.ipynb")
    page.wait_for_selector(READY, state="attached")
    slider = page.get_by_role("slider", name="Run length, one way, slider")
    slider.focus()
    page.evaluate(DRAWN)
    late = []
    for _ in range(DRAGS):
        page.keyboard.press("Home")
        page.wait_for_timeout(600)
        track = slider.bounding_box()
        assert track is not None
        x, y = track["x"] + KNOB_PX / 2, track["y"] + track["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        start = time.perf_counter()
        for i in range(1, STEPS + 1):
            page.mouse.move(x + (track["width"] - KNOB_PX) * i / STEPS, y)
            time.sleep(max(0.0, start + DRAG_S * i / STEPS - time.perf_counter()))
        took_s = time.perf_counter() - start
        page.wait_for_timeout(1500)
        late.append(page.evaluate("window.drawn - window.moved"))
        page.mouse.up()
        picture, value = page.evaluate(PICTURE), slider.get_attribute("aria-valuetext")
        assert took_s < 1.75 * DRAG_S  # the mouse was not held up
        for key in ("ArrowLeft", "ArrowRight"):  # away and back: what the last step alone would have drawn
            page.evaluate("window.drawn = 0")
            page.keyboard.press(key)
            page.wait_for_function("window.drawn > 0")
            page.wait_for_timeout(300)
        assert slider.get_attribute("aria-valuetext") == value
        assert page.evaluate(PICTURE) == picture
    page.goto("about:blank")
    page.close()
    record_property("late_ms", min(late))
    print(f"\n{STEPS} steps in {DRAG_S:.0f} s: the last one's picture after {min(late):.0f} ms (limit {LATE_MS})")
    assert -LATE_MS < min(late) < LATE_MS  # the slider's own words may come after the picture


@pytest.fixture
def two_pages(tmp_path: Path) -> Path:
    shutil.copy(ROOT / "dashboards" / "one_run.ipynb", tmp_path)
    bare = nbformat.v4.new_notebook(metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}})
    bare.cells = [
        nbformat.v4.new_code_cell(
            "import ipywidgets as w\nslider, label = w.IntSlider(description='n'), w.Label()\n"
            "slider.observe(lambda change: setattr(label, 'value', str(change['new'])), 'value')\n"
            "w.VBox([slider, label])"
        )
    ]
    nbformat.write(bare, tmp_path / "bare.ipynb")
    return tmp_path


def _ready(context: BrowserContext, address: str, name: str, selector: str) -> float:
    page = context.new_page()
    page.goto(f"{address}/voila/render/{name}.ipynb")
    page.wait_for_selector(selector, state="attached", timeout=60_000)
    spent = float(page.evaluate("performance.now()"))
    page.goto("about:blank")
    page.close()
    return spent


def _stand_ready(server: psutil.Process, count: int) -> None:
    """Wait until that many kernels of a server have started and do nothing."""
    until, before = time.monotonic() + 60, {}
    while True:
        now = {number: sum(kernel.cpu_times()[:2]) for number, kernel in kernels(server).items()}
        if len(now) >= count and now == before:
            return
        assert time.monotonic() < until, "the kernels do not come to rest"
        before = now
        time.sleep(0.5)


def _against_bare(load: Callable[[str, str], float], count: int) -> tuple[float, str]:
    bare, ours = [], []
    for _ in range(count):
        bare.append(load("bare", ".noUi-handle"))
        ours.append(load("one_run", f"body:has({CHART}):has(.wc-table)"))
    ratio = statistics.median(ours) / statistics.median(bare)
    return ratio, (
        f"page ready {statistics.median(ours) / 1e3:.2f} s, bare page {statistics.median(bare) / 1e3:.2f} s: "
        f"{ratio:.2f} x"
    )


def test_the_page_is_ready_soon_after_a_bare_one(
    browser: Browser, two_pages: Path, record_property: pytest.RecordProperty
) -> None:
    """A browser that has never been here, a kernel that must be started first."""

    def load(name: str, selector: str) -> float:
        context = browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True)
        spent = _ready(context, address, name, selector)
        context.close()
        return spent

    with serving(two_pages, "--VoilaConfiguration.preheat_kernel=False") as address:
        ratio, figures = _against_bare(load, LOADS)
    record_property("ratio", ratio)
    print(f"\ncold: {figures} (limit {COLD_LIMIT})")
    assert ratio < COLD_LIMIT, figures


def test_the_page_is_ready_soon_for_who_comes_back(
    visitor: BrowserContext, two_pages: Path, record_property: pytest.RecordProperty
) -> None:
    """A kernel that stands ready, in a browser that has compiled the scripts before."""
    with serving(two_pages, "--VoilaKernelManager.fill_delay=0.5") as address:
        port = f"--port={address.rpartition(':')[2]}"
        server = next(process for process in psutil.Process().children() if port in process.cmdline())

        def load(name: str, selector: str) -> float:
            _stand_ready(server, 2)  # one kernel for each page
            return _ready(visitor, address, name, selector)

        _against_bare(load, 2)  # after that the browser has them compiled
        ratio, figures = _against_bare(load, LOADS)
    record_property("ratio", ratio)
    print(f"\nwarm: {figures} (limit {WARM_LIMIT})")
    assert ratio < WARM_LIMIT, figures
