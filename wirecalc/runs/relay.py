"""A relay's coil at the end of a run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import relay
from wirecalc.circuits.device import NOMINAL_V
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.conductor import REFERENCE_C


@dataclass(frozen=True, kw_only=True)
class RelayRun(Run):
    """A relay's coil at the end of a run."""

    kind: ClassVar[str] = "relay"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "margin_v")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "margin_v", "drop_v", "current_a")
    house_kind: ClassVar[str] = "relay or lamp"
    varies: ClassVar[str] = "Coil resistance"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""
    usual_ways: ClassVar[Literal[1, 2]] = 1

    relay: relay.Relay
    supply_v: float
    coil_c: float
    """Of the coil, when it must pull in. [degC]"""
    off_v: float = 0.0
    """What its lead still carries when it is switched off; 0 where nothing leaks. [V]"""
    dip_v: float | None = None
    """The lowest supply at which a coil that has pulled in must hold; 6 V for 12 V if not given. [V]"""

    @property
    def lowest_v(self) -> float:
        """While the engine starts. [V]"""
        return relay.DIP_SUPPLY_V * self._systems if self.dip_v is None else self.dip_v

    @property
    def charging_v(self) -> float:
        """The highest supply that lasts. [V]"""
        return min(max(self.supply_v, relay.HIGHEST_SUPPLY_V * self._systems), relay.MOST_V)

    @property
    def _systems(self) -> int:
        """Batteries of 12 V in a row."""
        return max(round(self.supply_v / 12.0), 1)

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Whether a coil pulls in, by `wirecalc.circuits.relay.pull`.

        A coil of other resistance is taken to need the same voltage.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the resistance of the coil. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            load_v, drop_v, drop_fraction, margin_v (over what the coil needs), hold_v and release_v (see
            `wirecalc.circuits.relay.kept`), current_a, heat_a, full_a, draw_a (of a cold coil, charging). Each in the
            unit that `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        scaled = np.asarray(wire_ohm, np.float64) / np.asarray(load_ratio, np.float64)
        pull = relay.pull(self.relay, scaled, self.coil_c, supply_v=self.supply_v)
        current_a = pull.current_a / np.asarray(load_ratio, np.float64)
        kept = relay.kept(self.relay, scaled, self.coil_c, dip_v=self.lowest_v, off_v=self.off_v)
        # a fuse carries what the cold coil draws while the battery is charged
        cold = relay.pull(self.relay, scaled, REFERENCE_C, supply_v=self.charging_v)
        most_a = np.maximum(current_a, cold.current_a / np.asarray(load_ratio, np.float64))
        return {
            "load_v": pull.coil_v,
            "drop_v": self.supply_v - pull.coil_v,
            "drop_fraction": 1 - pull.coil_v / self.supply_v,
            "margin_v": pull.margin_v,
            "hold_v": kept.hold_v,
            "release_v": kept.release_v,
            "current_a": current_a,
            "heat_a": most_a,
            "full_a": most_a,
            "draw_a": most_a,
        }

    @takes_units
    def from_load(self, load_v: float) -> Measures:
        """See `Run`: margin_v."""
        return {"margin_v": relay.pull(self.relay, 0.0, self.coil_c, supply_v=load_v).margin_v}

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What reaches the coil, what it needs and whether it pulls in.

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
            One or two sentences.
        """
        wire = side_by_side(size, laid.parallel)
        need = mark(volts(here["load_v"] - here["margin_v"]), "needed_v")
        if here["margin_v"] >= 0:
            ends = f"it pulls in, with {mark(volts(here['margin_v']), 'margin_v')} to spare"
        else:
            ends = f"it may not pull in: {mark(volts(-here['margin_v']), 'short_v')} short"
        reaches = f"{mark(volts(here['load_v']), 'load_v')} reaches the coil through {wire}."
        return f"{reaches} At {self.coil_c:g} °C it needs {need}: {ends}."

    def load_cautions(self) -> tuple[str, ...]:
        """See `Run`: of a coil for half the voltage."""
        return relay.too_little("The relay", self.relay.pull_in_v, NOMINAL_V * self._systems)

    def needed(self, measure: str) -> float | None:
        """See `Run`."""
        return 0.0 if measure in ("margin_v", "hold_v", "release_v") else None

    @property
    def short_v(self) -> float:
        """See `Run`."""
        return self.supply_v
