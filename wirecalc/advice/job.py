"""All that a decision on one run depends on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from wirecalc.advice.demands import Demands, demands_of
from wirecalc.advice.house_rule import Size
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.stretches import Route
from wirecalc.circuits.battery import Battery
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.run import Run
from wirecalc.wire.conductor import Conductor, conductor, metric_sizes_mm2

AWG_SIZES = (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)


def standard_sizes(system: str) -> tuple[Size, ...]:
    """All sizes of a system, thin to thick.

    Raises
    ------
    InputError
        If the system is neither "AWG" nor "mm2".
    """
    if system == "AWG":
        return tuple(("AWG", float(number)) for number in AWG_SIZES)
    if system == "mm2":
        return tuple(("mm2", area) for area in metric_sizes_mm2())
    raise InputError("Size", system, "AWG or mm2")


@dataclass(frozen=True, kw_only=True)
class Job:
    """All that a decision on one run depends on."""

    run: Run
    route: Route
    """Its `parallel` is that of the size asked for."""
    asked: Conductor | None = None
    """The size that is asked about; None where only advice is wanted."""
    system: str = "AWG"
    """Of the sizes to choose from: "AWG" or "mm2"."""
    make: Callable[[Size], Conductor] = lambda size: conductor(*size)
    """A size to a conductor, of the metal and stranding that is bought."""
    stock: tuple[Conductor, ...] | None = None
    """Conductors to choose from, such as all sizes of one bought type, instead of standard sizes and the shelf."""
    rules: HouseRules = field(default_factory=HouseRules.from_table)
    limits: tuple[Limit, ...] | None = None
    """Bounds that a person set, by measure; the usual ones where not given."""
    battery: Battery | None = None
    """Its inner resistance decides the strongest short; a starter battery of the supply's voltage if not given."""
    critical: bool = True
    """Whether a load on the supply has to do at its full voltage: see `wirecalc.advice.demands.demands_of`."""
    fuse_air_c: float | None = None
    """Around the fuse; that of the first stretch if not given. [degC]"""
    fuse_where: str | None = None
    """`wirecalc.advice.fuses.AT_BATTERY` or `BEHIND_A_FUSE`; by the kind of run if not given."""
    terminal_m2: float | None = None
    """Metal of the thickest conductor that the devices' terminals take; None where it is not known. [m^2]"""
    sheathed: bool = False
    """In a jacket with others, which takes pull and abrasion."""

    @cached_property
    def demands(self) -> Demands:
        """What the run asks of its wire."""
        return demands_of(self.run, self.rules, self.limits, critical=self.critical)
