"""A loudspeaker as a load: impedance from its parameters, its wiring, and what a wire does to it.

Electrical equivalent of a moving-coil driver at small signals: Re, voice coil inductance, and a parallel
resonance for the moving mass, suspension and losses. Relations: Small, Direct-radiator loudspeaker system
analysis, and Closed-box loudspeaker systems, J. Audio Eng. Soc. 1972; from memory. Loud sound leaves this
range: the coil heats (Re up by half and more), the suspension stiffens.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

LOWEST_OF_RATED = 0.8  # IEC 60268-5 clause 16.1, from memory: |Z| in the rated band, over the rated impedance
_SEARCH_PER_DECADE = 200


class HasImpedance(Protocol):
    """Anything that a run can feed: `load.Load`, `Driver`, `Wired`, a measured file."""

    def impedance(self, frequency_hz: ArrayLike, /) -> Complex:
        """Complex impedance at each frequency. (...,) [Hz] -> (...,) [ohm]"""
        ...  # pragma: no cover


@dataclass(frozen=True, kw_only=True)
class Driver:
    """A moving-coil driver by its small-signal parameters, in free air or on a large baffle.

    A driver of two coils: give the parameters with both coils in parallel, then see `two_coils`.
    """

    re_ohm: float
    """DC resistance of the voice coil. [ohm]"""
    fs_hz: float
    """Resonance. [Hz]"""
    qes: float
    """Electrical Q at resonance. [-]"""
    qms: float
    """Mechanical Q at resonance. [-]"""
    le_henry: float = 0.0
    """Voice coil inductance. [H]"""
    semi: float = 0.0
    """K of a lossy inductance ``K (j omega)**n`` in series with the inductance. [ohm s^n]"""
    semi_exponent: float = 0.5
    """n: 0.5 for eddy currents in a thick pole piece, up to 1 for no loss (Leach 2002, from memory)."""
    vas_m3: float | None = None
    """Volume of air as stiff as the suspension; needed for a box. [m^3]"""

    def __post_init__(self) -> None:
        check("Re", self.re_ohm, "Ω", low=0.1, high=1000)
        check("fs", self.fs_hz, "Hz", low=5, high=20000)
        check("Qes", self.qes, "", low=0.02, high=200)
        check("Qms", self.qms, "", low=0.05, high=1000)
        check("Le", self.le_henry, "H", low=0, high=0.1, hint="Was it in mH?")
        check("Semi-inductance", self.semi, "Ω·sⁿ", low=0, high=10)
        check("Semi-inductance exponent", self.semi_exponent, "", low=0.4, high=1)
        if self.vas_m3 is not None:
            check("Vas", self.vas_m3, "m³", low=1e-6, high=10, hint="Was it in litres?")

    @property
    def qts(self) -> float:
        """Total Q with nothing in series. [-]"""
        return float(parallel_q(self.qes, self.qms))

    @takes_units
    def coil_ohm(self, frequency_hz: ArrayLike) -> Complex:
        """Impedance of the blocked voice coil. (...,) [Hz] -> (...,) [ohm]

        Raises
        ------
        InputError
            If a frequency is out of range.
        """
        s = 2j * np.pi * check("Frequency", frequency_hz, "Hz", low=0, high=1e9)
        return np.asarray(self.re_ohm + s * self.le_henry + self.semi * s**self.semi_exponent, np.complex128)

    @takes_units
    def motional_ohm(self, frequency_hz: ArrayLike) -> Complex:
        """Impedance that the motion adds: Re Qms / Qes at resonance. (...,) [Hz] -> (...,) [ohm]

        Raises
        ------
        InputError
            If a frequency is out of range.
        """
        s = 1j * check("Frequency", frequency_hz, "Hz", low=0, high=1e9) / self.fs_hz
        return np.asarray(self.re_ohm / self.qes * s / (s * s + s / self.qms + 1.0), np.complex128)

    @takes_units
    def impedance(self, frequency_hz: ArrayLike) -> Complex:
        """Complex impedance at each frequency.

        Parameters
        ----------
        frequency_hz : (...,) array_like
            [Hz]

        Returns
        -------
        (...,) numpy.ndarray of complex128
            [ohm]

        Raises
        ------
        InputError
            If a frequency is below 0 or not a number.

        Notes
        -----
        ``Re + j omega Le + K (j omega)**n + (Re/Qes) s / (s**2 + s/Qms + 1)``, ``s = j f / fs``.
        """
        return self.coil_ohm(frequency_hz) + self.motional_ohm(frequency_hz)


@dataclass(frozen=True, kw_only=True)
class DemoDriver:
    """What is said of one of `DEMO_DRIVERS`."""

    rated_ohm: float
    """[ohm]"""
    source: str
    confidence: str


DEMO_DRIVERS = tables.keyed("demo_drivers", Driver, semi="semi_ohm_s_n")
"""Invented drivers for lessons and tests, by name."""
ABOUT_DEMO_DRIVERS = tables.keyed("demo_drivers", DemoDriver)


@dataclass(frozen=True, kw_only=True)
class Wired:
    """Loads joined into one, each on its own: drivers in one box also push each other, which is left out."""

    parts: tuple[HasImpedance, ...]
    way: Literal["series", "parallel"]

    def __post_init__(self) -> None:
        if not self.parts:
            raise InputError("Loads", "none", "one or more")
        if self.way not in ("series", "parallel"):
            raise InputError("Wiring", self.way, "series or parallel")

    @takes_units
    def impedance(self, frequency_hz: ArrayLike) -> Complex:
        """Net impedance at each frequency. (...,) [Hz] -> (...,) [ohm]"""
        parts = np.stack([part.impedance(frequency_hz) for part in self.parts])
        net = parts.sum(axis=0) if self.way == "series" else 1.0 / (1.0 / parts).sum(axis=0)
        return np.asarray(net, np.complex128)


def two_coils(driver: Driver, way: Literal["parallel", "series", "one"]) -> Driver:
    """A driver of two like coils, its parameters given with both in parallel, as it is wired.

    In series every impedance is four times that in parallel and no Q changes. With one coil driven and the
    other open, Re doubles and so does Qes: half of the copper does the work. The coils share one former and
    are taken as fully coupled.

    Parameters
    ----------
    driver : Driver
        With both coils in parallel.
    way : {"parallel", "series", "one"}
        How it is wired; "one" leaves the other coil open.

    Returns
    -------
    Driver
        As the amplifier sees it.

    Raises
    ------
    InputError
        If `way` is none of the three.
    """
    if way == "parallel":
        return driver
    if way == "series":
        return replace(driver, re_ohm=4 * driver.re_ohm, le_henry=4 * driver.le_henry, semi=4 * driver.semi)
    if way == "one":
        return replace(driver, re_ohm=2 * driver.re_ohm, qes=2 * driver.qes)
    raise InputError("Coils", way, "parallel, series or one")


@takes_units
def closed_box(driver: Driver, box_m3: float, box_q: float = math.inf) -> Driver:
    """The driver in a sealed box, as one system: stiffer by the box's air.

    Parameters
    ----------
    driver : Driver
        In free air; needs `vas_m3`.
    box_m3 : float
        Net inside volume; a filled box counts as larger (up to about 1.2 times, common practice, no source).
        [m^3]
    box_q : float
        Q at the system's resonance that the losses of box and filling alone would leave; infinite for an
        empty tight box.

    Returns
    -------
    Driver
        fs, Qes and Qms are those of the system, times ``sqrt(1 + Vas/Vb)`` [1]_; losses join as
        ``1/Qmc = 1/Qm + 1/Qbox``.

    Raises
    ------
    InputError
        If `vas_m3` is not given or a value is out of range.

    References
    ----------
    .. [1] Small, Closed-box loudspeaker systems, part I, 1972; from memory.
    """
    if driver.vas_m3 is None:
        raise InputError("Vas", "", "a volume", "A box needs the driver's Vas, or its Cms and Sd.")
    check("Box volume", box_m3, "m³", low=1e-5, high=10, hint="Was it in litres?")
    check("Box Q", box_q, "", low=0.5)
    up = math.sqrt(1.0 + driver.vas_m3 / box_m3)
    qmc = float(parallel_q(driver.qms * up, box_q))
    return replace(driver, fs_hz=driver.fs_hz * up, qes=driver.qes * up, qms=qmc, vas_m3=None)


def parallel_q(first: ArrayLike, second: ArrayLike) -> Array:
    """Two losses together: ``1/Q = 1/Q1 + 1/Q2``, as Qts from Qes and Qms. Broadcasts. [-]

    Parameters
    ----------
    first, second : (...,) array_like
        Above 0. [-]

    Returns
    -------
    (...,) numpy.ndarray
        Lower than either. [-]

    Raises
    ------
    InputError
        If a value is not above 0.

    See Also
    --------
    qes_with_wire : What a wire makes of Qes.
    """
    first = check("Q", first, "", low=0, above=True)
    second = check("Q", second, "", low=0, above=True)
    return np.asarray(1.0 / (1.0 / first + 1.0 / second))


@takes_units
def qes_with_wire(qes: ArrayLike, re_ohm: ArrayLike, series_ohm: ArrayLike) -> Array:
    """Electrical Q with a resistance between the amplifier and the coil.

    Parameters
    ----------
    qes, re_ohm : (...,) array_like
        Of the driver. [-], [ohm]
    series_ohm : (...,) array_like
        Loop resistance of the wire, plus the amplifier's output impedance. [ohm]

    Returns
    -------
    (...,) numpy.ndarray
        ``Qes (Re + R) / Re`` [1]_. [-]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    .. [1] Small, Direct-radiator loudspeaker system analysis, 1972, from memory; read as an article's worked
       example: Re 5 ohm, Qes 0.5, Qms 10 and 0.114 ohm raise Qts by 2 %.

    Examples
    --------
    >>> float(qes_with_wire(0.5, 5.0, 0.114).round(4))
    0.5114
    """
    qes = check("Qes", qes, "", low=0, above=True)
    re_ohm = check("Re", re_ohm, "Ω", low=0, above=True)
    return np.asarray(qes * (1.0 + check("Series resistance", series_ohm, "Ω", low=0) / re_ohm))


@takes_units
def through_wire(driver: Driver, series_ohm: float) -> Driver:
    """The driver and a series resistance as the one driver that the amplifier sees: Re and Qes rise.

    Parameters
    ----------
    driver : Driver
        By itself.
    series_ohm : float
        Of the wire loop, or of anything in series. [ohm]

    Returns
    -------
    Driver
        Its other parameters stay.

    See Also
    --------
    qes_with_wire : Of Qes alone, over arrays.
    """
    qes = float(qes_with_wire(driver.qes, driver.re_ohm, series_ohm))
    return replace(driver, re_ohm=driver.re_ohm + series_ohm, qes=qes)


@takes_units
def sound(driver: Driver, frequency_hz: ArrayLike, series_ohm: ArrayLike = 0.0) -> Complex:
    """Sound pressure on axis against the driver's own pass band with nothing in series.

    Parameters
    ----------
    driver : Driver
        On a large baffle, or from `closed_box`.
    frequency_hz : (...,) array_like
        [Hz]
    series_ohm : (...,) array_like
        Wire and amplifier output, real or complex; broadcasts. [ohm]

    Returns
    -------
    (...,) numpy.ndarray of complex128
        1 in the pass band of a driver with no inductance; ``20 log10 |.|`` is its level. [-]

    Raises
    ------
    InputError
        If a frequency is below 0 or not a number.

    Notes
    -----
    Cone acceleration over its pass-band value: ``s Qes Zmot / (Z + Zseries)``, ``s = j f / fs``. With no
    inductance and a real series resistance this is Small's second-order high-pass of Qts with the wire, times
    ``Re / (Re + R)``. The cone is a rigid piston, small against the wavelength: not for the top octaves.
    """
    s = 1j * np.asarray(frequency_hz, np.float64) / driver.fs_hz
    motional = driver.motional_ohm(frequency_hz)
    total = driver.coil_ohm(frequency_hz) + motional + np.asarray(series_ohm)
    return np.asarray(s * driver.qes * motional / total, np.complex128)


@dataclass(frozen=True, kw_only=True)
class Least:
    """Where an impedance is lowest in a band."""

    ohm: float
    """Modulus there. [ohm]"""
    frequency_hz: float


@takes_units
def least_impedance(load: HasImpedance, low_hz: float = 20.0, high_hz: float = 20e3) -> Least:
    """The lowest modulus in a band: on a dense grid, then refined between the neighbours.

    Parameters
    ----------
    load : HasImpedance
        One driver, or several as `Wired`.
    low_hz, high_hz : float
        Ends of the band. [Hz]

    Returns
    -------
    Least
        The lowest modulus and where it lies.

    Raises
    ------
    InputError
        If the band is empty, out of range, or outside what a measured load holds.
    """
    from scipy.optimize import minimize_scalar  # here, because it takes longer to load than all of this package

    check("Band, lower end", low_hz, "Hz", low=0, above=True)
    check("Band, upper end", high_hz, "Hz", low=low_hz, above=True)
    points = 2 + math.ceil(_SEARCH_PER_DECADE * math.log10(high_hz / low_hz))
    logs = np.linspace(math.log(low_hz), math.log(high_hz), points)
    modulus = np.abs(load.impedance(np.clip(np.exp(logs), low_hz, high_hz)))
    at = int(np.argmin(modulus))

    def between(log_hz: float) -> float:
        return float(np.abs(load.impedance(min(max(math.exp(log_hz), low_hz), high_hz))))

    bounds = (float(logs[max(at - 1, 0)]), float(logs[min(at + 1, points - 1)]))
    best = minimize_scalar(between, bounds=bounds, method="bounded", options={"xatol": 1e-9})
    if best.fun < modulus[at]:
        return Least(ohm=float(best.fun), frequency_hz=math.exp(float(best.x)))
    return Least(ohm=float(modulus[at]), frequency_hz=float(np.clip(np.exp(logs[at]), low_hz, high_hz)))


@dataclass(frozen=True, kw_only=True)
class RatedCheck:
    """A rated impedance held against the impedance itself."""

    least: Least
    allowed_ohm: float
    """The lowest modulus that the rated impedance allows. [ohm]"""
    highest_rating_ohm: float
    """The highest rated impedance that the load may carry. [ohm]"""

    @property
    def holds(self) -> bool:
        """The rated impedance is not too high."""
        return self.least.ohm >= self.allowed_ohm


@takes_units
def check_rated(load: HasImpedance, rated_ohm: float, low_hz: float = 20.0, high_hz: float = 20e3) -> RatedCheck:
    """The 80 % rule: nowhere in the rated band may the modulus be below 80 % of the rated impedance.

    Parameters
    ----------
    load : HasImpedance
        One driver, or several as `Wired`.
    rated_ohm : float
        As printed on it. [ohm]
    low_hz, high_hz : float
        Its rated band. [Hz]

    Returns
    -------
    RatedCheck
        The lowest impedance, where it lies, and whether it is allowed.

    Raises
    ------
    InputError
        If a value is out of range.

    See Also
    --------
    least_impedance : The lowest impedance alone.

    Notes
    -----
    IEC 60268-5 clause 16.1, from memory.
    """
    check("Rated impedance", rated_ohm, "Ω", low=0.1, high=1000)
    least = least_impedance(load, low_hz, high_hz)
    return RatedCheck(
        least=least,
        allowed_ohm=LOWEST_OF_RATED * rated_ohm,
        highest_rating_ohm=least.ohm / LOWEST_OF_RATED,
    )
