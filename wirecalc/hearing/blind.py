"""A listening test that cannot be cheated by knowing: the order is drawn beforehand and stays here.

Whoever answers by tossing a coin gets each trial right with a chance of one half, whatever the order: right
answers are then binomial, exactly. That the order is balanced is therefore not told during the test; who knows it
and makes his guesses come out even has a somewhat wider spread than the coin.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal

import numpy as np

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass

Question = Literal["same", "louder"]
ANSWERS: dict[Question, tuple[str, str]] = {"same": ("same", "different"), "louder": ("first", "second")}
# which of the two choices is played first and which second
_PLAYED: dict[Question, tuple[tuple[int, int], ...]] = {
    "same": ((0, 0), (1, 1), (0, 1), (1, 0)),
    "louder": ((0, 1), (1, 0)),
}
SURE = 0.05  # under this, chance is commonly set aside: common practice, no source


def chance(right: int, trials: int) -> float:
    """How often guessing alone gets at least so many right: exact, one half a trial.

    Parameters
    ----------
    right : int
        Answers that were right. [0 to `trials`]
    trials : int
        Answers in all.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    InputError
        If there are more right answers than trials, or a count is below 0.

    Examples
    --------
    >>> round(chance(8, 12), 4)
    0.1938
    """
    check("Trials", trials, "", low=1, high=1000)
    check("Right answers", right, "", low=0, high=trials)
    from scipy.stats import binomtest  # here: it takes half a second to load, and only a finished test needs it

    return float(binomtest(right, trials, 0.5, alternative="greater").pvalue)


def blind_result(right: int, trials: int) -> str:
    """The result as a person reads it.

    Parameters
    ----------
    right : int
        Answers that were right. [0 to `trials`]
    trials : int
        Answers in all.

    Returns
    -------
    str
        Two sentences.

    See Also
    --------
    chance : The share alone.

    Examples
    --------
    >>> blind_result(8, 12)
    '8 of 12: chance alone does this 19 % of the time. This test does not show that you hear a difference.'
    """
    p = chance(right, trials)
    if p >= 0.995:
        often = "almost always"
    elif p >= 0.01:
        often = f"{100 * p:.0f} % of the time"
    elif p >= 0.001:
        often = f"{100 * p:.1f} % of the time"
    else:
        often = "less than once in 1000 tries"
    told = (
        "It is a sign that you hear a difference."
        if p < SURE
        else "This test does not show that you hear a difference."
    )
    return f"{right} of {trials}: chance alone does this {often}. {told}"


def order(question: Question, trials: int, seed: int) -> tuple[tuple[int, int], ...]:
    """What is played in each trial: as often one way as the other, shuffled.

    Parameters
    ----------
    question : {"same", "louder"}
    trials : int
        A multiple of 4, up to 40.
    seed : int

    Returns
    -------
    tuple of (int, int)
        The choice played first and the one played second, 0 or 1 each.

    Raises
    ------
    InputError
        If there is no such question or number of trials.
    """
    if question not in _PLAYED:
        raise InputError("Question", question, ", ".join(_PLAYED))
    if trials not in range(4, 41, 4):
        raise InputError("Trials", trials, "4, 8, 12 and so on up to 40", "Both orders must come equally often.")
    each = _PLAYED[question]
    drawn = [pair for pair in each for _ in range(trials // len(each))]
    return tuple(drawn[i] for i in np.random.default_rng(seed).permutation(trials))


@dataclass(kw_only=True)
class BlindTest:
    """One sitting. It counts; nothing of it tells the answer before the end."""

    question: Question
    order: tuple[tuple[int, int], ...]
    louder: int = 1
    """The choice that is the louder one; not asked for by "same"."""
    right: list[bool] = field(default_factory=list)

    @property
    def trial(self) -> int:
        """Number of the trial that waits for its answer, from 1."""
        return len(self.right) + 1

    @property
    def done(self) -> bool:
        """Whether every trial has its answer."""
        return len(self.right) == len(self.order)

    @property
    def played(self) -> tuple[int, int]:
        """The choices of the trial that waits, in the order they are played."""
        return self.order[len(self.right)]

    def answer(self, trial: int, given: str) -> None:
        """Count an answer; a second one to the same trial is left out.

        Parameters
        ----------
        trial : int
            The number of the one that waits, from 1; an answer to another is left out.
        given : str
            One of the answers of the question.

        Raises
        ------
        InputError
            If it is none of the question's answers.
        """
        if given not in ANSWERS[self.question]:
            raise InputError("Answer", given, " or ".join(ANSWERS[self.question]))
        if self.done or trial != self.trial:
            return
        first, second = self.played
        if self.question == "same":
            truth = "same" if first == second else "different"
        else:
            truth = "first" if first == self.louder else "second"
        self.right.append(given == truth)

    @property
    def sign(self) -> bool:
        """Whether the right answers are a sign that a difference is heard."""
        return chance(sum(self.right), len(self.order)) < SURE

    @property
    def result(self) -> str:
        """The end in words; while it runs, how far it is."""
        if not self.done:
            return f"Question {self.trial} of {len(self.order)}."
        return blind_result(sum(self.right), len(self.order))
