"""Live charts: plotly's traces and layout drawn by the plotly.js of the installed package, offline.

plotly's own FigureWidget would do, but costs a second to import in every page's kernel and sends every drawing's
defaults back to it: a key press took twice as long to be painted (see tests/benchmarks/test_page_speed.py).
"""

from __future__ import annotations

import importlib.util
import itertools
import json
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import numpy as np
import traitlets
from numpy.typing import NDArray

from dashboards.panels.acts.guest import SERVED, the_one
from dashboards.panels.controls.colours import INK, faint

if TYPE_CHECKING:
    import plotly.graph_objects as go

Array = NDArray[Any]
Spec = Mapping[str, Any]

_BROUGHT = "globalThis.wirecalcPlotly ??= Promise.withResolvers()"
_FAINT, _CLEAR = faint(INK, 0.25), faint(INK, 0)  # the page's CSS refines ink and grid


def _module() -> str:
    """The front end; where our server is not, `_Plotly` brings the script."""
    here = Path(__file__)
    drawing = here.with_name("chart.js").read_text(encoding="utf-8")
    if SERVED:
        served = here.with_name("plotly_served.js").read_text(encoding="utf-8")
        return f"const SERVER = {json.dumps(os.environ['VOILA_BASE_URL'])};\n{served}{drawing}"
    return f"const loaded = () => ({_BROUGHT}).promise;\n{drawing}"


def _plotly() -> str:
    """plotly.js as a module, kept from any loader of modules that the page may have."""
    spec = importlib.util.find_spec("plotly")
    assert spec is not None
    assert spec.origin is not None
    script = (Path(spec.origin).parent / "package_data" / "plotly.min.js").read_text(encoding="utf-8")
    alone = f"(function (define, module, exports) {{\n{script}\n}})();"
    return f"if (!globalThis.Plotly) {alone}\n({_BROUGHT}).resolve();\nexport default {{}};\n"


class _Plotly(anywidget.AnyWidget):
    """Brings plotly.js, once a kernel, to a page that is not ours; five megabytes in every chart would be too much."""

    if not SERVED:
        _esm = _plotly()


BELOW = {"orientation": "h", "yref": "container", "y": 0.01, "yanchor": "bottom", "x": 0}
"""A legend along the chart's lower edge, which moves nothing and lies on nothing at any width."""
Picture = tuple[Sequence[Spec], Spec]
"""Traces and layout of one chart."""


@dataclass(frozen=True, eq=False)
class DrawnChart:
    """One of `Charts`, as it was drawn last."""

    traces: Sequence[Spec]
    settings: Spec

    @property
    def figure(self) -> go.Figure:
        """The same as plotly's own figure, every property checked by plotly."""
        import plotly.graph_objects as go  # slow, and no page needs it

        return go.Figure(data=[dict(trace) for trace in self.traces], layout=self.settings)

    @property
    def data(self) -> tuple[Any, ...]:
        """Traces of `figure`."""
        return tuple(self.figure.data)

    @property
    def layout(self) -> Any:
        """Layout of `figure`."""
        return self.figure.layout


class Charts(anywidget.AnyWidget):
    """Charts that change together: one message, one painting.

    Each follows its box's width and is read out by its layout's `meta`, or else its title.

    Parameters
    ----------
    *titles : str
        For pictures whose layout has none.
    height : int
        Of each. [CSS px]
    """

    _esm = _module()
    sent: traitlets.Dict[str, Any] = traitlets.Dict({"charts": [], "numbers": b""}).tag(sync=True)

    def __init__(self, *titles: str, height: int = 330) -> None:
        if not SERVED:
            the_one(_Plotly)
        super().__init__()
        self.add_class("wc-charts")
        self.drawn: tuple[DrawnChart, ...] = ()
        self._titles, self._height = titles, height

    def redraw(self, *pictures: Picture) -> None:
        """Draw these, none or some; boxes of the time before that are not wanted now are hidden."""
        titles = [*self._titles, *[""] * len(pictures)][: len(pictures)]
        self.drawn = tuple(
            DrawnChart(traces, _merged(_style(title, self._height), layout))
            for (traces, layout), title in zip(pictures, titles, strict=True)
        )
        arrays: list[Array] = []
        charts = [
            {"data": _packed(picture.traces, arrays), "layout": _packed(picture.settings, arrays)}
            for picture in self.drawn
        ]
        self.sent = {"charts": charts, "numbers": np.concatenate([np.empty(0), *arrays]).tobytes()}


def _style(title: str, height: int) -> dict[str, Any]:
    """The look of every chart; paper and ink are left to the page, light or dark."""
    axis = {"gridcolor": _FAINT, "zerolinecolor": _FAINT, "linecolor": _FAINT, "fixedrange": True, "automargin": True}
    return {
        "title": {"text": title, "x": 0, "xref": "container", "pad": {"l": 8}, "font": {"size": 16}},
        "meta": title,
        "height": height,
        "margin": {"l": 8, "r": 12, "t": 40, "b": 8},
        "paper_bgcolor": _CLEAR,
        "plot_bgcolor": _CLEAR,
        "font": {"family": "system-ui, sans-serif", "size": 13, "color": INK},
        "xaxis": axis,
        "yaxis": axis,
        "showlegend": False,
        "hovermode": "x unified",
        "autosize": True,
    }


def _merged(base: Spec, more: Spec) -> dict[str, Any]:
    """`base` with the settings of `more`, group by group."""
    merged = dict(base)
    for key, value in more.items():
        old = merged.get(key)
        merged[key] = _merged(old, value) if isinstance(value, Mapping) and isinstance(old, Mapping) else value
    return merged


def _packed(value: Any, arrays: list[Array]) -> Any:
    """As JSON, which has no nan; arrays of numbers go to `arrays` and leave where they are to be cut out."""
    if isinstance(value, np.ndarray) and value.dtype.kind in "fiu" and value.ndim == 1:
        if not any(part is value for part in arrays):
            arrays.append(value)
        start = sum(part.size for part in itertools.takewhile(lambda part: part is not value, arrays))
        return {"cut": [start, start + value.size]}
    if isinstance(value, Mapping):
        return {key: _packed(part, arrays) for key, part in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [_packed(part, arrays) for part in value]
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value
