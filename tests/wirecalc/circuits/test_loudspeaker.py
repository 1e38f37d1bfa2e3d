"""Drivers against ngspice, Small's relations and physical limits. Small 1972 relations: from memory."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc import tables
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import (
    DEMO_DRIVERS,
    Driver,
    Wired,
    check_rated,
    closed_box,
    least_impedance,
    parallel_q,
    qes_with_wire,
    sound,
    through_wire,
    two_coils,
)
from wirecalc.errors import InputError

ARTICLE = "an article's worked example on series resistance and Q, read; exact values computed from its formula"
HZ = np.geomspace(10, 40e3, 60)
WOOFER = Driver(re_ohm=3.3, fs_hz=55.0, qes=0.6, qms=4.0, le_henry=0.4e-3, vas_m3=0.012)
LOSSY = replace(WOOFER, le_henry=0.1e-3, semi=0.01, semi_exponent=0.6)

drivers = st.builds(
    Driver,
    re_ohm=st.floats(0.5, 16),
    fs_hz=st.floats(15, 2000),
    qes=st.floats(0.1, 3),
    qms=st.floats(0.5, 20),
    le_henry=st.floats(0, 5e-3),
    semi=st.floats(0, 0.05),
    semi_exponent=st.floats(0.4, 1),
    vas_m3=st.floats(1e-4, 1),
)


def netlist(driver: Driver, wire_ohm: float = 1e-9, wire_henry: float = 1e-15) -> str:
    """Electrical equivalent: the moving mass as C, the compliance as L, the losses as R."""
    omega = 2 * math.pi * driver.fs_hz
    return f"""V1 in 0 AC 1
RW in w {wire_ohm!r}
LW w load {wire_henry!r}
RE load a {driver.re_ohm!r}
LE a b {driver.le_henry!r}
RM b 0 {driver.re_ohm * driver.qms / driver.qes!r}
LM b 0 {driver.re_ohm / driver.qes / omega!r}
CM b 0 {driver.qes / driver.re_ohm / omega!r}"""


@pytest.mark.parametrize("driver", [WOOFER, Driver(re_ohm=5.5, fs_hz=1200.0, qes=1.3, qms=2.0, le_henry=20e-6)])
def test_driver_and_wire_against_ngspice(driver: Driver) -> None:
    spice = run(netlist(driver, 0.21, 8e-6), "ac dec 20 10 40k", ["v(load)", "i(v1)", "vdb(load)"])
    hz = spice["frequency"]
    assert len(hz) > 70
    ideal = spice["v(load)"] / -spice["i(v1)"]
    assert driver.impedance(hz) == pytest.approx(ideal, rel=1e-5)
    wire = 0.21 + 2j * math.pi * hz * 8e-6
    assert solve_loop(1.0, 0.0, wire, driver.impedance(hz)).level_db == pytest.approx(
        spice["vdb(load)"], rel=1e-5, abs=1e-9
    )


@given(drivers)
def test_impedance_at_the_landmarks(driver: Driver) -> None:
    assert driver.impedance(0.0) == driver.re_ohm
    bare = replace(driver, le_henry=0.0, semi=0.0)
    peak = driver.re_ohm * (1 + driver.qms / driver.qes)
    assert bare.impedance(driver.fs_hz) == pytest.approx(peak, rel=1e-12)
    assert np.all(np.abs(bare.impedance(HZ)) <= peak * (1 + 1e-12))
    assert np.all(driver.impedance(HZ).real >= driver.re_ohm * (1 - 1e-12))  # a passive load


def test_qts_from_a_measured_curve() -> None:
    """Small's way back: with r0 = peak/Re, Qms = fs sqrt(r0)/(f2 - f1) where |Z| is Re sqrt(r0)."""
    bare = replace(WOOFER, le_henry=0.0)
    hz = np.linspace(20, 150, 200_001)
    modulus = np.abs(bare.impedance(hz))
    r0 = modulus.max() / bare.re_ohm
    over = hz[modulus >= bare.re_ohm * math.sqrt(r0)]
    qms = hz[modulus.argmax()] * math.sqrt(r0) / (over[-1] - over[0])
    assert qms == pytest.approx(bare.qms, rel=1e-4)
    assert qms / (r0 - 1) == pytest.approx(bare.qes, rel=1e-4)
    assert qms / r0 == pytest.approx(bare.qts, rel=1e-4)


def test_semi_inductance_rises_at_its_own_slope_and_angle() -> None:
    """K (j omega)^n: n times 20 dB a decade, at n times 90 degrees (Leach 2002, from memory)."""
    coil = replace(LOSSY, le_henry=0.0)
    lossy = coil.coil_ohm([1e3, 1e4]) - coil.re_ohm
    assert abs(lossy[1] / lossy[0]) == pytest.approx(10**0.6, rel=1e-12)
    assert np.angle(lossy, deg=True) == pytest.approx([54, 54], rel=1e-12)
    inductance = replace(WOOFER, le_henry=0.0, semi=1e-3, semi_exponent=1.0)
    assert inductance.impedance(HZ) == pytest.approx(replace(WOOFER, le_henry=1e-3).impedance(HZ), rel=1e-12)


def dual_coil_ohm(way: str, hz_words: str) -> tuple[np.ndarray, np.ndarray]:
    """Two coils of 4 ohm and Bl 6 on one cone, the cone as velocity (volts) and force (amperes)."""
    coils = {
        "parallel": "R1 in a 4\nR2 in c 4\nE2 d 0 u 0 6",
        "series": "R1 in a 4\nR2 b0 c 4\nE2 d 0 u 0 6",
        "one": "R1 in a 4\nR2 c 0 1e12\nE2 d 0 u 0 6",  # the other open
    }[way]
    low = "b0" if way == "series" else "0"
    cone = "CM u 0 0.03\nLM u 0 4e-4\nRM u 0 1.1"
    text = f"V1 in 0 AC 1\n{coils}\nE1 b {low} u 0 6\nVS1 a b 0\nVS2 c d 0\nF1 0 u VS1 6\nF2 0 u VS2 6\n{cone}"
    spice = run(text, hz_words, ["i(v1)"])
    return spice["frequency"], -1 / spice["i(v1)"]


@pytest.mark.parametrize("way", ["parallel", "series", "one"])
def test_two_coils_against_ngspice(way: str) -> None:
    omega = 1 / math.sqrt(0.03 * 4e-4)
    both = Driver(re_ohm=2.0, fs_hz=omega / 2 / math.pi, qes=omega * 0.03 * 2.0 / 36, qms=omega * 0.03 * 1.1)
    hz, ohm = dual_coil_ohm(way, "ac dec 10 10 1k")
    assert two_coils(both, way).impedance(hz) == pytest.approx(ohm, rel=1e-5)  # type: ignore[arg-type]


@given(drivers)
def test_two_coils_in_series_are_four_times_in_parallel(driver: Driver) -> None:
    series, parallel = two_coils(driver, "series"), two_coils(driver, "parallel")
    assert series.impedance(HZ) == pytest.approx(4 * parallel.impedance(HZ), rel=1e-12)
    assert series.qts == parallel.qts


def test_closed_box_against_ngspice() -> None:
    """The box's air is a second compliance: an inductance beside the driver's, and its loss a resistance."""
    alpha, box_q = 1.5, 8.0
    boxed = closed_box(WOOFER, WOOFER.vas_m3 / alpha, box_q)  # type: ignore[operator]
    compliance = WOOFER.re_ohm / WOOFER.qes / (2 * math.pi * WOOFER.fs_hz)
    omega_c = 2 * math.pi * WOOFER.fs_hz * math.sqrt(1 + alpha)
    loss = box_q * omega_c * compliance / (1 + alpha)
    spice = run(f"{netlist(WOOFER)}\nLB b 0 {compliance / alpha!r}\nRB b 0 {loss!r}", "ac dec 20 10 10k", ["i(v1)"])
    assert boxed.impedance(spice["frequency"]) == pytest.approx(-1 / spice["i(v1)"], rel=1e-5)
    assert boxed.fs_hz == pytest.approx(WOOFER.fs_hz * math.sqrt(2.5))


@given(drivers, st.floats(0.02, 1))
def test_an_empty_box_raises_f_and_q_alike(driver: Driver, box_m3: float) -> None:
    boxed = closed_box(driver, box_m3)
    assert boxed.fs_hz / driver.fs_hz == pytest.approx(boxed.qts / driver.qts, rel=1e-9)
    assert boxed.fs_hz > driver.fs_hz
    assert closed_box(driver, box_m3, 5.0).qts < boxed.qts


@pytest.mark.parametrize(
    ("series_ohm", "qts_rise_percent", "level_db", "source"),
    [(0.114, 2.169, -0.1958, ARTICLE), (0.75, 14.184, -1.2140, ARTICLE)],
)
def test_series_resistance_as_published(
    series_ohm: float, qts_rise_percent: float, level_db: float, source: str
) -> None:
    before = parallel_q(0.5, 10.0)
    after = parallel_q(qes_with_wire(0.5, 5.0, series_ohm), 10.0)
    assert 100 * (after / before - 1) == pytest.approx(qts_rise_percent, abs=0.5e-3), source
    driver = Driver(re_ohm=5.0, fs_hz=40.0, qes=0.5, qms=10.0)
    assert through_wire(driver, series_ohm).qts == pytest.approx(float(after), rel=1e-12)
    passed = 20 * np.log10(np.abs(sound(driver, 1e6, series_ohm)))
    assert passed == pytest.approx(level_db, abs=0.5e-4), source


@given(drivers, st.floats(0, 5))
def test_a_wire_in_series_is_a_driver_of_higher_re_and_qes(driver: Driver, series_ohm: float) -> None:
    """Small's relation is the circuit itself: the motional impedance stays as it is."""
    seen = through_wire(driver, series_ohm)
    assert seen.impedance(HZ) == pytest.approx(driver.impedance(HZ) + series_ohm, rel=1e-12)
    assert seen.qts >= driver.qts


@given(drivers, st.floats(0, 5))
def test_sound_without_inductance_is_smalls_high_pass(driver: Driver, series_ohm: float) -> None:
    driver = replace(driver, le_henry=0.0, semi=0.0)
    s = 1j * HZ / driver.fs_hz
    high_pass = s**2 / (s**2 + s / through_wire(driver, series_ohm).qts + 1)
    expected = high_pass * driver.re_ohm / (driver.re_ohm + series_ohm)
    assert sound(driver, HZ, series_ohm) == pytest.approx(expected, rel=1e-9)


@given(drivers, st.floats(1e-6, 2), st.floats(0, 1e-4))
def test_sound_changes_as_the_level_at_the_terminals(driver: Driver, ohm: float, henry: float) -> None:
    wire = ohm + 2j * np.pi * HZ * henry
    change = 20 * np.log10(np.abs(sound(driver, HZ, wire) / sound(driver, HZ)))
    assert change == pytest.approx(solve_loop(1.0, 0.0, wire, driver.impedance(HZ)).level_db, abs=1e-9)


@given(st.lists(drivers, min_size=1, max_size=4))
def test_wiring(parts: list[Driver]) -> None:
    together = [part.impedance(HZ) for part in parts]
    assert Wired(parts=tuple(parts), way="series").impedance(HZ) == pytest.approx(sum(together), rel=1e-12)
    parallel = Wired(parts=tuple(parts), way="parallel").impedance(HZ)
    assert 1 / parallel == pytest.approx(sum(1 / ohm for ohm in together), rel=1e-9)
    assert np.all(parallel.real > 0)
    like = Wired(parts=(parts[0],) * 3, way="parallel")
    assert like.impedance(HZ) == pytest.approx(together[0] / 3, rel=1e-12)


def test_series_parallel_of_four_is_one() -> None:
    """Four like drivers, two by two: the net impedance is that of one."""
    leg = Wired(parts=(WOOFER, WOOFER), way="series")
    assert Wired(parts=(leg, leg), way="parallel").impedance(HZ) == pytest.approx(WOOFER.impedance(HZ))


@dataclass(frozen=True)
class SeriesResonance:
    """A notch: lowest, and purely resistive, at one known frequency."""

    ohm: float
    hz: float
    q: float

    def impedance(self, frequency_hz: np.ndarray) -> np.ndarray:
        detuned = np.asarray(frequency_hz) / self.hz - self.hz / np.asarray(frequency_hz)
        return self.ohm * (1 + 1j * self.q * detuned)


@given(st.floats(0.5, 16), st.floats(30, 15e3), st.floats(0.1, 200))
def test_least_impedance_finds_a_notch(ohm: float, hz: float, q: float) -> None:
    least = least_impedance(SeriesResonance(ohm, hz, q))
    assert least.ohm == pytest.approx(ohm, rel=1e-6)
    assert abs(least.frequency_hz / hz - 1) * q < 1e-2


def test_least_impedance_tells_two_notches_apart() -> None:
    """The deeper one is narrow, beside a wide one."""
    both = Wired(parts=(SeriesResonance(1.0, 1e3, 2.0), SeriesResonance(0.5, 1.4e3, 60.0)), way="parallel")
    dense = np.geomspace(20, 20e3, 1_000_001)
    modulus = np.abs(both.impedance(dense))
    least = least_impedance(both)
    assert least.ohm == pytest.approx(modulus.min(), rel=1e-6)
    assert least.frequency_hz == pytest.approx(dense[modulus.argmin()], rel=1e-4)


@given(drivers, st.floats(11, 1e4))
def test_least_impedance_is_under_every_sample(driver: Driver, hz: float) -> None:
    least = least_impedance(driver, 10.0, 2e4)
    assert least.ohm <= abs(driver.impedance(hz)) * (1 + 1e-6)
    assert least.ohm >= driver.re_ohm * (1 - 1e-12)
    assert least.ohm == pytest.approx(abs(driver.impedance(least.frequency_hz)), rel=1e-9)


def test_least_impedance_at_the_ends_of_the_band() -> None:
    coil = Load(ohm=4.0, henry=1e-3)
    assert least_impedance(coil, 100.0, 1e3).frequency_hz == pytest.approx(100.0, rel=1e-6)
    falling = replace(WOOFER, le_henry=0.0)
    assert least_impedance(falling, 100.0, 1e3).frequency_hz == pytest.approx(1e3, rel=1e-6)
    assert least_impedance(Load(ohm=4.0)).ohm == 4.0


@pytest.mark.parametrize(("rated", "holds"), [(4.0, True), (4.2, False)])
def test_the_80_percent_rule(rated: float, holds: bool) -> None:
    """IEC 60268-5 clause 16.1, from memory: 3.3 ohm at the lowest allows a rating up to 4.125 ohm."""
    checked = check_rated(Load(ohm=3.3), rated)
    assert checked.holds is holds
    assert checked.allowed_ohm == pytest.approx(0.8 * rated)
    assert checked.highest_rating_ohm == pytest.approx(4.125)


def test_demo_drivers_are_invented_and_honestly_rated() -> None:
    table = tables.load("demo_drivers")
    assert (table["confidence"] == "invented").all()
    assert table["name"].str.startswith("Demo ").all()
    assert len(DEMO_DRIVERS) == len(table)
    for row in table.to_dict("records"):
        assert check_rated(DEMO_DRIVERS[row["name"]], row["rated_ohm"]).holds, row["name"]


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: replace(WOOFER, re_ohm=0.0), "Re"),
        (lambda: replace(WOOFER, fs_hz=math.nan), "fs"),
        (lambda: replace(WOOFER, qes=0.0), "Qes"),
        (lambda: replace(WOOFER, qms=-1.0), "Qms"),
        (lambda: replace(WOOFER, le_henry=0.4), "Was it in mH"),
        (lambda: replace(WOOFER, semi=-1.0), "Semi-inductance"),
        (lambda: replace(WOOFER, semi_exponent=1.5), "exponent"),
        (lambda: replace(WOOFER, vas_m3=12.0), "Was it in litres"),
        (lambda: WOOFER.impedance(-1.0), "Frequency"),
        (lambda: Wired(parts=(), way="series"), "Loads"),
        (lambda: Wired(parts=(WOOFER,), way="across"), "series or parallel"),  # type: ignore[arg-type]
        (lambda: two_coils(WOOFER, "both"), "parallel, series or one"),  # type: ignore[arg-type]
        (lambda: closed_box(replace(WOOFER, vas_m3=None), 0.02), "Vas"),
        (lambda: closed_box(WOOFER, 20.0), "Was it in litres"),
        (lambda: closed_box(WOOFER, 0.02, 0.1), "Box Q"),
        (lambda: parallel_q(0.0, 1.0), "Q"),
        (lambda: qes_with_wire(0.5, 5.0, -0.1), "Series resistance"),
        (lambda: through_wire(WOOFER, -0.1), "Series resistance"),
        (lambda: least_impedance(WOOFER, 100.0, 50.0), "Band, upper end"),
        (lambda: least_impedance(WOOFER, 0.0, 50.0), "Band, lower end"),
        (lambda: check_rated(WOOFER, 0.0), "Rated impedance"),
    ],
)
def test_refused(make, word: str) -> None:
    with pytest.raises(InputError, match=word):
        make()
