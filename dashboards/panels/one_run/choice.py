"""The tab Which size?: every standard size under every rule, what to pull and what each other one does not keep."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import ipywidgets as w
import numpy as np

from dashboards.panels.controls.address import Fields, Listed, named
from dashboards.panels.controls.chart import BELOW, Charts
from dashboards.panels.controls.colours import BAD, DASHES, SERIES, SYMBOLS
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.numbers import Numbers, mark, number, opening, to_html
from dashboards.panels.controls.table import Cell, Html, html_table
from dashboards.panels.one_run.decision import SIGNS
from dashboards.panels.one_run.request import RunRequest
from wirecalc.advice.held import Held
from wirecalc.advice.none_fits import advice_sentence
from wirecalc.advice.table import EverySize, every_size
from wirecalc.runs.choose import figure
from wirecalc.wire.cautions import cautions
from wirecalc.workings.advice import of_size

MOST_LIMITS = 6
MOST_USED = 1000.0
"""What the chart shows of a limit at most. [%]"""
AROUND = 1  # sizes either side of the pick that stand in the first table, beside the one asked about


@dataclass(frozen=True, kw_only=True)
class ChoiceAnswer:
    """The standard sizes of this run's system, judged for it."""

    situation: RunRequest
    sizes: EverySize | None
    """None for a line signal, on which no gauge is judged."""


def compute(situation: RunRequest, parallel: Sequence[int]) -> ChoiceAnswer:
    """Judge every standard size of this run's system, alone and side by side."""
    judged = situation.advice.job.demands.usual_a is not None
    return ChoiceAnswer(situation=situation, sizes=every_size(situation.advice, parallel) if judged else None)


def drawn(sizes: EverySize) -> list[Held]:
    """Limits that are drawn: of a margin over 0 no share is used, so that a line would be flat; the table has it."""
    return [held for held in sizes.held if (held.bounds > 0).all()][:MOST_LIMITS]


def chart(sizes: EverySize) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout: how much of each limit each candidate uses; over 100 % it is broken."""
    labels = [candidate.label for candidate in sizes.candidates]
    traces: list[dict[str, Any]] = []
    for row, held in enumerate(drawn(sizes)):
        percent = 100 * np.nan_to_num(held.share, posinf=11.0)
        used = np.clip(percent, 1.0, MOST_USED)  # the axis is logarithmic
        traces.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": held.limit.name,
                "visible": True,
                "x": labels,
                "y": used,
                "line": {"color": SERIES[row % len(SERIES)], "width": 2.5, "dash": DASHES[row % len(DASHES)]},
                "marker": {"symbol": SYMBOLS[row % len(SYMBOLS)], "size": 8},
                "customdata": ["over " if each > MOST_USED else "" for each in percent],
                "hovertemplate": "%{customdata}%{y:.0f} % of the limit",
            }
        )
    traces += [{"type": "scatter", "visible": False, "x": labels, "y": []} for _ in range(MOST_LIMITS - len(traces))]
    traces.append(
        {
            "type": "scatter",
            "mode": "lines",
            "name": "limit",
            "x": labels,
            "y": [100.0] * len(labels),
            "line": {"color": BAD, "width": 2, "dash": "dashdot"},
            "hoverinfo": "skip",
        }
    )
    layout = {
        "title": {"text": "How much of each limit a size uses"},
        "meta": "How much of each limit a size uses; the table has the values",
        "xaxis": {"title": {"text": "Size, least metal first"}, "type": "category", "tickangle": -45},
        "yaxis": {
            "title": {"text": "Share of the limit (%)"},
            "type": "log",
            "range": [0.0, float(np.log10(MOST_USED))],
        },
        "showlegend": True,
        "legend": BELOW,
    }
    return traces, layout


def sentence(answer: ChoiceAnswer) -> str:
    """Both answers, why they differ, and what to mind, as HTML."""
    advice = answer.situation.advice
    paragraphs = [f"<p class='wc-told' role='status'>{_told(answer)}</p>"]
    paragraphs += [f"<p>{html.escape(text)}</p>" for text in advice.changes]
    pulled = advice.pull.candidate.parallel if advice.pull else 1
    paragraphs += [
        f"<p class='wc-caution' role='note'>{html.escape(text)}</p>"
        for text in cautions(answer.situation.work(parallel=pulled))
    ]
    return "".join(paragraphs)


def _told(answer: ChoiceAnswer) -> str:
    """The decision's sentence, as HTML; the numbers open of a size that fails, or that nearly does."""
    advice, sizes = answer.situation.advice, answer.sizes
    named = advice.fails or advice.nearly
    if named is None or sizes is None or named.candidate not in sizes.candidates:
        return html.escape(advice.sentence)
    at = sizes.candidates.index(named.candidate)
    return opening(advice_sentence(advice, mark=lambda text, key: mark(text, f"{key}:{at}")))


def tables_html(sizes: EverySize) -> str:
    """What to pull and its neighbours; all other sizes folded beneath. Every number opens."""
    pick = next((place for place in (sizes.pull, sizes.least, sizes.asked) if place is not None), None)
    around = () if pick is None else range(pick - AROUND, pick + AROUND + 1)
    near = {at for at in around if 0 <= at < len(sizes.states)}
    near |= set() if sizes.asked is None or not near else {sizes.asked}
    rest = [at for at in range(len(sizes.states)) if at not in near]
    first = _table(sizes, sorted(near) if near else rest, "What to pull, and its neighbours")
    if not near or not rest:
        return first
    more = _table(sizes, range(len(sizes.states)), "Every size under every rule, least metal first")
    return f"{first}<details class='wc-all-sizes'><summary>All sizes</summary>{more}</details>"


def _table(sizes: EverySize, places: Sequence[int], caption: str) -> str:
    rows, kinds = [], []
    for at in places:
        state = sizes.states[at]
        told = "pull this" if at == sizes.pull else "OK" if state == "fine" else state
        mine = " (this run)" if at == sizes.asked else ""
        kind = "wc-chosen" if at == sizes.pull else "wc-kept" if state == "fine" else "wc-broken"
        sign, look = SIGNS[state]
        kinds.append(f"{kind} {look}")
        verdict = Html(f"<span class='wc-sign' aria-hidden='true'>{sign}</span> {told}")
        rows.append((f"{sizes.candidates[at].label}{mine}", verdict, *(_cell(held, at) for held in sizes.held)))
    heads = ("Size", "Verdict", *(_head(held, places[0]) for held in sizes.held))
    return html_table(caption, heads, rows, kind="wc-words wc-as-cards wc-lined", row_kinds=kinds)


def _cell(held: Held, at: int) -> Cell:
    """One value under one limit; what is over or short is said beneath."""
    measure = held.limit.measure
    text = figure(held.limit, float(held.values[at]))
    if not np.isfinite(held.values[at]):  # no current to be had through it, over 250 °C, or no fuse so large
        return Html(html.escape(text), "" if held.kept[at] else "wc-breaks")
    shown = f"<span>{number(text, f'{measure}:{at}')}{_used(float(held.share[at]))}</span>"
    if held.kept[at]:
        return Html(shown)
    beyond = float(held.values[at] - held.bounds[at]) * (1 if held.limit.sense == "at most" else -1)
    side = "over" if held.limit.sense == "at most" else "short"
    by = number(figure(held.limit, beyond, like=float(held.values[at])), f"over {measure}:{at}")
    return Html(f"{shown.removesuffix('</span>')}<small>{side} by {by}</small></span>", "wc-breaks")


def _used(share: float) -> str:
    """A bar that ends at the limit; what is over stands out behind it."""
    if not np.isfinite(share):
        return ""
    return (
        "<svg class='wc-used' viewBox='0 0 100 8' preserveAspectRatio='none' aria-hidden='true'>"
        "<rect class='wc-room' width='80' height='8'/>"
        f"<rect class='wc-part' width='{80 * min(share, 1.25):.1f}' height='8'/><path d='M80 -1V9'/></svg>"
    )


def _head(held: Held, at: int) -> Cell:
    """Name and bound of a limit; the bound opens where it is one for all sizes."""
    name = held.limit.name[:1].upper() + held.limit.name[1:]
    if np.ptp(held.bounds):
        return f"{name}, {held.limit.sense} what each carries"
    bound = number(figure(held.limit, float(held.bounds[at])), f"bound {held.limit.measure}:{at}")
    return Html(f"{html.escape(f'{name}, {held.limit.sense}')} {bound}")


class ChoiceTab:
    """See `dashboards.panels.one_run.request.Tab`."""

    title = "Which size?"

    def __init__(self, compute: Callable[..., ChoiceAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self.side = choice("Side by side", [("one conductor", (1,)), ("one or two", (1, 2))], (1,))
        self.side.observe(lambda _change: self.changed(), "value")
        self.told, self.table = Numbers(answer=self.work), Numbers(answer=self.work)
        self._answer: ChoiceAnswer | None = None
        self.charts = Charts(height=400)
        self.charts.add_class("wc-one")
        self.view = w.VBox([self.told, self.side, self.table, self.charts])

    @property
    def fields(self) -> Fields:
        """See `dashboards.panels.one_run.request.Tab`."""
        return named(side=Listed(self.side, lambda counts: str(max(counts))))

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        answer = self.compute(situation, self.side.value)
        self._answer = answer
        self.told.html = sentence(answer)
        show_if(answer.sizes, self.side)
        if answer.sizes is None:
            self.charts.redraw()
            self.table.html = ""
            return
        self.charts.redraw(chart(answer.sizes))
        self.table.html = tables_html(answer.sizes)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the candidates"."""
        what, place = key.split(":")
        answer = self._answer
        assert answer is not None
        assert answer.sizes is not None
        here = answer.situation
        return to_html(of_size(what, here.advice.job, answer.sizes.candidates[int(place)], feet=here.feet))
