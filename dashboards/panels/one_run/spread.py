"""Spread: how far a result strays when length, temperature, joints, wire and load are not known exactly."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

import ipywidgets as w
import numpy as np

from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.chart import Charts, Picture
from dashboards.panels.controls.colours import BAD, INK, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import quantity
from dashboards.panels.controls.numbers import Numbers, mark, number, opening, to_html
from dashboards.panels.controls.size_axis import axis_names, level_lines, thin_to_thick
from dashboards.panels.controls.table import Cell, Html, html_table
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs, tables, units
from wirecalc.errors import InputError
from wirecalc.limit import Limit
from wirecalc.runs import tolerance
from wirecalc.tables import shown_source
from wirecalc.wire.conductor import Conductor
from wirecalc.workings.choice import bound
from wirecalc.workings.spread import POINTS, Strayed, broken, drawn, first_order_working, share_of

DRAWS, SEED = 20_000, 1  # quick enough to follow a slider; the standard error of a share is 0.4 in 100 at most
CARS = f"{DRAWS:,}".replace(",", " ")
Found = TypeVar("Found")
# a difference of 25 °C is 25 K, which the kind for temperatures would take for a point on the scale
DIFFERENCE = units.QuantityKind(
    name="temperature difference",
    unit="kelvin",
    example="25 K or 45 °F",
    spellings={
        "K": "kelvin",
        "°C": "delta_degree_Celsius",
        "C": "delta_degree_Celsius",
        "°F": "delta_degree_Fahrenheit",
        "F": "delta_degree_Fahrenheit",
    },
    shown=((0, "K"),),
)
BOUNDS = {"dB": (units.LEVEL, "dB", 60.0), "V": (units.VOLTAGE, "V", 60.0), "": (units.RATIO, "%", 1.0)}
USUAL = tolerance.run_inputs(1.0)  # of 1 m, so that the spread of the length is a share of it
NAMES = {
    "length_m": "Length",
    "temperature_c": "Temperature",
    "joints_ohm": "Joints",
    "resistance_ratio": "Wire resistance",
    "load_ratio": "Load",
}
KEYS = {
    "length_m": "length",
    "temperature_c": "temperature",
    "joints_ohm": "joints",
    "resistance_ratio": "resistance",
    "load_ratio": "load",
}
"""In the page's address."""


def main_limit(run: runs.Run) -> Limit:
    """The first usual limit of this kind of run that is a number; every kind has one."""
    return next(limit for limit in run.limits() if not isinstance(limit.bound, str))


@dataclass(frozen=True, kw_only=True)
class Question:
    """A run, how far each input strays, and what its main measure has to keep to."""

    situation: RunRequest
    spreads: Mapping[str, float]
    """By input: of length, wire resistance and load a share of the value; the others in K and ohm."""
    limit: Limit


@dataclass(frozen=True, kw_only=True)
class SpreadAnswer:
    """The question, solved."""

    question: Question
    conductors: tuple[Conductor, ...]
    spread: tolerance.Spread | None
    """Of this run; None where some cases have no solution."""
    bands: tuple[tolerance.Band | None, ...]
    """Of the limited measure for each size, this run's first; None where some cases have no solution."""


def uncertain(question: Question) -> dict[str, tolerance.Uncertain]:
    """The inputs of the run, with the spreads that were asked for."""
    laid = question.situation.laid
    inputs = tolerance.run_inputs(laid.length_m, laid.temperature_c, laid.joints_ohm)
    for name, share in question.spreads.items():
        scale = laid.length_m if name == "length_m" else 1.0  # the ratios are about 1
        inputs[name] = replace(inputs[name], spread=share * scale)
    return inputs


def compute(question: Question) -> SpreadAnswer:
    """This run by Monte Carlo, the other sizes by first order."""
    situation, laid, inputs = question.situation, question.situation.laid, uncertain(question)
    main, conductors = question.limit.measure, situation.distinct
    asked = tuple(dict.fromkeys((main, *situation.run.drawn)))
    models = [runs.model(situation.run, conductor, laid) for conductor in conductors]
    spread = _solved(
        lambda: tolerance.monte_carlo(models[0], inputs, asked, limits=[question.limit], draws=DRAWS, seed=SEED)
    )

    def band_of(model: tolerance.Model) -> tolerance.Band:
        return tolerance.first_order(model, inputs, (main,))[main]

    others = [_solved(partial(band_of, model)) for model in models[1:]]
    bands = (None if spread is None else spread.bands[main], *others)
    return SpreadAnswer(question=question, conductors=conductors, spread=spread, bands=bands)


def _solved(work: Callable[[], Found]) -> Found | None:
    """What `work` finds, or None where `wirecalc.runs.tolerance` met a case without a solution."""
    try:
        return work()
    except InputError as fault:
        if fault.field.startswith("Spread of "):
            return None
        raise


def _scaled(measure: str) -> tuple[float, str]:
    """What a measure is multiplied by to be read, and its unit."""
    unit = runs.MEASURES[measure].unit
    return (100.0, "%") if measure == "drop_fraction" else (1.0, unit)


def _figures(measure: str, *values: float) -> list[str]:
    """Values of one measure as its table says them, without unit."""
    scale, unit = _scaled(measure)
    return [
        runs.said_number(value * scale, unit, 1 if unit == "%" else runs.MEASURES[measure].decimals) for value in values
    ]


def _with_unit(measure: str, figure: str) -> str:
    return f"{figure} {_scaled(measure)[1]}".rstrip()


def _bound(limit: Limit) -> str:
    scale, unit = _scaled(limit.measure)
    return f"{float(limit.bound) * scale:.4g} {unit}".rstrip()


def _name(measure: str) -> str:
    name = runs.MEASURES[measure].name
    return name[0].lower() + name[1:]


def bands_chart(answer: SpreadAnswer) -> Picture:
    """Traces and layout: from 5 to 95 % of the limited measure for each size, thin to thick, and the middle."""
    limit = answer.question.limit
    scale, unit = _scaled(limit.measure)
    order, colours = thin_to_thick(answer.conductors, answer.question.situation.shades)
    names = [axis_names(answer.conductors)[i] for i in order]
    bands = [answer.bands[i] for i in order]
    low, middle, high = (
        scale * np.array([np.nan if band is None else getattr(band, field) for band in bands])
        for field in ("low", "middle", "high")
    )
    widths = ["no value" if band is None else _between(limit.measure, band) for band in bands]
    bars = {
        "type": "bar",
        "name": "90 of 100",
        "x": names,
        "y": high - low,
        "base": np.nan_to_num(low),  # a base goes to the page as JSON, which has no nan; y hides the bar
        "customdata": widths,
        "marker": {"color": colours},
        "hovertemplate": "%{x}: %{customdata}<extra></extra>",
    }
    marks = {
        "type": "scatter",
        "mode": "markers",
        "name": "middle",
        "x": names,
        "y": middle,
        "marker": {"symbol": "line-ew", "size": 16, "line": {"color": INK, "width": 3}},
        "hoverinfo": "skip",
    }
    bound = float(limit.bound) * scale
    name = runs.MEASURES[limit.measure].name
    layout = {
        "xaxis": {"type": "category", "categoryorder": "array", "categoryarray": names, "tickangle": -45},
        "yaxis": {
            "title": {"text": f"{name} ({unit})"},
            "range": [min(0.0, np.nanmin(low, initial=0.0)), 1.12 * max(bound, np.nanmax(high, initial=0.0), 1e-6)],
        },
        "hovermode": "closest",
    }
    return [bars, marks], layout | level_lines((bound, f"limit, {limit.sense} {_bound(limit)}", BAD, "bottom"))


def shares_chart(answer: SpreadAnswer) -> Picture:
    """Trace and layout: what each input gives to the variance of this run's limited measure, the largest on top."""
    run, spread = answer.question.situation.run, answer.spread
    shares = dict.fromkeys(NAMES, 0.0) if spread is None else spread.bands[answer.question.limit.measure].shares
    order = list(shares)[::-1]  # plotly counts from below
    names = [run.varies if name == "load_ratio" else NAMES[name] for name in order]
    values = np.array([100 * shares[name] for name in order])
    trace = {
        "type": "bar",
        "orientation": "h",
        "x": values,
        "y": names,
        "text": [f"{value:.0f} %" for value in values],
        "textposition": "outside",
        "cliponaxis": False,
        "marker": {"color": SERIES[0]},
        "hovertemplate": "%{y}: %{x:.1f} %<extra></extra>",
    }
    layout = {
        "xaxis": {"title": {"text": "Share of the variance (%)"}, "range": [0.0, 115.0]},
        "yaxis": {"type": "category", "categoryorder": "array", "categoryarray": names},
        "hovermode": "closest",
    }
    return [trace], layout


def _between(measure: str, band: tolerance.Band) -> str:
    low, high = _figures(measure, band.low, band.high)
    return _with_unit(measure, low) if low == high else f"{low} to {_with_unit(measure, high)}"


def _share(share: float) -> str:
    """How many break a limit, in whole ones of 100, never rounded to none or all."""
    if share in (0.0, 1.0):
        return f"all {CARS}" if share else f"none of {CARS}"
    if share < 0.005:
        return "fewer than 1 of 100"
    return "more than 99 of 100" if share > 0.995 else f"{100 * share:.0f} of 100"


def sentence(answer: SpreadAnswer) -> str:
    """Where the result lies, how many break the limit, and what matters most, as HTML."""
    question, spread = answer.question, answer.spread
    run, limit = question.situation.run, question.limit
    if spread is None:
        sentence = (
            "In some cases this feed cannot deliver the load, so no band can be given. "
            "Take thicker wire, a shorter way or a smaller load."
        )
        return f"<p class='wc-told wc-caution' role='status'>{html.escape(sentence)}</p>"
    band, broke = spread.bands[limit.measure], spread.broken[0]

    def asked(text: str, point: str) -> str:
        return mark(text, f"{limit.measure}:0:{point}")

    name, most = _name(limit.measure), asked(_bound(limit), "bound")
    low, high = _figures(limit.measure, band.low, band.high)
    if band.deviation == 0 or low == high:
        keeps = "That breaks" if broke == 1 else "Some break" if broke else "That keeps"
        always = asked(_with_unit(limit.measure, low), "middle")
        where = "all" if band.deviation == 0 else "90 of 100"
        sentence = f"The {name} is {always} in {where} cars. {keeps} the limit, {limit.sense} {most}."
    else:
        first, share = next(iter(band.shares.items()))
        input_name = run.varies if first == "load_ratio" else NAMES[first]
        breaks = "breaks" if broke == 0 or _share(broke) == "1 of 100" else "break"
        sentence = (
            f"In 90 of 100 cars the {name} lies between {asked(low, 'low')} and "
            f"{asked(_with_unit(limit.measure, high), 'high')}; "
            f"{asked(_share(broke), 'broken')} {breaks} the limit, {limit.sense} {most}. "
            f"What matters most: {input_name.lower()} ({asked(f'{100 * share:.0f} %', 'share')} of the spread)."
        )
    kind = "wc-told" if broke < 0.05 else "wc-told wc-caution"  # as many as lie above the band
    return f"<p class='{kind}' role='status'>{opening(sentence)}</p>"


def notes(answer: SpreadAnswer) -> str:
    """How it was reckoned, what the limit is for, and which sizes have no value, as HTML."""
    question = answer.question
    limit, usual = question.limit, main_limit(question.situation.run)
    lines = [
        f"This run: {CARS} cars drawn at random, the same ones each time. "
        "The other sizes: first order, which is quick and right while the spreads are small.",
        f"Usual limit: {_name(limit.measure)} {limit.sense} {mark(_bound(usual), f'{limit.measure}:0:usual')}. "
        f"{limit.reason} Source: {shown_source(limit.source, limit.confidence)}.",
    ]
    without = [conductor.label for conductor, band in zip(answer.conductors, answer.bands, strict=True) if band is None]
    if without:
        lines.append(f"No value in some cases, so no bar: {', '.join(without)}.")
    return "".join(f"<p>{opening(line)}</p>" for line in lines)


def table_html(answer: SpreadAnswer) -> str:
    """Bands of this run's measures, then of the limited one for the other sizes, as HTML; every number opens."""
    limited, own = answer.question.limit.measure, answer.spread.bands if answer.spread else {}
    bands = [(0, measure, band) for measure, band in own.items()]
    bands += [(place, limited, band) for place, band in enumerate(answer.bands) if place and band is not None]
    rows: list[Sequence[Cell]] = []
    for place, measure, band in bands:
        figures = _figures(measure, *(getattr(band, point) for point in POINTS))
        cells = (
            Html(number(_with_unit(measure, figure), f"{measure}:{place}:{point}"))
            for figure, point in zip(figures, POINTS, strict=True)
        )
        size = answer.conductors[place].label + ("" if place else " (this run)")
        rows.append((size, runs.MEASURES[measure].name, *cells))
    if not rows:
        return ""
    caption = f"Bands of this run, of {CARS} cars drawn at random; of the other sizes, by first order"
    heads = ("Size", "Result", "5 of 100 below", "Middle", "5 of 100 above")
    return html_table(caption, heads, rows, region="Bands", kind="wc-as-cards")


def _entries() -> dict[str, Entry[float]]:
    """One for each input of `wirecalc.runs.tolerance.run_inputs`, set to the usual spread, with its reason."""
    kinds = {
        "length_m": (units.RATIO, "%", 1.0),
        "temperature_c": (DIFFERENCE, "K", 100.0),
        "joints_ohm": (units.RESISTANCE, "mohm", 1.0),
        "resistance_ratio": (units.RATIO, "%", 0.5),
        "load_ratio": (units.RATIO, "%", 0.5),
    }
    reasons = {row["input"]: f"{row['reason']} ({row['source']})" for row in tables.rows("tolerances")}
    entries = {}
    for name, (kind, bare, high) in kinds.items():
        entry = quantity(f"{NAMES[name]} ±", kind, USUAL[name].spread, bare, low=0, high=high)
        entry.help = f"default {entry.show(entry.value)}: {reasons[name]}"
        entry.rewrite()
        entries[name] = entry
    return entries


class SpreadTab:
    """The tab Spread. `compute` is handed in so that a test can count calls."""

    title = "How sure?"

    def __init__(self, compute: Callable[[Question], SpreadAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self._usual: Limit | None = None
        self.entries = _entries()
        self.limit: Entry[float] = Entry("Limit", self._read_limit, self._show_limit, 0.0)
        self.told, self.notes, self.table = (Numbers(answer=self.work) for _ in range(3))
        self._answer: SpreadAnswer | None = None
        self.charts = Charts("Spread by size, 90 of 100 cars", "What the spread of this run comes from")
        every = [*self.entries.values(), self.limit]
        for entry in every:
            entry.changed = lambda: self.changed()
        fields = w.Box([entry.view for entry in every])
        fields.add_class("wc-fields")
        self.view = w.VBox([self.told, fields, self.charts, self.table, self.notes])

    @property
    def fields(self) -> Fields:
        """See `dashboards.panels.one_run.request.Tab`."""
        return named(**{KEYS[name]: entry for name, entry in self.entries.items()}, limit=self.limit)

    def _read_limit(self, text: str) -> float:
        kind, bare, high = BOUNDS[self._usual.unit if self._usual else ""]
        return units.read(text, "Limit", kind, low=0, high=high, bare=bare)

    def _show_limit(self, value: float) -> str:
        return units.show(value, BOUNDS[self._usual.unit if self._usual else ""][0])

    def show(self, situation: RunRequest) -> None:
        """Compute and draw; another kind of run brings its own limit."""
        usual = main_limit(situation.run)
        if usual != self._usual:
            self._usual = usual
            name = runs.MEASURES[usual.measure].name
            self.limit.text.description = f"{name}, {usual.sense}"
            self.limit.help = f"default {self._show_limit(float(usual.bound))}, the usual limit of this kind of run"
            self.limit.set(float(usual.bound))
        question = Question(
            situation=situation,
            spreads={name: entry.value for name, entry in self.entries.items()},
            limit=replace(usual, bound=self.limit.value),
        )
        answer = self.compute(question)
        self.charts.redraw(bands_chart(answer), shares_chart(answer))
        self._answer = answer
        self.told.html = sentence(answer)
        self.notes.html = notes(answer)
        self.table.html = table_html(answer)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "measure:place among the sizes:point"."""
        measure, place, point = key.split(":")
        answer = self._answer
        assert answer is not None
        question, conductor = answer.question, answer.conductors[int(place)]
        here = question.situation
        if point in ("bound", "usual"):
            limit = question.limit if point == "bound" else main_limit(here.run)
            return to_html(bound(limit, here.run.kind))
        strayed = Strayed(
            measure=measure,
            run=here.run,
            conductor=conductor,
            laid=here.laid,
            inputs=uncertain(question),
            feet=here.feet,
        )
        if int(place):
            return to_html(first_order_working(strayed, point))
        assert answer.spread is not None
        how = {"draws": DRAWS, "seed": SEED}
        if point == "broken":
            return to_html(broken(strayed, question.limit, answer.spread.broken[0], **how))
        band = answer.spread.bands[measure]
        if point == "share":
            return to_html(share_of(strayed, band, next(iter(band.shares)), **how))
        return to_html(drawn(strayed, band, point, **how))
