"""Every page, tab and state on every screen, by axe-core in light, dark and print, and every control by the keyboard.

axe-core is read from the package axe-playwright-python and run in the page; nothing is fetched.
"""

from __future__ import annotations

import importlib.resources
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from dashboards.panels.bench.page import PARTS
from dashboards.panels.practice.page import LESSONS, PROBLEMS, PROGRESS, SHEET
from tests import DEEP
from tests.support.pages.practice import asked
from tests.support.pages.schemes import DARK, PRINT
from tests.support.site import READY, SCREENS, screens

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]
AXE = (importlib.resources.files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
UPRIGHT, ACROSS = 703, 1032  # of A4 within the margins, upright and laid across [CSS px]
WIDE, NARROW = {"width": 1280, "height": 900}, {"width": 390, "height": 844}
# what a tab has when it is drawn
ONE_RUN = {"Length": ".wc-told", "Which size?": ".wc-limits", "My cable": ".wc-option",
           "Heat and fuse": "h2:text('Fuse')",
           "Response": "label:text('Insulation thickness')", "How sure?": "text=What matters most"}  # fmt: skip
VEHICLE = {"From above": ".wc-vehicle", "Circuits": ".wc-circuits",
           "Wires": "[aria-label='Wires'] td", "Devices": "[aria-label='Devices'] td",
           "Limits": ".wc-value input",
           "Currents and volts": ".wc-tree", "Decibels and heat": ".wc-bars", "Cables": ".wc-cable",
           "To buy": "caption:text('To buy')", "As built": "caption:has-text('circuits read')"}  # fmt: skip
PRACTICE = {PROBLEMS: ".wc-asked", LESSONS: ".js-plotly-plot .main-svg", SHEET: ".wc-sheet", PROGRESS: ".wc-told"}
# Page: what says that it stands, its tabs
PAGES: dict[str, tuple[str, dict[str, str]]] = {
    "one_run": (READY, ONE_RUN),
    "whole_vehicle?open=demo": (".wc-above", VEHICLE),
    "whole_vehicle?open=amplifier-added": (".wc-job-fields select", {"": ".wc-job-fields select"}),
    "whole_vehicle": (".wc-card button", {"": ".wc-card button"}),
    "show_and_hear": ("body:has(.wc-watts):has(.wc-play):has(.wc-entry input[type=range])", {"": ".wc-watts"}),
    "practice": (".wc-answering input", PRACTICE),
    "bench": (
        "body:has(.barlayer .trace):has(.wc-keypad-toggle)",
        dict(zip(PARTS, ("Strand diameter", "Your reading", "Opening, inner diameter"), strict=True)),
    ),
    "house_rules": (".wc-value input", {"": ".wc-value input"}),
}
# rows of a plan's lists are made by one function: four stand for all, some hundred boxes would take seconds
ALIKE = ".wc-grid tbody tr:nth-child(n+5)"
FINDINGS = """async ([alike, part, rules]) => {
  const include = document.querySelectorAll(part).length === 1 ? part : 'html';
  const context = { include: [include], ...(document.querySelector(alike) ? { exclude: [alike] } : {}) };
  // tabs that were shown before stay in the page, and axe takes its time over what nobody sees
  const away = [...document.querySelectorAll('.wc-show *')].filter(e => e.childElementCount && !e.checkVisibility())
    .filter(e => e.parentElement.checkVisibility()).map(e => [e, document.createComment('hidden')]);
  away.forEach(([e, mark]) => e.replaceWith(mark));
  const found = await axe.run(context, { resultTypes: ['violations'], ...(rules.length ? { runOnly: rules } : {}) });
  away.forEach(([e, mark]) => mark.replaceWith(e));
  return found.violations.map(one => `${one.impact} ${one.id}: `
    + one.nodes.map(node => `${node.target} ${node.html.slice(0, 120)}`).slice(0, 3).join(' | '));
}"""
OF_LOOKS = ("color-contrast", "link-in-text-block", "scrollable-region-focusable", "target-size")  # and no other rule
# each control in turn: how it, or what frames it, looks with the focus and without; and whether a box around hides a
# part of that
UNRINGED = """exclude => {
  const looks = e => [e, e.parentElement, e.parentElement.parentElement].map(one => {
    const { outlineStyle, outlineWidth, outlineColor, boxShadow } = getComputedStyle(one);
    const drawn = outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2;
    return [drawn ? outlineWidth + outlineColor : '', boxShadow].join();
  }).join(';');
  const cut = e => {
    const at = e.getBoundingClientRect(), { outlineOffset, outlineWidth } = getComputedStyle(e);
    const room = parseFloat(outlineOffset) + parseFloat(outlineWidth) - 1;
    for (let box = e.parentElement; box && box.id !== 'rendered_cells'; box = box.parentElement) {
      const { overflow, clipPath } = getComputedStyle(box);
      if (overflow !== 'hidden' || clipPath !== 'none') continue;  // what is clipped is read out, not seen
      const { left, top, right, bottom } = box.getBoundingClientRect();
      if (Math.min(at.left - left, at.top - top, right - at.right, bottom - at.bottom) < room) return true;
    }
  };
  const bare = [];
  for (const e of document.querySelectorAll('a[href], button, input, select, summary, [tabindex="0"]')) {
    if (!e.checkVisibility({ visibilityProperty: true }) || e.disabled || e.matches(exclude + ' *')) continue;
    e.blur();
    const before = looks(e);
    e.focus({ preventScroll: true });
    if (document.activeElement === e && (looks(e) === before || cut(e))) bare.push(e.outerHTML.slice(0, 200));
  }
  document.activeElement.blur();
  return bare;
}"""
PAPER = """'#' + getComputedStyle(document.body).backgroundColor.match(/\\d+/g)
  .map(part => (+part).toString(16).padStart(2, '0')).join('')"""
UNNAMED = "[...document.querySelectorAll('[role=slider]')].filter(e => !e.getAttribute('aria-label'))"
# what is cut off on paper of the width that the page has: boxes that hide a part, and all that ends beyond the edge
CUT = """() => [...document.querySelectorAll('#rendered_cells *')].filter(e => e.checkVisibility() && !e.closest('svg'))
  .filter(e => e.getBoundingClientRect().right > innerWidth + 1 || e.matches('.wc-scroll, .wc-charts > *')
    && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1))
  .map(e => e.outerHTML.slice(0, 150))"""
PRESSED = """() => [...document.querySelectorAll(`#rendered_cells :is(
    button:not(.wc-number, .wc-term, .wc-branch, .wc-of-wire), input[type=range], input[type=file])`)]
  .filter(e => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length)
  .map(e => e.outerHTML.slice(0, 150))"""

# on a phone: what is smaller than a fingertip, and tables and drawings of which a part is beside the screen. Numbers,
# terms and links stand inside running text; the lists to type in keep their first column in sight
SMALL = """alike => [...document.querySelectorAll('a[href], button, input, select, summary, textarea, [role=slider]')]
  .filter(e => e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && e.getClientRects().length)
  .filter(e => !e.matches(`.wc-number, .wc-term, ${alike} *, :is(p, li, td, dd, small) a, .wc-fault-list button`))
  .filter(e => !e.closest('svg'))
  .map(e => [e, (e.matches('[type=checkbox], [type=radio]') && e.closest('label') || e).getBoundingClientRect()])
  .filter(([, { width, height }]) => width && height && (width < 43.5 || height < 43.5))
  .map(([e, { width, height }]) => `${width.toFixed()} x ${height.toFixed()}: ${e.outerHTML.slice(0, 120)}`)"""
SIDEWAYS = """() => [...document.querySelectorAll('#rendered_cells :is(.wc-scroll:has(table, svg), .wc-tree > div)')]
  .filter(e => !e.closest('.wc-grid'))
  .filter(e => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1)
  .map(e => `${e.ariaLabel}: ${e.scrollWidth} in ${e.clientWidth}`)"""
# gone back to with the keyboard from the foot of the page, or the end of a row: what the answer, or the row's name,
# which stay in sight, then hide
BEHIND = """alike => {
  const top = document.querySelector('.wc-top'), hidden = [];
  if (!top) return hidden;
  const all = [...document.querySelectorAll('#rendered_cells :is(button, input, select, summary, [role=slider])')]
    .filter(e => !top.contains(e) && !e.disabled && !e.matches(`${alike} *`) && !e.closest('dialog, [popover]'))
    .filter(e => e.checkVisibility({ visibilityProperty: true, opacityProperty: true }));
  for (const e of all.filter((_, at) => at % Math.ceil(all.length / 20) === 0)) {
    scrollTo({ top: document.documentElement.scrollHeight, behavior: 'instant' });
    e.closest('.wc-grid .wc-scroll')?.scrollTo({ left: 9999, behavior: 'instant' });
    e.focus();
    const [over, under] = [top, e].map(each => each.getBoundingClientRect());
    const named = e.closest('.wc-grid td:not(.wc-first)')?.parentElement.querySelector('.wc-first');
    const fits = named && under.width + named.offsetWidth + 8 < e.closest('.wc-scroll').clientWidth;
    const beside = fits ? named.getBoundingClientRect().right - under.left : 0;
    const covered = Math.max(beside, Math.min(over.bottom, under.bottom) - Math.max(over.top, under.top));
    if (document.activeElement !== e || covered <= 1) continue;
    hidden.push(`${covered.toFixed()} px: ${e.outerHTML.slice(0, 150)}`);
  }
  document.activeElement.blur();
  return hidden;
}"""


ROOM_KEPT = """() => {
  const top = document.querySelector('.wc-top');
  return !top || Math.abs(parseFloat(document.documentElement.style.scrollPaddingTop) - 6 - top.offsetHeight) <= 1;
}"""


def on_a_phone(page: Page, title: str) -> None:
    """Fingers meet what can be pressed, the answer hides nothing that is gone to, no table hides what decides."""
    look(page, NARROW)
    assert page.evaluate(SMALL, ALIKE) == [], title
    page.wait_for_function(ROOM_KEPT)
    assert page.evaluate(BEHIND, ALIKE) == [], title
    assert page.evaluate(SIDEWAYS) == [], title


def findings(page: Page, part: str, *rules: str) -> list[str]:
    """What axe-core finds in a part of the page, each with its impact; by all of its rules or by these."""
    return list(page.evaluate(FINDINGS, [ALIKE, part, rules]))


def look(page: Page, width: dict[str, int], **media: Any) -> None:
    page.set_viewport_size(width)  # type: ignore[arg-type]
    page.emulate_media(**media)


def everything_open(page: Page, name: str) -> None:
    """More of a page in sight: what a press opens, what a fault says."""
    if name == "one_run":
        page.get_by_role("button", name=re.compile("^More")).click()
        page.get_by_role("button", name="Sizes compared …").click()
        page.get_by_role("textbox", name="Joints, whole loop").fill("none")
        page.keyboard.press("Enter")
        expect(page.locator(".wc-entry [role=alert]")).to_be_visible()
    elif name == "whole_vehicle?open=demo":
        page.get_by_role("button", name="From above", exact=True).click()
        page.locator(".wc-fine-ones summary").click()
    elif name.startswith("whole_vehicle"):
        return
    elif name == "show_and_hear":
        page.get_by_role("button", name="Start the blind test").click()
        expect(page.get_by_role("button", name="Different")).to_be_visible()
    elif name == "practice":
        asked(page, "plot")  # the widest
        page.get_by_role("textbox", name="Your answer").fill("-7 V")
        page.keyboard.press("Enter")
        expect(page.get_by_role("alert")).to_be_visible()
    elif name == "house_rules":
        page.locator(".wc-value summary").first.click()
        page.locator(".wc-value input").nth(1).fill("0.5")
        page.keyboard.press("Enter")
        page.locator(".wc-value input").first.fill("none")
        page.keyboard.press("Enter")
        expect(page.locator(".wc-value [role=alert]")).to_be_visible()
    else:
        page.get_by_role("button", name="Keypad", exact=True).click()


def on_a_screen(page: Page, title: str, part: str, *rules: str) -> None:
    """What axe-core finds there, by all of its rules or by these, and every control's ring."""
    assert findings(page, part, *rules) == [], title
    page.keyboard.press("Tab")  # from here on focus is the keyboard's
    assert page.evaluate(UNRINGED, ALIKE) == [], title


def on_paper(page: Page, title: str, first: bool) -> None:
    """Nothing is cut off or only to be pressed."""
    look(page, {"width": ACROSS if title in ("Wires", "Devices") else UPRIGHT, "height": 900}, media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    if first:  # on paper the colours are those of light, see test_colours.py
        assert findings(page, "html", "color-contrast") == [], title
    assert page.evaluate(CUT) == [], title
    assert page.evaluate(PRESSED) == [], title
    assert page.evaluate(PAPER) == PRINT["paper"] == "#ffffff"
    page.evaluate("dispatchEvent(new Event('afterprint'))")


@pytest.mark.parametrize("name", PAGES)
def test_nothing_hinders_anyone(open_page: Opener, name: str) -> None:
    """Light and wide, dark and narrow by turns for the tabs of a page, its first in both; in the deep run all.

    Of the first tab all of the page, of the others what is theirs."""
    ready, tabs = PAGES[name]
    page = open_page(name, ready=ready)
    page.evaluate(AXE)
    everything_open(page, name)
    for number, (title, drawn) in enumerate(tabs.items()):
        part = ".wc-show" if number and not DEEP else "html"
        light = DEEP or number % 2 == 0
        dark = DEEP or number % 2 == 1 or number == 0
        look(page, WIDE, media="screen", color_scheme="light")
        if title:
            page.locator(".wc-bar").first.get_by_role("button", name=title, exact=True).click()
        drawn = drawn if name != "bench" else f"label:text('{drawn}')"
        expect(page.locator(f"{drawn} >> visible=true").first).to_be_visible(timeout=30_000)
        page.mouse.move(0, 0)
        page.wait_for_function(f"!{UNNAMED}.length")
        assert len(list(screens(page))) == len(SCREENS)
        on_a_phone(page, title)
        look(page, WIDE)
        if light:
            on_a_screen(page, title, part)
        if dark:
            look(page, NARROW, color_scheme="dark")
            assert page.evaluate(PAPER) == DARK["paper"]
            on_a_screen(page, title, part, *(OF_LOOKS if light else ()))
        on_paper(page, title, number == 0)
