"""The tab Response for a loudspeaker: its numbers are wirecalc's, its faults are said, every number opens."""

from __future__ import annotations

import html
import re
from dataclasses import replace

import numpy as np
import pytest

from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED
from dashboards.panels.one_run import response as response_tab
from tests.support.pages.response_tab import AMPLIFIER, DRAWN, WOOFER, Shown, expected_db, opens, situation, thin_wall
from tests.support.sentences import numbers, read
from wirecalc import runs
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS, Driver, closed_box, least_impedance
from wirecalc.circuits.source import Amplifier
from wirecalc.runs.over_frequency import SpeakerResponse
from wirecalc.wire.conductor import conductor
from wirecalc.wire.pair import DIELECTRICS


@pytest.fixture
def speaker() -> Shown:
    return Shown(situation())


@pytest.mark.parametrize("name", list(DEMO_DRIVERS))
def test_the_curves_of_every_size_are_those_of_the_loop(speaker: Shown, name: str) -> None:
    speaker.tab.speaker.load.value = name
    driver = DEMO_DRIVERS[name]
    lines = [trace for trace in speaker.level.data[:MOST_DRAWN] if trace.visible]
    assert [trace.name for trace in lines] == [conductor(*size).label for size in OFFERED if size in DRAWN]
    drawn = [size for size in OFFERED if size in DRAWN]
    for trace, size in zip([*lines, speaker.level.data[MOST_DRAWN]], [*drawn, ("AWG", 16.0)], strict=True):
        hz = np.array(trace.x)
        assert (hz[0], hz[-1]) == (10.0, 40e3)
        assert {20.0, 20e3} <= set(hz)
        np.testing.assert_allclose(np.array(trace.y), expected_db(driver, hz, thin_wall(size)), atol=1e-9)
    load, rated, mark = speaker.beside.data
    np.testing.assert_allclose(np.array(load.y), np.abs(driver.impedance(np.array(load.x))))
    assert list(rated.y) == pytest.approx([3.2, 3.2])
    assert mark.y[0] == pytest.approx(least_impedance(driver).ohm)


def test_words_and_table_tell_the_worst_and_the_spread(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = WOOFER
    hz = np.geomspace(20, 20e3, 5000)
    dense = expected_db(DEMO_DRIVERS[WOOFER], hz, thin_wall(("AWG", 16.0)))
    worst = dense[np.argmax(np.abs(dense))]
    assert f"−{abs(worst):.2f} dB at" in read(speaker.tab.words.html)
    assert f"changes by {np.ptp(dense):.2f} dB" in read(speaker.tab.words.html)
    mark = speaker.level.data[-1]
    assert mark.y[0] == pytest.approx(worst, abs=1e-3)
    response = response_tab.compute(speaker.asked[-1]).response
    assert isinstance(response, SpeakerResponse)
    assert response.band.worst_db[0] == pytest.approx(worst, abs=1e-3)
    assert response.band.spread_db[0] == pytest.approx(np.ptp(dense), abs=1e-3)
    sizes = re.findall(r"<tr><td[^>]*>([^<]*)</td>", speaker.tab.table.html)
    assert sizes == ["16 AWG", "20 AWG", "12 AWG", "2.5 mm²"]
    assert f"{response.band.spread_db[1]:.2f}" in speaker.tab.table.html


def test_the_wire_raises_q_as_small_says(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = WOOFER
    driver = DEMO_DRIVERS[WOOFER]
    series = 2 * 5.5 * conductor("AWG", 16.0).ohm_per_m_20c + AMPLIFIER.output_ohm
    qes = driver.qes * (1 + series / driver.re_ohm)
    qts = 1 / (1 / qes + 1 / driver.qms)
    assert f"Qes goes from {driver.qes:.3g} to {qes:.3g}, Qts from {driver.qts:.3g} to {qts:.3g}" in read(
        speaker.tab.words.html
    )
    assert numbers(speaker.tab.table.html)["q_with_wire:0"] == f"{qts:.2f}"
    speaker.tab.speaker.load.value = "plain"
    assert "Qes" not in read(speaker.tab.words.html)


def test_the_laying_of_the_run_counts(speaker: Shown) -> None:
    speaker.here = situation(temperature_c=60.0, parallel=2, joints_ohm=0.05, length_m=8.0)
    speaker.show()
    hz = np.array(speaker.level.data[0].x)
    wire = thin_wall(("AWG", 16.0)).ohm_per_m(hz, 60.0) * 8.0 / 2 + 0.05
    want = solve_loop(AMPLIFIER.emf_v, AMPLIFIER.output_ohm, wire, 4.0).level_db
    np.testing.assert_allclose(speaker.curve(), want, atol=1e-9)
    assert "2 × 16 AWG" in read(speaker.tab.words.html)
    assert "for a pair" not in read(speaker.tab.words.html)
    speaker.here = situation(ways=1)
    speaker.show()
    assert "pull two conductors" in read(speaker.tab.words.html)


def test_wall_gap_and_insulation_reach_the_pair(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.wall.text.value = "1"
    tab.speaker.gap.text.value = "3 mm"
    tab.speaker.dielectric.value = "ptfe"
    pair = thin_wall(("AWG", 16.0), insulation=DIELECTRICS["ptfe"], insulation_m=1e-3, gap_m=3e-3)
    hz = np.array(speaker.level.data[0].x)
    np.testing.assert_allclose(
        speaker.curve(), solve_loop(1.0, 0.02, pair.ohm_per_m(hz) * 5.5, 4.0).level_db, atol=1e-9
    )
    assert f"{float(pair.henry_per_m(1e3)) * 1e9:.0f} nH a metre" in read(tab.words.html)
    assert f"{pair.farad_per_m * 1e12:.1f} pF a metre" in read(tab.words.html)
    tab.speaker.wall.text.value = ""
    assert speaker.asked[-1].make.wall_m is None  # type: ignore[union-attr]


def test_own_drivers_in_a_box_and_wired(speaker: Shown) -> None:
    tab = speaker.tab
    assert tab.speaker.own not in tab.entries.children
    tab.speaker.load.value = "own"
    assert tab.speaker.own in tab.entries.children
    values = {"re": "1.75", "le": "0.6", "fs": "31", "qes": "0.48", "qms": "6.5", "vas": "42", "box": "20"}
    values |= {"semi": "0.012", "exponent": "0.6", "series": "2", "parallel": "3"}
    for name, text in values.items():
        getattr(tab.speaker, name).text.value = text
    tab.speaker.coils.value = "series"
    free = Driver(
        re_ohm=1.75, le_henry=0.6e-3, fs_hz=31, qes=0.48, qms=6.5, vas_m3=0.042, semi=0.012, semi_exponent=0.6
    )
    boxed = closed_box(free, 0.020)
    load = speaker.beside.data[0]
    alone = np.abs(boxed.impedance(np.array(load.x)))
    np.testing.assert_allclose(np.array(load.y), 4 * alone * 2 / 3, rtol=1e-9)
    series = 2 * 5.5 * conductor("AWG", 16.0).ohm_per_m_20c + AMPLIFIER.output_ohm
    qes = boxed.qes * (1 + series / (4 * 1.75 * 2 / 3))
    assert f"Qec goes from {boxed.qes:.3g} to {qes:.3g}" in read(tab.words.html)
    assert "6 own drivers" in read(tab.words.html)
    assert "Qtc with wire" in tab.table.html
    tab.speaker.coils.value = "one"
    half = np.abs(replace(boxed, re_ohm=2 * boxed.re_ohm, qes=2 * boxed.qes).impedance(np.array(load.x)))
    np.testing.assert_allclose(np.array(speaker.beside.data[0].y), half * 2 / 3, rtol=1e-9)
    tab.speaker.coils.value = "only"
    np.testing.assert_allclose(np.array(speaker.beside.data[0].y), alone * 2 / 3, rtol=1e-9)


def test_rare_parameters_open_on_demand(speaker: Shown) -> None:
    tab = speaker.tab
    closed = len(tab.speaker.own.children)
    tab.speaker.more.value = True
    assert len(tab.speaker.own.children) == closed + 1
    tab.speaker.more.value = False
    assert len(tab.speaker.own.children) == closed
    assert len(speaker.asked) == 1


@pytest.mark.parametrize(
    ("load_ohm", "least_ohm", "cautioned", "held"),
    [(4.0, None, False, True), (2.0, 2.0, False, True), (8.0, None, False, False), (4.0, 5.0, True, True)],
)
def test_the_load_against_its_rating_and_the_amplifier(
    speaker: Shown, load_ohm: float, least_ohm: float | None, cautioned: bool, held: bool
) -> None:
    """The woofer's least is 3.33 Ω: a 4 Ω driver, under neither 80 % of 4 Ω nor what a 4 Ω amplifier expects."""
    run = runs.SpeakerRun(amplifier=replace(AMPLIFIER, least_ohm=least_ohm), load_ohm=load_ohm)
    speaker.here = situation(run)
    speaker.tab.speaker.load.value = WOOFER
    told = read(speaker.tab.words.html)
    assert ("The load falls to 3.33 Ω" in told) == cautioned
    assert ("IEC 60268-5: held" in told) == held
    assert ("counts as 4.16 Ω at most" in told) == (not held)
    assert ("as a loudspeaker of that rating may" in told) == (least_ohm is None)


@pytest.mark.parametrize("load_ohm", [0.1, 4.0, 1000.0])
@pytest.mark.parametrize(("length_m", "joints_ohm", "parallel"), [(0.01, 0.0, 16), (5.5, 0.0, 1), (100.0, 1.0, 1)])
def test_every_load_shows_in_ordinary_and_extreme_runs(
    load_ohm: float, length_m: float, joints_ohm: float, parallel: int
) -> None:
    run = runs.SubwooferRun(
        amplifier=Amplifier(power_w=20000, rated_ohm=0.1, damping_factor=1, least_ohm=1000), load_ohm=load_ohm
    )
    shown = Shown(situation(run, length_m=length_m, joints_ohm=joints_ohm, parallel=parallel, temperature_c=200.0))
    for _, choice in shown.tab.speaker.load.options:
        shown.tab.speaker.load.value = choice
        assert shown.fault is None
        assert np.all(np.isfinite(shown.curve()))
        assert "nan" not in read(shown.tab.words.html) + shown.tab.table.html


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("re", "0.1"), ("re", "1000"), ("le", "0"), ("le", "100 mH"), ("fs", "5"), ("fs", "20 kHz"), ("qes", "0.02"),
        ("qes", "200"), ("qms", "0.05"), ("qms", "1000"), ("semi", "10"), ("exponent", "1"), ("exponent", "0.4"),
        ("vas", "0.001"), ("vas", "10000"), ("series", "4"), ("parallel", "4"), ("wall", "0.05 mm"), ("wall", "10"),
        ("gap", "1 m"),
    ],
)  # fmt: skip
def test_every_parameter_shows_at_its_ends(speaker: Shown, name: str, text: str) -> None:
    speaker.tab.speaker.load.value = "own"
    getattr(speaker.tab.speaker, name).text.value = text
    assert getattr(speaker.tab.speaker, name).fault is None
    assert speaker.fault is None
    assert np.all(np.isfinite(speaker.curve()))


@pytest.mark.parametrize(("name", "text"), [("re", "<b>no"), ("series", "5"), ("wall", "20 mm"), ("gap", "4 ohm")])
def test_a_fault_in_an_entry_keeps_picture_and_text(speaker: Shown, name: str, text: str) -> None:
    speaker.tab.speaker.load.value = "own"
    before, entry = speaker.curve(), getattr(speaker.tab.speaker, name)
    entry.text.value = text
    assert "role='alert'" in entry.note.value
    assert "<b>" not in entry.note.value
    assert entry.text.value == text
    np.testing.assert_array_equal(speaker.curve(), before)


def test_a_box_without_vas_is_a_fault_that_leaves_the_entries_in_reach(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "own"
    before, told = speaker.curve(), read(tab.words.html)
    tab.speaker.box.text.value = "20"
    assert speaker.fault is not None
    assert speaker.fault.field == "Vas"
    np.testing.assert_array_equal(speaker.curve(), before)
    assert read(tab.words.html) == told
    assert tab.speaker.own in tab.entries.children
    tab.speaker.vas.text.value = "10"
    assert speaker.fault is None
    assert "Qtc" in read(tab.words.html)


@pytest.mark.parametrize("name", ["plain", *DEMO_DRIVERS, "own"])
def test_every_number_of_a_loudspeaker_run_opens(speaker: Shown, name: str) -> None:
    speaker.tab.speaker.load.value = name
    workings = opens(speaker)
    kinds = {key.split(":")[0] for key in workings}
    assert kinds == {"furthest", "furthest_hz", "tone"} | ({"q_with_wire"} if name != "plain" else set())
    assert "20 × log10(abs(Zs + ZL) / abs(Zs + Zw + ZL))" in workings["furthest:0"]
    if name in DEMO_DRIVERS:
        assert "invented for this project" in workings["furthest:0"]


def test_an_own_driver_opens_to_what_was_entered(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "own"
    values = {"re": "1.75", "qes": "0.48", "vas": "42", "box": "20", "series": "2", "wall": "1", "gap": "2 mm"}
    for name, text in values.items():
        getattr(tab.speaker, name).text.value = text
    tab.speaker.coils.value = "one"
    workings = opens(speaker)
    q = html.unescape(workings["q_with_wire:0"])
    assert "Qe0 × u × 2" in q
    assert "= 0.48 × " in q
    assert "Vb = 20 l" in q
    assert "Qtc with wire" in q
    assert "Ns / Np × abs(" in workings["furthest:0"]
    assert "t = 1 mm" in workings["furthest:0"]
    assert "g0 = 2 mm" in workings["furthest:0"]
