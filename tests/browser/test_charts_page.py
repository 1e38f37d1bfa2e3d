"""Charts draw what is on the screen, and only that."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.support.journeys import READY
from tests.support.site import address, go

pytestmark = pytest.mark.browser

COUNT = """() => {
window.drawings = 0;
const react = Plotly.react;
Plotly.react = function (...how) { window.drawings += 1; return react.apply(this, how); };
}"""
HEIGHTS = "[...document.querySelectorAll('.js-plotly-plot')].map(one => one.data[0].y.at(-1))"


def moved(page: Page, key: str) -> None:
    """Press a key on the load's slider, and wait until the kernel's last word on it is there."""
    verdict = page.locator(".wc-told:visible")
    before = verdict.inner_text()
    slider = page.get_by_role("slider", name="Speaker impedance, slider")
    slider.focus()
    page.keyboard.press(key)
    expect(verdict).not_to_have_text(before)
    page.wait_for_timeout(300)


def drawn_once(page: Page) -> None:
    """The chart that is in sight is drawn, and no other after it."""
    page.wait_for_function("window.drawings")
    page.wait_for_timeout(300)
    assert page.evaluate("window.drawings") == 1


def test_what_is_not_on_the_screen_is_not_drawn(open_page: Callable[..., Page]) -> None:
    page = open_page("one_run", new=True)
    page.evaluate(COUNT)
    moved(page, "ArrowRight")
    drawn_once(page)

    page.set_viewport_size({"width": 1280, "height": 2400})  # the chart of sizes stands beneath their table
    page.get_by_role("button", name="Which size?", exact=True).click()
    expect(page.locator(".js-plotly-plot:visible")).to_have_count(1)
    page.wait_for_function("window.drawings > 1")  # its own first
    page.wait_for_timeout(300)
    page.evaluate("window.drawings = 0")
    heights = page.evaluate(HEIGHTS)
    moved(page, "ArrowRight")
    drawn_once(page)  # those of the tab behind are not even sent
    assert page.evaluate(HEIGHTS)[:1] == heights[:1]
    page.get_by_role("button", name="Length", exact=True).click()
    page.wait_for_function(f"old => {HEIGHTS}[0] !== old", arg=heights[0])

    page.set_viewport_size({"width": 390, "height": 500})  # the charts are below what is seen of the page
    page.wait_for_timeout(300)
    page.evaluate("window.scrollTo(0, 0)")
    page.wait_for_timeout(300)
    page.evaluate("window.drawings = 0")
    heights = page.evaluate(HEIGHTS)
    moved(page, "ArrowRight")
    assert page.evaluate("window.drawings") == 0
    page.locator(".js-plotly-plot:visible").last.scroll_into_view_if_needed()
    page.wait_for_function(f"old => {HEIGHTS}[0] !== old", arg=heights[0])
    drawn_once(page)

    page.evaluate("window.scrollTo(0, 0)")
    page.wait_for_timeout(300)
    page.evaluate("window.drawings = 0")
    moved(page, "ArrowLeft")
    assert page.evaluate("window.drawings") == 0
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")  # paper has all of the page
    drawn_once(page)


# the page stands still while the script of its charts is on its way, as on a slow tablet with a cold cache
SLOW = """() => {
const Whole = Blob, make = URL.createObjectURL;
window.Blob = function (parts, how) {
  const blob = new Whole(parts, how);
  blob.ofCharts = String(parts?.[0]).includes('Plotly.react');
  return blob;
};
URL.createObjectURL = blob => {
  const until = performance.now() + (blob.ofCharts ? 2500 : 0);
  while (performance.now() < until);
  return make.call(URL, blob);
};
}"""


def test_charts_follow_on_a_page_that_took_long_to_begin(browser: Browser, site: str) -> None:
    """anywidget gives a script two seconds; after that its widget would never hear of a change."""
    page = browser.new_page(bypass_csp=True)
    page.add_init_script(f"({SLOW})()")
    go(page, address(site, "one_run"), READY["one_run"])
    box = page.get_by_role("textbox", name="Run length, one way", exact=True)
    box.fill("9 m")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.js-plotly-plot').data.at(-2).x[0] === 9", timeout=20_000)
    page.close()
