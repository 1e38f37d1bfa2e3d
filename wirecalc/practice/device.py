"""A practice problem about a device on the supply: a regulated one draws more as the volts fall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wirecalc import runs, units
from wirecalc.practice.problem import VEHICLES, DrawnProblem, Mistake, ProblemKind, pick, step, stranded, told
from wirecalc.practice.wire import problem_wire_ohm
from wirecalc.workings.formula import Working
from wirecalc.workings.measures import working

_REGULATED = {"light bar": (80, 180), "small inverter": (150, 250), "laptop charger": (60, 120)}  # invented ranges


def _regulated(rng: np.random.Generator) -> DrawnProblem | None:
    what = pick(rng, tuple(_REGULATED))
    power_w, volt = step(rng, *_REGULATED[what], 10), pick(rng, (11.5, 12.0, 12.6))
    wire, laid = stranded(rng, 16, 14, 12), runs.Installation(length_m=step(rng, 5, 10))
    run = runs.DeviceRun(rated_a=power_w / 12, supply_v=volt, behaviour="constant power")
    loop = problem_wire_ohm(wire, laid)

    def drop_v(run: runs.DeviceRun, ohm: float) -> float:
        return float(run.measures(ohm, laid.length_m)["drop_v"])

    answer = drop_v(run, loop)
    if not 0.08 * volt < answer < 0.25 * volt:  # so that the simpler sums are told apart
        return None

    def work() -> tuple[Working, ...]:
        return (working("drop_v", run, wire, laid),)

    return DrawnProblem(
        text=f"A {what} in {pick(rng, VEHICLES)} has a regulator inside: it draws {power_w:g} W at any voltage. A pair"
        f" of {told(wire)}, {laid.length_m:g} m one way, feeds it with {volt:g} V. How many volts are lost on the way?",
        answer=answer,
        mistakes=(
            Mistake(
                key="current of the supply",
                value=power_w / volt * loop,
                hint="At the device there are fewer volts, so it draws more amperes than at the start of the wire.",
            ),
            Mistake(
                key="like a resistance",
                value=drop_v(replace(run, behaviour="resistance"), loop),
                hint="A resistance draws less at fewer volts. A regulated device draws more.",
            ),
            Mistake(
                key="one way",
                value=drop_v(run, problem_wire_ohm(wire, replace(laid, ways=1))),
                hint="The current flows out and back. Count both conductors.",
            ),
        ),
        work=work,
    )


KINDS = (
    ProblemKind(key="device", title="Volts lost to a regulated device", quantity=units.VOLTAGE, low=0.8, high=3.5,
                draw=_regulated, tolerance=0.008,
                nudge="The device draws its watts at the volts that reach it. Solve for those, or try and correct."),
)  # fmt: skip
