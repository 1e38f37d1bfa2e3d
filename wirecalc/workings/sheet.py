"""A sheet of formulas worked down in order, for numbers that are no measure of a run; they may be complex.

`workings.formula` finds by itself which formulas a measure needs; here they are written down one after the other.
"""

from __future__ import annotations

import ast
import cmath
import math
from dataclasses import replace

from wirecalc.workings.formula import (
    AGREES,
    Book,
    Given,
    Input,
    Step,
    Working,
    evaluated,
    formula_in_words,
    names_in,
    number_text,
    parsed,
)

_THEMSELVES: dict[str, complex] = {"j": 1j, "e": math.e}  # never replaced by a number


class FormulaSheet:
    """Inputs and formulas so far; `working` puts them together."""

    def __init__(self) -> None:
        self.numbers: dict[str, complex] = dict(_THEMSELVES)
        self._listed = set(_THEMSELVES)
        self._waiting: dict[str, Input] = {}
        self._steps: list[Step] = []

    def take(self, working: Working) -> None:
        """Go on from a measure of a run, whose last step's symbol then stands for it; nothing is listed twice."""
        for step in working.steps:
            if step.symbol in self._listed:
                continue
            inputs = {given.symbol: given for given in step.inputs if given.symbol not in self._listed}
            self._listed |= {step.symbol or step.formula, *inputs}
            self.numbers[step.symbol or step.formula] = step.value
            if step.symbol:
                self._steps.append(replace(step, inputs=tuple(inputs.values())))
            else:  # nothing was worked out: an input by itself
                self._waiting |= inputs

    def put(self, symbol: str, given: Given) -> None:
        """A real number that is put in; it is listed with the first formula that has it.

        Parameters
        ----------
        symbol : str
            By which formulas name it.
        given : Given
            Number, unit and where it comes from.
        """
        self.numbers[symbol] = given.number
        value = f"{number_text(given.number, 7)} {given.unit}".rstrip()
        if symbol not in self._listed:
            self._listed.add(symbol)
            self._waiting[symbol] = Input(
                symbol=symbol, name=given.name, value=value, origin=given.origin, confidence=given.confidence
            )

    def add(self, book: Book) -> None:
        """Inputs and formulas of a book, in its order."""
        for symbol, entry in book.items():
            if isinstance(entry, Given):
                self.put(symbol, entry)
            else:
                self.work(symbol, entry.title, entry.formula, entry.unit, entry.source, entry.note)

    def work(
        self,
        symbol: str,
        title: str,
        formula: str,
        unit: str = "",
        source: str = "",
        note: str = "",
        value: float | None = None,
        needs: tuple[str, ...] = (),
    ) -> None:
        """A formula in Python's grammar; its value is worked out from it unless one is given.

        Parameters
        ----------
        symbol : str
            Of the result.
        title : str
            What the result is, in words.
        formula : str
            Of symbols that are put in or worked out already.
        unit : str
            Of the result.
        source : str
            Where the formula is from.
        note : str
            When it holds, or what to mind.
        value : float, optional
            As it was computed elsewhere. In `unit`.
        needs : tuple of str
            Inputs that the formula does not have itself but that are listed with it.

        See Also
        --------
        say : For a formula that Python's grammar cannot write.
        """
        tree = parsed(formula)
        if value is None:
            value = evaluated(tree, self.numbers)  # type: ignore[arg-type]  # any abs() in it makes it real
        filled = _filled(tree, self.numbers)
        self.say(
            symbol, title, formula_in_words(tree, str), filled, value, unit, source, note, (*names_in(formula), *needs)
        )

    def say(
        self,
        symbol: str,
        title: str,
        formula: str,
        filled: str,
        value: float,
        unit: str = "",
        source: str = "",
        note: str = "",
        needs: tuple[str, ...] = (),
    ) -> None:
        """A formula as people write it, with the inputs that it needs.

        Parameters
        ----------
        symbol : str
            Of the result.
        title : str
            What the result is, in words.
        formula : str
            As it is shown.
        filled : str
            The same with numbers in place of symbols.
        value : float
            In `unit`.
        unit : str
            Of the result.
        source : str
            Where the formula is from.
        note : str
            When it holds, or what to mind.
        needs : tuple of str
            Inputs that are listed with it, unless a formula before has them.

        See Also
        --------
        work : Works the value out.
        """
        inputs = tuple(self._waiting.pop(name) for name in needs if name in self._waiting)
        self.numbers[symbol] = value
        self._listed.add(symbol)
        self._steps.append(
            Step(
                title=title, symbol=symbol, formula=formula, filled=filled, value=value, unit=unit, inputs=inputs,
                source=source, note=note,
            )
        )  # fmt: skip

    def working(self, measure: str) -> Working:
        """The last formula's value, with all before it."""
        last = self._steps[-1]
        return Working(measure=measure, title=last.title, value=last.value, unit=last.unit, steps=tuple(self._steps))


def _filled(tree: ast.expr, numbers: dict[str, complex]) -> str:
    """With the fewest digits that give the value, or both sides, to four of them."""
    parts = [tree.left, *tree.comparators] if isinstance(tree, ast.Compare) else [tree]
    used = {node.id: numbers[node.id] for node in ast.walk(tree) if isinstance(node, ast.Name) and node.id in numbers}
    for digits in range(4, 17):
        short = {name: number if name in _THEMSELVES else _rounded(number, digits) for name, number in used.items()}
        pairs = [(evaluated(part, short), evaluated(part, used)) for part in parts]  # type: ignore[arg-type]
        agree = all(cmath.isclose(value, exact, rel_tol=AGREES) for value, exact in pairs)
        if agree and (len(pairs) == 1 or pairs[0][0] > pairs[1][0]):
            break
    return formula_in_words(tree, lambda name: name if name in _THEMSELVES else with_digits(used[name], digits))


def _rounded(number: complex, digits: int) -> complex:
    real, imag = (float(f"{part:.{digits - 1}e}") for part in (number.real, number.imag))
    return complex(real, imag) if isinstance(number, complex) else real


def with_digits(number: complex, digits: int = 7) -> str:
    """A number with so many digits; a complex one in brackets.

    Parameters
    ----------
    number : complex
        Real, or with an imaginary part.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Without unit.
    """
    if not number.imag:
        return number_text(number.real, digits)
    real, imag = number_text(number.real, digits), number_text(abs(number.imag), digits)
    return f"({real} {'−' if number.imag < 0 else '+'} j × {imag})"
