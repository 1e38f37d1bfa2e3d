"""Every colour of a picture, and what tells its parts apart without colour: dashes, marks, patterns."""

from __future__ import annotations

import re
from pathlib import Path

_FILE = Path(__file__).parents[2] / "server" / "share" / "jupyter" / "voila" / "templates" / "wirecalc" / "tokens.css"

CSS = _FILE.read_text(encoding="utf-8")
"""The tokens, for a sheet that stands by itself; the pages' template includes the same file."""


def tokens(css: str) -> dict[str, str]:
    """Name to colour of what is set in the first block of `css`."""
    return dict(re.findall(r"--wc-([\w-]+): (#\w+);", css.partition("}")[0]))


_LIGHT = tokens(CSS)

SERIES = tuple(_LIGHT[f"series-{place}"] for place in range(1, 7))
DASHES = ("solid", "9px,4px", "2px,4px", "14px,4px,3px,4px", "14px,3px,5px,3px", "4px,8px")
SYMBOLS = ("circle", "square", "diamond", "x", "triangle-up", "cross")
PATTERNS = ("", "/", ".", "x", "-", "|")
"""Of what is shown at once, by its place: a colour, and a dash of a line, a mark or a pattern of a filled part."""

RAMP = [_LIGHT[f"size-{place}"] for place in range(1, 9)]
SIZE_DASHES = (
    "solid", "10px,4px", "3px,4px", "10px,4px,3px,4px", "18px,5px", "5px,9px", "18px,4px,3px,4px,3px,4px",
    "18px,4px,7px,4px", "2px,2px", "10px,4px,3px,4px,3px,4px,3px,4px",
)  # fmt: skip
"""Of sizes, by their place among those that are drawn."""

HERE, GOOD, BAD = _LIGHT["here"], _LIGHT["good"], _LIGHT["bad"]
"""This run; what is well and what is not, never without the words."""
INK, EDGE = _LIGHT["neutral"], _LIGHT["edge"]
"""Readable on every paper, where a picture cannot follow the page's ink; around a mark that lies on lines."""
METAL, ON_METAL, JACKET, INSIDE, OUTLINE = (
    _LIGHT[name] for name in ("metal", "on-metal", "jacket", "inside", "outline")
)


def faint(colour: str, part: float) -> str:
    """A colour that lets through all but `part` of what is under it."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red},{green},{blue},{part:g})"


def stroke(dash: str) -> str:
    """A dash as SVG's stroke-dasharray."""
    return "none" if dash == "solid" else dash.replace("px", "")
