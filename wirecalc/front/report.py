"""A solved plan for a console: in words, and as data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pandas as pd

from wirecalc import __version__
from wirecalc.errors import InputError
from wirecalc.front.answer import RunAnswer
from wirecalc.front.choice import choose
from wirecalc.front.schema import FAULTS, PLAN, RUN
from wirecalc.vehicle.choose import ChosenPlan
from wirecalc.vehicle.signed import Signed, signed, works
from wirecalc.wire.cautions import cautions


def plan_in_words(choice: ChosenPlan) -> str:
    """The solved plan as lines of text."""
    plan = choice.plan
    lines = []
    for each in signed(plan, choice.reasons, choice.least):
        circuit = each.circuit
        parts = [each.pull, *(["pair"] if circuit.laid.ways == 2 else []), *filter(None, (each.fuse,))]
        lines.append(f"{circuit.standing:<14}  {circuit.wire.name}: {', '.join(parts)}")
        lines += [f"{16 * ' '}{limit}" for limit in (*circuit.broken, *circuit.close)]
        if each.least not in ("", circuit.conductor.label):
            lines.append(f"{16 * ' '}{choice.reasons[circuit.wire.name]}")
    levels = plan.levels.to_dict("records")
    lines += ["", "Level lost at full power, feed and run:"] if levels else []
    for row in levels:
        lines.append(
            f"     {row['loudspeaker']}, engine {row['engine']}: {row['feed_db']:.2f} + {row['run_db']:.2f} ="
            f" {row['total_db']:.2f} dB, with {row['supply_v']:.2f} V at {row['amplifier']}"
        )
    lines += ["", "Alternator and battery:", *(f"     {sentence}" for sentence in plan.energy.words())]
    lines += [f"     Assumed: {'; '.join(plan.energy.assumed)}."]
    for title, sentences in (
        ("No operating point:", plan.problems),
        ("To mind:", (*plan.warnings, *cautions(works(plan)))),
    ):
        lines += ["", title, *(f"     {each}" for each in sentences)] if sentences else []
    return "\n".join(lines)


def as_data(choice: ChosenPlan) -> dict[str, Any]:
    """The solved plan for JSON; a value that there is not is null."""
    plan = choice.plan
    return {
        "schema": PLAN,
        "version": __version__,
        "meets": plan.meets,
        "advice": [_advice(each) for each in signed(plan, choice.reasons, choice.least)],
        "circuits": _records(plan.table),
        "limits": _records(plan.limits),
        "levels": _records(plan.levels),
        "nodes": _records(plan.nodes),
        "currents": _records(plan.currents),
        "charge": [*plan.energy.words(), *(f"Assumed: {assumption}" for assumption in plan.energy.assumed)],
        "problems": list(plan.problems),
        "warnings": [*plan.warnings, *cautions(works(plan))],
        "sizes": dict(choice.reasons),
        "least": dict(choice.least),
        "fuses": dict(choice.fuse_reasons),
    }


def _advice(each: Signed) -> dict[str, Any]:
    """What is signed for one circuit."""
    family = each.family
    return {
        "wire": each.circuit.wire.name,
        "pull": each.pull,
        "least": each.least or None,
        "grade": each.grade,
        "first_reason": each.first_reason or None,
        "fuse_a": each.fuse_a,
        "fuse_family": None if family is None else family.name,
        "fuse_standard": None if family is None else family.standard,
        "breaking_a": None if family is None else family.breaking_a,
        "short_a": each.short_a,
        "cautions": list(each.cautions),
    }


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [
        {
            str(key): None if isinstance(value, float) and not math.isfinite(value) else value
            for key, value in row.items()
        }
        for row in table.to_dict("records")
    ]


def fault_data(faults: Sequence[InputError]) -> dict[str, Any]:
    """What is wrong with a plan, for JSON."""
    told = [
        {"field": each.field, "given": str(each.given), "allowed": each.allowed, "hint": each.hint, "words": str(each)}
        for each in faults
    ]
    return {"schema": FAULTS, "version": __version__, "faults": told}


def run_data(answer: RunAnswer, zone: str | None = None) -> dict[str, Any]:
    """One run with what to pull for it, for JSON.

    Parameters
    ----------
    answer : RunAnswer
        With one size, or none.
    zone : str, optional
        See `wirecalc.front.choice.choose`.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If there is no such place.
    """
    choice = choose(answer, zone=zone)
    measures = answer.here if answer.asked else {}
    return {
        "schema": RUN,
        "version": __version__,
        "words": answer.words if answer.asked else choice.words,
        "size": answer.conductors[0].label if answer.asked else None,
        "length_m": answer.laid.length_m,
        "measures": {name: value if math.isfinite(value) else None for name, value in measures.items()},
        "choice": {
            "words": choice.words,
            "pull": choice.pull,
            "least": choice.least,
            "state": choice.state,
            "cautions": list(choice.cautions),
        },
    }
