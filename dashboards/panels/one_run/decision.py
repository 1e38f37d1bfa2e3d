"""The decision of the page One run: what to pull, how this run's own wire stands, its fuse, and why, before all figures."""

from __future__ import annotations

import html

from dashboards.panels.one_run.request import RunRequest
from wirecalc.advice.cautions import LOCAL_CODES, CAUTIONS
from wirecalc.advice.fuses import FuseAdvice
from wirecalc.advice.held import BORDERLINE, FINE, TOO_THICK, TOO_THIN, State
from wirecalc.advice.size import Advice, Pick

SIGNS: dict[State, tuple[str, str]] = {
    FINE: ("✓", "wc-fine"),
    BORDERLINE: ("≈", "wc-borderline"),
    TOO_THIN: ("✗", "wc-too-thin"),
    TOO_THICK: ("✗", "wc-too-thin"),
}
"""Of each state: a mark, so that colour is never alone, and its class."""


def decision(request: RunRequest, advice: Advice) -> str:
    """The answer in one sentence with its colour and sign, and what stands behind it, as HTML.

    Parameters
    ----------
    request : RunRequest
        What the entries say.
    advice : wirecalc.advice.size.Advice
        Of this run.
    """
    state = advice.state
    sign, look = SIGNS[state] if state else ("→", "wc-no-gauge")
    return (
        f"<section class='wc-decision {look}' role='status' aria-label='What to pull'>"
        f"<p class='wc-answer'><span class='wc-sign' aria-hidden='true'>{sign}</span> {_answer(request, advice)}</p>"
        f"<div class='wc-behind'>{_behind(advice)}</div></section>"
    )


def _answer(request: RunRequest, advice: Advice) -> str:
    """What to pull, and how this run's own wire stands."""
    if advice.asked is None:
        return html.escape(advice.sentence)
    pull, asked = advice.pull, advice.asked
    said = [f"<b>Pull {html.escape(pull.label)}.</b>"] if pull else ["<b>Nothing on the shelf keeps what is safe.</b>"]
    own = html.escape(request.label)
    if asked.state == FINE:
        same = pull is not None and pull.candidate == asked.candidate
        said.append("This run is fine." if same else f"{own} is fine too.")
    else:
        reason = html.escape(f": {asked.reasons[0]}" if asked.reasons else "")
        said.append(f"{own} is {html.escape(asked.state)}{reason}.")
    return " ".join(said)


def _behind(advice: Advice) -> str:
    """Least and house answer, warmth, fuse, remedies, and the cautions that are said at first sight, as HTML."""
    lines = []
    if advice.asked is not None and advice.least and advice.why_differ:
        lines.append(f"{advice.least.label} is the least that keeps every rule. {advice.why_differ}")
    shown = advice.pull or advice.asked
    if shown is not None:
        lines.append(warmth(shown))
    if advice.fuse is not None:
        lines.append(fuse_words(advice.fuse))
    lines += advice.changes
    said = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
    first = CAUTIONS["airbag"].partition(":")[0]
    minded = f"{first}. {LOCAL_CODES.partition(';')[0]}."
    return f"{said}<p class='wc-minded-first'>{html.escape(minded)}</p>"


def warmth(pick: Pick) -> str:
    """Usual warmth, and with the most that its source sustains."""
    most = f"{pick.full_c:.0f} °C" if pick.full_c < 250 else "over 250 °C"
    same = round(pick.usual_c) == round(pick.full_c)
    usual = "" if same else f", usually {pick.usual_c:.0f} °C with music"
    return f"{pick.label} gets to {most} at full power for minutes in its hottest place ({pick.hottest}){usual}."


def fuse_words(fuse: FuseAdvice) -> str:
    """The fuse in a line: rating, family, what it breaks against the short here; or why there is none."""
    return fuse.reason
