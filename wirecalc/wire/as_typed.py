"""A wire's size as people write it with what else they know of it: "2x16", "16/2", "18 AWG CCA".

The size itself is read by `wirecalc.wire.bought.read_size`; here is what stands before and behind it.
"""

from __future__ import annotations

import re

from wirecalc.units_taken import dataclass

_SIDE_BY_SIDE = re.compile(r"(?P<count>[1-9]|1[0-6]) ?[x×*] ?(?P<size>.+)", re.IGNORECASE)
METAL_WORDS = {
    "copper clad aluminium": "cca_10",
    "copper clad aluminum": "cca_10",
    "copper-clad aluminium": "cca_10",
    "copper-clad aluminum": "cca_10",
    "tinned copper": "tinned_copper",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
    "tinned": "tinned_copper",
    "copper": "copper",
    "ofc": "copper",
    "cca": "cca_10",
}
"""What a person writes for a metal -> its key in `wirecalc.wire.conductor.METALS`. Longer words first. Clad
aluminium of which nobody says how much copper it has is taken as the poorer of the two classes of ASTM B566."""


@dataclass(frozen=True, kw_only=True)
class Typed:
    """The parts of what was typed."""

    size: str
    """For `wirecalc.wire.bought.read_size`."""
    parallel: int | None = None
    """Conductors side by side, where that was typed."""
    metal: str | None = None
    """Key of a metal, where that was typed."""


def split(text: str) -> Typed:
    """What was typed for a size, in its parts.

    Parameters
    ----------
    text : str

    Returns
    -------
    Typed

    Examples
    --------
    >>> split("2x16"), split("18 AWG CCA")
    (Typed(size='16', parallel=2, metal=None), Typed(size='18 AWG', parallel=None, metal='cca_10'))
    """
    size, parallel, metal = " ".join(text.split()), None, None
    for word, key in METAL_WORDS.items():
        if size.casefold().endswith(f" {word}"):
            size, metal = size[: -len(word)].rstrip(" ,"), key
            break
    several = _SIDE_BY_SIDE.fullmatch(size)
    if several is not None:
        size, parallel = several["size"], int(several["count"])
    return Typed(size=size, parallel=parallel, metal=metal)
