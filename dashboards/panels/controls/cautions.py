"""Cautions as a page shows them: those that come first in full, the others a press away."""

from __future__ import annotations

import html

from wirecalc.wire.cautions import CAUTIONS, LOCAL_CODES, Work, keys

FIRST = ("battery feed", "test tones", "shock", "airbag")
"""Said in full on the first view."""


def cautions_html(work: Work) -> str:
    """What must be said of a run on its first view, as HTML."""
    needed = keys(work)
    first = "".join(_caution(CAUTIONS[key]) for key in FIRST if key in needed) + _caution(LOCAL_CODES)
    rest = [key for key in needed if key not in FIRST]
    if not rest:
        return first
    title = f"<summary class='wc-caution'>Mind also: {html.escape(', '.join(rest))}</summary>"
    return f"{first}<details>{title}{''.join(_caution(CAUTIONS[key]) for key in rest)}</details>"


def _caution(text: str) -> str:
    return f"<p class='wc-caution' role='note'>{html.escape(text)}</p>"
