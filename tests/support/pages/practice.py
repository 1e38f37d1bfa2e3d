"""The page Practice as a person uses it."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from tests.support.site import SCREENS
from wirecalc.practice.kinds import KINDS, problem
from wirecalc.practice.problem import Problem

Opener = Callable[..., Page]


def opened(open_page: Opener, width: int = 1280) -> Page:
    return open_page("practice", width, SCREENS[width], ready=".wc-answering input")


def answer(page: Page) -> Locator:
    return page.get_by_role("textbox", name="Your answer")


def asked(page: Page, kind: str) -> Problem:
    """Choose a kind; the problem that the page then shows, made here again from its number."""
    heading = page.locator(".wc-problem:visible h2")
    before = heading.inner_text()
    page.get_by_label("Kind of problem", exact=True).select_option(KINDS[kind].title)
    expect(heading).not_to_have_text(before)  # it may have been of this kind already
    expect(heading).to_contain_text(KINDS[kind].title)
    number = re.search(r"no\. (\d+)", heading.inner_text())
    assert number
    made = problem(kind, int(number[1]))
    expect(page.locator(".wc-problem:visible .wc-asked")).to_have_text(made.drawn.text)
    return made


def enter(page: Page, text: str) -> None:
    answer(page).fill(text)
    page.keyboard.press("Enter")


def tab(page: Page, title: str) -> None:
    page.get_by_role("button", name=title, exact=True).click()
