"""The page One run: what an amplifier's power, a load, a length and a size come to."""

from __future__ import annotations

import functools
import html
import logging
from collections.abc import Callable
from typing import Any

import ipywidgets as w
import numpy as np

from dashboards.panels import level
from dashboards.panels.chart import Chart
from dashboards.panels.entry import Entry
from dashboards.panels.sizes import AWG_STOPS, METRIC_STOPS, OFFERED, Size, SizePicker
from wirecalc import units
from wirecalc.cable import LONGEST_M
from wirecalc.conductor import COLDEST_C, HOTTEST_C, METALS, STRANDINGS, conductor
from wirecalc.errors import InputError
from wirecalc.source import Amplifier

_log = logging.getLogger(__name__)

# fmt: off
POWER_STOPS = tuple(map(float, (
    5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 175, 200, 250, 300, 400, 500, 600, 750, 1000, 1500, 2000,
)))
# fmt: on
OHM_STOPS = (0.5, 0.67, 1.0, 1.33, 1.5, 2.0, 2.67, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0, 16.0)
METRE_STOPS = tuple(step / 4 for step in range(1, 49))
FOOT_STOPS = tuple(step * 0.3048 for step in range(1, 41))
TABLES = ("IEC 60228 class 5", "IEC 60228 class 2", "ISO 6722-1")


def guarded(refresh: Callable[[OneRunPanel], None]) -> Callable[[OneRunPanel], None]:
    """A fault in an entry, or in us, is said on the page; the last good picture stays; nobody sees a traceback."""

    @functools.wraps(refresh)
    def safe(panel: OneRunPanel) -> None:
        try:
            refresh(panel)
        except InputError as fault:
            panel.alert.value = _alert(str(fault))
        except Exception:
            _log.exception("one run could not be drawn")
            panel.alert.value = _alert("This could not be worked out: a fault of the page, not of your entry.")

    return safe


def _alert(text: str) -> str:
    return f"<div role='alert'>{html.escape(text)} The picture still shows the last good entries.</div>"


class OneRunPanel:
    """Widgets -> Request -> compute -> draw. `compute` is handed in so that a test can count calls."""

    def __init__(self, compute: Callable[[level.Request], level.Answer] = level.compute) -> None:
        self.compute = compute
        self.feet = w.ToggleButtons(options=[("Metres", False), ("Feet", True)], value=False)
        self.feet.add_class("wc-units")
        self.power = Entry(
            "Amplifier power",
            lambda text: units.read(text, "Amplifier power", units.POWER, low=0, high=20000, above=True, bare="W"),
            lambda value: units.show(value, units.POWER),
            100.0,
            stops=POWER_STOPS,
            position=np.log,
            help="RMS, one channel",
        )
        self.rated = self._ohms("Rated into", 4.0, "the impedance that the power is stated for")
        self.load = self._ohms("Load impedance", 4.0, "all coils on this run together")
        self.length = Entry(
            "Run length, one way",
            lambda text: units.read(
                text, "Run length", units.LENGTH, low=0, high=LONGEST_M, above=True, bare=self._length_unit()
            ),
            lambda value: units.show(value, units.LENGTH, feet=self.feet.value),
            5.5,
            stops=METRE_STOPS,
            help="as the wire runs, not as the crow flies",
        )
        self.size: Entry[Size] = Entry(
            "Size",
            self._read_size,
            lambda size: conductor(*size).label if size[0] == "AWG" else units.show_size(*size),
            ("AWG", 16.0),
            stops=AWG_STOPS,
            position=lambda size: float(np.log(conductor(*size).area_m2)) if self._known(size) else 0.0,
            help="AWG or mm²: 16 AWG, 1/0, 0.75 mm2",
        )
        self.picker = SizePicker()
        self.metal = self._choice("Metal", [(m.name, m.key) for m in METALS.values()], "copper")
        self.stranding = self._choice("Stranding", [(s.name, s.key) for s in STRANDINGS.values()], "stranded")
        self.metric_table = self._choice("Metric sizes by", [(t, t) for t in TABLES], TABLES[0])
        self.temperature = Entry(
            "Conductor temperature",
            lambda text: units.read(
                text, "Conductor temperature", units.TEMPERATURE, low=COLDEST_C, high=HOTTEST_C, bare="°C"
            ),
            lambda value: units.show(value, units.TEMPERATURE),
            20.0,
            help="default 20 °C, as the wire tables; a cabin parked in the sun reaches 60 °C and more",
        )
        self.joints = Entry(
            "Joints, whole loop",
            lambda text: units.read(text, "Joints", units.RESISTANCE, low=0, high=1, bare="mohm"),
            lambda value: "0 mΩ" if value == 0 else units.show(value, units.RESISTANCE),
            0.0,
            help="default 0 mΩ; add what crimps, plugs and terminals measure",
        )
        self.parallel = Entry(
            "Conductors in parallel",
            lambda text: int(units.read(text, "Conductors in parallel", units.COUNT, low=1, high=16)),
            str,
            1,
            help="default 1; like conductors side by side, each way",
        )
        self.damping = Entry(
            "Amplifier damping factor",
            lambda text: units.read(text, "Damping factor", units.NUMBER, low=1, high=100000),
            lambda value: f"{value:g}",
            200.0,
            help="default 200 at the rated impedance (common practice, no source)",
        )
        self.least: Entry[float | None] = Entry(
            "Least load allowed",
            lambda text: (
                units.read(text, "Least load", units.RESISTANCE, low=0.1, high=1000, bare="ohm")
                if text.strip()
                else None
            ),
            lambda value: "" if value is None else units.show(value, units.RESISTANCE),
            None,
            help="left empty: the impedance that the power is rated into",
        )
        more = [self.metal, self.stranding, self.metric_table]
        more += [e.view for e in (self.temperature, self.joints, self.parallel, self.damping, self.least)]
        self.more = w.VBox(more)
        self.more.add_class("wc-more").add_class("wc-shut")
        self.open_more = w.ToggleButton(value=False, description="More: metal, temperature, joints …")
        self.open_more.observe(self._toggle_more, "value")

        self.alert = w.HTML()
        answer = self.compute(self.request())
        self.tiles = w.HTML(level.tiles(answer))
        self.told = w.HTML(level.sentence(answer))
        self.table = w.HTML(level.table_html(answer))
        self.level_chart = Chart("Level lost against length", *level.level_chart(answer))
        self.power_chart = Chart("Power delivered against length", *level.power_chart(answer))

        entries = (self.power, self.rated, self.load, self.length, self.size)
        for entry in (*entries, self.temperature, self.joints, self.parallel, self.damping, self.least):
            entry.changed = self.refresh
        self.picker.changed = self.refresh
        for choice in (self.metal, self.stranding, self.metric_table):
            choice.observe(lambda _change: self.refresh(), "value")
        self.feet.observe(self._change_units, "value")
        self.view = self._lay_out([entry.view for entry in entries])

    def _lay_out(self, entries: list[w.Widget]) -> w.Widget:
        ask = w.VBox([self.feet, *entries, self.open_more, self.more])
        ask.add_class("wc-ask")
        top = w.VBox([self.tiles, self.alert])
        top.add_class("wc-top")
        charts = w.Box([self.level_chart, self.power_chart])
        charts.add_class("wc-charts")
        show = w.VBox([charts, self.picker.view, self.told, self.table])
        show.add_class("wc-show")
        page = w.Box([top, ask, show])
        page.add_class("wc-page")
        return page

    def _ohms(self, label: str, start: float, help: str) -> Entry[float]:
        return Entry(
            label,
            lambda text: units.read(text, label, units.RESISTANCE, low=0.1, high=1000, bare="ohm"),
            lambda value: units.show(value, units.RESISTANCE),
            start,
            stops=OHM_STOPS,
            position=np.log,
            help=help,
        )

    def _choice(self, label: str, options: list[tuple[str, str]], start: str) -> w.Dropdown:
        box = w.Dropdown(options=options, value=start, description=label)
        box.style.description_width = "auto"
        box.add_class("wc-choice")
        return box

    def _length_unit(self) -> str:
        return "ft" if self.feet.value else "m"

    def _conductor(self, size: Size) -> level.Conductor:
        metal, stranding = METALS[self.metal.value], STRANDINGS[self.stranding.value]
        return conductor(*size, metal, stranding, self.metric_table.value)

    def _known(self, size: Size) -> bool:
        return size[0] == "AWG" or size in METRIC_STOPS

    def _read_size(self, text: str) -> Size:
        size = units.read_size(text, "Size")
        self._conductor(size)  # a metric size must be in the table
        self.size.set_stops(AWG_STOPS if size[0] == "AWG" else METRIC_STOPS)
        return size

    def _toggle_more(self, change: dict[str, Any]) -> None:
        (self.more.remove_class if change["new"] else self.more.add_class)("wc-shut")

    def _change_units(self, _change: dict[str, Any]) -> None:
        self.length.set_stops(FOOT_STOPS if self.feet.value else METRE_STOPS)
        self.length.rewrite()
        self.refresh()

    def request(self) -> level.Request:
        """What the entries say now, the last good value of each."""
        return level.Request(
            amplifier=Amplifier(
                power_w=self.power.value,
                rated_ohm=self.rated.value,
                damping_factor=self.damping.value,
                least_ohm=self.least.value,
            ),
            load_ohm=self.load.value,
            this=self._conductor(self.size.value),
            others=tuple(
                self._conductor(one.size) if picked else None
                for one, picked in zip(OFFERED, self.picker.picked, strict=True)
            ),
            length_m=self.length.value,
            temperature_c=self.temperature.value,
            parallel=self.parallel.value,
            joints_ohm=self.joints.value,
            feet=self.feet.value,
        )

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw."""
        answer = self.compute(self.request())
        self.tiles.value = level.tiles(answer)
        self.level_chart.redraw(*level.level_chart(answer))
        self.power_chart.redraw(*level.power_chart(answer))
        self.told.value = level.sentence(answer)
        self.table.value = level.table_html(answer)
        self.alert.value = ""
