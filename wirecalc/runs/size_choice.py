"""Which size to pull for one run: every candidate measured in its place, held against the limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.choose import Candidate, Verdict, candidates, judge
from wirecalc.runs.measure import Measures
from wirecalc.runs.run import Installation, Place, Run, measured, with_heat
from wirecalc.wire.conductor import Conductor

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class SizeChoice:
    """n candidates for one run, least metal first, under m limits."""

    candidates: tuple[Candidate, ...]
    measures: Measures
    """Of each candidate with its heat, see `wirecalc.runs.run.with_heat`. (n,) each."""
    verdict: Verdict

    def place_of(self, conductor: Conductor, parallel: int = 1) -> int | None:
        """Where a wire stands among the candidates; None if it is none of them.

        Parameters
        ----------
        conductor : Conductor
        parallel : int
            Alike conductors side by side, each way. [1 to 16]

        Returns
        -------
        int or None
            Place in `candidates`, from 0.

        Raises
        ------
        InputError
            If `parallel` is not 1 to 16.
        """
        wanted = Candidate(conductor=conductor, parallel=parallel)
        return self.candidates.index(wanted) if wanted in self.candidates else None

    @property
    def used(self) -> Array:
        """How much of each limit each candidate uses; over 1 it is broken, inf where there is no value. (m, n) [-]

        Of the room for a fuse: the fuse that the draw needs, over what the wire may carry.
        """
        verdict, allowable_a = self.verdict, self.measures["allowable_a"]
        rows = []
        with np.errstate(divide="ignore", invalid="ignore"):
            for limit, value, bound in zip(verdict.limits, verdict.values, verdict.bounds, strict=True):
                if limit.measure == "fuse_headroom_a":
                    rows.append((allowable_a - value) / allowable_a)
                else:
                    rows.append(value / bound if limit.sense == "at most" else bound / value)
        used = np.stack(rows)
        return np.where(np.isfinite(used), used, np.inf)


def choose_size(
    run: Run,
    laid: Installation,
    place: Place,
    conductors: Sequence[Conductor],
    limits: Sequence[Limit],
    parallel: Sequence[int] = (1,),
) -> SizeChoice:
    """Judge every conductor for a run, alone and side by side.

    Parameters
    ----------
    run : Run
    laid : Installation
        Its `parallel` is taken from `parallel` instead.
    place : Place
    conductors : sequence of Conductor
        To choose from, in any order.
    limits : sequence of Limit
        Such as `run.limits()`.
    parallel : sequence of int
        How many of one conductor may lie side by side. [1 to 16]

    Returns
    -------
    SizeChoice

    Raises
    ------
    InputError
        If there is nothing to choose from, no limit, or the run has not what a limit asks.

    See Also
    --------
    wirecalc.runs.choose.judge : The same for quantities computed elsewhere.
    """
    if not conductors:
        raise InputError("Choice", "no conductor", "one or more to choose from")
    found = candidates(conductors, parallel)
    columns: dict[str, Array] = {}
    for count in parallel:  # all of one count in one call, then put in the candidates' order
        places = np.array([place for place, one in enumerate(found) if one.parallel == count], np.intp)
        own, mine = replace(laid, parallel=count), [found[place].conductor for place in places]
        for name, values in with_heat(measured(run, mine, own), mine, own, place).items():
            columns.setdefault(name, np.full(len(found), np.nan))[places] = values
    verdict = judge([one.label for one in found], columns, limits)
    return SizeChoice(candidates=found, measures=columns, verdict=verdict)
