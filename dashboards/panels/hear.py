"""Hear two choices: a test sound behind each, with its label, and without."""

from __future__ import annotations

import secrets
from collections.abc import Callable

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels import glossary
from dashboards.panels.fields import choice
from dashboards.panels.guard import guarded
from dashboards.panels.player import Player, Sounds
from wirecalc import contrast, sound, verdict
from wirecalc.blind import ANSWERS, BlindTest, order
from wirecalc.contrast import NAMES, Contrast
from wirecalc.errors import InputError

_SEED = 1
TRIALS = (8, 12, 16, 20)
_QUESTIONS = [("Same or different?", "same"), ("Which is louder?", "louder")]


def _responses(found: Contrast) -> NDArray[np.complex128]:
    return contrast.transfer(found.run, found.load, found.choices, sound.BINS_HZ)


def waves(found: Contrast, kind: str, seed: int) -> NDArray[np.float64]:
    """The sound behind both choices, for a player. (2, SAMPLES)"""
    return sound.to_play(sound.make(kind, seed), _responses(found))


def sound_choice(label: str) -> w.Dropdown:
    """Which test sound."""
    return choice(label, [(one.name, key) for key, one in sound.SOUNDS.items()], "pink")


class HearPart:
    """Both choices, labelled."""

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
        first, second = waves(self.found, self.kind.value, _SEED)
        return sound.wav(first), sound.wav(second)


class BlindPart:
    """The same without labels, in questions that are counted.

    What leaves the kernel during a test is two sounds a question, of one length and, by their marks, never alike in
    their bytes, and the question's number. Both choices are made for every question, so that no answer takes longer.
    """

    def __init__(self, seed: Callable[[], int] = lambda: secrets.randbits(32)) -> None:
        self.seed = seed
        self.found: Contrast | None = None
        self.tested: Contrast | None = None
        self.test: BlindTest | None = None
        self.kind = sound_choice("Sound in the test")
        self.question = choice("What is asked", _QUESTIONS, "same")
        self.trials = choice("Number of questions", [(str(count), count) for count in TRIALS], 12)
        self.button = w.Button(description="Start the blind test")
        self.button.add_class("wc-start")
        self.button.on_click(lambda _button: self.start())
        self.alert = w.HTML()
        self.result = w.HTML()
        self.player = Player(("First", "Second"), verdict.HEARING, self.make, self.take)
        self.box = w.VBox([self.player])  # a widget of our own does not follow its classes once it is drawn
        self.box.add_class("wc-shut")
        asks = w.Box([self.question, self.trials, self.kind])
        asks.add_class("wc-fields")
        intro = w.HTML(f"<h2>Blind test</h2><p>{glossary.marked(verdict.BLIND)}</p>")
        self.view = w.VBox([intro, asks, self.button, self.alert, self.box, self.result])
        self._sound = "pink"

    def show(self, found: Contrast) -> None:
        """Take other choices; a test that has begun stays with its own, a result is shown beside its own only."""
        self.found = found
        self._say()

    @guarded
    def start(self) -> None:
        """Draw a new order."""
        assert self.found is not None
        if verdict.equal(self.found):
            raise InputError("The two choices", "equal", "a difference", "Change the size, metal, length or number.")
        self._seed = self.seed()
        self.tested, self._sound = self.found, self.kind.value
        self.test = BlindTest(
            question=self.question.value,
            order=order(self.question.value, self.trials.value, self._seed),
            louder=int(np.argmax(sound.weighted_db(sound.make(self._sound, _SEED), _responses(self.found)))),
        )
        self._random = np.random.default_rng(self._seed + 1)
        self.alert.value = ""
        self._say()
        self.button.description = "Start again"
        self.box.remove_class("wc-shut")
        self.player.answers = list(ANSWERS[self.test.question])
        self._ask()

    def _ask(self) -> None:
        assert self.test is not None
        with self.player.hold_sync():  # one message, alike for every question
            self.player.status = self.test.result
            self.player.version += 1

    def make(self) -> Sounds:
        """See `Player`."""
        assert self.test is not None
        assert self.tested is not None
        both = waves(self.tested, self._sound, self._seed + self.test.trial)
        first, second = (sound.wav(sound.marked(both[at], self._random)) for at in self.test.played)
        return first, second

    def take(self, version: int, answer: str) -> None:
        """See `Player`; an answer to a question that is past is left out."""
        assert self.test is not None
        if version != self.player.version or self.test.done:
            return
        self.test.answer(self.test.trial, answer)
        if not self.test.done:
            self._ask()
            return
        self.box.add_class("wc-shut")
        self._say()

    def _say(self) -> None:
        self.result.value = f"<p class='wc-told' role='status'>{glossary.marked(self.said)}</p>" if self.said else ""

    @property
    def said(self) -> str:
        """The result of a finished test of the choices that are shown now; empty where there is none."""
        if self.test is None or self.tested is None or self.found is None or self.tested.asked != self.found.asked:
            return ""
        return self.test.result if self.test.done else ""
