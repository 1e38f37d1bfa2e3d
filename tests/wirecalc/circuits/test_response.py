"""A run over frequency against ngspice, the exact line, and the balance of power."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.ngspice import run
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS, Driver, Wired
from wirecalc.circuits.response import audio_hz, in_band, level_db, wire_impedance
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire.conductor import STRANDINGS, awg
from wirecalc.wire.pair import DIELECTRICS, Pair

AMPLIFIER = Amplifier(power_w=100.0, rated_ohm=4.0)
WOOFER = DEMO_DRIVERS["Demo 165 mm door woofer"]
PAIRS = [Pair(conductor=awg(size), insulation=DIELECTRICS["pvc"], insulation_m=0.8e-3) for size in (18, 12, 8)]
HZ = audio_hz(60)

pairs = st.builds(
    Pair,
    conductor=st.builds(awg, st.floats(-3, 24)),
    insulation=st.sampled_from(list(DIELECTRICS.values())),
    insulation_m=st.floats(2e-4, 3e-3),
    gap_m=st.floats(0, 0.1),
)
drivers = st.builds(
    Driver,
    re_ohm=st.floats(0.5, 16),
    fs_hz=st.floats(15, 2000),
    qes=st.floats(0.1, 3),
    qms=st.floats(0.5, 20),
    le_henry=st.floats(0, 5e-3),
    semi=st.floats(0, 0.05),
)
amplifiers = st.builds(
    Amplifier, power_w=st.floats(1, 3000), rated_ohm=st.floats(1, 8), damping_factor=st.floats(5, 5000)
)


def test_whole_response_against_ngspice() -> None:
    """Driver, amplifier and wire with this module's R and L at each frequency, ngspice for the circuit."""
    hz = np.array([10.0, 62.0, 300.0, 1e3, 5e3, 20e3, 40e3])
    levels_db = level_db(AMPLIFIER, WOOFER, PAIRS[1:2], 8.0, hz, temperature_c=35.0, joints_ohm=0.004)[0]
    wire = wire_impedance(PAIRS[1:2], 8.0, hz, temperature_c=35.0, joints_ohm=0.004)[0]
    omega = 2 * math.pi * WOOFER.fs_hz
    for at, z, level in zip(hz.tolist(), wire.tolist(), levels_db.tolist(), strict=True):
        text = "".join(
            f"V{n} in{n} 0 AC 1\nRS{n} in{n} s{n} {AMPLIFIER.output_ohm!r}\n{wiring}"
            f"RE{n} l{n} a{n} {WOOFER.re_ohm!r}\nLE{n} a{n} b{n} {WOOFER.le_henry!r}\n"
            f"RM{n} b{n} 0 {WOOFER.re_ohm * WOOFER.qms / WOOFER.qes!r}\n"
            f"LM{n} b{n} 0 {WOOFER.re_ohm / WOOFER.qes / omega!r}\n"
            f"CM{n} b{n} 0 {WOOFER.qes / WOOFER.re_ohm / omega!r}\n"
            for n, wiring in (
                (1, f"RW s1 w {z.real!r}\nLW w l1 {z.imag / (2 * math.pi * at)!r}\n"),
                (0, "VW s0 l0 0\n"),  # no wire: an ideal connection
            )
        )
        spice = run(text, f"ac lin 1 {at!r} {at!r}", ["v(l1)/v(l0)"])
        assert spice["frequency"] == at
        assert level == pytest.approx(20 * math.log10(abs(spice["v(l1)/v(l0)"][0])), rel=1e-5)


def test_a_resistor_and_a_bare_loop() -> None:
    """2 and 4 ohm behind 10 m each way of solid 12 AWG, 0.1042162 ohm: by hand and by ngspice at 0 Hz."""
    solid = Pair(conductor=awg(12, stranding=STRANDINGS["solid"]), insulation=DIELECTRICS["pe"], insulation_m=1e-3)
    stiff = Amplifier(power_w=100.0, rated_ohm=4.0, damping_factor=1e5)
    for ohm, expected in ((2.0, -0.441207), (4.0, -0.223405)):
        levels_db = level_db(stiff, Load(ohm=ohm), [solid], 10.0, [10.0])
        assert levels_db[0, 0] == pytest.approx(expected, rel=5e-5)  # 10 Hz and damping 100 000 are not quite 0


@given(amplifiers, drivers, pairs, st.floats(0.1, 30), st.floats(-40, 120))
def test_power_balance_at_every_frequency(
    amplifier: Amplifier, driver: Driver, pair: Pair, length_m: float, temperature_c: float
) -> None:
    """What the source gives is what load, wire and the amplifier's own output impedance take."""
    load = driver.impedance(HZ)
    wire = wire_impedance([pair], length_m, HZ, temperature_c=temperature_c)[0]
    outcome = solve_loop(amplifier.emf_v, amplifier.output_ohm, wire, load)
    current = amplifier.emf_v / (amplifier.output_ohm + wire + load)
    given_w = (amplifier.emf_v * np.conj(current)).real
    inside_w = outcome.current_a**2 * amplifier.output_ohm
    assert outcome.load_w + outcome.wire_w + inside_w == pytest.approx(given_w, rel=1e-9)
    assert np.all((outcome.efficiency > 0) & (outcome.efficiency <= 1))


@given(amplifiers, drivers, pairs, st.floats(0.1, 30))
def test_level_is_that_of_the_solved_loop(amplifier: Amplifier, driver: Driver, pair: Pair, length_m: float) -> None:
    outcome = solve_loop(
        amplifier.emf_v,
        amplifier.output_ohm,
        wire_impedance([pair], length_m, HZ)[0],
        driver.impedance(HZ),
    )
    levels_db = level_db(amplifier, driver, [pair], length_m, HZ)[0]
    assert levels_db == pytest.approx(outcome.level_db, rel=1e-9, abs=1e-12)


@given(pairs, st.floats(0.1, 20), st.floats(-40, 120), st.integers(1, 8), st.floats(0, 0.1))
def test_wire_is_length_times_the_pair_and_joints(
    pair: Pair, length_m: float, temperature_c: float, parallel: int, joints: float
) -> None:
    wire_z = wire_impedance([pair], length_m, HZ, temperature_c=temperature_c, parallel=parallel, joints_ohm=joints)[0]
    expected = pair.ohm_per_m(HZ, temperature_c) * length_m / parallel + joints
    assert wire_z == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("load", [Load(ohm=2.0), WOOFER, Wired(parts=(WOOFER, WOOFER), way="parallel")])
def test_capacitance_can_be_left_out(load: Load) -> None:
    """The exact line (ABCD: cosh, Zc sinh, sinh / Zc, cosh) for 20 m of thick insulation, worst case of C."""
    length_m = 20.0
    for pair in [*PAIRS, Pair(conductor=awg(0), insulation=DIELECTRICS["pvc"], insulation_m=0.3e-3)]:
        z, y = pair.ohm_per_m(HZ), 2j * np.pi * HZ * pair.farad_per_m
        along, characteristic = np.sqrt(z * y) * length_m, np.sqrt(z / y)
        a, b, c = np.cosh(along), characteristic * np.sinh(along), np.sinh(along) / characteristic
        zl, zs = load.impedance(HZ), AMPLIFIER.output_ohm
        exact = zl / (a * zl + b + zs * (c * zl + a))
        exact_db = 20 * np.log10(np.abs(exact * (zs + zl) / zl))
        levels_db = level_db(AMPLIFIER, load, [pair], length_m, HZ)[0]
        assert np.max(np.abs(levels_db - exact_db)) < 0.005
        assert np.max(np.abs(levels_db - exact_db)[HZ <= 20e3]) < 0.002


@given(pairs, st.floats(0.5, 16), st.floats(0.1, 20), st.floats(1.01, 3))
def test_longer_loses_more_into_a_resistor(pair: Pair, ohm: float, length_m: float, more: float) -> None:
    near, far = level_db(AMPLIFIER, Load(ohm=ohm), [pair], [length_m, length_m * more], HZ)[0]
    assert np.all(far < near)
    assert np.all(near < 0)
    assert np.all(np.diff(near) <= 1e-12)  # a resistor loses most at the top


def test_a_resonant_load_can_gain() -> None:
    """A wire's inductance against a capacitive load lifts the level: above 0 dB, and said so."""
    cone = Driver(re_ohm=0.5, fs_hz=20.0, qes=0.02, qms=0.4)
    thick = Pair(conductor=awg(-3), insulation=DIELECTRICS["pvc"], insulation_m=2e-3, gap_m=0.5)
    assert level_db(AMPLIFIER, cone, [thick], 20.0, HZ).max() > 0


def test_shapes_are_pair_by_length_by_frequency() -> None:
    lengths = np.linspace(1, 10, 6).reshape(2, 3)
    levels_db = level_db(AMPLIFIER, WOOFER, PAIRS, lengths, HZ)
    assert levels_db.shape == (3, 2, 3, 60)
    single_db = level_db(AMPLIFIER, WOOFER, [PAIRS[1]], lengths[1, 0], HZ)
    assert single_db.shape == (1, 60)
    assert levels_db[1, 1, 0] == pytest.approx(single_db[0], rel=1e-12)
    assert audio_hz()[[0, -1]] == pytest.approx([10, 40e3])


def test_in_band() -> None:
    hz = np.array([10.0, 20.0, 100.0, 1e3, 20e3, 40e3])
    curves = np.array([[-9.0, -0.5, -0.1, -0.2, -0.7, -9.0], [9.0, 0.3, 0.1, -0.2, -0.1, 0.0]])
    band = in_band(hz, curves)
    assert band.worst_db == pytest.approx([-0.7, 0.3])
    assert band.worst_hz == pytest.approx([20e3, 20.0])
    assert band.spread_db == pytest.approx([0.6, 0.5])
    single = in_band(hz, curves[0], 90.0, 110.0)
    assert (single.worst_db, single.worst_hz, single.spread_db) == (-0.1, 100.0, 0.0)


def test_a_flat_load_has_a_loss_but_hardly_a_spread() -> None:
    """What only turns it down is not what changes the tone."""
    resistor, driver = (
        in_band(HZ, level_db(AMPLIFIER, load, PAIRS[:1], 5.0, HZ)[0], 20, 1e3)
        for load in (Load(ohm=3.3), replace(WOOFER, le_henry=0.0))
    )
    assert resistor.worst_db < -0.5
    assert resistor.spread_db < 0.01
    assert driver.spread_db > 0.3


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: level_db(AMPLIFIER, WOOFER, [], 5.0, HZ), "Pairs"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 0.0, HZ), "Run length"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, math.nan, HZ), "Run length"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 5.0, [5.0]), "Frequency"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 5.0, [50e3]), "Frequency"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 5.0, 100.0), "one row"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 5.0, []), "one row"),
        (lambda: level_db(AMPLIFIER, WOOFER, PAIRS, 5.0, HZ, parallel=0), "parallel"),
        (lambda: in_band(HZ, np.zeros(60), 50e3, 60e3), "Band"),
    ],
)
def test_refused(make, word: str) -> None:
    with pytest.raises(InputError, match=word):
        make()
