"""What the two halves of the tab Response share: curves over frequency, numbers in their words, entries in columns."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.chart import BELOW, Picture
from dashboards.panels.controls.colours import EDGE, HERE, INK
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.numbers import number, of_this, opening
from dashboards.panels.controls.sizes import MOST_DRAWN
from dashboards.panels.controls.table import Cell, Html
from dashboards.panels.one_run.line_ends import names
from dashboards.panels.one_run.request import RunRequest
from wirecalc import units
from wirecalc.circuits import response

Array = NDArray[np.float64]

LEGEND = {"showlegend": True, "legend": BELOW}
_ALIKE = 0.02  # of the chart's height: lines that nobody can tell apart
_TICKS_HZ = (20, 50, 200, 500, 2000, 5000, 20000)


def log_axis(title: str, unit: str, low: float, high: float, ticks: Sequence[int]) -> dict[str, Any]:
    """Every setting of an axis that another drawing on the same chart may have set otherwise."""
    return {
        "type": "log",
        "title": {"text": f"{title} ({unit})"},
        "range": [float(np.log10(low)), float(np.log10(high))],
        "tickvals": ticks,
        "ticktext": tuple(f"{tick // 1000}k" if tick >= 1000 else str(tick) for tick in ticks),
        "tickangle": 0,
        "hoverformat": ",.3~r",
        "unifiedhovertitle": {"text": f"%{{x:,.3~r}} {unit}"},
    }


FREQUENCY_AXIS = log_axis("Frequency", "Hz", response.LOWEST_HZ, response.HIGHEST_HZ, _TICKS_HZ)


def titled(title: str) -> dict[str, Any]:
    """The part of a layout that names a chart."""
    return {"title": {"text": title}, "meta": f"{title}; the text below has the values"}


def curve(name: str, x: Any, y: Any, colour: str, form: str, dash: str = "solid") -> dict[str, Any]:
    """A line that is no size's."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": x,
        "y": y,
        "line": {"color": colour, "width": 2.5, "dash": dash},
        "hovertemplate": form,
    }


def mark_at(x: Sequence[float], y: Sequence[float]) -> dict[str, Any]:
    """Points of this run."""
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "this run",
        "showlegend": False,
        "x": x,
        "y": y,
        "marker": {"color": HERE, "size": 14, "line": {"color": EDGE, "width": 2}},
        "hoverinfo": "skip",
    }


def level_chart(here: RunRequest, hz: Array, level_db: Array, furthest: tuple[float, float], against: str) -> Picture:
    """Level over frequency: always `MOST_DRAWN` lines, this run's, and its mark at (Hz, dB)."""
    line = {"type": "scatter", "mode": "lines", "hovertemplate": "%{y:.2f} dB", "x": hz}
    traces: list[dict[str, Any]] = []
    for row, look in enumerate(here.drawn, start=1):
        shape = {"color": look.colour, "width": look.width, "dash": look.dash}
        traces.append({**line, "name": look.label, "visible": True, "y": level_db[row], "line": shape})
    traces += [{**line, "name": "", "visible": False} for _ in range(MOST_DRAWN - len(traces))]
    shape = {"color": INK, "width": 6}
    traces.append({**line, "name": f"{here.label}, this run", "y": level_db[0], "line": shape, "opacity": 0.45})
    traces.append(mark_at([furthest[0]], [furthest[1]]))
    lowest, highest = min(-0.1, float(level_db.min())), max(0.0, float(level_db.max()))
    room = 0.06 * (highest - lowest)  # a flat run is drawn flat: never less than 0.1 dB from end to end
    bottom, top = lowest - room, highest + room
    layout = {
        **titled("Level over frequency"),
        "xaxis": FREQUENCY_AXIS,
        "yaxis": {"title": {"text": f"Level against {against} (dB)"}, "range": [bottom, top]},
        "margin": {"r": 84},
        "annotations": names(_ends(here, level_db[:, -1], top - bottom), top, bottom),
    }
    return traces, layout


def _ends(here: RunRequest, end_db: Array, height_db: float) -> list[tuple[str, float, bool]]:
    """The name of each line and where it ends; one for all where they lie on one another."""
    if len(end_db) > 1 and float(np.ptp(end_db)) < _ALIKE * height_db:
        return [("all sizes", float(end_db[0]), True)]
    return [(label, float(end_db[row]), this) for label, row, this in here.names if np.isfinite(end_db[row])]


def shown(value: float, kind: units.QuantityKind, key: str = "") -> str:
    """A number of this run with its unit, marked where it has a key."""
    text = units.show(value, kind)
    return of_this(text, key) if key else text


def in_hz(value: float, key: str = "") -> str:
    """`shown` as a frequency."""
    return shown(value, units.FREQUENCY, key)


def words_html(told: str, cautions: Sequence[str], notes: Sequence[str]) -> str:
    """A sentence that leads, what must be minded, and a list, as HTML; marked numbers open."""
    minds = "".join(f"<p class='wc-caution' role='status'>{opening(text)}</p>" for text in cautions)
    items = "".join(f"<li>{opening(text)}</li>" for text in notes)
    return f"<p class='wc-told' role='status'>{opening(told)}</p>{minds}<ul>{items}</ul>"


def sizes_table(
    here: RunRequest, columns: Sequence[tuple[str, str, str, Array]]
) -> tuple[list[Cell], list[list[Cell]]]:
    """Heads and rows of a table of every drawn size, this run first.

    Parameters
    ----------
    here : RunRequest
    columns : sequence of (head, key, form, values)
        What is asked for when a number is opened, how it is written, and a value for each of `here.conductors`.
    """
    rows: list[list[Cell]] = []
    for place, conductor in enumerate(here.conductors):
        if place == 0 or conductor != here.this:
            cells = [Html(number(_cell(values[place], form), f"{key}:{place}")) for _, key, form, values in columns]
            rows.append([conductor.label, *cells])
    return ["Size", *(head for head, *_ in columns)], rows


def _cell(value: float, form: str) -> str:
    return form.format(value).replace("-", "−") if np.isfinite(value) else "none"


def listen(part: Entry[Any] | Choice, changed: Callable[[], None]) -> None:
    """Tell of every change."""
    if isinstance(part, Entry):
        part.changed = changed
    else:
        part.observe(lambda _change: changed(), "value")


def in_columns(*parts: Entry[Any] | Choice) -> w.GridBox:
    """Entries and choices in as many columns as there is room for."""
    columns = "repeat(auto-fit, minmax(min(100%, 280px), 1fr))"
    children = [part.view if isinstance(part, Entry) else part for part in parts]
    return w.GridBox(children, layout={"grid_template_columns": columns, "grid_gap": "4px 26px"})


def note(text: str) -> w.HTML:
    """A line of help."""
    line = w.HTML(html.escape(text))
    line.add_class("wc-note")
    return line
