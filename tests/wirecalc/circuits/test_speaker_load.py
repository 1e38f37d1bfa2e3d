"""Loads of a loudspeaker run: how drivers are built in and wired, and where a measurement is known."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc.circuits import speaker_load
from wirecalc.circuits.impedance_file import read_impedance
from wirecalc.circuits.loudspeaker import ABOUT_DEMO_DRIVERS, DEMO_DRIVERS, closed_box, two_coils
from wirecalc.errors import InputError

HZ = np.geomspace(20, 20e3, 50)
DRIVER = next(iter(DEMO_DRIVERS.values()))


def test_rows_of_drivers_in_a_box_with_two_coils() -> None:
    speaker = speaker_load.own(DRIVER, box_m3=0.02, coils="series", in_series=2, in_parallel=3)
    boxed = two_coils(closed_box(DRIVER, 0.02), "series")
    np.testing.assert_allclose(speaker.load.impedance(HZ), boxed.impedance(HZ) * 2 / 3)
    assert speaker.driver == boxed
    assert speaker.boxed
    assert speaker.name == "6 own drivers"
    assert speaker.made.entered == DRIVER
    with pytest.raises(InputError, match="Drivers in series"):
        speaker_load.own(DRIVER, in_series=5)


def test_a_demo_driver_says_that_it_is_invented() -> None:
    name = next(iter(DEMO_DRIVERS))
    speaker = speaker_load.demo_driver(name)
    assert "invented" in speaker.name
    assert speaker.made.origin == ABOUT_DEMO_DRIVERS[name].source
    assert speaker.band_hz == speaker_load.BAND_HZ


def test_a_measurement_is_known_where_it_was_measured() -> None:
    rows = "".join(f"{hz};4;0\n" for hz in (100, 1000, 5000))
    speaker = speaker_load.measured_load("door.csv", read_impedance(rows.encode()))
    assert (speaker.low_hz, speaker.high_hz) == speaker.band_hz == (100.0, 5000.0)
    rows = "".join(f"{hz};4;0\n" for hz in (30000, 35000, 39000))
    with pytest.raises(InputError, match="20 Hz to 20 kHz"):
        speaker_load.measured_load("high.csv", read_impedance(rows.encode()))


def test_litres() -> None:
    assert speaker_load.from_litres(12.0) == pytest.approx(0.012)
    assert speaker_load.from_litres(None) is None
