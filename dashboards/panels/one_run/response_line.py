"""The tab Response for a line signal: entries of the supply wire beside it, curves, words and tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass

import ipywidgets as w
import numpy as np

from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.chart import Picture
from dashboards.panels.controls.colours import DASHES, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import quantity
from dashboards.panels.controls.numbers import number, of_this, to_html
from dashboards.panels.controls.table import Html, html_table
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.response_parts import (
    LEGEND,
    curve,
    in_columns,
    in_hz,
    level_chart,
    listen,
    log_axis,
    mark_at,
    shown,
    sizes_table,
    titled,
    words_html,
)
from wirecalc import units
from wirecalc.circuits import line_level
from wirecalc.runs.over_frequency import LineResponse, SupplyBeside, line_response, of_line
from wirecalc.wire.cable import LONGEST_M
from wirecalc.workings.line import pickup_working, top_level
from wirecalc.workings.measures import working

_TICKS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
COLUMN_KEYS = ("loss_db", "treble_loss_db", "top", "corner_khz")


@dataclass(frozen=True, kw_only=True)
class LineRequest:
    """A line-level run over frequency, and the supply wire beside it."""

    situation: RunRequest
    beside: SupplyBeside


@dataclass(frozen=True, kw_only=True)
class LineAnswer:
    """The request, solved."""

    request: LineRequest
    response: LineResponse
    """This run's size first."""

    @property
    def situation(self) -> RunRequest:
        """Of the page."""
        return self.request.situation

    @property
    def beside(self) -> SupplyBeside:
        """The supply wire."""
        return self.request.beside


def compute(request: LineRequest) -> LineAnswer:
    """All numbers of the tab, in one call."""
    here = request.situation
    run = of_line(here.run)
    return LineAnswer(request=request, response=line_response(run, here.conductors, here.laid, request.beside))


def pickup_chart(response: LineResponse) -> Picture:
    """What is picked up against the distance of the supply wire, for both kinds of pair, this run's marked."""
    mm = response.distance_m * 1e3
    flat, twisted = (
        -line_level.under_one_volt_db(volt) for volt in (response.pickup.parallel_v, response.pickup.twisted_v)
    )  # fmt: skip
    form = "%{y:.0f} dB"
    traces = [
        curve("Flat", mm[:-1], flat[:-1], SERIES[0], form),
        curve("Twisted", mm[:-1], twisted[:-1], SERIES[1], form, DASHES[1]),
        mark_at([mm[-1], mm[-1]], [float(flat[-1]), float(twisted[-1])]),
    ]
    ends = float(mm.min()), float(mm.max())
    layout = {
        **titled("Picked up from a supply wire"),
        "xaxis": log_axis("Distance of the supply wire", "mm", *ends, _TICKS_MM),
        "yaxis": {"title": {"text": "Picked up, against 1 V (dB)"}, "rangemode": "normal"},
        **LEGEND,
    }
    return traces, layout


def charts(answer: LineAnswer) -> tuple[Picture, Picture]:
    """Level over frequency, and what is picked up over distance."""
    response = answer.response
    level = level_chart(answer.situation, response.hz, response.level_db, response.furthest, "source")
    return level, pickup_chart(response)


def line_words(answer: LineAnswer) -> str:
    """What the cable and the supply wire beside it do to a line signal, as HTML."""
    here, response, beside = answer.situation, answer.response, answer.beside
    top = response.top
    corner_hz = float(top.corner_hz[0])
    corner = in_hz(corner_hz, "corner_khz") if np.isfinite(corner_hz) else "none, without capacitance"
    more = shown(-float(top.treble_db[0]), units.LEVEL, "treble_loss_db")
    told = f"At 20 kHz the cable takes {more} more than in mid band. −3 dB point: {corner}."
    flat, twisted = float(response.pickup.parallel_v[-1]), float(response.pickup.twisted_v[-1])

    def picked_up(volt: float, kind: str) -> str:
        under = of_this(f"{line_level.under_one_volt_db(volt):.0f} dB", f"{kind}_db")
        return f"{shown(volt * 1e3, units.NUMBER, kind)} mV, {under} under a 1 V signal"

    length = units.show(beside.along_m, units.LENGTH, feet=here.feet)
    notes = [
        f"Level at 20 kHz: {shown(float(top.level_db[0]), units.LEVEL, 'top')} against the source with nothing "
        f"connected. In mid band {shown(float(top.middle_db[0]), units.LEVEL, 'middle_db')}, source against "
        "input impedance.",
        "The size of the wire hardly matters here. An input's own filter is not counted.",
        f"Supply wire beside it: {units.show(beside.ripple_a, units.CURRENT)} of ripple at {in_hz(beside.ripple_hz)}, "
        f"{units.show(beside.distance_m, units.LENGTH)} away, over {length}.",
        f"Flat pair: {picked_up(flat, 'flat')}.",
        f"Twisted pair: at most {picked_up(twisted, 'twisted')}.",
        "The model: the worst way round, with the supply's return far away. A return beside the supply wire lowers "
        "both figures greatly. A shield is not counted: a thin one does little against magnetic fields at audio. The "
        "body's steel, and noise through a shared chassis return, often the larger, are not in it. Twists are "
        "taken as 1 % uneven: assumed, no source.",
    ]
    return words_html(told, here.cautions, notes)


def table_html(answer: LineAnswer) -> str:
    """Every drawn size over frequency, this run first, and what is picked up; every number opens."""
    top, picked = answer.response.top, answer.response.pickup
    columns = (
        ("Lost in mid band (dB)", "{:.2f}", -top.middle_db),
        ("Lost at 20 kHz under mid band (dB)", "{:.2f}", -top.treble_db),
        ("Level at 20 kHz (dB)", "{:.2f}", top.level_db),
        ("−3 dB point (kHz)", "{:.1f}", top.corner_hz / 1e3),
    )
    keyed = [(head, key, form, values) for (head, form, values), key in zip(columns, COLUMN_KEYS, strict=True)]
    heads, rows = sizes_table(answer.situation, keyed)
    pairs = [
        (
            name,
            Html(number(f"{volt * 1e3:.3g}", f"{key}:0")),
            Html(number(f"{line_level.under_one_volt_db(volt):.1f}", f"{key}_db:0")),
        )
        for name, key, volt in (
            ("Flat pair", "flat", picked.parallel_v[-1]),
            ("Twisted pair, at most", "twisted", picked.twisted_v[-1]),
        )
    ]
    return html_table("Every drawn size over frequency; this run first", heads, rows, kind="wc-as-cards") + html_table(
        "Picked up from the supply wire beside it", ("Pair", "Picked up (mV)", "Under 1 V (dB)"), pairs, kind=""
    )


def working_of(answer: LineAnswer, what: str, place: int) -> str:
    """Where one number of one size comes from, as HTML."""
    here = answer.situation
    conductor = here.conductors[place]
    if what == "top":
        return to_html(top_level(of_line(here.run), conductor, here.laid, feet=here.feet))
    if what in (*COLUMN_KEYS, "middle_db"):
        return to_html(working(what, here.run, conductor, here.laid, feet=here.feet))
    return to_html(pickup_working(what, **asdict(answer.beside), feet=here.feet))


class LineEntries:
    """What the tab asks for of the supply wire beside a line signal.

    Parameters
    ----------
    changed : callable
        Told of every change.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._feet = False
        self._view = self._pickup_entries()
        for part in (self.ripple, self.ripple_hz, self.along, self.distance, self.spacing, self.pitch):
            listen(part, changed)
        self.fields: Fields = named(
            ripple=self.ripple, ripple_hz=self.ripple_hz, along=self.along, distance=self.distance,
            spacing=self.spacing, twist=self.pitch,
        )  # fmt: skip

    def parts(self) -> tuple[w.Widget, ...]:
        """What is to be seen of them."""
        return (self._view,)

    def use_feet(self, feet: bool) -> None:
        """Write the length in the page's unit."""
        if self._feet != feet:
            self._feet = feet
            self.along.rewrite()

    def _pickup_entries(self) -> w.GridBox:
        def entry(label: str, kind: units.QuantityKind, start: float, bare: str, high: float) -> Entry[float]:
            help = f"default {units.show(start, kind)}: assumed"
            return quantity(label, kind, start, bare, low=0, high=high, above=True, help=help)

        self.ripple = entry("Ripple in a supply wire", units.CURRENT, 5.0, "A", 1000)
        self.ripple_hz = entry("Ripple frequency", units.FREQUENCY, 1e3, "Hz", 1e6)
        self.along: Entry[float | None] = Entry(
            "Length alongside",
            lambda text: self._read_along(text, LONGEST_M) if text.strip() else None,
            lambda value: "" if value is None else units.show(value, units.LENGTH, feet=self._feet),
            None,
            help="left empty: the whole run",
        )
        self.distance = entry("Distance, supply to signal", units.LENGTH, 0.02, "mm", 10)
        self.spacing = entry("Signal conductors, centre to centre", units.LENGTH, 0.0025, "mm", 1)
        self.pitch = entry("Length of one full twist", units.LENGTH, 0.025, "mm", 10)
        return in_columns(self.ripple, self.ripple_hz, self.along, self.distance, self.spacing, self.pitch)

    def _read_along(self, given: object, longest_m: float) -> float:
        bare = "ft" if self._feet else "m"
        return units.read(given, "Length alongside", units.LENGTH, low=0, high=longest_m, above=True, bare=bare)

    def request(self, situation: RunRequest) -> LineRequest:
        """The page's situation and what the entries say, the last good value of each."""
        length_m = situation.laid.length_m
        return LineRequest(
            situation=situation,
            beside=SupplyBeside(
                ripple_a=self.ripple.value,
                ripple_hz=self.ripple_hz.value,
                along_m=length_m if self.along.value is None else self._read_along(self.along.value, length_m),
                distance_m=self.distance.value,
                spacing_m=self.spacing.value,
                pitch_m=self.pitch.value,
            ),
        )
