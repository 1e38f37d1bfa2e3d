"""A practice problem as HTML: its text, its chart to read from, the words in it, and its solution."""

from __future__ import annotations

import html
import math
import re

from dashboards.panels.numbers import to_html
from dashboards.panels.sizes import looks
from wirecalc import tables
from wirecalc.problem import Curves, Problem

_WORDS = [
    (row["word"], re.compile(rf"(?<!\w)({row['forms']})(?!\w)"), row["meaning"])
    for row in tables.load("practice_words").to_dict("records")
]
_WIDE, _HIGH = 640, 380
_LEFT, _RIGHT, _TOP, _BOTTOM = 62, 70, 34, 48


def text(problem: Problem) -> str:
    """What is asked, with its chart."""
    said = f"<p class='wc-asked'>{html.escape(problem.drawn.text)}</p>"
    return said + (svg(problem.drawn.curves) if problem.drawn.curves else "")


def words(said: str, place: str) -> str:
    """Every term of the trade in a text as a button that opens its meaning; `place` keeps the page's ids apart."""
    found = [(word, meaning) for word, forms, meaning in _WORDS if forms.search(said)]
    if not found:
        return ""
    parts = []
    for number, (word, meaning) in enumerate(found):
        key = f"wc-word-{place}-{number}"
        parts.append(
            f"<button type='button' class='wc-word' popovertarget='{key}'>{html.escape(word)}</button>"
            f"<div popover id='{key}' class='wc-meaning'><b>{html.escape(word)}</b>: {html.escape(meaning)}</div>"
        )
    return f"<p class='wc-words-in'>Words: {' '.join(parts)}</p>"


def solution(problem: Problem) -> str:
    """Every step, with the problem's numbers."""
    works = "".join(f"<section>{to_html(work)}</section>" for work in problem.drawn.work())
    closing = f"<p>{html.escape(problem.drawn.closing)}</p>" if problem.drawn.closing else ""
    answer = html.escape(problem.shown(problem.drawn.answer))
    return f"<div class='wc-solution'><p><b>Answer: {answer}</b></p>{closing}{works}</div>"


def key_line(problem: Problem) -> str:
    """Answer and last formula in a few lines, for an answer key."""
    work = problem.drawn.work()[-1]
    last = work.steps[-1]
    lines = [f"<b>{html.escape(problem.shown(problem.drawn.answer))}</b>"]
    if last.filled:
        lead = f"{last.symbol} = " if last.symbol else ""
        lines.append(f"<code>{html.escape(lead + last.formula)} = {html.escape(last.filled)}</code>")
    if problem.kind.quantity is None:
        lines.append(html.escape(problem.drawn.closing))
    return "<br>".join(lines)


def svg(curves: Curves) -> str:
    """The lines as a drawing to be read by eye, on paper too."""
    across = _step(float(curves.x[-1]))
    top = max(float(values[-1]) for _, values in curves.lines)
    up = _step(top)
    most_x, most_y = across * math.ceil(curves.x[-1] / across - 1e-9), up * math.ceil(top / up)

    def x(value: float) -> float:
        return _LEFT + (_WIDE - _LEFT - _RIGHT) * value / most_x

    def y(value: float) -> float:
        return _HIGH - _BOTTOM - (_HIGH - _TOP - _BOTTOM) * value / most_y

    parts = []
    for number in range(round(most_x / across) + 1):
        value = number * across
        parts.append(f"<path class='wc-grid' d='M{x(value):.1f} {y(0):.1f}V{_TOP}'/>")
        parts.append(f"<text x='{x(value):.1f}' y='{y(0) + 17:.1f}' text-anchor='middle'>{value:g}</text>")
    for number in range(round(most_y / up) + 1):
        value = number * up
        parts.append(f"<path class='wc-grid' d='M{_LEFT} {y(value):.1f}H{_WIDE - _RIGHT}'/>")
        parts.append(f"<text x='{_LEFT - 6}' y='{y(value) + 4:.1f}' text-anchor='end'>{value:.4g}</text>")
    drawn = looks(tuple(("AWG", float(name.split()[0])) for name, _ in curves.lines))
    for line, (name, values) in zip(drawn, curves.lines, strict=True):
        points = " ".join(f"{x(at):.1f},{y(value):.1f}" for at, value in zip(curves.x, values, strict=True))
        parts.append(f"<polyline points='{points}' fill='none' stroke='{line.colour}' stroke-width='2.5'/>")
        end = y(float(values[-1])) + 4
        parts.append(
            f"<text class='wc-end' x='{x(float(curves.x[-1])) + 5:.1f}' y='{end:.1f}'>{html.escape(name)}</text>"
        )
    middle = (_LEFT + _WIDE - _RIGHT) / 2
    title, below, beside = map(html.escape, (curves.title, curves.x_name, curves.y_name))
    parts.append(f"<text class='wc-end' x='{_LEFT}' y='18'>{title}</text>")
    parts.append(f"<text x='{middle:.0f}' y='{_HIGH - 8}' text-anchor='middle'>{below}</text>")
    turned = f"translate(15 {(_TOP + _HIGH - _BOTTOM) / 2:.0f}) rotate(-90)"
    parts.append(f"<text transform='{turned}' text-anchor='middle'>{beside}</text>")
    return f"<svg class='wc-read' viewBox='0 0 {_WIDE} {_HIGH}' role='img' aria-label='{title}'>{''.join(parts)}</svg>"


def _step(most: float) -> float:
    """A round step that divides an axis into 8 to 20 parts: fine enough to read from."""
    power = 10 ** math.floor(math.log10(most / 8))
    return next(power * part for part in (5, 2, 1) if most / (power * part) >= 8)


LOOK = """
.wc-asked { font-size: 18px; line-height: 1.45; margin: 0; max-width: 46em; }
.wc-read { display: block; width: 100%; max-width: 760px; height: auto; margin: 8px 0; }
.wc-read text { font: 13px system-ui, sans-serif; fill: currentColor; } .wc-read .wc-end { font-weight: 650; }
.wc-read .wc-grid { stroke: currentColor; stroke-opacity: 0.22; fill: none; }
.wc-solution code { font: 14px/1.45 ui-monospace, "Liberation Mono", monospace; color: inherit; background: none;
  padding: 0; white-space: normal; overflow-wrap: anywhere; }
.wc-solution h2 { font-size: 17px; margin: 12px 0 0; } .wc-solution h3 { font-size: 15px; margin: 14px 0 4px; }
.wc-solution p { margin: 2px 0; } .wc-solution ol { margin: 0; padding-left: 1.6em; }
.wc-solution li { margin: 0 0 8px; }
.wc-solution small, .wc-solution dd { display: block; color: var(--wc-soft, #575f68); font-size: 13px; }
.wc-solution dl { margin: 0; } .wc-solution dd { margin: 0 0 6px 1.2em; } .wc-is { font-size: 20px; }
"""
"""CSS of all this, for a page and for a file."""
