"""Amplifier to loudspeaker."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits.circuit import solve_loop, without_wire_w
from wirecalc.circuits.rating import RatedAmplifier, Rating, for_load
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import for_customer
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.music import MUSIC_FRACTION, music_rms_a


@dataclass(frozen=True, kw_only=True)
class SpeakerRun(Run):
    """Amplifier to loudspeaker."""

    kind: ClassVar[str] = "amplifier to speaker"
    drawn: ClassVar[tuple[str, str]] = ("loss_db", "load_w")
    columns: ClassVar[tuple[str, ...]] = ("loss_db", "load_w", "wire_w", "drop_v", "quick_bound_v", "damping_factor")
    varies: ClassVar[str] = "Load impedance"
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "output"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = "loudspeaker"

    amplifier: Amplifier
    load_ohm: complex
    """Nominal, or at one frequency. [ohm]"""
    music_share: float = MUSIC_FRACTION
    """Average power over rated power, for the heat. [0 to 1]"""

    def __post_init__(self) -> None:
        check("Load impedance", abs(self.load_ohm), "Ω", low=0, high=100_000, above=True)
        check("Average power", self.music_share, "of rated", low=0, high=1, above=True)

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Level and power at a loudspeaker, by `wirecalc.circuits.circuit.solve_loop`.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the impedance of the load. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            loss_db, load_w, wire_w, drop_v, load_v, damping_factor, current_a, heat_a, full_a. Each in the unit that
            `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments. full_a is the
            current of the rated power as a sine, heat_a that of music.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        load_ohm = self.load_ohm * np.asarray(load_ratio, np.float64)
        out = solve_loop(self.amplifier.emf_v, self.amplifier.output_ohm, wire_ohm, load_ohm)
        return {
            "loss_db": -out.level_db,
            "load_w": out.load_w,
            "wire_w": out.wire_w,
            "drop_v": out.drop_v,
            "load_v": out.load_v,
            "damping_factor": out.damping_factor,
            "current_a": out.current_a,
            "heat_a": music_rms_a(out.current_a, self.music_share),
            "full_a": out.current_a,
        }

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What the wire delivers of the power, and whether the loss is heard; see `for_customer`.

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
            Two sentences.
        """
        bare_w = float(without_wire_w(here["load_w"], here["loss_db"]))
        return for_customer(size, laid.parallel, here["load_w"], bare_w, here["loss_db"], mark=mark)

    def load_cautions(self) -> tuple[str, ...]:
        """See `Run`: by the one rating that the run has, as `wirecalc.circuits.rating.for_load` says it of several."""
        of = self.amplifier
        rated = RatedAmplifier(
            ratings=(Rating(ohm=of.rated_ohm, power_w=of.power_w),),
            damping_factor=of.damping_factor,
            damping_ohm=of.rated_ohm,
            least_ohm=of.least_ohm,
        )
        return for_load(rated, abs(self.load_ohm)).cautions

    @property
    def power_w(self) -> float:
        """See `Run`: at the rated voltage, 600 W into 2 ohm are 300 W into 4, as a plan has it."""
        admittance = (1 / complex(self.load_ohm)).real
        load_w = self.amplifier.power_w * self.amplifier.rated_ohm * admittance
        return float(f"{load_w:.6g}")  # 300 W is 300 W, whatever the last binary digit says

    @property
    def music_v(self) -> float:
        """See `Run`: with no wire."""
        load_v = float(solve_loop(self.amplifier.emf_v, self.amplifier.output_ohm, 0.0, self.load_ohm).load_v)
        return float(f"{load_v:.6g}")  # as of power_w
