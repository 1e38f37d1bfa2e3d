"""What is this wire: readings of a sample, what it most likely is, what to measure next, and a log of samples."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import ipywidgets as w
import numpy as np

from dashboards.panels.acts.choices import Press, Switch
from dashboards.panels.bench import where
from dashboards.panels.bench.log import LogPanel
from dashboards.panels.controls.address import named
from dashboards.panels.controls.chart import BELOW, Charts, Picture
from dashboards.panels.controls.colours import PATTERNS, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import choice, meter_accuracy
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.controls.table import html_table
from wirecalc import units
from wirecalc.bench import known_wires
from wirecalc.bench.advise import next_readings
from wirecalc.bench.identify import Identified, identify_sample
from wirecalc.bench.known_wires import Size
from wirecalc.bench.log import WAYS, LoggedSample, read_label
from wirecalc.bench.meter import Accuracy
from wirecalc.bench.sample import FIELDS, Sample, read_reading
from wirecalc.bench.words import gauge_words, listed_as, percent, said
from wirecalc.wire.as_sold import show_size

MORE = "More readings, meter, label …"
ZEROED = "Zeroed: tips together show 0"
MOST_DRAWN = 12  # sizes side by side that a phone still labels
_BEHIND, _DIGIT, _LEADING = re.compile("[±+].*"), re.compile("[1-9]"), re.compile(r"^0+(?=\d)")
_TABLE_ROWS, _ADVISED = 6, 3
_LEAST_BITS = 0.1  # of a reading that is worth taking
_COVER_90 = 1.645  # standard deviations either side that hold 90 %
FIRST = ("strands", "strand_m", "ohm", "length_m")
"""Readings that are asked first: the three that tell most, and of which length the resistance is."""
LEADS = "lead_ohm"
"""Asked as soon as there is a resistance of two wires, which does not count without."""
BY_TAPE = ("length_m", "mass_length_m")
"""Whose number alone is in metres or in feet."""
START = "Enter a reading to start"
TOO_LITTLE = "This alone tells neither metal nor size."
TITLE = "Likelihood by size and metal"
HELP = {
    "strands": "counted; ±2 % assumed above 50, unless you write 105 ± 1",
    "strand_m": "of one strand; taken to 0.01 mm, unless you write 0.254 ± 0.005 mm",
    "bare_m": "over the bare strands, twisted tight; taken to 0.05 mm",
    "ohm": "as the meter shows it, every digit: 20.50 mohm",
    "lead_ohm": "needed for two wires: what the meter shows with its tips together",
    "length_m": "between the contacts; taken to 0.5 % and 2 mm",
    "temperature_c": "of the wire; left empty: 20 °C, give or take 10 K",
    "mass_kg": "of a stripped piece; taken to 0.1 g",
    "mass_length_m": "of that piece; taken to 0.5 % and 2 mm",
    "outer_m": "over the insulation; tells little, as walls differ",
}
KEYS = {
    "strands": "strands",
    "strand_m": "strand",
    "bare_m": "bare",
    "ohm": "resistance",
    "lead_ohm": "leads",
    "length_m": "length",
    "temperature_c": "temperature",
    "mass_kg": "mass",
    "mass_length_m": "stripped",
    "outer_m": "outer",
}
"""Of the readings, in the page's address."""


@cache
def _labels() -> tuple[str, ...]:
    return (*(show_size(*size) for size in known_wires.SIZES), "other")


@cache
def _by_area() -> tuple[int, ...]:
    """Places of the sizes, thin to thick; "another size than these" comes last."""
    areas = [known_wires.size_area_m2(size) for size in known_wires.SIZES]
    return (*(int(place) for place in np.argsort(areas)), len(areas))


def picture(identified: Identified) -> Picture:
    """Likelihood of the likeliest sizes, a bar each, in parts by metal; none where readings contradict each other."""
    likely = set(np.argsort(-identified.size, kind="stable")[:MOST_DRAWN].tolist())
    places = [place for place in _by_area() if place in likely]
    shown = 100 * identified.grouped[:, places] * (not identified.contradictory)
    labels = [_labels()[place] for place in places]
    traces = [
        {
            "type": "bar",
            "name": group,
            "x": labels,
            "y": shown[row],
            "marker": {"color": SERIES[row], "pattern": {"shape": PATTERNS[row]}},
            "hovertemplate": "%{y:.1f} %",
        }
        for row, group in enumerate(known_wires.GROUPS)
    ]
    title = "The readings contradict each other: nothing to choose" if identified.contradictory else TITLE
    layout = {
        "title": {"text": title},
        "meta": f"{title}. {said(identified)[0]}",
        "barmode": "stack",
        "showlegend": True,
        "legend": BELOW,
        "xaxis": {"type": "category"},
        "yaxis": {"title": {"text": "likelihood, %"}, "range": [0, 100]},
    }
    return traces, layout


def tiles(identified: Identified, metric: bool = False, *, begun: bool = True) -> str:
    """The answer in three figures, as HTML; no figure where there is none."""
    if identified.freedom < 0 or identified.contradictory:
        title = "These readings contradict each other" if identified.contradictory else START
        if begun and identified.freedom < 0:
            title = "One more reading is needed"
        return f"<section class='wc-tiles' aria-label='This wire'><h2>{title}</h2></section>"
    group, size = int(identified.group.argmax()), int(identified.size.argmax())
    cells = (
        (percent(identified.group[group]), list(known_wires.GROUPS)[group]),
        (percent(identified.size[size]), f"{_labels()[size]}, by size"),
        (gauge_words(float(identified.copper_m2[1]), metric=metric), "copper wire of the same resistance"),
    )
    boxes = "".join(
        f"<div><strong>{html.escape(big)}</strong><small>{html.escape(what)}</small></div>" for big, what in cells
    )
    return f"<section class='wc-tiles wc-three' aria-label='This wire'><h2>Most likely</h2>{boxes}</section>"


def told(
    identified: Identified,
    waits: Sequence[str],
    sold_as: Size | None,
    listed: str = "",
    metric: bool = False,
    *,
    begun: bool = True,
) -> str:
    """The result in sentences, as HTML."""
    sentences = (*said(identified, sold_as, metric=metric), listed)
    if identified.freedom < 0:  # the tile says it of nothing read, a note of what does not count yet
        sentences = () if waits or not begun else (TOO_LITTLE,)
    first = html.escape(" ".join(sentences).rstrip())
    notes = "".join(f"<p class='wc-caution' role='note'>{html.escape(text)}</p>" for text in waits)
    return f"<p class='wc-told{' wc-caution' if identified.contradictory else ''}' role='status'>{first}</p>{notes}"


def tables(identified: Identified) -> str:
    """The likeliest metals and sizes, and the area by each way, as HTML."""
    parts, joint = [], identified.grouped
    if not identified.contradictory:
        best = [divmod(int(flat), joint.shape[1]) for flat in np.argsort(-joint, axis=None)[:_TABLE_ROWS]]
        rows = [
            (list(known_wires.GROUPS)[group], _labels()[place], percent(joint[group, place]))
            for group, place in best
            if joint[group, place] >= 0.01
        ]
        parts.append(html_table("Most likely", ("Metal", "Size", "Likelihood"), rows))
    ways = [
        (
            name,
            units.show(float(area), units.AREA),
            f"± {100 * _COVER_90 * identified.as_copper_spread[name]:.1f} %",
        )
        for name, area in identified.as_copper_m2.items()
        if not np.isnan(area)
    ]
    if ways:
        parts.append(
            html_table(
                "Area by each reading alone, if it were copper", ("By its", "Area", "9 times in 10 within"), ways
            )
        )
    return "".join(parts)


def _bare(text: str) -> bool:
    """A number without its unit."""
    return bool(text) and not text.strip("0123456789.,+-± ")


_first_advice = cache(lambda: next_readings(Sample()))  # before anything is read it is always the same


def advice(sample: Sample, identified: Identified, feet: bool = False, typed: Sequence[str] = ()) -> str:
    """What to measure next, and how, as HTML; not what is typed and only does not count yet."""
    if identified.contradictory:
        return "<h2>Measure next</h2><p>The same again: a reading that contradicts another tells nothing more.</p>"
    best = next_readings(sample) if any(True for _ in sample.taken()) else _first_advice()
    items = "".join(
        f"<li><b>{html.escape(each.title.capitalize())}</b>. {html.escape(each.how_in(feet))}</li>"
        for each in [each for each in best if each.name not in typed][:_ADVISED]
        if each.bits >= _LEAST_BITS
    )
    if not items:
        return "<h2>Measure next</h2><p>No other reading would tell much more.</p>"
    return f"<h2>Measure next, the best first</h2><ol>{items}</ol>"


class IdentifyPanel:
    """Readings of one wire, all of them optional; what it is; a log of samples."""

    def __init__(self) -> None:
        self.entries = {key: self._entry(key) for key in FIELDS}
        self.way = choice("Meter wires", [(words, key) for key, words in WAYS.items()], "two")
        self.accuracy = meter_accuracy(Accuracy(share=0.01, counts=3))
        self.sold_as: Entry[Size | None] = Entry(
            "Sold as",
            read_label,
            lambda size: show_size(*size) if size else "",
            None,
            help="size on the label, if any: 18 AWG",
        )
        self.feet = self.metric = False
        self.heard: Callable[[], None] = lambda: None
        """Told whenever there is, or is no longer, a reading."""
        self.log = LogPanel(self.now)
        self.fields = named(
            **{KEYS[key]: entry for key, entry in self.entries.items()},
            way=self.way, accuracy=self.accuracy, sold_as=self.sold_as, name=self.log.name,
        )  # fmt: skip
        self.alert, self.told, self.tables, self.advice = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self.zeroed = Press(ZEROED, lambda: self._zero())
        self.leads = w.VBox([self.entries[LEADS].view, self.zeroed])
        self.tiles, self.set_there, self.where = w.HTML(), w.HTML(), w.HTML(where.drawing())
        self.chart = Charts()
        self.chart.add_class("wc-one")
        self.chart_box = w.Box([self.chart])  # a widget of our own does not follow its classes once it is drawn
        self.refresh()
        entries: tuple[Entry[Any], ...] = (*self.entries.values(), self.accuracy, self.sold_as)
        for entry in entries:
            entry.changed = self.refresh
        self.way.observe(lambda _change: self.refresh(), "value")
        self.view = self._lay_out()

    def _entry(self, key: str) -> Entry[str]:
        """An entry whose value is the text itself, as the digits typed are part of a reading."""
        any_meter = Accuracy(share=0.0, counts=0)  # it is only seen here whether the text can be read

        def read(text: str) -> str:
            text = text.strip()
            if key in BY_TAPE and self.feet and _bare(text):
                text += " ft"
            if text:
                read_reading(text, key, any_meter)
            return text

        return Entry(FIELDS[key].title, read, str, "", help=HELP[key])

    def _lay_out(self) -> w.Widget:
        rest = tuple(key for key in FIELDS if key not in (*FIRST, LEADS))
        folded = [self.way, self.accuracy.view]
        folded += [*(self.entries[key].view for key in rest), self.sold_as.view]
        self.folded = w.VBox(folded)
        self.folded.add_class("wc-more").add_class("wc-shut")
        self.more = Switch(MORE)
        self.more.observe(lambda change: show_if(change["new"], self.folded), "value")
        first = [self.entries[key].view for key in FIRST]
        ask = w.VBox([*first, self.leads, self.more, self.set_there, self.folded])
        top = w.VBox([self.tiles, self.alert])
        show = w.VBox([self.told, self.where, self.chart_box, self.advice, self.tables, self.log.view])
        for part, name in ((ask, "wc-ask"), (top, "wc-top"), (show, "wc-show")):
            part.add_class(name)
        page = w.Box([top, ask, show])
        page.add_class("wc-page")
        return page

    def _zero(self) -> None:
        """The meter showed 0 with its tips together: to the last digit that its reading of the wire has."""
        read = _BEHIND.sub("", self.entries["ohm"].value).strip() or "0.0 mohm"
        self.entries[LEADS].text.value = _LEADING.sub("", _DIGIT.sub("0", read))

    def _chips(self) -> str:
        """What is folded away and set, beside the button."""
        rest = [entry for key, entry in self.entries.items() if key not in (*FIRST, LEADS) and entry.value]
        told = [(entry.text.description, entry.value) for entry in rest]
        told += [("Meter wires", WAYS[self.way.value])] if self.way.value != "two" else []
        told += [("Sold as", self.sold_as.text.value)] if self.sold_as.value else []
        chips = "".join(f"<li>{html.escape(f'{name}: {text}')}</li>" for name, text in told)
        return f"<ul class='wc-set' aria-label='Set under {MORE}'>{chips}</ul>" if chips else ""

    def use_units(self, feet: bool, system: str = "") -> None:
        """Lengths by tape in feet or in metres, what it conducts by gauge or mm²; what is entered stays what it was."""
        metric = system == "mm2" if system else self.metric
        if (feet, metric) == (self.feet, self.metric):
            return
        unit = "ft" if self.feet else "m"
        for key in BY_TAPE if feet != self.feet else ():
            entry = self.entries[key]
            if entry.fault is None and _bare(entry.value):
                entry.set(f"{entry.value} {unit}")
        self.feet, self.metric = feet, metric
        self.refresh()

    @property
    def begun(self) -> bool:
        """Whether there is any reading."""
        return any(entry.value for entry in self.entries.values())

    def now(self, name: str = "") -> LoggedSample:
        """The entries, the last good value of each."""
        return LoggedSample(
            name=name,
            texts=tuple(self.entries[key].value for key in FIELDS),
            way=self.way.value,
            accuracy=self.accuracy.value,
            sold_as=self.sold_as.value,
        )

    @guarded
    def refresh(self) -> None:
        """Compute from the entries and draw."""
        now = self.now()
        sample, waits = now.sample()
        identified = identify_sample(sample)
        self.chart.redraw(picture(identified))  # first: a key press waits for it
        self.tiles.value = tiles(identified, self.metric, begun=self.begun)
        self.told.value = told(identified, waits, now.sold_as, listed_as(sample), self.metric, begun=self.begun)
        empty = bool(identified.freedom < 0)
        self.tables.value = "" if empty else tables(identified)
        typed = [name for name, key in (("ohm", "ohm"), ("mass", "mass_kg")) if self.entries[key].value]
        self.advice.value = advice(sample, identified, self.feet, typed if waits else ())
        self.set_there.value = self._chips()
        show_if(self.way.value == "two" and (self.entries["ohm"].value or self.entries[LEADS].value), self.leads)
        show_if(empty, self.where)
        show_if(not empty and not identified.contradictory, self.chart_box)
        self.heard()
        self.alert.value = ""
