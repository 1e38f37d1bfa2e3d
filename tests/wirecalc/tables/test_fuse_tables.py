"""Fuse families, their ratings and gates against public standards' scopes and lists, and against each other."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc import tables

FAMILIES = tables.load("fuse_families").set_index("family")
RATINGS = tables.load("fuse_ratings")
GATES = tables.load("fuse_gates")

# family, rated volts, breaking amperes, largest rating, source; each read
SCOPES = [
    ("blade", 32, 1000, 100, "ISO 8820-3:2015 scope: types C, E and F"),
    ("large blade", 32, 1000, 100, "ISO 8820-3:2015 scope: types C, E and F"),
    ("miniature blade", 32, 1000, 100, "ISO 8820-3:2015 scope: types C, E and F"),
    ("sub-miniature blade", 32, 1000, 30, "ISO 8820-12:2020 scope: type N"),
    ("bolt-in strip 30 mm", 32, 2000, 500, "ISO 8820-5:2015 scope: types SF 30 and SF 51"),
    ("bolt-in strip 51 mm", 32, 2000, 500, "ISO 8820-5:2015 scope: types SF 30 and SF 51"),
    ("post fuse", 58, 2000, 300, "ISO 8820-6:2019 scope: single-bolt fuse-links"),
]

# Current ratings by size, read in a public encyclopaedia's list (Automotive fuse, copy of 2007).
LISTED = {
    "miniature blade": {2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30},
    "blade": {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40},
    "large blade": {20, 30, 40, 50, 60, 70, 80},
}

# NEC (NFPA 70) 240.6(A), read in public digests.
STANDARD = {15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450}


def ratings(family: str) -> list[float]:
    return RATINGS.loc[RATINGS["family"] == family, "rating_a"].tolist()


@pytest.mark.parametrize(("family", "volts", "breaking_a", "largest_a", "source"), SCOPES)
def test_a_family_is_within_the_scope_of_its_standard(
    family: str, volts: float, breaking_a: float, largest_a: float, source: str
) -> None:
    row = FAMILIES.loc[family]
    assert (row["rated_v"], row["breaking_a"], row["breaking_at_v"]) == (volts, breaking_a, volts), source
    assert max(ratings(family)) <= largest_a, source
    assert row["confidence"] == "read"
    assert row["standard"] in source


@pytest.mark.parametrize("family", LISTED)
def test_ratings_that_are_on_a_public_list(family: str) -> None:
    """What is on no list is marked as such: 35 A in the medium size, 100 A in the large one."""
    rows = RATINGS[RATINGS["family"] == family]
    assert set(rows.loc[rows["confidence"] == "read", "rating_a"]) == LISTED[family]
    assert set(rows.loc[rows["confidence"] != "read", "rating_a"]) == {"blade": {35}, "large blade": {100}}.get(
        family, set()
    )


def test_no_miniature_blade_of_1_35_or_40_amperes() -> None:
    for family in ("miniature blade", "low-profile blade", "sub-miniature blade"):
        assert not {1, 35, 40} & set(ratings(family))


def test_class_t_has_the_standard_ratings() -> None:
    assert set(ratings("class T")) == {rating for rating in STANDARD if rating >= 30} | {500}


def test_bolt_in_families_go_on_to_500_amperes() -> None:
    assert max(ratings("bolt-in strip 51 mm")) == max(ratings("class T")) == 500


def test_families_ratings_and_gates_name_each_other() -> None:
    assert set(RATINGS["family"]) == set(FAMILIES.index)
    assert set(GATES["family"]) <= set(FAMILIES.index)
    assert not RATINGS.duplicated(["family", "rating_a"]).any()
    for family, row in FAMILIES.iterrows():
        own = ratings(str(family))
        assert own == sorted(own)
        assert (own[0], own[-1]) == (row["smallest_a"], row["largest_a"])


@pytest.mark.parametrize("family", sorted(set(GATES["family"])))
def test_a_stronger_current_opens_a_fuse_sooner(family: str) -> None:
    gates = GATES[GATES["family"] == family].fillna({"above_a": 0, "up_to_a": np.inf, "most_s": np.inf})
    assert (gates["least_s"] <= gates["most_s"]).all()
    for rating in ratings(family):
        own = gates[(gates["above_a"] < rating) & (rating <= gates["up_to_a"])].sort_values("over_rating")
        assert own["over_rating"].is_unique
        assert own["least_s"].is_monotonic_decreasing
        assert own["most_s"].is_monotonic_decreasing


def test_a_fuse_of_the_high_current_type_is_slower_than_a_medium_one() -> None:
    at_double = GATES[GATES["over_rating"] == 2].set_index("family")["most_s"]
    assert at_double["large blade"] > at_double["blade"]


def test_no_time_where_none_is_known() -> None:
    """Single-bolt and 30 mm strip fuses: no table was at hand, so none is given."""
    assert set(FAMILIES.index) - set(GATES["family"]) == {"post fuse", "bolt-in strip 30 mm"}


def test_carried_for_a_quarter_of_an_hour_and_for_half_an_hour() -> None:
    """UL 248-2 and UL 248-9, 8.2.3: at 1.1 times the rating, 15 min to 200 A and 30 min from 201 to 600 A (read)."""
    carried = GATES[(GATES["family"] == "class T") & (GATES["over_rating"] == 1.1)].set_index("up_to_a")["least_s"]
    assert carried.to_dict() == {200: 15 * 60, 600: 30 * 60}


def test_what_is_uncertain_says_so() -> None:
    """The gates at 350 % and 600 % are remembered in two versions."""
    far = GATES[(GATES["over_rating"] > 2) & GATES["family"].str.contains("blade|strip")]
    assert far["confidence"].str.startswith("memory, uncertain").all()
