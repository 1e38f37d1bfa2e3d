"""Entries for the quantities that several forms ask for, each with its unit and range."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.entry import Entry
from wirecalc import units
from wirecalc.bench.meter import Accuracy, read_accuracy, read_shown, show_reading
from wirecalc.wire.cable import FOOT_M

# fmt: off
POWER_STOPS = tuple(map(float, (
    5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 175, 200, 250, 300, 400, 500, 600, 750, 1000, 1500, 2000,
)))
# fmt: on
METRE_STOPS = (*(step / 4 for step in range(1, 41)), 10.5, 11.0, 11.5, 12.0)  # as a box says them, to three digits
FOOT_STOPS = tuple(step * FOOT_M for step in range(1, 41))
OHM_STOPS = (0.5, 0.67, 1.0, 1.33, 1.5, 2.0, 2.67, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0, 16.0)


class LengthEntry(Entry[float]):
    """A length in the page's unit, metres or feet, small ones in millimetres or inches, with a round default in both.

    Parameters
    ----------
    label : str
        The field's name.
    start_m : float
        The default in metres. [m]
    low, high : float
        Ends of what is allowed. [m]
    start_ft : float, optional
        The default in feet; the nearest whole one if left out. [ft]
    above : bool
        `low` itself is not allowed.
    stops, foot_stops : sequence of float
        Of the slider in either unit; none for a plain box. [m]
    small : bool
        A number alone is in millimetres or inches.
    """

    def __init__(
        self,
        label: str,
        start_m: float,
        *,
        low: float,
        high: float,
        start_ft: float | None = None,
        above: bool = False,
        stops: Sequence[float] = (),
        foot_stops: Sequence[float] = (),
        small: bool = False,
        help: str = "",
    ) -> None:
        self.feet = False
        self._bare = ("mm", "in") if small else ("m", "ft")
        self._own_stops = (stops, foot_stops)
        self.start_at(start_m, start_ft)
        super().__init__(
            label,
            lambda text: units.read(
                text, label, units.LENGTH, low=low, high=high, above=above, bare=self._bare[self.feet]
            ),
            lambda value: units.show(value, units.LENGTH, feet=self.feet),
            start_m,
            stops=stops,
            position=np.log,
            help=help,
        )

    def start_at(self, start_m: float, start_ft: float | None = None) -> float:
        """Another default from now on; it is not put in. Returns it in the page's unit. [m]"""
        self._starts = (start_m, FOOT_M * (round(start_m / FOOT_M) if start_ft is None else start_ft))
        return self._starts[self.feet]

    @property
    def untouched(self) -> bool:
        """It is at its default."""
        return self.fault is None and self.value == self._starts[self.feet]

    def use_feet(self, feet: bool) -> None:
        """Go by feet or by metres; a default that nobody changed becomes the other unit's round one."""
        if feet == self.feet:
            return
        untouched = self.untouched
        self.feet = feet
        self.set_stops(self._own_stops[feet])
        if untouched:
            self.set(self._starts[feet])
        else:
            self.rewrite()


def _round_in_feet(per_metre: float) -> float:
    """The nearest that is a round number for each foot."""
    return float(f"{per_metre * FOOT_M:.2g}") / FOOT_M


class PerLengthEntry(Entry[float]):
    """What each metre of something has, per foot where lengths are in feet; its label ends with the unit.

    Parameters
    ----------
    label : str
        Without the unit, which follows after a comma.
    kind : wirecalc.units.QuantityKind
        Of what one metre has.
    start : float
        [kind's unit/m]
    bare : str
        Unit of a number alone.
    low, high : float
        Ends of what is allowed. [kind's unit/m]
    """

    def __init__(
        self,
        label: str,
        kind: units.QuantityKind,
        start: float,
        bare: str,
        *,
        low: float,
        high: float,
        above: bool = False,
        stops: Sequence[float] = (),
        help: str = "",
    ) -> None:
        self.feet, self._label = False, label
        self._starts = (start, _round_in_feet(start))
        self._own_stops = (tuple(stops), tuple(map(_round_in_feet, stops)))

        def read(text: str) -> float:
            name, per = self.text.description, self._per
            return units.read(text, name, kind, low=low * per, high=high * per, above=above, bare=bare) / per

        super().__init__(
            f"{label}, per metre",
            read,
            lambda value: _show(value * self._per, kind, bare),
            start,
            stops=stops,
            position=np.log,
            help=help,
        )

    @property
    def _per(self) -> float:
        return FOOT_M if self.feet else 1.0

    def use_feet(self, feet: bool) -> None:
        """Go by feet or by metres; a default that nobody changed becomes a round number of the other unit."""
        if feet == self.feet:
            return
        untouched = self.fault is None and self.value == self._starts[self.feet]
        self.feet = feet
        self.text.description = f"{self._label}, per {'foot' if feet else 'metre'}"
        self.set_stops(self._own_stops[feet])
        if untouched:
            self.set(self._starts[feet])
        else:
            self.rewrite()


def quantity(
    label: str,
    kind: units.QuantityKind,
    start: float,
    bare: str | None,
    *,
    low: float,
    high: float,
    above: bool = False,
    stops: Sequence[float] = (),
    help: str = "",
) -> Entry[float]:
    """An entry for one quantity; a number typed alone is in the unit `bare`."""
    return Entry(
        label,
        lambda text: units.read(text, label, kind, low=low, high=high, above=above, bare=bare),
        lambda value: _show(value, kind, bare),
        start,
        stops=stops,
        position=np.log if low >= 0 else float,  # temperatures have no logarithm
        help=help,
    )


def optional(
    label: str, kind: units.QuantityKind, bare: str | None, *, low: float, high: float, help: str
) -> Entry[Any]:
    """An entry that may stay empty; its value is then None."""
    return Entry(
        label,
        lambda text: units.read(text, label, kind, low=low, high=high, bare=bare) if text.strip() else None,
        lambda value: "" if value is None else _show(value, kind, bare),
        None,
        help=help,
    )


def _show(value: float, kind: units.QuantityKind, bare: str | None) -> str:
    if value == 0 and bare:
        return f"0 {bare}".replace("mohm", "mΩ").replace("ohm", "Ω")
    if kind is units.RATIO:  # without pint, which takes a third of a second to load
        return f"{100 * value:.4g} %"
    return units.show(value, kind)


def watts(label: str, start: float, help: str) -> Entry[float]:
    """Power. [W]"""
    return quantity(label, units.POWER, start, "W", low=0, high=20000, above=True, stops=POWER_STOPS, help=help)


def ohms(label: str, start: float, help: str, *, high: float = 1000, slider: bool = True) -> Entry[float]:
    """Impedance of a load or an amplifier. [ohm]"""
    stops = OHM_STOPS if slider else ()
    return quantity(label, units.RESISTANCE, start, "ohm", low=0.1, high=high, stops=stops, help=help)


def volts(label: str, start: float, help: str, stops: Sequence[float] = ()) -> Entry[float]:
    """Supply or threshold voltage. [V]"""
    return quantity(label, units.VOLTAGE, start, "V", low=0, high=60, above=True, stops=stops, help=help)


def meter_accuracy(start: Accuracy) -> Entry[Accuracy]:
    """How far off the meter may be."""
    help = f"default {start}: assumed; the meter's data sheet says it for each range"
    return Entry("Meter accuracy", read_accuracy, str, start, help=help)


def meter_reading(label: str, help: str, high: float = 1e6) -> Entry[float | None]:
    """What an ohmmeter shows: empty (None) while nothing is read, "OL" (infinite) for no path."""
    return Entry(label, lambda text: read_shown(text, label, high), show_reading, None, help=help)


def choice(label: str, options: Sequence[tuple[str, Any]], start: Any) -> Choice:
    """A list to choose from, labelled as the entries are."""
    box = Choice(list(options), start, label)
    box.add_class("wc-choice")
    return box
