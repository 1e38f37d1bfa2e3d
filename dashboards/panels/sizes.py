"""The sizes that a page can draw side by side: their order, colours, and the boxes that pick them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as w
from plotly.colors import sample_colorscale

from wirecalc.conductor import conductor

Size = tuple[str, float]

AWG_STOPS: tuple[Size, ...] = tuple(("AWG", float(n)) for n in (22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -3))
METRIC_STOPS: tuple[Size, ...] = tuple(
    ("mm2", area) for area in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0)
)
# thin to thick runs warm to cool, about equally light, so that each holds on white and on dark
_RAMP = ["#cf4a3c", "#c4772a", "#9a8b22", "#4f9a4f", "#22978f", "#3f86c9", "#7d6bd0", "#a85fbd"]


@dataclass(frozen=True)
class Drawn:
    """A size that a page offers, and how it is drawn."""

    size: Size
    label: str
    colour: str
    width: float
    dash: str


def _offer() -> tuple[Drawn, ...]:
    found = []
    for stops, dash in ((AWG_STOPS[:10], "solid"), (METRIC_STOPS[:10], "dash")):
        shades = sample_colorscale(_RAMP, len(stops))
        for i, (size, shade) in enumerate(zip(stops, shades, strict=True)):
            found.append(Drawn(size, conductor(*size).label, shade, 1.4 + 0.2 * i, dash))
    return tuple(found)


OFFERED: tuple[Drawn, ...] = _offer()
AT_FIRST: tuple[Size, ...] = tuple(("AWG", float(n)) for n in (22, 18, 16, 14, 12, 10, 8))


class SizePicker:
    """One box a size, coloured as its line, so that the boxes are the charts' legend too."""

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None
        self.boxes = []
        for one in OFFERED:
            box = w.Checkbox(value=one.size in AT_FIRST, description=one.label, indent=False)
            box.add_class("wc-chip")
            box.observe(lambda _change: self.changed(), "value")
            self.boxes.append(box)
        colours = w.HTML("<style>" + "".join(map(_style, range(len(OFFERED)))) + "</style>")
        for i, box in enumerate(self.boxes):
            box.add_class(f"wc-chip-{i}")
        self.row = w.Box(self.boxes)
        self.row.add_class("wc-chips")
        self.view = w.VBox([w.HTML("<h2>Sizes drawn</h2>"), self.row, colours])
        self.view.add_class("wc-picker")

    @property
    def picked(self) -> tuple[bool, ...]:
        """Which of `OFFERED` are drawn."""
        return tuple(box.value for box in self.boxes)


def _style(i: int) -> str:
    one = OFFERED[i]
    line = "dashed" if one.dash == "dash" else "solid"
    return f".wc-chip-{i}{{border-bottom:{one.width + 1:.1f}px {line} {one.colour}}}"
