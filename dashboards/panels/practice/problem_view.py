"""A practice problem as HTML: its text, its chart to read from, the words in it, and its solution."""

from __future__ import annotations

import html
import math
import re
from pathlib import Path

from dashboards.panels.controls.colours import stroke
from dashboards.panels.controls.numbers import amount_html, input_html, step_html
from dashboards.panels.controls.sizes import looks
from dashboards.panels.practice.circuit_drawing import drawing
from wirecalc import tables
from wirecalc.practice.problem import Curves, Problem, in_mm2
from wirecalc.workings.formula import Working

_WORDS = [
    (row["word"], re.compile(rf"(?<!\w)({row['forms']})(?!\w)"), row["meaning"])
    for row in tables.rows("practice_words")
]
_BREAK = re.compile(r"(?<=\d) (?=(?:AWG|%|°C|[mkM]?Ω|[mk]?[AVW]|mm²?|m|ft|dB|k?Hz|pF)(?!\w))")
_KEY_STEPS = 2
METRES = "The steps are in metres: 1\N{NO-BREAK SPACE}ft is 0.3048\N{NO-BREAK SPACE}m."
_WIDE, _HIGH = 640, 380
_LEFT, _RIGHT, _TOP, _BOTTOM = 86, 104, 34, 54


def text(problem: Problem, *, feet: bool = False, mm2: bool = False) -> str:
    """What is asked, with the drawing of its circuit and its chart."""
    asked = html.escape(unbroken(problem.asked(feet=feet, metric_sizes=mm2)))
    markup = f"<p class='wc-asked'>{asked}</p>{drawing(problem, feet=feet, mm2=mm2)}"
    return markup + (svg(problem.drawn.curves) if problem.drawn.curves else "")


def unbroken(text: str) -> str:
    """With no line's end between a number and its unit."""
    return _BREAK.sub("\N{NO-BREAK SPACE}", text)


def words(text: str, place: str) -> str:
    """Every term of the trade in a text as a button that opens its meaning; `place` keeps the page's ids apart."""
    explained = [(word, meaning) for word, forms, meaning in _WORDS if forms.search(text)]
    if not explained:
        return ""
    parts = []
    for number, (word, meaning) in enumerate(explained):
        key = f"wc-word-{place}-{number}"
        parts.append(
            f"<button type='button' class='wc-word' popovertarget='{key}'>{html.escape(word)}</button>"
            f"<div popover id='{key}' class='wc-meaning'><b>{html.escape(word)}</b>: {html.escape(meaning)}</div>"
        )
    return f"<div class='wc-words-in'>Words: {' '.join(parts)}</div>"


def solution(problem: Problem, *, feet: bool = False, mm2: bool = False) -> str:
    """Every step in its order, with the problem's numbers."""
    shown = problem.drawn.work()
    heads = [html.escape(unbroken(in_mm2(work.title) if mm2 else work.title)) for work in shown]
    works = "".join(
        (f"<h3>{head}</h3>" if len(shown) > 1 else "") + _worked(work) for head, work in zip(heads, shown, strict=True)
    )
    texts = problem.drawn.closing, problem.shown(problem.drawn.answer)
    told, answer = (html.escape(unbroken(in_mm2(text) if mm2 else text)) for text in texts)
    closing = f"<p>{told}</p>" if told else ""
    if in_metres(problem, feet=feet):
        closing += f"<p>{METRES}</p>"
    return f"<div class='wc-solution'><p><b>Answer: {answer}</b></p>{closing}{works}</div>"


def in_metres(problem: Problem, *, feet: bool) -> bool:
    """Whether the steps have a length in metres that the text has in feet."""
    return bool(re.search(r"\d ft\b", problem.asked(feet=feet)))


def _worked(work: Working) -> str:
    steps = "".join(f"<li>{step_html(step)}</li>" for step in work.steps)
    inputs = "".join(input_html(given) for step in work.steps for given in step.inputs)
    return f"<ol>{steps}</ol><details><summary>Inputs and their sources</summary><dl>{inputs}</dl></details>"


def key_line(problem: Problem, *, mm2: bool = False) -> str:
    """Answer and last formulas in a few lines, for an answer key."""

    def put(text: str) -> str:
        return html.escape(unbroken(in_mm2(text) if mm2 else text))

    lines = [f"<b>{put(problem.shown(problem.drawn.answer))}</b>"]
    *before, last = problem.drawn.work()
    if before:
        lines.append(put(last.title))
    for step in last.steps[-_KEY_STEPS:]:
        filled = f"{step.formula} = {step.filled}" if step.filled else step.formula
        lines.append(f"<code>{html.escape(f'{step.symbol} = {filled}')} = {amount_html(step.value, step.unit)}</code>")
    if problem.kind.quantity is None:
        lines.append(put(problem.drawn.closing))
    return "<br>".join(lines)


def svg(curves: Curves) -> str:
    """The lines as a drawing to be read by eye, on paper too."""
    across = _round_step(float(curves.x[-1]))
    top = max(float(values[-1]) for _, values in curves.lines)
    up = _round_step(top)
    most_x, most_y = across * math.ceil(curves.x[-1] / across - 1e-9), up * math.ceil(top / up)

    def x(value: float) -> float:
        return float(_LEFT + (_WIDE - _LEFT - _RIGHT) * value / most_x)

    def y(value: float) -> float:
        return _HIGH - _BOTTOM - (_HIGH - _TOP - _BOTTOM) * value / most_y

    parts = []
    for number in range(round(most_x / across) + 1):
        value = number * across
        parts.append(f"<path class='wc-grid' d='M{x(value):.1f} {y(0):.1f}V{_TOP}'/>")
        parts.append(f"<text x='{x(value):.1f}' y='{y(0) + 19:.1f}' text-anchor='middle'>{value:g}</text>")
    for number in range(round(most_y / up) + 1):
        value = number * up
        parts.append(f"<path class='wc-grid' d='M{_LEFT} {y(value):.1f}H{_WIDE - _RIGHT}'/>")
        parts.append(f"<text x='{_LEFT - 6}' y='{y(value) + 4:.1f}' text-anchor='end'>{value:.4g}</text>")
    drawn = looks(tuple(("AWG", float(name.split()[0])) for name, _ in curves.lines))
    for line, (name, values) in zip(drawn, curves.lines, strict=True):
        points = " ".join(f"{x(at):.1f},{y(value):.1f}" for at, value in zip(curves.x, values, strict=True))
        parts.append(
            f"<polyline points='{points}' fill='none' stroke='{line.colour}' stroke-width='2.5' "
            f"stroke-dasharray='{stroke(line.dash)}'/>"
        )
        end = y(float(values[-1])) + 4
        parts.append(
            f"<text class='wc-end' x='{x(float(curves.x[-1])) + 5:.1f}' y='{end:.1f}'>{html.escape(name)}</text>"
        )
    middle = (_LEFT + _WIDE - _RIGHT) / 2
    title, below, beside = map(html.escape, (curves.title, curves.x_name, curves.y_name))
    parts.append(f"<text class='wc-end' x='{_LEFT}' y='18'>{title}</text>")
    parts.append(f"<text x='{middle:.0f}' y='{_HIGH - 8}' text-anchor='middle'>{below}</text>")
    turned = f"translate(18 {(_TOP + _HIGH - _BOTTOM) / 2:.0f}) rotate(-90)"
    parts.append(f"<text transform='{turned}' text-anchor='middle'>{beside}</text>")
    return f"<svg class='wc-read' viewBox='0 0 {_WIDE} {_HIGH}' role='img' aria-label='{title}'>{''.join(parts)}</svg>"


def _round_step(most: float) -> float:
    """A round step that divides an axis into 8 to 20 parts: fine enough to read from."""
    power = 10.0 ** math.floor(math.log10(most / 8))
    return next(power * part for part in (5, 2, 1) if most / (power * part) >= 8)


LOOK = Path(__file__).with_name("problem_view.css").read_text(encoding="utf-8")
"""CSS of all this, for a page and for a file."""
