"""The choice: smallest that meets all limits, why each other does not, and what to do when none does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc import tables
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.runs import choose
from wirecalc.runs.choose import LIMITS, Limit, candidates, judge_candidates
from wirecalc.wire import ampacity, fuse, heat
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import awg, metric
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.music import music_rms_a

GAUGES = [awg(n) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2)]
LOSS = Limit(measure="loss_db", name="level loss", sense="at most", bound=0.4, unit="dB", remedy="two in parallel")
DAMPING = Limit(measure="damping_factor", name="damping factor", sense="at least", bound=20.0)
HEAT = Limit(measure="temperature_c", name="conductor temperature", sense="at most", bound="limit_c", unit="°C")


def speaker_run(tried, power_w, load_ohm, length_m):
    """What the circuit and the heat balance say about a loudspeaker run."""
    amplifier = Amplifier(power_w=power_w, rated_ohm=load_ohm)
    ohm_per_m = np.array([candidate.conductor.ohm_per_m_20c for candidate in tried])
    count = np.array([candidate.parallel for candidate in tried])
    run = solve_loop(amplifier.emf_v, amplifier.output_ohm, loop_ohm(ohm_per_m, length_m, parallel=count), load_ohm)
    wires = insulated([candidate.conductor for candidate in tried], INSULATIONS["pvc_80"])
    current_a = music_rms_a(run.current_a) / count
    return {
        "loss_db": -run.level_db,
        "damping_factor": run.damping_factor,
        "current_a": current_a,
        "temperature_c": heat.temperature_c(wires, current_a, 45.0, 2 * count),
        "limit_c": wires.insulation.limit_c,
        "allowable_a": ampacity.allowable(wires, 45.0, 2 * count).current_a,
    }


def meets(limit, measures, place):
    value = np.broadcast_to(measures[limit.measure], (9,))[place]
    bound = measures[limit.bound] if isinstance(limit.bound, str) else limit.bound
    bound = np.broadcast_to(bound, (9,))[place]
    return value <= bound if limit.sense == "at most" else value >= bound


@given(
    st.sampled_from(["amplifier to speaker", "subwoofer"]),
    st.floats(10, 2000),
    st.sampled_from([1.0, 2.0, 4.0, 8.0]),
    st.floats(0.5, 20),
)
def test_the_chosen_size_is_minimal(kind, power_w, load_ohm, length_m):
    tried = candidates(GAUGES)
    measures = speaker_run(tried, power_w, load_ohm, length_m)
    verdict = judge_candidates([candidate.label for candidate in tried], measures, LIMITS[kind])
    places = range(9) if verdict.chosen is None else range(verdict.chosen)
    for place in places:
        broken = [limit for limit in LIMITS[kind] if not meets(limit, measures, place)]
        assert broken
        assert len(verdict.breaks(place)) == len(broken)
    if verdict.chosen is not None:
        assert all(meets(limit, measures, verdict.chosen) for limit in LIMITS[kind])
        assert verdict.breaks(verdict.chosen) == ()


@given(st.lists(st.floats(allow_nan=True, width=32), min_size=1, max_size=6), st.floats(-1e3, 1e3))
def test_meeting_is_not_being_over(values, bound):
    limits = [Limit(measure="value", name="value", sense=sense, bound=bound) for sense in ("at most", "at least")]
    verdict = judge_candidates([str(place) for place in range(len(values))], {"value": values}, limits)
    assert np.array_equal(verdict.meets, verdict.over_by <= 0)
    assert not verdict.meets[:, np.isnan(values)].any()
    assert (verdict.nearest == verdict.chosen) or verdict.chosen is None


def test_by_how_much_a_size_breaks_a_limit():
    measures = {
        "loss_db": [0.62, 0.41, 0.26, 0.1],
        "damping_factor": [8.0, 15.0, 19.0, 40.0],
        "temperature_c": [np.inf, 70, 50, 40],
        "limit_c": 60,
    }
    verdict = judge_candidates(["18", "16", "14", "12"], measures, [LOSS, DAMPING, HEAT])
    assert verdict.chosen == verdict.nearest == 3
    assert verdict.over_by[:, 1] == pytest.approx([0.01, 5.0, 10.0])
    assert verdict.breaks(1) == (
        "level loss 0.41 dB, at most 0.4 dB allowed: over by 0.01 dB",
        "damping factor 15, at least 20 allowed: short by 5",
        "conductor temperature 70 °C, at most 60 °C allowed: over by 10 °C",
    )
    assert verdict.in_words() == (
        "12 is the smallest that meets every limit. 14 does not: damping factor 19, at least 20 allowed: short by 1."
    )
    table = verdict.table()
    assert len(table) == 12
    assert table.groupby("label")["meets"].all().to_dict() == {"18": False, "16": False, "14": False, "12": True}
    row = table[(table["label"] == "16") & (table["measure"] == "temperature_c")].iloc[0]
    assert (row["value"], row["bound"], row["over_by"], row["unit"]) == (70, 60, 10, "°C")
    assert table.loc[table["chosen"], "label"].unique().tolist() == ["12"]


def test_when_none_meets_all():
    measures = {"loss_db": [0.9, 0.7, 0.6], "damping_factor": [25.0, 22.0, 21.0]}
    verdict = judge_candidates(["12", "10", "8"], measures, [LOSS, DAMPING])
    assert verdict.chosen is None
    assert verdict.nearest == 2
    assert verdict.in_words() == (
        "None meets every limit. Nearest is 8: level loss 0.6 dB, at most 0.4 dB allowed: over by 0.2 dB. "
        "What helps: two in parallel."
    )
    assert not verdict.table()["chosen"].any()
    # fewest broken limits first, then the least far off; no value is the farthest
    assert (
        judge_candidates(["a", "b"], {"loss_db": [0.5, 0.9], "damping_factor": [19.0, 30.0]}, [LOSS, DAMPING]).nearest
        == 1
    )
    odd = judge_candidates(["a", "b", "c"], {"loss_db": [np.nan, np.inf, 7.0]}, [LOSS])
    assert odd.nearest == 2
    assert odd.breaks(0) == ("level loss has no value here",)
    assert judge_candidates(["a"], {"loss_db": 0.1}, [LOSS]).in_words() == "a is the smallest that meets every limit."


def test_two_in_parallel_enter_as_candidates():
    tried = candidates([metric(1.5), metric(6), metric(2.5)], (4, 2, 1))
    labels = ["1.5 mm²", "2.5 mm²", "2 × 1.5 mm²", "2 × 2.5 mm²", "6 mm²", "4 × 1.5 mm²", "4 × 2.5 mm²"]
    assert [candidate.label for candidate in tried] == [*labels, "2 × 6 mm²", "4 × 6 mm²"]
    assert tried[4].area_m2 == tried[5].area_m2
    alone = speaker_run(candidates([awg(12)]), 600, 2.0, 10.0)
    assert judge_candidates(["12 AWG"], alone, LIMITS["subwoofer"]).chosen is None
    # by hand: 0.1063 ohm loop and 0.01 ohm of amplifier: 17.2; with half the loop 31.6
    assert alone["damping_factor"] == pytest.approx(17.2, abs=0.05)
    tried = candidates([awg(12)], (4, 1, 2))
    verdict = judge_candidates(
        [candidate.label for candidate in tried], speaker_run(tried, 600, 2.0, 10.0), LIMITS["subwoofer"]
    )
    assert verdict.labels[verdict.chosen] == "2 × 12 AWG"
    assert verdict.values[1] == pytest.approx([17.2, 31.6, 54.7], abs=0.1)


def test_a_battery_feed_end_to_end():
    wires = insulated(GAUGES, INSULATIONS["pvc_105"])
    draw_a = 60.0
    allowed = ampacity.allowable(wires, 45.0).current_a
    measures = {
        "drop_v": draw_a * loop_ohm(wires.ohm_per_m_20c, 2.0),
        "temperature_c": heat.temperature_c(wires, draw_a, 45.0),
        "limit_c": wires.insulation.limit_c,
        "fuse_headroom_a": fuse.headroom_a(draw_a, allowed),
    }
    verdict = judge_candidates([gauge.label for gauge in GAUGES], measures, LIMITS["battery to amplifier"])
    # by hand: 60 A need an 80 A fuse; 8 AWG (80 A in 30 °C air) is less in 45 °C; 0.5 V over 4 m need 2.08
    # mohm/m; 6 AWG has 1.32
    assert verdict.labels[verdict.chosen] == "6 AWG"
    assert "room for a fuse" in verdict.breaks(verdict.chosen - 1)[-1]


def test_limits_of_every_kind_have_their_reason():
    assert set(LIMITS) == {
        "amplifier to speaker",
        "subwoofer",
        "line signal",
        "remote turn-on",
        "relay",
        "lamp strip",
        "battery to amplifier",
        "device on the supply",
        "factory signal",
    }
    for limit in (limit for limits in LIMITS.values() for limit in limits):
        assert limit.reason.endswith(".")
        assert limit.remedy
        assert isinstance(limit.bound, str) or 0 <= limit.bound <= (100 if limit.unit == "%" else 20)
    assert len(tables.load("limits")) == sum(map(len, LIMITS.values()))
    # the smallest and the usual just-noticeable level change: the texts named in data/limits.csv (read)
    assert {limit.bound for limit in LIMITS["line signal"]} == {0.4, 0.2}


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: judge_candidates([], {"loss_db": 1}, [LOSS]), "Choice"),
        (lambda: judge_candidates(["a"], {"loss_db": 1}, []), "Choice"),
        (lambda: judge_candidates(["a"], {}, [LOSS]), "Measure"),
        (lambda: judge_candidates(["a"], {"temperature_c": 1}, [HEAT]), "Measure"),
        (lambda: judge_candidates(["a", "b"], {"loss_db": [1, 2, 3]}, [LOSS]), "Measure"),
        (lambda: judge_candidates(["a"], {"loss_db": 1}, [LOSS]).breaks(1), "Candidate"),
        (lambda: Limit(measure="a", name="a", sense="about", bound=1), "Limit"),
        (lambda: Limit(measure="a", name="a", sense="at most", bound=np.nan), "Limit of a"),
        (lambda: choose.Candidate(conductor=awg(12), parallel=0), "Conductors in parallel"),
    ],
)
def test_bad_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
