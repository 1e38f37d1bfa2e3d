"""Where a number comes from: its formula with this run's values put in, the inputs, and each one's source.

Every formula stands here once, as text. Symbols in it are inputs or come from other formulas; those that a number
needs are shown in order. The number itself is never taken from here but from `wirecalc.runs`; the tests put the
shown text back into arithmetic and hold the two together.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from functools import cache, singledispatch
from typing import Any

import numpy as np

from wirecalc import fuse, heat, line_level, relay, runs, strip, supply, tables
from wirecalc.circuit import quick_drop_bound_v
from wirecalc.conductor import (
    COPPER,
    HOTTEST_C,
    REFERENCE_C,
    STRANDED,
    Conductor,
    awg_area_m2,
    awg_label,
    ohms_per_metre,
)
from wirecalc.errors import InputError

EXTRAS: dict[str, runs.Measure] = {
    "ohm_per_m": runs.Measure(name="One conductor, per metre", unit="Ω/m", decimals=5),
    "loop_ohm": runs.Measure(name="Loop resistance", unit="Ω", decimals=4),
    "area_mm2": runs.Measure(name="Metal cross-section", unit="mm²", decimals=3),
    "quick_bound_v": runs.Measure(name="Quick bound of the drop", unit="V", decimals=3),
    "bare_w": runs.Measure(name="Power with a wire of no resistance", unit="W", decimals=2),
    "share_percent": runs.Measure(name="Share that reaches the load", unit="%", decimals=1),
}
"""What has a working besides `wirecalc.runs.MEASURES`; `bare_w` and `share_percent` of loudspeaker runs only."""

AGREES = 4e-5  # a filled-in formula's numbers have as many digits as give its value to four digits


@dataclass(frozen=True, kw_only=True)
class Input:
    """A number that is put in, and where it is from."""

    symbol: str
    name: str
    value: str
    """With unit."""
    origin: str
    """"entered", "default ..." or the source as the table gives it."""
    confidence: str
    """As in the tables; empty for what is entered."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """One formula."""

    title: str
    symbol: str
    formula: str
    filled: str
    """The formula with this run's numbers; empty where there are none to put in."""
    value: float
    """nan or inf where there is no answer; `note` then says why."""
    unit: str
    inputs: tuple[Input, ...]
    """Those that no earlier step has listed. Every other symbol is that of an earlier step."""
    source: str
    note: str


@dataclass(frozen=True, kw_only=True)
class Working:
    """How a number was worked out; the last step is the number itself."""

    measure: str
    title: str
    value: float
    unit: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class _Given:
    name: str
    number: float
    unit: str = ""
    origin: str = "entered"
    confidence: str = ""
    after: str = ""
    """A symbol to be worked out before: this one was looked up by it."""


@dataclass(frozen=True)
class _Rule:
    title: str
    formula: str
    """In Python's grammar; `a == b` for a balance that is solved for the symbol."""
    unit: str = ""
    source: str = ""
    note: str = ""
    solved: float | None = None
    """The answer of a balance, where there is one; the formulas before it have it in them."""


_Book = dict[str, _Given | _Rule]
_Symbols = dict[str, str]  # of each measure


def working(
    measure: str, run: runs.Run, conductor: Conductor, laid: runs.Laid, place: runs.Place | None = None
) -> Working:
    """How one measure of a run is worked out.

    Parameters
    ----------
    measure : str
        Key of `wirecalc.runs.MEASURES` that this run gives, or of `EXTRAS`.
    run : wirecalc.runs.Run
    conductor : Conductor
    laid : wirecalc.runs.Laid
    place : wirecalc.runs.Place, optional
        With it the measures are those of `wirecalc.runs.with_heat`.

    Returns
    -------
    Working

    Raises
    ------
    InputError
        If this run has no such measure, or a value is out of range.

    Examples
    --------
    >>> from wirecalc.conductor import awg
    >>> from wirecalc.source import Amplifier
    >>> run = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
    >>> step = working("loss_db", run, awg(16), runs.Laid(length_m=5.5)).steps[-1]
    >>> print(step.formula, "=", step.filled)
    20 × log10((Zs + Zw + ZL) / (Zs + ZL)) = 20 × log10((0.02 + 0.14782 + 4) / (0.02 + 4))
    """
    ohm = runs.wire_ohm([conductor], laid)
    plain = {name: np.broadcast_to(value, ohm.shape) for name, value in run.measures(ohm, laid.length_m).items()}
    found = plain if place is None else runs.with_heat(plain, [conductor], laid, place)
    numbers = {name: float(value[0]) for name, value in found.items()}
    numbers |= {
        "ohm_per_m": float(ohms_per_metre([conductor], laid.temperature_c)[0]),
        "loop_ohm": float(ohm[0]),
        "area_mm2": conductor.area_m2 * 1e6,
    }
    bare = {name: float(value) for name, value in run.measures(0.0, laid.length_m).items()}
    if "current_a" in bare:
        known = math.isfinite(bare["current_a"])
        numbers["quick_bound_v"] = float(quick_drop_bound_v(bare["current_a"], ohm[0])) if known else math.nan
    if "load_w" in bare:
        numbers["bare_w"] = bare["load_w"]
    if bare.get("load_w"):  # a purely reactive load takes none
        numbers["share_percent"] = 100 * numbers["load_w"] / bare["load_w"]
    if measure not in numbers:
        raise InputError("Measure", measure, f"one of {', '.join(numbers)}")

    wire, symbols = _wire(conductor, laid)
    circuit, more = _circuit(run, float(ohm[0]), numbers)
    book, symbols = wire | circuit, symbols | more
    if place is not None:
        warmth, more = _warmth(measure, conductor, laid, place, symbols, numbers)
        book, symbols = book | warmth, symbols | more
    what = runs.MEASURES.get(measure) or EXTRAS[measure]
    value = numbers[measure] + 0.0  # -0 becomes 0
    steps = _steps(book, symbols[measure], value, what)
    return Working(measure=measure, title=what.name, value=value, unit=what.unit, steps=steps)


# --- from a book of formulas to steps -------------------------------------------------------------------------


def _steps(book: _Book, symbol: str, value: float, what: runs.Measure) -> tuple[Step, ...]:
    """The formulas that `symbol` needs, in order; its own has the value that was computed elsewhere."""
    last = book[symbol]
    if isinstance(last, _Given):  # nothing to work out
        book = book | {what.name: _Rule(what.name, symbol, last.unit)}
        symbol = what.name
    numbers: dict[str, float] = {}
    inputs: dict[str, Input] = {}
    steps: list[Step] = []

    def need(name: str) -> None:
        if name in numbers:
            return
        entry = book[name]
        if isinstance(entry, _Given):
            if entry.after:
                need(entry.after)
            numbers[name] = entry.number
            inputs[name] = Input(
                symbol=name,
                name=entry.name,
                value=f"{_number(entry.number, 7)} {entry.unit}".rstrip(),
                origin=entry.origin or "no source given",
                confidence=entry.confidence,
            )
            return
        if entry.solved is not None:
            numbers[name] = entry.solved
        for other in _names(entry.formula):
            need(other)
        tree = _tree(entry.formula)
        if entry.solved is None:
            numbers[name] = value if name == symbol else _evaluate(tree, numbers)
        why = next((step.note for step in steps if step.note), "") if math.isnan(numbers[name]) else ""
        steps.append(
            Step(
                title=entry.title,
                symbol="" if name == what.name else name,
                formula=_text(tree, lambda known: known),
                filled=_filled(tree, numbers),
                value=numbers[name],
                unit=entry.unit,
                inputs=tuple(inputs.pop(other) for other in _names(entry.formula) if other in inputs),
                source=entry.source,
                note=entry.note or why,
            )
        )

    need(symbol)
    return tuple(steps)


def _filled(tree: ast.expr, numbers: Mapping[str, float]) -> str:
    """With the fewest digits that give the value to four of them."""
    parts = [tree.left, *tree.comparators] if isinstance(tree, ast.Compare) else [tree]
    used = {node.id: numbers[node.id] for node in ast.walk(tree) if isinstance(node, ast.Name) and node.id in numbers}
    if any(math.isnan(number) for number in used.values()):
        return ""
    for digits in range(4, 17):
        rounded = {name: float(f"{number:.{digits - 1}e}") for name, number in used.items()}
        pairs = [(_evaluate(part, rounded), _evaluate(part, used)) for part in parts]
        if all(math.isclose(short, exact, rel_tol=AGREES) for short, exact in pairs):
            break
    return _text(tree, lambda name: _number(used[name], digits))


def _number(number: float, digits: int) -> str:
    if math.isinf(number):
        return "∞" if number > 0 else "−∞"
    rounded = float(f"{number:.{digits - 1}e}")
    if rounded == 0 or 1e-4 <= abs(rounded) < 1e7:
        return np.format_float_positional(rounded, trim="-").replace("-", "−")
    mantissa, _, power = f"{rounded:.{digits - 1}e}".partition("e")
    return f"{np.format_float_positional(float(mantissa), trim='-')}×10{_raised(int(power))}".replace("-", "−")


def _raised(power: int) -> str:
    return str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


@cache
def _tree(formula: str) -> ast.expr:
    return ast.parse(formula, mode="eval").body


def _names(formula: str) -> list[str]:
    """Symbols of a formula, in the order in which they are written."""
    known = [node for node in ast.walk(_tree(formula)) if isinstance(node, ast.Name) and node.id not in _WORDS]
    return list(dict.fromkeys(node.id for node in sorted(known, key=lambda node: node.col_offset)))


_WORDS = {"sqrt": "√", "log": "ln", "log10": "log10", "tanh": "tanh", "cosh": "cosh", "abs": "abs"}
_WORDS |= {"min": "min", "max": "max", "pi": "π"}
_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sqrt": np.sqrt, "log": np.log, "log10": np.log10, "tanh": np.tanh, "cosh": np.cosh,
    "abs": np.abs, "min": np.minimum, "max": np.maximum,
}  # fmt: skip
_OPERATORS: dict[type[ast.operator], tuple[str, int, Callable[..., Any]]] = {
    ast.Add: (" + ", 1, np.add),
    ast.Sub: (" − ", 1, np.subtract),
    ast.Mult: (" × ", 2, np.multiply),
    ast.Div: (" / ", 2, np.divide),
    ast.Pow: ("^", 4, np.float_power),
}


def _evaluate(node: ast.expr, numbers: Mapping[str, float]) -> float:
    """nan and inf where arithmetic has no answer."""

    def of(node: ast.expr) -> Any:
        match node:
            case ast.Constant(value=value):
                return value
            case ast.Name(id=name):
                return math.pi if name == "pi" else numbers[name]
            case ast.UnaryOp(operand=operand):
                return -of(operand)
            case ast.Call(func=ast.Name(id=name), args=args):
                return _FUNCTIONS[name](*map(of, args))
            case ast.BinOp(left=left, op=op, right=right):
                return _OPERATORS[type(op)][2](of(left), of(right))
        raise AssertionError(ast.dump(node))  # pragma: no cover

    with np.errstate(all="ignore"):
        return float(of(node))


def _text(node: ast.expr, shown: Callable[[str], str]) -> str:
    """A formula as people write it, each symbol as `shown` has it."""

    def of(node: ast.expr, over: int) -> str:
        """In brackets if it binds less than `over`."""
        binds, text = 5, ""
        match node:
            case ast.Compare(left=left, ops=[op], comparators=[right]):
                return f"{of(left, 0)} {'=' if isinstance(op, ast.Eq) else '>'} {of(right, 0)}"
            case ast.Constant(value=int() | float() as value):
                text = _number(value, 12)
            case ast.Name(id=name):
                text = _WORDS.get(name) or shown(name)
            case ast.UnaryOp(operand=operand):
                binds, text = 3, f"−{of(operand, 3)}"
            case ast.Call(func=ast.Name(id=name), args=args):
                text = f"{_WORDS[name]}({', '.join(of(arg, 0) for arg in args)})"
            case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int() as power)):
                binds, text = 4, f"{of(left, 5)}{_raised(power)}"
            case ast.BinOp(left=left, op=op, right=right):
                sign, binds, _ = _OPERATORS[type(op)]
                text = of(left, binds + isinstance(op, ast.Pow)) + sign
                text += of(right, binds + isinstance(op, ast.Sub | ast.Div | ast.Pow))
        if binds == 5 and not isinstance(node, ast.Call):  # a number may bring a sign or a power of ten
            binds = 0 if text.startswith("−") else 2 if "×" in text else 5
        return f"({text})" if binds < over else text

    return of(node, 0)


# --- where inputs come from -----------------------------------------------------------------------------------

_EIGHTH = "one-eighth of rated power, preconditioning of amplifiers: 16 CFR 432.3(c)"
_DEFAULTS: dict[str, tuple[str, str]] = {  # what the modules say beside these defaults
    "damping_factor": ("common practice, no source", "common practice"),
    "music_share": (_EIGHTH, "read"),
    "full_power_v": ("CTA-2006", "memory"),
    "temperature_c": ("temperature of the wire tables, IEC 60028", "read"),
    "coil_ohm": ("common relay data", "memory"),
    "pull_in_v": ("common relay data", "memory"),
}


def _field(name: str, owner: object, field: str, unit: str = "", scale: float = 1.0) -> _Given:
    """A field of a value object: its default, with what is known of that, or entered."""
    number = float(getattr(owner, field))
    usual = getattr(relay.USUAL_12V if isinstance(owner, relay.Relay) else type(owner), field, None)
    if number != usual:
        return _Given(name, number * scale, unit)
    origin, confidence = _DEFAULTS.get(field, ("", ""))
    return _Given(name, number * scale, unit, f"default: {origin}" if origin else "default", confidence)


@cache
def _rows(table: str) -> list[dict[Hashable, Any]]:
    return tables.rows(table)


def _row(name: str, number: float, unit: str, row: Mapping[Hashable, Any], after: str = "") -> _Given:
    return _Given(name, number, unit, str(row["source"]), str(row["confidence"]), after)


# --- the wire -------------------------------------------------------------------------------------------------

_B258 = "ASTM B258"
_LINE = "IEC 60028: a straight line in temperature"
_OHM = "Ohm's law"


def _wire(conductor: Conductor, laid: runs.Laid) -> tuple[_Book, _Symbols]:
    metal, stranding = conductor.metal, conductor.stranding
    area_mm2, ohm = conductor.area_m2 * 1e6, conductor.ohm_per_m_20c
    book: _Book = {
        "ρ": _Given(f"resistivity of {metal.name} at 20 °C", metal.ohm_m_20c * 1e6, "Ω mm²/m", metal.source,
                    metal.confidence),
        "k": _Given(f"lay: strand over cable length, {stranding.name}", stranding.lay_factor, "", stranding.source,
                    stranding.confidence),
        "α": _Given(f"temperature coefficient of {metal.name}", metal.per_k_20c, "1/K", metal.source,
                    metal.confidence),
        "T": _field("conductor temperature", laid, "temperature_c", "°C"),
        "r": _Rule("One conductor at its temperature", f"R20*(1+α*(T-{REFERENCE_C:g}))", "Ω/m", _LINE),
        "w": _Given("ways: 2 out and back, 1 where the body brings the current back", laid.ways, "",
                    "by the kind of circuit"),
        "L": _field("run length, one way", laid, "length_m", "m"),
        "n": _field("conductors in parallel, each way", laid, "parallel"),
        "Rj": _field("joints, whole loop", laid, "joints_ohm", "Ω"),
        "Zw": _Rule("Loop resistance of the wire", "w*L*r/n+Rj", "Ω", "Resistances in series and in parallel"),
    }  # fmt: skip
    if conductor.label.endswith("AWG"):
        gauge = 36 - 39 * math.log(math.sqrt(4 / math.pi * area_mm2) / 0.127, 92)
        book["g"] = _Given("gauge number; 1/0 is 0, 2/0 is −1, 4/0 is −3", round(gauge, 9))
        book["A"] = _Rule("Metal cross-section", "pi/4*(0.127*92**((36-g)/39))**2", "mm²", _B258)
    else:
        book["A"] = _Given("metal cross-section, nominal", area_mm2, "mm²")
    title = "One conductor at 20 °C"
    if math.isclose(ohm * area_mm2, metal.ohm_m_20c * 1e6 * stranding.lay_factor):
        book["R20"] = _Rule(title, "ρ*k/A", "Ω/m", "Resistivity times length over cross-section")
        return book, _WIRE
    book["R20"] = _Given("one conductor at 20 °C", ohm, "Ω/m", conductor.source)
    over_copper = metal.ohm_m_20c / COPPER.ohm_m_20c
    for row in _rows("metric_conductors"):
        if not (row["area_mm2"] == round(area_mm2, 9) and row["table"] in conductor.source):
            continue
        ohm_per_km = row["max_ohm_per_km_20c"]
        book["Rt"] = _row(f"largest allowed at 20 °C, {row['table']}, {row['coating']}", ohm_per_km, "Ω/km", row)
        if math.isclose(ohm, ohm_per_km / 1000):
            book["R20"] = _Rule(title, "Rt/1000", "Ω/m", "Per metre from per kilometre")
            break
        if math.isclose(ohm, ohm_per_km / 1000 * over_copper):
            book["ρCu"] = _Given("resistivity of copper", COPPER.ohm_m_20c * 1e6, "Ω mm²/m", COPPER.source,
                                 COPPER.confidence)  # fmt: skip
            book["R20"] = _Rule(title, "Rt/1000*ρ/ρCu", "Ω/m", "The table's copper, by the ratio of resistivities")
            break
    return book, _WIRE


_WIRE: _Symbols = {"ohm_per_m": "r", "loop_ohm": "Zw", "area_mm2": "A"}


# --- what it feeds --------------------------------------------------------------------------------------------

_DIVIDER = "Voltage divider, any textbook of circuits"
_ALONE: _Symbols = {
    "current_a": "I",
    "heat_a": "I",
    "draw_a": "I",
    "load_v": "VL",
    "drop_v": "Vw",
    "drop_fraction": "u",
}
_DROP: _Book = {
    "Vw": _Rule("Drop across the wire", "I*Zw", "V", _OHM),
    "u": _Rule("Drop over supply", "Vw/V", "", "By definition"),
    "Vq": _Rule("Quick bound: the current with no wire in the way, times the wire", "I0*Zw", "V",
                "The paper sum; never less than the real drop"),
}  # fmt: skip


@singledispatch
def _circuit(run: runs.Run, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    raise InputError("Run", type(run).__name__, "a kind of wirecalc.runs")


@_circuit.register
def _speaker(run: runs.SpeakerRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    amplifier, load = run.amplifier, complex(run.load_ohm)
    ohm_of = {"ZL": _Given("load impedance", load.real, "Ω")}
    all_, bare, size, real = "(Zs+Zw+ZL)", "(Zs+ZL)", "ZL", "ZL"
    if load.imag:
        ohm_of = {
            "RL": _Given("load impedance, resistive part", load.real, "Ω"),
            "XL": _Given("load impedance, reactive part", load.imag, "Ω"),
        }
        all_, bare = "sqrt((Zs+Zw+RL)**2+XL**2)", "sqrt((Zs+RL)**2+XL**2)"
        size, real = "sqrt(RL**2+XL**2)", "RL"
    by_rating = "A rating read as a voltage source behind its output impedance"
    book = (
        _DROP
        | ohm_of
        | {
            "P": _field("amplifier power, the rating that applies", amplifier, "power_w", "W"),
            "Zr": _field("impedance of that rating", amplifier, "rated_ohm", "Ω"),
            "DF": _field("amplifier's damping factor at it", amplifier, "damping_factor"),
            "m": _field("average power over rated", run, "music_share"),
            "E": _Rule("Amplifier, open-circuit voltage", "sqrt(P*Zr)*(1+1/DF)", "V", by_rating),
            "Zs": _Rule("Amplifier, output impedance", "Zr/DF", "Ω", by_rating),
            "I": _Rule("Current in the loop", f"E/{all_}", "A", _OHM),
            "VL": _Rule("Voltage at the load", f"I*{size}", "V", _OHM),
            "PL": _Rule("Power at the load", f"I**2*{real}", "W", _OHM),
            "Pw": _Rule("Power in the wire", "I**2*Zw", "W", _OHM),
            "ΔL": _Rule("Level lost", f"20*log10({all_}/{bare})", "dB", _DIVIDER),
            "DL": _Rule(
                "Damping at the load", f"{size}/(Zs+Zw)", "", "Load over what it looks back into, by definition"
            ),
            "Iav": _Rule(
                "Average current, all conductors of one way", "I*sqrt(m)", "A", "Power goes with current squared"
            ),
            "I0": _Rule("Current with a wire of no resistance", f"E/{bare}", "A", _OHM),
            "P0": _Rule("Power at the load with a wire of no resistance", f"I0**2*{real}", "W", _OHM),
            "s": _Rule("Share that reaches the load", "100*PL/P0", "%", "By definition"),
        }
    )
    return book, {
        "loss_db": "ΔL", "load_w": "PL", "wire_w": "Pw", "drop_v": "Vw", "load_v": "VL", "damping_factor": "DL",
        "current_a": "I", "heat_a": "Iav", "quick_bound_v": "Vq", "bare_w": "P0", "share_percent": "s",
    }  # fmt: skip


@_circuit.register
def _line(run: runs.LineRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    cable = _field("capacitance of the cable", run, "farad_per_m", "pF/m", 1e12)
    for row in _rows("cable_capacitance"):
        if row["farad_per_m"] == run.farad_per_m:
            cable = _row(f"capacitance, as of {row['name']}", cable.number, cable.unit, row)
    low_pass = "First-order low-pass, any textbook; the cable's capacitance in one lump"
    book: _Book = {
        "Zs": _field("output impedance", run, "source_ohm", "Ω"),
        "Zi": _field("input impedance", run, "input_ohm", "Ω"),
        "C": cable,
        "f": _Given("highest tone", line_level.TOP_HZ / 1e3, "kHz", "common practice, no source", "common practice"),
        "Rs": _Rule("Source and wire", "Zs+Zw", "Ω", "Resistances in series"),
        "ΔL": _Rule("Level lost", "20*log10(1+Rs/Zi)", "dB", _DIVIDER,
                    "Against the source with nothing connected, so the output impedance counts too."),
        "τ": _Rule("Time constant", "C*L/(1/Rs+1/Zi)/1000", "ns", low_pass),
        "ΔT": _Rule("Lost at 20 kHz under mid band", "10*log10(1+(2*pi*f*τ/10**6)**2)", "dB", low_pass),
        "fc": _Rule("−3 dB point", "10**6/(2*pi*τ)", "kHz", low_pass,
                    "" if run.farad_per_m else "With no capacitance there is none."),
    }  # fmt: skip
    return book, {"loss_db": "ΔL", "treble_loss_db": "ΔT", "corner_khz": "fc"}


@_circuit.register
def _turn_on(run: runs.TurnOnRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    book = _DROP | {
        "I": _field("draw of all devices, taken as constant", run, "draw_a", "A"),
        "V": _field("voltage at the head unit's output", run, "supply_v", "V"),
        "Vw": _Rule("Drop along the lead, at most all there is", "min(I*Zw,V)", "V", _OHM),
        "VL": _Rule("Voltage at the last device", "V-Vw", "V", "Kirchhoff's voltage law"),
        "Vq": _Rule("Quick bound: the draw times the wire", "I*Zw", "V", _OHM),
    }
    return book, _ALONE | {"quick_bound_v": "Vq"}


@_circuit.register
def _relay(run: runs.RelayRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    warm = f"*(1+αCu*(Tk-{REFERENCE_C:g}))"
    supply_v = _field("supply voltage, the lowest that must still work", run, "supply_v", "V")
    if run.supply_v == relay.LEAST_SUPPLY_V:
        supply_v = _Given(supply_v.name, supply_v.number, "V", "lower end of a 12 V supply: ISO 16750-2:2010", "read")
    book = _DROP | {
        "V": supply_v,
        "Rc0": _field("coil resistance at 20 °C", run.relay, "coil_ohm", "Ω"),
        "Vp0": _field("pull-in voltage at 20 °C", run.relay, "pull_in_v", "V"),
        "Tk": _field("coil temperature when it must pull in", run, "coil_c", "°C"),
        "αCu": _Given("temperature coefficient of the coil's copper", COPPER.per_k_20c, "1/K", COPPER.source,
                      COPPER.confidence),
        "Rc": _Rule("Coil as warm as it is", f"Rc0{warm}", "Ω", _LINE),
        "Vp": _Rule("Pull-in voltage as warm as it is", f"Vp0{warm}", "V",
                    "The magnet needs its current, so the voltage grows with the coil's resistance"),
        "VL": _Rule("Voltage at the coil", "V*Rc/(Rc+Zw)", "V", _DIVIDER),
        "I": _Rule("Coil current", "VL/Rc", "A", _OHM),
        "ΔV": _Rule("Over pull-in when hot", "VL-Vp", "V", "By definition"),
        "I0": _Rule("Current with a wire of no resistance", "V/Rc", "A", _OHM),
    }  # fmt: skip
    return book, _ALONE | {"margin_v": "ΔV", "quick_bound_v": "Vq"}


@_circuit.register
def _lamp(run: runs.LampRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
    lit, bare = run.strip(ohm), run.strip(0.0)
    reason = strip.lit(lit).reason
    book = _DROP | {
        "V": _field("supply voltage where the run starts", run, "supply_v", "V"),
        "Ls": _field("strip length", run, "strip_m", "m"),
        "i": _field("strip current per metre", run, "amps_per_m", "A/m"),
        "rs": _field("strip resistance per metre, both of its conductors", run, "strip_ohm_per_m", "Ω/m"),
        "Lh": _Rule("Length of strip that one feed lights", "Ls/2" if run.both_ends else "Ls", "m", "By symmetry",
                    "Fed alike from both ends, so the dimmest lamp is in the middle." if run.both_ends else ""),
    }  # fmt: skip
    if run.lamps == strip.RESISTIVE:
        line = "Like a line that leaks, v'' = rs (i/Vn) v; derived in wirecalc.strip, held against ngspice"
        book |= {
            "Vn": _field("voltage that the strip's current is stated at", lit, "nominal_v", "V"),
            "γ": _Rule("Decay per metre of strip", "sqrt(rs*i/Vn)", "1/m", line),
            "Rw": _Rule("Resistance that a very long strip would show", "sqrt(rs*Vn/i)", "Ω", line),
            "VL": _Rule("Voltage at the first lamp", "V/(1+Zw/Rw*tanh(γ*Lh))", "V", line),
            "I": _Rule("Current in the run", "VL*tanh(γ*Lh)/Rw", "A", line),
            "Vd": _Rule("Voltage at the dimmest lamp", "VL/cosh(γ*Lh)", "V", line),
            "I0": _Rule("Current with a wire of no resistance", "V*tanh(γ*Lh)/Rw", "A", line),
        }
    else:
        parabola = "Lamps of constant current, v'' = rs i; derived in wirecalc.strip, held against ngspice"
        book |= {
            "I": _Rule("Current in the run", "i*Lh", "A", parabola, reason),
            "VL": _Rule("Voltage at the first lamp", "V-I*Zw", "V", _OHM, reason),
            "Vd": _Rule("Voltage at the dimmest lamp", "VL-rs*i*Lh**2/2", "V", parabola, reason),
            "I0": _Rule("Current with a wire of no resistance", "i*Lh", "A", parabola, strip.lit(bare).reason),
        }
    return book, _ALONE | {"last_v": "Vd", "quick_bound_v": "Vq"}


@_circuit.register
def _feed(run: runs.FeedRun, ohm: float, found: Mapping[str, float]) -> tuple[_Book, _Symbols]:
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
        "P": _field("rated power, all channels", run, "rated_w", "W"),
        "η": _Given(f"efficiency at rated power, {kind.name}", kind.efficiency, "", kind.source, kind.confidence),
        "x": _Given(f"the draw goes with output to the power, {kind.name}", kind.exponent, "", kind.source,
                    kind.confidence),
        "V": _field("voltage at the battery", run, "supply_v", "V"),
        "Vf": _field("voltage that gives rated power", run, "full_power_v", "V"),
        "m": _field("average output over rated", run, "music_share"),
        "Pd": _Rule("Draw at rated power", "P/η", "W", "Efficiency, by definition"),
        "Rd": _Rule("Resistance that the draw amounts to", "Vf**2/Pd", "Ω", model),
        "v": _Rule("Voltage at the amplifier, full output", "V/2*(1+sqrt(1-4*Zw*Pd/V**2))", "V", constant)
        if holds else _Rule("Voltage at the amplifier, full output", "V*Rd/(Rd+Zw)", "V", _DIVIDER),
        "y": _Rule(f"{rated}, over rated", reached.format("v"), "", model, no_more),
        "y0": _Rule(f"{rated} with a wire of no resistance, over rated", reached.format("V"), "", model, no_more),
        "I": _Rule("Current at full output", "y*Pd/v", "A", "Power over voltage"),
        "I0": _Rule("Current with a wire of no resistance", "y0*Pd/V", "A", "Power over voltage"),
        "ΔL": _Rule("Level lost", "10*log10(y0/y)", "dB", "Decibels of a ratio of powers"),
        "Po": _Rule("Output that is left", "P*y", "W", "By definition"),
        "Pm": _Rule("Average draw", "P/η*m**x", "W", "Efficiency, by definition; exponent by class"),
        "vm": _Rule("Voltage at the amplifier, average draw", "V/2*(1+sqrt(1-4*Zw*Pm/V**2))", "V", constant, reason),
        "Iav": _Rule("Average current, all conductors of one way", "Pm/vm", "A", "Power over voltage", reason),
    }  # fmt: skip
    return book, _ALONE | {"load_v": "v", "loss_db": "ΔL", "output_w": "Po", "heat_a": "Iav", "quick_bound_v": "Vq"}


# --- how warm it gets -----------------------------------------------------------------------------------------

_CFR = "33 CFR 183.425 table 5"
_CHURCHILL = "Churchill, Chu, Int J Heat Mass Transfer 18 (1975) 1049; from memory, checked against ht"
_AIR = "U.S. Standard Atmosphere 1976; from memory, checked against fluids"
_CONDUCTION = "Conduction through a round wall, any textbook of heat transfer"
_K = f"{heat.KELVIN}"
_LEAVES = f"pi*Db/1000*(h*(Ts-Ta)+ε*σ*((Ts+{_K})**4-(Ta+{_K})**4))/N"
_NEWTON = "Solved by Newton's steps until both sides agree; the steps before have the answer in them."


def _warmth(
    measure: str,
    conductor: Conductor,
    laid: runs.Laid,
    place: runs.Place,
    symbols: _Symbols,
    found: Mapping[str, float],
) -> tuple[_Book, _Symbols]:
    """Temperature, allowable current and fuse; one heat balance, solved for the one or for the other."""
    insulation = place.insulation
    named: _Symbols = {"limit_c": "Tmax", "allowable_a": "Iz"}
    book = _coat(conductor, place) | _published(conductor, place)
    book["Tmax"] = _Given(f"insulation's limit, {insulation.name}", insulation.limit_c, "°C", insulation.source,
                          insulation.confidence)  # fmt: skip
    book["Iz"] = _Rule("Allowable current of one conductor", "min(It,Ib)", "A", "The lower of table and heat balance")
    if "heat_a" in found:
        book["I1"] = _Rule("Average current of one conductor", f"{symbols['heat_a']}/n", "A", "Like conductors share")
        named |= {"current_a": "I1", "temperature_c": "Tc"}
    if "draw_a" in found:
        book |= _fuse(symbols["draw_a"], found["allowable_a"] - found["fuse_headroom_a"])
        named["fuse_headroom_a"] = "ΔI"
        if math.isnan(found["fuse_headroom_a"]):  # no draw, no fuse: it ends where the draw does
            named["fuse_headroom_a"] = symbols["draw_a"]

    current, warm, rise = "Ib", "Tmax", "{}-q*Rth"
    if measure == "temperature_c":
        current, warm, core_c = "I1", "Tc", found["temperature_c"]
        if math.isnan(core_c):
            named["temperature_c"] = "I1"
    else:
        allowed = heat.allowable(heat.insulated([conductor], insulation), place.ambient_c, place.loaded)
        balance_a = float(allowed.balance_a[0])
    made = f"{current}**2*R20*(1+α*({warm}-{REFERENCE_C:g}))"
    balance = "Balance of each metre: heat made = heat that leaves by air and radiation, all wires as one round bundle"
    if measure != "temperature_c":
        book["Ib"] = _Rule("Current that brings the conductor to its limit", f"{made} == {_LEAVES}", "A", balance,
                           _NEWTON, balance_a)  # fmt: skip
        rise = "max(Ta,{}-q*Rth)" if balance_a == 0 else rise
    elif math.isinf(core_c):
        book["Te"] = _Given("where the calculation ends", HOTTEST_C, "°C", "wirecalc.conductor", "computed")
        made, warm, rise = made.replace("Tc", "Te"), "Te", "max(Ta,{}-q*Rth)"
        book["Tc"] = _Rule(
            "No steady temperature",
            f"{made} > {_LEAVES}",
            "°C",
            balance,
            f"Even at {HOTTEST_C:g} °C more heat is made than leaves: it gets hotter than that.",
        )
    else:
        book["Tc"] = _Rule("Conductor temperature", f"{made} == {_LEAVES}", "°C", balance, _NEWTON, core_c)
    book["q"] = _Rule("Heat made in each metre", made, "W/m", "Joule's law")
    book["Ts"] = _Rule("Surface temperature", rise.format(warm), "°C", _CONDUCTION)
    return book, named


def _coat(conductor: Conductor, place: runs.Place) -> _Book:
    """From the metal to the air around the bundle."""
    stranding, insulation = conductor.stranding, place.insulation
    stated = (insulation.source, insulation.confidence)
    ambient = _field("air around the wire", place, "ambient_c", "°C")
    for zone in heat.ZONES.values():
        if zone.ambient_c == place.ambient_c:
            ambient = _Given(f"air, as in: {zone.name}", zone.ambient_c, "°C", zone.source, zone.confidence)
    return {
        "φ": _Given(f"metal in the circle around the strands, {stranding.name}", stranding.fill, "", stranding.source,
                    stranding.confidence),
        "d": _Rule("Diameter over the strands", "2*sqrt(A/φ/pi)", "mm", "Area of a circle"),
        "D": _Rule("Diameter over the insulation", "d+2*(0.2+0.08*d)", "mm",
                   "Thin wall, near ISO 6722-1; from memory"),
        "N": _field("loaded conductors that lie together", place, "loaded"),
        "Db": _Rule("Diameter of the bundle", "D*sqrt(N)", "mm", "As if no air were between the wires"),
        "λ": _Given(f"thermal conductivity, {insulation.name}", insulation.w_per_m_k, "W/(m K)", *stated),
        "ε": _Given(f"emissivity, {insulation.name}", insulation.emissivity, "", *stated),
        "σ": _Given("Stefan-Boltzmann constant", heat.STEFAN_BOLTZMANN, "W/(m² K⁴)", "CODATA", "memory"),
        "Rth": _Rule("Thermal resistance, hottest core to surface", "log(D/d)/(2*pi*λ)+(N-1)/(4*pi*λ)", "m K/W",
                     _CONDUCTION),
        "Ta": ambient,
        "Tf": _Rule("Air film, absolute", f"(Ts+Ta)/2+{_K}", "K", "Mean of surface and air"),
        "μ": _Rule("Viscosity of the air", "1.458e-6*Tf**1.5/(Tf+110.4)", "Pa s", _AIR),
        "λa": _Rule("Conductivity of the air", "2.64638e-3*Tf**1.5/(Tf+245.4*10**(-12/Tf))", "W/(m K)", _AIR),
        "ρa": _Rule("Density of the air", f"{heat.AIR_PA}/({heat.GAS_J_PER_KG_K}*Tf)", "kg/m³",
                    "Ideal gas at sea level"),
        "Pr": _Rule("Prandtl number", f"μ*{heat.AIR_J_PER_KG_K}/λa", "", "By definition"),
        "Gr": _Rule("Grashof number", f"{heat.GRAVITY}*abs(Ts-Ta)/Tf*(Db/1000)**3*(ρa/μ)**2", "", "By definition"),
        "h": _Rule("Natural convection",
                   "λa/(Db/1000)*(0.6+0.387*(Gr*Pr)**(1/6)/(1+(0.559/Pr)**(9/16))**(8/27))**2", "W/(m² K)",
                   _CHURCHILL),
    }  # fmt: skip


def _published(conductor: Conductor, place: runs.Place) -> _Book:
    """What the published table lets one conductor carry, with its factors for air and bundle."""
    rows, limit_c = _rows("ampacity"), place.insulation.limit_c  # thin to thick
    columns_c = [int(str(name)[2:-1]) for name in rows[0] if str(name).startswith("a_")]
    column_c = max(column for column in columns_c if column <= limit_c)
    cells_a = [float(row[f"a_{column_c}c"]) for row in rows]
    areas_mm2 = awg_area_m2([row["awg"] for row in rows]) * 1e6
    like_mm2 = COPPER.ohm_m_20c * 1e6 * STRANDED.lay_factor / conductor.ohm_per_m_20c
    after = int(np.searchsorted(areas_mm2, like_mm2 * (1 - 1e-9)))
    like = "Table, a straight line over area to the next size"

    def cell(row: int) -> _Given:
        name = f"{awg_label(rows[row]['awg'])} in the {column_c} °C column"
        return _row(name, cells_a[row], "A", rows[row], "Aeq")

    def area(row: int) -> _Given:
        return _Given(f"metal of {awg_label(rows[row]['awg'])}", float(areas_mm2[row]), "mm²", _B258, "computed")

    factors = _rows("ampacity_factors")
    book: _Book = {
        "ρCu": _Given("resistivity of copper", COPPER.ohm_m_20c * 1e6, "Ω mm²/m", COPPER.source, COPPER.confidence),
        "kCu": _Given(f"lay, {STRANDED.name}", STRANDED.lay_factor, "", STRANDED.source, STRANDED.confidence),
        "Aeq": _Rule("Stranded copper of the same resistance", "ρCu*kCu/R20", "mm²",
                     "The table is for stranded copper: others count for what they conduct"),
        "Tt": _Given("the table's column at or under the insulation's limit", column_c, "°C", _CFR,
                     str(rows[0]["confidence"])),
        "fa": _Rule("Factor for the air", f"sqrt(min(1,max(0,(Tt-Ta)/(Tt-{heat.TABLE_AMBIENT_C:g}))))", "",
                    "The rise goes with the current squared; 1 up to the table's 30 °C"),
        "fn": _Rule("Factor for the bundle", "min(f1,f2)", "", "The lower of two rules"),
        "It": _Rule("Allowed by the published table", "I2*fa*fn", "A", _CFR),
    }  # fmt: skip
    if after == len(rows):
        book["I2"] = cell(after - 1)  # over the thickest nothing is added
    elif math.isclose(areas_mm2[after], like_mm2):
        book["I2"] = cell(after)
    elif after == 0:
        book |= {
            "I4": cell(0),
            "A4": area(0),
            "I2": _Rule("Table, in proportion under its thinnest", "I4*Aeq/A4", "A", like),
        }
    else:
        book |= {"I3": cell(after - 1), "I4": cell(after), "A3": area(after - 1), "A4": area(after)}
        book["I2"] = _Rule("Table, between two sizes", "I3+(I4-I3)*(Aeq-A3)/(A4-A3)", "A", like)
    if place.ambient_c >= heat.ENGINE_SPACE_C:
        row = next(row for row in factors if row["rule"].startswith("engine space") and row["at"] == column_c)
        book["fe"] = _row("factor for engine spaces", row["factor"], "", row)
        book["fa"] = _Rule("Factor for the air, from 50 °C on not over that for engine spaces",
                           f"min(fe,sqrt(max(0,(Tt-Ta)/(Tt-{heat.TABLE_AMBIENT_C:g}))))", "", _CFR)  # fmt: skip
    for symbol, rule in (("f1", "33 CFR"), ("f2", "IEC 60364")):
        ladder = [row for row in factors if row["rule"].startswith(rule)]
        row = next((row for row in ladder if row["at"] >= place.loaded), ladder[-1])
        book[symbol] = _row(f"factor of {row['rule']}: {row['at']:g}", row["factor"], "", row)
        if row["at"] < place.loaded:
            book["f3"], most = book[symbol], row["at"]
            book[symbol] = _Rule(f"Factor past the {most:g} of {rule}", f"f3*sqrt({most:g}/N)", "", "Falls as 1/√N")
    return book


def _fuse(draw: str, rating_a: float) -> _Book:
    """Room over the smallest standard fuse of one conductor; `rating_a` is inf where none is large enough."""
    known = [row for row in _rows("fuses") if math.isclose(row["rating_a"], rating_a)]
    name = "the smallest standard fuse of at least If"
    none = "No standard fuse carries this draw: split the load over several feeds." if not known else ""
    if known:
        fuse_a = _row(f"{name}, {known[0]['family']}", known[0]["rating_a"], "A", known[0], "If")
    else:
        fuse_a = _Given(name, rating_a, "A", "data/fuses.csv has none so large", "", "If")
    return {
        "If": _Rule("Least rating for the draw, a fuse for each conductor", f"{draw}/n/{fuse.LOADING}", "A",
                    f"At most {fuse.LOADING:.0%} of a fuse's rating: common practice, no source"),
        "F": fuse_a,
        "ΔI": _Rule("Room for a fuse", "Iz-F", "A", "A fuse protects the wire: at or under what the wire may carry",
                    none),
    }  # fmt: skip
