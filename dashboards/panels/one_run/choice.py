"""The tab Choice: the smallest size that keeps every limit, and what each other one breaks."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as w
import numpy as np
from numpy.typing import NDArray

from dashboards.panels.controls.address import Fields, Listed, named
from dashboards.panels.controls.chart import BELOW, Charts
from dashboards.panels.controls.colours import BAD, DASHES, SERIES, SYMBOLS
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice
from dashboards.panels.controls.numbers import Numbers, mark, number, opening, to_html
from dashboards.panels.controls.sizes import AWG_STOPS, METRIC_STOPS
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs, units
from wirecalc.limit import Limit
from wirecalc.runs.choose import Verdict, figure
from wirecalc.runs.size_choice import SizeChoice, choose_size
from wirecalc.wire.cautions import cautions
from wirecalc.workings.choice import beyond, bound
from wirecalc.workings.measures import working

MOST_LIMITS = 4


@dataclass(frozen=True, kw_only=True)
class ChoiceAnswer:
    """The standard sizes of this run's system, judged for it."""

    situation: RunRequest
    sizes: SizeChoice
    this: int | None
    """Place of this run's own wire among them; None if it is not one of the standard sizes."""

    @property
    def verdict(self) -> Verdict:
        """Under each limit."""
        return self.sizes.verdict


def compute(situation: RunRequest, limits: Sequence[Limit], parallel: Sequence[int]) -> ChoiceAnswer:
    """Judge every standard size of this run's system, alone and side by side."""
    stops = AWG_STOPS if situation.this.label.endswith("AWG") else METRIC_STOPS
    conductors = [situation.conductor(size) for size in stops]
    sizes = choose_size(situation.run, situation.laid, situation.place, conductors, limits, parallel)
    this = sizes.place_of(situation.this, situation.laid.parallel)
    return ChoiceAnswer(situation=situation, sizes=sizes, this=this)


def chart(answer: ChoiceAnswer) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout: how much of each limit each candidate uses; over 100 % it is broken."""
    verdict, labels = answer.verdict, list(answer.verdict.labels)
    traces: list[dict[str, Any]] = []
    for row, limit in enumerate(verdict.limits[:MOST_LIMITS]):
        used = np.clip(100 * answer.sizes.used[row], 1.0, 1000.0)  # the axis is logarithmic
        traces.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": limit.name,
                "visible": True,
                "x": labels,
                "y": used,
                "line": {"color": SERIES[row], "width": 2.5, "dash": DASHES[row]},
                "marker": {"symbol": SYMBOLS[row], "size": 8},
                "hovertemplate": "%{y:.0f} % of the limit",
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
        "yaxis": {"title": {"text": "Share of the limit (%)"}, "type": "log", "range": [0.0, 3.0]},
        "showlegend": True,
        "legend": BELOW,
    }
    return traces, layout


def sentence(answer: ChoiceAnswer) -> str:
    """What to pull, why not smaller, how this run's own wire stands, and what to mind, as HTML."""
    verdict, situation = answer.verdict, answer.situation
    said = [f"<p class='wc-told' role='status'>{opening(verdict.in_words(mark=mark))}</p>"]
    if answer.this is not None and answer.this != verdict.chosen:
        broken = verdict.breaks(answer.this, mark=mark)
        mine = "; ".join(broken) if broken else "keeps every limit, with more metal than it needs"
        said.append(f"<p>This run's {html.escape(situation.label)}: {opening(mine)}.</p>")
    pulled = answer.sizes.candidates[verdict.nearest].parallel
    minded = cautions(situation.work(parallel=pulled))
    said += [f"<p class='wc-caution' role='note'>{html.escape(text)}</p>" for text in minded]
    return "".join(said)


def table_html(answer: ChoiceAnswer) -> str:
    """Every candidate with its value under each limit, and by how much it breaks it; every number opens."""
    verdict = answer.verdict
    over_by = verdict.over_by
    rows = []
    for place, label in enumerate(verdict.labels):
        good = bool(verdict.meets[:, place].all())
        chosen = place == verdict.chosen
        mark = "pull this" if chosen else "keeps all" if good else "breaks"
        cells = ""
        for row, limit in enumerate(verdict.limits):
            value, meets = verdict.values[row, place], bool(verdict.meets[row, place])
            shown = number(figure(limit, value), f"{limit.measure}:{place}")
            if not meets and np.isfinite(over_by[row, place]):
                side = "over" if limit.sense == "at most" else "short"
                beyond_by = number(figure(limit, over_by[row, place]), f"over {limit.measure}:{place}")
                shown += f"<small>{side} by {beyond_by}</small>"
            cells += f"<td class='{'' if meets else 'wc-breaks'}'>{shown}</td>"
        kind = "wc-chosen" if chosen else "wc-kept" if good else "wc-broken"
        rows.append(f"<tr class='{kind}'><td>{html.escape(label)}</td><td>{mark}</td>{cells}</tr>")
    heads = "".join(f"<th>{_head(limit, verdict.bounds[row])}</th>" for row, limit in enumerate(verdict.limits))
    return (
        "<div class='wc-scroll' tabindex='0' role='region' aria-label='Every size'><table class='wc-table wc-words'>"
        "<caption>Every size under every limit, least metal first</caption>"
        f"<thead><tr><th>Size</th><th>Limits</th>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _head(limit: Limit, bounds: NDArray[np.float64]) -> str:
    """Name and bound of a limit as HTML; the bound opens."""
    if np.ptp(bounds):
        return html.escape(f"{limit.name}, {limit.sense} what each may carry")
    key = limit.bound if isinstance(limit.bound, str) else f"bound {limit.measure}"
    most = number(figure(limit, float(bounds[0])), f"{key}:0")
    if limit.measure == "fuse_headroom_a":
        return f"{html.escape(limit.name)}: {most} or more"
    return f"{html.escape(f'{limit.name}, {limit.sense}')} {most}"


class ChoiceTab:
    """See `dashboards.panels.one_run.request.Tab`."""

    title = "Choice"

    def __init__(self, compute: Callable[..., ChoiceAnswer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self._entries: dict[str, dict[str, Entry[float]]] = {}
        self.side = choice("Side by side", [("one conductor", (1,)), ("one or two", (1, 2))], (1,))
        self.side.observe(lambda _change: self.changed(), "value")
        self.asked = w.Box()
        self.asked.add_class("wc-limits")
        self.told, self.table = Numbers(answer=self.work), Numbers(answer=self.work)
        self._answer: ChoiceAnswer | None = None
        self.charts = Charts(height=400)
        self.charts.add_class("wc-one")
        self.view = w.VBox([self.told, self.asked, self.charts, self.table])

    @property
    def fields(self) -> Fields:
        """See `dashboards.panels.one_run.request.Tab`."""
        kind = self._answer.situation.run.kind if self._answer else ""
        return named(**self._entries.get(kind, {}), side=Listed(self.side, lambda counts: str(max(counts))))

    def limits(self, run: runs.Run) -> tuple[Limit, ...]:
        """The limits of this run, with the bounds that the person set; a bound of 0 has no other."""
        usual = run.limits()
        if run.kind not in self._entries:
            self._entries[run.kind] = {
                limit.measure: self._entry(limit)
                for limit in usual
                if not isinstance(limit.bound, str) and limit.bound and limit.measure not in run.own_bounds
            }
        bounds = {measure: entry.value for measure, entry in self._entries[run.kind].items()}
        return tuple(
            replace(limit, bound=bounds[limit.measure]) if limit.measure in bounds else limit for limit in usual
        )

    def _entry(self, limit: Limit) -> Entry[float]:
        sense = "Most" if limit.sense == "at most" else "Least"
        unit, scale = ("%", 100.0) if limit.measure == "drop_fraction" else (limit.unit, 1.0)
        label = f"{sense} {limit.name}{f' ({unit})' if unit else ''}"
        entry: Entry[float] = Entry(
            label,
            lambda text: units.read(text, label, units.NUMBER, low=0, high=1000, above=True) / scale,
            lambda value: f"{value * scale:g}",
            float(limit.bound),
            help=f"{limit.reason} {limit.source}".strip(),
        )
        entry.changed = lambda: self.changed()
        return entry

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        limits = self.limits(situation.run)
        children = (*(entry.view for entry in self._entries[situation.run.kind].values()), self.side)
        if self.asked.children != children:
            self.asked.children = children
        answer = self.compute(situation, limits, self.side.value)
        self.charts.redraw(chart(answer))
        self._answer = answer
        self.told.html = sentence(answer)
        self.table.html = table_html(answer)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the candidates"."""
        what, place = key.split(":")
        answer = self._answer
        assert answer is not None
        here, one = answer.situation, answer.sizes.candidates[int(place)]
        of = (here.run, one.conductor, replace(here.laid, parallel=one.parallel), here.place)
        how, _, measure = what.rpartition(" ")
        if how:  # of a limit
            limit = next(limit for limit in answer.verdict.limits if limit.measure == measure)
            found = bound(limit, here.run.kind) if how == "bound" else beyond(limit, *of, feet=here.feet)
            return to_html(found)
        return to_html(working("drop_percent" if what == "drop_fraction" else what, *of, feet=here.feet))
