"""Every kind of run that is wired in a vehicle, as one model: what a wire's resistance does to what it feeds.

A kind is a module with a class that `run.Run` describes, and a line in `KINDS`. `choose` holds limits and picks a size,
`tolerance` spreads, `short` is a short circuit at the far end.
"""

from wirecalc.runs.device import DeviceRun
from wirecalc.runs.factory import FactoryRun
from wirecalc.runs.feed import FeedRun
from wirecalc.runs.lamp import LampRun
from wirecalc.runs.line import LineRun
from wirecalc.runs.measure import MEASURES, Measure, Measures, said_number
from wirecalc.runs.relay import RelayRun
from wirecalc.runs.run import Installation, Place, Run, measured, model, warmed, wire_ohm, with_heat
from wirecalc.runs.speaker import SpeakerRun
from wirecalc.runs.subwoofer import SubwooferRun
from wirecalc.runs.turn_on import TurnOnRun

__all__ = [
    "KINDS",
    "MEASURES",
    "DeviceRun",
    "FactoryRun",
    "FeedRun",
    "Installation",
    "LampRun",
    "LineRun",
    "Measure",
    "Measures",
    "Place",
    "RelayRun",
    "Run",
    "SpeakerRun",
    "SubwooferRun",
    "TurnOnRun",
    "measured",
    "model",
    "said_number",
    "warmed",
    "wire_ohm",
    "with_heat",
]

KINDS: tuple[type[Run], ...] = (
    SpeakerRun, SubwooferRun, LineRun, FactoryRun, TurnOnRun, RelayRun, LampRun, FeedRun, DeviceRun,
)  # fmt: skip
"""Every kind, in the order in which the page One run offers them."""
