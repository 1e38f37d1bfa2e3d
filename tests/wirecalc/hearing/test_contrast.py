"""Two choices: the same numbers as one run at a time, and every watt is accounted for."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc import runs
from wirecalc.circuits import response
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.hearing import contrast
from wirecalc.hearing.contrast import ComparedWire
from wirecalc.wire.conductor import METALS, awg
from wirecalc.wire.pair import DIELECTRICS, Pair

RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=200, rated_ohm=4, damping_factor=50), load_ohm=2)
THIN = ComparedWire(conductor=awg(18, METALS["cca_10"]), length_m=6, pair_per_m=0.5)
THICK = ComparedWire(conductor=awg(14), length_m=4, parallel=2, pair_per_m=1.25)


def test_the_watts_add_up_to_what_the_source_gives() -> None:
    compared = contrast.contrast(RUN, (THIN, THICK))
    for at, choice in enumerate((THIN, THICK)):
        wire = runs.wire_ohm([choice.conductor], runs.Installation(length_m=choice.length_m, parallel=choice.parallel))
        alone = RUN.measures(wire, choice.length_m)
        assert compared.load_w[at] == pytest.approx(float(alone["load_w"][0]))
        assert compared.loss_db[at] == pytest.approx(float(alone["loss_db"][0]))
        given_w = RUN.amplifier.emf_v * float(alone["current_a"][0])
        assert compared.load_w[at] + compared.wire_w[at] + compared.amplifier_w[at] == pytest.approx(given_w)
    assert compared.apart_db == pytest.approx(compared.loss_db[0] - compared.loss_db[1])
    assert compared.apart_db > 0
    assert compared.bare_w > max(compared.load_w)


@pytest.mark.parametrize("load", [Load(ohm=2), DEMO_DRIVERS["Demo 250 mm sub (two 4 Ω coils in parallel)"]])
def test_the_transfer_is_the_response_of_each(load: Load) -> None:
    hz = np.array([20.0, 31.0, 200.0, 2e3, 20e3])
    transfers = contrast.transfer(RUN, load, (THIN, THICK), hz)
    for row, choice in zip(transfers, (THIN, THICK), strict=True):
        wall_m = 0.2e-3 + 0.08 * choice.conductor.diameter_m
        wire = Pair(conductor=choice.conductor, insulation=DIELECTRICS["pvc"], insulation_m=wall_m)
        level_db = response.level_db(RUN.amplifier, load, [wire], choice.length_m, hz, parallel=choice.parallel)[0]
        assert 20 * np.log10(np.abs(row)) == pytest.approx(level_db, abs=1e-9)
    assert np.all(np.abs(np.angle(transfers)) < np.pi / 2)


def test_a_driver_is_furthest_apart_where_its_impedance_is_least() -> None:
    driver = DEMO_DRIVERS["Demo 165 mm door woofer"]
    flat, shaped = contrast.contrast(RUN, (THIN, THICK)), contrast.contrast(RUN, (THIN, THICK), driver)
    assert shaped.apart_db == flat.apart_db
    assert shaped.furthest_db > 0.2
    hz = np.geomspace(20, 20e3, 500)
    levels = 20 * np.log10(np.abs(contrast.transfer(RUN, driver, (THIN, THICK), hz)))
    assert shaped.furthest_db == pytest.approx(np.max(levels[1] - levels[0]), abs=1e-3)
    assert 200 < shaped.furthest_hz < 20e3  # above the resonance


def test_costs_are_of_every_pair() -> None:
    assert THICK.cost == pytest.approx(4 * 2 * 1.25)
    assert contrast.contrast(RUN, (THIN, THICK)).extra_cost == pytest.approx(10 - 3)
    unknown = ComparedWire(conductor=awg(14), length_m=4)
    assert unknown.cost is None
    assert contrast.contrast(RUN, (THIN, unknown)).extra_cost is None


def test_labels() -> None:
    assert (THIN.label, THICK.label) == ("18 AWG, copper-clad aluminium 10 %", "2 × 14 AWG")


def test_a_wire_that_gets_too_hot_is_known() -> None:
    loud = runs.SpeakerRun(amplifier=Amplifier(power_w=4000, rated_ohm=1), load_ohm=1)
    thin = ComparedWire(conductor=awg(24), length_m=1)
    assert contrast.contrast(loud, (thin, ComparedWire(conductor=awg(4), length_m=1))).too_hot == (True, False)


@pytest.mark.parametrize(
    "wrong", [{"length_m": 0}, {"length_m": 101}, {"parallel": 17}, {"pair_per_m": -1}, {"pair_per_m": 1e9}]
)
def test_a_choice_checks_itself(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError):
        ComparedWire(**{"conductor": awg(16), "length_m": 5, **wrong})  # type: ignore[arg-type]
