"""Remote turn-on: one lead from the head unit, all devices taken to be at its end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import supply
from wirecalc.circuits.turn_on import advice
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts
from wirecalc.units_taken import dataclass, takes_units


@dataclass(frozen=True, kw_only=True)
class TurnOnRun(Run):
    """Remote turn-on: one lead from the head unit, all devices taken to be at its end."""

    kind: ClassVar[str] = "remote turn-on"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "drop_v")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "drop_v", "current_a")
    varies: ClassVar[str] = "Load’s draw"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""
    usual_ways: ClassVar[Literal[1, 2]] = 1
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "output"
    own_bounds: ClassVar[Mapping[str, str]] = {"draw_a": "limit_a", "load_v": "least_v"}
    fuse_note: ClassVar[str] = (
        "A short is fed by the head unit’s output, which may give too little to open this fuse. "
        "Its own protection has to end the short: see the unit’s data sheet."
    )

    draw_a: float
    """All devices together. [A]"""
    supply_v: float
    """At the head unit's output. [V]"""
    limit_a: float
    """The most that the output may give. [A]"""
    least_v: float
    """The least that wakes up every device. [V]"""

    def __post_init__(self) -> None:
        check("Turn-on draw", self.draw_a, "A", low=0, high=20, above=True)
        check("Head unit voltage", self.supply_v, "V", low=0, high=supply.HIGHEST_V, above=True)
        check("Head unit limit", self.limit_a, "A", low=0, high=20, above=True)
        check("Least turn-on voltage", self.least_v, "V", low=0, high=supply.HIGHEST_V)

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """What reaches the last device on a turn-on lead.

        The draw is taken as constant, so the drop is rather too high than too low.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the draw. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            drop_v (at most the supply), load_v, drop_fraction, current_a, heat_a, full_a, draw_a. Each in the unit that
            `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.
        """
        current_a, wire_ohm = np.broadcast_arrays(
            self.draw_a * np.asarray(load_ratio, np.float64), np.asarray(wire_ohm, np.float64)
        )
        drop_v = np.minimum(current_a * wire_ohm, self.supply_v)
        return {
            "drop_v": drop_v,
            "load_v": self.supply_v - drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "current_a": current_a,
            "heat_a": current_a,
            "full_a": current_a,
            "draw_a": current_a,
        }

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What reaches the last device, what it needs, and what the head unit gives.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length, as `measures` names them.
        size : str
            As the trade writes it: "12 AWG"; not used here.
        laid : Installation
            How the run is laid; not used here.
        wire_ohm : float
            Loop resistance; not used here. [ohm]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        str
            Two sentences.
        """
        ends = "enough" if here["load_v"] >= self.least_v else "not enough"
        return (
            f"{mark(volts(here['load_v']), 'load_v')} of {volts(self.supply_v)} reaches the last device, which needs"
            f" {volts(self.least_v)}: {ends}. The head unit gives {self.draw_a * 1e3:.0f} of at most"
            f" {self.limit_a * 1e3:.0f} mA."
        )

    def cautions(self, here: Mapping[str, float], *, mark: Mark = plain) -> tuple[str, ...]:
        """What to mind: see `wirecalc.circuits.turn_on.advice`.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length; of these load_v. [V]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        tuple of str
            What to change where the head unit cannot give the draw, or the last device gets too little; else empty.
        """
        return advice(self.draw_a, self.limit_a, self.least_v, here["load_v"], mark=mark)

    def needed(self, measure: str) -> float | None:
        """See `Run`."""
        return self.least_v if measure == "load_v" else None
