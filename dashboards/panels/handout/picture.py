"""What each speaker loses as bars, feed and run apart, as SVG text that answers to the pointer and the keyboard."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass

from wirecalc import units
from wirecalc.runs.words import STEPS

_WIDE, _ROW, _UNDER, _BAR, _LINE = 320.0, 31.0, 16.0, 10.0, 13.0  # in the picture's own units; text is 12 high
_LETTER = 6.6  # mean width of a letter of 12
LEAST_SCALE_DB = 0.5  # so that losses nobody hears look small
_FIRST_DB = 0.2  # lines nearer to nothing would lie on the names


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One speaker."""

    name: str
    feed_db: float
    run_db: float
    load_w: float
    """What arrives. [W]"""

    @property
    def total_db(self) -> float:
        """Feed and run together."""
        return self.feed_db + self.run_db

    @property
    def parts(self) -> tuple[str, str]:
        """In words, on two lines; one line where there is no answer."""
        if not math.isfinite(self.total_db):
            return "no answer", ""
        feed, run, total = (units.show(value, units.LEVEL) for value in (self.feed_db, self.run_db, self.total_db))
        return f"feed {feed}, run {run},", f"together {total}; {units.show(self.load_w, units.POWER)} arrive"


def steps_db(bars: Sequence[Bar]) -> list[float]:
    """The steps of hearing that lie within the picture, from data/hearing.csv. [dB]"""
    bounds_db = (step.loss_db_up_to for step in STEPS.values())
    return [step for step in bounds_db if _FIRST_DB <= step <= _scale_db(bars)]


def _scale_db(bars: Sequence[Bar]) -> float:
    return 1.05 * max(LEAST_SCALE_DB, *(bar.total_db for bar in bars if math.isfinite(bar.total_db)), 0.0)


def picture(bars: Sequence[Bar], title: str) -> str:
    """Bars to one scale, from the first to the last given.

    Parameters
    ----------
    bars : sequence of Bar
        At least one.
    title : str

    Returns
    -------
    str
        An `<svg>` element; its looks are those of `handout_style`. Each bar can be reached by Tab; the one that is
        pointed at or reached says its parts beneath.
    """
    scale = _WIDE / _scale_db(bars)
    lines, labelled = _steps(steps_db(bars), scale, [at * _ROW for at in range(len(bars))])
    told = _ROW * len(bars) + _LINE * (labelled + 1) + 4
    rows = "".join(_bar(bar, at * _ROW, scale, told) for at, bar in enumerate(bars))
    name = html.escape(title)
    return (
        f'<svg class="bars" role="group" aria-label="{name}" viewBox="0 0 {_WIDE:.0f} {told + _LINE + 6:.0f}" '
        f'font-family="inherit" font-size="12"><defs><pattern id="across" width="6" height="6" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect class="between" width="6" height="6"/>'
        f'<path class="hatch" d="M0 0V6"/></pattern></defs>{rows}{lines}'
        f'<text class="prompt" x="0" y="{told:.0f}">Point at a bar, or step with Tab, for its parts.</text></svg>'
    )


def _bar(bar: Bar, top: float, scale: float, told: float) -> str:
    known = math.isfinite(bar.total_db)
    total = units.show(bar.total_db, units.LEVEL) if known else "no answer"
    parts = " ".join(bar.parts).strip()
    label = html.escape(f"{bar.name}: {parts}")
    feed, run = (max(value, 0.0) * scale if known else 0.0 for value in (bar.feed_db, bar.run_db))
    y = top + _UNDER
    return (
        f'<g class="bar" role="img" tabindex="0" aria-label="{label}"><title>{label}</title>'
        f'<rect class="back" x="0" y="{top:.1f}" width="{_WIDE:.0f}" height="{_ROW:.1f}"/>'
        f'<text x="0" y="{top + 12:.1f}">{html.escape(_short(bar.name, _WIDE - _LETTER * (len(total) + 2)))}</text>'
        f'<text class="total" x="{_WIDE:.0f}" y="{top + 12:.1f}" text-anchor="end">{total}</text>'
        f'<rect class="feed" x="0" y="{y:.1f}" width="{feed:.2f}" height="{_BAR:.0f}"/>'
        f'<rect class="run" x="{feed:.2f}" y="{y:.1f}" width="{run:.2f}" height="{_BAR:.0f}"/>'
        f'<text class="more" x="0" y="{told:.0f}">{bar.parts[0]} '
        f'<tspan x="0" dy="{_LINE:.0f}">{bar.parts[1]}</tspan></text></g>'
    )


def _short(name: str, wide: float) -> str:
    most = int(wide / _LETTER)
    return name if len(name) <= most else f"{name[: most - 1]}…"


def _steps(steps: Sequence[float], scale: float, tops: Sequence[float]) -> tuple[str, int]:
    """Marks across every bar at the steps of hearing, their labels, and how many rows those take."""
    ends: list[float] = []  # right end of the last label of each row
    drawn = []
    for step in steps:
        label = f"{step:g} dB"
        x, half = step * scale, _LETTER * len(label) / 2
        middle = min(max(x, half), _WIDE - half)
        row = next((row for row, end in enumerate(ends) if end < middle - half - 4), len(ends))
        ends[row : row + 1] = [middle + half]
        marks = "".join(f"M{x:.1f} {top + _UNDER - 2:.1f}v{_BAR + 4:.0f}" for top in tops)
        drawn.append(
            f'<path class="step" d="{marks}"/><text class="step" x="{middle:.1f}" '
            f'y="{tops[-1] + _ROW + _LINE * (row + 1) - 2:.0f}" text-anchor="middle">{label}</text>'
        )
    return "".join(drawn), len(ends)
