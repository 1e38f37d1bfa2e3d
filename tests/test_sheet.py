"""Formulas worked down on a sheet; here is also the arithmetic, complex, that every such sheet is held to."""

from __future__ import annotations

import ast
import cmath
import math
import re
from collections.abc import Callable
from typing import Any

import mpmath
import pytest

from wirecalc.sheet import Sheet, shown
from wirecalc.workings import Input, Step, Working, _Given

FOUR_DIGITS = 5e-5

# --- an arithmetic that knows nothing of the module's ---------------------------------------------------------

FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sqrt": cmath.sqrt, "ln": cmath.log, "log10": cmath.log10, "abs": abs,
    "min": lambda a, b: min(a.real, b.real), "max": lambda a, b: max(a.real, b.real),
    "tanh": cmath.tanh, "cosh": cmath.cosh, "real": lambda z: z.real, "imag": lambda z: z.imag,
    "I0": lambda z: complex(mpmath.besseli(0, z)), "I1": lambda z: complex(mpmath.besseli(1, z)),
}  # fmt: skip
PLAIN = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


def arithmetic(text: str) -> complex:
    """What a person with a calculator for complex numbers gets from a filled-in formula."""
    text = re.sub(r"×10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)", lambda power: f"e{power[1].translate(PLAIN)}", text)
    text = re.sub(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda power: f"**{power[0].translate(PLAIN)}", text)
    for said, plain in (("×", "*"), ("−", "-"), ("^", "**"), ("√", "sqrt"), ("π", repr(math.pi)), ("∞", "1e999")):
        text = text.replace(said, plain)
    return of(ast.parse(text, mode="eval").body)


def of(node: ast.expr) -> complex:
    match node:
        case ast.Constant(value=int() | float() as value):
            return float(value)
        case ast.Name(id="j"):
            return 1j
        case ast.Name(id="e"):
            return math.e
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -of(operand)
        case ast.Call(func=ast.Name(id=name), args=args):
            return FUNCTIONS[name](*map(of, args))
        case ast.BinOp(left=left, op=op, right=right):
            a, b = of(left), of(right)
            match op:
                case ast.Add():
                    return a + b
                case ast.Sub():
                    return a - b
                case ast.Mult():
                    return a * b
                case ast.Div():
                    return a / b if b else math.inf
                case ast.Pow():
                    return a**b
    raise AssertionError(f"not arithmetic: {ast.dump(node)}")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("abs(3 + j × 4) / 2", 2.5),
        ("(1 − j × 2) × (1 + j × 2)", 5),
        ("2×10⁻³ × e^(j × π)", -0.002),
        ("real(√(j × 2))", 1),
        ("imag(√(j × 2) × I0(√(j × 2)) / (2 × I1(√(j × 2))))", 0.2474),  # 2/8, less a little: the series of skin.py
    ],
)
def test_the_arithmetic(text: str, value: float) -> None:
    assert arithmetic(text) == pytest.approx(value, abs=1e-4)


def proven(found: Working) -> None:
    """Every filled-in formula gives its step's value; nothing is used that was not put in or worked out before."""
    known = {"π", "ln", "j", "e", *FUNCTIONS}
    for step in found.steps:
        said = f"{step.title}: {step.symbol}: {step.formula}: {step.filled}: {step.value}"
        for one in step.inputs:
            assert one.symbol not in known, said
            assert one.value, said
            assert one.name, said
            assert one.origin, said
            known.add(one.symbol)
        if step.filled:
            symbols = set(re.findall(r"[^\W\d_]\w*", re.sub("[²³⁻⁰-⁹]", "", step.formula)))
            assert symbols <= known, (said, symbols - known)
        known.add(step.symbol.strip("|"))  # with the size of a complex number the number itself is given
        assert step.source, said
        if " > " in step.filled:
            more, less = map(arithmetic, step.filled.split(" > "))
            assert more.real > less.real, said
        elif step.filled:
            result = arithmetic(step.filled)
            assert result.imag == pytest.approx(0, abs=1e-12), said
            assert result.real == pytest.approx(step.value, rel=FOUR_DIGITS, abs=1e-12), said
    assert (found.value, found.unit) == (found.steps[-1].value, found.steps[-1].unit)


# --- the sheet ------------------------------------------------------------------------------------------------


def test_inputs_stand_with_the_first_formula_that_has_them() -> None:
    sheet = Sheet()
    sheet.put("a", _Given("first", 3.0, "Ω", "a table", "read"))
    sheet.put("b", _Given("second", 4.0, "Ω"))
    sheet.put("c", _Given("third", 2.0))
    sheet.work("|z|", "Size", "abs(a+j*b)", "Ω", "Pythagoras")
    sheet.numbers["z"] = 3 + 4j
    sheet.put("a", _Given("again", 3.0))
    sheet.work("y", "Twice", "a+abs(c*z)", "Ω", "By definition", "so it is")
    found = sheet.working("y")
    proven(found)
    first, second = found.steps
    assert first.inputs == (
        Input(symbol="a", name="first", value="3 Ω", origin="a table", confidence="read"),
        Input(symbol="b", name="second", value="4 Ω", origin="entered", confidence=""),
    )
    assert (first.formula, first.filled, first.value) == ("abs(a + j × b)", "abs(3 + j × 4)", 5.0)
    assert [one.symbol for one in second.inputs] == ["c"]
    assert (second.filled, second.value, second.note) == ("3 + abs(2 × (3 + j × 4))", 13.0, "so it is")


def test_another_working_is_gone_on_from_and_nothing_is_listed_twice() -> None:
    entered = Input(symbol="A", name="area", value="2 mm²", origin="entered", confidence="")
    by_itself = Step(title="Area", symbol="", formula="A", filled="2", value=2.0, unit="mm²", inputs=(entered,),
                     source="", note="")  # fmt: skip
    worked = Step(title="Half", symbol="h", formula="A / 2", filled="2 / 2", value=1.0, unit="mm²", inputs=(entered,),
                  source="By definition", note="")  # fmt: skip
    sheet = Sheet()
    for steps in ((worked,), (worked,), (by_itself,)):
        sheet.take(Working(measure="x", title="x", value=steps[-1].value, unit="mm²", steps=steps))
    sheet.work("q", "Quarter", "h/2", "mm²", "By definition")
    found = sheet.working("q")
    proven(found)
    assert [step.symbol for step in found.steps] == ["h", "q"]
    sheet = Sheet()
    sheet.take(Working(measure="x", title="x", value=2.0, unit="mm²", steps=(by_itself,)))
    sheet.work("q", "Quarter", "A/4", "mm²", "By definition")
    assert sheet.working("q").steps[0].inputs == (entered,)


def test_a_comparison_shows_what_tells_its_sides_apart() -> None:
    sheet = Sheet()
    sheet.put("a", _Given("one", -1.000002, "dB"))
    sheet.put("b", _Given("other", 1.000001, "dB"))
    sheet.work("f", "Where", "abs(a)>abs(b)", "Hz", "By definition", "", 50.0)
    assert sheet.working("f").steps[-1].filled == "abs(−1.000002) > abs(1.000001)"
    proven(sheet.working("f"))


@pytest.mark.parametrize(
    ("number", "text"), [(1.5, "1.5"), (1.5 - 0.25j, "(1.5 − j × 0.25)"), (-1 + 1e-5j, "(−1 + j × 1×10⁻⁵)")]
)
def test_how_a_number_is_shown(number: complex, text: str) -> None:
    assert shown(number) == text
