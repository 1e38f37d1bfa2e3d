"""A run over frequency, 10 Hz to 40 kHz: what the wire does to the level into any complex load.

The wire is the pair's resistance with skin effect and its inductance, in series. The capacitance between the
conductors is left out: on 20 m of pair it moves the level by under 0.005 dB at 40 kHz and under 0.002 dB up to
20 kHz, held against the exact line in the tests. That is so for loudspeaker loads behind an amplifier's low
impedance, not for line-level sources.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.loudspeaker import HasImpedance
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import REFERENCE_C, ohms_per_metre
from wirecalc.wire.pair import Pair
from wirecalc.wire.skin import internal_ohm_per_m

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

LOWEST_HZ, HIGHEST_HZ = 10.0, 40e3


def audio_hz(points: int = 400) -> Array:
    """Frequencies in even steps of pitch from 10 Hz to 40 kHz. (points,) [Hz]"""
    steps = np.geomspace(LOWEST_HZ, HIGHEST_HZ, points)
    return np.asarray(np.clip(steps, LOWEST_HZ, HIGHEST_HZ))


@takes_units
def wire_impedance(
    pairs: Sequence[Pair],
    length_m: ArrayLike,
    frequency_hz: ArrayLike,
    *,
    temperature_c: float = REFERENCE_C,
    parallel: int = 1,
    joints_ohm: float = 0.0,
) -> Complex:
    """Impedance of the loop for each of several pairs, at each length and frequency.

    Parameters
    ----------
    pairs : sequence of n Pair
        One candidate each.
    length_m : (...,) array_like
        One way. [m]
    frequency_hz : (f,) array_like
        [10 Hz to 40 kHz]
    temperature_c : float
        Of the conductors. [degC]
    parallel : int
        Like pairs side by side; their fields are taken as apart from each other.
    joints_ohm : float
        See `wirecalc.wire.cable.loop_ohm`.

    Returns
    -------
    (n, ..., f) numpy.ndarray of complex128
        Resistance with skin effect, and reactance. [ohm]

    Raises
    ------
    InputError
        If there is no pair, a frequency is not in one row, or a value is out of range.
    """
    if not pairs:
        raise InputError("Pairs", "none", "one or more")
    frequency_hz = check("Frequency", frequency_hz, "Hz", low=LOWEST_HZ, high=HIGHEST_HZ)
    if frequency_hz.ndim != 1 or not frequency_hz.size:
        raise InputError("Frequency", f"{frequency_hz.ndim} axes", "one row of one or more frequencies")
    length_m = np.asarray(length_m, np.float64)[..., None]
    # per metre only for size x frequency: the lengths come after the Bessel functions
    dc = ohms_per_metre([pair.conductor for pair in pairs], temperature_c)[:, None]
    outside = np.array([pair.external_henry_per_m for pair in pairs])[:, None]
    per_m = internal_ohm_per_m(dc, frequency_hz) + 1j * np.pi * frequency_hz * outside  # half of the pair
    per_m = per_m.reshape(len(pairs), *(1,) * (length_m.ndim - 1), frequency_hz.size)
    wire = np.empty(np.broadcast_shapes(per_m.shape, length_m.shape), np.complex128)
    wire.real = loop_ohm(per_m.real, length_m, parallel=parallel, joints_ohm=joints_ohm)
    wire.imag = loop_ohm(per_m.imag, length_m, parallel=parallel)
    return wire


@takes_units
def level_db(
    amplifier: Amplifier,
    load: HasImpedance,
    pairs: Sequence[Pair],
    length_m: ArrayLike,
    frequency_hz: ArrayLike,
    *,
    temperature_c: float = REFERENCE_C,
    parallel: int = 1,
    joints_ohm: float = 0.0,
) -> Array:
    """Response of a run: the level at the load against no wire, for each pair, length and frequency.

    The level alone, for many runs at once. Watts and volts: `wirecalc.circuits.circuit.solve_loop` with
    `wire_impedance`, whose `level_db` is the same.

    Parameters
    ----------
    amplifier : Amplifier
        What feeds the run.
    load : HasImpedance
        A resistance, a driver, several, or a measured file.
    pairs, length_m, frequency_hz, temperature_c, parallel, joints_ohm
        See `wire_impedance`.

    Returns
    -------
    (n, ..., f) numpy.ndarray
        Below 0 is a loss; with a load that is not a resistance it can be above 0. [dB]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    wire = wire_impedance(
        pairs,
        length_m,
        frequency_hz,
        temperature_c=temperature_c,
        parallel=parallel,
        joints_ohm=joints_ohm,
    )
    load_ohm = load.impedance(frequency_hz)
    unwired_a = solve_loop(amplifier.emf_v, amplifier.output_ohm, 0.0, load_ohm).current_a
    wired_ohm = np.abs(wire + (amplifier.output_ohm + load_ohm))
    return np.asarray(-20.0 * np.log10(wired_ohm * (unwired_a / amplifier.emf_v)))


@dataclass(frozen=True, kw_only=True)
class InBand:
    """A response in a band; every field has the shape of the curves without their frequency axis."""

    worst_db: Array
    """The level that is furthest from that with no wire; below 0 is a loss. [dB]"""
    worst_hz: Array
    """Where. [Hz]"""
    spread_db: Array
    """Highest less lowest level: what the wire does to the tone, apart from the loudness. [dB]"""


@takes_units
def in_band(frequency_hz: ArrayLike, level_db: ArrayLike, low_hz: float = 20.0, high_hz: float = 20e3) -> InBand:
    """Worst deviation and spread of response curves in a band.

    Parameters
    ----------
    frequency_hz : (f,) array_like
        [Hz]
    level_db : (..., f) array_like
        Against no wire, as `level_db` gives it. [dB]
    low_hz, high_hz : float
        Ends of the band, included. [Hz]

    Returns
    -------
    InBand
        Fields of shape (...,); taken at the given frequencies, with nothing in between.

    Raises
    ------
    InputError
        If no given frequency is in the band.
    """
    frequency_hz = np.asarray(frequency_hz, np.float64)
    inside = (frequency_hz >= low_hz) & (frequency_hz <= high_hz)
    if not inside.any():
        allowed = f"a band that holds a frequency of the curve, {frequency_hz.min():g} Hz or more"
        raise InputError("Band", f"{low_hz:g} to {high_hz:g} Hz", allowed)
    level_db, frequency_hz = np.asarray(level_db, np.float64)[..., inside], frequency_hz[inside]
    worst = np.argmax(np.abs(level_db), axis=-1)
    return InBand(
        worst_db=np.take_along_axis(level_db, worst[..., None], axis=-1)[..., 0],
        worst_hz=frequency_hz[worst],
        spread_db=np.asarray(np.ptp(level_db, axis=-1)),
    )
