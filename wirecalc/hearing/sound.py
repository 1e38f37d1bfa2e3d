"""Test sounds, and how each choice of wire passes them on.

Every sound is one period of a loop that holds 20 Hz to 20 kHz. A player that repeats it makes just the
frequencies of its Fourier transform, so a response is applied there without any wrap-around: what would ring past
the end rings into the next round, as it does in the player.
"""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.io import wavfile

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]

RATE_HZ = 48_000
SAMPLES = 2 * RATE_HZ
PEAK_DBFS = -12.0  # our own choice: leaves a player nothing to clip, however the browser mixes
MARK = 1e-6  # −120 dB of full scale: noise far under what a converter of 16 bits resolves
_LOW_HZ, _HIGH_HZ = 20.0, 20e3
_ALL_HZ: Array = np.asarray(np.fft.rfftfreq(SAMPLES, 1 / RATE_HZ), np.float64)
_INSIDE = (_ALL_HZ >= _LOW_HZ) & (_ALL_HZ <= _HIGH_HZ)
BINS_HZ: Array = _ALL_HZ[_INSIDE]
"""Where every sound has its spectrum, and where a response is wanted. (f,) [Hz]"""
_TIME_S = np.arange(SAMPLES) / RATE_HZ


def _pink(random: np.random.Generator) -> Array:
    """Equal power in every octave, phases by chance."""
    spectrum = np.zeros(len(_ALL_HZ), np.complex128)
    spectrum[_INSIDE] = np.exp(2j * np.pi * random.random(len(BINS_HZ))) / np.sqrt(BINS_HZ)
    return np.fft.irfft(spectrum, SAMPLES)


def _kick(_random: np.random.Generator) -> Array:
    """A low tone twice a period that falls from 110 to 50 Hz and dies away."""
    since_s = _TIME_S % 1.0
    cycles = 50.0 * since_s + 60.0 * 0.03 * (1 - np.exp(-since_s / 0.03))
    return np.asarray(np.sin(2 * np.pi * cycles) * np.exp(-since_s / 0.12) * np.minimum(1, since_s / 0.004))


def _plucked(random: np.random.Generator) -> Array:
    """A string of 110 Hz after Karplus and Strong (1983, from memory): noise in a delay line, averaged each round."""
    from scipy.signal import lfilter  # here: it takes over half a second to load, and only this sound needs it

    delay = round(RATE_HZ / 110)
    struck = np.zeros(SAMPLES)
    struck[:delay] = random.uniform(-1, 1, delay)
    back = np.zeros(delay + 2)
    back[0], back[delay:] = 1.0, -0.494
    return np.asarray(lfilter([1.0], back, struck) * np.minimum(1, (_TIME_S[-1] - _TIME_S) / 0.1))


@dataclass(frozen=True)
class _Sound:
    name: str
    make: Callable[[np.random.Generator], Array]


SOUNDS: dict[str, _Sound] = {
    "pink": _Sound("Pink noise", _pink),
    "kick": _Sound("Low beat, like a kick drum", _kick),
    "plucked": _Sound("Plucked string", _plucked),
}


def make_sound(kind: str, seed: int) -> Array:
    """A test sound.

    Parameters
    ----------
    kind : str
        Key of `SOUNDS`.
    seed : int
        The same seed makes the same sound.

    Returns
    -------
    (SAMPLES,) numpy.ndarray
        Peak 1, mean 0.

    Raises
    ------
    InputError
        If there is no such sound.
    """
    if kind not in SOUNDS:
        raise InputError("Sound", kind, ", ".join(SOUNDS))
    sound = played_through(SOUNDS[kind].make(np.random.default_rng(seed)), np.ones(len(BINS_HZ)))
    return np.asarray(sound / np.max(np.abs(sound)))


def played_through(sound: ArrayLike, response: ArrayLike) -> Array:
    """A sound as a response passes it on, for ever repeated.

    Parameters
    ----------
    sound : (SAMPLES,) array_like
    response : (..., f) array_like of complex
        At `BINS_HZ`; nothing else passes. [-]

    Returns
    -------
    (..., SAMPLES) numpy.ndarray
    """
    response = np.asarray(response, np.complex128)
    spectrum = np.zeros((*response.shape[:-1], len(_ALL_HZ)), np.complex128)
    spectrum[..., _INSIDE] = np.fft.rfft(sound)[_INSIDE] * response
    return np.asarray(np.fft.irfft(spectrum, SAMPLES))


def weighted_db(sound: ArrayLike, response: ArrayLike) -> Array:
    """Level of a sound behind a response, over the sound itself: the response's power, weighted by the spectrum.

    Parameters
    ----------
    sound : (SAMPLES,) array_like
    response : (..., f) array_like of complex
        At `BINS_HZ`. [-]

    Returns
    -------
    (...,) numpy.ndarray
        [dB]
    """
    weight = np.abs(np.fft.rfft(sound)[_INSIDE]) ** 2
    return np.asarray(10 * np.log10(np.abs(response) ** 2 @ weight / weight.sum()))


def to_play(sound: ArrayLike, responses: ArrayLike, peak_dbfs: float = PEAK_DBFS) -> Array:
    """A sound behind each of several responses, all by one factor, so that the highest peak is at the limit.

    Parameters
    ----------
    sound : (SAMPLES,) array_like
    responses : (n, f) array_like of complex
        At `BINS_HZ`. [-]
    peak_dbfs : float
        Under full scale. [-80 to -12 dB]

    Returns
    -------
    (n, SAMPLES) numpy.ndarray
        Full scale is 1. Their levels differ by just what the responses differ.

    Raises
    ------
    InputError
        If the peak is over the limit of -12 dB.
    """
    check("Peak", peak_dbfs, "dB", low=-80, high=PEAK_DBFS)
    passed = played_through(sound, responses)
    return np.asarray(passed * ((10 ** (peak_dbfs / 20) - 2 * MARK) / np.max(np.abs(passed))))  # room for `marked`


def marked(sound: ArrayLike, random: np.random.Generator) -> Array:
    """The same to the ear, but no two of the same bytes: noise of at most `MARK` is added.

    Parameters
    ----------
    sound : (samples,) or (samples, channels) array_like
        -1 to 1.
    random : numpy.random.Generator
        Where the noise comes from.

    Returns
    -------
    numpy.ndarray
        Same shape.
    """
    sound = np.asarray(sound, np.float64)
    return np.asarray(sound + random.uniform(-MARK, MARK, sound.shape))


def wav(sound: ArrayLike) -> bytes:
    """A WAV file of 32-bit floats, of the same length for every sound of `SAMPLES`."""
    file = io.BytesIO()
    wavfile.write(file, RATE_HZ, np.asarray(sound, np.float32))
    return file.getvalue()
