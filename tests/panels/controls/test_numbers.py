"""Numbers that can be asked, without a browser."""

from __future__ import annotations

import logging
import math
import re
from collections.abc import Callable
from html.parser import HTMLParser

import pytest

from dashboards.panels.controls.numbers import Numbers, mark, number, of_this, opening, to_html
from wirecalc import runs
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS, awg
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.workings.formula import Input, Step, Working
from wirecalc.workings.measures import working

RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
LAID = runs.Installation(length_m=5.5)
CABIN = runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=45)


class Words(HTMLParser):
    """What is read, and whether every tag that opens is closed in its turn."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words = ""
        self.feed(markup)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data + " "


def test_a_working_reads_from_the_answer_to_the_sources() -> None:
    shown = Words(to_html(working("loss_db", RUN, awg(16), LAID))).words
    places = [
        shown.index(phrase)
        for phrase in (
            "Level lost",
            "0.3137 dB",
            "ΔL = 20 × log10((Zs + Zw + ZL) / (Zs + ZL))",
            "= 20 × log10((0.02 + 0.14782 + 4) / (0.02 + 4))",
            "Steps",
            "Zw = w × L × r / n + Rj",
            "Inputs",
            METALS["copper"].source,
            "5.5 m",
        )
    ]
    assert places == sorted(places)
    assert "200 amplifier's damping factor" in " ".join(shown.split()).replace("DF = ", "")
    assert shown.count(METALS["copper"].source) == 2  # resistivity and temperature coefficient
    assert "(read)" in shown


def test_a_balance_shows_both_sides_and_its_answer() -> None:
    shown = Words(to_html(working("temperature_c", RUN, awg(16), LAID, CABIN))).words
    assert "I1² × R20 × (1 + α × (Tc − 20)) = π × Db / 1000" in shown
    assert "Tc = 45.66 °C" in shown
    assert "Newton's steps" in shown


def test_no_answer_is_no_number() -> None:
    lamps = runs.LampRun(supply_v=12, strip_m=20, amps_per_m=2, strip_ohm_per_m=0.1)
    shown = Words(to_html(working("last_v", lamps, awg(18), LAID, CABIN))).words
    assert "no answer" in shown
    assert "would use up" in shown
    hot = runs.SpeakerRun(amplifier=Amplifier(power_w=2000, rated_ohm=4), load_ohm=4, music_share=1.0)
    shown = Words(to_html(working("temperature_c", hot, awg(20), LAID, CABIN))).words
    assert "∞ °C" in shown
    assert "more heat is made than leaves" in shown


def test_every_text_is_escaped() -> None:
    bad = "<script>'\"&"
    step = Step(
        title=bad, symbol=bad, formula=bad, filled=bad, value=1.0, unit=bad, source=bad, note=bad,
        inputs=(Input(symbol=bad, name=bad, value=bad, origin=bad, confidence=bad),),
    )  # fmt: skip
    shown = to_html(Working(measure="x", title="other" + bad, value=1.0, unit=bad, steps=(step, step)))
    assert "<script" not in shown
    assert Words(shown).words.count("<script>") >= 20
    assert Words(number("<b>1", '"><b>')).words == "<b>1 "


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0, "0 V"), (12.0, "12 V"), (-0.123456, "−0.1235 V"), (123456.0, "123500 V"), (1.23456e-8, "12.35 nV"),
     (7e-10, "700 pF"), (59742.0, "59740 Hz"), (2.5e7, "25 MHz"), (80.0, "80 Hz"), (0.0, "0 F"), (3e-15, "0.003 pF"),
     (1.24e-9, "1.24×10⁻⁹ m²"), (-2.5e9, "−2500 MW"), (math.inf, "∞ V"), (math.nan, "no answer")],
)  # fmt: skip
def test_four_digits(value: float, shown: str) -> None:
    unit = re.sub(r"^[pnmkM](?=F|Hz|V|W)", "", shown.split()[-1])
    step = Step(title="t", symbol="U", formula="U", filled="", value=value, unit=unit, inputs=(), source="", note="")
    assert f"<strong class='wc-is'>{shown}</strong>" in to_html(
        Working(measure="x", title="t", value=value, unit=unit, steps=(step,))
    )


def test_marked_numbers_of_a_sentence_open_and_nothing_else_is_markup() -> None:
    markup = opening(f"<b>{mark('0.31', 'loss_db:2')} dB</b> & {of_this('<i>93', 'load_w')} W")
    assert markup == (f"&lt;b&gt;{number('0.31', 'loss_db:2')} dB&lt;/b&gt; &amp; {number('<i>93', 'load_w:0')} W")
    assert Words(markup).words.split() == ["<b>", "0.31", "dB</b>", "&", "<i>93", "W"]
    assert opening("no <number>") == "no &lt;number&gt;"
    assert opening(mark("1", "'\"><script>")) == number("1", "'\"><script>")
    for broken in ("\ue000a", "\ue001<a>\ue002", "\ue000k\ue001<b>", mark("\ue000<x>", "k")):
        assert "<" not in opening(broken).replace("<button", "").replace("</button>", "")
        Words(opening(broken))


def ask(answer: Callable[[str], str], *asked: str) -> Numbers:
    numbers = Numbers(answer, number("0.31", "loss_db"))
    for question in asked:
        numbers.take({"ask": question})
    return numbers


def test_each_click_is_answered_by_key() -> None:
    keys: list[str] = []

    def answer(key: str) -> str:
        keys.append(key)
        return f"<p>{key}</p>"

    numbers = ask(answer, "a|b", "a|b", "c")
    assert keys == ["a|b", "a|b", "c"]
    assert (numbers.working, numbers.opened) == ("<p>c</p>", 3)


def test_a_fault_is_one_sentence_and_logged(caplog: pytest.LogCaptureFixture) -> None:
    def answer(key: str) -> str:
        raise ZeroDivisionError("secret <inner> detail")

    with caplog.at_level(logging.ERROR):
        numbers = ask(answer, "loss_db")
    assert Words(numbers.working).words.strip() == (
        "This number's working could not be shown: a fault of the page, not of your entry."
    )
    assert numbers.opened == 1
    assert "secret" in caplog.text


def test_an_entry_that_cannot_be_used_is_said() -> None:
    def answer(key: str) -> str:
        raise InputError("Run length", "<0>", "above 0 m")

    assert "Run length: “<0>” won’t work" in Words(ask(answer, "x").working).words


def test_nothing_is_fetched() -> None:
    assert "http" not in f"{Numbers._esm}{Numbers._css}"
    assert "import" not in str(Numbers._esm)
