"""Amplifier to subwoofer."""

from __future__ import annotations

from typing import ClassVar

from wirecalc.runs.speaker import SpeakerRun
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class SubwooferRun(SpeakerRun):
    """Amplifier to subwoofer: the same circuit, held to a higher damping factor."""

    kind: ClassVar[str] = "subwoofer"
