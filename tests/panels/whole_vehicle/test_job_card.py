"""The card of a plan: typed once, it heads the page and every paper, and travels with the plan."""

from __future__ import annotations

import io

import openpyxl
import pytest

from dashboards.panels.handout.document import handout, workbook
from dashboards.panels.whole_vehicle.kept import from_bytes, to_bytes
from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests.support.pages.plan_panel import of_job
from wirecalc.jobs.card import card_of
from wirecalc.vehicle.file import read_workbook, write_workbook

TYPED = {
    "plan": "Sound for the blue van",
    "customer": "R. & S. Example",
    "vehicle": "Van <invented>",
    "shop": "Our shop",
    "date": "2026-05-31",
}


@pytest.fixture(scope="module")
def panel() -> WholeVehiclePanel:
    made = of_job("device-on-supply")
    for key, line in TYPED.items():
        made.card.entries[key].text.value = line
    return made


def test_it_heads_the_page_and_every_paper(panel: WholeVehiclePanel) -> None:
    assert card_of(panel.desk.text) == TYPED
    assert "<h2>Sound for the blue van</h2>" in panel.headline.value
    assert "Van &lt;invented&gt;" in panel.headline.value
    page = handout(panel._job())
    assert page.count("<h1>Sound for the blue van</h1>") == 4
    assert page.count("<b>Customer:</b> R. &amp; S. Example") == 4
    assert page.count('datetime="2026-05-31"') >= 3
    about = openpyxl.load_workbook(io.BytesIO(workbook(panel._job())))["About"]
    by_heading = {row[0].value: row[1].value for row in about.iter_rows(min_col=1, max_col=2)}
    assert (by_heading["Vehicle"], by_heading["Shop"]) == ("Van <invented>", "Our shop")


def test_it_travels_with_the_plan(panel: WholeVehiclePanel) -> None:
    text = panel.desk.text
    assert card_of(read_workbook(write_workbook(text))) == TYPED
    assert from_bytes(to_bytes(text, "x")) == (text, "x")
    other = WholeVehiclePanel(lambda *_: iter(()))
    panel.address._write()
    other.address.take({"came": panel.address.query, "hash": panel.address.fragment})
    assert other.address.note == ""
    assert {key: entry.value for key, entry in other.card.entries.items()} == TYPED


def test_a_line_that_cannot_be_used_stays_and_the_last_good_one_holds(panel: WholeVehiclePanel) -> None:
    date, customer = panel.card.entries["date"], panel.card.entries["customer"]
    date.text.value = "last May"
    assert date.fault is not None
    assert date.text.value == "last May"
    assert card_of(panel.desk.text)["date"] == "2026-05-31"
    date.text.value = "2026-05-31"
    customer.text.value = "x" * 65
    assert customer.fault is not None
    customer.text.value = "Another"
    panel.undo.click()
    assert customer.value == TYPED["customer"]


def test_a_damaged_card_is_left_out_and_said_to_be_another_kind_of_content(panel: WholeVehiclePanel) -> None:
    damaged = to_bytes(panel.desk.text, "x").replace(b'{"card"', b'{"cart"')
    with pytest.raises(ValueError, match="another kind of content"):
        from_bytes(damaged)
