"""The blind test: balanced and seeded, counted once, and its chance exact."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from math import comb

import pytest
from scipy.stats import binomtest

from wirecalc.errors import InputError
from wirecalc.hearing.blind import ANSWERS, BlindTest, Question, blind_result, chance, order


def test_chance_is_the_exact_sum() -> None:
    for trials in (1, 4, 12, 20, 40):
        for right in range(trials + 1):
            exact = Fraction(sum(comb(trials, k) for k in range(right, trials + 1)), 2**trials)
            assert chance(right, trials) == pytest.approx(float(exact), rel=1e-12)
            assert chance(right, trials) == binomtest(right, trials, 0.5, alternative="greater").pvalue


@pytest.mark.parametrize(
    ("right", "trials", "sentence"),
    [
        (8, 12, "8 of 12: chance alone does this 19 % of the time. This test does not show"),
        (0, 12, "0 of 12: chance alone does this almost always."),
        (10, 12, "10 of 12: chance alone does this 2 % of the time. It is a sign that you hear"),
        (16, 20, "16 of 20: chance alone does this 0.6 % of the time. It is a sign"),
        (12, 12, "12 of 12: chance alone does this less than once in 1000 tries. It is a sign"),
    ],
)
def test_the_result_in_words(right: int, trials: int, sentence: str) -> None:
    assert blind_result(right, trials).startswith(sentence)


@pytest.mark.parametrize("question", ANSWERS)
def test_the_order_is_balanced_and_seeded(question: Question) -> None:
    starts: Counter[tuple[int, int]] = Counter()
    for seed in range(200):
        drawn = order(question, 12, seed)
        assert drawn == order(question, 12, seed)
        counts = Counter(drawn)
        assert len(set(counts.values())) == 1  # each pair as often
        assert len(counts) == (4 if question == "same" else 2)
        starts[drawn[0]] += 1
    assert min(starts.values()) > 0.7 * 200 / len(starts)  # no place is given away by habit
    assert len({order(question, 12, seed) for seed in range(50)}) > 45


def sit(question: Question, answers: list[str], louder: int = 1) -> BlindTest:
    test = BlindTest(question=question, order=order(question, len(answers), 3), louder=louder)
    for number, given in enumerate(answers, start=1):
        assert test.result == f"Question {number} of {len(answers)}."
        test.answer(number, given)
        test.answer(number, given)  # pressed twice
    return test


@pytest.mark.parametrize("louder", [0, 1])
def test_answers_are_counted_against_the_order(louder: int) -> None:
    drawn = order("same", 8, 3)
    right = ["same" if first == second else "different" for first, second in drawn]
    wrong = ["different" if answer == "same" else "same" for answer in right]
    assert sit("same", right).result.startswith("8 of 8")
    assert sit("same", wrong).result.startswith("0 of 8")
    assert sit("same", ["same"] * 8).result.startswith("4 of 8")
    drawn = order("louder", 8, 3)
    right = ["first" if first == louder else "second" for first, _ in drawn]
    assert sit("louder", right[:6] + ["first"] * 2, louder).right[:6] == [True] * 6
    assert sit("louder", right, louder).result.startswith("8 of 8")
    assert sit("louder", right, 1 - louder).result.startswith("0 of 8")
    done = sit("louder", right, louder)
    assert done.done
    done.answer(9, "first")
    assert len(done.right) == 8


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="4, 8, 12"):
        order("same", 10, 1)
    with pytest.raises(InputError, match="same, louder"):
        order("nicer", 12, 1)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="same or different"):
        BlindTest(question="same", order=order("same", 4, 1)).answer(1, "first")
    with pytest.raises(InputError, match="Right answers"):
        chance(13, 12)
