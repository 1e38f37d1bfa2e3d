"""Numbers that can be asked, in a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator

import nbformat
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.support.site import serving

pytestmark = pytest.mark.browser

CELL = """
import ipywidgets as w
from dashboards.panels.controls.numbers import Numbers, number, to_html
from wirecalc import runs
from wirecalc.wire.conductor import awg
from wirecalc.circuits.source import Amplifier
from wirecalc.workings.measures import working
run = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
def answer(key):
    if key == "fault": return 1 / 0
    measure, size = key.split("@")
    return to_html(working(measure, run, awg(float(size)), runs.Installation(length_m=5.5)))
def table(text):
    measures = "loss_db load_w wire_w drop_v load_v damping_factor current_a heat_a loop_ohm".split()
    rows = "".join("<tr>" + "".join(f"<td>{number(text, f'{measure}@{size}')}</td>" for measure in measures) + "</tr>"
        for size in range(4, 24, 2))
    return f"<p>{number('bad', 'fault')}</p><table>{rows}</table>"
numbers = Numbers(answer, table("0"))
again = w.Text(description="draw")
def redraw(change):
    numbers.html = table(change["new"])
again.observe(redraw, "value")
w.VBox([again, numbers])
"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("numbers")
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(CELL)])
    notebook.metadata.kernelspec = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(notebook, folder / "numbers.ipynb")
    with serving(folder, "--VoilaConfiguration.preheat_kernel=False") as at:
        yield f"{at}/voila/render/numbers.ipynb"


@pytest.fixture(scope="module")
def opened_once(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    site = re.match(r"https?://[^/]+", address)[0]  # type: ignore[index]
    asked: list[str] = []
    errors: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url.replace("ws://", "http://")))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.goto(address)
    page.wait_for_selector(".wc-number", timeout=60_000)
    yield page
    page.goto("about:blank")
    context.close()
    assert [url for url in asked if not url.startswith((site, "data:", "blob:", "about:"))] == []
    assert errors == []


@pytest.fixture
def page(opened_once: Page) -> Iterator[Page]:
    """The page, one for all tests: what one of them opened is shut for the next."""
    yield opened_once
    opened_once.keyboard.press("Escape")
    expect(opened_once.get_by_role("dialog")).to_be_hidden()


def of(key: str) -> str:
    return f"[data-ask='{key}']"


def test_one_click_opens_the_working_and_every_way_out_leads_back(page: Page) -> None:
    dialog = page.get_by_role("dialog")
    number = page.locator(of("loss_db@16"))
    number.click()
    expect(dialog).to_be_visible()
    expect(dialog).to_have_accessible_name("Level lost")
    expect(dialog).to_contain_text("20 × log10((Zs + Zw + ZL) / (Zs + ZL))")
    expect(dialog).to_contain_text("20 × log10((0.02 + 0.14782 + 4) / (0.02 + 4))")
    expect(dialog).to_contain_text("IEC 60028")
    assert dialog.evaluate("d => d.scrollWidth <= d.clientWidth && d.getBoundingClientRect().right <= innerWidth")
    page.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
    expect(number).to_be_focused()
    number.click()  # the same number again
    dialog.get_by_role("button", name="Close").click()
    expect(dialog).to_be_hidden()
    expect(number).to_be_focused()
    number.click()
    expect(dialog).to_be_visible()
    page.mouse.click(2, 2)  # beside it
    expect(dialog).to_be_hidden()
    expect(number).to_be_focused()


def test_by_keyboard_alone(page: Page) -> None:
    dialog = page.get_by_role("dialog")
    page.get_by_label("draw").focus()
    for _ in range(3):  # past the first one, which is at fault
        page.keyboard.press("Tab")
    second = page.locator(of("load_w@4"))
    expect(second).to_be_focused()
    for key in ("Enter", "Space"):
        page.keyboard.press(key)
        expect(dialog).to_contain_text("Power at the load")
        before = dialog.locator(".wc-answer").evaluate("answer => answer.scrollTop")
        page.keyboard.press("PageDown")
        page.wait_for_function("at => document.querySelector('.wc-answer').scrollTop > at", arg=before)
        page.keyboard.press("Tab")
        expect(dialog.get_by_role("button", name="Close")).to_be_focused()
        page.keyboard.press("Escape" if key == "Enter" else "Enter")
        expect(dialog).to_be_hidden()
        expect(second).to_be_focused()


def test_drawing_anew_keeps_dialog_and_focus(page: Page) -> None:
    dialog = page.get_by_role("dialog")
    number = page.locator(of("drop_v@12"))
    number.click()
    expect(dialog).to_contain_text("Drop across the wire")
    page.get_by_label("draw").evaluate(
        "box => { box.value = '7'; box.dispatchEvent(new Event('input', {bubbles: true}));"
        " box.dispatchEvent(new Event('change', {bubbles: true})); }"
    )
    expect(number).to_have_text("7")
    expect(dialog).to_be_visible()
    page.keyboard.press("Escape")
    expect(number).to_be_focused()


def test_a_fault_is_said_without_a_traceback(page: Page) -> None:
    page.get_by_role("button", name="bad").click()
    alert = page.get_by_role("dialog").get_by_role("alert")
    expect(alert).to_have_text("This number's working could not be shown: a fault of the page, not of your entry.")
    assert "ZeroDivisionError" not in page.content()
