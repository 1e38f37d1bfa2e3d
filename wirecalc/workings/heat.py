"""The formulas of heat and fuse: one balance, solved for a temperature or for a current, and the published table."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from wirecalc import runs
from wirecalc.units_taken import takes_units
from wirecalc.wire import ampacity, fuse, heat
from wirecalc.wire.conductor import COPPER, HOTTEST_C, REFERENCE_C, STRANDED, Conductor, awg_area_m2, awg_label
from wirecalc.wire.insulation import insulated
from wirecalc.wire.zones import ZONES
from wirecalc.workings.circuit import B258
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of, row_of, rows_of

_CFR = "33 CFR 183.425 table 5"
_CHURCHILL = "Churchill, Chu, Int J Heat Mass Transfer 18 (1975) 1049; checked against ht"
_AIR = "U.S. Standard Atmosphere 1976; checked against fluids"
_CONDUCTION = "Conduction through a round wall, any textbook of heat transfer"
_K = f"{heat.KELVIN}"
_LEAVES = f"pi*Db/1000*(h*(Ts-Ta)+ε*σ*((Ts+{_K})**4-(Ta+{_K})**4))/N"
_MADE = f"{{0}}**2*R20*(1+α*({{1}}-{REFERENCE_C:g}))"
_BALANCE = "Balance of each metre: heat made = heat that leaves by air and radiation, all wires as one round bundle"
NEWTON = "Solved by Newton's steps until both sides agree; the steps before have the answer in them."


def heat_rules(
    measure: str,
    conductor: Conductor,
    laid: runs.Installation,
    place: runs.Place,
    symbols: Symbols,
    measures: Mapping[str, float],
) -> tuple[Book, Symbols]:
    """Temperature, allowable current and fuse; one heat balance, solved for the one or for the other.

    Parameters
    ----------
    measure : str
        The number that is asked, such as "temperature_c" or "allowable_a".
    conductor : Conductor
        Size, metal and stranding.
    laid : wirecalc.runs.Installation
        Length, ways and conductors in parallel.
    place : wirecalc.runs.Place
        Insulation, air and loaded conductors.
    symbols : mapping of str to str
        Symbols of the circuit's measures, the current among them.
    measures : mapping of str to float
        The measures as they were computed, each in its unit.

    Returns
    -------
    tuple of (mapping, mapping)
        Inputs and formulas by symbol; and the symbol of each measure.
    """
    insulation = place.insulation
    named: Symbols = {
        "limit_c": "Tmax", "damage_c": "Td", "ambient_c": "Ta", "own_loaded": "No",
        "allowable_a": "Iz", "published_a": "It", "balance_a": "Ib",
    }  # fmt: skip
    book = coat_rules(conductor, place) | _published(conductor, place)
    book["Tmax"] = Given(f"insulation's limit, {insulation.name}", insulation.limit_c, "°C", insulation.source,
                          insulation.confidence)  # fmt: skip
    book["Td"] = Given(f"what the insulation stands in a short, {insulation.name}", insulation.damage_c, "°C",
                       insulation.source, insulation.confidence)  # fmt: skip
    book["No"] = Rule("Loaded conductors of this run alone", "w*n", "", "Ways times conductors in parallel")
    book["Iz"] = Rule("Allowable current of one conductor", "min(It,Ib)", "A", "The lower of table and heat balance")
    if "heat_a" in measures:
        book["I1"] = Rule("Average current of one conductor", f"{symbols['heat_a']}/n", "A", "Like conductors share")
        named |= {"current_a": "I1", "temperature_c": "Tc"}
    if "draw_a" in measures:
        fuses, asked = _fuse(symbols["draw_a"], measures["allowable_a"], measures["fuse_headroom_a"])
        book, named = book | fuses, named | asked

    if measure != "temperature_c":
        allowed = ampacity.allowable(insulated([conductor], insulation), place.ambient_c, place.loaded)
        balance_a, rise = float(allowed.balance_a[0]), "Tmax-q*Rth"
        if balance_a == 0:
            rise = f"max(Ta,{rise})"
        made = _MADE.format("Ib", "Tmax")
        book["Ib"] = Rule("Current that brings the conductor to its limit", f"{made} == {_LEAVES}", "A", _BALANCE,
                          NEWTON, balance_a)  # fmt: skip
        return book | _inside(made, rise), named
    if math.isnan(measures["temperature_c"]):
        named["temperature_c"] = "I1"
    return book | steady_rules("I1", measures["temperature_c"]), named


@takes_units
def steady_rules(current: str, core_c: float) -> Book:
    """The heat balance, solved for the temperature at a current.

    Parameters
    ----------
    current : str
        Symbol of the current in one conductor.
    core_c : float
        The answer, inf if there is none up to the hottest that is looked at. [degC]

    Returns
    -------
    mapping of str to Given or Rule
        By symbol; the temperature is "Tc".
    """
    if math.isfinite(core_c):
        made = _MADE.format(current, "Tc")
        book = _inside(made, "Tc-q*Rth")
        book["Tc"] = Rule("Conductor temperature", f"{made} == {_LEAVES}", "°C", _BALANCE, NEWTON, core_c)
        return book
    made = _MADE.format(current, "Te")
    why = f"Even at {HOTTEST_C:g} °C more heat is made than leaves: it gets hotter than that."
    book = _inside(made, "max(Ta,Te-q*Rth)")
    book["Te"] = Given("where the calculation ends", HOTTEST_C, "°C", "wirecalc.wire.conductor", "computed")
    book["Tc"] = Rule("No steady temperature", f"{made} > {_LEAVES}", "°C", _BALANCE, why)
    return book


def _inside(made: str, surface: str) -> Book:
    return {
        "q": Rule("Heat made in each metre", made, "W/m", "Joule's law"),
        "Ts": Rule("Surface temperature", surface, "°C", _CONDUCTION),
    }


def coat_rules(conductor: Conductor, place: runs.Place) -> Book:
    """From the metal to the air around the bundle.

    Parameters
    ----------
    conductor : Conductor
        Size, metal and stranding.
    place : wirecalc.runs.Place
        Insulation, air and loaded conductors.

    Returns
    -------
    mapping of str to Given or Rule
        By symbol.
    """
    stranding, insulation = conductor.stranding, place.insulation
    stated = (insulation.source, insulation.confidence)
    ambient = field_of("air around the wire", place, "ambient_c", "°C")
    for zone in ZONES.values():
        if zone.ambient_c == place.ambient_c:
            ambient = Given(f"air, as in: {zone.name}", zone.ambient_c, "°C", zone.source, zone.confidence)
    return {
        "φ": Given(f"metal in the circle around the strands, {stranding.name}", stranding.fill, "", stranding.source,
                    stranding.confidence),
        "d": Rule("Diameter over the strands", "2*sqrt(A/φ/pi)", "mm", "Area of a circle"),
        "D": Rule("Diameter over the insulation", "d+2*(0.2+0.08*d)", "mm",
                   "Thin wall, near ISO 6722-1; published value, copy not checked"),
        "N": field_of("loaded conductors that lie together", place, "loaded"),
        "Db": Rule("Diameter of the bundle", "D*sqrt(N)", "mm", "As if no air were between the wires"),
        "λ": Given(f"thermal conductivity, {insulation.name}", insulation.w_per_m_k, "W/(m K)", *stated),
        "ε": Given(f"emissivity, {insulation.name}", insulation.emissivity, "", *stated),
        "σ": Given("Stefan-Boltzmann constant", heat.STEFAN_BOLTZMANN, "W/(m² K⁴)", "CODATA", "memory"),
        "Rth": Rule("Thermal resistance, hottest core to surface", "log(D/d)/(2*pi*λ)+(N-1)/(4*pi*λ)", "m K/W",
                     _CONDUCTION),
        "Ta": ambient,
        "Tf": Rule("Air film, absolute", f"(Ts+Ta)/2+{_K}", "K", "Mean of surface and air"),
        "μ": Rule("Viscosity of the air", "1.458e-6*Tf**1.5/(Tf+110.4)", "Pa s", _AIR),
        "λa": Rule("Conductivity of the air", "2.64638e-3*Tf**1.5/(Tf+245.4*10**(-12/Tf))", "W/(m K)", _AIR),
        "ρa": Rule("Density of the air", f"{heat.AIR_PA}/({heat.GAS_J_PER_KG_K}*Tf)", "kg/m³",
                    "Ideal gas at sea level"),
        "Pr": Rule("Prandtl number", f"μ*{heat.AIR_J_PER_KG_K}/λa", "", "By definition"),
        "Gr": Rule("Grashof number", f"{heat.GRAVITY}*abs(Ts-Ta)/Tf*(Db/1000)**3*(ρa/μ)**2", "", "By definition"),
        "h": Rule("Natural convection",
                   "λa/(Db/1000)*(0.6+0.387*(Gr*Pr)**(1/6)/(1+(0.559/Pr)**(9/16))**(8/27))**2", "W/(m² K)",
                   _CHURCHILL),
    }  # fmt: skip


def _published(conductor: Conductor, place: runs.Place) -> Book:
    """What the published table lets one conductor carry, with its factors for air and bundle."""
    rows, limit_c = rows_of("ampacity"), place.insulation.limit_c  # thin to thick
    columns_c = [int(str(name)[2:-1]) for name in rows[0] if str(name).startswith("a_")]
    column_c = max(column for column in columns_c if column <= limit_c)
    cells_a = [float(row[f"a_{column_c}c"]) for row in rows]
    areas_mm2 = awg_area_m2([row["awg"] for row in rows]) * 1e6
    like_mm2 = COPPER.ohm_m_20c * 1e6 * STRANDED.lay_factor / conductor.ohm_per_m_20c
    after = int(np.searchsorted(areas_mm2, like_mm2 * (1 - 1e-9)))
    like = "Table, a straight line over area to the next size"

    def cell(row: int) -> Given:
        name = f"{awg_label(rows[row]['awg'])} in the {column_c} °C column"
        return row_of(name, cells_a[row], "A", rows[row], "Aeq")

    def area(row: int) -> Given:
        return Given(f"metal of {awg_label(rows[row]['awg'])}", float(areas_mm2[row]), "mm²", B258, "computed")

    factors = rows_of("ampacity_factors")
    book: Book = {
        "ρCu": Given("resistivity of copper", COPPER.ohm_m_20c * 1e6, "Ω mm²/m", COPPER.source, COPPER.confidence),
        "kCu": Given(f"lay, {STRANDED.name}", STRANDED.lay_factor, "", STRANDED.source, STRANDED.confidence),
        "Aeq": Rule("Stranded copper of the same resistance", "ρCu*kCu/R20", "mm²",
                     "The table is for stranded copper: others count for what they conduct"),
        "Tt": Given("the table's column at or under the insulation's limit", column_c, "°C", _CFR,
                     str(rows[0]["confidence"])),
        "fa": Rule("Factor for the air", f"sqrt(min(1,max(0,(Tt-Ta)/(Tt-{ampacity.TABLE_AMBIENT_C:g}))))", "",
                    "The rise goes with the current squared; 1 up to the table's 30 °C"),
        "fn": Rule("Factor for the bundle", "min(f1,f2)", "", "The lower of two rules"),
        "It": Rule("Allowed by the published table", "I2*fa*fn", "A", _CFR),
    }  # fmt: skip
    if after == len(rows):
        book["I2"] = cell(after - 1)  # over the thickest nothing is added
    elif math.isclose(areas_mm2[after], like_mm2):
        book["I2"] = cell(after)
    elif after == 0:
        book |= {
            "I4": cell(0),
            "A4": area(0),
            "I2": Rule("Table, in proportion under its thinnest", "I4*Aeq/A4", "A", like),
        }
    else:
        book |= {"I3": cell(after - 1), "I4": cell(after), "A3": area(after - 1), "A4": area(after)}
        book["I2"] = Rule("Table, between two sizes", "I3+(I4-I3)*(Aeq-A3)/(A4-A3)", "A", like)
    if place.ambient_c >= ampacity.ENGINE_SPACE_C:
        row = next(row for row in factors if row["rule"].startswith("engine space") and row["at"] == column_c)
        book["fe"] = row_of("factor for engine spaces", row["factor"], "", row)
        book["fa"] = Rule("Factor for the air, from 50 °C on not over that for engine spaces",
                           f"min(fe,sqrt(max(0,(Tt-Ta)/(Tt-{ampacity.TABLE_AMBIENT_C:g}))))", "", _CFR)  # fmt: skip
    circuits = math.ceil(place.loaded / 2)
    for symbol, rule, count, counted in (("f1", "33 CFR", place.loaded, "N"), ("f2", "IEC 60364", circuits, "Nc")):
        ladder = [row for row in factors if row["rule"].startswith(rule)]
        row = next((row for row in ladder if row["at"] >= count), ladder[-1])
        book[symbol] = row_of(f"factor of {row['rule']}: {row['at']:g}", row["factor"], "", row)
        if row["at"] < count:
            book["f3"], most = book[symbol], row["at"]
            book["Nc"] = Given("circuits of two loaded conductors", circuits, "", "IEC 60364-5-52", "computed")
            book[symbol] = Rule(
                f"Factor past the {most:g} of {rule}", f"f3*sqrt({most:g}/{counted})", "", "Falls as 1/√N"
            )
    return book


def _fuse(draw: str, allowed_a: float, room_a: float) -> tuple[Book, Symbols]:
    """The smallest standard fuse for the draw of one conductor, the room over it, and what else a choice says."""
    usual = [row for key in fuse.USUAL_FAMILIES for row in rows_of("fuse_ratings") if row["family"] == key]
    rows = {float(row["rating_a"]): row for row in reversed(usual)}  # of two families the first

    def rated(name: str, rating_a: float, after: str = "") -> Given:
        return row_of(f"{name}, {rows[rating_a]['family']}", rating_a, "A", rows[rating_a], after)

    fits_a = next((rating_a for rating_a in rows if math.isclose(rating_a, allowed_a - room_a)), None)
    under_a = max((rating_a for rating_a in rows if rating_a <= allowed_a), default=None)
    name = "the smallest standard fuse of at least If"
    none = "" if fits_a else "No standard fuse carries this draw: split the load over several feeds."
    least = "At most the share kf of a fuse's rating"
    book: Book = {
        "kf": Given("largest steady draw over a fuse's rating", fuse.LOADING, "", "common practice, no source",
                    "common practice"),
        "kf%": Rule("Largest steady draw over a fuse's rating", "100*kf", "%", "By definition"),
        "Id": Rule("Draw, a fuse for each conductor", f"{draw}/n", "A", "Like conductors share"),
        "If": Rule("Least rating for the draw", "Id/kf", "A", least),
        "F": rated(name, fits_a, "If") if fits_a
        else Given(name, allowed_a - room_a, "A", "data/fuse_ratings.csv has none so large", "", "If"),
        "ΔI": Rule("Room for a fuse", "Iz-F", "A", "A fuse protects the wire: at or under what the wire may carry",
                   none),
        "Fm": rated("the largest standard fuse", max(rows)),
        "Idm": Rule("Draw that the largest fuse carries", "Fm*kf", "A", least),
    }  # fmt: skip
    if under_a is not None:
        book["Fz"] = rated("the largest standard fuse of at most Iz", under_a, "Iz")
        book["Idz"] = Rule("Draw that a fuse of this wire carries", "Fz*kf", "A", least)
    # no draw, no fuse: it ends where the draw does
    room = draw if math.isnan(room_a) else "ΔI"
    return book, {
        "fuse_headroom_a": room, "fuse_a": "F", "each_a": "Id", "loading_percent": "kf%", "largest_fuse_a": "Fm",
        "largest_draw_a": "Idm", "draw_at_most_a": "Idz",
    }  # fmt: skip
