"""A key press on each part of the bench to its chart painted, against the same chart drawn by plotly.js alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from dashboards.panels.bench.identify import MORE
from dashboards.panels.bench.page import PARTS
from tests.benchmarks.painting import against_plain
from tests.support.pages.bench import READY

pytestmark = pytest.mark.browser

# The aim is 2: 1.77 to 2.17 is measured where nothing else runs. plotly.js alone takes 19 to 40 ms for these charts,
# the way to the kernel and back some 10. The bound only guards against worse.
LIMIT = 4.5
READINGS = {
    "Strand diameter": "0.254 mm",
    "Resistance": "62.0 mohm",
    "Meter leads": "20.0 mohm",
    "Measured length": "2.00 m",
}
# part, entry, and what is typed there in turn
CASES = [
    ("Strands", "16", "19"),
    ("Your reading", "150 mohm", "235 mohm"),
    ("Opening, inner diameter", "20 mm", "12 mm"),
]


@pytest.mark.parametrize(("part", "case"), list(zip(PARTS, CASES, strict=True)), ids=[case[0] for case in CASES])
def test_a_key_press_costs_little_more_than_its_chart(
    browser: Browser, site: str, tmp_path: Path, record_property: pytest.RecordProperty, part: str,
    case: tuple[str, str, str],
) -> None:  # fmt: skip
    label, first, second = case
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{site}/voila/render/bench.ipynb")
    page.wait_for_selector(READY, state="attached")
    page.get_by_role("button", name=part).click()
    box = page.get_by_role("textbox", name=label, exact=True)
    if label == "Strands":
        page.get_by_role("button", name=MORE).click()
        for other, text in READINGS.items():
            page.get_by_role("textbox", name=other, exact=True).fill(text)
            page.keyboard.press("Enter")
    box.fill(first)
    page.keyboard.press("Enter")
    expect(page.locator(".js-plotly-plot:visible")).to_have_count(1)
    page.wait_for_timeout(3000)  # the other parts are imported aside: not during the measurement

    def leave(i: int) -> None:
        box.fill(second if i % 2 == 0 else first)
        page.keyboard.press("Tab")

    ratio, figures = against_plain(browser, page, leave, tmp_path, visible=1)
    record_property("ratio", ratio)
    print(f"\n{label}: {figures} (limit {LIMIT})")
    assert ratio < LIMIT, figures
