"""Formulas worked down on a sheet; and the arithmetic that they are held to."""

from __future__ import annotations

import pytest

from tests.support.shown_formulas import arithmetic, proven
from wirecalc.workings.formula import Given, Input, Step, Working
from wirecalc.workings.sheet import FormulaSheet, with_digits


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("20 × log10((0.02 + 0.1478 + 4) / (0.02 + 4))", 0.313616),
        ("2 − (3 − 4)² / 2×10⁻¹", -3.0),
        ("√(9) × 2^(−1) + ln(1)", 1.5),
        ("π / ∞", 0.0),
        ("abs(3 + j × 4) / 2", 2.5),
        ("(1 − j × 2) × (1 + j × 2)", 5),
        ("2×10⁻³ × e^(j × π)", -0.002),
        ("real(√(j × 2))", 1),
        ("imag(√(j × 2) × I0(√(j × 2)) / (2 × I1(√(j × 2))))", 0.2474),  # 2/8, less a little: the series of skin.py
    ],
)
def test_the_arithmetic(text: str, value: float) -> None:
    assert arithmetic(text) == pytest.approx(value, abs=1e-4)


# --- the sheet ------------------------------------------------------------------------------------------------


def test_inputs_stand_with_the_first_formula_that_has_them() -> None:
    sheet = FormulaSheet()
    sheet.put("a", Given("first", 3.0, "Ω", "a table", "read"))
    sheet.put("b", Given("second", 4.0, "Ω"))
    sheet.put("c", Given("third", 2.0))
    sheet.work("|z|", "Size", "abs(a+j*b)", "Ω", "Pythagoras")
    sheet.numbers["z"] = 3 + 4j
    sheet.put("a", Given("again", 3.0))
    sheet.work("y", "Twice", "a+abs(c*z)", "Ω", "By definition", "so it is")
    working = sheet.working("y")
    proven(working)
    first, second = working.steps
    assert first.inputs == (
        Input(symbol="a", name="first", value="3 Ω", origin="a table", confidence="read"),
        Input(symbol="b", name="second", value="4 Ω", origin="entered", confidence=""),
    )
    assert (first.formula, first.filled, first.value) == ("abs(a + j × b)", "abs(3 + j × 4)", 5.0)
    assert [entry.symbol for entry in second.inputs] == ["c"]
    assert (second.filled, second.value, second.note) == ("3 + abs(2 × (3 + j × 4))", 13.0, "so it is")


def test_another_working_is_gone_on_from_and_nothing_is_listed_twice() -> None:
    entered = Input(symbol="A", name="area", value="2 mm²", origin="entered", confidence="")
    by_itself = Step(title="Area", symbol="", formula="A", filled="2", value=2.0, unit="mm²", inputs=(entered,),
                     source="", note="")  # fmt: skip
    worked = Step(title="Half", symbol="h", formula="A / 2", filled="2 / 2", value=1.0, unit="mm²", inputs=(entered,),
                  source="By definition", note="")  # fmt: skip
    sheet = FormulaSheet()
    for steps in ((worked,), (worked,), (by_itself,)):
        sheet.take(Working(measure="x", title="x", value=steps[-1].value, unit="mm²", steps=steps))
    sheet.work("q", "Quarter", "h/2", "mm²", "By definition")
    working = sheet.working("q")
    proven(working)
    assert [step.symbol for step in working.steps] == ["h", "q"]
    sheet = FormulaSheet()
    sheet.take(Working(measure="x", title="x", value=2.0, unit="mm²", steps=(by_itself,)))
    sheet.work("q", "Quarter", "A/4", "mm²", "By definition")
    assert sheet.working("q").steps[0].inputs == (entered,)


def test_a_comparison_shows_what_tells_its_sides_apart() -> None:
    sheet = FormulaSheet()
    sheet.put("a", Given("one", -1.000002, "dB"))
    sheet.put("b", Given("other", 1.000001, "dB"))
    sheet.work("f", "Where", "abs(a)>abs(b)", "Hz", "By definition", "", 50.0)
    assert sheet.working("f").steps[-1].filled == "abs(−1.000002) > abs(1.000001)"
    proven(sheet.working("f"))


@pytest.mark.parametrize(
    ("number", "text"), [(1.5, "1.5"), (1.5 - 0.25j, "(1.5 − j × 0.25)"), (-1 + 1e-5j, "(−1 + j × 1×10⁻⁵)")]
)
def test_how_a_number_is_shown(number: complex, text: str) -> None:
    assert with_digits(number) == text
