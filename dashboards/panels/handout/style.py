"""How a handout looks: light or dark as the device has it, black on white on paper of any size; no script needed."""

from __future__ import annotations

from dashboards.panels.controls import colours
from wirecalc.wire.multicore import MOST_CORES

_LOOK = """
:root { --wc-paper: var(--wc-card); }
* { box-sizing: border-box; }
body { margin: 0; background: var(--wc-paper); color: var(--wc-ink);
  font: 16px/1.45 system-ui, -apple-system, "Segoe UI", Roboto, "Liberation Sans", sans-serif; }
nav, main { max-width: 1100px; margin: 0 auto; padding: 0 16px; }
nav fieldset { display: flex; flex-wrap: wrap; gap: 4px 18px; border: 1px solid var(--wc-line); border-radius: 8px;
  margin: 16px 0 0; padding: 4px 12px 8px; }
nav label { display: inline-flex; align-items: center; gap: 6px; min-height: 32px; cursor: pointer; }
main > section { padding: 8px 0 28px; border-bottom: 1px solid var(--wc-line); }
h1 { font-size: 26px; line-height: 1.2; margin: 18px 0 4px; overflow-wrap: anywhere; }
h2 { font-size: 20px; margin: 0 0 8px; color: var(--wc-accent); }
h3 { font-size: 16px; margin: 20px 0 4px; }
p, ul, dl, figcaption { margin: 0 0 8px; max-width: 72ch; overflow-wrap: anywhere; }
ul { padding-left: 20px; } .date, figcaption { color: var(--wc-soft); font-size: 14px; }
dl.words { display: grid; grid-template-columns: max-content 1fr; gap: 0 14px; } dl.words dd { margin: 0; }
dl.words dt { font-weight: 600; }
figure { margin: 8px 0; }
:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: 2px; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 14px; line-height: 1.3; }
th, td { border: 1px solid var(--wc-line); padding: 3px 6px; text-align: left; vertical-align: top;
  font-weight: normal; overflow-wrap: break-word; }
thead th, th[scope=rowgroup] { background: var(--wc-head); font-weight: 600; }
th[scope=row] { font-weight: 600; } td, th { min-width: 5em; } .number, .hand { min-width: 0; }
tbody tr:is(:hover, :focus-within) > * { background: var(--wc-head); }
.number { white-space: nowrap; font-variant-numeric: tabular-nums; text-align: right; }
.flow span { display: inline-block; margin-right: 14px; } .flow i { color: var(--wc-soft); }
input { accent-color: var(--wc-accent); }
input[type=checkbox], input[type=radio] { width: 20px; height: 20px; margin: 0; }
td input[type=text] { width: 100%; min-width: 5em; height: 28px; font: inherit; color: inherit; background: none;
  border: 0; border-bottom: 1px solid var(--wc-soft); border-radius: 0; }
svg.bars { display: block; width: 100%; max-width: 440px; height: auto; }
.bars text { fill: var(--wc-ink); } .bars .step { stroke: var(--wc-soft); } .bars .prompt { fill: var(--wc-soft); }
.bars text.step { stroke: none; fill: var(--wc-soft); font-size: 11px; } .bars .total { font-weight: 600; }
.bars .back { fill: transparent; } .bars .between { fill: var(--wc-paper); } .bars .hatch { stroke: var(--wc-ink);
  stroke-width: 3; } .bars .feed { fill: url(#across); stroke: var(--wc-ink); } .bars .run { fill: var(--wc-accent);
  stroke: var(--wc-ink); }
.bars .more { display: none; font-size: 11.5px; } .bar:is(:hover, :focus) .more { display: inline; }
.bar:is(:hover, :focus) .back { fill: var(--wc-head); } .bar:focus { outline: none; }
.bar:focus-visible .back { stroke: var(--wc-accent); stroke-width: 2; }
.bars:has(.bar:is(:hover, :focus)) .prompt, .bars:has(.bar:hover) .bar:focus:not(:hover) .more { display: none; }
.pins { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 480px), 1fr)); gap: 8px 24px;
  align-items: start; }
.pins :is(td, th) { min-width: 0; } h4 { font-size: 15px; margin: 12px 0 4px; }
@page { margin: 13mm 12mm 14mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
@media print {
  :root { --wc-ink: var(--wc-black); --wc-soft: var(--wc-black); --wc-accent: var(--wc-black);
    --wc-fault: var(--wc-black); --wc-line: var(--wc-neutral); --wc-head: var(--wc-card); }
  body { font-size: 10pt; line-height: 1.32; } nav { display: none; } main { max-width: none; padding: 0; }
  main > section { border: 0; padding: 0; break-after: page; } main > section:last-child { break-after: auto; }
  h1 { font-size: 15pt; margin-top: 0; } h2 { font-size: 12pt; }
  h3 { font-size: 10.5pt; margin: 9pt 0 2pt; break-after: avoid; }
  p, ul, dl, figcaption { max-width: none; margin-bottom: 4pt; } .date, figcaption { font-size: 9pt; }
  table { font-size: 7.5pt; line-height: 1.25; } th, td { padding: 1.5pt 3pt; } thead { display: table-header-group; }
  tr, figure, .cable { break-inside: avoid; } th[scope=rowgroup] { break-after: avoid; }
  section > section > p, h4 { break-after: avoid; } .scroll { overflow: visible; }
  th, td { overflow-wrap: anywhere; } thead th { overflow-wrap: normal; min-width: 0; }
  input[type=checkbox] { appearance: none; width: 9pt; height: 9pt; border: 1pt solid var(--wc-ink); }
  input[type=checkbox]:checked {
    background: linear-gradient(45deg, transparent 45%, var(--wc-ink) 45% 55%, transparent 55%); }
  td input[type=text] { min-width: 4em; height: 11pt; border-bottom-color: var(--wc-ink); }
  svg.bars { width: auto; max-width: 100%; max-height: 66mm; margin: 0 0 -6mm; }
  dl.words { grid-template-columns: max-content 1fr max-content 1fr; } svg.wc-cable { width: 120mm !important; }
  #customer { font-size: 9.5pt; line-height: 1.28; } #customer h3 { margin-top: 6pt; }
  #customer figure { margin: 2pt 0; }
  .bars .prompt, .bars .more { display: none !important; }
  .bars .run { fill: var(--wc-neutral); }
  .bars, .bars * { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
}
"""


def style(parts: tuple[str, ...]) -> str:
    """The style sheet; `parts` are the ids of the parts that can be shown alone."""
    alone = "".join(
        f"body:has(#only-{part}:checked) main > section:not(#{part}) {{ display: none; }}\n"
        f"@media print {{ body:has(#only-{part}:checked) #{part} {{ break-after: auto; }} }}\n"
        for part in parts
    )
    # a conductor and its row of the pin-out show each other
    pins = "".join(
        f".pins:has(tbody tr:nth-child({at}):is(:hover, :focus-within)) "
        f".wc-cable > g:nth-of-type({at}) circle:first-of-type {{ stroke: var(--wc-accent); stroke-width: 7; }}\n"
        f".pins:has(.wc-cable > g:nth-of-type({at}):hover) tbody tr:nth-child({at}) > * {{ background: var(--wc-head);"
        f" outline: 2px solid var(--wc-accent); }}\n"
        for at in range(1, MOST_CORES + 1)
    )
    return f"{colours.CSS}{_LOOK}{alone}@media screen {{\n{pins}}}\n"
