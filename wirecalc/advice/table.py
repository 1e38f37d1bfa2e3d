"""Every standard size of a run under every rule, alone and side by side: the table behind a decision."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wirecalc.advice.fuses import FuseAdvice
from wirecalc.advice.held import Held, State
from wirecalc.advice.size import Advice, Judged, judge_sizes, standard_sizes
from wirecalc.runs.choose import Candidate
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True, eq=False)
class EverySize:
    """n candidates, least metal first, under all limits."""

    candidates: tuple[Candidate, ...]
    held: tuple[Held, ...]
    """Limits of safety first; arrays are (n,)."""
    states: tuple[State, ...]
    fuses: tuple[FuseAdvice | None, ...]
    usual_c: tuple[float, ...]
    """With the average current, in the hottest stretch. [degC]"""
    full_c: tuple[float, ...]
    """With the most for minutes; inf over 250. [degC]"""
    pull: int | None
    """Place of what the house rules pull."""
    least: int | None
    """Place of the least that keeps every rule."""
    asked: int | None
    """Place of the size that was asked about; None if it is no standard one."""


def every_size(advice: Advice, counts: Sequence[int] = (1,)) -> EverySize:
    """All standard sizes of a job's system.

    Parameters
    ----------
    advice : Advice
        Of a run on which a gauge is judged.
    counts : sequence of int
        How many conductors side by side; those of what is pulled and asked about are always among them.

    Returns
    -------
    EverySize

    Raises
    ------
    InputError
        If the run is a line signal, on which no gauge is judged.
    """
    job = advice.job
    picks = [pick for pick in (advice.pull, advice.least, advice.asked) if pick is not None]
    counts = sorted({*counts, *(pick.candidate.parallel for pick in picks)})
    conductors = [job.make(size) for size in standard_sizes(job.system)]
    parts = [judge_sizes(job, conductors, count) for count in counts]
    candidates = [candidate for part in parts for candidate in part.candidates]
    order = sorted(range(len(candidates)), key=lambda at: (candidates[at].area_m2, candidates[at].parallel))
    placed = tuple(candidates[at] for at in order)
    states = [part.state(at, job.rules.band[1])[0] for part in parts for at in range(len(conductors))]

    def place(pick: object) -> int | None:
        return placed.index(pick) if pick in placed else None

    fuses = [fuse for part in parts for fuse in part.fuses]
    usual = np.concatenate([part.usual.hottest_c for part in parts])[order]
    full = np.concatenate([part.full.hottest_c for part in parts])[order]
    pulled, least, asked = (
        None if pick is None else place(pick.candidate) for pick in (advice.pull, advice.least, advice.asked)
    )
    return EverySize(
        candidates=placed,
        held=_together(parts, order),
        states=tuple(
            advice.pull.state if at == pulled and advice.pull is not None else states[i] for at, i in enumerate(order)
        ),
        fuses=tuple(fuses[at] for at in order),
        usual_c=tuple(map(float, usual)),
        full_c=tuple(map(float, full)),
        pull=pulled,
        least=least,
        asked=asked,
    )


def _together(parts: Sequence[Judged], order: Sequence[int]) -> tuple[Held, ...]:
    """The same limits of several counts as one, in the candidates' order."""
    rows = [(*part.held, *(() if part.terminal is None else (part.terminal,))) for part in parts]
    return tuple(
        replace(
            same[0],
            values=np.concatenate([held.values for held in same])[list(order)],
            bounds=np.concatenate([held.bounds for held in same])[list(order)],
        )
        for same in zip(*rows, strict=True)
    )
