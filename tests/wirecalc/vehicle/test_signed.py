"""What is signed is one answer: of one run, in a plan, on the command line and on the installer's sheets."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

import pytest

from dashboards.panels.handout import installer
from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.one_run.request import RunRequest
from tests.wirecalc.advice.circuits import details_of, job, rows
from tests.wirecalc.advice.plans import IT, plan
from wirecalc import runs
from wirecalc.advice.size import Job
from wirecalc.front.report import as_data, plan_in_words
from wirecalc.units import read_standard_size
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.file import read_csv, write_csv
from wirecalc.vehicle.signed import signed
from wirecalc.vehicle.text import text_of, vehicle_of
from wirecalc.wire.conductor import awg, conductor

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

DETAILS = {row["circuit"]: details_of(row) for row in rows()}
RANGES = {row["circuit"]: row for row in rows()}
CIRCUITS = [
    "front component set", "tweeter after its crossover", "tower loudspeaker on a boat", "subwoofer of 300 W",
    "subwoofer of 1000 W at 1 ohm", "two channels bridged", "turn-on lead in a motorhome", "contactor coil of 12 ohm",
    "strip of 5 m at 1 A a metre", "light bar", "water pump of a camper", "air compressor", "USB charger",
    "reversing camera in its jacket", "amplifier of 500 W class D", "amplifier of 2000 W class D",
    "ground of a 1000 W amplifier", "main feed to a block", "inverter of 1000 W", "amplifier of 3000 W class D",
]  # fmt: skip
OTHER_FUSE = {"main feed to a block"}  # there it also opens after the fuses behind it


def on_the_page(page_job: Job) -> RunRequest:
    """As the page One run asks it."""
    route = page_job.route
    return RunRequest(
        run=page_job.run, laid=runs.Installation(length_m=route.length_m, ways=route.ways),
        place=runs.Place(insulation=route.insulation, ambient_c=route.stretches[0].ambient_c, loaded=1),
        this=awg(4), others=(), conductor=lambda size: conductor(*size), feet=False, stretches=route.stretches,
    )  # fmt: skip


@pytest.mark.parametrize("name", CIRCUITS)
def test_one_answer_everywhere(name: str) -> None:
    details = DETAILS[name]
    choice = choose_plan(plan(details))
    own = next(
        signed_wire
        for signed_wire in signed(choice.plan, choice.reasons, choice.least)
        if signed_wire.circuit.wire.name == IT
    )
    if details["kind"] != "ground":
        page = on_the_page(job(details)).advice
        assert page.pull is not None
        if "sheathed" not in details:  # in a plan a jacket is a cable of its own
            assert own.pull == page.pull.label
        assert own.grade == page.pull.state == "fine"
        if page.fuse is not None and name not in OTHER_FUSE:
            assert own.fuse_a == page.fuse.rating_a
            if details["kind"] == "feed":  # a load of the page hangs behind a block, here at the battery itself
                assert own.family == page.fuse.family
    size = own.circuit.conductor.area_m2
    thin, thick = (conductor(*read_standard_size(RANGES[name][end])).area_m2 for end in ("thinnest", "thickest"))
    assert thin * (1 - 1e-6) <= size <= thick * (1 + 1e-6)
    advice = {each["wire"]: each for each in as_data(choice)["advice"]}[IT]
    assert (advice["pull"], advice["fuse_a"], advice["grade"]) == (own.pull, own.fuse_a, "fine")
    assert advice["cautions"]
    assert f"{IT}: {own.pull}" in plan_in_words(choice)
    if own.family is not None:
        assert advice["breaking_a"] == own.family.breaking_a >= advice["short_a"]
        assert own.family.name in plan_in_words(choice)
    on_sheets(choice, own)


# key of the house rule, another value, circuit, its wire in the plan
BOUNDS = [
    ("drop_limit/load/critical//%", "12", "cool box", "16 AWG"),
    ("drop_limit/relay or lamp///%", "12", "strip of 5 m at 1 A a metre", "16 AWG"),
    ("drop_limit/battery to amplifier/full power//V", "5", "amplifier of 500 W in a long bus", "8 AWG"),
    ("taste_limit/amplifier to speaker/level loss//dB", "2", "rear fill", "18 AWG"),
    ("least_size/relay or lamp///AWG", "16", "contactor coil of 12 ohm", "choose"),
    ("fuse_loading/load///%", "50", "USB charger", "choose"),
]


@pytest.mark.parametrize(("key", "value", "name", "size"), BOUNDS)
def test_a_bound_of_the_shop_holds_in_the_plan_the_command_line_and_the_sheets(
    key: str, value: str, name: str, size: str
) -> None:
    whole = plan(DETAILS[name])
    given = size if size == "choose" else read_standard_size(size)
    wires = tuple(replace(wire, size=given) if wire.name == IT else wire for wire in whole.wires)
    answers = []
    for rules in (whole.rules, whole.rules.replace(key, value)):
        text = read_csv(*write_csv(text_of(replace(whole, wires=wires, rules=rules))))  # as the command line reads it
        choice = choose_plan(vehicle_of(text))
        advice = {each["wire"]: each for each in as_data(choice)["advice"]}[IT]
        answers.append((advice["grade"], advice["pull"], advice["fuse_a"]))
    assert answers[0] != answers[1]
    if size != "choose":
        assert (answers[0][0] == "fine", answers[1][0]) == (False, "fine")


def on_sheets(choice: Any, own: Any) -> None:
    """The installer's tables have the same size and fuse."""
    sheet = HandoutJob(title="Test", date=datetime.date(2026, 1, 1), version="0", text=text_of(choice.vehicle),
                    plan=choice.plan)  # fmt: skip
    pulled = [row for row in installer.pulls(sheet).rows if row[2] == IT]
    assert own.circuit.conductor.label in str(pulled[0][5])
    fused = [row for row in installer.fuses(sheet).rows if row[1] == IT]
    assert bool(fused) == (own.fuse_a is not None)
    if fused:
        assert fused[0][3].value == own.fuse_a
        assert own.family.name in str(fused[0][5])
