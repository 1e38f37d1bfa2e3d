"""A plan's decibels and heat as bars in tables, as HTML: what a bar shows stands beside it in figures."""

from __future__ import annotations

import html
import math

import numpy as np

from dashboards.panels.controls.numbers import number
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
    found = plan.levels[plan.levels["engine"] == engine].sort_values("total_db", ascending=False)
    if found.empty:
        return "<p>No speaker is in this plan.</p>"
    most = max(float(found[["feed_db", "run_db"]].fillna(0.0).sum(axis=1).max()), 0.1)
    rows = []
    for one in found.to_dict("records"):
        feed, run = (max(float(np.nan_to_num(one[key])), 0.0) for key in ("feed_db", "run_db"))  # nan: no supply
        parts = (("wc-feed", feed / most), ("wc-run", run / most))
        rows.append(
            f"<tr><th scope='row'>{number(one['wire'], one['wire'])}<small>{html.escape(one['amplifier'])} at"
            f" {one['supply_v']:.2f} V</small></th><td>{_bar(*parts)}</td><td>{_db(one['feed_db'])}</td>"
            f"<td>{_db(one['run_db'])}</td><td><b>{_db(one['total_db'])}</b></td></tr>"
        )
    key = "<i class='wc-feed'></i> lost in the feed <i class='wc-run'></i> lost in the run"
    return (
        f"<div class='wc-scroll'><table class='wc-table wc-bars'><caption>Decibels lost at full power, engine {engine}"
        f"<small>{key}</small></caption><thead><tr><th>Speaker’s run</th><th>Together</th><th>Feed</th>"
        f"<th>Run</th><th>Together</th></tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def heat(plan: Plan) -> str:
    """The warmest wire of each bundle against what its insulation stands; from the air around it."""
    found = plan.bundles.copy()
    found["used"] = rise_used(found["temperature_c"], found["ambient_c"], found["limit_c"])
    worst = found.sort_values("used", ascending=False).groupby("bundle", sort=False).head(1)
    rows = []
    for one in worst.to_dict("records"):
        used = one["used"] if math.isfinite(one["used"]) else 1.0
        over = used > 1
        part = ("wc-over" if over else "wc-run", min(max(used, 0.0), 1.0))
        warm = f"{one['temperature_c']:.0f} °C"
        together = f"{one['loaded']} loaded together" if one["loaded"] > 1 else "by itself"
        rows.append(
            f"<tr class='{'wc-broken' if over else ''}'><th scope='row'>{html.escape(one['bundle'])}"
            f"<small>{together}</small></th><td>{_bar(part, full=True)}</td>"
            f"<td>{'✗ ' if over else ''}{number(warm, one['wire'])}"
            f"<small>{html.escape(one['wire'])}</small></td><td>{one['ambient_c']:.0f} °C</td>"
            f"<td>{one['limit_c']:.0f} °C</td></tr>"
        )
    return (
        "<div class='wc-scroll'><table class='wc-table wc-bars'><caption>Heat with music, by bundle<small>a bar goes"
        " from the air’s temperature to the insulation’s limit</small></caption><thead><tr><th>Bundle</th>"
        "<th>Of what it may rise</th><th>Warmest</th><th>Air</th><th>Limit</th></tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


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
