"""Sentences follow the numbers, and promise neither more nor less than the sources do."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc import tables
from wirecalc.runs import words


@pytest.mark.parametrize(
    ("loss_db", "sentence", "source"),
    [
        (0.0, "Nobody hears that.", "no change"),
        (0.1, "Nobody is likely to hear", "under 0.2 dB, Indiana University, Introduction to acoustics"),
        (
            0.3,
            "Few people hear",
            "between 0.2 and 0.4 dB, the same text; 0.4 dB Handbook for Sound Engineers fig. 3-17",
        ),
        (0.8, "usually passes unnoticed", "about 1 dB on music: common practice, no source"),
        (1.5, "Most people hear", "common practice, no source"),
        (3.2, "plainly quieter", "10 log10(2) = 3.01 dB is half the power"),
    ],
)
def test_what_is_heard(loss_db: float, sentence: str, source: str) -> None:
    assert sentence in words.heard(loss_db), source


def test_the_steps_of_hearing_rise_and_cover_everything() -> None:
    steps = tables.load("hearing")["loss_db_up_to"].to_numpy()
    assert np.all(np.diff(steps) > 0)
    assert np.isinf(steps[-1])


@given(st.floats(0, 40), st.floats(0.5, 5000))
def test_the_sentence_never_contradicts_itself(loss_db: float, bare_w: float) -> None:
    load_w = bare_w * 10 ** (-loss_db / 10)
    told = words.for_customer("16 AWG", 1, load_w, bare_w, loss_db)
    if "all of the" in told:
        assert load_w > 0.998 * bare_w
        return
    reached, of, less = map(float, re.findall(r"delivers ([\d.e+-]+) of ([\d.e+-]+) W: ([\d.]+) dB", told)[0])
    assert reached <= of
    assert reached == pytest.approx(load_w, abs=0.51 if load_w >= 10 else (0.006 if load_w >= 1 else 0.06) * load_w)
    assert less == pytest.approx(loss_db, abs=0.051)


def test_parallel_conductors_are_said() -> None:
    assert words.for_customer("18 AWG", 2, 97.0, 100.0, 0.13).startswith("2 × 18 AWG each way deliver 97 of 100 W")
