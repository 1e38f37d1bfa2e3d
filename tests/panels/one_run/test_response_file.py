"""The tab Response with a measured file: what it is used for, and what is said of a bad one."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.bad_files import TEN_BAD_ROWS
from tests.support.pages.response_tab import WOOFER, Shown, expected_db, opens, situation, thin_wall
from tests.support.sentences import read
from wirecalc.circuits.impedance_file import read_impedance
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS


@pytest.fixture
def speaker() -> Shown:
    return Shown(situation())


def test_exactly_the_rated_impedance_is_not_under_it(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload("10;4;0\n40000;4;0\n")
    assert "IEC 60268-5: held" in read(speaker.tab.words.html)
    assert "dips" not in read(speaker.tab.words.html)
    assert "falls to" not in read(speaker.tab.words.html)


def rows(low: float, high: float, count: int = 60) -> str:
    hz = np.geomspace(low, high, count)
    z = DEMO_DRIVERS[WOOFER].impedance(hz)
    return "\n".join(f"{f:.7g};{abs(v):.7g};{np.angle(v, deg=True):.7g}" for f, v in zip(hz, z, strict=True))


def test_a_measured_file_takes_the_place_of_the_load(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "file"
    assert tab.speaker.measured in tab.entries.children
    plain = speaker.curve()
    speaker.upload(rows(5, 90e3), "<b>door.csv")
    assert not np.allclose(speaker.curve(), plain, atol=1e-3)
    impedance = read_impedance(rows(5, 90e3))
    hz = np.array(speaker.level.data[0].x)
    np.testing.assert_allclose(speaker.curve(), expected_db(impedance, hz, thin_wall(("AWG", 16.0))), atol=1e-9)
    assert "&lt;b&gt;door.csv" in tab.words.html
    assert "&lt;b&gt;door.csv: 60 rows, 5 Hz to 90 kHz" in tab.speaker.file_note.value
    assert "<b>" not in tab.words.html + tab.speaker.file_note.value
    assert "Qes" not in read(tab.words.html)
    assert "nothing is said outside" not in read(tab.words.html)


def test_a_file_of_part_of_the_band_is_used_inside_it_only(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(100, 5e3))
    hz = np.array(speaker.level.data[0].x)
    assert (hz.min(), hz.max()) == (100.0, 5000.0)
    assert "100 Hz to 5 kHz" in read(speaker.tab.words.html)
    assert 100 <= speaker.beside.data[2].x[0] <= 5000
    assert speaker.fault is None
    speaker.upload(rows(5, 1000))  # its least is then looked for from 20 Hz
    assert np.array(speaker.level.data[0].x).min() == 10.0
    speaker.upload(rows(5e3, 5001, 2))  # very narrow
    assert speaker.fault is None


def test_a_bad_file_is_told_in_one_go_and_the_last_good_one_stays(speaker: Shown) -> None:
    tab = speaker.tab
    tab.speaker.load.value = "file"
    speaker.upload(TEN_BAD_ROWS.replace("x;", "<x>;"), "<bad>.csv")
    assert tab.speaker.upload.note.count("<li>") == 10
    assert "page&#x27;s load impedance" in tab.speaker.file_note.value
    speaker.upload(rows(5, 90e3), "good.csv")
    assert "good.csv was read" in tab.speaker.upload.note
    before, asked = speaker.curve(), len(speaker.asked)
    speaker.upload(TEN_BAD_ROWS.replace("x;", "<x>;"), "<bad>.csv")
    assert tab.speaker.upload.note.count("<li>") == 10
    assert "role='alert'" in tab.speaker.upload.note
    assert "Row 4, column 2 (magnitude)" in tab.speaker.upload.note
    assert "&lt;bad&gt;.csv cannot be used; what was there stays" in tab.speaker.upload.note
    assert "“&lt;x&gt;”" in tab.speaker.upload.note
    assert "good.csv: 60 rows" in tab.speaker.file_note.value
    assert "good.csv" in read(tab.words.html)
    np.testing.assert_array_equal(speaker.curve(), before)
    assert len(speaker.asked) == asked


@pytest.mark.parametrize(("low", "high"), [(25e3, 90e3), (1.0, 19.0)])
def test_a_file_outside_the_audio_band_is_refused(speaker: Shown, low: float, high: float) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(low, high))
    assert "20 Hz to 20 kHz" in speaker.tab.speaker.upload.note
    assert speaker.fault is None
    assert "No file yet" in speaker.tab.speaker.file_note.value


def test_a_measured_file_opens_to_its_rows_and_its_name_is_text(speaker: Shown) -> None:
    speaker.tab.speaker.load.value = "file"
    speaker.upload(rows(100, 5e3), "<b>door.csv")
    workings = opens(speaker)
    assert "measured file &lt;b&gt;door.csv" in workings["furthest:0"]
    assert "<b>door" not in "".join(workings.values())
    assert "the row above it, magnitude" in workings["tone:0"]
