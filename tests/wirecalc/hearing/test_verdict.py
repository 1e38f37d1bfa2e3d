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
    ("first", "second", "said"),
    [
        (choice(16), choice(12), "You are unlikely to hear this; spend it elsewhere."),
        (choice(16, price=1), choice(12, price=3), "unlikely to hear this. Take A and spend the rest elsewhere."),
        (choice(16, price=2), choice(16, price=2), "Nobody hears this. Both cost the same, so take either."),
        (choice(10, price=2), choice(8, price=3), "Nobody hears this. Take A and spend the rest elsewhere."),
        (choice(10), choice(8), "Nobody hears this; spend it elsewhere."),
        (choice(16, price=3), choice(12, price=1), "Take B: it is louder and costs less."),
        (choice(20), choice(12), "You may hear this when you switch, barely on music. B is louder"),
        (choice(12), choice(22, 8), "You are likely to hear this side by side. A is worth a thought."),
        (choice(12), choice(26, 12), "You will hear this. Take A."),
    ],
)
def test_the_verdict_is_honest(first: ComparedWire, second: ComparedWire, said: str) -> None:
    assert said in verdict.verdict(against(first, second))


def test_heat_goes_before_sound() -> None:
    loud = runs.SpeakerRun(amplifier=Amplifier(power_w=4000, rated_ohm=1), load_ohm=1)
    found = against(choice(24, 1), choice(4, 1), loud)
    assert verdict.verdict(found) == "Take B: the other wire gets too hot."
    assert "Do not use it here" in verdict.delivered(found, 0)
    assert "Do not use" not in verdict.delivered(found, 1)
    assert "Neither" in verdict.verdict(against(choice(24, 1), choice(24, 1), loud))


def test_numbers_are_those_of_the_contrast() -> None:
    found = against(choice(16, price=1), choice(12, price=3))
    assert f"{found.load_w[0]:.0f} of 100 W reach the speaker" in verdict.delivered(found, 0)
    assert f"A is {found.apart_db:.2f} dB quieter. {words.heard(found.apart_db)}" == verdict.difference(found)
    assert verdict.cost(found) == "B costs 10.00 more."
    assert verdict.cost(against(choice(16, price=3), choice(12, price=1))) == "A costs 10.00 more."
    assert verdict.cost(against(choice(16, price=1), choice(12, price=1))) == "Both cost the same."
    assert verdict.cost(against(choice(16), choice(12, price=1))) == ""
    assert verdict.summary(found) == (
        f"A (16 AWG, 5 m) or B (12 AWG, 5 m): {found.apart_db:.2f} dB apart. "
        "You are unlikely to hear this. Take A and spend the rest elsewhere."
    )
    assert "://" not in verdict.summary(found)
    assert "www" not in verdict.summary(found)


def test_equal_choices_are_called_equal() -> None:
    assert verdict.difference(against(choice(16), choice(16))) == "Both are equally loud. Nobody hears that."


def test_a_difference_at_one_pitch_is_told_and_judged() -> None:
    found = against(choice(22, 8), choice(12), driver="Demo 25 mm tweeter")
    flat = against(choice(22, 8), choice(12))
    assert abs(found.furthest_db) > abs(flat.furthest_db)
    assert "At a pitch of" in verdict.difference(found)
    assert verdict.audible_db(found) == abs(found.furthest_db)
    assert " 20 Hz it is" in verdict.difference(found)
    assert "20.0 kHz it is" in verdict.difference(against(choice(0, 20), choice(0, 1)))  # the pair's inductance


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
    for first, second, one, other, driver, run in cases:
        found = against(choice(first, 6, one), choice(second, 5, other), run, driver)
        yield from (verdict.delivered(found, 0), verdict.delivered(found, 1), verdict.difference(found))
        yield from (verdict.cost(found), verdict.verdict(found), verdict.summary(found))
        yield from (verdict.setting(found), verdict.setting(found, driver and f"the {driver} (invented)"))


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
        found = lengths(text)
        assert sum(found) / len(found) < 20, text
        assert max(found) <= 25, text


def test_every_trade_word_is_in_the_glossary(texts: list[str]) -> None:
    glossary = tables.load("glossary")
    forms = {form for each in glossary["forms"] for form in each.split("|")}
    assert len(forms) == sum(len(each.split("|")) for each in glossary["forms"])  # no form stands for two terms
    units = re.compile(r"(?<![\w])(?:[A-Z]{2,}|[A-Z]?[a-z]?[BW]|k?Hz|mm²|m?Ω)(?![\w])")
    for text in texts:
        for found in units.findall(text):
            assert found in forms or found in ("A", "B"), (found, text)
    trade = re.compile(r"\b(impedance|damping|conductors?|amplifiers?|fuses?|decibels?|ohms?|watts?|RMS)\b")
    for text in texts:
        for found in trade.findall(text):
            assert found in forms, (found, text)


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
