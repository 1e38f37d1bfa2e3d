"""A cable's conductors in the order of its plug, each with a line to what it feeds, as SVG text."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence

from wirecalc.wire.cable_types import Core
from wirecalc.wire.multicore import Allocation

_ROW, _EDGE, _TEXT, _LETTER = 30.0, 8.0, 15.0, 8.6  # letters of a sans-serif face; in the picture's own units
_LINE_WIDE, _BOX_GAP = 150.0, 8.0
_INK, _SOFT, _CARD = "var(--wc-ink)", "var(--wc-soft)", "var(--wc-card)"


def plug_picture(allocation: Allocation, ends: Mapping[str, str]) -> str:
    """Draw the plug at the left, what its contacts feed at the right.

    Parameters
    ----------
    allocation : Allocation
    ends : mapping of str to str
        Where each circuit of it ends, by the circuit's name: "Front left speaker".

    Returns
    -------
    str
        An `<svg>` element that loads nothing; it says in words what its lines show.
    """
    cores = allocation.cable.cores
    contacts = {core.name: (at, core) for at, core in enumerate(cores)}
    carried = [use for use in allocation.uses if use.carried]
    middle = {use.circuit.name: _mean([contacts[core.name][0] for _, core in use.cores]) for use in carried}
    carried.sort(key=lambda use: middle[use.circuit.name])  # so that as few lines as may be cross
    names = [f"{at + 1} {core.name}" for at, core in enumerate(cores)]
    titles = {use.circuit.name: (use.circuit.name, ends.get(use.circuit.name, "")) for use in carried}
    left = _EDGE + _LETTER * max(map(len, names)) + 12
    right = left + 26 + _LINE_WIDE
    letters = max((len(part) for title in titles.values() for part in title), default=0)
    width = right + 34 + _LETTER * letters + _EDGE
    tall = [max(len(use.cores), 2) * _ROW for use in carried]
    height = max(len(cores) * _ROW, sum(tall) + _BOX_GAP * max(len(tall) - 1, 0)) + 2 * _EDGE
    top = (height - len(cores) * _ROW) / 2
    y = (height - sum(tall) - _BOX_GAP * max(len(tall) - 1, 0)) / 2
    lines, boxes, descriptions = [], [], []
    for use, box in zip(carried, tall, strict=True):
        title, end = titles[use.circuit.name]
        boxes.append(_box(right, y, width - right - _EDGE, box, title, end))
        inset = (box - len(use.cores) * _ROW) / 2
        for place, (way, core) in enumerate(sorted(use.cores, key=lambda pair: contacts[pair[1].name][0])):
            near, far = top + (contacts[core.name][0] + 0.5) * _ROW, y + inset + (place + 0.5) * _ROW
            lines.append(_line(left + 26, near, right, far, core))
            boxes.append(_text(right + 12, far, way, "middle"))
            descriptions.append(f"{contacts[core.name][0] + 1} {core.name} to {title} {way}".rstrip())
        y += box + _BOX_GAP
    spare = {core.name for core in allocation.spare}
    descriptions += [f"{contacts[name][0] + 1} {name} spare" for name in contacts if name in spare]
    plug = (
        f"<rect x='{left:.0f}' y='{top:.0f}' width='26' height='{len(cores) * _ROW:.0f}' rx='6' fill='none'"
        f" stroke='{_SOFT}'/>"
    )
    rows = "".join(
        _text(left - 8, top + (at + 0.5) * _ROW, name, "end")
        + _contact(left + 13, top + (at + 0.5) * _ROW, core)
        + (_text(left + 34, top + (at + 0.5) * _ROW, "spare", "start", soft=True) if core.name in spare else "")
        for at, (name, core) in enumerate(zip(names, cores, strict=True))
    )
    told = html.escape(f"{allocation.cable.name}, in the order of the plug: {'; '.join(descriptions)}", quote=True)
    return (
        f"<svg class='wc-plug' role='img' aria-label='{told}' viewBox='0 0 {width:.0f} {height:.0f}'"
        f" width='{width:.0f}' height='{height:.0f}' font-family='sans-serif' font-size='{_TEXT:g}'"
        f" style='max-width:100%;height:auto'>{plug}{''.join(lines)}{''.join(boxes)}{rows}</svg>"
    )


def _mean(places: Sequence[int]) -> float:
    return sum(places) / len(places)


def _line(x: float, y: float, far_x: float, far_y: float, core: Core) -> str:
    """In the conductor's colour, with an edge so that white and black are seen on any ground; its stripe in dashes."""
    bend = (far_x - x) / 2
    curve = f"{x + bend:.1f} {y:.1f} {far_x - bend:.1f} {far_y:.1f} {far_x:.1f} {far_y:.1f}"
    path = f"d='M{x:.1f} {y:.1f}C{curve}' fill='none'"
    strokes = [(_SOFT, 6.0, ""), (core.colour, 4.0, "")]
    strokes += [(core.stripe, 2.0, " stroke-dasharray='9 6'")] if core.stripe else []
    return "".join(
        f"<path {path} stroke='{html.escape(colour)}' stroke-width='{wide:g}'{dash}/>" for colour, wide, dash in strokes
    )


def _contact(x: float, y: float, core: Core) -> str:
    stripe = (
        f"<path d='M{x - 7:.1f} {y:.1f}H{x + 7:.1f}' stroke='{html.escape(core.stripe)}' stroke-width='4'/>"
        if core.stripe
        else ""
    )
    return (
        f"<circle cx='{x:.1f}' cy='{y:.1f}' r='8' fill='{html.escape(core.colour)}' stroke='{_SOFT}'"
        f" stroke-width='1.5'/>{stripe}"
    )


def _box(x: float, y: float, wide: float, tall: float, title: str, end: str) -> str:
    return (
        f"<rect x='{x:.1f}' y='{y:.1f}' width='{wide:.1f}' height='{tall:.1f}' rx='6' fill='{_CARD}' stroke='{_SOFT}'/>"
        + _text(x + 26, y + tall / 2 - (10 if end else 0), title, "start")
        + (_text(x + 26, y + tall / 2 + 10, end, "start", soft=True) if end else "")
    )


def _text(x: float, y: float, text: str, anchor: str, *, soft: bool = False) -> str:
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' dy='0.35em' text-anchor='{anchor}' fill='{_SOFT if soft else _INK}'>"
        f"{html.escape(text)}</text>"
    )
