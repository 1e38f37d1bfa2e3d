"""Where the share of a hole that its wires fill comes from; `wirecalc.wire.packing` computes it."""

from __future__ import annotations

import numpy as np

from wirecalc.wire.packing import Passage
from wirecalc.workings.formula import Input, Step, Working


def opening_working(passage: Passage) -> Working:
    """Where the fill of the opening comes from.

    Parameters
    ----------
    passage : Passage
        Wires held against an opening, by `wirecalc.wire.packing.through_opening`.

    Returns
    -------
    Working
        One step, its value in percent of the opening's area.
    """
    diameters_mm = np.round(passage.packing.radius_m * 2e3, 6)
    each, counts = np.unique(diameters_mm, return_counts=True)
    terms = " + ".join(f"{count} × {diameter:.6g}²" for diameter, count in zip(each, counts, strict=True))
    opening_mm = f"{passage.opening_m * 1e3:.6g}"
    wires = tuple(
        Input(
            symbol=f"d{i}",
            name=f"Outer diameter of {count}",
            value=f"{diameter:.6g} mm",
            origin="entered",
            confidence="",
        )
        for i, (diameter, count) in enumerate(zip(each, counts, strict=True), 1)
    )
    opening = Input(symbol="D", name="Opening", value=f"{opening_mm} mm", origin="entered", confidence="")
    step = Step(
        title="Fill of the opening",
        symbol="fill",
        formula="100 × (n1 × d1² + n2 × d2² + …) / D²",
        filled=f"100 × ({terms}) / {opening_mm}²",
        value=100 * passage.fill,
        unit="%",
        inputs=(*wires, opening),
        source="areas of circles",
        note=f"Pulls in easily up to {100 * passage.easy_fill:.0f} %: NEC chapter 9 table 1, for conduit; published"
        " value, copy not checked.",
    )
    return Working(measure="fill", title=step.title, value=step.value, unit="%", steps=(step,))
