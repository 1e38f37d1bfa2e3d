"""The page Practice without a browser: answers, hints, solutions, sheets, lessons, progress and its file."""

from __future__ import annotations

import json
import re
from typing import Any

import numpy as np
import pytest

from dashboards.panels.controls.files import Download
from dashboards.panels.practice import lessons, problem_view
from dashboards.panels.practice.lesson_tab import LessonTab
from dashboards.panels.practice.page import PROBLEMS, PROGRESS, PracticePanel
from dashboards.panels.practice.problem_tab import MIXED, ProblemTab
from dashboards.panels.practice.problem_view import unbroken
from dashboards.panels.practice.progress import progress_table
from dashboards.panels.practice.sheet import SheetTab, to_file, to_html
from tests.support.sentences import words_a_sentence
from wirecalc import tables
from wirecalc.errors import InputError
from wirecalc.practice import progress
from wirecalc.practice.kinds import KINDS, problem, sheet
from wirecalc.practice.progress import LESSONS, Progress, Score, from_json, to_json
from wirecalc.wire.conductor import awg, conductor


def ask(tab: ProblemTab, typed: str) -> str:
    """Type an answer and press Enter; what is said."""
    tab.answer.take({"answer": typed, "to": tab.number})
    return tab.answer.reply


@pytest.fixture
def told() -> list[tuple[str, bool, int]]:
    return []


@pytest.fixture
def tab(told: list[tuple[str, bool, int]]) -> ProblemTab:
    made = ProblemTab(np.random.default_rng(5), lambda *attempt: told.append(attempt))
    made.kind.value = "loop"
    return made


def right(tab: ProblemTab) -> str:
    return tab.problem.shown(tab.problem.drawn.answer)


def hidden(widget: Any) -> bool:
    return "wc-shut" in widget._dom_classes


# --- one problem ----------------------------------------------------------------------------------------------


def test_a_mistake_gets_its_hint_then_the_solution_opens_then_right(tab: ProblemTab, told: list[Any]) -> None:
    mistake = tab.problem.drawn.mistakes[0]
    assert mistake.hint in ask(tab, tab.problem.shown(mistake.value))
    assert hidden(tab.show)
    assert "worked solution can be opened" in ask(tab, "999 ohm")
    assert not hidden(tab.show)
    assert told == []
    reply = ask(tab, right(tab))
    assert "Right" in reply
    assert "role='alert'" not in reply
    assert told == [("loop", True, 3)]
    tab.show.click()
    assert unbroken(right(tab)) in tab.worked.value
    assert told == [("loop", True, 3)]  # looking afterwards takes nothing away


def test_enter_after_right_goes_on(tab: ProblemTab, told: list[Any]) -> None:
    first = tab.problem
    ask(tab, right(tab))
    assert tab.answer.button == "Next problem"
    cleared = tab.answer.cleared
    ask(tab, "anything")
    assert tab.problem is not first
    assert tab.answer.button == "Check"
    assert tab.answer.reply == ""
    assert tab.answer.cleared == cleared + 1
    assert told == [("loop", True, 1)]


def test_what_cannot_be_read_is_no_try_and_is_never_markup(tab: ProblemTab, told: list[Any]) -> None:
    for typed in ("0.3", "<b>4", "4 V", "", "x" * 199):
        reply = ask(tab, typed)
        assert "role='alert'" in reply
        assert "<b>" not in reply
        assert "Traceback" not in reply
    assert hidden(tab.show)
    ask(tab, right(tab))
    assert told == [("loop", True, 1)]


def test_a_solution_looked_at_or_a_problem_left_is_not_solved(tab: ProblemTab, told: list[Any]) -> None:
    ask(tab, "999 ohm")
    ask(tab, "998 ohm")
    tab.show.click()
    assert told == [("loop", False, 3)]
    assert "Right" in ask(tab, right(tab))
    assert told == [("loop", False, 3)]  # once a problem
    tab.another.click()
    ask(tab, "999 ohm")
    tab.another.click()
    assert told[1:] == [("loop", False, 2)]
    tab.another.click()  # not tried at all
    assert len(told) == 2


def test_a_fault_of_ours_is_said_in_words(tab: ProblemTab, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wirecalc.practice.problem.Problem.mark", lambda *_: 1 / 0)
    reply = ask(tab, "1 ohm")
    assert "fault of the page" in reply
    assert "division" not in reply


def test_mixed_asks_many_kinds_and_a_choice_only_its_own() -> None:
    made = ProblemTab(np.random.default_rng(1), lambda *_: None)
    assert made.kind.value == MIXED
    seen = set()
    for _ in range(80):
        made.another.click()
        seen.add(made.problem.kind.key)
    assert len(seen) > 14
    made.practise("fuse")
    assert made.problem.kind.key == "fuse"
    before = made.problem
    made.practise("fuse")
    assert made.problem.kind.key == "fuse"
    assert made.problem is not before


def test_two_pages_do_not_ask_the_same() -> None:
    first, second = PracticePanel(), PracticePanel()
    assert first.problems.problem.drawn.text != second.problems.problem.drawn.text


@pytest.mark.parametrize("key", sorted(KINDS))
def test_every_problem_and_its_solution_are_drawn(key: str) -> None:
    exercise = problem(key, 4)
    asked, solved, line = problem_view.text(exercise), problem_view.solution(exercise), problem_view.key_line(exercise)
    assert "class='wc-drawn'" in asked
    assert ("class='wc-read'" in asked) == (key == "plot")
    assert unbroken(exercise.shown(exercise.drawn.answer)) in solved
    assert unbroken(exercise.shown(exercise.drawn.answer)) in line
    for work in exercise.drawn.work():
        for step in work.steps:
            assert step.title in solved.replace("&#x27;", "'")
        assert work.steps[0].inputs == () or "<dt>" in solved


def test_the_chart_is_to_scale() -> None:
    exercise = problem("plot", 4)
    assert exercise.drawn.curves is not None
    drawing = problem_view.svg(exercise.drawn.curves)
    lines = re.findall(r"<polyline points='([^']+)'", drawing)
    assert len(lines) == 4
    ticks = {float(text): float(y) for y, text in re.findall(r"y='([\d.]+)' text-anchor='end'>([\d.]+)<", drawing)}
    (low, low_y), *_, (high, high_y) = sorted(ticks.items())
    for points, (_, values) in zip(lines, exercise.drawn.curves.lines, strict=True):
        end_y = float(points.split()[-1].split(",")[1]) + 4  # the figures stand 4 under their line
        read = low + (end_y - low_y) / (high_y - low_y) * (high - low)
        assert read == pytest.approx(values[-1], abs=0.01 * high)


def test_no_line_ends_between_a_number_and_its_unit() -> None:
    units = "AWG|%|°C|Ω|mΩ|kΩ|A|mA|V|mV|W|mm²?|m|ft|dB|Hz|kHz|pF"
    for key in KINDS:
        shown = problem_view.text(problem(key, 3), feet=True, mm2=True).partition("<svg")[0]
        shown += problem_view.solution(problem(key, 3)).partition("<ol")[0]
        assert not re.findall(rf"[0-9] (?:{units})(?![\w/])", shown), key


def test_words_open_their_meaning_and_keep_ids_apart() -> None:
    sentence = "A 12 AWG run, one way, costs 0.3 dB. The <b>coil</b> pulls in."
    markup = problem_view.words(sentence, "a")
    names = re.findall(r"wc-word' popovertarget='([^']+)'>([^<]+)<", markup)
    assert {"AWG", "run", "one way", "decibel", "coil", "pull in"} == {word for _, word in names}
    assert all(f"popover id='{key}'" in markup for key, _ in names)
    assert not set(re.findall(r"id='([^']+)'", markup)) & set(
        re.findall(r"id='([^']+)'", problem_view.words(sentence, "b"))
    )
    assert problem_view.words("Nothing here.", "a") == ""


def test_no_term_of_the_trade_is_left_unexplained() -> None:
    """Each problem's and lesson's terms have a meaning; the list of what counts as a term is the reviewer's."""
    terms = ("AWG", "loop", "stranded", "one way", "dB", "decibel", "damping factor", "coil", "series", "parallel",
             "subwoofer", "fuse", "relay", "pulls in", "head unit", "turn-on", "processor", "impedance", "micrometer",
             "shielded", "pF", "trim", "bundle", "gauge", "load")  # fmt: skip
    texts = [problem(key, 6).drawn.text for key in KINDS]
    texts += [f"{row['text']} {row['play']}" for row in tables.load("lessons").to_dict("records")]
    for text in texts:
        for term in terms:
            if re.search(rf"(?<!\w){term}(?!\w)", text):
                assert any(forms.search(term) for _, forms, _ in problem_view._WORDS), (term, text)


# --- the sheet ------------------------------------------------------------------------------------------------


def test_a_teachers_number_makes_the_same_sheet() -> None:
    first, again = SheetTab(), SheetTab()
    assert first.shown.value == again.shown.value
    first.seed.text.value = "4711"
    assert first.shown.value != again.shown.value
    again.seed.text.value = "4711"
    assert first.shown.value == again.shown.value
    assert "Practice sheet 4711" in first.shown.value


def test_the_key_has_every_answer_at_the_end_on_a_page_of_its_own() -> None:
    problems = sheet(12, list(KINDS), len(KINDS))
    drawn = to_html(problems, 12, key=True)
    asked, _, key = drawn.partition("<section class='wc-key'>")
    assert asked.count("<p class='wc-asked'>") == len(KINDS) == key.count("<li>")
    for exercise in problems:
        assert f"<b>{unbroken(exercise.shown(exercise.drawn.answer))}</b>" in key
    assert "wc-key'>" not in to_html(problems, 12, key=False)
    file = to_file(problems, 12, key=True).decode()
    assert re.search(r"\.wc-key \{[^}]*break-before: page", file)
    assert not re.findall(r"(?:src|href)=|url\(|@import", file)  # needs no other file
    assert "Local codes" in file


def test_a_sheets_entries(monkeypatch: pytest.MonkeyPatch) -> None:
    made = SheetTab()
    before = made.shown.value
    made.count.text.value = "61"
    assert "60" in made.count.note.value
    assert made.shown.value == before
    made.count.text.value = "3"
    assert made.shown.value.count("wc-asked") == 3
    made.kinds.value = ()
    assert "Tick what the sheet shall ask" in made.alert.value
    sent: list[Any] = []
    monkeypatch.setattr(Download, "send", lambda _self, content, buffers=None: sent.append((content, buffers)))
    made.save.take({"make": True})
    assert "Tick" in sent[0][0]["note"]
    made.kinds.take(
        {"label": dict(zip(dict(made.kinds.pairs).values(), made.kinds.labels, strict=True))["relay"], "on": True}
    )
    assert made.alert.value == ""
    made.key.value = False
    assert "Answer key" not in made.shown.value
    made.save.take({"make": True})
    assert sent[1][0]["name"] == "practice-sheet-1.html"
    assert b"Answer key" not in sent[1][1][0]


# --- lessons --------------------------------------------------------------------------------------------------


@pytest.fixture
def lesson() -> LessonTab:
    return LessonTab(lambda _key: None, lambda _kind: None)


def test_lessons_are_ordered_short_and_each_has_its_picture() -> None:
    rows = tables.load("lessons").to_dict("records")
    assert 6 <= len(rows) <= 8
    assert [row["lesson"] for row in rows] == list(LESSONS) == list(lessons.PICTURES)
    for row in rows:
        assert row["practise"] in KINDS
        assert len(row["text"].split()) < 75
        assert words_a_sentence(f"{row['text']} {row['play']}") < 20
    meanings = " ".join(tables.load("practice_words")["meaning"])
    assert words_a_sentence(meanings) < 20


@pytest.mark.parametrize("key", LESSONS)
def test_each_slider_changes_picture_and_sentence(key: str, lesson: LessonTab) -> None:
    played: list[str] = []
    lesson.played = played.append
    lesson.which.value = key
    assert not played  # looking is not playing
    for entry in lesson.entries:
        for stop in (0, entry.slider.max):
            before, told_ = [trace.to_plotly_json() for trace in lesson.charts.drawn[0].data], lesson.told.value
            entry.slider.value = stop
            after = [trace.to_plotly_json() for trace in lesson.charts.drawn[0].data]
            assert str(after) != str(before), entry.text.description
            assert lesson.told.value != told_, entry.text.description
            assert lesson.alert.value == ""
    assert set(played) == {key}
    assert "nan" not in lesson.told.value
    layout = lesson.charts.drawn[0].layout
    assert layout.meta == layout.title.text
    assert layout.xaxis.hoverformat == layout.yaxis.hoverformat == ",.3~r"  # not 67.18982 mΩ under the pointer


def test_lessons_go_on_and_keep_what_was_set(lesson: LessonTab) -> None:
    lesson.entries[0].text.value = "7.5 m"
    lesson.on.click()
    assert lesson.key == LESSONS[1]
    lesson.back.click()
    assert lesson.entries[0].value == 7.5
    lesson.back.click()
    assert lesson.key == LESSONS[-1]
    assert len(lesson.charts.drawn) == 1  # one chart for all


def test_a_wrong_entry_leaves_the_picture_and_is_no_play(lesson: LessonTab) -> None:
    played: list[str] = []
    lesson.played = played.append
    before = lesson.told.value
    lesson.entries[0].text.value = "5 V"
    assert "voltage" in lesson.entries[0].note.value
    assert lesson.told.value == before
    assert not played
    lesson.entries[1].text.value = "0.8 mm2"
    assert "Nearest" in lesson.entries[1].note.value
    lesson.entries[1].text.value = "4 mm2"
    lesson.entries[0].text.value = "18 ft"
    assert "5.49 m" in lesson.entries[0].note.value
    assert lesson.told.value != before
    assert played == ["return"]


def test_the_sentences_say_what_wirecalc_computes() -> None:
    assert "loop of 5 m has 134 mΩ" in lessons.way_back(5.0, ("AWG", 16.0))[1]
    assert "0.32 dB less" in lessons.decibels(0.15, 4.0)[1]
    assert "92.9 % of the watts" in lessons.decibels(0.15, 4.0)[1]
    assert "stays open" in lessons.pull_in(120.0, 12.0)[1]
    assert "pulls in" in lessons.pull_in(20.0, 1.0)[1]
    assert "No standard fuse" in lessons.bundle(12, 80.0)[1]
    assert "less than at 20 °C" in lessons.temperature(0.0, 5.0)[1]


def test_the_single_size_that_does_as_well_does_and_the_next_thinner_does_not() -> None:
    """Every size of the slider, 1 to 8 side by side; sizes that are sold are even from 26 to 2 AWG, then 1/0 to 4/0."""
    sold = [*range(26, 0, -2), 0, -1, -2, -3]
    for size in range(24, 3, -2):
        for count in range(1, 9):
            (traces, _), told = lessons.parallel(count, ("AWG", float(size)))
            each = awg(size).ohm_per_m_20c / count
            does = [number for number in sold if awg(number).ohm_per_m_20c <= each * (1 + 1e-9)]
            if does:
                assert f"does as well: {awg(does[0]).label} with" in told
                assert traces[1]["name"] == f"one {awg(does[0]).label}"
            else:
                assert "Not even one 4/0 AWG" in told
    assert "does as well: 14 AWG with 8.45 mΩ" in lessons.parallel(2, ("AWG", 18.0))[1]


# --- progress -------------------------------------------------------------------------------------------------


def test_progress_counts() -> None:
    so_far = Progress().counted("loop", right=True, tries=1).counted("loop", right=True, tries=3)
    so_far = (
        so_far.counted("loop", right=False, tries=3).counted("fuse", right=False, tries=2).played("heat").played("heat")
    )
    assert so_far.of("loop") == Score(solved=2, at_once=1, shown=1)
    assert so_far.of("fuse") == Score(shown=1)
    assert so_far.of("relay") == Score()
    assert so_far.lessons == {"heat"}


def test_progress_goes_to_a_file_and_back() -> None:
    so_far = Progress().counted("loop", right=True, tries=1).counted("plot", right=False, tries=4).played("damping")
    assert from_json(to_json(so_far)) == so_far
    full = Progress(
        scores={key: Score(solved=progress.MOST, at_once=progress.MOST, shown=progress.MOST) for key in KINDS},
        lessons=frozenset(LESSONS),
    )
    assert from_json(to_json(full)) == full
    more = full.counted("loop", right=True, tries=1).counted("loop", right=False, tries=1)
    assert more == full  # the counters stop, and the file stays readable
    assert len(to_json(full)) < progress.MOST_BYTES / 4


GOOD = json.loads(to_json(Progress().counted("loop", right=True, tries=1).played("heat")))
FAULTY: list[tuple[Any, str]] = [
    (b"", "JSON"),
    (b"{", "JSON"),
    (b"\xff\xfe", "JSON"),
    (b"[" * 15_000, "JSON"),
    (b" " * (progress.MOST_BYTES + 1), "at most 20000 bytes"),
    (b"[]", "another kind"),
    ({**GOOD, "format": "plan"}, "another kind"),
    ({**GOOD, "version": 2}, "version 2"),
    ({**GOOD, "version": True}, "version True"),
    ({**GOOD, "version": "x" * 500}, "…"),
    ({key: value for key, value in GOOD.items() if key != "lessons"}, "missing"),
    ({**GOOD, "more": 1}, "unknown"),
    ({**GOOD, "problems": []}, "type"),
    ({**GOOD, "lessons": {}}, "type"),
    ({**GOOD, "lessons": ["<b>"]}, "<b>"),
    ({**GOOD, "lessons": [["heat"]]}, "heat"),
    ({**GOOD, "problems": {"x": {"solved": 1, "at_once": 0, "shown": 0}}}, "x"),
    ({**GOOD, "problems": {"loop": {"solved": 1, "at_once": 2, "shown": 0}}}, "at_once"),
    ({**GOOD, "problems": {"loop": {"solved": -1, "at_once": 0, "shown": 0}}}, "solved"),
    ({**GOOD, "problems": {"loop": {"solved": 10**30, "at_once": 0, "shown": 0}}}, "solved"),
    ({**GOOD, "problems": {"loop": {"solved": 1.5, "at_once": 0, "shown": 0}}}, "whole numbers"),
    ({**GOOD, "problems": {"loop": {"solved": 1, "at_once": 0}}}, "whole numbers"),
    ({**GOOD, "problems": {"loop": 3}}, "whole numbers"),
]


@pytest.mark.parametrize(("content", "message"), FAULTY, ids=range(len(FAULTY)))
def test_a_faulty_file_is_refused_and_nothing_is_lost(content: Any, message: str) -> None:
    raw = content if isinstance(content, bytes) else json.dumps(content).encode()
    with pytest.raises(InputError, match="File of your progress") as fault:
        from_json(raw)
    assert message in str(fault.value)
    panel = PracticePanel(1)
    panel.progress = Progress().counted("fuse", right=True, tries=1)
    panel.kept.read.take({"name": "a.json", "size": len(raw), "content": raw})
    assert "role='alert'" in panel.kept.read.note
    assert "<b>" not in panel.kept.read.note
    assert panel.progress == Progress().counted("fuse", right=True, tries=1)


def test_the_page_counts_what_is_done_and_reads_it_again(monkeypatch: pytest.MonkeyPatch) -> None:
    panel = PracticePanel(2)
    ask(panel.problems, right(panel.problems))
    panel.lessons.entries[0].slider.value = 2
    assert "1 problem solved, 1 of 8 lessons" in panel.kept.shown.value
    sent: list[Any] = []
    monkeypatch.setattr(Download, "send", lambda _self, content, buffers=None: sent.append((content, buffers)))
    panel.kept.save.take({"make": True})
    (message, (content,)) = sent[0]
    assert message["name"].endswith(".json")
    other = PracticePanel(3)
    assert "0 problems solved" in other.kept.shown.value
    other.kept.read.take({"name": "practice.json", "size": len(content), "content": content})
    assert other.progress == panel.progress
    assert "1 problem solved, 1 of 8 lessons" in other.kept.shown.value


def test_tabs_stay_where_they_are() -> None:
    panel = PracticePanel(2)
    views = list(panel._views.values())
    assert [hidden(view) for view in views] == [False, True, True, True]
    panel.bar.value = PROGRESS
    assert [hidden(view) for view in views] == [True, True, True, False]
    panel.lessons.which.value = "heat"
    panel.lessons.practise.click()
    assert panel.bar.value == PROBLEMS
    assert panel.problems.problem.kind.key == "fuse"


def test_the_page_in_feet_asks_draws_and_plays_in_feet() -> None:
    panel = PracticePanel(seed=4)
    panel.problems._put(problem("drop", 3), focus=False)
    panel.feet.value = True
    assert unbroken("1 ft (")[1:] in panel.problems.text.value
    assert unbroken("1 ft (")[1:] in panel.sheet.shown.value
    length = next(entry for entry in panel.lessons.entries if entry.text.description == "Length, one way")
    assert length.text.value == "16 ft"
    assert "16.0 ft" in panel.lessons.told.value
    assert panel.progress == Progress()  # to switch is no play
    panel.problems.reveal()
    assert problem_view.METRES in panel.problems.worked.value
    assert problem_view.METRES in panel.sheet.shown.value
    panel.feet.value = False
    assert length.text.value == "5 m"
    assert "0.3048" not in panel.problems.worked.value


def test_whoever_keeps_mm2_reads_and_answers_in_mm2() -> None:
    panel = PracticePanel(seed=4)
    tab = panel.problems
    tab._put(problem("label", 3), focus=False)
    panel.system._heard("mm2")  # what the browser kept
    assert unbroken("0.518 mm² (20 AWG)") in tab.text.value
    assert unbroken("from 0.205 to 21.2 mm² (24 to 4 AWG)") in tab.text.value
    assert unbroken("1 mm² (")[1:] in panel.sheet.shown.value
    gauge = tab.problem.drawn.answer
    area = conductor("AWG", gauge).area_m2 * 1e6
    tab.answer.take({"answer": "0.77 mm2", "to": tab.number})
    assert "a size of the problem" in tab.answer.reply  # no gauge has so much
    tab.answer.take({"answer": f"{area:.3g} mm2", "to": tab.number})
    assert "wc-right" in tab.answer.reply
    assert f"{area:.3g} mm² (" in tab.answer.reply
    assert "sizes=mm2" in panel.address.query
    assert panel.lessons.entries[1].text.value == "1.5 mm²"
    panel.lessons.which.value = "parallel"
    assert panel.lessons.entries[1].text.value == "0.75 mm²"
    assert "does as well: 1.5 mm² with" in panel.lessons.told.value
    panel.system.value = "AWG"
    assert panel.lessons.entries[1].text.value == "18 AWG"
    assert "mm² (" not in tab.text.value


def test_progress_is_a_picture_too() -> None:
    done = Progress().counted("drop", right=True, tries=1).counted("drop", right=True, tries=3)
    shown = progress_table(done.counted("drop", right=False, tries=2))
    for kind in ("wc-at-once", "wc-later", "wc-open"):
        key, table = shown.split("<table")
        assert table.count(f"<rect class='{kind}'") == 1
        assert key.count(f"<rect class='{kind}'") == 1  # its meaning, where a phone shows it too
