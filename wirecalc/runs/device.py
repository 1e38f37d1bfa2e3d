"""A device on the supply, with its own feed and return: a fan, a pump, a camera, a light bar, a socket, an inverter."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from wirecalc import tables
from wirecalc.circuits import device
from wirecalc.circuits.supply import HIGHEST_V
from wirecalc.errors import InputError, check
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures, said_number
from wirecalc.runs.run import Installation, Run
from wirecalc.runs.words import volts
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import fuse
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.fuse_families import start_share

CRITICAL_DROP, USUAL_DROP = (
    float(tables.cell("house_rules", "value", rule="drop_limit", applies="load", case=case)) / 100
    for case in ("critical", "not critical")
)
"""Of the supply, unless a shop has a rule of its own."""

SHORT_A = 200.0  # what draws more seldom does so for hours: winches, starters; common practice, no source


@takes_units
def counted_for_hours(draw_a: float) -> tuple[str, ...]:
    """What to mind of a draw that hardly anything has for hours.

    Parameters
    ----------
    draw_a : float
        As it is stated. [A]

    Returns
    -------
    tuple of str
        One sentence over `SHORT_A`; else none.
    """
    if draw_a <= SHORT_A:
        return ()
    return (
        "The draw is counted as lasting for hours, for the wire's heat and for the fuse. What draws its most for a"
        " minute or less, such as a winch, is wired and protected as its maker says.",
    )


@dataclass(frozen=True, kw_only=True)
class DeviceRun(Run):
    """A device on the supply."""

    kind: ClassVar[str] = "device on the supply"
    drawn: ClassVar[tuple[str, str]] = ("load_v", "drop_v")
    columns: ClassVar[tuple[str, ...]] = ("load_v", "drop_v", "current_a", "inrush_a", "draw_a")
    house_kind: ClassVar[str] = "load"
    varies: ClassVar[str] = "Load’s draw"
    response: ClassVar[Literal["", "loudspeaker", "line"]] = ""
    usual_ways: ClassVar[Literal[1, 2]] = 1
    own_bounds: ClassVar[Mapping[str, str]] = {"drop_fraction": "most_drop"}

    rated_a: float
    """Draw as it is stated, at `nominal_v`. [A]"""
    supply_v: float
    """Where its wire starts. [V]"""
    behaviour: device.Behaviour = "constant current"
    nominal_v: float = device.NOMINAL_V
    """What the draw is stated at. [V]"""
    inrush_ratio: float = 1.0
    """Start current over stated draw; 1 for a device that starts as it runs. [1 to 100]"""
    inrush_s: float = 0.0
    """How long the start lasts. [s]"""
    critical: bool = True
    """Whether it must work as well on a low battery, as lamps, pumps and electronics do: less drop is allowed then."""

    def __post_init__(self) -> None:
        check("Draw", self.rated_a, "A", low=0, high=1000, above=True)
        check("Supply voltage", self.supply_v, "V", low=0, high=HIGHEST_V, above=True)
        check("Voltage of the stated draw", self.nominal_v, "V", low=1, high=HIGHEST_V)
        check("Start current over draw", self.inrush_ratio, "", low=1, high=100)
        check("Start", self.inrush_s, "s", low=0, high=60)
        if self.behaviour not in device.BEHAVIOURS:
            raise InputError("Behaviour", self.behaviour, ", ".join(device.BEHAVIOURS))

    @property
    def most_drop(self) -> float:
        """Bound of its drop over the supply. [-]"""
        return CRITICAL_DROP if self.critical else USUAL_DROP

    @takes_units
    def measures(self, wire_ohm: ArrayLike, length_m: ArrayLike, load_ratio: ArrayLike = 1.0) -> Measures:
        """What a device gets and draws; nan where it cannot draw what it wants.

        inrush_a flows for inrush_s when it starts. draw_a is the steady draw that its fuse is chosen for: its own, or
        the one for which the fuse is large enough to stand the start.

        Parameters
        ----------
        wire_ohm : (...,) array_like
            Resistance of the loop. [ohm]
        length_m : (...,) array_like
            One way; not used, as all that depends on it is in `wire_ohm`. [m]
        load_ratio : (...,) array_like
            Scales the draw as it is stated. [-]

        Returns
        -------
        dict of str to (...,) numpy.ndarray
            load_v, drop_v, drop_fraction, current_a, heat_a, full_a, inrush_a, inrush_s, draw_a. Each in the unit that
            `wirecalc.runs.measure.MEASURES` names, and of a shape that broadcasts with the arguments.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        rated_a = self.rated_a * np.asarray(load_ratio, np.float64)
        powered = device.powered(self.supply_v, wire_ohm, rated_a, behaviour=self.behaviour, nominal_v=self.nominal_v)
        start_a = powered.current_a
        if self.inrush_ratio > 1:
            started_a = device.start_a(self.supply_v, wire_ohm, rated_a, self.inrush_ratio, nominal_v=self.nominal_v)
            start_a = np.maximum(start_a, started_a)
        drop_v = self.supply_v - powered.load_v
        return {
            "load_v": powered.load_v,
            "drop_v": drop_v,
            "drop_fraction": drop_v / self.supply_v,
            "current_a": powered.current_a,
            "heat_a": powered.current_a,
            "full_a": powered.current_a,
            "inrush_a": start_a,
            "inrush_s": np.full_like(start_a, self.start_s),
            "draw_a": np.maximum(powered.current_a, fuse.LOADING * start_a / start_share(self.start_s)),
        }

    @property
    def start_s(self) -> float:
        """How long the start lasts; 0 where it draws no more than it runs on. [s]"""
        return self.inrush_s if self.inrush_ratio > 1 else 0.0

    @takes_units
    def sentence(
        self, here: Mapping[str, float], size: str, laid: Installation, wire_ohm: float, *, mark: Mark = plain
    ) -> str:
        """What the device gets and draws, and what it takes when it starts.

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
            One or two sentences; the reason why it cannot run where there is no answer.
        """
        if here["load_v"] != here["load_v"]:  # nan: no answer
            return device.powered(
                self.supply_v, wire_ohm, self.rated_a, behaviour=self.behaviour, nominal_v=self.nominal_v, mark=mark
            ).reason
        wire = side_by_side(size, laid.parallel)
        lost = mark(f"{said_number(100 * here['drop_fraction'], '%', 1)} %", "drop_percent")
        gets = mark(volts(here["load_v"]), "load_v")
        draws, starts = (mark(_amperes(here[key]), key) for key in ("current_a", "inrush_a"))
        sentences = (
            f"The device gets {gets} of {volts(self.supply_v)} through {wire} and draws {draws}: {lost} is lost on the"
            " way."
        )
        lasts = mark(f"{self.start_s:g} s", "inrush_s")
        return f"{sentences} When it starts it takes {starts} for {lasts}." if self.start_s else sentences

    def cautions(self, here: Mapping[str, float], *, mark: Mark = plain) -> tuple[str, ...]:
        """What to mind when its fuse is chosen.

        Parameters
        ----------
        here : mapping of str to float
            The run's measures at its length; of these current_a and draw_a. [A]
        mark : wirecalc.mark.Mark
            What is done to each number that was computed.

        Returns
        -------
        tuple of str
            One caution where the start asks for a larger fuse than the draw does; else none.
        """
        if not here["draw_a"] > here["current_a"]:
            return ()
        return (
            "The fuse must let the start pass: it is chosen as for a steady draw of"
            f" {mark(_amperes(here['draw_a']), 'draw_a')}. One of a slower family may be smaller.",
        )

    def load_cautions(self) -> tuple[str, ...]:
        """That a large draw is counted as lasting: see `counted_for_hours`."""
        return counted_for_hours(self.rated_a)

    @property
    def short_v(self) -> float:
        """See `Run`."""
        return self.supply_v


def _amperes(value: float) -> str:
    return f"{value:.3g} A"
