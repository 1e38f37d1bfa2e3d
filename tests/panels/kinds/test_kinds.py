"""Every kind of circuit has all its parts and says them itself: measures, limits, sentence, formulas, form, columns."""

from __future__ import annotations

import ast
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dashboards.panels.kinds import FORMS, form_of
from wirecalc import runs
from wirecalc.advice.demands import demands_of
from wirecalc.advice.house_rules import HouseRules
from wirecalc.runs.choose import LIMITS, judge_candidates
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.workings.circuit import circuit_rules
from wirecalc.workings.measures import EXTRAS, working

LAID = runs.Installation(length_m=4.0, temperature_c=45.0)
PLACE = runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=45.0)
WIRES = [awg(number) for number in (14, 10)]
EVERY = pytest.mark.parametrize("kind", runs.KINDS, ids=lambda kind: kind.kind)


def example(kind: type[runs.Run]) -> runs.Run:
    """As its form stands when it is first opened."""
    form = next(form for form in FORMS if form.of_kind is kind)
    return form().run()


def subclasses(of: type) -> Iterator[type]:
    for subclass in of.__subclasses__():
        yield subclass
        yield from subclasses(subclass)


def test_every_kind_is_in_the_list_once_with_a_key_limits_and_a_form_of_its_own() -> None:
    defined = {subclass for subclass in subclasses(runs.Run) if subclass.__module__.startswith("wirecalc.runs.")}
    assert set(runs.KINDS) == defined
    assert len({kind.kind for kind in runs.KINDS}) == len(runs.KINDS)
    assert {kind.kind for kind in runs.KINDS} == set(LIMITS)
    assert [form.of_kind for form in FORMS] == list(runs.KINDS)
    assert len({form.title for form in FORMS}) == len({form.key for form in FORMS}) == len(FORMS)
    assert len({kind.__module__ for kind in runs.KINDS}) == len(runs.KINDS)  # a module each
    assert all(
        hasattr(kind, "response") and not hasattr(runs.Run, "response") for kind in runs.KINDS
    )  # no tab by chance
    assert len({form.__module__ for form in FORMS}) == len(FORMS)


@EVERY
def test_its_measures_are_named_and_serve_what_is_drawn_and_shown(kind: type[runs.Run]) -> None:
    run = example(kind)
    measures = runs.measured(run, WIRES, LAID)
    assert set(measures) <= set(runs.MEASURES)
    assert {*kind.drawn, *(measure for measure, _ in form_of(run).tiles)} <= set(measures)
    assert set(kind.columns) <= {*measures, "quick_bound_v"}
    assert len(kind.varies) > 3
    assert ("heat_a" in measures) == ("full_a" in measures) == kind.has_heat
    if kind.has_heat:  # a test tone never takes less than music
        assert np.all(measures["full_a"] >= measures["heat_a"] * (1 - 1e-12))


@EVERY
def test_its_limits_can_be_judged_with_the_bounds_that_the_run_itself_sets(kind: type[runs.Run]) -> None:
    run = example(kind)
    measures = runs.with_heat(runs.measured(run, WIRES, LAID), WIRES, LAID, PLACE)
    limits = run.limits()
    assert [limit.measure for limit in limits] == [limit.measure for limit in LIMITS[kind.kind]]
    assert len({limit.measure for limit in limits}) == len(limits)
    verdict = judge_candidates([wire.label for wire in WIRES], measures, limits)
    assert np.isfinite(verdict.bounds).all()
    bounds = {limit.measure: limit.bound for limit in limits}
    for measure, field in kind.own_bounds.items():
        assert bounds[measure] == getattr(run, field)
    for measure in measures:
        needed = run.needed(measure)
        if needed is not None:  # the line on the chart is the bound of a limit
            assert bounds[measure] == needed


@EVERY
def test_its_sentence_and_cautions_say_the_numbers_that_can_be_opened(kind: type[runs.Run]) -> None:
    run = example(kind)
    here = {name: float(value[0]) for name, value in runs.measured(run, WIRES, LAID).items()}
    marked: list[str] = []

    def mark(text: str, key: str) -> str:
        marked.append(key)
        return text

    sentence = run.sentence(here, WIRES[0].label, LAID, float(runs.wire_ohm(WIRES, LAID)[0]), mark=mark)
    assert sentence.endswith(".")
    assert marked
    assert all(isinstance(caution, str) for caution in run.cautions(here, mark=mark))
    for measure in marked:
        working(measure, run, WIRES[0], LAID)


@EVERY
def test_every_measure_has_a_formula_of_this_kind(kind: type[runs.Run]) -> None:
    run = example(kind)
    rules = circuit_rules.dispatch(kind)
    assert rules is not circuit_rules.dispatch(runs.Run), "no formulas are registered"
    measures = runs.with_heat(runs.measured(run, WIRES[:1], LAID), WIRES[:1], LAID, PLACE)
    extras = [key for key in kind.columns if key in EXTRAS]
    for measure in (*measures, *extras):
        told = working(measure, run, WIRES[0], LAID, PLACE)
        assert told.steps, measure
        if measure in measures:
            assert told.value == pytest.approx(float(measures[measure][0]), rel=1e-9, nan_ok=True), measure
        assert math.isnan(told.value) or told.steps[-1].filled, measure


@EVERY
def test_the_house_rules_know_it_and_its_start_reaches_the_fuse(kind: type[runs.Run]) -> None:
    run, rules = example(kind), HouseRules.from_table()
    demands = demands_of(run, rules)
    measures = runs.measured(run, WIRES, LAID)
    assert (demands.full_a is not None) == kind.has_heat
    assert kind.has_heat == any(
        rule.applies == demands.house_kind for rule in rules.rules if rule.rule != "taste_limit"
    )  # line level has no gauge
    start = tuple(float(measures[key].max()) if key in measures else 0.0 for key in ("inrush_a", "inrush_s"))
    assert demands.inrush_a >= start[0]  # without any wire in the way
    assert demands.inrush_s == start[1]


@EVERY
def test_its_form_starts_with_a_run_and_says_the_same_run_in_a_link(kind: type[runs.Run]) -> None:
    form: Any = next(form for form in FORMS if form.of_kind is kind)()
    run = form.run()
    assert type(run) is kind
    assert form_of(run) is type(form)
    assert form.asked
    length_m, size, drawn = form.start
    assert length_m > 0
    assert size in drawn
    assert form.of_kind.usual_ways in (1, 2)


# --- and nobody asks a run for its class ----------------------------------------------------------------------

ROOT = Path(__file__).parents[3]
CODE = [path for place in ("wirecalc", "dashboards") for path in sorted((ROOT / place).rglob("*.py"))]
NAMES = {kind.__name__ for kind in runs.KINDS}


def asked_for_its_class(tree: ast.AST) -> list[int]:
    """Lines that hold a run against a kind."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("isinstance", "issubclass")
        and NAMES & {getattr(part, "id", getattr(part, "attr", "")) for part in ast.walk(node.args[1])}
    ]


def test_the_search_finds_what_it_looks_for() -> None:
    assert asked_for_its_class(ast.parse("isinstance(run, (int, runs.SpeakerRun))")) == [1]
    assert asked_for_its_class(ast.parse("x = 1\nassert isinstance(run, LampRun)")) == [2]
    assert asked_for_its_class(ast.parse("isinstance(run, runs.Run)")) == []


def test_what_differs_between_kinds_is_asked_of_the_run() -> None:
    lines_by_file = {
        str(path.relative_to(ROOT)): lines
        for path in CODE
        if (lines := asked_for_its_class(ast.parse(path.read_text(encoding="utf-8"))))
    }
    assert not lines_by_file, "give `wirecalc.runs.Run` what is asked for instead"
