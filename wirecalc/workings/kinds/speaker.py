"""The formulas of amplifier to loudspeaker, and of amplifier to subwoofer, which is the same circuit."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.runs.speaker import SpeakerRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import DIVIDER, DROP, OHM, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: SpeakerRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : SpeakerRun
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
    amplifier, load = run.amplifier, complex(run.load_ohm)
    ohm_of = {"ZL": Given("load impedance", load.real, "Ω")}
    all_, bare, size, real = "(Zs+Zw+ZL)", "(Zs+ZL)", "ZL", "ZL"
    if load.imag:
        ohm_of = {
            "RL": Given("load impedance, resistive part", load.real, "Ω"),
            "XL": Given("load impedance, reactive part", load.imag, "Ω"),
        }
        all_, bare = "sqrt((Zs+Zw+RL)**2+XL**2)", "sqrt((Zs+RL)**2+XL**2)"
        size, real = "sqrt(RL**2+XL**2)", "RL"
    by_rating = "A rating read as a voltage source behind its output impedance"
    book = (
        DROP
        | ohm_of
        | {
            "P": field_of("amplifier power, the rating that applies", amplifier, "power_w", "W"),
            "Zr": field_of("impedance of that rating", amplifier, "rated_ohm", "Ω"),
            "DF": field_of("amplifier's damping factor at it", amplifier, "damping_factor"),
            "m": field_of("average power over rated", run, "music_share"),
            "E": Rule("Amplifier, open-circuit voltage", "sqrt(P*Zr)*(1+1/DF)", "V", by_rating),
            "Zs": Rule("Amplifier, output impedance", "Zr/DF", "Ω", by_rating),
            "I": Rule("Current in the loop", f"E/{all_}", "A", OHM),
            "VL": Rule("Voltage at the load", f"I*{size}", "V", OHM),
            "PL": Rule("Power at the load", f"I**2*{real}", "W", OHM),
            "Pw": Rule("Power in the wire", "I**2*Zw", "W", OHM),
            "ΔL": Rule("Level lost", f"20*log10({all_}/{bare})", "dB", DIVIDER),
            "DL": Rule(
                "Damping factor left", f"{size}/(Zs+Zw)", "", "Load over what it looks back into, by definition"
            ),
            "Iav": Rule(
                "Average current, all conductors of one way", "I*sqrt(m)", "A", "Power goes with current squared"
            ),
            "I0": Rule("Current with a wire of no resistance", f"E/{bare}", "A", OHM),
            "P0": Rule("Power at the load with a wire of no resistance", f"I0**2*{real}", "W", OHM),
            "s": Rule("Share that reaches the load", "100*PL/P0", "%", "By definition"),
        }
    )
    return book, {
        "loss_db": "ΔL", "load_w": "PL", "wire_w": "Pw", "drop_v": "Vw", "load_v": "VL", "damping_factor": "DL",
        "current_a": "I", "heat_a": "Iav", "full_a": "I", "quick_bound_v": "Vq", "bare_w": "P0", "share_percent": "s",
    }  # fmt: skip
