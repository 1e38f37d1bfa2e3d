"""Cables of several conductors as they are on the spool: colours, pairs, sizes."""

from __future__ import annotations

from typing import Literal, cast

from wirecalc import tables
from wirecalc.errors import InputError, check
from wirecalc.units import read_standard_size
from wirecalc.units_taken import dataclass
from wirecalc.wire.conductor import Conductor, conductor
from wirecalc.wire.insulation import INSULATIONS, Insulation

Way = Literal["+", "−", ""]

MOST_CORES = 24
OWN, MOST_OWN, LONGEST_NAME = "own-", 20, 80
"""Of cables of a person's own: how their keys begin, how many there may be, characters of a name."""


@dataclass(frozen=True, kw_only=True)
class Core:
    """One conductor in the jacket."""

    name: str
    """Its colour as the trade says it: "white/black" is white with a black stripe."""
    colour: str
    """To draw it: "#rrggbb"."""
    conductor: Conductor
    stripe: str = ""
    """"#rrggbb", or empty."""
    pair: str = ""
    """The two that are twisted together have the same word here; empty for a loose one."""
    channel: str = ""
    """What the trade uses it for: "front left", "remote turn-on"; empty if nothing is fixed."""
    way: Way = ""
    """Of a pair, which is which by custom."""


@dataclass(frozen=True, kw_only=True)
class CableType:
    """A cable of several conductors, as it is on the spool."""

    key: str
    name: str
    outer_m: float
    """Over the jacket. [m]"""
    insulation: Insulation
    cores: tuple[Core, ...]
    jacket_m: float | None = None
    """How thick the jacket is, for a drawing; None where nobody said. [m]"""
    screened: bool = False
    """Has a screen, which is not counted among the conductors."""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        check("Cable diameter", self.outer_m, "m", low=1e-3, high=0.1, hint="Was it in mm?")
        if self.jacket_m is not None:
            check("Jacket", self.jacket_m, "m", low=0.1e-3, high=5e-3, hint="Was it in mm?")
        check(f"Conductors in “{self.name}”", len(self.cores), "", low=1, high=MOST_CORES)
        names = [core.name for core in self.cores]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise InputError(f"Colours in “{self.name}”", ", ".join(sorted(twice)), "each colour once")
        for pair, cores in self.pairs.items():
            if len(cores) != 2 or cores[0].conductor != cores[1].conductor:
                told = ", ".join(core.name for core in cores)
                raise InputError(f"Pair “{pair}” in “{self.name}”", told, "two conductors of one size")

    @property
    def pairs(self) -> dict[str, tuple[Core, ...]]:
        """The twisted pairs, + first."""
        words = dict.fromkeys(core.pair for core in self.cores if core.pair)
        return {
            word: tuple(sorted((core for core in self.cores if core.pair == word), key=lambda core: core.way == "−"))
            for word in words
        }


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One conductor as data/multicore_cables.csv has it, with what it repeats of its cable."""

    cable: str
    cable_name: str
    outer_mm: float
    jacket_mm: float
    insulation: str
    screen: str
    conductor: str
    colour: str
    stripe: str
    pair: str
    size: str
    channel: str
    way: str
    source: str
    confidence: str

    @property
    def core(self) -> Core:
        return Core(
            name=self.conductor,
            colour=self.colour,
            stripe=self.stripe,
            conductor=conductor(*read_standard_size(self.size)),
            pair=self.pair,
            channel=self.channel,
            way=cast(Way, self.way),
        )


def _cables() -> dict[str, CableType]:
    rows: dict[str, list[_Row]] = {}
    for row in tables.records("multicore_cables", _Row):
        rows.setdefault(row.cable, []).append(row)
    return {
        key: CableType(
            key=key,
            name=of_cable[0].cable_name,
            outer_m=of_cable[0].outer_mm * 1e-3,
            jacket_m=of_cable[0].jacket_mm * 1e-3,
            insulation=INSULATIONS[of_cable[0].insulation],
            cores=tuple(row.core for row in of_cable),
            screened=of_cable[0].screen == "yes",
            source=of_cable[0].source,
            confidence=of_cable[0].confidence,
        )
        for key, of_cable in rows.items()
    }


CABLES: dict[str, CableType] = _cables()
"""The cable types of data/multicore_cables.csv."""
