"""A rule of the house: what a shop pulls, stocks or allows for one kind of circuit, and the values that it can have."""

from __future__ import annotations

import math
from dataclasses import replace

from wirecalc.errors import InputError
from wirecalc.units import read_standard_size
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import SYSTEMS
from wirecalc.wire.fuse_families import FAMILIES
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES

Size = tuple[str, float]
"""A size as `wirecalc.units.read_standard_size` gives it: ("AWG", 12.0) or ("mm2", 0.75)."""

AS_SOLD = "as sold"
SIZE_RULES = ("least_size", "shelf_sizes", "sizes_on_order", "sizes_when_asked")
YES_NO = ("yes", "no")
AS_ASKED = "as asked"
"""Sizes to choose from are those of the size that a person asks about, AWG where none is."""
NAMING = ("rule", "applies", "case", "above", "up_to", "unit")
"""The columns that say which rule a row is."""
# what a number may be, by rule and unit; the ends included
_BOUNDS: dict[tuple[str, str], tuple[float, float]] = {
    ("drop_limit", "V"): (0.01, 10.0),
    ("drop_limit", "%"): (0.1, 30.0),
    ("fuse_loading", "%"): (10.0, 100.0),
    ("wire_loading", "%"): (10.0, 100.0),
    ("fuse_distance", "m"): (0.01, 10.0),
    ("taste_limit", "dB"): (0.01, 20.0),
    ("taste_limit", ""): (0.5, 1000.0),
    ("taste_band", ""): (1.0, 3.0),
    ("matched_level", "dB"): (0.01, 6.0),
    ("average_of_music", "%"): (1.0, 100.0),
    ("supply_v", "V"): (5.0, 60.0),
}


@dataclass(frozen=True, kw_only=True)
class PlaceShare:
    """A part of a run's way, as a share of its length."""

    zone: str
    """Key of `wirecalc.wire.zones.ZONES`."""
    share: float
    """Of the run's length; those of a run sum to 1. [0 to 1]"""


@dataclass(frozen=True, kw_only=True)
class HouseRule:
    """One rule of the shop."""

    rule: str
    """Which sort of rule: "least_size", "shelf_sizes", "drop_limit" and so on."""
    applies: str
    """The kind of circuit, or the place, that it is for."""
    case: str = ""
    """Where a kind has several: "full power"."""
    above: float | None = None
    up_to: float | None = None
    """The amounts that it is for, in the unit `of`: over `above`, up to and with `up_to`; None for no end."""
    of: str = ""
    """Unit of `above` and `up_to`."""
    value: str
    unit: str = ""
    what: str = ""
    """In words: "thinnest loose single wire"."""
    reason: str = ""
    source: str = ""
    confidence: str = ""

    @property
    def key(self) -> str:
        """The rule's name in links and files: its sort, kind of circuit, case, range and unit.

        Examples
        --------
        >>> from wirecalc.advice.house_rules import HouseRules
        >>> HouseRules.from_table().least_size("subwoofer", "AWG", 100).key
        'least_size/subwoofer//-150/AWG'
        """
        span = "" if self.above is None and self.up_to is None else f"{range_end(self.above)}-{range_end(self.up_to)}"
        return f"{self.rule}/{self.applies}/{self.case}/{span}/{self.unit}"

    @property
    def name(self) -> str:
        """As a person reads it: "thinnest wire of a subwoofer, subwoofer, over 150 up to 300 W (AWG)"."""
        parts = [self.what, self.applies, self.case]
        over = "" if self.above is None else f"over {self.above:g} "
        most = "" if self.up_to is None else f"up to {self.up_to:g} "
        parts.append(f"{over}{most}{self.of}".strip() if over or most else "")
        unit = f" ({self.unit.replace('mm2', 'mm²')})" if self.unit else ""
        return ", ".join(part for part in parts if part) + unit

    @property
    def sizes(self) -> tuple[Size, ...]:
        """The sizes that a rule of sizes lists, thin to thick; none for "as sold"."""
        if self.rule not in SIZE_RULES or self.value == AS_SOLD:
            return ()
        return tuple(read_standard_size(f"{size} {self.unit}", self.name) for size in self.value.split())

    @property
    def places(self) -> tuple[PlaceShare, ...]:
        """Where a run passes, the battery's end first; none for a rule of another sort.

        Raises
        ------
        InputError
            If the value of a rule of places is no list of places whose shares sum to 100 %.
        """
        return _places(self, self.value) if self.rule == "places" else ()

    @property
    def options(self) -> tuple[str, ...]:
        """The values to choose from; empty where others may be typed."""
        return {
            "fuse_family": tuple(FAMILIES),
            "insulation": tuple(INSULATIONS),
            "matched_size": YES_NO,
            "sold_as": (AS_ASKED, *SYSTEMS),
        }.get(self.rule, ())

    @property
    def number(self) -> float:
        """The value of a rule that is a number, in its unit; a share for "%"."""
        return float(self.value) / (100.0 if self.unit == "%" else 1.0)

    def covers(self, amount: float) -> bool:
        """Whether an amount, in `of`, lies in the rule's range: over `above`, at or under `up_to`."""
        own = amount / (1 + 1e-9)  # 300 W is 300 W, whatever the last binary digit says
        return (self.above is None or own > self.above) and (self.up_to is None or own <= self.up_to)

    def changed(self, value: str) -> HouseRule:
        """The rule with another value.

        Parameters
        ----------
        value : str
            As a person types it.

        Returns
        -------
        HouseRule

        Raises
        ------
        InputError
            If the value cannot be used for this rule; the message says what can.
        """
        value = " ".join(value.split())
        return replace(self, value=_checked(self, value))


def range_end(amount: float | None) -> str:
    """An end of a range as keys and files have it: "150"; "" for no end."""
    return "" if amount is None else f"{amount:g}"


def _checked(rule: HouseRule, value: str) -> str:
    """The value as it is kept, or what is wrong with it."""
    if rule.rule in SIZE_RULES:
        return _checked_sizes(rule, value)
    if rule.options:
        value = value.lower() if rule.options == YES_NO else value
        if value not in rule.options:
            raise InputError(rule.name, value, ", ".join(rule.options))
        return value
    if rule.rule == "places":
        return " ".join(f"{place.zone} {100 * place.share:g}" for place in _places(rule, value))
    low, high = _BOUNDS[rule.rule, rule.unit]
    text = value.replace(",", ".").removesuffix(rule.unit).strip() if rule.unit else value.replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not low <= number <= high:
        raise InputError(rule.name, value, f"{low:g} to {high:g} {rule.unit}".rstrip())
    return f"{number:g}"


def _checked_sizes(rule: HouseRule, value: str) -> str:
    """The sizes of a rule of sizes, thin to thick, each once, or what is wrong with them."""
    if rule.rule == "least_size":
        if value == AS_SOLD and rule.applies == "sheathed cable":
            return value
        if len(value.split()) != 1:
            raise InputError(rule.name, value, "one size, such as 16")
    elif not value:
        raise InputError(rule.name, value, "one size or more, such as 18 16 14")
    given = value.replace(",", " ").split() if rule.unit == "AWG" else value.split()
    sizes = {read_standard_size(f"{size} {rule.unit}", rule.name): size for size in given}
    if any(system != rule.unit for system, _ in sizes):
        raise InputError(rule.name, value, f"sizes in {rule.unit}")
    return " ".join(sizes[size] for size in sorted(sizes, key=_thickness))


def _thickness(size: Size) -> float:
    """What grows with a size's cross-section, within one system."""
    return size[1] if size[0] == "mm2" else -size[1]


def _places(rule: HouseRule, value: str) -> tuple[PlaceShare, ...]:
    """ "engine_bay 20 boot 80" -> places; shares in per cent."""
    allowed = "places and per cent of the length that sum to 100, such as “engine_bay 20 boot 80”; places: "
    allowed += ", ".join(ZONES)
    words = value.split()
    try:
        places = tuple(PlaceShare(zone=words[at], share=float(words[at + 1]) / 100) for at in range(0, len(words), 2))
    except (IndexError, ValueError):
        raise InputError(rule.name, value, allowed) from None
    known = all(place.zone in ZONES and 0 < place.share <= 1 for place in places)
    if not places or not known or abs(sum(place.share for place in places) - 1) > 1e-6:
        raise InputError(rule.name, value, allowed)
    return places
