"""The formulas of a wire and of what it feeds, as far as all kinds of run share them.

Each kind registers its own in `wirecalc.workings.kinds`; `wirecalc.workings.measures` puts numbers in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import singledispatch

from wirecalc import runs
from wirecalc.errors import InputError
from wirecalc.units_taken import takes_units
from wirecalc.wire.cable import FOOT_M
from wirecalc.wire.conductor import COPPER, REFERENCE_C, Conductor
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of, row_of, rows_of

# --- the wire -------------------------------------------------------------------------------------------------

B258 = "ASTM B258"
FOOT = "A foot is 0.3048 m by definition"
LINE = "IEC 60028: a straight line in temperature"
OHM = "Ohm's law"


def wire_rules(conductor: Conductor, laid: runs.Installation, *, feet: bool = False) -> tuple[Book, Symbols]:
    """From metal and size to the loop's resistance.

    Parameters
    ----------
    conductor : Conductor
        Size, metal and stranding.
    laid : wirecalc.runs.Installation
        Length, ways, joints and temperature.
    feet : bool
        The length was entered in feet.

    Returns
    -------
    tuple of (mapping, mapping)
        Inputs and formulas by symbol; and the symbol of each measure.
    """
    metal, stranding = conductor.metal, conductor.stranding
    area_mm2, ohm = conductor.area_m2 * 1e6, conductor.ohm_per_m_20c
    book: Book = {
        "ρ": Given(f"resistivity of {metal.name} at 20 °C", metal.ohm_m_20c * 1e6, "Ω mm²/m", metal.source,
                    metal.confidence),
        "k": Given(f"lay: strand over cable length, {stranding.name}", stranding.lay_factor, "", stranding.source,
                    stranding.confidence),
        "α": Given(f"temperature coefficient of {metal.name}", metal.per_k_20c, "1/K", metal.source,
                    metal.confidence),
        "T": field_of("conductor temperature", laid, "temperature_c", "°C"),
        "r": Rule("One conductor at its temperature", f"R20*(1+α*(T-{REFERENCE_C:g}))", "Ω/m", LINE),
        "w": Given("ways: 2 out and back, 1 where the body brings the current back", laid.ways, "",
                    "by the kind of circuit"),
        "rf": Rule("One conductor at its temperature, per foot", f"r*{FOOT_M}", "Ω/ft", FOOT),
        **length_rules("L", "run length, one way", laid.length_m, feet=feet),
        "n": field_of("conductors in parallel, each way", laid, "parallel"),
        "Rj": field_of("joints, whole loop", laid, "joints_ohm", "Ω"),
        "Zw": Rule("Loop resistance of the wire", "w*L*r/n+Rj", "Ω", "Resistances in series and in parallel"),
    }  # fmt: skip
    if conductor.label.endswith("AWG"):
        gauge = 36 - 39 * math.log(math.sqrt(4 / math.pi * area_mm2) / 0.127, 92)
        book["g"] = Given("gauge number; 1/0 is 0, 2/0 is −1, 4/0 is −3", round(gauge, 9))
        book["A"] = Rule("Metal cross-section", "pi/4*(0.127*92**((36-g)/39))**2", "mm²", B258)
    else:
        book["A"] = Given("metal cross-section, nominal", area_mm2, "mm²")
    title = "One conductor at 20 °C"
    if math.isclose(ohm * area_mm2, metal.ohm_m_20c * 1e6 * stranding.lay_factor):
        book["R20"] = Rule(title, "ρ*k/A", "Ω/m", "Resistivity times length over cross-section")
        return book, _WIRE
    book["R20"] = Given("one conductor at 20 °C", ohm, "Ω/m", conductor.source)
    over_copper = metal.ohm_m_20c / COPPER.ohm_m_20c
    for row in rows_of("metric_conductors"):
        if not (row["area_mm2"] == round(area_mm2, 9) and row["table"] in conductor.source):
            continue
        ohm_per_km = row["max_ohm_per_km_20c"]
        book["Rt"] = row_of(f"largest allowed at 20 °C, {row['table']}, {row['coating']}", ohm_per_km, "Ω/km", row)
        if math.isclose(ohm, ohm_per_km / 1000):
            book["R20"] = Rule(title, "Rt/1000", "Ω/m", "Per metre from per kilometre")
            break
        if math.isclose(ohm, ohm_per_km / 1000 * over_copper):
            book["ρCu"] = Given("resistivity of copper", COPPER.ohm_m_20c * 1e6, "Ω mm²/m", COPPER.source,
                                 COPPER.confidence)  # fmt: skip
            book["R20"] = Rule(title, "Rt/1000*ρ/ρCu", "Ω/m", "The table's copper, by the ratio of resistivities")
            break
    return book, _WIRE


_WIRE: Symbols = {"ohm_per_m": "r", "ohm_per_ft": "rf", "loop_ohm": "Zw", "area_mm2": "A"}


@takes_units
def length_rules(symbol: str, name: str, length_m: float, *, feet: bool) -> Book:
    """A length that was entered, in metres or in feet.

    Parameters
    ----------
    symbol : str
        Of the length.
    name : str
        What length it is.
    length_m : float
        [m]
    feet : bool
        It was entered in feet.

    Returns
    -------
    mapping of str to Given or Rule
        In feet with the formula that makes metres of it.
    """
    if not feet:
        return {symbol: Given(name, length_m, "m")}
    return {
        f"{symbol}f": Given(name, length_m / FOOT_M, "ft"),
        symbol: Rule(f"{name[0].upper()}{name[1:]}", f"{symbol}f*{FOOT_M}", "m", FOOT),
    }


# --- what it feeds --------------------------------------------------------------------------------------------

DIVIDER = "Voltage divider, any textbook of circuits"
ALONE: Symbols = {
    "current_a": "I",
    "heat_a": "I",
    "full_a": "I",
    "draw_a": "I",
    "load_v": "VL",
    "drop_v": "Vw",
    "drop_fraction": "u",
    "drop_percent": "u%",
}
DROP: Book = {
    "Vw": Rule("Drop across the wire", "I*Zw", "V", OHM),
    "u": Rule("Drop over supply", "Vw/V", "", "By definition"),
    "u%": Rule("Drop over supply", "100*Vw/V", "%", "By definition"),
    "Vq": Rule("Rule-of-thumb drop: the current with no wire in the way, times the wire", "I0*Zw", "V",
                "The paper sum; never less than the real drop"),
}  # fmt: skip


@takes_units
@singledispatch
def circuit_rules(run: runs.Run, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """What the loop's resistance does to one kind of run; each kind registers its own.

    Parameters
    ----------
    run : wirecalc.runs.Run
        Source and load.
    ohm : float
        Of the whole loop. [ohm]
    measures : mapping of str to float
        The run's measures as they were computed, each in its unit.

    Returns
    -------
    tuple of (mapping, mapping)
        Inputs and formulas by symbol; and the symbol of each measure.

    Raises
    ------
    InputError
        If no formulas are registered for this kind.
    """
    raise InputError("Run", type(run).__name__, "a kind of wirecalc.runs")
