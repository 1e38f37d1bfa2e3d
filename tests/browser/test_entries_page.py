"""What a box says is what the page computes with, also when the kernel answers late."""

from __future__ import annotations

import os
import random
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.project.test_server import kernel
from tests.support.journeys import READY, Journey, agreed, hogs

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]


@contextmanager
def held(page: Page) -> Iterator[None]:
    """The page's kernel stands still, as on a busy machine."""
    process = kernel(page)
    process.suspend()
    try:
        yield
    finally:
        process.resume()


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def in_address(page: Page, part: str) -> None:
    page.wait_for_function("part => decodeURIComponent(location.href).replaceAll('+', ' ').includes(part)", arg=part)


def agree(page: Page, typed: str, heading: str) -> None:
    """Box, heading, picture and address say the same length."""
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile(rf", {re.escape(heading)} one way$"))
    expect(box(page, "Run length, one way")).to_have_value(typed)
    in_address(page, f"length={typed}")
    page.wait_for_timeout(500)
    expect(box(page, "Run length, one way")).to_have_value(typed)


def test_typed_after_a_choice_that_sets_the_same_box(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_label("Circuit", exact=True).select_option("Line level")
        box(page, "Run length, one way").fill("18 ft 6 in")
        page.keyboard.press("Enter")
        page.wait_for_timeout(300)
    agree(page, "18 ft 6 in", "5.64 m")


def test_typed_after_other_units(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_role("button", name="Feet", exact=True).click()
        box(page, "Run length, one way").fill("7")
        page.keyboard.press("Enter")
        page.wait_for_timeout(300)
    agree(page, "7", "7 ft")


def test_typed_after_a_step_of_the_slider(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_role("slider", name="Run length, one way, slider").focus()
        page.keyboard.press("ArrowRight")
        box(page, "Run length, one way").fill("9 m")
        page.keyboard.press("Enter")
        page.wait_for_timeout(300)
    agree(page, "9 m", "9 m")
    expect(page.get_by_role("slider", name="Run length, one way, slider")).to_have_attribute("aria-valuetext", "9 m")


def test_what_is_being_typed_is_not_overwritten(open_page: Opener) -> None:
    page = open_page("one_run")
    length = box(page, "Run length, one way")
    with held(page):
        page.get_by_label("Circuit", exact=True).select_option("Line level")
        length.click()
        page.keyboard.press("Control+a")
        page.keyboard.type("18 f")
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile("^24 AWG, 5 m"))
    page.wait_for_timeout(300)
    expect(length).to_have_value("18 f")
    page.keyboard.type("t 6 in")
    page.keyboard.press("Enter")
    agree(page, "18 ft 6 in", "5.64 m")


def test_a_press_on_a_tab_means_what_was_on_it(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_label("Circuit", exact=True).select_option("Line level")  # one tab less: those behind it move up
        page.get_by_role("button", name="Response", exact=True).click()
        page.wait_for_timeout(300)
    in_address(page, "tab=response")
    expect(page.get_by_role("button", name="Response", exact=True)).to_have_class(re.compile("mod-active"))
    expect(page.get_by_role("img", name=re.compile("20 kHz|[Ll]evel")).first).to_be_visible()


JOURNEYS = int(os.environ.get("WIRECALC_JOURNEYS", "10"))  # over all pages
HOGS = int(os.environ.get("WIRECALC_HOGS", "0"))  # processes that want a core each, meanwhile
SEED = int(os.environ.get("WIRECALC_SEED", "1"))


@pytest.mark.parametrize("name", READY)
def test_a_page_agrees_with_itself_after_any_journey(open_page: Opener, name: str) -> None:
    """`WIRECALC_JOURNEYS=200` makes so many, `WIRECALC_HOGS=2` on a busy machine, `WIRECALC_SEED` others."""
    page = open_page(name, ready=READY[name])
    with hogs(HOGS):
        for number in range(max(JOURNEYS // len(READY), 1)):
            rng = random.Random(f"{name} {SEED} {number}")
            journey = Journey(page, rng, kernel(page))
            journey.go(rng.randint(4, 14))
            assert agreed(journey, READY[name]) == [], (number, journey.steps)
    print(f"\n{name}: {max(JOURNEYS // len(READY), 1)} journeys")
