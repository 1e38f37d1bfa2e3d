"""What the page Show and hear shows, on one sheet of paper: HTML that needs nothing else."""

from __future__ import annotations

import datetime
import html
from collections.abc import Sequence
from pathlib import Path

from dashboards.panels.controls import colours, glossary
from dashboards.panels.show_and_hear import compare
from wirecalc.hearing import verdict
from wirecalc.hearing.contrast import Contrast

_STYLE = Path(__file__).with_name("leaflet.css").read_text(encoding="utf-8")


def leaflet(
    contrast: Contrast, speaker: str, feet: bool, cautions: Sequence[str], heard: str = "", shop: str = ""
) -> bytes:
    """The sheet; `heard` is the result of a blind test, where one was done with these two, `shop` who hands it over."""
    lead, behind = compare.lead(contrast), compare.behind(contrast, speaker)
    named = [verdict.wire_and_length(contrast, at, feet) for at in (0, 1)]
    words = glossary.used(lead, behind, heard, *named, *cautions, "W, dB, one way")
    listed = "".join(f"<div><dt>{_safe(term)}:</dt> <dd>{_safe(text)}</dd></div>" for term, text in words)
    today = f"{datetime.date.today():%-d %B %Y}"
    parts = [
        f"<p class='wc-from'>{_safe(', '.join(filter(None, (shop, today))))}</p>",
        f"<h1>{_safe(verdict.summary(contrast, feet))}</h1>",
        f"<p>{_safe(lead)}</p>",
        compare.picture(contrast, feet, _safe),
        compare.comparison_table(contrast, feet, _safe),
        f"<p>{_safe(behind)}</p>",
        f"<p><b>Blind test:</b> {_safe(heard)}</p>" if heard else "",
        *(f"<p><small>{_safe(text)}</small></p>" for text in cautions),
        f"<h2>Words</h2><dl>{listed}</dl>",
    ]
    page = (
        "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'><title>Two ways to wire it</title>"
        f"<style>{colours.CSS}{_STYLE}</style></head><body>{''.join(parts)}</body></html>"
    )
    return page.encode()


def _safe(text: str) -> str:
    return html.escape(glossary.unbroken(text))
