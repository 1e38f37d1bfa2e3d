"""Remote turn-on: one thin lead from the head unit to every device that must wake up with it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.cable import LONGEST_M

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class TurnOn:
    """What a turn-on lead does."""

    total_a: Array
    """All devices together. (...,) [A]"""
    over_limit: NDArray[np.bool_]
    """More than the head unit may give. (...,)"""
    device_v: Array
    """At each device. (..., n) [V]"""
    last_v: Array
    """At the device with the lowest voltage. (...,) [V]"""
    too_low: NDArray[np.bool_]
    """Some device may not wake up. (...,)"""
    advice: tuple[str, ...]
    """What to change, if any element needs it, with the worst element's numbers."""


def turn_on(
    device_a: ArrayLike,
    at_m: ArrayLike,
    ohm_per_m: ArrayLike,
    *,
    head_unit_v: ArrayLike,
    limit_a: ArrayLike,
    least_v: ArrayLike,
) -> TurnOn:
    """A turn-on lead that passes from device to device.

    Parameters
    ----------
    device_a : (..., n) array_like
        Draw of each device's turn-on input. [A]
    at_m : (..., n) array_like
        Where it is, along the lead from the head unit, in any order. [m]
    ohm_per_m : (...,) array_like
        The one conductor; the return is each device's own ground. [ohm/m]
    head_unit_v : (...,) array_like
        At the head unit's turn-on output. [V]
    limit_a : (...,) array_like
        The most that this output may give, from the head unit's manual. [A]
    least_v : (...,) array_like
        The least that wakes up every device, from their manuals. [V]

    Returns
    -------
    TurnOn
        A lead on which the voltage would be used up shows 0 V at the devices beyond, not less.

    Raises
    ------
    InputError
        If a value is out of range, or no device is given.

    Notes
    -----
    Device k loses ``r sum_j I_j min(x_j, x_k)``: each current flows along the lead up to its own device. The
    draws are taken as constant; most inputs draw less at a lower voltage, so the drop is on the high side.

    Examples
    --------
    >>> found = turn_on([0.05, 0.15], [4, 6], 0.053, head_unit_v=12, limit_a=0.3, least_v=10)
    >>> found.device_v.round(4).tolist(), found.advice
    ([11.9576, 11.9417], ())
    """
    device_a = check("Turn-on draw", device_a, "A", low=0, high=20, hint="50 mA is 0.05 A.")
    device_a = np.atleast_1d(device_a)
    if device_a.shape[-1] == 0:
        check("Number of devices", 0, "", low=1)
    at_m = check("Distance along the lead", at_m, "m", low=0, high=LONGEST_M)
    ohm_per_m = check("Resistance per metre", ohm_per_m, "ohm/m", low=0, high=10, hint="Was it in ohm/km?")
    head_unit_v = check("Head unit voltage", head_unit_v, "V", low=0, high=60, above=True)
    limit_a = check("Head unit limit", limit_a, "A", low=0, high=20, above=True)
    least_v = check("Least turn-on voltage", least_v, "V", low=0, high=60)
    device_a, at_m = np.broadcast_arrays(device_a, at_m)

    total_a = device_a.sum(axis=-1)
    shared_m = np.minimum(at_m[..., :, np.newaxis], at_m[..., np.newaxis, :])
    ampere_metre = np.sum(shared_m * device_a[..., np.newaxis, :], axis=-1)
    drop_v = ohm_per_m[..., np.newaxis] * ampere_metre
    device_v = np.maximum(head_unit_v[..., np.newaxis] - drop_v, 0.0)
    last_v = device_v.min(axis=-1)
    over_limit = np.asarray(total_a > limit_a)
    too_low = np.asarray(last_v < least_v)

    return TurnOn(
        total_a=total_a,
        over_limit=over_limit,
        device_v=device_v,
        last_v=last_v,
        too_low=too_low,
        advice=advice(*_worst(total_a, limit_a), *_worst(least_v, last_v)),
    )


@takes_units
def advice(total_a: float, limit_a: float, least_v: float, last_v: float, *, mark: Mark = plain) -> tuple[str, ...]:
    """What to change where the head unit cannot give the draw, or the last device gets too little; empty if neither.

    Parameters
    ----------
    total_a : float
        What all devices draw together. [A]
    limit_a : float
        What the head unit may give. [A]
    least_v : float
        What the last device needs. [V]
    last_v : float
        What it gets. [V]
    mark : Mark
        How a number in a sentence is marked; see `wirecalc.mark`.

    Returns
    -------
    tuple of str
        A sentence each.
    """
    sentences = []
    if total_a > limit_a:
        sentences.append(
            f"The devices draw {total_a:.3g} A, the head unit may give {limit_a:.3g} A: add a relay. The"
            " head unit then feeds only its coil, and the relay's contact feeds the devices through a fuse of"
            " their own, close to where that feed starts."
        )
    if last_v < least_v:
        sentences.append(
            f"At the last device {mark(f'{last_v:.3g}', 'load_v')} V is left and it needs {least_v:.3g} V: add a"
            " relay near the devices, or take a thicker lead."
        )
    return tuple(sentences)


def _worst(should_be_less: Array, should_be_more: Array) -> tuple[float, float]:
    """The pair of elements that is furthest the wrong way round."""
    less, more = np.broadcast_arrays(should_be_less, should_be_more)
    worst = np.argmax(less - more)
    return float(less.flat[worst]), float(more.flat[worst])
