"""Heat and fuse: how warm each size gets, what it may carry, and the fuse that protects it, with its cautions."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as w
import numpy as np
import pandas as pd

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.chart import Charts, Picture
from dashboards.panels.controls.colours import BAD, EDGE, HERE, INK
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.numbers import Numbers, number, of_this, to_html
from dashboards.panels.controls.size_axis import axis_names, labels, level_lines, thin_to_thick
from dashboards.panels.controls.table import Cell, Html, html_table
from dashboards.panels.one_run.heat_words import TABLE, HeatAnswer, degrees, fuse_words, time, verdict
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.thermometer import thermometer
from wirecalc import units
from wirecalc.runs.run_heat import MELT_S, run_heat
from wirecalc.runs.short import Short
from wirecalc.wire.conductor import HOTTEST_C
from wirecalc.workings.measures import working
from wirecalc.workings.melting import onderdonk, preece
from wirecalc.workings.times import in_a_short, warming

_LITTLE = 0.25  # of the way from the air to the insulation's limit: under it there is nothing to draw


def compute(situation: RunRequest) -> HeatAnswer:
    """All numbers of the tab, in one call."""
    heat = run_heat(situation.run, situation.distinct, situation.laid, situation.place, mark=of_this)
    return HeatAnswer(situation=situation, heat=heat)


def _limits(answer: HeatAnswer) -> dict[str, Any]:
    place = answer.situation.place
    limit_c = place.insulation.limit_c
    return level_lines(
        (limit_c, f"insulation’s limit, {limit_c:.0f} °C", BAD, "bottom"),
        (place.ambient_c, f"air, {place.ambient_c:.0f} °C", INK, "top"),
    )


def _range(answer: HeatAnswer, hottest_c: float) -> list[float]:
    """From a little under the air to a little over the limit and all else, so that the names find room."""
    air_c = answer.situation.place.ambient_c
    span = max(answer.situation.place.insulation.limit_c, hottest_c, air_c + 10) - air_c
    return [air_c - 0.18 * span, air_c + 1.14 * span]


def temperature_chart(answer: HeatAnswer) -> Picture:
    """Trace and layout: a bar from the air's temperature up for each size, thin to thick; one without balance ends at
    the end of the model."""
    hot_c = answer.heat.measures["temperature_c"]
    air_c = answer.situation.place.ambient_c
    bar_c = np.where(np.isinf(hot_c), HOTTEST_C, hot_c)
    order, colours = thin_to_thick(answer.heat.conductors, answer.situation.shades)
    names = [axis_names(answer.heat.conductors)[i] for i in order]
    trace = {
        "type": "bar",
        "x": names,
        "y": bar_c[order] - air_c,
        "base": np.full(len(order), air_c),
        "text": ["" if np.isnan(at) else f">{HOTTEST_C:.0f}°" if np.isinf(at) else f"{at:.0f}°" for at in hot_c[order]],
        "customdata": [degrees(at) for at in hot_c[order]],
        "textposition": "outside",
        "constraintext": "none",
        "cliponaxis": False,
        "marker": {"color": colours},
        "hovertemplate": "%{x}: %{customdata}<extra></extra>",
    }
    layout = {
        "xaxis": {"type": "category", "categoryorder": "array", "categoryarray": names, "tickangle": -45},
        "yaxis": {"title": {"text": "Conductor (°C)"}, "range": _range(answer, np.nanmax(bar_c, initial=air_c))},
        "hovermode": "closest",
    }
    return [trace], layout | _limits(answer)


def warm_up_chart(answer: HeatAnswer) -> Picture:
    """Traces and layout: this run's conductor from the air's temperature on, and the mark of its time constant."""
    warm_up = answer.heat.warm_up
    unit, per_unit = ("min", 60.0) if warm_up.time_s[-1] > 180 else ("s", 1.0)
    x, y = warm_up.time_s / per_unit, np.where(np.isinf(warm_up.hot_c), np.nan, warm_up.hot_c)
    at = warm_up.time_constant_s
    marked = np.isfinite(at)
    curve = {
        "type": "scatter",
        "mode": "lines",
        "name": answer.situation.this.label,
        "x": x,
        "y": y,
        "line": {"color": HERE, "width": 3},
        "hovertemplate": "%{y:.0f} °C",
    }
    mark = {
        "type": "scatter",
        "mode": "markers+text",
        "name": "time constant",
        "x": [at / per_unit] if marked else [],
        "y": [warm_up.at_constant_c] if marked else [],
        "text": [f"time constant {time(at)}"] if marked else [],
        "textposition": "bottom right",
        "marker": {"color": HERE, "size": 12, "line": {"color": EDGE, "width": 2}},
        "hoverinfo": "skip",
    }
    layout = {
        "xaxis": {"title": {"text": f"Time under load ({unit})"}, "range": [0.0, float(x[-1])], "hoverformat": ".2~r"},
        "yaxis": {
            "title": {"text": "Conductor (°C)"},
            "range": _range(answer, np.nanmax(y, initial=answer.situation.place.ambient_c)),
        },
    }
    return [curve, mark], layout | _limits(answer)


def warming_of_all(answer: HeatAnswer) -> str | None:
    """What is said where every size compared stays near the air: bars of 45 to 49 °C are no picture. None elsewhere."""
    hot_c, place = answer.heat.measures["temperature_c"], answer.situation.place
    most_c = float(np.nanmax(hot_c, initial=place.ambient_c))
    if not most_c - place.ambient_c < _LITTLE * (place.insulation.limit_c - place.ambient_c):
        return None
    return f"With the usual current every size compared stays between {place.ambient_c:.0f} and {most_c:.0f} °C."


def heat_table(answer: HeatAnswer) -> pd.DataFrame:
    """Every drawn size, this run first; one column a figure, units in its name, currents for one conductor."""
    return pd.DataFrame(
        {
            "Size": labels(answer.heat.conductors),
            "Conductor (°C)": answer.heat.measures["temperature_c"],
            "Carries on average (A)": answer.heat.each_a,
            "May carry, table (A)": answer.heat.allowed.published_a,
            "May carry, balance (A)": answer.heat.allowed.balance_a,
            "Fuse (A)": answer.heat.fuse_a,
            f"Melts in {MELT_S:g} s, Onderdonk (A)": answer.heat.melts_soon_a,
            "Melts at last, Preece (A)": answer.heat.melts_at_last_a,
        }
    )


def _cell(value: float) -> str:
    return f"over {HOTTEST_C:.0f}" if np.isinf(value) else f"{float(f'{value:.3g}'):g}"


COLUMN_KEYS = ("temperature_c", "current_a", "published_a", "balance_a", "fuse_a", "onderdonk", "preece")
"""What is asked for when a number in a column of `heat_table` is opened."""


def table_html(answer: HeatAnswer) -> str:
    """`heat_table` for the page; every number opens to where it comes from."""
    frame = heat_table(answer)
    cells: list[list[Cell]] = [list(frame["Size"])]
    for key, name in zip(COLUMN_KEYS, frame.columns[1:], strict=True):
        # these are not asked of this run or metal; any other value that is missing has a reason, which opens
        unasked = key in ("onderdonk", "preece") or (key == "fuse_a" and "draw_a" not in answer.heat.measures)
        none, why = ("none", "fuse_headroom_a") if key == "fuse_a" else (units.NO_VALUE, key)
        cells.append(
            [
                units.NO_VALUE
                if np.isnan(value) and unasked
                else Html(number(none, f"{why}:{row}") if np.isnan(value) else number(_cell(value), f"{key}:{row}"))
                for row, value in enumerate(frame[name])
            ]
        )
    caption = (
        f"Every drawn size, each conductor; this run first. Table: {TABLE}, for copper of the same resistance. "
        "Melting: copper in air, the upper end, never a limit to work to"
    )
    rows = list(zip(*cells, strict=True))
    return html_table(caption, list(frame.columns), rows, region="Heat and fuse of all sizes", kind="wc-as-cards")


class HeatTab:
    """The tab Heat and fuse. `compute` is handed in so that a test can count calls."""

    title = "Heat and fuse"

    def __init__(self, compute: Callable[[RunRequest], HeatAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self.fields: Fields = {}
        self.told, self.fuse, self.table = (Numbers(answer=self.work) for _ in range(3))
        self._answer: HeatAnswer | None = None
        self.warmth, self.little = w.HTML(), w.HTML()
        self.charts = Charts("Conductor temperature by size", "Warm-up of this run")
        self.chart_box = w.Box([self.charts])  # a widget of our own does not follow its classes once it is drawn
        self.view = w.VBox([self.warmth, self.told, self.fuse, self.little, self.chart_box, self.table])

    def show(self, situation: RunRequest) -> None:
        """Compute and draw."""
        answer = self.compute(situation)
        pictures = (temperature_chart(answer), warm_up_chart(answer))
        self.charts.redraw(*pictures)
        self._answer = answer
        self.warmth.value = thermometer(situation)
        rise = warming_of_all(answer)
        show_if(rise is None, self.chart_box)
        self.little.value = "" if rise is None else f"<p>{html.escape(rise)}</p>"
        self.told.html = verdict(answer)
        self.fuse.html = fuse_words(answer)
        self.table.html = table_html(answer)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the sizes"."""
        what, place = key.split(":")
        answer = self._answer
        assert answer is not None
        here, conductor = answer.situation, answer.heat.conductors[int(place)]
        of = (here.run, conductor, here.laid, here.place)
        if what == "onderdonk":
            return to_html(onderdonk(*of, MELT_S))
        if what == "preece":
            return to_html(preece(*of[:3]))
        if what in ("time_constant_s", "settled_s", "passes_s"):
            warm_up = answer.heat.warm_up
            step_s, reached_c = float(warm_up.time_s[1]), tuple(map(float, warm_up.hot_c))
            return to_html(warming(what, *of, step_s=step_s, reached_c=reached_c, feet=here.feet))
        if what in Short.__dataclass_fields__:
            assert here.run.short_v is not None  # else no such number is shown
            return to_html(in_a_short(what, *of, supply_v=here.run.short_v, feet=here.feet))
        if what == "alone_a":
            what, of = "allowable_a", (*of[:3], replace(here.place, loaded=here.laid.ways))
        return to_html(working(what, *of, feet=here.feet))
