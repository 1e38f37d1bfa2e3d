"""The page Show and hear in a real browser: see, listen, be tested, take the leaflet along."""

from __future__ import annotations

import base64
import datetime
import io
import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Locator, Page, expect
from scipy.io import wavfile

from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from tests import some_of
from tests.support.pages.show_and_hear import READY
from tests.support.site import by_tab, screens
from wirecalc.hearing import sound

pytestmark = pytest.mark.browser

Opener = Callable[..., Page]
LIMIT = 10 ** (sound.PEAK_DBFS / 20)
# what reaches the loudspeakers, tapped in front of the device
TAP = """() => {
  const connect = AudioNode.prototype.connect;
  AudioNode.prototype.connect = function (to, ...more) {
    if (to instanceof AudioDestinationNode) {
      window.tap = new AnalyserNode(this.context, { fftSize: 32768 });
      connect.call(this, window.tap);
    }
    return connect.call(this, to, ...more);
  };
}"""
LEVEL = """() => { const wave = new Float32Array(32768); window.tap.getFloatTimeDomainData(wave);
  return [Math.max(...wave.map(Math.abs)), Math.hypot(...wave) / Math.sqrt(wave.length)]; }"""


def opened(open_page: Opener, *size: Any) -> Page:
    return open_page("show_and_hear", *size, ready=READY)


def box(page: Page, label: str) -> Locator:
    return page.get_by_role("textbox", name=label, exact=True)


def told(page: Page) -> Locator:
    return page.locator(".wc-told").first


def enter(page: Page, label: str, text: str) -> None:
    box(page, label).fill(text)
    page.keyboard.press("Enter")


def test_fits_every_width(open_page: Opener) -> None:
    page = opened(open_page)
    for width, height in screens(page):
        bars = [bar.bounding_box() for bar in page.locator(".wc-watts figure > svg").all()]
        assert all(bar and bar["x"] >= 0 and bar["x"] + bar["width"] <= width for bar in bars)
        assert bars[1]["y"] < height  # type: ignore[index]  # both are in sight at once
        assert page.get_by_text("Loud sound harms hearing").first.is_visible()
        for button in page.locator(".wc-play:visible").all():
            assert button.bounding_box()["height"] >= 44  # type: ignore[index]


def test_a_change_is_seen_and_a_fault_keeps_the_picture(open_page: Opener) -> None:
    page = opened(open_page, 390, 844)
    expect(told(page)).to_have_text("You are unlikely to hear this; spend it elsewhere.")
    bar = page.locator(".wc-watts rect").first
    before = bar.get_attribute("width")
    enter(page, "A: size", "26")
    expect(told(page)).to_contain_text("You are likely to hear this side by side.")
    expect(bar).not_to_have_attribute("width", str(before))
    thin = page.locator(".wc-watts").inner_html()
    enter(page, "A: run length, one way", "minus two")
    fault = page.locator(".wc-entry", has=box(page, "A: run length, one way")).get_by_role("alert")
    expect(fault).to_contain_text("A: run length")
    assert page.locator(".wc-watts").inner_html() == thin
    expect(box(page, "A: run length, one way")).to_have_value("minus two")
    enter(page, "A: run length, one way", "3 ft")
    expect(fault).to_have_count(0)
    enter(page, "A: price of the pair", "0.5")
    enter(page, "B: price of the pair", "2")
    expect(page.locator(".wc-top")).to_contain_text("B costs")
    assert "Traceback" not in page.content()


def played(page: Page) -> None:
    """Wait until the tap holds nothing that is older than this."""
    now = page.evaluate("window.tap.context.currentTime")
    page.wait_for_function(f"window.tap.context.currentTime > {now} + 1")


def test_both_play_in_step_and_never_too_loud(open_page: Opener) -> None:
    page = opened(open_page)
    enter(page, "A: size", "26")
    page.evaluate(TAP)
    first, second = (page.get_by_role("button", name=re.compile(name)) for name in ("A: 26 AWG$", "B: 12 AWG$"))
    first.click()
    expect(first).to_have_attribute("aria-pressed", "true")
    played(page)
    peak, quiet = page.evaluate(LEVEL)
    assert 0 < peak < LIMIT / 9  # it starts 20 dB under the limit
    second.click()
    expect(first).to_have_attribute("aria-pressed", "false")
    expect(second).to_have_attribute("aria-pressed", "true")
    played(page)
    _, louder = page.evaluate(LEVEL)
    assert 1.5 < 20 * np.log10(louder / quiet) < 4  # 2.6 dB apart, taken over two thirds of a second of noise
    volume = page.get_by_role("slider", name="Volume", exact=True)
    volume.focus()
    page.keyboard.press("End")
    for _ in range(2):
        played(page)
        peak, _ = page.evaluate(LEVEL)
        assert LIMIT / 4 < peak <= LIMIT
    enter(page, "A: size", "24")  # a change while it plays is heard at once, and the switch stays where it is
    expect(page.get_by_role("button", name=re.compile("A: 24 AWG$"))).to_have_attribute("aria-pressed", "false")
    expect(second).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Stop", exact=True).first.click()
    expect(second).to_have_attribute("aria-pressed", "false")
    played(page)
    assert page.evaluate(LEVEL)[0] == 0


class Wire:
    """Everything that the kernel sends to the page."""

    def __init__(self, page: Page) -> None:
        self.messages: list[tuple[dict[str, Any], list[bytes]]] = []
        session = page.context.new_cdp_session(page)
        session.send("Network.enable")
        session.on("Network.webSocketFrameReceived", self._came)

    def _came(self, event: dict[str, Any]) -> None:
        frame = event["response"]
        if frame["opcode"] != 2:
            return
        raw = base64.b64decode(frame["payloadData"])
        count = int.from_bytes(raw[:8], "little")
        ends = [int.from_bytes(raw[8 * i : 8 * i + 8], "little") for i in range(1, count + 1)]
        parts = [raw[start:end] for start, end in itertools.pairwise(ends)]
        channel, header, _parent, _about, content, *buffers = parts
        kind = json.loads(header)["msg_type"]
        self.messages.append(({"channel": channel.decode(), "kind": kind, **json.loads(content)}, buffers))

    def sounds(self) -> list[bytes]:
        """The last two sounds."""
        return next(buffers for _, buffers in reversed(self.messages) if len(buffers) == 2)


def level_db(file: bytes) -> float:
    wave = wavfile.read(io.BytesIO(file))[1].astype(np.float64)
    return float(10 * np.log10(np.mean(wave**2)))


def counts(message: dict[str, Any]) -> bool:
    """Whether a message came for the question: that the address is written comes when it comes."""
    return message["kind"] == "comm_msg" and "upto" not in message["data"].get("state", {})


def shape(message: dict[str, Any]) -> str:
    """A message without what counts the questions."""
    text = re.sub(r"Question \d+ of", "Question n of", json.dumps(message, sort_keys=True))
    return re.sub(r'"(answers|version)": \d+', r'"\1": n', text)


@pytest.mark.parametrize("question", some_of(["Which is louder?", "Same or different?"], 1))
def test_a_blind_test_is_finished_and_gives_nothing_away(open_page: Opener, question: str) -> None:
    page = opened(open_page)
    enter(page, "A: size", "26")
    expect(told(page)).to_contain_text("likely to hear this")
    page.get_by_label("What is asked", exact=True).select_option(question)
    page.get_by_label("Number of questions", exact=True).select_option("8")
    page.wait_for_function("location.search.includes('questions=8')")
    asked = page.url
    wire = Wire(page)
    page.get_by_role("button", name="Start the blind test", exact=True).click()
    status = page.locator(".wc-status:visible")
    first, second = (page.get_by_role("button", name=re.compile(f"{name}$")) for name in ("▶ First|♪ First", "Second"))
    plays = page.locator(".wc-plays", has=first)
    told_, pages, sizes, truths = [], set(), set(), []
    for number in range(1, 9):
        expect(status).to_have_text(f"Question {number} of 8.")
        answers = page.locator(".wc-answers:visible .wc-play")
        expect(answers.first).to_be_disabled()  # not before both were heard
        wire.messages.clear()
        plays.locator(".wc-play").nth(0).click()
        expect(plays.locator(".wc-play").nth(0)).to_have_attribute("aria-pressed", "true")
        page.wait_for_function("document.querySelectorAll('.wc-play[aria-pressed=true]').length === 1")
        plays.locator(".wc-play").nth(1).click()
        expect(answers.first).to_be_enabled()
        pages.add(re.sub(r"Question \d+ of", "Question n of", page.locator("#rendered_cells").inner_html()))
        first_db, second_db = (level_db(file) for file in wire.sounds())
        sizes.add(tuple(len(file) for file in wire.sounds()))
        assert wire.sounds()[0] != wire.sounds()[1]
        if question.startswith("Same"):
            truths.append("Same" if abs(first_db - second_db) < 1e-3 else "Different")
        else:
            truths.append("First" if first_db > second_db else "Second")
        page.locator(".wc-answers:visible").get_by_role("button", name=truths[-1], exact=True).click()
        if number < 8:
            expect(status).to_have_text(f"Question {number + 1} of 8.")
            told_.append(sorted(shape(message) for message, _ in wire.messages if counts(message)))
    assert len(set(truths)) == 2
    assert [truths.count(truth) for truth in set(truths)] == [4, 4]
    assert len(sizes) == 1  # every sound has one size
    assert len({size for pair in sizes for size in pair}) == 1
    assert len(told_[0]) == 2  # the sounds, and the next question
    assert len(pages) == 1  # the page is the same for every question but its number
    assert all(messages == told_[0] for messages in told_)  # and so is all that came for it
    expect(page.get_by_text("8 of 8: chance alone does this 0.4 % of the time")).to_be_in_viewport()
    expect(page.locator(".wc-answers:visible .wc-play")).to_have_count(0)
    expect(second).to_be_hidden()
    assert page.url == asked  # the address has what was asked, not the answers


def test_the_leaflet_is_one_page(open_page: Opener, tmp_path: Path) -> None:
    page = opened(open_page)
    enter(page, "A: price of the pair", "1.2")
    enter(page, "B: price of the pair", "2.5")
    enter(page, "Shop, on the leaflet", "Tavin Sound, invented")
    page.get_by_label("Speaker", exact=True).select_option("Demo 165 mm door woofer, invented")
    expect(page.locator(".wc-show")).to_contain_text("door woofer (invented)")
    for paper in ("A4", "Letter"):  # the page itself is one sheet too
        assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))) == 1
    page.emulate_media(media="print")
    page.get_by_role("combobox", name="Speaker", exact=True).focus()
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "none"
    assert page.evaluate(
        "[...document.querySelectorAll('.wc-counter .widget-label')].every(e => e.scrollWidth <= e.clientWidth + 1)"
    )
    page.emulate_media(media="screen")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Leaflet to print", exact=True).click()
    path = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(path)
    shown = [
        text
        for text in page.locator(".wc-top p, .wc-seen p, .wc-show > :nth-child(2) p").all_inner_texts()
        if text.strip()
    ]
    assert len(shown) >= 5
    page.goto("about:blank")
    page.set_content(path.read_text(encoding="utf-8"))
    for text in shown:
        assert text in page.locator("body").inner_text()
    assert page.locator("figure > svg").count() == 2
    assert f"Tavin Sound, invented, {datetime.date.today():%-d %B %Y}" in page.locator("body").inner_text()
    for content in (path.read_bytes(), fullest()):
        page.set_content(content.decode())
        for paper in ("A4", "Letter"):
            assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))) == 1


def fullest() -> bytes:
    """The leaflet with all that it can hold."""
    panel = ShowAndHearPanel()
    panel.feet.value = True
    panel.shop.text.value = "A shop with a long name, its street, its town and its telephone number"
    panel.speaker.value = "Demo 250 mm sub (two 4 Ω coils in parallel)"
    panel.shared.power.text.value = "1500"
    for form, metal, size in zip(panel.forms, ("cca_10", "tinned_copper"), ("26", "2.5 mm2"), strict=True):
        form.size.text.value, form.metal.value = size, metal
        form.parallel.text.value, form.price.text.value, form.length.text.value = "2", "1234.5", "18 ft 6.5 in"
    panel.blind.start()
    while not panel.blind.said:
        panel.blind.take(panel.blind.player.version, "same")
    page = panel.leaflet()[1]
    assert b"too hot" in page
    assert b"under the least load" in page
    assert b"6 of 12" in page
    return page


def test_a_word_opens_to_its_explanation_by_keyboard(open_page: Opener) -> None:
    page = opened(open_page, 390, 844)
    word = page.locator(".wc-top .wc-term", has_text="dB").first
    word.focus()
    page.keyboard.press("Enter")
    plain = page.locator(".wc-plain:popover-open")
    expect(plain).to_have_count(1)
    expect(plain).to_contain_text("Decibel: a step of loudness.")
    area = plain.bounding_box()
    assert area is not None
    assert area["x"] >= 0
    assert area["x"] + area["width"] <= 390
    page.keyboard.press("Escape")
    expect(plain).to_have_count(0)
    assert page.evaluate("[...document.querySelectorAll('.wc-term')].every(one => one.popoverTargetElement)")


def test_keyboard_alone_plays_and_answers(open_page: Opener) -> None:
    page = opened(open_page)
    reached = by_tab(page, "Start the blind test")
    order = ["A: size", "A: size, slider", "A: metal", "A: price of the pair", "B: size", "Speaker", "Amplifier power"]
    order += ["Leaflet to print", "Sound", "▶ A: 16 AWG", "▶ B: 12 AWG", "Volume", "Start the blind test"]
    places = [reached.index(name) for name in order]
    assert places == sorted(places)
    page.keyboard.press("Enter")
    first = page.locator(".wc-plays .wc-play", has_text="First")
    expect(first).to_be_visible()
    first.focus()
    page.keyboard.press("Enter")
    expect(first).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    answer = page.get_by_role("button", name="Different", exact=True)
    expect(answer).to_be_enabled()
    answer.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".wc-status:visible")).to_have_text("Question 2 of 12.")
    expect(first).to_be_focused()  # the next question begins where the last one did
