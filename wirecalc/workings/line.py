"""Where the numbers of a line-level run come from that are no measure of it: level at 20 kHz, and what it picks up."""

from __future__ import annotations

from wirecalc import runs
from wirecalc.circuits import line_level
from wirecalc.units_taken import takes_units
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.circuit import length_rules
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

_TEXTBOOK = "Flux of a long straight wire through a rectangle, any textbook of electromagnetism"


def top_level(run: runs.LineRun, conductor: Conductor, laid: runs.Installation, *, feet: bool = False) -> Working:
    """Level at 20 kHz, `level_db` of `wirecalc.circuits.line_level.low_pass`. [dB]

    Parameters
    ----------
    run : wirecalc.runs.LineRun
        Source, cable and input.
    conductor : Conductor
        Of the cable.
    laid : wirecalc.runs.Installation
        Length and temperature.
    feet : bool
        The length was entered in feet.

    Returns
    -------
    Working
        Ends at the level against the source with nothing connected. [dB]
    """
    sheet = FormulaSheet()
    for measure in ("loss_db", "treble_loss_db"):
        sheet.take(working(measure, run, conductor, laid, feet=feet))
    sheet.work("ΔL20", "Level at 20 kHz against the source with nothing connected", "-(ΔL+ΔT)", "dB",
               "Decibels add", "Below 0 is a loss.")  # fmt: skip
    return sheet.working("top_db")


@takes_units
def pickup_working(
    which: str,
    *,
    ripple_a: float,
    ripple_hz: float,
    along_m: float,
    distance_m: float,
    spacing_m: float,
    pitch_m: float,
    origin: str = "entered",
    feet: bool = False,
) -> Working:
    """Voltage that ripple in a supply wire induces, as `wirecalc.circuits.line_level.pickup` has it.

    Parameters
    ----------
    which : str
        "flat" or "twisted" [V]; "flat_db" or "twisted_db", under 1 V [dB].
    ripple_a, ripple_hz, along_m, distance_m, spacing_m, pitch_m : float
        See `wirecalc.circuits.line_level.pickup`. [A], [Hz], [m]
    origin : str
        Where these are from.
    feet : bool
        Whether the length was entered in feet.

    Returns
    -------
    Working
    """
    hum = line_level.pickup(ripple_a, ripple_hz, along_m, distance_m, spacing_m, pitch_m)
    sheet = FormulaSheet()
    sheet.put("I", Given("ripple in the supply wire", ripple_a, "A", origin))
    sheet.put("f", Given("its frequency", ripple_hz, "Hz", origin))
    sheet.add(length_rules("La", "length alongside", along_m, feet=feet))
    sheet.put("D", Given("supply wire to signal conductor, centres", distance_m * 1e3, "mm", origin))
    sheet.put("s", Given("between the signal conductors, centres", spacing_m * 1e3, "mm", origin))
    sheet.put("μ0", Given("magnetic constant over 2 π", line_level.MU0_OVER_2PI * 1e6, "µH/m",
                           "exact before 2019, holds to 1 in 10⁹ since", "memory"))  # fmt: skip
    far = "The worst way round; the supply's return is taken as far away, which beside it would lower this greatly."
    sheet.work("M", "Mutual inductance of supply wire and flat pair", "μ0*La*log((D+s)/D)", "µH", _TEXTBOOK)
    sheet.work("V1", "Picked up by a flat pair", "2*pi*f*M/10**6*I*1000", "mV", _TEXTBOOK, far,
               float(hum.parallel_v) * 1e3)  # fmt: skip
    symbol = "V1"
    if which.startswith("twisted"):
        sheet.put("p", Given("length of one full twist", pitch_m, "m", origin))
        sheet.put("b", Given("share that uneven twists leave", 0.01, "", "assumed, no source", "assumed"))
        sheet.work("V2", "Picked up by a twisted pair, at most", "V1*min(p/2/La+b,1)", "mV",
                   "Each half twist cancels the one before: one is left over at most; derived in circuits.line_level",
                   far, float(hum.twisted_v) * 1e3)  # fmt: skip
        symbol = "V2"
    if which.endswith("_db"):
        sheet.work("ΔV", "Under a signal of 1 V", f"20*log10(1000/{symbol})", "dB", "Decibels of a ratio of voltages")
    return sheet.working(f"pickup_{which}")
