"""The shown formulas of Onderdonk and Preece, put back into arithmetic, give what `wirecalc.wire.melting` computed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings

from tests import tried
from tests.support.drawn_runs import CABIN, LAID_5M, PLACES, SPEAKER, WIRES
from tests.support.shown_formulas import proven
from wirecalc import runs
from wirecalc.wire import melting
from wirecalc.wire.conductor import Conductor, awg
from wirecalc.wire.zones import ZONES
from wirecalc.workings.melting import onderdonk, preece


@settings(max_examples=tried(40))
@given(wire=WIRES, place=PLACES)
def test_any_wire(wire: Conductor, place: runs.Place) -> None:
    working = onderdonk(SPEAKER, wire, LAID_5M, place, 1.0)
    proven(working)
    assert working.value == melting.onderdonk_a(wire.area_m2, 1.0, place.ambient_c)
    working = preece(SPEAKER, wire, LAID_5M)
    proven(working)
    assert working.value == pytest.approx(float(melting.preece_a(2 * math.sqrt(wire.area_m2 / math.pi))), rel=1e-9)


def test_the_air_has_its_source() -> None:
    working = onderdonk(SPEAKER, awg(12), LAID_5M, CABIN, 1.0)
    air = next(entry for step in working.steps for entry in step.inputs if entry.symbol == "Ta")
    assert (air.origin, air.confidence) == (ZONES["cabin"].source, ZONES["cabin"].confidence)
    assert "never a limit" in working.steps[-1].note
    assert preece(SPEAKER, awg(12), LAID_5M).value == pytest.approx(235, abs=1)  # 2.053 mm, from memory
