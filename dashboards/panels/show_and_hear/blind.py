"""The blind test on the page: sounds without labels, answers that are counted, and what chance would do."""

from __future__ import annotations

import secrets
from collections.abc import Callable

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls import glossary
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import choice
from dashboards.panels.show_and_hear.hear import SEED, responses, sound_choice, waves
from dashboards.panels.show_and_hear.player import Player, Sounds
from wirecalc.hearing import sound, verdict
from wirecalc.hearing.blind import ANSWERS, BlindTest, order
from wirecalc.hearing.contrast import Contrast

ALIKE = "Both choices sound exactly alike: change the size, metal, length or number of one."
TRIALS = (8, 12, 16, 20)
_QUESTIONS = [("Same or different?", "same"), ("Which is louder?", "louder")]


class BlindPart:
    """Both choices without labels, in a test that counts right answers.

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
        self.button = Press("Start the blind test", lambda: self.start())
        self.button.add_class("wc-start")
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

    def show(self, contrast: Contrast) -> None:
        """Take other choices; a test that has begun keeps its own, and a result is shown with the choices it is of."""
        self.found = contrast
        self._say()

    @guarded
    def start(self) -> None:
        """Draw a new order."""
        assert self.found is not None
        if verdict.equal(self.found):
            self.alert.value = f"<div role='alert'>{ALIKE}</div>"
            return
        self._seed = self.seed()
        self.tested, self._sound = self.found, self.kind.value
        self.test = BlindTest(
            question=self.question.value,
            order=order(self.question.value, self.trials.value, self._seed),
            louder=int(np.argmax(sound.weighted_db(sound.make_sound(self._sound, SEED), responses(self.found)))),
        )
        self._random = np.random.default_rng(self._seed + 1)
        self.alert.value = ""
        self._say()
        self.button.description = "Start again"
        self.box.remove_class("wc-shut")
        self.player.asks = list(ANSWERS[self.test.question])
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
        """See `Player`; a late answer to an earlier question is ignored."""
        assert self.test is not None
        if version != self.player.version or self.test.done:
            return
        self.test.answer(self.test.trial, answer)
        if not self.test.done:
            self._ask()
            return
        self.box.add_class("wc-shut")
        self._say()
        self.player.ended += 1

    def _say(self) -> None:
        self.result.value = f"<p class='wc-told' role='status'>{glossary.marked(self.said)}</p>" if self.said else ""

    @property
    def said(self) -> str:
        """The result of a finished test of the choices that are shown now; empty where there is none."""
        if self.test is None or self.tested is None or self.found is None or self.tested.asked != self.found.asked:
            return ""
        if not self.test.done:
            return ""
        return f"{self.test.result} {verdict.beside_test(self.found, self.test.sign)}".rstrip()
