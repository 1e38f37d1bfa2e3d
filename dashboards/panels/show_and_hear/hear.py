"""Hear two choices: a test sound as each passes it on."""

from __future__ import annotations

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls import glossary
from dashboards.panels.controls.fields import choice
from dashboards.panels.show_and_hear.player import Player, Sounds
from wirecalc.hearing import contrast, sound, verdict
from wirecalc.hearing.contrast import NAMES, Contrast

SEED = 1


def responses(compared: Contrast) -> NDArray[np.complex128]:
    """Of both choices, where the sounds have their spectrum. (2, f)"""
    return contrast.transfer(compared.run, compared.load, compared.choices, sound.BINS_HZ)


def waves(compared: Contrast, kind: str, seed: int) -> NDArray[np.float64]:
    """The sound behind both choices, for a player. (2, SAMPLES)"""
    return sound.to_play(sound.make_sound(kind, seed), responses(compared))


def sound_choice(label: str) -> Choice:
    """Which test sound."""
    return choice(label, [(noise.name, key) for key, noise in sound.SOUNDS.items()], "pink")


class HearPart:
    """Both choices with their labels, to switch between."""

    def __init__(self) -> None:
        self.found: Contrast | None = None
        self.kind = sound_choice("Sound")
        self.kind.observe(lambda _change: self._renew(), "value")
        self.player = Player((NAMES[0], NAMES[1]), verdict.HEARING, self.make)
        self.told = w.HTML()
        self.view = w.VBox([w.HTML("<h2>Hear it</h2>"), self.told, self.kind, self.player])

    def show(self, contrast: Contrast) -> None:
        """Take other choices; what plays changes by itself."""
        self.found = contrast
        self.player.names = [f"{name}: {choice.label}" for name, choice in zip(NAMES, contrast.choices, strict=True)]
        self.told.value = f"<p>{glossary.marked(verdict.SWITCH)}</p>"
        self._renew()

    def _renew(self) -> None:
        self.player.version += 1

    def make(self) -> Sounds:
        """See `Player`."""
        assert self.found is not None
        first, second = waves(self.found, self.kind.value, SEED)
        return sound.wav(first), sound.wav(second)
