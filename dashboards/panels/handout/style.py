"""How a handout looks: light or dark as the device has it, black on white on paper of any size; no script needed."""

from __future__ import annotations

from pathlib import Path

from dashboards.panels.controls import colours
from wirecalc.wire.cable_types import MOST_CORES

_LOOK = Path(__file__).with_name("style.css").read_text(encoding="utf-8")


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
