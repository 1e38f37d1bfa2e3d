"""Where nothing serves, the reason is said and the remedy is one: no thicker wire for air that is too hot."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

import wirecalc
from tests.wirecalc.advice.circuits import details_of, job
from wirecalc.advice.size import advise
from wirecalc.wire.conductor import awg
from wirecalc.wire.zones import ZONES

HOT = {"insulation": "pvc_80", "zone": "engine_bay"}  # 90 °C by data/zones.csv, 80 °C by data/insulations.csv
WHY = "the air of 90 °C (engine bay, beside the engine) is over the insulation's 80 °C."
DEVICE = wirecalc.device_run("10 A", "3 m")


@pytest.mark.parametrize(
    "answer",
    [
        wirecalc.speaker_run("100 W", "4 ohm", "3 m"),
        wirecalc.turn_on_run("100 mA", "3 m"),
        DEVICE,
        wirecalc.feed_run("500 W", "3 m"),
    ],
)
def test_air_over_the_insulations_limit_is_named_with_what_helps(answer: Any) -> None:
    choice = wirecalc.choose(answer, **HOT)
    assert choice.pull == ""
    assert choice.words.startswith(f"No size keeps every rule of safety here: {WHY} Take wire whose insulation stands")
    assert "thick" not in choice.words
    stands = wirecalc.choose(answer, zone="engine_bay", insulation="xlpe_125")
    assert stands.pull  # the remedy is one
    assert wirecalc.choose(answer, insulation="pvc_80", zone="cabin").pull


def test_a_size_asked_about_is_not_called_thin_for_the_air() -> None:
    choice = wirecalc.choose(wirecalc.device_run("10 A", "3 m", "12 AWG"), **HOT)
    assert " 12 AWG does not do either: " in choice.words
    assert choice.state == "too thin"


def test_air_just_under_the_limit_is_no_such_reason() -> None:
    hot = job(details_of({"details": "kind load; draw_a 100; length_m 3; zone engine_bay"})).route
    for air, too_hot in ((hot.insulation.limit_c, True), (hot.insulation.limit_c - 1, False)):
        there = replace(hot, stretches=tuple(replace(part, ambient_c=air, zone="") for part in hot.stretches))
        assert bool(there.too_hot) == too_hot
    assert ZONES["engine_bay"].ambient_c == 90.0


BAY = {"insulation": "pvc_100", "zone": "engine_bay"}


# what cannot be met with any wire, the figure that says so and the remedy, each a sentence of its own
@pytest.mark.parametrize(
    ("answer", "how", "figure", "remedy"),
    [
        (
            wirecalc.turn_on_run("360 mA", "5 m"),
            {},
            "against 0.3, over by 0.06, which no wire mends.",
            "A relay: the output then",
        ),
        (wirecalc.lamp_run("10 m", 1.0, "2 m"), {}, "AWG does: dimmest lamp", "Feed both ends or shorter strips."),
        (
            wirecalc.device_run("1000 A", "3 m"),
            {},
            "AWG does: conductor at the most for minutes",
            "Split the load over",
        ),
        (
            wirecalc.device_run("800 A", "1 m"),
            {"insulation": "xlpe_125"},
            "AWG does: no fuse of",
            "Split the load over",
        ),
        (wirecalc.subwoofer_run(20e3, 0.1, "5 m"), BAY, "does: conductor at the most", "Take wire whose insulation"),
        (wirecalc.subwoofer_run(5e3, 0.5, "5 m"), BAY, "in air of 90 °C the published", "Take wire whose insulation"),
    ],
)
def test_the_limit_that_none_keeps_is_named_and_remedies_are_sentences(
    answer: Any, how: Any, figure: str, remedy: str
) -> None:
    choice = wirecalc.choose(answer, **how)
    assert choice.pull == ""
    assert choice.words.startswith("No size keeps every rule of safety here: ")
    assert figure in choice.words
    assert remedy in choice.words
    assert "hicker wire" not in choice.words
    assert not re.search(r"\. [a-z]", choice.words), choice.words
    assert all(change.endswith(".") and not change[0].islower() for change in choice.advice.changes)


def test_a_limit_of_taste_that_none_keeps_is_no_rule_of_safety() -> None:
    choice = wirecalc.choose(wirecalc.speaker_run("100 W", "0.2 ohm", "100 m", rated_ohm=4))
    assert choice.words.startswith("No size keeps every rule and limit here: not even 4/0 AWG does: level loss ")
    assert choice.words.endswith(" The amplifier closer.")


def test_of_a_terminal_the_thickest_that_goes_in_is_the_one_that_fails() -> None:
    choice = wirecalc.choose(wirecalc.feed_run("2500 W", "5 m"), terminal="8 AWG")
    assert "not even 8 AWG, the thickest that the terminal takes, does: " in choice.words
    assert "The device's terminal takes up to 8 AWG: nothing on the shelf does" in choice.words


def test_of_two_wires_a_thicker_one_is_still_a_remedy() -> None:
    own = replace(
        job(details_of({"details": "kind speaker; power_w 100; ohm 4; length_m 50"})), stock=(awg(26), awg(24))
    )
    advice = advise(own)
    assert advice.pull is None
    assert any("thicker wire" in change for change in advice.changes)


@pytest.mark.parametrize(("draw", "thin"), [("360 mA", False), ("250 mA", True)])
def test_what_an_output_cannot_give_is_not_called_too_thin(draw: str, thin: bool) -> None:
    """Thicker wire gives a turn-on output no more: a relay does, whose coil is all that it then feeds."""
    choice = wirecalc.choose(wirecalc.turn_on_run(draw, "5 m", "24 AWG"))
    assert ("24 AWG is too thin" in choice.words) == thin
    assert ("24 AWG does not do either: current 0.36 A" in choice.words) != thin
    assert ("A relay: the output then feeds only its coil." in choice.words) != thin
