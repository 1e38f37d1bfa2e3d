"""The formulas of a wire and of what it feeds, for each kind of run; `wirecalc.workings.measures` puts numbers in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import singledispatch

from wirecalc import runs
from wirecalc.circuits import line_level, relay, strip, supply
from wirecalc.errors import InputError
from wirecalc.wire.cable import FOOT_M
from wirecalc.wire.conductor import COPPER, REFERENCE_C, Conductor
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of, row_of, rows_of

# --- the wire -------------------------------------------------------------------------------------------------

B258 = "ASTM B258"
FOOT = "A foot is 0.3048 m by definition"
LINE = "IEC 60028: a straight line in temperature"
OHM = "Ohm's law"


def wire_rules(conductor: Conductor, laid: runs.Installation, *, feet: bool = False) -> tuple[Book, Symbols]:
    """From metal and size to the loop's resistance."""
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


def length_rules(symbol: str, name: str, length_m: float, *, feet: bool) -> Book:
    """A length that was entered, in metres or in feet."""
    if not feet:
        return {symbol: Given(name, length_m, "m")}
    return {
        f"{symbol}f": Given(name, length_m / FOOT_M, "ft"),
        symbol: Rule(f"{name[0].upper()}{name[1:]}", f"{symbol}f*{FOOT_M}", "m", FOOT),
    }


# --- what it feeds --------------------------------------------------------------------------------------------

DIVIDER = "Voltage divider, any textbook of circuits"
_ALONE: Symbols = {
    "current_a": "I",
    "heat_a": "I",
    "full_a": "I",
    "draw_a": "I",
    "load_v": "VL",
    "drop_v": "Vw",
    "drop_fraction": "u",
    "drop_percent": "u%",
}
_DROP: Book = {
    "Vw": Rule("Drop across the wire", "I*Zw", "V", OHM),
    "u": Rule("Drop over supply", "Vw/V", "", "By definition"),
    "u%": Rule("Drop over supply", "100*Vw/V", "%", "By definition"),
    "Vq": Rule("Quick bound: the current with no wire in the way, times the wire", "I0*Zw", "V",
                "The paper sum; never less than the real drop"),
}  # fmt: skip


@singledispatch
def circuit_rules(run: runs.Run, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
    """What the loop's resistance does to this kind of run, whose numbers are `found`."""
    raise InputError("Run", type(run).__name__, "a kind of wirecalc.runs")


@circuit_rules.register
def _speaker(run: runs.SpeakerRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
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
        _DROP
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
                "Damping at the load", f"{size}/(Zs+Zw)", "", "Load over what it looks back into, by definition"
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


@circuit_rules.register
def _line(run: runs.LineRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
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
        "ΔM": Rule("Level in mid band against the source with nothing connected", "-ΔL", "dB", "Below 0 is a loss"),
        "τ": Rule("Time constant", "C*L/(1/Rs+1/Zi)/1000", "ns", low_pass),
        "ΔT": Rule("Lost at 20 kHz under mid band", "10*log10(1+(2*pi*f*τ/10**6)**2)", "dB", low_pass),
        "fc": Rule("−3 dB point", "10**6/(2*pi*τ)", "kHz", low_pass,
                    "" if run.farad_per_m else "With no capacitance there is none."),
    }  # fmt: skip
    return book, {"loss_db": "ΔL", "middle_db": "ΔM", "treble_loss_db": "ΔT", "corner_khz": "fc"}


@circuit_rules.register
def _turn_on(run: runs.TurnOnRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
    book = _DROP | {
        "I": field_of("draw of all devices, taken as constant", run, "draw_a", "A"),
        "V": field_of("voltage at the head unit's output", run, "supply_v", "V"),
        "Vw": Rule("Drop along the lead, at most all there is", "min(I*Zw,V)", "V", OHM),
        "VL": Rule("Voltage at the last device", "V-Vw", "V", "Kirchhoff's voltage law"),
        "Vq": Rule("Quick bound: the draw times the wire", "I*Zw", "V", OHM),
    }
    return book, _ALONE | {"quick_bound_v": "Vq"}


@circuit_rules.register
def _relay(run: runs.RelayRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
    warm = f"*(1+αCu*(Tk-{REFERENCE_C:g}))"
    supply_v = field_of("supply voltage, the lowest that must still work", run, "supply_v", "V")
    if run.supply_v == relay.LEAST_SUPPLY_V:
        supply_v = Given(supply_v.name, supply_v.number, "V", "lower end of a 12 V supply: ISO 16750-2:2010", "read")
    book = _DROP | {
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
        "I0": Rule("Current with a wire of no resistance", "V/Rc", "A", OHM),
    }  # fmt: skip
    return book, _ALONE | {"margin_v": "ΔV", "short_v": "ΔVs", "needed_v": "Vp", "quick_bound_v": "Vq"}


@circuit_rules.register
def _lamp(run: runs.LampRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
    lit, bare, low = run.strip(ohm), run.strip(0.0), run.strip(ohm, supply_v=run.lowest_v)
    reason, dark = strip.lit(lit).reason, strip.lit(low).reason
    book = _DROP | {
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
        line = "Like a line that leaks, v'' = rs (i/Vn) v; derived in wirecalc.circuits.strip, held against ngspice"
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
        parabola = "Lamps of constant current, v'' = rs i; derived in wirecalc.circuits.strip, held against ngspice"
        book |= {
            "I": Rule("Current in the run", "i*Lh", "A", parabola, reason),
            "VL": Rule("Voltage at the first lamp", "V-I*Zw", "V", OHM, reason),
            "Vd": Rule("Voltage at the dimmest lamp", "VL-rs*i*Lh**2/2", "V", parabola, reason),
            "Vdl": Rule("Voltage at the dimmest lamp, lowest supply", "Vlow-I*Zw-rs*i*Lh**2/2", "V", parabola, dark),
            "I0": Rule("Current with a wire of no resistance", "i*Lh", "A", parabola, strip.lit(bare).reason),
        }
    book["s"] = Rule("Dimmest over first lamp, in voltage", "100*Vd/VL", "%", "By definition")
    book["sl"] = Rule("Dimmest lamp over nominal, lowest supply", "100*Vdl/Vn", "%", "By definition")
    return book, _ALONE | {"last_v": "Vd", "dimmest_percent": "sl", "last_percent": "s", "quick_bound_v": "Vq"}


@circuit_rules.register
def _feed(run: runs.FeedRun, ohm: float, found: Mapping[str, float]) -> tuple[Book, Symbols]:
    kind = run.amplifier_class
    holds = run.regulated and found["load_v"] >= run.full_power_v
    no_more = "No more than rated." if run.regulated else ""
    reached, rated = "min(1,({}/Vf)**2)" if run.regulated else "({}/Vf)**2", "Output that the voltage allows"
    model = "Full output goes with the square of the supply voltage" + (
        ", a regulated converter holds it down to Vf" if run.regulated else ""
    )
    constant = "A load of constant power behind a resistance, the stable root of v² − V v + P Zw = 0"
    mean_w = supply.draw(run.rated_w, kind, share=run.music_share, supply_v=run.full_power_v).power_w
    reason = supply.constant_power(run.supply_v, ohm, mean_w).reason
    book = _DROP | {
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
    return book, _ALONE | {
        "load_v": "v", "loss_db": "ΔL", "output_w": "Po", "heat_a": "Iav", "quick_bound_v": "Vq", "average_w": "Pm",
        "most_w": "Pmax", "most_v": "Vmax",
    }  # fmt: skip
