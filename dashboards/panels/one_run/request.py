"""What the page One run hands to each of its tabs, and what a tab is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import ipywidgets as w

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.colours import HERE
from dashboards.panels.controls.sizes import OFFERED, Size, SizeLook, looks
from wirecalc import runs
from wirecalc.advice.cautions import work_of
from wirecalc.wire.cautions import Work
from wirecalc.wire.conductor import Conductor


@dataclass(frozen=True, kw_only=True)
class RunRequest:
    """One run, how it is laid and where, and the sizes to hold it against."""

    run: runs.Run
    laid: runs.Installation
    place: runs.Place
    this: Conductor
    others: tuple[Conductor | None, ...]
    """One for each of `dashboards.panels.controls.sizes.OFFERED`; None where it is not drawn."""
    conductor: Callable[[Size], Conductor]
    """Any size in the metal, stranding and table that the page is set to."""
    feet: bool
    cautions: tuple[str, ...] = ()
    """What the entries themselves ask to be said, such as a load under the amplifier's least."""

    @property
    def conductors(self) -> tuple[Conductor, ...]:
        """This run's, then the drawn ones."""
        return (self.this, *(one for one in self.others if one is not None))

    @property
    def distinct(self) -> tuple[Conductor, ...]:
        """This run's size, then the drawn ones without it: not the same bar twice."""
        return (self.this, *(one for one in self.conductors[1:] if one != self.this))

    @property
    def shades(self) -> dict[Conductor, str]:
        """The colour of each of `distinct`."""
        return {**dict(zip(self.conductors[1:], (look.colour for look in self.drawn), strict=True)), self.this: HERE}

    @property
    def drawn(self) -> tuple[SizeLook, ...]:
        """How the lines of the drawn ones look, in the order of `conductors` without this run's."""
        return looks(tuple(size for size, one in zip(OFFERED, self.others, strict=True) if one is not None))

    @property
    def label(self) -> str:
        """This run's wire: "16 AWG", "2 × 16 AWG"."""
        count = self.laid.parallel
        return f"{count} × {self.this.label}" if count > 1 else self.this.label

    def work(self, *, parallel: int = 1) -> Work:
        """This run as the cautions take it; with more conductors in parallel where that is advised."""
        return work_of(self.run, self.laid, self.place, metal=self.this.metal, parallel=parallel)

    @cached_property
    def plain(self) -> runs.Measures:
        """Every measure of the run with each of `conductors`, at this run's length. (n,) each."""
        return runs.measured(self.run, self.conductors, self.laid)


class Tab(Protocol):
    """A part of the page that is computed only while it is shown."""

    title: str
    view: w.Widget
    changed: Callable[[], None]
    """The page sets it; the tab calls it when one of its own entries changed."""
    fields: Fields
    """Its entries, by their names in the page's address."""

    def show(self, situation: RunRequest) -> None:
        """Compute and draw. An `InputError` is said by the page."""
