"""A run over frequency, into a driver or a measured impedance; for a line signal, what it picks up as well."""

from __future__ import annotations

import functools
import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import ipywidgets as w
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboards.panels.acts.choices import Choice, Tick
from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.chart import BELOW, Charts, Picture
from dashboards.panels.controls.colours import BAD, DASHES, EDGE, HERE, INK, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, optional, quantity
from dashboards.panels.controls.files import Upload
from dashboards.panels.controls.numbers import Numbers, number, of_this, opening, to_html
from dashboards.panels.controls.sizes import MOST_DRAWN
from dashboards.panels.one_run.request import RunRequest
from wirecalc import runs, units
from wirecalc.circuits import line_level, loudspeaker, response
from wirecalc.circuits.impedance_file import MOST_BYTES, MeasuredImpedance, read_impedance
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import (
    ABOUT_DEMO_DRIVERS,
    DEMO_DRIVERS,
    LOWEST_OF_RATED,
    Driver,
    HasImpedance,
    RatedCheck,
    Wired,
    check_rated,
    closed_box,
    parallel_q,
    two_coils,
)
from wirecalc.errors import InputError
from wirecalc.wire.cable import LONGEST_M
from wirecalc.wire.insulation import insulated
from wirecalc.wire.pair import DIELECTRICS, Dielectric, Pair
from wirecalc.workings.formula import Working
from wirecalc.workings.line import pickup, top_level
from wirecalc.workings.measures import working
from wirecalc.workings.rating import TWICE, twice
from wirecalc.workings.response import (
    OverFrequency,
    Provenance,
    furthest,
    furthest_hz,
    least,
    of_pair,
    own_q,
    q_with_wire,
    qes_with_wire,
    series_ohm,
    tone,
)

Array = NDArray[np.float64]

POINTS = 200
BAND_HZ = (20.0, 20e3)
_SPEAKS_HZ = 1e3  # where the pair's inductance is told
_TICKS_HZ = (20, 50, 200, 500, 2000, 5000, 20000)
_LITRE_M3 = 1e-3
_MOST_ALIKE = 4  # each way: sixteen drivers on one channel
_TICKS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
FILE_HELP = (
    "A CSV file of three columns: frequency in Hz, magnitude in Ω, phase in degrees. Frequency rises from row to row. "
    "Part the columns by semicolon, tab or comma; with semicolon or tab a comma may be the decimal sign. A header and "
    "lines that begin with * or # are allowed."
)


@dataclass(frozen=True, kw_only=True)
class SpeakerLoad:
    """What hangs on a loudspeaker wire."""

    name: str
    load: HasImpedance
    driver: Driver | None = None
    """The one driver, or one of several alike; None where its Q is not known."""
    boxed: bool = False
    low_hz: float = response.LOWEST_HZ
    high_hz: float = response.HIGHEST_HZ
    """Where the load is known; nothing is made up outside."""
    made: Provenance = field(default_factory=Provenance)
    """Where its values are from."""


@dataclass(frozen=True, kw_only=True)
class SpeakerRequest:
    """A loudspeaker run over frequency, and what only this tab asks for."""

    situation: RunRequest
    hung: SpeakerLoad
    insulation: Dielectric
    wall_m: float | None
    """None for the thin wall of `wirecalc.wire.insulation.insulated`."""
    gap_m: float


@dataclass(frozen=True, kw_only=True)
class LineRequest:
    """A line-level run over frequency, and the supply wire beside it."""

    situation: RunRequest
    ripple_a: float
    ripple_hz: float
    along_m: float
    distance_m: float
    spacing_m: float
    pitch_m: float


@dataclass(frozen=True, kw_only=True)
class SpeakerAnswer:
    """The request, solved; n sizes, this run's first, and f frequencies."""

    request: SpeakerRequest
    hz: Array
    level_db: Array
    """Against no wire. (n, f)"""
    band_hz: tuple[float, float]
    """20 Hz to 20 kHz, or as much of it as the load is known in."""
    band: response.InBand
    load_ohm: Array
    """Modulus. (f,)"""
    rated: RatedCheck
    series_ohm: Array
    """Wire and amplifier output at DC. (n,)"""
    q: tuple[float, float] | None
    """Qes and Qts of the driver itself."""
    wired_qes: Array
    wired_qts: Array
    """With wire and amplifier; nan where the load is no driver. (n,)"""
    pairs: tuple[Pair, ...]
    """(n,)"""
    henry_per_m: float
    farad_per_m: float

    @property
    def mark(self) -> tuple[float, float]:
        """Where this run is furthest from no wire. [Hz], [dB]"""
        return float(self.band.worst_hz[0]), float(self.band.worst_db[0])


@dataclass(frozen=True, kw_only=True)
class LineAnswer:
    """The request, solved; n sizes, this run's first, and f frequencies."""

    request: LineRequest
    hz: Array
    level_db: Array
    """Against the source with nothing connected. (n, f)"""
    top: line_level.LowPass
    """At 20 kHz. (n,)"""
    distance_m: Array
    """From near to far, and this run's at the end. (d,)"""
    pickup: line_level.Pickup
    """(d,)"""

    @property
    def mark(self) -> tuple[float, float]:
        """This run at 20 kHz. [Hz], [dB]"""
        return line_level.TOP_HZ, float(self.top.level_db[0])


Request = SpeakerRequest | LineRequest
Answer = SpeakerAnswer | LineAnswer
# a search that only a new load needs again
_rated: Callable[..., RatedCheck] = functools.lru_cache(maxsize=4)(check_rated)


def compute(request: Request) -> Answer:
    """All numbers of the tab."""
    return _speaker(request) if isinstance(request, SpeakerRequest) else _line(request)


def _grid(low_hz: float, high_hz: float) -> Array:
    """Even steps of pitch, with the ends of the audio band among them."""
    steps = np.clip(np.geomspace(low_hz, high_hz, POINTS), low_hz, high_hz)
    return np.unique(np.append(steps, [hz for hz in BAND_HZ if low_hz < hz < high_hz]))


def _speaker(request: SpeakerRequest) -> SpeakerAnswer:
    here, hung = request.situation, request.hung
    run, laid = here.run, here.laid
    assert isinstance(run, runs.SpeakerRun)
    wires = insulated(here.conductors, here.place.insulation, request.wall_m)
    walls_m = (wires.outer_m - wires.core_m) / 2
    pairs = [
        Pair(conductor=one, insulation=request.insulation, insulation_m=float(wall_m), gap_m=request.gap_m)
        for one, wall_m in zip(here.conductors, walls_m, strict=True)
    ]
    hz = _grid(hung.low_hz, hung.high_hz)
    level_db = response.level_db(
        run.amplifier,
        hung.load,
        pairs,
        laid.length_m,
        hz,
        temperature_c=laid.temperature_c,
        parallel=laid.parallel,
        joints_ohm=laid.joints_ohm,
    )
    band_hz = max(BAND_HZ[0], hung.low_hz), min(BAND_HZ[1], hung.high_hz)
    # the curves are those of a pair, whatever the page says of the return
    series_ohm = runs.wire_ohm(here.conductors, replace(laid, ways=2)) + run.amplifier.output_ohm
    q, qes, qts = None, np.full(len(pairs), np.nan), np.full(len(pairs), np.nan)
    if hung.driver:
        q = hung.driver.qes, hung.driver.qts
        qes = loudspeaker.qes_with_wire(hung.driver.qes, float(hung.load.impedance(0.0).real), series_ohm)
        qts = parallel_q(qes, hung.driver.qms)
    return SpeakerAnswer(
        request=request,
        hz=hz,
        level_db=level_db,
        band_hz=band_hz,
        band=response.in_band(hz, level_db, *band_hz),
        load_ohm=np.abs(hung.load.impedance(hz)),
        rated=_rated(hung.load, run.load_ohm, *band_hz),
        series_ohm=series_ohm,
        q=q,
        wired_qes=qes,
        wired_qts=qts,
        pairs=tuple(pairs),
        henry_per_m=float(pairs[0].henry_per_m(_SPEAKS_HZ, laid.temperature_c)),
        farad_per_m=pairs[0].farad_per_m,
    )


def _line(request: LineRequest) -> LineAnswer:
    here = request.situation
    run, laid = here.run, here.laid
    assert isinstance(run, runs.LineRun)
    hz = _grid(response.LOWEST_HZ, response.HIGHEST_HZ)
    source_ohm = run.source_ohm + runs.wire_ohm(here.conductors, laid)
    curve = line_level.low_pass(source_ohm[:, None], run.input_ohm, run.farad_per_m, laid.length_m, hz)
    near, far = min(5e-3, request.distance_m), max(1.0, request.distance_m)
    distance_m = np.append(np.geomspace(near, far, POINTS), request.distance_m)
    return LineAnswer(
        request=request,
        hz=hz,
        level_db=curve.level_db,
        top=line_level.low_pass(source_ohm, run.input_ohm, run.farad_per_m, laid.length_m),
        distance_m=distance_m,
        pickup=line_level.pickup(
            request.ripple_a,
            request.ripple_hz,
            request.along_m,
            distance_m,
            request.spacing_m,
            request.pitch_m,
        ),
    )


def _log_axis(title: str, unit: str, low: float, high: float, ticks: Sequence[int]) -> dict[str, Any]:
    """Every setting of an axis that another drawing on the same chart may have set otherwise."""
    return {
        "type": "log",
        "title": {"text": f"{title} ({unit})"},
        "range": [float(np.log10(low)), float(np.log10(high))],
        "tickvals": ticks,
        "ticktext": tuple(f"{tick // 1000}k" if tick >= 1000 else str(tick) for tick in ticks),
        "tickangle": 0,
        "hoverformat": ",.3~r",
        "unifiedhovertitle": {"text": f"%{{x}} {unit}"},
    }


def _titled(title: str) -> dict[str, Any]:
    return {"title": {"text": title}, "meta": f"{title}; the text below has the values"}


_FREQUENCY_AXIS = _log_axis("Frequency", "Hz", response.LOWEST_HZ, response.HIGHEST_HZ, _TICKS_HZ)


def level_chart(answer: Answer) -> Picture:
    """Level over frequency: always `MOST_DRAWN` lines, this run's, and its mark."""
    here = answer.request.situation
    line = {"type": "scatter", "mode": "lines", "hovertemplate": "%{y:.2f} dB", "x": answer.hz}
    traces: list[dict[str, Any]] = []
    for row, look in enumerate(here.drawn, start=1):
        shape = {"color": look.colour, "width": look.width, "dash": look.dash}
        traces.append({**line, "name": look.label, "visible": True, "y": answer.level_db[row], "line": shape})
    traces += [{**line, "name": "", "visible": False} for _ in range(MOST_DRAWN - len(traces))]
    shape = {"color": INK, "width": 6}
    traces.append({**line, "name": f"{here.label}, this run", "y": answer.level_db[0], "line": shape, "opacity": 0.45})
    traces.append(_mark([answer.mark[0]], [answer.mark[1]]))
    lowest, highest = min(-0.1, float(answer.level_db.min())), max(0.0, float(answer.level_db.max()))
    room = 0.06 * (highest - lowest)  # a flat run is drawn flat: never less than 0.1 dB from end to end
    against = "no wire" if isinstance(answer, SpeakerAnswer) else "source"
    layout = {
        **_titled("Level over frequency"),
        "xaxis": _FREQUENCY_AXIS,
        "yaxis": {"title": {"text": f"Level against {against} (dB)"}, "range": [lowest - room, highest + room]},
    }
    return traces, layout


def impedance_chart(answer: SpeakerAnswer) -> Picture:
    """|Z| of the load over frequency, the least that its rating allows, and where it is least."""
    least, allowed = answer.rated.least, LOWEST_OF_RATED * _speaker_run(answer).load_ohm
    ends = [response.LOWEST_HZ, response.HIGHEST_HZ]
    traces = [
        _curve("Load", answer.hz, answer.load_ohm, SERIES[0], "%{y:.3g} Ω"),
        _curve("80 % of rated", ends, [allowed, allowed], BAD, "%{y:.3g} Ω", "dash"),
        _mark([least.frequency_hz], [least.ohm]),
    ]
    layout = {
        **_titled("Impedance of the load"),
        "xaxis": _FREQUENCY_AXIS,
        "yaxis": {"title": {"text": "Impedance (Ω)"}, "rangemode": "tozero"},
        **_LEGEND,
    }
    return traces, layout


def pickup_chart(answer: LineAnswer) -> Picture:
    """What is picked up against the distance of the supply wire, for both kinds of pair, this run's marked."""
    mm = answer.distance_m * 1e3
    flat, twisted = -_under_db(answer.pickup.parallel_v), -_under_db(answer.pickup.twisted_v)
    form = "%{y:.0f} dB"
    traces = [
        _curve("Flat", mm[:-1], flat[:-1], SERIES[0], form),
        _curve("Twisted", mm[:-1], twisted[:-1], SERIES[1], form, DASHES[1]),
        _mark([mm[-1], mm[-1]], [float(flat[-1]), float(twisted[-1])]),
    ]
    ends = float(mm.min()), float(mm.max())
    layout = {
        **_titled("Picked up from a supply wire"),
        "xaxis": _log_axis("Distance of the supply wire", "mm", *ends, _TICKS_MM),
        "yaxis": {"title": {"text": "Picked up, against 1 V (dB)"}, "rangemode": "normal"},
        **_LEGEND,
    }
    return traces, layout


_LEGEND = {"showlegend": True, "legend": BELOW}


def _curve(name: str, x: Any, y: Any, colour: str, form: str, dash: str = "solid") -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": x,
        "y": y,
        "line": {"color": colour, "width": 2.5, "dash": dash},
        "hovertemplate": form,
    }


def _mark(x: Sequence[float], y: Sequence[float]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "this run",
        "showlegend": False,
        "x": x,
        "y": y,
        "marker": {"color": HERE, "size": 14, "line": {"color": EDGE, "width": 2}},
        "hoverinfo": "skip",
    }


def _under_db(volt: Array) -> Array:
    """How far a voltage lies under 1 V."""
    return np.asarray(-20 * np.log10(volt))


def _speaker_run(answer: SpeakerAnswer) -> runs.SpeakerRun:
    run = answer.request.situation.run
    assert isinstance(run, runs.SpeakerRun)
    return run


def _shown(value: float, kind: units.QuantityKind, key: str = "") -> str:
    """A number of this run with its unit, marked where it has a key."""
    text = units.show(value, kind)
    return of_this(text, key) if key else text


def _hz(value: float, key: str = "") -> str:
    return _shown(value, units.FREQUENCY, key)


def _ohm(value: float, key: str = "") -> str:
    return _shown(value, units.RESISTANCE, key)


def _q(value: float, key: str) -> str:
    return of_this(f"{value:.3g}", key)


def _html(told: str, cautions: Sequence[str], notes: Sequence[str]) -> str:
    minds = "".join(f"<p class='wc-caution' role='status'>{opening(text)}</p>" for text in cautions)
    items = "".join(f"<li>{opening(text)}</li>" for text in notes)
    return f"<p class='wc-told' role='status'>{opening(told)}</p>{minds}<ul>{items}</ul>"


def speaker_words(answer: SpeakerAnswer) -> str:
    """What the wire does to the sound, and what the load asks of the amplifier, as HTML."""
    request = answer.request
    here, hung, run = request.situation, request.hung, _speaker_run(answer)
    length = units.show(here.laid.length_m, units.LENGTH, feet=here.feet)
    at_hz, level_db = answer.mark
    low, high = (_hz(end) for end in answer.band_hz)
    told = (
        f"{here.label}, {length}, into {hung.name}: furthest from no wire is "
        f"{_shown(level_db, units.LEVEL, 'furthest')} at {_hz(at_hz, 'furthest_hz')}. The tone changes by "
        f"{_shown(float(answer.band.spread_db[0]), units.LEVEL, 'tone')}, highest less lowest, {low} to {high}."
    )
    cautions, notes = list(here.cautions), []
    if here.laid.ways == 1:
        cautions.append("These curves are for a pair. A return through the body is not one: pull two conductors.")
    if answer.band_hz != BAND_HZ:
        notes.append(f"The file goes from {_hz(hung.low_hz)} to {_hz(hung.high_hz)}; nothing is said outside.")
    if isinstance(hung.load, Load):
        notes.append("The load is a plain resistance. A real driver is not: choose one under Load.")
    else:
        caution, note = _load_words(answer, run)
        cautions += [caution] if caution else []
        notes.append(note)
    if answer.q is not None:
        e, t = ("Qec", "Qtc") if hung.boxed else ("Qes", "Qts")
        notes.append(
            f"Wire and amplifier put {_ohm(float(answer.series_ohm[0]), 'series_ohm')} in series with the driver. "
            f"{e} goes from {_q(answer.q[0], 'qes')} to {_q(float(answer.wired_qes[0]), 'qes_with_wire')}, {t} from "
            f"{_q(answer.q[1], 'qts')} to {_q(float(answer.wired_qts[0]), 'q_with_wire')}. No crossover is counted."
        )
    pair = answer.pairs[0]
    notes.append(
        f"The pair: {_shown(answer.henry_per_m, units.INDUCTANCE, 'henry')} a metre at {_hz(_SPEAKS_HZ)}, "
        f"{_shown(answer.farad_per_m, units.CAPACITANCE, 'farad')} a metre. Between the centres "
        f"{_shown(pair.spacing_m, units.LENGTH, 'spacing')}; {pair.insulation.name}, "
        f"{_shown(pair.insulation_m, units.LENGTH, 'wall')} thick. "
        "The capacitance is not in the curves: too small here."
    )
    return _html(told, cautions, notes)


def _load_words(answer: SpeakerAnswer, run: runs.SpeakerRun) -> tuple[str, str]:
    """A caution, empty where none is due, and a note on the least impedance."""
    least, rated = answer.rated.least, answer.rated
    at = f"{_ohm(least.ohm, 'least_ohm')} at {_hz(least.frequency_hz, 'least_hz')}"
    counts = _ohm(rated.highest_rating_ohm, "highest_rating_ohm")
    held = "held" if rated.holds else f"not held: this load counts as {counts} at most"
    note = (
        f"Least impedance: {at}. 80 % of the rated {_ohm(run.load_ohm)} (the page's load impedance) is "
        f"{_ohm(rated.allowed_ohm, 'allowed_ohm')}, IEC 60268-5: {held}."
    )
    allowed = run.amplifier.least_load_ohm
    # what an amplifier allows is a rated impedance too: a driver of that rating may dip to 80 % of it
    if rated.highest_rating_ohm < allowed * (1 - 1e-9):
        caution = (
            f"The load falls to {at}. An amplifier for {_ohm(allowed, 'amplifier_ohm')} expects "
            f"{_ohm(LOWEST_OF_RATED * allowed, 'expects_ohm')} or more. "
            "It may shut down, run hot or clip. Wire the coils for a higher impedance, or use an amplifier that "
            "is rated for this one."
        )
        return caution, note
    if least.ohm < allowed * (1 - 1e-9):
        note += f" It dips under the amplifier's {_ohm(allowed, 'amplifier_ohm')}, as a loudspeaker of that rating may."
    return "", note


def line_words(answer: LineAnswer) -> str:
    """What the cable and the supply wire beside it do to a line signal, as HTML."""
    request, top = answer.request, answer.top
    here = request.situation
    corner_hz = float(top.corner_hz[0])
    corner = _hz(corner_hz, "corner_khz") if np.isfinite(corner_hz) else "none, without capacitance"
    more = _shown(-float(top.treble_db[0]), units.LEVEL, "treble_loss_db")
    told = f"At 20 kHz the cable takes {more} more than in mid band. −3 dB point: {corner}."
    flat, twisted = float(answer.pickup.parallel_v[-1]), float(answer.pickup.twisted_v[-1])

    def said(volt: float, kind: str) -> str:
        under = of_this(f"{float(_under_db(np.array(volt))):.0f} dB", f"{kind}_db")
        return f"{_shown(volt * 1e3, units.NUMBER, kind)} mV, {under} under a 1 V signal"

    length = units.show(request.along_m, units.LENGTH, feet=here.feet)
    notes = [
        f"Level at 20 kHz: {_shown(float(top.level_db[0]), units.LEVEL, 'top')} against the source with nothing "
        f"connected. In mid band {_shown(float(top.middle_db[0]), units.LEVEL, 'middle_db')}, source against "
        "input impedance.",
        "The size of the wire hardly matters here. An input's own filter is not counted.",
        f"Supply wire beside it: {units.show(request.ripple_a, units.CURRENT)} of ripple at {_hz(request.ripple_hz)}, "
        f"{units.show(request.distance_m, units.LENGTH)} away, over {length}.",
        f"Flat pair: {said(flat, 'flat')}.",
        f"Twisted pair: at most {said(twisted, 'twisted')}.",
        "The model: the worst way round, with the supply's return far away. A return beside the supply wire lowers "
        "both figures greatly. A shield is not counted: a thin one does little against magnetic fields at audio. The "
        "body's steel, and noise through a shared chassis return, often the larger, are not in it. Twists are "
        "taken as 1 % uneven: assumed, no source.",
    ]
    return _html(told, here.cautions, notes)


def response_table(answer: SpeakerAnswer) -> pd.DataFrame:
    """Every drawn size, this run first; one column a figure, units in its name."""
    here = answer.request.situation
    columns = {
        "Size": [one.label for one in here.conductors],
        "Furthest (dB)": answer.band.worst_db,
        "at (Hz)": answer.band.worst_hz,
        "Tone (dB)": answer.band.spread_db,
    }
    if answer.q is not None:
        columns |= {"Qtc with wire" if answer.request.hung.boxed else "Qts with wire": answer.wired_qts}
    return pd.DataFrame(columns)[[i == 0 or one != here.this for i, one in enumerate(here.conductors)]]


def line_table(answer: LineAnswer) -> pd.DataFrame:
    """Every drawn size, this run first; one column a figure, units in its name."""
    here, top = answer.request.situation, answer.top
    frame = pd.DataFrame(
        {
            "Size": [one.label for one in here.conductors],
            "Lost in mid band (dB)": -top.middle_db,
            "Lost at 20 kHz under mid band (dB)": -top.treble_db,
            "Level at 20 kHz (dB)": top.level_db,
            "−3 dB point (kHz)": top.corner_hz / 1e3,
        }
    )
    return frame[[i == 0 or one != here.this for i, one in enumerate(here.conductors)]]


SPEAKER_KEYS: tuple[Callable[[OverFrequency], Working], ...] = (furthest, furthest_hz, tone, q_with_wire)
LINE_KEYS = ("loss_db", "treble_loss_db", "top", "corner_khz")


def table_html(answer: Answer) -> str:
    """`table` or `line_table` for the page; every number opens to where it comes from."""
    speaker = isinstance(answer, SpeakerAnswer)
    frame = response_table(answer) if speaker else line_table(answer)
    keys = [work.__name__ for work in SPEAKER_KEYS] if speaker else LINE_KEYS
    shown = pd.DataFrame({"Size": [html.escape(label) for label in frame["Size"]]}, index=frame.index)
    for key, name in zip(keys, frame.columns[1:], strict=False):  # without a driver there is no Q
        form = "{:.0f}" if "(Hz)" in name else "{:.1f}" if "(kHz)" in name else "{:.3f}"
        shown[name] = [
            number(form.format(value).replace("-", "−") if np.isfinite(value) else "none", f"{key}:{row}")
            for row, value in frame[name].items()
        ]
    body = shown.to_html(index=False, border=0, classes="wc-table", justify="unset", escape=False)
    caption = "Every drawn size over frequency; this run first"
    body = _captioned(body, caption)
    return body if speaker else body + _pickup_html(answer)


def _pickup_html(answer: LineAnswer) -> str:
    """What is picked up from the supply wire, in a table."""
    rows = ""
    for kind, volt in (("flat", answer.pickup.parallel_v[-1]), ("twisted", answer.pickup.twisted_v[-1])):
        name = "Flat pair" if kind == "flat" else "Twisted pair, at most"
        cells = number(f"{volt * 1e3:.3g}", f"{kind}:0"), number(f"{_under_db(volt):.1f}", f"{kind}_db:0")
        rows += f"<tr><td>{name}</td>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    head = "".join(f"<th>{one}</th>" for one in ("Pair", "Picked up (mV)", "Under 1 V (dB)"))
    body = f"<table class='wc-table'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    return _captioned(body, "Picked up from the supply wire beside it")


def _captioned(body: str, caption: str) -> str:
    body = body.replace("<thead>", f"<caption>{caption}</caption><thead>", 1)
    return f"<div class='wc-scroll' tabindex='0' role='region' aria-label='{caption}'>{body}</div>"


def _over_frequency(answer: SpeakerAnswer, row: int) -> OverFrequency:
    """One size in the band, for its workings."""
    request, (low, high) = answer.request, answer.band_hz
    inside = (answer.hz >= low) & (answer.hz <= high)
    return OverFrequency(
        run=_speaker_run(answer),
        pair=answer.pairs[row],
        wall_entered=request.wall_m is not None,
        laid=request.situation.laid,
        load=request.hung.load,
        load_name=request.hung.name,
        made=request.hung.made,
        hz=answer.hz[inside],
        level_db=answer.level_db[row, inside],
        feet=request.situation.feet,
    )


def _speaker_working(answer: SpeakerAnswer, what: str, row: int) -> Working:
    """Where one number of a loudspeaker run comes from."""
    run = _over_frequency(answer, row)
    if what in ("qes", "qts"):
        return own_q(run, what)
    if what in ("henry", "farad", "spacing", "wall"):
        return of_pair(run, what, _SPEAKS_HZ)
    for work in (*SPEAKER_KEYS, series_ohm, qes_with_wire):
        if work.__name__ == what:
            return work(run)
    return least(run, what, answer.rated)


class ResponseTab:
    """See `dashboards.panels.one_run.request.Tab`. `compute` is handed in so that a test can count calls."""

    title = "Response"

    def __init__(self, compute: Callable[[Request], Answer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self._feet = False
        self._file: tuple[str, MeasuredImpedance] | None = None
        demos = [(f"{name} (invented)", name) for name in DEMO_DRIVERS]
        plain = ("Plain resistance, the page's load impedance", "plain")
        self.load = choice("Load", [plain, *demos, ("Own driver", "own"), ("Measured file", "file")], "plain")
        self._own = self._driver_entries()
        self._measured = self._file_entry()
        self._pair = self._pair_entries()
        self._pickup = self._pickup_entries()
        self._listen(self.load)
        self.fields: Fields = named(
            load=self.load, re=self.re, le=self.le, fs=self.fs, qes=self.qes, qms=self.qms, vas=self.vas, box=self.box,
            coils=self.coils, series=self.series, parallel=self.parallel, semi=self.semi, exponent=self.exponent,
            wall=self.wall, gap=self.gap, dielectric=self.dielectric, ripple=self.ripple, ripple_hz=self.ripple_hz,
            along=self.along, distance=self.distance, spacing=self.spacing, twist=self.pitch,
        )  # fmt: skip
        self.words, self.table = Numbers(answer=self.work), Numbers(answer=self.work)
        self._answer: Answer | None = None
        self.charts = Charts()
        self.entries = w.VBox()
        # nothing here is ever replaced: plotly keeps drawing on the view of a chart that was taken out, and fails
        self.view = w.VBox([self.entries, self.charts, self.words, self.table])

    def _driver_entries(self) -> w.VBox:
        start = next(iter(DEMO_DRIVERS.values()))
        alike = f"alike, 1 to {_MOST_ALIKE}"
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
        self.series = quantity("Drivers in series", units.COUNT, 1, None, low=1, high=_MOST_ALIKE, help=alike)
        self.parallel = quantity("Drivers in parallel", units.COUNT, 1, None, low=1, high=_MOST_ALIKE, help=alike)
        self.semi = quantity("Semi-inductance K (Ω·sⁿ)", units.NUMBER, 0, None, low=0, high=10, help="default 0: none")
        self.exponent = quantity(
            "Its exponent n", units.NUMBER, 0.5, None, low=0.4, high=1, help="0.5 thick iron, 1 no loss"
        )
        # fmt: on
        note = _note(
            "From the data sheet; the values at first are invented. Of a driver with two coils: both in parallel."
        )
        asked = (self.re, self.le, self.fs, self.qes, self.qms, self.vas, self.box, self.coils)
        few, rare = self._columns(*asked, self.series, self.parallel), self._columns(self.semi, self.exponent)
        self.more = Tick("More: semi-inductance", kind="switch")
        own = w.VBox([note, few, self.more])

        def toggle(change: dict[str, bool]) -> None:
            own.children = (note, few, self.more, rare) if change["new"] else (note, few, self.more)

        self.more.observe(toggle, "value")
        return own

    def _file_entry(self) -> w.VBox:
        self.upload = Upload("Choose a file", ".csv,.txt", self._take, MOST_BYTES)
        self.file_note = _note("No file yet: the page's load impedance is shown.")
        return w.VBox([self.upload, self.file_note, _note(FILE_HELP)])

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
        return self._columns(self.ripple, self.ripple_hz, self.along, self.distance, self.spacing, self.pitch)

    def _columns(self, *parts: Entry[Any] | Choice) -> w.GridBox:
        """Entries and choices in as many columns as there is room for."""
        for part in parts:
            self._listen(part)
        columns = "repeat(auto-fit, minmax(min(100%, 280px), 1fr))"
        children = [part.view if isinstance(part, Entry) else part for part in parts]
        return w.GridBox(children, layout={"grid_template_columns": columns, "grid_gap": "4px 26px"})

    def _listen(self, part: Entry[Any] | Choice) -> None:
        if isinstance(part, Entry):
            part.changed = lambda: self.changed()
        else:
            part.observe(lambda _change: self.changed(), "value")

    def _read_along(self, given: object, longest_m: float) -> float:
        bare = "ft" if self._feet else "m"
        return units.read(given, "Length alongside", units.LENGTH, low=0, high=longest_m, above=True, bare=bare)

    def _take(self, name: str, content: bytes) -> None:
        """See `Upload`; the last good file stays."""
        found = _in_band(read_impedance(content))
        self._file = name, found
        known = f"{len(found.frequency_hz)} rows, {_hz(found.lowest_hz)} to {_hz(found.highest_hz)}"
        self.file_note.value = html.escape(f"{name}: {known}")
        self.changed()

    def hung(self, load_ohm: float) -> SpeakerLoad:
        """What the entries hang on the wire; `load_ohm` is the page's."""
        if self.load.value in DEMO_DRIVERS:
            driver = DEMO_DRIVERS[self.load.value]
            about = ABOUT_DEMO_DRIVERS[self.load.value]
            made = Provenance(about.source, about.confidence)
            return SpeakerLoad(name=f"{self.load.value} (invented)", load=driver, driver=driver, made=made)
        if self.load.value == "own":
            return self._own_driver()
        if self.load.value == "file" and self._file:
            name, found = self._file
            low, high = max(found.lowest_hz, response.LOWEST_HZ), min(found.highest_hz, response.HIGHEST_HZ)
            return SpeakerLoad(
                name=name, load=found, low_hz=low, high_hz=high, made=Provenance(origin=f"measured file {name}")
            )
        return SpeakerLoad(name=_ohm(load_ohm), load=Load(ohm=load_ohm))

    def _own_driver(self) -> SpeakerLoad:
        driver = Driver(
            re_ohm=self.re.value,
            fs_hz=self.fs.value,
            qes=self.qes.value,
            qms=self.qms.value,
            le_henry=self.le.value,
            semi=self.semi.value,
            semi_exponent=self.exponent.value,
            vas_m3=None if self.vas.value is None else self.vas.value * _LITRE_M3,
        )
        boxed = self.box.value is not None
        box_m3 = self.box.value * _LITRE_M3 if boxed else None
        made = Provenance(entered=driver, box_m3=box_m3, coils=self.coils.value)
        if boxed:
            driver = closed_box(driver, box_m3)
        if self.coils.value != "only":
            driver = two_coils(driver, self.coils.value)
        in_series, in_parallel = int(self.series.value), int(self.parallel.value)
        row = Wired(parts=(driver,) * in_series, way="series")
        many = in_series * in_parallel
        return SpeakerLoad(
            name="the own driver" if many == 1 else f"{many} own drivers",
            load=Wired(parts=(row,) * in_parallel, way="parallel"),
            driver=driver,
            boxed=boxed,
            made=made,
        )

    def request(self, situation: RunRequest) -> Request:
        """The page's situation and what the entries of this tab say, the last good value of each."""
        if isinstance(situation.run, runs.SpeakerRun):
            return SpeakerRequest(
                situation=situation,
                hung=self.hung(situation.run.load_ohm),
                insulation=DIELECTRICS[self.dielectric.value],
                wall_m=self.wall.value,
                gap_m=self.gap.value,
            )
        length_m = situation.laid.length_m
        return LineRequest(
            situation=situation,
            ripple_a=self.ripple.value,
            ripple_hz=self.ripple_hz.value,
            along_m=length_m if self.along.value is None else self._read_along(self.along.value, length_m),
            distance_m=self.distance.value,
            spacing_m=self.spacing.value,
            pitch_m=self.pitch.value,
        )

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        if self._feet != situation.feet:
            self._feet = situation.feet
            self.along.rewrite()
        speaker = isinstance(situation.run, runs.SpeakerRun)
        for_load = {"own": (self._own,), "file": (self._measured,)}.get(self.load.value, ())
        self.entries.children = (self.load, *for_load, self._pair) if speaker else (self._pickup,)
        answer = self.compute(self.request(situation))
        speaks = isinstance(answer, SpeakerAnswer)
        self.charts.redraw(level_chart(answer), impedance_chart(answer) if speaks else pickup_chart(answer))
        self._answer = answer
        self.words.html = speaker_words(answer) if speaks else line_words(answer)
        self.table.html = table_html(answer)

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the conductors"."""
        what, place = key.split(":")
        if what in TWICE:
            return to_html(twice(what, float(place)))
        answer = self._answer
        if isinstance(answer, SpeakerAnswer):
            return to_html(_speaker_working(answer, what, int(place)))
        assert answer is not None
        request = answer.request
        here, one = request.situation, request.situation.conductors[int(place)]
        if what in (*LINE_KEYS, "middle_db"):
            assert isinstance(here.run, runs.LineRun)
            if what == "top":
                return to_html(top_level(here.run, one, here.laid, feet=here.feet))
            return to_html(working(what, here.run, one, here.laid, feet=here.feet))
        beside = {
            name: getattr(request, name)
            for name in ("ripple_a", "ripple_hz", "along_m", "distance_m", "spacing_m", "pitch_m")
        }
        return to_html(pickup(what, **beside, feet=here.feet))


def _note(text: str) -> w.HTML:
    note = w.HTML(html.escape(text))
    note.add_class("wc-note")
    return note


def _in_band(found: MeasuredImpedance) -> MeasuredImpedance:
    """The measurement, if it says anything of the audio band."""
    if found.lowest_hz < BAND_HZ[1] and found.highest_hz > BAND_HZ[0]:
        return found
    given = f"{found.lowest_hz:g} to {found.highest_hz:g} Hz"
    raise InputError("Measured file", given, "one that reaches into 20 Hz to 20 kHz", "Measure in that band.")
