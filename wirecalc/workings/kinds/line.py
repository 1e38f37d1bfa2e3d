"""The formulas of a line-level run."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.circuits import line_level
from wirecalc.runs.line import LineRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import DIVIDER, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of, row_of, rows_of


@takes_units
@circuit_rules.register
def rules(run: LineRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : LineRun
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
    cable = field_of("capacitance of the cable", run, "farad_per_m", "pF/m", 1e12)
    for row in rows_of("cable_capacitance"):
        if row["farad_per_m"] == run.farad_per_m:
            cable = row_of(f"capacitance, as of {row['name']}", cable.number, cable.unit, row)
    low_pass = "First-order low-pass, any textbook; the cable's capacitance in one lump"
    book: Book = {
        "Zs": field_of("output impedance", run, "source_ohm", "Ω"),
        "Zi": field_of("input impedance", run, "input_ohm", "Ω"),
        "C": cable,
        "f": Given("highest tone", line_level.TOP_HZ / 1e3, "kHz", "common practice, no source", "common practice"),
        "Rs": Rule("Source and wire", "Zs+Zw", "Ω", "Resistances in series"),
        "ΔL": Rule("Level lost", "20*log10(1+Rs/Zi)", "dB", DIVIDER,
                    "Against the source with nothing connected, so the output impedance counts too."),
        "ΔC": Rule("Level lost in the cable itself", "20*log10(1+Zw/(Zs+Zi))", "dB", DIVIDER,
                    "Against the same ends with a cable of no length."),
        "ΔZ": Rule("Level lost with a cable of no length", "20*log10(1+Zs/Zi)", "dB", DIVIDER),
        "ΔM": Rule("Level in mid band against the source with nothing connected", "-ΔL", "dB", "Below 0 is a loss"),
        "τ": Rule("Time constant", "C*L/(1/Rs+1/Zi)/1000", "ns", low_pass),
        "ΔT": Rule("Lost at 20 kHz under mid band", "10*log10(1+(2*pi*f*τ/10**6)**2)", "dB", low_pass),
        "fc": Rule("−3 dB point", "10**6/(2*pi*τ)", "kHz", low_pass,
                    "" if run.farad_per_m else "With no capacitance there is none."),
    }  # fmt: skip
    return book, {
        "loss_db": "ΔL", "cable_db": "ΔC", "ends_db": "ΔZ", "middle_db": "ΔM", "treble_loss_db": "ΔT",
        "corner_khz": "fc",
    }  # fmt: skip
