"""Where a number comes from: its formula with the values put in, every input with its source."""

from __future__ import annotations

import math

import pandas as pd

from wirecalc.errors import InputError
from wirecalc.front.answer import RunAnswer
from wirecalc.front.choice import ChosenSize, pick_of
from wirecalc.front.plans import SolvedPlan
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.plan import Circuit
from wirecalc.workings.advice import of_size
from wirecalc.workings.formula import Working
from wirecalc.workings.measures import working

AS_CLOSE = 1e-6  # a working is shown only where it gives the plan's own number


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """How a number was worked out."""

    working: Working
    """All of it; see `wirecalc.workings.formula.Working`."""

    @property
    def value(self) -> float:
        """In `unit`."""
        return self.working.value

    @property
    def unit(self) -> str:
        """As a person writes it."""
        return self.working.unit

    @property
    def words(self) -> str:
        """Every step: its formula, the formula with the values, and where it is from."""
        lines = []
        for step in self.working.steps:
            lines += [f"{each.symbol} = {each.value}  {each.name} ({each.origin})" for each in step.inputs]
            filled = f" = {step.filled}" if step.filled else ""
            lines.append(f"{step.symbol} = {step.formula}{filled} = {step.value:.5g} {step.unit}".rstrip())
            lines += [f"    {told}" for told in (step.title, step.source, step.note) if told]
        return "\n".join(lines)

    @property
    def table(self) -> pd.DataFrame:
        """symbol, name, formula, value, source: a row for each input and each step, in the order of working."""
        rows = []
        for step in self.working.steps:
            rows += [(each.symbol, each.name, "", each.value, each.origin) for each in step.inputs]
            rows.append((step.symbol, step.title, step.formula, f"{step.value:.6g} {step.unit}".rstrip(), step.source))
        return pd.DataFrame(rows, columns=["symbol", "name", "formula", "value", "source"])


def explain(answer: RunAnswer | ChosenSize | SolvedPlan, measure: str, wire: str | None = None) -> Explanation:
    """How one number of an answer was worked out.

    Parameters
    ----------
    answer : RunAnswer, ChosenSize or SolvedPlan
        Of a choice: the size asked about, else what to pull.
    measure : str
        The name of its column: "loss_db", "loop_ohm", "temperature_c".
    wire : str, optional
        Of a plan: the name of the wire.

    Returns
    -------
    Explanation

    Raises
    ------
    InputError
        If the answer has no such number; it lists what there is.

    Examples
    --------
    >>> import wirecalc
    >>> run = wirecalc.speaker_run("100 W", "4 ohm", "5.5 m", "16 AWG")
    >>> why = wirecalc.explain(run, "loss_db")
    >>> why.table["formula"].iloc[-1], round(why.value, 4)
    ('20 × log10((Zs + Zw + ZL) / (Zs + ZL))', 0.3137)
    """
    if isinstance(answer, RunAnswer):
        return Explanation(working=working(measure, answer.run, answer.conductors[0], answer.laid))
    if isinstance(answer, ChosenSize):
        return _of_choice(answer, measure)
    circuits = {circuit.wire.name: circuit for circuit in answer.chosen.plan.circuits if circuit.run is not None}
    if wire not in circuits:
        raise InputError("wire", wire, f"one of {', '.join(circuits)}")
    return Explanation(working=_of_plan(circuits[wire], measure))


def _of_plan(circuit: Circuit, measure: str) -> Working:
    """As on the page of a whole vehicle, only where the run alone gives the plan's own number."""
    worked = _told(circuit, measure)
    if worked is None:
        single = [name for name in circuit.measures if _told(circuit, name) is not None]
        allowed = f"one of {', '.join(single)}"
        raise InputError("measure", measure, allowed, "The others come from the vehicle's network as a whole.")
    return worked


def _told(circuit: Circuit, measure: str) -> Working | None:
    assert circuit.run is not None
    try:
        worked = working(measure, circuit.run, circuit.conductor, circuit.laid, circuit.place)
    except InputError:
        return None
    same = measure not in circuit.measures or math.isclose(worked.value, circuit.measures[measure], rel_tol=AS_CLOSE)
    return worked if same else None


def _of_choice(answer: ChosenSize, measure: str) -> Explanation:
    try:
        return Explanation(working=of_size(measure, answer.advice.job, pick_of(answer).candidate))
    except KeyError:
        held = [name for name in answer.table.columns if f"{name}_limit" in answer.table.columns]
        raise InputError("measure", measure, f"one of {', '.join(held)}") from None
