"""The command: one run, a template, a plan or many, JSON by its schema, and nothing else on standard output."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from distributed import Client
from jsonschema import Draft202012Validator

import wirecalc
from tests.support.paths import ROOT
from tests.support.plans import load, vehicle, wire
from wirecalc.__main__ import main
from wirecalc.front.many_plans import plans_in, solved_file
from wirecalc.front.schema import FAULTS, PLAN, RUN, SCHEMA
from wirecalc.vehicle.file import template, write_csv, write_workbook
from wirecalc.vehicle.text import text_of

FINE = text_of(vehicle(load(power_w=20), wire("Feed µΩ", "Battery", "Load", 1.0, "choose", fuse="choose", parallel=2)))
TOO_THIN = text_of(vehicle(load(power_w=400), wire("Feed", "Battery", "Load", 9.0, ("AWG", 20.0))))


def valid(text: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(text)
    assert [fault.message for fault in Draft202012Validator(SCHEMA).iter_errors(data)] == []
    return data


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "a.xlsx").write_bytes(write_workbook(FINE))
    (tmp_path / "b.xlsx").write_bytes(write_workbook(TOO_THIN))
    (tmp_path / "c.xlsx").write_bytes(b"nothing")
    for name, content in zip(("devices", "wires"), write_csv(FINE), strict=True):
        (tmp_path / f"van_{name}.csv").write_bytes(content)
    return tmp_path


def test_the_schema_is_one_and_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == SCHEMA
    assert (PLAN, RUN, FAULTS) == ("wirecalc/plan/1", "wirecalc/run/1", "wirecalc/faults/1")
    for broken in ({}, {"schema": PLAN}, {"schema": RUN, "version": "1", "words": 3}):
        assert not Draft202012Validator(SCHEMA).is_valid(broken)


def test_one_run_in_words_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", "100 W", "4 ohm", "20 ft", "18 AWG"]) == 1
    words = capsys.readouterr().out
    assert "Pull 16 AWG" in words
    assert "18 AWG is too thin" in words
    assert "airbag" in words
    assert main(["run", "100 W", "4 ohm", "20 ft", "16 AWG", "--json"]) == 0
    data = valid(capsys.readouterr().out)
    mine = wirecalc.speaker_run("100 W", "4 ohm", "20 ft", "16 AWG")
    assert data["measures"]["loss_db"] == mine["loss_db"]
    assert (data["schema"], data["version"], data["choice"]["pull"]) == (RUN, wirecalc.__version__, "16 AWG")
    assert main(["run", "500 W", "2 ohm", "3 m", "--subwoofer", "--json", "--zone", "boot"]) == 0
    data = valid(capsys.readouterr().out)
    assert data["size"] is None
    assert data["choice"]["pull"]
    assert main(["run", "100 W", "4 ohm", "20 V"]) == 2
    out, err = capsys.readouterr()
    assert (out, "length_m" in err) == ("", True)


def test_a_template_is_written_and_never_over_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book, lists = tmp_path / "new.xlsx", tmp_path / "my_devices.csv"
    assert main(["template", str(book)]) == main(["template", str(lists)]) == 0
    assert capsys.readouterr().out.split() == [str(book), str(lists), str(tmp_path / "my_wires.csv")]
    for path in (book, lists):
        assert wirecalc.read_plan(path).wires == template().wires
        assert main(["template", str(path)]) == 2
        assert "Nothing is written over" in capsys.readouterr().err
    assert main(["template", str(tmp_path / "plan.ods")]) == 2
    assert main(["template", str(tmp_path / "none" / "plan.xlsx")]) == 2


def test_a_plan_as_json_keeps_the_schema(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(folder / "a.xlsx"), "--json"]) == 0
    data = valid(capsys.readouterr().out)
    assert (data["schema"], data["meets"]) == (PLAN, True)
    assert main([str(folder / "b.xlsx"), "--json"]) == 1
    assert not valid(capsys.readouterr().out)["meets"]


def test_many_plans_give_a_line_each(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert main([str(folder)]) == 2
    out, err = capfd.readouterr()
    answers = [valid(line) for line in out.splitlines()]
    assert [Path(each["file"]).name for each in answers] == ["a.xlsx", "b.xlsx", "c.xlsx", "van_devices.csv"]
    assert [each.get("meets") for each in answers] == [True, False, None, True]
    assert answers[2]["faults"][0]["field"] == "Workbook"
    assert "4 of 4" in err
    assert main([str(folder / "[ab].xlsx"), "--sold-as", "ISO"]) == 1
    answers = [valid(line) for line in capfd.readouterr().out.splitlines()]
    assert "ISO" in answers[0]["advice"][0]["pull"]
    assert main([str(folder / "a.xlsx"), "--sold-as", "yards"]) == 2


def test_plans_are_found(folder: Path) -> None:
    assert [path.name for path in plans_in([str(folder / "*.csv")])] == ["van_devices.csv"]
    for book in folder.glob("*.xlsx"):
        book.unlink()
    assert plans_in([str(folder)]) == [folder]  # the two lists of one plan, as ever
    with pytest.raises(wirecalc.InputError, match="workbook"):
        plans_in([str(folder / "z*")])


class Counting(Executor):
    """Another engine with Python's executor interface, as clusters have one."""

    def __init__(self) -> None:
        self.done = 0

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.done += 1
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def test_any_executor_solves_them(folder: Path) -> None:
    engine, plans = Counting(), sorted(folder.glob("[ab].xlsx"))
    answers = list(wirecalc.solve_all(plans, engine))
    assert engine.done == 2
    with ThreadPoolExecutor(2) as threads:
        assert list(wirecalc.solve_all(plans, threads)) == answers
    assert [each["meets"] for each in answers] == [True, False]


def test_a_dask_cluster_solves_them(folder: Path) -> None:
    """Its scheduler and its worker in this process: more of them are started the same way."""
    plans = sorted(folder.glob("[ab].xlsx"))
    with Client(processes=False, n_workers=1, threads_per_worker=1, dashboard_address=None) as client:
        answers = list(wirecalc.solve_all(plans, client.get_executor()))
        logs = client.run(lambda dask_worker: [str(entry[0]) for entry in dask_worker.state.log])
    done = {task for log in logs.values() for task in log if task.startswith("answered")}
    assert len(done) == 2, logs
    with ThreadPoolExecutor(1) as pool:
        assert list(wirecalc.solve_all(plans, pool)) == answers


def test_what_a_solver_prints_below_python_stays_out(
    folder: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def talking(path: Path, sold_as: str | None) -> Any:
        os.write(1, b"a solver's stray line\n")
        return solved_file(path, sold_as)

    monkeypatch.setattr("wirecalc.front.many_plans.solved_file", talking)
    assert main([str(folder / "a.xlsx"), "--json"]) == 0
    out, err = capfd.readouterr()
    valid(out)
    assert "stray line" in err


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_json_is_json_on_any_console(encoding: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    assert main([str(folder / "a.xlsx"), "--json"]) == 0
    sys.stdout.flush()
    assert valid(raw.getvalue().decode(encoding))["advice"][0]["wire"] == "Feed µΩ"


def test_a_closed_pipe_ends_it_quietly() -> None:
    code = "from wirecalc.__main__ import main; raise SystemExit(main(['schema']))"
    running = subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert running.stdout is not None
    running.stdout.close()  # long before it has anything to say
    assert running.stderr is not None
    assert (running.stderr.read(), running.wait(60)) == (b"", 0)
    for stream in (running.stdin, running.stderr):
        assert stream is not None
        stream.close()
