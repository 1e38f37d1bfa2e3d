"""The tab Choice without a browser: limits to a size, and what every other one breaks."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run.choice import ChoiceTab, chart, compute, sentence, table_html
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.one_run.request import RunRequest
from tests.support.sentences import read
from wirecalc.limit import Limit
from wirecalc.runs.choose import LIMITS
from wirecalc.wire.conductor import conductor


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    return OneRunPanel()


def now(panel: OneRunPanel, form: Any = FORMS[0]) -> RunRequest:
    panel.kind.value = form
    return panel.situation()


def test_the_smallest_that_keeps_all_is_chosen_and_every_smaller_one_breaks_one(panel: OneRunPanel) -> None:
    for form in FORMS:
        situation = now(panel, form)
        verdict = compute(situation, ChoiceTab().limits(situation.run), (1, 2)).verdict
        chosen = verdict.chosen
        assert chosen is not None, form.title
        assert verdict.meets[:, chosen].all()
        assert not verdict.meets[:, :chosen].all(axis=0).any()


def test_values_are_those_of_the_run(panel: OneRunPanel) -> None:
    situation = now(panel)
    answer = compute(situation, LIMITS[situation.run.kind], (1, 2))
    loss = next(i for i, limit in enumerate(answer.verdict.limits) if limit.measure == "loss_db")
    for label, place in (("16 AWG", None), ("2 × 16 AWG", None)):
        place = answer.verdict.labels.index(label)
        laid = replace(situation.laid, parallel=2 if label.startswith("2") else 1)
        only = replace(situation, laid=laid, this=conductor("AWG", 16.0), others=(None,) * len(situation.others))
        assert answer.verdict.values[loss, place] == pytest.approx(float(only.plain["loss_db"][0]))
    assert answer.this == answer.verdict.labels.index("16 AWG")


def test_a_stricter_limit_takes_more_metal_and_none_is_said(panel: OneRunPanel) -> None:
    situation = now(panel)
    chosen = []
    for bound in (1.0, 0.3, 0.1, 0.0001):
        limits = [Limit(measure="loss_db", name="level loss", sense="at most", bound=bound, unit="dB")]
        verdict = compute(situation, limits, (1,)).verdict
        chosen.append(verdict.chosen)
    assert chosen[:3] == sorted(chosen[:3])  # type: ignore[type-var]
    assert chosen[3] is None
    answer = compute(situation, limits, (1,))
    assert "None meets every limit" in sentence(answer)


def test_the_page_says_the_fault_and_keeps_the_last_limit(panel: OneRunPanel) -> None:
    now(panel)
    panel.bar.value = "Choice"
    tab = panel._made["Choice"]
    assert isinstance(tab, ChoiceTab)
    entry = tab._entries["amplifier to speaker"]["loss_db"]
    before = read(tab.told.html)
    entry.text.value = "-3"
    assert "role='alert'" in entry.note.value
    assert read(tab.told.html) == before
    entry.text.value = "0.05"
    assert read(tab.told.html) != before
    assert "over by" in tab.table.html
    entry.text.value = "0.4"
    assert read(tab.told.html) == before
    panel.bar.value = "Length"


def test_the_head_units_own_limit_is_held(panel: OneRunPanel) -> None:
    form = next(form for form in FORMS if form.title == "Remote turn-on")
    now(panel, form)
    panel.form.draw.text.value = "400 mA"  # type: ignore[attr-defined]
    situation = panel.situation()
    verdict = compute(situation, ChoiceTab().limits(situation.run), (1,)).verdict
    assert verdict.chosen is None  # no wire helps a head unit that gives too little
    panel.form.limit.text.value = "1 A"  # type: ignore[attr-defined]
    situation = panel.situation()
    assert compute(situation, ChoiceTab().limits(situation.run), (1,)).verdict.chosen is not None
    panel.form.draw.text.value = "150 mA"  # type: ignore[attr-defined]


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.title)
def test_words_chart_and_table_of_every_kind(panel: OneRunPanel, form: Any) -> None:
    situation = now(panel, form)
    tab = ChoiceTab()
    tab.show(situation)
    answer = compute(situation, tab.limits(situation.run), (1, 2))
    said = sentence(answer)
    assert "airbag" in said  # where the wire is decided on, not in a footer
    assert "Local codes" in said
    assert ("450 mm" in said) == (form.title == "Battery to amplifier")
    assert ("needs a fuse of its own" in said) == (
        any(limit.measure == "fuse_headroom_a" for limit in answer.verdict.limits)
    )
    traces, _ = chart(answer)
    assert len(traces) == 5
    for row, limit in enumerate(answer.verdict.limits):
        used = np.array(traces[row]["y"])
        assert traces[row]["name"] == limit.name
        inside = (used < 999) & (used > 1)  # the drawing is cut off at its ends
        assert np.array_equal(used[inside] <= 100 + 1e-9, answer.verdict.meets[row][inside])
    shown = table_html(answer)
    assert shown.count("pull this") == 1
    assert shown.count("<tr") == len(answer.verdict.labels) + 1
    place = answer.verdict.nearest
    for limit in answer.verdict.limits:
        assert "Put in" in tab.work(f"{limit.measure}:{min(place, len(answer.sizes.candidates) // 2 - 1)}")
