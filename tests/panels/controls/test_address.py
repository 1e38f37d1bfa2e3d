"""A page's entries in its address: there and back, through the same door as typing."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlencode

import pytest

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Choice
from dashboards.panels.bench.identify import MORE
from dashboards.panels.bench.page import BenchPanel
from dashboards.panels.controls import address, old_links
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fault_list import FaultList
from dashboards.panels.controls.files import Download
from dashboards.panels.controls.numbers import Numbers
from dashboards.panels.house_rules.page import HouseRulesPanel
from dashboards.panels.kinds import FORMS
from dashboards.panels.one_run.hand_on import HandOn
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.practice.page import PracticePanel
from dashboards.panels.show_and_hear.hand_back import HandBack
from dashboards.panels.show_and_hear.page import ShowAndHearPanel
from dashboards.panels.show_and_hear.player import Player
from dashboards.panels.whole_vehicle.cables import CablesTab
from dashboards.panels.whole_vehicle.page import WholeVehiclePanel
from tests import some_of
from tests.support.pages.links import again, come, whole
from tests.support.paths import ROOT
from wirecalc.errors import InputError
from wirecalc.practice.kinds import problem
from wirecalc.practice.progress import LESSONS, Progress
from wirecalc.units import LONGEST_TEXT


@pytest.fixture(scope="module")
def panel() -> OneRunPanel:
    return OneRunPanel()


def test_an_untouched_page_has_no_query() -> None:
    assert OneRunPanel().address.query == ""


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.title)
def test_what_is_written_brings_the_same_back(form: type) -> None:
    first, second = OneRunPanel(), OneRunPanel()
    first.kind.value = form
    first.length.text.value = "18 ft 6 in"
    first.more.metal.value = "cca_10"
    first.more.zone.value = "boot"
    first.more.parallel.text.value = "2"
    first.more.ways.value = 3 - first.more.ways.value
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
    assert come(panel, "length=10&units=feet") == ""
    assert panel.length.value == pytest.approx(3.048)
    panel.feet.value = False


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("circuit=toaster", "one of speaker, subwoofer"),
        ("colour=red", "Address, colour: “red” won’t work; needed: one of units, circuit"),
        ("zone=moon", "cabin"),
        ("x" * 9000, "9000 characters"),
        ("&".join(f"a{i}=1" for i in range(250)), "too many parts"),
        ("metal=%3Cscript%3Ealert(1)%3C/script%3E", "&lt;script&gt;"),
        ("circuit", "missing; give one of speaker, subwoofer"),
    ],
)
def test_what_cannot_be_used_is_said(panel: OneRunPanel, query: str, message: str) -> None:
    before = panel.situation()
    note = come(panel, query)
    assert "role='alert'" in note
    assert message in note
    assert panel.situation().run == before.run


def test_a_bad_value_is_said_beside_its_box_and_the_good_ones_are_taken() -> None:
    panel = OneRunPanel()
    assert come(panel, "size=33+kg&length=7+m&joints=5+V") == ""
    assert "role='alert'" in panel.size.note.value
    assert "33 kg" in panel.size.text.value
    assert panel.length.value == 7
    assert panel.more.joints.fault is not None
    assert "wc-shut" not in panel.more.view._dom_classes  # opened, as a fault is said there
    assert dict(parse_qsl(panel.address.query))["size"] == "16 AWG"  # the last good one


def test_what_is_the_servers_own_is_left_to_it() -> None:
    assert address.read("token=abc&size=4+mm2&theme=dark") == {"size": "4 mm2"}
    with pytest.raises(InputError, match="8001"):
        address.read("a" * 8001)


def test_a_link_is_safe_in_html() -> None:
    link = address.link("one_run", {"size": "4 mm2", "x": "\"'<&"})
    assert link == "one_run.ipynb?size=4+mm2&amp;x=%22%27%3C%26"


# --- links of before ------------------------------------------------------------------------------------------


OLD = [
    line.split(" ", 1) for line in (Path(__file__).parents[2] / "support" / "old_links.txt").read_text().splitlines()
]
PANELS: dict[str, Callable[[], Any]] = {
    "one_run": OneRunPanel,
    "bench": BenchPanel,
    "practice": lambda: PracticePanel(seed=1),
    "show_and_hear": ShowAndHearPanel,
    "whole_vehicle": lambda: WholeVehiclePanel(lambda *_arguments: iter(())),
}


@pytest.mark.parametrize(("page", "query"), some_of(OLD, 9))
def test_links_from_when_keys_were_made_of_labels_still_open(page: str, query: str) -> None:
    """The file was written by the pages of then, with every entry of theirs."""
    panel = PANELS[page]()
    assert come(panel, query) == ""
    then, now = address.read(query), all_texts(panel)
    renewed = old_links.renewed(then)
    assert len(renewed) == len(then)  # no two became one
    assert {key: now[key] for key in renewed} == renewed
    assert come(panel, urlencode(now)) == ""  # and what is written now is read alike
    assert all_texts(panel) == now


def test_keys_are_none_of_the_labels_doing() -> None:
    panel = OneRunPanel()
    before = panel.address.written()
    panel.length.text.description, panel.more.metal.description = "How long it is", "Made of"
    panel.more.metal.options = [(f"{label}!", value) for label, value in panel.more.metal.options]
    panel.more.ways.options = [("there and back", 2), ("chassis", 1)]
    assert panel.address.written() == before
    assert come(panel, "length=7+m&metal=aluminium&return=body") == ""
    assert (panel.length.value, panel.more.metal.value, panel.more.ways.value) == (7, "aluminium", 1)


def test_a_list_without_keys_is_refused() -> None:
    with pytest.raises(TypeError, match="has no key"):
        address.options(Choice(options=[("front", ("left", "right"))]))


# --- the other pages ------------------------------------------------------------------------------------------


def all_texts(panel: Any) -> dict[str, str]:
    return {key: address.text(field) for key, field in panel.address.fields().items()}


def test_the_open_tab_its_entries_and_the_sizes_drawn() -> None:
    first, second = OneRunPanel(), OneRunPanel()
    first.picker.boxes.take({"label": "26 AWG", "on": True})
    for title, label, text in (
        ("Which size?", "loss-db", "0.3"),
        ("How sure?", "limit", "0.7 dB"),
        ("Response", "re", "3.1 ohm"),
        ("Response", "gap", "1 mm"),
    ):
        first.bar.value = title
        entries = first.limits.fields if title == "Which size?" else first._made[title].fields
        entries[label].text.value = text
    first._made["Which size?"].side.value = (1, 2)
    first._made["Response"].speaker.load.value = "own"
    again(first, second)
    assert second.bar.value == "Response"
    assert second.picker.picked == first.picker.picked
    assert second.limits.fields["loss-db"].value == 0.3
    assert second._made["How sure?"].limit.value == 0.7
    assert second._made["Response"].words.html == first._made["Response"].words.html
    assert "3.1" in second._made["Response"].words.html
    first.kind.value = FORMS[2]
    third = OneRunPanel()
    again(first, third)
    assert third.picker.picked == first.picker.picked


def test_too_many_sizes_are_said_by_the_picker() -> None:
    panel = OneRunPanel()
    wanted = ".".join(address.name(label) for label, _ in panel.picker.boxes.pairs)
    assert come(panel, f"sizes={wanted}") == ""
    assert "lines are the most" in panel.picker.note.value
    assert "no-such" in come(panel, "sizes=no-such")


def filled_bench() -> BenchPanel:
    panel = BenchPanel()
    for title, texts in BENCH.items():
        panel.bar.value = title
        for key, text in texts.items():
            assert address.fill(panel.made[title].fields, {key: text}) == []
    return panel


BENCH = {
    "What wire?": {
        "strands": "16 ± 1", "strand": "0.254 mm", "resistance": "20.50 mohm", "leads": "2.0 mohm",
        "length": "2.000 m", "temperature": "-5 °C", "way": "four", "sold-as": "18 AWG",
        "accuracy": "0.5 % + 2 counts", "name": "<b>spool</b> 3 & more",
    },
    "Run right?": {
        "length": "18 ft 6 in", "size": "2.5 mm2", "metal": "cca-10", "reading": "OL", "coils": "4",
        "planned": "p2-s2-1-1-s2-1-1", "through": "no", "cable": "rear",
        "coil-reading": "3.3 ohm", "joints": "5 mohm",
    },
    "Will it fit?": {
        "opening": "0.75 in", "count-1": "5", "size-1": "4.2 mm", "count-4": "2", "size-4": "10 AWG",
    },
}  # fmt: skip


def test_the_bench() -> None:
    first, second = filled_bench(), BenchPanel()
    wire = first.made["What wire?"]
    wire.log.add.click()
    wire.log.name.text.value = "=1+1"
    wire.log.add.click()
    again(first, second)
    assert all_texts(second) == all_texts(first)
    assert second.bar.value == "Will it fit?"
    assert second.made["What wire?"].told.value == wire.told.value
    assert second.made["What wire?"].log.log == wire.log.log
    assert [sample.name for sample in wire.log.log] == ["<b>spool</b> 3 & more", "=1+1"]
    assert second.made["Run right?"].told.value == first.made["Run right?"].told.value
    fit = second.made["Will it fit?"]
    assert fit.told.value == first.made["Will it fit?"].told.value
    assert ["wc-shut" in box._dom_classes for box in fit.rows_box.children] == [False] * 4 + [True] * 2


def test_a_bench_with_every_entry_at_its_longest_stays_under_the_limits() -> None:
    panel = filled_bench()
    for fields in (part.fields for part in panel.made.values()):
        for field in fields.values():
            if isinstance(field, Entry) and field.text.value:
                field.text.value = f"{field.text.value:<{LONGEST_TEXT}}"  # blanks are as long as any letter of a unit
            elif isinstance(field, Choice | address.Listed):
                box = getattr(field, "box", field)
                box.value = max(address.options(field).items(), key=lambda option: len(option[0]))[1]
    query = panel.address.query
    assert len(parse_qsl(query)) < address.MOST_PARTS / 2
    assert 1500 < len(query) < address.LONGEST / 2
    panel.made["What wire?"].log.name.text.value = "x" * address.LONGEST
    assert panel.address.query == ""  # an address that the page itself would refuse is not written, and that is said
    assert "too long" in panel.address.note
    panel.made["What wire?"].log.name.text.value = ""
    assert panel.address.note == ""


def test_show_and_hear_and_what_a_blind_test_keeps_to_itself() -> None:
    first, second = ShowAndHearPanel(), ShowAndHearPanel()
    assert whole(first) == {"came": "", "hash": ""}
    texts = {
        "units": "feet", "a-size": "22 AWG", "b-metal": "cca-10", "b-length": "10", "a-price": "0.35",
        "speaker": address.name(first.speaker.options[1][1]), "power": "0.2 kW", "sound": "kick",
        "question": "louder", "questions": "8",
    }  # fmt: skip
    assert address.fill(first.fields(), texts) == []
    again(first, second)
    assert all_texts(second) == all_texts(first)
    for part in ("told", "picture", "numbers"):
        assert getattr(second, part).value == getattr(first, part).value
    before = whole(first)
    first.blind.start()
    for trial in range(8):
        first.blind.take(first.blind.player.version, first.blind.player.asks[trial % 2])
        first.address.changed()
        assert whole(first) == before
    assert first.blind.said
    assert str(first.blind._seed) not in str(before)


def test_practice() -> None:
    first, second = PracticePanel(seed=1), PracticePanel(seed=2)
    assert set(parse_qsl(first.address.query)) == {
        ("problem", f"{address.name(first.problems.problem.kind.key)}.{first.problems.problem.seed}"),
        ("units", "metres"),
        ("sizes", "awg"),
    }
    first.progress = first.progress.counted("loop", right=True, tries=1)
    first.problems.kind.value = "drop"
    first.sheet.seed.text.value = "4711"
    first.sheet.key.value = False
    first.sheet.kinds.value = ("fuse", "drop")
    first.lessons.which.value = list(dict(first.lessons.which.options).values())[2]
    first.lessons.entries[0].text.value = first.lessons.entries[0].show(first.lessons.entries[0]._stops[-1])
    first.bar.value = "Sheet for a class"
    again(first, second)
    assert all_texts(second) == all_texts(first)
    assert second.problems.text.value == first.problems.text.value
    assert second.sheet.shown.value == first.sheet.shown.value
    assert second.lessons.told.value == first.lessons.told.value
    assert second.progress == first.progress
    assert second.kept.shown.value == first.kept.shown.value


def test_a_problem_that_is_done_is_not_asked_again_and_a_link_is_nobodys_playing() -> None:
    panel = PracticePanel(seed=1)
    assert come(panel, "problem=loop.7&tab=lessons&tests-for-a-class.x=1").count("tests-for-a-class.x") == 1
    assert (panel.problems.problem.kind.key, panel.problems.problem.seed) == ("loop", 7)
    shown = panel.problems.problem.shown(panel.problems.problem.drawn.answer)
    panel.problems.answer.take({"answer": shown, "to": "loop.7"})
    assert "problem" not in dict(parse_qsl(panel.address.query))
    assert come(panel, "kind=fuse") == ""
    assert panel.problems.problem.kind.key == "fuse"
    assert come(panel, f"lessons.lesson={address.name(LESSONS[1])}") == ""
    assert panel.lessons.key == LESSONS[1]
    assert panel.progress.lessons == frozenset()
    for wrong in ("problem=loop.0", "problem=loop.x", "problem=none.3", "problem="):
        assert "role='alert'" in come(panel, wrong)


PAGES = (OneRunPanel, BenchPanel, ShowAndHearPanel, PracticePanel, WholeVehiclePanel, HouseRulesPanel)
BEGUN_ANEW = {
    "Open it all the same, to correct it here",
    "Start the blind test",
}  # of a file or a test that is not kept
LOOKED_AT = {"More: metal, temperature, joints …", "Sizes compared …", MORE}  # what is folded out, no entry


@pytest.mark.parametrize("page", PAGES)
def test_what_is_acted_on_has_a_name_for_the_next_load(page: type) -> None:
    """Else an act that the address does not have yet would be lost with the kernel."""
    unsolved = {"work": lambda *_what: iter(())} if page is WholeVehiclePanel else {}
    panel, seen = page(**unsolved), set()
    for tab in panel.bar.pairs if hasattr(panel, "bar") else [("", "")]:
        if tab[1]:
            panel.bar.value = tab[1]
        left = [panel.view]
        while left:  # what the page shows
            widget = left.pop()
            if widget not in seen:
                seen.add(widget)
                left += getattr(widget, "children", ())
    panel.address.acted()
    acted_on = [widget for widget in seen if isinstance(widget, Actable)]
    nameless = [widget for widget in acted_on if not widget.kept_as]
    read_only = (address.Address, Numbers, FaultList, Download, Player, HandOn, HandBack)
    assert {widget.description for widget in nameless if not isinstance(widget, read_only)} <= BEGUN_ANEW | LOOKED_AT
    names = [widget.kept_as for widget in acted_on if widget.kept_as]
    assert len(names) == len(set(names)) > 2


def test_nothing_a_person_does_goes_beside_the_acts() -> None:
    """What is sent otherwise is lost with the connection: what a browser keeps, a sound asked for, the keypad."""
    beside = {
        path.name
        for path in (ROOT / "dashboards").rglob("*.js")
        if path.name != "acts.js" and re.search(r"model\.send\(|save_changes", path.read_text())
    }
    assert beside == {"kept.js", "player.js", "keypad.js"}


def test_an_answer_is_given_again_to_the_problem_that_it_was_to() -> None:
    panel = PracticePanel(seed=1)
    loop_problem = problem("loop", 7)
    right = {"answer": loop_problem.shown(loop_problem.drawn.answer), "to": "loop.7"}
    panel.problems.answer.take(right)  # pressed before another problem came
    assert panel.progress == Progress()
    assert "problem before" in panel.problems.answer.reply
    panel.address.take({"again": [["answer", right]]})
    assert panel.problems.number == "loop.7"
    assert panel.problems.answer.typed == right["answer"]
    assert panel.progress.of("loop").solved == 1
    panel.address.take({"again": [["answer", {"typed": "0.2 oh", "to": "drop.3"}]]})  # not yet handed in
    assert panel.problems.number == "drop.3"
    assert panel.problems.answer.typed == "0.2 oh"
    assert panel.problems.answer.reply == ""


def test_a_cable_is_chosen_again_once_the_plan_is_solved() -> None:
    tab, names = CablesTab(), ["Door cable", "Boot cable"]
    kind = tab.type.pairs[1]
    tab.which.again({"label": names[1]})
    tab.type.again({"label": kind[0]})
    assert tab.part.write() == urlencode({names[1]: kind[1]})
    tab.which.offer(names)
    assert tab.which.value == tab.looked_at.write() == names[1]
