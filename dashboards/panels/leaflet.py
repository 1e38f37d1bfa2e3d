"""What the page Show and hear shows, on one sheet of paper: HTML that needs nothing else."""

from __future__ import annotations

import html

from dashboards.panels import compare, glossary
from wirecalc import verdict
from wirecalc.contrast import Contrast

_STYLE = """
@page { margin: 12mm; }
* { box-sizing: border-box; }
body { font: 15px/1.35 system-ui, "Segoe UI", Roboto, "Liberation Sans", sans-serif; color: #1d2126; background: #fff;
  max-width: 186mm; margin: 0 auto; padding: 8px; }
figcaption { display: flex; flex-wrap: wrap; gap: 0 12px; justify-content: space-between; align-items: baseline; } strong { font-size: 22px; }
h1 { font-size: 24px; margin: 0 0 4px; } h2 { font-size: 17px; margin: 12px 0 4px; } p { margin: 4px 0; }
.sum { font-size: 17px; font-weight: 600; border-left: 5px solid #a84f12; padding-left: 10px; }
.wc-watts { display: grid; grid-template-columns: 1fr 1fr; gap: 6px 24px; margin: 10px 0; }
figure { margin: 0; } figure > svg { width: 100%; height: 46px; display: block; margin: 4px 0; }
ul { list-style: none; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 2px 14px; }
li svg { margin-right: 5px; vertical-align: -1px; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: 3px 8px; border-bottom: 1px solid #ccc; }
th { font-weight: 400; } thead th, tbody td { font-weight: 600; }
dl { columns: 2; column-gap: 24px; font-size: 12px; line-height: 1.3; margin: 4px 0; }
dt { font-weight: 600; display: inline; }
dd { display: inline; margin: 0; } dl div { break-inside: avoid; margin-bottom: 2px; } small { font-size: 12px; }
"""


def leaflet(found: Contrast, speaker: str, feet: bool, heard: str = "") -> bytes:
    """The sheet; `heard` is the result of a blind test, where one was done with these two."""
    lead, behind = compare.lead(found), compare.behind(found, speaker)
    plain = [*lead, *behind, heard, verdict.delivered(found, 0), verdict.NOT_ALL, "dB, one way"]
    words = glossary.used(*plain, *(choice.label for choice in found.choices))
    listed = "".join(f"<div><dt>{_safe(term)}:</dt> <dd>{_safe(text)}</dd></div>" for term, text in words)
    parts = [
        f"<h1>Two ways to wire it</h1><p class='sum'>{_safe(verdict.summary(found, feet))}</p>",
        *(f"<p>{_safe(text)}</p>" for text in lead),
        compare.picture(found, feet, _safe),
        compare.table(found, feet, _safe),
        *(f"<p>{_safe(text)}</p>" for text in behind),
        f"<p><b>Blind test:</b> {_safe(heard)}</p>" if heard else "",
        f"<p><small>{_safe(verdict.NOT_ALL)}</small></p><h2>Words</h2><dl>{listed}</dl>",
    ]
    page = (
        "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'><title>Two ways to wire it</title>"
        f"<style>{_STYLE}</style></head><body>{''.join(parts)}</body></html>"
    )
    return page.encode()


def _safe(text: str) -> str:
    return html.escape(text)
