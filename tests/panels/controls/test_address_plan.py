"""A plan, a log and progress behind the # of an address: there and back, too long, damaged."""

from __future__ import annotations

import base64
import random
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.controls.files import Download
from dashboards.panels.controls.packed import pack
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests.support.jobs import fixed, wide
from tests.support.pages.links import again, come, whole
from wirecalc.practice.progress import Progress
from wirecalc.vehicle.fields import CHOOSE
from wirecalc.vehicle.file import write_workbook
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.stock import Stock


@pytest.fixture(scope="module")
def plans() -> Callable[[], WholeVehiclePanel]:
    """Panels that choose nothing: that has tests of its own."""

    def soon(vehicle: Vehicle, _stock: Stock, _before: PlanAnswer | None, *_more: Any) -> Iterator[PlanAnswer]:
        if all(CHOOSE not in (wire.size, wire.fuse) for wire in vehicle.wires):
            yield PlanAnswer(plan=solve_vehicle(vehicle), reasons={}, fuse_reasons={}, final=True)

    return lambda: WholeVehiclePanel(soon)


def test_a_plan_is_back_as_it_was_typed(plans: Callable[[], WholeVehiclePanel]) -> None:
    first, second = plans(), plans()
    assert whole(first) == {"came": "", "hash": ""}  # the example as it opens needs nothing
    first._opened("mine.xlsx", fixed())
    first.wires._write(3, "Length", " 5 <b>V ")
    first.wires._do(lambda: first.desk.add("Wires"))
    first.bar.value = "Wires"
    first.shelf.text.value = "16 AWG = 0.8; 12 AWG"
    again(first, second)
    assert second.desk.text == first.desk.text
    assert second.desk.name == "mine.xlsx"
    assert second.desk.can == (False, False)
    assert second.faults.shown["lines"] == first.faults.shown["lines"]
    assert len(second.faults.shown["lines"]) == 1
    assert second.wires.grid.sheet["rows"] == first.wires.grid.sheet["rows"]
    assert second.shelf.value == first.shelf.value
    assert "No verdicts before" in second.headline.value  # none of the example's
    assert second.circuits.html == ""
    second.wires._write(3, "Length", "2.2 m")  # as its places say
    second.wires._remove(len(second.desk.text.wires.rows) - 1)
    assert "circuits break a limit" in second.headline.value or "limit" in second.headline.value
    while first.desk.can[0]:
        first._step(-1)
    assert first.address.fragment == ""


def test_prices_and_cables_come_too(plans: Callable[[], WholeVehiclePanel]) -> None:
    first, second = plans(), plans()
    first._opened("mine.xlsx", fixed())
    first.bar.value = "Cables"
    first.cables.type.value = first.cables.type.options[-1][1]
    first.cables.spare.text.value = "1"
    first.bar.value = "To buy"
    first.buy.slack.text.value = "12 %"
    first.buy._take_prices("", first.buy._price_list()[1].replace(b",\r\n", b",2.5\r\n").replace(b",\n", b",2.5\n"))
    again(first, second)
    assert second.buy.shown.value == first.buy.shown.value
    assert "2.5" in second.buy.shown.value
    second.bar.value = "Cables"
    assert second.cables.shown.value == first.cables.shown.value
    assert "one of" in come(second, "cables=a%3Dnone")


def test_a_plan_too_long_is_said_and_leaving_with_it_is_asked(
    plans: Callable[[], WholeVehiclePanel], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Download, "send", lambda *_arguments: None)
    panel = plans()
    panel.files.take("short.xlsx", write_workbook(wide(100)))
    assert "plan=" in panel.address.fragment
    panel.files.take("long.xlsx", write_workbook(wide(360)))
    assert panel.address.fragment == ""
    assert "This plan is too long for a link" in panel.address.note
    assert "Save it as .xlsx" in panel.address.note
    assert not panel.address.unsaved  # its file has it
    panel.wires._write(0, "Remark", "another")
    assert panel.address.unsaved
    panel.files.book.take({"make": True})
    assert not panel.address.unsaved
    panel.wires._write(0, "Remark", "yet another")
    assert panel.address.unsaved
    panel.files.devices.take({"make": True})
    assert panel.address.unsaved  # half of it
    panel.files.wires.take({"make": True})
    assert not panel.address.unsaved
    panel.wires._write(0, "Remark", "more")
    panel._step(-1)
    assert not panel.address.unsaved
    panel._opened("short.xlsx", fixed())
    panel.wires._write(0, "Length", "1 m")
    assert not panel.address.unsaved  # short: the address has it
    assert "plan=" in panel.address.fragment
    assert panel.address.note == ""


def test_a_log_too_long_is_said() -> None:
    panel = BenchPanel()
    log, rng = panel.made["What wire?"].log, random.Random(1)
    for _ in range(20):
        log.name.text.value = base64.b64encode(rng.randbytes(1200)).decode()
        log.add.click()
    assert "This log is too long for a link" in panel.address.note
    assert panel.address.fragment == ""
    assert panel.address.unsaved
    log._make()
    assert not panel.address.unsaved


@pytest.mark.parametrize(
    ("hash", "message"),
    [
        ("plan=abc", "Address, this plan: “a damaged part”"),
        ("plan=", "damaged part"),
        (f"plan={pack(b'[1, 2]')}", "another kind of content"),
        (f"plan={'A' * 30_001}", "30001 characters"),
        ("A" * 130_000, "130000 characters behind its #"),
        (f"prices={pack(b'nothing')}", "columns item and price"),
        (f"prices={pack(b'0' * 3_000_000)}&plan=x", "too much packed"),
        (f"<b>={pack(b'x')}", "&lt;b&gt;"),
    ],
)
def test_what_cannot_be_used_behind_the_hash_is_said(
    plans: Callable[[], WholeVehiclePanel], hash: str, message: str
) -> None:
    panel = plans()
    before = panel.desk.text
    panel.address.take({"came": "tab=wires", "hash": hash})
    assert message in panel.address.note
    assert "role='alert'" in panel.address.note
    assert "fault of the page" not in panel.address.note
    assert panel.desk.text == before
    assert panel.bar.value == "Wires"  # the rest is taken
    panel.wires._write(0, "Length", "1 m")
    assert "plan=" in panel.address.fragment


def test_damaged_logs_and_progress_are_said() -> None:
    bench, practice = BenchPanel(), PracticePanel(seed=1)
    for panel, key in ((bench, "log"), (practice, "progress")):
        for content in ("abc", pack(b"\xff{"), pack(b"[]"), pack(b"")):
            panel.address.take({"came": "", "hash": f"{key}={content}"})
            assert "role='alert'" in panel.address.note
            assert "fault of the page" not in panel.address.note
    assert bench.made["What wire?"].log.log == ()
    assert practice.progress == Progress()
