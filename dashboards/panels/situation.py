"""What the page One run hands to each of its tabs, and what a tab is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import ipywidgets as w

from dashboards.panels.sizes import Size
from wirecalc import runs
from wirecalc.conductor import Conductor


@dataclass(frozen=True, kw_only=True)
class Situation:
    """One run, how it is laid and where, and the sizes to hold it against."""

    run: runs.Run
    laid: runs.Laid
    place: runs.Place
    this: Conductor
    others: tuple[Conductor | None, ...]
    """One for each of `dashboards.panels.sizes.OFFERED`; None where it is not drawn."""
    conductor: Callable[[Size], Conductor]
    """Any size in the metal, stranding and table that the page is set to."""
    feet: bool

    @property
    def conductors(self) -> tuple[Conductor, ...]:
        """This run's, then the drawn ones."""
        return (self.this, *(one for one in self.others if one is not None))


class Tab(Protocol):
    """A part of the page that is computed only while it is shown."""

    title: str
    view: w.Widget
    changed: Callable[[], None]
    """The page sets it; the tab calls it when one of its own entries changed."""

    def suits(self, run: runs.Run) -> bool:
        """Whether the tab has something to say about this kind of run."""

    def show(self, situation: Situation) -> None:
        """Compute and draw. An `InputError` is said by the page."""
