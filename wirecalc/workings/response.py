"""Where the numbers of a run over frequency come from: level, tone, Q, least impedance, the pair.

As in `workings.measures` the formulas are text; the numbers come from the modules that compute them, and the tests
put the text back into arithmetic, complex where it is, and hold the two together.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.constants import epsilon_0, mu_0

from wirecalc import runs
from wirecalc.circuits import loudspeaker, response
from wirecalc.circuits.impedance_file import MeasuredImpedance
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import LOWEST_OF_RATED, Driver, HasImpedance, RatedCheck, Wired, parallel_q
from wirecalc.circuits.source import Amplifier
from wirecalc.circuits.speaker_load import Provenance
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.conductor import ohms_per_metre
from wirecalc.wire.pair import Pair, effective_permittivity
from wirecalc.wire.skin import internal_henry_per_m, internal_ohm_per_m
from wirecalc.workings.circuit import DIVIDER, OHM, length_rules
from wirecalc.workings.formula import Given, Working, field_of
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet, with_digits

Array = NDArray[np.float64]

_SMALL = "Small, Direct-radiator loudspeaker system analysis, 1972; published value, copy not checked"
_BOX = "Small, Closed-box loudspeaker systems, 1972; published value, copy not checked"
_COILS = "Two like coils on one former, fully coupled; derived in wirecalc.circuits.loudspeaker"
_BESSEL = "Field inside a round rod, any text on electromagnetics; held against mpmath. wirecalc.wire.skin"
_TWO_WIRES = "Two-wire line, current on the surface; ln(y + √(y² − 1)) is acosh(y). wirecalc.wire.pair"
_RATING = "A rating read as a voltage source behind its output impedance"
_RULE = "IEC 60268-5 clause 16.1; published value, copy not checked"


@dataclass(frozen=True, kw_only=True)
class OverFrequency:
    """A loudspeaker run at the frequencies where it was computed."""

    run: runs.SpeakerRun
    pair: Pair
    wall_entered: bool
    """Whether the thickness of the insulation was entered, or is that of `wirecalc.wire.insulation.insulated`."""
    laid: runs.Installation
    load: HasImpedance
    load_name: str
    made: Provenance
    hz: Array
    """(f,) in the band."""
    level_db: Array
    """(f,) `wirecalc.circuits.response.level_db` there."""
    feet: bool = False
    """Whether the length was entered in feet."""

    @property
    def looked_at(self) -> str:
        """Where a highest, lowest or furthest level was looked for."""
        ends = f"{with_digits(float(self.hz[0]), 4)} to {with_digits(float(self.hz[-1]), 4)} Hz"
        return f"of {len(self.hz)} frequencies in even steps of pitch, {ends}; nothing in between"

    @property
    def _two_way(self) -> runs.Installation:
        """A run as a pair of wires: the curves are computed for a pair even where the body is the return."""
        return replace(self.laid, ways=2)


def furthest(run: OverFrequency) -> Working:
    """The level that is furthest from that with no wire, as `wirecalc.circuits.response.in_band` finds it. [dB]"""
    sheet = _start(run)
    at = int(np.argmax(np.abs(run.level_db)))
    _level(sheet, run, at, f"where the wire changes the level most, {run.looked_at}")
    return sheet.working("worst_db")


def furthest_hz(run: OverFrequency) -> Working:
    """Where the level is furthest from that with no wire: one of the two ends of its range. [Hz]"""
    sheet = _both(run)
    numbers = (float(sheet.numbers["ΔL1"].real), float(sheet.numbers["ΔL2"].real))
    more, less = (1, 2) if abs(numbers[0]) >= abs(numbers[1]) else (2, 1)
    note = f"The furthest {run.looked_at}: it can only be the highest or the lowest level."
    value = float(sheet.numbers[f"f{more}"].real)
    sheet.work(f"f{more}", "Where it is furthest", f"abs(ΔL{more})>abs(ΔL{less})", "Hz", "By definition", note, value)
    return sheet.working("worst_hz")


def tone(run: OverFrequency) -> Working:
    """Highest less lowest level, as `wirecalc.circuits.response.in_band` finds it. [dB]"""
    sheet = _both(run)
    value = float(np.ptp(run.level_db))
    sheet.work("Δ", "Highest less lowest level", "ΔL1-ΔL2", "dB", "By definition", "", value)
    return sheet.working("spread_db")


def series_ohm(run: OverFrequency) -> Working:
    """Wire and amplifier, in series with the driver at DC. [ohm]"""
    return _in_series(run).working("series_ohm")


def own_q(run: OverFrequency, which: str) -> Working:
    """A driver's Q without wire, by its box and coils.

    Parameters
    ----------
    run : OverFrequency
        With a loudspeaker as its load.
    which : {"qes", "qts"}
        Electrical, or total.

    Returns
    -------
    Working
        Ends at the Q. [-]
    """
    driver, sheet = _unwired(run.load)[1], FormulaSheet()
    assert isinstance(driver, Driver)
    e, _, t = _q_names(run)
    _values(sheet, run.made, driver, ("Rc", "Qe", "Qm"))
    if which == "qes":
        sheet.work("Q0", f"{e} of the driver", "Qe", "", _SMALL)
    else:
        sheet.work("Q0", f"{t} of the driver", "1/(1/Qe+1/Qm)", "", _SMALL, "", driver.qts)
    return sheet.working(which)


def qes_working(run: OverFrequency) -> Working:
    """Electrical Q of the driver behind the wire and the amplifier."""
    return _raised_qes(run)[0].working("wired_qes")


def q_with_wire(run: OverFrequency) -> Working:
    """Total Q of the driver behind the wire and the amplifier; the load is a driver, or several alike."""
    sheet, driver = _raised_qes(run)
    _, m, t = _q_names(run)
    note = f"{m} stays as it is. No crossover is counted."
    value = float(parallel_q(float(sheet.numbers["Q1"].real), driver.qms))
    sheet.work("Q2", f"{t} with wire", "1/(1/Q1+1/Qm)", "", _SMALL, note, value)
    return sheet.working("wired_qts")


def least(run: OverFrequency, which: str, checked: RatedCheck) -> Working:
    """The load's least impedance, and what the 80 % rule makes of it.

    Parameters
    ----------
    run : OverFrequency
    which : str
        "least_ohm", "least_hz"; "allowed_ohm", 80 % of the rated impedance; "highest_rating_ohm", the highest that the
        load may carry; "amplifier_ohm", the least load of the amplifier, and "expects_ohm", 80 % of it.
    checked : wirecalc.circuits.loudspeaker.RatedCheck

    Returns
    -------
    Working
    """
    sheet = FormulaSheet()
    if which in ("least_ohm", "least_hz", "highest_rating_ohm"):
        ends = f"{with_digits(float(run.hz[0]), 4)} to {with_digits(float(run.hz[-1]), 4)} Hz"
        where = f"where the impedance is least, {ends}: looked for on a dense grid, then between its neighbours"
        sheet.put("f", Given("frequency", checked.least.frequency_hz, "Hz", where, "computed"))
        _load(sheet, run, checked.least.frequency_hz, "")
        if which == "least_hz":
            sheet.say("fl", "Where the impedance is least", "the f of the least |ZL|", "",
                      checked.least.frequency_hz, "Hz", "wirecalc.circuits.loudspeaker.least_impedance")  # fmt: skip
        if which != "highest_rating_ohm":
            return sheet.working(which)
        sheet.numbers["ZL"] = complex(run.load.impedance(checked.least.frequency_hz))
    sheet.put("kr", Given("least impedance over the rated one", LOWEST_OF_RATED, "", _RULE, "memory"))
    amplifier = run.run.amplifier.least_load_ohm
    sheet.put("Zn", Given("rated impedance: the page's load impedance", abs(run.run.load_ohm), "Ω"))
    sheet.put("Za", Given("least load of the amplifier: entered, or by its ratings", amplifier, "Ω"))
    if which == "highest_rating_ohm":
        sheet.work(
            "Zr", "Highest rated impedance of this load", "abs(ZL)/kr", "Ω", _RULE, "", checked.highest_rating_ohm
        )
    elif which == "allowed_ohm":
        sheet.work("Zk", "Least that the rated impedance allows", "kr*Zn", "Ω", _RULE, "", checked.allowed_ohm)
    elif which == "expects_ohm":
        sheet.work("Zk", "Least that the amplifier expects", "kr*Za", "Ω", _RULE)
    else:
        sheet.work("Zl", "Least load of the amplifier", "Za", "Ω", "By its ratings, doubled where it is bridged")
    return sheet.working(which)


@takes_units
def of_pair(run: OverFrequency, which: str, hz: float) -> Working:
    """The two conductors beside each other.

    Parameters
    ----------
    run : OverFrequency
    which : str
        "henry" [uH/m] at a frequency, "farad" [pF/m], "spacing" of the centres or "wall" of the insulation [mm].
    hz : float
        [Hz]

    Returns
    -------
    Working
    """
    sheet, pair = _start(run), run.pair
    if which == "henry":
        sheet.put("f", Given("frequency", hz, "Hz", "the page's own", "computed"))
        _inside(sheet, run, hz, "")
        value = float(pair.henry_per_m(hz, run.laid.temperature_c)) * 1e6
        sheet.work("lp", "Inductance of the pair", "le+2*li", "µH/m", "Inductances in series", "", value)
    elif which == "farad":
        insulation, wall_m = pair.insulation, pair.insulation_m
        sheet.put("εr", Given(f"relative permittivity, {insulation.name}", insulation.relative_permittivity, "",
                              insulation.source, insulation.confidence))  # fmt: skip
        sheet.put("ε0", Given("electric constant", epsilon_0 * 1e12, "pF/m", "CODATA, by scipy.constants", "computed"))
        filled = effective_permittivity(pair.conductor.diameter_m, wall_m, pair.gap_m, insulation.relative_permittivity)
        sheet.say("εe", "Permittivity that, filling all space, would do the same",
                  "the mean over the field lines in air, each a row of insulation (εr, t thick), air, insulation", "",
                  float(filled), "", "wirecalc.wire.pair.effective_permittivity; held against finite differences",
                  "Never too high; too low by 8 % at most.", ("εr",))  # fmt: skip
        sheet.work("cp", "Capacitance of the pair", "pi*ε0*εe/log(a/d+sqrt((a/d)**2-1))", "pF/m", _TWO_WIRES, "",
                   pair.farad_per_m * 1e12)  # fmt: skip
    elif which == "spacing":
        sheet.work("s", "Between the centres of the pair", "a", "mm", "By geometry")
    else:
        sheet.work("tw", "Insulation on each conductor", "t", "mm", "Entered, or a thin wall")
    return sheet.working(which)


def _q_names(run: OverFrequency) -> tuple[str, str, str]:
    return ("Qec", "Qmc", "Qtc") if run.made.box_m3 is not None else ("Qes", "Qms", "Qts")


def _in_series(run: OverFrequency) -> FormulaSheet:
    sheet = FormulaSheet()
    sheet.take(working("loop_ohm", run.run, run.pair.conductor, run._two_way, feet=run.feet))
    _amplifier(sheet, run.run.amplifier)
    sheet.work("Rs", "In series with the coil", "Zs+Zw", "Ω", "Resistances in series")
    return sheet


def _raised_qes(run: OverFrequency) -> tuple[FormulaSheet, Driver]:
    sheet, count, driver = _in_series(run), *_unwired(run.load)
    assert isinstance(driver, Driver)
    _values(sheet, run.made, driver, ("Rc", "Qe", "Qm"))
    coil = "Rc"
    if count != (1, 1):
        _put_wiring(sheet, count)
        sheet.work("RL", "All coils, DC", "Ns/Np*Rc", "Ω", "Like resistances in series and in parallel")
        coil = "RL"
    raised = loudspeaker.qes_with_wire(driver.qes, float(run.load.impedance(0.0).real), float(sheet.numbers["Rs"].real))
    sheet.work("Q1", f"{_q_names(run)[0]} with wire", f"Qe*(1+Rs/{coil})", "", _SMALL, "", float(raised))
    return sheet, driver


# --- the level at one frequency -------------------------------------------------------------------------------


def _start(run: OverFrequency) -> FormulaSheet:
    """The sheet with all that does not depend on frequency."""
    sheet, conductor, laid, pair = FormulaSheet(), run.pair.conductor, run._two_way, run.pair
    sheet.take(working("ohm_per_m", run.run, conductor, laid))
    sheet.take(working("area_mm2", run.run, conductor, laid))
    _amplifier(sheet, run.run.amplifier)
    stranding = conductor.stranding
    sheet.put("φ", Given(f"metal in the circle around the strands, {stranding.name}", stranding.fill, "",
                          stranding.source, stranding.confidence))  # fmt: skip
    sheet.work("d", "Diameter over the strands", "2*sqrt(A/φ/pi)", "mm", "Area of a circle")
    if run.wall_entered:
        sheet.put("t", Given("thickness of the insulation", pair.insulation_m * 1e3, "mm"))
    else:
        sheet.work(
            "t",
            "Thickness of the insulation",
            "0.2+0.08*d",
            "mm",
            "Thin wall, near ISO 6722-1; published value, copy not checked",
        )
    sheet.put("g0", Given("gap between the two insulations", pair.gap_m * 1e3, "mm"))
    sheet.work("a", "Between the centres", "d+2*t+g0", "mm", "By geometry", "", pair.spacing_m * 1e3)
    sheet.put("μ0", Given("magnetic constant", mu_0 * 1e6, "µH/m", "CODATA, by scipy.constants", "computed"))
    sheet.work("le", "Inductance between the conductors, pair", "μ0/pi*log(a/d+sqrt((a/d)**2-1))", "µH/m", _TWO_WIRES,
               "", pair.external_henry_per_m * 1e6)  # fmt: skip
    sheet.add(length_rules("L", "run length, one way", laid.length_m, feet=run.feet))
    sheet.put("n", field_of("pairs in parallel", laid, "parallel"))
    sheet.put("Rj", field_of("joints, whole loop", laid, "joints_ohm", "Ω"))
    return sheet


def _amplifier(sheet: FormulaSheet, amplifier: Amplifier) -> None:
    sheet.put("Zr", field_of("impedance of the amplifier's rating", amplifier, "rated_ohm", "Ω"))
    sheet.put("DF", field_of("amplifier's damping factor at it", amplifier, "damping_factor"))
    sheet.work("Zs", "Amplifier, output impedance", "Zr/DF", "Ω", _RATING, "", amplifier.output_ohm)


def _both(run: OverFrequency) -> FormulaSheet:
    """Highest and lowest level, each worked out."""
    sheet = _start(run)
    highest, lowest = int(np.argmax(run.level_db)), int(np.argmin(run.level_db))
    _level(sheet, run, highest, f"where the level is highest, {run.looked_at}", "1")
    _level(sheet, run, lowest, f"where the level is lowest, {run.looked_at}", "2")
    return sheet


def _level(sheet: FormulaSheet, run: OverFrequency, at: int, where: str, k: str = "") -> None:
    """The level at one of the frequencies, its symbols ending in `k`."""
    hz, laid = float(run.hz[at]), run.laid
    ohm = response.wire_impedance(
        [run.pair],
        laid.length_m,
        [hz],
        temperature_c=laid.temperature_c,
        parallel=laid.parallel,
        joints_ohm=laid.joints_ohm,
    )
    loop = complex(ohm[0, 0])
    sheet.put(f"f{k}", Given("frequency", hz, "Hz", where, "computed"))
    _inside(sheet, run, hz, k)
    sheet.work(f"Rw{k}", "Resistance of the loop", f"2*L*kr{k}*r/n+Rj", "Ω", "Resistances in series and in parallel",
               "", loop.real)  # fmt: skip
    sheet.work(f"Xw{k}", "Reactance of the loop", f"2*pi*f{k}*(le+2*li{k})/10**6*L/n", "Ω", OHM, "", loop.imag)
    sheet.work(f"|Zw{k}|", f"Impedance of the wire, Zw{k} = Rw{k} + j Xw{k}: its size", f"abs(Rw{k}+j*Xw{k})", "Ω",
               "Complex numbers: j is the root of −1", "", abs(loop))  # fmt: skip
    sheet.numbers[f"Zw{k}"] = loop
    _load(sheet, run, hz, k)
    sheet.numbers[f"ZL{k}"] = complex(run.load.impedance(hz))
    which = {"": "Level against no wire", "1": "Highest level", "2": "Lowest level"}[k]
    formula = f"20*log10(abs(Zs+ZL{k})/abs(Zs+Zw{k}+ZL{k}))"
    sheet.work(f"ΔL{k}", which, formula, "dB", DIVIDER, "Below 0 is a loss.", float(run.level_db[at]))


def _inside(sheet: FormulaSheet, run: OverFrequency, hz: float, k: str) -> None:
    """Skin effect in one conductor at the frequency `f` + `k`."""
    dc = ohms_per_metre([run.pair.conductor], run.laid.temperature_c)[0]
    inside = complex(internal_ohm_per_m(dc, hz))
    sheet.work(f"m{k}", "Twice the square of radius over skin depth", f"2*μ0/10**6*f{k}/r", "", _BESSEL)
    magnetic = with_digits(float(sheet.numbers[f"m{k}"].real))
    for part, symbol, title, value, unit in (
        ("real", f"kr{k}", "Skin effect: resistance over that at DC", inside.real / dc, ""),
        ("imag", f"kx{k}", "Skin effect: inside reactance over resistance at DC", inside.imag / dc, ""),
    ):
        formula = f"{part}(√(j × {{0}}) × I0(√(j × {{0}})) / (2 × I1(√(j × {{0}}))))"
        note = "I0 and I1: modified Bessel functions of a complex number."
        sheet.say(symbol, title, formula.format(f"m{k}"), formula.format(magnetic), value, unit, _BESSEL, note)
    sheet.work(f"li{k}", "Inductance inside one conductor", f"kx{k}*r/(2*pi*f{k})*10**6", "µH/m", _BESSEL, "",
               float(internal_henry_per_m(dc, hz)) * 1e6)  # fmt: skip


# --- the load -------------------------------------------------------------------------------------------------


def _load(sheet: FormulaSheet, run: OverFrequency, hz: float, k: str) -> None:
    """Impedance of the load at a frequency, by what the load is."""
    count, load = _unwired(run.load)
    factor, title = "", f"Impedance of the load, {run.load_name}: its size"
    if count != (1, 1):
        _put_wiring(sheet, count)
        factor = "Ns/Np*"
    made = (run.made.origin, run.made.confidence)
    if isinstance(load, Load):
        sheet.put("RL", Given("load, taken as a resistance", load.ohm, "Ω", *made))
        inner, source = "RL", "The same at every frequency"
        if load.henry:
            sheet.put("LL", Given("inductance of the load", load.henry * 1e3, "mH", *made))
            inner, source = f"RL+j*2*pi*f{k}*LL/1000", "Resistance and inductance in series"
    elif isinstance(load, Driver):
        inner, source = _driver(sheet, run.made, load, k), f"Electrical equivalent of a moving-coil driver: {_SMALL}"
    elif isinstance(load, MeasuredImpedance):
        inner, source = _measured(sheet, made, load, hz, k), "Polar form of a complex number"
    else:
        impedance = complex(load.impedance(hz))
        sheet.put(f"RL{k}", Given("load at that frequency, resistive part", impedance.real, "Ω", *made))
        sheet.put(f"XL{k}", Given("load at that frequency, reactive part", impedance.imag, "Ω", *made))
        inner, source = f"RL{k}+j*XL{k}", "Resistance and reactance in series"
    whole = complex(run.load.impedance(hz))
    note = f"ZL{k} itself is {with_digits(whole, 4)} Ω."
    sheet.work(f"|ZL{k}|", title, f"{factor}abs({inner})", "Ω", source, note, abs(whole))


def _driver(sheet: FormulaSheet, made: Provenance, driver: Driver, k: str) -> str:
    """The formula of one driver; what it does not have is left out."""
    optional = ("Lc",) * (driver.le_henry > 0) + ("K", "κ") * (driver.semi > 0)
    _values(sheet, made, driver, ("Rc", "fs", "Qe", "Qm", *optional))
    parts = ["Rc"]
    if "Lc" in optional:
        parts.append(f"j*2*pi*f{k}*Lc/1000")
    if "K" in optional:
        parts.append(f"K*(j*2*pi*f{k})**κ")
    turn = f"(j*f{k}/fs)"
    parts.append(f"Rc/Qe*{turn}/({turn}**2+{turn}/Qm+1)")
    return "+".join(parts)


def _values(sheet: FormulaSheet, made: Provenance, driver: Driver, needed: tuple[str, ...]) -> None:
    """Parameters of one driver, worked out from those entered where box or coils changed them."""
    entered = made.entered or driver
    times: dict[str, list[str]] = {symbol: [] for symbol in needed}
    sources = []
    if made.box_m3 is not None and entered.vas_m3 is not None:
        sheet.put("Vas", Given("air as stiff as the suspension", entered.vas_m3 * 1e3, "l", made.origin))
        sheet.put("Vb", Given("the box, net inside", made.box_m3 * 1e3, "l", made.origin))
        if "u" not in sheet.numbers:
            sheet.work("u", "Stiffer by the box's air", "sqrt(1+Vas/Vb)", "", _BOX)
        times |= {symbol: ["u"] for symbol in ("fs", "Qe", "Qm")}
        sources.append(_BOX)
    if made.coils == "series":
        times |= {symbol: ["4"] for symbol in ("Rc", "Lc", "K")}
    if made.coils == "one":
        times |= {"Rc": ["2"], "Qe": [*times["Qe"], "2"]}
    if made.coils in ("series", "one"):
        sources.append(_COILS)
    for symbol in needed:
        name, number, unit = {
            "Rc": ("DC resistance of the coil, Re", entered.re_ohm, "Ω"),
            "fs": ("resonance", entered.fs_hz, "Hz"),
            "Qe": ("electrical Q", entered.qes, ""),
            "Qm": ("mechanical Q", entered.qms, ""),
            "Lc": ("inductance of the coil, Le", entered.le_henry * 1e3, "mH"),
            "K": ("semi-inductance", entered.semi, "Ω·sⁿ"),
            "κ": ("exponent of the semi-inductance", entered.semi_exponent, ""),
        }[symbol]
        given = Given(name, number, unit, made.origin, made.confidence)
        if not times[symbol]:
            sheet.put(symbol, given)
        elif symbol not in sheet.numbers:
            sheet.put(f"{symbol}0", given)
            title = f"{name[0].upper()}{name[1:]}, as it is used"
            sheet.work(symbol, title, "*".join([f"{symbol}0", *times[symbol]]), unit, "; ".join(sources))


def _measured(sheet: FormulaSheet, made: tuple[str, str], file: MeasuredImpedance, hz: float, k: str) -> str:
    """Between the two rows of the file beside the frequency."""
    above = int(np.clip(np.searchsorted(file.frequency_hz, hz), 1, len(file.frequency_hz) - 1))
    for symbol, where, row in (("p", "below", above - 1), ("q", "above", above)):
        name = f"the row {where} it"
        sheet.put(f"f{symbol}{k}", Given(f"{name}, frequency", float(file.frequency_hz[row]), "Hz", *made))
        sheet.put(f"Z{symbol}{k}", Given(f"{name}, magnitude", float(file.magnitude_ohm[row]), "Ω", *made))
        sheet.put(f"φ{symbol}{k}", Given(f"{name}, phase", float(file.phase_deg[row]), "°", *made))
    straight = "Straight over log frequency between two rows"
    sheet.work(f"x{k}", "Share of the way from row to row", f"log(f{k}/fp{k})/log(fq{k}/fp{k})", "", straight)
    sheet.work(f"M{k}", "Magnitude", f"Zp{k}*(Zq{k}/Zp{k})**x{k}", "Ω", f"{straight}, log magnitude")
    sheet.work(f"ψ{k}", "Phase", f"φp{k}+(φq{k}-φp{k})*x{k}", "°", straight)
    return f"M{k}*e**(j*ψ{k}*pi/180)"


def _unwired(load: HasImpedance) -> tuple[tuple[int, int], HasImpedance]:
    """How many like loads are in series and in parallel, and one of them."""
    series = parallel = 1
    while isinstance(load, Wired) and all(part == load.parts[0] for part in load.parts):
        series *= len(load.parts) if load.way == "series" else 1
        parallel *= len(load.parts) if load.way == "parallel" else 1
        load = load.parts[0]
    return (series, parallel), load


def _put_wiring(sheet: FormulaSheet, count: tuple[int, int]) -> None:
    sheet.put("Ns", Given("like drivers in series", count[0]))
    sheet.put("Np", Given("like drivers, or rows of them, in parallel", count[1]))
