"""What is advised for typical circuits, and what must hold for any.

Ranges of size and fuse are what a careful installer would sign, each with its reason and source in the table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import wirecalc
from tests import tried
from tests.support.plans import vehicle, wire
from tests.wirecalc.advice.circuits import details_of, ground_route, job, rows
from wirecalc.advice.held import BORDERLINE, FINE, TOO_THICK, TOO_THIN
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.shared import combined, ground, return_a
from wirecalc.advice.size import Advice, Job, SizePick, advise, judge_sizes
from wirecalc.advice.stretches import Route, Stretch, in_zone
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.feed import FeedRun
from wirecalc.units import read_standard_size
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.model import Device
from wirecalc.wire.ampacity import table_a
from wirecalc.wire.bought import sizes_of
from wirecalc.wire.conductor import METALS, awg, conductor
from wirecalc.wire.fuse_families import SUSTAINED
from wirecalc.wire.heat import over_time_c
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

CIRCUITS = rows()
NAMES = [row["circuit"] for row in CIRCUITS]


def area(text: str) -> float:
    return conductor(*read_standard_size(text)).area_m2


@pytest.mark.parametrize("row", CIRCUITS, ids=NAMES)
def test_a_careful_installer_would_sign_it(row: dict[str, str]) -> None:
    details = details_of(row)
    assert row["reason"]
    assert row["source"]
    if details["kind"] == "ground":
        picked, fuse_a = grounded(details)
    elif details["kind"] == "line":
        advice = advise(job(details))
        assert advice.pull is None
        assert advice.state is None
        assert "No gauge" in advice.sentence
        return
    else:
        advice = advise(job(details))
        assert advice.pull is not None, advice.sentence
        assert advice.pull.state == FINE, advice.sentence
        picked, fuse_a = advice.pull.candidate.conductor.area_m2, advice.fuse
    assert area(row["thinnest"]) * (1 - 1e-6) <= picked <= area(row["thickest"]) * (1 + 1e-6)
    if row["fuse_min_a"]:
        assert fuse_a is not None
        assert fuse_a.rating_a is not None
        together = fuse_a.rating_a * advice.pull.candidate.parallel
        assert float(row["fuse_min_a"]) <= together <= float(row["fuse_max_a"])


def grounded(details: dict[str, str]) -> tuple[float, None]:
    watts = details["watts"].split()
    each = [advise(job({"kind": "feed", "rated_w": watt, "length_m": details["feed_m"]})) for watt in watts]
    pulls = [advice.pull for advice in each if advice.pull]
    shared_ground = ground(
        each[0].job,
        ground_route(float(details["length_m"])),
        [pull.candidate for pull in pulls],
        [pull.fuse.rating_a for pull in pulls if pull.fuse and pull.fuse.rating_a],
    )
    assert shared_ground is not None
    assert shared_ground.carries_a >= shared_ground.stands_a
    return shared_ground.candidate.conductor.area_m2, None


def test_there_are_enough_circuits_of_every_kind() -> None:
    kinds = [details_of(row)["kind"] for row in CIRCUITS]
    assert len(CIRCUITS) >= 60
    assert len(set(NAMES)) == len(NAMES)
    assert {kind: kinds.count(kind) >= 2 for kind in set(kinds)} == dict.fromkeys(set(kinds), True)


# what the page used to call enough, and what heat says of it: 2000 W at 1 ohm on 14 AWG, 1000 W on 16, 600 W on 22
@pytest.mark.parametrize(
    ("details", "asked"),
    [
        ("kind subwoofer; power_w 2000; ohm 1; length_m 2", "14 AWG"),
        ("kind subwoofer; power_w 1000; ohm 1; length_m 0.5", "16 AWG"),
        ("kind subwoofer; power_w 600; ohm 2; length_m 3", "22 AWG"),
        ("kind feed; rated_w 1200; length_m 5", "8 AWG"),
    ],
)
def test_what_overheats_is_too_thin_and_heat_is_the_first_reason(details: str, asked: str) -> None:
    planned_job = job(details_of({"details": details}))
    advice = advise(replace(planned_job, asked=conductor(*read_standard_size(asked))))
    assert advice.state == TOO_THIN
    assert advice.asked is not None
    assert "°C" in advice.first_reason or "fuse" in advice.first_reason or " A against" in advice.first_reason
    assert advice.asked.full_c > advice.asked.usual_c


def told(details: str, asked: str, **more: Any) -> Advice:
    return advise(replace(job(details_of({"details": details})), asked=conductor(*read_standard_size(asked)), **more))


def test_a_limit_of_taste_has_a_band_and_says_by_how_much() -> None:
    front = "kind speaker; power_w 100; ohm 4; length_m 5"
    assert told(front, "16 AWG").state == FINE
    edge = told(front, "18 AWG")
    assert edge.state == BORDERLINE
    assert edge.first_reason == "level loss 0.49 dB against 0.4, over by 0.09"
    assert told(front, "20 AWG").state == TOO_THIN
    wide = HouseRules.from_table().replace("taste_band/limit of taste/borderline//", "2")
    assert told(front, "20 AWG", rules=wide).state in (BORDERLINE, TOO_THIN)
    loose = Limit(measure="loss_db", name="level loss", sense="at most", bound=1.5, unit="dB")
    assert told(front, "18 AWG", limits=(loose,)).state == FINE


def test_house_rules_pull_more_and_say_why() -> None:
    advice = told("kind speaker; power_w 30; ohm 4; length_m 1", "22 AWG")
    assert advice.least is not None
    assert advice.pull is not None
    assert (advice.least.label, advice.pull.label) == ("22 AWG", "18 AWG")
    assert "crimps" in advice.why_differ
    assert advice.why_differ in advice.sentence
    assert advice.state == TOO_THIN  # workmanship: nothing loose under 18 AWG is signed
    ladder = told("kind subwoofer; power_w 600; ohm 4; length_m 1.5", "14 AWG")
    assert ladder.state == BORDERLINE  # safe, but the shop pulls 12
    assert "12 AWG" in ladder.first_reason
    metric = advise(job(details_of({"details": "kind speaker; power_w 30; ohm 4; length_m 1; system mm2"})))
    assert metric.pull is not None
    assert metric.pull.label == "0.75 mm²"
    in_jacket = told("kind load; draw_a 0.25; length_m 6; ways 2; zone outside; sheathed 1", "22 AWG")
    assert in_jacket.state == FINE


def test_thresholds_have_no_band() -> None:
    weak = told("kind remote; draw_a 0.5; limit_a 0.3; length_m 5", "18 AWG")
    assert weak.state == TOO_THIN
    assert weak.least is None
    assert any("relay" in change for change in weak.changes)
    hot = told("kind relay; coil_ohm 90; pull_in_v 8.5; length_m 4", "18 AWG")
    assert hot.state == TOO_THIN
    assert "pull-in" in hot.first_reason
    dark = told("kind lamps; strip_m 5; amps_per_m 2; length_m 5; strip_ohm_per_m 0.2", "12 AWG")
    assert dark.state == TOO_THIN
    assert "lamp" in dark.first_reason or any("lamp" in reason for reason in dark.asked.reasons)


def test_a_terminal_that_takes_less_asks_for_conductors_side_by_side() -> None:
    details = "kind feed; rated_w 2000; length_m 5"
    tight = told(details, "1/0 AWG", terminal_m2=area("4 AWG"))
    assert tight.state == TOO_THICK
    assert tight.pull is not None
    assert tight.pull.candidate.parallel >= 2
    assert tight.pull.candidate.conductor.area_m2 <= area("4 AWG")
    assert tight.pull.fuse is not None
    assert tight.pull.fuse.rating_a is not None
    assert tight.pull.fuse.rating_a < 150


def test_thick_cable_is_pulled_only_where_nothing_else_does() -> None:
    """4/0 fits no amplifier: it is named as the least metal, never pulled unless the shelf has it."""
    for watts in (300, 500, 900, 1000, 1500, 2000, 2500, 3000, 4000):
        advice = advise(job({"kind": "feed", "rated_w": f"{watts}", "length_m": "5"}))
        assert advice.pull is not None
        assert advice.pull.label != "4/0 AWG", watts


def test_a_feed_that_passes_the_bay_is_judged_there() -> None:
    cool = job(details_of({"details": "kind feed; rated_w 1000; length_m 5; zone boot"}))
    hot = job(details_of({"details": "kind feed; rated_w 1000; length_m 5; zone engine_bay"}))
    usual = advise(job(details_of({"details": "kind feed; rated_w 1000; length_m 5"})))
    areas = [advice.pull.candidate.area_m2 for advice in (advise(cool), usual, advise(hot)) if advice.pull]
    assert areas == sorted(areas)
    assert areas[2] > areas[1]
    assert usual.pull is not None
    assert usual.pull.hottest == ZONES["battery_side"].name


def test_a_load_on_the_battery_of_a_lorry_gets_a_fuse_that_breaks_it() -> None:
    advice = advise(job(details_of({"details": "kind feed; rated_w 1000; length_m 8; supply_v 28.8"})))
    assert advice.fuse is not None
    assert advice.fuse.family is not None
    assert advice.fuse.family.rated_v >= 28.8
    assert advice.fuse.family.breaking_a >= advice.fuse.short_a


def test_sizes_that_cannot_be_judged_are_refused() -> None:
    line = job(details_of({"details": "kind line; source_ohm 200; input_ohm 10000; length_m 5"}))
    with pytest.raises(InputError, match="heats"):
        judge_sizes(line, [awg(18)])
    with pytest.raises(InputError, match="AWG or mm2"):
        advise(replace(job({"kind": "feed", "rated_w": "100", "length_m": "5"}), system="SWG"))
    with pytest.raises(InputError, match="one or more"):
        combined([])


def test_several_amplifiers_draw_the_sum() -> None:
    larger, smaller = (job({"kind": "feed", "rated_w": f"{watts}", "length_m": "5"}).run for watts in (1000, 500))
    assert isinstance(larger, FeedRun)
    assert isinstance(smaller, FeedRun)
    both = combined([larger, smaller]).measures(np.zeros(1), 5.0)
    for key in ("full_a", "heat_a"):
        assert both[key] == pytest.approx(
            larger.measures(np.zeros(1), 5.0)[key] + smaller.measures(np.zeros(1), 5.0)[key]
        )


def test_what_comes_back_through_a_shared_ground() -> None:
    assert return_a([60, 100], 150) == 150
    assert return_a([60, 60]) == 120


# -- what holds for any circuit ----------------------------------------------------------------------------------------

GRID_W = (25, 50, 75, 100, 150, 200, 300, 400, 500, 750, 1000, 1500, 2000)
GRID_M = (0.5, 1, 2, 3, 5, 7, 9)


@pytest.mark.parametrize("kind", ["speaker", "subwoofer", "feed"])
def test_more_power_or_more_length_never_asks_for_less_metal(kind: str) -> None:
    rules = HouseRules.from_table()
    area_m2 = np.array([[metal(kind, watts, metres) for metres in GRID_M] for watts in GRID_W])
    for axis in (0, 1):
        assert np.all(np.diff(area_m2, axis=axis) >= -1e-12), kind
    house = {"speaker": "amplifier to speaker", "subwoofer": "subwoofer", "feed": "battery to amplifier"}[kind]
    for watts, least in zip(GRID_W, area_m2.min(axis=1), strict=True):
        rule = rules.least_size(house, "AWG", watts)
        assert rule is not None
        assert least >= conductor(*rule.sizes[0]).area_m2 * (1 - 1e-6)


def metal(kind: str, watts: float, metres: float) -> float:
    details = {"kind": kind, "power_w": f"{watts}", "rated_w": f"{watts}", "ohm": "4", "length_m": f"{metres}"}
    pull = advise(job(details)).pull
    return np.inf if pull is None else pull.candidate.area_m2


kinds = st.one_of(
    st.fixed_dictionaries({
        "kind": st.sampled_from(["speaker", "subwoofer"]), "power_w": st.floats(10, 3000).map(str),
        "ohm": st.sampled_from(["1", "2", "4", "8"]), "length_m": st.floats(0.3, 12).map(str),
    }),
    st.fixed_dictionaries({
        "kind": st.just("feed"), "rated_w": st.floats(30, 3500).map(str), "class": st.sampled_from(["AB", "D"]),
        "length_m": st.floats(0.5, 10).map(str),
    }),
    st.fixed_dictionaries({
        "kind": st.just("load"), "draw_a": st.floats(0.1, 120).map(str), "length_m": st.floats(0.5, 10).map(str),
        "ways": st.sampled_from(["1", "2"]),
    }),
)  # fmt: skip
places = st.lists(
    st.tuples(st.sampled_from(["cabin", "boot", "outside", "battery_side", "cabin_sun"]), st.integers(0, 6)),
    min_size=1, max_size=3,
)  # fmt: skip


@settings(max_examples=tried(500), deadline=None)
@given(details=kinds, way=places, limit=st.sampled_from(["pvc_80", "pvc_105", "xlpe_125"]), metal=st.sampled_from(
    ["copper", "cca_15"]
))  # fmt: skip
def test_no_choice_passes_its_insulations_limit(
    details: dict[str, str], way: list[tuple[str, int]], limit: str, metal: str
) -> None:
    """By heat over hours, at the most that source and fuse sustain: rated power as a sine, or what the fuse carries."""
    planned_job = job(details)
    each_m = planned_job.route.length_m / len(way)
    stretches = tuple(in_zone(zone, each_m, planned_job.route.ways + more) for zone, more in way)
    planned_job = replace(
        planned_job,
        route=replace(planned_job.route, stretches=stretches, insulation=INSULATIONS[limit]),
        make=lambda size: conductor(*size, METALS[metal]),
    )
    advice = advise(planned_job)
    for pick in (advice.least, advice.pull):
        if pick is not None:
            assert hottest_over_time(planned_job, pick) <= INSULATIONS[limit].limit_c + 0.05


def hottest_over_time(planned_job: Job, pick: SizePick) -> float:
    parallel = pick.candidate.parallel
    most_a = pick.each_a
    if pick.fuse is not None:
        assert pick.fuse.rating_a is not None
        most_a = max(most_a, SUSTAINED * pick.fuse.rating_a)
    elif details_power := getattr(planned_job.run, "amplifier", None):
        most_a = max(most_a, np.sqrt(details_power.power_w / details_power.rated_ohm) / parallel)
    wires = insulated([pick.candidate.conductor], planned_job.route.insulation)
    route = planned_job.route.side_by_side(parallel)
    times = np.array([10.0, 100.0, 1000.0, 10_000.0, 50_000.0])
    return float(over_time_c(wires, times, most_a, route.ambient_c[:, None], route.loaded[:, None]).max())


@pytest.mark.parametrize("details", ["kind feed; rated_w 1000; length_m 5", "kind load; draw_a 30; length_m 3"])
def test_a_fuse_is_at_or_under_the_published_table_in_the_hottest_place(details: str) -> None:
    planned_job = job(details_of({"details": details}))
    pick = advise(planned_job).pull
    assert pick is not None
    assert pick.fuse is not None
    table = float(table_a(pick.candidate.conductor.ohm_per_m_20c, planned_job.route.insulation.limit_c))
    assert pick.fuse.rating_a is not None
    assert pick.fuse.rating_a <= table


def test_stretches_share_the_drop_and_each_is_as_warm_as_its_place() -> None:
    base = job(details_of({"details": "kind feed; rated_w 500; length_m 5"}))

    def settled(*parts: Stretch) -> float:
        route = Route(stretches=parts, insulation=INSULATIONS["pvc_105"], ways=1)
        return float(judge_sizes(replace(base, route=route), [awg(8)]).usual.loop_ohm[0])

    whole = settled(in_zone("boot", 5.0))
    assert settled(in_zone("boot", 2.0), in_zone("boot", 3.0)) == pytest.approx(whole, rel=1e-9)
    assert settled(in_zone("battery_side", 2.0), in_zone("boot", 3.0)) > whole > settled(in_zone("table", 5.0))


def test_bundles_warm_and_a_return_by_the_body_does_not() -> None:
    make: Callable[[str], Job] = lambda text: job(details_of({"details": text}))  # noqa: E731
    pair, body = (make(f"kind load; draw_a 20; length_m 3; ways {ways}; zone cabin") for ways in (2, 1))
    pair_c, body_c = (float(judge_sizes(load_job, [awg(12)]).full.hottest_c[0]) for load_job in (pair, body))
    assert body_c < pair_c
    crowd = replace(body, route=replace(body.route, stretches=(in_zone("cabin", 3.0, 6),)))
    assert float(judge_sizes(crowd, [awg(12)]).full.hottest_c[0]) > pair_c


def test_all_sizes_of_one_bought_type_may_be_the_choice() -> None:
    """An SAE number has less metal than AWG's: where 4 AWG is just enough, 4 SAE may not be."""
    details = "kind feed; rated_w 1000; length_m 5"
    stock = tuple(wire.conductor for wire in sizes_of("SGX"))
    advice = advise(replace(job(details_of({"details": details})), stock=stock))
    assert advice.pull is not None
    assert advice.pull.label.endswith("SAE SGX")
    assert advice.pull.size is None
    assert advice.least == advice.pull
    thin = advise(replace(job(details_of({"details": details})), stock=stock[:1]))
    assert thin.pull is None or thin.pull.candidate.parallel > 1


@pytest.mark.parametrize(("rated_ohm", "ohm", "watts", "pulled"), [(2, 4, 300, 14), (1, 4, 150, 16), (4, 4, 600, 12)])
def test_the_house_rules_go_by_the_power_into_the_load_that_is_there(
    rated_ohm: float, ohm: float, watts: float, pulled: int
) -> None:
    """600 W at 2 ohm are 300 W at 4 (Ohm's law); the output's own resistance made it 301.5 W, and the wire thicker."""
    answer = wirecalc.subwoofer_run(600, ohm, 4.0, rated_ohm=rated_ohm)
    assert answer.run.power_w == watts
    pull = wirecalc.choose(answer).advice.pull
    assert pull is not None
    assert pull.label == f"{pulled} AWG"
    parts = [
        Device(name="Amplifier", kind="amplifier", power_w=600, into_ohm=rated_ohm, channels=1),
        Device(name="Bass", kind="subwoofer", impedance_ohm=ohm),
        wire("Feed", "Battery", "Amplifier", fuse=100.0),
        wire("Run", "Amplifier: speaker 1", "Bass: coil", 4.0, "choose"),
    ]
    assert choose_plan(vehicle(*parts)).plan.circuit("Run").conductor.label == pull.label  # as a plan has it
