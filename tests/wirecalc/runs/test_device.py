"""A device on the supply as a run: its start decides on the fuse, its use on the drop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wirecalc import runs
from wirecalc.errors import InputError
from wirecalc.runs.device import CRITICAL_DROP, USUAL_DROP
from wirecalc.wire import fuse
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS

LAID = runs.Installation(length_m=4.0)
PLACE = runs.Place(insulation=INSULATIONS["pvc_80"], ambient_c=40.0)
FAN = runs.DeviceRun(rated_a=10.0, supply_v=12.6, inrush_ratio=4.0, inrush_s=0.3)


def test_the_fuse_stands_the_start() -> None:
    wire = [awg(8)]
    measures = runs.with_heat(runs.measured(FAN, wire, LAID), wire, LAID, PLACE)
    ohm = float(runs.wire_ohm(wire, LAID)[0])
    inrush_a = float(measures["inrush_a"][0])
    assert inrush_a == pytest.approx(12.6 / (12 / 40 + ohm))
    assert measures["inrush_s"].tolist() == [0.3]
    rating_a = float(fuse.fuse_a(measures["draw_a"], measures["allowable_a"])[0])
    # by the gates of ISO 8820-3 (from memory): 600 % for 0.02 s is as warm as 155 % for 0.3 s, 160 % for 0.25 as 146 %
    assert rating_a >= inrush_a / (6 * np.sqrt(0.02 / 0.3)) * (1 - 1e-9)
    assert rating_a == 30
    steady = replace(FAN, inrush_ratio=1.0)
    calm = runs.with_heat(runs.measured(steady, wire, LAID), wire, LAID, PLACE)
    assert float(fuse.fuse_a(calm["draw_a"], calm["allowable_a"])[0]) == 15  # 10 / 0.8 = 12.5
    assert calm["inrush_a"].tolist() == calm["current_a"].tolist()
    assert calm["inrush_s"].tolist() == [0.0]
    assert calm["fuse_headroom_a"][0] > measures["fuse_headroom_a"][0]


def test_what_is_critical_may_lose_less() -> None:
    bounds = {
        critical: next(limit.bound for limit in replace(FAN, critical=critical).limits()) for critical in (True, False)
    }
    assert bounds == {True: CRITICAL_DROP, False: USUAL_DROP}  # 3 % and 10 %: ABYC E-11, from memory


def test_its_words_name_the_start_only_where_there_is_one() -> None:
    here = {key: float(value[0]) for key, value in runs.measured(FAN, [awg(14)], LAID).items()}
    sentence = FAN.sentence(here, "14 AWG", LAID, 0.07)
    assert "When it starts it takes" in sentence
    assert "% is lost on the way" in sentence
    assert "let the start pass" in FAN.cautions(here)[0]
    calm = replace(FAN, inrush_ratio=1.0)
    here = {key: float(value[0]) for key, value in runs.measured(calm, [awg(14)], LAID).items()}
    assert "starts" not in calm.sentence(here, "14 AWG", LAID, 0.07)
    assert calm.cautions(here) == ()


def test_what_cannot_be_drawn_is_said_and_has_no_fuse() -> None:
    far = runs.Installation(length_m=60.0)
    hungry = runs.DeviceRun(rated_a=25.0, supply_v=12.0, behaviour="constant power")
    measures = runs.with_heat(runs.measured(hungry, [awg(20)], far), [awg(20)], far, PLACE)
    for key in ("load_v", "current_a", "draw_a", "inrush_a", "temperature_c", "fuse_headroom_a"):
        assert np.isnan(measures[key]).all(), key
    here = {key: float(value[0]) for key, value in measures.items()}
    assert "cannot be drawn" in hungry.sentence(here, "20 AWG", far, float(runs.wire_ohm([awg(20)], far)[0]))


@pytest.mark.parametrize(
    "bad", [{"rated_a": 0.0}, {"inrush_ratio": 0.5}, {"inrush_s": -1.0}, {"nominal_v": 0.0}, {"behaviour": "magic"}]
)
def test_what_cannot_be_is_refused(bad: dict[str, object]) -> None:
    with pytest.raises(InputError):
        replace(FAN, **bad)  # type: ignore[arg-type]
