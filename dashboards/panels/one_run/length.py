"""The tab Length: what a run does against its length for several sizes, in charts, words and a table."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.cautions import cautions_html
from dashboards.panels.controls.chart import Charts
from dashboards.panels.controls.colours import BAD, EDGE, HERE
from dashboards.panels.controls.numbers import Numbers, number, of_this, opening
from dashboards.panels.controls.sizes import MOST_DRAWN
from dashboards.panels.controls.table import Cell, Html, html_table
from dashboards.panels.one_run.line_ends import audible, names
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs, units
from wirecalc.circuits.circuit import rule_of_thumb_drop_v, without_wire_a
from wirecalc.runs import words
from wirecalc.wire.cable import FOOT_M, LONGEST_M
from wirecalc.wire.conductor import ohms_per_metre

Array = NDArray[np.float64]

POINTS = 200
_ENDS_M = (3.0, 6.0, 10.0, 15.0, 25.0, 50.0, LONGEST_M)  # where the length axis may end
_ENDS_FT = (10.0, 20.0, 30.0, 50.0, 80.0, 160.0, LONGEST_M / FOOT_M)
_FALLING = ("loss_db", "treble_loss_db", "drop_v")  # losses, drawn downwards from 0
_FLAT = 0.02  # a chart whose lines differ by less is a flat line
_UNHEARD_DB = 0.04  # a tenth of what few people hear, data/limits.csv
NO_CHART = "No chart: it would be flat. Whichever of these sizes and lengths you take, it makes no difference here."
_FROM_ZERO = (*_FALLING, "load_w", "output_w", "damping_factor")


@dataclass(frozen=True, kw_only=True)
class LengthAnswer:
    """A situation, solved over length.

    Each measure is (1 + drawn sizes, `POINTS` + 1); row 0 and the last column are this run's size and length.
    """

    situation: RunRequest
    length_m: Array
    wire_ohm: Array
    measures: runs.Measures

    def at(self, measure: str) -> float:
        """This run's value."""
        return float(self.measures[measure][0, -1])


def compute(situation: RunRequest) -> LengthAnswer:
    """All numbers of the tab in one call of the run's model."""
    per_unit = FOOT_M if situation.feet else 1.0
    ends = np.array(_ENDS_FT if situation.feet else _ENDS_M) * per_unit
    end_m = ends[np.searchsorted(ends, min(1.15 * situation.laid.length_m, ends[-1]))]
    length_m = np.append(np.linspace(end_m / POINTS, end_m, POINTS), situation.laid.length_m)
    wire_ohm = runs.wire_ohm(situation.conductors, situation.laid, length_m)
    measures = runs.measured(situation.run, situation.conductors, situation.laid, length_m)
    return LengthAnswer(situation=situation, length_m=length_m, wire_ohm=wire_ohm, measures=measures)


def chart(answer: LengthAnswer, measure: str) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout of one measure against length.

    The traces are always as many: `MOST_DRAWN` lines, this run's, the mark at this length, and what is needed.
    """
    situation, what = answer.situation, runs.MEASURES[measure]
    unit, per_unit = ("ft", FOOT_M) if situation.feet else ("m", 1.0)
    x = answer.length_m / per_unit
    lines = _size_lines(answer, measure, x[:-1])
    traces = [*lines, _here(answer, measure, float(x[-1])), _needed(situation, measure, float(x[-2]))]
    top, bottom = _ends_of(answer, measure)
    zones, zone_names = audible(bottom) if measure == "loss_db" else ([], [])
    layout: dict[str, Any] = {
        "title": {"text": f"{what.name} by length"},
        "meta": f"{what.name} by length, a line for each size drawn; the table has the values",
        "xaxis": {
            "title": {"text": f"Run length, one way ({unit})"},
            "range": [0.0, float(x[-2])],
            "hoverformat": ".3g",
            "unifiedhovertitle": {"text": f"%{{x:.3~r}} {unit} one way"},  # `hoverformat` is not its own
        },
        "yaxis": {
            "title": {"text": f"{what.name} ({what.unit})" if what.unit else what.name},
            "range": [bottom, top],
        },
        "margin": {"r": 104},
        "shapes": zones,
        "annotations": [*zone_names, *names(_named_ends(answer, measure), top, bottom)],
    }
    return traces, layout


def _ends_of(answer: LengthAnswer, measure: str) -> tuple[float, float]:
    """Top and bottom of the axis: a loss falls from 0, whatever else has room for all its lines."""
    y = answer.measures[measure]
    y = y[np.isfinite(y)]
    low, high = (float(y.min()), float(y.max())) if y.size else (0.0, 1.0)
    needed = answer.situation.run.needed(measure)
    if needed is not None:
        low, high = min(low, needed), max(high, needed)
    if measure in _FALLING:
        return 0.0, 1.05 * high or 1.0
    low = min(low, 0.0) if measure in _FROM_ZERO else low
    room = 0.06 * (high - low) or 0.5
    return high + room, low if low == 0 else low - room


def _named_ends(answer: LengthAnswer, measure: str) -> list[tuple[str, float, bool]]:
    """The name of each line that is drawn and where it ends; beside a level lost, the watts that it leaves."""
    situation, y, watt = answer.situation, answer.measures[measure], answer.measures.get("load_w")
    both = measure == "loss_db" and watt is not None and "load_w" in situation.run.drawn

    def named(label: str, row: int) -> str:
        return f"{label}, {words.watts(float(watt[row, -2]))} W" if both and watt is not None else label

    ends = [(label, row, this) for label, row, this in situation.names if np.isfinite(y[row, -2])]
    return [(named(label, row), float(y[row, -2]), this) for label, row, this in ends]


def shown(answer: LengthAnswer) -> tuple[str, ...]:
    """Measures that are drawn: power stands beside level; what is the same for all sizes and lengths makes no chart."""
    all_of = answer.situation.run.drawn
    drawn = [measure for measure in all_of if measure != "load_w" or "loss_db" not in all_of]
    return tuple(measure for measure in drawn if _tells(measure, answer.measures[measure]))


def _tells(measure: str, y: Array) -> bool:
    y = y[np.isfinite(y)]
    if measure in ("loss_db", "treble_loss_db") and y.size and float(abs(y).max()) < _UNHEARD_DB:
        return False
    return bool(y.size) and float(np.ptp(y)) > _FLAT * float(abs(y).max())


def _size_lines(answer: LengthAnswer, measure: str, lengths: Array) -> list[dict[str, Any]]:
    """A line for each drawn size, hidden ones up to `MOST_DRAWN`, and this run's."""
    situation, what, y = answer.situation, runs.MEASURES[measure], answer.measures[measure]
    hover = f"%{{y:.{what.decimals}f}} {what.unit}".rstrip()
    line = {"type": "scatter", "mode": "lines", "hovertemplate": hover}
    traces: list[dict[str, Any]] = [
        {
            **line,
            "name": look.label,
            "visible": True,
            "x": lengths,
            "y": y[row, :-1],
            "line": {"color": look.colour, "width": look.width, "dash": look.dash},
        }
        for row, look in enumerate(situation.drawn, start=1)
    ]
    traces += [{**line, "name": "", "visible": False} for _ in range(MOST_DRAWN - len(traces))]
    this_run = {
        **line,
        "name": f"{situation.label}, this run",
        "x": lengths,
        "y": y[0, :-1],
        "line": {"color": HERE, "width": 5},
    }
    return [*traces, this_run]


def _here(answer: LengthAnswer, measure: str, length: float) -> dict[str, Any]:
    """The mark at this run's length, on a line down to the bottom of the chart."""
    y = answer.measures[measure][0]
    foot = 0.0 if measure in _FROM_ZERO else float(np.nanmin(y)) if np.isfinite(y).any() else 0.0
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": "this run",
        "x": [length] * 2,
        "y": [foot, float(y[-1])],
        "line": {"color": HERE, "width": 1.5, "dash": "dot"},
        "marker": {"color": HERE, "size": [0, 14], "line": {"color": EDGE, "width": 2}},
        "hoverinfo": "skip",
    }


def _needed(situation: RunRequest, measure: str, longest: float) -> dict[str, Any]:
    """What the far end needs, across the whole chart; hidden where nothing is needed."""
    needed = situation.run.needed(measure)
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "needed",
        "visible": needed is not None,
        "x": [0.0, longest],
        "y": [needed or 0.0] * 2,
        "line": {"color": BAD, "width": 2, "dash": "dashdot"},
        "hovertemplate": f"needed: %{{y:.4~r}} {runs.MEASURES[measure].unit}",
    }


def sentence(answer: LengthAnswer) -> str:
    """What a customer is told, and what the installer minds, as HTML."""
    situation = answer.situation
    here = {name: float(value[0, -1]) for name, value in answer.measures.items()}
    told = situation.run.sentence(
        here, situation.this.label, situation.laid, float(answer.wire_ohm[0, -1]), mark=of_this
    )
    paragraphs = f"<p class='wc-told' role='status'>{opening(told)}</p>"
    for caution in (*situation.cautions, *situation.run.cautions(here, mark=of_this)):
        paragraphs += f"<p class='wc-caution' role='note'>{opening(caution)}</p>"
    return paragraphs + cautions_html(situation.work())


def length_table(answer: LengthAnswer) -> dict[str, Array]:
    """Every drawn size at this run's length, this run first; a column a measure, by its key, in its unit.

    "place" is where a size stands among the situation's conductors.
    """
    situation = answer.situation
    loop = answer.wire_ohm[:, -1]
    columns: dict[str, Any] = {
        "place": range(len(situation.conductors)),
        "size": [conductor.label for conductor in situation.conductors],
        "area_mm2": [conductor.area_m2 * 1e6 for conductor in situation.conductors],
        "ohm_per_m": ohms_per_metre(situation.conductors, situation.laid.temperature_c),
        "loop_ohm": loop,
    }
    for measure in situation.run.columns:
        if measure == "quick_bound_v":
            bare_a = without_wire_a(answer.at("current_a"), answer.at("loss_db"))
            columns[measure] = rule_of_thumb_drop_v(bare_a, loop)
        else:
            columns[measure] = answer.measures[measure][:, -1]
    once = [i == 0 or conductor != situation.this for i, conductor in enumerate(situation.conductors)]
    return {key: np.asarray(column)[once] for key, column in columns.items()}


def table_html(answer: LengthAnswer) -> str:
    """`table` for the page; every number opens to where it comes from."""
    situation = answer.situation
    unit, per_unit = ("ft", FOOT_M) if situation.feet else ("m", 1.0)
    titles: Mapping[str, tuple[runs.Measure, float]] = {
        "area_mm2": (runs.Measure(name="Metal", unit="mm²", decimals=3), 1.0),
        "ohm_per_m": (runs.Measure(name="One conductor", unit=f"mΩ/{unit}", decimals=3), 1e3 * per_unit),
        "loop_ohm": (runs.Measure(name="Loop", unit="mΩ", decimals=2), 1e3),
        "quick_bound_v": (runs.Measure(name="Rule-of-thumb drop", unit="V", decimals=2), 1.0),
    }
    columns = length_table(answer)
    places, sizes = columns.pop("place"), columns.pop("size")
    heads: list[str] = ["Size"]
    cells: list[list[Cell]] = [[str(size) for size in sizes]]
    for key, column in columns.items():
        what, factor = titles.get(key) or (runs.MEASURES[key], 1.0)
        asked = "ohm_per_ft" if key == "ohm_per_m" and situation.feet else key
        heads.append(f"{what.name} ({what.unit})" if what.unit else what.name)
        cells.append(
            [
                Html(number(what.said(value), f"{asked}:{place}"))
                for place, value in zip(places, column * factor, strict=True)
            ]
        )
    length = units.show(situation.laid.length_m, units.LENGTH, feet=situation.feet)
    caption = f"Every drawn size at {length} one way; this run first"
    return html_table(caption, heads, list(zip(*cells, strict=True)), region="All sizes", kind="wc-as-cards")


class LengthTab:
    """See `dashboards.panels.one_run.request.Tab`. `work` opens a number: key to HTML."""

    title = "Length"

    def __init__(self, work: Callable[[str], str], compute: Callable[[RunRequest], LengthAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self.fields: Fields = {}
        self.told = Numbers(answer=work)
        self.table = Numbers(answer=work)
        self.charts = Charts()
        self.view = w.VBox([self.charts, self.told, self.table])

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        answer = self.compute(situation)
        drawn = shown(answer)
        self.charts.redraw(*(chart(answer, measure) for measure in drawn))
        self.told.html = sentence(answer) + ("" if drawn else f"<p>{NO_CHART}</p>")
        self.table.html = table_html(answer)
