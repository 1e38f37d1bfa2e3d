"""Where the times of heat come from: how fast a wire warms, and what fuse and insulation do in a short circuit.

The numbers are those of `wire.heat`, `wire.melting`, `wire.fuse` and `runs.short`.
"""

from __future__ import annotations

import math

from wirecalc import runs
from wirecalc.circuits.battery import source_ohm
from wirecalc.errors import InputError
from wirecalc.runs import short
from wirecalc.units_taken import takes_units
from wirecalc.wire import heat
from wirecalc.wire.conductor import REFERENCE_C, Conductor
from wirecalc.wire.fuse import usual_family, well_known
from wirecalc.wire.fuse_families import FAMILIES
from wirecalc.wire.insulation import METAL_SOURCE, insulated, metal_j_per_m3_k
from wirecalc.workings.circuit import OHM
from wirecalc.workings.formula import Book, Given, Rule, Working, number_text, worked
from wirecalc.workings.heat import steady_rules
from wirecalc.workings.measures import formulas

_LUMPED = "Lumped: metal and insulation are as warm as the core"
_ADIABATIC = "IEC 60949, no heat leaves the metal; published value, copy not checked"


@takes_units
def warming(
    what: str,
    run: runs.Run,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place,
    *,
    step_s: float,
    reached_c: tuple[float, ...] = (),
    feet: bool = False,
) -> Working:
    """How fast a wire warms up to its steady temperature.

    Parameters
    ----------
    what : str
        "time_constant_s", "settled_s" (five of it), or "passes_s": when the insulation's limit is passed.
    run, conductor, laid, place, feet
        See `wirecalc.workings.measures.working`.
    step_s : float
        Between two of the temperatures that were computed. [s]
    reached_c : (t,) tuple of float
        For "passes_s" these temperatures, of `wirecalc.wire.heat.over_time_c`, from time 0 on. [degC]

    Returns
    -------
    Working
        [s]
    """
    told = formulas("temperature_c", run, conductor, laid, place, feet=feet)
    book = told.book | _capacity(conductor, place)
    if what == "passes_s":
        after = next(i for i, hot_c in enumerate(reached_c) if hot_c > place.insulation.limit_c)
        then = f"{number_text(reached_c[after], 4)} °C" if math.isfinite(reached_c[after]) else "past the model's end"
        before = f"{number_text(reached_c[after - 1], 4)} °C before the last, " if after else ""
        name = f"steps until the conductor is over Tmax: {before}then {then}"
        how = "wirecalc.wire.heat.over_time_c: step by step, heat made less heat that leaves, over the heat capacity C"
        book["j"] = Given(name, after, "", how, "computed", "C")
        book["Δt"] = Given("time of one step", step_s, "s", "the warm-up chart's", "computed", "Tmax")
        book["tp"] = Rule("Passes the insulation's limit", "j*Δt", "s", _LUMPED,
                          "The first of the computed moments that is over: it passes a little before.")  # fmt: skip
        return worked(what, book, "tp")
    wire = insulated([conductor], place.insulation)
    slope = heat.returns_w_per_m_k(wire, told.numbers["current_a"], place.ambient_c, place.loaded)
    book["S"] = Given("how much more heat leaves than is made, for each kelvin over Tc", float(slope[0]), "W/(m K)",
                      "the balance before, at Tc and at Tc + 0.001 K, the surface solved anew", "computed",
                      "Tc")  # fmt: skip
    book["τ"] = Rule("Time constant", "C/S", "s", _LUMPED,
                     "In it the distance to Tc falls to 1/e, near the end: about 63 % of the rise.")  # fmt: skip
    book["t5"] = Rule("Nearly settled", "5*τ", "s", "After five time constants 99 % of the rise is there: 1 − e⁻⁵")
    return worked(what, book, "τ" if what == "time_constant_s" else "t5")


@takes_units
def in_a_short(
    what: str,
    run: runs.Run,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place,
    *,
    supply_v: float,
    feet: bool = False,
) -> Working:
    """One number of `wirecalc.runs.short.short`, with the smallest standard fuse that carries the draw.

    Parameters
    ----------
    what : str
        A field of `wirecalc.runs.short.Short`.
    run, conductor, laid, place, feet
        See `wirecalc.workings.measures.working`.
    supply_v : float
        See `wirecalc.runs.short.short`. [V]

    Returns
    -------
    Working

    Raises
    ------
    InputError
        If `what` is none of a short circuit.
    """
    told = formulas("fuse_headroom_a", run, conductor, laid, place, feet=feet)
    fitting = told.book["F"]
    assert isinstance(fitting, Given)
    rating_a = fitting.number
    source = source_ohm(run.starts_at, supply_v)
    protection = short.short(supply_v, conductor, laid, place, rating_a, source_ohm=source)
    book = told.book | _capacity(conductor, place)
    laid_c = short.hot(laid, place).temperature_c
    hot = "Tmax" if laid_c == place.insulation.limit_c else "T"
    strongest = protection.fault_a > short.STRONGEST_A
    end = f"As far as the heat balance reckons, {short.STRONGEST_A:g} A; more changes no verdict." if strongest else ""
    flows = f"min(V/(Rb+Zh)/n,{short.STRONGEST_A:g})" if strongest else "V/(Rb+Zh)/n"
    before = " and before the block" if run.starts_at == "branch" else ""
    book |= {
        "Rb": Given(f"inside the battery, at its clamps{before}", source, "Ω", "common practice, no source",
                    "common practice"),
        "Zh": Rule("Loop as hot as the insulation may be", f"w*L*R20*(1+α*({hot}-{REFERENCE_C:g}))/n+Rj", "Ω",
                   "The weakest short is the hard one for a fuse"),
        "Ik": Rule("Current of a short at the far end, each conductor", flows, "A", OHM,
                   end or "Through battery, hot wire and joints."),
        "x": Rule("Current over the fuse's rating", "Ik/F", "", "By definition"),
        "tw": Rule("How long the insulation lasts", f"max(log({_HOT.format('Td')}/{_HOT.format('Tmax')}),0)"
                   "*A*k*cm/10**6/(R20*α*Ik**2)", "s", _ADIABATIC, "From Tmax to what it stands in a short, Td."),
        **steady_rules("Ik", protection.steady_c),
    }  # fmt: skip
    book |= _opens(rating_a, min(protection.fault_a, short.STRONGEST_A) / rating_a)
    symbol = {"fault_a": "Ik", "clearing_s": "tf", "lasts_s": "tw", "steady_c": "Tc"}.get(what)
    if symbol is None:
        raise InputError("Number", what, "one of a short circuit")
    return worked(what, book, symbol)


_HOT = f"(1+α*({{}}-{REFERENCE_C:g}))"


def _opens(rating_a: float, share: float) -> Book:
    """The latest that a fuse of the usual family opens, by the gates that bind at this current over rating."""
    book: Book = {}
    formula = ""
    key = usual_family(rating_a)
    of, sure = FAMILIES[key], well_known(key)
    gates = f"{of.standard}, {of.name}; published value, copy not checked"
    for place, gate in enumerate(gate for gate in of.gates if gate.sure or not sure):
        if math.isinf(gate.most_s) or round(share, 12) < gate.over_rating:
            continue
        book[f"x{place}"] = Given("a gate: current over rating", gate.over_rating, "", gates, "memory")
        book[f"t{place}"] = Given("longest time at it", gate.most_s, "s", gates, "memory")
        by_gate = f"t{place}*(x{place}/x)**2"
        formula = f"min({formula},{by_gate})" if formula else by_gate
    source = f"{gates}; a stronger current needs no more I² t"
    book["tf"] = Rule("Latest that the fuse opens", formula, "s", source)
    if not formula:
        book["tf"] = Given("latest that the fuse opens; under 135 % of its rating it need not", math.inf, "s", gates,
                           "memory")  # fmt: skip
    return book


def _capacity(conductor: Conductor, place: runs.Place) -> Book:
    insulation = place.insulation
    return {
        "cm": Given(f"heat capacity by volume, {conductor.metal.name}", metal_j_per_m3_k(conductor), "J/(m³ K)",
                    METAL_SOURCE, "memory"),
        "ci": Given(f"heat capacity by volume, {insulation.name}", insulation.j_per_m3_k, "J/(m³ K)",
                    insulation.source, insulation.confidence),
        "C": Rule("Heat to warm a metre by 1 K, metal and insulation", "(A*k*cm+pi/4*(D**2-d**2)*ci)/10**6",
                  "J/(m K)", "Volume times heat capacity"),
    }  # fmt: skip
