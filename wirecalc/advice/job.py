"""All that a decision on one run depends on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from functools import cached_property

from wirecalc.advice.demands import Demands, demands_of
from wirecalc.advice.house_rule import Size
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.stretches import Route
from wirecalc.circuits.battery import Battery
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs.run import Run
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import ISO, STANDARDS, by_gauge, numbers_of
from wirecalc.wire.conductor import Conductor, conductor, metric_sizes_mm2

LEAST_OF_A_NUMBER = 0.86  # metal of an SAE size over that of the AWG number: data/bought_conductors.csv
AWG_SIZES = (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)


def standard_sizes(system: str) -> tuple[Size, ...]:
    """All sizes of a system, thin to thick.

    Raises
    ------
    InputError
        If the system is not "AWG", "mm2", "ISO" or a type of `wirecalc.wire.as_sold`.
    """
    if system == "AWG":
        return tuple(("AWG", float(number)) for number in AWG_SIZES)
    if system == "mm2":
        return tuple(("mm2", area) for area in metric_sizes_mm2())
    if system == ISO:
        return tuple((ISO, area) for area in metric_sizes_mm2("ISO 6722-1"))
    if system in STANDARDS:
        return tuple((system, number) for number in numbers_of(system))
    raise InputError("Size", system, "AWG or mm2")


def counted_as(system: str) -> str:
    """How house rules count the sizes of a system: "AWG" by number, 4 SAE as a 4, or "mm2"."""
    return "AWG" if by_gauge(system) else "mm2"


def as_sold_in(system: str, sizes: Sequence[Size]) -> tuple[Size, ...]:
    """Sizes of house rules as the sizes of the same number in a system; those that it has not are left out.

    Parameters
    ----------
    system : str
        As `standard_sizes` takes it.
    sizes : sequence of (str, float)
        Counted as `counted_as` says.

    Returns
    -------
    tuple of (str, float)
        None for Japanese types: their sizes are others, and all of them count as on the shelf.
    """
    if STANDARDS.get(system, "").startswith("J"):
        return ()
    numbers = {number for _, number in standard_sizes(system)}
    return tuple((system, number) for _, number in sizes if number in numbers)


@dataclass(frozen=True, kw_only=True)
class Job:
    """All that a decision on one run depends on."""

    run: Run
    route: Route
    """Its `parallel` is that of the size asked for."""
    asked: Conductor | None = None
    """The size that is asked about; None where only advice is wanted."""
    system: str = "AWG"
    """Of the sizes to choose from: "AWG", "mm2", "ISO" or a type of `wirecalc.wire.as_sold`."""
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
    takes: str | None = None
    """Its size in words: "8 AWG"."""
    sheathed: bool = False
    """In a jacket with others, which takes pull and abrasion."""

    @property
    def counted_as(self) -> str:
        """How house rules count the sizes to choose from."""
        return counted_as(self.system)

    def shelf(self, kind: str) -> tuple[Size, ...]:
        """Sizes of `system` on the shelf for a kind of circuit; empty where the shop has no rule."""
        return as_sold_in(self.system, self.rules.shelf(kind, self.counted_as))

    def on_order(self, kind: str) -> tuple[Size, ...]:
        """Sizes of `system` that are taken when none on the shelf does."""
        return as_sold_in(self.system, self.rules.on_order(kind, self.counted_as))

    def when_asked(self, kind: str) -> tuple[Size, ...]:
        """Sizes of `system` that are taken only when asked for by name."""
        return as_sold_in(self.system, self.rules.when_asked(kind, self.counted_as))

    @cached_property
    def demands(self) -> Demands:
        """What the run asks of its wire."""
        return demands_of(self.run, self.rules, self.limits, critical=self.critical)
