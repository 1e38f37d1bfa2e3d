"""The results that kinds of run have: their names and units."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]
Measures = dict[str, Array]


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What a result is called, and how it is shown."""

    name: str
    unit: str
    decimals: int

    def said(self, value: float) -> str:
        """A value as it is read beside others of its kind: no digit that decides nothing.

        Parameters
        ----------
        value : float
            In `unit`.

        Returns
        -------
        str
            Without unit. At most `decimals` decimals, and but for V and dB no more than three digits; "< 0.01"
            for what would be rounded to 0; "none" for a value that is not finite.

        Examples
        --------
        >>> loss, power = MEASURES["loss_db"], MEASURES["load_w"]
        >>> loss.said(0.3142), loss.said(0.0008), power.said(65.56), power.said(235.04)
        ('0.31', '< 0.01', '65.6', '235')
        """
        return said_number(value, self.unit, self.decimals)


def said_number(value: float, unit: str, decimals: int) -> str:
    """A number with the digits that decide, without unit.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        Volts and decibels keep their decimals, as limits of tenths decide on them; others keep three digits.
    decimals : int
        Most decimals.

    Returns
    -------
    str
        See `Measure.said`.
    """
    if not np.isfinite(value):
        return "none"
    if unit not in {"V", "dB"} and value:
        decimals = min(decimals, max(0, 2 - math.floor(math.log10(abs(value)))))
    text = f"{value:.{decimals}f}"
    if value and not float(text):
        return f"< {10**-decimals:.{decimals}f}" if value > 0 else f"> −{10**-decimals:.{decimals}f}"
    return text.replace("-", "−")


MEASURES: dict[str, Measure] = {
    "loss_db": Measure(name="Level lost", unit="dB", decimals=2),
    "load_w": Measure(name="Power at the load", unit="W", decimals=2),
    "wire_w": Measure(name="Power in the wire", unit="W", decimals=2),
    "drop_v": Measure(name="Drop", unit="V", decimals=2),
    "drop_fraction": Measure(name="Drop over supply", unit="", decimals=3),
    "damping_factor": Measure(name="Damping factor left", unit="", decimals=1),
    "current_a": Measure(name="Current", unit="A", decimals=2),
    "heat_a": Measure(name="Average current", unit="A", decimals=2),
    "full_a": Measure(name="Most current for minutes", unit="A", decimals=2),
    "signal_ma": Measure(name="Signal current at full power", unit="mA", decimals=2),
    "inrush_a": Measure(name="Start current", unit="A", decimals=2),
    "inrush_s": Measure(name="Start lasts", unit="s", decimals=2),
    "draw_a": Measure(name="Draw at the fuse", unit="A", decimals=2),
    "load_v": Measure(name="Voltage at the load", unit="V", decimals=2),
    "last_v": Measure(name="Voltage at the last lamp", unit="V", decimals=2),
    "dimmest_percent": Measure(name="Dimmest lamp over nominal, lowest supply", unit="%", decimals=1),
    "treble_loss_db": Measure(name="Lost at 20 kHz under mid band", unit="dB", decimals=2),
    "corner_khz": Measure(name="−3 dB point", unit="kHz", decimals=1),
    "margin_v": Measure(name="Over pull-in when hot", unit="V", decimals=2),
    "hold_v": Measure(name="Over what holds it, while the engine starts", unit="V", decimals=2),
    "release_v": Measure(name="Under drop-out when off", unit="V", decimals=2),
    "output_w": Measure(name="Output that is left", unit="W", decimals=1),
    "temperature_c": Measure(name="Conductor temperature", unit="°C", decimals=1),
    "limit_c": Measure(name="Insulation's limit", unit="°C", decimals=0),
    "allowable_a": Measure(name="Allowable current", unit="A", decimals=1),
    "fuse_headroom_a": Measure(name="Room for a fuse", unit="A", decimals=1),
}
"""Every result that some kind of run gives, or `wirecalc.runs.run.with_heat`, by its key."""
