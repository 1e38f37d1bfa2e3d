"""A bound on one measure of a run."""

from __future__ import annotations

from typing import Literal

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass

Sense = Literal["at most", "at least"]


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A bound on one measure."""

    measure: str
    """Key of the measures, such as "loss_db"."""
    sense: Sense
    bound: float | str
    """A number, or the key of another measure: temperature_c at most limit_c. Meeting it is not breaking it."""
    name: str = ""
    """As a person reads it: "level loss"."""
    unit: str = ""
    reason: str = ""
    remedy: str = ""
    """What helps when no candidate meets it."""
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        if self.sense not in ("at most", "at least"):
            raise InputError("Limit", self.sense, "“at most” or “at least”")
        if not isinstance(self.bound, str):
            check(f"Limit of {self.name or self.measure}", self.bound, self.unit)
