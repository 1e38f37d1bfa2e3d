"""What a box says is what the page computes with, also when the kernel answers late."""

from __future__ import annotations

import json
import os
import random
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

import psutil
import pytest
from playwright.sync_api import Locator, Page, expect

from tests import DEEP
from tests.support.journeys import READY, Journey, agreed, hogs
from tests.support.pages import practice
from tests.support.server import Line, kernel
from tests.support.site import address, go
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.house_rules_file import house_rules_csv

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]


@contextmanager
def held(page: Page) -> Iterator[psutil.Process]:
    """The page's kernel stands still, as on a busy machine."""
    process = kernel(page)
    process.suspend()
    try:
        yield process
    finally:
        with suppress(psutil.NoSuchProcess):
            process.resume()


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def in_address(page: Page, part: str) -> None:
    page.wait_for_function("part => decodeURIComponent(location.href).replaceAll('+', ' ').includes(part)", arg=part)


def agree(page: Page, typed: str, heading: str) -> None:
    """Box, heading, picture and address say the same length."""
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile(rf", {re.escape(heading)} one way, wire at "))
    expect(box(page, "Run length, one way")).to_have_value(typed)
    in_address(page, f"length={typed}")
    page.wait_for_timeout(500)
    expect(box(page, "Run length, one way")).to_have_value(typed)


def test_typed_after_a_choice_that_sets_the_same_box(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_role("button", name="Line level", exact=True).click()
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
        page.get_by_role("button", name="Line level", exact=True).click()
        length.click()
        page.keyboard.press("Control+a")
        page.keyboard.type("18 f")
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile("^24 AWG, 5 m"))
    page.wait_for_timeout(300)
    expect(length).to_have_value("18 f")
    page.keyboard.type("t 6 in")
    page.keyboard.press("Enter")
    agree(page, "18 ft 6 in", "5.64 m")


def test_the_same_text_typed_again_is_an_entry(open_page: Opener) -> None:
    page = open_page("one_run")
    box(page, "Run length, one way").fill("9 m")
    page.keyboard.press("Enter")
    agree(page, "9 m", "9 m")
    with held(page):
        page.get_by_role("button", name="Line level", exact=True).click()  # has a length of its own
        box(page, "Run length, one way").fill("9 m")
        page.keyboard.press("Enter")
    agree(page, "9 m", "9 m")
    expect(page.locator(".wc-tiles h2")).to_contain_text("24 AWG")


def test_what_a_bare_gauge_may_mean_is_offered_to_press(open_page: Opener) -> None:
    page = open_page("one_run")
    size = box(page, "Size")
    size.fill("4 ga")
    size.press("Enter")
    offer = page.get_by_role("button", name="4 SAE", exact=True)
    expect(offer).to_be_visible()
    expect(page.locator(".wc-tiles h2")).to_contain_text("16 AWG")  # the last good answer stays
    page.keyboard.press("Tab")  # the slider
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(offer).to_be_focused()
    page.keyboard.press("Enter")
    expect(size).to_have_value("4 SAE")
    expect(page.locator(".wc-tiles")).to_contain_text("18.9 mm²")
    expect(offer).to_have_count(0)
    in_address(page, "size=4 SAE")


def test_a_press_on_a_tab_means_what_was_on_it(open_page: Opener) -> None:
    page = open_page("one_run")
    with held(page):
        page.get_by_role("button", name="Line level", exact=True).click()  # one tab less: those behind it move up
        page.get_by_role("button", name="Response", exact=True).click()
        page.wait_for_timeout(300)
    in_address(page, "tab=response")
    expect(page.get_by_role("button", name="Response", exact=True)).to_have_class(re.compile("mod-active"))
    expect(page.get_by_role("img", name=re.compile("20 kHz|[Ll]evel")).first).to_be_visible()


def test_what_is_selected_to_be_typed_over_stays_selected(open_page: Opener) -> None:
    page = open_page("one_run")
    length = box(page, "Run length, one way")
    with held(page):
        page.get_by_role("button", name="Line level", exact=True).click()
        length.select_text()
    expect(length).to_have_value("5 m")
    page.keyboard.type("6 m")
    page.keyboard.press("Enter")
    agree(page, "6 m", "6 m")


def test_an_entry_made_as_soon_as_a_tab_opens_is_in_the_address(open_page: Opener) -> None:
    """Before the address is written at all: what the tab brought is not what was typed."""
    page = open_page("one_run", new=True)
    page.get_by_role("button", name="Which size?", exact=True).click()
    page.evaluate(
        """() => new Promise(done => {
          const seen = new MutationObserver(() => {
            const box = document.querySelector('.wc-limits input[type=text]');
            if (!box) return;
            seen.disconnect();
            box.value = '0.07';
            box.dispatchEvent(new Event('change', { bubbles: true }));
            done();
          });
          seen.observe(document, { subtree: true, childList: true });
        })"""
    )
    in_address(page, "=0.07")
    page.reload()
    expect(page.locator(".wc-limits input[type=text]").first).to_have_value("0.07", timeout=30_000)


def test_what_was_typed_just_before_the_kernel_died_is_there_after_a_reload(opened: Opener) -> None:
    page = opened()
    with held(page) as process:
        page.get_by_role("button", name="Line level", exact=True).click()
        box(page, "Run length, one way").fill("18 ft 6 in")
        page.keyboard.press("Enter")
        box(page, "Size").fill("22")  # and this is not even entered
        process.kill()
    page.locator(".wc-notice").get_by_role("button", name="Load the page again").click()
    agree(page, "18 ft 6 in", "5.64 m")
    expect(box(page, "Size")).to_have_value("22")
    expect(page.locator(".wc-tiles h2")).to_have_text("22 AWG, 5.64 m one way, wire at 20 °C")
    page.wait_for_function("wirecalcActs.idle() && sessionStorage.length === 0")  # nothing of it is kept for long


def test_what_was_typed_without_a_connection_is_there_after_a_reload(opened: Opener, site: str) -> None:
    line = Line(int(site.rpartition(":")[2]))
    page = opened(f"http://127.0.0.1:{line.port}/voila/render/one_run.ipynb")
    line.cut()
    expect(page.locator(".wc-notice")).to_contain_text("No connection", timeout=10_000)
    page.get_by_role("button", name="Feet", exact=True).click()
    box(page, "Run length, one way").fill("7")
    page.keyboard.press("Enter")
    line.whole = True
    page.reload()
    agree(page, "7", "7 ft")
    line.door.close()


def test_a_cell_of_a_plan_outlives_its_kernel(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/whole_vehicle.ipynb?open=demo", READY["whole_vehicle?open=demo"])
    page.get_by_role("button", name="Wires", exact=True).click()
    wires = page.get_by_role("table", name="Wires")
    expect(wires.get_by_label("Length, row 2", exact=True)).to_be_visible()
    page.wait_for_function("wirecalcActs.idle()")
    with held(page) as process:
        page.get_by_role("button", name="Delete row 1", exact=True).click()
        wires.get_by_label("Length, row 2", exact=True).fill("4.321 m")
        wires.get_by_label("Length, row 2", exact=True).blur()
        process.kill()
    page.locator(".wc-notice").get_by_role("button", name="Load the page again").click()
    expect(wires.get_by_label("Length, row 1", exact=True)).to_have_value("4.321 m", timeout=60_000)


def test_an_answer_outlives_its_kernel_and_so_does_one_that_is_being_typed(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/practice.ipynb", READY["practice"])
    exercise = practice.asked(page, "loop")
    in_address(page, f"problem=loop.{exercise.seed}")
    page.wait_for_function("wirecalcActs.idle()")
    with held(page) as process:
        practice.enter(page, exercise.shown(exercise.drawn.answer))
        process.kill()
    page.locator(".wc-notice").get_by_role("button", name="Load the page again").click()
    expect(page.locator(".wc-right")).to_be_visible(timeout=60_000)
    expect(practice.answer(page)).to_have_value(exercise.shown(exercise.drawn.answer))
    page.get_by_role("button", name="Next problem", exact=True).click()
    expect(practice.answer(page)).to_have_value("")
    page.wait_for_function("wirecalcActs.idle()")  # the address has the new problem: what is typed belongs to it
    practice.answer(page).fill("0.12 oh")
    page.reload()
    expect(practice.answer(page)).to_have_value("0.12 oh", timeout=60_000)
    practice.tab(page, "My progress")
    expect(page.locator(".wc-told", has_text="1 problem solved")).to_be_visible()


def test_a_rule_a_file_and_what_the_browser_keeps_wait_for_the_connection(opened: Opener, site: str) -> None:
    line = Line(int(site.rpartition(":")[2]))
    page = opened(f"http://127.0.0.1:{line.port}/voila/render/house_rules.ipynb", READY["house_rules"])
    rule = box(page, "Load, thinnest loose single wire, AWG")
    rules = house_rules_csv(HouseRules.from_table().replace("least_size/load///AWG", "16"))
    line.cut()
    expect(page.locator(".wc-notice")).to_contain_text("No connection", timeout=10_000)
    page.locator("input[type=file]").set_input_files({"name": "ours.csv", "mimeType": "text/csv", "buffer": rules})
    page.wait_for_function("wirecalcActs.count() === 1")
    box(page, "Load, thinnest loose single wire, mm²").fill("4")
    page.keyboard.press("Enter")
    line.whole = True
    expect(page.locator(".wc-told", has_text="2 of ")).to_be_visible(timeout=30_000)
    expect(rule).to_have_value("16")
    page.wait_for_function("localStorage.getItem('wirecalc house rules')?.includes('AWG') && wirecalcActs.idle()")
    rule.fill("14")  # and is not entered
    page.reload()
    expect(rule).to_have_value("14", timeout=60_000)
    page.wait_for_function("wirecalcActs.idle()")
    kept = json.loads(page.evaluate("localStorage.getItem('wirecalc house rules')"))
    assert kept == {"least_size/load///AWG": "14", "least_size/load///mm2": "4"}
    line.door.close()


def test_an_address_written_while_a_reload_is_under_way_loses_nothing(opened: Opener) -> None:
    """The reload asks for the address of its beginning; what is written to it meanwhile is not in that.

    A visit of that address, said to be a reload, stands for one whose moment a test cannot choose.
    """
    page = opened()
    page.add_init_script("performance.getEntriesByType = () => [{ type: 'reload' }]")
    page.wait_for_function("wirecalcActs.idle()")
    began = page.url
    box(page, "Run length, one way").fill("9 m")
    page.keyboard.press("Enter")
    page.evaluate(
        """began => {
          const size = [...document.querySelectorAll('label')].find(one => one.textContent === 'Size').control;
          const later = setInterval(() => {
            if (!location.search.includes('length=9')) return;
            clearInterval(later);
            size.value = '18';
            size.dispatchEvent(new Event('input'));  // and is not entered
            location.href = began;
          }, 20);
        }""",
        began,
    )
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile("^18 AWG, 9 m"), timeout=60_000)
    agree(page, "9 m", "9 m")
    expect(box(page, "Size")).to_have_value("18")


def test_an_older_link_of_the_page_means_what_it_says(opened: Opener) -> None:
    page = opened()
    page.wait_for_function("wirecalcActs.idle()")
    began = page.url
    box(page, "Run length, one way").fill("9 m")
    page.keyboard.press("Enter")
    in_address(page, "length=9")
    page.wait_for_function("wirecalcActs.idle()")
    page.goto(began)
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile("AWG, 5.5 m"), timeout=60_000)
    expect(box(page, "Run length, one way")).to_have_value("5.5 m")
    page.wait_for_function("wirecalcActs.idle()")
    assert "length=9" not in page.url


def test_a_cell_that_is_being_typed_outlives_a_reload(open_page: Opener) -> None:
    page = open_page("whole_vehicle?open=demo", ready=READY["whole_vehicle?open=demo"])
    page.get_by_role("button", name="Wires", exact=True).click()
    cell = page.get_by_role("table", name="Wires").get_by_label("Length, row 2", exact=True)
    cell.fill("4.321 m")
    page.reload()
    expect(cell).to_have_value("4.321 m", timeout=60_000)


JOURNEYS = int(os.environ.get("WIRECALC_JOURNEYS", "10"))  # over all pages
HOGS = int(os.environ.get("WIRECALC_HOGS", "0"))  # processes that want a core each, meanwhile
SEED = int(os.environ.get("WIRECALC_SEED", "1"))


WANDERED = list(READY) if DEEP or "WIRECALC_JOURNEYS" in os.environ else ["one_run", "whole_vehicle?open=demo"]


@pytest.mark.parametrize("name", WANDERED)
def test_a_page_agrees_with_itself_after_any_journey(open_page: Opener, site: str, name: str) -> None:
    """`WIRECALC_JOURNEYS=200` makes so many, `WIRECALC_HOGS=2` on a busy machine, `WIRECALC_SEED` others."""
    page, wrong = open_page(name, ready=READY[name]), []
    with hogs(HOGS):
        for number in range(max(JOURNEYS // len(READY), 1)):
            rng = random.Random(f"{name} {SEED} {number}")
            journey = Journey(page, rng, kernel(page))
            journey.go(rng.randint(4, 14))
            try:
                disagreements = agreed(journey, READY[name])
            except AssertionError as fault:
                disagreements = [str(fault)]
                go(page, address(site, name), READY[name])
            if disagreements:
                wrong.append((number, disagreements, journey.steps))
                print(f"\n{name} {number}: {disagreements} after {journey.steps}")
    print(f"\n{name}: {number + 1} journeys, {len(wrong)} disagree")
    assert wrong == []
