"""Every upload of every page, without a browser: whatever file is chosen, it is said in words and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.controls.files import Upload
from dashboards.panels.house_rules.page import HouseRulesPanel
from dashboards.panels.one_run.response import ResponseTab
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.settings.own_cables import OwnCables
from dashboards.panels.whole_vehicle.buy import BuyTab
from dashboards.panels.whole_vehicle.files import PlanFiles
from tests.support.bad_files import bad_files
from tests.support.paths import ROOT
from wirecalc.advice.house_rules_file import house_rules_csv
from wirecalc.practice.progress import Progress, Score, to_json
from wirecalc.vehicle.file import demo_plan, write_csv, write_workbook
from wirecalc.wire.cable_file import write_cables
from wirecalc.wire.cable_types import CABLES


def give(upload: Upload, name: str, content: bytes) -> str:
    """As the browser sends it; what is said. Too large a file is not sent."""
    sent = {"content": content} if len(content) <= upload.most_bytes else {}
    upload.take({"name": name, "size": len(content), **sent})
    return upload.note


@dataclass
class Case:
    upload: Upload
    good: list[tuple[str, bytes]]
    kept: Callable[[], Any]


def plan() -> Iterator[Case]:
    taken = [("demo", demo_plan())]
    files = PlanFiles(lambda: taken[-1][1], lambda name, text: taken.append((name, text)))
    devices, wires = write_csv(demo_plan())
    yield Case(files.open, [("job.xlsx", write_workbook(demo_plan()))], lambda: taken[-1])
    yield Case(files.open, [("wires.csv", wires), ("devices.csv", devices)], lambda: taken[-1])


def prices() -> Iterator[Case]:
    tab = BuyTab()
    yield Case(tab.open, [("prices.csv", b"item,price\n12 AWG,1.5\n")], lambda: dict(tab._prices))


def impedance() -> Iterator[Case]:
    tab = ResponseTab().speaker
    good = b"10;4;0\n40000;4;0\n"

    def kept() -> Any:
        return tab._file and tab._file[1].frequency_hz.tolist(), tab.file_note.value.partition(":")[2]

    yield Case(tab.upload, [("door.csv", good)], kept)
    yield Case(tab.upload, [("door.txt", good)], kept)


def log() -> Iterator[Case]:
    log = BenchPanel().made["What wire?"].log
    log.add.click()
    _, good, _ = log._make()
    yield Case(log.read, [("log.csv", good)], lambda: (log.log, log.table.value))


def progress() -> Iterator[Case]:
    panel = PracticePanel(seed=1)
    good = to_json(Progress(scores={"loop": Score(solved=2)}))
    yield Case(panel.kept.read, [("practice.json", good)], lambda: panel.progress)


def house_rules() -> Iterator[Case]:
    panel = HouseRulesPanel()
    good = house_rules_csv(panel.house.rules.replace("least_size/load///AWG", "14"))
    yield Case(panel.open, [("house_rules.csv", good)], lambda: (panel.house.rules, dict(panel.list.shown)))


def own_cables() -> Iterator[Case]:
    own = OwnCables()
    good = write_cables([CABLES["speaker_9"], CABLES["line_2"]])
    yield Case(own.upload, [("cables.csv", good)], lambda: (own.mine, own.kept.text))


PAGES = [plan, prices, impedance, log, progress, house_rules, own_cables]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__)
def test_bad_files_end_in_words_and_what_was_there_stays(page: Callable[[], Iterator[Case]]) -> None:
    for case in page():
        ending = "." + case.good[0][0].rpartition(".")[2]
        for name, content in case.good:
            assert "role='alert'" not in give(case.upload, name, content)
        before = case.kept()
        files = bad_files(ending)
        assert len(files) == 50
        for name, content in files:
            reply = give(case.upload, name, content)
            assert "role='alert'" in reply, name
            assert "fault of the page" not in reply, name
            assert "Traceback" not in reply, name
            assert "<b>" not in reply, name
            assert "<img" not in reply, name
            assert case.kept() == before, name
        for name, content in case.good:
            assert "role='alert'" not in give(case.upload, name, content)
        assert case.kept() == before


def test_every_upload_of_the_pages_is_tried_here() -> None:
    """Found by their use, so that a new one is not forgotten."""
    panels = ROOT / "dashboards" / "panels"
    users = {str(path.relative_to(panels)) for path in panels.rglob("*.py") if " Upload(" in path.read_text()}
    assert users - {"controls/files.py"} == {
        "bench/log.py",
        "house_rules/page.py",
        "one_run/response_speaker.py",
        "practice/progress.py",
        "settings/own_cables.py",
        "whole_vehicle/buy.py",
        "whole_vehicle/files.py",
    }
