"""The tab My cable without a browser: what it shows is what wirecalc says, and a bad entry leaves the last answer."""

from __future__ import annotations

import html
import re

import pytest

from dashboards.panels.one_run.cable import CableTab
from dashboards.panels.one_run.page import OneRunPanel
from wirecalc.advice.one_cable import one_cable
from wirecalc.wire.cable_types import CABLES


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    made = OneRunPanel()
    made.length.text.value = "20 ft"
    made.bar.value = "My cable"
    return made


def shown(panel: OneRunPanel) -> tuple[CableTab, str]:
    tab = panel._made["My cable"]
    assert isinstance(tab, CableTab)
    markup = re.sub("</?button[^>]*>", "", tab.told.html + tab.ways.html + tab.shown.value)
    return tab, html.unescape(re.sub("<[^>]+>", " ", markup))


def test_four_doors_over_the_cable_on_the_shelf(panel: OneRunPanel) -> None:
    tab, _ = shown(panel)
    tab.circuits.text.value = "4"
    tab.cable_price.text.value, tab.wire_price.text.value = "2.50", "0.6"
    _, page_text = shown(panel)
    asked = one_cable(panel.situation().own_job, CABLES["speaker_9"], 4, cable_price=2.5, wire_price=0.6)
    assert asked.sentence in page_text
    assert "Two pairs side by side do" in page_text
    for laying in (asked.single, asked.double):
        assert laying is not None
        assert laying.conductor.label in page_text
        assert f"{laying.takes} circuits" in page_text
        assert laying.pick is not None
        assert f"{laying.pick.full_c:.0f} °C, limit 60" in page_text
    assert asked.double is not None
    assert asked.double.price is not None
    assert f"{asked.double.price:.2f}" in page_text
    assert f"{asked.separate_price:.2f}" in page_text
    assert "circuit 2 +" in page_text  # in the picture
    assert "Twist your own pair" not in page_text  # with four circuits
    before = tab.ways.html
    tab.circuits.text.value = "40"
    assert tab.circuits.fault is not None
    assert tab.ways.html == before
    tab.circuits.text.value = "1"
    assert "Twist your own pair" in shown(panel)[1]


@pytest.mark.parametrize("form", OneRunPanel().kind.options, ids=lambda each: each[0])
def test_every_kind_of_circuit_has_an_answer(panel: OneRunPanel, form: tuple[str, object]) -> None:
    panel.kind.value = form[1]
    panel.bar.value = "My cable"
    for key in ("speaker_9", "trailer_7"):
        tab, _ = shown(panel)
        tab.cable.value = key
        assert panel.alert.value == ""
        page_text = shown(panel)[1]
        assert "As it is" in page_text
        assert "Separate wire" in page_text
        assert CABLES[key].cores[0].name in page_text
