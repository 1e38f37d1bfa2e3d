"""A run of any kind as it is laid, answered: a table, words, and every measure."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
import pandas as pd

from wirecalc import runs
from wirecalc.advice.job import standard_sizes
from wirecalc.front.wires import wires
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import REFERENCE_C, Conductor, conductor, ohms_per_metre


@dataclass(frozen=True, kw_only=True, eq=False)
class RunAnswer:
    """A run with one size or several, at one length or several."""

    run: runs.Run
    laid: runs.Installation
    """Its length is the first one."""
    lengths_m: Any
    """[m]"""
    conductors: tuple[Conductor, ...]
    asked: bool
    """Whether a size was given; else `conductors` are all standard ones."""
    measures: runs.Measures
    """(sizes, lengths) each, by the keys of `wirecalc.runs.MEASURES`."""

    @property
    def table(self) -> pd.DataFrame:
        """A row for each size and length; the end of a column's name is its unit."""
        labels = [side_by_side(conductor.label, self.laid.parallel) for conductor in self.conductors]
        size, length = np.indices((len(labels), len(self.lengths_m))).reshape(2, -1)
        columns = {name: np.ravel(value) for name, value in self.measures.items()}
        return pd.DataFrame({"size": np.array(labels)[size], "length_m": self.lengths_m[length], **columns})

    @property
    def words(self) -> str:
        """What the first size at the first length comes to, in a sentence, and what is wrong with the load; with all
        sizes, how to choose one."""
        if not self.asked:
            return "No size is given: the table has a row for each; wirecalc.choose says which to pull."
        label = side_by_side(self.conductors[0].label, self.laid.parallel)
        ohm = float(runs.wire_ohm(self.conductors[:1], self.laid)[0])
        return " ".join((self.run.sentence(self.here, label, self.laid, ohm), *self.run.load_cautions()))

    @property
    def here(self) -> dict[str, float]:
        """Every measure of the first size at the first length."""
        return {name: float(value[0, 0]) for name, value in self.measures.items()}

    def __getitem__(self, measure: str) -> float:
        """One measure of the first size at the first length."""
        return self.here[measure]


@takes_units
def laid(
    run: runs.Run,
    length_m: Any,
    size: Any = None,
    *,
    metal: str = "copper",
    stranding: str = "stranded",
    temperature_c: float = REFERENCE_C,
    parallel: int = 1,
    joints_ohm: float = 0.0,
    ways: Literal[1, 2] | None = None,
) -> RunAnswer:
    """A run of any kind with one size or several, at one length or several.

    Parameters
    ----------
    run : wirecalc.runs.Run
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        As `wirecalc.wire` takes them; all standard gauges if not given.
    metal, stranding : str
        Keys of `wirecalc.metals()` and `wirecalc.strandings()`.
    temperature_c : float
        Of the conductors. [degC]
    parallel : int
        Like conductors side by side, each way. [1 to 16]
    joints_ohm : float
        Crimps, plugs, fuse holder of the whole loop. [ohm]
    ways : int, optional
        2 for a pair, 1 where the body brings the current back; what is usual for the kind if not given.

    Returns
    -------
    RunAnswer

    Raises
    ------
    InputError
        If a value is out of range, or a word is not known.
    """
    lengths_m = np.atleast_1d(np.asarray(length_m, np.float64))
    if size is None:
        chosen = wires([conductor(*each) for each in standard_sizes("AWG")])
    else:
        chosen = wires(size, metal, stranding)
    ways = run.usual_ways if ways is None else ways
    per_m = ohms_per_metre(chosen, temperature_c)[:, np.newaxis]
    ohm = loop_ohm(per_m, lengths_m, parallel=parallel, joints_ohm=joints_ohm, ways=ways)
    return RunAnswer(
        run=run,
        laid=runs.Installation(
            length_m=float(lengths_m[0]), temperature_c=float(temperature_c), parallel=parallel,
            joints_ohm=float(joints_ohm), ways=ways,
        ),
        lengths_m=lengths_m,
        conductors=chosen,
        asked=size is not None,
        measures={
            name: np.broadcast_to(value, ohm.shape) for name, value in run.measures(ohm, lengths_m).items()
        },
    )  # fmt: skip
