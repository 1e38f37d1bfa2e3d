"""The panel without a browser: entries to request, one call, the answer on the charts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dashboards.panels import level
from dashboards.panels.entry import Entry
from dashboards.panels.one_run import OneRunPanel
from dashboards.panels.sizes import AT_FIRST, OFFERED
from wirecalc import units
from wirecalc.circuit import quick_drop_bound_v
from wirecalc.errors import InputError


@pytest.fixture
def panel() -> OneRunPanel:
    return OneRunPanel()


def shown(panel: OneRunPanel) -> np.ndarray[Any, Any]:
    return np.array(panel.level_chart.data[-2].y)


def test_entries_reach_the_request_in_si(panel: OneRunPanel) -> None:
    panel.length.text.value = "18 ft 6 in"
    panel.power.text.value = "0.15 kW"
    panel.rated.text.value = "2"
    panel.load.text.value = "2 ohm"
    panel.size.text.value = "0.75 mm2"
    panel.joints.text.value = "5"
    panel.parallel.text.value = "2"
    panel.temperature.text.value = "104 °F"
    panel.damping.text.value = "50"
    panel.least.text.value = "1"
    panel.metal.value = "cca_10"
    request = panel.request()
    assert request.length_m == pytest.approx(5.6388)
    assert request.amplifier.power_w == pytest.approx(150)
    assert request.amplifier.least_load_ohm == 1
    assert request.amplifier.output_ohm == pytest.approx(0.04)
    assert request.joints_ohm == pytest.approx(0.005)
    assert request.temperature_c == pytest.approx(40)
    assert (request.load_ohm, request.parallel) == (2, 2)
    assert (request.this.label, request.this.metal.key) == ("0.75 mm²", "cca_10")
    assert {one.metal.key for one in request.others if one} == {"cca_10"}


def test_one_change_is_one_computation() -> None:
    calls: list[level.Request] = []

    def counted(request: level.Request) -> level.Answer:
        calls.append(request)
        return level.compute(request)

    panel = OneRunPanel(counted)
    assert len(calls) == 1
    panel.load.slider.value += 1
    assert len(calls) == 2
    panel.length.text.value = "7 m"
    assert len(calls) == 3
    panel.feet.value = True
    assert len(calls) == 4
    panel.length.text.value = "no length"
    assert calls[-1].length_m == calls[-2].length_m == 7


def test_the_charts_show_what_was_computed(panel: OneRunPanel) -> None:
    answer = level.compute(panel.request())
    np.testing.assert_allclose(shown(panel), -answer.outcome.level_db[0, :-1])
    mark = panel.power_chart.data[-1]
    assert mark.y[1] == pytest.approx(float(answer.outcome.load_w[0, -1]))
    names = [
        trace.name for trace in panel.level_chart.data if trace.visible and trace.name in {one.label for one in OFFERED}
    ]
    assert names == [one.label for one in OFFERED if one.size in AT_FIRST]
    assert answer.bare_w == pytest.approx(100)


def test_a_fault_keeps_the_picture_and_the_text(panel: OneRunPanel) -> None:
    before = shown(panel)
    panel.length.text.value = "<b>18"
    assert "&lt;b&gt;18" in panel.length.note.value
    assert "role='alert'" in panel.length.note.value
    assert panel.length.text.value == "<b>18"
    np.testing.assert_array_equal(shown(panel), before)
    panel.feet.value = True  # a faulty text is not rewritten when the units change
    assert panel.length.text.value == "<b>18"
    panel.length.slider.value = 3
    assert panel.length.note.value == panel.length.help
    assert panel.length.text.value == "4 ft"


def test_a_table_that_lacks_the_size_is_said(panel: OneRunPanel) -> None:
    panel.size.text.value = "0.35 mm2"
    assert "role='alert'" in panel.size.note.value  # not in IEC 60228
    panel.metric_table.value = "ISO 6722-1"
    panel.size.text.value = "0.35 mm²"
    assert panel.request().this.label == "0.35 mm²"
    before = shown(panel)
    panel.metric_table.value = "IEC 60228 class 5"
    assert "0.35 mm²" in panel.alert.value
    np.testing.assert_array_equal(shown(panel), before)
    panel.metric_table.value = "ISO 6722-1"
    assert panel.alert.value == ""


def test_a_fault_of_ours_is_no_traceback() -> None:
    broken = False

    def compute(request: level.Request) -> level.Answer:
        if broken:
            raise RuntimeError("secret detail")
        return level.compute(request)

    panel = OneRunPanel(compute)
    broken = True
    panel.load.slider.value += 1
    assert "a fault of the page" in panel.alert.value
    assert "secret" not in panel.alert.value
    broken = False
    panel.load.slider.value -= 1
    assert panel.alert.value == ""


def test_the_size_slider_follows_the_system(panel: OneRunPanel) -> None:
    panel.size.text.value = "1.5 mm2"
    panel.size.slider.value += 1
    assert panel.size.text.value == "2.5 mm²"
    panel.size.text.value = "1/0"
    assert panel.request().this.label == "1/0 AWG"
    panel.size.slider.value -= 1
    assert panel.size.text.value == "2 AWG"
    panel.size.text.value = "13.5 AWG"
    assert panel.request().this.label == "13.5 AWG"


def test_the_table_agrees_with_the_outcome_and_the_bound_holds(panel: OneRunPanel) -> None:
    answer = level.compute(panel.request())
    table = level.table(answer)
    assert table["Size"].tolist() == ["16 AWG", "22 AWG", "18 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG"]
    assert np.all(table["Quick bound (V)"] >= table["Drop (V)"])
    row = table[table["Size"] == "12 AWG"].iloc[0]
    loop_ohm = row["One conductor (mΩ/m)"] * 1e-3 * 2 * 5.5
    assert row["Loop (mΩ)"] == pytest.approx(loop_ohm * 1e3)
    assert row["Quick bound (V)"] == pytest.approx(float(quick_drop_bound_v(5.0, loop_ohm)))
    feet = level.table(level.compute(level.Request(**{**vars(panel.request()), "feet": True})))
    ratio = feet["One conductor (mΩ/ft)"] / table["One conductor (mΩ/m)"]
    np.testing.assert_allclose(ratio, 0.3048)


@pytest.mark.parametrize(
    ("length", "end_m", "end_ft"), [("0.5", 3, 10), ("5.5", 10, 30), ("12 m", 15, 50), ("100", 100, 328.08)]
)
def test_the_length_axis_holds_the_run(panel: OneRunPanel, length: str, end_m: float, end_ft: float) -> None:
    panel.length.text.value = length
    assert panel.level_chart.layout.xaxis.range[1] == pytest.approx(end_m)
    panel.feet.value = True
    assert panel.level_chart.layout.xaxis.range[1] == pytest.approx(end_ft, rel=1e-4)


def test_an_entry_tells_only_what_changed() -> None:
    heard: list[float] = []
    entry: Entry[float] = Entry("Power", lambda text: units.read(text, "Power", units.POWER, bare="W"), str, 1.0)
    entry.changed = lambda: heard.append(entry.value)
    entry.text.value = "5 W"
    entry.text.value = "five"
    assert isinstance(entry.fault, InputError)
    assert heard == [5.0, 5.0]  # after a fault the panel draws the last good value again
    entry.set(7.0)
    assert heard == [5.0, 5.0]
    assert (entry.text.value, entry.fault) == ("7.0", None)
