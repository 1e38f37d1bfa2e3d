"""How candidates stand under all rules, one of them that is picked, and all that is advised of a run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wirecalc.advice.fuses import FuseAdvice
from wirecalc.advice.held import TOO_THICK, TOO_THIN, Held, State, state
from wirecalc.advice.house_rule import Size
from wirecalc.advice.job import Job
from wirecalc.advice.stretches import Settled
from wirecalc.mark import Mark, plain
from wirecalc.runs.choose import Candidate
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Judged:
    """n conductors, one number side by side, under all rules."""

    candidates: tuple[Candidate, ...]
    held: tuple[Held, ...]
    """Safety first."""
    terminal: Held | None
    usual: Settled
    """With the average current: music's for an amplifier."""
    full: Settled
    """With the most that its source can push through it for minutes."""
    fuses: tuple[FuseAdvice | None, ...]
    """For each conductor of each candidate; None where the run has no fuse."""
    carries_a: Array
    """What each conductor may carry for ever where that is least, by published table and heat balance. (n,) [A]"""

    def state(self, at: int, borderline: float) -> tuple[State, tuple[Held, ...]]:
        """How one size stands under all limits, and at its terminal; see `wirecalc.advice.held.state`.

        A size is too thick where it is too thick for the terminal and not too thin for another limit.

        Parameters
        ----------
        at : int
            Which size.
        borderline : float
            Share of a limit of taste up to which it is borderline. [1 and more]

        Returns
        -------
        State, tuple of Held
            And the limits that are not kept, that of the terminal last.
        """
        grade, broken = state(self.held, at, borderline)
        if self.terminal is None or self.terminal.kept[at]:
            return grade, broken
        return (TOO_THICK if grade != TOO_THIN else TOO_THIN), (*broken, self.terminal)


@dataclass(frozen=True, kw_only=True)
class SizePick:
    """One candidate, and how it stands."""

    candidate: Candidate
    size: Size | None
    """None where it is no standard size."""
    state: State
    reasons: tuple[str, ...]
    """What it does not keep, the first reason first; empty if it keeps all."""
    fuse: FuseAdvice | None
    """For each of its conductors; None where the run has none."""
    usual_c: float
    """Usual warmth, with the average of music or of the load, in the hottest stretch. [degC]"""
    full_c: float
    """With the most that its source sustains, in the hottest stretch; inf over 250. [degC]"""
    hottest: str
    """The place where it gets warmest."""
    loop_ohm: float
    """As warm as it usually is. [ohm]"""
    each_a: float
    """The most for minutes, in one conductor. [A]"""
    broken: tuple[Held, ...] = ()
    """The limits that it does not keep, in the order of `reasons`; a house rule's least size is none of them."""
    nearest: Held | None = None
    """The limit of taste that it uses most of."""
    at: int = 0
    """Its place in them."""

    @property
    def label(self) -> str:
        """As the trade writes it: "12 AWG", "2 × 12 AWG"."""
        return self.candidate.label

    def first_reason(self, *, mark: Mark = plain) -> str:
        """Why it is not fine, in words; empty if it is. `mark` is what is done to each number: see `Held.words`."""
        if self.broken:
            return self.broken[0].words(self.at, mark=mark)
        return self.reasons[0] if self.reasons else ""


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What a careful installer would sign for one run. No gauge is judged on a line signal: all sizes are None."""

    job: Job
    least: SizePick | None
    """The least standard size that keeps every rule of safety and every limit; None if none does."""
    pull: SizePick | None
    """What the house rules pull: on the shelf, no thinner than they allow, and never under `least`."""
    asked: SizePick | None
    """The size that was asked about."""
    decided_by: str
    """What the next thinner size than `least` does not keep; empty if there is none."""
    why_differ: str
    """One sentence on why `pull` is not `least`; empty where they are one."""
    sentence: str
    """Both answers in one sentence, and `nearly`."""
    changes: tuple[str, ...]
    """What helps where no size keeps everything."""
    fails: SizePick | None = None
    """Where nothing serves, the thickest single size that goes into the terminal, whose failing is said."""
    nearly: SizePick | None = None
    """The next thinner size on the shelf, where it misses limits of taste by little and no other."""

    @property
    def state(self) -> State | None:
        """The verdict on the size asked for."""
        return None if self.asked is None else self.asked.state

    @property
    def first_reason(self) -> str:
        """Why the size asked for is not fine; empty if it is."""
        return self.asked.reasons[0] if self.asked and self.asked.reasons else ""

    @property
    def fuse(self) -> FuseAdvice | None:
        """The fuse of what to pull, for each of its conductors."""
        return None if self.pull is None else self.pull.fuse

    @property
    def fuse_words(self) -> str:
        """That fuse in words, said of one where there are several; empty without one."""
        if self.pull is None or self.fuse is None:
            return ""
        parallel = self.pull.candidate.parallel
        if parallel == 1:
            return f"Fuse: {self.fuse.reason}"
        shared = f"which carry up to {self.pull.each_a:.3g} A each"
        return f"Fuse: one in each of the {parallel} plus conductors, {shared}: {self.fuse.reason}"
