"""Numbers that can be asked, in tables and in sentences: each opens, in one click, how it was worked out."""

from __future__ import annotations

import html
import logging
import math
import re
from collections.abc import Callable
from typing import Any

import anywidget
import numpy as np
import traitlets

from wirecalc.errors import InputError
from wirecalc.workings.formula import Input, Step, Working

_log = logging.getLogger(__name__)

_FAULT = "This number's working could not be shown: a fault of the page, not of your entry."

# The numbers may be drawn anew while the dialog is open or a number has the focus: both are found again by key.
_ESM = """
export default { render({ model, el }) {
  const numbers = document.createElement('div'), dialog = document.createElement('dialog');
  numbers.className = 'wc-numbers';
  dialog.className = 'wc-working';
  dialog.innerHTML = '<div><div class="wc-answer" tabindex="0" autofocus></div>'
    + '<button type="button" class="wc-close">Close</button></div>';
  const [answer, close] = dialog.firstChild.children;
  let asked = null;
  const find = key => numbers.querySelector(`[data-ask="${CSS.escape(key)}"]`);
  const draw = () => {
    const key = numbers.contains(document.activeElement) ? document.activeElement.dataset.ask : null;
    numbers.innerHTML = model.get('html');
    if (key) find(key)?.focus({ preventScroll: true });
  };
  const show = () => {
    if (asked === null) return;
    answer.innerHTML = model.get('working');
    const title = answer.querySelector('h2');
    dialog.setAttribute('aria-label', title ? title.textContent : 'Working');
    if (!dialog.open) dialog.showModal();
    answer.scrollTop = 0;
  };
  numbers.addEventListener('click', event => {
    const key = event.target.closest('[data-ask]')?.dataset.ask;
    if (key === undefined) return;
    asked = key;
    model.set('asked', key + '|' + (Number(model.get('asked').split('|').pop() || 0) + 1));
    model.save_changes();
  });
  close.addEventListener('click', () => dialog.close());
  dialog.addEventListener('click', event => event.target === dialog && dialog.close());
  dialog.addEventListener('close', () => { find(asked)?.focus(); asked = null; });
  let due;
  const later = () => { clearTimeout(due); due = setTimeout(draw, 30); };  // charts that change with it go first
  model.on('change:html', later);
  model.on('change:opened', show);
  el.append(numbers, dialog);
  draw();
  return () => { clearTimeout(due); model.off('change:html', later); model.off('change:opened', show); };
} };
"""
_CSS = """
.wc-number { font: inherit; font-variant-numeric: tabular-nums; color: inherit; background: none; border: 0; margin: 0;
  padding: 4px 2px; min-width: 24px; min-height: 24px; cursor: pointer; text-align: inherit;
  text-decoration: underline dotted var(--wc-soft); text-underline-offset: 3px; }
.wc-number:hover { text-decoration: underline solid var(--wc-accent); }
.wc-number:focus-visible, .wc-close:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: 1px; }
.wc-working { padding: 0; width: min(42rem, calc(100vw - 16px)); max-width: none; max-height: calc(100dvh - 16px);
  color: var(--wc-ink); background: var(--wc-card); border: 1px solid var(--wc-line); border-radius: 8px; }
.wc-working::backdrop { background: var(--wc-veil); }
.wc-working > div { display: flex; flex-direction: column; max-height: calc(100dvh - 20px); }
.wc-answer { overflow: auto; padding: 12px 14px; font-size: 15px; line-height: 1.4; overflow-wrap: anywhere; }
.wc-answer:focus-visible { outline: none; }
.wc-working h2 { font-size: 17px; margin: 0; } .wc-working h3 { font-size: 15px; margin: 14px 0 4px; }
.wc-working strong.wc-is { font-size: 22px; } .wc-working p { margin: 2px 0; }
.wc-working code { font: 14px/1.45 ui-monospace, "Liberation Mono", monospace; color: inherit; background: none;
  white-space: normal; padding: 0; }
.wc-working ol { margin: 0; padding-left: 1.6em; } .wc-working li { margin: 0 0 8px; }
.wc-working small { display: block; color: var(--wc-soft); font-size: 13px; }
.wc-working dl { margin: 0; } .wc-working dd { margin: 0 0 6px 1.2em; color: var(--wc-soft); font-size: 13px; }
.wc-close { align-self: end; margin: 6px 14px 8px; min-height: 44px; min-width: 88px; font: inherit; cursor: pointer;
  color: var(--wc-ink); background: var(--wc-card); border: 1px solid var(--wc-soft); border-radius: 6px; }
@media print { .wc-number { text-decoration: none; } }
"""


class Numbers(anywidget.AnyWidget):
    """HTML whose numbers (see `number`) open their working.

    Parameters
    ----------
    answer : callable of str -> str
        The working, as HTML, of the number with this key; see `to_html`. An `InputError` is said in the dialog,
        any other error is logged and said in one sentence.
    html : str
        What is shown. May be set at any time: an open dialog stays open.
    """

    _esm = _ESM
    _css = _CSS

    html = traitlets.Unicode().tag(sync=True)
    asked = traitlets.Unicode().tag(sync=True)
    """Set by the browser: the key and, so that one key can be asked twice, a count."""
    working = traitlets.Unicode().tag(sync=True)
    opened = traitlets.Int().tag(sync=True)
    """Counts the answers; the browser shows `working` when it changes."""

    def __init__(self, answer: Callable[[str], str], html: str = "") -> None:
        super().__init__(html=html)
        self.answer = answer
        self.observe(self._ask, "asked")

    def _ask(self, change: dict[str, Any]) -> None:
        try:
            answer = self.answer(change["new"].rpartition("|")[0])
        except InputError as fault:
            answer = f"<p role='alert'>{html.escape(str(fault))}</p>"
        except Exception:
            _log.exception("the working of %s could not be shown", change["new"])
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
    parts = [
        f"<h2>{_safe(working.title)}</h2><p><strong class='wc-is'>{_amount(working.value, working.unit)}</strong></p>"
    ]
    parts.append(step_html(last, titled=last.title != working.title))
    if before:
        steps = "".join(f"<li>{step_html(step)}</li>" for step in before)
        parts.append(f"<h3>Worked out before</h3><ol>{steps}</ol>")
    inputs = [one for step in working.steps for one in step.inputs]
    parts.append(f"<h3>Put in</h3><dl>{''.join(map(input_html, inputs))}</dl>")
    return "".join(parts)


def step_html(step: Step, *, titled: bool = True) -> str:
    """One step of a working: formula, values put in, result, source."""
    balance = any(sign in step.formula for sign in (" = ", " > "))
    result = f"= {_amount(step.value, step.unit)}"
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
    said = "".join(f"<small>{_safe(text)}</small>" for text in (step.note, step.source) if text)
    return f"{title}<p>{body}</p>{said}"


def input_html(one: Input) -> str:
    """One value that was put in, with its origin."""
    sure = f" ({_safe(one.confidence)})" if one.confidence and one.confidence not in one.origin else ""
    return (
        f"<dt><code>{_safe(one.symbol)} = {_safe(one.value)}</code> {_safe(one.name)}</dt>"
        f"<dd>{_safe(one.origin)}{sure}</dd>"
    )


def _amount(value: float, unit: str) -> str:
    """Four digits."""
    if not math.isfinite(value):
        text = "no answer" if math.isnan(value) else f"{'−' * (value < 0)}∞ {unit}"
    elif value and not 1e-5 <= abs(value) < 1e7:
        text = f"{value:.3e} {unit}"
    else:
        text = f"{np.format_float_positional(float(f'{value:.3e}'), trim='-')} {unit}"
    return _safe(text.rstrip().replace("-", "−"))


def _safe(text: str) -> str:
    return html.escape(text)
