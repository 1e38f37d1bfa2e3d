"""The page of the house rules in a real browser: changes are kept over visits, tabs and pages; keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.support.site import by_tab, screens

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]
READY = ".wc-value input"
LABEL = "Load, thinnest loose single wire, AWG"


def box(page: Page) -> Locator:
    return page.get_by_role("textbox", name=LABEL, exact=True)


def test_a_change_is_there_on_the_next_visit_and_in_the_other_tab(open_page: Opener) -> None:
    page = open_page("house_rules", ready=READY)
    other = page.context.new_page()
    other.goto(page.url)
    expect(box(other)).to_have_value("18")
    box(page).fill("14")
    page.keyboard.press("Enter")
    expect(page.get_by_text("changed; default: 18")).to_be_visible()
    expect(box(other)).to_have_value("14")
    page.wait_for_function("location.hash.startsWith('#house=')")
    bare = page.url.partition("#")[0]
    other.goto("about:blank")
    other.goto(bare)
    expect(box(other)).to_have_value("14", timeout=30_000)
    other.get_by_role("button", name="Put back: Load").click()
    expect(box(page)).to_have_value("18")
    other.goto("about:blank")
    other.close()


def test_a_link_brings_its_rules_and_the_person_chooses(open_page: Opener) -> None:
    page = open_page("house_rules", ready=READY)
    box(page).fill("14")
    page.keyboard.press("Enter")
    page.wait_for_function("location.hash.startsWith('#house=')")
    link = page.url
    box(page).fill("12")
    page.keyboard.press("Enter")
    page.wait_for_function("link => location.href !== link", arg=link)
    # for three seconds the address before counts as this page's own, should a reload have begun with it
    page.wait_for_function("!JSON.stringify({ ...sessionStorage }).includes(location.hash.slice(0, 20))")
    page.goto("about:blank")
    page.goto(link)
    told = page.get_by_text("This link brings its own")
    expect(told).to_contain_text("1 differs from yours", timeout=30_000)
    expect(box(page)).to_have_value("14")
    page.get_by_role("button", name="Use mine").click()
    expect(box(page)).to_have_value("12")
    expect(told).to_have_count(0)
    page.evaluate("localStorage.setItem('wirecalc house rules', '{damaged')")
    page.goto("about:blank")
    page.goto(link.partition("#")[0])
    expect(page.get_by_role("alert")).to_contain_text("won’t work", timeout=30_000)
    expect(box(page)).to_have_value("18")
    page.evaluate("localStorage.clear()")


# lists whose text is longer than the box; of one to choose from the longest words, beside its arrow
CUT = """() => [...document.querySelectorAll('.wc-value-line :is(input, select)')].map(box => {
  const pen = document.createElement('canvas').getContext('2d');
  pen.font = getComputedStyle(box).font;
  const texts = box.options ? [...box.options].map(option => option.text) : [box.value];
  const room = box.clientWidth - 20;
  return texts.filter(text => pen.measureText(text).width > room).map(text => `${box.ariaLabel}: ${text}`)[0];
}).filter(Boolean)"""


def test_a_fault_is_said_by_its_box_on_every_screen(open_page: Opener) -> None:
    page = open_page("house_rules", ready=READY)
    box(page).fill("thick")
    page.keyboard.press("Enter")
    fault = page.locator(".wc-value [role=alert]")
    expect(fault).to_contain_text("didn’t understand")
    expect(box(page)).to_have_value("thick")
    page.evaluate("document.querySelectorAll('.wc-values').forEach(part => { part.open = true; })")
    for _ in screens(page):
        expect(fault).to_be_visible()
        assert page.evaluate(CUT) == []


def test_by_keyboard_alone(open_page: Opener) -> None:
    page = open_page("house_rules", ready=READY)
    page.get_by_role("heading", name="House rules").click()
    reached = by_tab(page, LABEL)
    assert "Save as a file" in reached
    assert "Open a file …" in reached
    assert reached[-1] == LABEL
    page.keyboard.press("Control+A")
    page.keyboard.type("16")
    page.keyboard.press("Enter")
    expect(page.get_by_text("changed; default: 18")).to_be_visible()
    assert by_tab(page, "Put back: Load")[-1] == "Put back: Load"
    page.keyboard.press("Enter")
    expect(box(page)).to_have_value("18")
    expect(box(page)).to_be_focused()


def test_feet_are_kept_for_the_next_visit_and_a_link_says_its_own(open_page: Opener) -> None:
    page = open_page("show_and_hear", ready=".wc-watts")
    page.get_by_role("button", name="Feet", exact=True).click()
    length = page.get_by_role("textbox", name="A: run length, one way")
    expect(length).to_have_value(re.compile("ft"))
    page.wait_for_function("localStorage.getItem('wirecalc units') === 'feet'")
    bare = page.url.partition("?")[0]
    for address, unit in ((bare, "ft"), (f"{bare}?units=metres&a-length=4", "m$|^4$")):
        page.goto("about:blank")
        page.goto(address)
        expect(length).to_have_value(re.compile(unit), timeout=30_000)
    expect(page.get_by_role("button", name="Metres", exact=True)).to_have_attribute("aria-pressed", "true")
    page.evaluate("localStorage.clear()")
