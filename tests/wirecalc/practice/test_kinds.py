"""Practice problems: answers accepted, mistakes known by their number, nothing insane, solutions that add up."""

from __future__ import annotations

import math
import re

import pytest

from tests import tried
from tests.support.sentences import words_a_sentence
from tests.support.shown_formulas import FOUR_DIGITS, arithmetic
from wirecalc import runs, units
from wirecalc.advice.size import Job, advise
from wirecalc.advice.stretches import by_house_rules
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.practice.kinds import KINDS, problem, sheet
from wirecalc.practice.problem import DrawnProblem, Mistake, ProblemKind, make_problem
from wirecalc.practice.sizing import fuse_job

SEEDS = range(1, tried(500) + 1)
ALL = sorted(KINDS)
# What an installer would call possible, by kind; in SI units, gauges as their number.
SANE = {
    "loop": (0.01, 1), "diameter": (0.01, 5), "parallel": (0.01, 1), "unlike": (0.01, 1), "temperature": (0.01, 1.5),
    "drop": (0.05, 5), "decibels": (0.4, 2), "power": (30, 290), "damping": (3, 150), "coils": (2, 8),
    "smallest": (6, 18), "plot": (0.05, 3), "fuse": (2, 30), "relay": (6.5, 16), "budget": (0.02, 0.7),
    "lead": (0.002, 0.6), "treble": (40e3, 2e6), "strip": (0.1, 6), "label": (4, 24), "strands": (4, 24),
    "device": (0.8, 3.5),
}  # fmt: skip


def test_there_are_all_the_kinds_that_a_new_installer_needs() -> None:
    assert len(KINDS) >= 14
    asked = {"loop", "drop", "decibels", "power", "parallel", "temperature", "damping", "coils", "smallest", "fuse"}
    assert asked | {"relay", "budget", "strip", "plot", "label"} <= set(KINDS)
    assert len({kind.title for kind in KINDS.values()}) == len(KINDS)


@pytest.mark.no_cover  # the tests below reach the same lines
@pytest.mark.parametrize("key", ALL)
def test_many_seeds(key: str) -> None:
    low, high = SANE[key]
    seen = set()
    for seed in SEEDS:
        exercise = problem(key, seed)
        answer = exercise.drawn.answer
        assert low <= answer <= high, (seed, answer)
        right = exercise.mark(exercise.shown(answer))
        assert right.right, (seed, exercise.shown(answer))
        assert right.mistake is None
        assert len(exercise.drawn.mistakes) >= 2
        for mistake in exercise.drawn.mistakes:
            wrong = exercise.mark(exercise.shown(mistake.value))
            assert not wrong.right, (seed, mistake)
            assert wrong.mistake == mistake, (seed, mistake)
            assert wrong.message == mistake.hint
        seen.add(exercise.drawn.text)
    assert len(seen) > 0.3 * len(SEEDS)  # fresh numbers: hardly any problem comes twice


@pytest.mark.parametrize("key", ALL)
def test_a_seed_makes_the_same_problem_again(key: str) -> None:
    first, again, other = problem(key, 77), problem(key, 77), problem(key, 78)
    assert (first.drawn.text, first.drawn.answer) == (again.drawn.text, again.drawn.answer)
    assert first.drawn.mistakes == again.drawn.mistakes
    assert first.drawn.text != other.drawn.text


@pytest.mark.parametrize("key", ALL)
@pytest.mark.parametrize("seed", range(1, 13))
def test_the_worked_solution_leads_to_the_answer(key: str, seed: int) -> None:
    exercise = problem(key, seed)
    works = exercise.drawn.work()
    if exercise.kind.quantity is not None:
        assert works[-1].steps[-1].value == pytest.approx(exercise.drawn.answer, rel=1e-9)
    for work in works:
        assert work.value == work.steps[-1].value
        for step in work.steps:
            assert step.source or not step.symbol, step
            left, balances, right = step.filled.partition(" = ")  # a balance has two sides, and is solved for its value
            if balances:
                assert arithmetic(left) == pytest.approx(arithmetic(right), rel=1e-3), step  # a small difference of two
            elif step.filled:
                assert arithmetic(step.filled) == pytest.approx(step.value, rel=FOUR_DIGITS), step
        for given in (each for step in work.steps for each in step.inputs):
            assert given.origin, given


def test_the_solution_of_a_size_contradicts_neither_itself_nor_the_shelf() -> None:
    """Numbers are read from the text and the answer's words; a thinner size is on the shelf or said not to be."""
    number = r"(\d+(?:\.\d+)?)"
    decided = set()
    for seed in range(1, 40):
        exercise = problem("smallest", seed)
        text, closing, gauge = exercise.drawn.text, exercise.drawn.closing, int(exercise.drawn.answer)
        loss, damping, least, shelf = re.search(  # type: ignore[union-attr]
            rf"at most {number} dB, a damping factor of {number} .* pulls (\d+) AWG or thicker.* of ([\d, ]+) AWG", text
        ).groups()
        sizes = [int(size) for size in shelf.split(",")]
        assert gauge in sizes
        assert gauge <= int(least)
        assert closing.startswith(f"Pull {gauge} AWG")
        costs, leaves = re.search(rf"It costs {number} dB and leaves a damping factor of {number}\.", closing).groups()  # type: ignore[union-attr]
        assert float(costs) <= float(loss)
        assert float(leaves) >= float(damping)
        works = exercise.drawn.work()
        fails = re.search(rf"(\d+) AWG (costs|leaves a damping factor of) {number}", closing)
        decided.add(fails is None)
        if fails is None:  # the shop's least
            assert gauge == int(least)
            thinner = re.search(r"would allow (\d+) AWG(, which is not on the shelf)?\.", closing)
            assert thinner is not None
            assert int(thinner[1]) > gauge
            assert (int(thinner[1]) in sizes) == (thinner[2] is None)
            assert [round(work.value, 2) for work in works] == pytest.approx([float(costs), float(leaves)], abs=0.05)
        else:
            assert int(fails[1]) == sizes[sizes.index(gauge) - 1]  # the next thinner on the shelf
            over = float(fails[3]) > float(loss) if fails[2] == "costs" else float(fails[3]) < float(damping)
            assert over
            assert works[0].value == pytest.approx(float(fails[3]), abs=0.05)
        assert all(re.match(r"\d+ AWG: ", work.title) for work in works)
    assert decided == {True, False}


def power_of(text: str) -> tuple[float, float, float, bool]:
    """Watts, ohms, metres and whether it is a subwoofer, read from the text of "which size"."""
    watts, ohm, what, feet = re.search(  # type: ignore[union-attr]
        r"gives (\d+) W to the (\d+) Ω (\w+).* (\d+) ft of", text
    ).groups()
    return float(watts), float(ohm), 0.3048 * float(feet), what == "subwoofer"


def test_the_right_size_is_what_the_pages_advise_and_nothing_that_overheats() -> None:
    for seed in range(1, 25):
        exercise = problem("smallest", seed)
        watts, ohm, metres, bass = power_of(exercise.drawn.text)
        run = (runs.SubwooferRun if bass else runs.SpeakerRun)(
            amplifier=Amplifier(power_w=watts, rated_ohm=ohm, damping_factor=200), load_ohm=ohm
        )
        advice = advise(Job(run=run, route=by_house_rules(run.kind, metres)))
        assert advice.pull is not None
        assert advice.pull.size == ("AWG", exercise.drawn.answer)
        assert advice.pull.full_c <= 80
        assert 2 <= ohm <= 8


def test_the_right_fuse_is_what_the_pages_advise() -> None:
    for seed in range(1, 25):
        text = problem("fuse", seed).drawn.text
        draw_a, size, kept = re.search(  # type: ignore[union-attr]
            r"draws (\d+) A, steady\. Its (\d+) AWG.*keeps (\d+) %", text
        ).groups()
        fuse = advise(fuse_job(float(draw_a), int(size), 2.0)).asked
        assert fuse is not None
        assert fuse.fuse is not None
        assert fuse.fuse.rating_a == problem("fuse", seed).drawn.answer >= float(draw_a) / 0.8 / (float(kept) / 100)


def test_a_wrong_label_is_found_by_the_sample() -> None:
    for key, measure in (("label", "ohm_per_m"), ("strands", "area_mm2")):
        for seed in range(1, 40):
            exercise = problem(key, seed)
            marked, true, sample = exercise.drawn.work()
            assert sample.measure == measure
            assert sample.value == pytest.approx(true.value, rel=0.04)
            assert abs(math.log(sample.value / marked.value)) > 0.3  # two gauges are a factor of 1.59


# By hand with a pocket calculator from the text alone, as its reader does it.
BY_HAND = [
    ("loop", r"\((?P<r>[\d.]+) mΩ.*run is (?P<ft>\d+) ft", lambda n: 2 * n["ft"] * 0.3048 * n["r"] / 1e3),
    ("diameter", r"reads (?P<d>[\d.]+) mm.*is (?P<L>\d+) m long",
     lambda n: 0.01724 * n["L"] / (math.pi / 4 * n["d"] ** 2)),
    ("parallel", r"\((?P<r>[\d.]+) mΩ.*join (?P<n>\d) of.*run is (?P<L>\d+) m",
     lambda n: 2 * n["L"] * n["r"] / 1e3 / n["n"]),
    ("unlike", r"\((?P<a>[\d.]+) mΩ.*\((?P<b>[\d.]+) mΩ.*are (?P<L>\d+) m",
     lambda n: 2 * n["L"] / 1e3 / (1 / n["a"] + 1 / n["b"])),
    ("temperature", r"\((?P<r>[\d.]+) mΩ.*runs (?P<L>\d+) m.*at (?P<T>\d+) °C\. Copper",
     lambda n: 2 * n["L"] * n["r"] / 1e3 * (1 + 0.00393 * (n["T"] - 20))),
    ("drop", r"draws (?P<I>\d+) A.*\((?P<r>[\d.]+) mΩ.* (?P<L>\d+) m long",
     lambda n: n["I"] * 2 * n["L"] * n["r"] / 1e3),
    ("decibels", r"(?P<Z>\d+) Ω speaker.*measures (?P<w>\d+) mΩ",
     lambda n: 20 * math.log10((n["Z"] + n["w"] / 1e3) / n["Z"])),
    ("power", r"gives (?P<P>\d+) W to an? (?P<Z>\d+) Ω.*loop of (?P<w>\d+) mΩ",
     lambda n: n["P"] * (n["Z"] / (n["Z"] + n["w"] / 1e3)) ** 2),
    ("damping", r"factor of (?P<D>\d+) at (?P<Z>\d+) Ω.*\((?P<r>[\d.]+) mΩ.* (?P<L>\d+) m one way",
     lambda n: n["Z"] / (n["Z"] / n["D"] + 2 * n["L"] * n["r"] / 1e3)),
    ("device", r"draws (?P<P>\d+) W at.*\((?P<r>[\d.]+) mΩ.* (?P<L>\d+) m one way.*with (?P<V>[\d.]+) V",
     lambda n: (n["V"] - math.sqrt(n["V"] ** 2 - 4 * n["P"] * 2 * n["L"] * n["r"] / 1e3)) / 2),
    ("relay",
     r"coil of (?P<R>\d+) Ω.*in at (?P<V>[\d.]+) V.*at (?P<T>\d+) °C\. A pair.*\((?P<r>[\d.]+) mΩ.* (?P<L>\d+) m one",
     lambda n: n["V"] * (1 + 0.00393 * (n["T"] - 20)) + n["V"] / n["R"] * 2 * n["L"] * n["r"] / 1e3),
    ("treble", r"impedance of (?P<s>[\d.]+) kΩ.*input of (?P<i>\d+) kΩ.*is (?P<L>\d+) m of.*, (?P<c>\d+) pF",
     lambda n: (1 / n["s"] + 1 / n["i"]) / 1e3 / (2 * math.pi * n["L"] * n["c"] * 1e-12)),
    ("budget", r"give (?P<m>\d+) mA.*wakes (?P<n>\d) amplifiers of (?P<a>\d+) mA.*processor of (?P<b>\d+) mA",
     lambda n: (n["m"] - n["n"] * n["a"] - n["b"]) / 1e3),
    ("lead",
     r"\((?P<r>[\d.]+) mΩ.*After (?P<x>\d+) m.*amplifier of (?P<a>\d+) mA.*on for (?P<y>\d+) m.*of (?P<b>\d+) mA",
     lambda n: n["r"] / 1e6 * (n["x"] * (n["a"] + n["b"]) + n["y"] * n["b"])),
    ("strip",
     r"strip of (?P<s>\d+) m.*draws (?P<i>[\d.]+) A.*have (?P<q>\d+) mΩ.*\((?P<r>[\d.]+) mΩ.* (?P<L>\d+) m one",
     lambda n: n["s"] * n["i"] * (2 * n["L"] * n["r"] + n["q"] * n["s"] / 2) / 1e3),
]  # fmt: skip


@pytest.mark.parametrize(("key", "numbers", "sum_"), BY_HAND, ids=[row[0] for row in BY_HAND])
def test_the_text_has_all_that_the_answer_needs(key: str, numbers: str, sum_) -> None:  # type: ignore[no-untyped-def]
    for seed in range(1, 60):
        exercise = problem(key, seed)
        match = re.search(numbers, exercise.drawn.text)
        assert match, exercise.drawn.text
        by_hand = sum_({name: float(text) for name, text in match.groupdict().items()})
        assert by_hand == pytest.approx(exercise.drawn.answer, rel=0.6 * exercise.kind.tolerance), exercise.drawn.text


def test_coils_by_hand() -> None:
    for seed in range(1, 60):
        text = problem("coils", seed).drawn.text
        count, coil, inner, outer = re.search(  # type: ignore[union-attr]
            r"holds (\d) .*coils of (\d+) Ω.*wired in (\w+)\. Then (?:both|all \1) subwoofers are wired in (\w+)", text
        ).groups()
        subwoofer_ohm = float(coil) * {"series": 2, "parallel": 0.5}[inner]
        by_hand = subwoofer_ohm * {"series": float(count), "parallel": 1 / float(count)}[outer]
        assert problem("coils", seed).drawn.answer == pytest.approx(by_hand)


def test_the_plot_holds_the_answer() -> None:
    exercise = problem("plot", 5)
    curves = exercise.drawn.curves
    assert curves is not None
    at, size = re.search(r"run of ([\d.]+) m, one way, with (\d+ AWG)", exercise.drawn.text).groups()  # type: ignore[union-attr]
    line = dict(curves.lines)[size]
    assert sorted(line) == list(line)
    below = int((curves.x <= float(at)).sum()) - 1
    assert line[below] <= exercise.drawn.answer * (1 + 1e-9) <= line[below + 1]
    assert len(curves.lines) == 4


@pytest.mark.parametrize("typed", ["0.31 ohm", "310 mΩ", "310 mohm", "0,31 Ω", ".31 ohms", "0.314 Ω"])
def test_an_answer_is_read_in_any_of_its_units(typed: str) -> None:
    draw = DrawnProblem(text="", answer=0.31, mistakes=(), work=tuple)
    kind = ProblemKind(
        key="x", title="x", quantity=units.RESISTANCE, low=0, high=1, draw=lambda _: draw, nudge="Think."
    )
    assert make_problem(kind, 1).mark(typed).right


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("0.31", "no unit"),
        ("310 V", "voltage"),
        ("", "Nothing"),
        ("abc", "didn’t understand “abc”; try a number such as 4 ohm or 255 mohm."),  # said once
        ("9**9 ohm", "didn’t understand"),
    ],
)
def test_what_cannot_be_read_is_no_try(typed: str, message: str) -> None:
    with pytest.raises(InputError, match="Your answer") as fault:
        problem("loop", 1).mark(typed)
    assert message in str(fault.value)


def test_a_size_may_be_written_in_any_way_but_not_as_an_area() -> None:
    exercise = problem("smallest", 3)
    gauge = f"{exercise.drawn.answer:g}"
    assert all(exercise.mark(typed).right for typed in (gauge, f"{gauge} AWG", f"#{gauge}", f"{gauge} ga"))
    with pytest.raises(InputError, match="AWG"):
        exercise.mark("4 mm2")
    wrong = exercise.mark("4/0")
    assert not wrong.right
    assert wrong.message == exercise.kind.nudge


def test_hints_for_what_is_no_known_mistake() -> None:
    exercise = problem("drop", 4)
    answer = exercise.drawn.answer
    for typed, word in ((answer * 1000, "thousand"), (answer / 1000, "thousand"), (answer * 1.05, "close")):
        assert word in exercise.mark(f"{typed:.6f} V").message
    assert exercise.mark("40 V").message == exercise.kind.nudge
    assert exercise.mark(f"-{answer:.4f} V").message == exercise.kind.nudge


@pytest.mark.parametrize("seed", [0, -1, 1.5, 1_000_000, math.nan])
def test_a_seed_out_of_range_is_refused(seed: float) -> None:
    with pytest.raises(InputError, match="Number of the problem"):
        problem("loop", seed)  # type: ignore[arg-type]


def test_unknown_kind() -> None:
    with pytest.raises(InputError, match="nothing"):
        problem("nothing", 1)


def test_a_kind_that_only_makes_unclear_problems_is_a_fault_of_ours() -> None:
    same = DrawnProblem(text="", answer=1.0, mistakes=(Mistake(key="a", value=1.01, hint=""),), work=tuple)
    kind = ProblemKind(key="x", title="x", quantity=units.VOLTAGE, low=0, high=2, draw=lambda _: same, nudge="")
    with pytest.raises(RuntimeError, match="no clear problem"):
        make_problem(kind, 1)


def test_a_sheet_is_the_same_for_a_class() -> None:
    kinds = ["loop", "fuse", "plot"]
    first, again, other = (sheet(seed, kinds, 7) for seed in (41, 41, 42))
    assert [exercise.drawn.text for exercise in first] == [exercise.drawn.text for exercise in again]
    assert [exercise.drawn.text for exercise in first] != [exercise.drawn.text for exercise in other]
    assert [exercise.kind.key for exercise in first] == ["loop", "fuse", "plot", "loop", "fuse", "plot", "loop"]
    assert [exercise.drawn.text for exercise in sheet(41, kinds, 4)] == [exercise.drawn.text for exercise in first[:4]]


@pytest.mark.parametrize(
    ("seed", "kinds", "count", "message"),
    [
        (0, ["loop"], 3, "sheet"),
        (1, [], 3, "Kinds"),
        (1, ["loop"], 0, "problems"),
        (1, ["loop"], 61, "60"),
        (1, ["x"], 1, "x"),
    ],
)
def test_a_sheet_that_cannot_be_made(seed: int, kinds: list[str], count: int, message: str) -> None:
    with pytest.raises(InputError, match=message):
        sheet(seed, kinds, count)


def test_sentences_are_short() -> None:
    for key in ALL:
        exercise = problem(key, 9)
        assert words_a_sentence(exercise.drawn.text) < 20, key
        assert words_a_sentence(" ".join(each.hint for each in exercise.drawn.mistakes)) < 20, key
        assert words_a_sentence(exercise.kind.nudge) < 20, key


# --- sense: what a shop would say of the scenario --------------------------------------------------------------------

LEAST_AWG = {1000: 10, 500: 12, 250: 14, 100: 18}
"""For so many watts, the thinnest pair that a problem may pull: as the house rules have it, or one size thinner."""
_ARTICLE = re.compile(r"\b[Aa] (?:8|11|18)(?!\d)|\b[Aa]n (?!8|11|18|[aeiouO])\w")


@pytest.mark.parametrize("key", KINDS)
def test_no_scenario_that_a_shop_would_laugh_at(key: str) -> None:
    """Power on thin wire, loads that no amplifier sees, a heavy pair for a signal, and the article before a number."""
    for seed in range(1, 41):
        text = problem(key, seed).asked()
        assert not re.search(
            r"\b[Aa] (?:8|11|18)(?!\d)|\b[Aa]n (?!8|11|18|amplifier|old|output|input|impedance|Orlo)\w", text
        )
        assert not re.search(r"from the van of|hangs on|loudspeaker", text)
        for ohm in re.findall(r"(\d+(?:\.\d+)?) Ω (?:speaker|subwoofer)", text):
            assert 2 <= float(ohm) <= 8
        watts = [float(number) for number in re.findall(r"(\d+) W to ", text)]
        pulled = [int(number) for number in re.findall(r"pair of (\d+) AWG", text)]
        for most, least in LEAST_AWG.items():
            if watts and max(watts) >= most:
                assert all(number <= least for number in pulled)
        if key in ("lead", "budget"):
            assert all(18 <= int(number) <= 22 for number in re.findall(r"(\d+) AWG", text))
        if key == "treble":
            assert "AWG" not in text  # no gauge is judged on a line signal
        if key == "coils":
            assert 2 <= problem(key, seed).drawn.answer <= 8


def test_feet_are_said_first_and_the_numbers_are_the_same() -> None:
    for key in KINDS:
        for seed in range(1, 6):
            exercise = problem(key, seed)
            metres = [float(number) for number in re.findall(r"(\d+(?:\.\d+)?) m\b(?![²/])", exercise.asked())]
            feet = re.findall(r"(\d+\.\d) ft \((\d+(?:\.\d+)?) m\)", exercise.asked(feet=True))
            assert [float(metre) for _, metre in feet] == metres
            for foot, metre in feet:
                assert float(foot) * 0.3048 == pytest.approx(float(metre), abs=0.02)
            assert exercise.asked() == exercise.drawn.text
