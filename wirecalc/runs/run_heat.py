"""How warm a run's conductors get, what they may carry, which fuse protects them, and what a short circuit does."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from wirecalc.circuits.battery import source_ohm
from wirecalc.errors import InputError
from wirecalc.mark import Mark, plain
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Place, Run, measured, with_heat
from wirecalc.runs.short import Short, short
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import ampacity, fuse, heat, melting
from wirecalc.wire.conductor import HOTTEST_C, Conductor
from wirecalc.wire.insulation import insulated

Array = NDArray[np.float64]

TIMES = 21  # points of the warm-up curve, each over a millisecond; the time constant is one of them
MELT_S = 1.0  # for Onderdonk
LONGEST_S = 1e7  # of a warm-up curve
_COPPER = ("copper", "tinned_copper")  # what the constants of Onderdonk and Preece are for


@dataclass(frozen=True, kw_only=True, eq=False)
class WarmUp:
    """A conductor from the air's temperature on; t instants."""

    time_s: Array
    """(t,) [s]"""
    hot_c: Array
    """nan where it has no current, inf beyond the end of the model. (t,) [degC]"""
    time_constant_s: float
    """inf where no balance is found, nan where it has no current. [s]"""

    @property
    def settled_s(self) -> float:
        """When nearly all of the rise is there: five time constants. [s]"""
        return 5 * self.time_constant_s

    @property
    def at_constant_c(self) -> float:
        """After one time constant; nan where there is none. [degC]"""
        if not np.isfinite(self.time_constant_s):
            return float("nan")
        return float(np.interp(self.time_constant_s, self.time_s, self.hot_c))

    @takes_units
    def passes_s(self, limit_c: float) -> float | None:
        """The first instant at which it is over a limit; None if it is at none. [degC] -> [s]"""
        over = np.flatnonzero(self.hot_c > limit_c)
        return float(self.time_s[over[0]]) if over.size else None


@dataclass(frozen=True, kw_only=True, eq=False)
class RunHeat:
    """A run with each of n conductors, its own first."""

    conductors: tuple[Conductor, ...]
    measures: Measures
    """See `wirecalc.runs.run.with_heat`. (n,) each."""
    allowed: ampacity.Allowable
    """(n,)"""
    fuse_a: Array
    """For each conductor in parallel; nan where none fits or none is chosen. (n,) [A]"""
    choice: fuse.FuseChoice | None
    """For the run's own; None where no draw is known."""
    short: Short | None
    """With the chosen fuse; None without one, or where the source limits it by itself."""
    melts_soon_a: Array
    """In `MELT_S`, by Onderdonk; nan for what is not copper. (n,) [A]"""
    melts_at_last_a: Array
    """By Preece; nan for what is not copper. (n,) [A]"""
    warm_up: WarmUp
    """Of the run's own."""

    @property
    def each_a(self) -> Array:
        """Average current of one conductor. (n,) [A]"""
        return self.measures["current_a"]


def run_heat(
    run: Run, conductors: Sequence[Conductor], laid: Installation, place: Place, *, mark: Mark = plain
) -> RunHeat:
    """Heat, fuse and short circuit of a run.

    Parameters
    ----------
    run : Run
        Of a kind that `has_heat`.
    conductors : sequence of n Conductor
        The run's own, then others to hold it against.
    laid : Installation
    place : Place
    mark : wirecalc.mark.Mark
        What is done to each number in the words of the fuse's choice.

    Returns
    -------
    RunHeat

    Raises
    ------
    InputError
        If there is no conductor, the run has no current that heats it, or a value is out of range.
    """
    if not conductors:
        raise InputError("Conductors", "none", "one or more")
    if not run.has_heat:
        raise InputError("Run", run.kind, "one whose current heats its wire")
    measures = with_heat(measured(run, conductors, laid), conductors, laid, place)
    allowed = ampacity.allowable(insulated(conductors, place.insulation), place.ambient_c, place.loaded)
    draw_a = measures["draw_a"] / laid.parallel if "draw_a" in measures else np.full(len(conductors), np.nan)
    known = np.isfinite(draw_a)
    choice = _fuse(conductors[0], float(draw_a[0]), float(allowed.current_a[0]), laid, place, mark)
    copper = [conductor.metal.key in _COPPER for conductor in conductors]
    area_m2 = np.array([conductor.area_m2 for conductor in conductors])
    solid_m = 2 * np.sqrt(area_m2 / np.pi)  # Preece's wire is solid
    return RunHeat(
        conductors=tuple(conductors),
        measures=measures,
        allowed=allowed,
        fuse_a=np.where(known, fuse.fuse_a(np.where(known, draw_a, 1.0), allowed.current_a), np.nan),
        choice=choice,
        short=_short(run, conductors[0], laid, place, choice),
        melts_soon_a=np.where(copper, melting.onderdonk_a(area_m2, MELT_S, place.ambient_c), np.nan),
        melts_at_last_a=np.where(copper, melting.preece_a(solid_m), np.nan),
        warm_up=warm_up(conductors[0], float(measures["current_a"][0]), place),
    )


def _fuse(
    conductor: Conductor, draw_a: float, allowed_a: float, laid: Installation, place: Place, mark: Mark
) -> fuse.FuseChoice | None:
    """The fuse of one conductor; None where its draw is not known."""
    if not np.isfinite(draw_a):
        return None
    alone = ampacity.allowable(insulated([conductor], place.insulation), place.ambient_c, laid.ways)
    alone_a = float(alone.current_a[0]) if place.loaded > laid.ways else None
    return fuse.choose_fuse(draw_a, allowed_a, alone_a=alone_a, mark=mark)


def _short(
    run: Run, conductor: Conductor, laid: Installation, place: Place, choice: fuse.FuseChoice | None
) -> Short | None:
    if choice is None or choice.rating_a is None or run.short_v is None:
        return None
    source = source_ohm(run.starts_at, run.short_v)
    return short(run.short_v, conductor, laid, place, choice.rating_a, source_ohm=source)


@takes_units
def warm_up(conductor: Conductor, current_a: float, place: Place) -> WarmUp:
    """A conductor's temperature over time from cold, until it has settled or is too hot.

    Parameters
    ----------
    conductor : Conductor
    current_a : float
        Steady; nan where it is not known. [A]
    place : Place

    Returns
    -------
    WarmUp
        Of `TIMES` instants.
    """
    if not np.isfinite(current_a):
        return WarmUp(
            time_s=np.linspace(0.0, 1.0, TIMES), hot_c=np.full(TIMES, np.nan), time_constant_s=float("nan")
        )  # fmt: skip
    wire = insulated([conductor], place.insulation)
    constant_s = float(heat.time_constant_s(wire, current_a, place.ambient_c, place.loaded)[0])
    if np.isfinite(constant_s):
        end_s = 5 * constant_s
    else:  # four times what the metal alone would take: the insulation has to be warmed too
        end_s = 4 * float(melting.lasts_s(wire, current_a, place.ambient_c, HOTTEST_C)[0])
    time_s = np.linspace(0.0, min(end_s, LONGEST_S), TIMES)
    hot_c = heat.over_time_c(wire, time_s, current_a, place.ambient_c, place.loaded)[:, 0]
    return WarmUp(time_s=time_s, hot_c=hot_c, time_constant_s=constant_s)
