"""What a customer reads: true, short, and with every trade word explained."""

from __future__ import annotations

import itertools
import re
import runpy
from collections.abc import Iterator
from pathlib import Path

import pytest

from wirecalc import runs, tables
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS
from wirecalc.circuits.source import Amplifier
from wirecalc.hearing import blind, contrast, verdict
from wirecalc.hearing.contrast import ComparedWire, Contrast
from wirecalc.runs import words
from wirecalc.wire.conductor import awg

RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)


def against(first: ComparedWire, second: ComparedWire, run: runs.SpeakerRun = RUN, driver: str = "") -> Contrast:
    return contrast.contrast(run, (first, second), DEMO_DRIVERS[driver] if driver else None)


def choice(size: float, length_m: float = 5.0, price: float | None = None) -> ComparedWire:
    return ComparedWire(conductor=awg(size), length_m=length_m, pair_per_m=price)


@pytest.mark.parametrize(
    ("first", "second", "sentence"),
    [
        (choice(16), choice(12), "You are unlikely to hear this; spend it elsewhere."),
        (choice(16, price=1), choice(12, price=3), "unlikely to hear this. Take A and spend the rest elsewhere."),
        (choice(16, price=2), choice(16, price=2), "Nobody hears this. Both cost the same, so take either."),
        (choice(10, price=2), choice(8, price=3), "Nobody hears this. Take A and spend the rest elsewhere."),
        (choice(10), choice(8), "Nobody hears this; spend it elsewhere."),
        (choice(16, price=3), choice(12, price=1), "Take B: it is louder and costs less."),
        (choice(20), choice(12), "You may hear this when you switch, barely on music. B is louder"),
        (choice(12), choice(22, 8), "You are likely to hear this side by side. A is worth a thought."),
        (choice(12), choice(26, 12), "Nearly everybody hears this. Take A."),
    ],
)
def test_the_verdict_is_honest(first: ComparedWire, second: ComparedWire, sentence: str) -> None:
    assert sentence in verdict.verdict(against(first, second))


def test_heat_goes_before_sound() -> None:
    loud = runs.SpeakerRun(amplifier=Amplifier(power_w=4000, rated_ohm=1), load_ohm=1)
    compared = against(choice(24, 1), choice(4, 1), loud)
    assert verdict.verdict(compared) == "Take B: the other wire gets too hot."
    assert "Do not use it here" in verdict.delivered(compared, 0)
    assert "Do not use" not in verdict.delivered(compared, 1)
    assert "Neither" in verdict.verdict(against(choice(24, 1), choice(24, 1), loud))


def test_numbers_are_those_of_the_contrast() -> None:
    compared = against(choice(16, price=1), choice(12, price=3))
    assert f"{compared.load_w[0]:.0f} of 100 W reach the speaker" in verdict.delivered(compared, 0)
    assert f"A is {compared.apart_db:.2f} dB quieter. {words.heard(compared.apart_db)}" == verdict.difference(compared)
    assert verdict.cost(compared) == "B costs 10.00 more."
    assert verdict.cost(against(choice(16, price=3), choice(12, price=1))) == "A costs 10.00 more."
    assert verdict.cost(against(choice(16, price=1), choice(12, price=1))) == "Both cost the same."
    assert verdict.cost(against(choice(16), choice(12, price=1))) == ""
    assert verdict.summary(compared) == (
        f"A (16 AWG, 5 m) or B (12 AWG, 5 m): {compared.apart_db:.2f} dB apart. "
        "You are unlikely to hear this. Take A and spend the rest elsewhere."
    )
    assert "://" not in verdict.summary(compared)
    assert "www" not in verdict.summary(compared)


def test_equal_choices_are_called_equal() -> None:
    assert verdict.difference(against(choice(16), choice(16))) == "Both are equally loud. Nobody hears that."


def test_a_difference_at_one_pitch_is_told_and_judged() -> None:
    compared = against(choice(22, 8), choice(12), driver="Demo 25 mm tweeter")
    flat = against(choice(22, 8), choice(12))
    assert abs(compared.furthest_db) > abs(flat.furthest_db)
    assert "At a pitch of" in verdict.difference(compared)
    assert verdict.audible_db(compared) == abs(compared.furthest_db)
    assert " 20 Hz it is" in verdict.difference(compared)
    assert "20.0 kHz it is" in verdict.difference(against(choice(0, 20), choice(0, 1)))  # the pair's inductance


def test_one_sheet_does_not_contradict_itself() -> None:
    """A leaflet said "3.1 dB apart. You will hear this.", "2.6 dB quieter", and that a test did not show it."""
    compared = against(choice(26, 12), choice(12), driver="Demo 165 mm door woofer")
    plain, most = words.decibels(abs(compared.apart_db)), words.decibels(verdict.audible_db(compared))
    assert plain != most
    at = f"at a pitch of {compared.furthest_hz:.0f} Hz"
    assert f": {plain} dB apart, {most} dB {at}." in verdict.summary(compared)
    assert verdict.difference(compared).startswith(f"A is {plain} dB quieter. A{at[1:]} it is {most} dB.")
    assert "may show that you do" in verdict.beside_test(compared, sign=False)
    assert verdict.beside_test(compared, sign=True) == ""
    faint = against(choice(16), choice(12))
    assert verdict.beside_test(faint, sign=False) == ""
    assert "Repeat the test" in verdict.beside_test(faint, sign=True)


def test_what_is_audible_is_said_with_its_standing() -> None:
    assert "0.2 to 0.4 dB" in verdict.AUDIBLE
    assert "1 dB" in verdict.AUDIBLE
    assert "common practice" in verdict.AUDIBLE
    assert "harms hearing" in verdict.HEARING


def everything() -> Iterator[str]:
    """Every text that a customer may read on the page."""
    yield from (
        verdict.AUDIBLE,
        verdict.HEARING,
        verdict.NOT_ALL,
        verdict.SWITCH,
        verdict.BLIND,
        *tables.load("glossary")["plain"],
    )
    yield from (words.heard(loss) for loss in tables.load("hearing")["loss_db_up_to"])
    yield from (blind.blind_result(right, 12) for right in range(13))
    prices = (None, 1.0, 2.0)
    drivers = ("", "Demo 25 mm tweeter")
    loud = runs.SpeakerRun(amplifier=Amplifier(power_w=4000, rated_ohm=1), load_ohm=1)
    cases = itertools.product((26, 20, 16, 12), (26, 16, 8), prices, prices, drivers, (RUN, loud))
    for first, second, first_price, second_price, driver, run in cases:
        compared = against(choice(first, 6, first_price), choice(second, 5, second_price), run, driver)
        yield from (verdict.delivered(compared, 0), verdict.delivered(compared, 1), verdict.difference(compared))
        yield from (verdict.cost(compared), verdict.verdict(compared), verdict.summary(compared))
        yield from (verdict.beside_test(compared, sign) for sign in (True, False))
        yield from (verdict.setting(compared), verdict.setting(compared, driver and f"the {driver} (invented)"))


@pytest.fixture(scope="module")
def texts() -> list[str]:
    return sorted({text for text in everything() if text})


def lengths(text: str) -> list[int]:
    sentences = re.split(r"(?<=[.!?:])\s+", text)
    return [len(re.findall(r"[\w’'.%²×-]*\w[\w’'.%²×-]*", sentence)) for sentence in sentences if sentence]


def test_sentences_are_short(texts: list[str]) -> None:
    counts = [count for text in texts for count in lengths(text)]
    assert len(counts) > 200
    assert sum(counts) / len(counts) < 12
    for text in texts:
        sentence_words = lengths(text)
        assert sum(sentence_words) / len(sentence_words) < 20, text
        assert max(sentence_words) <= 25, text


def test_every_trade_word_is_in_the_glossary(texts: list[str]) -> None:
    glossary = tables.load("glossary")
    forms = {form for each in glossary["forms"] for form in each.split("|")}
    assert len(forms) == sum(len(each.split("|")) for each in glossary["forms"])  # no form stands for two terms
    units = re.compile(r"(?<![\w])(?:[A-Z]{2,}|[A-Z]?[a-z]?[BW]|k?Hz|mm²|m?Ω)(?![\w])")
    for text in texts:
        for word in units.findall(text):
            assert word in forms or word in ("A", "B"), (word, text)
    trade = re.compile(r"\b(impedance|damping|conductors?|amplifiers?|fuses?|decibels?|ohms?|watts?|RMS)\b")
    for text in texts:
        for word in trade.findall(text):
            assert word in forms, (word, text)


def test_a_new_step_of_hearing_breaks_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Steps are asked for by name, not by place."""
    lines = (tables.FOLDER / "hearing.csv").read_text(encoding="utf-8").splitlines()
    lines.insert(4, "in between,0.6,Some people hear that.,by hand,memory")
    (tmp_path / "hearing.csv").write_text("\n".join(lines), encoding="utf-8")
    with monkeypatch.context() as patch:
        patch.setattr(tables, "FOLDER", tmp_path)
        tables._columns.cache_clear()
        steps = tables.keyed("hearing", words.HearingStep)
    tables._columns.cache_clear()
    assert list(steps)[3:5] == ["in between", "music"]
    monkeypatch.setattr(words, "STEPS", steps)
    assert words.heard(0.5) == "Some people hear that."
    assert runpy.run_path(verdict.__file__)["AUDIBLE"] == verdict.AUDIBLE
