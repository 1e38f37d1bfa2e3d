"""Practice problems about a sample on the bench that is not what its label says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wirecalc.practice.problem import VEHICLES, DrawnProblem, Mistake, ProblemKind, nearest, pick, step
from wirecalc.practice.wire import BARE, round_wire
from wirecalc.runs import Installation
from wirecalc.wire.conductor import awg, awg_diameter_m, ohm_per_metre
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

_SIZES = tuple(range(24, 3, -2))  # gauges in stock, thin to thick
_SCATTER = 0.02  # of a reading, either way
_STRANDS = (36, 34, 32, 30)
_TRUSTED = "That is what the label says. The reading says otherwise."


def _labels(rng: np.random.Generator) -> tuple[int, int]:
    """What a sample is, and what its label says."""
    true = step(rng, 8, 20, 2)
    return true, true + pick(rng, (-4, -2, 2))


def _sizes(*sizes: int, of: str, measure: str) -> tuple[Working, ...]:
    return tuple(
        replace(working(measure, BARE, awg(size), Installation(length_m=1.0)), title=f"{size} AWG: {of}")
        for size in sizes
    )


def _label(rng: np.random.Generator) -> DrawnProblem:
    true, label = _labels(rng)
    length_m = step(rng, 5, 40, 5)
    scattered = awg(true).ohm_per_m_20c * length_m * (1 + _SCATTER * rng.uniform(-1, 1))
    reading = float(f"{scattered:.3g}")

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("R", Given("reading", reading, "Ω"))
        sheet.put("L", Given("length of the conductor", length_m, "m"))
        sheet.work("r", "One metre of the sample", "R/L", "Ω/m", "Ohm's law")
        return (*_sizes(label, true, of="one metre of one conductor", measure="ohm_per_m"), sheet.working("ohm_per_m"))

    return DrawnProblem(
        text=f"A coil of wire left over from {pick(rng, VEHICLES)} is labelled {label} AWG stranded copper. One"
        f" conductor is {length_m} m long. The meter, its own leads taken off, reads {reading * 1e3:g} mΩ from end to"
        f" end, at 20 °C. Sizes in stock are the even gauges from {_SIZES[0]} to {_SIZES[-1]} AWG. Which size is it"
        " really?",
        answer=nearest(_SIZES, reading / length_m),
        mistakes=(
            Mistake(key="label trusted", value=label, hint=_TRUSTED),
            Mistake(
                key="taken for a loop",
                value=nearest(_SIZES, reading / (2 * length_m)),
                hint="You halved the reading. One conductor was measured, end to end, not out and back.",
            ),
            Mistake(
                key="metres for feet",
                value=nearest(_SIZES, reading / (length_m * 0.3048)),
                hint="The length is in metres already. Do not turn it into metres again.",
            ),
        ),
        work=work,
        closing=f"The sample's metre comes nearest to {true} AWG; {label} AWG is far off.",
    )


def _strand(rng: np.random.Generator) -> DrawnProblem:
    true, label = _labels(rng)
    strand_mm = round(float(awg_diameter_m(pick(rng, _STRANDS))) * 1e3, 3)
    each_mm2 = round_wire(strand_mm).numbers["A"].real
    count = round(awg(true).area_m2 * 1e6 / each_mm2)

    def size(area_mm2: float) -> int:
        lay = awg(true).stranding.lay_factor
        return nearest(_SIZES, float(ohm_per_metre(area_mm2 * 1e-6, lay_factor=lay)))

    def work() -> tuple[Working, ...]:
        sheet = round_wire(strand_mm)
        sheet.put("n", Given("strands", count))
        sheet.work("As", "Metal of all strands", "n*A", "mm²", "Areas add")
        return (*_sizes(label, true, of="metal cross-section", measure="area_mm2"), sheet.working("area_mm2"))

    return DrawnProblem(
        text=f"A wire in {pick(rng, VEHICLES)} is marked {label} AWG. You count {count} strands, and the micrometer"
        f" reads {strand_mm:g} mm across one of them. All are copper. Sizes in stock are the even gauges from"
        f" {_SIZES[0]} to {_SIZES[-1]} AWG. Which size is it really?",
        answer=size(count * each_mm2),
        mistakes=(
            Mistake(key="label trusted", value=label, hint=_TRUSTED),
            Mistake(
                key="diameter for radius",
                value=size(4 * count * each_mm2),
                hint="The micrometer reads across the whole strand. That is the diameter, twice the radius.",
            ),
            Mistake(
                key="diameter for area",
                value=size(count * strand_mm),
                hint="You used the diameter as if it were the area. A strand's area is π/4 times diameter squared.",
            ),
        ),
        work=work,
        closing=f"The strands come nearest to {true} AWG; {label} AWG is far off.",
    )


KINDS = (
    ProblemKind(key="label", title="Wrong label, by its resistance", quantity=None, low=4, high=24, draw=_label,
         nudge="Divide the reading by the length. Then look for the gauge with that much in each metre."),
    ProblemKind(key="strands", title="Wrong label, by its strands", quantity=None, low=4, high=24, draw=_strand,
         nudge="One strand's area, times the number of strands. Then look for the gauge with that area."),
)  # fmt: skip
