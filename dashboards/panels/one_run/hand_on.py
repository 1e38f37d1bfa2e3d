"""One run handed on: its link copied, and the page Show and hear opened with this run and a second wire beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import traitlets

from dashboards.panels.acts.acts import Actable
from dashboards.panels.kinds import Form, SpeakerForm
from dashboards.panels.kinds.form import written, written_length
from dashboards.panels.one_run.request import RunRequest
from wirecalc.wire.as_sold import show_size

COUNTER = "show_and_hear.ipynb"
HEAVIER = ("AWG", 12.0)
"""What the page Show and hear itself holds a wire against."""


def to_counter(form: Form[Any], here: RunRequest, unit: str) -> str:
    """Address of Show and hear with this run as choice A, and what is advised, or a heavier wire, as B.

    Parameters
    ----------
    form : Form
        Of a speaker or a subwoofer.
    here : RunRequest
        What the entries say.
    unit : str
        The page's unit, as in its address.

    Returns
    -------
    str
        Empty where there is nothing to hear.
    """
    if not isinstance(form, SpeakerForm) or here.size is None:
        return ""
    pull = here.advice.pull
    other = show_size(*HEAVIER)
    if pull is not None and pull.candidate.conductor.area_m2 != here.this.area_m2:
        other = pull.candidate.conductor.label
    length = written_length(here.laid.length_m, feet=here.feet)
    entries = {
        "units": unit,
        "a-size": show_size(*here.size),
        "a-metal": here.this.metal.key,
        "a-length": length,
        "a-parallel": str(here.laid.parallel),
        "b-size": other,
        "b-length": length,
        "power": written(form.power.value, "W"),
        "rated": written(form.rated.value, "Ω"),
        "load": written(form.load.value, "Ω"),
        "damping": written(form.damping.value),
    }
    return f"{COUNTER}?{urlencode(entries)}"


class HandOn(Actable):
    """Buttons Copy link and Show the customer; the link of that page on top takes the run along too.

    Parameters
    ----------
    where : callable of () -> str
        Address of Show and hear with the run of now; empty where there is nothing to hear.
    run : callable of () -> str
        This page's own entries, as its address has them, for the way back.
    """

    _esm = Path(__file__).with_name("hand_on.js")
    heard = traitlets.Bool(True).tag(sync=True)
    """Whether the run has something to show a customer."""

    def __init__(self, where: Callable[[], str], run: Callable[[], str] = lambda: "") -> None:
        super().__init__()
        self.where, self.run = where, run
        self.add_class("wc-hand-on")

    def take(self, _what: dict[str, Any]) -> None:
        """See `Actable`."""
        where = self.where()
        if where:
            self.send({"go": where, "run": self.run()})
