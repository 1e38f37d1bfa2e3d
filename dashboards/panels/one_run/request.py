"""What the page One run hands to each of its tabs, and what a tab is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

import ipywidgets as w

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.colours import HERE
from dashboards.panels.controls.sizes import OFFERED, Size, SizeLook, looks
from wirecalc import runs
from wirecalc.advice.cautions import work_of_run
from wirecalc.advice.decision import decide
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.size import Advice, Job
from wirecalc.advice.stretches import Route, Stretch
from wirecalc.limit import Limit
from wirecalc.wire.as_sold import side_by_side
from wirecalc.wire.bought import sold_words
from wirecalc.wire.cautions import Work
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.insulation import Insulation


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
    stretches: tuple[Stretch, ...] = ()
    """The places that the run passes; one in the air of `place` if none is given."""
    rules: HouseRules = field(default_factory=HouseRules.from_table)
    limits: tuple[Limit, ...] = ()
    """Those whose bounds a person may have set."""
    sheathed: bool = False
    """In a jacket with others, which takes pull and abrasion."""
    terminal_m2: float | None = None
    """Metal of the thickest conductor that the devices' terminals take, where it is known. [m^2]"""
    takes: str = ""
    """Its size in words."""
    size: Size | None = None
    """That was asked about, as it is sold."""
    system: str = ""
    """Of the sizes to choose from, see `wirecalc.wire.as_sold`; that of the label of `this` if not given."""
    choice_insulation: Insulation | None = None
    """Of the wire to choose from, where it is another type than `this`."""

    @property
    def conductors(self) -> tuple[Conductor, ...]:
        """This run's, then the drawn ones."""
        return (self.this, *(other for other in self.others if other is not None))

    @property
    def distinct(self) -> tuple[Conductor, ...]:
        """This run's size, then the drawn ones without it: not the same bar twice."""
        return (self.this, *(conductor for conductor in self.conductors[1:] if conductor != self.this))

    @property
    def shades(self) -> dict[Conductor, str]:
        """The colour of each of `distinct`."""
        return {**dict(zip(self.conductors[1:], (look.colour for look in self.drawn), strict=True)), self.this: HERE}

    @property
    def drawn(self) -> tuple[SizeLook, ...]:
        """How the lines of the drawn ones look, in the order of `conductors` without this run's."""
        return looks(tuple(size for size, conductor in zip(OFFERED, self.others, strict=True) if conductor is not None))

    @property
    def label(self) -> str:
        """This run's wire: "16 AWG", "2 × 16 AWG"."""
        return side_by_side(self.this.label, self.laid.parallel)

    @property
    def names(self) -> list[tuple[str, int, bool]]:
        """Of each line of a chart: its name, its row among `conductors`, whether it is this run's (once)."""
        others = [(look.label, row, False) for row, look in enumerate(self.drawn, 1) if look.label != self.label]
        return [(self.label, 0, True), *others]

    @property
    def route(self) -> Route:
        """The way of the run."""
        here = self.place
        alone = Stretch(
            length_m=self.laid.length_m, ambient_c=here.ambient_c, loaded=here.loaded, zone=here.zone or ""
        )  # fmt: skip
        return Route(
            stretches=self.stretches or (alone,),
            insulation=self.place.insulation,
            ways=self.laid.ways,
            parallel=self.laid.parallel,
            joints_ohm=self.laid.joints_ohm,
        )

    @cached_property
    def own_job(self) -> Job:
        """The run with this wire's own insulation."""
        return Job(
            run=self.run,
            route=self.route,
            asked=self.this,
            system=self.system or ("AWG" if self.this.label.endswith("AWG") else "mm2"),
            make=self.conductor,
            rules=self.rules,
            limits=self.limits or None,
            terminal_m2=self.terminal_m2,
            takes=self.takes or None,
            sheathed=self.sheathed,
        )

    @cached_property
    def advice(self) -> Advice:
        """What to pull, and how this run's own wire stands."""
        return decide(self.own_job, self.choice_insulation)

    @property
    def wire_in_words(self) -> str:
        """What this run's wire is, where it is sold by a type or is no plain copper; else empty."""
        return "" if self.size is None else sold_words(self.size, self.this, self.place.insulation)

    def work(self, *, parallel: int = 1) -> Work:
        """What this run is to the cautions; with more conductors side by side where that is advised."""
        zones = dict.fromkeys(part.zone for part in self.route.stretches)
        return work_of_run(
            self.run, self.laid, self.place, metal=self.this.metal, zones=tuple(zones), parallel=parallel
        )

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
