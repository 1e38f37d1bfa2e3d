"""How hot a wire gets: the current that heats it, the air that cools it, and what a rule book lets it carry.

A wire is a metal core in a wall of insulation. The core's I²R passes through the wall by conduction and
leaves the surface by natural convection and radiation. Arrays broadcast with the sizes on the last axis.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import check
from wirecalc.wire.conductor import COPPER, HOTTEST_C, REFERENCE_C, STRANDED, Conductor, awg_area_m2

Array = NDArray[np.float64]

KELVIN = 273.15
STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4), CODATA; from memory
GRAVITY = 9.80665  # m/s2, standard
AIR_PA, AIR_J_PER_KG_K, GAS_J_PER_KG_K = 101325.0, 1006.0, 287.05  # sea level; heat capacity and gas constant
TABLE_AMBIENT_C = 30.0  # 33 CFR 183.425 table 5; from memory
ENGINE_SPACE_C = 50.0  # 33 CFR 183.425 table 5 note 1; from memory
MOST_LOADED = 100
MUSIC_FRACTION = 1 / 8  # of rated power: 16 CFR 432.3(c), preconditioning of amplifiers; read
ONDERDONK_MELT_C = 1083.0  # copper, as in Stauffacher, General Electric Review 1928; from memory
PREECE_A_PER_M1_5 = 10244.0 / 0.0254**1.5  # copper; PCD&F, "Onderdonk's and Preece's equations": read
# Heat to warm a cubic metre of metal by 1 K: IEC 60949 table 1, copper and aluminium, from memory; clad
# aluminium by volume of the two. They give IEC's own 226 and 148 A s^0.5/mm2.
METAL_SOURCE = "IEC 60949 table 1, copper and aluminium; clad aluminium by volume of the two"
_COPPER_J, _ALUMINIUM_J = 3.45e6, 2.5e6
_METAL_J_PER_M3_K = {
    "copper": _COPPER_J,
    "tinned_copper": _COPPER_J,
    "cca_10": 0.10 * _COPPER_J + 0.90 * _ALUMINIUM_J,
    "cca_15": 0.15 * _COPPER_J + 0.85 * _ALUMINIUM_J,
    "aluminium": _ALUMINIUM_J,
}
_WALL_BASE_M, _WALL_SHARE = 0.2e-3, 0.08  # thin wall, near ISO 6722-1; from memory
_STEP_K = 1e-3  # for slopes
_CLOSE_K = 1e-7


@dataclass(frozen=True, kw_only=True)
class Insulation:
    """What a wire is covered with."""

    key: str
    name: str
    limit_c: float
    """Hottest that the conductor may be for years. [degC]"""
    damage_c: float
    """Hottest that it may be for the seconds of a short circuit. [degC]"""
    w_per_m_k: float
    """Thermal conductivity. [W/(m K)]"""
    emissivity: float
    j_per_m3_k: float
    """Heat capacity by volume. [J/(m^3 K)]"""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Insulation limit", self.limit_c, "°C", low=40, high=HOTTEST_C)
        check("Insulation damage temperature", self.damage_c, "°C", low=self.limit_c, high=HOTTEST_C)
        check("Insulation conductivity", self.w_per_m_k, "W/(m K)", low=0.01, high=5)
        check("Emissivity", self.emissivity, "", low=0, high=1)
        check("Insulation heat capacity", self.j_per_m3_k, "J/(m³ K)", low=1e5, high=1e7)


@dataclass(frozen=True, kw_only=True)
class Zone:
    """A place in the vehicle and the air that a wire meets there."""

    key: str
    name: str
    ambient_c: float
    """[degC]"""
    reason: str
    source: str
    confidence: str


INSULATIONS: dict[str, Insulation] = {
    row["insulation"]: Insulation(
        key=row["insulation"],
        name=row["name"],
        limit_c=row["limit_c"],
        damage_c=row["damage_c"],
        w_per_m_k=row["w_per_m_k"],
        emissivity=row["emissivity"],
        j_per_m3_k=row["j_per_m3_k"],
        source=row["source"],
        confidence=row["confidence"],
    )
    for row in tables.rows("insulations")
}
ZONES: dict[str, Zone] = {
    row["zone"]: Zone(
        key=row["zone"],
        name=row["name"],
        ambient_c=row["ambient_c"],
        reason=row["reason"],
        source=row["source"],
        confidence=row["confidence"],
    )
    for row in tables.rows("zones")
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Wires:
    """Insulated wires side by side in a list, one candidate size each; made by `insulated`. Arrays are (n,)."""

    insulation: Insulation
    core_m: Array
    """Diameter over the strands. [m]"""
    outer_m: Array
    """Diameter over the insulation. [m]"""
    ohm_per_m_20c: Array
    """[ohm/m]"""
    per_k_20c: Array
    """[1/K]"""
    metal_j_per_m_k: Array
    """Heat to warm a metre of the metal by 1 K. [J/(m K)]"""

    @property
    def wall_m_k_per_w(self) -> Array:
        """Thermal resistance of the wall, from the core to the surface. [m K/W]"""
        return np.log(self.outer_m / self.core_m) / (2 * np.pi * self.insulation.w_per_m_k)

    @property
    def j_per_m_k(self) -> Array:
        """Heat to warm a metre of wire by 1 K, metal and insulation. [J/(m K)]"""
        wall_m2 = np.pi / 4 * (self.outer_m**2 - self.core_m**2)
        return self.metal_j_per_m_k + wall_m2 * self.insulation.j_per_m3_k

    def ohm_per_m(self, conductor_c: ArrayLike) -> Array:
        """Resistance at a conductor temperature, also past where insulation lives. [ohm/m]"""
        return self.ohm_per_m_20c * (1 + self.per_k_20c * (np.asarray(conductor_c) - REFERENCE_C))


def metal_j_per_m3_k(conductor: Conductor) -> float:
    """Heat to warm a cubic metre of a conductor's metal by 1 K; see `METAL_SOURCE`. [J/(m^3 K)]"""
    # a metal of the user's own warms like aluminium, the quickest of the list
    return _METAL_J_PER_M3_K.get(conductor.metal.key, _ALUMINIUM_J)


def insulated(conductors: Sequence[Conductor], insulation: Insulation, wall_m: ArrayLike | None = None) -> Wires:
    """Conductors in a coat of insulation.

    Parameters
    ----------
    conductors : sequence of n Conductor
        One candidate each.
    insulation : Insulation
        One for all; see `INSULATIONS`.
    wall_m : (n,) or scalar array_like, optional
        Wall thickness. Without it 0.2 mm and 8 % of the conductor's diameter, close to the thin walls of ISO
        6722-1 (from memory). Up to 2/0 more wall means more surface, so a thin wall is the hot case. [m]

    Returns
    -------
    Wires
        Of n sizes.

    Raises
    ------
    InputError
        If a wall is not between 0.05 and 10 mm.
    """
    core_m = np.array([one.diameter_m for one in conductors])
    wall_m = _WALL_BASE_M + _WALL_SHARE * core_m if wall_m is None else wall_m
    wall_m = check("Insulation thickness", wall_m, "m", low=0.05e-3, high=10e-3, hint="Was it in mm?")
    metal_j = [one.area_m2 * one.stranding.lay_factor * metal_j_per_m3_k(one) for one in conductors]
    return Wires(
        insulation=insulation,
        core_m=core_m,
        outer_m=core_m + 2 * wall_m,
        ohm_per_m_20c=np.array([one.ohm_per_m_20c for one in conductors]),
        per_k_20c=np.array([one.metal.per_k_20c for one in conductors]),
        metal_j_per_m_k=np.array(metal_j),
    )


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
    diameter = check("Diameter", diameter_m, "m", low=0, above=True)
    surface = check("Surface temperature", surface_c, "°C", low=-100, high=1000)
    ambient = check("Ambient temperature", ambient_c, "°C", low=-100, high=1000)
    difference = np.abs(surface - ambient)
    film_k = (surface + ambient) / 2 + KELVIN
    root = np.sqrt(film_k)
    pa_s = 1.458e-6 * film_k * root / (film_k + 110.4)
    w_per_m_k = 2.64638e-3 * film_k * root / (film_k + 245.4 * 10 ** (-12 / film_k))
    kg_per_m3 = AIR_PA / (GAS_J_PER_KG_K * film_k)
    prandtl = pa_s * AIR_J_PER_KG_K / w_per_m_k
    grashof = GRAVITY * difference / film_k * diameter**3 * (kg_per_m3 / pa_s) ** 2
    shape = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt = (0.60 + 0.387 * (grashof * prandtl) ** (1 / 6) / shape) ** 2
    return np.asarray(nusselt * w_per_m_k / diameter)


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
    """
    surface_k, ambient_k = np.asarray(surface_c) + KELVIN, np.asarray(ambient_c) + KELVIN
    carried = convection_w_per_m2_k(diameter_m, surface_c, ambient_c) * (surface_k - ambient_k)
    radiated = emissivity * STEFAN_BOLTZMANN * (surface_k**4 - ambient_k**4)
    return np.asarray(np.pi * np.asarray(diameter_m) * (carried + radiated))


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
        return surface_w_per_m(self.outer_m, surface_c, self.ambient_c, emissivity) / self.loaded

    def surface_c(self, conductor_c: Array) -> Array:
        """Of the surface when the hottest core is at `conductor_c`, at or over the ambient."""

        def excess(surface_c: Array) -> Array:
            return surface_c - conductor_c + self.inside_m_k_per_w * self.leaves_w_per_m(surface_c)

        shape = np.broadcast_shapes(conductor_c.shape, self.outer_m.shape, self.ambient_c.shape)
        return _root_from_above(excess, np.broadcast_to(conductor_c, shape), self.ambient_c)

    def gain_w_per_m(self, current_a: Array, conductor_c: Array) -> Array:
        """Heat that stays in each wire: made by the current, less what leaves."""
        return current_a**2 * self.wires.ohm_per_m(conductor_c) - self.leaves_w_per_m(self.surface_c(conductor_c))


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
    surface = _root_from_above(excess, hot, bundle.ambient_c)
    core = surface + bundle.inside_m_k_per_w * made_w_per_m(surface)
    return np.where(stable & (core <= HOTTEST_C), core, np.inf)


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


_TABLE = tables.rows("ampacity")  # thin to thick
_TABLE_COLUMNS = {float(str(name)[2:-1]): name for name in _TABLE[0] if str(name).startswith("a_")}
_TABLE_AREA_M2 = awg_area_m2(np.array([row["awg"] for row in _TABLE], np.float64))


def _factors(rule: str) -> tuple[Array, Array]:
    rows = [row for row in tables.rows("ampacity_factors") if row["rule"].startswith(rule)]
    return np.array([row["at"] for row in rows], np.float64), np.array([row["factor"] for row in rows], np.float64)


_ENGINE_SPACE = dict(zip(*_factors("engine space"), strict=True))
_BY_COUNT = [_factors("33 CFR"), _factors("IEC 60364")]


def _column_c(limit_c: float) -> float:
    """The published column at or under a conductor limit; the lowest one is for everything unmarked."""
    check("Conductor limit", limit_c, "°C", low=min(_TABLE_COLUMNS), high=HOTTEST_C)
    return max(column for column in _TABLE_COLUMNS if column <= limit_c)


def table_a(ohm_per_m_20c: ArrayLike, limit_c: float) -> Array:
    """What 33 CFR 183.425 table 5 lets a conductor carry, in 30 degC air and not bundled.

    Parameters
    ----------
    ohm_per_m_20c : (...,) array_like
        One conductor. [ohm/m]
    limit_c : float
        Of the conductor; the table's column at or under it is used. [60 to 250 degC]

    Returns
    -------
    (...,) numpy.ndarray
        [A]

    Raises
    ------
    InputError
        If a resistance is not above 0 or the limit is under 60 degC.

    Notes
    -----
    The table is for stranded copper of gauge sizes. Any other conductor enters as the stranded copper of its
    own resistance, so aluminium and metric sizes count for what they conduct, not for what they measure.
    Between two gauges a straight line over area: current rises slower than area, so the line lies below.
    Under 18 AWG in proportion to area, which falls faster than any wire; over 4/0 nothing is added.
    """
    ohm = check("Resistance per metre", ohm_per_m_20c, "ohm/m", low=0, above=True)
    area_m2 = COPPER.ohm_m_20c * STRANDED.lay_factor / ohm
    column = _TABLE_COLUMNS[_column_c(limit_c)]
    cells_a = np.array([row[column] for row in _TABLE], np.float64)
    return np.asarray(np.interp(area_m2, np.append(0.0, _TABLE_AREA_M2), np.append(0.0, cells_a)))


def engine_space_factor(limit_c: float) -> float:
    """33 CFR 183.425 table 5 note 1 (from memory): what is left in an engine space at 50 degC."""
    return float(_ENGINE_SPACE[_column_c(limit_c)])


def ambient_factor(ambient_c: ArrayLike, limit_c: float) -> Array:
    """What is left of the table's current in warmer air.

    Parameters
    ----------
    ambient_c : (...,) array_like
        [degC]
    limit_c : float
        Of the conductor; see `table_a`. [degC]

    Returns
    -------
    (...,) numpy.ndarray
        1 up to 30 degC, 0 where the air is as hot as the limit.

    Notes
    -----
    ``sqrt((T - Ta) / (T - 30))``: the rise goes with the current squared. It gives the engine-space factors
    of 33 CFR 183.425 but for 105 and 200 degC; from 50 degC on the lower of the two holds.
    """
    ambient = check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    column = _column_c(limit_c)
    by_rise = np.sqrt(np.clip((column - ambient) / (column - TABLE_AMBIENT_C), 0, 1))
    return np.where(ambient >= ENGINE_SPACE_C, np.minimum(by_rise, engine_space_factor(limit_c)), by_rise)


def bundle_factor(loaded: ArrayLike) -> Array:
    """What is left of the table's current when loaded conductors lie together.

    Parameters
    ----------
    loaded : (...,) array_like
        Loaded conductors, each way of a pair counted. [1 to 100]

    Returns
    -------
    (...,) numpy.ndarray
        The lower of IEC 60364-5-52's grouping in air and 33 CFR 183.425 note 2, both from memory; between
        listed counts that of the next larger one. Past IEC's 20 it falls as 1/sqrt(n).

    Raises
    ------
    InputError
        If a count is out of range.
    """
    count = check("Loaded conductors", loaded, "", low=1, high=MOST_LOADED)
    factor = np.ones(count.shape)
    for up_to, left in _BY_COUNT:
        row = np.minimum(np.searchsorted(up_to, count), len(up_to) - 1)
        factor = np.minimum(factor, left[row] * np.sqrt(np.minimum(1, up_to[-1] / count)))
    return factor


@dataclass(frozen=True, kw_only=True, eq=False)
class Allowable:
    """Current that each wire may carry for ever, and where it is from. Arrays (..., n). [A]"""

    current_a: Array
    """The lower of the two below."""
    published_a: Array
    """33 CFR 183.425 table 5 times its factors for air and bundle."""
    balance_a: Array
    """By the heat balance."""


def allowable(wires: Wires, ambient_c: ArrayLike, loaded: ArrayLike = 1) -> Allowable:
    """What each wire may carry: never more than the published table, never more than the heat balance.

    Parameters
    ----------
    wires, ambient_c, loaded
        See `temperature_c`.

    Returns
    -------
    Allowable
        Fields of shape (..., n).

    Raises
    ------
    InputError
        If a value is out of range or the insulation's limit is under 60 degC.
    """
    limit_c = wires.insulation.limit_c
    published = table_a(wires.ohm_per_m_20c, limit_c) * ambient_factor(ambient_c, limit_c) * bundle_factor(loaded)
    balance = balance_a(wires, ambient_c, loaded)
    return Allowable(current_a=np.minimum(published, balance), published_a=published, balance_a=balance)


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
    found, substeps = [], 4
    for step_s in np.diff(times, prepend=0.0) / substeps:
        for _ in range(substeps if step_s > 0 else 0):
            gain = bundle.gain_w_per_m(current, np.stack([core, core + _STEP_K])) / wires.j_per_m_k
            rate = (gain[1] - gain[0]) / _STEP_K
            growth = np.minimum(rate * step_s, 50)  # past e^50 it is over the end in any case
            core = core + gain[0] * step_s * np.expm1(growth) / growth
            core = np.clip(core, bundle.ambient_c, HOTTEST_C + 1)
        found.append(core)
    hot = np.stack(found)
    return np.where(hot <= HOTTEST_C, hot, np.inf)


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
    """
    current = check("Current", current_a, "A", low=0, high=10000)
    bundle = _Bundle.of(wires, ambient_c, loaded)
    end = temperature_c(wires, current, ambient_c, loaded)
    steady = np.where(np.isfinite(end), end, HOTTEST_C)
    low, high = bundle.gain_w_per_m(current, np.stack([steady, steady + _STEP_K]))
    return np.asarray(np.where(np.isfinite(end), (low - high) / _STEP_K, 0.0))


def lasts_s(wires: Wires, current_a: ArrayLike, start_c: ArrayLike, end_c: ArrayLike) -> Array:
    """Time in which a short circuit heats the metal from one temperature to another, no heat leaving it.

    Parameters
    ----------
    wires : Wires
        n sizes.
    current_a, start_c, end_c : (..., n) or broadcastable array_like
        Current above 0 [A]; conductor temperatures [degC].

    Returns
    -------
    (..., n) numpy.ndarray
        Shorter than the truth: the insulation takes heat too. 0 where the end is not over the start. [s]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    .. [1] IEC 60949, adiabatic short-circuit current; from memory.
    """
    current = check("Current", current_a, "A", low=0, above=True)
    start = check("Start temperature", start_c, "°C", low=-50, high=HOTTEST_C)
    end = check("End temperature", end_c, "°C", low=-50, high=ONDERDONK_MELT_C)
    growth = np.log(wires.ohm_per_m(end) / wires.ohm_per_m(start))
    heat = wires.metal_j_per_m_k / (wires.ohm_per_m_20c * wires.per_k_20c)
    return np.asarray(np.maximum(growth, 0) * heat / current**2)


def onderdonk_a(area_m2: ArrayLike, time_s: ArrayLike, ambient_c: ArrayLike = TABLE_AMBIENT_C) -> Array:
    """Current that melts a copper wire in a short time, by Onderdonk: an upper end, nowhere near allowable.

    Parameters
    ----------
    area_m2 : (...,) array_like
        Metal. [m^2]
    time_s : (...,) array_like
        Above 0 up to 10 s: over that the heat that leaves counts. [s]
    ambient_c : (...,) array_like
        [degC]

    Returns
    -------
    (...,) numpy.ndarray
        [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``I = A sqrt(log10((1083 - Ta) / (234 + Ta) + 1) / (33 t))``, A in circular mils. Stauffacher, General
    Electric Review 1928, equation from memory.
    """
    area_m2 = check("Cross-section", area_m2, "m²", low=0, above=True)
    time_s = check("Time", time_s, "s", low=0, high=10, above=True)
    ambient = check("Ambient temperature", ambient_c, "°C", low=-50, high=200)
    circular_mils = area_m2 / (np.pi / 4 * 25.4e-6**2)
    rise = np.log10((ONDERDONK_MELT_C - ambient) / (234 + ambient) + 1)
    return np.asarray(circular_mils * np.sqrt(rise / (33 * time_s)))


def preece_a(diameter_m: ArrayLike) -> Array:
    """Current that melts a bare copper wire in free air at last, by Preece. [A]

    Parameters
    ----------
    diameter_m : (...,) array_like
        Solid wire. [m]

    Returns
    -------
    (...,) numpy.ndarray
        ``10244 d^1.5``, d in inches: PCD&F, Onderdonk's and Preece's equations (read). [A]

    Raises
    ------
    InputError
        If a diameter is not above 0.
    """
    return np.asarray(PREECE_A_PER_M1_5 * check("Diameter", diameter_m, "m", low=0, above=True) ** 1.5)


def music_rms_a(rated_a: ArrayLike, fraction: ArrayLike = MUSIC_FRACTION) -> Array:
    """Current of music that heats a loudspeaker wire as the music does, from the current at rated power.

    Parameters
    ----------
    rated_a : (...,) array_like
        RMS at rated power. [A]
    fraction : (...,) array_like
        Average power over rated power; one-eighth is the preconditioning of 16 CFR 432.3(c). Test tones and
        heavily compressed bass come near 1. [0 to 1]

    Returns
    -------
    (...,) numpy.ndarray
        ``rated sqrt(fraction)``, power going with the current squared. Not for a supply wire: its current goes
        with the power itself and the amplifier's efficiency. [A]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(music_rms_a(5.0).round(4))
    1.7678
    """
    rated = check("Current", rated_a, "A", low=0)
    return np.asarray(rated * np.sqrt(check("Share of rated power", fraction, "", low=0, high=1)))
