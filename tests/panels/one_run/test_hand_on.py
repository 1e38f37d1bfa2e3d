"""What of One run goes along: to the customer's page, as a drawing of its kind, as a chip where it is folded away."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import parse_qsl, urlencode

import pytest

from dashboards.panels.kinds import FORMS
from dashboards.panels.kinds.pictures import picture
from dashboards.panels.one_run.hand_on import COUNTER
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from tests.support.sentences import read


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    return OneRunPanel()


def test_each_kind_has_a_drawing_of_its_own_without_words(panel: OneRunPanel) -> None:
    drawn = [picture(form.key) for form in FORMS]
    assert len(set(drawn)) == len(FORMS)
    assert all(
        read(drawing) == "" and "aria-hidden='true'" in drawing and "currentColor" in drawing for drawing in drawn
    )
    assert panel.kind.pictures == drawn
    assert panel.kind.labels == [form.title for form in FORMS]  # a press means the words


def test_the_customers_page_shows_this_run_beside_what_is_advised(panel: OneRunPanel) -> None:
    panel.kind.value = FORMS[0]
    panel.form.power.text.value = "300"
    panel.length.text.value = "9"
    panel.size.text.value = "18 AWG"
    where, _, query = panel.hand_on.where().partition("?")
    assert where == COUNTER
    shown = ShowAndHearPanel()
    shown.address._take(query)
    assert shown.address.note == ""
    first, second = (form.choice() for form in shown.forms)
    pull = panel.situation().advice.pull
    assert pull is not None
    assert (first.conductor.label, first.length_m, shown.shared.power.value) == ("18 AWG", 9.0, 300.0)
    assert (second.conductor.label, second.length_m) == (pull.candidate.conductor.label, 9.0)


def test_the_run_comes_back_as_it_was_shown_and_keeps_what_the_customer_never_saw(panel: OneRunPanel) -> None:
    panel.kind.value = next(form for form in FORMS if form.key == "subwoofer")
    panel.form.power.text.value, panel.size.text.value = "300", "14 AWG"
    usual = panel.more.zone.value
    panel.length.text.value, panel.more.zone.value = "9", "boot"
    shown = ShowAndHearPanel()
    shown.address._take(panel.hand_on.where().partition("?")[2])
    entries = dict(parse_qsl(panel.hand_on.run()))
    again = OneRunPanel()
    again.address._take(urlencode(entries | shown._to_run()))  # as hand_back.js puts them together
    assert again.address.note == ""
    assert again.situation().run == panel.situation().run
    assert again.situation().laid == panel.situation().laid
    assert again.situation().stretches == panel.situation().stretches
    first = shown.forms[0]
    first.size.text.value, first.length.text.value = "12 AWG", "20 ft"
    again.address._take(urlencode(entries | shown._to_run()))
    now = again.situation()
    assert (now.this.label, round(now.laid.length_m, 3), now.place.zone) == ("12 AWG", 6.096, "boot")
    panel.more.zone.value = usual
    alone = OneRunPanel()
    alone.address._take(urlencode({"circuit": "speaker"} | shown._to_run()))
    assert alone.address.note == ""
    assert alone.situation().this.label == "12 AWG"


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.key)
def test_only_what_can_be_heard_is_shown_to_a_customer(panel: OneRunPanel, form: Any) -> None:
    panel.kind.value = form
    heard = form.key in ("speaker", "subwoofer")
    assert panel.hand_on.heard == heard
    assert bool(panel.hand_on.where()) == heard


def test_what_is_set_under_more_is_seen_while_it_is_folded(panel: OneRunPanel) -> None:
    def chips() -> list[str]:
        return re.findall("<li>([^<]*)</li>", panel.more.set_there.value)

    panel.kind.value = FORMS[0]
    assert chips() == []
    panel.more.metal.value = "aluminium"
    panel.form.damping.text.value = "50"
    assert chips() == ["Amplifier damping factor: 50", "Metal: aluminium"]
    panel.kind.value = next(form for form in FORMS if form.key == "feed")  # the body is its usual return
    assert chips() == ["Metal: aluminium"]
    panel.more.metal.value = "copper"
    assert panel.more.set_there.value == ""
