"""How warm a wire gets: the heat balance of a wire or a bundle, steady and over time.

A wire is a metal core in a wall of insulation. The core's I²R passes through the wall by conduction and
leaves the surface by natural convection and radiation. Arrays broadcast with the sizes on the last axis.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C
from wirecalc.wire.insulation import Wires

Array = NDArray[np.float64]

KELVIN = 273.15
STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4), CODATA; from memory
GRAVITY = 9.80665  # m/s2, standard
AIR_PA, AIR_J_PER_KG_K, GAS_J_PER_KG_K = 101325.0, 1006.0, 287.05  # sea level; heat capacity and gas constant
MOST_LOADED = 100
_STEP_K = 1e-3  # for slopes
_CLOSE_K = 1e-7


@takes_units
def convection_w_per_m2_k(diameter_m: ArrayLike, surface_c: ArrayLike, ambient_c: ArrayLike) -> Array:
    """Coefficient of natural convection around a horizontal cylinder in still air at sea level.

    Parameters
    ----------
    diameter_m : (...,) array_like
        Above 0. [m]
    surface_c, ambient_c : (...,) array_like
        [degC]

    Returns
    -------
    (...,) numpy.ndarray
        [W/(m^2 K)]

    Raises
    ------
    InputError
        If a diameter is not above 0 or a temperature is out of range.

    Notes
    -----
    Churchill and Chu [1]_ with air at the film temperature [2]_. For the diameters of wires and bundles it
    lies up to a quarter under Morgan's correlation: the wire comes out hotter, the safe side.

    References
    ----------
    .. [1] Churchill, Chu, Int J Heat Mass Transfer 18 (1975) 1049. From memory; checked against ht.
    .. [2] U.S. Standard Atmosphere 1976: viscosity and conductivity by temperature. From memory; checked
       against fluids. Density of an ideal gas.

    Examples
    --------
    >>> float(convection_w_per_m2_k(3e-3, 80.0, 30.0).round(2))
    15.3
    """
    return _convection_w_per_m2_k(*_in_range(diameter_m, surface_c, ambient_c))


def _in_range(diameter_m: ArrayLike, surface_c: ArrayLike, ambient_c: ArrayLike) -> tuple[Array, Array, Array]:
    diameter = check("Diameter", diameter_m, "m", low=0, above=True)
    surface = check("Surface temperature", surface_c, "°C", low=-100, high=1000)
    ambient = check("Ambient temperature", ambient_c, "°C", low=-100, high=1000)
    return diameter, surface, ambient


def _convection_w_per_m2_k(diameter_m: Array, surface_c: Array, ambient_c: Array) -> Array:
    """The same of values that are known to be in range, as between the steps of a search."""
    film_k = (surface_c + ambient_c) / 2 + KELVIN
    root = np.sqrt(film_k)
    pa_s = 1.458e-6 * film_k * root / (film_k + 110.4)
    w_per_m_k = 2.64638e-3 * film_k * root / (film_k + 245.4 * 10 ** (-12 / film_k))
    kg_per_m3 = AIR_PA / (GAS_J_PER_KG_K * film_k)
    prandtl = pa_s * AIR_J_PER_KG_K / w_per_m_k
    grashof = GRAVITY * np.abs(surface_c - ambient_c) / film_k * diameter_m**3 * (kg_per_m3 / pa_s) ** 2
    shape = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt = (0.60 + 0.387 * (grashof * prandtl) ** (1 / 6) / shape) ** 2
    return np.asarray(nusselt * w_per_m_k / diameter_m)


@takes_units
def surface_w_per_m(diameter_m: ArrayLike, surface_c: ArrayLike, ambient_c: ArrayLike, emissivity: float) -> Array:
    """Heat that a metre of cylinder gives to the air and, by radiation, to surroundings as warm as the air.

    Parameters
    ----------
    diameter_m, surface_c, ambient_c : (...,) array_like
        See `convection_w_per_m2_k`.
    emissivity : float
        Of the surface.

    Returns
    -------
    (...,) numpy.ndarray
        Below 0 where the surface is the colder one. [W/m]

    Raises
    ------
    InputError
        If a diameter is not above 0 or a temperature is out of range.
    """
    return _surface_w_per_m(*_in_range(diameter_m, surface_c, ambient_c), emissivity)


def _surface_w_per_m(diameter_m: Array, surface_c: Array, ambient_c: Array, emissivity: float) -> Array:
    """The same of values that are known to be in range."""
    surface_k, ambient_k = surface_c + KELVIN, ambient_c + KELVIN
    carried = _convection_w_per_m2_k(diameter_m, surface_c, ambient_c) * (surface_k - ambient_k)
    radiated = emissivity * STEFAN_BOLTZMANN * (surface_k**4 - ambient_k**4)
    return np.asarray(np.pi * diameter_m * (carried + radiated))


def _root_from_above(excess: Callable[[Array], Array], high: Array, low: Array) -> Array:
    """Zero of a rising, convex function by Newton's steps from `high`; on such a curve none overshoots."""
    at = high
    for _ in range(60):
        pair = excess(np.stack([at, at + _STEP_K]))
        step = pair[0] / (pair[1] - pair[0]) * _STEP_K
        new = np.clip(at - step, low, high)
        moved, at = np.max(np.abs(new - at)), new
        if moved < _CLOSE_K:
            break
    return at


@dataclass(frozen=True, kw_only=True, eq=False)
class _Bundle:
    """n equal loaded wires as one round cylinder that carries all their heat. See `temperature_c`."""

    wires: Wires
    ambient_c: Array
    loaded: Array
    outer_m: Array
    inside_m_k_per_w: Array
    """From the hottest core to the surface, for the heat of one wire."""

    @classmethod
    def of(cls, wires: Wires, ambient_c: ArrayLike, loaded: ArrayLike) -> _Bundle:
        ambient = check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
        count = check("Loaded conductors", loaded, "", low=1, high=MOST_LOADED)
        across = (count - 1) / (4 * np.pi * wires.insulation.w_per_m_k)
        return cls(
            wires=wires,
            ambient_c=ambient,
            loaded=count,
            outer_m=wires.outer_m * np.sqrt(count),
            inside_m_k_per_w=wires.wall_m_k_per_w + across,
        )

    def leaves_w_per_m(self, surface_c: Array) -> Array:
        """Heat that leaves for each wire."""
        emissivity = self.wires.insulation.emissivity
        return _surface_w_per_m(self.outer_m, surface_c, self.ambient_c, emissivity) / self.loaded

    def warmest_c(self, w_per_m: Array) -> Array:
        """Over the surface's temperature at which that heat of each wire leaves: as if it only radiated, and no more
        for each kelvin than close to the ambient."""
        per_k = 4 * max(self.wires.insulation.emissivity, 1e-9) * STEFAN_BOLTZMANN * (self.ambient_c + KELVIN) ** 3
        return np.asarray(self.ambient_c + w_per_m * self.loaded / (np.pi * self.outer_m * per_k))

    def surface_c(self, conductor_c: Array) -> Array:
        """Temperature of the surface when the hottest core is at `conductor_c`, at or over the ambient."""

        def excess(surface_c: Array) -> Array:
            return surface_c - conductor_c + self.inside_m_k_per_w * self.leaves_w_per_m(surface_c)

        shape = np.broadcast_shapes(conductor_c.shape, self.outer_m.shape, self.ambient_c.shape)
        return _root_from_above(excess, np.broadcast_to(conductor_c, shape), self.ambient_c)

    def gain_w_per_m(self, current_a: Array, conductor_c: Array) -> Array:
        """Heat that stays in each wire: made by the current, less what leaves."""
        return current_a**2 * self.wires.ohm_per_m(conductor_c) - self.leaves_w_per_m(self.surface_c(conductor_c))


@takes_units
def rise_used(conductor_c: ArrayLike, ambient_c: ArrayLike, limit_c: ArrayLike) -> Array:
    """How much of the rise that a limit allows a conductor has taken; over 1 it is too hot.

    Parameters
    ----------
    conductor_c, ambient_c, limit_c : (...,) array_like
        They broadcast. [degC]

    Returns
    -------
    (...,) numpy.ndarray
        [-]
    """
    air_c = np.asarray(ambient_c, np.float64)
    return np.asarray((np.asarray(conductor_c, np.float64) - air_c) / (np.asarray(limit_c, np.float64) - air_c))


@takes_units
def temperature_c(wires: Wires, current_a: ArrayLike, ambient_c: ArrayLike, loaded: ArrayLike = 1) -> Array:
    """Temperature of the hottest conductor once nothing changes any more.

    Parameters
    ----------
    wires : Wires
        n sizes, on the last axis.
    current_a : (..., n) or broadcastable array_like
        RMS, in each conductor: of conductors in parallel each has its share. For music see `music_rms_a`. [A]
    ambient_c : (..., n) or broadcastable array_like
        Air around the wire or bundle; see `ZONES`. [degC]
    loaded : (..., n) or broadcastable array_like
        Conductors with this current lying together, each way of a pair counted. [1 to 100]

    Returns
    -------
    (..., n) numpy.ndarray
        inf where no balance is found up to 250 degC, the end of the straight line in temperature. [degC]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    One wire: ``I² R(T) = q``; ``T = Ts + q ln(D/d) / (2 pi k)``; ``q = pi D (h (Ts - Ta) + e s (Ts⁴ - Ta⁴))``.
    A bundle is a cylinder of diameter ``D sqrt(n)``, as if no air were between the wires: no shape of n wires
    has less surface. All heat leaves there; the middle is warmer than the surface by ``(n - 1) q / (4 pi k)``,
    the bundle being as poor a conductor as the insulation. Still air, horizontal, long: ends give no cooling.
    """
    current = check("Current", current_a, "A", low=0, high=10000)
    bundle = _Bundle.of(wires, ambient_c, loaded)
    cold_w = current**2 * wires.ohm_per_m_20c
    slope_w = cold_w * wires.per_k_20c
    # heat follows the core's temperature, that follows the surface's and the heat: solved for the heat
    left = 1 - slope_w * bundle.inside_m_k_per_w
    stable = left > 0
    left = np.where(stable, left, np.inf)

    def made_w_per_m(surface_c: Array) -> Array:
        return np.asarray((cold_w + slope_w * (surface_c - REFERENCE_C)) / left)

    def excess(surface_c: Array) -> Array:
        return bundle.leaves_w_per_m(surface_c) - made_w_per_m(surface_c)

    shape = np.broadcast_shapes(cold_w.shape, bundle.outer_m.shape, bundle.ambient_c.shape)
    hot = np.full(shape, HOTTEST_C)
    stable = stable & (excess(hot) >= 0)
    surface = _root_from_above(excess, np.minimum(hot, bundle.warmest_c(made_w_per_m(hot))), bundle.ambient_c)
    core = surface + bundle.inside_m_k_per_w * made_w_per_m(surface)
    return np.where(stable & (core <= HOTTEST_C), core, np.inf)


@takes_units
def balance_a(wires: Wires, ambient_c: ArrayLike, loaded: ArrayLike = 1, limit_c: ArrayLike | None = None) -> Array:
    """Current that brings the hottest conductor just to its limit, by the heat balance.

    Parameters
    ----------
    wires, ambient_c, loaded
        See `temperature_c`.
    limit_c : (..., n) or broadcastable array_like, optional
        Of the conductor; the insulation's if not given. [degC]

    Returns
    -------
    (..., n) numpy.ndarray
        RMS, per conductor; 0 where the air is as hot as the limit. [A]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    limit = check(
        "Conductor limit", wires.insulation.limit_c if limit_c is None else limit_c, "°C", low=40, high=HOTTEST_C
    )
    bundle = _Bundle.of(wires, ambient_c, loaded)
    surface = bundle.surface_c(np.maximum(limit, bundle.ambient_c))
    heat_w_per_m = np.maximum(bundle.leaves_w_per_m(surface), 0)  # -1e-16 in air as hot as the limit
    return np.asarray(np.sqrt(heat_w_per_m / wires.ohm_per_m(limit)))


@takes_units
def over_time_c(
    wires: Wires,
    time_s: ArrayLike,
    current_a: ArrayLike,
    ambient_c: ArrayLike,
    loaded: ArrayLike = 1,
    start_c: ArrayLike | None = None,
) -> Array:
    """Conductor temperature while a steady current flows, from a start.

    Parameters
    ----------
    wires, current_a, ambient_c, loaded
        See `temperature_c`.
    time_s : (t,) array_like
        Rising; 0 is when the current comes on. [s]
    start_c : (..., n) or broadcastable array_like, optional
        At or over the ambient; the ambient if not given. [degC]

    Returns
    -------
    (t, ..., n) numpy.ndarray
        inf once over 250 degC. [degC]

    Raises
    ------
    InputError
        If a value is out of range or the times do not rise.

    Notes
    -----
    Lumped: metal and insulation are as warm as the core, and heat leaves as it would in the steady state.
    Exponential steps, four between two times and exact for a straight line (Rosenbrock-Euler).
    """
    current = check("Current", current_a, "A", low=0, high=10000)
    bundle = _Bundle.of(wires, ambient_c, loaded)
    times = check("Time", time_s, "s", low=0, high=1e7)
    check("Time step", np.diff(times), "s", low=0, hint="Times have to rise.")
    start = bundle.ambient_c if start_c is None else np.asarray(start_c, np.float64)
    check("Start over ambient", start - bundle.ambient_c, "K", low=0, high=HOTTEST_C)
    shape = np.broadcast_shapes(current.shape, bundle.outer_m.shape, bundle.ambient_c.shape, start.shape)
    core = np.broadcast_to(start, shape)
    temperatures, substeps = [], 4
    for step_s in np.diff(times, prepend=0.0) / substeps:
        for _ in range(substeps if step_s > 0 else 0):
            gain = bundle.gain_w_per_m(current, np.stack([core, core + _STEP_K])) / wires.j_per_m_k
            rate = (gain[1] - gain[0]) / _STEP_K
            growth = np.minimum(rate * step_s, 50)  # past e^50 it is over the end in any case
            core = core + gain[0] * step_s * np.expm1(growth) / growth
            core = np.clip(core, bundle.ambient_c, HOTTEST_C + 1)
        temperatures.append(core)
    hot = np.stack(temperatures)
    return np.where(hot <= HOTTEST_C, hot, np.inf)


@takes_units
def time_constant_s(wires: Wires, current_a: ArrayLike, ambient_c: ArrayLike, loaded: ArrayLike = 1) -> Array:
    """Time in which the distance to the steady temperature falls to 1/e, near the end.

    Parameters
    ----------
    wires, current_a, ambient_c, loaded
        See `temperature_c`.

    Returns
    -------
    (..., n) numpy.ndarray
        Heat capacity over the slope of heat lost less heat made; inf where there is no steady state. [s]
    """
    slope = returns_w_per_m_k(wires, current_a, ambient_c, loaded)
    return np.asarray(np.where(slope > 0, wires.j_per_m_k / np.where(slope > 0, slope, 1.0), np.inf))


@takes_units
def returns_w_per_m_k(wires: Wires, current_a: ArrayLike, ambient_c: ArrayLike, loaded: ArrayLike = 1) -> Array:
    """How much more heat leaves a metre than is made in it, for each kelvin over the steady temperature.

    Parameters
    ----------
    wires, current_a, ambient_c, loaded
        See `temperature_c`.

    Returns
    -------
    (..., n) numpy.ndarray
        0 where there is no steady state. [W/(m K)]

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    time_constant_s : The heat that a metre holds over this.
    """
    current = check("Current", current_a, "A", low=0, high=10000)
    bundle = _Bundle.of(wires, ambient_c, loaded)
    end = temperature_c(wires, current, ambient_c, loaded)
    steady = np.where(np.isfinite(end), end, HOTTEST_C)
    low, high = bundle.gain_w_per_m(current, np.stack([steady, steady + _STEP_K]))
    return np.asarray(np.where(np.isfinite(end), (low - high) / _STEP_K, 0.0))
