"""The tab Response for a loudspeaker: entries of the load and the pair, curves, words and the table."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import ipywidgets as w

from dashboards.panels.acts.choices import Choice, Switch
from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.chart import Picture
from dashboards.panels.controls.colours import BAD, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, optional, quantity
from dashboards.panels.controls.files import Upload
from dashboards.panels.controls.numbers import of_this, to_html
from dashboards.panels.controls.table import html_table
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.response_parts import (
    FREQUENCY_AXIS,
    LEGEND,
    curve,
    in_columns,
    in_hz,
    level_chart,
    listen,
    mark_at,
    note,
    shown,
    sizes_table,
    titled,
    words_html,
)
from wirecalc import units
from wirecalc.circuits import response, speaker_load
from wirecalc.circuits.impedance_file import MOST_BYTES, MeasuredImpedance, read_impedance
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS, Driver
from wirecalc.circuits.speaker_load import BAND_HZ, MOST_ALIKE, SpeakerLoad
from wirecalc.runs.over_frequency import INDUCTANCE_HZ, PairMake, SpeakerResponse, speaker_response, to_loudspeaker
from wirecalc.wire.pair import DIELECTRICS
from wirecalc.workings.formula import Working
from wirecalc.workings.response import (
    OverFrequency,
    furthest,
    furthest_hz,
    least,
    of_pair,
    own_q,
    q_with_wire,
    qes_working,
    series_ohm,
    tone,
)

FILE_HELP = (
    "A CSV file of three columns: frequency in Hz, magnitude in Ω, phase in degrees. Frequency rises from row to row. "
    "Part the columns by semicolon, tab or comma; with semicolon or tab a comma may be the decimal sign. A header and "
    "lines that begin with * or # are allowed."
)
_COLUMN_WORKS: tuple[Callable[[OverFrequency], Working], ...] = (furthest, furthest_hz, tone, q_with_wire)


@dataclass(frozen=True, kw_only=True)
class SpeakerRequest:
    """A loudspeaker run over frequency, and what only this tab asks for."""

    situation: RunRequest
    load: SpeakerLoad
    make: PairMake


@dataclass(frozen=True, kw_only=True)
class SpeakerAnswer:
    """The request, solved."""

    request: SpeakerRequest
    response: SpeakerResponse
    """This run's size first."""

    @property
    def situation(self) -> RunRequest:
        """Of the page."""
        return self.request.situation


def compute(request: SpeakerRequest) -> SpeakerAnswer:
    """All numbers of the tab, in one call."""
    here = request.situation
    response = speaker_response(to_loudspeaker(here.run), here.conductors, here.laid, request.load, request.make)
    return SpeakerAnswer(request=request, response=response)


def impedance_chart(answer: SpeakerResponse) -> Picture:
    """|Z| of the load over frequency, the least that its rating allows, and where it is least."""
    least, allowed = answer.rated.least, answer.rated.allowed_ohm
    ends = [response.LOWEST_HZ, response.HIGHEST_HZ]
    traces = [
        curve("Load", answer.hz, answer.load_ohm, SERIES[0], "%{y:.3g} Ω"),
        curve("80 % of rated", ends, [allowed, allowed], BAD, "%{y:.3g} Ω", "dash"),
        mark_at([least.frequency_hz], [least.ohm]),
    ]
    layout = {
        **titled("Impedance of the load"),
        "xaxis": FREQUENCY_AXIS,
        "yaxis": {"title": {"text": "Impedance (Ω)"}, "rangemode": "tozero"},
        **LEGEND,
    }
    return traces, layout


def charts(answer: SpeakerAnswer) -> tuple[Picture, ...]:
    """Level and impedance over frequency; a plain resistance has one impedance, which is no picture."""
    response = answer.response
    level = level_chart(answer.situation, response.hz, response.level_db, response.furthest, "no wire")
    return (level,) if isinstance(response.load.load, Load) else (level, impedance_chart(response))


def _ohm(value: float, key: str = "") -> str:
    return shown(value, units.RESISTANCE, key)


def _q(value: float, key: str) -> str:
    return of_this(f"{value:.3g}", key)


def speaker_words(answer: SpeakerAnswer) -> str:
    """What the wire does to the sound, and what the load asks of the amplifier, as HTML."""
    here, response = answer.situation, answer.response
    load = response.load
    length = units.show(here.laid.length_m, units.LENGTH, feet=here.feet)
    at_hz, level_db = response.furthest
    low, high = (in_hz(end) for end in load.band_hz)
    told = (
        f"{here.label}, {length}, into {load.name}: biggest change is "
        f"{shown(level_db, units.LEVEL, 'furthest')} at {in_hz(at_hz, 'furthest_hz')}. The tone changes by "
        f"{shown(float(response.band.spread_db[0]), units.LEVEL, 'tone')}, peak to dip, {low} to {high}."
    )
    cautions, notes = list(here.cautions), []
    if here.laid.ways == 1:
        cautions.append("These curves are for a pair. A return through the body is not one: pull two conductors.")
    if load.band_hz != BAND_HZ:
        notes.append(f"The file goes from {in_hz(load.low_hz)} to {in_hz(load.high_hz)}; nothing is said outside.")
    if isinstance(load.load, Load):
        notes.append("The load is a plain resistance. A real driver is not: choose one under Load.")
    else:
        caution, note = _load_words(response)
        cautions += [caution] if caution else []
        notes.append(note)
    if response.q is not None:
        e, t = ("Qec", "Qtc") if load.boxed else ("Qes", "Qts")
        notes.append(
            f"Wire and amplifier put {_ohm(float(response.series_ohm[0]), 'series_ohm')} in series with the driver. "
            f"{e} goes from {_q(response.q[0], 'qes')} to {_q(float(response.wired_qes[0]), 'qes_working')}, {t} "
            f"from {_q(response.q[1], 'qts')} to {_q(float(response.wired_qts[0]), 'q_with_wire')}. No crossover is "
            "counted."
        )
    pair = response.pairs[0]
    notes.append(
        f"The pair: {shown(response.henry_per_m, units.INDUCTANCE, 'henry')} a metre at {in_hz(INDUCTANCE_HZ)}, "
        f"{shown(response.farad_per_m, units.CAPACITANCE, 'farad')} a metre. Between the centres "
        f"{shown(pair.spacing_m, units.LENGTH, 'spacing')}; {pair.insulation.name}, "
        f"{shown(pair.insulation_m, units.LENGTH, 'wall')} thick. "
        "The capacitance is not in the curves: too small here."
    )
    return words_html(told, cautions, notes)


def _load_words(response: SpeakerResponse) -> tuple[str, str]:
    """A caution, empty where none is due, and a note on the least impedance."""
    least, rated, run = response.rated.least, response.rated, response.run
    at = f"{_ohm(least.ohm, 'least_ohm')} at {in_hz(least.frequency_hz, 'least_hz')}"
    counts = _ohm(rated.highest_rating_ohm, "highest_rating_ohm")
    held = "held" if rated.holds else f"not held: this load counts as {counts} at most"
    note = (
        f"Least impedance: {at}. 80 % of the rated {_ohm(abs(run.load_ohm))} (the page's load impedance) is "
        f"{_ohm(rated.allowed_ohm, 'allowed_ohm')}, IEC 60268-5: {held}."
    )
    allowed = run.amplifier.least_load_ohm
    if response.too_low:
        caution = (
            f"The load falls to {at}. An amplifier for {_ohm(allowed, 'amplifier_ohm')} expects "
            f"{_ohm(response.expects_ohm, 'expects_ohm')} or more. "
            "It may shut down, run hot or clip. Wire the coils for a higher impedance, or use an amplifier that "
            "is rated for this one."
        )
        return caution, note
    if response.dips:
        note += f" It dips under the amplifier's {_ohm(allowed, 'amplifier_ohm')}, as a loudspeaker of that rating may."
    return "", note


def table_html(answer: SpeakerAnswer) -> str:
    """Every drawn size over frequency, this run first; every number opens to where it comes from."""
    response = answer.response
    columns = [
        ("Furthest (dB)", "{:.2f}", response.band.worst_db),
        ("at (Hz)", "{:.0f}", response.band.worst_hz),
        ("Tone (dB)", "{:.2f}", response.band.spread_db),
    ]
    if response.q is not None:
        columns.append(("Qtc with wire" if response.load.boxed else "Qts with wire", "{:.2f}", response.wired_qts))
    keyed = [
        (head, work.__name__, form, values)
        for (head, form, values), work in zip(columns, _COLUMN_WORKS, strict=False)  # without a driver there is no Q
    ]
    heads, rows = sizes_table(answer.situation, keyed)
    return html_table("Every drawn size over frequency; this run first", heads, rows, kind="wc-as-cards")


def working_of(answer: SpeakerAnswer, what: str, place: int) -> str:
    """Where one number of one size comes from, as HTML."""
    response, here = answer.response, answer.situation
    hz, level_db = response.in_band(place)
    run = OverFrequency(
        run=response.run,
        pair=response.pairs[place],
        wall_entered=answer.request.make.wall_m is not None,
        laid=here.laid,
        load=response.load.load,
        load_name=response.load.name,
        made=response.load.made,
        hz=hz,
        level_db=level_db,
        feet=here.feet,
    )
    if what in ("qes", "qts"):
        return to_html(own_q(run, what))
    if what in ("henry", "farad", "spacing", "wall"):
        return to_html(of_pair(run, what, INDUCTANCE_HZ))
    for work in (*_COLUMN_WORKS, series_ohm, qes_working):
        if work.__name__ == what:
            return to_html(work(run))
    return to_html(least(run, what, response.rated))


class SpeakerEntries:
    """What the tab asks for of a loudspeaker's load and of the pair.

    Parameters
    ----------
    changed : callable
        Told of every change.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self.changed = changed
        self._file: tuple[str, MeasuredImpedance] | None = None
        demos = [(f"{name} (invented)", name) for name in DEMO_DRIVERS]
        plain = ("Plain resistance, the page's load impedance", "plain")
        self.load = choice("Load", [plain, *demos, ("Own driver", "own"), ("Measured file", "file")], "plain")
        self.own = self._driver_entries()
        self.measured = self._file_entry()
        self._pair = self._pair_entries()
        listen(self.load, changed)
        self.fields: Fields = named(
            load=self.load, re=self.re, le=self.le, fs=self.fs, qes=self.qes, qms=self.qms, vas=self.vas, box=self.box,
            coils=self.coils, series=self.series, parallel=self.parallel, semi=self.semi, exponent=self.exponent,
            wall=self.wall, gap=self.gap, dielectric=self.dielectric,
        )  # fmt: skip

    def parts(self) -> tuple[w.Widget, ...]:
        """What is to be seen of them for the chosen load."""
        for_load = {"own": (self.own,), "file": (self.measured,)}.get(self.load.value, ())
        return (self.load, *for_load, self._pair)

    def _driver_entries(self) -> w.VBox:
        start = next(iter(DEMO_DRIVERS.values()))
        alike = f"alike, 1 to {MOST_ALIKE}"
        # fmt: off
        self.re = quantity("Re", units.RESISTANCE, start.re_ohm, "ohm", low=0.1, high=1000, help="DC resistance")
        self.le = quantity("Le", units.INDUCTANCE, start.le_henry, "mH", low=0, high=0.1, help="coil inductance")
        self.fs = quantity("fs", units.FREQUENCY, start.fs_hz, "Hz", low=5, high=20000, help="resonance in free air")
        self.qes = quantity("Qes", units.NUMBER, start.qes, None, low=0.02, high=200)
        self.qms = quantity("Qms", units.NUMBER, start.qms, None, low=0.05, high=1000)
        self.vas = optional("Vas (litres)", units.NUMBER, None, low=0.001, high=10000, help="needed for a box only")
        self.box = optional(
            "Sealed box (litres)", units.NUMBER, None, low=0.01, high=10000, help="net inside; left empty: free air"
        )
        self.coils = choice(
            "Coils", [("one", "only"), ("two in parallel", "parallel"), ("two in series", "series"),
                      ("two, one driven", "one")], "only",
        )
        self.series = quantity("Drivers in series", units.COUNT, 1, None, low=1, high=MOST_ALIKE, help=alike)
        self.parallel = quantity("Drivers in parallel", units.COUNT, 1, None, low=1, high=MOST_ALIKE, help=alike)
        self.semi = quantity("Semi-inductance K (Ω·sⁿ)", units.NUMBER, 0, None, low=0, high=10, help="default 0: none")
        self.exponent = quantity(
            "Its exponent n", units.NUMBER, 0.5, None, low=0.4, high=1, help="0.5 thick iron, 1 no loss"
        )
        # fmt: on
        help = note(
            "From the data sheet; the values at first are invented. Of a driver with two coils: both in parallel."
        )
        asked = (self.re, self.le, self.fs, self.qes, self.qms, self.vas, self.box, self.coils)
        few, rare = self._columns(*asked, self.series, self.parallel), self._columns(self.semi, self.exponent)
        self.more = Switch("More: semi-inductance")
        own = w.VBox([help, few, self.more])

        def toggle(change: dict[str, bool]) -> None:
            own.children = (help, few, self.more, rare) if change["new"] else (help, few, self.more)

        self.more.observe(toggle, "value")
        return own

    def _file_entry(self) -> w.VBox:
        self.upload = Upload("Choose a file", ".csv,.txt", self._take, MOST_BYTES)
        self.file_note = note("No file yet: the page's load impedance is shown.")
        return w.VBox([self.upload, self.file_note, note(FILE_HELP)])

    def _pair_entries(self) -> w.GridBox:
        # fmt: off
        self.wall = optional(
            "Insulation thickness", units.LENGTH, "mm", low=0.05e-3, high=10e-3,
            help="left empty: a thin wall, 0.2 mm and 8 % of the conductor",
        )
        self.gap = quantity(
            "Gap between the two wires", units.LENGTH, 0, "mm", low=0, high=1, help="default 0: touching"
        )
        # fmt: on
        self.dielectric = choice(
            "Insulation, for the capacitance", [(i.name, i.key) for i in DIELECTRICS.values()], "pvc"
        )
        return self._columns(self.wall, self.gap, self.dielectric)

    def _columns(self, *parts: Entry[Any] | Choice) -> w.GridBox:
        for part in parts:
            listen(part, lambda: self.changed())
        return in_columns(*parts)

    def _take(self, name: str, content: bytes) -> None:
        """See `Upload`; the last good file stays."""
        measured = read_impedance(content)
        speaker_load.measured_load(name, measured)  # one that cannot be used is said
        self._file = name, measured
        known = f"{len(measured.frequency_hz)} rows, {in_hz(measured.lowest_hz)} to {in_hz(measured.highest_hz)}"
        self.file_note.value = html.escape(f"{name}: {known}")
        self.changed()

    def hung(self, load_ohm: float) -> SpeakerLoad:
        """What the entries hang on the wire; `load_ohm` is the page's."""
        if self.load.value in DEMO_DRIVERS:
            return speaker_load.demo_driver(self.load.value)
        if self.load.value == "own":
            return self._own_driver()
        if self.load.value == "file" and self._file:
            return speaker_load.measured_load(*self._file)
        return speaker_load.plain_load(load_ohm)

    def _own_driver(self) -> SpeakerLoad:
        driver = Driver(
            re_ohm=self.re.value,
            fs_hz=self.fs.value,
            qes=self.qes.value,
            qms=self.qms.value,
            le_henry=self.le.value,
            semi=self.semi.value,
            semi_exponent=self.exponent.value,
            vas_m3=speaker_load.from_litres(self.vas.value),
        )
        return speaker_load.own(
            driver,
            box_m3=speaker_load.from_litres(self.box.value),
            coils=self.coils.value,
            in_series=int(self.series.value),
            in_parallel=int(self.parallel.value),
        )

    def request(self, situation: RunRequest) -> SpeakerRequest:
        """The page's situation and what the entries say, the last good value of each."""
        return SpeakerRequest(
            situation=situation,
            load=self.hung(abs(to_loudspeaker(situation.run).load_ohm)),
            make=PairMake(
                coat=situation.place.insulation,
                dielectric=DIELECTRICS[self.dielectric.value],
                wall_m=self.wall.value,
                gap_m=self.gap.value,
            ),
        )
