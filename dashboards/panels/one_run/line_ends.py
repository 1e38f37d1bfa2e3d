"""Names at the ends of a chart's lines, kept apart, and the zone of a level loss that is heard, shaded."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from dashboards.panels.controls.colours import BAD, HERE, faint
from wirecalc.runs.words import STEPS

APART = 0.066  # of the plot's height: a line of text
_ZONES = (("just", "music", "heard when switching", HERE, 0.08), ("music", "most", "heard on music", BAD, 0.12))


def spread(places: Sequence[float], apart: float = APART) -> list[float]:
    """Heights of names, each as near to its line's end as the others leave room.

    Parameters
    ----------
    places : sequence of n float
        Where the lines end, 0 at the top to 1 at the bottom.
    apart : float
        Least distance between two.

    Returns
    -------
    list of n float
    """
    order = sorted(range(len(places)), key=lambda at: places[at])
    heights = list(places)
    for before, at in itertools.pairwise(order):
        heights[at] = max(heights[at], heights[before] + apart)
    if order and heights[order[-1]] > 1:
        heights[order[-1]] = 1.0
        for after, at in itertools.pairwise(order[::-1]):
            heights[at] = min(heights[at], heights[after] - apart)
    return heights


def names(ends: Sequence[tuple[str, float, bool]], top: float, bottom: float) -> list[dict[str, Any]]:
    """A name right of each line's end.

    Parameters
    ----------
    ends : sequence of (str, float, bool)
        What it is called, where it ends in the chart's unit, and whether it is this run.
    top, bottom : float
        Ends of the axis.

    Returns
    -------
    list of dict
        Annotations of plotly.
    """
    places = [(value - top) / (bottom - top) for _, value, _ in ends]
    return [
        {
            "xref": "paper",
            "yref": "paper",
            "x": 1.0,
            "xanchor": "left",
            "xshift": 4,
            "y": 1 - place,
            "yanchor": "middle",
            "text": f"<b>{name}</b>" if this else name,
            "showarrow": False,
            "font": {"size": 12},
        }
        for (name, _, this), place in zip(ends, spread(places), strict=True)
    ]


def audible(bottom_db: float) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Shapes and annotations of what is heard of a level loss, as far as the axis goes."""
    shapes, words = [], []
    for first, last, label, colour, part in _ZONES:
        high, low = STEPS[first].loss_db_up_to, min(STEPS[last].loss_db_up_to, bottom_db)
        if low <= high:
            continue
        shapes.append(
            {"type": "rect", "layer": "below", "xref": "paper", "x0": 0, "x1": 1, "y0": high, "y1": low,
             "fillcolor": faint(colour, part), "line": {"width": 0}}
        )  # fmt: skip
        if low - high > APART * bottom_db:
            words.append(
                {"xref": "paper", "x": 0.01, "xanchor": "left", "y": low, "yanchor": "bottom", "text": label,
                 "showarrow": False, "font": {"size": 12}}
            )  # fmt: skip
    return shapes, words
