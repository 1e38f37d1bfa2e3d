from __future__ import annotations

import math
import pickle
from dataclasses import FrozenInstanceError

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)


def test_a_rating_by_hand() -> None:
    """100 W into 4 ohm: 20 V and 5 A (P = V^2/R); damping factor 200: 20 milliohm behind, 20.1 V open."""
    amplifier = Amplifier(power_w=100, rated_ohm=4)
    assert amplifier.rated_current_a == pytest.approx(5.0, rel=1e-12)
    assert amplifier.output_ohm == pytest.approx(0.02, rel=1e-12)
    assert amplifier.emf_v == pytest.approx(20.1, rel=1e-12)


@fixed
@given(st.floats(0.001, 20000), st.floats(0.1, 1000), st.floats(1, 1e5))
def test_gives_its_rated_power_into_its_rated_load(power_w: float, rated_ohm: float, damping: float) -> None:
    amplifier = Amplifier(power_w=power_w, rated_ohm=rated_ohm, damping_factor=damping)
    outcome = solve_loop(amplifier.emf_v, amplifier.output_ohm, 0.0, rated_ohm)
    assert outcome.load_w == pytest.approx(power_w, rel=1e-12)
    assert outcome.current_a == pytest.approx(amplifier.rated_current_a, rel=1e-12)
    assert outcome.damping_factor == pytest.approx(damping, rel=1e-12)


def test_least_load_is_the_rated_one_unless_said() -> None:
    assert Amplifier(power_w=100, rated_ohm=4).least_load_ohm == 4
    assert Amplifier(power_w=100, rated_ohm=4, least_ohm=2).least_load_ohm == 2


@pytest.mark.parametrize(
    ("entries", "field", "allowed"),
    [
        ({"power_w": 0}, "Amplifier power", "0.001 to 20000 W"),
        ({"power_w": -100}, "Amplifier power", "0.001 to 20000 W"),
        ({"power_w": math.nan}, "Amplifier power", "0.001 to 20000 W"),
        ({"power_w": math.inf}, "Amplifier power", "0.001 to 20000 W"),
        ({"power_w": "a lot"}, "power_w", "a power in W, mW, kW"),
        ({"rated_ohm": 0}, "Rated impedance", "0.1 to 1000 Ω"),
        ({"rated_ohm": None}, "Rated impedance", "0.1 to 1000 Ω"),
        ({"damping_factor": 0.5}, "Damping factor", "1 to 100000"),
        ({"damping_factor": math.inf}, "Damping factor", "1 to 100000"),
        ({"least_ohm": 0}, "Least load", "0.1 to 1000 Ω"),
        ({"least_ohm": math.nan}, "Least load", "0.1 to 1000 Ω"),
    ],
)
def test_impossible_ratings_are_refused(entries: dict[str, object], field: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        Amplifier(**{"power_w": 100, "rated_ohm": 4} | entries)  # type: ignore[arg-type]
    assert (caught.value.field, caught.value.allowed) == (field, allowed)


def test_frozen_by_keyword_and_pickled() -> None:
    amplifier = Amplifier(power_w=100, rated_ohm=4)
    with pytest.raises(FrozenInstanceError):
        amplifier.power_w = 200  # type: ignore[misc]
    with pytest.raises(TypeError):
        Amplifier(100, 4)
    assert pickle.loads(pickle.dumps(amplifier)) == amplifier
