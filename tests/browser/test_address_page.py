"""Addresses in a real browser: what a person changed is there after a reload, and after the kernel has died."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Dialog, Locator, Page, expect

from tests import DEEP
from tests.support.bad_files import bad_files
from tests.support.jobs import wide
from tests.support.pages import bench, practice, show_and_hear, whole_vehicle
from tests.support.server import kernel
from wirecalc.vehicle.file import demo_plan, write_workbook

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]
SOON = 30_000  # [ms]


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def enter(page: Page, label: str, text: str) -> None:
    box(page, label).fill(text)
    page.keyboard.press("Enter")


def reloaded(page: Page, part: str, ready: str) -> None:
    """Wait until the address has the last change, and load it again."""
    page.wait_for_function("part => decodeURIComponent(location.href).includes(part)", arg=part)
    page.reload()
    page.wait_for_selector(ready, state="attached", timeout=60_000)


def test_one_run_is_back(open_page: Opener) -> None:
    page = open_page("one_run")
    assert page.url.endswith("/one_run.ipynb")  # an untouched page has nothing in it
    page.get_by_role("button", name="Line level", exact=True).click()
    enter(page, "Run length, one way", "18 ft 6 in")
    page.get_by_role("button", name="Which size?", exact=True).click()
    limit = page.locator(".wc-limits input[type=text]").first
    limit.fill("0.07")
    limit.press("Enter")
    page.wait_for_function("wirecalcActs.idle()")
    before = page.locator(".wc-tiles").inner_text()
    reloaded(page, "=0.07", ".wc-limits input")
    expect(limit).to_have_value("0.07", timeout=SOON)
    expect(box(page, "Run length, one way")).to_have_value("18 ft 6 in")
    page.wait_for_function("wirecalcActs.idle()")
    assert page.locator(".wc-tiles").inner_text() == before


def test_the_bench_is_back(open_page: Opener) -> None:
    page = open_page("bench", ready=bench.READY)
    enter(page, "Strands", "16")
    enter(page, "Strand diameter", "0.254 mm")
    told = page.locator(".wc-told:visible").first
    expect(told).to_contain_text("18 AWG")
    page.get_by_role("button", name="Add to the log").click()
    log = page.get_by_role("region", name="Samples in the log")
    expect(log).to_contain_text("sample 1")
    before = told.inner_text(), log.inner_text()
    page.get_by_role("button", name="Run right?").click()
    enter(page, "Your reading", "270 mohm")
    verdict = page.locator(".wc-told:visible").first
    expect(verdict).to_contain_text("270 mΩ")
    page.wait_for_function("wirecalcActs.idle()")
    verdict_text = verdict.inner_text()
    reloaded(page, "reading=270+mohm", ".wc-keypad-toggle")
    expect(box(page, "Your reading")).to_have_value("270 mohm", timeout=SOON)
    expect(verdict).to_have_text(verdict_text)
    page.get_by_role("button", name="What wire?").click()
    expect(box(page, "Strand diameter")).to_have_value("0.254 mm")
    assert (told.inner_text(), log.inner_text()) == before


def test_show_and_hear_is_back(open_page: Opener) -> None:
    page = open_page("show_and_hear", ready=show_and_hear.READY)
    untouched = page.locator(".wc-told").first.inner_text()
    enter(page, "A: size", "22 AWG")
    page.get_by_label("B: metal").select_option(index=2)
    page.get_by_label("Sound", exact=True).select_option("Plucked string")
    told = page.locator(".wc-told").first
    expect(told).not_to_have_text(untouched)
    page.wait_for_function("wirecalcActs.idle()")  # all three are in it, and in the address
    metal = page.get_by_label("B: metal").input_value()
    before = told.inner_text()
    reloaded(page, "sound=plucked", show_and_hear.READY)
    expect(box(page, "A: size")).to_have_value("22 AWG", timeout=SOON)
    expect(page.get_by_label("B: metal")).to_have_value(metal)
    expect(told).to_have_text(before)


def test_practice_is_back(open_page: Opener) -> None:
    page = practice.opened(open_page)
    done = practice.asked(page, "fuse")
    practice.enter(page, done.shown(done.drawn.answer))
    page.get_by_role("button", name="Next problem").click()
    heading = page.locator(".wc-problem:visible h2")
    expect(heading).not_to_contain_text(f"no. {done.seed}")
    asked = heading.inner_text()
    number = re.search(r"no\. (\d+)", asked)
    assert number
    reloaded(page, f"problem=fuse.{number[1]}", ".wc-answering input")
    expect(heading).to_have_text(re.compile(re.escape(f"no. {number[1]}")), timeout=SOON)
    page.get_by_role("button", name="My progress").click()
    expect(page.locator(".wc-told:visible")).to_have_text(re.compile("^1 problem solved"))


def wires(page: Page) -> Locator:
    return page.get_by_role("table", name="Wires")


def test_an_edit_of_a_plan_outlives_its_kernel(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/whole_vehicle.ipynb?open=demo", whole_vehicle.READY)
    headline = whole_vehicle.headline(page)
    expect(headline).to_have_text(whole_vehicle.SIGNED)
    whole_vehicle.tab(page, "Wires")
    size = whole_vehicle.cell(page, "Size", "Right dash run")
    size.fill("20 AWG")
    size.press("Tab")
    expect(headline).to_have_text("1 of 36 circuits breaks a limit.", timeout=SOON)
    faulty = whole_vehicle.cell(page, "Length", "Main feed")
    faulty.fill("5 bananas")
    faulty.press("Tab")
    page.wait_for_function("location.hash.length > 1000")
    process = kernel(page)
    page.wait_for_timeout(500)
    process.kill()
    notice = page.locator(".wc-notice")
    expect(notice).to_contain_text("has stopped", timeout=10_000)
    notice.get_by_role("button", name="Load the page again").click()
    expect(notice).to_have_count(0, timeout=SOON)
    expect(size).to_have_value("20 AWG", timeout=SOON)
    expect(faulty).to_have_value("5 bananas")
    # the fault leads to its cell, from whichever tab
    whole_vehicle.tab(page, "Circuits")
    page.get_by_role("button", name="Wires, row").click()
    expect(faulty).to_be_focused()
    faulty.fill("5 m")
    faulty.press("Tab")
    expect(headline).to_have_text(re.compile("^([12] of )?36 circuits"), timeout=SOON)
    assert "Traceback" not in page.content()


def test_leaving_with_a_plan_too_long_for_a_link_is_asked(opened: Opener, site: str, tmp_path: Path) -> None:
    page = opened(f"{site}/voila/render/whole_vehicle.ipynb?open=demo", whole_vehicle.READY)
    asked: list[str] = []
    stay = True

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        if stay:
            dialog.dismiss()
        else:
            dialog.accept()

    page.on("dialog", answer)
    (tmp_path / "long.xlsx").write_bytes(write_workbook(wide(360)))
    whole_vehicle.give(page, tmp_path / "long.xlsx")
    expect(page.get_by_text("This plan is too long for a link")).to_be_visible(timeout=SOON)
    assert not page.locator("html[data-wc-unsaved]").count()  # its file has it
    whole_vehicle.tab(page, "Wires")
    remark = wires(page).get_by_label("Remark, row 1", exact=True)
    remark.fill("another")
    remark.press("Tab")
    expect(page.locator("html[data-wc-unsaved]")).to_have_count(1)
    process = kernel(page)
    page.evaluate("location.assign('about:blank#left')")
    page.wait_for_timeout(500)
    assert asked == ["beforeunload"]
    assert process.is_running()
    remark.fill("still at work")  # who stays has a page that works
    remark.press("Tab")
    page.get_by_role("button", name="Undo").click()
    expect(remark).to_have_value("another")
    with page.expect_download():
        page.get_by_role("button", name="Save as .xlsx").click()
    expect(page.locator("html[data-wc-unsaved]")).to_have_count(0)
    remark.fill("to be lost")
    remark.press("Tab")
    expect(page.locator("html[data-wc-unsaved]")).to_have_count(1)
    stay = False
    page.goto("about:blank")
    assert asked == ["beforeunload"] * 2
    process.wait(10)  # as after every departure


def test_bad_files_leave_a_plan_as_it_is(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/whole_vehicle.ipynb?open=demo", whole_vehicle.READY)
    whole_vehicle.tab(page, "Wires")
    size = whole_vehicle.cell(page, "Size", "Right dash run")
    size.fill("14 AWG")
    size.press("Tab")
    chosen, note = page.locator("label.wc-file:visible input").first, page.locator("label.wc-file:visible + div").first
    every = 2 if DEEP else 8  # without a browser all are tried, see test_uploads.py
    files = [*bad_files(".xlsx")[::every], *bad_files(".csv")[1::every]]
    for name, content in files:
        chosen.set_input_files({"name": name, "mimeType": "", "buffer": content})
        expect(note.get_by_role("alert")).to_contain_text(name)
        assert "fault of the page" not in note.inner_text(), name
        assert note.locator("b, img").count() == 0
    book = demo_plan()
    chosen.set_input_files({"name": "mine.xlsx", "mimeType": "", "buffer": write_workbook(book)})
    expect(note).to_have_text("mine.xlsx was read.", timeout=SOON)
    expect(size).to_have_value("choose")
    page.get_by_role("button", name="Undo").click()
    expect(size).to_have_value("14 AWG")  # nothing was lost
    assert "Traceback" not in page.content()
    expect(page.locator(".wc-notice")).to_have_count(0)


def test_a_damaged_link_and_another_on_the_same_page(opened: Opener, site: str) -> None:
    address = f"{site}/voila/render/whole_vehicle.ipynb"
    page = opened(f"{address}#plan=abc", whole_vehicle.READY)
    expect(page.get_by_role("alert").filter(has_text="Address, this plan")).to_contain_text("damaged")
    expect(whole_vehicle.headline(page)).to_have_text(whole_vehicle.SIGNED)
    with page.expect_event("domcontentloaded"):
        page.evaluate("location.hash = '#plan='")  # as a link to this page does that was pasted into the address
    page.wait_for_selector(whole_vehicle.READY, timeout=60_000)
    expect(page.get_by_role("alert").filter(has_text="Address, this plan")).to_contain_text("damaged")
