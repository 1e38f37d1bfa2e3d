from __future__ import annotations

import copy
import math
import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wirecalc.errors import InputError, check, range_in_words

fixed = settings(derandomize=True, deadline=None)


@pytest.mark.parametrize(
    ("given_value", "hint", "text"),
    [
        ("abc", "Write 5 m.", "Run length: “abc” won’t work; needed: above 0 m. Write 5 m."),
        (0.5, "", "Run length: 0.5 won’t work; needed: above 0 m."),
    ],
)
def test_says_field_given_allowed_and_what_to_do(given_value: object, hint: str, text: str) -> None:
    error = InputError("Run length", given_value, "above 0 m", hint)
    assert str(error) == text
    assert isinstance(error, ValueError)  # so that a caller who knows nothing of us can catch it
    for other in (pickle.loads(pickle.dumps(error)), copy.copy(error)):
        assert type(other) is InputError
        assert (other.field, other.given, other.allowed, other.hint) == error.args
        assert str(other) == text


@pytest.mark.parametrize(
    ("low", "high", "unit", "above", "words"),
    [
        (-math.inf, math.inf, "", False, "a number"),
        (-math.inf, math.inf, "V", False, "a number in V"),
        (0, math.inf, "m", True, "above 0 m"),
        (0, math.inf, "m", False, "0 m or more"),
        (-math.inf, 5, "dB", False, "5 dB or less"),
        (0, 200, "m", True, "above 0 up to 200 m"),
        (1, 16, "", False, "1 to 16"),
    ],
)
def test_range_in_words(low: float, high: float, unit: str, above: bool, words: str) -> None:
    assert range_in_words(low, high, unit, above=above) == words


@pytest.mark.parametrize(
    ("value", "given_in_error"),
    [
        (math.nan, "nan m"),
        (-math.inf, "-inf m"),
        (math.inf, "inf m"),
        (0.0, "0 m"),
        (-1, "-1 m"),
        (10.1, "10.1 m"),
        ([1.0, 2.0, 11.0, 12.0], "11 m at place 2 of 4"),
        ([[1.0], [math.nan]], "nan m at place (1, 0) of 2 × 1"),
        ("five", "five"),
        ({}, {}),
        (1 + 2j, 1 + 2j),
    ],
)
def test_refuses_what_is_outside_or_no_number(value: object, given_in_error: object) -> None:
    with pytest.raises(InputError) as caught:
        check("Run length", value, "m", low=0, high=10, above=True, hint="Try 5.")  # type: ignore[arg-type]
    assert caught.value.args == ("Run length", given_in_error, "above 0 up to 10 m", "Try 5.")


@fixed
@given(st.lists(st.floats(0, 10)))
def test_gives_back_what_is_inside(values: list[float]) -> None:
    checked = check("Run length", values, "m", low=0, high=10)
    assert checked.dtype == np.float64
    assert checked.tolist() == values


@fixed
@given(st.floats(allow_nan=True), st.floats(-100, 100), st.floats(-100, 100), st.booleans())
def test_passes_exactly_what_is_in_range(value: float, first_bound: float, second_bound: float, above: bool) -> None:
    low, high = sorted([first_bound, second_bound])
    inside = (low < value if above else low <= value) and value <= high
    try:
        check("x", value, "", low=low, high=high, above=above)
    except InputError:
        assert not inside
    else:
        assert inside


def test_ends_are_allowed_unless_said() -> None:
    assert check("x", 0, "", low=0, high=1) == 0
    assert check("x", 1, "", low=0, high=1, above=True) == 1
    with pytest.raises(InputError):
        check("x", 0, "", low=0, high=1, above=True)
