"""Alternator and battery of a vehicle: whether the charge lasts while music plays, on the road, at idle and parked.

Averages over minutes, so that peaks do not count: amplifiers give music at the house rules' share of their full power.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.fields import ALTERNATOR, AMPLIFIER, BATTERY, HEAD, LOUDSPEAKER, PROCESSOR, SUBWOOFER
from wirecalc.vehicle.model import Device, Vehicle
from wirecalc.vehicle.supply import ENGINE, MUSIC, Supply

ENGINE_A = 20.0  # what the vehicle itself takes with the engine on, lights and blower: common practice, no source
VEHICLE_QUIESCENT_A = 0.03  # what a parked vehicle takes by itself: common practice, no source; up to 50 mA is usual
CAPACITY_AH, ROAD_A = 60.0, 100.0  # of a battery and an alternator that nobody described: common practice, no source
QUIESCENT_A = {HEAD: 0.01, PROCESSOR: 0.005, AMPLIFIER: 0.002}  # when off: common practice, no source; meters know
IDLE_SHARE = 0.5  # of its rated current that an alternator gives at idle: common practice, no source
USABLE_SHARE = 0.5  # of a starter battery that may be taken out: common practice, no source; deeper wears it quickly
START_SHARE = 0.4  # left in it, the engine of a healthy vehicle still starts: common practice, no source
PEUKERT = 1.2  # exponent of a starter battery: 1.1 to 1.3, common practice, no source
RATED_H = 20.0  # hours that a battery's ampere-hours are rated for: EN 50342-1, from memory
DAY_H = 24.0
_PLAY = (HEAD, AMPLIFIER, LOUDSPEAKER, SUBWOOFER)


@dataclass(frozen=True, kw_only=True)
class Balance:
    """What an alternator gives against what is taken, on average, in one state of the engine."""

    name: str
    """"on the road" or "at idle"."""
    gives_a: float
    """The most that all alternators give there. [A]"""
    takes_a: float
    """Music, loads and the vehicle itself. [A]"""

    @property
    def spare_a(self) -> float:
        """Left to charge the battery; below 0 it is drained. [A]"""
        return self.gives_a - self.takes_a


@dataclass(frozen=True, kw_only=True)
class Energy:
    """Charge in a vehicle."""

    road: Balance | None
    """None without an alternator."""
    idle: Balance | None
    plays_a: float
    """Taken from the battery with music and the engine off. [A]"""
    plays_h: float
    """How long the battery alone plays until `USABLE_SHARE` of it is out; inf if nothing is taken. [h]"""
    battery_ah: float
    """Of all batteries. [A h]"""
    parked_a: float
    """Taken when all is off. [A]"""
    parked_by: tuple[tuple[str, float], ...]
    """What takes it: name and current, the most first. [A]"""
    parked_days: float
    """Until only what starts the engine is left. [d]"""
    assumed: tuple[str, ...]
    """What was assumed because the plan does not say it, a sentence each."""
    plays: bool
    """Something in it plays music; else it only feeds loads, and no music is spoken of."""

    @property
    def fine(self) -> bool:
        """Whether the alternator carries all, on the road and at idle."""
        return all(balance is None or balance.spare_a >= 0 for balance in (self.road, self.idle))

    def words(self) -> tuple[str, ...]:
        """What this comes to, a sentence each."""
        sentences = []
        music, less = (" with music", "Turn down") if self.plays else ("", "Switch something off")
        for balance in (self.road, self.idle):
            if balance is not None and balance.spare_a >= 0:
                sentences.append(
                    f"{balance.name.capitalize()} the alternator carries it all: {_amperes(balance.takes_a)} of"
                    f" {_amperes(balance.gives_a)} A{music} on average."
                )
            elif balance is not None and balance.spare_a < 0:
                sentences.append(
                    f"{balance.name.capitalize()} the alternator gives {_amperes(balance.gives_a)} A and"
                    f" {_amperes(balance.takes_a)} A are taken: the battery gives the rest, for"
                    f" {_lasts(hours(self.battery_ah, -balance.spare_a))} at most. {less}, or charge more."
                )
        if self.road is None:
            sentences.append("No alternator is in this plan: all comes out of the battery.")
        if math.isfinite(self.plays_h):
            sentences.append(
                f"With the engine off {_amperes(self.plays_a)} A are taken{music}: the battery alone"
                f" {'plays' if self.plays else 'lasts'} {_lasts(self.plays_h)} until half of it is used, and still"
                " starts the engine then."
            )
        sentences.append(
            f"Parked, {1e3 * self.parked_a:.0f} mA are taken: after {self.parked_days:.0f} days the engine may not"
            " start."
        )
        return tuple(sentences)


def _amperes(current_a: float) -> str:
    """Two figures: what a camera draws is not 0 A."""
    return f"{current_a:.0f}" if current_a >= 10 else f"{current_a:.2g}"


def _lasts(time_h: float) -> str:
    """Hours, or minutes where it is less than one."""
    if time_h < 1:
        return f"{max(60 * time_h, 1):.0f} min"
    return f"{time_h:.1f} h" if time_h < 10 else f"{time_h:.0f} h"


@takes_units
def hours(capacity_ah: float, current_a: float, *, exponent: float = PEUKERT, share: float = USABLE_SHARE) -> float:
    """How long a battery gives a steady current, by Peukert's law.

    Parameters
    ----------
    capacity_ah : float
        Rated over `RATED_H` hours. [A h]
    current_a : float
        [A]
    exponent : float
        1 for a battery that gives the same charge at any current; 1.1 to 1.3 for one with lead plates.
    share : float
        Of its charge that may be taken. [0 to 1]

    Returns
    -------
    float
        inf where no current is taken. [h]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    ``t = share H (C / (I H))^k`` with H hours of the rating, W. Peukert, Elektrotechnische Zeitschrift 1897; from
    memory. At less than the rated current the law promises more than there is: there the charge itself is the bound.

    Examples
    --------
    >>> round(hours(60, 3, exponent=1.2, share=1), 3), round(hours(60, 30, exponent=1.2, share=1), 3)
    (20.0, 1.262)
    """
    capacity = float(check("Battery capacity", capacity_ah, "A h", low=0, high=10_000, above=True))
    current = float(check("Current", current_a, "A", low=0, high=10_000))
    check("Peukert exponent", exponent, "", low=1, high=2)
    check("Usable share", share, "", low=0, high=1, above=True)
    if current == 0:
        return math.inf
    plain_h = capacity / current
    return float(share * min(plain_h, RATED_H * (plain_h / RATED_H) ** exponent))


def energy(supply: Supply) -> Energy:
    """Charge of a vehicle, from its solved supply.

    Parameters
    ----------
    supply : Supply
        Its states with music give the average currents of amplifiers and loads.

    Returns
    -------
    Energy
        nan where there is no operating point with music.
    """
    vehicle = supply.wiring.vehicle
    batteries = [device for device in vehicle.devices if device.kind == BATTERY]
    alternators = [device for device in vehicle.devices if device.kind == ALTERNATOR]
    capacity_ah = sum(CAPACITY_AH if battery.capacity_ah is None else battery.capacity_ah for battery in batteries)
    running_a, parked_music_a = (_taken_a(supply, engine=engine) for engine in (True, False))
    takes_a = running_a + ENGINE_A
    road = idle = None
    if alternators:
        road = Balance(
            name="on the road", gives_a=sum(_road_a(alternator) for alternator in alternators), takes_a=takes_a
        )
        idle = Balance(name="at idle", gives_a=sum(_idle_a(alternator) for alternator in alternators), takes_a=takes_a)
    drains = [
        (device.name, QUIESCENT_A.get(device.kind, 0.0) if device.quiescent_a is None else device.quiescent_a)
        for device in vehicle.devices
    ]
    drains = [*(each for each in drains if each[1] > 0), ("the vehicle itself", VEHICLE_QUIESCENT_A)]
    parked_a = sum(current for _, current in drains)
    left_ah = (1 - START_SHARE) * capacity_ah
    return Energy(
        road=road,
        idle=idle,
        plays_a=parked_music_a,
        plays_h=math.nan if math.isnan(parked_music_a) else hours(capacity_ah, parked_music_a),
        battery_ah=capacity_ah,
        parked_a=parked_a,
        parked_by=tuple(sorted(drains, key=lambda each: -each[1])),
        parked_days=left_ah / parked_a / DAY_H,
        assumed=_assumed(vehicle, batteries, alternators),
        plays=any(device.kind in _PLAY for device in vehicle.devices),
    )


def _taken_a(supply: Supply, *, engine: bool) -> float:
    """All that the loads take with music. [A]"""
    row = next(at for at in range(len(ENGINE)) if ENGINE[at] == engine and MUSIC[at])
    solution = supply.answers[row].solution
    return math.nan if solution is None else float(solution.load_a.sum())


def _road_a(alternator: Device) -> float:
    return ROAD_A if alternator.road_a is None else alternator.road_a


def _idle_a(alternator: Device) -> float:
    return IDLE_SHARE * _road_a(alternator) if alternator.idle_a is None else alternator.idle_a


def _assumed(vehicle: Vehicle, batteries: Sequence[Device], alternators: Sequence[Device]) -> tuple[str, ...]:
    """What was assumed because the plan does not say it, a sentence each."""
    sentences = [
        f"the vehicle itself takes {ENGINE_A:g} A with the engine on and {1e3 * VEHICLE_QUIESCENT_A:g} mA parked"
    ]
    sentences += [
        f"{alternator.name} gives {ROAD_A:g} A on the road" for alternator in alternators if alternator.road_a is None
    ]
    sentences += [
        f"{alternator.name} gives half of its current at idle"
        for alternator in alternators
        if alternator.idle_a is None
    ]
    share = vehicle.rules.rule("average_of_music", "battery to amplifier").number
    if any(device.kind == AMPLIFIER for device in vehicle.devices):
        sentences.append(f"music averages {100 * share:g} % of full power")
    sentences += [f"{battery.name} holds {CAPACITY_AH:g} A h" for battery in batteries if battery.capacity_ah is None]
    sentences += [
        f"{device.name} takes {1e3 * QUIESCENT_A[device.kind]:g} mA when off"
        for device in vehicle.devices
        if device.kind in QUIESCENT_A and device.quiescent_a is None
    ]
    return tuple(sentences)
