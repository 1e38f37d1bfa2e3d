"""The page At the bench in a real browser: each part by the large keys and by the keyboard, the log out and in."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from dashboards.panels.bench.identify import MORE
from dashboards.panels.bench.page import CAUTIONS, PARTS, BenchPanel
from tests.support.pages.bench import READY
from tests.support.site import SCREENS, screens

Opener = Callable[..., Page]
WHAT, RIGHT, FIT = PARTS


@pytest.fixture
def bench(open_page: Opener) -> Callable[..., Page]:
    def opened(part: str = WHAT, width: int = 820) -> Page:
        page = open_page("bench", width, SCREENS[width], ready=READY)
        if part != WHAT:
            page.get_by_role("button", name=part).click()
            expect(page.locator(".wc-tiles:visible")).to_be_visible()
        return page

    return opened


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def entry(page: Page, label: str) -> Locator:
    return page.locator(".wc-entry", has=box(page, label))


def told(page: Page) -> Locator:
    return page.locator(".wc-told:visible").first


def tap(page: Page, label: str, keys: str) -> None:
    """Touch an entry, clear it, and press these keys of the pad, parted by spaces."""
    pad = page.get_by_role("group", name="Keypad")
    if not pad.is_visible():
        page.get_by_role("button", name="Keypad", exact=True).click()
    box(page, label).focus()
    for key in ("Clear", *keys.split()):
        pad.get_by_text(key, exact=True).click()
    expect(box(page, label)).to_be_focused()


def type_in(page: Page, label: str, text: str) -> None:
    box(page, label).fill(text)
    box(page, label).press("Enter")


def keys_go_and_come(page: Page) -> None:
    """Something else is touched: the keys go, and come back with the next entry, which they do not cover."""
    pad = page.get_by_role("group", name="Keypad")
    page.locator("h1").click()
    expect(pad).to_be_hidden()
    box(page, "Sold as").focus()
    expect(pad).to_be_visible()
    page.wait_for_function(
        "document.activeElement.getBoundingClientRect().bottom < document.querySelector('.wc-keys').offsetTop"
    )


@pytest.mark.browser
def test_what_wire_by_the_large_keys(bench: Callable[..., Page]) -> None:
    page = bench()
    page.get_by_role("button", name=MORE).click()
    tap(page, "Strands", "1 6")
    tap(page, "Strand diameter", ". 2 5 4 mm")
    type_in(page, "Resistance", "62.0 mohm")
    tap(page, "Meter leads", "2 0 . 0 mΩ")
    expect(page.get_by_role("note").filter(has_text="enter the measured length.")).to_be_visible()
    tap(page, "Measured length", "2 . 0 0 m")
    expect(told(page)).to_contain_text("This is copper, plain or tinned (over 99 %)")
    expect(told(page)).to_contain_text("18 AWG")
    type_in(page, "Resistance", "89.0 mohm")
    tap(page, "Sold as", "1 8 AWG")
    expect(told(page)).to_contain_text(re.compile(r"Sold as 18 AWG: [12]\.\d sizes thinner than its label"))
    expect(told(page)).to_contain_text(re.compile(r"would differ by 3\d %: copper-clad aluminium is likely"))
    expect(page.locator(".wc-tiles:visible")).to_contain_text("copper-clad aluminium")
    expect(page.locator("h2", has_text="Measure next")).to_be_visible()
    bars = page.evaluate(
        "document.querySelector('.js-plotly-plot').data"
        ".map(t => [t.name, Math.max(...t.y), t.x[t.y.indexOf(Math.max(...t.y))]])"
    )
    assert max(bars, key=lambda bar: bar[1])[::2] == ["copper-clad aluminium", "18 AWG"]

    # a faulty entry keeps the last result, and what was typed
    before = told(page).inner_text()
    tap(page, "Strands", "7 . 5")
    alert = entry(page, "Strands").get_by_role("alert")
    expect(alert).to_contain_text("Strands")
    expect(box(page, "Strands")).to_have_value("7.5")
    assert told(page).inner_text() == before
    tap(page, "Strands", "1 6")
    expect(alert).to_have_count(0)

    # a unit takes the place of a unit; backspace takes one character; Next goes on to the next entry
    tap(page, "Measured length", "2 . 0 1 ft m ⌫ ⌫ ⌫ 0 m")
    expect(box(page, "Measured length")).to_have_value("2.00 m")
    page.get_by_role("group", name="Keypad").get_by_text("Next", exact=True).click()
    expect(box(page, "Meter leads")).to_be_focused()

    # contradictory readings are said to be so, and nothing is chosen
    type_in(page, "Resistance", "40.0 mohm")
    expect(told(page)).to_contain_text("Nothing is chosen")
    expect(page.locator(".wc-tiles:visible")).to_have_text("These readings contradict each other")
    expect(page.locator(".js-plotly-plot").first).to_be_hidden()
    assert "Traceback" not in page.content()

    keys_go_and_come(page)

    # off: the keys go, and the device's own keyboard may come back
    assert box(page, "Strands").get_attribute("inputmode") == "none"
    page.get_by_role("button", name="Keypad", exact=True).click()
    expect(page.get_by_role("group", name="Keypad")).to_be_hidden()
    assert box(page, "Strands").get_attribute("inputmode") is None


@pytest.mark.browser
def test_the_log_goes_out_and_comes_back(bench: Callable[..., Page], tmp_path: Path) -> None:
    page = bench(width=1280)
    page.get_by_role("button", name=MORE).click()
    log = page.get_by_role("region", name="Samples in the log")
    page.get_by_role("button", name="Download the log (CSV)").click()
    expect(page.get_by_role("alert").filter(has_text="Add this sample first")).to_be_visible()
    for label, text in {"Strands": "16", "Strand diameter": "0.254 mm", "Wire temperature": "-5 °C"}.items():
        type_in(page, label, text)
    expect(told(page)).to_contain_text("18 AWG")
    box(page, "Name of this sample").fill("=1+1, invented spool")
    page.get_by_role("button", name="Add to the log").click()
    expect(log).to_contain_text("=1+1, invented spool")
    type_in(page, "Strands", "26")
    box(page, "Name of this sample").fill("")
    page.get_by_role("button", name="Add to the log").click()
    expect(log.locator("tbody tr")).to_have_count(2)
    with page.expect_download() as download:
        page.get_by_role("button", name="Download the log (CSV)").click()
    saved = tmp_path / download.value.suggested_filename
    download.value.save_as(saved)
    text = saved.read_text(encoding="utf-8-sig")
    assert '\n"\'=1+1, invented spool"' in text
    assert "'-5 °C" in text
    rows = log.locator("tbody").inner_text().split()  # cards on a phone

    other = bench(width=390)
    chosen = other.locator("input[type=file]")
    log = other.get_by_role("region", name="Samples in the log")
    chosen.set_input_files(saved)
    expect(log.locator("tbody tr")).to_have_count(2)
    assert log.locator("tbody").inner_text().split() == rows
    assert other.evaluate("document.documentElement.scrollWidth") <= 390
    bad = tmp_path / "bad.csv"
    bad.write_text(text.replace("16,", "1.5,").replace("1 % + 3 counts", "3"), encoding="utf-8-sig")
    chosen.set_input_files(bad)
    faults = other.get_by_role("alert").filter(has_text="Row 2")
    for place in (
        "Row 2, column 2 (Strands)",
        "Row 2, column 13 (Meter accuracy)",
        "Row 3, column 13 (Meter accuracy)",
    ):
        expect(faults).to_contain_text(place)
    assert log.locator("tbody").inner_text().split() == rows


@pytest.mark.browser
def test_a_finished_run_high_low_and_in_band(bench: Callable[..., Page]) -> None:
    page = bench(RIGHT)
    expect(told(page)).to_contain_text("A good run reads 140 mΩ to 157 mΩ with its far end joined")
    tiles = page.locator(".wc-tiles:visible")
    for keys, outcome, words in (
        ("1 5 0 mΩ", "in band", "is in the band of a good run"),
        ("2 3 5 mΩ", "high", "87 mΩ too high"),
        ("8 0 mΩ", "low", "68 mΩ too low"),
        ("OL", "open", "no path"),
    ):
        tap(page, "Your reading", keys)
        expect(told(page)).to_contain_text(words)
        expect(tiles).to_contain_text(outcome)
    tap(page, "Your reading", "2 3 5 mΩ")
    likes = page.locator(".wc-show:visible li")
    for like in ("bad crimp", "gauge sizes thinner", "copper-clad aluminium", "A run of 8.7 m"):
        expect(likes.filter(has_text=like).first).to_be_visible()
    tap(page, "Your reading", "8 0 mΩ")
    expect(likes.filter(has_text="Shorted early, at about 3.0 m").first).to_be_visible()
    before = told(page).inner_text()
    tap(page, "Run length, one way", "0 m")
    expect(entry(page, "Run length, one way").get_by_role("alert")).to_contain_text("above 0")
    assert told(page).inner_text() == before
    tap(page, "Run length, one way", "3 m")
    expect(told(page)).to_contain_text("in the band")
    expect(page.locator("li", has_text="violet with a black stripe").first).to_be_visible()
    tap(page, "Reading of the coils", "1 . 8 Ω")
    expect(page.get_by_role("status").filter(has_text="is not “2 in series”")).to_be_visible()
    page.get_by_label("Planned", exact=True).select_option("2 in parallel")
    expect(page.get_by_role("status").filter(has_text="fits “2 in parallel”")).to_be_visible()
    tiles.locator(".wc-number").click()
    expect(page.get_by_role("dialog")).to_contain_text("2 × L × r / n + Rj + Rm")


@pytest.mark.browser
def test_a_bundle_fits_and_does_not_and_the_pages_link(bench: Callable[..., Page]) -> None:
    page = bench(FIT)
    tap(page, "Wires, row 2", "0")
    tap(page, "Wires, row 1", "7")
    tap(page, "Size or diameter, row 1", "4 mm")
    tiles = page.locator(".wc-tiles:visible")
    for keys, words in (("1 8 mm", "easily"), ("1 2 . 5 mm", "tightly"), ("1 1 . 9 mm", "cannot pass")):
        tap(page, "Opening, inner diameter", keys)
        expect(told(page)).to_contain_text(words)
        expect(tiles).to_contain_text("12.0")
    before = told(page).inner_text()
    tap(page, "Opening, inner diameter", "9 9 Ω")
    expect(entry(page, "Opening, inner diameter").get_by_role("alert")).to_be_visible()
    assert told(page).inner_text() == before
    expect(page.locator("li", has_text="through a door or hatch that moves: 120 mm")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 820

    page.get_by_role("link", name="One run").click()  # and back
    page.wait_for_selector(".js-plotly-plot .scatterlayer .trace", state="attached", timeout=60_000)
    page.get_by_role("link", name="At the bench").click()
    page.wait_for_selector(READY, state="attached", timeout=60_000)


@pytest.mark.browser
def test_keyboard_alone(bench: Callable[..., Page]) -> None:
    page = bench(width=1280)
    page.get_by_role("button", name=MORE).click()
    expect(box(page, "Name of this sample")).to_be_visible()
    page.wait_for_function("() => wirecalcActs.idle()")
    reached = []
    page.get_by_role("button", name=WHAT).focus()
    page.keyboard.press("Shift+Tab")
    for _ in range(40):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "(e => e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent)(document.activeElement)"
        )
        reached.append(name.strip())
    order = [
        WHAT,
        RIGHT,
        FIT,
        "Keypad",
        "Feet",
        "Strands",
        "Resistance",
        MORE,
        "Meter wires",
        "Sold as",
        "Name of this sample",
    ]
    order += ["Add to the log", "Download the log (CSV)", "Read a log (CSV)"]
    places = [reached.index(name) for name in order]
    assert places == sorted(places)
    page.get_by_role("button", name=RIGHT).focus()
    page.keyboard.press("Enter")
    box(page, "Your reading").focus()
    page.keyboard.type("235 mohm")
    page.keyboard.press("Tab")
    expect(told(page)).to_contain_text("too high")
    page.get_by_role("slider", name="Size, slider").focus()
    page.keyboard.press("ArrowLeft")
    expect(box(page, "Size")).to_have_value("18 AWG")
    expect(told(page)).to_contain_text("in the band")
    page.get_by_role("button", name="Keypad", exact=True).focus()
    page.keyboard.press("Space")
    box(page, "Your reading").focus()
    page.get_by_role("group", name="Keypad").get_by_text("Clear", exact=True).focus()
    page.keyboard.press("Enter")
    expect(box(page, "Your reading")).to_have_value("")
    expect(told(page)).to_contain_text("A good run reads")


@pytest.mark.browser
def test_every_part_fits_and_can_be_hit_with_gloves(bench: Callable[..., Page]) -> None:
    page = bench()
    page.get_by_role("button", name="Keypad", exact=True).click()
    for part in PARTS:
        page.get_by_role("button", name=part).click()
        expect(page.locator(".wc-tiles:visible")).to_be_visible()
        expect(page.locator(".wc-page .wc-page:visible")).to_have_count(1)
        for _ in screens(page):
            small = page.evaluate(
                "[...document.querySelectorAll("
                "'.wc-bench input[type=text], .wc-bench select, .wc-bench button, .wc-file')]"
                ".filter(e => e.offsetParent && !e.matches('.wc-number') && e.offsetHeight < 52).map(e => e.outerHTML)"
            )
            assert small == []
            handles = "[...document.querySelectorAll('input[type=range]')].filter(e => e.offsetParent)"
            assert page.evaluate(f"{handles}.every(e => e.offsetWidth >= 44)")
        for caution in CAUTIONS:
            expect(page.get_by_text(caution)).to_be_visible()


def test_a_part_is_made_when_it_is_first_shown() -> None:
    panel = BenchPanel()
    assert list(panel.made) == [WHAT]
    panel.bar.value = FIT
    assert list(panel.made) == [WHAT, FIT]
    views = [panel.made[part].view for part in (WHAT, FIT)]
    assert list(panel.shown.children) == views
    assert ["wc-shut" in view._dom_classes for view in views] == [True, False]
    panel.bar.value = WHAT
    assert list(panel.shown.children) == views
    assert ["wc-shut" in view._dom_classes for view in views] == [False, True]
