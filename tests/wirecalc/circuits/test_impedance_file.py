"""A measured impedance file: every form it may come in, and every fault in one go."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from tests.support.bad_files import TEN_BAD_ROWS
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.impedance_file import (
    MOST_BYTES,
    MOST_FAULTS,
    MOST_ROWS,
    FileFaults,
    MeasuredImpedance,
    read_impedance,
)
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS
from wirecalc.errors import InputError

PLAIN = "20,6.5,30\n100,4.25,-10.5\n20000,12,60\n"


@pytest.mark.parametrize(
    "content",
    [
        PLAIN,
        PLAIN.encode(),
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace(",", ";").replace(".", ","),
        PLAIN.replace(",", "\t").replace(".", ","),
        PLAIN.replace("\n", "\r\n"),
        "Frequency (Hz),Impedance (Ohm),Phase (°)\n" + PLAIN,
        ("Frequency;|Z| [Ω];Phase [deg]\n" + PLAIN.replace(",", ";")).encode("utf-16"),
        "\ufefff,Z,phase\n" + PLAIN,
        ("\ufeff" + PLAIN).encode(),
        "freq,ohm,°\n".encode("cp1252") + PLAIN.encode(),
        "* measured in a door\n# at 20 degC\n\n" + PLAIN + "\n\n",
        '"20","6.5","30"\n"100","4.25","-10.5"\n"20000","12","60"',
        "2e1, 6.50 ,+30\n 100 , 4.25 , -10.5\n2.0E4,12.,60,,\n",
    ],
)
def test_forms_that_are_read(content: str | bytes) -> None:
    measured = read_impedance(content)
    assert measured.frequency_hz.tolist() == [20, 100, 20000]
    assert measured.magnitude_ohm.tolist() == [6.5, 4.25, 12]
    assert measured.phase_deg.tolist() == [30, -10.5, 60]
    assert (measured.lowest_hz, measured.highest_hz) == (20, 20000)


def test_ten_bad_rows_get_ten_messages() -> None:
    with pytest.raises(FileFaults) as error:
        read_impedance(TEN_BAD_ROWS)
    assert [fault.field for fault in error.value.faults] == [
        "Row 3, column 1 (frequency)",
        "Row 4, column 2 (magnitude)",
        "Row 5, column 3 (phase)",
        "Row 6",
        "Row 7, column 1 (frequency)",
        "Row 8, column 2 (magnitude)",
        "Row 9, column 2 (magnitude)",
        "Row 10, column 2 (magnitude)",
        "Row 11, column 3 (phase)",
        "Row 12, column 3 (phase)",
    ]
    text = str(error.value)
    assert len(text.splitlines()) == 10
    assert "Row 4, column 2 (magnitude): “-6” won’t work; needed: above 0 up to 100000 Ω" in text
    assert "“120” won’t work; needed: -90 to 90 °" in text
    assert "above 40 Hz" in text  # the last row before it whose frequency could be used
    assert isinstance(error.value, InputError)
    assert error.value.given == "x"
    again = pickle.loads(pickle.dumps(error.value))
    assert str(again) == text


def test_two_faults_in_one_row_are_two_messages() -> None:
    with pytest.raises(FileFaults) as error:
        read_impedance("20,6,10\nx,-1,100\n30,6,10\n")
    assert [fault.field[:15] for fault in error.value.faults] == [f"Row 2, column {n}" for n in (1, 2, 3)]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", ["0 rows of numbers", "two rows or more"]),
        ("frequency,ohm,phase\n", ["0 rows of numbers"]),
        ("20,6,10\n", ["1 rows of numbers"]),
        ("20,0,6,1,12,3\n30,0,6,1,12,3", ["6 columns", "decimal sign"]),
        ("20 6 10\n30 6 10\n", ["Part columns"]),
        ("20;6;10\n20;6;10", ["Row 2, column 1", "above 20 Hz", "Sort the rows"]),
        ("kHz;Ohm;deg\n1;6;10\n2;6;10", ["Row 1, column 1 (frequency)", "kHz", "frequency in Hz"]),
        ("Hz;Ohm;rad\n1;6;1\n2;6;1", ["Row 1, column 3 (phase)", "phase in °"]),
        ("Hz;phase;ohm\n1;6;1\n2;6;1", ["Row 1, column 2 (magnitude)", "Row 1, column 3", "Order"]),
        ("20;6;10\n;6;10\n30;6;10", ["Row 2, column 1 (frequency)", "Write a number"]),
        ("20;6;10\n0;6;10\n", ["above 0 up to 200000 Hz"]),
        ("20;1.234,5;10\n30;6;10\n", ["“1.234,5”"]),
        ("20;6;10\n<b>" + "9" * 99 + ";6;10\n", ["…”"]),
        (b"\xff\xfe\x00", ["File"]),
        (b"PK\x03\x04\x00\x00\n\x00\x81\x9d\n,\n", ["Row"]),
        ("1,2,3\n" * (MOST_ROWS + 1), [f"{MOST_ROWS} rows or less"]),
        ("1" * (MOST_BYTES + 1), [f"{MOST_BYTES} bytes or less"]),
        ("1,1,1\n" * (MOST_FAULTS + 51), ["50 more faults"]),
    ],
)
def test_faults(content: str | bytes, words: list[str]) -> None:
    with pytest.raises(FileFaults) as error:
        read_impedance(content)
    assert all(word in str(error.value) for word in words), str(error.value)
    assert len(error.value.faults) <= MOST_FAULTS + 1


def test_a_measured_driver_stands_in_for_its_parameters() -> None:
    driver = DEMO_DRIVERS["Demo 130 mm two-way"]
    hz = np.geomspace(10, 40e3, 800)
    z = driver.impedance(hz)
    rows = zip(hz, np.abs(z), np.angle(z, deg=True), strict=True)
    measured = read_impedance("\n".join(f"{f:.9g};{m:.9g};{p:.9g}".replace(".", ",") for f, m, p in rows))
    between = np.geomspace(11, 39e3, 333)
    assert measured.impedance(between) == pytest.approx(driver.impedance(between), rel=2e-3)  # chords on a peak
    wire = 0.2 + 2j * np.pi * between * 5e-6
    assert solve_loop(1.0, 0.02, wire, measured.impedance(between)).level_db == pytest.approx(
        solve_loop(1.0, 0.02, wire, driver.impedance(between)).level_db, abs=1e-3
    )


def test_interpolation_is_exact_for_a_power_law() -> None:
    """Two points of an inductance give the whole of it."""
    coil = MeasuredImpedance(
        frequency_hz=np.array([10.0, 1e4]), magnitude_ohm=np.array([0.1, 100.0]), phase_deg=np.array([90.0, 90.0])
    )
    ohm = coil.impedance([[10.0, 100.0], [1e3, 1e4]])
    assert ohm.imag == pytest.approx(np.array([[0.1, 1.0], [10.0, 100.0]]), rel=1e-12)
    assert np.all(ohm.real >= 0)  # what `solve` asks of a load


@pytest.mark.parametrize("hz", [19.99, 20001.0, np.nan])
def test_nothing_is_made_up_outside(hz: float) -> None:
    with pytest.raises(InputError, match=r"20 to 20000 Hz.*goes no further"):
        read_impedance(PLAIN).impedance([100.0, hz])


@pytest.mark.parametrize(
    ("hz", "ohm", "deg", "word"),
    [
        ([10.0, 20.0], [4.0], [0.0, 0.0], "Magnitude"),
        ([10.0], [4.0], [0.0], "two or more"),
        ([20.0, 10.0], [4.0, 4.0], [0.0, 0.0], "rising"),
        ([10.0, 20.0], [4.0, 0.0], [0.0, 0.0], "Magnitude"),
        ([10.0, 20.0], [4.0, 4.0], [0.0, 91.0], "Phase"),
    ],
)
def test_a_curve_that_cannot_be(hz: list[float], ohm: list[float], deg: list[float], word: str) -> None:
    with pytest.raises(InputError, match=word):
        MeasuredImpedance(frequency_hz=np.array(hz), magnitude_ohm=np.array(ohm), phase_deg=np.array(deg))
