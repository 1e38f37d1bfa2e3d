"""A lamp strip at the end of a run, fed from one end or, by a like run, from both."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import strip
from wirecalc.circuits.relay import LEAST_SUPPLY_V
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.as_sold import side_by_side


@dataclass(frozen=True, kw_only=True)
class LampRun(Run):
    """A lamp strip at the end of a run, fed from one end or, by a like run, from both."""

    kind: ClassVar[str] = "lamp strip"
    drawn: ClassVar[tuple[str, str]] = ("last_v", "drop_v")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "last_v", "drop_v", "current_a")
    house_kind: ClassVar[str] = "relay or lamp"
    varies: ClassVar[str] = "Load’s draw"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""

    supply_v: float
    strip_m: float
    amps_per_m: float
    strip_ohm_per_m: float
    """Both conductors of the strip together. [ohm/m]"""
    both_ends: bool = False
    lamps: Literal["constant current", "resistive"] = "constant current"
    nominal_v: float = 12.0
    """That the strip is made for: 12 or 24. [V]"""
    least_supply_v: float | None = None
    """The lowest at which the lamps must still work; 10.5 V for 12 V if not given. [V]"""

    @takes_units
    def strip(self, wire_ohm: ArrayLike, load_ratio: ArrayLike = 1.0, *, supply_v: float | None = None) -> strip.Strip:
        """The lamp strip on its run.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Loop resistance of the run to each end that is fed. [ohm]
        load_ratio : (...,) array_like
            Scales the current of each metre of strip. [-]
        supply_v : float, optional
            Where the run starts; that of this run if not given. [V]

        Returns
        -------
        wirecalc.circuits.strip.Strip
            Its fields broadcast with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        return strip.Strip(
            supply_v=self.supply_v if supply_v is None else supply_v,
            length_m=self.strip_m,
            amps_per_m=self.amps_per_m * np.asarray(load_ratio, np.float64),
            loop_ohm_per_m=self.strip_ohm_per_m,
            near_feed_ohm=wire_ohm,
            far_feed_ohm=wire_ohm if self.both_ends else strip.ONE_END,
            lamps=self.lamps,
            nominal_v=self.nominal_v,
        )

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """What the first and the dimmest lamp get, by `wirecalc.circuits.strip.lit`.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the current of each metre of strip. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            load_v (first lamp), last_v (dimmest), dimmest_percent, drop_v, drop_fraction, current_a, heat_a, full_a,
            draw_a. Each in the unit that `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with
            the arguments. Voltages and currents are nan where the lamps would use up the voltage. dimmest_percent is
            reckoned at `lowest_v`.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        lit = self.strip(wire_ohm, load_ratio)
        lamps = strip.lit(lit)
        low = self.strip(wire_ohm, load_ratio, supply_v=self.lowest_v)
        current_a = lamps.near_a
        drop_v = self.supply_v - lamps.near_v
        return {
            "load_v": lamps.near_v,
            "last_v": lamps.least_v,
            "dimmest_percent": 100 * strip.lit(low).least_v / np.asarray(lit.nominal_v),
            "drop_v": drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "current_a": current_a,
            "heat_a": current_a,
            "full_a": current_a,
            "draw_a": current_a,
        }

    @takes_units
    def from_load(self, load_v: float) -> Measures:
        """See `Run`: last_v and dimmest_percent."""
        lit = self.strip(0.0, supply_v=load_v)
        last_v = strip.lit(lit).least_v
        return {"last_v": last_v, "dimmest_percent": 100 * last_v / np.asarray(lit.nominal_v)}

    @property
    def lowest_v(self) -> float:
        """The supply that dimmest_percent is for; `supply_v` where that is lower. [V]"""
        usual_v = of_system(LEAST_SUPPLY_V, self.nominal_v)
        return min(self.supply_v, usual_v if self.least_supply_v is None else self.least_supply_v)

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What the first and the dimmest lamp get.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length, as `measures` names them.
        size : str
            As the trade writes it: "12 AWG".
        laid : Installation
            How the run is laid; the number of conductors side by side is named.
        wire_ohm : float
            Loop resistance; not used here. [ohm]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        str
            One or two sentences; what to change where the lamps would use up the voltage.
        """
        if here["last_v"] != here["last_v"]:  # nan: no answer
            return "The lamps would use up the voltage before the dimmest one. Feed both ends, or take thicker wire."
        wire = side_by_side(size, laid.parallel)
        first, dimmest = (mark(volts(here[key]), key) for key in ("load_v", "last_v"))
        share = mark(f"{100 * here['last_v'] / here['load_v']:.0f} %", "last_percent")
        return (
            f"The first lamp gets {first} through {wire}, the dimmest {dimmest}:"
            f" {share} of it. What the strip's own conductors lose, a thicker run does not give back."
        )

    @property
    def short_v(self) -> float:
        """See `Run`."""
        return self.supply_v

    @property
    def fed_twice(self) -> bool:
        """See `Run`."""
        return self.both_ends


@takes_units
def of_system(volts_of_12: float, nominal_v: float) -> float:
    """A voltage of a 12 V vehicle in one of another: twice as many volts with two batteries in a row.

    Parameters
    ----------
    volts_of_12 : float
        In a vehicle of 12 V. [V]
    nominal_v : float
        12 or 24. [V]

    Returns
    -------
    float
        [V]
    """
    return volts_of_12 * nominal_v / 12.0
