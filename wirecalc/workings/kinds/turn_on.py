"""The formulas of a remote turn-on lead."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.runs.turn_on import TurnOnRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import ALONE, DROP, OHM, circuit_rules
from wirecalc.workings.formula import Book, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: TurnOnRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : TurnOnRun
        Source and load.
    ohm : float
        Of the whole loop. [ohm]
    measures : mapping of str to float
        The run's measures as they were computed, each in its unit.

    Returns
    -------
    tuple of (mapping, mapping)
        Inputs and formulas by symbol; and the symbol of each measure.
    """
    book = DROP | {
        "I": field_of("draw of all devices, taken as constant", run, "draw_a", "A"),
        "V": field_of("voltage at the head unit's output", run, "supply_v", "V"),
        "Vw": Rule("Drop along the lead, at most all there is", "min(I*Zw,V)", "V", OHM),
        "VL": Rule("Voltage at the last device", "V-Vw", "V", "Kirchhoff's voltage law"),
        "Vq": Rule("Rule-of-thumb drop: the draw times the wire", "I*Zw", "V", OHM),
    }
    return book, ALONE | {"quick_bound_v": "Vq"}
