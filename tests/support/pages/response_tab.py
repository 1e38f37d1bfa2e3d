"""The tab Response without a browser: a situation to show, what it shows, and what its curves have to be."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED
from dashboards.panels.one_run import response as response_tab
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.response import ResponseTab
from tests.support.sentences import answered, numbers, within
from wirecalc import runs
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire.conductor import conductor
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.pair import DIELECTRICS, Pair

DRAWN = (("AWG", 20.0), ("AWG", 16.0), ("AWG", 12.0), ("mm2", 2.5))
AMPLIFIER = Amplifier(power_w=100, rated_ohm=4)
SPEAKER = runs.SpeakerRun(amplifier=AMPLIFIER, load_ohm=4.0)
LINE = runs.LineRun(source_ohm=1000.0, input_ohm=10e3, farad_per_m=1e-9)
WOOFER = "Demo 165 mm door woofer"


def situation(run: runs.Run = SPEAKER, feet: bool = False, cautions: tuple[str, ...] = (), **laid: Any) -> RunRequest:
    return RunRequest(
        run=run,
        laid=runs.Installation(**{"length_m": 5.5, **laid}),
        place=runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=30.0),
        this=conductor("AWG", 16.0),
        others=tuple(conductor(*size) if size in DRAWN else None for size in OFFERED),
        conductor=lambda size: conductor(*size),
        feet=feet,
        cautions=cautions,
    )


class Shown:
    """A tab on a page of one situation, and what it was asked to compute."""

    def __init__(self, here: RunRequest) -> None:
        self.asked: list[response_tab.Request] = []
        self.fault: InputError | None = None
        self.here = here
        self.tab = ResponseTab(self._compute)
        self.tab.changed = self.show
        self.show()

    def _compute(self, request: response_tab.Request) -> response_tab.Answer:
        self.asked.append(request)
        return response_tab.compute(request)

    def show(self) -> None:
        try:
            self.tab.show(self.here)
            self.fault = None
        except InputError as fault:  # the page says it
            self.fault = fault

    @property
    def level(self) -> Any:
        return self.tab.charts.drawn[0]

    @property
    def beside(self) -> Any:
        return self.tab.charts.drawn[1]

    def curve(self, row: int = MOST_DRAWN) -> np.ndarray[Any, Any]:
        return np.array(self.level.data[row].y)

    def upload(self, content: str, name: str = "door.csv") -> None:
        raw = content.encode()
        self.tab.speaker.upload.take({"name": name, "size": len(raw), "content": raw})


def thin_wall(size: tuple[str, float], **other: Any) -> Pair:
    """A pair in the default wall: 0.2 mm and 8 %, as `insulated` says."""
    inner = conductor(*size)
    return Pair(
        **{
            "conductor": inner,
            "insulation": DIELECTRICS["pvc"],
            "insulation_m": 2e-4 + 0.08 * inner.diameter_m,
            **other,
        }
    )


def expected_db(load: Any, hz: Any, pair: Pair, length_m: float = 5.5) -> Any:
    wire = pair.ohm_per_m(hz) * length_m
    return solve_loop(AMPLIFIER.emf_v, AMPLIFIER.output_ohm, wire, load.impedance(hz)).level_db


def opens(shown: Shown) -> dict[str, str]:
    """Every number of the tables, opened: what it says agrees with what is in the table."""
    by_key = numbers(shown.tab.table.html)
    bare = re.findall(r"<td[^>]*>[^<]*</td>", shown.tab.table.html)
    assert len(bare) == len({key.split(":")[1] for key in by_key}) + 2 * ("Twisted" in shown.tab.table.html)  # names
    workings = {key: shown.tab.work(key) for key in by_key}
    for key, text in by_key.items():
        if text == "none":
            continue
        worked_out = float(answered(workings[key]).split()[0])
        value = worked_out if within(text, worked_out) else float(text.replace("−", "-"))
        decimals = len(text.partition(".")[2])
        assert value == pytest.approx(
            worked_out, rel=6e-3 if "flat" in key or "twisted" in key else 6e-4, abs=10**-decimals
        )
    return workings
