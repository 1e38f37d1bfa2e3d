from __future__ import annotations

import math
import pickle
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support import ngspice
from wirecalc.circuits.load import Load
from wirecalc.errors import InputError

fixed = settings(derandomize=True, deadline=None)


def test_impedance_as_ngspice_has_it() -> None:
    """3.4 ohm with 0.35 mH: the voltage across it when 1 A AC flows, 10 Hz to 40 kHz."""
    netlist = "I1 0 a DC 0 AC 1\nR1 a b 3.4\nL1 b 0 0.35m"
    out = ngspice.run(netlist, "ac dec 10 10 40k", ["v(a)"])
    frequency_hz = out["frequency"].real
    assert len(frequency_hz) > 30
    np.testing.assert_allclose(Load(ohm=3.4, henry=0.35e-3).impedance(frequency_hz), out["v(a)"], rtol=1e-9)


def test_impedance_by_hand() -> None:
    """5.6 uH at 20 kHz: 2 pi f L = 0.703717 ohm (computed)."""
    assert complex(Load(ohm=4, henry=5.6e-6).impedance(20e3)) == pytest.approx(4 + 0.703717j, abs=1e-6)


def test_a_resistor_is_the_same_at_every_frequency() -> None:
    assert np.all(Load(ohm=4).impedance([0.0, 50.0, 20e3]) == 4.0)


@fixed
@given(st.floats(0.1, 1000), st.floats(0, 0.1), st.floats(0, 1e5), st.floats(1, 10))
def test_never_falls_with_frequency(ohm: float, henry: float, low_hz: float, times: float) -> None:
    low, high = np.abs(Load(ohm=ohm, henry=henry).impedance([low_hz, low_hz * times]))
    assert ohm * (1 - 1e-12) <= low <= high


def test_shape_is_that_of_the_frequencies() -> None:
    assert Load(ohm=4).impedance(np.ones((2, 3))).shape == (2, 3)
    assert Load(ohm=4).impedance(1e3).dtype == np.complex128


@pytest.mark.parametrize(
    ("entries", "field", "allowed"),
    [
        ({"ohm": 0}, "Load impedance", "0.1 to 100000 Ω"),
        ({"ohm": -4}, "Load impedance", "0.1 to 100000 Ω"),
        ({"ohm": math.nan}, "Load impedance", "0.1 to 100000 Ω"),
        ({"henry": -1e-6}, "Load inductance", "0 to 1 H"),
        ({"henry": math.inf}, "Load inductance", "0 to 1 H"),
    ],
)
def test_impossible_loads_are_refused(entries: dict[str, float], field: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        Load(**{"ohm": 4.0} | entries)
    assert (caught.value.field, caught.value.allowed) == (field, allowed)


@pytest.mark.parametrize("frequency_hz", [-1.0, math.nan, [20.0, 2e9]])
def test_impossible_frequencies_are_refused(frequency_hz: float) -> None:
    with pytest.raises(InputError, match="Frequency"):
        Load(ohm=4).impedance(frequency_hz)


def test_frozen_by_keyword_and_pickled() -> None:
    load = Load(ohm=4, henry=1e-3)
    with pytest.raises(FrozenInstanceError):
        load.ohm = 2  # type: ignore[misc]
    with pytest.raises(TypeError):
        Load(4)
    assert pickle.loads(pickle.dumps(load)) == load
