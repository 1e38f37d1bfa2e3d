"""The check of a finished run without a browser: entries in, verdict, picture, check-list and coils out."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from dashboards.panels.bench.finished_run import FinishedRunPanel, band_chart
from wirecalc.bench import finished
from wirecalc.bench.finished import FinishedRun, expected
from wirecalc.bench.leads import CHANNELS
from wirecalc.bench.meter import Meter
from wirecalc.wire.conductor import awg


@pytest.fixture
def panel() -> FinishedRunPanel:
    return FinishedRunPanel()


def test_it_says_what_to_expect_before_anything_is_read(panel: FinishedRunPanel) -> None:
    band = expected(FinishedRun(conductor=awg(16), length_m=5.5), Meter(share=0.005, counts=2, count_ohm=1e-3))
    assert f"{finished.in_ohm(band.low_ohm)} to {finished.in_ohm(band.high_ohm)}" in panel.told.value
    assert ">148<" in panel.tiles.html
    assert "Likeliest first" not in panel.told.value


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("0.148", "in the band"),
        ("148 mohm", "in the band"),
        ("235 mohm", "too high"),
        ("235 mohm", "18 AWG"),
        ("80 mohm", "Shorted early, at about 3.0 m"),
        ("OL", "no path"),
        ("o.l", "no path"),
    ],
)
def test_a_reading_gets_its_verdict(panel: FinishedRunPanel, typed: str, told: str) -> None:
    panel.reading.text.value = typed
    assert panel.reading.fault is None
    assert told in panel.told.value
    assert any(f">{word}</strong>" in panel.tiles.html for word in ("in band", "high", "low", "open"))
    panel.reading.text.value = ""
    assert "A good run reads" in panel.told.value


@pytest.mark.parametrize(
    ("field", "typed", "parameter", "value"),
    [
        ("length", "18 ft", "length_m", 5.4864),
        ("size", "12 AWG", "conductor", awg(12)),
        ("parallel", "2", "parallel", 2),
        ("joints", "6", "joints_ohm", 0.006),
        ("temperature", "95 °F", "temperature_c", 35.0),
        ("leads", "120 mohm", "leads_ohm", 0.12),
    ],
)
def test_every_entry_reaches_the_run(field: str, typed: str, parameter: str, value: Any) -> None:
    given: list[FinishedRun] = []
    panel = FinishedRunPanel(lambda run, meter: given.append(run) or expected(run, meter))  # type: ignore[func-returns-value]
    before = panel.tiles.html
    getattr(panel, field).text.value = typed
    assert len(given) == 2
    entered = getattr(given[-1], parameter)
    assert entered == value if field == "size" else entered == pytest.approx(value)
    assert panel.tiles.html != before


def test_the_meter_as_its_maker_writes_it() -> None:
    given: list[Meter] = []
    panel = FinishedRunPanel(lambda run, meter: given.append(meter) or expected(run, meter))  # type: ignore[func-returns-value]
    panel.accuracy.text.value = "0.8 % + 3 digits"
    panel.count.text.value = "100"
    assert (given[-1].share, given[-1].counts, given[-1].count_ohm) == pytest.approx((0.008, 3, 0.1))
    assert "too coarse" in panel.told.value


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("length", "-3 m"),
        ("length", "5 kg"),
        ("size", "3.3 mm2"),
        ("parallel", "1.5"),
        ("joints", "nan"),
        ("temperature", "900"),
        ("leads", "<b>"),
        ("accuracy", "80 %"),
        ("accuracy", "two"),
        ("count", "0"),
        ("reading", "-0.1"),
        ("reading", "1e999"),
        ("coils", "0"),
        ("coils", "9"),
        ("re", "0"),
        ("coil_reading", "loud"),
    ],
)
def test_a_fault_stands_beside_its_field_and_the_picture_stays(panel: FinishedRunPanel, field: str, typed: str) -> None:
    panel.reading.text.value = "0.2"
    before = (panel.told.value, panel.chart.sent, panel.table.value)
    entry = getattr(panel, field)
    entry.text.value = typed
    assert "role='alert'" in entry.note.value
    assert "<b>" not in entry.note.value
    assert entry.text.value == typed
    assert (panel.told.value, panel.chart.sent, panel.table.value) == before


def test_a_fault_of_ours_shows_no_traceback() -> None:
    def breaks(_run: FinishedRun, _meter: Meter) -> Any:
        raise ZeroDivisionError("inside")

    panel = FinishedRunPanel()
    before = panel.told.value
    panel.compute = breaks
    panel.length.text.value = "7 m"
    assert "role='alert'" in panel.alert.value
    assert "inside" not in panel.alert.value
    assert panel.told.value == before
    panel.compute = expected
    panel.length.text.value = "8 m"
    assert panel.alert.value == ""


def test_the_picture_always_has_three_traces_and_says_itself() -> None:
    band = expected(FinishedRun(conductor=awg(16), length_m=5.5), Meter(share=0.005, counts=2, count_ohm=1e-3))
    for reading, shown in ((None, math.nan), (0.2, 200.0), (math.inf, math.nan), (3.5, 3.5)):
        traces, layout = band_chart(band, reading)
        assert [trace["name"] for trace in traces] == ["good runs", "expected", "read"]
        assert traces[2]["x"] == pytest.approx([shown], nan_ok=True)
        scale = 1.0 if reading == 3.5 else 1e3
        assert traces[0]["x"][:2] == pytest.approx([scale * band.low_ohm, scale * band.high_ohm])
        assert layout["xaxis"]["range"][1] > max(traces[0]["x"])
        assert finished.in_ohm(band.low_ohm) in layout["meta"]


def test_plotly_accepts_the_picture(panel: FinishedRunPanel) -> None:
    panel.reading.text.value = "0.2"
    assert len(panel.chart.drawn[0].data) == 3


def test_the_number_opens_to_its_working(panel: FinishedRunPanel) -> None:
    panel.tiles.ask("reading")
    assert "2 × L × r / n + Rj + Rm" in panel.tiles.working
    assert "role='alert'" not in panel.tiles.working


def test_the_check_list_follows_the_cable(panel: FinishedRunPanel) -> None:
    assert "violet with a black stripe" in panel.list.value
    assert "blue" in panel.list.value
    panel.cable.value = CHANNELS[:2]
    assert "violet" not in panel.list.value
    assert "grey" in panel.list.value


def test_coils_are_read_through_the_run_or_at_their_terminals(panel: FinishedRunPanel) -> None:
    panel.coil_reading.text.value = "6.95"
    assert "and no other way" in panel.table.value
    assert "6.95 Ω" in panel.table.value  # two of 3.4 and 0.148 of wire
    panel.through.value = False
    assert "6.8 Ω" in panel.table.value
    panel.coil_reading.text.value = "1.7"
    assert "is not “2 in series”" in panel.table.value
    panel.planned.value = 1
    assert "fits “2 in parallel”" in panel.table.value


def test_more_coils_bring_their_own_ways(panel: FinishedRunPanel) -> None:
    panel.planned.value = 1
    panel.coils.text.value = "4"
    assert panel.coils.fault is None
    assert panel.planned.value == 0
    assert ("2 groups in series, each 2 in parallel", 4) in panel.planned.options
    panel.planned.value = 4
    panel.coil_reading.text.value = "3.55"
    assert "ambiguous" in panel.table.value
    panel.coils.text.value = "1"
    assert panel.table.value.count("<tr") == 2


def test_feet_are_said_of_every_length() -> None:
    panel = FinishedRunPanel()
    panel.use_units(True)
    assert panel.length.text.value == "18 ft"
    for reading in ("235 mohm", "80 mohm"):  # too long, shorted early
        panel.reading.text.value = reading
        assert " ft" in panel.told.value
        assert not re.search(r"\d m\b", panel.told.value)
    panel.use_units(False, "mm2")
    assert panel.size.text.value == "1.5 mm²"
    assert not re.search(r"\d ft\b", panel.told.value)
