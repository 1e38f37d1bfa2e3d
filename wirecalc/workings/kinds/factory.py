"""The formulas of a factory signal at speaker level."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.runs.factory import FactoryRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import DIVIDER, OHM, circuit_rules
from wirecalc.workings.formula import Book, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: FactoryRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : FactoryRun
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
    by_rating = "A rating read as a voltage source behind its output impedance"
    book: Book = {
        "P": field_of("factory unit's power, one channel", run.amplifier, "power_w", "W"),
        "Zr": field_of("impedance of that rating", run.amplifier, "rated_ohm", "Ω"),
        "DF": field_of("factory unit's damping factor", run.amplifier, "damping_factor"),
        "Zi": field_of("input impedance", run, "input_ohm", "Ω"),
        "E": Rule("Factory unit, open-circuit voltage", "sqrt(P*Zr)*(1+1/DF)", "V", by_rating),
        "Zs": Rule("Factory unit, output impedance", "Zr/DF", "Ω", by_rating),
        "I": Rule("Current at full power", "1000*E/(Zs+Zw+Zi)", "mA", OHM),
        "VL": Rule("Voltage at the input", "I*Zi/1000", "V", OHM),
        "ΔL": Rule("Level lost", "20*log10((Zs+Zw+Zi)/(Zs+Zi))", "dB", DIVIDER),
    }
    return book, {"loss_db": "ΔL", "load_v": "VL", "signal_ma": "I"}
