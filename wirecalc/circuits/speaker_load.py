"""What hangs on a loudspeaker wire: a resistance, a demo driver, drivers by their data sheet, or a measurement."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from wirecalc import units
from wirecalc.circuits import response
from wirecalc.circuits.impedance_file import MeasuredImpedance
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import (
    ABOUT_DEMO_DRIVERS,
    DEMO_DRIVERS,
    Driver,
    HasImpedance,
    Wired,
    closed_box,
    two_coils,
)
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

CoilWiring = Literal["only", "parallel", "series", "one"]

BAND_HZ = (20.0, 20e3)  # where levels are judged
MOST_ALIKE = 4  # each way: sixteen drivers on one channel


@dataclass(frozen=True)
class Provenance:
    """Where the values of a load are from, and of a driver what was made of those that were entered."""

    origin: str = "entered"
    confidence: str = ""
    entered: Driver | None = None
    """Before box and coils; None where nothing was made of it."""
    box_m3: float | None = None
    coils: str = "only"
    """Or as `wirecalc.circuits.loudspeaker.two_coils` has it."""


@dataclass(frozen=True, kw_only=True)
class SpeakerLoad:
    """A load of a loudspeaker run, and where it is known."""

    name: str
    load: HasImpedance
    driver: Driver | None = None
    """The one driver, or one of several alike; None where its Q is not known."""
    boxed: bool = False
    low_hz: float = response.LOWEST_HZ
    high_hz: float = response.HIGHEST_HZ
    """Where the load is known; nothing is made up outside."""
    made: Provenance = field(default_factory=Provenance)
    """Where its values are from."""

    @property
    def band_hz(self) -> tuple[float, float]:
        """20 Hz to 20 kHz, or as much of it as the load is known in. [Hz]"""
        return max(BAND_HZ[0], self.low_hz), min(BAND_HZ[1], self.high_hz)


@takes_units
def plain_load(load_ohm: float) -> SpeakerLoad:
    """A plain resistance. [ohm]"""
    return SpeakerLoad(name=units.show(load_ohm, units.RESISTANCE), load=Load(ohm=load_ohm))


def demo_driver(name: str) -> SpeakerLoad:
    """One of `wirecalc.circuits.loudspeaker.DEMO_DRIVERS`."""
    about, driver = ABOUT_DEMO_DRIVERS[name], DEMO_DRIVERS[name]
    made = Provenance(about.source, about.confidence)
    return SpeakerLoad(name=f"{name} (invented)", load=driver, driver=driver, made=made)


def from_litres(litres: float | None) -> float | None:
    """A volume as data sheets give it; None stays None. [l] -> [m^3]"""
    return None if litres is None else litres * 1e-3


@takes_units
def own(
    entered: Driver,
    *,
    box_m3: float | None = None,
    coils: CoilWiring = "only",
    in_series: int = 1,
    in_parallel: int = 1,
) -> SpeakerLoad:
    """Drivers by their data sheet, as they are built in and wired.

    Parameters
    ----------
    entered : Driver
        One of them in free air, its two coils in parallel if it has two.
    box_m3 : float, optional
        Net volume of the closed box of each; free air without. [m^3]
    coils : {"only", "parallel", "series", "one"}
        One coil, or how the two are wired, see `wirecalc.circuits.loudspeaker.two_coils`.
    in_series, in_parallel : int
        Like drivers: so many rows in parallel of so many in series. [1 to 4]

    Returns
    -------
    SpeakerLoad

    Raises
    ------
    InputError
        If a value is out of range, or the box needs a volume Vas that is not known.
    """
    check("Drivers in series", in_series, "", low=1, high=MOST_ALIKE)
    check("Drivers in parallel", in_parallel, "", low=1, high=MOST_ALIKE)
    driver = entered if box_m3 is None else closed_box(entered, box_m3)
    driver = driver if coils == "only" else two_coils(driver, coils)
    row = Wired(parts=(driver,) * in_series, way="series")
    many = in_series * in_parallel
    return SpeakerLoad(
        name="the own driver" if many == 1 else f"{many} own drivers",
        load=Wired(parts=(row,) * in_parallel, way="parallel"),
        driver=driver,
        boxed=box_m3 is not None,
        made=Provenance(entered=entered, box_m3=box_m3, coils=coils),
    )


def measured_load(name: str, load: MeasuredImpedance) -> SpeakerLoad:
    """A measured impedance by the name of its file.

    Parameters
    ----------
    name : str
        Of the file.
    load : MeasuredImpedance

    Returns
    -------
    SpeakerLoad
        Known where it was measured, within 10 Hz to 40 kHz.

    Raises
    ------
    InputError
        If it says nothing of 20 Hz to 20 kHz.
    """
    if not (load.lowest_hz < BAND_HZ[1] and load.highest_hz > BAND_HZ[0]):
        given = f"{load.lowest_hz:g} to {load.highest_hz:g} Hz"
        raise InputError("Measured file", given, "one that reaches into 20 Hz to 20 kHz", "Measure in that band.")
    return SpeakerLoad(
        name=name,
        load=load,
        low_hz=max(load.lowest_hz, response.LOWEST_HZ),
        high_hz=min(load.highest_hz, response.HIGHEST_HZ),
        made=Provenance(origin=f"measured file {name}"),
    )
