"""An arithmetic, complex, that knows nothing of wirecalc's: every shown formula is put back into it."""

from __future__ import annotations

import ast
import cmath
import math
import re
from collections.abc import Callable
from typing import Any

import mpmath
import pytest

from wirecalc.workings.formula import Working

FOUR_DIGITS = 5e-5  # half a unit in the fourth digit of the largest, 9.999


def plain(function: Callable[..., complex]) -> Callable[..., complex]:
    """A function whose real results are plain numbers: nothing else times infinity is infinity."""
    return lambda z: value if (value := function(z)).imag else value.real


FUNCTIONS: dict[str, Callable[..., Any]] = {
    **{name: plain(getattr(cmath, name)) for name in ("sqrt", "log10", "tanh", "cosh")}, "ln": plain(cmath.log),
    "min": lambda *some: min(number.real for number in some), "max": lambda a, b: max(a.real, b.real),
    "floor": lambda z: math.floor(z.real), "ceil": lambda z: math.ceil(z.real),
    "abs": abs, "real": lambda z: z.real, "imag": lambda z: z.imag,
    "I0": lambda z: complex(mpmath.besseli(0, z)), "I1": lambda z: complex(mpmath.besseli(1, z)),
}  # fmt: skip
PLAIN = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


def arithmetic(text: str) -> complex:
    """What a person with a calculator for complex numbers gets from a filled-in formula."""
    text = re.sub(r"×10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)", lambda power: f"e{power[1].translate(PLAIN)}", text)
    text = re.sub(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda power: f"**{power[0].translate(PLAIN)}", text)
    for sign, plain in (("×", "*"), ("−", "-"), ("^", "**"), ("√", "sqrt"), ("π", repr(math.pi)), ("∞", "1e999")):
        text = text.replace(sign, plain)
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
            return complex(FUNCTIONS[name](*map(of, args)))
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
                    return a / b if b else math.copysign(math.inf, a.real)
                case ast.Pow():
                    return a**b
    raise AssertionError(f"not arithmetic: {ast.dump(node)}")


def each_symbol_is_one_thing(worked: Working) -> None:
    """No symbol is put in or worked out twice; which of two it is may be said at the end."""
    known: list[str] = []
    for step in worked.steps:
        known += [entry.symbol for entry in step.inputs]
        known += [step.symbol] if step.symbol and not (" > " in step.formula and step.symbol in known) else []
    assert len(known) == len(set(known)), sorted(symbol for symbol in set(known) if known.count(symbol) > 1)


def proven(worked: Working) -> None:
    """Every filled-in formula gives its step's value; nothing is used that was not put in or worked out before."""
    each_symbol_is_one_thing(worked)
    known = {"π", "ln", "j", "e", *FUNCTIONS}
    for step in worked.steps:
        step_text = f"{step.title}: {step.symbol}: {step.formula}: {step.filled}: {step.value}"
        for entry in step.inputs:
            assert entry.symbol not in known, step_text
            assert entry.value, step_text
            assert entry.name, step_text
            assert entry.origin, step_text
            known.add(entry.symbol)
        if step.filled:
            symbols = set(re.findall(r"[^\W\d_]\w*", re.sub("[²³⁻⁰-⁹]", "", step.formula)))
            assert symbols <= known, (step_text, symbols - known)
        known.add(step.symbol.strip("|"))  # with the size of a complex number the number itself is given
        assert step.source, step_text
        if " > " in step.filled:
            more, less = map(arithmetic, step.filled.split(" > "))
            assert more.real > less.real, step_text
        elif step.filled:
            result = arithmetic(step.filled)
            assert result.imag == pytest.approx(0, abs=1e-12), step_text
            assert result.real == pytest.approx(step.value, rel=FOUR_DIGITS, abs=1e-12), step_text
    assert (worked.value, worked.unit) == (worked.steps[-1].value, worked.steps[-1].unit)
