"""Fuses: ratings, the fuse for a wire, gates, what a short does to the wire, and what is said about it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.errors import InputError
from wirecalc.wire import ampacity, fuse
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS, insulated

PVC = INSULATIONS["pvc_105"]
amps = st.floats(0.05, 400)


def test_ratings():
    # ISO 8820-3 types C and F, and E, from memory; the largest of the standard is 100 A (scope, read)
    assert fuse.ratings_a("blade").tolist() == [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40]
    assert fuse.ratings_a("large blade").tolist() == [20, 30, 40, 50, 60, 70, 80, 100]
    assert fuse.ratings_a("blade", "large blade").max() == 100
    assert np.all(np.diff(fuse.RATINGS_A) > 0)


@pytest.mark.parametrize(
    ("draw_a", "allowable_a", "rating_a"),
    # by hand: the next rating at or over draw/0.8, if at or under what the wire allows
    [
        (8.0, 12.0, 10),
        (8.0, 10.0, 10),
        (8.0, 9.99, None),
        (8.01, 14.9, None),
        (8.01, 15.0, 15),
        (24.0, 45.0, 30),
        (72.0, 105.0, 100),
        (240.0, 300.0, 300),
        (241.0, 500.0, None),
        (0.1, 0.9, None),
        (0.3, 8.0, 1),
    ],
)
def test_fuse_for_a_wire(draw_a, allowable_a, rating_a):
    choice = fuse.choose_fuse(draw_a, allowable_a)
    assert choice.rating_a == rating_a
    assert fuse.fuse_a(draw_a, allowable_a) == pytest.approx(rating_a or np.nan, nan_ok=True)
    assert bool(choice.changes) == (rating_a is None)


@given(amps, st.floats(0, 400), st.floats(0.5, 1.0))
def test_the_fuse_is_the_smallest_that_carries_the_draw_and_protects(draw_a, allowable_a, loading):
    found = fuse.fuse_a(draw_a, allowable_a, loading=loading)
    fits = [rating for rating in fuse.RATINGS_A if rating * loading >= draw_a * (1 - 1e-12) and rating <= allowable_a]
    assert found == pytest.approx(min(fits, default=np.nan), nan_ok=True)
    room = fuse.headroom_a(draw_a, allowable_a, loading=loading)
    assert (room >= 0) == bool(fits)
    choice = fuse.choose_fuse(draw_a, allowable_a, loading=loading)
    assert (choice.rating_a is not None) == bool(fits)
    assert choice.needed_a == pytest.approx(draw_a / loading)
    # what it says to change works
    if np.isfinite(choice.wire_must_allow_a):
        assert fuse.fuse_a(draw_a, choice.wire_must_allow_a, loading=loading) == choice.wire_must_allow_a
    if choice.draw_at_most_a:
        assert fuse.fuse_a(choice.draw_at_most_a, allowable_a, loading=loading) <= allowable_a
        assert np.isnan(fuse.fuse_a(choice.draw_at_most_a * 1.001 + 1e-9, allowable_a, loading=loading))


def test_what_to_change_is_said():
    short = fuse.choose_fuse(20.0, 18.0, alone_a=30.0)
    assert short.reason == "The draw at the fuse is 20 A: it needs a 25 A fuse, but the wire may carry only 18 A."
    assert short.changes == (
        "Take thicker wire, or higher-temperature wire: it has to allow 25 A.",
        "Run it outside the bundle: by itself it may carry 30 A.",
        "Lower the draw to 12 A or less.",
    )
    assert "not enough" in fuse.choose_fuse(20.0, 18.0, alone_a=22.0).changes[1]
    assert len(fuse.choose_fuse(20.0, 18.0).changes) == 2
    assert "another place" in fuse.choose_fuse(20.0, 0.0).changes[-1]
    huge = fuse.choose_fuse(300.0, 400.0)
    assert huge.rating_a is None
    assert "Split" in huge.changes[0]
    assert fuse.headroom_a(300.0, 400.0) == -np.inf
    assert "at most 80 % of a 25 A fuse" in fuse.choose_fuse(20.0, 30.0).reason


@pytest.mark.parametrize(
    ("percent", "shortest_s", "longest_s"),
    # ISO 8820-3, from memory
    [(110, 360000, np.inf), (135, 0.75, 600), (160, 0.25, 50), (200, 0.15, 5)],
)
def test_gates(percent, shortest_s, longest_s):
    for rating in fuse.RATINGS_A:
        found = fuse.clearing_between_s(rating, rating * percent / 100)
        assert found == (pytest.approx(shortest_s), pytest.approx(longest_s))


def test_beyond_the_gates():
    shortest, longest = fuse.clearing_between_s(20.0, [10.0, 22.1, 26.9, 40.1, 400.0])
    assert shortest[0] > 360000
    assert np.isinf(longest[:3]).all()
    assert shortest[3:].tolist() == [0, 0]
    assert longest[4] == pytest.approx(0.05)  # ten times the current of the 5 s gate, a hundredth of the time


@given(st.sampled_from(fuse.RATINGS_A.tolist()), st.floats(0.2, 50), st.floats(1.0001, 3))
def test_more_current_never_opens_later(rating_a, share, more):
    slow, fast = (fuse.clearing_between_s(rating_a, rating_a * share * factor) for factor in (1, more))
    assert fast[0] <= slow[0]
    assert fast[1] <= slow[1]
    assert slow[0] < slow[1]


def test_a_fuse_at_the_allowable_current_saves_every_wire_in_a_short():
    wires = insulated([awg(n) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2, 0)], PVC)
    allowed = ampacity.allowable(wires, 45.0).current_a
    rating = fuse.RATINGS_A[np.searchsorted(fuse.RATINGS_A, allowed, side="right") - 1]
    found = fuse.protects(rating, rating * np.array([2.0, 5.0, 20.0])[:, None], wires, 45.0)
    assert found.holds.all()
    assert np.all(found.clearing_s < found.lasts_s)


def test_a_short_starts_from_the_hottest_that_the_wire_may_run():
    found = fuse.protects(30.0, 300.0, insulated([awg(12)], PVC), 45.0)
    # by hand with IEC 60949's 226 A s^0.5/mm2 (from memory): (226 x 3.3088)^2 ln(394.5/339.5)/300^2
    assert found.lasts_s == pytest.approx(0.933, rel=0.01)
    assert found.clearing_s == pytest.approx(5 * (2 / 10) ** 2)


def test_a_fuse_too_large_does_not_save_the_wire():
    wire = insulated([awg(18)], PVC)
    assert not fuse.protects(100.0, 200.0, wire, 45.0).holds
    # under 135 % of 40 A it may never open: 18 AWG would end far over its damage temperature
    found = fuse.protects(40.0, 45.0, wire, 45.0)
    assert np.isinf(found.clearing_s)
    assert found.steady_c > PVC.damage_c
    assert not found.holds
    # but a fault that the wire carries for ever needs no fuse
    assert fuse.protects(20.0, 10.0, wire, 45.0).holds


# FAA AC 43.13-1B table 11-3 (read): fuse for a copper wire. Its basis, from memory: 135 °F (57.2 °C), 15 wires
# or more that carry together no more than 20 % of what they could, so like 3 wires fully loaded. Ours is lower
# for 22 AWG, where 33 CFR 183.425 has no row and ours falls with area, and for some by the steps of its table.
FAA = {22: 5, 20: 5, 18: 10, 16: 10, 14: 15, 12: 20, 10: 30, 8: 50, 6: 70, 4: 70, 2: 100, 1: 150, 0: 150}


def test_against_the_aircraft_table():
    wires = insulated([awg(gauge) for gauge in FAA], PVC)
    share = ampacity.allowable(wires, 57.2, 3).current_a / np.array(list(FAA.values()))
    assert share.min() > 0.85
    assert share.max() < 1.45
    assert np.exp(np.log(share).mean()) == pytest.approx(1.1, abs=0.05)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: fuse.ratings_a("glass"), "Fuse family"),
        (lambda: fuse.fuse_a(0, 10), "Draw"),
        (lambda: fuse.fuse_a(1, -1), "Allowable current"),
        (lambda: fuse.fuse_a(1, 1, loading=1.2), "Draw over fuse rating"),
        (lambda: fuse.fuse_a(1, 1, ratings=[0]), "Fuse rating"),
        (lambda: fuse.choose_fuse(1, 1, alone_a=-1), "Allowable current outside the bundle"),
        (lambda: fuse.clearing_between_s(10, 0), "Current"),
        (lambda: fuse.clearing_between_s(0, 10), "Fuse rating"),
    ],
)
def test_bad_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field


@given(st.floats(1e-3, 500), st.floats(0.5, 0.999))
def test_a_fuse_of_the_least_rating_for_a_start_stands_it(start_s: float, smaller: float) -> None:
    share = fuse.start_share(start_s)
    gates = [(gate, least_s) for gate, least_s in fuse.STARTS if gate >= share * (1 - 1e-12)]
    earliest_s = max(least_s * (gate / share) ** 2 for gate, least_s in gates)  # as `clearing_between_s` has it
    assert earliest_s >= start_s * (1 - 1e-9)
    assert fuse.start_share(start_s * smaller) >= share


def test_starts_by_hand() -> None:
    # ISO 8820-3, from memory: 600 % for at least 0.02 s, 135 % for at least 0.75 s
    assert fuse.start_share(0.02) == 6
    assert fuse.start_share(0.75) == pytest.approx(1.35)
    assert fuse.start_share(0) == 6
    with pytest.raises(InputError):
        fuse.start_share(-1)
