"""The tab Response for a line signal: the low-pass and the pickup are wirecalc's, every number opens."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.pages.response_tab import LINE, Shown, opens, situation
from tests.support.sentences import read
from wirecalc import runs
from wirecalc.circuits import line_level
from wirecalc.wire.conductor import conductor


@pytest.fixture
def line() -> Shown:
    return Shown(situation(LINE))


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
    line.tab.table.ask("top:0")
    assert line.tab.table.working == workings["top:0"]
