"""Choice A taken back to the page One run, into the run that it came from, by the link on top."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from dashboards.panels.acts.acts import Actable


class HandBack(Actable):
    """Has nothing to see: the link of One run on top takes the run along.

    Parameters
    ----------
    entries : callable of () -> dict of str to str
        Of One run, by their names in its address.
    """

    _esm = Path(__file__).with_name("hand_back.js")

    def __init__(self, entries: Callable[[], dict[str, str]]) -> None:
        super().__init__()
        self.entries = entries

    def take(self, _what: dict[str, Any]) -> None:
        """See `Actable`."""
        self.send({"back": self.entries()})
