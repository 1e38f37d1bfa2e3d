"""Where the currents that melt a copper wire come from, by Onderdonk and by Preece; `wire.melting` computes them."""

from __future__ import annotations

from wirecalc import runs
from wirecalc.units_taken import takes_units
from wirecalc.wire import melting
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.formula import Given, Working
from wirecalc.workings.heat import coat_rules
from wirecalc.workings.measures import working
from wirecalc.workings.sheet import FormulaSheet

_NO_LIMIT = "Copper in air; the upper end, never a limit to work to."


@takes_units
def onderdonk(
    run: runs.Run, conductor: Conductor, laid: runs.Installation, place: runs.Place, time_s: float
) -> Working:
    """See `wirecalc.wire.melting.onderdonk_a`. [A]

    Parameters
    ----------
    run : wirecalc.runs.Run
        Whose wire it is.
    conductor : Conductor
        Copper.
    laid : wirecalc.runs.Installation
        Length, ways and temperature.
    place : wirecalc.runs.Place
        The air that the wire starts at.
    time_s : float
        Until it melts. [above 0 up to 10 s]

    Returns
    -------
    Working
        Ends at the current. [A]

    See Also
    --------
    preece : The current that melts it at last.
    """
    sheet = FormulaSheet()
    sheet.take(working("area_mm2", run, conductor, laid))
    ambient = coat_rules(conductor, place)["Ta"]
    assert isinstance(ambient, Given)
    sheet.put("Ta", ambient)
    sheet.put("t", Given("time to melting", time_s, "s", "the column's own"))
    sheet.work("Ac", "Metal in circular mils", "A/(pi/4*0.0254**2)", "circular mils", "A circle of 0.001 in")
    value = float(melting.onderdonk_a(conductor.area_m2, time_s, place.ambient_c))
    melt = f"{melting.ONDERDONK_MELT_C:g}"
    sheet.work("Im", f"Melts in {time_s:g} s, Onderdonk", f"Ac*sqrt(log10(({melt}-Ta)/(234+Ta)+1)/(33*t))", "A",
               "Stauffacher, 1928; published value, copy not checked", _NO_LIMIT, value)  # fmt: skip
    return sheet.working("onderdonk_a")


def preece(run: runs.Run, conductor: Conductor, laid: runs.Installation) -> Working:
    """See `wirecalc.wire.melting.preece_a`; the wire as if it were solid. [A]

    Parameters
    ----------
    run : wirecalc.runs.Run
        Whose wire it is.
    conductor : Conductor
        Copper.
    laid : wirecalc.runs.Installation
        Length, ways and temperature.

    Returns
    -------
    Working
        Ends at the current. [A]

    See Also
    --------
    onderdonk : The current that melts it in a short time.
    """
    sheet = FormulaSheet()
    sheet.take(working("area_mm2", run, conductor, laid))
    sheet.work("ds", "Diameter of a solid wire of as much metal", "2*sqrt(A/pi)", "mm", "Area of a circle")
    value = float(melting.preece_a(float(sheet.numbers["ds"].real) / 1e3))
    sheet.work("Im", "Melts at last, Preece", "10244*(ds/25.4)**1.5", "A",
               "PCD&F, Onderdonk's and Preece's equations (read)", _NO_LIMIT, value)  # fmt: skip
    return sheet.working("preece_a")
