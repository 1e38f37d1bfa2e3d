"""How warm this run's wire gets, as one thermometer from the air around it to what its insulation stands."""

from __future__ import annotations

import html

import numpy as np

from dashboards.panels.one_run.request import RunRequest
from wirecalc.wire.conductor import HOTTEST_C

_OF_MUSIC = ("amplifier to speaker", "subwoofer", "battery to amplifier")
"""Kinds of run whose average is music's."""
_LEFT, _RIGHT, _END = 30.0, 500.0, 590.0  # air, limit, and where what is over the limit is cut off


def thermometer(request: RunRequest) -> str:
    """As an HTML figure; empty for a run whose wire is not judged.

    Parameters
    ----------
    request : RunRequest
        The run; its own wire, in the hottest place that it passes.
    """
    asked = request.advice.asked
    if asked is None:
        return ""
    air_c, limit_c = request.place.ambient_c, request.place.insulation.limit_c
    usual = "music" if request.run.kind in _OF_MUSIC else "usually"
    marks = [("full power for minutes", asked.full_c), (usual, asked.usual_c)]  # no line crosses the other's words

    def x(at_c: float) -> float:
        ends_c = (air_c, max(limit_c, air_c + 1), HOTTEST_C + 1)  # over the limit the scale is pressed together
        return float(np.interp(at_c, ends_c, (_LEFT, _RIGHT, _END)))

    most_c = asked.full_c
    look = "wc-over" if most_c > limit_c else "wc-near" if x(most_c) > 0.85 * _RIGHT else "wc-within"
    told = f"Air {air_c:.0f} °C; " + "; ".join(f"{name} {_degrees(at_c)}" for name, at_c in marks[::-1])
    told += f"; the insulation's limit {limit_c:.0f} °C"
    wide = max(x(most_c) - _LEFT + 14, 18)
    parts = [
        f"<rect x='{_LEFT - 14}' y='44' width='{_END - _LEFT + 22}' height='18' rx='9' class='wc-tube'/>",
        f"<rect x='{_LEFT - 14}' y='44' width='{wide:.1f}' height='18' rx='9' class='{look}'/>",
        f"<path d='M{_RIGHT} 32V74' class='wc-stop'/>",
        f"<text x='{_RIGHT}' y='26' text-anchor='middle'>limit {limit_c:.0f} °C</text>",
        f"<text x='{_LEFT - 14}' y='26'>air {air_c:.0f} °C</text>",
    ]
    for row, (name, at_c) in enumerate(marks):
        at = x(at_c)
        anchor, beside = ("start", 6) if at < 330 else ("end", -6)
        parts.append(
            f"<path d='M{at:.1f} 40V{84 + 22 * row}' class='wc-at'/><text x='{at + beside:.1f}' y='{90 + 22 * row}'"
            f" text-anchor='{anchor}'>{html.escape(name)} {_degrees(at_c)}</text>"
        )
    title = html.escape(f"{request.label} in its hottest place, {asked.hottest}")
    return (
        f"<figure class='wc-warmth'><figcaption>{title}</figcaption>"
        f"<svg viewBox='0 0 612 124' role='img' aria-label='{html.escape(told)}'>{''.join(parts)}</svg></figure>"
    )


def _degrees(at_c: float) -> str:
    return f"{at_c:.0f} °C" if at_c < 250 else "over 250 °C"
