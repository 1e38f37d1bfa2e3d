"""A plan's decibels and heat as bars in tables, as HTML: what a bar shows stands beside it in figures."""

from __future__ import annotations

import html
import math

import numpy as np

from dashboards.panels.controls.numbers import number
from dashboards.panels.controls.table import Html, html_table
from wirecalc.vehicle.plan import Plan
from wirecalc.wire.heat import rise_used

_LONG = 240  # of a bar at the most [CSS px]


def levels(plan: Plan, engine: str) -> str:
    """What each speaker loses at full power, split into the amplifier's feed and the run.

    Parameters
    ----------
    plan : Plan
    engine : str
        "on" or "off".
    """
    loss_table = plan.levels[plan.levels["engine"] == engine].sort_values("total_db", ascending=False)
    if loss_table.empty:
        return "<p>No speaker is in this plan.</p>"
    most = max(float(loss_table[["feed_db", "run_db"]].fillna(0.0).sum(axis=1).max()), 0.1)
    rows = []
    for row in loss_table.to_dict("records"):
        feed, run = (max(float(np.nan_to_num(row[key])), 0.0) for key in ("feed_db", "run_db"))  # nan: no supply
        parts = (("wc-feed", feed / most), ("wc-run", run / most))
        name = f"{number(row['wire'], row['wire'])}<small>{html.escape(row['amplifier'])} at {row['supply_v']:.2f} V"
        rows.append(
            (Html(f"{name}</small>", names_row=True), Html(_bar(*parts)), _db(row["feed_db"]), _db(row["run_db"]),
             Html(f"<b>{_db(row['total_db'])}</b>"))
        )  # fmt: skip
    key = "<i class='wc-feed'></i> lost in the feed <i class='wc-run'></i> lost in the run"
    title = f"Decibels lost at full power, engine {engine}"
    heads = ("Speaker’s run", "Together", "Feed", "Run", "Together")
    return html_table(Html(f"{title}<small>{key}</small>"), heads, rows, region=title, kind="wc-bars wc-as-cards")


def heat(plan: Plan) -> str:
    """The warmest wire of each bundle against what its insulation stands; from the air around it."""
    bundles = plan.bundles.copy()
    bundles["used"] = rise_used(bundles["temperature_c"], bundles["ambient_c"], bundles["limit_c"])
    worst = bundles.sort_values("used", ascending=False).groupby("bundle", sort=False).head(1)
    rows, kinds = [], []
    for row in worst.to_dict("records"):
        used = row["used"] if math.isfinite(row["used"]) else 1.0
        over = used > 1
        part = ("wc-over" if over else "wc-run", min(max(used, 0.0), 1.0))
        warm = f"{row['temperature_c']:.0f} °C"
        together = f"{row['loaded']} loaded together" if row["loaded"] > 1 else "by itself"
        sign = "✗ " if over else ""
        kinds.append("wc-broken" if over else "")
        rows.append(
            (Html(f"{html.escape(row['bundle'])}<small>{together}</small>", names_row=True),
             Html(_bar(part, full=True)),
             Html(f"{sign}{number(warm, row['wire'])}<small>{html.escape(row['wire'])}</small>"),
             f"{row['ambient_c']:.0f} °C", f"{row['limit_c']:.0f} °C")
        )  # fmt: skip
    title = "Heat with music, by bundle"
    note = "<small>a bar goes from the air’s temperature to the insulation’s limit</small>"
    heads = ("Bundle", "Of what it may rise", "Warmest", "Air", "Limit")
    return html_table(Html(title + note), heads, rows, region=title, kind="wc-bars wc-as-cards", row_kinds=kinds)


def _bar(*parts: tuple[str, float], full: bool = False) -> str:
    """A bar as SVG, hidden from screen readers: the figures beside it say the same."""
    x, drawn = 0.0, []
    if full:
        drawn.append(f"<rect class='wc-room' x='0.5' y='3' width='{_LONG}' height='16'/>")
    for kind, share in parts:
        width = share * _LONG
        drawn.append(f"<rect class='{kind}' x='{x:.1f}' y='3' width='{max(width, 0.5):.1f}' height='16'/>")
        if kind == "wc-feed":  # told apart without colour: lines across
            lines = "".join(f"M{x + at:.1f} 19l8 -16" for at in range(0, max(int(width) - 8, 0), 7))
            drawn.append(f"<path class='wc-hatch' d='{lines}'/>")
        x += width
    size = f"viewBox='0 0 {_LONG + 2} 22' preserveAspectRatio='none' height='22'"
    return f"<svg aria-hidden='true' {size}>{''.join(drawn)}</svg>"


def _db(value: float) -> str:
    return f"{value:.2f} dB".replace("-", "−") if math.isfinite(value) else "none"
