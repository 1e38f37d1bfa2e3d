"""What to pull is said in words that hold: of the shelf only what is on it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import wirecalc
from tests.wirecalc.advice.circuits import details_of, job
from wirecalc.advice.none_fits import advice_sentence
from wirecalc.advice.size import advise
from wirecalc.advice.words import on_the_shelf
from wirecalc.wire.cautions import CAUTIONS
from wirecalc.wire.conductor import awg


# sizes by data/house_rules.csv: on the shelf, on order, taken only when asked for
@pytest.mark.parametrize(
    ("answer", "how", "conductor", "shelf"),
    [
        (wirecalc.speaker_run("100 W", "4 ohm", "20 ft"), {}, "16 AWG", True),
        (wirecalc.feed_run("500 W", "5 m"), {}, "8 AWG", True),
        (wirecalc.device_run("150 A", "3 m", supply_v=25.2, nominal_v=24), {}, "2/0 AWG", False),
        (
            wirecalc.device_run("260 A", "1.5 m", ways=2, inrush_ratio=2),
            {"insulation": "pvc_105", "zone": "cabin"},
            "3/0 AWG",
            False,
        ),
        (wirecalc.subwoofer_run("5000 W", "1 ohm", "1 m"), {}, "4 AWG", False),
    ],
)
def test_only_what_is_on_the_shelf_is_called_so(answer: Any, how: Any, conductor: str, shelf: bool) -> None:
    choice = wirecalc.choose(answer, **how)
    advice = choice.advice
    assert advice.pull is not None
    assert advice.pull.candidate.conductor.label == conductor, choice.words
    assert on_the_shelf(advice.job, advice.pull) == shelf
    assert ("and on the shelf." in choice.words) == shelf
    assert (f"{conductor} is not on the shelf: order it." in choice.words) != shelf


def test_where_nobody_says_what_is_on_the_shelf_nothing_is_said_of_it() -> None:
    speaker = job(details_of({"details": "kind speaker; power_w 100; ohm 4; length_m 5"}))
    own = advise(replace(speaker, stock=(awg(16), awg(12))))
    assert own.sentence == "Pull 16 AWG: the least that keeps every rule and limit."


# ASTM B566: clad aluminium carries as copper two gauge sizes thinner (see the test of the cautions)
@pytest.mark.parametrize(
    ("size", "told"),
    [("8 AWG", "8 AWG copper-clad aluminium is too thin: "), ("4 AWG", "4 AWG copper-clad aluminium is fine.")],
)
def test_where_asked_and_pulled_are_of_two_metals_both_are_named(size: str, told: str) -> None:
    choice = wirecalc.choose(wirecalc.feed_run("500 W", "5 m", size, metal="cca_15"))
    assert "Pull 8 AWG copper: the least" in choice.words
    assert told in choice.words
    assert CAUTIONS["clad aluminium"] in choice.cautions  # of what is asked about too
    same = wirecalc.choose(wirecalc.feed_run("500 W", "5 m", size))
    assert "copper" not in same.words
    assert CAUTIONS["clad aluminium"] not in same.cautions


def test_two_claddings_are_told_apart() -> None:
    choice = wirecalc.choose(wirecalc.feed_run("500 W", "5 m", "4 AWG", metal="cca_15"), metal="cca_10")
    assert "Pull 4 AWG copper-clad aluminium 10 %; " in choice.words
    assert "4 AWG copper-clad aluminium 15 % is fine." in choice.words


@pytest.mark.parametrize(
    ("amperes", "metres", "pulled", "told"),
    [
        # 3 % of 12.6 V are 0.378 V; 8.3 m of 4 AWG at 20 °C lose 0.331 V (ASTM B258, IEC 60028), 15 % more at 58 °C
        (
            48,
            4.15,
            "1/0 AWG",
            "voltage drop 3 % against 3 %, just over.",
        ),
        (
            48,
            4.3,
            "1/0 AWG",
            "voltage drop 3.1 % against 3 %, over by 0.1.",
        ),
        (48, 6.0, "1/0 AWG", ""),  # by far
        (48, 2.0, "4 AWG", ""),  # 8 AWG breaks a limit of safety
    ],
)
def test_a_thinner_size_that_misses_taste_by_little_is_named(
    amperes: float, metres: float, pulled: str, told: str
) -> None:
    choice = wirecalc.choose(wirecalc.device_run(amperes, metres, ways=2))
    assert choice.advice.pull is not None
    assert choice.advice.pull.label == pulled
    named = (
        "4 AWG, the next thinner on the shelf, keeps every rule of safety and misses only a limit of taste, by little: "
    )
    assert choice.advice.sentence.endswith(f" {named}{told}") == bool(told)
    assert choice.words.count("of taste, by little") == bool(told)
    marked = advice_sentence(choice.advice, mark=lambda text, key: f"[{key} {text}]")
    assert ("[drop_fraction 3" in marked) == bool(told)
    assert (marked == choice.advice.sentence) != bool(told)


def test_a_house_rule_ends_in_one_full_stop() -> None:
    words = wirecalc.choose(wirecalc.device_run("0.5 A", "4 m", "22 AWG")).words
    assert "22 AWG is too thin: the shop pulls 18 AWG or thicker" in words
    assert ".." not in words


def test_a_winch_is_told_of_its_fuse_and_of_hours() -> None:
    """It was told that the "fuse that the load needs has no value here", and nothing that helps."""
    choice = wirecalc.choose(wirecalc.device_run("400 A", "2 m", "2/0 AWG"))
    assert "2/0 AWG is too thin: no fuse of the shop's families carries the load" in choice.words
    assert "Split the load" in choice.words
    assert "lasting for hours" in choice.cautions[0]
    assert "lasting for hours" in wirecalc.device_run("400 A", "2 m", "2/0 AWG").words
