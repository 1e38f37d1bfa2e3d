"""The results that kinds of run have: their names and units."""

from __future__ import annotations

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


MEASURES: dict[str, Measure] = {
    "loss_db": Measure(name="Level lost", unit="dB", decimals=3),
    "load_w": Measure(name="Power at the load", unit="W", decimals=2),
    "wire_w": Measure(name="Power in the wire", unit="W", decimals=2),
    "drop_v": Measure(name="Drop", unit="V", decimals=3),
    "drop_fraction": Measure(name="Drop over supply", unit="", decimals=4),
    "damping_factor": Measure(name="Damping at the load", unit="", decimals=1),
    "current_a": Measure(name="Current", unit="A", decimals=3),
    "heat_a": Measure(name="Average current", unit="A", decimals=3),
    "full_a": Measure(name="Most current for minutes", unit="A", decimals=3),
    "inrush_a": Measure(name="Start current", unit="A", decimals=2),
    "inrush_s": Measure(name="Start lasts", unit="s", decimals=2),
    "draw_a": Measure(name="Draw at the fuse", unit="A", decimals=2),
    "load_v": Measure(name="Voltage at the load", unit="V", decimals=3),
    "last_v": Measure(name="Voltage at the last lamp", unit="V", decimals=3),
    "dimmest_percent": Measure(name="Dimmest lamp over nominal, lowest supply", unit="%", decimals=1),
    "treble_loss_db": Measure(name="Lost at 20 kHz under mid band", unit="dB", decimals=4),
    "corner_khz": Measure(name="−3 dB point", unit="kHz", decimals=1),
    "margin_v": Measure(name="Over pull-in when hot", unit="V", decimals=3),
    "hold_v": Measure(name="Over what holds it, while the engine starts", unit="V", decimals=3),
    "release_v": Measure(name="Under drop-out when off", unit="V", decimals=3),
    "output_w": Measure(name="Output that is left", unit="W", decimals=1),
    "temperature_c": Measure(name="Conductor temperature", unit="°C", decimals=1),
    "limit_c": Measure(name="Insulation's limit", unit="°C", decimals=0),
    "allowable_a": Measure(name="Allowable current", unit="A", decimals=1),
    "fuse_headroom_a": Measure(name="Room for a fuse", unit="A", decimals=1),
}
"""Every result that some kind of run gives, or `wirecalc.runs.run.with_heat`, by its key."""
