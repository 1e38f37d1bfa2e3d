"""The formulas of a relay's coil at the end of its run."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.circuits import relay
from wirecalc.runs.relay import RelayRun
from wirecalc.units_taken import takes_units
from wirecalc.wire.conductor import COPPER, REFERENCE_C
from wirecalc.workings.circuit import ALONE, DIVIDER, DROP, LINE, OHM, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of


@takes_units
@circuit_rules.register
def rules(run: RelayRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """See `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : RelayRun
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
    warm = f"*(1+αCu*(Tk-{REFERENCE_C:g}))"
    cold = f"*(1+αCu*(Tc-{REFERENCE_C:g}))"
    supply_v = field_of("supply voltage, the lowest that must still work", run, "supply_v", "V")
    if run.supply_v == relay.LEAST_SUPPLY_V:
        supply_v = Given(supply_v.name, supply_v.number, "V", "lower end of a 12 V supply: ISO 16750-2:2010", "read")
    book = DROP | {
        "V": supply_v,
        "Rc0": field_of("coil resistance at 20 °C", run.relay, "coil_ohm", "Ω"),
        "Vp0": field_of("pull-in voltage at 20 °C", run.relay, "pull_in_v", "V"),
        "Tk": field_of("coil temperature when it must pull in", run, "coil_c", "°C"),
        "αCu": Given("temperature coefficient of the coil's copper", COPPER.per_k_20c, "1/K", COPPER.source,
                      COPPER.confidence),
        "Rc": Rule("Coil as warm as it is", f"Rc0{warm}", "Ω", LINE),
        "Vp": Rule("Pull-in voltage as warm as it is", f"Vp0{warm}", "V",
                    "The magnet needs its current, so the voltage grows with the coil's resistance"),
        "VL": Rule("Voltage at the coil", "V*Rc/(Rc+Zw)", "V", DIVIDER),
        "I": Rule("Coil current", "VL/Rc", "A", OHM),
        "ΔV": Rule("Over pull-in when hot", "VL-Vp", "V", "By definition"),
        "ΔVs": Rule("Under pull-in when hot", "Vp-VL", "V", "By definition"),
        "Tc": Given("coldest coil", relay.COLDEST_C, "°C", "ISO 16750-4, published value, copy not checked", "memory"),
        "Rcc": Rule("Coil when coldest", f"Rc0{cold}", "Ω", LINE),
        "Vdo0": field_of("drop-out voltage at 20 °C", run.relay, "drop_out_v", "V"),
        "Vdo": Rule("Drop-out voltage when coldest", f"Vdo0{cold}", "V", "In proportion to the coil's resistance"),
        "Voff": field_of("left on the lead when off", run, "off_v", "V"),
        "Vleft": Rule("Left at the coil when off", "Voff*Rcc/(Rcc+Zw)", "V", DIVIDER),
        "ΔVr": Rule("Under drop-out when off", "Vdo-Vleft", "V", "By definition"),
        "kh": Given("share of pull-in that holds", relay.HOLD_SHARE, "", "common practice, no source"),
        "Vdip": Given("supply while the engine starts", run.lowest_v, "V"),
        "Vhold": Rule("Voltage that holds the hot coil", "kh*Vp", "V", "In proportion to pull-in"),
        "VLd": Rule("Voltage at the coil while the engine starts", "Vdip*Rc/(Rc+Zw)", "V", DIVIDER),
        "ΔVh": Rule("Over what holds it, while the engine starts", "VLd-Vhold", "V", "By definition"),
        "Vmax": Given("supply while the battery is charged", run.charging_v, "V", "common practice, no source"),
        "Im": Rule("Most current, coil at 20 °C or as cold as it is", "max(Vmax/(Rc0+Zw),V/(Rc+Zw))", "A", OHM),
        "I0": Rule("Current with a wire of no resistance", "V/Rc", "A", OHM),
    }  # fmt: skip
    return book, ALONE | {
        "margin_v": "ΔV",
        "hold_v": "ΔVh",
        "release_v": "ΔVr",
        "short_v": "ΔVs",
        "needed_v": "Vp",
        "quick_bound_v": "Vq",
        "heat_a": "Im",
        "full_a": "Im",
        "draw_a": "Im",
    }
