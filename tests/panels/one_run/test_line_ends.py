"""Names at the ends of lines, and the shaded zone of what is heard."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run import length
from dashboards.panels.one_run.line_ends import APART, audible, names, spread
from dashboards.panels.one_run.page import OneRunPanel
from wirecalc.runs.words import STEPS


@given(st.lists(st.floats(0, 1), min_size=1, max_size=11))
def test_no_two_names_lie_on_each_other_and_their_order_stays(places: list[float]) -> None:
    heights = spread(places)
    order = sorted(range(len(places)), key=lambda at: places[at])
    for before, at in itertools.pairwise(order):
        assert heights[at] - heights[before] >= APART - 1e-9
    assert max(heights) <= max(1.0, max(places)) + 1e-9


def test_a_name_stands_at_its_lines_end() -> None:
    (annotation,) = names([("16 AWG", 0.5, True)], 0.0, 2.0)
    assert annotation["y"] == pytest.approx(0.75)
    assert annotation["text"] == "<b>16 AWG</b>"


def test_what_is_heard_is_shaded_from_its_published_step_on() -> None:
    shapes, words = audible(2.5)
    assert (
        [shape["y0"] for shape in shapes] == [STEPS["just"].loss_db_up_to, STEPS["music"].loss_db_up_to] == [0.4, 1.0]
    )
    assert [word["text"] for word in words] == ["heard when switching", "heard on music"]
    assert audible(0.3) == ([], [])


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.key)
def test_no_chart_is_a_flat_line_and_none_stands_twice(form: type) -> None:
    panel = OneRunPanel()
    panel.kind.value = form
    answer = length.compute(panel.situation())
    drawn = length.shown(answer)
    assert len(drawn) == len(set(drawn)) <= 2
    assert bool(drawn) == (form.key not in ("line", "factory"))  # of signals: thousandths of a decibel
    assert ("load_w" in drawn) <= ("loss_db" not in drawn)
    for measure in drawn:
        _, layout = length.chart(answer, measure)
        bottom, top = layout["yaxis"]["range"]
        y = answer.measures[measure][:, :-1]
        assert min(bottom, top) <= y.min()
        assert y.max() <= max(bottom, top)
