"""What the page Show and hear shows, on one sheet of paper: HTML that needs nothing else."""

from __future__ import annotations

import html
from collections.abc import Sequence

from dashboards.panels.controls import colours, glossary
from dashboards.panels.show_and_hear import compare
from wirecalc.hearing import verdict
from wirecalc.hearing.contrast import Contrast

_STYLE = """
@page { margin: 12mm; }
* { box-sizing: border-box; }
body { font: 13.5px/1.3 system-ui, "Segoe UI", Roboto, "Liberation Sans", sans-serif; color: var(--wc-ink);
  background: var(--wc-card);  max-width: 186mm; margin: 0 auto; padding: 0 4px; }
figcaption { display: flex; flex-wrap: wrap; gap: 0 12px; justify-content: space-between; align-items: baseline; }
strong { font-size: 22px; }
h1 { font-size: 18px; margin: 0 0 4px; border-left: 5px solid var(--wc-accent); padding-left: 10px; }
h2 { font-size: 15px; margin: 8px 0 2px; } p { margin: 3px 0; }
.wc-watts { display: grid; grid-template-columns: 1fr 1fr; gap: 6px 24px; margin: 8px 0; }
figure { margin: 0; } figure > svg { width: 100%; height: 40px; overflow: visible; display: block; margin: 4px 0; }
ul { list-style: none; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: 2px 14px; }
li svg { margin-right: 5px; vertical-align: -1px; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: 2px 8px; border-bottom: 1px solid var(--wc-line); }
th { font-weight: 400; white-space: nowrap; } thead th, tbody td { font-weight: 600; }
dl { columns: 3; column-gap: 20px; font-size: 10.5px; line-height: 1.25; margin: 4px 0; }
dt { font-weight: 600; display: inline; }
dd { display: inline; margin: 0; } dl div { break-inside: avoid; margin-bottom: 2px; }
small { font-size: 12px; line-height: 1.25; display: block; }
"""


def leaflet(found: Contrast, speaker: str, feet: bool, cautions: Sequence[str], heard: str = "") -> bytes:
    """The sheet; `heard` is the result of a blind test, where one was done with these two."""
    lead, behind = compare.lead(found), compare.behind(found, speaker)
    named = [verdict.named(found, at, feet) for at in (0, 1)]
    words = glossary.used(lead, behind, heard, *named, *cautions, "W, dB, one way")
    listed = "".join(f"<div><dt>{_safe(term)}:</dt> <dd>{_safe(text)}</dd></div>" for term, text in words)
    parts = [
        f"<h1>{_safe(verdict.summary(found, feet))}</h1>",
        f"<p>{_safe(lead)}</p>",
        compare.picture(found, feet, _safe),
        compare.comparison_table(found, feet, _safe),
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
    return html.escape(text)
