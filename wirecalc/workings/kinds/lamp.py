"""The formulas of a lamp strip at the end of its run."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.circuits import strip
from wirecalc.runs.lamp import LampRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import ALONE, DROP, OHM, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: LampRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : LampRun
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
    lit, bare, low = run.strip(ohm), run.strip(0.0), run.strip(ohm, supply_v=run.lowest_v)
    reason, dark = strip.lit(lit).reason, strip.lit(low).reason
    book = DROP | {
        "V": field_of("supply voltage where the run starts", run, "supply_v", "V"),
        "Vlow": Given("lowest supply at which the lamps must work", run.lowest_v, "V",
                       "lower end of a 12 V supply: ISO 16750-2:2010", "read"),
        "Vn": field_of("nominal voltage of the strip", lit, "nominal_v", "V"),
        "Ls": field_of("strip length", run, "strip_m", "m"),
        "i": field_of("strip current per metre", run, "amps_per_m", "A/m"),
        "rs": field_of("strip resistance per metre, both of its conductors", run, "strip_ohm_per_m", "Ω/m"),
        "Lh": Rule("Length of strip that one feed lights", "Ls/2" if run.both_ends else "Ls", "m", "By symmetry",
                    "Fed alike from both ends, so the dimmest lamp is in the middle." if run.both_ends else ""),
    }  # fmt: skip
    if run.lamps == strip.RESISTIVE:
        line = "Like a line that leaks all along, v'' = rs (i/Vn) v: Ohm's and Kirchhoff's laws on each bit of strip"
        book |= {
            "γ": Rule("Decay per metre of strip", "sqrt(rs*i/Vn)", "1/m", line),
            "Rw": Rule("Resistance that a very long strip would show", "sqrt(rs*Vn/i)", "Ω", line),
            "VL": Rule("Voltage at the first lamp", "V/(1+Zw/Rw*tanh(γ*Lh))", "V", line),
            "I": Rule("Current in the run", "VL*tanh(γ*Lh)/Rw", "A", line),
            "Vd": Rule("Voltage at the dimmest lamp", "VL/cosh(γ*Lh)", "V", line),
            "Vdl": Rule(
                "Voltage at the dimmest lamp, lowest supply", "Vlow/(1+Zw/Rw*tanh(γ*Lh))/cosh(γ*Lh)", "V", line
            ),
            "I0": Rule("Current with a wire of no resistance", "V*tanh(γ*Lh)/Rw", "A", line),
        }
    else:
        parabola = "Lamps of constant current, v'' = rs i: Ohm's and Kirchhoff's laws on each bit of strip"
        book |= {
            "I": Rule("Current in the run", "i*Lh", "A", parabola, reason),
            "VL": Rule("Voltage at the first lamp", "V-I*Zw", "V", OHM, reason),
            "Vd": Rule("Voltage at the dimmest lamp", "VL-rs*i*Lh**2/2", "V", parabola, reason),
            "Vdl": Rule("Voltage at the dimmest lamp, lowest supply", "Vlow-I*Zw-rs*i*Lh**2/2", "V", parabola, dark),
            "I0": Rule("Current with a wire of no resistance", "i*Lh", "A", parabola, strip.lit(bare).reason),
        }
    book["s"] = Rule("Dimmest over first lamp, in voltage", "100*Vd/VL", "%", "By definition")
    book["sl"] = Rule("Dimmest lamp over nominal, lowest supply", "100*Vdl/Vn", "%", "By definition")
    return book, ALONE | {"last_v": "Vd", "dimmest_percent": "sl", "last_percent": "s", "quick_bound_v": "Vq"}
