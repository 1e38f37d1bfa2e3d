"""A relay's coil at the end of a run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import relay
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts


@dataclass(frozen=True, kw_only=True)
class RelayRun(Run):
    """A relay's coil at the end of a run."""

    kind: ClassVar[str] = "relay"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "margin_v")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "margin_v", "drop_v", "current_a")
    house_kind: ClassVar[str] = "relay or lamp"
    varies: ClassVar[str] = "Coil resistance"

    relay: relay.Relay
    supply_v: float
    coil_c: float
    """Of the coil, when it must pull in. [degC]"""

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
            load_v, drop_v, drop_fraction, margin_v (over what the coil needs), current_a, heat_a, full_a, draw_a. Each
            in the unit that `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        scaled = np.asarray(wire_ohm, np.float64) / np.asarray(load_ratio, np.float64)
        pull = relay.pull(self.relay, scaled, self.coil_c, supply_v=self.supply_v)
        current_a = pull.current_a / np.asarray(load_ratio, np.float64)
        return {
            "load_v": pull.coil_v,
            "drop_v": self.supply_v - pull.coil_v,
            "drop_fraction": 1 - pull.coil_v / self.supply_v,
            "margin_v": pull.margin_v,
            "current_a": current_a,
            "heat_a": current_a,
            "full_a": current_a,
            "draw_a": current_a,
        }

    def from_load(self, load_v: float) -> Measures:
        """See `Run`: margin_v."""
        return {"margin_v": relay.pull(self.relay, 0.0, self.coil_c, supply_v=load_v).margin_v}

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
        wire = f"{laid.parallel} × {size}" if laid.parallel > 1 else size
        need = mark(volts(here["load_v"] - here["margin_v"]), "needed_v")
        if here["margin_v"] >= 0:
            ends = f"it pulls in, with {mark(volts(here['margin_v']), 'margin_v')} to spare"
        else:
            ends = f"it may not pull in: {mark(volts(-here['margin_v']), 'short_v')} short"
        reaches = f"{mark(volts(here['load_v']), 'load_v')} reaches the coil through {wire}."
        return f"{reaches} At {self.coil_c:g} °C it needs {need}: {ends}."

    def needed(self, measure: str) -> float | None:
        """See `Run`."""
        return 0.0 if measure == "margin_v" else None

    @property
    def short_v(self) -> float:
        """See `Run`."""
        return self.supply_v
