"""Two choices on the page and on the leaflet: one picture of where the watts go, the numbers, the verdict."""

from __future__ import annotations

import html
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from dashboards.panels.controls.colours import EDGE, INK, SERIES
from dashboards.panels.controls.glossary import unbroken
from dashboards.panels.controls.table import Html, html_table
from wirecalc import units
from wirecalc.hearing import verdict
from wirecalc.hearing.contrast import NAMES, Contrast
from wirecalc.runs import words


def _plain(_left: float, _wide: float, _apart: int) -> str:
    return ""


def _upright(left: float, wide: float, apart: int) -> str:
    return _lines("".join(f"M{left + at:.1f} 0v60" for at in range(apart // 2, int(wide), apart)))


def _level(left: float, wide: float, _apart: int) -> str:
    return _lines("".join(f"M{left:.1f} {at}h{wide:.1f}" for at in range(3, 60, 5)))


def _lines(path: str) -> str:
    return f"<path d='{path}' stroke='{EDGE}' stroke-width='1.5' vector-effect='non-scaling-stroke'/>" if path else ""


# told apart without colour too: by lines across
_PARTS = (
    ("speaker", SERIES[0], _plain),
    ("wire", SERIES[1], _upright),
    ("amplifier", SERIES[5], _level),
    ("never drawn", None, _plain),
)
Array = NDArray[np.float64]
Mark = Callable[[str], str]
"""A plain text to HTML: `dashboards.panels.controls.glossary.marked`, or `html.escape` for paper."""


def picture(contrast: Contrast, feet: bool, mark: Mark) -> str:
    """A bar for each choice, as HTML: the watts at the speaker, in the wire, and in the amplifier itself."""
    whole = max(sum(float(flow[at]) for flow in _flows(contrast)) for at in (0, 1))
    return "<div class='wc-watts'>" + "".join(_bar(contrast, at, whole, feet, mark) for at in (0, 1)) + "</div>"


def _flows(contrast: Contrast) -> tuple[Array, ...]:
    """Watts of each of `_PARTS`; together they are the rating."""
    return contrast.load_w, contrast.wire_w, contrast.amplifier_w, contrast.undrawn_w


def _bar(contrast: Contrast, at: int, whole_w: float, feet: bool, mark: Mark) -> str:
    left = 0.0
    rects, keys, told = [], [], []
    for (name, shade, lines), flow in zip(_PARTS, _flows(contrast), strict=True):
        colour = shade or "none"
        wide = 1000 * float(flow[at]) / whole_w
        key = f"{words.watts(float(flow[at]))} W {name}"
        edge = "" if shade else f" stroke='{INK}' stroke-width='2'"
        rects.append(f"<rect x='{left:.2f}' width='{wide:.2f}' height='60' fill='{colour}'/>{lines(left, wide, 16)}")
        keys.append(
            f"<li><svg width='14' height='14' aria-hidden='true'><rect width='14' height='14' fill='{colour}'{edge}/>"
            f"{lines(0, 14, 5)}</svg>"
            f"{html.escape(unbroken(key))}</li>"
        )
        told.append(key)
        left += wide
    title = f"{NAMES[at]}: {verdict.wire_and_length(contrast, at, feet)}"
    read_out = f"{title}; {', '.join(told)}"
    return (
        f"<figure><figcaption><b>{mark(title)}</b>"
        f"<span><strong>{words.watts(float(contrast.load_w[at]))} W</strong> at the speaker</span></figcaption>"
        f"<svg viewBox='0 0 1000 60' preserveAspectRatio='none' role='img' "
        f"aria-label='{html.escape(read_out)}'>{''.join(rects)}"
        f"<rect width='1000' height='60' fill='none' stroke='{INK}' stroke-width='2'/></svg>"
        f"<ul>{''.join(keys)}</ul><p>{mark(verdict.delivered(contrast, at))}</p></figure>"
    )


def comparison_table(contrast: Contrast, feet: bool, mark: Mark) -> str:
    """The numbers side by side, as HTML."""
    rows: list[tuple[str, list[str]]] = [
        ("Run length, one way", [units.show(choice.length_m, units.LENGTH, feet=feet) for choice in contrast.choices]),
        ("Reach the speaker", [f"{words.watts(value)} W" for value in contrast.load_w.tolist()]),
        ("Heat in the wire", [f"{words.watts(value)} W" for value in contrast.wire_w.tolist()]),
        (
            "Heat in the amplifier’s output",
            [f"{words.watts(value)} W" for value in contrast.amplifier_w.tolist()],
        ),
        (
            "Never drawn, as the circuit resists more",
            [f"{words.watts(value)} W" for value in contrast.undrawn_w.tolist()],
        ),
        ("Lost in the wire", [f"{words.decibels(value)} dB" for value in contrast.loss_db.tolist()]),
        ("Warmth of the wire, with music", [f"{value:.0f} °C" for value in contrast.temperature_c.tolist()]),
    ]
    costs = [choice.cost for choice in contrast.choices]
    if any(cost is not None for cost in costs):
        told = ["not given" if cost is None else verdict.money(cost) for cost in costs]
        rows.insert(-1, ("Cost of the wire", told))  # beside the decibels that it buys
    return html_table(
        "In figures", ("", *NAMES),
        [(Html(mark(title), names_row=True), *map(unbroken, cells)) for title, cells in rows],
        kind="wc-versus",
    )  # fmt: skip


def lead(contrast: Contrast) -> str:
    """The sentence that leads to the verdict, as plain text."""
    return f"{verdict.difference(contrast)} {verdict.cost(contrast)}".rstrip()


def behind(contrast: Contrast, speaker: str) -> str:
    """The sentence on what the numbers rest on, as plain text."""
    return f"{verdict.setting(contrast, speaker)} {verdict.AUDIBLE}"
