"""The tab Response without a browser: its numbers are wirecalc's, its faults are said, and one change is one sum."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED
from dashboards.panels.one_run import response as response_tab
from dashboards.panels.one_run.page import suits
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.response import ResponseTab
from tests.panels.one_run.test_heat import answered
from tests.support.sentences import numbers, read
from wirecalc import runs
from wirecalc.circuits import line_level, response, supply
from wirecalc.circuits.circuit import solve
from wirecalc.circuits.impedance_file import read_impedance
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS, Driver, closed_box, least_impedance
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.runs.over_frequency import SpeakerResponse
from wirecalc.wire.conductor import conductor
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.pair import DIELECTRICS, Pair

DRAWN = (("AWG", 20.0), ("AWG", 16.0), ("AWG", 12.0), ("mm2", 2.5))
AMPLIFIER = Amplifier(power_w=100, rated_ohm=4)
SPEAKER = runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0)
LINE = runs.LineRun(source_ohm=1000.0, input_ohm=10e3, farad_per_m=1e-9)
WOOFER = "Demo 165 mm door woofer"


def situation(run: runs.Run = SPEAKER, feet: bool = False, cautions: tuple[str, ...] = (), **laid: Any) -> RunRequest:
    return RunRequest(
        run=run,
        laid=runs.Installation(**{"length_m": 5.5, **laid}),
        place=runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=30.0),
        this=conductor("AWG", 16.0),
        others=tuple(conductor(*one) if one in DRAWN else None for one in OFFERED),
        conductor=lambda size: conductor(*size),
        feet=feet,
        cautions=cautions,
    )


class Shown:
    """A tab on a page of one situation, and what it was asked to compute."""

    def __init__(self, here: RunRequest) -> None:
        self.asked: list[response_tab.Request] = []
        self.fault: InputError | None = None
        self.here = here
        self.tab = ResponseTab(self._compute)
        self.tab.changed = self.show
        self.show()

    def _compute(self, request: response_tab.Request) -> response_tab.Answer:
        self.asked.append(request)
        return response_tab.compute(request)

    def show(self) -> None:
        try:
            self.tab.show(self.here)
            self.fault = None
        except InputError as fault:  # the page says it
            self.fault = fault

    @property
    def level(self) -> Any:
        return self.tab.charts.drawn[0]

    @property
    def beside(self) -> Any:
        return self.tab.charts.drawn[1]

    def curve(self, row: int = MOST_DRAWN) -> np.ndarray[Any, Any]:
        return np.array(self.level.data[row].y)

    def upload(self, content: str, name: str = "door.csv") -> None:
        raw = content.encode()
        self.tab.speaker.upload._handle_custom_msg({"name": name, "size": len(raw)}, [memoryview(raw)])


@pytest.fixture
def speaker() -> Shown:
    return Shown(situation())


@pytest.fixture
def line() -> Shown:
    return Shown(situation(LINE))


def thin_wall(size: tuple[str, float], **other: Any) -> Pair:
    """A pair in the default wall: 0.2 mm and 8 %, as `insulated` says."""
    one = conductor(*size)
    return Pair(
        **{"conductor": one, "insulation": DIELECTRICS["pvc"], "insulation_m": 2e-4 + 0.08 * one.diameter_m, **other}
    )


def expected_db(load: Any, hz: Any, pair: Pair, length_m: float = 5.5) -> Any:
    wire = pair.ohm_per_m(hz) * length_m
    return solve(AMPLIFIER.emf_v, AMPLIFIER.output_ohm, wire, load.impedance(hz)).level_db


def test_it_suits_runs_that_carry_sound() -> None:
    tab = ResponseTab()
    assert tab.title == "Response"
    assert suits(SPEAKER, "Response")
    assert suits(runs.SubwooferRun(amplifier=AMPLIFIER, load_ohm=2.0), "Response")
    assert suits(LINE, "Response")
    assert not suits(runs.TurnOnRun(draw_a=0.1, supply_v=12, limit_a=0.3, least_v=9), "Response")
    feed = runs.FeedRun(rated_w=500, amplifier_class=next(iter(supply.CLASSES.values())), supply_v=14.4)
    assert not suits(feed, "Response")


@pytest.mark.parametrize("name", list(DEMO_DRIVERS))
def test_the_curves_of_every_size_are_those_of_the_loop(speaker: Shown, name: str) -> None:
    speaker.tab.speaker.load.value = name
    driver = DEMO_DRIVERS[name]
    lines = [trace for trace in speaker.level.data[:MOST_DRAWN] if trace.visible]
    assert [trace.name for trace in lines] == [conductor(*one).label for one in OFFERED if one in DRAWN]
    drawn = [one for one in OFFERED if one in DRAWN]
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
    found = response_tab.compute(speaker.asked[-1]).response
    assert isinstance(found, SpeakerResponse)
    assert found.band.worst_db[0] == pytest.approx(worst, abs=1e-3)
    assert found.band.spread_db[0] == pytest.approx(np.ptp(dense), abs=1e-3)
    sizes = re.findall(r"<tr><td>([^<]*)</td>", speaker.tab.table.html)
    assert sizes == ["16 AWG", "20 AWG", "12 AWG", "2.5 mm²"]
    assert f"{found.band.spread_db[1]:.3f}" in speaker.tab.table.html


def test_the_wire_raises_q_as_small_says(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = WOOFER
    driver = DEMO_DRIVERS[WOOFER]
    series = 2 * 5.5 * conductor("AWG", 16.0).ohm_per_m_20c + AMPLIFIER.output_ohm
    qes = driver.qes * (1 + series / driver.re_ohm)
    qts = 1 / (1 / qes + 1 / driver.qms)
    assert f"Qes goes from {driver.qes:.3g} to {qes:.3g}, Qts from {driver.qts:.3g} to {qts:.3g}" in read(
        speaker.tab.words.html
    )
    assert numbers(speaker.tab.table.html)["q_with_wire:0"] == f"{qts:.3f}"
    speaker.tab.speaker.load.value = "plain"
    assert "Qes" not in read(speaker.tab.words.html)


def test_the_laying_of_the_run_counts(speaker: Shown) -> None:
    speaker.here = situation(temperature_c=60.0, parallel=2, joints_ohm=0.05, length_m=8.0)
    speaker.show()
    hz = np.array(speaker.level.data[0].x)
    wire = thin_wall(("AWG", 16.0)).ohm_per_m(hz, 60.0) * 8.0 / 2 + 0.05
    want = solve(AMPLIFIER.emf_v, AMPLIFIER.output_ohm, wire, 4.0).level_db
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
    np.testing.assert_allclose(speaker.curve(), solve(1.0, 0.02, pair.ohm_per_m(hz) * 5.5, 4.0).level_db, atol=1e-9)
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


def test_exactly_the_rated_impedance_is_not_under_it(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload("10;4;0\n40000;4;0\n")
    assert "IEC 60268-5: held" in read(speaker.tab.words.html)
    assert "dips" not in read(speaker.tab.words.html)
    assert "falls to" not in read(speaker.tab.words.html)


def test_cautions_of_the_page_are_repeated_as_text(speaker: Shown) -> None:
    speaker.here = situation(cautions=("<i>2 Ω is below 4 Ω</i>",))
    speaker.show()
    assert "wc-caution" in speaker.tab.words.html
    assert "&lt;i&gt;2 Ω" in speaker.tab.words.html


def rows(low: float, high: float, count: int = 60) -> str:
    hz = np.geomspace(low, high, count)
    z = DEMO_DRIVERS[WOOFER].impedance(hz)
    return "\n".join(f"{f:.7g};{abs(v):.7g};{np.angle(v, deg=True):.7g}" for f, v in zip(hz, z, strict=True))


def test_a_measured_file_takes_the_place_of_the_load(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "file"
    assert tab.speaker.measured in tab.entries.children
    plain = speaker.curve()
    speaker.upload(rows(5, 90e3), "<b>door.csv")
    assert not np.allclose(speaker.curve(), plain, atol=1e-3)
    found = read_impedance(rows(5, 90e3))
    hz = np.array(speaker.level.data[0].x)
    np.testing.assert_allclose(speaker.curve(), expected_db(found, hz, thin_wall(("AWG", 16.0))), atol=1e-9)
    assert "&lt;b&gt;door.csv" in tab.words.html
    assert "&lt;b&gt;door.csv: 60 rows, 5 Hz to 90 kHz" in tab.speaker.file_note.value
    assert "<b>" not in tab.words.html + tab.speaker.file_note.value
    assert "Qes" not in read(tab.words.html)
    assert "nothing is said outside" not in read(tab.words.html)


def test_a_file_of_part_of_the_band_is_used_inside_it_only(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(100, 5e3))
    hz = np.array(speaker.level.data[0].x)
    assert (hz.min(), hz.max()) == (100.0, 5000.0)
    assert "100 Hz to 5 kHz" in read(speaker.tab.words.html)
    assert 100 <= speaker.beside.data[2].x[0] <= 5000
    assert speaker.fault is None
    speaker.upload(rows(5, 1000))  # its least is then looked for from 20 Hz
    assert np.array(speaker.level.data[0].x).min() == 10.0
    speaker.upload(rows(5e3, 5001, 2))  # very narrow
    assert speaker.fault is None


TEN = """Hz;Ohm;degrees
20;6;10
<x>;6;10
30;-6;10
40;6;120
50;6
25;6;10
60;;10
70;inf;10
80;1_0;10
90;6;ten
100;6;nan
"""


def test_a_bad_file_is_told_in_one_go_and_the_last_good_one_stays(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "file"
    speaker.upload(TEN, "<bad>.csv")
    assert tab.speaker.upload.note.count("<li>") == 10
    assert "page&#x27;s load impedance" in tab.speaker.file_note.value
    speaker.upload(rows(5, 90e3), "good.csv")
    assert "good.csv was read" in tab.speaker.upload.note
    before, asked = speaker.curve(), len(speaker.asked)
    speaker.upload(TEN, "<bad>.csv")
    assert tab.speaker.upload.note.count("<li>") == 10
    assert "role='alert'" in tab.speaker.upload.note
    assert "Row 4, column 2 (magnitude)" in tab.speaker.upload.note
    assert "&lt;bad&gt;.csv cannot be used; what was there stays" in tab.speaker.upload.note
    assert "“&lt;x&gt;”" in tab.speaker.upload.note
    assert "good.csv: 60 rows" in tab.speaker.file_note.value
    assert "good.csv" in read(tab.words.html)
    np.testing.assert_array_equal(speaker.curve(), before)
    assert len(speaker.asked) == asked


@pytest.mark.parametrize(("low", "high"), [(25e3, 90e3), (1.0, 19.0)])
def test_a_file_outside_the_audio_band_is_refused(speaker: Shown, low: float, high: float) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(low, high))
    assert "20 Hz to 20 kHz" in speaker.tab.speaker.upload.note
    assert speaker.fault is None
    assert "No file yet" in speaker.tab.speaker.file_note.value


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


def test_one_change_is_one_computation(speaker: Shown) -> None:
    tab = speaker.tab
    assert len(speaker.asked) == 1
    changes: list[tuple[Any, Any]] = [
        (tab.speaker.load, WOOFER),
        (tab.speaker.load, "own"),
        (tab.speaker.coils, "series"),
    ]
    changes += [(tab.speaker.dielectric, "pe"), (tab.speaker.load, "file"), (tab.speaker.load, "own")]
    entries = (
        tab.speaker.re,
        tab.speaker.le,
        tab.speaker.fs,
        tab.speaker.qes,
        tab.speaker.qms,
        tab.speaker.semi,
        tab.speaker.exponent,
        tab.speaker.vas,
        tab.speaker.box,
    )
    texts = ("5", "1", "50", "1", "4", "1", "1", "9", "9")
    changes += [(entry.text, text) for entry, text in zip(entries, texts, strict=True)]
    changes += [
        (entry.text, "2") for entry in (tab.speaker.series, tab.speaker.parallel, tab.speaker.gap, tab.speaker.wall)
    ]
    for count, (widget, value) in enumerate(changes, start=2):
        widget.value = value
        assert len(speaker.asked) == count
    speaker.here = situation(LINE)
    speaker.show()
    for entry in (
        tab.line.ripple,
        tab.line.ripple_hz,
        tab.line.along,
        tab.line.distance,
        tab.line.spacing,
        tab.line.pitch,
    ):
        count = len(speaker.asked)
        entry.text.value = "3"
        assert len(speaker.asked) == count + 1


def test_charts_stay_where_they_are_with_as_many_traces(speaker: Shown) -> None:
    """Taken out and put back, a chart would be drawn on a view that is no more."""
    parts = speaker.tab.view.children
    counts = [len(chart.data) for chart in speaker.tab.charts.drawn]
    impedance = speaker.beside.figure.to_dict()["layout"]
    speaker.tab.speaker.load.value = "own"
    speaker.here = replace(situation(), others=(None,) * len(OFFERED))
    speaker.show()
    assert not any(trace.visible for trace in speaker.level.data[:MOST_DRAWN])
    speaker.here = situation(LINE)
    speaker.show()
    assert "Picked up (mV)" in speaker.tab.table.html
    assert speaker.tab.speaker.load not in speaker.tab.entries.children
    assert speaker.beside.layout.title.text == "Picked up from a supply wire"
    assert "(mm)" in speaker.beside.layout.xaxis.title.text
    speaker.tab.speaker.load.value = "plain"
    speaker.here = situation()
    speaker.show()
    assert speaker.beside.figure.to_dict()["layout"] == impedance  # nothing of the other drawing is left
    assert all(now is was for now, was in zip(speaker.tab.view.children, parts, strict=True))
    assert [len(chart.data) for chart in speaker.tab.charts.drawn] == counts


def test_a_line_run_over_frequency_is_the_low_pass(line: Shown) -> None:
    wire = 2 * 5.5 * conductor("AWG", 16.0).ohm_per_m_20c
    hz = np.array(line.level.data[0].x)
    want = line_level.low_pass(1000 + wire, 10e3, 1e-9, 5.5, hz)
    np.testing.assert_allclose(line.curve(), want.level_db, atol=1e-12)
    thin = 2 * 5.5 * conductor("AWG", 20.0).ohm_per_m_20c
    want_thin = line_level.low_pass(1000 + thin, 10e3, 1e-9, 5.5, hz).level_db
    np.testing.assert_allclose(line.curve(0), want_thin, atol=1e-12)
    top = line_level.low_pass(1000 + wire, 10e3, 1e-9, 5.5)
    assert f"−3 dB point: {float(top.corner_hz) / 1e3:.1f} kHz" in read(line.tab.words.html)
    assert f"Level at 20 kHz: −{-float(top.level_db):.2f} dB" in read(line.tab.words.html)
    assert line.level.data[-1].y[0] == pytest.approx(float(top.level_db))
    line.here = situation(replace(LINE, farad_per_m=0.0))
    line.show()
    assert "none, without capacitance" in read(line.tab.words.html)


def test_pickup_is_wirecalcs_and_says_its_limits(line: Shown) -> None:
    tab = line.tab
    texts = {"ripple": "10", "ripple_hz": "400", "along": "4", "distance": "30", "spacing": "3", "pitch": "20"}
    for name, text in texts.items():
        getattr(tab.line, name).text.value = text
    want = line_level.pickup(10, 400, 4, 0.03, 0.003, 0.02)
    flat, twisted = float(want.parallel_v), float(want.twisted_v)
    mark = line.beside.data[2]
    assert mark.x[0] == pytest.approx(30)
    assert list(mark.y) == pytest.approx([20 * np.log10(flat), 20 * np.log10(twisted)])
    assert f"Flat pair: {flat * 1e3:.3g} mV, {-20 * np.log10(flat):.0f} dB under" in read(tab.words.html)
    assert f"at most {twisted * 1e3:.3g} mV, {-20 * np.log10(twisted):.0f} dB under" in read(tab.words.html)
    assert "return far away" in read(tab.words.html)
    curve = line.beside.data[1]
    curve_v = line_level.pickup(10, 400, 4, np.array(curve.x) / 1e3, 0.003, 0.02).twisted_v
    np.testing.assert_allclose(np.array(curve.y), 20 * np.log10(curve_v))
    tab.line.along.text.value = ""
    assert line.asked[-1].beside.along_m == 5.5  # type: ignore[union-attr]


def test_the_length_alongside_is_held_to_the_run_and_follows_its_units(line: Shown) -> None:
    tab = line.tab
    tab.line.along.text.value = "5"
    before = line.beside.data[0].y
    line.here = situation(LINE, length_m=4.0)
    line.show()
    assert line.fault is not None
    assert line.fault.field == "Length alongside"
    assert "4 m" in str(line.fault)
    np.testing.assert_array_equal(line.beside.data[0].y, before)
    line.here = situation(LINE, feet=True)
    line.show()
    assert tab.line.along.text.value == "16 ft 5 in"
    tab.line.along.text.value = "10"
    assert line.asked[-1].beside.along_m == pytest.approx(3.048)  # type: ignore[union-attr]
    assert "over 10 ft" in read(tab.words.html)


@pytest.mark.parametrize("source_ohm", [0.1, 1e5])
@pytest.mark.parametrize("farad_per_m", [0.0, 1e-8])
@pytest.mark.parametrize("length_m", [0.01, 100.0])
def test_line_runs_show_at_their_ends(source_ohm: float, farad_per_m: float, length_m: float) -> None:
    run = runs.LineRun(source_ohm=source_ohm, input_ohm=10.0, farad_per_m=farad_per_m)
    shown = Shown(situation(run, length_m=length_m))
    for distance in ("0.1 mm", "10 m"):
        shown.tab.line.distance.text.value = distance
        assert shown.fault is None
        assert np.all(np.isfinite(shown.curve()))
        assert all(np.all(np.isfinite(np.array(trace.y))) for trace in shown.beside.data)


def test_a_flat_run_is_drawn_flat(speaker: Shown) -> None:
    speaker.here = situation(length_m=0.05)
    speaker.show()
    low, high = speaker.level.layout.yaxis.range
    assert low < -0.1
    assert high > 0
    assert float(speaker.curve().min()) > -0.02
    assert speaker.level.layout.xaxis.type == "log"
    assert 10 ** np.array(speaker.level.layout.xaxis.range) == pytest.approx([response.LOWEST_HZ, response.HIGHEST_HZ])


def opens(shown: Shown) -> dict[str, str]:
    """Every number of the tables, opened: what it says agrees with what is in the table."""
    found = numbers(shown.tab.table.html)
    bare = re.findall(r"<td>[^<]*</td>", shown.tab.table.html)
    assert len(bare) == len({key.split(":")[1] for key in found}) + 2 * ("Twisted" in shown.tab.table.html)  # names
    workings = {key: shown.tab.work(key) for key in found}
    for key, text in found.items():
        if text == "none":
            continue
        value = float(text.replace("−", "-"))
        said = float(answered(workings[key]).split()[0])
        decimals = len(text.partition(".")[2])
        assert value == pytest.approx(said, rel=6e-3 if "flat" in key or "twisted" in key else 6e-4, abs=10**-decimals)
    return workings


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


def test_a_measured_file_opens_to_its_rows_and_its_name_is_text(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(100, 5e3), "<b>door.csv")
    workings = opens(speaker)
    assert "measured file &lt;b&gt;door.csv" in workings["furthest:0"]
    assert "<b>door" not in "".join(workings.values())
    assert "the row above it, magnitude" in workings["tone:0"]


@pytest.mark.parametrize("farad_per_m", [0.0, 1e-10, 1e-9])
def test_every_number_of_a_line_run_opens(line: Shown, farad_per_m: float) -> None:
    line.here = situation(replace(LINE, farad_per_m=farad_per_m))
    line.show()
    line.tab.line.distance.text.value = "30"
    workings = opens(line)
    assert {key.split(":")[0] for key in workings} == {
        "loss_db", "treble_loss_db", "top", "corner_khz", "flat", "flat_db", "twisted", "twisted_db",
    }  # fmt: skip
    assert "D = 30 mm" in workings["twisted_db:0"]
    assert ("With no capacitance there is none" in workings["corner_khz:0"]) == (farad_per_m == 0)
    line.tab.table.asked = "top:0|1"
    assert line.tab.table.working == workings["top:0"]
