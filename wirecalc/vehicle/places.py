"""The places that a wire passes, each with its length: "engine bay 1 m; sill 3 m; boot 1 m"."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.units_taken import takes_units
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.zones import ZONES

Places = tuple[tuple[str, float], ...]
"""Key of `wirecalc.wire.zones.ZONES` and the length there, from the wire's start on. [m]"""

MOST_PLACES = 12
SAME = 1e-9
AS_LONG = 0.02  # the lengths may miss the wire's own by so much of it: nobody measures closer
EXAMPLE = "engine bay 1 m; sill 3 m; boot 1 m"
# What a person may call a zone, beside its key and its name in the table.
_CALLED = {
    "engine bay": "engine_bay",
    "bay": "engine_bay",
    "beside the battery": "battery_side",
    "engine space": "engine_space",
    "sills": "sill",
    "door": "sill",
    "doors": "sill",
    "floor": "underbody",
    "under the floor": "underbody",
    "dash": "cabin",
    "trim": "cabin",
    "trunk": "boot",
}
_NAMES = {
    **_CALLED,
    **{key.replace("_", " "): key for key in ZONES},
    **{zone.name.casefold(): key for key, zone in ZONES.items()},
}
_PART = re.compile(r"(?P<place>[^0-9]+?)\s*(?P<length>[0-9].*)", re.DOTALL)


def read_places(text: str, field: str = "Places") -> Places:
    """Places as typed, parted by semicolons.

    Parameters
    ----------
    text : str
    field : str
        What it is called in a message.

    Returns
    -------
    Places

    Raises
    ------
    InputError
        If a place or a length cannot be read.

    Examples
    --------
    >>> read_places("engine bay 1 m; sill 3 m; boot 40 cm")
    (('engine_bay', 1.0), ('sill', 3.0), ('boot', 0.4))
    """
    stretches = []
    parts = [part.strip() for part in text.split(";") if part.strip()]
    if not 1 <= len(parts) <= MOST_PLACES:
        raise InputError(field, f"{len(parts)} places", f"1 to {MOST_PLACES}, as in {EXAMPLE}")
    for part in parts:
        match = _PART.fullmatch(part)
        zone = _NAMES.get(" ".join(match["place"].casefold().replace("_", " ").split())) if match else None
        if match is None or zone is None:
            allowed = f"a place and its length, as in {EXAMPLE}; places: {', '.join(ZONES)}"
            raise InputError(field, part[:40], allowed)
        length_m = units.read(match["length"], field, units.LENGTH, high=LONGEST_M, above=True)
        stretches.append((zone, float(length_m)))
    return tuple(stretches)


def written_places(places: Places) -> str:
    """As `read_places` reads them, every length with all its digits."""
    return "; ".join(f"{zone} {length_m!r} m" for zone, length_m in places)


@takes_units
def scaled(places: Places, length_m: float) -> Places:
    """The places of a wire of another length, each with its share of it.

    Parameters
    ----------
    places : Places
        Each with its length. [m]
    length_m : float
        Of the other wire, above 0. [m]

    Returns
    -------
    Places
        As they were if they are already as long.

    Raises
    ------
    InputError
        If there is no such place, or a length is not over 0 m.
    """
    for zone, part_m in places:
        if zone not in ZONES:
            raise InputError("Places", zone, ", ".join(ZONES))
        if not 0 < part_m < math.inf:
            raise InputError("Places", part_m, "a length over 0 m")
    total_m = sum(part_m for _, part_m in places)
    if abs(total_m - length_m) <= SAME * length_m:
        return places
    return tuple((zone, part_m * length_m / total_m) for zone, part_m in places)


@takes_units
def check_length(places: Places, length_m: float) -> None:
    """Check that the places of a wire are as long together as the wire.

    Parameters
    ----------
    places : Places
        As typed. [m]
    length_m : float
        Of the wire. [m]

    Raises
    ------
    InputError
        If the places together are longer or shorter by more than `AS_LONG` of the wire's length.
    """
    total_m = sum(part_m for _, part_m in places)
    if abs(total_m - length_m) > AS_LONG * length_m:
        raise InputError("Places", f"{total_m:.4g} m in all", f"{length_m:.4g} m in all, as Length says",
                         "Correct the length or a part of it.")  # fmt: skip


def hottest(zones: Sequence[str]) -> str:
    """The zone with the warmest air."""
    return max(zones, key=lambda zone: ZONES[zone].ambient_c)


def mean_c(places: Places) -> float:
    """Air over the whole way, each place by its length. [degC]

    A wire's resistance goes with it, as it rises in a straight line with temperature.
    """
    return sum(ZONES[zone].ambient_c * part_m for zone, part_m in places) / sum(part_m for _, part_m in places)
