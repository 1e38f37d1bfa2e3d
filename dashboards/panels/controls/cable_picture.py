"""A cable cut across, as SVG text: every conductor in its colour, numbered and named, so that no colour is needed."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping

from dashboards.panels.controls.colours import INSIDE, JACKET, METAL, ON_METAL, OUTLINE
from wirecalc.wire.cross_section import CrossSection, Placed

_ACROSS = 300.0  # of the jacket in the picture, in its own units
_EDGE, _ROW, _TEXT = 10.0, 26.0, 15.0
_LETTER = 0.56 * _TEXT  # mean width of a letter of a sans-serif face; wide enough for names in capitals too
_INK = "var(--wc-ink)"
_STRIPE = math.radians(38)  # half of the stripe's angle


def cable_picture(section: CrossSection, uses: Mapping[str, str] | None = None, *, under: bool = False) -> str:
    """Draw a cross-section to scale, with a list of its conductors beside it.

    Parameters
    ----------
    section : CrossSection
        See `wirecalc.wire.cross_section`.
    uses : mapping of str to str, optional
        What each conductor does, by its colour name: "front left +". One that is missing is called spare; without the
        mapping nothing is said of use.
    under : bool
        The list stands under the section, which a phone has room for.

    Returns
    -------
    str
        An `<svg>` element to stand in a page or a printed sheet; it loads nothing.
    """
    scale = _ACROSS / section.outer_m
    lines = [_line(placed, uses) for placed in section.placed]
    listed = _ROW * len(lines)
    words = _ROW + _LETTER * max(len(line) for line in lines)
    width = max(_ACROSS, words) + 2 * _EDGE if under else _ACROSS + 4 * _EDGE + words
    height = _ACROSS + listed + 3 * _EDGE if under else max(_ACROSS, listed) + 2 * _EDGE
    x, y = (width / 2, _EDGE + _ACROSS / 2) if under else (_EDGE + _ACROSS / 2, height / 2)
    circles = "".join(
        _conductor(placed, x + placed.x_m * scale, y - placed.y_m * scale, scale) for placed in section.placed
    )
    top = _ACROSS + 2 * _EDGE if under else (height - listed) / 2
    left = _EDGE + _ROW / 2 if under else _ACROSS + 3 * _EDGE
    rows = "".join(
        _row(placed, line, left, top + _ROW * (at + 0.5))
        for at, (placed, line) in enumerate(zip(section.placed, lines, strict=True))
    )
    title = html.escape(f"{section.name}, cut across")
    told = html.escape("; ".join(f"{placed.number} {line}" for placed, line in zip(section.placed, lines, strict=True)))
    return (
        f'<svg class="wc-cable" role="img" aria-label="{title}: {told}" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}" font-family="sans-serif" font-size="{_TEXT:g}" '
        'style="max-width:100%;height:auto;-webkit-print-color-adjust:exact;print-color-adjust:exact">'
        f"<title>{title}</title><desc>{told}</desc>"
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_ACROSS / 2:.1f}" fill="{JACKET}" stroke="{OUTLINE}"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{section.inner_m / 2 * scale + 1:.1f}" fill="{INSIDE}" '
        f'stroke="{OUTLINE}"/>'
        f"{circles}{rows}</svg>"
    )


def _line(placed: Placed, uses: Mapping[str, str] | None) -> str:
    """A conductor in words."""
    line = f"{placed.core.name}, {placed.core.conductor.label}"
    return line if uses is None else f"{line}: {uses.get(placed.core.name, 'spare')}"


def _conductor(placed: Placed, x: float, y: float, scale: float) -> str:
    """Insulation with its stripe, metal, number."""
    outer, metal = (
        placed.outer_m / 2 * scale - 0.75,
        placed.metal_m / 2 * scale,
    )  # lines of touching circles side by side
    name = html.escape(f"{placed.number}: {placed.core.name}")
    size = min(1.1 * metal, 1.3 * metal / len(str(placed.number)))
    return (
        f"<g><title>{name}</title>{_ring(placed, x, y, outer)}"
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{metal:.1f}" fill="{METAL}" stroke="{OUTLINE}"/>'
        f'<text x="{x:.1f}" y="{y:.1f}" dy="0.35em" font-size="{size:.1f}" text-anchor="middle" '
        f'fill="{ON_METAL}">{placed.number}</text></g>'
    )


def _ring(placed: Placed, x: float, y: float, radius: float) -> str:
    """A disc in the insulation's colour; its stripe as two sectors, left and right."""
    colour = html.escape(placed.core.colour)
    parts = [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{colour}" stroke="{OUTLINE}"/>']
    if placed.core.stripe:
        dx, dy = radius * math.cos(_STRIPE), radius * math.sin(_STRIPE)
        for side in (1, -1):
            parts.append(
                f'<path d="M{x:.1f} {y:.1f}L{x + side * dx:.1f} {y - side * dy:.1f}'
                f'A{radius:.1f} {radius:.1f} 0 0 1 {x + side * dx:.1f} {y + side * dy:.1f}Z" '
                f'fill="{html.escape(placed.core.stripe)}"/>'
            )
    return "".join(parts)


def _row(placed: Placed, line: str, left: float, y: float) -> str:
    """A line of the list: the colour again, the number, the words."""
    radius = 0.36 * _ROW
    metal = f'r="{0.62 * radius:.1f}" fill="{METAL}" stroke="{OUTLINE}" stroke-width="0.5"'
    number = f'dy="0.35em" font-size="9" text-anchor="middle" fill="{ON_METAL}"'
    return (
        f'<g>{_ring(placed, left, y, radius)}<circle cx="{left:.1f}" cy="{y:.1f}" {metal}/>'
        f'<text x="{left:.1f}" y="{y:.1f}" {number}>{placed.number}</text>'
        f'<text x="{left + 0.7 * _ROW:.1f}" y="{y:.1f}" dy="0.35em" fill="{_INK}">{html.escape(line)}</text></g>'
    )
