"""Fuses: family, rating and breaking capacity; derating; times by a family's own gates, or none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.advice import fuses
from wirecalc.advice.fuses import AT_BATTERY, BEHIND_A_FUSE, FuseAdvice, FuseNeed, fuse_for
from wirecalc.advice.house_rules import HouseRules
from wirecalc.circuits.battery import Battery, prospective_a, source_ohm, usual_battery
from wirecalc.errors import InputError
from wirecalc.wire.conductor import awg
from wirecalc.wire.fuse import choose_fuse, ratings_a


def fuse(
    steady_a: float, full_a: float = 0.0, allowed_a: float = 1000.0, *, short_a: float = 500.0, **more: object
) -> FuseAdvice:
    need = FuseNeed(steady_a=steady_a, full_a=max(full_a, steady_a), **more)  # type: ignore[arg-type]
    return fuse_for(need, allowed_a, lambda rating: short_a)


# steady, full, air, where, short -> rating, family; 80 % of a steady draw: common practice, no source
@pytest.mark.parametrize(
    ("steady_a", "full_a", "air_c", "where", "short_a", "rating_a", "family"),
    [
        (8.0, 8.0, 25, BEHIND_A_FUSE, 500, 10, "blade"),
        (8.1, 8.1, 25, BEHIND_A_FUSE, 500, 15, "blade"),
        (24.0, 24.0, 25, BEHIND_A_FUSE, 900, 30, "blade"),
        (30.0, 30.0, 25, BEHIND_A_FUSE, 900, 40, "large blade"),
        (30.0, 30.0, 25, BEHIND_A_FUSE, 1500, 40, "bolt-in strip 30 mm"),  # over 1000 A no blade fuse
        (8.0, 8.0, 45, BEHIND_A_FUSE, 500, 15, "blade"),  # 5 % of its rating is lost in 45 °C
        (11.0, 87.0, 65, AT_BATTERY, 1800, 100, "post fuse"),  # average of music, full power for minutes
        (11.0, 87.0, 65, AT_BATTERY, 5000, 100, "class T"),
        (50.0, 400.0, 25, AT_BATTERY, 1500, 400, "bolt-in strip 51 mm"),
        (60.0, 450.0, 65, AT_BATTERY, 9000, math.inf, None),  # over 500 A derated: none
    ],
)
def test_rating_and_family(
    steady_a: float, full_a: float, air_c: float, where: str, short_a: float, rating_a: float, family: str | None
) -> None:
    choice = fuse(steady_a, full_a, short_a=short_a, air_c=air_c, where=where)
    assert choice.smallest_a == rating_a
    assert (choice.family.key if choice.family else None) == family
    assert (choice.rating_a is None) == math.isinf(rating_a)
    assert bool(choice.changes) == math.isinf(rating_a)
    if choice.family:
        assert choice.family.breaking_a >= short_a
        assert f"{rating_a:g} A" in choice.reason


def test_a_wire_that_carries_less_gets_no_fuse_and_says_what_it_would_have_to_carry() -> None:
    choice = fuse(30.0, allowed_a=35.0)
    assert choice.rating_a is None
    assert choice.smallest_a == 40.0
    assert "carries only 35 A" in choice.reason
    assert "40 A" in choice.changes[0]


def test_an_inrush_has_to_be_stood() -> None:
    assert fuse(8.0).rating_a == 10
    assert fuse(8.0, inrush_a=40.0, inrush_s=0.05).rating_a == 15  # 4 times 10 A may open a blade fuse in 0.03 s
    assert fuse(8.0, inrush_a=40.0, inrush_s=0.05).inrush_stood
    post = fuse(80.0, short_a=1500, where=AT_BATTERY, inrush_a=400.0, inrush_s=0.05)
    assert post.family is not None
    assert post.family.key == "post fuse"
    assert post.rating_a == 125  # no times are known of it: it is taken to be as quick as a blade fuse
    assert post.inrush_stood
    assert "if it is no quicker than a blade fuse" in post.reason
    assert not post.times_known


def test_the_short_is_the_battery_over_all_in_its_way() -> None:
    battery = Battery(volt=12.6, ohm=0.005, joints_ohm=0.0)
    assert float(prospective_a(battery)) == pytest.approx(2520)
    wire = fuses.before_ohm(awg(4), 0.45)
    assert wire == pytest.approx(awg(4).ohm_per_m_20c * 0.45)
    assert fuses.before_ohm(awg(4), 0.0) == 0
    less = prospective_a(battery, wire, np.array([30.0, 100.0, np.inf]))
    assert np.all(np.diff(less) > 0)
    assert less[2] < 2520
    assert source_ohm("branch", 12.6) > source_ohm("battery", 12.6) == pytest.approx(0.006)
    assert usual_battery(28.8).volt == pytest.approx(2 * usual_battery(14.4).volt)


def test_a_shop_may_use_another_family() -> None:
    rules = HouseRules.from_table().replace("fuse_family/behind a fuse or block//-30/", "miniature blade")
    choice = fuse_for(FuseNeed(steady_a=8, full_a=8), 100, lambda rating: 500.0, rules)
    assert choice.family is not None
    assert choice.family.key == "miniature blade"


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="inner resistance"):
        Battery(ohm=5)
    with pytest.raises(InputError, match="fuse rating"):
        FuseNeed(steady_a=1, full_a=1, loading=1.5)


@given(
    steady=st.floats(0.05, 200), ratio=st.floats(1, 8), air=st.floats(-20, 90), short=st.floats(100, 15_000),
    allowed=st.floats(0, 600), where=st.sampled_from([AT_BATTERY, BEHIND_A_FUSE]),
)  # fmt: skip
def test_a_chosen_fuse_always_does_its_three_duties(
    steady: float, ratio: float, air: float, short: float, allowed: float, where: str
) -> None:
    choice = fuse(steady, steady * ratio, allowed, short_a=short, air_c=air, where=where)
    if choice.rating_a is None:
        assert choice.changes
        return
    assert choice.family is not None
    left = float(fuses.derating(choice.family.key, air))
    assert choice.rating_a * left * 0.8 >= steady * (1 - 1e-9)
    assert choice.rating_a * left >= steady * ratio * (1 - 1e-9)
    assert choice.rating_a <= allowed * (1 + 1e-9)
    assert choice.family.breaking_a >= short
    assert choice.rating_a in choice.family.ratings_a


@given(draw=st.floats(1, 20), allowed=st.floats(10, 60))
def test_a_practice_problems_blade_fuse_is_the_one_advised(draw: float, allowed: float) -> None:
    """Cool air and a weak short, as the problems state it: one arithmetic for both."""
    stated = choose_fuse(draw, allowed, ratings=ratings_a("blade")).rating_a
    advised = fuse(draw, allowed_a=allowed, short_a=100.0)
    if stated is not None and stated <= 30:
        assert advised.rating_a == stated
