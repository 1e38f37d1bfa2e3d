"""Any text at all is answered at once, with a finite number or a refusal, and never reaches pint."""

import math
import time

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.support.typed import KINDS, SPELLINGS, fixed, refusal
from wirecalc.errors import InputError
from wirecalc.units import (
    LENGTH,
    LONGEST_TEXT,
    convert,
    read,
    read_standard_size,
)

HOSTILE = [
    "9**9**9 m",
    "1" * LONGEST_TEXT,
    "1 " * 32,
    "1 m " * 16,
    "1/" * 32,
    "1-" * 32,
    "m" * LONGEST_TEXT,
    "1" + "m" * 63,
    "1" + "°" * 63,
    "1" + "° " * 31,
    "½" * LONGEST_TEXT,
    "." * LONGEST_TEXT,
    "1e" + "9" * 62,
    "9" * 31 + "/" + "9" * 32,
    " " * 100_000,
    "½" * 100_000,
    "a" * 1_000_000,
    "-" * LONGEST_TEXT,
    "'" * LONGEST_TEXT,
]


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:12]))
def test_any_text_is_answered_at_once(text):
    """5 ms is 1000 times what an ordinary entry takes; of the processor, the best of five."""

    def seconds(work, *arguments):
        start = time.process_time()
        with pytest.raises(InputError):
            work(*arguments)
        return time.process_time() - start

    assert min(seconds(read, text, "Entry", LENGTH) for _ in range(5)) < 5e-3
    assert min(seconds(read_standard_size, text) for _ in range(5)) < 5e-3


PIECES = [spelling for _, spelling in SPELLINGS] + list("0123456789+-−./,'\"½²^ eE°%#\u00a0\x00") + ["18", "AWG", "1/0"]
TEXTS = st.text(max_size=80) | st.lists(st.sampled_from(PIECES), max_size=12).map("".join)


@fixed
@given(TEXTS, st.sampled_from(KINDS))
@example("1e99999999 m", LENGTH)
def test_any_text_gives_a_finite_number_or_an_input_error(text, kind):
    caught = []
    try:
        assert math.isfinite(read(text, "Entry", kind, low=-1e6, high=1e6))
    except InputError as error:
        caught.append(error)
    try:
        system, number = read_standard_size(text)
        assert (-3 <= number <= 40) if system == "AWG" else (0.01 <= number <= 500)
    except InputError as error:
        caught.append(error)
    for error in caught:
        assert error.allowed
        assert error.hint
        assert str(error).encode()  # a lone surrogate would not go out to the page


def test_typed_text_never_reaches_pint(monkeypatch):
    read("1 ft", "Entry", LENGTH)  # now the factor is known

    def fail(*_):
        raise AssertionError("pint was asked")

    monkeypatch.setattr(convert, "_registry", fail)
    assert read("18 ft", "Entry", LENGTH) == 18 * 0.3048
    assert "“**9**9” after the unit is no number" in str(refusal("18 ft**9**9", LENGTH))
