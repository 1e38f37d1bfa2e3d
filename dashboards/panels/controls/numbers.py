"""Numbers that can be asked, in tables and in sentences: each opens, in one click, how it was worked out."""

from __future__ import annotations

import html
import logging
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable
from wirecalc.errors import InputError
from wirecalc.tables import shown_source
from wirecalc.workings.formula import Input, Step, Working, amount_text

_log = logging.getLogger(__name__)

_FAULT = "This number's working could not be shown: a fault of the page, not of your entry."


class Numbers(Actable):
    """HTML whose numbers (see `number`) open their working.

    Parameters
    ----------
    answer : callable of str -> str
        The working, as HTML, of the number with this key; see `to_html`. An `InputError` is said in the dialog,
        any other error is logged and said in one sentence.
    html : str
        What is shown. May be set at any time: an open dialog stays open.
    """

    _esm = Path(__file__).with_name("numbers.js")
    _css = Path(__file__).with_name("numbers.css")

    html = traitlets.Unicode().tag(sync=True)
    working = traitlets.Unicode().tag(sync=True)
    opened = traitlets.Int().tag(sync=True)
    """Counts the answers; the browser shows `working` when it changes."""

    def __init__(self, answer: Callable[[str], str], html: str = "") -> None:
        super().__init__(html=html)
        self.answer = answer

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        if isinstance(what.get("ask"), str):
            self.ask(what["ask"])

    def ask(self, key: str) -> None:
        """Show the working of the number with this key."""
        try:
            answer = self.answer(key)
        except InputError as fault:
            answer = f"<p role='alert'>{html.escape(str(fault))}</p>"
        except Exception:
            _log.exception("the working of %s could not be shown", key)
            answer = f"<p role='alert'>{_FAULT}</p>"
        with self.hold_sync():
            self.working, self.opened = answer, self.opened + 1


def number(text: str, key: str) -> str:
    """A number that opens its working, as HTML; the key is handed to `Numbers.answer`."""
    return (
        f'<button type="button" class="wc-number" aria-haspopup="dialog" data-ask="{html.escape(key)}">'
        f"{html.escape(text)}</button>"
    )


def mark(text: str, key: str) -> str:
    """A `wirecalc.mark.Mark`: a number of a sentence, between characters that no text has; `opening` lets it open."""
    return f"\ue000{key}\ue001{text}\ue002"


def of_this(text: str, key: str) -> str:
    """`mark` for numbers of this run, which stands first among the sizes."""
    return mark(text, f"{key}:0")


def opening(text: str) -> str:
    """Text as HTML, every number in it that went through `mark` as a `number`."""
    first, *rest = re.split("\ue000([^\ue000-\ue002]*)\ue001([^\ue000-\ue002]*)\ue002", text)
    marked = zip(rest[::3], rest[1::3], rest[2::3], strict=True)
    return html.escape(first) + "".join(number(shown, key) + html.escape(after) for key, shown, after in marked)


def to_html(working: Working) -> str:
    """A working as HTML: the number and its own formula, the steps before it, every input with its origin."""
    *before, last = working.steps
    amount = amount_html(working.value, working.unit)
    parts = [f"<h2>{_safe(working.title)}</h2><p><strong class='wc-is'>{amount}</strong></p>"]
    parts.append(step_html(last, titled=last.title != working.title))
    if before:
        steps = "".join(f"<li>{step_html(step)}</li>" for step in before)
        parts.append(f"<h3>Steps</h3><ol>{steps}</ol>")
    inputs = [given for step in working.steps for given in step.inputs]
    parts.append(f"<h3>Inputs</h3><dl>{''.join(map(input_html, inputs))}</dl>")
    return "".join(parts)


def step_html(step: Step, *, titled: bool = True) -> str:
    """One step of a working: formula, values put in, result, source."""
    balance = any(sign in step.formula for sign in (" = ", " > "))
    result = f"= {amount_html(step.value, step.unit)}"
    lead = f"{_safe(step.symbol)} = " if step.symbol and not balance else ""
    lines = [f"<code>{lead}{_safe(step.formula)}</code>"]
    if step.filled:
        lines.append(f"<code>{'' if balance else '= '}{_safe(step.filled)}</code>")
    if balance and math.isfinite(step.value):
        result = f"{_safe(step.symbol)} {result}"
    if not balance or math.isfinite(step.value):
        lines.append(f"<code>{result}</code>")
    body = "<br>".join(lines)
    title = f"<p><b>{_safe(step.title)}</b></p>" if titled else ""
    filled = "".join(
        f"<small>{_safe(text)}</small>" for text in (shown_source(step.note), shown_source(step.source)) if text
    )
    return f"{title}<p>{body}</p>{filled}"


def input_html(given: Input) -> str:
    """One value that was put in, with its origin."""
    return (
        f"<dt><code>{_safe(given.symbol)} = {_safe(given.value)}</code> {_safe(given.name)}</dt>"
        f"<dd>{_safe(shown_source(given.origin, given.confidence))}</dd>"
    )


def amount_html(value: float, unit: str) -> str:
    """A number as a working shows it: see `amount_text`."""
    return _safe(amount_text(value, unit))


def _safe(text: str) -> str:
    return html.escape(text)
