"""The decision of the page One run: what to pull, how this run's own wire stands, and why, before all figures."""

from __future__ import annotations

import html

from dashboards.panels.controls.numbers import mark, opening
from dashboards.panels.one_run.request import RunRequest
from wirecalc.advice.held import BORDERLINE, FINE, TOO_THICK, TOO_THIN, Held, State
from wirecalc.advice.size import Advice, SizePick
from wirecalc.advice.words import asked_standing, missed_by_little
from wirecalc.wire.cautions import CAUTIONS, LOCAL_CODES

SIGNS: dict[State, tuple[str, str]] = {
    FINE: ("✓", "wc-fine"),
    BORDERLINE: ("≈", "wc-borderline"),
    TOO_THIN: ("✗", "wc-too-thin"),
    TOO_THICK: ("✗", "wc-too-thin"),
}
"""Of each state: a mark, so that colour is never alone, and its class."""

AS_WARM = {"loss_db", "drop_v", "drop_fraction", "damping_factor"}
"""Measures that a warm wire makes worse, which is seen beside the same measure of a cold one."""


def decision(request: RunRequest) -> str:
    """The answer in one sentence with its colour and sign, and what stands behind it, as HTML.

    Parameters
    ----------
    request : RunRequest
        What the entries say.
    """
    advice = request.advice
    sign, look = SIGNS[advice.state] if advice.state else ("→", "wc-no-gauge")
    return (
        f"<section class='wc-decision {look}' role='status' aria-label='What to pull'>"
        f"<p class='wc-answer'><span class='wc-sign' aria-hidden='true'>{sign}</span> {_answer(request, advice)}</p>"
        f"<details class='wc-behind'><summary>Why, warmth, fuse</summary>{_behind(advice)}</details></section>"
    )


def _answer(request: RunRequest, advice: Advice) -> str:
    """What to pull, and how this run's own wire stands."""
    if advice.asked is None:
        return html.escape(advice.sentence)
    pull, asked = advice.pull, advice.asked
    sentences = [f"<b>Pull {html.escape(pull.label)}.</b>"] if pull else [f"<b>{html.escape(advice.sentence)}</b>"]
    own = html.escape(request.label)
    if asked.state == FINE:
        same = pull is not None and pull.candidate == asked.candidate
        near = f": {opening(asked.nearest.words(asked.at, mark=mark))}{_warm(asked.nearest)}" if asked.nearest else ""
        sentences.append(f"This run is fine{near}." if same else f"{own} is fine too{near}.")
    else:
        reason = (
            f": {opening(asked.first_reason(mark=mark))}{_warm(next(iter(asked.broken), None))}"
            if asked.reasons
            else ""
        )
        sentences.append(f"{own} {asked_standing(advice)}{reason}.")
    return " ".join(sentences)


def _warm(held: Held | None) -> str:
    """The figures below are at the entered temperature; a decision is at the one that the wire reaches."""
    return " with the wire warm" if held is not None and held.limit.measure in AS_WARM else ""


def _behind(advice: Advice) -> str:
    """Least and house answer, warmth, fuse, remedies, and the cautions that are said at first sight, as HTML."""
    lines = []
    if advice.asked is not None and advice.least and advice.why_differ:
        lines.append(f"{advice.least.label} is the least that keeps every rule. {advice.why_differ}")
    elif advice.decided_by:
        lines.append(f"Not thinner: {advice.decided_by}.")
    if advice.asked is not None and advice.nearly is not None:
        lines.append(missed_by_little(advice.job, advice.nearly))
    shown = advice.pull or advice.asked
    if shown is not None:
        lines.append(warmth(shown))
    if advice.fuse_words:
        lines.append(advice.fuse_words)
    lines += advice.changes
    if advice.pull is not None and advice.pull.candidate.parallel > 1:
        lines.append(CAUTIONS["parallel"])
    paragraphs = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
    return f"{paragraphs}<p>{html.escape(CAUTIONS['airbag'])}</p><p>{html.escape(LOCAL_CODES)}</p>"


def warmth(pick: SizePick) -> str:
    """Usual warmth, and with the most that its source sustains."""
    usual_c, most = (f"{value:.0f} °C" if value < 250 else "over 250 °C" for value in (pick.usual_c, pick.full_c))
    usual = "" if usual_c == most else f"; usually {usual_c}, with music's average"
    return f"{pick.label} gets to {most} at the most for minutes in its hottest place, {pick.hottest}{usual}."
