"""Circles in a circle: never overlapping, never smaller than possible, seldom larger than need be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from wirecalc import tables
from wirecalc.errors import InputError
from wirecalc.wire.packing import (
    EASY_FILL,
    MOST_WIRES,
    THICKEST_M,
    Packing,
    bends,
    least_around_m,
    pack,
    through_opening,
)
from wirecalc.workings.packing import opening_working

# the source of each row stands in the table: Pirl 1969, Kravitz 1967, Melissen 1994, Fodor 1999 to 2003, Graham and
# others 1998; from memory, digits confirmed by our own search to 1e-6
PUBLISHED = [
    (int(row["circles"]), row["ratio"], row["source"]) for row in tables.load("circle_packings").to_dict("records")
]
DIAMETERS = st.lists(st.floats(0.5e-3, 15e-3), min_size=1, max_size=12)


def overlap(packing: Packing) -> float:
    """Deepest overlap of any two, or of one and the circle around, over that circle's radius; by plain loops."""
    deepest = -1.0
    for i, (x, y, r) in enumerate(zip(packing.x_m, packing.y_m, packing.radius_m, strict=True)):
        deepest = max(deepest, (x * x + y * y) ** 0.5 + r - packing.around_m)
        for j in range(i):
            apart = ((x - packing.x_m[j]) ** 2 + (y - packing.y_m[j]) ** 2) ** 0.5
            deepest = max(deepest, r + packing.radius_m[j] - apart)
    return deepest / packing.around_m


def test_the_table_holds_1_to_19() -> None:
    assert [circles for circles, _, _ in PUBLISHED] == list(range(1, 20))
    assert [ratio for _, ratio, _ in PUBLISHED] == sorted(ratio for _, ratio, _ in PUBLISHED)


@pytest.mark.parametrize(("circles", "ratio", "source"), PUBLISHED)
def test_equal_circles_as_published(circles: int, ratio: float, source: str) -> None:
    packing = pack([3e-3] * circles)
    assert -1e-6 <= packing.around_m / 1.5e-3 / ratio - 1 <= 0.01, source
    assert overlap(packing) <= 1e-9
    assert packing.fill == pytest.approx(circles / (packing.around_m / 1.5e-3) ** 2)


@pytest.mark.parametrize("circles", [10, 12, 14, 16, 17])  # digits with no closed form beside them
def test_more_starts_find_the_published_circle_itself(circles: int) -> None:
    ratio = PUBLISHED[circles - 1][1]
    assert pack([2e-3] * circles, starts=200).around_m / 1e-3 == pytest.approx(ratio, rel=1e-6)


@given(DIAMETERS)
@settings(max_examples=tried(40))
def test_any_wires_lie_apart_within_the_circle_around(diameters_m: list[float]) -> None:
    packing = pack(diameters_m)
    assert overlap(packing) <= 1e-9
    assert 0 < packing.fill <= 1 + 1e-12
    assert packing.diameter_m >= least_around_m(diameters_m) * (1 - 1e-7)
    assert 2 * packing.radius_m == pytest.approx(diameters_m)


@given(DIAMETERS, st.floats(0.8, 1.5))
@settings(max_examples=tried(20))
def test_order_and_scale_do_not_matter(diameters_m: list[float], scale: float) -> None:
    packing = pack(diameters_m)
    assert pack(diameters_m[::-1]).diameter_m == pytest.approx(packing.diameter_m, rel=1e-9)
    scaled = pack(np.array(diameters_m) * scale).diameter_m
    assert scaled == pytest.approx(packing.diameter_m * scale, rel=0.03)  # rounding may lead to another packing


@given(st.floats(1e-3, 9e-3), st.floats(1e-3, 9e-3))
def test_two_lie_side_by_side(first_m: float, second_m: float) -> None:
    packing = pack([first_m, second_m])
    assert packing.diameter_m == pytest.approx(first_m + second_m)
    assert overlap(packing) <= 1e-12


@given(st.floats(1.0, 10.0), st.floats(1.0, 10.0), st.floats(1.0, 10.0))
@settings(max_examples=tried(40))
def test_three_as_descartes_has_them(a: float, b: float, c: float) -> None:
    # circle around three that touch each other, by their curvatures: Descartes' theorem; from memory
    first, second, third = (2 / diameter for diameter in sorted((a, b, c), reverse=True))
    two = 1 / (1 / first + 1 / second)  # curvature of the circle around the two thickest
    outer = 2 * (first * second + second * third + third * first) ** 0.5 - first - second - third
    wanted = two if third >= first + second - two else outer  # the thinnest may have room beside the others
    around_mm = pack(np.array([a, b, c]) * 1e-3).around_m * 1e3
    assert around_mm == pytest.approx(1 / wanted, rel=1e-4)  # the search ends that near


def test_one_thick_and_many_thin() -> None:
    # thin ones lie in the crescents beside two thick ones: the two alone decide
    assert pack([9e-3, 9e-3, *[1.5e-3] * 6]).diameter_m == pytest.approx(18e-3, rel=1e-6)


@pytest.mark.parametrize("count", [30, 60, MOST_WIRES])
def test_many_wires(count: int) -> None:
    diameters_m = np.random.default_rng(count).uniform(1e-3, 8e-3, count)
    packing = pack(diameters_m)
    assert overlap(packing) <= 1e-9
    assert packing.fill > 0.72  # unequal circles pressed by hand reach more
    assert np.array_equal(pack(diameters_m).x_m, packing.x_m)


@pytest.mark.parametrize(
    ("diameters_m", "opening_m", "ease"),
    [
        ([4e-3] * 7, 12.01e-3, "passes tightly"),  # six around one: three diameters
        ([4e-3] * 7, 17e-3, "passes easily"),  # 39 %
        ([4e-3] * 7, 16e-3, "passes tightly"),  # 44 %
        ([4e-3] * 7, 11.99e-3, "cannot pass"),  # proven
        ([4e-3] * 2, 7.9e-3, "cannot pass"),
        ([4e-3], 6e-3, "passes easily"),  # 44 % of 53
        ([4e-3], 5e-3, "passes tightly"),  # 64 %
        ([4e-3] * 2, 10e-3, "passes tightly"),  # 32 % of 31
        ([4e-3] * 14, 8.6e-3, "cannot pass"),  # more than its area
        ([4e-3] * 14, 17.2e-3, "no way found"),  # best known 17.31, best proven bound 16.94, that of 13
    ],
)
def test_openings(diameters_m: list[float], opening_m: float, ease: str) -> None:
    passage = through_opening(diameters_m, opening_m)
    assert passage.ease == ease
    assert "cannot pass" in passage.in_words() or ease != "cannot pass"
    assert ("tightly" in passage.in_words()) == (ease == "passes tightly")
    assert ("easily" in passage.in_words()) == (ease == "passes easily")
    shown = opening_working(passage).steps[-1].filled.replace("×", "*").replace("²", "**2")
    assert eval(shown) == pytest.approx(100 * passage.fill, rel=1e-5)
    if ease.startswith("passes"):
        assert passage.fill <= 1
        assert overlap(passage.packing) <= 1e-9


@given(DIAMETERS, st.floats(1e-3, 60e-3))
@settings(max_examples=tried(30))
def test_what_passes_is_never_over_full_and_what_cannot_never_passes(
    diameters_m: list[float], opening_m: float
) -> None:
    passage = through_opening(diameters_m, opening_m)
    if passage.ease.startswith("passes"):
        assert passage.fill <= 1 + 1e-12
        assert passage.least_m <= opening_m * (1 + 1e-7)
    else:
        assert passage.packing.diameter_m > opening_m
    assert (passage.ease == "passes easily") <= (passage.fill <= max(EASY_FILL))


def test_bend_radius_follows_the_thickest_wire_and_the_bundle() -> None:
    laid, terminal, moved = bends(pack([4e-3] * 7))
    assert (laid.radius_m, terminal.radius_m) == pytest.approx((40e-3, 12e-3))
    assert moved.radius_m == pytest.approx(120e-3)
    assert all(
        "copy not checked" in bend.source or "common practice" in bend.source for bend in (laid, terminal, moved)
    )


def test_a_packing_that_overlaps_cannot_be_made() -> None:
    ones = np.ones(2) * 1e-3
    with pytest.raises(InputError, match="Gap between wires"):
        Packing(radius_m=ones, x_m=np.array([0.0, 1.9e-3]), y_m=np.zeros(2), around_m=5e-3)
    with pytest.raises(InputError, match="Gap to the circle around"):
        Packing(radius_m=ones, x_m=np.array([-1e-3, 1.1e-3]), y_m=np.zeros(2), around_m=2e-3)


@pytest.mark.parametrize("wires", [[], [[1e-3]], [1e-3] * (MOST_WIRES + 1), [0.0], [float("nan")], [THICKEST_M * 1.01]])
def test_wires_that_cannot_be(wires: list[float]) -> None:
    with pytest.raises(InputError):
        pack(wires)


@pytest.mark.parametrize("opening_m", [0.0, 12.0, float("nan")])
def test_openings_that_cannot_be(opening_m: float) -> None:
    with pytest.raises(InputError, match="Opening"):
        through_opening([1e-3], opening_m)
