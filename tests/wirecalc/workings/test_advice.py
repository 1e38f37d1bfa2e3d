"""Every number of a decision, worked out anew by its formulas, is the number that the decision used."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.shown_formulas import proven
from wirecalc import runs
from wirecalc.advice.one_cable import one_cable
from wirecalc.advice.size import Job, judge_sizes
from wirecalc.advice.stretches import by_house_rules
from wirecalc.circuits import relay, supply
from wirecalc.circuits.source import Amplifier
from wirecalc.runs.choose import Candidate
from wirecalc.wire.cable_types import CABLES
from wirecalc.wire.conductor import awg
from wirecalc.workings.advice import of_size
from wirecalc.workings.one_cable import of_cable

RELAY = relay.Relay(coil_ohm=90, pull_in_v=7.2, drop_out_v=1.2)
RUNS: dict[str, tuple[Any, float, float, int]] = {  # run, length in m, AWG, ways
    "speaker": (runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4), 5.5, 18, 2),
    "hot subwoofer": (runs.SubwooferRun(amplifier=Amplifier(power_w=600, rated_ohm=1), load_ohm=1), 2, 14, 2),
    "feed": (runs.FeedRun(rated_w=1000, amplifier_class=supply.CLASSES["D"], supply_v=14.4), 5, 4, 1),
    "turn-on": (runs.TurnOnRun(draw_a=0.25, supply_v=12, limit_a=0.3, least_v=9), 12, 22, 2),
    "relay": (runs.RelayRun(relay=RELAY, supply_v=10.5, coil_c=85), 5, 22, 2),
    "lamps": (
        runs.LampRun(supply_v=12.6, strip_m=3, amps_per_m=1.0, strip_ohm_per_m=0.05), 5, 14, 2,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RUNS)
@pytest.mark.parametrize("parallel", [1, 2])
def test_the_number_shown_is_the_number_used(name: str, parallel: int) -> None:
    run, length_m, gauge, ways = RUNS[name]
    job = Job(run=run, route=by_house_rules(run.kind, length_m, ways=ways))  # type: ignore[arg-type]
    candidate = Candidate(conductor=awg(gauge), parallel=parallel)
    judged = judge_sizes(job, [candidate.conductor], parallel)
    assert len(judged.held) >= 3
    for held in judged.held:
        scale = 100 if held.limit.measure == "drop_fraction" else 1
        value, bound = float(held.values[0]) * scale, float(held.bounds[0]) * scale
        over = value - bound if held.limit.sense == "at most" else bound - value
        for key, expected in (("", value), ("bound ", bound), ("over ", over)):
            working = of_size(f"{key}{held.limit.measure}", job, candidate)
            assert working.value == pytest.approx(expected, rel=2e-3, abs=2e-4), (key, held.limit.measure)
            assert working.steps[-1].source or working.steps[-1].inputs, held.limit.measure


def test_the_numbers_of_a_cable_are_those_of_its_formulas() -> None:
    run, length_m, _, ways = RUNS["speaker"]
    job = Job(run=run, route=by_house_rules("amplifier to speaker", length_m, ways=ways))
    prices = (2.5, 0.6)
    for circuits, name in ((2, "speaker_9"), (7, "speaker_9"), (1, "speaker_4_14")):
        answer = one_cable(job, CABLES[name], circuits, cable_price=prices[0], wire_price=prices[1])
        expected = {"separate:price": answer.separate_price, "twist:price": answer.twisted_price}
        for way, laying in (("single", answer.single), ("double", answer.double)):
            assert laying is not None
            expected[f"{way}:takes"] = laying.takes
            if laying.does:
                assert laying.pick is not None
                expected[f"{way}:cables"], expected[f"{way}:price"] = laying.cables, laying.price
                expected[f"{way}:temperature_c"] = laying.pick.full_c
        for key, value in expected.items():
            working = of_cable(key, answer, prices=prices)
            assert working.value == pytest.approx(value, rel=2e-3), key
            if not key.endswith("temperature_c"):  # whose I1 is a current, no function
                proven(working)
    with pytest.raises(KeyError):
        of_cable("triple:takes", answer, prices=prices)
