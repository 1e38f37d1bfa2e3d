"""Charts with a bar for each size, and level lines across them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wirecalc.wire.conductor import Conductor


def labels(conductors: Sequence[Conductor]) -> list[str]:
    """A name for each size, this run's first, no two alike."""
    this, *others = conductors
    return [f"{this.label} (this run)", *(other.label for other in others)]


def thin_to_thick(conductors: Sequence[Conductor], shades: Mapping[Conductor, str]) -> tuple[list[int], list[str]]:
    """Order of sizes along an axis, and the colour of each in that order."""
    order = sorted(range(len(conductors)), key=lambda i: conductors[i].area_m2)
    return order, [shades[conductors[i]] for i in order]


def level_lines(*lines: tuple[float, str, str, str]) -> dict[str, Any]:
    """Level lines across a chart, each with its name at the right: (height, name, colour, "top" or "bottom")."""
    shapes = [
        {
            "type": "line",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": at,
            "y1": at,
            "line": {"color": colour, "width": 2, "dash": dash},
        }
        for (at, _, colour, _), dash in zip(lines, ("dash", "dot"), strict=False)
    ]
    names = [
        {"xref": "paper", "x": 1, "xanchor": "right", "y": at, "yanchor": anchor, "text": name, "showarrow": False}
        for at, name, _, anchor in lines
    ]
    return {"shapes": shapes, "annotations": names}


def axis_names(conductors: Sequence[Conductor]) -> list[str]:
    """`labels`, short enough to stand under a bar."""
    return [name.replace(" (this", "<br>(this") for name in labels(conductors)]
