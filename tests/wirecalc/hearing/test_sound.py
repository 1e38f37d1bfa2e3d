"""Test sounds: the two choices differ by just what was computed, and nothing is too loud."""

from __future__ import annotations

import io

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.io import wavfile
from scipy.signal import periodogram

from wirecalc import runs
from wirecalc.circuits import response
from wirecalc.circuits.circuit import solve_loop
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS, HasImpedance
from wirecalc.circuits.source import Amplifier
from wirecalc.errors import InputError
from wirecalc.hearing import contrast, sound
from wirecalc.wire.conductor import awg
from wirecalc.wire.pair import DIELECTRICS, Pair

Array = NDArray[np.float64]

RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4)
THIN = contrast.ComparedWire(conductor=awg(20), length_m=6.0)
THICK = contrast.ComparedWire(conductor=awg(12), length_m=5.0, parallel=2)
LOADS: dict[str, HasImpedance] = {
    "4 Ω": Load(ohm=4),
    **{name: DEMO_DRIVERS[name] for name in ("Demo 165 mm door woofer", "Demo 25 mm tweeter")},
}


def heard(wave: Array) -> Array:
    """What a browser gets: through the WAV file and back."""
    rate, samples = wavfile.read(io.BytesIO(sound.wav(wave)))
    assert (rate, samples.dtype) == (sound.RATE_HZ, np.float32)
    return samples.astype(np.float64)


def rms_db(wave: Array) -> float:
    return float(10 * np.log10(np.mean(wave**2)))


@pytest.mark.parametrize("kind", sound.SOUNDS)
def test_a_sound_is_the_same_for_the_same_seed(kind: str) -> None:
    made = sound.make_sound(kind, 1)
    assert made.shape == (sound.SAMPLES,)
    assert np.array_equal(made, sound.make_sound(kind, 1))
    assert np.max(np.abs(made)) == pytest.approx(1)
    assert abs(made.mean()) < 1e-12
    if kind != "kick":  # a beat has nothing that chance could change
        assert not np.allclose(made, sound.make_sound(kind, 2))


def test_pink_noise_has_equal_power_in_every_octave() -> None:
    hz, power = periodogram(sound.make_sound("pink", 3), sound.RATE_HZ)
    octaves = [power[(hz >= low) & (hz < 2 * low)].sum() for low in (40, 160, 640, 2560, 9000)]
    assert np.ptp(10 * np.log10(octaves)) < 0.1


def test_a_beat_is_low_and_a_string_has_its_pitch() -> None:
    hz, power = periodogram(sound.make_sound("kick", 1), sound.RATE_HZ)
    assert power[hz < 200].sum() > 0.99 * power.sum()
    hz, power = periodogram(sound.make_sound("plucked", 1), sound.RATE_HZ)
    peaks = np.minimum(hz % 110, 110 - hz % 110) < 3  # harmonics of 110 Hz
    low = (hz > 50) & (hz < 1000)
    assert power[peaks & low].sum() > 0.9 * power[low].sum()
    wave = sound.make_sound("plucked", 1)
    assert np.std(wave[: sound.RATE_HZ // 4]) > 2 * np.std(wave[-sound.RATE_HZ // 4 :])


@pytest.mark.parametrize("kind", sound.SOUNDS)
def test_a_flat_loss_is_just_that_loss(kind: str) -> None:
    amplifier, load_ohm = RUN.amplifier, 4.0
    level_db = [
        float(solve_loop(amplifier.emf_v, amplifier.output_ohm, wire, load_ohm).level_db) for wire in (0.4, 0.05)
    ]
    flat = 10 ** (np.array(level_db) / 20)[:, None] * np.ones(len(sound.BINS_HZ))
    first, second = map(heard, sound.to_play(sound.make_sound(kind, 5), flat))
    assert rms_db(second) - rms_db(first) == pytest.approx(level_db[1] - level_db[0], abs=1e-4)  # asked: 0.01
    assert level_db[1] - level_db[0] > 0.5


@pytest.mark.parametrize("kind", sound.SOUNDS)
@pytest.mark.parametrize("name", LOADS)
def test_level_and_spectrum_are_those_that_are_computed(kind: str, name: str) -> None:
    load = LOADS[name]
    made = sound.make_sound(kind, 7)
    passed = sound.to_play(made, contrast.transfer(RUN, load, (THIN, THICK), sound.BINS_HZ))
    first, second = map(heard, passed)
    # by the other way: the response in dB, weighted with the sound's own spectrum
    hz, power = periodogram(made, sound.RATE_HZ)
    inside = (hz >= 20) & (hz <= 20e3)
    level_db = []
    for choice in (THIN, THICK):
        wall_m = 0.2e-3 + 0.08 * choice.conductor.diameter_m
        wire = Pair(conductor=choice.conductor, insulation=DIELECTRICS["pvc"], insulation_m=wall_m)
        level_db.append(
            response.level_db(RUN.amplifier, load, [wire], choice.length_m, hz[inside], parallel=choice.parallel)[0]
        )
    sums = [np.sum(power[inside] * 10 ** (curve_db / 10)) for curve_db in level_db]
    apart_db = 10 * np.log10(sums[1] / sums[0])
    assert rms_db(second) - rms_db(first) == pytest.approx(apart_db, abs=1e-3)  # asked: 0.01
    assert abs(apart_db) > 0.1
    weighted = sound.weighted_db(made, contrast.transfer(RUN, load, (THIN, THICK), sound.BINS_HZ))
    assert weighted[1] - weighted[0] == pytest.approx(apart_db, abs=1e-9)
    # spectrum ratio, wherever the sound has anything, 40 Hz to 16 kHz
    spectra = [periodogram(wave, sound.RATE_HZ)[1][inside] for wave in (first, second)]
    there = (hz[inside] >= 40) & (hz[inside] <= 16e3) & (spectra[0] > 1e-9 * spectra[0].max())
    ratio_db = 10 * np.log10(spectra[1][there] / spectra[0][there])
    assert np.max(np.abs(ratio_db - (level_db[1] - level_db[0])[there])) < 0.05
    if kind == "pink":
        assert there.sum() == np.sum((hz >= 40) & (hz <= 16e3))  # not one bin is left out


@pytest.mark.parametrize("kind", sound.SOUNDS)
@pytest.mark.parametrize("peak_dbfs", [sound.PEAK_DBFS, -40.0])
def test_the_louder_one_peaks_at_the_limit_and_nothing_clips(kind: str, peak_dbfs: float) -> None:
    driver = LOADS["Demo 165 mm door woofer"]
    played = sound.to_play(
        sound.make_sound(kind, 9), contrast.transfer(RUN, driver, (THIN, THICK), sound.BINS_HZ), peak_dbfs
    )
    random = np.random.default_rng(1)
    for wave in (played, np.array([heard(sound.marked(played_wave, random)) for played_wave in played])):
        limit = 10 ** (peak_dbfs / 20)
        assert 0.999 * limit < np.max(np.abs(wave)) <= limit
        assert not np.any(np.diff(np.flatnonzero(np.abs(wave[0]) > 0.9999 * limit)) == 1)  # no flat top


def test_a_loop_has_no_seam() -> None:
    """What is played for ever is what a long filter makes of the repeated sound: no wrap-around."""
    made = sound.make_sound("kick", 1)
    passed = sound.played_through(made, contrast.transfer(RUN, LOADS["Demo 25 mm tweeter"], (THIN,), sound.BINS_HZ))[0]
    assert np.max(np.abs(np.diff(np.append(passed, passed[0])))) < 1.5 * np.max(np.abs(np.diff(made)))
    thrice = np.tile(made, 3)
    spectrum = np.fft.rfft(thrice)
    hz = np.fft.rfftfreq(len(thrice), 1 / sound.RATE_HZ)
    inside = (hz >= 20) & (hz <= 20e3)
    spectrum[inside] *= contrast.transfer(RUN, LOADS["Demo 25 mm tweeter"], (THIN,), hz[inside])[0]
    spectrum[~inside] = 0
    middle = np.fft.irfft(spectrum, len(thrice))[sound.SAMPLES : 2 * sound.SAMPLES]
    assert np.allclose(middle, passed, atol=1e-9)


def test_marks_are_not_heard_and_make_no_two_alike() -> None:
    wave = sound.to_play(sound.make_sound("plucked", 1), np.ones((1, len(sound.BINS_HZ))))[0]
    random = np.random.default_rng(1)
    first, second = (sound.wav(sound.marked(wave, random)) for _ in range(2))
    assert first != second
    assert len(first) == len(second) == len(sound.wav(np.zeros(sound.SAMPLES)))
    assert np.max(np.abs(sound.marked(wave, random) - wave)) <= sound.MARK
    assert 20 * np.log10(sound.MARK) < -6.02 * 16  # under the last bit of a 16-bit converter


def test_what_is_too_loud_or_unknown_is_refused() -> None:
    made = sound.make_sound("pink", 1)
    with pytest.raises(InputError, match="Peak"):
        sound.to_play(made, np.ones((2, len(sound.BINS_HZ))), -6.0)
    with pytest.raises(InputError, match="pink, kick, plucked"):
        sound.make_sound("flute", 1)
