"""The bench's bundle: will these wires pass that opening, drawn to scale, and how tightly may they bend."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.address import Listed, named
from dashboards.panels.controls.chart import Charts, Picture
from dashboards.panels.controls.colours import BAD, EDGE, GOOD, INK, PATTERNS, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, together
from dashboards.panels.controls.fields import LengthEntry, choice
from dashboards.panels.controls.numbers import Numbers, number, to_html
from dashboards.panels.controls.sizes import in_system
from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.wire import packing
from wirecalc.wire.as_sold import SOLD, ordinary_outer_m, show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cable import FOOT_M
from wirecalc.wire.cautions import CAUTIONS
from wirecalc.wire.conductor import conductor
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.packing import Passage
from wirecalc.workings.packing import opening_working

MOST_ROWS = 6
_LOOKS = {"passes easily": "wc-fine", "passes tightly": "wc-borderline"} | dict.fromkeys(
    ("no way found", "cannot pass"), "wc-too-thin"
)
_TURN = np.linspace(0, 2 * np.pi, 49)
_START = ((8, ("AWG", 18.0)), (1, ("AWG", 8.0)))
_UNUSED = ("AWG", 16.0)
_MIND = (
    "A hole through metal needs a grommet or edge protection, and its free opening counts, not the drill. A plug or "
    "lug on the wire's end must pass too: pull first, crimp after."
)

What = tuple[str, float]
"""A size as `units.read_standard_size` gives it, or ("outer", diameter over the insulation in m)."""


@dataclass(frozen=True)
class Row:
    """A number of wires of one kind."""

    count: int
    what: What
    thin: bool = False
    """With the thin wall of vehicle makers' wire, not that of ordinary wire."""

    @property
    def outer_m(self) -> float:
        """Diameter over the insulation: as measured, else as its type has it, else with its wall. [m]"""
        if self.what[0] == "outer":
            return self.what[1]
        if self.what in SOLD and not np.isnan(SOLD[self.what].outer_m):
            return SOLD[self.what].outer_m
        core = conductor(*self.what)
        return float(
            insulated([core], INSULATIONS["pvc_80"]).outer_m[0] if self.thin else ordinary_outer_m(core.area_m2)
        )


def read_what(text: str, label: str) -> What:
    """A size, or an outer diameter with its unit."""
    low, high = packing.THINNEST_M, packing.THICKEST_M
    try:
        return "outer", units.read(text, label, units.LENGTH, low=low, high=high)
    except InputError as as_length:
        try:
            size = read_size(text, label)
            conductor(*size)  # a metric size must be in the table
            return size
        except InputError as as_size:
            try:
                units.read(text, label, units.LENGTH)
            except InputError:
                raise as_size from None
            raise as_length from None


def show_what(what: What, feet: bool = False) -> str:
    """The inverse of `read_what`."""
    return units.show(what[1], units.LENGTH, feet=feet) if what[0] == "outer" else show_size(*what)


def compute(rows: Sequence[Row], opening_m: float) -> Passage:
    """Pack all rows, in their order, and hold them against the opening."""
    return packing.through_opening(np.repeat([row.outer_m for row in rows], [row.count for row in rows]), opening_m)


def bundle_chart(passage: Passage, rows: Sequence[Row], feet: bool = False) -> Picture:
    """Traces and layout: the opening, the circle around, and the wires of each row; always as many traces."""
    packed = passage.packing
    passes = packed.diameter_m <= passage.opening_m
    colour = GOOD if passes else BAD
    traces = [
        # over the wires, which hide one that is too small
        {**_circle("opening", passage.opening_m / 2, {"color": colour, "width": 4}), "zorder": 1},
        _circle("bundle", packed.around_m, {"color": INK, "width": 1.5, "dash": "dash"}),
    ]
    ends = np.cumsum([row.count for row in rows])
    for place in range(MOST_ROWS):
        has = place < len(rows) and rows[place].count > 0
        part = slice(ends[place] - rows[place].count, ends[place]) if has else slice(0, 0)
        x, y = _rounds(packed.x_m[part], packed.y_m[part], packed.radius_m[part])
        name = f"{rows[place].count} × {show_what(rows[place].what, feet)}" if has else ""
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": name,
                "x": x,
                "y": y,
                "fill": "toself",
                "fillcolor": SERIES[place],
                "fillpattern": {"shape": PATTERNS[place], "bgcolor": SERIES[place], "fgcolor": EDGE, "size": 6},
                "line": {"color": INK, "width": 0.5},
                "hoverinfo": "name",
                "showlegend": has,
            }
        )
    reach = 0.55e3 * max(passage.opening_m, packed.diameter_m)
    layout = {
        "title": {"text": "The bundle in its opening"},
        "meta": passage.in_words(feet=feet),
        "xaxis": {"visible": False, "range": [-reach, reach], "constrain": "domain"},
        "yaxis": {"visible": False, "range": [-reach, reach], "scaleanchor": "x", "constrain": "domain"},
        "hovermode": "closest",
        "showlegend": True,
        "legend": {"orientation": "h", "y": -0.05, "yanchor": "top", "x": 0},
    }
    return traces, layout


def _circle(name: str, radius_m: float, line: dict[str, Any]) -> dict[str, Any]:
    x, y = _rounds(np.zeros(1), np.zeros(1), np.full(1, radius_m))
    return {"type": "scatter", "mode": "lines", "name": name, "x": x, "y": y, "line": line, "hoverinfo": "name"}


def _rounds(
    x_m: NDArray[np.float64], y_m: NDArray[np.float64], radius_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Outlines of circles as one line, with nan between them. [mm]"""
    turn = np.append(_TURN, np.nan)
    x = x_m[:, None] + radius_m[:, None] * np.cos(turn)
    y = y_m[:, None] + radius_m[:, None] * np.sin(turn)
    return 1e3 * x.ravel()[:-1], 1e3 * y.ravel()[:-1]


def sentence(passage: Passage, rows: Sequence[Row], feet: bool = False) -> str:
    """The verdict, how tightly the bundle may bend, and what to mind, as HTML."""
    parts = [f"<p class='wc-told' role='status'>{html.escape(passage.in_words(feet=feet))}</p>"]
    used = [row for row in rows if row.count]
    if any(row.what[0] != "outer" for row in used):
        sized = (row for row in used if row.what[0] != "outer")
        sizes = ", ".join(f"{show_what(row.what)} {_across(row.outer_m, feet)}" for row in sized)
        walls = "the thin walls of ISO 6722-1" if rows[0].thin else "the walls of ordinary wire, SAE J1128 type GPT"
        parts.append(
            f"<p>Outer diameters with {walls}: {html.escape(sizes)}. Yours may differ: measure it and enter the"
            " diameter.</p>"
        )
    bends = "".join(
        f"<li>{html.escape(bend.where)}: {_across(bend.radius_m, feet, 0)}"
        f" <small>({html.escape(bend.source)})</small></li>"
        for bend in packing.bends(passage.packing)
    )
    parts.append(f"<p>Tightest bend, to its inside; the wire maker's own figure comes first:</p><ul>{bends}</ul>")
    for text in (_MIND, CAUTIONS["hot bundle"]):
        parts.append(f"<p class='wc-caution' role='note'>{html.escape(text)}</p>")
    return "".join(parts)


def _across(length_m: float, feet: bool, decimals: int = 1) -> str:
    """A small length in the page's unit."""
    return units.show(length_m, units.LENGTH, feet=True) if feet else f"{1e3 * length_m:.{decimals}f} mm"


def tiles(passage: Passage, feet: bool = False) -> str:
    """Diameter and fill in figures, as HTML; the fill opens to where it comes from."""
    fill = number(f"{100 * passage.fill:.0f}", "fill")
    across, unit = _across(passage.packing.diameter_m, feet).rsplit(" ", 1)
    return (
        "<section class='wc-tiles wc-three' aria-label='This bundle'>"
        f"<h2 class='wc-verdict {_LOOKS[passage.ease]}'>{len(passage.packing.radius_m)} wires: {passage.ease}</h2>"
        f"<div><strong>{across}</strong> <span>{unit}</span><small>smallest bundle found</small>"
        f"</div><div><strong>{fill}</strong> <span>%</span><small>of the opening's area</small></div></section>"
    )


class BundlePanel:
    """Rows of wires and an opening -> Passage -> verdict and drawing. `compute` is handed in for tests."""

    def __init__(self, compute: Callable[[Sequence[Row], float], Passage] = compute) -> None:
        self.compute = compute
        self._passage: Passage | None = None
        self.feet = False
        self.counts: list[Entry[int]] = []
        self.whats: list[Entry[What]] = []
        boxes = []
        for place in range(MOST_ROWS):
            count, what = _START[place] if place < len(_START) else (0, _UNUSED)
            self.counts.append(self._count(f"Wires, row {place + 1}", count))
            self.whats.append(self._what(f"Size or diameter, row {place + 1}", what))
            box = w.VBox([self.counts[-1].view, self.whats[-1].view])
            if place >= len(_START):
                box.add_class("wc-shut")
            boxes.append(box)
        self.rows_box = w.VBox(boxes)
        self.rows_box.add_class("wc-own")
        self.more = Press("One more row", lambda: self._open_row())
        self.opening = LengthEntry(
            "Opening, inner diameter", 0.02, start_ft=0.75 / 12, low=0.5e-3, high=0.5, small=True,
            stops=tuple(step * 1e-3 for step in range(4, 61)),
            foot_stops=tuple(step * FOOT_M / 96 for step in range(1, 20)),  # eighths of an inch
            help="of the grommet or tube, in mm or inches",
        )  # fmt: skip
        self.walls = choice("Walls of the wire", [("ordinary", False), ("thin", True)], False)
        self.fields = named(
            opening=self.opening,
            walls=Listed(self.walls, lambda thin: "thin" if thin else "ordinary"),
            **{f"count_{row}": entry for row, entry in enumerate(self.counts, 1)},
            **{f"size_{row}": entry for row, entry in enumerate(self.whats, 1)},
        )
        self.alert, self.told = w.HTML(), w.HTML()
        self.tiles = Numbers(answer=self.work)
        self.chart = Charts(height=420)
        self.chart.add_class("wc-one")
        self.refresh()
        entries: tuple[Entry[Any], ...] = (*self.counts, *self.whats, self.opening)
        for entry in entries:
            entry.changed = self.refresh
        for place, entry in enumerate(self.counts[len(_START) :], len(_START)):
            entry.changed = functools.partial(self._used, place)
        top = w.VBox([self.tiles, self.alert])
        top.add_class("wc-top")
        ask = w.VBox([self.opening.view, self.rows_box, self.more, self.walls])
        self.walls.observe(lambda _change: self.refresh(), "value")
        ask.add_class("wc-ask")
        show = w.VBox([self.told, self.chart])
        show.add_class("wc-show")
        self.view = w.Box([top, ask, show])
        self.view.add_class("wc-page")

    def _count(self, label: str, start: int) -> Entry[int]:
        return Entry(
            label,
            lambda text: int(units.read(text, label, units.COUNT, low=0, high=packing.MOST_WIRES)),
            str,
            start,
            help="how many; 0 for none",
        )

    def _what(self, label: str, start: What) -> Entry[What]:
        return Entry(
            label, lambda text: read_what(text, label), show_what, start, help="16 AWG, 2.5 mm2, or 5.2 mm over all"
        )

    def use_units(self, feet: bool, system: str = "") -> None:
        """Diameters in inches or in millimetres; with `system` the sizes in AWG or mm²."""
        self.feet = feet
        with together(self, self.refresh):
            self.opening.use_feet(feet)
            for what in self.whats:
                if system and what.value[0] != "outer":
                    what.set(in_system(what.value, system))
                else:
                    what.rewrite()

    def _shut(self) -> list[w.Widget]:
        return [box for box in self.rows_box.children if "wc-shut" in box._dom_classes]

    def _open_row(self) -> None:
        for box in self._shut()[:1]:
            box.remove_class("wc-shut")
        self.more.disabled = not self._shut()

    def _used(self, place: int) -> None:
        """Whether a row has a number of wires; it may have come with the address."""
        while self.rows_box.children[place] in self._shut():
            self._open_row()
        self.refresh()

    def rows(self) -> tuple[Row, ...]:
        """What the entries say now, the last good value of each; `InputError` where there is no wire or too many."""
        thin = bool(self.walls.value)
        rows = tuple(Row(count.value, what.value, thin) for count, what in zip(self.counts, self.whats, strict=True))
        total = sum(row.count for row in rows)
        if not 1 <= total <= packing.MOST_WIRES:
            raise InputError("Wires in all", total, f"1 to {packing.MOST_WIRES}", "Change the number in a row.")
        return rows

    def work(self, _key: str) -> str:
        """Where the fill comes from, as HTML."""
        assert self._passage is not None
        return to_html(opening_working(self._passage))

    @guarded
    def refresh(self) -> None:
        """Pack and draw."""
        rows = self.rows()
        passage = self.compute(rows, self.opening.value)
        self.chart.redraw(bundle_chart(passage, rows, self.feet))
        self._passage = passage
        self.tiles.html = tiles(passage, self.feet)
        self.told.value = sentence(passage, rows, self.feet)
        self.alert.value = ""
