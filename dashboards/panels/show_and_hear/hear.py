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


def responses(found: Contrast) -> NDArray[np.complex128]:
    """Of both choices, where the sounds have their spectrum. (2, f)"""
    return contrast.transfer(found.run, found.load, found.choices, sound.BINS_HZ)


def waves(found: Contrast, kind: str, seed: int) -> NDArray[np.float64]:
    """The sound behind both choices, for a player. (2, SAMPLES)"""
    return sound.to_play(sound.make(kind, seed), responses(found))


def sound_choice(label: str) -> Choice:
    """Which test sound."""
    return choice(label, [(one.name, key) for key, one in sound.SOUNDS.items()], "pink")


class HearPart:
    """Both choices with their labels, to switch between."""

    def __init__(self) -> None:
        self.found: Contrast | None = None
        self.kind = sound_choice("Sound")
        self.kind.observe(lambda _change: self._renew(), "value")
        self.player = Player((NAMES[0], NAMES[1]), verdict.HEARING, self.make)
        self.told = w.HTML()
        self.view = w.VBox([w.HTML("<h2>Hear it</h2>"), self.told, self.kind, self.player])

    def show(self, found: Contrast) -> None:
        """Take other choices; what plays changes by itself."""
        self.found = found
        self.player.names = [f"{name}: {one.label}" for name, one in zip(NAMES, found.choices, strict=True)]
        self.told.value = f"<p>{glossary.marked(verdict.SWITCH)}</p>"
        self._renew()

    def _renew(self) -> None:
        self.player.version += 1

    def make(self) -> Sounds:
        """See `Player`."""
        assert self.found is not None
        first, second = waves(self.found, self.kind.value, SEED)
        return sound.wav(first), sound.wav(second)
