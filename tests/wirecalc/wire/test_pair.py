"""A pair's inductance and capacitance: published forms, laws, and a finite-difference field as oracle."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.sparse as sparse
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import c, epsilon_0, mu_0
from scipy.sparse.linalg import spsolve

from wirecalc import tables
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS, STRANDINGS, awg
from wirecalc.wire.pair import (
    DIELECTRICS,
    Dielectric,
    Pair,
    effective_permittivity,
    external_henry_per_m,
    farad_per_m,
)

TWO_WIRE = "two-wire line: mu0/pi acosh(D/d), pi eps/acosh(D/d), read in a network library's source; computed"


@pytest.mark.parametrize(
    ("d_mm", "spacing_mm", "permittivity", "outside_uh", "with_inside_uh", "pf"),
    [
        (2.0525, 4.0, 1.0, 0.514762, 0.614762, 21.6148),
        (2.0525, 4.0, 3.0, 0.514762, 0.614762, 64.8445),
        (1.0, 10.0, 1.0, 1.197289, 1.297289, 9.29308),
        (1.0237, 2.5, 2.3, 0.616474, 0.716474, 41.5118),
    ],
)
def test_two_wire_line(
    d_mm: float, spacing_mm: float, permittivity: float, outside_uh: float, with_inside_uh: float, pf: float
) -> None:
    d, spacing = d_mm * 1e-3, spacing_mm * 1e-3
    assert external_henry_per_m(d, spacing) * 1e6 == pytest.approx(outside_uh, rel=1e-5), TWO_WIRE
    assert farad_per_m(d, spacing, permittivity) * 1e12 == pytest.approx(pf, rel=1e-5), TWO_WIRE
    # the same spacing as a pair of solid wires: DC adds mu0/(4 pi)
    solid = awg(36 - 39 * math.log(d_mm / 0.127, 92), stranding=STRANDINGS["solid"])
    pair = Pair(conductor=solid, insulation=DIELECTRICS["pe"], insulation_m=(spacing - d) / 2)
    assert pair.spacing_m == pytest.approx(spacing, rel=1e-12)
    assert float(pair.henry_per_m()) * 1e6 == pytest.approx(with_inside_uh, rel=1e-5), TWO_WIRE


gaps = st.floats(1e-5, 0.1)
diameters = st.floats(1e-4, 0.02)


@given(diameters, gaps, st.floats(1, 10))
def test_the_wave_runs_at_the_speed_of_light_in_the_insulation(d: float, gap: float, eps: float) -> None:
    product = external_henry_per_m(d, d + gap) * farad_per_m(d, d + gap, eps) * c**2
    assert product == pytest.approx(eps, rel=1e-9)


@given(diameters, gaps, st.floats(1.01, 10))
def test_wider_apart_is_more_inductance_and_less_capacitance(d: float, gap: float, more: float) -> None:
    assert external_henry_per_m(d, d + gap * more) > external_henry_per_m(d, d + gap)
    assert farad_per_m(d, d + gap * more) < farad_per_m(d, d + gap)


@given(diameters, st.floats(0, 0.01), st.floats(1e-5, 0.1), st.floats(1, 10), st.floats(1.0, 2.0))
def test_effective_permittivity_lies_between_air_and_insulation(
    d: float, t: float, gap: float, eps: float, more: float
) -> None:
    permittivity = effective_permittivity(d, t, gap, eps)
    assert 1 - 1e-12 <= permittivity <= eps * (1 + 1e-12)
    assert effective_permittivity(d, t, gap, eps * more) >= permittivity * (1 - 1e-12)
    assert effective_permittivity(d, 0.0, gap, eps) == pytest.approx(1.0, rel=1e-9)
    assert effective_permittivity(d, t, gap, 1.0) == pytest.approx(1.0, rel=1e-12)


def solved_permittivity(d: float, t: float, gap: float, eps: float, across: int = 80, round_: int = 160) -> float:
    """Laplace's equation with the true insulation, by finite volumes in bipolar coordinates.

    There both wires are straight lines and the equation keeps its form; one quarter of the plane is enough.
    """
    spacing, radius = d + 2 * t + gap, d / 2
    end = math.acosh(spacing / d)
    focus = radius * math.sinh(end)
    fine = 4  # points a cell, for the mean permittivity where the surface cuts it
    tau = ((np.arange(across * fine) + 0.5) * end / (across * fine))[:, None]
    sigma = ((np.arange(round_ * fine) + 0.5) * math.pi / (round_ * fine))[None, :]
    x = focus * np.sinh(tau) / (np.cosh(tau) - np.cos(sigma))
    y = focus * np.sin(sigma) / (np.cosh(tau) - np.cos(sigma))
    inside = np.hypot(x - spacing / 2, y) < radius + t
    cell = np.where(inside, eps, 1.0).reshape(across, fine, round_, fine).mean(axis=(1, 3))
    high, wide = end / across, math.pi / round_
    along = 2 / (1 / cell[:-1] + 1 / cell[1:]) * wide / high
    around = 2 / (1 / cell[:, :-1] + 1 / cell[:, 1:]) * high / wide
    index = np.arange(cell.size).reshape(cell.shape)
    diagonal = np.zeros_like(cell)
    for low, up, g in ((np.s_[:-1], np.s_[1:], along), (np.s_[:, :-1], np.s_[:, 1:], around)):
        diagonal[low] += g
        diagonal[up] += g
    middle, metal = 2 * cell[0] * wide / high, 2 * cell[-1] * wide / high  # at 0 and at 1 volt
    diagonal[0] += middle
    diagonal[-1] += metal
    i = np.concatenate([index[:-1].ravel(), index[:, :-1].ravel()])
    j = np.concatenate([index[1:].ravel(), index[:, 1:].ravel()])
    g = np.concatenate([along.ravel(), around.ravel()])
    off = sparse.coo_array((-g, (i, j)), shape=(cell.size, cell.size))
    matrix = (off + off.T + sparse.diags_array(diagonal.ravel())).tocsc()
    volts = spsolve(matrix, np.concatenate([np.zeros(cell.size - round_), metal])).reshape(cell.shape)
    return float((middle * volts[0]).sum() * end / math.pi)


@pytest.mark.parametrize(("eps", "too_low_by"), [(1.6, 0.006), (2.3, 0.02), (3.5, 0.05), (5.0, 0.08)])
@pytest.mark.parametrize(
    ("d", "t", "gap"), [(2.05, 0.8, 0.0), (1.0, 0.1, 0.0), (1.0, 3.0, 0.0), (1.0, 0.3, 1.0), (1.0, 0.5, 5.0)]
)
def test_partly_air_against_the_solved_field(d: float, t: float, gap: float, eps: float, too_low_by: float) -> None:
    solved = solved_permittivity(d, t, gap, eps)
    permittivity = effective_permittivity(d * 1e-3, t * 1e-3, gap * 1e-3, eps)
    assert solved * (1 - too_low_by) <= permittivity <= solved * 1.001  # the grid's own error


def test_the_solver_itself_knows_both_ends() -> None:
    assert solved_permittivity(1.0, 0.3, 1.0, 1.0) == pytest.approx(1.0, rel=1e-9)
    assert solved_permittivity(1.0, 0.0, 1.0, 3.0) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("gap", [0.0, 1e-3])
def test_more_flux_lines_change_nothing(gap: float, monkeypatch: pytest.MonkeyPatch) -> None:
    few = effective_permittivity(1e-3, 0.5e-3, gap, 5.0)
    monkeypatch.setattr("wirecalc.wire.pair._FLUX_LINES", 2048)
    assert few == pytest.approx(effective_permittivity(1e-3, 0.5e-3, gap, 5.0), rel=1e-9)


def test_effective_permittivity_broadcasts() -> None:
    d, t = np.array([[1e-3], [2e-3]]), np.array([0.3e-3, 0.5e-3, 0.8e-3])
    permittivity = effective_permittivity(d, t, 0.0, 2.3)
    assert permittivity.shape == (2, 3)
    assert permittivity[1, 2] == effective_permittivity(2e-3, 0.8e-3, 0.0, 2.3)


def test_pair_puts_the_parts_together() -> None:
    wire = awg(12)
    pair = Pair(conductor=wire, insulation=DIELECTRICS["pvc"], insulation_m=0.8e-3, gap_m=0.1e-3)
    assert pair.spacing_m == pytest.approx(wire.diameter_m + 1.7e-3)
    hz = np.array([0.0, 1e3, 20e3])
    ohm_per_m = pair.ohm_per_m(hz, 60.0)
    assert ohm_per_m[0] == pytest.approx(2 * wire.ohm_per_m_20c * (1 + 0.00393 * 40), rel=1e-12)
    assert ohm_per_m.imag[1:] == pytest.approx(2 * np.pi * hz[1:] * pair.henry_per_m(hz[1:], 60.0), rel=1e-12)
    assert ohm_per_m.real[2] > ohm_per_m.real[1] > ohm_per_m.real[0]
    air = np.pi * epsilon_0 / (pair.external_henry_per_m * np.pi / mu_0)
    assert air < pair.farad_per_m < 3.5 * air


def test_insulation_table() -> None:
    table = tables.load("insulation_dielectrics")
    assert table["relative_permittivity"].between(1, 10).all()
    assert (table["lowest"] <= table["relative_permittivity"]).all()
    assert (table["relative_permittivity"] <= table["highest"]).all()
    assert set(table["confidence"]) <= {"read", "computed", "memory", "common practice"}
    assert table["source"].str.len().min() > 0
    # common knowledge that would catch a swapped row: foam is mostly gas, PVC is polar
    assert DIELECTRICS["foam_pe"].highest < DIELECTRICS["pe"].lowest < DIELECTRICS["pvc"].lowest


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: external_henry_per_m(2e-3, 2e-3), ["Spacing", "2 mm", "above the conductor's diameter"]),
        (lambda: external_henry_per_m([1e-3, 3e-3], 2e-3), ["3 mm"]),
        (lambda: farad_per_m(2e-3, 1e-3), ["1 mm", "touch"]),
        (lambda: external_henry_per_m(0.0, 1e-3), ["Conductor diameter"]),
        (lambda: external_henry_per_m(1e-3, math.nan), ["Spacing"]),
        (lambda: farad_per_m(1e-3, 2e-3, 0.9), ["permittivity"]),
        (lambda: effective_permittivity(1e-3, 0.0, 0.0, 2.0), ["touch"]),
        (lambda: effective_permittivity(1e-3, -1e-3, 0.0, 2.0), ["Insulation thickness"]),
        (
            lambda: Pair(conductor=awg(12), insulation=DIELECTRICS["pe"], insulation_m=0.0),
            ["Insulation thickness"],
        ),
        (
            lambda: Pair(conductor=awg(12), insulation=DIELECTRICS["pe"], insulation_m=1e-3, gap_m=-1.0),
            ["Gap"],
        ),
        (
            lambda: Dielectric(key="x", name="x", relative_permittivity=3.0, lowest=2.0, highest=2.5),
            ["Relative permittivity", "2 to 2.5"],
        ),
    ],
)
def test_refused(make, words: list[str]) -> None:
    with pytest.raises(InputError) as error:
        make()
    assert all(word in str(error.value) for word in words)


def test_another_metal_keeps_the_field_outside() -> None:
    copper, clad = (
        Pair(conductor=awg(12, metal=METALS[key]), insulation=DIELECTRICS["pe"], insulation_m=1e-3)
        for key in ("copper", "cca_10")
    )
    assert copper.external_henry_per_m == clad.external_henry_per_m
    assert np.all(clad.henry_per_m(20e3) > copper.henry_per_m(20e3))  # its skin is thicker
