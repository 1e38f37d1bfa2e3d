"""The places in a vehicle that a wire passes, and how hot the air is there."""

from __future__ import annotations

from wirecalc import tables
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class Zone:
    """A place in the vehicle and the air that a wire meets there."""

    key: str
    name: str
    ambient_c: float
    """[degC]"""
    reason: str
    source: str
    confidence: str


ZONES = tables.keyed("zones", Zone)
