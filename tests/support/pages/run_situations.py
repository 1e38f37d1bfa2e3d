"""A run of every kind, ordinary and extreme, as the page One run hands it to a tab."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from dashboards.panels.controls.sizes import OFFERED
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs
from wirecalc.circuits import relay, supply
from wirecalc.circuits.source import Amplifier
from wirecalc.wire.conductor import Conductor, awg, conductor
from wirecalc.wire.insulation import INSULATIONS

SPEAKER = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4.0)
SUBWOOFER = runs.SubwooferRun(amplifier=Amplifier(power_w=1000, rated_ohm=2), load_ohm=2.0)
LINE = runs.LineRun(source_ohm=100.0, input_ohm=1e4, farad_per_m=1e-10)
TURN_ON = runs.TurnOnRun(draw_a=0.2, supply_v=12.0, limit_a=0.3, least_v=8.0)
RELAY = runs.RelayRun(relay=relay.USUAL_12V, supply_v=12.0, coil_c=85.0)
LAMPS = runs.LampRun(supply_v=12.0, strip_m=5.0, amps_per_m=1.0, strip_ohm_per_m=0.1)
FEED = runs.FeedRun(rated_w=400.0, amplifier_class=supply.CLASSES["D"], supply_v=13.8)
ALL = (SPEAKER, SUBWOOFER, LINE, TURN_ON, RELAY, LAMPS, FEED)
# as far as the checks of the runs allow, or to where there is no solution
EXTREME = (
    replace(SPEAKER, amplifier=Amplifier(power_w=20_000, rated_ohm=0.5), load_ohm=0.1, music_share=1.0),
    replace(SPEAKER, amplifier=Amplifier(power_w=0.01, rated_ohm=16), load_ohm=1000.0),
    replace(LINE, source_ohm=1e5, input_ohm=1e6),
    replace(TURN_ON, draw_a=20.0, supply_v=60.0),
    replace(TURN_ON, draw_a=1e-3, supply_v=1.0),
    replace(RELAY, relay=relay.Relay(coil_ohm=1.0, pull_in_v=8.0, drop_out_v=1.0), supply_v=60.0),
    replace(LAMPS, strip_m=50.0, amps_per_m=5.0),
    replace(LAMPS, lamps="resistive", both_ends=True, amps_per_m=10.0),
    replace(FEED, rated_w=20_000.0, regulated=True),
    replace(FEED, rated_w=20_000.0, music_share=1.0),
    replace(FEED, rated_w=1e-3),
)
DRAWN = {("AWG", float(n)) for n in (22, 18, 16, 14, 12, 10, 8)}


def situation(run: runs.Run, this: Conductor | None = None, **changes: Any) -> RunRequest:
    """An ordinary one; of `changes` each goes to the part that has it."""
    laid: dict[str, Any] = {"length_m": 5.5}
    place: dict[str, Any] = {"insulation": INSULATIONS["pvc_80"], "ambient_c": 45.0}
    for name, value in changes.items():
        (place if name in runs.Place.__dataclass_fields__ else laid)[name] = value
    this = this or awg(16)
    return RunRequest(
        run=run,
        laid=runs.Installation(**laid),
        place=runs.Place(**place),
        this=this,
        others=tuple(conductor(*size, this.metal) if size in DRAWN else None for size in OFFERED),
        conductor=lambda size: conductor(*size, this.metal),
        feet=False,
    )


def no_nan_outside_arrays(part: Any) -> None:
    """What is no float array goes to the page as JSON, which has neither nan nor inf."""
    if isinstance(part, dict):
        if "bdata" not in part:
            for inner in part.values():
                no_nan_outside_arrays(inner)
    elif isinstance(part, (list, tuple)) or (isinstance(part, np.ndarray) and part.dtype == object):
        for inner in part:
            no_nan_outside_arrays(inner)
    elif isinstance(part, float):
        assert np.isfinite(part)
