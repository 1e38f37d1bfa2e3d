"""Battery to amplifier."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import supply
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import decibels, heard, volts, watts
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.as_sold import side_by_side


@dataclass(frozen=True, kw_only=True)
class FeedRun(Run):
    """Battery to amplifier."""

    kind: ClassVar[str] = "battery to amplifier"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "loss_db")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "drop_v", "loss_db", "output_w", "current_a")
    varies: ClassVar[str] = "Load’s draw"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""
    usual_ways: ClassVar[Literal[1, 2]] = 1
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "battery"

    rated_w: float
    """All channels together. [W]"""
    amplifier_class: supply.AmplifierClass
    supply_v: float
    """At the battery. [V]"""
    regulated: bool = False
    full_power_v: float = supply.TEST_SUPPLY_V
    music_share: float = supply.MUSIC_SHARE
    """Average output over rated output, for the heat. [0 to 1]"""

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """What an amplifier gets and gives at full output, and the current that heats its feed.

        Full output is by `wirecalc.circuits.supply.fed`. The heat is that of a constant power; heat_a is nan where the
        wire cannot deliver it.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the power that the amplifier draws. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            load_v, drop_v, drop_fraction, loss_db, output_w, current_a, heat_a, full_a, draw_a. Each in the unit that
            `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        ratio = np.asarray(load_ratio, np.float64)
        full = supply.draw(self.rated_w, self.amplifier_class, share=1.0, supply_v=self.full_power_v).power_w
        fed = supply.fed(
            self.supply_v, wire_ohm, full * ratio, regulated=self.regulated, full_power_v=self.full_power_v
        )
        mean = supply.constant_power(self.supply_v, wire_ohm, self.average_w * ratio)
        drop_v = self.supply_v - fed.supply_v
        return {
            "load_v": fed.supply_v,
            "drop_v": drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "loss_db": -fed.level_db,
            "output_w": self.rated_w * fed.output_ratio,
            "current_a": fed.current_a,
            "heat_a": mean.current_a,
            "full_a": fed.current_a,
            "draw_a": fed.current_a,
        }

    @property
    def average_w(self) -> float:
        """Average draw. [W]"""
        return float(
            supply.draw(self.rated_w, self.amplifier_class, share=self.music_share, supply_v=self.full_power_v).power_w
        )

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What the amplifier gets and can give at full output, and whether the loss is heard.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length, as `measures` names them.
        size : str
            As the trade writes it: "12 AWG".
        laid : Installation
            How the run is laid; the number of conductors side by side is named.
        wire_ohm : float
            Loop resistance, for the reason why there is no answer. [ohm]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        str
            A few sentences; with the reason where the wire cannot deliver the average power.
        """
        wire = side_by_side(size, laid.parallel)
        reach = (
            f"At full output the amplifier gets {mark(volts(here['load_v']), 'load_v')} of {volts(self.supply_v)}"
            f" through {wire} and can give {mark(watts(here['output_w']), 'output_w')} of {watts(self.rated_w)} W:"
            f" {mark(decibels(here['loss_db']), 'loss_db')} dB lost to the feed. "
            f"{heard(here['loss_db'])}"
        )
        if here["heat_a"] != here["heat_a"]:  # nan: no answer
            return f"{reach} {supply.constant_power(self.supply_v, wire_ohm, self.average_w, mark=mark).reason}"
        return reach

    @property
    def power_w(self) -> float:
        """See `Run`."""
        return self.rated_w

    @property
    def short_v(self) -> float:
        """See `Run`."""
        return self.supply_v
