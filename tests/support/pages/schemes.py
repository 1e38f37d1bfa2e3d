"""The pages' colours on light, on dark and on paper."""

from __future__ import annotations

from dashboards.panels.controls import colours

LIGHT = colours.tokens(colours.CSS)
DARK = LIGHT | colours.tokens(colours.CSS.partition("(prefers-color-scheme: dark)")[2])
PRINT = LIGHT | colours.tokens(colours.CSS.partition("@media print")[2])
