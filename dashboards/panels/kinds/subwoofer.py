"""What the page asks of amplifier to subwoofer."""

from __future__ import annotations

from dashboards.panels.kinds.form import awg
from dashboards.panels.kinds.speaker import SpeakerForm
from wirecalc.runs.subwoofer import SubwooferRun


class SubwooferForm(SpeakerForm):
    """Amplifier to subwoofer."""

    title = "Amplifier to subwoofer"
    key = "subwoofer"
    of_kind = SubwooferRun
    start = (3.0, ("AWG", 12.0), awg(18, 16, 14, 12, 10, 8, 6))
