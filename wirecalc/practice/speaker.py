"""Practice problems about signals: decibels, watts, damping, coils, treble, the size to pull."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wirecalc import runs, units
from wirecalc.circuits.circuit import Outcome, compare, solve_loop
from wirecalc.circuits.line_level import CABLE_FARAD_PER_M, low_pass
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import Wired
from wirecalc.circuits.rating import Rating
from wirecalc.circuits.source import Amplifier
from wirecalc.english import with_article
from wirecalc.practice.problem import (
    ONE_WAY,
    VEHICLES,
    Curves,
    DrawnProblem,
    Mistake,
    ProblemKind,
    pick,
    step,
    stranded,
    told,
)
from wirecalc.wire.conductor import awg
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

SHELF = (22, 20, 18, 16, 14, 12, 10, 8)  # gauges, thin to thick
_READABLE_DB = 0.1  # on the chart
_DIVIDER = "Voltage divider, any textbook of circuits"
_STRONG = "The amplifier has next to no impedance of its own."


def _speaker(ohm: float) -> str:
    """As a sentence begins with it: "An 8 Ω speaker"."""
    words = with_article(f"{ohm:g} Ω speaker")
    return words[0].upper() + words[1:]


def _measured(rng: np.random.Generator) -> tuple[float, int]:
    """Loop and load of a run whose loop was measured. [ohm]"""
    load_ohm = pick(rng, (2, 3, 4, 6, 8))
    return step(rng, 5, 20 * load_ohm) / 1e2, load_ohm  # up to a fifth of the load: nobody pulls thinner


def _decibels(rng: np.random.Generator) -> DrawnProblem:
    loop, load_ohm = _measured(rng)

    def out(wire_ohm: float) -> Outcome:
        return solve_loop(1.0, 0.0, wire_ohm, load_ohm)

    loss_db = -float(out(loop).level_db)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("Zw", Given("loop of the wire", loop, "Ω"))
        sheet.put("ZL", Given("load", load_ohm, "Ω"))
        sheet.work("ΔL", "Level lost", "20*log10((ZL+Zw)/ZL)", "dB", _DIVIDER, "20, for it is a ratio of voltages.",
                   loss_db)  # fmt: skip
        return (sheet.working("loss_db"),)

    return DrawnProblem(
        text=f"{_speaker(load_ohm)} in {pick(rng, VEHICLES)} is fed by wire whose loop, out and back, measures"
        f" {loop * 1e3:.0f} mΩ. {_STRONG} How many decibels does the wire cost?",
        answer=loss_db,
        mistakes=(
            Mistake(
                key="10 log for voltage",
                value=loss_db / 2,  # 10 log is half of 20 log
                hint="You used 10 log. That is for a ratio of powers: for voltages it is 20 log.",
            ),
            Mistake(
                key="percent for decibels",
                value=100 * float(out(loop).drop_v),  # of 1 V
                hint="That is the share of the voltage in percent. Decibels are 20 times the log of the ratio.",
            ),
            Mistake(
                key="return counted twice",
                value=-float(out(2 * loop).level_db),
                hint="The loop is both ways already. Do not double it again.",
            ),
        ),
        work=work,
    )


def _power(rng: np.random.Generator) -> DrawnProblem:
    loop, load_ohm = _measured(rng)
    power_w = pick(rng, (50, 60, 75, 80, 100, 120, 150, 200, 250, 300))
    volt = Rating(ohm=load_ohm, power_w=power_w).volt
    out = solve_loop(volt, 0.0, loop, load_ohm)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("P", Given("power with no wire in the way", power_w, "W"))
        sheet.put("ZL", Given("load", load_ohm, "Ω"))
        sheet.work("E", "Amplifier's voltage", "sqrt(P*ZL)", "V", "Power is voltage squared over resistance", "", volt)
        sheet.put("Zw", Given("loop of the wire", loop, "Ω"))
        sheet.work("I", "Current in the loop", "E/(ZL+Zw)", "A", "Ohm's law", "", float(out.current_a))
        sheet.work("PL", "Power at the load", "I**2*ZL", "W", "Ohm's law", "", float(out.load_w))
        return (sheet.working("load_w"),)

    return DrawnProblem(
        text=f"An amplifier in {pick(rng, VEHICLES)} gives {power_w} W to {with_article(f'{load_ohm} Ω')} speaker right"
        f" at its terminals. {_STRONG} Now wire comes between, with a loop of {loop * 1e3:.0f} mΩ, out and back. How"
        " many watts reach the speaker?",
        answer=float(out.load_w),
        mistakes=(
            Mistake(
                key="not squared",
                value=power_w * float(out.load_v) / volt,
                hint="You took watts down as the voltage falls. Power goes with the voltage squared.",
            ),
            Mistake(
                key="what is lost",
                value=power_w - float(out.load_w),
                hint="That is what is lost. What reaches the speaker is asked for.",
            ),
            Mistake(
                key="the wire's heat",
                value=float(out.wire_w),
                hint="That is the heat in the wire. What reaches the speaker is asked for.",
            ),
        ),
        work=work,
    )


def _damping(rng: np.random.Generator) -> DrawnProblem:
    wire, load_ohm = stranded(rng, 16, 14, 12, 10), pick(rng, (2, 4, 8))
    laid = runs.Installation(length_m=step(rng, 2, 9))
    amplifier = Amplifier(power_w=100, rated_ohm=load_ohm, damping_factor=pick(rng, (50, 80, 100, 150, 200)))
    run = runs.SpeakerRun(amplifier=amplifier, load_ohm=load_ohm)

    def damping(wire_ohm: float, source_ohm: float = amplifier.output_ohm) -> float:
        return float(solve_loop(1.0, source_ohm, wire_ohm, load_ohm).damping_factor)

    both, out = (float(runs.wire_ohm([wire], each)[0]) for each in (laid, replace(laid, ways=1)))
    return DrawnProblem(
        text=f"An amplifier has a damping factor of {amplifier.damping_factor:g} at {load_ohm} Ω. It drives"
        f" {with_article(f'{load_ohm} Ω')} subwoofer in {pick(rng, VEHICLES)} through a pair of {told(wire)},"
        f" {laid.length_m:g} m one way."
        " What damping factor is left at the subwoofer?",
        answer=damping(both),
        mistakes=(
            Mistake(key="one way", value=damping(out), hint=ONE_WAY),
            Mistake(
                key="amplifier alone",
                value=damping(0.0),
                hint="That is the amplifier alone. The wire lies between it and the subwoofer: add its loop.",
            ),
            Mistake(
                key="wire alone",
                value=damping(both, 0.0),
                hint="That is the wire alone. Add what the amplifier has: the load over its damping factor.",
            ),
        ),
        work=lambda: (working("damping_factor", run, wire, laid),),
    )


def _coils(rng: np.random.Generator) -> DrawnProblem:
    coil_ohm, count = pick(rng, (1, 2, 3, 4, 6, 8)), step(rng, 2, 4)
    inner, outer = pick(rng, ("series", "parallel")), pick(rng, ("series", "parallel"))
    other = {"series": "parallel", "parallel": "series"}

    def net(inner: str, outer: str, count: int = count) -> float:
        speaker = Wired(parts=(Load(ohm=coil_ohm),) * 2, way="series" if inner == "series" else "parallel")
        whole = Wired(parts=(speaker,) * count, way="series" if outer == "series" else "parallel")
        return float(whole.impedance(0.0).real)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("Rc", Given("one coil", coil_ohm, "Ω"))
        formula = "Rc+Rc" if inner == "series" else "1/(1/Rc+1/Rc)"
        sheet.work("Rd", f"One driver, its coils in {inner}", formula, "Ω", f"Resistances in {inner}", "",
                   net(inner, outer, 1))  # fmt: skip
        sheet.put("n", Given("drivers", count))
        formula = "n*Rd" if outer == "series" else "Rd/n"
        sheet.work("RL", f"All drivers, in {outer}", formula, "Ω", f"Like resistances in {outer}", "",
                   net(inner, outer))  # fmt: skip
        return (sheet.working("load_ohm"),)

    together = "both" if count == 2 else f"all {count}"
    return DrawnProblem(
        text=f"The box in {pick(rng, VEHICLES)} holds {count} subwoofers, each with two coils of {coil_ohm} Ω. In each"
        f" the two coils are wired in {inner}. Then {together} subwoofers are wired in {outer}. What load does"
        " the amplifier see?",
        answer=net(inner, outer),
        mistakes=(
            Mistake(
                key=f"coils in {other[inner]}",
                value=net(other[inner], outer),
                hint=f"You took the coils in {other[inner]}. In each driver they are in {inner}.",
            ),
            Mistake(
                key=f"drivers in {other[outer]}",
                value=net(inner, other[outer]),
                hint=f"You took the drivers in {other[outer]}. They are in {outer}.",
            ),
            Mistake(
                key="one driver",
                value=net(inner, outer, 1),
                hint=f"That is one driver. There are {count} of them in {outer}.",
            ),
        ),
        work=work,
        closing="Check the amplifier's least load before you join anything to it.",
    )


def _plot(rng: np.random.Generator) -> DrawnProblem | None:
    load_ohm, at_m = pick(rng, (2, 3, 4, 6)), step(rng, 5, 19) / 2
    first = step(rng, 2, 4)
    sizes = SHELF[first - 1 : first + 3]
    place = step(rng, 1, 2)
    amplifier = Amplifier(power_w=100, rated_ohm=load_ohm)
    run = runs.SpeakerRun(amplifier=amplifier, load_ohm=load_ohm)
    x = np.linspace(0.1, 10.0, 67)
    wires = [awg(size) for size in sizes]
    losses = -compare(amplifier, load_ohm, wires, x).level_db
    here = -compare(amplifier, load_ohm, wires, at_m).level_db
    if here.min() < _READABLE_DB:
        return None
    asked, thinner, thicker = (wires[each].label for each in (place, place - 1, place + 1))
    return DrawnProblem(
        text=f"The chart shows the level that speaker wire costs into {load_ohm} Ω. A line belongs to each size. Read"
        f" it: what does a run of {at_m:g} m, one way, with {asked} cost?",
        answer=float(here[place]),
        mistakes=(
            Mistake(
                key="thinner line",
                value=float(here[place - 1]),
                hint=f"You read the line of {thinner}. Follow the one that ends at {asked}.",
            ),
            Mistake(
                key="thicker line",
                value=float(here[place + 1]),
                hint=f"You read the line of {thicker}. Follow the one that ends at {asked}.",
            ),
        ),
        work=lambda: (working("loss_db", run, wires[place], runs.Installation(length_m=at_m)),),
        curves=Curves(
            title=f"Level lost in speaker wire, {load_ohm} Ω",
            x_name="Run length, one way (m)",
            y_name="Level lost (dB)",
            x=x,
            lines=tuple((wire.label, line) for wire, line in zip(wires, losses, strict=True)),
        ),
        closing="From the chart a reading within 6 % is right. The formula gives it to more digits.",
    )


def _treble(rng: np.random.Generator) -> DrawnProblem:
    source_ohm, input_ohm = pick(rng, (1000, 1500, 2000, 3000, 4700, 5000)), pick(rng, (10e3, 15e3, 20e3, 22e3))
    farad_per_m, length_m = CABLE_FARAD_PER_M["shielded"], step(rng, 3, 9)
    pf_per_m = farad_per_m * 1e12

    def corner_hz(input_ohm: float = input_ohm, length_m: float = length_m, farad: float = farad_per_m) -> float:
        return float(low_pass(source_ohm, input_ohm, farad, length_m).corner_hz)

    def work() -> tuple[Working, ...]:
        sheet = FormulaSheet()
        sheet.put("Zs", Given("output impedance", source_ohm, "Ω"))
        sheet.put("Zi", Given("input impedance", input_ohm, "Ω"))
        sheet.work("R", "Both side by side", "1/(1/Zs+1/Zi)", "Ω", "Resistances in parallel")
        sheet.put("Cm", Given("capacitance of one metre", pf_per_m, "pF/m", "as in the text"))
        sheet.put("L", Given("cable length", length_m, "m"))
        sheet.work("C", "Capacitance of the cable", "Cm*L/10**12", "F", "In proportion to length")
        sheet.work("fc", "−3 dB point", "1/(2*pi*R*C)", "Hz", "First-order low-pass, any textbook", "",
                   corner_hz())  # fmt: skip
        return (sheet.working("corner_hz"),)

    return DrawnProblem(
        text=f"In {pick(rng, VEHICLES)} a processor with an output impedance of {source_ohm / 1e3:g} kΩ feeds an"
        f" amplifier with an input of {input_ohm / 1e3:g} kΩ. Between them is {length_m} m of shielded cable,"
        f" {pf_per_m:g} pF in each metre. At which frequency is the level 3 dB down?",
        answer=corner_hz(),
        mistakes=(
            Mistake(
                key="one metre",
                value=corner_hz(length_m=1.0),
                hint=f"That is one metre of cable. There are {length_m} m of it.",
            ),
            Mistake(
                key="source alone",
                value=corner_hz(input_ohm=np.inf),
                hint="The input lies beside the source for the capacitor. Take both in parallel.",
            ),
            Mistake(
                key="no 2 pi",
                value=corner_hz(farad=farad_per_m / (2 * np.pi)),
                hint="You left out 2π. Without it the result is in radians a second, not in hertz.",
            ),
        ),
        work=work,
    )


KINDS = (
    ProblemKind(key="decibels", title="Decibels lost", quantity=units.LEVEL, low=0.4, high=2.0, draw=_decibels,
         tolerance=0.03, nudge="The ratio is load plus wire over load alone. Decibels are 20 times its log."),
    ProblemKind(key="power", title="Watts at the speaker", quantity=units.POWER, low=30, high=290, draw=_power,
         tolerance=0.01, nudge="Find the amplifier's voltage, then the current with the wire in, then the watts."),
    ProblemKind(key="damping", title="Damping factor", quantity=units.NUMBER, low=3, high=150, draw=_damping,
         nudge="The subwoofer looks back into amplifier and wire. Divide its impedance by both together."),
    ProblemKind(key="coils", title="Coils in series and parallel", quantity=units.RESISTANCE, low=2, high=8,
                draw=_coils,
         nudge="Work out one driver from its two coils first. Then put the drivers together."),
    ProblemKind(key="treble", title="Treble in a line cable", quantity=units.FREQUENCY, low=40e3, high=2e6,
                draw=_treble,
         nudge="Source and input in parallel, then the cable's capacitance, then 1/(2π R C)."),
    ProblemKind(key="plot", title="Reading the plot", quantity=units.LEVEL, low=0.05, high=3.0,
                draw=_plot, tolerance=0.06,
         nudge="Go up from the length to the line of this size, then across to the left."),
)  # fmt: skip
