"""Over frequency: a driver's impedance, and what the wire of a run does to the level."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from wirecalc.circuits import response as over
from wirecalc.circuits import speaker_load
from wirecalc.circuits.loudspeaker import Driver, HasImpedance
from wirecalc.errors import InputError
from wirecalc.front.answer import RunAnswer
from wirecalc.front.wires import known
from wirecalc.runs.over_frequency import POINTS, PairMake, SupplyBeside, line_response, of_line, speaker_response
from wirecalc.runs.over_frequency import to_loudspeaker as loudspeaker_run
from wirecalc.units_taken import takes_units
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.pair import DIELECTRICS

_NO_SUPPLY = SupplyBeside(ripple_a=0.0, ripple_hz=100.0, along_m=1.0, distance_m=1.0, spacing_m=0.003, pitch_m=0.02)


@takes_units
def response(
    what: RunAnswer | HasImpedance,
    load: HasImpedance | None = None,
    *,
    box_m3: float | None = None,
    insulation: str = "pvc_105",
) -> pd.Series[Any]:
    """The level that a run's wire leaves, by frequency; or a driver's own impedance.

    Parameters
    ----------
    what : RunAnswer, or a driver
        A run of a loudspeaker or of line level, with its first size; a `wirecalc.Driver` or any other load.
    load : HasImpedance, optional
        What hangs on the wire of a loudspeaker run, such as a `wirecalc.Driver`; its plain impedance if not given.
    box_m3 : float, optional
        The closed box of that driver; free air if not given. [m^3]
    insulation : str
        Of the wire, a key of `wirecalc.insulations()`.

    Returns
    -------
    pandas.Series
        level_db against no wire, or impedance_ohm (the modulus), by frequency_hz, 10 Hz to 40 kHz.

    Raises
    ------
    InputError
        If the run has no such response, or a value is out of range.

    Examples
    --------
    >>> import wirecalc
    >>> woofer = wirecalc.Driver(re_ohm="3.4 ohm", fs_hz="28 Hz", qes=0.45, qms=5.0, le_henry="1.5 mH")
    >>> run = wirecalc.subwoofer_run("300 W", "4 ohm", "20 ft", "18 AWG")
    >>> wirecalc.response(run, woofer).name, float(wirecalc.response(woofer).round(1).max())
    ('level_db', 377.0)
    """
    if not isinstance(what, RunAnswer):
        hz = np.geomspace(over.LOWEST_HZ, over.HIGHEST_HZ, POINTS)
        return _series(hz, np.abs(what.impedance(hz)), "impedance_ohm")
    if what.run.response == "line":
        curve = line_response(of_line(what.run), what.conductors[:1], what.laid, _NO_SUPPLY)
        return _series(curve.hz, curve.level_db[0], "level_db")
    if what.run.response != "loudspeaker":
        raise InputError("run", what.run.kind, "a run of a loudspeaker or of line level")
    run = loudspeaker_run(what.run)
    make = PairMake(coat=known("insulation", insulation, INSULATIONS), dielectric=DIELECTRICS["pvc"])
    levels = speaker_response(run, what.conductors[:1], what.laid, _hung(load, abs(run.load_ohm), box_m3), make)
    return _series(levels.hz, levels.level_db[0], "level_db")


def _hung(load: HasImpedance | None, load_ohm: float, box_m3: float | None) -> speaker_load.SpeakerLoad:
    if load is None:
        return speaker_load.plain_load(load_ohm)
    if isinstance(load, Driver):
        return speaker_load.own(load, box_m3=box_m3)
    return speaker_load.SpeakerLoad(name="load", load=load)


def _series(hz: Any, values: Any, name: str) -> pd.Series[Any]:
    return pd.Series(values, index=pd.Index(hz, name="frequency_hz"), name=name)
