"""Heat and fuse: how warm each size gets, what it may carry, and the fuse that protects it, with its cautions."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as w
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.chart import Charts, Picture
from dashboards.panels.controls.colours import BAD, EDGE, HERE, INK
from dashboards.panels.controls.numbers import Numbers, number, of_this, opening, to_html
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs, units
from wirecalc.runs.short import STRONGEST_A, Short, short
from wirecalc.wire import ampacity, fuse, heat, melting
from wirecalc.wire.conductor import HOTTEST_C, Conductor
from wirecalc.wire.insulation import insulated
from wirecalc.workings.measures import working
from wirecalc.workings.melting import onderdonk, preece
from wirecalc.workings.times import in_a_short, warming

Array = NDArray[np.float64]

TIMES = 21  # points of the warm-up curve, each over a millisecond; the time constant is one of them
MELT_S = 1.0  # for Onderdonk
LONGEST_S = 1e7
HOT_BUNDLE, HOT_AIR_C = 3, 80.0  # more loaded conductors, or air this hot: common practice, no source
TABLE = "33 CFR 183.425 table 5"


@dataclass(frozen=True, kw_only=True)
class HeatAnswer:
    """The situation, solved; arrays have one value a size, this run's first."""

    situation: RunRequest
    conductors: tuple[Conductor, ...]
    measures: runs.Measures
    allowed: ampacity.Allowable
    fuse_a: Array
    """For each conductor; nan where none fits or none is chosen. [A]"""
    choice: fuse.FuseChoice | None
    """None where no draw is known."""
    short: Short | None
    melts_soon_a: Array
    """In `MELT_S`, by Onderdonk; nan for what is not copper. [A]"""
    melts_at_last_a: Array
    """By Preece; nan for what is not copper. [A]"""
    time_s: Array
    hot_c: Array
    """This run's conductor at `time_s`; nan where it has no current. [degC]"""
    time_constant_s: float
    """inf where no balance is found. [s]"""

    @property
    def each_a(self) -> Array:
        """Average current of one conductor. [A]"""
        return self.measures["current_a"]


def distinct(situation: RunRequest) -> tuple[Conductor, ...]:
    """This run's size, then the drawn ones without it: not the same bar twice."""
    this, *others = situation.conductors
    return (this, *(one for one in others if one != this))


def compute(situation: RunRequest) -> HeatAnswer:
    """All numbers of the tab."""
    laid, place = situation.laid, situation.place
    conductors = distinct(situation)
    wires = insulated(conductors, place.insulation)
    kept = [i for i, one in enumerate(situation.conductors) if i == 0 or one != situation.this]
    measures = {name: values[kept] for name, values in situation.here.items()}
    allowed = ampacity.allowable(wires, place.ambient_c, place.loaded)

    fuse_a, choice = np.full(len(conductors), np.nan), None
    if "draw_a" in measures:
        draw_a = measures["draw_a"] / laid.parallel
        known = np.isfinite(draw_a)
        fuse_a = np.where(known, fuse.fuse_a(np.where(known, draw_a, 1.0), allowed.current_a), np.nan)
        if known[0]:
            alone = ampacity.allowable(insulated(conductors[:1], place.insulation), place.ambient_c, laid.ways)
            choice = fuse.choose_fuse(
                float(draw_a[0]),
                float(allowed.current_a[0]),
                alone_a=float(alone.current_a[0]) if place.loaded > laid.ways else None,
                mark=of_this,
            )

    copper = [one.metal.key in ("copper", "tinned_copper") for one in conductors]
    area_m2 = np.array([one.area_m2 for one in conductors])
    solid_m = 2 * np.sqrt(area_m2 / np.pi)  # Preece's wire is solid
    time_s, hot_c, constant_s = _warm_up(situation, float(measures["current_a"][0]))
    return HeatAnswer(
        situation=situation,
        conductors=conductors,
        measures=measures,
        allowed=allowed,
        fuse_a=fuse_a,
        choice=choice,
        short=_short(situation, choice),
        melts_soon_a=np.where(copper, melting.onderdonk_a(area_m2, MELT_S, place.ambient_c), np.nan),
        melts_at_last_a=np.where(copper, melting.preece_a(solid_m), np.nan),
        time_s=time_s,
        hot_c=hot_c,
        time_constant_s=constant_s,
    )


def _warm_up(situation: RunRequest, current_a: float) -> tuple[Array, Array, float]:
    place = situation.place
    if not np.isfinite(current_a):
        return np.linspace(0.0, 1.0, TIMES), np.full(TIMES, np.nan), np.nan
    wire = insulated([situation.this], place.insulation)
    constant_s = float(heat.time_constant_s(wire, current_a, place.ambient_c, place.loaded)[0])
    if np.isfinite(constant_s):
        end_s = 5 * constant_s
    else:  # four times what the metal alone would take: the insulation has to be warmed too
        end_s = 4 * float(melting.lasts_s(wire, current_a, place.ambient_c, HOTTEST_C)[0])
    time_s = np.linspace(0.0, min(end_s, LONGEST_S), TIMES)
    hot_c = heat.over_time_c(wire, time_s, current_a, place.ambient_c, place.loaded)[:, 0]
    return time_s, hot_c, constant_s


def _short(situation: RunRequest, choice: fuse.FuseChoice | None) -> Short | None:
    supply_v = situation.run.short_v
    if choice is None or choice.rating_a is None or supply_v is None:
        return None
    return short(supply_v, situation.this, situation.laid, situation.place, choice.rating_a)


def labels(conductors: tuple[Conductor, ...]) -> list[str]:
    """A name for each size, this run's first, no two alike."""
    this, *others = conductors
    return [f"{this.label} (this run)", *(one.label for one in others)]


def thin_to_thick(situation: RunRequest) -> tuple[list[int], list[str]]:
    """Order of `distinct` sizes along an axis, and the colour of each in that order."""
    conductors = distinct(situation)
    order = sorted(range(len(conductors)), key=lambda i: conductors[i].area_m2)
    shades = {one: look.colour for look, one in zip(situation.drawn, situation.conductors[1:], strict=True)}
    shades[situation.this] = HERE
    return order, [shades[conductors[i]] for i in order]


def level_lines(*lines: tuple[float, str, str, str]) -> dict[str, Any]:
    """Level lines across a chart, each with its name at the right: (height, name, colour, "top" or "bottom")."""
    shapes = [
        {
            "type": "line",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": at,
            "y1": at,
            "line": {"color": colour, "width": 2, "dash": dash},
        }
        for (at, _, colour, _), dash in zip(lines, ("dash", "dot"), strict=False)
    ]
    names = [
        {"xref": "paper", "x": 1, "xanchor": "right", "y": at, "yanchor": anchor, "text": name, "showarrow": False}
        for at, name, _, anchor in lines
    ]
    return {"shapes": shapes, "annotations": names}


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


def axis_names(conductors: tuple[Conductor, ...]) -> list[str]:
    """`labels`, short enough to stand under a bar."""
    return [name.replace(" (this", "<br>(this") for name in labels(conductors)]


def temperature_chart(answer: HeatAnswer) -> Picture:
    """Trace and layout: a bar from the air's temperature up for each size, thin to thick; one without balance ends at
    the end of the model."""
    hot_c = answer.measures["temperature_c"]
    air_c = answer.situation.place.ambient_c
    bar_c = np.where(np.isinf(hot_c), HOTTEST_C, hot_c)
    order, colours = thin_to_thick(answer.situation)
    names = [axis_names(answer.conductors)[i] for i in order]
    trace = {
        "type": "bar",
        "x": names,
        "y": bar_c[order] - air_c,
        "base": np.full(len(order), air_c),
        "text": ["" if np.isnan(at) else f">{HOTTEST_C:.0f}°" if np.isinf(at) else f"{at:.0f}°" for at in hot_c[order]],
        "customdata": [_degrees(at) for at in hot_c[order]],
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
    unit, per_unit = ("min", 60.0) if answer.time_s[-1] > 180 else ("s", 1.0)
    x, y = answer.time_s / per_unit, np.where(np.isinf(answer.hot_c), np.nan, answer.hot_c)
    marked = np.isfinite(answer.time_constant_s)
    at = answer.time_constant_s
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
        "y": [float(np.interp(at, answer.time_s, y))] if marked else [],
        "text": [f"time constant {_time(at)}"] if marked else [],
        "textposition": "bottom right",
        "marker": {"color": HERE, "size": 12, "line": {"color": EDGE, "width": 2}},
        "hoverinfo": "skip",
    }
    layout = {
        "xaxis": {"title": {"text": f"Time under load ({unit})"}, "range": [0.0, float(x[-1])], "hoverformat": ".2g"},
        "yaxis": {
            "title": {"text": "Conductor (°C)"},
            "range": _range(answer, np.nanmax(y, initial=answer.situation.place.ambient_c)),
        },
    }
    return [curve, mark], layout | _limits(answer)


def _degrees(value_c: float, against_c: float = np.inf) -> str:
    if np.isnan(value_c):
        return "no value"
    if np.isinf(value_c):
        return f"over {HOTTEST_C:.0f} °C"
    return f"{value_c:.{1 if abs(value_c - against_c) < 1 else 0}f} °C"


def _amps(value_a: float, key: str) -> str:
    return of_this(units.show(value_a, units.CURRENT), key)


def _within(value_s: float, key: str) -> str:
    return f"in {_time(value_s, key)}" if value_s < 0.1 else f"within {_time(value_s, key)}"


def _time(value_s: float, key: str = "") -> str:
    """A time as it is read, marked where it has a key."""
    if value_s < 0.1:
        text = "under 0.1 s"
    elif value_s < 180:
        text = f"{value_s:.2g} s" if value_s < 10 else f"{value_s:.0f} s"
    else:
        text = f"{value_s / 60:.0f} min" if value_s < 3 * 3600 else f"{value_s / 3600:.0f} h"
    return of_this(text, key) if key else text


def _paragraph(text: str, kind: str = "") -> str:
    """`text` as HTML, its marked numbers to be opened; of a kind that the page's style knows."""
    style = f" class='{kind}'" if kind else ""
    return f"<p{style}>{opening(text)}</p>"


def _each(answer: HeatAnswer) -> str:
    count = answer.situation.laid.parallel
    return "The conductor" if count == 1 else f"Each of the {count} conductors"


def verdict(answer: HeatAnswer) -> str:
    """How warm this size gets, against what its insulation stands, and what it may carry, as HTML."""
    run, place, this = answer.situation.run, answer.situation.place, answer.situation.this
    insulation = place.insulation
    each_a, hot_c = float(answer.each_a[0]), float(answer.measures["temperature_c"][0])
    allowed_a = float(answer.allowed.current_a[0])
    air = f"in {of_this(f'{place.ambient_c:.0f} °C', 'ambient_c')} air"
    stands = f"Its insulation ({insulation.name}) may be at {of_this(f'{insulation.limit_c:.0f} °C', 'limit_c')}"
    end = of_this(f"{HOTTEST_C:.0f} °C", "temperature_c")
    reaches = f"reaches {of_this(_degrees(hot_c, insulation.limit_c), 'temperature_c')} {air}"
    bad = True
    if np.isnan(each_a):
        said = (
            f"{this.label} cannot deliver this load for long, so there is no current to reckon with. Take thicker wire."
        )
    elif np.isinf(hot_c):
        said = f"Too hot: {this.label} heats on past {end} {air} and finds no balance. {stands}."
    elif hot_c > insulation.limit_c:
        said = f"Too hot: {this.label} {reaches}. {stands}."
    elif each_a > allowed_a:
        said = f"Too much current: {this.label} {reaches}, but the published table lets it carry less."
    else:
        bad = False
        said = f"{this.label} {reaches}. {stands}."
    parts = [f"<p class='wc-told{' wc-caution' if bad else ''}' role='status'>{opening(said)}</p>"]
    if not np.isnan(each_a):
        parts.append(
            _paragraph(f"{_each(answer)} carries {_amps(each_a, 'current_a')} on average. {_may_carry(answer)}")
        )
        parts.append(_paragraph(_warming(answer)))
    share = getattr(run, "music_share", 1.0)
    if share < 1:
        parts.append(
            _paragraph(
                f"Counted for music: {units.show(share, units.RATIO)} of the rated power on average. "
                "Test tones and heavily compressed bass come near all of it, and heat the wire more."
            )
        )
    return "".join(parts)


def _may_carry(answer: HeatAnswer) -> str:
    loaded = answer.situation.place.loaded
    published_a, balance_a = float(answer.allowed.published_a[0]), float(answer.allowed.balance_a[0])
    if min(published_a, balance_a) == 0:
        return "It may carry nothing: the air is as hot as the insulation may be, or hotter."
    together = f"with {loaded} loaded conductors together" if loaded > 1 else "alone"
    table, balance = f"the published table ({TABLE})", "the heat balance"
    low, high, rest = table, balance, _amps(balance_a, "balance_a")
    if published_a > balance_a:
        low, high, rest = balance, table, _amps(published_a, "published_a")
    least = _amps(min(published_a, balance_a), "allowable_a")
    return f"It may carry {least} {together}: {low} sets that; {high} would allow {rest}."


def _warming(answer: HeatAnswer) -> str:
    limit_c = answer.situation.place.insulation.limit_c
    over = np.flatnonzero(answer.hot_c > limit_c)
    limit = of_this(f"{limit_c:.0f} °C", "limit_c")
    passes = f"It passes {limit} {_within(answer.time_s[over[0]], 'passes_s')} from cold. " if over.size else ""
    if not np.isfinite(answer.time_constant_s):
        return f"{passes}It has no time constant, for it never settles."
    constant_s = answer.time_constant_s
    return (
        f"{passes}Time constant {_time(constant_s, 'time_constant_s')}: about 63 % (1 − 1/e) of the rise is there by "
        f"then, nearly all after {_time(5 * constant_s, 'settled_s')}."
    )


def situations(answer: HeatAnswer) -> tuple[str, ...]:
    """Which of `wirecalc.wire.fuse.CAUTIONS` belong to this run where it lies."""
    run, laid, place = answer.situation.run, answer.situation.laid, answer.situation.place
    feed, fed = run.starts_at == "battery", "draw_a" in answer.measures
    belongs = {
        "battery feed": feed,
        "fuse type": answer.choice is not None and answer.choice.rating_a is not None,
        "parallel": laid.parallel > 1,
        "branch": fed and not feed,
        "hot bundle": place.loaded > HOT_BUNDLE,
        "engine bay": place.ambient_c >= HOT_AIR_C,
        "airbag": True,
    }
    return tuple(name for name, here in belongs.items() if here)


def fuse_words(answer: HeatAnswer) -> str:
    """The fuse for this run or why there is none, what it does in a short, and the cautions, as HTML."""
    laid, place = answer.situation.laid, answer.situation.place
    parts = ["<h2>Fuse</h2>", *_fuse_choice(answer)]
    own = laid.ways * laid.parallel
    alone = of_this(str(own), "own_loaded")
    if own > place.loaded:
        parts.append(
            _paragraph(
                f"This run alone has {alone} loaded conductors, but {place.loaded} is entered. "
                f"If they lie together, enter {alone} or more.",
                "wc-caution",
            )
        )
    parts += [_paragraph(text, "wc-caution") for text in fuse.cautions(*situations(answer))]
    return "".join(parts)


def _fuse_choice(answer: HeatAnswer) -> list[str]:
    run, choice, count = answer.situation.run, answer.choice, answer.situation.laid.parallel
    if "draw_a" not in answer.measures:
        return [
            _paragraph("No fuse is chosen for a speaker wire.", "wc-told"),
            _paragraph(
                "The amplifier feeds it, and the amplifier’s own protection has to end a short. "
                "The fuse belongs into the amplifier’s supply: see battery to amplifier."
            ),
        ]
    if choice is None:
        return [
            _paragraph("No fuse can be chosen.", "wc-told wc-caution"),
            _paragraph(
                "This wire cannot deliver the load, so its draw is not known. Take thicker wire or a shorter way."
            ),
        ]
    share = f"For each of the {count} conductors, with its share of the draw: " if count > 1 else ""
    if choice.rating_a is None:
        changes = "".join(f"<li>{opening(change)}</li>" for change in choice.changes)
        return [
            _paragraph("No standard fuse fits this wire here.", "wc-told wc-caution"),
            _paragraph(share + choice.reason),
            f"<p>What to change, one of these:</p><ul>{changes}</ul>",
        ]
    each = f", one for each of the {count} conductors" if count > 1 else ""
    each += ", at both feeds" if run.fed_twice else ""
    found = [
        _paragraph(f"Fuse: {of_this(f'{choice.rating_a:g} A', 'fuse_a')}{each}.", "wc-told"),
        _paragraph(share + choice.reason),
    ]
    if answer.short is not None:
        found.append(_short_words(answer.short, damage_c=answer.situation.place.insulation.damage_c))
    elif run.fuse_note:
        found.append(_paragraph(run.fuse_note, "wc-caution"))
    return found


def _short_words(short: Short, *, damage_c: float) -> str:
    fault = units.show(float(f"{short.fault_a:.2g}"), units.CURRENT)
    size = of_this(f"over {STRONGEST_A:.0f} A" if short.fault_a > STRONGEST_A else fault, "fault_a")
    said = f"In a short at the far end about {size} flow, by hot wire and the joints alone; battery and body lower it. "
    opens = f"the fuse opens {_within(short.clearing_s, 'clearing_s')}"
    if np.isinf(short.clearing_s):
        opens = "the fuse may not open"
    damage = of_this(f"{damage_c:.0f} °C", "damage_c")
    lasts = f"the insulation lasts {_time(short.lasts_s, 'lasts_s')}"
    if not short.holds:
        return _paragraph(
            f"{said}This fuse does not protect the wire then: {opens}; {lasts}. "
            "Take thicker wire, a shorter way, or a lower draw with a smaller fuse.",
            "wc-caution",
        )
    if short.clearing_s < short.lasts_s:
        return _paragraph(f"{said}It protects the wire then: {opens}; {lasts}.")
    return _paragraph(
        f"{said}{opens[0].upper()}{opens[1:]}, but the wire gets no hotter than "
        f"{of_this(_degrees(short.steady_c), 'steady_c')}; {damage} would damage it. "
        "Whatever lies beside it gets hot too."
    )


def heat_table(answer: HeatAnswer) -> pd.DataFrame:
    """Every drawn size, this run first; one column a figure, units in its name, currents for one conductor."""
    return pd.DataFrame(
        {
            "Size": labels(answer.conductors),
            "Conductor (°C)": answer.measures["temperature_c"],
            "Carries on average (A)": answer.each_a,
            "May carry, table (A)": answer.allowed.published_a,
            "May carry, balance (A)": answer.allowed.balance_a,
            "Fuse (A)": answer.fuse_a,
            f"Melts in {MELT_S:g} s, Onderdonk (A)": answer.melts_soon_a,
            "Melts at last, Preece (A)": answer.melts_at_last_a,
        }
    )


def _cell(value: float) -> str:
    return f"over {HOTTEST_C:.0f}" if np.isinf(value) else f"{float(f'{value:.3g}'):g}"


COLUMN_KEYS = ("temperature_c", "current_a", "published_a", "balance_a", "fuse_a", "onderdonk", "preece")
"""What is asked for when a number in a column of `heat_table` is opened."""


def table_html(answer: HeatAnswer) -> str:
    """`heat_table` for the page; every number opens to where it comes from."""
    frame = heat_table(answer)
    shown = pd.DataFrame({"Size": [html.escape(label) for label in frame["Size"]]})
    for key, name in zip(COLUMN_KEYS, frame.columns[1:], strict=True):
        # these are not asked of this run or metal; any other value that is missing has a reason, which opens
        unasked = key in ("onderdonk", "preece") or (key == "fuse_a" and "draw_a" not in answer.measures)
        none, why = ("none", "fuse_headroom_a") if key == "fuse_a" else (units.NO_VALUE, key)
        shown[name] = [
            units.NO_VALUE
            if np.isnan(value) and unasked
            else number(none, f"{why}:{row}")
            if np.isnan(value)
            else number(_cell(value), f"{key}:{row}")
            for row, value in enumerate(frame[name])
        ]
    body = shown.to_html(index=False, border=0, classes="wc-table", justify="unset", escape=False)
    caption = (
        f"Every drawn size, each conductor; this run first. Table: {TABLE}, for copper of the same resistance. "
        "Melting: copper in air, the upper end, never a limit to work to"
    )
    body = body.replace("<thead>", f"<caption>{html.escape(caption)}</caption><thead>", 1)
    return f"<div class='wc-scroll' tabindex='0' role='region' aria-label='Heat and fuse of all sizes'>{body}</div>"


class HeatTab:
    """The tab Heat and fuse. `compute` is handed in so that a test can count calls."""

    title = "Heat and fuse"

    def __init__(self, compute: Callable[[RunRequest], HeatAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self.fields: Fields = {}
        self.told, self.fuse, self.table = (Numbers(answer=self.work) for _ in range(3))
        self._answer: HeatAnswer | None = None
        self.charts = Charts("Conductor temperature by size", "Warm-up of this run")
        self.view = w.VBox([self.told, self.fuse, self.charts, self.table])

    def show(self, situation: RunRequest) -> None:
        """Compute and draw."""
        answer = self.compute(situation)
        pictures = (temperature_chart(answer), warm_up_chart(answer))
        self.charts.redraw(*pictures)
        self._answer = answer
        self.told.html = verdict(answer)
        self.fuse.html = fuse_words(answer)
        self.table.html = table_html(answer)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the sizes"."""
        what, place = key.split(":")
        answer = self._answer
        assert answer is not None
        here, one = answer.situation, answer.conductors[int(place)]
        of = (here.run, one, here.laid, here.place)
        if what == "onderdonk":
            return to_html(onderdonk(*of, MELT_S))
        if what == "preece":
            return to_html(preece(*of[:3]))
        if what in ("time_constant_s", "settled_s", "passes_s"):
            steps = {"step_s": float(answer.time_s[1]), "reached_c": tuple(map(float, answer.hot_c))}
            return to_html(warming(what, *of, **steps, feet=here.feet))
        if what in Short.__dataclass_fields__:
            return to_html(in_a_short(what, *of, supply_v=here.run.short_v, feet=here.feet))
        if what == "alone_a":
            what, of = "allowable_a", (*of[:3], replace(here.place, loaded=here.laid.ways))
        return to_html(working(what, *of, feet=here.feet))
