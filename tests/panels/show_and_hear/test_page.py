"""The page Show and hear without a browser: entries to a picture, sounds, a blind test and a leaflet."""

from __future__ import annotations

import html
import io
import re
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.io import wavfile

from dashboards.panels.controls import glossary
from dashboards.panels.show_and_hear import compare
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from dashboards.panels.show_and_hear.player import Player
from wirecalc import tables
from wirecalc.hearing import contrast, sound, verdict
from wirecalc.runs import words


@pytest.fixture
def panel() -> ShowAndHearPanel:
    return ShowAndHearPanel()


def decoded(file: bytes) -> NDArray[np.float64]:
    return wavfile.read(io.BytesIO(file))[1].astype(np.float64)


def text_of(markup: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", markup)))


def words_of(markup: str) -> str:
    return re.sub(r"\s", "", text_of(markup))


def test_entries_reach_the_contrast_in_si(panel: ShowAndHearPanel) -> None:
    first, second = panel.forms
    first.size.text.value = "0.75 mm2"
    first.length.text.value = "18 ft 6 in"
    first.metal.value = "cca_15"
    second.parallel.text.value = "2"
    second.price.text.value = "1,50"
    panel.shared.power.text.value = "0.2 kW"
    panel.shared.load.text.value = "2"
    panel.shared.rated.text.value = "2"
    panel.shared.damping.text.value = "50"
    compared = panel.found
    assert compared is not None
    choice, other = compared.choices
    assert (choice.conductor.label, choice.conductor.metal.key) == ("0.75 mm²", "cca_15")
    assert choice.length_m == pytest.approx(5.6388)
    assert (other.parallel, other.pair_per_m, choice.pair_per_m) == (2, 1.5, None)
    assert (compared.run.amplifier.power_w, compared.run.load_ohm) == (200, 2)
    assert compared.run.amplifier.output_ohm == pytest.approx(0.04)
    assert words_of("0.75 mm², copper-clad aluminium 15 %, 5.64 m") in words_of(panel.picture.value)


def test_a_driver_brings_its_own_impedance(panel: ShowAndHearPanel) -> None:
    panel.speaker.value = "Demo 250 mm sub (two 4 Ω coils in parallel)"
    assert panel.found is not None
    assert panel.found.run.load_ohm == 2
    assert panel.found.load.impedance(31.0).real > 10  # at its resonance
    assert "wc-shut" in panel.shared.load.view._dom_classes
    assert "(invented), 2 Ω" in text_of(panel.minds.value)
    panel.speaker.value = ""
    assert "wc-shut" not in panel.shared.load.view._dom_classes
    assert panel.found.load.impedance(31.0) == 2


def test_the_picture_is_the_contrast(panel: ShowAndHearPanel) -> None:
    panel.forms[0].size.text.value = "20"
    compared = panel.found
    assert compared is not None
    for at, figure in enumerate(re.findall("<figure>.*?</figure>", panel.picture.value)):
        wide = [float(value) for value in re.findall(r"<rect x='[\d.]+' width='([\d.]+)' height='60'", figure)]
        flows = [compared.load_w[at], compared.wire_w[at], compared.amplifier_w[at], compared.undrawn_w[at]]
        assert sum(flows) == pytest.approx(compared.bare_w)  # the watts add up to the rating
        assert wide == pytest.approx([1000 * flow / compared.bare_w for flow in flows], abs=0.01)  # both on one scale
        assert f"{words.watts(float(compared.undrawn_w[at]))} W never drawn" in figure
        starts = [float(value) for value in re.findall(r"<rect x='([\d.]+)'", figure)]
        assert starts == pytest.approx(np.cumsum([0, *wide[:-1]]), abs=0.02)
        assert f"{compared.load_w[at]:.0f} W speaker" in figure
        assert sum(wide) <= 1000.01


def test_the_numbers_and_the_verdict_are_shown(panel: ShowAndHearPanel) -> None:
    compared = panel.found
    assert compared is not None
    assert "unlikely to hear this; spend it elsewhere" in text_of(panel.told.value)
    assert verdict.AUDIBLE in text_of(panel.minds.value).replace(" .", ".").replace("  ", " ")
    rows = re.findall("<tr>.*?</tr>", panel.numbers.value)
    assert "Cost" not in panel.numbers.value
    assert f"{compared.loss_db[0]:.2f} dB" in text_of(rows[6])
    panel.forms[0].price.text.value = "0.80"
    assert "4.40 not given" in text_of(panel.numbers.value)
    panel.forms[1].price.text.value = "2"
    assert "4.40 11.00" in text_of(panel.numbers.value)
    assert "B costs 6.60 more." in text_of(panel.told.value)
    assert "Take A and spend the rest elsewhere" in text_of(panel.told.value)


def test_feet_and_prices_per_foot(panel: ShowAndHearPanel) -> None:
    panel.forms[0].price.text.value = "3"
    for form in panel.forms:
        form.length.text.value = "5.4"
    before = panel.found
    panel.feet.value = True
    assert panel.forms[0].price.text.value == "0.91"
    assert "for one foot" in panel.forms[0].price.note.value
    assert "ft" in panel.forms[0].length.text.value
    assert before is not None
    assert panel.found is before  # the same wires: nothing is worked out anew, no test is lost
    assert "17 ft 8½ in" in text_of(panel.picture.value)
    panel.forms[1].price.text.value = "0.3048"
    assert panel.found is not None
    assert panel.found.choices[1].pair_per_m == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("entry", "text", "message"),
    [
        ("size", "0.8 mm2", "Nearest"),
        ("length", "-2", "A: run length"),
        ("parallel", "1.5", "whole number"),
        ("parallel", "17", "16"),
        ("price", "cheap", "A: price"),
        ("price", "-1", "0 to"),
    ],
)
def test_a_faulty_entry_keeps_the_last_picture(panel: ShowAndHearPanel, entry: str, text: str, message: str) -> None:
    before = panel.picture.value, panel.numbers.value, panel.told.value
    field = getattr(panel.forms[0], entry)
    field.text.value = text
    assert "role='alert'" in field.note.value
    assert message in html.unescape(field.note.value)
    assert field.text.value == text
    assert (panel.picture.value, panel.numbers.value, panel.told.value) == before


def test_a_load_under_the_least_is_minded(panel: ShowAndHearPanel) -> None:
    panel.shared.load.text.value = "1"
    assert "under the least load" in text_of(panel.minds.value)


@pytest.mark.parametrize("kind", sound.SOUNDS)
def test_what_is_heard_differs_by_what_is_computed(panel: ShowAndHearPanel, kind: str) -> None:
    panel.forms[0].size.text.value = "24"
    panel.hear.kind.value = kind
    first, second = map(decoded, panel.hear.make())
    compared = panel.found
    assert compared is not None
    by_spectrum = sound.weighted_db(
        sound.make_sound(kind, 1), contrast.transfer(compared.run, compared.load, compared.choices, sound.BINS_HZ)
    )
    apart_db = 10 * np.log10(np.mean(second**2) / np.mean(first**2))
    assert apart_db == pytest.approx(by_spectrum[1] - by_spectrum[0], abs=0.01)
    assert apart_db > 1
    assert np.max(np.abs([first, second])) <= 10 ** (sound.PEAK_DBFS / 20)
    assert panel.hear.player.names == ["A: 24 AWG", "B: 12 AWG"]


def test_a_change_renews_the_sounds(panel: ShowAndHearPanel) -> None:
    version = panel.hear.player.version
    panel.forms[0].size.text.value = "14"
    assert panel.hear.player.version == version + 1
    panel.hear.kind.value = "kick"
    assert panel.hear.player.version == version + 2


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, list[bytes]]]:
    messages: list[tuple[Any, list[bytes]]] = []
    monkeypatch.setattr(Player, "send", lambda _self, content, buffers=None: messages.append((content, buffers)))
    return messages


@pytest.mark.parametrize("question", ["same", "louder"])
def test_a_blind_test_tells_nothing_but_its_sounds(
    panel: ShowAndHearPanel, sent: list[tuple[Any, list[bytes]]], question: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    work: list[str] = []
    for name in ("make_sound", "to_play", "marked", "wav"):
        plain = getattr(sound, name)
        monkeypatch.setattr(sound, name, lambda *a, n=name, f=plain: (work.append(n), f(*a))[1])
    panel.forms[0].size.text.value = "26"
    blind = panel.blind
    blind.question.value, blind.trials.value = question, 8
    blind.seed = lambda: 3
    blind.start()
    player, test = blind.player, blind.test
    assert test is not None
    steps, states = set(), set()
    for number in range(1, 9):
        first, second = test.played
        work.clear()
        player._handle_custom_msg({"play": player.version}, [])
        steps.add(tuple(work))  # the same work whatever is asked, so that no answer takes longer
        content, files = sent[-1]
        assert content == {"version": player.version}
        assert [len(file) for file in files] == [len(sound.wav(np.zeros(sound.SAMPLES)))] * 2
        assert files[0] != files[1]  # not even where they are the same to the ear
        levels = [10 * np.log10(np.mean(decoded(file) ** 2)) for file in files]
        assert (abs(levels[0] - levels[1]) < 1e-3) == (first == second)
        state = {k: v for k, v in player.get_state().items() if k not in ("version", "status")}
        states.add(repr(sorted(state.items())))
        assert player.status == f"Question {number} of 8."
        if question == "same":
            answer = "same" if first == second else "different"
        else:
            answer = "first" if levels[0] > levels[1] else "second"
        old = player.version
        player.take({"answer": answer, "version": old})
        player.take({"answer": answer, "version": old})  # pressed twice
    assert len(steps) == 1
    assert len(states) == 1
    assert len({file for _, files in sent for file in files}) == 16
    assert "8 of 8: chance alone does this 0.4 % of the time" in text_of(blind.result.value)
    assert "wc-shut" in blind.box._dom_classes
    assert "8 of 8" in panel.leaflet()[1].decode()
    panel.forms[0].size.text.value = "24"
    assert blind.result.value == ""  # the result was for other wires
    assert "8 of 8" not in panel.leaflet()[1].decode()


def test_a_test_keeps_its_wires_and_can_start_again(panel: ShowAndHearPanel) -> None:
    panel.blind.start()
    tested = panel.blind.tested
    panel.forms[0].size.text.value = "26"
    assert panel.blind.tested is tested
    panel.blind.take(panel.blind.player.version, "same")
    panel.blind.take(panel.blind.player.version - 1, "same")  # came late
    assert panel.blind.test is not None
    assert len(panel.blind.test.right) == 1
    panel.blind.button.click()
    assert panel.blind.test.right == []
    assert panel.blind.tested is panel.found
    orders = []
    for _ in range(4):
        panel.blind.start()
        orders.append(panel.blind.test.order)
    assert len(set(orders)) > 1  # not the same each time


def test_nothing_to_hear_is_said(panel: ShowAndHearPanel) -> None:
    panel.forms[1].size.text.value = "16"
    panel.blind.start()
    assert "Both choices sound exactly alike: change" in panel.blind.alert.value
    assert panel.blind.test is None
    assert "Both are equally loud" in text_of(panel.told.value)


def test_a_wrong_message_is_no_traceback(panel: ShowAndHearPanel) -> None:
    panel.blind.start()
    panel.blind.player.take({"answer": "<b>", "version": panel.blind.player.version})
    assert "role='alert'" in panel.blind.player.status
    assert "&lt;b&gt;" in panel.blind.player.status or "“" in panel.blind.player.status
    assert panel.blind.test is not None
    assert panel.blind.test.right == []


def test_the_leaflet_is_what_is_shown_and_needs_nothing_else(panel: ShowAndHearPanel) -> None:
    panel.forms[0].price.text.value = "1"
    panel.forms[1].price.text.value = "3"
    panel.shared.load.text.value = "2"  # minded: under the least load
    name, content, kind = panel.leaflet()
    page = content.decode()
    assert (name, kind) == ("leaflet.html", "text/html")
    assert not re.search(r"https?:|//|url\(|<script|<link|<img|src=", page)
    printed = words_of(page)
    for part in (panel.told.value, panel.picture.value, panel.numbers.value, panel.minds.value):
        shown = re.sub(r"<(p|tr|figcaption|li)\b", r"\0<\1", part)
        for piece in filter(None, (words_of(markup) for markup in shown.split("\0"))):
            assert piece in printed, piece
    assert panel.found is not None
    assert glossary.unbroken(verdict.summary(panel.found)) in page
    assert "5.5\N{NO-BREAK SPACE}m" in page  # a number and its unit stay on one line
    compared = panel.found
    assert compared is not None
    explained = page.partition("<h2>Words</h2>")[2]
    told = [compare.lead(compared), compare.behind(compared, ""), "16 AWG", verdict.NOT_ALL]
    for term, plain in glossary.used(*told):
        assert f"{html.escape(term)}:" in explained
        assert html.escape(plain) in explained


def test_every_word_has_one_explanation_and_marks_lead_there() -> None:
    page = glossary.explanations()
    targets = set(re.findall(r"popovertarget='([\w-]+)'", page))
    places = re.findall(r"popover class='wc-plain' id='([\w-]+)'", page)
    assert len(places) == len(set(places)) == len(tables.load("glossary"))
    assert targets == set(places)
    marked = glossary.marked("A <b> of 3 dB and 4 dB: pink noise, 5 W")
    assert marked.count("wc-term'") == 3  # a word once
    assert "&lt;b&gt;" in marked
    assert set(re.findall(r"popovertarget='([\w-]+)'", marked)) <= targets
    assert "wc-term" not in glossary.marked("Wd dBx")


def test_every_trade_word_on_the_page_is_explained(panel: ShowAndHearPanel) -> None:
    """Texts mark theirs; what labels and help texts use stands in the list of words."""
    terms = text_of(glossary.explanations())
    shown = (panel.told.value, panel.minds.value, panel.numbers.value, panel.hear.told.value)
    for form in ("amplifier", "dB", "W"):
        assert any(f">{form}</button>" in markup for markup in shown) or f">{form}</button>" in panel.picture.value
    labels = [entry.text.description for form in panel.forms for entry in form.entries]
    labels += [
        entry.text.description + entry.help for entry in (panel.shared.power, panel.shared.rated, panel.shared.load)
    ]
    labels += [panel.shared.damping.text.description, *dict(panel.forms[0].metal.options)]
    for word in ("AWG", "impedance", "RMS", "damping", "parallel", "pair", "rated", "copper-clad", "tinned copper"):
        assert any(word in label for label in labels) or word == "AWG", word
        assert word.lower() in terms.lower(), word
