"""A live plotly chart whose script comes from the installed package, so that no page needs the internet."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

# plotly -> nbformat -> jsonschema would build a grammar for a second at import; jsonschema does without it
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
import plotly.graph_objects as go  # noqa: E402

Spec = Mapping[str, Any]

INK, FAINT = "#808080", "rgba(128,128,128,0.25)"  # readable on white and on dark; the page's CSS refines both


class Chart(go.FigureWidget):
    """A figure that follows its box's width and is read out by its title."""

    if "VOILA_BASE_URL" in os.environ:  # set by Voilà in every kernel it starts
        _esm = (
            f"const base = new URL('{os.environ['VOILA_BASE_URL']}', document.baseURI);"
            "const m = await import(new URL('voila/labextensions/widgetbundle.js', base).href);"
            "export default m.default;"
        )

    def __init__(self, title: str, traces: Sequence[Spec], layout: Spec, height: int = 330) -> None:
        super().__init__(figure(title, traces, layout, height))
        self._config = {**self._config, "responsive": True, "displayModeBar": False}
        self._shown: tuple[Sequence[Spec], Spec] = traces, layout

    def redraw(self, traces: Sequence[Spec], layout: Spec) -> None:
        """Take over new traces, one for each that is there, and layout settings, in one drawing.

        Only what differs from what is shown is handed to plotly, whose check of every property is what costs here.
        """
        shown, shown_layout = self._shown
        with self.batch_update():
            for old, was, now in zip(self.data, shown, traces, strict=True):
                old.update(changes(was, now))
            self.update_layout(changes(shown_layout, layout))
        self._shown = traces, layout


def changes(was: Spec, now: Spec) -> dict[str, Any]:
    """The settings of `now` that `was` has not, or has otherwise; arrays are compared by what they hold."""
    return {key: value for key, value in now.items() if not _same(was.get(key), value)}


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return one is other or np.array_equal(one, other)
    return bool(one == other)


def figure(title: str, traces: Sequence[Spec], layout: Spec, height: int = 330) -> go.Figure:
    """A figure in the style of the pages; paper and ink are left to the page, light or dark."""
    axis = {
        "gridcolor": FAINT,
        "zerolinecolor": FAINT,
        "linecolor": FAINT,
        "fixedrange": True,
        "automargin": True,
    }
    fig = go.Figure(
        data=[dict(trace) for trace in traces],
        layout={
            "template": None,
            "title": {"text": title, "x": 0, "xref": "container", "pad": {"l": 8}, "font": {"size": 16}},
            "meta": title,  # read out by the page's script
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
        },
    )
    return fig.update_layout(layout)
