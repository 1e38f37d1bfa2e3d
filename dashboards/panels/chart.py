"""A live chart: plotly's traces and layout drawn by the plotly.js of the installed package, offline.

plotly's own FigureWidget would do, but costs a second to import in every page's kernel and sends every drawing's
defaults back to it: a key press took twice as long to be painted (see tests/benchmarks/test_page_speed.py).
"""

from __future__ import annotations

import importlib.util
import math
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as w
import numpy as np
import traitlets

if TYPE_CHECKING:
    import plotly.graph_objects as go

Spec = Mapping[str, Any]

INK, FAINT = "#808080", "rgba(128,128,128,0.25)"  # readable on white and on dark; the page's CSS refines both

# arrays come as the bytes of 64-bit floats; a drawing that is overtaken by the next one is left out
_ESM = """
const unpack = value => value instanceof DataView
  ? new Float64Array(value.buffer.slice(value.byteOffset, value.byteOffset + value.byteLength))
  : Array.isArray(value) ? value.map(unpack)
  : value && typeof value === 'object'
  ? Object.fromEntries(Object.entries(value).map(([key, one]) => [key, unpack(one)])) : value;
export default { async render({ model, el }) {
  await loaded();
  const chart = document.createElement('div');
  el.append(chart);
  const draw = () => {
    const { data, layout } = unpack(model.get('spec'));
    return Plotly.react(chart, data, layout, { responsive: true, displayModeBar: false });
  };
  model.on('change:spec', draw);
  await draw();
  return () => { model.off('change:spec', draw); Plotly.purge(chart); };
} };
"""
_SERVED = """
const loaded = () => globalThis.Plotly ? Promise.resolve() : globalThis.wcPlotly ??= new Promise((done, failed) => {
  const source = new URL('%svoila/labextensions/plotly.min.js', document.baseURI).href;
  let script = [...document.scripts].find(one => one.src === source);  // the page may have asked for it already
  if (!script) {
    script = document.createElement('script');
    script.src = source;
    document.head.append(script);
  }
  script.addEventListener('load', done);
  script.addEventListener('error', failed);
});
"""


def _module() -> str:
    """The front end; where no Voilà serves plotly.js, as in a notebook, the script is in it."""
    if "VOILA_BASE_URL" in os.environ:  # set by Voilà in every kernel it starts
        return _SERVED % os.environ["VOILA_BASE_URL"] + _ESM
    found = importlib.util.find_spec("plotly")
    assert found is not None
    assert found.origin is not None
    script = Path(found.origin).parent / "package_data" / "plotly.min.js"
    return f"{script.read_text(encoding='utf-8')}\nconst loaded = () => Promise.resolve();\n{_ESM}"


class Chart(anywidget.AnyWidget):
    """A plotly figure that follows its box's width and is read out by its layout's `meta`, or else its title."""

    _esm = _module()
    spec = traitlets.Dict().tag(sync=True)

    def __init__(self, title: str, traces: Sequence[Spec], layout: Spec, height: int = 330) -> None:
        self._base = _style(title, height)
        super().__init__(spec=self._pack(traces, layout))

    def redraw(self, traces: Sequence[Spec], layout: Spec) -> None:
        """Draw these instead."""
        self.spec = self._pack(traces, layout)

    def _pack(self, traces: Sequence[Spec], layout: Spec) -> dict[str, Any]:
        self._traces, self._layout = traces, _merged(self._base, layout)
        return {"data": _sent(self._traces), "layout": _sent(self._layout)}

    @property
    def figure(self) -> go.Figure:
        """The same as plotly's own figure, every property checked by plotly."""
        import plotly.graph_objects as go  # slow, and no page needs it

        return go.Figure(data=[dict(trace) for trace in self._traces], layout=self._layout)

    @property
    def data(self) -> tuple[Any, ...]:
        """Traces of `figure`."""
        return tuple(self.figure.data)

    @property
    def layout(self) -> Any:
        """Layout of `figure`."""
        return self.figure.layout


Picture = tuple[Sequence[Spec], Spec]
"""Traces and layout."""


def draw_in(box: w.Box, pictures: Sequence[Picture], titles: Sequence[str] = (), height: int = 330) -> None:
    """Draw each picture in its own chart of a box; the charts are made with the first and stay where they are.

    `titles` are for pictures whose layout has none.
    """
    if box.children:
        for chart, picture in zip(box.children, pictures, strict=True):
            chart.redraw(*picture)
    else:
        named = zip(titles or [""] * len(pictures), pictures, strict=True)
        box.children = tuple(Chart(title, *picture, height=height) for title, picture in named)


def _style(title: str, height: int) -> dict[str, Any]:
    """The look of every chart; paper and ink are left to the page, light or dark."""
    axis = {"gridcolor": FAINT, "zerolinecolor": FAINT, "linecolor": FAINT, "fixedrange": True, "automargin": True}
    return {
        "title": {"text": title, "x": 0, "xref": "container", "pad": {"l": 8}, "font": {"size": 16}},
        "meta": title,
        "height": height,
        "margin": {"l": 8, "r": 12, "t": 40, "b": 8},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": "system-ui, sans-serif", "size": 13, "color": INK},
        "xaxis": axis,
        "yaxis": axis,
        "showlegend": False,
        "hovermode": "x unified",
        "autosize": True,
    }


def _merged(base: Spec, more: Spec) -> dict[str, Any]:
    """`base` with the settings of `more`, group by group."""
    found = dict(base)
    for key, value in more.items():
        old = found.get(key)
        found[key] = _merged(old, value) if isinstance(value, Mapping) and isinstance(old, Mapping) else value
    return found


def _sent(value: Any) -> Any:
    """What goes to the browser: arrays of numbers as bytes, and no nan in JSON, which has none."""
    if isinstance(value, np.ndarray) and value.dtype.kind in "fiu":
        return memoryview(np.ascontiguousarray(value, np.float64)).cast("B")
    if isinstance(value, Mapping):
        return {key: _sent(one) for key, one in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [_sent(one) for one in value]
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value
