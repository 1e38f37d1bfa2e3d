"""The panel Identify without a browser: what it shows is what wirecalc says."""

from __future__ import annotations

import html
import re
from typing import Any

import numpy as np
import pytest

from dashboards.panels.bench import identify as panels
from dashboards.panels.bench.identify import HELP, IdentifyPanel
from tests.support.kept_samples import CLAD_18, COPPER_18, IMPOSSIBLE, PLAIN, kept
from wirecalc.bench import known_wires
from wirecalc.bench.advise import next_readings
from wirecalc.bench.identify import identify_sample
from wirecalc.bench.log import MOST_ROWS, from_csv, log_csv
from wirecalc.bench.sample import FIELDS
from wirecalc.bench.words import said
from wirecalc.errors import InputError


def panel_of(texts: dict[str, str], sold_as: str = "") -> IdentifyPanel:
    panel = IdentifyPanel()
    for key, text in texts.items():
        panel.entries[key].text.value = text
    panel.sold_as.text.value = sold_as
    return panel


def shown(widget: Any) -> str:
    return html.unescape(widget.value)


# --- readings in, words and picture out --------------------------------------------------------------------------


def test_it_says_what_wirecalc_says() -> None:
    panel = panel_of(CLAD_18, "18 AWG")
    sample, waits = kept(CLAD_18).sample()
    assert waits == ()
    identified = identify_sample(sample)
    for sentence in said(identified, ("AWG", 18.0)):
        assert sentence in shown(panel.told)
    assert "copper-clad aluminium is likely" in shown(panel.told)
    assert re.search(r"Sold as 18 AWG: [12]\.[0-9] sizes thinner than its label\.", shown(panel.told))
    assert sum(np.sum(trace.y) for trace in panel.chart.drawn[0].data) == pytest.approx(100, abs=0.1)
    assert panel.chart.drawn[0].layout.meta.endswith(said(identified)[0])
    assert "copper-clad aluminium" in panel.tables.value
    assert panel.alert.value == ""


def test_empty_means_not_taken() -> None:
    panel = IdentifyPanel()
    assert "Enter a reading to start" in shown(panel.tiles)
    assert "Enter a reading" not in shown(panel.told)  # once
    assert "Measure next" in panel.advice.value
    panel.entries["bare_m"].text.value = "1.2 mm"
    assert "Most likely" in shown(panel.told)
    panel.entries["bare_m"].text.value = " "
    assert "Enter a reading to start" in shown(panel.tiles)


def test_a_first_reading_that_tells_nothing_alone_is_heard() -> None:
    panel = panel_of({"strands": "26"})
    assert "One more reading" in shown(panel.tiles)
    assert shown(panel.told).count("tells neither") == 1
    assert re.findall("<b>([^<]*)</b>", panel.advice.value)[0] == "Diameter of one strand"
    panel = panel_of({"ohm": "62.0 mohm"})
    assert "does not count yet" in shown(panel.told)
    assert "Resistance of a length" not in shown(panel.advice)  # it is typed


def test_accuracy_of_the_meter_widens_and_narrows() -> None:
    widths = []
    for text in ("0.1 % + 1 count", "1 % + 3 counts", "5 % + 9 counts"):
        panel = panel_of({key: COPPER_18[key] for key in ("ohm", "lead_ohm", "length_m")})
        panel.accuracy.text.value = text
        q = identify_sample(panel.now().sample()[0]).copper_m2
        widths.append(q[2] / q[0])
    assert widths == sorted(widths)


@pytest.mark.parametrize(
    ("key", "text"),
    [("strands", "7.5"), ("ohm", "20"), ("strand_m", "<b>1"), ("mass_kg", "x" * 99), ("ohm", "1e-2 ohm")],
)
def test_a_fault_is_said_beside_its_entry_and_the_rest_stays(key: str, text: str) -> None:
    panel = panel_of(COPPER_18)
    before = panel.told.value
    panel.entries[key].text.value = text
    assert panel.entries[key].fault is not None
    assert "role='alert'" in panel.entries[key].note.value
    assert "<b>" not in panel.entries[key].note.value
    assert panel.told.value == before
    assert panel.entries[key].text.value == text


@pytest.mark.parametrize("text", ["0.5", "0.5 % + 2", "99 %", ""])
def test_a_faulty_accuracy_keeps_the_last(text: str) -> None:
    panel = panel_of(COPPER_18)
    panel.accuracy.text.value = text
    assert panel.accuracy.fault is not None
    assert panel.now().accuracy == PLAIN.accuracy


def test_too_coarse_a_reading_is_said_and_the_picture_stays() -> None:
    panel = panel_of(COPPER_18)
    before = panel.told.value, panel.chart.sent
    panel.entries["lead_ohm"].text.value = "61.9 mohm"
    assert "longer piece" in shown(panel.alert)
    assert (panel.told.value, panel.chart.sent) == before
    panel.log.add.click()
    assert panel.log.log == ()
    assert "Not added" in shown(panel.log.note)
    panel.entries["lead_ohm"].text.value = "20.0 mohm"
    assert panel.alert.value == ""


def test_a_fault_of_ours_is_said_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    panel = panel_of(COPPER_18)
    monkeypatch.setattr(panels, "picture", lambda _found: 1 / 0)
    panel.entries["strands"].text.value = "19"
    assert "a fault of the page" in shown(panel.alert)
    assert "not of the viewer" in caplog.text


def test_contradiction_draws_no_choice() -> None:
    panel = panel_of(IMPOSSIBLE, "18")
    assert "contradict" in shown(panel.told)
    assert "wc-caution" in panel.told.value
    assert all(not np.any(trace.y) for trace in panel.chart.drawn[0].data)
    assert "contradict" in panel.chart.drawn[0].layout.title.text
    assert "wc-shut" in panel.chart_box._dom_classes  # twelve sizes without a bar say nothing
    assert "Most likely" not in panel.tables.value
    assert "resistance" in panel.tables.value
    assert "same again" in panel.advice.value


def test_advice_is_sorted_and_says_how() -> None:
    panel = panel_of({key: COPPER_18[key] for key in ("strands", "strand_m")})
    best = next_readings(panel.now().sample()[0])
    titles = re.findall("<b>([^<]*)</b>", panel.advice.value)
    assert titles == [reading.title.capitalize() for reading in best if reading.bits >= 0.1][:3]
    assert best[0].how in shown(panel.advice)
    full = {**COPPER_18, "mass_kg": "15.0 g", "mass_length_m": "2.00 m"}
    assert "No other reading" in panel_of(full).advice.value


def test_the_picture_is_always_of_as_many_bars() -> None:
    for texts in ({}, COPPER_18, CLAD_18, IMPOSSIBLE, {"outer_m": "2.1 mm"}):
        identified = identify_sample(kept(texts).sample()[0])
        traces, layout = panels.picture(identified)
        assert len(traces) == len(known_wires.GROUPS)
        assert {len(trace["x"]) for trace in traces} == {len(trace["y"]) for trace in traces} == {panels.MOST_DRAWN}
        areas = [panels._labels().index(label) for label in traces[0]["x"]]
        assert areas == sorted(areas, key=panels._by_area().index)
        assert layout["barmode"] == "stack"


# --- the log --------------------------------------------------------------------------------------------------------


def test_add_save_and_read_back() -> None:
    panel = panel_of(CLAD_18, "18 AWG")
    panel.log.name.text.value = "=spool 3, “red”"
    panel.log.add.click()
    panel.log.name.text.value = ""
    panel.way.value = "four"
    panel.log.add.click()
    log = panel.log.log
    assert [sample.name for sample in log] == ["=spool 3, “red”", "sample 2"]
    assert log[0] == kept(CLAD_18, name="=spool 3, “red”", sold_as=("AWG", 18.0))
    assert "copper-clad aluminium" in panel.log.table.value
    name, content, kind = panel.log.save.make()
    assert (name, kind) == ("wire-samples.csv", "text/csv")
    assert from_csv(content) == log

    other = IdentifyPanel()
    other.log.read.use("log.csv", content)
    other.log.read.use("again.csv", content)
    assert other.log.log == log
    assert "2 in the log" in shown(other.log.note)


def test_a_faulty_file_leaves_the_log_as_it_was() -> None:
    panel = panel_of(COPPER_18)
    panel.log.add.click()
    before = panel.log.log, panel.log.table.value
    bad = log_csv((kept(CLAD_18), kept(CLAD_18))).replace(b"89.0 mohm", b"<b>")
    panel.log.read.take({"name": "<i>.csv", "size": len(bad), "content": bad})
    assert (panel.log.log, panel.log.table.value) == before
    for place in ("Row 2, column 5 (Resistance)", "Row 3, column 5 (Resistance)"):
        assert place in panel.log.read.note
    assert "<b>" not in panel.log.read.note


def test_a_full_log_takes_no_more_and_an_empty_one_saves_nothing() -> None:
    panel = panel_of(COPPER_18)
    with pytest.raises(InputError, match="Add this sample first"):
        panel.log.save.make()
    panel.log.log = (PLAIN,) * MOST_ROWS
    panel.log.add.click()
    assert len(panel.log.log) == MOST_ROWS
    assert "at most" in shown(panel.log.note)


def test_every_reading_has_its_help() -> None:
    assert list(HELP) == list(FIELDS)


# --- three readings first, the rest folded ------------------------------------------------------------------------


def test_an_empty_page_shows_where_to_measure_and_no_chart_of_nothing() -> None:
    panel = IdentifyPanel()
    assert "wc-shut" in panel.chart_box._dom_classes
    assert "wc-shut" not in panel.where._dom_classes
    assert panel.tables.value == ""
    assert "Count the strands" in panel.where.value
    panel.entries["bare_m"].text.value = "1.2 mm"
    assert "wc-shut" in panel.where._dom_classes
    assert "wc-shut" not in panel.chart_box._dom_classes


def test_a_resistance_that_does_not_count_says_so_and_one_press_makes_it_count() -> None:
    """With three readings and the length typed, any resistance gave the same answer: the leads were folded away."""
    panel = panel_of({key: IMPOSSIBLE[key] for key in ("strands", "strand_m", "length_m")})
    assert "wc-shut" in panel.leads._dom_classes
    panel.entries["ohm"].text.value = "4.0 mohm ± 0.1 mohm"
    assert "wc-shut" not in panel.leads._dom_classes
    assert "Resistance does not count yet: enter the meter leads, 0 if" in shown(panel.told)
    panel.zeroed.click()
    assert panel.entries["lead_ohm"].value == "0.0 mohm"
    assert "does not count" not in shown(panel.told)
    assert "contradict" in shown(panel.told)
    panel.way.value = "four"
    assert "wc-shut" in panel.leads._dom_classes


def test_what_is_folded_away_and_set_is_a_chip() -> None:
    panel = panel_of(COPPER_18, "18 AWG")
    chips = re.findall("<li>([^<]*)</li>", panel.set_there.value)
    assert any(chip.startswith("Wire temperature: ") for chip in chips)
    assert not any(chip.startswith("Meter leads") for chip in chips)  # beside the resistance, in sight
    assert "Sold as: 18 AWG" in chips
    assert not any(chip.startswith("Strands") for chip in chips)


def test_a_number_alone_is_in_the_pages_unit_and_stays_what_it_was() -> None:
    panel = IdentifyPanel()
    panel.use_units(True)
    panel.entries["length_m"].text.value = "16"
    assert panel.entries["length_m"].value == "16 ft"
    panel.use_units(False)
    panel.entries["mass_length_m"].text.value = "0.5"
    panel.use_units(True)
    assert panel.entries["mass_length_m"].value == "0.5 m"
    assert panel.entries["length_m"].value == "16 ft"
    assert "16 ft or more" in panel.advice.value or "20 in" in panel.advice.value or "¾ in" in panel.advice.value


def test_what_it_conducts_is_said_by_gauge_or_in_square_millimetres() -> None:
    panel = panel_of(COPPER_18)
    for system, unit, other in (("mm2", "mm²", "AWG"), ("", "mm²", "AWG"), ("AWG", "AWG", "mm²")):
        panel.use_units(False, system)
        (conducts,) = (sentence for sentence in shown(panel.told).split(". ") if "9 times in 10" in sentence)
        assert unit in conducts
        assert other not in conducts
        assert re.search(rf"[0-9.]+ {unit}</strong><small>copper wire", panel.tiles.value)


def test_no_statistics_are_said_at_the_bench() -> None:
    for texts in ({}, COPPER_18, CLAD_18, IMPOSSIBLE):
        panel = panel_of(texts)
        said_here = " ".join(map(shown, (panel.told, panel.advice, panel.tables, panel.tiles)))
        assert not re.search(r"\bbits?\b|chi-square|degrees of freedom|Shannon|standard deviation", said_here)
