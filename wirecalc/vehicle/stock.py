"""The sizes on the shelf, and what a metre of each costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from wirecalc import units
from wirecalc.advice.house_rule import HouseRule
from wirecalc.advice.job import LEAST_OF_A_NUMBER, as_sold_in, counted_as, standard_sizes
from wirecalc.advice.size import ON_STUDS
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.as_run import fed_w, output_w
from wirecalc.vehicle.fields import BATTERY
from wirecalc.vehicle.fits import takes_m2, usually_m2
from wirecalc.vehicle.model import Vehicle, Wire
from wirecalc.vehicle.terminals import house_kind
from wirecalc.wire.as_sold import ISO, show_size
from wirecalc.wire.bought import insulation_of, read_size
from wirecalc.wire.conductor import Conductor, conductor
from wirecalc.wire.insulation import INSULATIONS

Array = NDArray[np.float64]
Size = tuple[str, float]

MOST_SIZES = 100
# What the house rules keep on the shelf or order, for one kind of circuit or another: common practice, no source.
USUAL_SIZES: tuple[Size, ...] = tuple(("AWG", float(n)) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1))


@dataclass(frozen=True, kw_only=True, eq=False)
class Options:
    """The sizes that one wire may get, thinnest first."""

    sizes: tuple[Size, ...]
    conductors: tuple[Conductor, ...]
    per_m: Array
    """Cost of a metre of one conductor, (k,): money, or mm² of metal."""
    least: int
    """Place of the thinnest that the house rules let a shop pull."""
    rule: HouseRule | None
    """Which says so, if one does."""


@dataclass(frozen=True, kw_only=True)
class Stock:
    """The sizes on the shelf."""

    sizes: tuple[Size, ...] = USUAL_SIZES
    """As `wirecalc.wire.bought.read_size` returns them, in any order."""
    price_per_m: Mapping[Size, float] = field(default_factory=dict, hash=False)
    """Of one conductor. Unless every size has one, the least metal counts as the cheapest. [money per m]"""

    def __post_init__(self) -> None:
        if not self.sizes:
            raise InputError("Sizes on the shelf", "none", "one size or more, as in 16 AWG, 12 AWG")
        for size, price in self.price_per_m.items():
            check(f"Price of {show_size(*size)}", price, "per metre", low=0, high=100_000)

    @property
    def priced(self) -> bool:
        """Whether prices are known, so that the cheapest is sought; else it is the least metal."""
        return all(size in self.price_per_m for size in self.sizes)

    @property
    def is_usual(self) -> bool:
        """Whether nobody said what is on the shelf: then the house rules do, by the kind of circuit."""
        return set(self.sizes) == set(USUAL_SIZES)

    def options(
        self, vehicle: Vehicle, wire: Wire, *, on_order: bool = False, when_asked: bool = False, usual: bool = False
    ) -> Options:
        """Sizes for a wire, and the thinnest that the house rules let a shop pull.

        Parameters
        ----------
        vehicle : Vehicle
        wire : Wire
        on_order : bool
            With the sizes that are taken when none on the shelf does.
        when_asked : bool
            And, for a load whose studs take any lug, those that are taken before three wires lie side by side.
        usual : bool
            None that is thicker than the terminals of such a small device usually take.

        Returns
        -------
        Options
            A size that is dearer than a thicker one is left out: there is no reason to take it.
        """
        per_m = []
        for size in self._sizes(vehicle, wire, on_order, when_asked):
            conductor = wire.conductor(size)
            per_m.append(
                (conductor.area_m2, self.price_per_m[size] if self.priced else conductor.area_m2 * 1e6, size, conductor)
            )
        per_m.sort(key=lambda each: each[0])
        most_m2 = min(takes_m2(vehicle, wire), usually_m2(vehicle, wire) if usual else np.inf)
        per_m = [each for each in per_m if each[0] <= most_m2] or per_m[
            :1
        ]  # that even the thinnest is too thick is said
        kept = [each for place, each in enumerate(per_m) if all(each[1] <= other[1] for other in per_m[place + 1 :])]
        least, rule = _least(vehicle, wire, [(each[2][0], each[3]) for each in kept])
        return Options(
            sizes=tuple(each[2] for each in kept),
            conductors=tuple(each[3] for each in kept),
            per_m=np.array([each[1] for each in kept]),
            least=least,
            rule=rule,
        )

    def _sizes(self, vehicle: Vehicle, wire: Wire, on_order: bool, when_asked: bool) -> tuple[Size, ...]:
        kind, rules = house_kind(vehicle, wire), vehicle.rules
        system = sold_as(vehicle, wire)
        counted = counted_as(system)
        house = rules.shelf(kind, counted)
        if not self.is_usual or not house:
            return tuple(dict.fromkeys(self.sizes))
        more = rules.on_order(kind, counted) if on_order else ()
        thickest = rules.when_asked(kind, counted) if on_order and when_asked and kind == ON_STUDS else ()
        own = as_sold_in(system, (*house, *more, *thickest))
        return own or standard_sizes(system)


def sold_as(vehicle: Vehicle, wire: Wire) -> str:
    """How the wire on the shelf is sold for a circuit, by the house rules.

    Parameters
    ----------
    vehicle : Vehicle
        Gives the rules.
    wire : Wire
        Of that vehicle.

    Returns
    -------
    str
        A system of `wirecalc.wire.as_sold`.
    """
    return vehicle.rules.sold_as(house_kind(vehicle, wire))


def insulation_as_sold(wire: Wire, options: Options) -> str:
    """Key of the insulation that a wire is judged with: where nobody wrote one, the least of the types on the shelf.

    Parameters
    ----------
    wire : Wire
    options : Options
        For it.

    Returns
    -------
    str
    """
    own = INSULATIONS[wire.insulation]
    types = [insulation_of(system) or own for system in {system for system, _ in options.sizes}]
    if not wire.usual_insulation:  # what is written is what is wanted: a type that stands less is judged as itself
        types.append(own)
    return min(types, key=lambda kind: kind.limit_c).key


def least_rule(vehicle: Vehicle, wire: Wire, system: str) -> HouseRule | None:
    """The house rule of the thinnest wire for a circuit; None where there is none.

    Parameters
    ----------
    vehicle : Vehicle
    wire : Wire
        Of a cable of several conductors what is on the spool is what there is.
    system : str
        "AWG" or "mm2".

    Returns
    -------
    HouseRule or None
        None where the shop has no such rule, and for a conductor of a cable.
    """
    if wire.cable:
        return None
    power_w = 0.0
    kind = vehicle.circuit(wire)
    if kind in ("speaker", "subwoofer"):
        power_w = output_w(vehicle, wire)
    elif kind in ("amplifier feed", "shared feed"):
        power_w = fed_w(vehicle, wire)
    elif kind == "ground" and vehicle.device(wire.start).kind == BATTERY:  # whatever this plan draws: the starter's
        own = vehicle.rules.least_size("ground of a battery", system)
        if own is not None:
            return own
    return vehicle.rules.least_size(house_kind(vehicle, wire), system, power_w)


def _least(vehicle: Vehicle, wire: Wire, conductors: Sequence[tuple[str, Conductor]]) -> tuple[int, HouseRule | None]:
    """Place of the thinnest that the house rules let pass; the thickest where they let none."""
    rule = least_rule(vehicle, wire, "AWG")
    if rule is None or not rule.sizes:
        return 0, None
    least_m2 = {system: _area_m2(vehicle, wire, system) for system in ("AWG", "mm2")}
    for place, (system, made) in enumerate(conductors):
        named_alike = 1 - 1e-9 if system in (*least_m2, ISO) else LEAST_OF_A_NUMBER  # 4 SAE is a 4, with less metal
        if made.area_m2 >= (least_m2[counted_as(system)] or least_m2["AWG"]) * named_alike:
            return place, rule
    return len(conductors) - 1, rule


def _area_m2(vehicle: Vehicle, wire: Wire, system: str) -> float:
    rule = least_rule(vehicle, wire, system)
    return wire.conductor(rule.sizes[0]).area_m2 if rule is not None and rule.sizes else 0.0


def read_stock(text: str) -> Stock:
    """A stock list as typed: sizes parted by commas or lines, each with its price per metre if there is one.

    Raises
    ------
    InputError
        If a size or a price cannot be read, or there are too many.

    Examples
    --------
    >>> read_stock("16 AWG = 0.80; 4 mm2 = 2").price_per_m
    {('AWG', 16.0): 0.8, ('mm2', 4.0): 2.0}
    """
    sizes, prices = [], {}
    parts = text.replace("\n", ";").split(";")
    if len(parts) > MOST_SIZES:
        raise InputError(
            "Sizes on the shelf", f"{len(parts)} parts", f"at most {MOST_SIZES}", "Leave out what is rare."
        )
    for part in parts:
        if part.strip():
            size_text, equals, price_text = part.partition("=")
            size = read_size(size_text.strip(), "Size on the shelf")
            conductor(*size)  # a metric size has to be in its table
            sizes.append(size)
            if equals:
                prices[size] = units.read(price_text.strip(), f"Price of {size_text.strip()}", units.NUMBER, low=0)
    return Stock(sizes=tuple(dict.fromkeys(sizes)), price_per_m=prices)
