"""How many presses the questions of a shop take, each after the page is loaded: at most 6.

That the one bad circuit of a plan is found and mended in three stands in test_whole_vehicle_page.py.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.support.pages import show_and_hear
from tests.support.site import READY

pytestmark = pytest.mark.browser
MOST = 6


class Person:
    """Presses and types, and counts it: a text typed and entered is one."""

    def __init__(self, page: Page) -> None:
        self.page, self.presses = page, 0

    def press(self, name: str) -> None:
        self.on(self.page.get_by_role("button", name=name, exact=True).locator("visible=true").first)

    def on(self, place: Locator) -> None:
        place.click()
        self.presses += 1

    def enter(self, place: Locator, text: str) -> None:
        place.fill(text)
        place.press("Enter")
        self.presses += 1


def test_a_size_a_cable_and_what_the_customer_gains(open_page: Callable[..., Page]) -> None:
    """One page, three questions: 100 W over 20 ft; is the cable on the shelf enough; what does the customer gain."""
    page = open_page("one_run", 390, 844)
    person = Person(page)
    person.press("Feet")
    person.enter(page.get_by_role("textbox", name="Run length, one way", exact=True), "20")
    answer = page.locator(".wc-decision .wc-answer")
    expect(page.locator(".wc-tiles h2")).to_contain_text("20 ft one way")
    expect(answer).to_contain_text(re.compile(r"Pull 1[46] AWG"))
    expect(answer).to_be_in_viewport()  # it stays on the screen, on a phone too
    assert person.presses == 2

    person.presses = 0
    person.press("My cable")
    expect(page.locator(".wc-told:visible").first).to_contain_text(re.compile("enough|do|does|pair", re.IGNORECASE))
    expect(answer).to_be_in_viewport()
    assert person.presses == 1

    person.presses = 0
    person.press("Show the customer")
    page.wait_for_url("**/show_and_hear.ipynb?**")
    page.wait_for_selector(show_and_hear.READY, state="attached", timeout=60_000)
    expect(page.locator(".wc-watts figcaption").first).to_contain_text("20 ft")  # the run went along
    expect(page.locator(".wc-top .wc-told")).to_contain_text(re.compile("hear"))
    expect(page.get_by_role("button", name="Feet", exact=True)).to_have_attribute("aria-pressed", "true")
    assert person.presses == 1 <= MOST

    page.locator(".wc-pages").get_by_role("link", name="One run").click()  # and comes back, with what is else its own
    page.wait_for_url("**/one_run.ipynb?**")
    page.wait_for_selector(READY, state="attached", timeout=60_000)
    expect(page.get_by_label("Run length, one way").first).to_have_value(re.compile(r"^20 ft"))
