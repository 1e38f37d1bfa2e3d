"""Accuracy as data sheets write it, and what one count is worth."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.bench.meter import Accuracy, Meter, read_accuracy
from wirecalc.errors import InputError


@pytest.mark.parametrize(
    ("text", "share", "counts"),
    [
        ("0.5 % + 2 counts", 0.005, 2),
        ("±(0.5%+2 digits)", 0.005, 2),
        ("0,8 % of reading + 5 dgt", 0.008, 5),
        ("1 % rdg + 10 lsd", 0.01, 10),
        ("  2 %  ", 0.02, 0),
        ("3 COUNTS", 0.0, 3),
        ("± 1% + 1 d", 0.01, 1),
    ],
)
def test_accuracy_as_data_sheets_write_it(text: str, share: float, counts: int) -> None:
    accuracy = read_accuracy(text)
    assert (accuracy.share, accuracy.counts) == (pytest.approx(share), counts)


@pytest.mark.parametrize(
    "text",
    [
        "", "0.5", "0.5 % 2 counts", "0.5 % + 2", "0.5 % + 2.5 counts", "-0.5 % + 2 counts", "0.5 % - 2 counts", "21 %",
        "201 counts", "0 % + 0 counts", "0.5 % + 2 counts + 1", "1e-3 %", "½ %", "٣ %", "(0.5 %", "0.5 % + 2 counts<b>",
        "9" * 65, "0.5 % " * 10, " " * 64, "%" * 64, "1.2.3 %", "nan %",
    ],
)  # fmt: skip
def test_accuracy_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_accuracy(text)
    assert caught.value.field == "Meter accuracy"
    assert "Write 0.5 % + 2 counts" in caught.value.hint


@given(st.integers(0, 200_000), st.integers(0, 200))
def test_an_accuracy_reads_back_as_it_is_shown(share: int, counts: int) -> None:
    text = str(Accuracy(share=share / 1e6, counts=counts))
    if share or counts:
        assert str(read_accuracy(text)) == text


def test_error_is_share_and_counts() -> None:
    meter = Meter(share=0.005, counts=2, count_ohm=1e-3)
    assert meter.error_ohm([0.0, 0.2]) == pytest.approx([2e-3, 3e-3])
    assert str(meter) == "0.5 % + 2 counts"


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Accuracy(share=0.5, counts=1), "percent"),
        (lambda: Accuracy(share=0.01, counts=500), "counts"),
        (lambda: Meter(share=0.01, counts=5, count_ohm=0.0), "last digit"),
    ],
)
def test_refused(make: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()  # type: ignore[operator]
