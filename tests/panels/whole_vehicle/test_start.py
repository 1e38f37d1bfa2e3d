"""How Whole vehicle begins, without a browser: the choice, the forms, links of before and of now."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from urllib.parse import parse_qs

import pytest

from dashboards.panels.controls.address import text
from dashboards.panels.whole_vehicle.desk import answers
from dashboards.panels.whole_vehicle.job_form import JobForm
from dashboards.panels.whole_vehicle.page import DEMO, NO_WIRES, WholeVehiclePanel
from dashboards.panels.whole_vehicle.start import CHOICE, PLAN
from wirecalc.jobs import JOBS


def nothing(*_arguments: Any) -> Iterator[Any]:
    return iter(())


def shut(view: Any) -> bool:
    return "wc-shut" in view._dom_classes


def loaded(query: str = "", fragment: str = "") -> WholeVehiclePanel:
    panel = WholeVehiclePanel(nothing)
    panel.address.take({"came": query, "hash": fragment})
    return panel


def form(panel: WholeVehiclePanel) -> JobForm:
    assert panel.start.form is not None
    return panel.start.form


def test_it_begins_with_a_choice() -> None:
    panel = loaded()
    assert panel.start.shown == CHOICE
    assert all(shut(view) for view in panel.of_plan)
    assert [press.description for press in panel.start.jobs.values()] == [job.title for job in JOBS.values()]
    panel.address._write()
    assert panel.address.query == ""
    panel.start.demo.click()
    assert not any(shut(view) for view in panel.of_plan)
    assert DEMO in panel.headline.value
    panel.address._write()
    assert panel.address.query == "open=demo&job.units=metres"


def test_links_of_before_open_what_they_opened() -> None:
    for query, fragment in (("tab=wires", ""), ("order=broken", ""), ("", "plan=abc"), ("open=demo", "")):
        panel = loaded(query, fragment)
        assert panel.start.shown == PLAN
        assert panel.desk.name == DEMO
    changed = loaded("tab=wires")
    changed.desk.write("Wires", 2, "Length", "19 ft")
    changed._changed()
    changed.address._write()
    assert "open" not in parse_qs(changed.address.query)
    same = loaded(changed.address.query, changed.address.fragment)
    assert same.start.shown == PLAN
    assert same.desk.text == changed.desk.text


def test_what_is_not_there_to_open_is_said() -> None:
    panel = loaded("open=rocket")
    assert "rocket" in panel.address.note
    assert "demo" in panel.address.note


@pytest.mark.parametrize("key", JOBS)
def test_a_form_comes_back_with_its_link_and_makes_the_plan(key: str) -> None:
    first = loaded()
    first.start.jobs[key].click()
    number = next(name for name, entry in form(first).entries.items() if hasattr(entry, "text"))
    own: Any = form(first).entries[number]
    unit = own.text.value.split()[-1]
    own.text.value = f"{own.value * 1.25 or 60:g} {unit}"
    first.address._write()
    second = loaded(first.address.query)
    assert second.address.note == ""
    assert {k: text(v) for k, v in second.start.fields.items()} == {k: text(v) for k, v in first.start.fields.items()}
    form(second).make.click()
    assert second.start.shown == PLAN
    assert second.desk.name == JOBS[key].title
    assert second.desk.parsed.faults == ()
    assert second.desk.can == (False, False)
    second.address._write()
    again = loaded(second.address.query, second.address.fragment)
    assert (again.desk.text, again.desk.name) == (second.desk.text, second.desk.name)


def test_a_fault_keeps_the_form_open_and_all_that_was_typed() -> None:
    panel = loaded("open=amplifier-added")
    own: Any = form(panel).entries["feed_m"]
    own.text.value = "5 kg"
    form(panel).make.click()
    assert panel.start.shown == "amplifier-added"
    assert "From the battery to the amplifier" in form(panel).alert.value
    assert own.text.value == "5 kg"


def test_feet_change_defaults_and_bare_numbers_but_nothing_typed() -> None:
    panel = loaded("open=amplifier-added")
    feed: Any = form(panel).entries["feed_m"]
    back: Any = form(panel).entries["back_m"]
    back.text.value = "7"
    assert back.value == 7
    back.text.value = "7 m"
    panel.start.units.value = True
    assert (feed.text.value, back.text.value) == ("18 ft", "7 m")
    feed.text.value = "20"
    assert feed.value == pytest.approx(6.096)
    form(panel).make.click()
    at = panel.desk.text.wires.columns.index("Length")
    assert {row[0]: row[at] for row in panel.desk.text.wires.rows}["Amplifier feed"] == "20 ft"


def test_a_job_begun_from_a_plan_can_be_undone() -> None:
    panel = loaded("open=demo")
    panel.new.click()
    assert panel.start.shown == CHOICE
    assert not shut(panel.start.plan)
    panel.start.jobs["device-on-supply"].click()
    form(panel).make.click()
    assert panel.desk.name == "One device on the supply"
    panel.undo.click()
    assert panel.desk.name == DEMO
    panel.new.click()
    panel.start.plan.click()
    assert panel.start.shown == PLAN


def test_a_blank_plan_says_what_to_do() -> None:
    panel = WholeVehiclePanel(answers)
    panel.start.blank.click()
    assert NO_WIRES in panel.headline.value
    assert panel.desk.parsed.faults == ()
