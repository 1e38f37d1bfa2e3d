"""What a handout is made of: a solved plan and all that was decided with it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from wirecalc.errors import InputError
from wirecalc.vehicle.buy import BuyList
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.text import PlanText
from wirecalc.wire.multicore import Allocation

LONGEST_TITLE = 100  # characters; two lines of a sheet


@dataclass(frozen=True, kw_only=True, eq=False)
class HandoutJob:
    """One job, on one day."""

    title: str
    """Whose vehicle, in the installer's words."""
    date: datetime.date
    version: str
    """Of the program."""
    text: PlanText
    """As typed."""
    plan: Plan
    reasons: Mapping[str, str] = field(default_factory=dict)
    """Why this size, by wire; see `wirecalc.vehicle.choose.Choice`."""
    fuse_reasons: Mapping[str, str] = field(default_factory=dict)
    allocations: Mapping[str, Allocation] = field(default_factory=dict)
    """By the plan's name of the cable; each use's circuit has the wire's name."""
    buy_list: BuyList | None = None
    """Its runs have the name of a wire or of a cable."""
    heads: tuple[tuple[str, str], ...] = ()
    """What stands under the title of every page: label and text."""
    feet: bool = False
    """Lengths in feet and inches."""

    def __post_init__(self) -> None:
        title = " ".join(self.title.split())
        object.__setattr__(self, "title", title)
        if not title or len(title) > LONGEST_TITLE:
            given = title[:20] + "…" if title else "nothing"
            raise InputError("Title of the handout", given, f"1 to {LONGEST_TITLE} characters")
