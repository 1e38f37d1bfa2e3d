"""The bench's check of a finished run: what the meter should read, what it reads, what to touch, and the coils."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable
from typing import Any

import ipywidgets as w

from dashboards.panels.controls.address import Listed, named
from dashboards.panels.controls.chart import BELOW, Charts, Picture
from dashboards.panels.controls.colours import BAD, GOOD, INK, faint
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded, together
from dashboards.panels.controls.fields import (
    FOOT_STOPS,
    METRE_STOPS,
    LengthEntry,
    choice,
    meter_accuracy,
    meter_reading,
    quantity,
)
from dashboards.panels.controls.numbers import Numbers, number, to_html
from dashboards.panels.controls.sizes import Size, in_system, stops_of
from dashboards.panels.controls.table import html_table
from wirecalc import units
from wirecalc.bench import coils, finished
from wirecalc.bench.finished import Expected, FinishedRun, ReadingVerdict, in_ohm
from wirecalc.bench.leads import CHANNELS, check_list
from wirecalc.bench.meter import Accuracy, Meter
from wirecalc.bench.words import percent
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.conductor import COLDEST_C, HOTTEST_C, METALS, STRANDINGS, Conductor, conductor, log_area
from wirecalc.workings.finished import reading_working

_CABLES = (
    ("four channels and turn-on", CHANNELS),
    ("four channels", CHANNELS[:4]),
    ("front pair", CHANNELS[:2]),
    ("rear pair", CHANNELS[2:4]),
)
LIKELIEST = "Likeliest first; how often each fault is found is shop practice:"
_CABLE_KEYS = {CHANNELS: "five", CHANNELS[:4]: "four", CHANNELS[:2]: "front", CHANNELS[2:4]: "rear"}


def band_chart(expected: Expected, reading_ohm: float | None) -> Picture:
    """Traces and layout: the band of good runs, the expected reading, and what was read; three traces always."""
    read = reading_ohm if reading_ohm is not None and math.isfinite(reading_ohm) else math.nan
    most = max(expected.high_ohm, 0.0 if math.isnan(read) else read)
    scale, unit = (1e3, "mΩ") if most < 1 else (1.0, "Ω")
    low, high, middle = scale * expected.low_ohm, scale * expected.high_ohm, scale * expected.ohm
    inside = expected.low_ohm <= read <= expected.high_ohm
    traces: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": "good runs",
            "x": [low, high, high, low, low],
            "y": [0.0, 0.0, 1.0, 1.0, 0.0],
            "fill": "toself",
            "fillcolor": faint(GOOD, 0.3),
            "line": {"color": GOOD, "width": 1},
            "hoverinfo": "skip",
        },
        {
            "type": "scatter",
            "mode": "lines",
            "name": "expected",
            "x": [middle, middle],
            "y": [0.0, 1.0],
            "line": {"color": INK, "width": 2, "dash": "dash"},
            "hovertemplate": f"expected %{{x:.4g}} {unit}",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "name": "read",
            "x": [scale * read],
            "y": [0.5],
            "marker": {"color": GOOD if inside else BAD, "size": 18, "symbol": "diamond" if inside else "x"},
            "hovertemplate": f"read %{{x:.4g}} {unit}",
        },
    ]
    told = "enter a reading" if math.isnan(read) else f"read {in_ohm(read)}"
    layout = {
        "title": {"text": "The reading and the band of good runs"},
        "meta": f"Good runs read {in_ohm(expected.low_ohm)} to {in_ohm(expected.high_ohm)}; {told}",
        "xaxis": {"title": {"text": f"Meter reading ({unit})"}, "range": [0.0, 1.15 * scale * most]},
        "yaxis": {"visible": False, "range": [-0.2, 1.2]},
        "hovermode": "closest",
        "showlegend": True,
        "legend": BELOW,
    }
    return traces, layout


def sentence(verdict: ReadingVerdict | None, expected: Expected) -> str:
    """The verdict, or what to expect while nothing is read, and what the reading is like, as HTML."""
    known = f"A good run reads {in_ohm(expected.low_ohm)} to {in_ohm(expected.high_ohm)} with its far end joined."
    if expected.coarse:
        known += " This meter is too coarse to tell: the band is wide against the wire's own resistance."
    told = known if verdict is None else verdict.in_words()
    parts = [f"<p class='wc-told' role='status'>{html.escape(told)}</p>"]
    if verdict is not None and verdict.likes:
        likes = "".join(f"<li><b>{percent(like.share)}</b> {html.escape(like.words)}</li>" for like in verdict.likes)
        parts.append(f"<p>{LIKELIEST}</p><ol>{likes}</ol>")
    return "".join(parts)


def tiles(verdict: ReadingVerdict | None, expected: Expected) -> str:
    """The expected reading, which opens to where it comes from, and the verdict, as HTML."""
    big, _, unit = in_ohm(expected.ohm).partition(" ")
    cells = (
        f"<div><strong>{number(big, 'reading')}</strong> <span>{unit}</span><small>expected on the meter</small></div>"
    )
    if verdict is not None:
        read = "OL" if math.isinf(verdict.reading_ohm) else in_ohm(verdict.reading_ohm)
        look = "wc-too-thin" if verdict.outcome != "in band" else "wc-borderline" if expected.coarse else "wc-fine"
        cells += f"<div><strong class='wc-verdict {look}'>{verdict.outcome}</strong><small>{read} read</small></div>"
    return f"<section class='wc-tiles wc-three' aria-label='This reading'><h2>Far end joined</h2>{cells}</section>"


def list_html(expected: Expected, channels: tuple[str, ...]) -> str:
    """The check-list by colour, as HTML."""
    items = ""
    for step in check_list(expected, channels):
        items += (
            f"<li><b>{html.escape(step.channel or 'All')}</b>: {html.escape(step.do)}<br>Read: "
            f"<b>{html.escape(step.read)}</b><br><small>{html.escape(step.otherwise)}</small></li>"
        )
    head = "<h2>Which wire is which</h2><p>Colours as usual in the trade (shop practice).</p>"
    return f"{head}<ol>{items}</ol>"


def coils_html(given: coils.Readings, verdict: coils.CoilVerdict | None) -> str:
    """Every way to wire the coils and what it reads; the ways that fit the reading are marked, as HTML."""
    rows = []
    for place, way in enumerate(given.ways):
        band = f"{given.low_ohm[place]:.3g} to {given.high_ohm[place]:.3g} Ω"
        same = "; ".join(given.ways[other].words for other in coils.alike(given, place)) or "none"
        fits = "fits" if verdict is not None and place in verdict.fits else ""
        share = "yes" if way.even else "no"
        rows.append((way.words, f"{way.coils}", f"{given.ohm[place]:.3g} Ω", band, share, same, fits))
    heads = ("Wired", "Coils on", "Reads", "Band", "Equal power", "Bands overlap with", "Reading")
    told = "" if verdict is None else f"<p class='wc-told' role='status'>{html.escape(verdict.in_words())}</p>"
    return told + html_table(
        "What each way to wire the coils reads", heads, rows, chosen=verdict.fits if verdict else ()
    )


_METRES = re.compile(r"(?:(\d+\.\d) to )?(\d+\.\d) m\b")


def _in_feet(text: str) -> str:
    """What is said of lengths, in feet and inches."""

    def feet(metres: str) -> str:
        return units.show(float(metres), units.LENGTH, feet=True)

    return _METRES.sub(lambda match: f"{f'{feet(match[1])} to ' if match[1] else ''}{feet(match[2])}", text)


class FinishedRunPanel:
    """Entries -> FinishedRun and Meter -> Expected -> verdict, picture, check-list; below it the coils.

    `compute` is handed in so that a test can count calls.
    """

    def __init__(self, compute: Callable[[FinishedRun, Meter], Expected] = finished.expected) -> None:
        self.compute = compute
        self._expected: Expected | None = None
        self._make_run()
        self._make_meter()
        self._make_coils()
        self.fields = named(
            length=self.length, size=self.size, metal=self.metal, stranding=self.stranding, parallel=self.parallel,
            joints=self.joints, temperature=self.temperature, leads=self.leads, accuracy=self.accuracy,
            digit=self.count, reading=self.reading, cable=Listed(self.cable, _CABLE_KEYS.__getitem__),
            coils=self.coils, re=self.re, through=self.through,
            planned=Listed(self.planned, lambda place: coils.ways(self.coils.value)[place].key),
            coil_reading=self.coil_reading,
        )  # fmt: skip
        self.feet = False
        self.alert, self.told, self.list, self.table = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self.tiles = Numbers(answer=self.work)
        self.chart = Charts()
        self.chart.add_class("wc-one")
        self.refresh()
        for entry in (*self._run_entries, *self._meter_entries, *self._coil_entries):
            entry.changed = self.refresh
        for box in (self.metal, self.stranding, self.cable, self.through, self.planned):
            box.observe(lambda _change: self.refresh(), "value")
        self.view = self._lay_out()

    def _make_run(self) -> None:
        self.length = LengthEntry(
            "Run length, one way", 5.5, low=0, high=LONGEST_M, above=True,
            stops=METRE_STOPS, foot_stops=FOOT_STOPS, help="as the wire runs; metres, or feet as 18 ft 6 in",
        )  # fmt: skip
        self.size: Entry[Size] = Entry(
            "Size",
            self._read_size,
            lambda size: show_size(*size),
            ("AWG", 16.0),
            stops_for=lambda size: stops_of(size[0]),
            position=lambda size: log_area(*size),
            help="AWG or mm²: 16 AWG, 1/0, 0.75 mm2",
        )
        self.metal = choice("Metal", [(m.name, m.key) for m in METALS.values()], "copper")
        self.stranding = choice("Stranding", [(s.name, s.key) for s in STRANDINGS.values()], "stranded")
        self.parallel = Entry(
            "Conductors in parallel",
            lambda text: int(units.read(text, "Conductors in parallel", units.COUNT, low=1, high=16)),
            str,
            1,
            help="default 1; like conductors side by side, each way",
        )
        self.joints = quantity(
            "Joints, whole loop", units.RESISTANCE, 0.0, "mohm", low=0, high=1,
            help="default 0 mΩ; crimps and plugs of the loop as they should be",
        )  # fmt: skip
        self.temperature = quantity(
            "Wire temperature", units.TEMPERATURE, 20.0, "°C", low=COLDEST_C, high=HOTTEST_C,
            help="default 20 °C; where the run lies, within 5 K",
        )  # fmt: skip
        self._run_entries: list[Entry[Any]] = [self.length, self.size, self.parallel, self.joints, self.temperature]

    def _make_meter(self) -> None:
        self.leads = quantity(
            "Meter leads", units.RESISTANCE, 0.0, "mohm", low=0, high=10,
            help="default 0 mΩ: zeroed with its tips held together; else what it then shows",
        )  # fmt: skip
        self.accuracy = meter_accuracy(Accuracy(share=0.005, counts=2))
        self.count = quantity(
            "Meter's last digit", units.RESISTANCE, 1e-3, "mohm", low=1e-7, high=10,
            help="default 1 mΩ; many pocket meters only show 100 mΩ",
        )  # fmt: skip
        self.reading = meter_reading("Your reading", "as the meter shows it: 0.27 ohm, 270 mohm, or OL; empty for none")
        self.cable = choice("Cable holds", _CABLES, CHANNELS)
        self._meter_entries: list[Entry[Any]] = [self.leads, self.accuracy, self.count, self.reading]

    def _make_coils(self) -> None:
        most = coils.MOST_COILS
        self.coils = Entry(
            "Coils",
            lambda text: self._take_coils(int(units.read(text, "Coils", units.COUNT, low=1, high=most))),
            str,
            2,
            help=f"1 to {most} like voice coils; a driver of two coils counts as two",
        )
        self.re = quantity(
            "Re of each coil", units.RESISTANCE, 3.4, "ohm", low=0.1, high=1000,
            help="from its data sheet; commonly a little under its rated impedance (shop practice)",
        )  # fmt: skip
        self.through = choice("Read", [("through this run", True), ("at the coils", False)], True)
        self.planned = choice("Planned", self._plans(2), 0)
        self.coil_reading = meter_reading("Reading of the coils", "speakers on, amplifier off; empty for none")
        self._coil_entries: list[Entry[Any]] = [self.coils, self.re, self.coil_reading]

    @staticmethod
    def _plans(count: int) -> list[tuple[str, int]]:
        return [(way.words, place) for place, way in enumerate(coils.ways(count)) if way.coils == count]

    def _take_coils(self, count: int) -> int:
        if count != self.coils.value:
            self.coils.value = count  # the list below is redrawn by its change, and must find them together
            with self.planned.hold_trait_notifications():
                self.planned.options, self.planned.value = self._plans(count), 0
        return count

    def _conductor(self, size: Size) -> Conductor:
        return conductor(*size, METALS[self.metal.value], STRANDINGS[self.stranding.value])

    def _read_size(self, text: str) -> Size:
        size = read_size(text, "Size")
        self._conductor(size)  # a metric size must be in the table
        return size

    def _lay_out(self) -> w.Widget:
        top = w.VBox([self.tiles, self.alert])
        top.add_class("wc-top")
        ask = w.VBox(
            [
                self.reading.view,
                self.length.view,
                self.size.view,
                self.metal,
                self.stranding,
                *(entry.view for entry in (self.parallel, self.joints, self.temperature)),
                *(entry.view for entry in (self.leads, self.accuracy, self.count)),
            ]
        )
        ask.add_class("wc-ask")
        coil_head = w.HTML("<h2>The coils, read by the same meter</h2>")
        coil_fields = w.Box([self.coils.view, self.re.view, self.planned, self.through, self.coil_reading.view])
        coil_fields.add_class("wc-fields")
        show = w.VBox([self.told, self.chart, self.cable, self.list, coil_head, coil_fields, self.table])
        show.add_class("wc-show")
        page = w.Box([top, ask, show])
        page.add_class("wc-page")
        return page

    def use_units(self, feet: bool, system: str = "") -> None:
        """The length in feet or in metres; with `system` the size in AWG or mm²."""
        with together(self, self.refresh):
            self.feet = feet
            self.length.use_feet(feet)
            if system:
                size = in_system(self.size.value, system)
                self.size.set(size)

    def run(self) -> FinishedRun:
        """What the entries say now, the last good value of each."""
        return FinishedRun(
            conductor=self._conductor(self.size.value),
            length_m=self.length.value,
            parallel=self.parallel.value,
            joints_ohm=self.joints.value,
            temperature_c=self.temperature.value,
            leads_ohm=self.leads.value,
        )

    def work(self, _key: str) -> str:
        """Where the expected reading comes from, as HTML."""
        assert self._expected is not None
        return to_html(reading_working(self._expected))

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw."""
        accuracy = self.accuracy.value
        meter = Meter(share=accuracy.share, counts=accuracy.counts, count_ohm=self.count.value)
        expected = self.compute(self.run(), meter)
        read = self.reading.value
        verdict = None if read is None else finished.judge_reading(expected, read)
        wire_ohm = expected.ohm if self.through.value else self.leads.value
        given = coils.readings(self.coils.value, self.re.value, meter, wire_ohm=wire_ohm)
        coil_read = self.coil_reading.value
        coil = None if coil_read is None else coils.judge_coils(given, self.planned.value, coil_read)

        self.chart.redraw(band_chart(expected, read))  # first: a key press waits for it
        self._expected = expected
        self.tiles.html = tiles(verdict, expected)
        text = sentence(verdict, expected)
        self.told.value = _in_feet(text) if self.feet else text
        self.list.value = list_html(expected, self.cable.value)
        self.table.value = coils_html(given, coil)
        self.alert.value = ""
