"""Factory signal at speaker level: a head unit's or factory amplifier's speaker output into a high-level input."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc.circuits import line_level
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import check
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import MEASURES, Measures
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts
from wirecalc.units_taken import dataclass, takes_units


@dataclass(frozen=True, kw_only=True)
class FactoryRun(Run):
    """Factory signal at speaker level: a head unit's or factory amplifier's speaker output into a high-level input."""

    kind: ClassVar[str] = "factory signal"
    drawn: ClassVar[tuple[str, str]] = ("loss_db", "load_v")
    columns: ClassVar[tuple[str, ...]] = ("loss_db", "load_v", "signal_ma")
    varies: ClassVar[str] = "Input impedance"
    starts_at: ClassVar[Literal["battery", "branch", "output"]] = "output"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""  # flat: a source of milliohms
    has_heat: ClassVar[bool] = False  # milliamperes
    handled_as: ClassVar[str] = "amplifier to speaker"

    amplifier: Amplifier
    """One channel of the factory unit."""
    input_ohm: float
    """Of the high-level input, with the load resistor beside it if there is one. [ohm]"""

    def __post_init__(self) -> None:
        check(
            "Input impedance",
            self.input_ohm,
            "Ω",
            low=20,
            high=1e7,
            hint="A speaker is a run from amplifier to speaker.",
        )

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """Level that the wire loses, and what the factory unit's full power sends through it: a voltage divider.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; the resistance has it already. [m]
        load_ratio : (...,) array_like
            Scales the impedance of the input. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            loss_db, load_v, signal_ma. Each in the unit that `wirecalc.runs.measure.MEASURES` names, and of a shape
            that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        ohm, source_ohm = np.asarray(wire_ohm, np.float64), self.amplifier.output_ohm
        input_ohm = self.input_ohm * np.asarray(load_ratio, np.float64)
        signal_a = self.amplifier.emf_v / (source_ohm + ohm + input_ohm)
        return {
            "loss_db": -line_level.speaker_level_loss_db(source_ohm, ohm, input_ohm),
            "load_v": signal_a * input_ohm,
            "signal_ma": 1e3 * signal_a,
        }

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """How little flows, and how little is lost.

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
            A few sentences.
        """
        current, loss = (MEASURES[key].said(here[key]) for key in ("signal_ma", "loss_db"))
        return (
            f"At the factory unit's full power {mark(current, 'signal_ma')} mA flow, and the wire loses"
            f" {mark(loss, 'loss_db')} dB: its size hardly matters."
        )

    def cautions(self, here: Mapping[str, float], *, mark: Mark = plain) -> tuple[str, ...]:
        """What matters instead of the size: common practice, no source.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length.
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        tuple of str
            A sentence or two each.
        """
        return (
            "Never join either wire to ground, or the minus wires of two channels: factory outputs are bridged, both"
            " wires carry signal, and one at ground can destroy the output.",
            "Find + and − of each pair before you join them, by the vehicle's wiring diagram or a polarity test: one"
            " pair turned round takes the bass away. Take full-range outputs; the outputs to tweeters or a subwoofer"
            " have a part of the music only.",
            f"The input has to stand {mark(volts(here['load_v']), 'load_v')} at full power: hold that against the most"
            " its manual allows.",
            "Some factory amplifiers look for a speaker and mute, or store a fault, without one. Where the factory"
            " speaker comes off, fit the load that the manual of the processor or amplifier asks for: a resistor that"
            " stands the power, clear of what burns.",
            "Twist each pair and keep it away from feeds and grounds of amplifiers: what a pair picks up over its"
            " whole length, twisting cancels.",
            "Turn on by a lead of its own. An input that wakes by the signal may come late, or stay awake and empty"
            " the battery.",
        )

    def no_gauge(self, thinnest: str) -> str:
        """See `Run.no_gauge`."""
        handled = f", no thinner than {thinnest} for handling," if thinnest else ""
        return (
            f"Size hardly matters here: milliamperes flow. Pull a twisted pair{handled} and mind what does: never to"
            " ground, + and − the right way round, the load that the factory unit wants to see, noise, and turn-on by a"
            " lead of its own."
        )

    @property
    def music_v(self) -> float:
        """See `Run`: with no wire."""
        return float(self.measures(0.0, 0.0)["load_v"])
