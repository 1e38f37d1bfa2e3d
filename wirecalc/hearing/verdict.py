"""Two choices of wire in a customer's words: short sentences, and what is not worth the money."""

from __future__ import annotations

from typing import Literal

from wirecalc import units
from wirecalc.hearing.contrast import NAMES, Contrast
from wirecalc.runs.words import STEPS, decibels, heard, watts

_NOBODY_DB, _JUST_LOW_DB, _JUST_DB, _MUSIC_DB, _MOST_DB = (
    STEPS[step].loss_db_up_to for step in ("nobody", "just low", "just", "music", "most")
)
AUDIBLE = (
    f"Texts give {_JUST_LOW_DB:g} to {_JUST_DB:g} dB as just noticeable in a direct comparison. "
    f"On music, a difference of about {_MUSIC_DB:g} dB usually passes unnoticed. "
    "The second figure is common practice; it has no source."
)
HEARING = (
    "Loud sound harms hearing for good. "
    "Turn the device down before you press play, then up slowly. "
    "Take headphones off before you try it the first time."
)
NOT_ALL = (
    "Sound is not everything: a wire must also stay cool and needs the right fuse. "
    "Local codes and a licensed professional decide."
)
SWITCH = (
    "Both play at once, and you hear the one you pressed last. "
    "Switch back and forth while they play. "
    "The level starts low and never passes a fixed limit."
)
BLIND = (
    "Here nobody is told which wire plays. "
    "Listen to both sounds of each question, then answer. "
    "At the end you learn how many were right, and how easily chance would do the same."
)
_TONE_DB = 0.1  # how much more than the plain loss a difference at one pitch must be to be told: our own choice
_EQUAL_DB = 0.005  # what `decibels` writes as 0


def audible_db(contrast: Contrast) -> float:
    """The largest difference, at the nominal impedance or anywhere from 20 Hz to 20 kHz. [dB]"""
    return max(abs(contrast.apart_db), abs(contrast.furthest_db))


def equal(contrast: Contrast) -> bool:
    """Whether there is nothing to hear at all."""
    return audible_db(contrast) < _EQUAL_DB


def louder(contrast: Contrast) -> int:
    """The choice that is louder, 0 or 1, by the nominal impedance; by the largest difference where that is nothing."""
    apart = contrast.apart_db if abs(contrast.apart_db) >= _EQUAL_DB else contrast.furthest_db
    return int(apart > 0)


def delivered(contrast: Contrast, at: int) -> str:
    """Where the watts of one choice go.

    Parameters
    ----------
    contrast : Contrast
        Two choices, solved.
    at : int
        0 or 1: which of them.

    Returns
    -------
    str
        Two sentences.
    """
    if contrast.too_hot[at]:
        return f"{NAMES[at]} would get too hot: about {contrast.temperature_c[at]:.0f} °C. Do not use it here."
    reach = f"{watts(contrast.load_w[at])} of {watts(contrast.bare_w)} W reach the speaker."
    return f"{reach} The wire turns {watts(contrast.wire_w[at])} W into heat."


def difference(contrast: Contrast) -> str:
    """How far the two are apart, and whether that is heard."""
    most = audible_db(contrast)
    if equal(contrast):
        return f"Both are equally loud. {heard(0.0)}"
    name = NAMES[1 - louder(contrast)]
    plain = abs(contrast.apart_db)
    sentence = f"{name} is {decibels(plain)} dB quieter." if plain >= _EQUAL_DB else "Both are equally loud on average."
    if pitch := _pitch(contrast):
        sentence += f" At {pitch} it is {decibels(most)} dB."
    return f"{sentence} {heard(most)}"


def _pitch(contrast: Contrast) -> str:
    """Where the two are clearly further apart than on average; empty if nowhere."""
    if audible_db(contrast) <= abs(contrast.apart_db) + _TONE_DB:
        return ""
    hz = contrast.furthest_hz
    return f"a pitch of {f'{hz / 1e3:.1f} kHz' if hz >= 1e3 else f'{hz:.0f} Hz'}"


def money(amount: float) -> str:
    """A price without its currency, which nobody told.

    Examples
    --------
    >>> money(12.5), money(1200.0)
    ('12.50', '1200.00')
    """
    return f"{amount:.2f}"


def cost(contrast: Contrast) -> str:
    """What one costs more than the other; empty where a price is missing."""
    extra = contrast.extra_cost
    if extra is None:
        return ""
    if abs(extra) < 0.005:
        return "Both cost the same."
    return f"{NAMES[int(extra > 0)]} costs {money(abs(extra))} more."


def verdict(contrast: Contrast) -> str:
    """What to do, in one or two sentences."""
    hot = contrast.too_hot
    if all(hot):
        return "Neither wire stays cool enough here. Choose thicker ones."
    if any(hot):
        cold = hot.index(False)
        return f"Take {NAMES[cold]}: the other wire gets too hot."
    most, better, extra = audible_db(contrast), louder(contrast), contrast.extra_cost
    dearer = None if extra is None or abs(extra) < 0.005 else int(extra > 0)
    if most > _NOBODY_DB and dearer == 1 - better:
        return f"Take {NAMES[better]}: it is louder and costs less."
    if most <= _JUST_DB:
        unheard = "Nobody hears this" if most <= _NOBODY_DB else "You are unlikely to hear this"
        if dearer is not None:
            return f"{unheard}. Take {NAMES[1 - dearer]} and spend the rest elsewhere."
        if extra is not None:
            return f"{unheard}. Both cost the same, so take either."
        return f"{unheard}; spend it elsewhere."
    if most <= _MUSIC_DB:
        return f"You may hear this when you switch, barely on music. {NAMES[better]} is louder; not worth much extra."
    if most <= _MOST_DB:
        return f"You are likely to hear this side by side. {NAMES[better]} is worth a thought."
    return f"Nearly everybody hears this. Take {NAMES[better]}."


def beside_test(contrast: Contrast, sign: bool) -> str:
    """What a blind test adds to the verdict where the two seem to say the opposite; else empty.

    Parameters
    ----------
    contrast : Contrast
        The two choices of the test, solved.
    sign : bool
        Whether the test is a sign that a difference is heard.

    Returns
    -------
    str
        Two sentences, or none.
    """
    most = audible_db(contrast)
    if any(contrast.too_hot):
        return ""
    if sign and most <= _JUST_DB:
        return "Few people hear so little. Repeat the test before you pay for it."
    if not sign and most > _MUSIC_DB:
        return "Most people hear one this large, and a longer test may show that you do. Until then, do not pay for it."
    return ""


def standing(contrast: Contrast) -> Literal["fine", "borderline", "too thin"]:
    """How the thinner of the two stands: whether a listener minds that it is thinner, and whether it stays cool.

    Parameters
    ----------
    contrast : Contrast
        Two choices, solved.

    Returns
    -------
    {"fine", "borderline", "too thin"}
    """
    most = audible_db(contrast)
    if any(contrast.too_hot) or most > _MOST_DB:
        return "too thin"
    return "fine" if most <= _JUST_DB else "borderline"


def wire_and_length(contrast: Contrast, at: int, feet: bool = False) -> str:
    """A choice by its wire and length: "16 AWG, 5.5 m".

    Parameters
    ----------
    contrast : Contrast
        Two choices, solved.
    at : int
        0 or 1: which of them.
    feet : bool
        Lengths in feet and inches.

    Returns
    -------
    str
        For a heading.
    """
    choice = contrast.choices[at]
    return f"{choice.label}, {units.show(choice.length_m, units.LENGTH, feet=feet)}"


def summary(contrast: Contrast, feet: bool = False) -> str:
    """One line that says it all, for the top of a leaflet.

    Parameters
    ----------
    contrast : Contrast
        Two choices, solved.
    feet : bool
        Lengths in feet and inches.

    Returns
    -------
    str
        Which two, how many decibels apart, and what that means.
    """
    first, second = (f"{name} ({wire_and_length(contrast, at, feet)})" for at, name in enumerate(NAMES))
    plain, most, pitch = abs(contrast.apart_db), audible_db(contrast), _pitch(contrast)
    apart = f"{decibels(plain if pitch else most)} dB apart"
    if pitch:
        apart = f"{apart if plain >= _EQUAL_DB else 'equally loud on average'}, {decibels(most)} dB at {pitch}"
    return f"{first} or {second}: {apart}. {verdict(contrast)}"


def setting(contrast: Contrast, speaker: str = "") -> str:
    """What is held against what, and on what terms.

    Parameters
    ----------
    contrast : Contrast
        Two choices, solved.
    speaker : str
        Name of a speaker that is more than a plain resistance; empty for that.

    Returns
    -------
    str
        Two sentences.
    """
    amplifier = contrast.run.amplifier
    feeds = (
        f"{speaker}, {abs(contrast.run.load_ohm):g} Ω" if speaker else f"a speaker of {abs(contrast.run.load_ohm):g} Ω"
    )
    rated = f"{watts(amplifier.power_w)} W into {amplifier.rated_ohm:g} Ω"
    return f"The amplifier gives {rated} and feeds {feeds}. The wire is taken at 20 °C, without joints."
