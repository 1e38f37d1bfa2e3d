"""One run: source, pair and load in a loop; what reaches the load and what the wire keeps.

A longer wire lowers the current as well as the voltage at the load, so the answer comes from the loop as a
whole (`solve_loop`). The paper sum, rated current times loop resistance, is only a bound (`rule_of_thumb_drop_v`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import REFERENCE_C, Conductor, ohms_per_metre

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What a run does; every field has the broadcast shape of what went in. Voltages and currents are RMS."""

    current_a: Array
    """In the loop. [A]"""
    load_v: Array
    """At the load. [V]"""
    drop_v: Array
    """Across the wire, both ways together. [V]"""
    level_db: Array
    """Level at the load against a wire of no resistance; 0 or below for a resistive wire and load. [dB]"""
    load_w: Array
    """Power at the load. [W]"""
    wire_w: Array
    """Power that the wire turns into heat. [W]"""
    efficiency: Array
    """Power at the load over power out of the amplifier's terminals. [-]"""
    damping_factor: Array
    """Load impedance over what the load looks back into: amplifier and wire. [-]"""


@takes_units
def solve_loop(emf_v: ArrayLike, source_ohm: ArrayLike, wire_ohm: ArrayLike, load_ohm: ArrayLike) -> Outcome:
    """The loop of a voltage source, its output impedance, a wire and a load.

    Parameters
    ----------
    emf_v : (...,) array_like
        Open-circuit voltage of the source, RMS. [V]
    source_ohm : (...,) array_like
        Output impedance, real or complex. [ohm]
    wire_ohm : (...,) array_like
        Both conductors and the joints, real or complex. [ohm]
    load_ohm : (...,) array_like
        Real or complex. [ohm]

    Returns
    -------
    Outcome
        Real arrays in the broadcast shape of the four.

    Raises
    ------
    InputError
        If a value is not finite, the load is 0, or a resistive part is below 0.

    Notes
    -----
    ``I = E / (Zs + Zw + ZL)``; ``level = 20 log10 |(Zs + ZL) / (Zs + Zw + ZL)|``;
    ``damping = |ZL| / |Zs + Zw|``, infinite where nothing is in the way. Any textbook's voltage divider; the tests
    hold it against ngspice. The damping factor is valid for a source whose output impedance does not change with
    level and frequency, at the one frequency of the impedances given: an amplifier's output impedance rises towards
    20 kHz, and a driver's own coil resistance, which is in ZL here, damps it more than any wire does once the
    factor is over some 20.

    Examples
    --------
    >>> float(solve_loop(20.0, 0.0, 0.2, 4.0).level_db.round(6))
    -0.423786
    """
    emf, source, wire, load = (np.asarray(value) for value in (emf_v, source_ohm, wire_ohm, load_ohm))
    for field, value in (("Source impedance", source), ("Wire impedance", wire), ("Load impedance", load)):
        if value.dtype.kind not in "fiubc" or not _usable(value):
            raise InputError(field, "text, or a value below 0 or not finite", "0 Ω or more, resistive part")
    if not np.all(load != 0):
        raise InputError("Load impedance", "0 Ω", "above 0 Ω", "A load of 0 Ω is a short circuit.")
    emf = check("Source voltage", emf, "V", low=0, high=1e6, above=True)

    behind = source + wire
    bare = _modulus(source + load)
    # nothing in the way, a purely reactive load, an exact resonance: inf or nan there, and no other element hurt
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        current_a = emf / _modulus(behind + load)
        squared = current_a * current_a
        load_w = squared * load.real
        wire_w = squared * wire.real
        damping_factor = _modulus(load) / _modulus(behind)
        efficiency = load_w / (load_w + wire_w)
        level_db = 20.0 * np.log10(current_a * (bare / emf))
        load_v, drop_v = current_a * _modulus(load), current_a * _modulus(wire)
    return Outcome(
        current_a=current_a,
        load_v=load_v,
        drop_v=drop_v,
        level_db=level_db,
        load_w=load_w,
        wire_w=wire_w,
        efficiency=efficiency,
        damping_factor=np.broadcast_to(damping_factor, current_a.shape),
    )


def _usable(value: Array) -> bool:
    """Whether all of it is finite with a resistive part of 0 or more; of real values in two passes, nan fails both."""
    if value.dtype.kind == "c":
        return bool(np.all(np.isfinite(value)) and np.all(value.real >= 0))
    return not value.size or bool(value.min() >= 0 and value.max() < np.inf)


def _modulus(value: Array) -> Array:
    """Absolute value of an impedance; a real one is 0 or more already, so its array is returned as it is."""
    return np.abs(value) if value.dtype.kind == "c" else value


@takes_units
def compare(
    amplifier: Amplifier,
    load_ohm: ArrayLike,
    conductors: Sequence[Conductor],
    length_m: ArrayLike,
    *,
    temperature_c: ArrayLike = REFERENCE_C,
    parallel: ArrayLike = 1,
    joints_ohm: ArrayLike = 0.0,
) -> Outcome:
    """The same run with each of several conductors and at each of several lengths and temperatures.

    Parameters
    ----------
    amplifier : Amplifier
        What feeds the run.
    load_ohm : complex or array_like that broadcasts with (n, ...)
        At one frequency. [ohm]
    conductors : sequence of n Conductor
        One candidate each; both ways are of the same kind.
    length_m : (...,) array_like
        One way. [m]
    temperature_c, parallel, joints_ohm : (...,) array_like
        Broadcast with `length_m`; see `wirecalc.wire.cable.loop_ohm` and `wirecalc.wire.conductor.at_temperature`.

    Returns
    -------
    Outcome
        Fields of shape (n, ...).

    Raises
    ------
    InputError
        If a value is out of range.
    """
    length_m, temperature_c = np.asarray(length_m, np.float64), np.asarray(temperature_c, np.float64)
    spare = max(length_m.ndim - temperature_c.ndim, 0)
    per_m = ohms_per_metre(conductors, temperature_c)
    per_m = per_m.reshape(len(per_m), *(1,) * spare, *temperature_c.shape)
    wire_ohm = loop_ohm(per_m, length_m, parallel=parallel, joints_ohm=joints_ohm)
    return solve_loop(amplifier.emf_v, amplifier.output_ohm, wire_ohm, load_ohm)


@takes_units
def without_wire_w(load_w: ArrayLike, loss_db: ArrayLike) -> Array:
    """What the load would get with no wire.

    Parameters
    ----------
    load_w : (...,) array_like
        What it gets. [W]
    loss_db : (...,) array_like
        The level that the wire costs. [dB]

    Returns
    -------
    (...,) numpy.ndarray
        [W]

    Examples
    --------
    >>> float(without_wire_w(50.0, 10.0))
    500.0
    """
    return np.asarray(load_w, np.float64) * 10 ** (np.asarray(loss_db, np.float64) / 10)


@takes_units
def without_wire_a(current_a: ArrayLike, loss_db: ArrayLike) -> Array:
    """The current with no wire.

    Parameters
    ----------
    current_a : (...,) array_like
        With it. [A]
    loss_db : (...,) array_like
        The level that the wire costs. [dB]

    Returns
    -------
    (...,) numpy.ndarray
        [A]

    See Also
    --------
    without_wire_w : The power.
    """
    return np.asarray(current_a, np.float64) * 10 ** (np.asarray(loss_db, np.float64) / 20)


@takes_units
def rule_of_thumb_drop_v(rated_current_a: ArrayLike, wire_ohm: ArrayLike) -> Array:
    """The paper sum: rated current times loop resistance. Never less than the real drop (`Outcome.drop_v`).

    It takes the current that would flow if the wire were not there, so it overstates the drop of a thin or
    long wire.

    Parameters
    ----------
    rated_current_a : (...,) array_like
        What the load draws with no wire in the way, RMS. [A]
    wire_ohm : (...,) array_like
        Both conductors and the joints. [ohm]

    Returns
    -------
    (...,) numpy.ndarray
        [V]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    rated_current_a = check("Current", rated_current_a, "A", low=0, high=1e6)
    return rated_current_a * check("Wire resistance", wire_ohm, "ohm", low=0, high=1e6)
