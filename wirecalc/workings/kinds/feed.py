"""The formulas of an amplifier's feed."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.circuits import supply
from wirecalc.runs.feed import FeedRun
from wirecalc.units_taken import takes_units
from wirecalc.workings.circuit import ALONE, DIVIDER, DROP, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: FeedRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : FeedRun
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
    kind = run.amplifier_class
    holds = run.regulated and measures["load_v"] >= run.full_power_v
    no_more = "No more than rated." if run.regulated else ""
    reached, rated = "min(1,({}/Vf)**2)" if run.regulated else "({}/Vf)**2", "Output that the voltage allows"
    model = "Full output goes with the square of the supply voltage" + (
        ", a regulated converter holds it down to Vf" if run.regulated else ""
    )
    constant = "A load of constant power behind a resistance, the stable root of v² − V v + P Zw = 0"
    mean_w = supply.draw(run.rated_w, kind, share=run.music_share, supply_v=run.full_power_v).power_w
    reason = supply.constant_power(run.supply_v, ohm, mean_w).reason
    book = DROP | {
        "P": field_of("rated power, all channels", run, "rated_w", "W"),
        "η": Given(f"efficiency at rated power, {kind.name}", kind.efficiency, "", kind.source, kind.confidence),
        "x": Given(f"the draw goes with output to the power, {kind.name}", kind.exponent, "", kind.source,
                    kind.confidence),
        "V": field_of("voltage at the battery", run, "supply_v", "V"),
        "Vf": field_of("voltage that gives rated power", run, "full_power_v", "V"),
        "m": field_of("average output over rated", run, "music_share"),
        "Pd": Rule("Draw at rated power", "P/η", "W", "Efficiency, by definition"),
        "Rd": Rule("Resistance that the draw amounts to", "Vf**2/Pd", "Ω", model),
        "v": Rule("Voltage at the amplifier, full output", "V/2*(1+sqrt(1-4*Zw*Pd/V**2))", "V", constant)
        if holds else Rule("Voltage at the amplifier, full output", "V*Rd/(Rd+Zw)", "V", DIVIDER),
        "y": Rule(f"{rated}, over rated", reached.format("v"), "", model, no_more),
        "y0": Rule(f"{rated} with a wire of no resistance, over rated", reached.format("V"), "", model, no_more),
        "I": Rule("Current at full output", "y*Pd/v", "A", "Power over voltage"),
        "I0": Rule("Current with a wire of no resistance", "y0*Pd/V", "A", "Power over voltage"),
        "ΔL": Rule("Level lost", "10*log10(y0/y)", "dB", "Decibels of a ratio of powers"),
        "Po": Rule("Output that is left", "P*y", "W", "By definition"),
        "Pm": Rule("Average draw", "P/η*m**x", "W", "Efficiency, by definition; exponent by class"),
        "Pmax": Rule("The most that gets through the feed", "V**2/(4*Zw)", "W", constant),
        "Vmax": Rule("Voltage at the amplifier where the most gets through", "V/2", "V", constant),
        "vm": Rule("Voltage at the amplifier, average draw", "V/2*(1+sqrt(1-4*Zw*Pm/V**2))", "V", constant, reason),
        "Iav": Rule("Average current, all conductors of one way", "Pm/vm", "A", "Power over voltage", reason),
    }  # fmt: skip
    return book, ALONE | {
        "load_v": "v", "loss_db": "ΔL", "output_w": "Po", "heat_a": "Iav", "quick_bound_v": "Vq", "average_w": "Pm",
        "most_w": "Pmax", "most_v": "Vmax",
    }  # fmt: skip
