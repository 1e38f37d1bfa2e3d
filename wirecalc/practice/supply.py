"""Practice problems about what is fed from the supply: fuse, relay, turn-on lead, lamp strip."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wirecalc import runs, units
from wirecalc.circuits.relay import Relay, pull
from wirecalc.circuits.turn_on import turn_on
from wirecalc.practice.problem import VEHICLES, DrawnProblem, Mistake, ProblemKind, pick, step, stranded, told
from wirecalc.practice.wire import BARE, one_way, problem_wire_ohm
from wirecalc.wire.conductor import COPPER
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet


def _relay(rng: np.random.Generator) -> DrawnProblem:
    coil = Relay(coil_ohm=step(rng, 12, 30, 2), pull_in_v=pick(rng, (6.5, 7.0, 7.5, 8.0)), drop_out_v=1.2)
    coil_c, wire = step(rng, 60, 105, 5), stranded(rng, 20, 18)
    laid = runs.Installation(length_m=step(rng, 6, 12))
    loop = problem_wire_ohm(wire, laid)

    def least_v(wire_ohm: float, coil_c: float = coil_c) -> float:
        return float(pull(coil, wire_ohm, coil_c).least_supply_v)

    def work() -> tuple[Working, ...]:
        hot_coil, sheet = pull(coil, loop, coil_c), FormulaSheet()
        sheet.take(working("loop_ohm", BARE, wire, laid))
        sheet.put("Tk", Given("coil temperature", coil_c, "°C"))
        sheet.put("α", Given("temperature coefficient of copper", COPPER.per_k_20c, "1/K", COPPER.source,
                              COPPER.confidence))  # fmt: skip
        sheet.put("Rc0", Given("coil resistance at 20 °C", coil.coil_ohm, "Ω"))
        sheet.work("Rc", "Coil when hot", "Rc0*(1+α*(Tk-20))", "Ω", "IEC 60028: a straight line in temperature", "",
                   float(hot_coil.coil_ohm))  # fmt: skip
        sheet.put("Vp0", Given("pull-in voltage at 20 °C", coil.pull_in_v, "V"))
        sheet.work("Vp", "Pull-in when hot", "Vp0*(1+α*(Tk-20))", "V",
                   "The magnet needs its current, so the voltage grows with the coil's resistance", "",
                   float(hot_coil.pull_in_v))  # fmt: skip
        sheet.work("V", "Least supply", "Vp*(Rc+Zw)/Rc", "V", "Voltage divider, any textbook of circuits", "",
                   float(hot_coil.least_supply_v))  # fmt: skip
        return (sheet.working("least_supply_v"),)

    return DrawnProblem(
        text=f"A heavy relay in {pick(rng, VEHICLES)} has a coil of {coil.coil_ohm:g} Ω. It pulls in at"
        f" {coil.pull_in_v:g} V; both are for 20 °C. Its coil is now at {coil_c} °C. A pair of {told(wire)} feeds it,"
        f" {laid.length_m:g} m one way. Copper gains {COPPER.per_k_20c * 100:.3g} % with each degree. The wire stays at"
        " 20 °C. From which supply voltage on does the relay pull in?",
        answer=least_v(loop),
        mistakes=(
            one_way(least_v(problem_wire_ohm(wire, replace(laid, ways=1)))),
            Mistake(
                key="cold coil",
                value=least_v(loop, 20.0),
                hint="That is the cold coil. A hot coil has more resistance and needs more volts for its current.",
            ),
            Mistake(
                key="no wire",
                value=least_v(0.0),
                hint="That is right at the coil. The wire takes its share on the way.",
            ),
        ),
        work=work,
    )


def _budget(rng: np.random.Generator) -> DrawnProblem:
    count, each_ma = step(rng, 2, 4), step(rng, 20, 80, 5)
    other_ma, limit_ma = step(rng, 30, 150, 10), pick(rng, (250, 300, 400, 500, 750))
    each_a, other_a, limit_a = each_ma / 1e3, other_ma / 1e3, limit_ma / 1e3

    def total_a(count: int) -> float:
        turn_on_line = turn_on([each_a] * count + [other_a], 1.0, 0.0, head_unit_v=12.0, limit_a=limit_a, least_v=0.0)
        return float(turn_on_line.total_a)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("n", Given("amplifiers", count))
        sheet.put("I1", Given("draw of each", each_a, "A"))
        sheet.put("I2", Given("draw of the processor", other_a, "A"))
        sheet.work("I", "Draw of all", "n*I1+I2", "A", "Currents add at a joint: Kirchhoff", "", total_a(count))
        sheet.put("Imax", Given("the most that the output may give", limit_a, "A"))
        sheet.work("Ir", "Left for more", "Imax-I", "A", "By definition", "", limit_a - total_a(count))
        return (sheet.working("left_a"),)

    return DrawnProblem(
        text=f"The turn-on output of a head unit in {pick(rng, VEHICLES)} may give {limit_ma} mA. It wakes {count}"
        f" amplifiers of {each_ma} mA each and a processor of {other_ma} mA. How much current is left for more?",
        answer=limit_a - total_a(count),
        mistakes=(
            Mistake(key="what is drawn", value=total_a(count), hint="That is what the devices draw. What is left?"),
            Mistake(
                key="one amplifier",
                value=limit_a - total_a(1),
                hint=f"You counted one amplifier. There are {count}.",
            ),
            Mistake(
                key="no processor",
                value=limit_a - (total_a(count) - other_a),
                hint="The processor is fed by the same lead. Count it too.",
            ),
        ),
        work=work,
        closing="Where nothing is left, a relay helps: the output then feeds only its coil.",
    )


def _lead(rng: np.random.Generator) -> DrawnProblem:
    wire = stranded(rng, 22, 20, 18)
    near_m, more_m = step(rng, 1, 5), step(rng, 1, 5)
    far_m = near_m + more_m
    near_a, far_a = step(rng, 40, 200, 10) / 1e3, step(rng, 40, 200, 10) / 1e3
    per_m, head_v = wire.ohm_per_m_20c, 12.0

    def lost_v(draws_a: list[float], at_m: list[int], ohm_per_m: float = per_m) -> float:
        return head_v - float(turn_on(draws_a, at_m, ohm_per_m, head_unit_v=head_v, limit_a=1.0, least_v=0.0).last_v)

    both, places = [near_a, far_a], [near_m, far_m]

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.take(working("ohm_per_m", BARE, wire, runs.Installation(length_m=far_m)))
        for symbol, name, number, unit in (
            ("x1", "way to the amplifier", near_m, "m"),
            ("x2", "way from there to the processor", more_m, "m"),
            ("I1", "draw of the amplifier", near_a, "A"),
            ("I2", "draw of the processor", far_a, "A"),
        ):
            sheet.put(symbol, Given(name, number, unit))
        sheet.work("V1", "Lost up to the amplifier", "r*x1*(I1+I2)", "V", "Ohm's law", "Both currents flow here.",
                   lost_v(both, [near_m, near_m]))  # fmt: skip
        sheet.work("V2", "Lost up to the processor", "V1+r*x2*I2", "V", "Ohm's law", "Only one current is left.",
                   lost_v(both, places))  # fmt: skip
        return (sheet.working("drop_v"),)

    return DrawnProblem(
        text=f"One turn-on lead of {told(wire)} leaves the head unit of {pick(rng, VEHICLES)}. After {near_m} m it"
        f" feeds an amplifier of {near_a * 1e3:g} mA. It goes on for {more_m} m to a processor of {far_a * 1e3:g} mA."
        " Both have their own ground. How many volts are lost on the lead up to the processor?",
        answer=lost_v(both, places),
        mistakes=(
            Mistake(
                key="all at the end",
                value=lost_v(both, [far_m, far_m]),
                hint="You took both currents all the way. After the amplifier only the processor's current flows.",
            ),
            Mistake(
                key="processor alone",
                value=lost_v([far_a], [far_m]),
                hint="On the first part the amplifier's current flows too, and takes its volts.",
            ),
            Mistake(
                key="return counted",
                value=lost_v(both, places, 2 * per_m),
                hint="Each device has its own ground here. The lead is one conductor, so do not double it.",
            ),
        ),
        work=work,
    )


def _strip(rng: np.random.Generator) -> DrawnProblem:
    wire, laid = stranded(rng, 18, 16, 14), runs.Installation(length_m=step(rng, 1, 6))
    run = runs.LampRun(
        supply_v=pick(rng, (12.0, 12.6, 13.8)),
        strip_m=step(rng, 2, 5),
        amps_per_m=pick(rng, (0.4, 0.5, 0.6, 0.8, 1.0)),
        strip_ohm_per_m=pick(rng, (0.06, 0.08, 0.1, 0.12, 0.15)),
    )

    def lost_v(run: runs.LampRun, ohm: float, measure: str = "last_v") -> float:
        return run.supply_v - float(run.measures(ohm, laid.length_m)[measure])

    loop = problem_wire_ohm(wire, laid)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.take(working("last_v", run, wire, laid))
        sheet.put("V", Given("supply", run.supply_v, "V"))
        sheet.work("ΔV", "Lost up to the last lamp", "V-Vd", "V", "Kirchhoff's voltage law", "", lost_v(run, loop))
        return (sheet.working("lost_v"),)

    return DrawnProblem(
        text=f"A lamp strip of {run.strip_m:g} m in {pick(rng, VEHICLES)} draws {run.amps_per_m:g} A in each metre,"
        f" each lamp the same current. Both strip conductors together have {run.strip_ohm_per_m * 1e3:g} mΩ in each"
        f" metre of strip. A pair of {told(wire)}, {laid.length_m:g} m one way, feeds one end with {run.supply_v:g} V."
        " How many volts are lost up to the last lamp, feed and strip together?",
        answer=lost_v(run, loop),
        mistakes=(
            Mistake(
                key="full current all along",
                value=lost_v(replace(run, strip_ohm_per_m=2 * run.strip_ohm_per_m), loop),
                hint="The current falls from lamp to lamp. On average only half of it flows in the strip.",
            ),
            Mistake(
                key="no feed", value=lost_v(run, 0.0), hint="That is the strip alone. The feed wire takes volts too."
            ),
            Mistake(
                key="no strip",
                value=lost_v(run, loop, "load_v"),
                hint="That is the feed alone. The strip's own conductors take volts too.",
            ),
            Mistake(
                key="feed one way",
                value=lost_v(run, problem_wire_ohm(wire, replace(laid, ways=1))),
                hint="The feed has two conductors. Count the way back too.",
            ),
        ),
        work=work,
    )


KINDS = (
    ProblemKind(key="relay", title="Relay pull-in when hot", quantity=units.VOLTAGE, low=6.5, high=16, draw=_relay,
         tolerance=0.008, nudge="Warm up the coil and its pull-in voltage first. Then add what the wire takes."),
    ProblemKind(key="budget", title="Turn-on budget", quantity=units.CURRENT, low=0.02, high=0.7, draw=_budget,
         nudge="Add up all devices. Take that from what the output may give."),
    ProblemKind(key="lead", title="Volts lost on a turn-on lead", quantity=units.VOLTAGE, low=0.002, high=0.6,
                draw=_lead,
         nudge="Go part by part. Each part carries the current of everything that comes after it."),
    ProblemKind(key="strip", title="Lamp strip", quantity=units.VOLTAGE, low=0.1, high=6, draw=_strip,
         nudge="Work out the feed with the whole current. Then the strip, where half of it flows on average."),
)  # fmt: skip
