"""Formulas as text: their inputs with sources, this run's numbers put in, and the steps that lead to a number.

A formula stands in Python's grammar. Symbols in it are inputs or come from other formulas; those that a number needs
are shown in order. The tests put the shown text back into arithmetic.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Hashable, Mapping
from functools import cache
from typing import Any

import numpy as np

from wirecalc import runs, tables
from wirecalc.circuits import relay
from wirecalc.units_taken import dataclass

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
class Given:
    """A number that is put in, before it is shown."""

    name: str
    number: float
    unit: str = ""
    origin: str = "entered"
    confidence: str = ""
    after: str = ""
    """A symbol to be worked out before: this one was looked up by it."""


@dataclass(frozen=True)
class Rule:
    """A formula before numbers are put in."""

    title: str
    formula: str
    """In Python's grammar; `a == b` for a balance that is solved for the symbol."""
    unit: str = ""
    source: str = ""
    note: str = ""
    solved: float | None = None
    """The answer of a balance, where there is one; the formulas before it have it in them."""


Book = dict[str, Given | Rule]
Symbols = dict[str, str]  # of each measure


# --- from a book of formulas to steps -------------------------------------------------------------------------


def worked(
    measure: str, book: Book, symbol: str, value: float | None = None, what: runs.Measure | None = None
) -> Working:
    """The formulas that one symbol needs, in the order of working, ending at its number.

    Parameters
    ----------
    measure : str
        Key of the measure that is shown, such as "loss_db".
        The key by which a page asks for the number.
    book : mapping of str to Given or Rule
        Inputs and formulas by symbol.
    symbol : str
        The one that stands for the measure.
        Whose number is asked.
    value : float, optional
        As it was computed elsewhere; worked out from the formula if not given.
    what : wirecalc.runs.Measure, optional
        Name and unit; those in the book if not given.

    Returns
    -------
    Working
        Ready to be shown.
    """
    last = book[symbol]
    if what is None:
        name = last.name if isinstance(last, Given) else last.title
        what = runs.Measure(name=name[0].upper() + name[1:], unit=last.unit, decimals=3)
    steps = _steps(book, symbol, value, what)
    answer = steps[-1].value if value is None else value
    return Working(measure=measure, title=what.name, value=answer, unit=what.unit, steps=steps)


def _steps(book: Book, symbol: str, value: float | None, what: runs.Measure) -> tuple[Step, ...]:
    last = book[symbol]
    if isinstance(last, Given):  # nothing to work out
        book = book | {what.name: Rule(what.name, symbol, last.unit)}
        symbol = what.name
    numbers: dict[str, float] = {}
    inputs: dict[str, Input] = {}
    steps: list[Step] = []

    def need(name: str) -> None:
        if name in numbers:
            return
        entry = book[name]
        if isinstance(entry, Given):
            if entry.after:
                need(entry.after)
            numbers[name] = entry.number
            inputs[name] = Input(
                symbol=name,
                name=entry.name,
                value=f"{number_text(entry.number, 7)} {entry.unit}".rstrip(),
                origin=entry.origin or "no source given",
                confidence=entry.confidence,
            )
            return
        if entry.solved is not None:
            numbers[name] = entry.solved
        for other in names_in(entry.formula):
            need(other)
        tree = parsed(entry.formula)
        if entry.solved is None:
            own = value if name == symbol else None
            numbers[name] = evaluated(tree, numbers) if own is None else own
        why = next((step.note for step in steps if step.note), "") if math.isnan(numbers[name]) else ""
        steps.append(
            Step(
                title=entry.title,
                symbol="" if name == what.name else name,
                formula=formula_in_words(tree, lambda known: known),
                filled=_filled(tree, numbers),
                value=numbers[name],
                unit=entry.unit,
                inputs=tuple(inputs.pop(other) for other in names_in(entry.formula) if other in inputs),
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
        pairs = [(evaluated(part, rounded), evaluated(part, used)) for part in parts]
        if all(math.isclose(short, exact, rel_tol=AGREES) for short, exact in pairs):
            break
    return formula_in_words(tree, lambda name: number_text(used[name], digits))


_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M"}
_PREFIXED = ("F", "H")  # which nobody writes bare
_TAKES_ONE = (*_PREFIXED, "Hz", "V", "A", "W", "Ω", "s")


def number_text(number: float, digits: int) -> str:
    """A number with so many significant digits; large and small ones with a power of ten.

    Parameters
    ----------
    number : float
        Infinite too; "none" for nan, where there is no answer.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Without useless zeros.
    """
    if math.isinf(number):
        return "∞" if number > 0 else "−∞"
    if math.isnan(number):
        return "none"
    rounded = float(f"{number:.{digits - 1}e}")
    if rounded == 0 or 1e-4 <= abs(rounded) < 1e7:
        return np.format_float_positional(rounded, trim="-").replace("-", "−")
    mantissa, _, power = f"{rounded:.{digits - 1}e}".partition("e")
    return f"{np.format_float_positional(float(mantissa), trim='-')}×10{_raised(int(power))}".replace("-", "−")


def amount_text(value: float, unit: str) -> str:
    """A number of four digits and its unit, with the prefix that the trade writes: "700 pF", "12.35 nV".

    Parameters
    ----------
    value : float
        Infinite too; "no answer" for nan.
    unit : str
        Farad and henry always get a prefix; hertz, volt, ampere, watt, ohm and second where the number is very large
        or very small; others none.

    Returns
    -------
    str
    """
    if math.isnan(value):
        return "no answer"
    bare = value == 0 or 1e-5 <= abs(value) < 1e7
    if math.isfinite(value) and value and unit in (_PREFIXED if bare else _TAKES_ONE):
        power = 3 * math.floor(math.log10(abs(float(f"{value:.3e}"))) / 3)
        power = min(max(power, min(_PREFIXES)), max(_PREFIXES))
        value, unit, bare = value / 10.0**power, f"{_PREFIXES[power]}{unit}", True
    text = np.format_float_positional(float(f"{value:.3e}"), trim="-") if bare else number_text(value, 4)
    return f"{text} {unit}".rstrip().replace("-", "−")


def _raised(power: int) -> str:
    return str(power).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


@cache
def parsed(formula: str) -> ast.expr:
    """A formula in Python's grammar."""
    return ast.parse(formula, mode="eval").body


def names_in(formula: str) -> list[str]:
    """Symbols of a formula, in the order in which they are written."""
    known = [node for node in ast.walk(parsed(formula)) if isinstance(node, ast.Name) and node.id not in _WORDS]
    return list(dict.fromkeys(node.id for node in sorted(known, key=lambda node: node.col_offset)))


_WORDS = {"sqrt": "√", "log": "ln", "log10": "log10", "tanh": "tanh", "cosh": "cosh", "abs": "abs"}
_WORDS |= {"min": "min", "max": "max", "pi": "π", "floor": "floor", "ceil": "ceil"}
_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sqrt": np.sqrt, "log": np.log, "log10": np.log10, "tanh": np.tanh, "cosh": np.cosh,
    "abs": np.abs, "min": np.minimum, "max": np.maximum, "floor": np.floor, "ceil": np.ceil,
}  # fmt: skip
_OPERATORS: dict[type[ast.operator], tuple[str, int, Callable[..., Any]]] = {
    ast.Add: (" + ", 1, np.add),
    ast.Sub: (" − ", 1, np.subtract),
    ast.Mult: (" × ", 2, np.multiply),
    ast.Div: (" / ", 2, np.divide),
    ast.Pow: ("^", 4, np.float_power),
}


def evaluated(node: ast.expr, numbers: Mapping[str, float]) -> float:
    """The value of a formula.

    Parameters
    ----------
    node : ast.expr
        A formula that `parsed` has let through.
    numbers : mapping of str to float
        By symbol.

    Returns
    -------
    float
        nan or inf where arithmetic has no answer.
    """

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


def formula_in_words(node: ast.expr, shown: Callable[[str], str]) -> str:
    """A formula as people write it.

    Parameters
    ----------
    node : ast.expr
        A formula that `parsed` has let through.
    shown : callable of str -> str
        A symbol as it is to be shown: itself, or its number.

    Returns
    -------
    str
        With × for the product, and brackets only where they are needed.
    """

    def of(node: ast.expr, over: int) -> str:
        """In brackets if it binds less than `over`."""
        binds, text = 5, ""
        match node:
            case ast.Compare(left=left, ops=[op], comparators=[right]):
                return f"{of(left, 0)} {'=' if isinstance(op, ast.Eq) else '>'} {of(right, 0)}"
            case ast.Constant(value=int() | float() as value):
                text = number_text(value, 12)
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

_EIGHTH = (
    "one-eighth of rated power, as 16 CFR 432.3(c) preconditions amplifiers; that music averages it: common practice,"
    " no source"
)
_DEFAULTS: dict[str, tuple[str, str]] = {  # what the modules say beside these defaults
    "damping_factor": ("common practice, no source", "common practice"),
    "music_share": (_EIGHTH, "read"),
    "full_power_v": ("CTA-2006", "memory"),
    "temperature_c": ("temperature of the wire tables, IEC 60028", "read"),
    "coil_ohm": ("common relay data", "memory"),
    "pull_in_v": ("common relay data", "memory"),
}


def field_of(name: str, owner: object, field: str, unit: str = "", scale: float = 1.0) -> Given:
    """A field of a value object as an input: its default with what is known of that, or a value that was entered.

    Parameters
    ----------
    name : str
        What it is, in words.
    owner : object
        A run or a relay, say.
    field : str
        Name of the field of `owner`.
    unit : str
        Of the number that is shown.
    scale : float
        From the field's own unit to `unit`.

    Returns
    -------
    Given
        In `unit`.

    See Also
    --------
    row_of : From a table's row.
    """
    number = float(getattr(owner, field))
    usual = getattr(relay.USUAL_12V if isinstance(owner, relay.Relay) else type(owner), field, None)
    if number != usual:
        return Given(name, number * scale, unit)
    origin, confidence = _DEFAULTS.get(field, ("", ""))
    return Given(name, number * scale, unit, f"default: {origin}" if origin else "default", confidence)


@cache
def rows_of(table: str) -> list[dict[Hashable, Any]]:
    """The rows of a table of `data/`."""
    return tables.rows(table)


def row_of(name: str, number: float, unit: str, row: Mapping[Hashable, Any], after: str = "") -> Given:
    """A value of a table as an input, with its row's source and confidence.

    Parameters
    ----------
    name : str
        What it is, in words.
    number : float
        In `unit`.
    unit : str
        Of `number`.
    row : mapping
        With "source" and "confidence".
    after : str
        What is said behind the source.

    Returns
    -------
    Given
        In `unit`.

    See Also
    --------
    field_of : From a value object.
    """
    return Given(name, number, unit, str(row["source"]), str(row["confidence"]), after)
