"""The page Practice in a real browser: what a person does, and what they see."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.support.pages.practice import Opener, answer, asked, enter, opened, tab
from wirecalc.practice.kinds import KINDS, sheet

pytestmark = pytest.mark.browser


def test_a_problem_wrongly_then_rightly_then_the_next(open_page: Opener) -> None:
    page = opened(open_page, 390)
    exercise = asked(page, "decibels")
    half = exercise.drawn.mistakes[0]
    enter(page, exercise.shown(half.value))
    expect(page.get_by_role("alert")).to_contain_text(half.hint)
    expect(answer(page)).to_have_value(exercise.shown(half.value))  # nothing typed is lost
    expect(answer(page)).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("button", name="Show the worked solution")).to_be_hidden()
    enter(page, "4 V")
    expect(page.get_by_role("alert")).to_contain_text("voltage")
    enter(page, "90 dB")
    page.get_by_role("button", name="Show the worked solution").click()
    expect(page.locator(".wc-solution")).to_contain_text("log10")
    expect(page.locator(".wc-solution")).to_contain_text(exercise.shown(exercise.drawn.answer))
    enter(page, exercise.shown(exercise.drawn.answer))
    expect(page.get_by_role("status").first).to_contain_text("Right")
    page.get_by_role("button", name="Next problem").click()
    expect(page.locator(".wc-problem:visible h2")).not_to_contain_text(f"no. {exercise.seed}")
    expect(answer(page)).to_have_value("")
    expect(answer(page)).to_be_focused()
    assert "Traceback" not in page.content()


def test_keyboard_alone(open_page: Opener) -> None:
    page = opened(open_page)
    exercise = asked(page, "loop")
    answer(page).focus()
    page.keyboard.type("7 ohm")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_be_visible()
    page.keyboard.press("Control+a")
    page.keyboard.type(exercise.shown(exercise.drawn.answer))
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Next problem")).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.locator(".wc-problem:visible h2")).not_to_contain_text(f"no. {exercise.seed}")
    reached = []
    page.get_by_role("button", name="Problems", exact=True).focus()
    for _ in range(40):
        name = page.evaluate(
            "(e => e === document.body ? '' : e.labels?.[0]?.textContent || e.textContent)(document.activeElement)"
        )
        if reached and not name:
            break
        reached.append(name)
        page.keyboard.press("Tab")
    places = [reached.index(name) for name in ("Problems", "Lessons", "Kind of problem", "Your answer", "Check")]
    assert places == sorted(places)
    assert "AWG" in reached[places[2] : places[3]]  # as a word of the problem: sizes are switched on top
    page.locator(".wc-words-in").get_by_role("button", name="AWG", exact=True).focus()
    page.keyboard.press("Enter")
    meaning = page.locator(".wc-meaning:popover-open")
    expect(meaning).to_contain_text("American wire gauge")
    page.keyboard.press("Escape")
    expect(meaning).to_have_count(0)


def test_progress_is_saved_and_restored(open_page: Opener, tmp_path: Path) -> None:
    page = opened(open_page)
    exercise = asked(page, "fuse")
    enter(page, exercise.shown(exercise.drawn.answer))
    expect(page.get_by_role("button", name="Next problem")).to_be_visible()
    tab(page, "My progress")
    told = page.locator(".wc-told:visible")
    expect(told).to_have_text(re.compile("^1 problem solved"))
    with page.expect_download() as download:
        page.get_by_role("button", name="Save my progress").click()
    kept = tmp_path / download.value.suggested_filename
    download.value.save_as(kept)
    assert json.loads(kept.read_text())["problems"]["fuse"] == {"solved": 1, "at_once": 1, "shown": 0}

    other = opened(open_page)
    tab(other, "My progress")
    told = other.locator(".wc-told:visible")
    expect(told).to_have_text(re.compile("^0 problems solved"))
    bad = tmp_path / "bad.json"
    bad.write_text('{"format": "<b>"}')
    upload = other.locator("input[type=file]")
    upload.set_input_files(kept)
    expect(told).to_have_text(re.compile("^1 problem solved"))
    upload.set_input_files(bad)
    expect(other.get_by_role("alert")).to_contain_text("another kind of file")
    expect(told).to_have_text(re.compile("^1 problem solved"))  # nothing is lost


def test_a_lessons_picture_is_played_with(open_page: Opener) -> None:
    page = opened(open_page, 820)
    tab(page, "Lessons")
    page.wait_for_selector(".js-plotly-plot .barlayer .trace", state="attached")
    heights = "[...document.querySelector('.js-plotly-plot').data[0].y]"
    before, told = page.evaluate(heights), page.locator(".wc-told:visible").inner_text()
    slider = page.get_by_role("slider", name="Length, one way, slider")
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(".wc-told:visible")).not_to_have_text(told)
    page.wait_for_function(f"old => {heights}[0] > old", arg=before[0])
    page.get_by_role("button", name="Next lesson").click()
    expect(page.locator(".wc-problem:visible h2")).to_have_text("Volts and decibels")
    page.wait_for_selector(".js-plotly-plot .scatterlayer .trace", state="attached")
    expect(page.locator(".js-plotly-plot")).to_have_attribute("aria-label", "What the loop costs")
    page.get_by_role("button", name="Practise this").click()
    expect(page.get_by_role("heading", name=KINDS["decibels"].title)).to_be_visible()
    tab(page, "My progress")
    expect(page.locator(".wc-told:visible", has_text="1 of 8 lessons")).to_be_visible()


def test_the_sheet_prints_with_its_key_on_a_page_of_its_own(open_page: Opener, tmp_path: Path) -> None:
    page = opened(open_page)
    tab(page, "Sheet for a class")
    seed = page.get_by_role("textbox", name="Number of the sheet", exact=True)
    seed.fill("4711")
    page.keyboard.press("Enter")
    expect(page.locator(".wc-sheet h2").first).to_have_text("Practice sheet 4711")
    page.emulate_media(media="print")
    for control in (
        page.get_by_role("button", name="Lessons"),
        seed,
        page.get_by_role("button", name="Save the sheet"),
    ):
        expect(control).to_be_hidden()
    starts = "[...document.querySelectorAll('.wc-key')].map(key => getComputedStyle(key).breakBefore)"
    assert page.evaluate(starts) == ["page"]
    assert len(page.pdf()) > 10_000
    page.emulate_media(media="screen")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the sheet as a file").click()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    page.goto("about:blank")
    page.set_content(file.read_text(encoding="utf-8"))
    expect(page.get_by_role("heading", name="Answer key to sheet 4711")).to_be_visible()
    expect(page.locator(".wc-asked")).to_have_count(8)
    first = sheet(4711, ["loop"], 1)[0]  # the first kind that is ticked
    expect(page.locator(".wc-asked").first).to_have_text(first.drawn.text)
    expect(page.locator(".wc-key li").first).to_contain_text(first.shown(first.drawn.answer))
