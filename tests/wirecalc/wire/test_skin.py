"""Skin effect against mpmath, both limits, and published tables."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import mu_0

from wirecalc.errors import InputError
from wirecalc.wire.conductor import COPPER, METALS, STRANDINGS, awg, awg_area_m2, ohm_per_metre
from wirecalc.wire.skin import ac_ratio, internal_henry_per_m, internal_ohm_per_m

EXACT = "x I0(x)/(2 I1(x)) by scipy.special.iv, copper 1/58 ohm mm2/m; computed"
TERMAN = "Terman, Radio Engineers' Handbook, skin effect table, as quoted in a forum post; read"


@pytest.mark.parametrize(
    ("gauge", "hz", "ratio", "inside_nh", "source"),
    [
        (12, 1e3, 1.00121, 49.970, EXACT),
        (12, 10e3, 1.11055, 47.258, EXACT),
        (18, 20e3, 1.02929, 49.269, EXACT),
        (16, 20e3, 1.07151, 48.221, EXACT),
        (12, 20e3, 1.35298, 41.442, EXACT),
        (10, 20e3, 1.64664, 34.956, EXACT),
        (8, 20e3, 2.02084, 28.136, EXACT),
        (4, 20e3, 3.04259, 17.878, EXACT),
        (0, 20e3, 4.67499, 11.296, EXACT),
    ],
)
def test_solid_gauges(gauge: int, hz: float, ratio: float, inside_nh: float, source: str) -> None:
    dc = ohm_per_metre(awg_area_m2(gauge))
    assert ac_ratio(dc, hz) == pytest.approx(ratio, rel=1e-4 / 10), source
    assert internal_henry_per_m(dc, hz) * 1e9 == pytest.approx(inside_nh, rel=1e-4), source


@pytest.mark.parametrize(
    ("radius_over_depth", "ratio"),
    [(1, 1.02049), (2, 1.26464), (3, 1.76813), (4, 2.27380), (6, 3.26519), (8, 4.26157)],
)
def test_by_radius_over_skin_depth(radius_over_depth: float, ratio: float) -> None:
    hz = 20e3
    depth_m = math.sqrt(COPPER.ohm_m_20c / (math.pi * hz * mu_0))
    assert depth_m == pytest.approx(0.467295e-3, rel=1e-6), EXACT
    dc = ohm_per_metre(math.pi * (radius_over_depth * depth_m) ** 2)
    assert ac_ratio(dc, hz) == pytest.approx(ratio, abs=0.5e-5), EXACT


def test_the_handbook_and_never_the_shortcut() -> None:
    """10 AWG at 100 kHz: 3.35 in the handbook; a free textbook's k sqrt(f) gives 8.73."""
    dc = ohm_per_metre(awg_area_m2(10))
    assert ac_ratio(dc, 100e3) == pytest.approx(3.35, rel=5e-3), TERMAN
    assert np.all(ac_ratio(dc, np.geomspace(1, 100e3, 200)) < 3.4)


@pytest.mark.parametrize("magnetic", [*np.geomspace(1e-9, 1e-2, 8), 0.00999, 0.01001, *np.geomspace(0.1, 1e10, 23)])
def test_against_mpmath(magnetic: float) -> None:
    """Both sides of the change from series to Bessel, and arguments where the unscaled I0 overflows."""
    dc = 1e-3
    hz = magnetic * dc / (2 * mu_0)
    dc, hz = (dc, hz) if hz < 1e9 else (1e-8, magnetic * 1e-8 / (2 * mu_0))
    with mpmath.workdps(40):
        x = mpmath.sqrt(mpmath.mpc(0, magnetic))
        exact = complex(x * mpmath.besseli(0, x) / (2 * mpmath.besseli(1, x)))
    ratio = complex(internal_ohm_per_m(dc, hz)) / dc
    assert ratio.real == pytest.approx(exact.real, rel=1e-12)
    assert ratio.imag == pytest.approx(exact.imag, rel=1e-12)
    inside = float(internal_henry_per_m(dc, hz))
    assert inside * 2 * math.pi * hz == pytest.approx(exact.imag * dc, rel=1e-12)


@given(st.floats(1e-5, 1.0))
def test_direct_current(dc: float) -> None:
    assert ac_ratio(dc, 0.0) == 1.0
    assert internal_henry_per_m(dc, 0.0) == pytest.approx(mu_0 / (8 * math.pi), rel=1e-15)
    assert internal_ohm_per_m(dc, 0.0) == dc


@given(st.floats(1e-3, 0.1), st.floats(0.0, 0.999))
def test_thin_skin(radius_m: float, share: float) -> None:
    """Far past the skin depth the current runs in a layer of that depth: R and omega L are alike."""
    depth_m = radius_m / (100 + 900 * share)
    hz = COPPER.ohm_m_20c / (math.pi * mu_0 * depth_m**2)
    if hz > 1e9:
        return
    impedance = internal_ohm_per_m(ohm_per_metre(math.pi * radius_m**2), hz)
    layer = COPPER.ohm_m_20c / (2 * math.pi * radius_m * depth_m)
    curved = 1 + depth_m / (2 * radius_m)  # the next term of the expansion
    assert impedance.real == pytest.approx(layer * curved, rel=2 * (depth_m / radius_m) ** 2)
    assert impedance.imag == pytest.approx(layer, rel=2 * (depth_m / radius_m) ** 2)


@given(st.floats(1e-5, 0.1), st.floats(1.0, 1e6), st.floats(1.001, 10.0))
def test_grows_with_frequency_and_falls_with_heat(dc: float, hz: float, more: float) -> None:
    assert ac_ratio(dc, hz * more) >= ac_ratio(dc, hz) >= 1
    assert internal_henry_per_m(dc, hz * more) <= internal_henry_per_m(dc, hz) * (1 + 1e-12)
    assert ac_ratio(dc * more, hz) <= ac_ratio(dc, hz)
    assert internal_ohm_per_m(dc * more, hz).real >= internal_ohm_per_m(dc, hz).real


def test_diameter_by_frequency_by_temperature() -> None:
    dc = ohm_per_metre(awg_area_m2([[[18]], [[12]], [[0]]]), np.array([[-20.0], [20.0], [80.0], [105.0]]))
    hz = np.geomspace(10, 40e3, 5)
    whole = internal_ohm_per_m(dc, hz)
    assert whole.shape == (3, 4, 5)
    assert whole[1, 2, 3] == pytest.approx(complex(internal_ohm_per_m(dc[1, 2, 0], hz[3])), rel=1e-14)


def test_strands_are_a_rod_of_the_same_dc_resistance() -> None:
    """Bare strands spread over a wider circle, as one rod of that circle and of a resistivity higher by 1/fill."""
    strands = awg(8, stranding=STRANDINGS["fine"])
    circle_m2 = math.pi / 4 * strands.diameter_m**2
    spread_ohm_m = COPPER.ohm_m_20c * strands.stranding.lay_factor / strands.stranding.fill
    hz = 20e3
    ka = complex(1, 1) * strands.diameter_m / 2 / math.sqrt(spread_ohm_m / (math.pi * hz * mu_0))
    rod = complex(ka * mpmath.besseli(0, ka) / (2 * mpmath.besseli(1, ka)))
    assert ac_ratio(strands.ohm_per_m_20c, hz) == pytest.approx(rod.real, rel=1e-12)
    assert strands.ohm_per_m_20c == pytest.approx(spread_ohm_m / circle_m2, rel=1e-12)


def test_a_poorer_metal_has_less_of_it() -> None:
    copper, clad = awg(8), awg(8, metal=METALS["cca_15"])
    assert ac_ratio(clad.ohm_per_m_20c, 20e3) < ac_ratio(copper.ohm_per_m_20c, 20e3)


@pytest.mark.parametrize(
    ("dc", "hz", "field"),
    [(0.0, 50.0, "Resistance"), (math.nan, 50.0, "Resistance"), (1e-3, -1.0, "Frequency"), (1e-3, 2e9, "Freq")],
)
@pytest.mark.parametrize("function", [ac_ratio, internal_henry_per_m, internal_ohm_per_m])
def test_refused(function, dc: float, hz: float, field: str) -> None:
    with pytest.raises(InputError, match=field):
        function(dc, hz)
