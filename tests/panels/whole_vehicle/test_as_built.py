"""The tab As built: readings typed on the page, their verdict, and the record that travels with the plan."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest

from dashboards.panels.handout.document import handout, workbook
from dashboards.panels.whole_vehicle.kept import from_bytes, to_bytes
from dashboards.panels.whole_vehicle.page import BUILT, WholeVehiclePanel
from tests.support.pages.plan_panel import of_job
from tests.support.sentences import answered, numbers, read
from wirecalc.errors import InputError
from wirecalc.vehicle.file import read_csv, read_workbook, write_csv, write_workbook
from wirecalc.vehicle.text import PlanSheet


@pytest.fixture
def panel() -> WholeVehiclePanel:
    made = of_job("amplifier-added")
    made.bar.value = BUILT
    return made


def pair(panel: WholeVehiclePanel) -> str:
    assert panel.answer is not None
    return next(circuit.wire.name for circuit in panel.answer.plan.circuits if circuit.kind == "speaker")


def typed(panel: WholeVehiclePanel, column: str, text: str) -> None:
    {**panel.built.readings, **panel.built.of_visit}[column].view.take({"text": text})


def test_a_reading_is_judged_and_its_likeliest_fault_is_said(panel: WholeVehiclePanel) -> None:
    built, name = panel.built, pair(panel)
    built.wire.value = name
    assert "Nothing is read yet" in built.told.value
    assert "with the far end joined" in built.should.html
    assert "Unplug tweeters first" in built.should.html
    assert set(numbers(built.should.html)) == {"ohm", "low", "high"}
    for key, text in numbers(built.should.html).items():
        shown, worked = float(text.split()[0]), answered(built.work(key)).split()
        if key != "ohm":  # whose two ends open to the middle
            assert float(worked[0]) == pytest.approx(shown, abs=0.0051)
    typed(panel, "Resistance", "OL")
    assert f"{name} is off" in built.told.value
    assert "pen: a break" in built.told.value
    built.end.value = "other"
    assert built.told.value.index("hannels swapped") < built.told.value.index("<small>")
    assert "1 off" in built.table.value
    panel.undo.click()
    panel.undo.click()
    assert "Nothing is read yet" in built.told.value
    assert built.readings["Resistance"].text.value == ""


def test_what_cannot_be_read_is_said_and_kept(panel: WholeVehiclePanel) -> None:
    built = panel.built
    built.wire.value = pair(panel)
    typed(panel, "Volts", "many")
    assert built.readings["Volts"].fault is not None
    assert "row 1" not in built.told.value  # it is said beside the box
    built.following.click()
    assert "As built, row 1, Volts" in built.told.value  # whose box is out of sight
    assert built.readings["Volts"].text.value == ""
    built.wire.value = pair(panel)
    assert built.readings["Volts"].text.value == "many"


def test_the_record_travels_and_prints_and_a_second_visit_compares(panel: WholeVehiclePanel) -> None:
    built, name = panel.built, pair(panel)
    built.wire.value = name
    built.date.view.take({"text": "2026-05-31"})
    typed(panel, "Read by", "A. Fitter")
    low = next(circuit for circuit in panel.answer.plan.circuits if circuit.wire.name == name).laid  # type: ignore[union-attr]
    good = read(built.should.html).partition("resistance ")[2].partition(" ")[0]
    assert low.ways == 2
    typed(panel, "Resistance", f"{good} mohm")
    built.date.view.take({"text": "2026-11-30"})
    typed(panel, "Resistance", f"{float(good) + 900} mohm")
    assert "Changed since 2026-05-31" in built.table.value
    assert "look for a joint that grows" in built.table.value
    text = panel.desk.text
    assert read_csv(*write_csv(text)) == text
    assert read_workbook(write_workbook(text)) == text
    assert from_bytes(to_bytes(text, "one")) == (text, "one")
    page = handout(panel._job())
    last = page[page.index('<section id="built"') :]
    assert "Read on 2026-11-30" in last
    assert "Changed since 2026-05-31" in last
    assert "off: resistance" in last
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(panel._job())))["As built"]
    assert any(name == row[0].value for row in sheet.iter_rows())
    again = WholeVehiclePanel(panel.work)
    again._opened("plan.xlsx", text)
    again.bar.value = BUILT
    again.built.last.click()
    assert again.built.date.value == "2026-11-30"
    assert "off" in again.built.table.value


def test_without_readings_the_last_page_is_to_write_into(panel: WholeVehiclePanel) -> None:
    page = handout(panel._job())
    last = page[page.index('<section id="built"') :]
    assert "to write into" in last
    assert last.count('class="hand"') > 20


def test_the_pulled_cable_and_ones_own_travel_in_files(panel: WholeVehiclePanel) -> None:
    own = panel.cables.own
    own.name.text.value = "Van loom, invented"
    own.conductors.text.value = "white, white/black, grey, grey/black"
    own.keep.click()
    (key,) = own.mine
    panel.cables._types["boot cable"] = key
    panel.cables.spare.text.value = "1"
    saved = panel._saved()
    assert saved.pulled is not None
    assert saved.own is not None
    for text in (read_workbook(write_workbook(saved)), read_csv(*write_csv(saved))):
        assert (text.pulled, text.own) == (saved.pulled, saved.own)
        again = WholeVehiclePanel(panel.work)
        again._opened("plan.xlsx", text)
        pulled = again.cables.pulled
        assert pulled.types["boot cable"] == own.mine[key]
        assert pulled.spare == 1
        assert again._saved() == saved
    nowhere = PlanSheet(columns=("Cable", "Pulled"), rows=(("boot cable", "a rope"),))
    with pytest.raises(InputError, match="a rope"):
        WholeVehiclePanel(panel.work)._opened("plan.xlsx", replace(saved, pulled=nowhere))
