"""What a run does, drawn and tabled: level and power against length for several sizes, this run marked."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboards.panels.sizes import OFFERED
from wirecalc import units, words
from wirecalc.cable import LONGEST_M
from wirecalc.circuit import Outcome, compare, quick_drop_bound_v
from wirecalc.conductor import Conductor, ohms_per_metre
from wirecalc.source import Amplifier

Array = NDArray[np.float64]

POINTS = 200
FOOT_M = 0.3048
_ENDS_M = (3.0, 6.0, 10.0, 15.0, 25.0, 50.0, LONGEST_M)  # where the length axis may end
_ENDS_FT = (10.0, 20.0, 30.0, 50.0, 80.0, 160.0, LONGEST_M / FOOT_M)


@dataclass(frozen=True, kw_only=True)
class Request:
    """What the person asks: one run, and the sizes to hold it against."""

    amplifier: Amplifier
    load_ohm: float
    this: Conductor
    others: tuple[Conductor | None, ...]
    """One for each of `OFFERED`; None where it is not drawn."""
    length_m: float
    temperature_c: float
    parallel: int
    joints_ohm: float
    feet: bool


@dataclass(frozen=True, kw_only=True)
class Answer:
    """The request, solved: fields of `outcome` are (1 + drawn sizes, `POINTS` + 1); row 0 and the last column are
    this run's size and this run's length."""

    request: Request
    conductors: tuple[Conductor, ...]
    length_m: Array
    outcome: Outcome
    bare_w: float
    """Power at the load with a wire of no resistance. [W]"""


def compute(request: Request) -> Answer:
    """All numbers of the page in one call of `wirecalc.circuit.compare`."""
    per_unit = FOOT_M if request.feet else 1.0
    ends = np.array(_ENDS_FT if request.feet else _ENDS_M) * per_unit
    end_m = ends[np.searchsorted(ends, min(1.15 * request.length_m, ends[-1]))]
    length_m = np.append(np.linspace(end_m / POINTS, end_m, POINTS), request.length_m)
    conductors = (request.this, *(one for one in request.others if one is not None))
    outcome = compare(
        request.amplifier,
        request.load_ohm,
        conductors,
        length_m,
        temperature_c=request.temperature_c,
        parallel=request.parallel,
        joints_ohm=request.joints_ohm,
    )
    at = float(outcome.load_w[0, -1])
    bare_w = at * 10 ** (-float(outcome.level_db[0, -1]) / 10)
    return Answer(request=request, conductors=conductors, length_m=length_m, outcome=outcome, bare_w=bare_w)


def _chart(answer: Answer, y: Array, form: str) -> list[dict[str, Any]]:
    """Traces in a fixed order: one for each of `OFFERED`, this run's line, the mark at this length."""
    feet = answer.request.feet
    x = answer.length_m / (FOOT_M if feet else 1.0)
    traces, row = [], 0
    for one, drawn in zip(OFFERED, answer.request.others, strict=True):
        row += drawn is not None
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": one.label,
                "visible": drawn is not None,
                "x": x[:-1] if drawn else None,
                "y": y[row, :-1] if drawn else None,
                "line": {"color": one.colour, "width": one.width, "dash": one.dash},
                "hovertemplate": f"%{{y:{form}}}",
            }
        )
    run = _pair(answer.request)
    traces.append(
        {
            "type": "scatter",
            "mode": "lines",
            "name": f"{run} (this run)",
            "x": x[:-1],
            "y": y[0, :-1],
            "line": {"color": "#808080", "width": 6},
            "opacity": 0.45,
            "hovertemplate": f"%{{y:{form}}}",
        }
    )
    traces.append(
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": "this run",
            "x": [x[-1], x[-1]],
            "y": [0.0, y[0, -1]],
            "line": {"color": "#c8641e", "width": 1.5, "dash": "dot"},
            "marker": {"color": "#c8641e", "size": [0, 14], "line": {"color": "#ffffff", "width": 2}},
            "hoverinfo": "skip",
        }
    )
    return traces


def _pair(request: Request) -> str:
    return f"{request.parallel} × {request.this.label}" if request.parallel > 1 else request.this.label


def _length_axis(answer: Answer) -> dict[str, Any]:
    unit, per_unit = ("ft", FOOT_M) if answer.request.feet else ("m", 1.0)
    return {
        "title": {"text": f"Run length, one way ({unit})"},
        "range": [0.0, float(answer.length_m[-2] / per_unit)],
        "hoverformat": ".3g",
        "unifiedhovertitle": {"text": f"%{{x}} {unit} one way"},
    }


def level_chart(answer: Answer) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout: decibels lost against length, 0 at the top."""
    layout = {
        "xaxis": _length_axis(answer),
        "yaxis": {"title": {"text": "Level lost (dB)"}, "autorange": "reversed", "rangemode": "tozero"},
    }
    return _chart(answer, -answer.outcome.level_db, ".2f"), layout


def power_chart(answer: Answer) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout: watts that reach the load against length."""
    layout = {
        "xaxis": _length_axis(answer),
        "yaxis": {"title": {"text": "Power at the load (W)"}, "rangemode": "tozero"},
    }
    return _chart(answer, answer.outcome.load_w, ".1f"), layout


def tiles(answer: Answer) -> str:
    """This run in four figures, as HTML."""
    o, at = answer.outcome, (0, -1)
    share = 100 * o.load_w[at] / answer.bare_w
    figures: Sequence[tuple[str, str, str]] = (
        (words.decibels(-o.level_db[at]), "dB less", "level at the load"),
        (words.watts(o.load_w[at]), f"of {words.watts(answer.bare_w)} W", f"{share:.0f} % reaches the load"),
        (f"{o.drop_v[at]:.2f} V", "drop", f"{words.watts(o.wire_w[at])} W heats the wire"),
        (f"{o.damping_factor[at]:.3g}", "damping", "load over amplifier and wire"),
    )
    cells = "".join(
        f"<div><strong>{html.escape(big)}</strong> <span>{html.escape(unit)}</span><small>{small}</small></div>"
        for big, unit, small in figures
    )
    title = html.escape(f"{_pair(answer.request)}, {_length(answer)} one way")
    return f"<section class='wc-tiles' aria-label='This run'><h2>{title}</h2>{cells}</section>"


def _length(answer: Answer) -> str:
    return units.show(answer.request.length_m, units.LENGTH, feet=answer.request.feet)


def sentence(answer: Answer) -> str:
    """What a customer is told, and what the installer minds, as HTML."""
    r, o = answer.request, answer.outcome
    told = words.for_customer(r.this.label, r.parallel, o.load_w[0, -1], answer.bare_w, -o.level_db[0, -1])
    caution = words.load_caution(r.amplifier, r.load_ohm)
    mind = f"<p class='wc-caution' role='status'>{html.escape(caution)}</p>" if caution else ""
    return f"<p class='wc-told' role='status'>{html.escape(told)}</p>{mind}"


def table(answer: Answer) -> pd.DataFrame:
    """Every drawn size at this run's length, this run first; one column a figure, units in its name."""
    r, o = answer.request, answer.outcome
    unit, per_unit = ("ft", FOOT_M) if r.feet else ("m", 1.0)
    one_way = ohms_per_metre(answer.conductors, r.temperature_c)
    loop_ohm = o.drop_v[:, -1] / o.current_a[:, -1]
    bare_a = float(o.current_a[0, -1]) * 10 ** (-float(o.level_db[0, -1]) / 20)
    frame = pd.DataFrame(
        {
            "Size": [one.label for one in answer.conductors],
            "Metal (mm²)": [one.area_m2 * 1e6 for one in answer.conductors],
            f"One conductor (mΩ/{unit})": one_way * 1e3 * per_unit,
            "Loop (mΩ)": loop_ohm * 1e3,
            "Level lost (dB)": -o.level_db[:, -1],
            "At the load (W)": o.load_w[:, -1],
            "In the wire (W)": o.wire_w[:, -1],
            "Drop (V)": o.drop_v[:, -1],
            "Quick bound (V)": quick_drop_bound_v(bare_a, loop_ohm),
            "Damping at the load": o.damping_factor[:, -1],
        }
    )
    return frame[[i == 0 or one != r.this for i, one in enumerate(answer.conductors)]]


def table_html(answer: Answer) -> str:
    """`table` for the page."""
    frame = table(answer)
    digits: Mapping[str, str] = {"(dB)": "{:.3f}", "(V)": "{:.3f}"}
    formats = {
        name: digits.get(name[-4:], digits.get(name[-3:], "{:.4g}")).format for name in frame.columns if name != "Size"
    }
    body = frame.to_html(index=False, border=0, classes="wc-table", formatters=formats, justify="unset")
    caption = html.escape(f"Every drawn size at {_length(answer)} one way; this run first")
    body = body.replace("<thead>", f"<caption>{caption}</caption><thead>", 1)
    return f"<div class='wc-scroll' tabindex='0' role='region' aria-label='All sizes'>{body}</div>"
