"""Voice coils in series and parallel: every way, its reading, and which ways a reading fits."""

from __future__ import annotations

import math
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.bench.coils import MOST_COILS, alike, judge_coils, readings, ways
from wirecalc.bench.meter import Meter
from wirecalc.errors import InputError

METER = Meter(share=0.005, counts=2, count_ohm=0.01)


def place(coils: int, words: str) -> int:
    return [way.words for way in ways(coils)].index(words)


@pytest.mark.parametrize(("coils", "count"), [(1, 1), (2, 2), (3, 4), (4, 10)])
def test_as_many_networks_as_are_known(coils: int, count: int) -> None:
    # series-parallel networks of n like parts: 1, 2, 4, 10 (MacMahon 1892, OEIS A000084); from memory
    assert sum(way.coils == coils for way in ways(coils)) == count


def test_two_coils_by_hand() -> None:
    assert {way.words: way.factor for way in ways(2)} == {"2 in series": 2, "2 in parallel": 0.5, "one coil": 1}


@pytest.mark.parametrize(
    ("words", "factor", "even"),
    [
        ("4 in series", 4, True),
        ("4 in parallel", 1 / 4, True),
        ("2 groups in series, each 2 in parallel", 1, True),
        ("2 groups in parallel, each 2 in series", 1, True),
        ("in series: 3 in parallel, one coil", 4 / 3, False),
        ("in parallel: 3 in series, one coil", 3 / 4, False),
    ],
)
def test_four_coils_by_hand(words: str, factor: float, even: bool) -> None:
    way = ways(4)[place(4, words)]
    assert (way.factor, way.even) == (pytest.approx(factor), even)


@pytest.mark.parametrize("coils", range(1, MOST_COILS + 1))
def test_every_way_lies_between_all_parallel_and_all_series(coils: int) -> None:
    wirings = ways(coils)
    assert len({way.words for way in wirings}) == len(wirings)
    for way in wirings:
        assert 1 / way.coils - 1e-12 <= way.factor <= way.coils + 1e-12
    whole = [way.factor for way in wirings if way.coils == coils]
    assert whole == sorted(whole, reverse=True)
    for row in (n for n in range(1, coils + 1) if coils % n == 0):  # n in a row, rows side by side
        assert any(way.even and way.factor == pytest.approx(row * row / coils) for way in wirings if way.coils == coils)


def test_the_band_holds_every_mix_of_coils_within_their_spread() -> None:
    """Coils need not be off to the same side: all corners of four coils' spread lie within."""
    expected = readings(4, 4.0, METER, wire_ohm=0.2)
    at = place(4, "in series: 3 in parallel, one coil")
    for a, b, c, d in product((3.6, 4.4), repeat=4):
        read = 1 / (1 / a + 1 / b + 1 / c) + d + 0.2
        assert expected.low_ohm[at] <= read <= expected.high_ohm[at]
    assert expected.ohm[at] == pytest.approx(4 * 4 / 3 + 0.2)


@given(st.integers(1, MOST_COILS), st.floats(0.5, 16), st.floats(0, 1), st.floats(0.0, 0.2), st.data())
def test_a_coil_read_as_wired_fits_its_way(coils: int, re: float, wire: float, share: float, data: Any) -> None:
    expected = readings(coils, re, METER, wire_ohm=wire, re_share=share)
    planned = data.draw(st.integers(0, len(expected.ways) - 1))
    off = data.draw(st.floats(-share, share))
    reading = expected.ways[planned].factor * re * (1 + off) + wire
    verdict = judge_coils(expected, planned, reading)
    assert verdict.as_planned
    assert not verdict.shorted
    assert set(verdict.fits) <= {planned, *alike(expected, planned)}
    off_by = np.abs(expected.ohm[list(verdict.fits)] - reading)
    assert np.all(np.diff(off_by) >= 0)
    assert all((place in verdict.fits) == (expected.low_ohm[place] <= reading <= expected.high_ohm[place])
               for place in range(len(expected.ways)))  # fmt: skip


def test_two_that_read_alike_are_said_to_be_ambiguous() -> None:
    expected = readings(4, 3.4, METER)
    planned = place(4, "2 groups in series, each 2 in parallel")
    verdict = judge_coils(expected, planned, 3.4)
    told = verdict.in_words()
    assert "ambiguous" in told
    assert "2 groups in parallel, each 2 in series" in told
    assert "one coil (3 coils not connected)" in told
    assert "read each coil alone" in told


def test_alike_with_all_coils_on_is_told_apart_by_eye() -> None:
    expected = readings(8, 3.4, METER)
    planned = place(8, "4 groups in parallel, each 2 in series")
    others = [expected.ways[other] for other in alike(expected, planned)]
    assert all(way.coils < 8 for way in others)
    two = readings(4, 3.4, METER, re_share=0.15)
    verdict = judge_coils(two, place(4, "in series: 3 in parallel, one coil"), 3.4 * 1.45)
    assert verdict.as_planned


def test_clear_wrong_bridged_and_open() -> None:
    expected = readings(2, 3.4, METER, wire_ohm=0.2)
    series, parallel = place(2, "2 in series"), place(2, "2 in parallel")
    assert "no other way" in judge_coils(expected, series, 7.0).in_words()
    wrong = judge_coils(expected, series, 1.9)
    assert not wrong.as_planned
    assert wrong.fits == (parallel,)
    assert "is not “2 in series”" in wrong.in_words()
    none = judge_coils(expected, series, 5.3)
    assert none.fits == ()
    assert "fits no way" in none.in_words()
    assert "one coil" in none.in_words() or "2 in series" in none.in_words()
    bridged = judge_coils(expected, series, 0.2)
    assert bridged.shorted
    assert "bridged" in bridged.in_words()
    assert "No path" in judge_coils(expected, series, math.inf).in_words()


@pytest.mark.parametrize(
    "make",
    [
        lambda: ways(0),
        lambda: ways(MOST_COILS + 1),
        lambda: readings(2, 0.0, METER),
        lambda: readings(2, 4.0, METER, wire_ohm=-1.0),
        lambda: readings(2, 4.0, METER, re_share=0.6),
        lambda: judge_coils(readings(2, 4.0, METER), 0, -1.0),
        lambda: judge_coils(readings(2, 4.0, METER), 0, math.nan),
        lambda: judge_coils(readings(2, 4.0, METER), 3, 1.0),
    ],
)
def test_what_cannot_be(make: Any) -> None:
    with pytest.raises(InputError):
        make()
