"""The sizes that the pages draw side by side: their order and colours, the boxes that pick them, the legend."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

import ipywidgets as w
from plotly.colors import sample_colorscale

from dashboards.panels.acts.choices import Several, Switch
from dashboards.panels.controls.address import ticks
from dashboards.panels.controls.colours import HERE, RAMP, SIZE_DASHES, stroke
from dashboards.panels.controls.lazy_tabs import show_if
from wirecalc import units
from wirecalc.wire.as_sold import ISO, STANDARDS, numbers_of
from wirecalc.wire.conductor import conductor, log_area, metric_sizes_mm2

Size = tuple[str, float]

AWG_STOPS: tuple[Size, ...] = tuple(
    ("AWG", float(n)) for n in (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -2, -3)
)
METRIC_STOPS: tuple[Size, ...] = tuple(
    ("mm2", area) for area in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0)
)
MOST_DRAWN = 10  # lines that can still be told apart

OFFERED: tuple[Size, ...] = (*AWG_STOPS, *METRIC_STOPS)


@lru_cache(maxsize=64)
def stops_of(system: str) -> tuple[Size, ...]:
    """What the slider of a size stops at: the sizes of the system that was typed last, thin to thick."""
    if system == "AWG":
        return AWG_STOPS
    if system == ISO:
        return tuple((ISO, area) for area in metric_sizes_mm2("ISO 6722-1"))
    return tuple((system, number) for number in numbers_of(system)) if system in STANDARDS else METRIC_STOPS


def in_system(size: Size, system: str) -> Size:
    """The size of AWG or mm² that comes nearest in metal; one that is in it, or sold by a type of wire, stays."""
    if size[0] == system or size[0] not in ("AWG", "mm2"):
        return size
    return min(stops_of(system), key=lambda stop: abs(log_area(*stop) - log_area(*size)))


@dataclass(frozen=True)
class SizeLook:
    """A size that is drawn, and how its line looks."""

    size: Size
    label: str
    colour: str
    width: float
    dash: str


@lru_cache(maxsize=256)
def looks(sizes: tuple[Size, ...]) -> tuple[SizeLook, ...]:
    """How the lines of several sizes look beside each other: as far apart in colour as the ramp allows, each dashed
    its own way."""
    shades = sample_colorscale(RAMP, max(len(sizes), 2))
    return tuple(
        SizeLook(size, conductor(*size).label, shade, 1.75 + 0.2 * i, dash)
        for i, (size, shade, dash) in enumerate(zip(sizes, shades, SIZE_DASHES, strict=False))
    )


def _stroke(colour: str, width: float, dash: str) -> str:
    """A piece of a line for a legend, long enough to show its dashes."""
    return (
        f"<svg width='44' height='8' aria-hidden='true'><path d='M0 4H44' fill='none' stroke='{colour}' "
        f"stroke-width='{width:g}' stroke-dasharray='{stroke(dash)}'/></svg>"
    )


class SizePicker:
    """One box a size behind a button, and the legend of those that are drawn."""

    def __init__(self, picked: Iterable[Size]) -> None:
        self.changed: Callable[[], None] = lambda: None
        self._quiet = False
        options = [(conductor(*size).label, size) for size in OFFERED]
        self.boxes = Several(options, description="Sizes compared")
        self.boxes.observe(self._ticked, "value")
        self.part = ticks("sizes drawn", self.boxes, lambda size: units.show_standard_size(*size))
        self.button = Switch("Sizes compared …")
        self.button.observe(self._open, "value")
        self.legend = w.HTML()
        self.note = w.HTML()
        self.row = w.VBox([self.boxes, self.note])
        self.row.add_class("wc-shut")
        head = w.Box([self.legend, self.button])
        head.add_class("wc-legend")
        self.view = w.VBox([head, self.row])
        self.view.add_class("wc-picker")
        self.pick(picked)

    @property
    def picked(self) -> tuple[Size, ...]:
        """What is drawn, in the order of `OFFERED`."""
        return self.boxes.value

    def pick(self, sizes: Iterable[Size]) -> None:
        """Draw these and no others; `changed` is not called."""
        wanted = set(sizes)
        self._quiet = True
        self.boxes.value = tuple(size for size in OFFERED if size in wanted)
        self._quiet = False
        self._say()

    def use(self, system: str) -> None:
        """Draw the same sizes as they are sold in AWG or mm²; `changed` is not called."""
        self.pick(in_system(size, system) for size in self.picked)

    def _open(self, change: dict[str, bool]) -> None:
        show_if(change["new"], self.row)

    def _ticked(self, change: dict[str, tuple[Size, ...]]) -> None:
        if self._quiet:
            return
        before, wanted = change["old"], change["new"]
        self.note.value = ""
        if len(wanted) > MOST_DRAWN:
            self.note.value = f"<div role='alert'>{MOST_DRAWN} lines are the most: take one away first.</div>"
            stay = [size for size in wanted if size in before]
            self.pick([*stay, *(size for size in wanted if size not in before)][:MOST_DRAWN])
            if self.picked == before:
                return
        self._say()
        self.changed()

    def _say(self) -> None:
        lines = "".join(
            f"<li>{_stroke(look.colour, look.width, look.dash)}{html.escape(look.label)}</li>"
            for look in looks(self.picked)
        )
        this = f"<li>{_stroke(HERE, 5, 'solid')}this run</li>"
        self.legend.value = f"<ul class='wc-lines' aria-label='Sizes compared'>{lines}{this}</ul>"
