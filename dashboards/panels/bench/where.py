"""A stripped piece of wire, drawn: where the three readings are taken that tell most, and three more."""

from __future__ import annotations

import html

_PLACES = (
    (94, 24, "1", "Count the strands"),
    (94, 176, "2", "Measure one strand across"),
    (346, 24, "3", "Ohms from end to end, and how long it is"),
)
_STRANDS = ((0, 0), (0, -17), (15, -8), (15, 9), (0, 17), (-15, 9), (-15, -8))


def drawing() -> str:
    """As HTML, a figure whose words are said once to a screen reader; on a phone they stand under it, see page.css."""
    told = "; ".join(f"{number} {words}" for _, _, number, words in _PLACES)
    strands = "".join(f"<circle cx='{94 + x}' cy='{100 + y}' r='8.5' class='wc-strand'/>" for x, y in _STRANDS)
    fan = "".join(f"<path d='M190 100C220 {100 + y / 3:.0f} 235 {100 + y} 262 {100 + y}'/>" for y in (-27, -9, 9, 27))
    labels = "".join(
        f"<g><circle cx='{x - 76}' cy='{y - 5}' r='12' class='wc-dot'/><text x='{x - 76}' y='{y}' class='wc-at'>"
        f"{number}</text><text x='{x - 58}' y='{y}'>{html.escape(words)}</text></g>"
        for x, y, number, words in _PLACES
    )
    listed = "".join(f"<li>{html.escape(words)}</li>" for *_, words in _PLACES)
    return (
        f"<figure class='wc-where'><svg viewBox='0 0 640 196' role='img' aria-label='{html.escape(told)}'>"
        f"<circle cx='94' cy='100' r='32' class='wc-coat'/>{strands}"
        "<path d='M94 32v18' class='wc-lead'/>"
        "<path d='M60 109l10 0M88 109h10M79 150v8M52 158h54' class='wc-lead'/><path d='M70.5 118v32M87.5 118v32'"
        " class='wc-lead'/>"
        f"<g class='wc-fan'>{fan}</g><path d='M262 76h330v48H262z' class='wc-coat'/>"
        "<path d='M592 100h22' class='wc-fan'/>"
        "<path d='M190 46v34M614 46v40M190 58h424M198 53l-8 5 8 5M606 53l8 5-8 5' class='wc-lead'/>"
        f"{labels}</svg><ol aria-hidden='true'>{listed}</ol>"
        "<figcaption>Enter the first reading; each further one makes it surer. Under More readings:"
        " mass, bare and outer diameter, the meter, the label.</figcaption></figure>"
    )
