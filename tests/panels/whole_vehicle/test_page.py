"""The page Whole vehicle without a browser: edits, faults, undo, files, verdicts, links; and with 300 wires."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qsl, urlencode

import openpyxl
import pytest

from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.whole_vehicle import bars, circuits
from dashboards.panels.whole_vehicle import page as plan_page
from dashboards.panels.whole_vehicle.desk import Desk, PlanAnswer, answers, as_before, place
from dashboards.panels.whole_vehicle.links import entries
from dashboards.panels.whole_vehicle.page import (
    ABOVE,
    BUY,
    CABLES,
    CIRCUITS,
    DEMO,
    DEVICES,
    TREE,
    WIRES,
    WholeVehiclePanel,
)
from tests.support.jobs import faulty, row
from tests.support.jobs import two_faults as demo
from tests.support.pages.plan_panel import cells, edit
from wirecalc import runs
from wirecalc.errors import InputError
from wirecalc.jobs import JOBS
from wirecalc.vehicle.cable import Pulled
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.file import read_csv, read_workbook, write_workbook
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.stock import Stock
from wirecalc.vehicle.text import PlanSheet, parse, text_of, vehicle_of


@pytest.fixture(scope="module")
def made(answer: PlanAnswer) -> WholeVehiclePanel:
    """With the demo's sizes chosen once, and kept: choosing has tests of its own."""

    asked = [Pulled()]

    def soon(
        vehicle: Vehicle, stock: Stock, before: PlanAnswer | None, tell: Any, pulled: Pulled
    ) -> Iterator[PlanAnswer]:
        solved = answers(vehicle, stock, before or answer, tell, pulled)
        anew = asked[-1] != pulled  # other cables are decided in earnest
        asked.append(pulled)
        yield replace(list(solved)[-1] if anew else next(solved), final=True)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan_page, "demo_plan", demo)
        panel = WholeVehiclePanel(soon)
        panel.start.demo.click()
        return panel


@pytest.fixture
def panel(made: WholeVehiclePanel) -> Iterator[WholeVehiclePanel]:
    """The demo as it opens; what a test did is undone."""
    made.bar.value = CIRCUITS
    yield made
    while made.desk.can[0]:
        made.desk.step(-1)
    made._changed()


def test_the_demo_opens_marked_as_invented(panel: WholeVehiclePanel) -> None:
    assert DEMO in panel.headline.value
    assert "invented" in DEMO
    assert "2 of 36 circuits break a limit." in panel.headline.value
    assert panel.circuits.html.count("<tr") == 37
    first = re.findall(r"<th scope='row'>(?:<a[^>]*>)?([^<]+)", panel.circuits.html)[:3]
    assert set(first) == {"Drink cooler feed", "Right dash run", "Right rear door run"}  # the worst first
    panel.bar.value = ABOVE
    for caution in ("battery", "airbag", "Local codes"):
        assert caution in panel.minded.value


def test_a_row_says_size_length_fuse_limit_and_verdict(panel: WholeVehiclePanel) -> None:
    row_text = cells(panel.circuits.html, "Right dash run")
    for part in (
        "20 AWG",
        "5.4 m",
        "level loss",
        "211 % used",
        "✗ too thin: level loss 0.84 dB",
        "Right dash speaker",
    ):
        assert part in row_text
    row_text = cells(panel.circuits.html, "Front amplifier feed")
    for part in ("✓ fine: keeps every limit", "◆ chosen", "30 A", "0.9 m"):
        assert part in row_text
    panel.order.value = circuits.BROKEN
    assert panel.circuits.html.count("<tr") == 3
    panel.order.value = circuits.LISTED
    assert panel.circuits.html.index("Charging lead") < panel.circuits.html.index("Drink cooler feed")
    panel.order.value = circuits.WORST


def test_an_edit_changes_the_verdict_and_undo_brings_it_back(panel: WholeVehiclePanel) -> None:
    before = panel.circuits.html
    edit(panel, "Right dash run", "Size", "16 AWG")
    assert "1 of 36" in panel.headline.value
    assert "✓ fine: keeps every limit" in cells(panel.circuits.html, "Right dash run")
    assert panel.wires.grid.marks[row(panel.desk.text, "Right dash run")].startswith("✓")
    assert not panel.undo.disabled
    panel.undo.click()
    assert panel.circuits.html == before
    assert panel.undo.disabled
    panel.redo.click()
    assert "1 of 36" in panel.headline.value


def test_a_faulty_cell_is_said_and_the_last_good_plan_stays(panel: WholeVehiclePanel) -> None:
    before = panel.circuits.html
    edit(panel, "Right dash run", "Length", "5 <b>V")
    edit(panel, "Main feed", "Zone", "moon")
    faults = panel.wires.grid.faults
    assert [(at, column) for at, column, _ in faults] == [
        (row(panel.desk.text, "Main feed"), "Zone"),
        (row(panel.desk.text, "Right dash run"), "Length"),
    ]
    assert len(panel.faults.shown["lines"]) == 2
    assert "<b>V" in "".join(panel.faults.shown["lines"])  # the browser writes it as text
    assert panel.circuits.html == before
    assert panel.wires.grid.sheet["rows"][faults[1][0]][5] == "5 <b>V"  # nothing typed is lost
    edit(panel, "Right dash run", "Length", "5.4 m")
    edit(panel, "Main feed", "Zone", "engine_bay")
    assert panel.faults.shown["lines"] == []


def test_rows_come_and_go(panel: WholeVehiclePanel) -> None:
    grid = panel.wires.grid
    before = grid.sheet["ids"]
    panel.wires.add.click()
    count = len(panel.desk.text.wires.rows)
    assert count == 37
    assert grid.sheet["ids"][:-1] == before
    assert panel.faults.shown["lines"] == []  # an empty row is no fault
    at = row(panel.desk.text, "Line, left")
    gone, next_one = grid.sheet["ids"][at : at + 2]
    grid.take({"id": gone, "row": at, "remove": True})
    assert "of 35 circuits" in panel.headline.value
    grid.take({"id": gone, "row": at, "remove": True})  # meant for a row that is no longer there
    assert len(panel.desk.text.wires.rows) == count - 1
    assert grid.sheet["ids"] == [row_id for row_id in [*before, grid.sheet["ids"][-1]] if row_id != gone]
    column = grid.sheet["columns"].index("Length")
    grid.take({"id": next_one, "row": at + 1, "column": "Length", "text": "4.321 m"})  # seen where it was before
    assert [line[column] for line in grid.sheet["rows"]].index("4.321 m") == at
    panel.undo.click()
    assert grid.sheet["ids"][at] == next_one
    grid.take({"id": next_one, "row": 0, "column": "no such", "text": "x"})
    assert panel.desk.text.wires.columns == demo().wires.columns
    panel.wires.column.value = "Parallel"
    assert panel.desk.text.wires.columns[-1] == "Parallel"
    edit(panel, "Right dash run", "Parallel", "2")
    assert "2 × 20 AWG" in cells(panel.circuits.html, "Right dash run")


def test_the_shelf_decides_what_is_chosen(answer: PlanAnswer) -> None:
    panel = WholeVehiclePanel(lambda *_: iter(()))
    panel.bar.value = CIRCUITS
    panel.work = answers
    panel.files.take("small.xlsx", write_workbook(text_of(answer.plan.vehicle)))
    edit(panel, "Right front door run", "Size", "choose")
    panel.shelf.text.value = "10 AWG = 2, 1/0 AWG = 9; 4/0 AWG = 20"
    assert panel.shelf.fault is None
    assert "10 AWG" in cells(panel.circuits.html, "Right front door run")
    panel.shelf.text.value = "10 kg"
    assert panel.shelf.fault is not None
    assert "10 AWG" in cells(panel.circuits.html, "Right front door run")
    panel.shelf.text.value = "; ".join(f"{n} AWG" for n in (18, 16, 14, 12, 10, 8, 6, 4, 2)) + "; 1/0; 2/0"
    assert panel.shelf.value == Stock()


def test_ten_planted_faults_give_exactly_those_ten(panel: WholeVehiclePanel) -> None:
    text, where = faulty()
    before = panel.desk.text, panel.circuits.html
    with pytest.raises(InputError, match="10 faults"):
        panel.files.take("job.xlsx", write_workbook(text))
    assert panel.files.said.value.count("<li>") == 10
    assert [place(fault) for fault in parse(text).faults] == where
    for sheet, at, column in where:
        assert f"{sheet}, row {at + 1}, {column}:" in panel.files.said.value
    assert (panel.desk.text, panel.circuits.html) == before  # what was on the page stays
    panel.files.anyway.click()
    assert panel.desk.text == text  # to be corrected here
    assert len(panel.faults.shown["lines"]) == 10
    assert panel.circuits.html == before[1]


def test_files_there_and_back(panel: WholeVehiclePanel) -> None:
    edit(panel, "Right dash run", "Note", "=1+1")
    text = panel.desk.text
    name, content, kind = panel.files.book.make()
    assert name.endswith(".xlsx")
    assert "spreadsheet" in kind
    assert read_workbook(content) == text
    first, second = panel.files.devices.make()[1], panel.files.wires.make()[1]
    assert read_csv(first, second) == text
    panel.undo.click()
    panel.files.take("wires.csv", second)
    assert "is one of two" in panel.files.said.value
    assert panel.desk.text == demo()
    panel.files.take("devices.csv", first)
    assert panel.desk.text == text
    assert "devices.csv" in panel.headline.value
    panel.undo.click()
    assert DEMO in panel.headline.value
    panel.files.take("job.xlsx", content)
    assert panel.desk.text == text
    assert parse(read_workbook(panel.files.template.make()[1])).faults == ()
    with pytest.raises(InputError, match="two CSV files"):
        panel.files.take("job.xlsx", b"no workbook")
    assert "<li>" in panel.files.said.value


def test_an_unknown_column_is_kept_and_said(panel: WholeVehiclePanel) -> None:
    text = demo()
    own = PlanSheet(columns=(*text.wires.columns, "Hue"), rows=tuple((*each, "red") for each in text.wires.rows))
    panel.files.take("job.xlsx", write_workbook(replace(text, wires=own)))
    assert "Hue" in panel.files.said.value
    assert panel.wires.grid.sheet["columns"][-1] == "Hue"


def test_sheets_that_are_not_read_are_named(panel: WholeVehiclePanel) -> None:
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(demo())))
    panel.files.take("plain.xlsx", write_workbook(demo()))
    assert panel.files.said.value == ""  # its own sheet of explanations is no loss
    book.create_sheet("Prices <b>")
    book.create_sheet("Notes")
    out = io.BytesIO()
    book.save(out)
    panel.files.take("more.xlsx", out.getvalue())
    assert "not in what is saved from here: the sheets “Prices &lt;b&gt;”, “Notes”." in panel.files.said.value


def test_a_fault_leads_to_its_cell(panel: WholeVehiclePanel) -> None:
    edit(panel, "Main feed", "Zone", "moon")
    panel.faults.take({"line": panel.faults.shown["lines"][0], "place": 0})
    assert panel.bar.value == WIRES
    assert panel.wires.grid.focus[:2] == [row(panel.desk.text, "Main feed"), "Zone"]
    count = panel.wires.grid.focus[2]
    for wrong in ({"line": "a fault that is mended", "place": 0}, {"place": 0}, {}):
        panel.faults.take(wrong)
    assert panel.wires.grid.focus[2] == count
    at = panel.desk.text.devices.columns.index("Kind")
    panel.desk.put(replace(panel.desk.text, devices=without(panel.desk.text.devices, at)))
    panel._changed()
    panel.faults.take(
        {"line": panel.faults.shown["lines"][0], "place": 0}
    )  # of the list as a whole: into its first row
    assert (panel.bar.value, panel.devices.grid.focus[0]) == (DEVICES, 0)
    assert "fault of the page" not in panel.alert.value


def without(sheet: PlanSheet, at: int) -> PlanSheet:
    """A list that lacks a column."""
    return PlanSheet(
        columns=sheet.columns[:at] + sheet.columns[at + 1 :], rows=tuple(r[:at] + r[at + 1 :] for r in sheet.rows)
    )


def test_a_list_without_names_is_no_traceback(panel: WholeVehiclePanel) -> None:
    panel.desk.put(replace(panel.desk.text, wires=without(panel.desk.text.wires, 0)))
    panel._changed()
    panel.bar.value = WIRES
    assert panel.alert.value == ""
    assert "“Name”" in panel.faults.shown["lines"][0]


def test_every_circuit_opens_in_one_run_with_the_same_numbers(answer: PlanAnswer) -> None:
    kinds = set()
    other = OneRunPanel()
    taken = choose_plan(JOBS["signal-taken"].vehicle()).plan  # at speaker level
    for vehicle, circuit in ((plan.vehicle, circuit) for plan in (answer.plan, taken) for circuit in plan.circuits):
        query = entries(vehicle, circuit)
        assert (query is None) == (circuit.run is None)
        if query is None or type(circuit.run) in kinds:
            continue
        kinds.add(type(circuit.run))
        other.address.take({"came": urlencode(query)})
        assert other.address.note == ""
        now = other.situation()
        assert not [key for key, field in other.fields().items() if getattr(field, "fault", None)]
        assert now.place == circuit.place
        alone = circuit.run.measures(runs.wire_ohm([circuit.conductor], circuit.laid)[0], circuit.laid.length_m)
        for key, value in alone.items():
            assert now.plain[key][0] == pytest.approx(float(value), rel=1e-6, nan_ok=True), (circuit.wire.name, key)
        if isinstance(circuit.run, runs.FactoryRun):
            limits = {held.measure: (float(held.bound), held.reason) for held in now.run.limits()}
            assert {held.measure: (held.bound, held.reason) for held in circuit.verdict.limits} == limits
            assert circuit.verdict.meets.all()
            assert circuit.conductor.label in now.advice.sentence  # no thinner, for handling
            warnings = [text for text in taken.warnings if text.startswith("Factory signal")]
            assert len(warnings) == len(now.run.cautions({key: values[0] for key, values in now.plain.items()}))
    assert kinds == set(runs.KINDS)


def test_what_stands_behind_a_circuit(answer: PlanAnswer, panel: WholeVehiclePanel) -> None:
    explanation = panel._behind("Right dash run")
    assert "✗ level loss" in explanation
    assert "0.84" in explanation
    assert "20 × log10" in explanation  # its formula
    query = re.search(r"one_run\.ipynb\?([^']+)'", explanation)
    assert query is not None
    assert dict(parse_qsl(query[1].replace("&amp;", "&")))["size"] == "20 AWG"
    feed = panel._behind("Main feed")
    assert "450 mm" in feed  # where a feed leaves the battery
    assert "solving the whole vehicle" in feed
    assert "It is not in the plan" in panel._behind("<b>")
    assert "<b>" not in panel._behind("<b>")


def test_a_working_is_shown_only_where_it_gives_the_plans_number(answer: PlanAnswer) -> None:
    circuit = answer.plan.circuit("Subwoofer amplifier feed")
    explanation = circuits.behind(answer, circuit.wire.name)
    assert "Drop: " not in explanation  # the plan counts the shared feeds, the wire alone does not
    assert f"Allowable current: {circuit.measures['allowable_a']:.0f} A" in explanation


def test_no_operating_point_is_said(answer: PlanAnswer, panel: WholeVehiclePanel) -> None:
    edit(panel, "Main feed", "Size", "24 AWG")
    edit(panel, "Main feed", "Length", "20 m")
    assert panel.answer is not None
    assert panel.answer.plan.problems
    assert "cannot deliver" in panel.headline.value
    panel.bar.value = ABOVE
    assert "cannot deliver" in panel.minded.value
    broken = [answer.state.name for answer in panel.answer.plan.supply.answers if answer.problem]
    panel.bar.value, panel.state.value = TREE, broken[0]
    assert "role='alert'" in panel.tree.html
    panel.bar.value = "Decibels and heat"
    assert "none" in panel.bars.html


def test_bars_add_up(answer: PlanAnswer) -> None:
    page = bars.levels(answer.plan, "off")
    rows = re.findall(r"(-?[\d.]+) dB</td><td[^>]*>(-?[\d.]+) dB</td><td[^>]*><b>(-?[\d.]+) dB", page)
    assert len(rows) == 7
    for feed, run, total in rows:
        assert float(feed) + float(run) == pytest.approx(float(total), abs=0.011)
    widths = [[float(x) for x in re.findall(r"class='wc-(?:feed|run)' x='[\d.]+' y='3' width='([\d.]+)'", row_html)]
              for row_html in page.split("<tr>")[2:]]  # fmt: skip
    assert sum(widths[0]) == pytest.approx(240, abs=0.2)  # the worst is as long as can be
    heat = bars.heat(answer.plan)
    assert heat.count("<tr") - 1 == answer.plan.bundles["bundle"].nunique()


def test_one_switch_on_the_page_puts_every_length_in_feet_and_sizes_in_mm2(panel: WholeVehiclePanel) -> None:
    metres, typed = re.compile(r"\d m\b(?!²)"), panel.desk.text
    shown = panel.view.children[1].children[0]  # over all tabs, of every state of the page
    assert shown.children == (panel.start.units, panel.system)
    panel.start.units.value = True
    try:
        assert not metres.search(panel.circuits.html)
        assert re.search(r"\d (ft|in)\b", panel.circuits.html)
        assert "units=feet&amp;" in panel.circuits.html  # One run opens in feet too
        panel.bar.value = BUY
        assert not metres.search(re.sub("<p.*?</p>", "", panel.buy.shown.value))
        assert "ft spool" in panel.buy.shown.value
        assert panel.buy.loop.text.value == "6 in"
        panel.buy.spools.text.value = "100; 50"
        assert panel.buy.spools.value == pytest.approx((15.24, 30.48))
    finally:
        panel.start.units.value = False
    assert panel.buy.spools.text.value == "15.2 m; 30.5 m"
    assert panel.buy.loop.text.value == "0.15 m"
    panel.buy.spools.text.value = ""
    assert not re.search(r"\d ft\b", panel.buy.shown.value)
    assert panel.desk.text == typed
    panel.system.take({"label": "mm²"})
    assert panel.sold.choice.value == "mm2"
    panel.system.take({"label": "AWG"})
    assert panel.sold.choice.value == "as asked"
    assert panel.house.rules.changes == {}


def test_cables_and_list_to_buy(panel: WholeVehiclePanel) -> None:
    panel.bar.value = CABLES
    assert "carries" in panel.cables.shown.value
    assert "<svg" in panel.cables.shown.value
    assert "Pin-out" in panel.cables.shown.value
    panel.cables.which.value = "boot cable"
    panel.cables.type.value = "speaker_4"
    assert "pull a discrete" in panel.cables.shown.value
    panel.bar.value = BUY
    assert "four-conductor speaker cable" in panel.buy.shown.value
    assert "nine-conductor" not in panel.buy.shown.value
    whole = panel.buy.shown.value
    panel.buy.slack.text.value = "30 %"
    assert panel.buy.shown.value != whole
    panel.buy.spools.text.value = "3 m"
    assert "role='alert'" in panel.buy.alert.value  # a piece is longer
    panel.buy.spools.text.value = "10; 50 m"
    assert panel.buy.alert.value == ""
    prices = panel.buy.save.make()[1].decode("utf-8-sig")
    filled = "\n".join(f"{line}2.5" if line.endswith(",") else line for line in prices.splitlines())
    panel.buy._take_prices("prices.csv", filled.encode())
    assert "Cost: " in panel.buy.shown.value
    panel.cables.type.value = ""


def test_the_handout_is_of_the_plan_that_is_shown(panel: WholeVehiclePanel) -> None:
    page, book = (handout.make() for handout in panel.handouts)
    document = page[1].decode()
    assert "Demo vehicle (invented)" in document
    for wire in demo().wires.rows:
        assert wire[0] in document
    assert "nine-conductor speaker cable" in document  # cables and buy list with it
    assert book[0].endswith(".xlsx")
    panel.buy.spools.text.value = "3 m"  # too short: a handout without a buy list
    assert len(panel.handouts[0].make()[1]) < len(page[1])
    panel.buy.spools.text.value = "10 m; 50 m"
    edit(panel, "Main feed", "Length", "5 V")
    with pytest.raises(InputError, match="without faults"):
        panel.handouts[0].make()


def test_an_answer_comes_soon_then_for_good(answer: PlanAnswer) -> None:
    text = demo()
    at = row(text, "Right dash run")
    vehicle = vehicle_of(replace(text, wires=text.wires.with_cell(at, "Size", "14 AWG")))
    told: list[float] = []
    soon, good = answers(vehicle, Stock(), answer, lambda share, what: told.append(share))
    assert not soon.final
    assert good.final
    assert told
    assert soon.plan.circuit("Right dash run").conductor.label == "14 AWG"
    for wire in vehicle.wires:
        if wire.size == CHOOSE:
            assert soon.plan.circuit(wire.name).conductor == answer.plan.circuit(wire.name).conductor
    typed = replace(vehicle.wire("Main feed"), size=("AWG", 8.0))
    wires = tuple(typed if wire.name == typed.name else wire for wire in vehicle.wires)
    eight = next(answers(replace(vehicle, wires=wires), Stock(), answer, lambda share, what: None))
    assert "Main feed" not in eight.reasons  # typed, not chosen: it is no size to go back to
    assert as_before(vehicle, eight).wire("Main feed").size == CHOOSE
    added = replace(vehicle.wire("Left dash run"), size=CHOOSE)  # nothing is known of it from before
    wires = tuple(added if wire.name == added.name else wire for wire in vehicle.wires)
    soon = next(answers(replace(vehicle, wires=wires), Stock(), answer, lambda share, what: None))
    assert "Left dash run" in soon.reasons
    apart = tuple(replace(wire, cable="") for wire in answer.plan.vehicle.wires)
    (only,) = answers(replace(vehicle, wires=apart), Stock(), None, lambda share, what: None)  # nothing to choose
    assert only.final
    assert as_before(answer.plan.vehicle, answer) is answer.plan.vehicle


def test_a_fault_in_the_work_is_said(panel: WholeVehiclePanel) -> None:
    def failing(*_: Any) -> Iterator[PlanAnswer]:
        raise InputError("Wires", "a loop", "a path to a battery")
        yield

    work, panel.work, before = panel.work, failing, panel.circuits.html
    edit(panel, "Right dash run", "Note", "new")
    panel.work = work
    assert "a path to a battery" in panel.alert.value
    assert panel.circuits.html == before


def test_the_steps_back_are_bounded() -> None:
    desk = Desk(demo(), DEMO)
    for number in range(210):
        desk.write("Wires", 0, "Note", str(number))
    assert len(desk._steps) <= 202
    assert desk.text.wires.rows[0][desk.text.wires.columns.index("Note")] == "209"
    with pytest.raises(InputError, match="1 to 36"):
        desk.remove("Wires", 99)
