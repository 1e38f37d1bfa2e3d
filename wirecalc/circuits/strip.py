"""A lamp strip: lamps all along it, so that its own conductors lose voltage little by little."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]

ONE_END = np.inf  # the far feed's resistance when there is no far feed
CONSTANT_CURRENT, RESISTIVE = "constant current", "resistive"


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A strip and its feeds. The numbers may be arrays that broadcast together."""

    supply_v: ArrayLike
    """Where the feeds start; both start at the same place. [V]"""
    length_m: ArrayLike
    """[m]"""
    amps_per_m: ArrayLike
    """Draw per metre of strip, at `nominal_v`. [A/m]"""
    loop_ohm_per_m: ArrayLike
    """Both conductors of the strip together, per metre of strip. [ohm/m]"""
    near_feed_ohm: ArrayLike
    """Feed wires to the first lamp, out and back. [ohm]"""
    far_feed_ohm: ArrayLike = ONE_END
    """Feed wires to the last lamp, out and back; inf for a strip that is fed from one end. [ohm]"""
    lamps: Literal["constant current", "resistive"] = "constant current"
    """With a regulator each, or like filaments. Light-emitting diodes with a series resistor draw less than
    either as the voltage falls, so they lose fewer volts than "resistive" says, but dim faster per volt."""
    nominal_v: ArrayLike = 12.0
    """Only resistive lamps use it. [V]"""

    def __post_init__(self) -> None:
        # the largest values keep sinh of the longest strip inside a double
        check("Supply voltage", self.supply_v, "V", low=0, high=60, above=True)
        check("Strip length", self.length_m, "m", low=0, high=50, above=True)
        check("Strip current", self.amps_per_m, "A/m", low=0, high=20, above=True)
        check("Strip resistance", self.loop_ohm_per_m, "ohm/m", low=0, high=5, above=True)
        check("Near feed", self.near_feed_ohm, "ohm", low=0, high=1000)
        check("Far feed", self.far_feed_ohm, "ohm", low=0, hint="inf for none.")
        check("Nominal voltage", self.nominal_v, "V", low=3, high=60)
        if self.lamps not in (CONSTANT_CURRENT, RESISTIVE):
            raise InputError("Lamps", self.lamps, f"{CONSTANT_CURRENT} or {RESISTIVE}")


@dataclass(frozen=True, kw_only=True)
class Lit:
    """What a strip does, in the broadcast shape of what went in; nan where there is no answer."""

    near_v: Array
    """At the first lamp. [V]"""
    far_v: Array
    """At the last lamp, at the other end. [V]"""
    least_v: Array
    """At the dimmest lamp: the last one, or one in between if both ends are fed. [V]"""
    least_at_m: Array
    """Where the dimmest lamp is, from the first. [m]"""
    near_a: Array
    """Through the near feed. [A]"""
    far_a: Array
    """Through the far feed. [A]"""
    least_over_most: Array
    """Voltage at the dimmest lamp over that at the brightest. [-]"""
    reason: str
    """Why some element has no answer; empty when all have one."""


def lit(strip: Strip) -> Lit:
    """First, last and dimmest lamp of a strip.

    Parameters
    ----------
    strip : Strip
        Scalars or arrays.

    Returns
    -------
    Lit
        nan, and a reason, where lamps of constant current would use up the voltage before the last one.

    Notes
    -----
    With r for the loop resistance per metre, i for the current per metre and g = i/nominal:
    constant current, ``v'' = r i``, a parabola; resistive, ``v'' = r g v``, hyperbolic functions of
    ``sqrt(r g) x``, like a line that leaks. Derived here; the tests hold it against a ladder in ngspice.

    Examples
    --------
    >>> def run(far_feed_ohm):
    ...     return lit(Strip(supply_v=12, length_m=5, amps_per_m=0.8, loop_ohm_per_m=0.1, near_feed_ohm=0,
    ...                      far_feed_ohm=far_feed_ohm))
    >>> float(run(ONE_END).least_v.round(3)), float(run(0).least_v.round(3))   # the loss falls to a quarter
    (11.0, 11.75)
    """
    solved = _Solved(strip)
    least_v = solved.volt(solved.least_at_m)
    none = least_v < 0
    reason = ""
    if none.any():
        reason = (
            f"Lamps of constant current on {solved.length_m[none][0]:.3g} m of strip would use up the"
            f" {solved.supply_v[none][0]:.3g} V before the dimmest one. Feed both ends, cut it into shorter"
            " pieces with a feed each, or take thicker feeds."
        )
    near_v, far_v, least_v, least_at_m, near_a, far_a = (
        np.where(none, np.nan, field)
        for field in (solved.near_v, solved.far_v, least_v, solved.least_at_m, solved.near_a, solved.far_a)
    )
    return Lit(
        near_v=near_v,
        far_v=far_v,
        least_v=least_v,
        least_at_m=least_at_m,
        near_a=near_a,
        far_a=far_a,
        least_over_most=least_v / np.maximum(near_v, far_v),
        reason=reason,
    )


def lamp_v(strip: Strip, share: ArrayLike) -> Array:
    """Voltage at the lamps along a strip.

    Parameters
    ----------
    strip : Strip
        Scalars or arrays.
    share : (...,) array_like
        Place over the strip's length: 0 the first lamp, 1 the last; broadcasts with the strip. [0 to 1]

    Returns
    -------
    (...,) numpy.ndarray
        nan where `lit` has no answer. [V]

    Raises
    ------
    InputError
        If a place is not on the strip.
    """
    share = check("Place along the strip", share, "", low=0, high=1)
    solved = _Solved(strip)
    return np.where(solved.volt(solved.least_at_m) < 0, np.nan, solved.volt(share * solved.length_m))


class _Solved:
    """The ends of a strip; then `volt` anywhere between them."""

    def __init__(self, strip: Strip) -> None:
        every = (
            np.asarray(value, np.float64)
            for value in (
                strip.supply_v,
                strip.length_m,
                strip.amps_per_m,
                strip.loop_ohm_per_m,
                strip.near_feed_ohm,
                strip.far_feed_ohm,
                strip.nominal_v,
            )
        )
        self.supply_v, self.length_m, amps, loop, near, far, nominal = np.broadcast_arrays(*every)
        one_end = np.isinf(far)
        far = np.where(one_end, 0.0, far)
        self.resistive = strip.lamps == RESISTIVE
        if self.resistive:
            self._hyperbolic(loop, amps / nominal, near, far, one_end)
        else:
            self._parabola(loop, amps, near, far, one_end)

    def _parabola(self, loop: Array, amps: Array, near: Array, far: Array, one_end: NDArray[np.bool_]) -> None:
        total_a, strip_ohm = amps * self.length_m, loop * self.length_m
        self.bend = loop * amps  # v''
        # moments about the far feed; the strip's load acts in its middle
        self.near_a = np.where(one_end, total_a, total_a * (strip_ohm / 2 + far) / (near + strip_ohm + far))
        self.far_a = total_a - self.near_a
        self.near_v = self.supply_v - near * self.near_a
        lost = strip_ohm * (self.near_a - total_a / 2)
        self.far_v = self.near_v - lost
        self.least_at_m = np.clip(self.near_a / amps, 0, self.length_m)  # where the current has run out

    def _hyperbolic(self, loop: Array, siemens: Array, near: Array, far: Array, one_end: NDArray[np.bool_]) -> None:
        self.per_m = np.sqrt(loop * siemens)
        wave_ohm = np.sqrt(loop / siemens)
        angle = self.per_m * self.length_m
        tanh, sech = np.tanh(angle), 1 / np.cosh(angle)
        missing = 2 * np.sinh(angle / 2) ** 2 * sech  # 1 - sech, without the difference of near-equal numbers
        a, b = near / wave_ohm, far / wave_ohm
        below = tanh * (1 + a * b) + a + b
        self.near_v = self.supply_v * np.where(one_end, 1 / (1 + a * tanh), (tanh + b + a * sech) / below)
        self.far_v = np.where(one_end, self.near_v * sech, self.supply_v * (tanh + a + b * sech) / below)
        apart = np.where(one_end, self.near_v, self.supply_v * (b - a) / below) * missing
        self.near_a = (apart + self.far_v * missing) / tanh / wave_ohm
        self.far_a = np.where(one_end, 0.0, (self.near_v * missing - apart) / tanh / wave_ohm)
        current_over_voltage = np.clip(self.near_a * wave_ohm / self.near_v, 0, tanh)
        with np.errstate(divide="ignore"):  # a strip so long that its end is dark
            self.least_at_m = np.clip(np.arctanh(current_over_voltage) / self.per_m, 0, self.length_m)

    def volt(self, at_m: Array) -> Array:
        """Voltage at a place. [V]"""
        rest_m = self.length_m - at_m
        if self.resistive:
            ends = self.near_v * np.sinh(self.per_m * rest_m) + self.far_v * np.sinh(self.per_m * at_m)
            return np.asarray(ends / np.sinh(self.per_m * self.length_m))
        straight = (self.near_v * rest_m + self.far_v * at_m) / self.length_m
        return np.asarray(straight - self.bend * at_m * rest_m / 2)
