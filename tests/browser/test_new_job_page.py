"""A new job in a real browser: from its choice to a signed plan, by keyboard alone and in few entries."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests import some_of
from tests.support.pages.whole_vehicle import headline
from wirecalc.jobs import JOBS
from wirecalc.jobs.question import Number

pytestmark = pytest.mark.browser

SOON = 30_000  # [ms] the machine may be busy
MOST_ENTRIES = 12
HERE = """() => { const e = document.activeElement;
  return e.labels?.[0]?.textContent || e.getAttribute('aria-label') || e.textContent; }"""


def reach(page: Page, name: str) -> None:
    for _ in range(60):
        if str(page.evaluate(HERE)).strip() == name:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{name} was not reached")


def test_every_job_by_keyboard_alone(open_page: Callable[..., Page]) -> None:
    """One page, three jobs one after the other, in the deep run all; each question is answered, though none has to."""
    page = open_page("whole_vehicle", ready=".wc-card button")
    assert page.url.endswith("whole_vehicle.ipynb")
    for number, job in enumerate(some_of(JOBS.values(), 3)):
        if number:
            reach(page, "New job …")
            page.keyboard.press("Enter")
            expect(page.locator(".wc-card button").first).to_be_visible(timeout=SOON)
            page.evaluate("document.activeElement.blur()")
        reach(page, job.title)
        page.keyboard.press("Enter")
        expect(page.get_by_label(job.questions[0].label, exact=True).first).to_be_visible(timeout=SOON)
        entries = 1
        for question in job.questions:
            reach(page, question.label)
            if isinstance(question, Number):
                page.keyboard.press("Control+A")
                page.keyboard.type(question.feet or f"{question.start * 1.1:.3g} {question.bare}".rstrip())
            else:
                page.keyboard.press("End")
            entries += 1
        reach(page, "Make the plan")
        page.keyboard.press("Enter")
        entries += 1
        assert entries <= MOST_ENTRIES
        expect(page.locator(".wc-top h2")).to_have_text(job.title, timeout=SOON)
        expect(page.locator(".wc-busy")).to_have_count(0, timeout=SOON)
        expect(headline(page)).to_contain_text("circuit", timeout=SOON)
        assert "break" not in headline(page).inner_text(), (job.title, headline(page).inner_text())
        page.evaluate("document.activeElement.blur()")
    name = page.locator(".wc-top h2").inner_text()
    page.wait_for_function("location.hash.includes('plan=')")
    page.reload()
    page.wait_for_selector(".wc-vehicle svg", timeout=SOON)
    expect(page.locator(".wc-top h2")).to_have_text(name)
