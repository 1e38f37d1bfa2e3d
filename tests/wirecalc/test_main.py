from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.jobs import two_faults
from tests.support.plans import amplifier, load, vehicle, wire
from wirecalc.__main__ import main
from wirecalc.tables import FOLDER
from wirecalc.vehicle.file import demo_plan, write_csv, write_workbook
from wirecalc.vehicle.text import PlanText, text_of

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines


def written(folder: Path, text: PlanText) -> tuple[Path, Path]:
    paths = folder / "van_devices.csv", folder / "van_wires.csv"
    for path, content in zip(paths, write_csv(text), strict=True):
        path.write_bytes(content)
    return paths


def test_a_fine_plan_ends_with_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fine = vehicle(load(power_w=20), wire("Feed", "Battery", "Load", 1.0, "choose", fuse="choose", parallel=2))
    devices, wires = written(tmp_path, text_of(fine))
    for path in (devices, wires, tmp_path):
        assert main([str(path)]) == 0
        output = capsys.readouterr().out
        assert "fine            Feed: 2 × " in output
        assert "A fuse" in output
        assert "Local codes" in output


def test_a_broken_limit_ends_with_1_and_json_has_everything(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    book = tmp_path / "plan.xlsx"
    book.write_bytes(write_workbook(two_faults()))
    assert main([str(book), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert not data["meets"]
    assert len(data["circuits"]) == len(data["levels"]) + 22 == 36
    broken = {each["wire"] for each in data["limits"] if not each["meets"]}
    assert broken == {"Drink cooler feed", "Right dash run", "Right rear door run"}
    assert {each["wire"] for each in data["limits"] if each["grade"] == "too thin"} == broken - {"Right rear door run"}
    assert data["problems"] == []
    assert "Main feed" in data["sizes"]
    assert "Main feed" in data["fuses"]
    assert main([str(book)]) == 1
    output = capsys.readouterr().out
    assert "too thin        Right dash run: 20 AWG, pair" in output
    assert "borderline      Right rear door run" in output
    assert "level loss 0.84 dB, at most 0.4 dB allowed" in output
    assert "Left front door speaker, engine off: 0." in output
    assert main([str(FOLDER / "demo_wires.csv")]) == 0
    assert "too thin" not in capsys.readouterr().out
    assert main([str(FOLDER / "demo_wires.csv"), "--sold-as", "ISO"]) == 0
    assert "Main feed: 25 mm² ISO" in capsys.readouterr().out


def test_no_operating_point_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    written(tmp_path, text_of(vehicle(load(power_w=9000), wire("Feed", "Battery", "Load", 9.0))))
    assert main([str(tmp_path)]) == 1
    assert "the feed cannot deliver this" in capsys.readouterr().out


def test_a_bad_file_ends_with_2_and_says_every_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = demo_plan()
    text = replace(text, wires=text.wires.with_cell(0, "Length", "long").with_cell(3, "Size", "fat"))
    written(tmp_path, text)
    assert main([str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert [line.partition(":")[0] for line in err.splitlines()] == ["Wires, row 1, Length", "Wires, row 4, Size"]


@pytest.mark.parametrize(
    ("name", "phrase"),
    [
        ("none.xlsx", "No such file"),
        ("none_devices.csv", "No such file"),
        ("none.csv", "…devices.csv beside one …wires.csv"),
        ("empty", "a folder with one file *devices.csv"),
        ("damaged.xlsx", "no archive"),
    ],
)
def test_what_cannot_be_read_ends_with_2(
    name: str, phrase: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "damaged.xlsx").write_bytes(b"nothing")
    (tmp_path / "empty").mkdir()
    assert main([str(tmp_path / name)]) == 2
    assert phrase in capsys.readouterr().err


def test_a_plan_that_hangs_in_the_air_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hanging = vehicle(
        amplifier(), amplifier("Two"), wire("a", "Battery", "Amplifier"), wire("b", "Battery", "Two"),
        wire("c", "Two: remote", "Amplifier: remote"),
    )  # fmt: skip
    written(tmp_path, text_of(hanging))
    assert main([str(tmp_path)]) == 2
    assert "a path to a battery for every terminal" in capsys.readouterr().err


def test_as_a_command() -> None:
    root = FOLDER.parent
    done = subprocess.run([sys.executable, "-m", "wirecalc"], cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "usage: python -m wirecalc" in done.stderr


def test_a_terminal_without_our_letters(tmp_path: Path) -> None:
    book = tmp_path / "plan.xlsx"
    book.write_bytes(write_workbook(text_of(vehicle(load(power_w=20), wire("µ Ω “x”", "Battery", "Load")))))
    script = "import runpy; runpy.run_module('wirecalc', run_name='__main__')"
    done = subprocess.run(
        [sys.executable, "-c", script, str(book)], cwd=FOLDER.parent, capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.returncode == 1
    assert b"\\u03a9" in done.stdout
