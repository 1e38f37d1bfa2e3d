"""The handout as a file in a real browser: it asks nobody, answers to mouse and keyboard, and prints page by page."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pandas as pd
import pytest
from playwright.sync_api import Browser, Page, expect

from dashboards.panels.handout.customer import bars
from dashboards.panels.handout.document import PARTS, handout
from tests.support.handout_example import HOSTILE, demo_page, hostile, job

pytestmark = pytest.mark.browser

Show = Callable[..., Page]


@pytest.fixture
def show(browser: Browser, tmp_path: Path) -> Iterator[Show]:
    """A function that opens a handout from its file; it may ask for nothing else and say no error."""
    asked: list[str] = []
    errors: list[str] = []
    opened: list[Page] = []
    file = tmp_path / "handout.html"

    def open_one(page_text: str, width: int = 1280, scheme: str = "light") -> Page:
        file.write_text(page_text, encoding="utf-8")
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda message: errors.append(message.text))
        page.on("dialog", lambda dialog: errors.append(dialog.message))
        page.goto(file.as_uri())
        opened.append(page)
        return page

    yield open_one
    for page in opened:
        page.context.close()
    assert set(asked) == {file.as_uri()}
    assert errors == []


def pages(page: Page, paper: str) -> int:
    """How many sheets it prints on."""
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))


def lightness(page: Page, property_name: str) -> float:
    """Of the body's colour or background, 0 to 255."""
    colour = str(page.evaluate(f"getComputedStyle(document.body).{property_name}"))
    return sum(map(float, re.findall(r"[\d.]+", colour)[:3])) / 3


def test_bars_answer_to_mouse_and_keyboard(show: Show) -> None:
    page = show(demo_page())
    first, second = bars(job())[:2]
    more = page.locator(".bars .more")
    expect(page.locator(".bars .prompt")).to_be_visible()
    page.locator(".bars .bar").nth(0).hover()
    expect(more.nth(0)).to_be_visible()
    expect(more.nth(0)).to_have_text(" ".join(first.parts))
    expect(page.locator(".bars .prompt")).to_be_hidden()
    page.mouse.move(5, 5)
    expect(more.nth(0)).to_be_hidden()
    page.locator(".bars .bar").nth(0).focus()
    expect(more.nth(0)).to_be_visible()
    page.keyboard.press("Tab")
    expect(more.nth(0)).to_be_hidden()
    expect(more.nth(1)).to_have_text(" ".join(second.parts))
    expect(more.nth(1)).to_be_visible()
    page.locator(".bars .bar").nth(3).hover()  # the mouse goes before the keyboard, so that two never overlap
    expect(more.nth(1)).to_be_hidden()
    expect(page.get_by_role("img", name=f"{second.name}: {' '.join(second.parts)}")).to_have_count(1)


def test_a_pin_and_its_conductor_show_each_other(show: Show) -> None:
    page = show(demo_page())
    cable = page.locator(".pins").first
    row, ring = cable.locator("tbody tr").nth(1), cable.locator(".wc-cable > g").nth(1).locator("circle").first
    plain = ring.evaluate("one => getComputedStyle(one).strokeWidth")
    row.get_by_role("checkbox").focus()
    assert ring.evaluate("one => getComputedStyle(one).strokeWidth") != plain
    page.mouse.move(5, 5)
    cable.locator("tbody tr").nth(0).get_by_role("checkbox").focus()
    assert ring.evaluate("one => getComputedStyle(one).strokeWidth") == plain
    before = row.evaluate("one => getComputedStyle(one.cells[0]).outlineStyle")
    ring.hover(force=True)
    assert row.evaluate("one => getComputedStyle(one.cells[0]).outlineStyle") != before


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_part_starts_a_page_and_the_customers_is_one(show: Show, paper: str) -> None:
    page = show(demo_page())
    everything = pages(page, paper)
    alone = []
    for part, name in PARTS.items():
        page.get_by_label(name).and_(page.get_by_role("radio")).check()
        expect(page.locator(f"main > section:not(#{part})").first).to_be_hidden()
        alone.append(pages(page, paper))
    assert alone[0] == 1
    assert everything == sum(alone)
    assert all(count > 1 for count in alone[1:])


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_customers_page_stays_one_with_long_names_and_forty_loudspeakers(show: Show, paper: str) -> None:
    levels = job().plan.levels
    plan = dataclasses.replace(job().plan)
    plan.__dict__["levels"] = pd.concat(  # in the place of the cached property
        levels.iloc[[0]].assign(wire=f"{at}", loudspeaker=f"{at} {'Wide Word ' * 6}", total_db=at / 10, feed_db=at / 10)
        for at in range(40)
    )
    page = show(handout(job(plan=plan, title="A long title of a job " * 4)))
    page.locator("#only-customer").check()
    assert pages(page, paper) == 1


def test_paper_is_black_on_white_and_dark_is_for_the_screen(show: Show) -> None:
    page = show(demo_page(), scheme="dark")
    assert lightness(page, "backgroundColor") < 60 < 200 < lightness(page, "color")
    page.emulate_media(media="print", color_scheme="dark")
    assert lightness(page, "backgroundColor") == 255
    assert lightness(page, "color") == 0
    assert page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "light"
    expect(page.locator("nav")).to_be_hidden()
    expect(page.locator(".bars .prompt")).to_be_hidden()
    page.emulate_media(media="screen", color_scheme="light")
    assert lightness(page, "color") < 60 < 200 < lightness(page, "backgroundColor")


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_width_scrolls_the_page_sideways(show: Show, width: int) -> None:
    page = show(demo_page().replace(job().title, "Donaudampfschifffahrtsgesellschaftskapitänskajüte"), width=width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    letters = page.locator(".bars text").first.evaluate(
        "one => one.getBoundingClientRect().height"
    )  # a line of text, about 1.2 times its size
    assert letters > 12


def test_what_a_person_typed_runs_nothing(show: Show) -> None:
    page = show(handout(hostile()))
    expect(page.get_by_role("heading", level=1).first).to_have_text(HOSTILE)
    expect(page).to_have_title(re.compile(re.escape(HOSTILE)))
    page.locator(".bars .bar", has_text="alert").hover()


def test_measured_values_and_ticks_can_be_entered_and_print(show: Show) -> None:
    page = show(demo_page())
    page.get_by_role("checkbox", name="Done: Main feed").first.check()
    box = page.get_by_role("textbox", name="Measured: Main feed")
    box.fill("12.1 V")
    expect(box).to_have_value("12.1 V")
    page.emulate_media(media="print")
    expect(box).to_be_visible()
    expect(page.get_by_role("checkbox", name="Done: Main feed").first).to_be_checked()
