"""Where the numbers of a band come from: how it was found, the point value's working, and how far inputs stray.

The band itself is `runs.tolerance`'s; the tests put the shown text back into arithmetic and hold the two together.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from wirecalc import runs
from wirecalc.limit import Limit
from wirecalc.runs import tolerance
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.choice import given_bound
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

POINTS = dict(zip(("low", "middle", "high"), tolerance.PERCENTS, strict=True))  # fields of `tolerance.Band`
_TITLES = {"low": "5 of 100 below", "middle": "Middle: 50 of 100 below", "high": "5 of 100 above"}
_SYMBOLS = {"length_m": "L", "temperature_c": "T", "joints_ohm": "Rj", "resistance_ratio": "R", "load_ratio": "Z"}
_WIDTHS = {"normal": "standard deviation", "uniform": "half-width", "triangular": "half-width"}
_BEFORE = "The steps before are those of every input at its own value."
_GUM = "Law of propagation of uncertainty, JCGM 100:2008 (GUM), 5.1.2 and 5.1.3; published value, copy not checked"


@dataclass(frozen=True, kw_only=True)
class Strayed:
    """One measure of a run whose inputs are not known exactly."""

    measure: str
    run: runs.Run
    conductor: Conductor
    laid: runs.Installation
    inputs: Mapping[str, tolerance.Uncertain]
    """Of `wirecalc.runs.tolerance.run_inputs`, with the spreads that were asked for."""
    feet: bool = False
    """Whether the length was entered in feet."""


def drawn(strayed: Strayed, band: tolerance.Band, point: str, *, draws: int, seed: int) -> Working:
    """A band of `wirecalc.runs.tolerance.monte_carlo`.

    Parameters
    ----------
    strayed : Strayed
    band : wirecalc.runs.tolerance.Band
        Of its measure.
    point : str
        "low", "middle" or "high".
    draws, seed : int
        As the band was found.

    Returns
    -------
    Working
    """
    sheet, unit = _start(strayed)
    value = float(getattr(band, point))
    spreads = tuple(_put(sheet, strayed))
    sheet.say(
        "yp",
        f"{_name(strayed)}: {_TITLES[point]}",
        f"{POINTS[point]:g} % of {draws} draws of all inputs at once are below",
        "",
        value,
        unit,
        _drawn(seed),
        _BEFORE,
        spreads,
    )
    return _told(sheet, strayed)


def broken(strayed: Strayed, limit: Limit, share: float, *, draws: int, seed: int) -> Working:
    """How many of 100 runs break a limit, by `wirecalc.runs.tolerance.monte_carlo`.

    Parameters
    ----------
    strayed : Strayed
    limit : wirecalc.limit.Limit
    share : float
        Of the draws. [0 to 1]
    draws, seed : int
        As it was found.

    Returns
    -------
    Working
    """
    sheet, _ = _start(strayed)
    spreads = tuple(_put(sheet, strayed))
    side = "over" if limit.sense == "at most" else "under"
    sheet.put("B", given_bound(limit, strayed.run.kind))
    drawn_so = f"{_drawn(seed)}; each worked out by the formulas before"
    sheet.put(
        "Nb", Given(f"draws of all inputs at once that are {side} B", round(share * draws), "", drawn_so, "computed")
    )
    sheet.put("Nd", Given("draws", draws, "", "the page's own", "computed"))
    sheet.work("yb", "Of 100 cars, those that break the limit", "100*Nb/Nd", "", "By counting", _BEFORE, 100 * share,
               ("B", *spreads))  # fmt: skip
    return sheet.working("broken")


def share_of(strayed: Strayed, band: tolerance.Band, name: str, *, draws: int, seed: int) -> Working:
    """What one input gives to the spread, by `runs.tolerance.monte_carlo`.

    Parameters
    ----------
    strayed : Strayed
        The measure and its uncertain inputs.
    band : wirecalc.runs.tolerance.Band
        As it was drawn.
    name : str
        Of the input.
    draws : int
        How many were made.
    seed : int
        Of the draws.

    Returns
    -------
    Working
        Ends at the share of the variance. [%]

    See Also
    --------
    drawn : The band itself.
    """
    sheet, unit = _start(strayed)
    spreads = tuple(_put(sheet, strayed))
    title = strayed.inputs[name].name
    alike = f"of the means of {tolerance.GROUPS} groups of draws, alike in it, less what chance gives"
    sheet.put("ve", Given(f"variance that goes with this input alone: {alike}", band.shares[name] * band.deviation**2,
                          f"({unit})²" if unit else "", _drawn(seed), "computed"))  # fmt: skip
    sheet.put("sy", Given(f"standard deviation of all {draws} draws", band.deviation, unit, _drawn(seed), "computed"))
    sheet.work("ys", f"{title[0].upper()}{title[1:]}: share of the variance", "100*ve/sy**2", "%", "By definition",
               _BEFORE, 100 * band.shares[name], spreads)  # fmt: skip
    return sheet.working("share")


def first_order_working(strayed: Strayed, point: str) -> Working:
    """A band by `wirecalc.runs.tolerance.first_order`: each input strays alone.

    Parameters
    ----------
    strayed : Strayed
        The measure and its uncertain inputs.
    point : str
        "low", "middle" or "high".

    Returns
    -------
    Working
        Ends at that point, in the measure's unit.

    See Also
    --------
    drawn : The band by random draws.
    """
    sheet, unit = _start(strayed)
    _put(sheet, strayed)
    means, above, below = _alone(strayed)
    sheet.put("ym", Given("the result with each input at the mean of its shape", means, unit,
                           "the formulas before, with those means", "computed"))  # fmt: skip
    contributions = []
    for name, high, low in zip(strayed.inputs, above, below, strict=True):
        symbol, uncertain = _SYMBOLS[name], strayed.inputs[name]
        if uncertain.spread == 0:
            continue
        mean, deviation = uncertain.moments()
        sheet.put(f"s{symbol}", Given(f"{uncertain.name}, standard deviation of its shape", deviation, _unit(name),
                                       f"about its mean, {mean:.5g}", "computed"))  # fmt: skip
        for sign, side, quantile in (("+", "h", high), ("−", "l", low)):
            sheet.put(f"y{symbol}{side}", Given(f"the result at its mean {sign} s{symbol}, the others at theirs",
                                                 float(quantile), unit, "the formulas before", "computed"))  # fmt: skip
        half = f"(y{symbol}h-y{symbol}l)/2"
        sheet.work(f"c{symbol}", f"From {uncertain.name[0].lower()}{uncertain.name[1:]} alone", half, unit, _GUM,
                   needs=(f"s{symbol}", f"u{symbol}"))  # fmt: skip
        contributions.append(f"c{symbol}")
    band = tolerance.first_order(runs.model(strayed.run, strayed.conductor, strayed.laid), strayed.inputs,
                                 [strayed.measure])[strayed.measure]  # fmt: skip
    squares = "+".join(f"{contribution}**2" for contribution in contributions) or "0"
    sheet.work("sy", "All together, as one standard deviation", f"sqrt({squares})", unit, _GUM, "", band.deviation)
    from scipy.special import ndtri  # here, as in tolerance

    z = float(ndtri(POINTS[point] / 100))
    sheet.put("z", Given(f"standard deviations below which {POINTS[point]:g} % of a normal distribution lie", z, "",
                          "quantile of the normal distribution, scipy", "computed"))  # fmt: skip
    sheet.work("yp", f"{_name(strayed)}: {_TITLES[point]}", "ym+z*sy", unit, "First order, as if normally distributed",
               "", float(getattr(band, point)))  # fmt: skip
    return _told(sheet, strayed)


def _drawn(seed: int) -> str:
    return (
        f"Monte Carlo: each input in its shape, independent of the others; random numbers of seed {seed}, "
        "so the same ones each time. wirecalc.runs.tolerance"
    )


def _told(sheet: FormulaSheet, strayed: Strayed) -> Working:
    """The working that ends at the sheet's last number; a drop over the supply is given in per cent."""
    if strayed.measure == "drop_fraction":
        title = sheet.working("").title
        sheet.work("y%", f"{title}, in per cent", "100*yp", "%", "By definition")
    return sheet.working(strayed.measure)


def _name(strayed: Strayed) -> str:
    return runs.MEASURES[strayed.measure].name


def _unit(name: str) -> str:
    return {"length_m": "m", "temperature_c": "K", "joints_ohm": "Ω"}.get(name, "")


def _start(strayed: Strayed) -> tuple[FormulaSheet, str]:
    """The point value, worked out."""
    sheet = FormulaSheet()
    sheet.take(working(strayed.measure, strayed.run, strayed.conductor, strayed.laid, feet=strayed.feet))
    return sheet, runs.MEASURES[strayed.measure].unit


def _put(sheet: FormulaSheet, strayed: Strayed) -> list[str]:
    """Every input's spread with its reason and source; those symbols."""
    usual = tolerance.run_inputs(strayed.laid.length_m, strayed.laid.temperature_c, strayed.laid.joints_ohm)
    symbols = []
    for name, row in tolerance.TOLERANCES.items():
        uncertain = strayed.inputs[name]
        symbol, unit = f"u{_SYMBOLS[name]}", _unit(name)
        words = f"{uncertain.name}: {uncertain.value:.5g} ± this, {uncertain.shape} ({_WIDTHS[uncertain.shape]})"
        given = Given(words, uncertain.spread, unit)
        if np.isclose(uncertain.spread, usual[name].spread, rtol=1e-9, atol=0):
            given = Given(f"{words}; {row.reason}", uncertain.spread, unit, row.source, row.confidence)
        sheet.put(symbol, given)
        symbols.append(symbol)
    return symbols


def _alone(strayed: Strayed) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """The measure at all means, and at each input's mean plus and minus its standard deviation."""
    moments = {name: uncertain.moments() for name, uncertain in strayed.inputs.items()}
    turns = np.eye(len(moments))
    points = {
        name: np.concatenate([[mean], mean + deviation * turn, mean - deviation * turn])
        for (name, (mean, deviation)), turn in zip(moments.items(), turns, strict=True)
    }
    values = runs.model(strayed.run, strayed.conductor, strayed.laid)(**points)[strayed.measure]
    value = np.broadcast_to(np.asarray(values, np.float64), (2 * len(moments) + 1,))
    return float(value[0]), value[1 : len(moments) + 1], value[len(moments) + 1 :]
