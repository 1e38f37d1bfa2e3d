"""The page One run in a real browser: what a person does, and what they see."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from dashboards.panels.controls.sizes import MOST_DRAWN
from tests.support.pages.notebooks import metadata
from tests.support.site import by_tab, screens

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def entry(page: Page, label: str) -> Locator:
    return page.locator(".wc-entry", has=box(page, label))


def drawn(page: Page) -> list[list[float]]:
    """The y values of this run's line on each chart."""
    return page.evaluate(
        "[...document.querySelectorAll('.js-plotly-plot')]"
        f".map(chart => Array.from(chart.data[{MOST_DRAWN}].y).filter((_, i) => i % 40 == 0))"
    )


def told(page: Page) -> str:
    return page.locator(".wc-told:visible").inner_text()


def test_fits_every_width(open_page: Opener) -> None:
    page = open_page("one_run")
    page.get_by_role("button", name=re.compile("^More")).click()
    expect(box(page, "Conductor temperature")).to_be_visible()
    for width, _ in screens(page):
        for chart in page.locator(".js-plotly-plot").all():
            assert chart.bounding_box()["width"] <= width  # type: ignore[index]
            assert chart.get_attribute("role") == "img"


def test_a_slider_move_changes_both_plots_and_the_sentence(open_page: Opener) -> None:
    page = open_page("one_run")
    before, sentence = drawn(page), told(page)
    slider = page.get_by_role("slider", name="Speaker impedance, slider")
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(".wc-told:visible")).not_to_have_text(sentence)
    after = drawn(page)
    assert all(new != old for new, old in zip(after, before, strict=True))
    expect(box(page, "Speaker impedance")).to_have_value("5 Ω")
    expect(slider).to_have_attribute("aria-valuetext", "5 Ω")


def test_a_device_on_the_supply_is_filled_in_and_typed(open_page: Opener) -> None:
    page = open_page("one_run")
    page.get_by_role("button", name="Device on the supply", exact=True).click()
    expect(page.locator(".wc-told:visible")).to_contain_text("The device gets")
    typical = page.get_by_role("combobox", name="Typical device", exact=True)
    typical.select_option("light bar with diodes")
    expect(box(page, "Draw")).to_have_value("120 W")
    expect(page.get_by_role("combobox", name="It draws", exact=True)).to_have_value("constant power")
    sentence = told(page)
    box(page, "Draw").fill("15.5 A")
    page.keyboard.press("Enter")
    expect(page.locator(".wc-told:visible")).not_to_have_text(sentence)
    expect(typical).to_have_value("as entered here")  # it is no longer the typical one
    expect(entry(page, "Draw").get_by_role("alert")).to_have_count(0)
    page.wait_for_url("**draw=15.5**")
    box(page, "Draw").fill("9 V")
    page.keyboard.press("Enter")
    expect(entry(page, "Draw").get_by_role("alert")).to_contain_text("9 V")
    expect(box(page, "Draw")).to_have_value("9 V")
    page.get_by_role("button", name="Which size?", exact=True).click()
    expect(page.get_by_role("table", name="What to pull, and its neighbours")).to_contain_text(
        "Fuse that the load needs"
    )


def test_typed_feet_and_inches_land_as_metres(open_page: Opener) -> None:
    page = open_page("one_run")
    box(page, "Run length, one way").fill("18 ft 6 in")
    page.keyboard.press("Enter")
    expect(entry(page, "Run length, one way")).to_contain_text("read as 5.64 m")
    expect(page.locator(".wc-tiles h2")).to_have_text("16 AWG, 5.64 m one way, wire at 20 °C")
    expect(box(page, "Run length, one way")).to_have_value("18 ft 6 in")  # what was typed stays
    mark = "Math.abs(document.querySelector('.js-plotly-plot').data.at(-2).x[1] - 18.5 * 0.3048) < 1e-9"
    page.wait_for_function(mark)


WRONG = [
    ("Run length, one way", "4 V", "voltage"),
    ("Run length, one way", "-5 m", "above 0"),
    ("Run length, one way", "0", "above 0"),
    ("Run length, one way", "1,500 m", "1500"),
    ("Run length, one way", "", "length"),
    ("Run length, one way", "<b>18", "<b>18"),
    ("Size", "0.8 mm2", "Nearest"),
    ("Size", "0.75", "mm2"),
    ("Amplifier power", "9**9**9 W", "9**9**9"),
    ("Speaker impedance", "nan", "nan"),
]


def test_a_wrong_entry_is_said_beside_its_field(open_page: Opener) -> None:
    page = open_page("one_run", 390, 844)
    for label, text, message in WRONG:
        before, sentence, good = drawn(page), told(page), box(page, label).input_value()
        box(page, label).fill(text)
        page.keyboard.press("Enter")
        alert = entry(page, label).get_by_role("alert")
        expect(alert).to_contain_text(message)
        expect(box(page, label)).to_have_value(text)  # nothing typed is lost
        expect(box(page, label)).to_have_attribute("aria-invalid", "true")
        assert (drawn(page), told(page)) == (before, sentence)  # the last good picture stays
        assert "Traceback" not in page.content()
        box(page, label).fill(good)
        page.keyboard.press("Enter")
        expect(alert).to_have_count(0)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


HOVERED = re.compile(r"^\d{1,3}(\.\d{1,2})? ft one way$")


def test_feet_change_every_label_hover_and_table(open_page: Opener) -> None:
    page = open_page("one_run")
    page.get_by_role("button", name="Feet").click()
    expect(page.locator(".wc-tiles h2")).to_have_text(re.compile("ft .*one way"))
    expect(page.locator(".wc-table caption")).to_contain_text("ft")
    expect(page.locator(".wc-table thead")).to_contain_text("mΩ/ft")
    expect(box(page, "Run length, one way")).to_have_value(re.compile("ft"))
    for layout in page.evaluate("[...document.querySelectorAll('.js-plotly-plot')].map(c => c.layout.xaxis)"):
        assert "(ft)" in layout["title"]["text"]
        assert "ft" in layout["unifiedhovertitle"]["text"]
    charts = page.locator(".js-plotly-plot")
    area = charts.first.locator(".nsewdrag").first.bounding_box()
    assert area is not None
    for part in (0.5, 0.53):
        page.mouse.move(area["x"] + area["width"] * part, area["y"] + area["height"] / 2)
        expect(charts.first.locator(".hoverlayer text", has_text="ft one way")).to_have_text(HOVERED)
    assert not re.search(r"\d m\b", page.locator(".wc-show").inner_text() + page.locator(".wc-top").inner_text())


def test_sizes_are_chosen_by_the_person(open_page: Opener) -> None:
    page = open_page("one_run")
    rows = page.locator(".wc-table tbody tr")
    expect(rows).to_have_count(7)  # this run first, and its own size not twice
    legend = page.get_by_role("list", name="Sizes compared")
    expect(legend).to_contain_text("22 AWG")
    page.get_by_role("button", name="Sizes compared …").click()
    page.get_by_role("checkbox", name="22 AWG", exact=True).uncheck()
    page.get_by_role("checkbox", name="2.5 mm²", exact=True).check()
    page.get_by_role("checkbox", name="4 mm²", exact=True).check()
    expect(rows).to_have_count(8)
    expect(legend).to_contain_text("2.5 mm²")
    expect(legend).not_to_contain_text("22 AWG")
    visible = "[...document.querySelectorAll('.js-plotly-plot')].map(c => c.data.filter(t => t.visible !== false)"
    for names in page.evaluate(visible + ".map(t => t.name))"):
        assert "22 AWG" not in names
        assert {"2.5 mm²", "4 mm²", "12 AWG"} <= set(names)


def test_more_entries_act_and_say_their_defaults(open_page: Opener) -> None:
    page = open_page("one_run")
    expect(box(page, "Joints, whole loop")).to_be_hidden()
    page.get_by_role("button", name=re.compile("^More")).click()
    acts: list[tuple[str, Any]] = [
        ("Conductor temperature", "80 °C"),
        ("Joints, whole loop", "25"),
        ("Conductors in parallel", "2"),
        ("Amplifier damping factor", "40"),
    ]
    for label, text in acts:
        expect(entry(page, label)).to_contain_text("default")
        before = drawn(page)
        box(page, label).fill(text)
        page.keyboard.press("Enter")
        page.wait_for_function(
            """old => {
            const chart = document.querySelector('.js-plotly-plot');
            chart.scrollIntoView();  // it is drawn when it is in sight
            return chart.data.at(-3).y[160] != old;
            }""",
            arg=before[0][4],
        )
    expect(page.locator(".wc-told:visible")).to_contain_text("2 × 16 AWG each way")
    sentence = told(page)
    page.get_by_label("Metal", exact=True).select_option("aluminium")
    expect(page.locator(".wc-told:visible")).not_to_have_text(sentence)


def test_a_load_under_the_least_is_computed_with_a_caution(open_page: Opener) -> None:
    page = open_page("one_run")
    box(page, "Speaker impedance").fill("1 ohm")
    page.keyboard.press("Enter")
    expect(page.locator(".wc-caution:visible").first).to_contain_text("under the least load of 4 Ω")
    expect(page.locator(".wc-tiles h2")).to_be_visible()
    expect(page.locator(".wc-told:visible")).to_contain_text("W: 1.")


def test_keyboard_alone_reaches_and_moves_everything(open_page: Opener) -> None:
    page = open_page("one_run")
    reached = by_tab(page)
    order = [
        "Amplifier to speaker",
        "Device on the supply",
        "Metres",
        "Feet",
        "Amplifier power",
        "Amplifier power, slider",
        "Power rated at",
        "Speaker impedance",
    ]
    order += ["Run length, one way", "Run length, one way, slider", "Size", "Size, slider"]
    places = [reached.index(name) for name in order]
    assert places == sorted(places)
    assert {"Length", "Which size?", "Sizes compared …", "All sizes"} <= set(reached)
    page.get_by_role("slider", name="Size, slider").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(".wc-tiles h2")).to_contain_text("14 AWG")
    page.get_by_role("button", name="Feet").focus()
    page.keyboard.press("Space")
    expect(page.locator(".wc-tiles h2")).to_contain_text("ft")


def test_my_cable_by_keyboard_on_a_phone(open_page: Opener) -> None:
    """From the open page to "is the cable on the shelf enough for four doors" with keys alone, on 390 px."""
    page = open_page("one_run")
    page.set_viewport_size({"width": 390, "height": 844})
    typed = 0

    def type_into(label: str, text: str) -> None:
        nonlocal typed
        by_tab(page, label)
        page.keyboard.press("ControlOrMeta+a")
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        typed += 1

    type_into("Amplifier power", "75 W")
    type_into("Run length, one way", "20 ft")
    by_tab(page, "My cable")
    page.keyboard.press("Enter")
    expect(page.locator(".wc-option")).to_have_count(4)
    # for an instant the tab before is there, too
    expect(page.locator(".wc-told:visible", has_text="Two pairs side by side do.")).to_be_visible()
    type_into("Circuits like this one", "4")
    expect(page.locator(".wc-told:visible")).to_contain_text("4 take 2 cables. Or pull separate wire: 16 AWG.")
    type_into("Price of the cable per metre", "2.5")
    type_into("Price of separate wire per metre", "0.6")
    expect(page.locator(".wc-option", has_text="Doubled")).to_contain_text("30.48")
    expect(page.locator(".wc-option", has_text="Separate wire")).to_contain_text("29.26")
    by_tab(page, "30.48")
    page.keyboard.press("Enter")
    expect(page.locator(".wc-working[open]")).to_contain_text("p × N × L")
    page.keyboard.press("Escape")
    assert typed <= 6
    assert page.locator(".wc-fields:visible .wc-entry, .wc-fields:visible .wc-choice").count() == 4  # questions
    for _ in screens(page):  # nothing is scrolled sideways
        expect(page.locator(".wc-option").first).to_be_visible()
    page.reload()
    expect(page.locator(".wc-option", has_text="Doubled")).to_contain_text("30.48", timeout=60_000)


def test_print_leaves_the_controls_out(open_page: Opener) -> None:
    page = open_page("one_run")
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Feet")).to_be_hidden()
    expect(page.locator("input[type=range]").first).to_be_hidden()
    for shown in (".wc-told", ".wc-table", ".wc-tiles"):
        expect(page.locator(shown)).to_be_visible()
    expect(page.get_by_role("button", name="Which size?")).to_be_hidden()
    expect(page.get_by_role("list", name="Sizes compared")).to_be_visible()
    expect(box(page, "Run length, one way")).to_be_visible()
    assert len(page.pdf()) > 10_000


def test_list_and_fault_pages_ask_nobody_else(open_page: Opener, site: str) -> None:
    page = open_page("one_run")
    page.goto(site)
    page.get_by_role("link", name="One run").click()
    page.wait_for_selector(".js-plotly-plot .scatterlayer .trace", state="attached", timeout=60_000)
    pages = page.get_by_role("navigation", name="Pages").get_by_role("link")
    assert pages.all_inner_texts() == [about["title"] for about in sorted(metadata(), key=lambda about: about["place"])]
    assert page.locator("[aria-current=page]").all_inner_texts() == ["One run"]
    response = page.request.get(f"{site}/voila/render/no_such_page.ipynb")
    assert response.status == 404
    assert "http" not in re.sub(r'href="/[^"]*"', "", response.text())


def test_each_kind_of_circuit_swaps_entries_and_verdict(open_page: Opener) -> None:
    page = open_page("one_run")
    kind = page.get_by_role("group", name="Circuit", exact=True)
    by_kind = {
        "Remote turn-on": ("Draw of all devices", "reaches the last device"),
        "Relay": ("Coil resistance", "reaches the coil"),
        "Lamp strip": ("Strip length", "The first lamp gets"),
        "Line level": ("Input impedance", "more at 20 kHz"),
        "Factory signal at speaker level": ("Input impedance", "size hardly matters"),
        "Battery to amplifier": ("Battery voltage", "At full output the amplifier gets"),
        "Amplifier to subwoofer": ("Amplifier power", "pair delivers"),
    }
    for title, (asked, told_) in by_kind.items():
        kind.get_by_role("button", name=title, exact=True).click()
        expect(page.locator(".wc-told:visible").first).to_contain_text(told_)
        expect(box(page, asked)).to_be_visible()
        chart = page.locator(".js-plotly-plot:visible")
        expect(chart.first).to_be_visible(
            visible=title not in ("Line level", "Factory signal at speaker level")
        )  # whose lines would be flat
    expect(box(page, "Coil resistance")).to_have_count(0)


def test_every_tab_shows_and_its_cautions_stand_there(open_page: Opener) -> None:
    page = open_page("one_run")
    page.get_by_role("button", name="Battery to amplifier", exact=True).click()
    expect(page.locator(".wc-caution:visible").first).to_contain_text("within about 450 mm")
    page.get_by_role("button", name="Which size?", exact=True).click()
    expect(page.locator(".wc-told:visible").first).to_contain_text("the least that keeps every rule")
    cautions = page.locator(".wc-show")
    expect(cautions).to_contain_text("within about 450 mm")
    expect(cautions).to_contain_text("airbag")
    expect(cautions).to_contain_text("Local codes")
    page.get_by_role("button", name="Heat and fuse", exact=True).click()
    expect(page.locator(".wc-show")).to_contain_text("fuse")
    expect(page.locator(".wc-show")).to_contain_text("airbag")
    page.get_by_role("button", name="How sure?", exact=True).click()
    expect(page.locator(".wc-show")).to_contain_text("90 of 100")
    page.get_by_role("button", name="Amplifier to speaker", exact=True).click()
    page.get_by_role("button", name="Response", exact=True).click()
    expect(page.get_by_role("img", name=re.compile("^Level over frequency"))).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280


def test_a_number_opens_to_its_formula_in_one_click(open_page: Opener) -> None:
    page = open_page("one_run")
    page.locator(".wc-tiles .wc-number").first.click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("log10")
    expect(dialog).to_contain_text("IEC 60028")  # the resistivity's source
    expect(dialog).to_contain_text("ASTM B258")
    page.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
    page.locator(".wc-table tbody tr").nth(2).locator(".wc-number").last.focus()
    page.keyboard.press("Enter")
    expect(dialog).to_contain_text("amp")


def test_a_number_in_a_sentence_opens_by_keyboard_and_the_focus_returns(open_page: Opener) -> None:
    page = open_page("one_run", 390, 844)
    number = page.locator(".wc-told:visible").get_by_role("button", name="0.31", exact=True)
    number.focus()
    page.keyboard.press("Enter")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("20 × log10((Zs + Zw + ZL) / (Zs + ZL))")
    expect(dialog).to_contain_text("0.3137 dB")
    page.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
    expect(number).to_be_focused()
    page.get_by_role("button", name="Heat and fuse", exact=True).click()
    constant = page.get_by_role("button", name=re.compile(r"^\d+ s$")).first
    constant.press("Space")
    expect(dialog).to_contain_text("Time constant")
    expect(dialog).to_contain_text("Heat to warm a metre by 1 K")
    dialog.get_by_role("button", name="Close").click()
    expect(constant).to_be_focused()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
