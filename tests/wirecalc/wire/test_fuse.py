"""The fuse for a wire, what a short does to the wire, and what is said about it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.errors import InputError
from wirecalc.wire import ampacity, fuse, heat
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS, insulated

PVC = INSULATIONS["pvc_105"]
amps = st.floats(0.05, 400)


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
        (241.0, 500.0, 350),
        (401.0, 600.0, None),
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
    rating_a = fuse.fuse_a(draw_a, allowable_a, loading=loading)
    usual = fuse.USUAL_RATINGS_A
    fits = [rating for rating in usual if rating * loading >= draw_a * (1 - 1e-12) and rating <= allowable_a]
    assert rating_a == pytest.approx(min(fits, default=np.nan), nan_ok=True)
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
    huge = fuse.choose_fuse(500.0, 700.0)
    assert huge.rating_a is None
    assert "Split" in huge.changes[0]
    assert fuse.headroom_a(500.0, 700.0) == -np.inf
    assert "at most 80 % of a 25 A fuse" in fuse.choose_fuse(20.0, 30.0).reason


def test_a_fuse_at_the_allowable_current_saves_every_wire_in_a_short():
    wires = insulated([awg(n) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2, 0)], PVC)
    allowed = ampacity.allowable(wires, 45.0).current_a
    usual = fuse.USUAL_RATINGS_A
    rating = usual[np.searchsorted(usual, allowed, side="right") - 1]
    protection = fuse.protects(rating, rating * np.array([2.0, 5.0, 20.0])[:, None], wires, 45.0)
    # the gates of a large blade are not sure
    slow = np.array([fuse.usual_family(rating_a) == "large blade" for rating_a in rating.tolist()])
    assert protection.holds[2].all()
    assert protection.holds[:, ~slow].all()
    assert np.all((protection.clearing_s < protection.lasts_s)[:, ~slow])
    # at twice its rating a large blade may take a minute: more than no heat leaving allows, but some leaves
    seconds = np.linspace(0.0, 60.0, 121)
    hot_c = heat.over_time_c(wires, seconds, 2 * rating, 45.0, 1, PVC.limit_c)
    opens = np.searchsorted(seconds, protection.clearing_s[0])
    assert np.all(hot_c[opens, np.arange(len(rating))] < PVC.damage_c)


@pytest.mark.parametrize(
    ("rating_a", "longest_s"),
    [(30.0, 5.0 * (2 / 5) ** 2), (80.0, 7.0 * (3.5 / 5) ** 2), (200.0, 15.0 * (2 / 5) ** 2)],
)
def test_each_rating_opens_by_the_gates_of_its_own_family(rating_a: float, longest_s: float) -> None:
    """ISO 8820-3 types C and E, ISO 8820-5 type SF 51, as data/fuse_gates.csv has them from memory; five times rated.

    The gate of type C at 3.5 is not well known, so that of 2.0 counts.
    """
    protection = fuse.protects(rating_a, 5 * rating_a, insulated([awg(0)], PVC), 45.0)
    assert protection.clearing_s == pytest.approx(longest_s)


def test_a_short_starts_from_the_hottest_that_the_wire_may_run():
    protection = fuse.protects(30.0, 300.0, insulated([awg(12)], PVC), 45.0)
    # by hand with IEC 60949's 226 A s^0.5/mm2 (from memory): (226 x 3.3088)^2 ln(394.5/339.5)/300^2
    assert protection.lasts_s == pytest.approx(0.933, rel=0.01)
    assert protection.clearing_s == pytest.approx(5 * (2 / 10) ** 2)


def test_a_fuse_too_large_does_not_save_the_wire():
    wire = insulated([awg(18)], PVC)
    assert not fuse.protects(100.0, 200.0, wire, 45.0).holds
    # under 135 % of 40 A it may never open: 18 AWG would end far over its damage temperature
    protection = fuse.protects(40.0, 45.0, wire, 45.0)
    assert np.isinf(protection.clearing_s)
    assert protection.steady_c > PVC.damage_c
    assert not protection.holds
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
        (lambda: fuse.fuse_a(0, 10), "Draw"),
        (lambda: fuse.fuse_a(1, -1), "Allowable current"),
        (lambda: fuse.fuse_a(1, 1, loading=1.2), "Draw over fuse rating"),
        (lambda: fuse.fuse_a(1, 1, ratings=[0]), "Fuse rating"),
        (lambda: fuse.choose_fuse(1, 1, alone_a=-1), "Allowable current outside the bundle"),
    ],
)
def test_bad_values_are_refused(call, field):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.field == field
