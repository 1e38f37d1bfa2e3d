"""The page against its floors, as ratios taken in one run.

- a key press to the last chart painted, against the same charts with the same data drawn by plotly.js in a page
  without a kernel;
- the page ready, kernel started cold, against a page of one slider and one label from the same Voilà.
"""

from __future__ import annotations

import shutil
import statistics
from collections.abc import Iterator
from pathlib import Path

import nbformat
import pytest
from playwright.sync_api import Browser

from tests.benchmarks.painting import against_plain
from tests.conftest import CHART, ROOT, serving

pytestmark = pytest.mark.browser

UPDATE_LIMIT, READY_LIMIT = 1.6, 2.2
LOADS = 5


def test_a_key_press_costs_little_more_than_its_charts(
    browser: Browser, site: str, tmp_path: Path, record_property: pytest.RecordProperty
) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{site}/voila/render/one_run.ipynb")
    page.wait_for_selector(CHART, state="attached")
    page.get_by_role("slider", name="Load impedance, slider").focus()

    def step(i: int) -> None:  # the slider that changes every curve
        page.keyboard.press("ArrowRight" if i % 2 == 0 else "ArrowLeft")

    ratio, said = against_plain(browser, page, step, tmp_path, visible=2)
    record_property("ratio", ratio)
    print(f"\n{said} (limit {UPDATE_LIMIT})")
    assert ratio < UPDATE_LIMIT, said


@pytest.fixture
def two_pages(tmp_path: Path) -> Iterator[str]:
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
    with serving(tmp_path, "--VoilaConfiguration.preheat_kernel=False") as address:
        yield address


def _ready(browser: Browser, address: str, name: str, selector: str) -> float:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(f"{address}/voila/render/{name}.ipynb")
    page.wait_for_selector(selector, state="attached", timeout=60_000)
    spent = float(page.evaluate("performance.now()"))
    page.goto("about:blank")
    context.close()
    return spent


def test_the_page_is_ready_soon_after_a_bare_one(
    browser: Browser, two_pages: str, record_property: pytest.RecordProperty
) -> None:
    both = "body:has(.js-plotly-plot .scatterlayer .trace):has(.wc-table)"
    bare, ours = [], []
    for _ in range(LOADS):
        bare.append(_ready(browser, two_pages, "bare", ".noUi-handle"))
        ours.append(_ready(browser, two_pages, "one_run", both))
    ratio = statistics.median(ours) / statistics.median(bare)
    said = f"page ready {statistics.median(ours) / 1e3:.2f} s, bare page {statistics.median(bare) / 1e3:.2f} s"
    record_property("ratio", ratio)
    print(f"\n{said}: {ratio:.2f} x (limit {READY_LIMIT})")
    assert ratio < READY_LIMIT, said
