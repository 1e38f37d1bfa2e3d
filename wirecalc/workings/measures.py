"""Where a number comes from: its formula with this run's values put in, the inputs, and each one's source.

The number itself is never taken from here but from `wirecalc.runs`; the tests put the shown text back into arithmetic
and hold the two together. The formulas are those of `wirecalc.workings.circuit`, `kinds` and `heat`.
"""

from __future__ import annotations

import math

from wirecalc import runs
from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import Conductor, ohms_per_metre
from wirecalc.workings import kinds as kinds  # each registers its formulas
from wirecalc.workings.circuit import circuit_rules, wire_rules
from wirecalc.workings.formula import Book, Symbols, Working, worked
from wirecalc.workings.heat import heat_rules

EXTRAS: dict[str, runs.Measure] = {
    "ohm_per_m": runs.Measure(name="One conductor, per metre", unit="Ω/m", decimals=5),
    "loop_ohm": runs.Measure(name="Loop resistance", unit="Ω", decimals=4),
    "area_mm2": runs.Measure(name="Metal cross-section", unit="mm²", decimals=3),
    "quick_bound_v": runs.Measure(name="Rule-of-thumb drop", unit="V", decimals=3),
    "bare_w": runs.Measure(name="Power with a wire of no resistance", unit="W", decimals=2),
    "share_percent": runs.Measure(name="Share that reaches the load", unit="%", decimals=1),
    "drop_percent": runs.Measure(name="Drop over supply", unit="%", decimals=2),
}
"""What is computed besides `wirecalc.runs.MEASURES`; `bare_w` and `share_percent` of loudspeaker runs only."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """The formulas of a run, and what is known of its numbers."""

    book: Book
    symbols: Symbols
    """Of every number that can be asked."""
    numbers: dict[str, float]
    """Those that are computed elsewhere."""


def working(
    measure: str,
    run: runs.Run,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place | None = None,
    *,
    feet: bool = False,
) -> Working:
    """How one number of a run is worked out.

    Parameters
    ----------
    measure : str
        Key of `wirecalc.runs.MEASURES` that this run gives, of `EXTRAS`, or one that its sentences name.
    run : wirecalc.runs.Run
    conductor : Conductor
    laid : wirecalc.runs.Installation
    place : wirecalc.runs.Place, optional
        With it the measures are those of `wirecalc.runs.with_heat`.
    feet : bool
        Whether the length was entered in feet.

    Returns
    -------
    Working

    Raises
    ------
    InputError
        If this run has no such measure, or a value is out of range.

    Examples
    --------
    >>> from wirecalc.wire.conductor import awg
    >>> from wirecalc.circuits.source import Amplifier
    >>> run = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
    >>> step = working("loss_db", run, awg(16), runs.Installation(length_m=5.5)).steps[-1]
    >>> print(step.formula, "=", step.filled)
    20 × log10((Zs + Zw + ZL) / (Zs + ZL)) = 20 × log10((0.02 + 0.14782 + 4) / (0.02 + 4))
    """
    told = formulas(measure, run, conductor, laid, place, feet=feet)
    if measure not in told.symbols or (measure in (*runs.MEASURES, *EXTRAS) and measure not in told.numbers):
        raise InputError("Measure", measure, f"one of {', '.join(told.symbols)}")
    what, value = runs.MEASURES.get(measure) or EXTRAS.get(measure), told.numbers.get(measure)
    value = None if value is None else value + 0.0  # -0 becomes 0
    return worked(measure, told.book, told.symbols[measure], value, what)


def formulas(
    measure: str,
    run: runs.Run,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place | None = None,
    *,
    feet: bool = False,
) -> Told:
    """The formulas for one number of a run, and what that needs.

    Parameters
    ----------
    measure : str
        Key of the measure; see `working`.
    run : wirecalc.runs.Run
        Source and load.
    conductor : Conductor
        Size, metal and stranding.
    laid : wirecalc.runs.Installation
        Length, ways, joints and temperature.
    place : wirecalc.runs.Place, optional
        Where it lies; needed for numbers of heat.
    feet : bool
        The length was entered in feet.

    Returns
    -------
    Told
        Inputs and formulas, the symbol of every number that can be asked, and the numbers computed elsewhere.

    See Also
    --------
    working : The same, worked out.
    """
    ohm = runs.wire_ohm([conductor], laid)
    plain = runs.measured(run, [conductor], laid)
    measures = plain if place is None else runs.with_heat(plain, [conductor], laid, place)
    numbers = {name: float(value[0]) for name, value in measures.items()}
    numbers |= {
        "ohm_per_m": float(ohms_per_metre([conductor], laid.temperature_c)[0]),
        "loop_ohm": float(ohm[0]),
        "area_mm2": conductor.area_m2 * 1e6,
    }
    bare = {name: float(value) for name, value in run.measures(0.0, laid.length_m).items()}
    if "current_a" in bare:
        known = math.isfinite(bare["current_a"])
        numbers["quick_bound_v"] = float(rule_of_thumb_drop_v(bare["current_a"], ohm[0])) if known else math.nan
    if "drop_fraction" in numbers:
        numbers["drop_percent"] = 100 * numbers["drop_fraction"]
    if "load_w" in bare:
        numbers["bare_w"] = bare["load_w"]
    if bare.get("load_w"):  # a purely reactive load takes none
        numbers["share_percent"] = 100 * numbers["load_w"] / bare["load_w"]
    wire, symbols = wire_rules(conductor, laid, feet=feet)
    circuit, more = circuit_rules(run, float(ohm[0]), numbers)
    book, symbols = wire | circuit, symbols | more
    if place is not None:
        warmth, more = heat_rules(measure, conductor, laid, place, symbols, numbers)
        book, symbols = book | warmth, symbols | more
    return Told(book=book, symbols=symbols, numbers=numbers)
