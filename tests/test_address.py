"""A page's entries in its address: there and back, through the same door as typing."""

from __future__ import annotations

from urllib.parse import parse_qsl

import pytest

from dashboards.panels import address
from dashboards.panels.forms import FORMS
from dashboards.panels.one_run import OneRunPanel
from wirecalc.errors import InputError


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    return OneRunPanel()


def come(panel: OneRunPanel, query: str) -> str:
    """What is said of an address."""
    panel.address._came(None, {"came": query}, [])
    return panel.address.note


def test_an_untouched_page_has_no_query() -> None:
    assert OneRunPanel().address.query == ""


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.title)
def test_what_is_written_brings_the_same_back(form: type) -> None:
    first, second = OneRunPanel(), OneRunPanel()
    first.kind.value = form
    first.length.text.value = "18 ft 6 in"
    first.metal.value = "cca_10"
    first.zone.value = "boot"
    first.parallel.text.value = "2"
    first.ways.value = 3 - first.ways.value
    first.form.asked[0].text.value = (
        "0.18 kW" if "power" in address.name(first.form.asked[0].text.description) else "13"
    )
    assert come(second, first.address.query) == ""
    assert second.situation().laid == first.situation().laid
    assert second.situation().run == first.situation().run
    assert second.situation().this == first.situation().this
    assert second.situation().place == first.situation().place
    assert second.length.text.value == "18 ft 6 in"  # as typed
    assert second.address.query == first.address.query


def test_a_bare_number_is_in_the_unit_that_came_with_it(panel: OneRunPanel) -> None:
    assert come(panel, "run-length-one-way=10&units=feet") == ""
    assert panel.length.value == pytest.approx(3.048)
    panel.feet.value = False


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("circuit=toaster", "one of amplifier-to-speaker"),
        ("colour=red", "Address, colour: “red” cannot be used; allowed: one of units, circuit"),
        ("where-it-lies=moon", "cabin"),
        ("x" * 9000, "9000 characters"),
        ("&".join(f"a{i}=1" for i in range(250)), "too many parts"),
        ("metal=%3Cscript%3Ealert(1)%3C/script%3E", "&lt;script&gt;"),
        ("circuit", "allowed: one of amplifier-to-speaker"),
    ],
)
def test_what_cannot_be_used_is_said(panel: OneRunPanel, query: str, said: str) -> None:
    before = panel.situation()
    note = come(panel, query)
    assert "role='alert'" in note
    assert said in note
    assert panel.situation().run == before.run


def test_a_bad_value_is_said_beside_its_box_and_the_good_ones_are_taken() -> None:
    panel = OneRunPanel()
    assert come(panel, "size=33+kg&run-length-one-way=7+m&joints-whole-loop=5+V") == ""
    assert "role='alert'" in panel.size.note.value
    assert "33 kg" in panel.size.text.value
    assert panel.length.value == 7
    assert panel.joints.fault is not None
    assert "wc-shut" not in panel.more._dom_classes  # opened, as a fault is said there
    assert dict(parse_qsl(panel.address.query))["size"] == "16 AWG"  # the last good one


def test_what_is_the_servers_own_is_left_to_it() -> None:
    assert address.read("token=abc&size=4+mm2&theme=dark") == {"size": "4 mm2"}
    with pytest.raises(InputError, match="8001"):
        address.read("a" * 8001)


def test_a_link_is_safe_in_html() -> None:
    link = address.link("one_run", {"size": "4 mm2", "x": "\"'<&"})
    assert link == "one_run.ipynb?size=4+mm2&amp;x=%22%27%3C%26"
