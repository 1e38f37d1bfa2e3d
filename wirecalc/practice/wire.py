"""Practice problems about the wire itself: its resistance, and the volts it keeps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wirecalc import runs, units
from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.practice.problem import (
    FEET,
    FOOT_M,
    ONE_WAY,
    VEHICLES,
    DrawnProblem,
    Mistake,
    ProblemKind,
    pick,
    step,
    stranded,
    told,
)
from wirecalc.units_taken import takes_units
from wirecalc.wire.cable import loop_ohm, parallel_ohm_per_m
from wirecalc.wire.conductor import COPPER, REFERENCE_C, Conductor, awg_diameter_m, ohm_per_metre
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

# Only the wire is asked for: any run will do to work it out.
BARE = runs.TurnOnRun(draw_a=1.0, supply_v=12.0, limit_a=1.0, least_v=0.0)
_OHM = "Ohm's law"
_CIRCLE = "Area of a circle"


def problem_wire_ohm(wire: Conductor, laid: runs.Installation) -> float:
    """Resistance of the whole loop of a problem's wire.

    Parameters
    ----------
    wire : Conductor
        One size.
    laid : wirecalc.runs.Installation
        Length, ways, joints and temperature.

    Returns
    -------
    float
        [ohm]
    """
    return float(runs.wire_ohm([wire], laid)[0])


def one_way(value: float) -> Mistake:
    """The return forgotten."""
    return Mistake(key="one way", value=value, hint=ONE_WAY)


@takes_units
def round_wire(diameter_mm: float) -> FormulaSheet:
    """A sheet that has the area A of one round wire of diameter d."""
    sheet = FormulaSheet()
    sheet.put("d", Given("diameter", diameter_mm, "mm"))
    sheet.work("A", "Metal cross-section of one", "pi/4*d**2", "mm²", _CIRCLE)
    return sheet


def _loop(rng: np.random.Generator) -> DrawnProblem:
    wire, feet = stranded(rng, 18, 16, 14, 12, 10), step(rng, 8, 30)
    laid = runs.Installation(length_m=feet * FOOT_M)
    return DrawnProblem(
        text=f"A speaker in the rear of {pick(rng, VEHICLES)} gets a pair of {told(wire)}. The run is {feet} ft long,"
        " one way. What is the resistance of the loop?",
        answer=problem_wire_ohm(wire, laid),
        mistakes=(
            one_way(problem_wire_ohm(wire, replace(laid, ways=1))),
            Mistake(key="feet for metres", value=problem_wire_ohm(wire, replace(laid, length_m=feet)), hint=FEET),
            Mistake(
                key="feet the wrong way",
                value=problem_wire_ohm(wire, replace(laid, length_m=feet / FOOT_M)),
                hint="A foot is shorter than a metre. There must be fewer metres than feet: multiply by 0.3048.",
            ),
        ),
        work=lambda: (working("loop_ohm", BARE, wire, laid),),
    )


def _diameter(rng: np.random.Generator) -> DrawnProblem:
    diameter_mm = round(float(awg_diameter_m(step(rng, 10, 22))) * 1e3, 2)
    length_m = step(rng, 5, 60)
    area_mm2 = round_wire(diameter_mm).numbers["A"].real
    rho = COPPER.ohm_m_20c * 1e6

    def ohm(area_mm2: float) -> float:
        return float(loop_ohm(ohm_per_metre(area_mm2 * 1e-6), length_m, ways=1))

    def work() -> tuple[Working, ...]:
        sheet = round_wire(diameter_mm)
        sheet.put("ρ", Given("resistivity of copper at 20 °C", rho, "Ω mm²/m", COPPER.source, COPPER.confidence))
        sheet.put("L", Given("length of the wire", length_m, "m"))
        sheet.work("R", "Resistance of the wire", "ρ*L/A", "Ω", "Resistivity times length over cross-section", "",
                   ohm(area_mm2))  # fmt: skip
        return (sheet.working("ohm"),)

    return DrawnProblem(
        text=f"The micrometer reads {diameter_mm:g} mm across the bare metal of one solid copper wire. The wire is"
        f" {length_m} m long, end to end. Copper has {rho:.4g} Ω mm²/m at 20 °C. What is the wire's resistance?",
        answer=ohm(area_mm2),
        mistakes=(
            Mistake(
                key="diameter for area",
                value=ohm(diameter_mm),
                hint="You used the diameter as if it were the area. The area is π/4 times the diameter squared.",
            ),
            Mistake(
                key="diameter for radius",
                value=ohm(4 * area_mm2),
                hint="The micrometer reads across the whole wire. That is the diameter, twice the radius.",
            ),
            Mistake(
                key="square for circle",
                value=ohm(diameter_mm**2),
                hint="Diameter times diameter is a square. A circle has π/4 of that area, about 79 %.",
            ),
        ),
        work=work,
    )


def _parallel(rng: np.random.Generator) -> DrawnProblem:
    wire, count = stranded(rng, 22, 20, 18, 16), step(rng, 2, 4)
    laid = runs.Installation(length_m=step(rng, 3, 9), parallel=count)
    return DrawnProblem(
        text=f"The cable in {pick(rng, VEHICLES)} has many conductors of {told(wire)}. You join {count} of them side"
        f" by side for the way out, and {count} for the way back. The run is {laid.length_m:g} m long, one way. What is"
        " the resistance of the loop?",
        answer=problem_wire_ohm(wire, laid),
        mistakes=(
            one_way(problem_wire_ohm(wire, replace(laid, ways=1))),
            Mistake(
                key="one conductor",
                value=problem_wire_ohm(wire, replace(laid, parallel=1)),
                hint=f"That is the loop with one conductor each way. With {count} side by side each carries a part.",
            ),
            Mistake(
                key="series for parallel",
                value=problem_wire_ohm(wire, replace(laid, parallel=1, length_m=laid.length_m * count)),
                hint="Side by side, resistance goes down: divide by their number. In a row it would add up.",
            ),
        ),
        work=lambda: (working("loop_ohm", BARE, wire, laid),),
        closing="Conductors side by side must be alike and of one length. On a supply each needs its own fuse.",
    )


def _unlike(rng: np.random.Generator) -> DrawnProblem:
    thin, thick, length_m = stranded(rng, 20, 18, 16), stranded(rng, 16, 14, 12), step(rng, 3, 9)
    each = [thin.ohm_per_m_20c, thick.ohm_per_m_20c]

    def ohm(per_m: float, ways: int = 2) -> float:
        return float(loop_ohm(per_m, length_m, ways=1 if ways == 1 else 2))

    together = float(parallel_ohm_per_m(each))

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        for symbol, wire in (("r1", thin), ("r2", thick)):
            sheet.put(symbol, Given(f"one conductor of {wire.label}", wire.ohm_per_m_20c, "Ω/m", wire.source))
        sheet.work("r", "Both side by side", "1/(1/r1+1/r2)", "Ω/m", "Resistances in parallel", "", together)
        sheet.put("L", Given("run length, one way", length_m, "m"))
        sheet.work("Zw", "Loop resistance", "2*L*r", "Ω", "Resistances in series", "Out and back.", ohm(together))
        return (sheet.working("loop_ohm"),)

    return DrawnProblem(
        text=f"A subwoofer in {pick(rng, VEHICLES)} is fed by an old pair, and somebody has joined a second one"
        f" to the same terminals. One is {told(thin)}. The other is {told(thick)}. Both are {length_m} m long, one way."
        " What is the resistance of the loop that they make together?",
        answer=ohm(together),
        mistakes=(
            one_way(ohm(together, 1)),
            Mistake(
                key="series for parallel",
                value=ohm(sum(each)),
                hint="You added the two. Side by side their conductances add: 1/r = 1/r1 + 1/r2.",
            ),
            Mistake(
                key="mean",
                value=ohm(sum(each) / 2),
                hint="You took the mean. Side by side the result is lower than the lower of the two.",
            ),
            Mistake(
                key="thick alone",
                value=ohm(each[1]),
                hint="That is the thick pair alone. The thin one carries a part too, so the loop is lower.",
            ),
        ),
        work=work,
    )


def _temperature(rng: np.random.Generator) -> DrawnProblem:
    wire = stranded(rng, 18, 16, 14, 12, 10)
    laid = runs.Installation(length_m=step(rng, 3, 10), temperature_c=step(rng, 50, 105, 5))
    return DrawnProblem(
        text=f"A pair of {told(wire)} runs {laid.length_m:g} m, one way, past the engine of {pick(rng, VEHICLES)}. The"
        f" copper there is at {laid.temperature_c:g} °C. Copper gains {COPPER.per_k_20c * 100:.3g} % of its 20 °C value"
        " with each degree. What is the resistance of the loop?",
        answer=problem_wire_ohm(wire, laid),
        mistakes=(
            one_way(problem_wire_ohm(wire, replace(laid, ways=1))),
            Mistake(
                key="cold",
                value=problem_wire_ohm(wire, replace(laid, temperature_c=REFERENCE_C)),
                hint="That is the loop at 20 °C. Warm copper has more resistance.",
            ),
            Mistake(
                key="temperature for rise",
                value=problem_wire_ohm(wire, replace(laid, temperature_c=laid.temperature_c + REFERENCE_C)),
                hint="You counted from 0 °C. The table is for 20 °C: count only the degrees over that.",
            ),
        ),
        work=lambda: (working("loop_ohm", BARE, wire, laid),),
    )


def _drop(rng: np.random.Generator) -> DrawnProblem:
    wire, laid = stranded(rng, 16, 14, 12, 10), runs.Installation(length_m=step(rng, 3, 8))
    draw_a, supply_v = pick(rng, (4, 5, 6, 8, 10, 12, 15)), pick(rng, (12.6, 13.8, 14.4))

    def drop_v(laid: runs.Installation) -> float:
        return float(rule_of_thumb_drop_v(draw_a, problem_wire_ohm(wire, laid)))

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.take(working("loop_ohm", BARE, wire, laid))
        sheet.put("I", Given("draw", draw_a, "A"))
        sheet.work("Vw", "Drop along the wire", "I*Zw", "V", _OHM, "", drop_v(laid))
        return (sheet.working("drop_v"),)

    return DrawnProblem(
        text=f"A cool box in {pick(rng, VEHICLES)} draws {draw_a} A. It is fed by a pair of {told(wire)},"
        f" {laid.length_m:g} m long, one way. The supply has {supply_v:g} V. How many volts does the wire take?",
        answer=drop_v(laid),
        mistakes=(
            one_way(drop_v(replace(laid, ways=1))),
            Mistake(
                key="what is left",
                value=supply_v - drop_v(laid),
                hint="That is what is left at the cool box. What the wire takes is asked for.",
            ),
            Mistake(
                key="percent for volts",
                value=100 * drop_v(laid) / supply_v,
                hint="That is the drop in percent of the supply. Volts are asked for.",
            ),
        ),
        work=work,
    )


KINDS = (
    ProblemKind(key="loop", title="Loop resistance of a run", quantity=units.RESISTANCE, low=0.01, high=1.0, draw=_loop,
         nudge="Metres first, then times two for the way back, then times the resistance of one metre."),
    ProblemKind(key="diameter", title="Resistance from a diameter", quantity=units.RESISTANCE, low=0.01, high=5.0,
         draw=_diameter, nudge="Find the area from the diameter first. Then: resistivity times length over area."),
    ProblemKind(key="parallel", title="Conductors side by side", quantity=units.RESISTANCE, low=0.01, high=1.0,
         draw=_parallel, nudge="Work out the loop of one conductor each way. Then divide by their number."),
    ProblemKind(key="unlike", title="Two unlike pairs side by side", quantity=units.RESISTANCE, low=0.01, high=1.0,
         draw=_unlike, nudge="First one metre of both side by side: 1/r = 1/r1 + 1/r2. Then out and back."),
    ProblemKind(key="temperature", title="A hot wire", quantity=units.RESISTANCE, low=0.01, high=1.5, draw=_temperature,
         tolerance=0.01, nudge="Work out the loop at 20 °C. Then add the share for each degree over 20 °C."),
    ProblemKind(key="drop", title="Volts dropped", quantity=units.VOLTAGE, low=0.05, high=5.0, draw=_drop,
         nudge="First the resistance of the loop, then times the current."),
)  # fmt: skip
