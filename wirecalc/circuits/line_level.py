"""Signal runs: level and treble lost on the way, and what a supply wire beside them puts in."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.circuits import circuit
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import LONGEST_M

Array = NDArray[np.float64]

TOP_HZ = 20e3  # the highest tone that a young ear hears: common practice, no source
MU0_OVER_2PI = 2e-7  # [H/m] magnetic constant over 2 pi, as it was exact before 2019 and holds to 1e-9 since
CABLE_FARAD_PER_M: dict[str, float] = {row["cable"]: row["farad_per_m"] for row in tables.rows("cable_capacitance")}


@dataclass(frozen=True, kw_only=True)
class LowPass:
    """A line-level run; every field has the broadcast shape of what went in."""

    middle_db: Array
    """Level at the input in mid band against the source with nothing connected. [dB]"""
    corner_hz: Array
    """Where the level is 3 dB under mid band (half the power); inf with no capacitance. [Hz]"""
    level_db: Array
    """Level at the asked frequency against the source with nothing connected. [dB]"""
    treble_db: Array
    """Level at the asked frequency against mid band; 0 or below. [dB]"""


def low_pass(
    source_ohm: ArrayLike,
    input_ohm: ArrayLike,
    farad_per_m: ArrayLike,
    length_m: ArrayLike,
    frequency_hz: ArrayLike = TOP_HZ,
) -> LowPass:
    """Level and treble of a line-level run.

    Parameters
    ----------
    source_ohm : (...,) array_like
        Output impedance of what feeds the cable, above 0; the cable's own resistance may be added. [ohm]
    input_ohm : (...,) array_like
        Of what the cable feeds, above 0; inf for none. [ohm]
    farad_per_m : (...,) array_like
        Capacitance of the cable, such as `CABLE_FARAD_PER_M`. [F/m]
    length_m : (...,) array_like
        [m]
    frequency_hz : (...,) array_like
        Where the level is asked. [Hz]

    Returns
    -------
    LowPass

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Source resistance and input resistance in parallel against the cable's capacitance in one lump, exact as
    long as the cable is short against a wave (10 km at 20 kHz). An input's own filter is not counted.

    Examples
    --------
    >>> run = low_pass(1e3, 10e3, 100e-12, 5)
    >>> float(run.middle_db.round(6)), float(run.corner_hz.round(1)), float(run.level_db.round(6))
    (-0.827854, 350140.9, -0.842)
    """
    source_ohm = check("Source impedance", source_ohm, "Ω", low=0, high=1e6, above=True)
    input_ohm = check("Input impedance", input_ohm, "Ω", low=0, above=True)
    farad_per_m = check("Cable capacitance", farad_per_m, "F/m", low=0, high=1e-8, hint="100 pF/m is 1e-10.")
    length_m = check("Run length", length_m, "m", low=0, high=LONGEST_M, above=True)
    frequency_hz = check("Frequency", frequency_hz, "Hz", low=0, high=1e6)
    middle_db = -20 * np.log10(1 + source_ohm / input_ohm)
    seconds = farad_per_m * length_m / (1 / source_ohm + 1 / input_ohm)
    treble_db = -10 * np.log10(1 + (2 * np.pi * frequency_hz * seconds) ** 2)
    with np.errstate(divide="ignore"):
        corner_hz = 1 / (2 * np.pi * seconds)
    middle_db, corner_hz, treble_db = np.broadcast_arrays(middle_db, corner_hz, treble_db)
    return LowPass(middle_db=middle_db, corner_hz=corner_hz, level_db=middle_db + treble_db, treble_db=treble_db)


@takes_units
def speaker_level_loss_db(source_ohm: ArrayLike, wire_ohm: ArrayLike, input_ohm: ArrayLike) -> Array:
    """Level that a loudspeaker output loses on the wire to a high-impedance input.

    Parameters
    ----------
    source_ohm : (...,) array_like
        Output impedance of the amplifier or head unit. [ohm]
    wire_ohm : (...,) array_like
        Both conductors and the joints. [ohm]
    input_ohm : (...,) array_like
        Of the processor, above 0. [ohm]

    Returns
    -------
    (...,) numpy.ndarray
        0 or below; with inputs of kilohms it is next to nothing, whatever the wire. [dB]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> bool(speaker_level_loss_db(0.02, 0.8, 10e3) > -0.001)      # 10 m of 22 AWG and more
    True
    """
    return circuit.solve_loop(1.0, source_ohm, wire_ohm, input_ohm).level_db


@dataclass(frozen=True, kw_only=True)
class Pickup:
    """What a supply wire induces in a signal pair beside it; RMS if the ripple is RMS."""

    henry: Array
    """Mutual inductance of the supply wire and the parallel pair. [H]"""
    parallel_v: Array
    """Induced in a pair that runs flat beside the supply wire. [V]"""
    twisted_v: Array
    """The most that is left in a twisted pair; never over `parallel_v`. [V]"""


@takes_units
def under_one_volt_db(volt: ArrayLike) -> Array:
    """How far voltages lie under 1 V. (...,) [V] -> (...,) [dB]"""
    return np.asarray(-20 * np.log10(volt))


def pickup(
    ripple_a: ArrayLike,
    frequency_hz: ArrayLike,
    length_m: ArrayLike,
    distance_m: ArrayLike,
    spacing_m: ArrayLike,
    pitch_m: ArrayLike,
    imbalance: ArrayLike = 0.01,
) -> Pickup:
    """Voltage induced in a signal pair by ripple in a supply wire that runs along it.

    Parameters
    ----------
    ripple_a : (...,) array_like
        Alternating part of the supply current. [A]
    frequency_hz : (...,) array_like
        Of the ripple. [Hz]
    length_m : (...,) array_like
        Over which both run side by side. [m]
    distance_m : (...,) array_like
        Centre of the supply wire to the centre of the nearest signal conductor, above 0. [m]
    spacing_m : (...,) array_like
        Between the centres of the two signal conductors, above 0. [m]
    pitch_m : (...,) array_like
        Length of one full twist. [m]
    imbalance : (...,) array_like
        Share of the flat pair's voltage that uneven twists leave; 1 %: assumed, no source. [0 to 1]

    Returns
    -------
    Pickup

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Flat pair: ``M = mu0/(2 pi) l ln((d + s)/d)``, ``V = 2 pi f M I``, a long straight wire and a loop in one
    plane with it, the worst way round [1]_. Twisted: each half twist cancels the one before it, so that at
    most one half twist is left over, ``V (pitch/2)/l`` (the tests hold this against the integral along the
    two helices), and the imbalance is added on top.

    Limits: the supply current's return is taken as far away; a return beside the supply wire lowers both
    figures greatly. No shield is counted: a thin copper one does little against magnetic fields in the
    audio band. Steel of the body and noise through a shared chassis return, often the larger, are not in it.

    References
    ----------
    .. [1] Any textbook of electromagnetism: flux of a long straight wire through a rectangle. From memory.

    Examples
    --------
    >>> found = pickup(10, 1000, 4, 0.02, 0.003, 0.02)
    >>> float(found.parallel_v.round(6)), float(found.twisted_v.round(6))
    (0.007025, 8.8e-05)
    """
    ripple_a = check("Ripple current", ripple_a, "A", low=0, high=1000)
    frequency_hz = check("Frequency", frequency_hz, "Hz", low=0, high=1e6)
    length_m = check("Run length", length_m, "m", low=0, high=LONGEST_M, above=True)
    distance_m = check("Distance", distance_m, "m", low=0, high=LONGEST_M, above=True)
    spacing_m = check("Spacing", spacing_m, "m", low=0, high=1, above=True, hint="Was it in mm?")
    pitch_m = check("Length of a twist", pitch_m, "m", low=0, high=LONGEST_M, above=True)
    imbalance = check("Imbalance", imbalance, "", low=0, high=1)
    henry = MU0_OVER_2PI * length_m * np.log1p(spacing_m / distance_m)
    parallel_v = 2 * np.pi * frequency_hz * henry * ripple_a
    twisted_v = parallel_v * np.minimum(pitch_m / 2 / length_m + imbalance, 1.0)
    return Pickup(henry=np.asarray(henry), parallel_v=np.asarray(parallel_v), twisted_v=np.asarray(twisted_v))
