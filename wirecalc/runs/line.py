"""Line level: head unit or processor to an amplifier's or processor's input."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import line_level
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import STEPS, decibels, heard
from wirecalc.units_taken import dataclass, takes_units

PICTURE_OHM = 100.0  # at both ends: a camera's picture, 75 ohm by habit of the trade; sound goes into 5 kohm and more
_ENDS_DB = STEPS["just"].loss_db_up_to  # what more of it would be heard


@dataclass(frozen=True, kw_only=True)
class LineRun(Run):
    """Line level: head unit or processor to an amplifier's or processor's input."""

    kind: ClassVar[str] = "line signal"
    drawn: ClassVar[tuple[str, str]] = ("loss_db", "treble_loss_db")
    columns: ClassVar[tuple[str, ...]] = ("loss_db", "treble_loss_db", "corner_khz")
    varies: ClassVar[str] = "Input impedance"
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "output"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = "line"
    has_heat: ClassVar[bool] = False  # milliamperes

    source_ohm: float
    input_ohm: float
    farad_per_m: float

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Level and treble that a line level cable loses, by `wirecalc.circuits.line_level.low_pass`.

        The resistance of the wire counts as part of the source's.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way, for the capacitance. [m]
        load_ratio : (...,) array_like
            Scales the impedance of the input. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            loss_db, treble_loss_db (further loss at 20 kHz), corner_khz. Each in the unit that
            `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        input_ohm = self.input_ohm * np.asarray(load_ratio, np.float64)
        low_pass = line_level.low_pass(self.source_ohm + np.asarray(wire_ohm), input_ohm, self.farad_per_m, length_m)
        return {
            "loss_db": -low_pass.middle_db,
            "treble_loss_db": -low_pass.treble_db,
            "corner_khz": low_pass.corner_hz / 1e3,
        }

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What the cable itself loses of level and treble, whether it is heard, and what its ends lose without it.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length, as `measures` names them.
        size : str
            As the trade writes it: "12 AWG"; not used here.
        laid : Installation
            How the run is laid.
        wire_ohm : float
            Loop resistance; not used here. [ohm]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        str
            A few sentences.
        """
        ends_db = float(self.measures(0.0, laid.length_m)["loss_db"])
        cable_db = max(here["loss_db"] - ends_db, 0.0)
        worst = heard(max(cable_db, here["treble_loss_db"]))
        told = (
            f"The cable itself loses {mark(decibels(cable_db), 'cable_db')} dB, and"
            f" {mark(decibels(here['treble_loss_db']), 'treble_loss_db')} dB more at 20 kHz."
            f" {worst} The wire's size hardly matters here: its capacitance and the impedances do."
        )
        if ends_db <= _ENDS_DB or self.load_cautions():
            return told
        return (
            f"{told} The impedances at its two ends take {mark(decibels(ends_db), 'ends_db')} dB with any cable: a"
            " source of lower impedance or an input of higher one changes that."
        )

    def load_cautions(self) -> tuple[str, ...]:
        """That both ends are those of a picture, not of sound, of which the limits are."""
        if max(self.source_ohm, self.input_ohm) > PICTURE_OHM:
            return ()
        return (
            "Both ends are as for a camera's picture, which is meant to lose half of its voltage: the limits here are"
            " for sound. Take one coaxial cable of 75 Ω, whole from end to end, and no splitter.",
        )
