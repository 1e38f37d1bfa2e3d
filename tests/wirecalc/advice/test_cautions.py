"""The cautions of one run follow from where its fuse sits, what it carries and what it is made of."""

from __future__ import annotations

import pytest

import wirecalc
from wirecalc.advice.cautions import work_of_run
from wirecalc.advice.demands import HEAVY_A
from wirecalc.advice.fuses import AT_BATTERY, BEHIND_A_FUSE
from wirecalc.front.answer import RunAnswer
from wirecalc.runs import Installation, Place
from wirecalc.wire.cautions import CAUTIONS, keys
from wirecalc.wire.insulation import INSULATIONS

BATTERY = {"battery feed", "battery sensor"}


def said(answer: RunAnswer, fused_at: str | None = None) -> set[str]:
    laid = Installation(length_m=answer.laid.length_m)
    place = Place(insulation=INSULATIONS["pvc_105"], ambient_c=45.0)
    return set(keys(work_of_run(answer.run, laid, place, fused_at=fused_at)))


# a steady load over 50 A has its fuse at the battery: data of the choice itself, common practice, no source
@pytest.mark.parametrize(("amperes", "at_battery"), [(185.0, True), (HEAVY_A + 1, True), (HEAVY_A, False), (5, False)])
def test_what_is_fused_at_the_battery_is_cautioned_as_a_feed_is(amperes: float, at_battery: bool) -> None:
    answer = wirecalc.device_run(amperes, 1.5, ways=2)
    choice = wirecalc.choose(answer, insulation="pvc_105")
    assert (choice.advice.job.demands.fuse_where == AT_BATTERY) == at_battery
    assert (said(answer) >= BATTERY) == at_battery
    assert bool(BATTERY & said(answer)) == at_battery
    assert all((CAUTIONS[key] in choice.cautions) == at_battery for key in BATTERY)


def test_where_the_fuse_was_put_by_hand_decides() -> None:
    small, heavy = wirecalc.device_run(5, 1.5), wirecalc.device_run(185, 1.5)
    assert said(small, AT_BATTERY) >= BATTERY
    assert not BATTERY & said(heavy, BEHIND_A_FUSE)


def test_an_output_is_no_battery() -> None:
    assert not BATTERY & said(wirecalc.speaker_run("3000 W", "1 ohm", "3 m"))
    assert said(wirecalc.feed_run("500 W", "5 m"), BEHIND_A_FUSE) >= BATTERY


# P = U^2 / R: 625 W into 4 ohm is 50 V, where IEC 60364-4-41 ends extra-low voltage (from memory)
@pytest.mark.parametrize(
    ("watts", "ohm", "shock", "loud"),
    [
        (3000, 4, True, True),
        (625, 4, True, True),
        (624, 4, False, True),
        (1250, 2, True, True),
        (100, 50, True, False),  # a 70.7 V line
        (100, 4, False, False),
        (101, 4, False, True),
    ],
)
def test_a_loudspeakers_wire_that_can_shock_or_deafen_says_so(
    watts: float, ohm: float, shock: bool, loud: bool
) -> None:
    for make in (wirecalc.speaker_run, wirecalc.subwoofer_run):
        answer = make(watts, ohm, "3 m")
        assert ("shock" in said(answer)) == shock
        assert ("hearing" in said(answer)) == loud
        assert (CAUTIONS["shock"] in wirecalc.choose(answer).cautions) == shock
    assert not {"shock", "hearing"} & said(wirecalc.feed_run("3000 W", "5 m"))
    # rated 600 W into 4 ohm it has 49 V, whatever the load
    assert "shock" not in said(wirecalc.speaker_run("600 W", "1 ohm", "2 m", rated_ohm="4 ohm"))
    assert [("shock" in said(wirecalc.factory_run(watt, "1 kohm", "3 m"))) for watt in (18, 650)] == [False, True]
