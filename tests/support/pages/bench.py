"""When the page Bench can be used."""

from __future__ import annotations

READY = "body:has(.js-plotly-plot .barlayer .trace):has(.wc-keypad-toggle):has(.wc-entry input)"
