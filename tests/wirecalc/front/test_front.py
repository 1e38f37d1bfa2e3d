"""The front door: imported lazily, with text, pint and SI alike, answering in tables and words as the pages do."""

from __future__ import annotations

import contextlib
import inspect
import io
import subprocess
import sys
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pint
import pytest

import wirecalc
from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run import request
from dashboards.panels.one_run.page import OneRunPanel
from tests.support.paths import ROOT
from wirecalc.circuits.rating import RatedAmplifier, Rating, for_load
from wirecalc.errors import InputError
from wirecalc.front.choice import choose
from wirecalc.vehicle.file import template, write_workbook
from wirecalc.wire.as_sold import show_size

u = pint.UnitRegistry()


def test_import_brings_nothing_along() -> None:
    """What takes time to import is what it imports; 20 ms are far more than one small file takes."""
    code = (
        "import sys, importlib, typing; before = set(sys.modules); import wirecalc; print(*set(sys.modules) - before)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["wirecalc"]


def test_every_name_is_there_and_has_an_example() -> None:
    for name in wirecalc.__all__:
        what = getattr(wirecalc, name)
        assert name in dir(wirecalc)
        if inspect.isfunction(what):
            assert ">>> " in (inspect.getdoc(what) or ""), name
    with pytest.raises(AttributeError, match="speaker_run"):
        wirecalc.speeker_run  # type: ignore[attr-defined]  # noqa: B018
    assert wirecalc.wire("18 AWG").label == "18 AWG"  # the package of this name can still be imported
    assert sys.modules["wirecalc.wire"] is wirecalc.wire


FIRST_TASKS = {
    "loss of a run": """
print(wirecalc.speaker_run("100 W", "4 ohm", "20 ft", "18 AWG").words)""",
    "sweep": """
run = wirecalc.speaker_run("100 W", "4 ohm", "5 m")
table = wirecalc.sweep(run, ["18 AWG", "14 AWG"], [1, 3, 5])
print(table.pivot(index="length_m", columns="size", values="loss_db"))""",
    "driver's response": """
woofer = wirecalc.Driver(re_ohm="3.4 ohm", fs_hz="28 Hz", qes=0.45, qms=5)
print(wirecalc.response(wirecalc.subwoofer_run("300 W", "4 ohm", "6 m", "16 AWG"), woofer))""",
    "choose": """
print(wirecalc.choose(wirecalc.feed_run("500 W", "5 m")).words)""",
    "plan": """
solved = wirecalc.solve("plan.xlsx")
print(solved.table[["wire", "pull", "reason"]])""",
    "identify": """
print(wirecalc.identify(strands=41, strand_m="0.16 mm", sold_as="18 AWG").words)""",
}


@pytest.mark.parametrize("task", FIRST_TASKS)
def test_first_tasks_take_three_lines_and_one_import(
    task: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("plan.xlsx").write_bytes(write_workbook(template()))
    lines = FIRST_TASKS[task].strip().splitlines()
    assert len(lines) <= 3
    output = io.StringIO()
    with contextlib.redirect_stdout(output):
        exec("\n".join(["import wirecalc", *lines]), {})
    assert len(output.getvalue()) > 40


WAYS: dict[str, tuple[dict[str, Any], dict[str, Any], dict[str, Any]]] = {
    "speaker_run": ({"power_w": "100 W", "load_ohm": "4 ohm"}, {"power_w": 0.1 * u.kW, "load_ohm": 4 * u.ohm},
                    {"power_w": 100.0, "load_ohm": 4.0}),
    "subwoofer_run": ({"power_w": "1 kW", "load_ohm": "2"}, {"power_w": 1 * u.kW, "load_ohm": 2 * u.ohm},
                      {"power_w": 1000.0, "load_ohm": 2.0}),
    "line_run": ({"source_ohm": "200 ohm", "input_ohm": "10 kohm"},
                 {"source_ohm": 200 * u.ohm, "input_ohm": 10 * u.kohm},
                 {"source_ohm": 200.0, "input_ohm": 1e4}),
    "factory_run": ({"power_w": "18 W", "input_ohm": "1 kohm"}, {"power_w": 18 * u.W, "input_ohm": 1 * u.kohm},
                    {"power_w": 18.0, "input_ohm": 1000.0}),
    "turn_on_run": ({"draw_a": "150 mA"}, {"draw_a": 150 * u.mA}, {"draw_a": 0.15}),
    "relay_run": ({"coil_ohm": "90 ohm"}, {"coil_ohm": 0.09 * u.kohm}, {"coil_ohm": 90.0}),
    "lamp_run": ({"strip_m": "200 cm", "amps_per_m": 0.6}, {"strip_m": 2 * u.m, "amps_per_m": 0.6 * u.A / u.m},
                 {"strip_m": 2.0, "amps_per_m": 0.6}),
    "feed_run": ({"rated_w": "500 W"}, {"rated_w": 0.5 * u.kW}, {"rated_w": 500.0}),
    "device_run": ({"rated_a": "5 A"}, {"rated_a": 5000 * u.mA}, {"rated_a": 5.0}),
}  # fmt: skip


@pytest.mark.parametrize("name", WAYS)
def test_text_quantities_and_floats_give_the_same(name: str) -> None:
    make, tables = getattr(wirecalc, name), []
    for given, length in zip(WAYS[name], ("10 ft", 10 * u.ft, 3.048), strict=True):
        answer = make(**given, length_m=length, size=["18 AWG", "1.5 mm2"], temperature_c="104 °F")
        assert len(answer.words) > 20
        tables.append(answer.table)
    for table in tables[:2]:
        pd.testing.assert_frame_equal(table, tables[2], rtol=1e-9)
    assert tables[0]["size"].tolist() == ["18 AWG", "1.5 mm²"]


ASKED = {
    "speaker": partial(wirecalc.speaker_run, "100 W", "4 ohm"),
    "subwoofer": partial(wirecalc.subwoofer_run, "100 W", "4 ohm"),
    "line": partial(wirecalc.line_run, "200 ohm", "10 kohm"),
    "factory": partial(wirecalc.factory_run, "18 W", "1 kohm"),
    "turn-on": partial(wirecalc.turn_on_run, "150 mA"),
    "relay": partial(wirecalc.relay_run, "90 ohm"),
    "lamp": partial(wirecalc.lamp_run, "3 m", 0.4),
    "feed": partial(wirecalc.feed_run, "500 W"),
    "device": partial(wirecalc.device_run, "10 A"),
}
"""What has no default, as the page opens: all that is not said must be judged as it is there."""


@pytest.fixture(scope="module")
def page() -> OneRunPanel:
    return OneRunPanel()


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.key)
def test_choose_gives_what_the_page_gives(page: OneRunPanel, form: Any) -> None:
    page.kind.value = form
    told = page.situation().advice
    length_m, size, _ = form.start
    mine = choose(ASKED[form.key](length_m, show_size(*size)))
    for own, shown in ((mine.advice.pull, told.pull), (mine.advice.least, told.least), (mine.advice.asked, told.asked)):
        assert (own is None) == (shown is None)
        if own is not None and shown is not None:
            assert (own.label, own.state, own.reasons, own.fuse) == (
                shown.label,
                shown.state,
                shown.reasons,
                shown.fuse,
            )
            assert (own.full_c, own.loop_ohm) == (shown.full_c, shown.loop_ohm)
    assert (mine.state, mine.advice.sentence, mine.advice.changes) == (told.state or "", told.sentence, told.changes)
    assert mine.pull in mine.words
    if told.pull is not None:
        assert mine.pull in mine.table["size"].tolist()


def test_the_page_asks_the_same_function(page: OneRunPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    from wirecalc.front import choice

    assert request.decide is choice.decide
    asked: list[object] = []
    monkeypatch.setattr(request, "decide", lambda job, coat: asked.append(job) or choice.decide(job, coat))
    _ = page.situation().advice
    assert len(asked) == 1


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: wirecalc.choose(wirecalc.feed_run("500 W", "5 m"), zone="attic"), "engine_bay"),
        (lambda: wirecalc.choose(wirecalc.feed_run("500 W", "5 m"), insulation="paper"), "pvc_105"),
        (lambda: wirecalc.wire("18 AWG", metal="gold"), "copper"),
        (lambda: wirecalc.feed_run("500 W", "5 m", amplifier_class="Z"), "AB"),
        (lambda: wirecalc.identify(colour="red"), "strand_m"),
        (lambda: wirecalc.explain(wirecalc.feed_run("500 W", "5 m", "4 AWG"), "beauty"), "drop_v"),
        (lambda: wirecalc.explain(wirecalc.choose(wirecalc.feed_run("500 W", "5 m")), "beauty"), "temperature_c"),
        (lambda: wirecalc.speaker_run("100 V", "4 ohm", "5 m", "18 AWG"), "power_w.*voltage"),
        (lambda: wirecalc.speaker_run("100 W", "4 ohm", ["5 m", "500 m", "2 m"], "18 AWG"), "500 m at place"),
        (lambda: wirecalc.speaker_runs({"power_w": 1.0, "load_ohm": [4.0, -1.0], "length_m": 1, "size": "18 AWG"}),
         "load_ohm.*place 1"),
        (lambda: wirecalc.speaker_runs({"power_w": [1.0]}), "load_ohm"),
        (lambda: wirecalc.response(wirecalc.feed_run("500 W", "5 m")), "loudspeaker"),
    ],
)  # fmt: skip
def test_what_is_refused_is_told_what_there_is(call: Any, told: str) -> None:
    with pytest.raises(InputError, match=rf"(?s){told}"):
        call()


def test_what_there_is_can_be_listed() -> None:
    for lists in (wirecalc.insulations, wirecalc.zones, wirecalc.metals, wirecalc.strandings):
        table = lists()
        assert table["key"].is_unique
        assert {"key", "name", "source"} <= set(table.columns)
    for key in wirecalc.insulations()["key"]:
        assert wirecalc.choose(wirecalc.device_run("5 A", "3 m"), insulation=key, zone="boot").words


def test_a_response_is_a_series_by_hertz() -> None:
    woofer = wirecalc.Driver(re_ohm="3.4 ohm", fs_hz="28 Hz", qes=0.45, qms=5, vas_m3=0.05)
    impedance = wirecalc.response(woofer)
    assert (impedance.index.name, impedance.name) == ("frequency_hz", "impedance_ohm")
    assert impedance.idxmax() == pytest.approx(28, rel=0.05)
    run = wirecalc.subwoofer_run("300 W", "4 ohm", "6 m", "16 AWG")
    free, boxed = wirecalc.response(run, woofer), wirecalc.response(run, woofer, box_m3=25 * u.liter)
    assert boxed.idxmax() == pytest.approx(28 * 3**0.5, rel=0.06)  # Vas over Vb is 2: sqrt(1 + 2)
    assert free.idxmax() < boxed.idxmax()
    plain = wirecalc.response(run)
    assert plain.loc[20:20_000].max() < 0 < np.ptp(free) - np.ptp(plain.loc[20:2000])
    line = wirecalc.response(wirecalc.line_run("200 ohm", "10 kohm", "5 m"))
    assert line.iloc[-1] < line.iloc[0]


def test_a_plan_of_two_frames_is_that_of_its_files() -> None:
    text = wirecalc.read_plan()
    frames = [pd.DataFrame(sheet.rows, columns=sheet.columns).replace("", None) for sheet in (text.devices, text.wires)]
    again = wirecalc.Plan.from_tables(*frames)
    assert (again.devices, again.wires) == (text.devices, text.wires)
    frames[0] = frames[0].replace({None: np.nan})
    assert wirecalc.Plan.from_tables(*frames).devices == text.devices
    sizes = pd.DataFrame({"Name": ["a", "b"], "Length": [3 * u.ft, 2.5], "Size": ["18 AWG", None]})
    assert wirecalc.Plan.from_tables([], sizes).wires.rows == (("a", "0.9144 m", "18 AWG"), ("b", "2.5 m", ""))


def test_a_solved_plan_is_frames_with_the_cost_of_each_wire() -> None:
    devices = [{"Name": "Battery", "Kind": "battery"}, {"Name": "Body", "Kind": "body"},
               {"Name": "Fan", "Kind": "other load", "Draw": 5.0}]  # fmt: skip
    ends = {"From terminal": "plus", "To terminal": "plus", "Size": "choose"}
    wires = [{**ends, "Name": "Feed", "From": "Battery", "To": "Fan", "Length": 3.0, "Fuse": "choose"},
             {**ends, "Name": "Ground", "From": "Fan", "From terminal": "minus", "To": "Body", "Length": 1.0},
             {**ends, "Name": "Battery ground", "From": "Battery", "From terminal": "minus", "To": "Body",
              "Length": 0.4}]  # fmt: skip
    prices = {"16 AWG": 0.5, "14 AWG": 0.75, "10 AWG": 2.0}
    solved = wirecalc.solve(wirecalc.Plan.from_tables(devices, wires), prices, "EUR")
    table = solved.table.set_index("wire")
    for wire in table.index:
        assert table.loc[wire, "cost_EUR"] == table.loc[wire, "length_m"] * prices[table.loc[wire, "size"]]
    assert solved.meets
    assert "Feed" in solved.words
    assert {"wire", "measure", "bound", "unit"} <= set(solved.limits.columns)
    assert wirecalc.explain(solved, "current_a", "Feed").value == pytest.approx(table.loc["Feed", "current_a"])
    with pytest.raises(InputError, match=r"(?s)current_a.*network as a whole"):
        wirecalc.explain(solved, "drop_v", "Feed")  # which the ground shares
    with pytest.raises(InputError, match="Feed"):
        wirecalc.explain(solved, "drop_v", "Food")


def test_an_explanation_ends_at_the_number_with_its_sources() -> None:
    run = wirecalc.speaker_run("100 W", "4 ohm", "5.5 m", "16 AWG")
    why = wirecalc.explain(run, "loss_db")
    assert why.value == pytest.approx(run["loss_db"])
    assert why.unit == "dB"
    assert "log10" in why.words
    assert "ASTM" in " ".join(why.table["source"])
    choice = wirecalc.choose(run)
    assert wirecalc.explain(choice, "temperature_c").value == pytest.approx(
        choice.table.set_index("size").loc["16 AWG", "temperature_c"], abs=0.1
    )


def test_a_load_under_the_rated_one_is_warned_of_as_in_a_plan() -> None:
    """600 W into 4 ohm at 49 V is 2400 W into 1 ohm by Ohm's law, which no such amplifier gives."""
    low = wirecalc.subwoofer_run("600 W", "1 ohm", "2 m", "8 AWG", rated_ohm="4 ohm")
    warned = for_load(RatedAmplifier(ratings=(Rating(ohm=4, power_w=600),)), 1).cautions
    assert warned[0].startswith("1 Ω is under the least load of 4 Ω: ")
    assert low.words.endswith(" ".join(warned))
    assert wirecalc.choose(low).cautions[: len(warned)] == warned
    for load, rated in (("4 ohm", "4 ohm"), ("8 ohm", "4 ohm"), ("1 ohm", None)):
        fits = wirecalc.subwoofer_run("600 W", load, "2 m", "8 AWG", rated_ohm=rated)
        assert "least load" not in fits.words
        assert not set(warned) & set(wirecalc.choose(fits).cautions)


def test_a_table_of_runs_is_each_run() -> None:
    table = pd.DataFrame(
        {
            "power_w": [100.0, 50.0, 300.0],
            "load_ohm": [4.0, 8.0, 2.0],
            "length_m": [5 * u.m, 10 * u.ft, 200 * u.cm],
            "size": ["16 AWG", "1.5 mm2", "16 AWG"],
            "temperature_c": [20.0, 60.0, 40.0],
            "room": ["a", "b", "c"],
        }
    )
    answers = wirecalc.speaker_runs(table)
    for at, row in table.iterrows():
        answer = wirecalc.speaker_run(
            row.power_w, row.load_ohm, row.length_m, row["size"], temperature_c=row.temperature_c
        )
        assert answers.loc[at, "loss_db"] == pytest.approx(answer["loss_db"], rel=1e-9)
        assert answers.loc[at, "drop_v"] == pytest.approx(answer["drop_v"], rel=1e-9)
    assert answers["room"].tolist() == ["a", "b", "c"]
