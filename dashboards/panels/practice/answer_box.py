"""Where an answer is typed: a box and a button in one form, so that Enter checks, and what is said of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

_ESM = """
export default { render({ model, el }) {
  const form = document.createElement('form'), label = document.createElement('label');
  const input = document.createElement('input'), button = document.createElement('button');
  const said = document.createElement('div');
  form.className = 'wc-answering'; form.noValidate = true;
  label.textContent = 'Your answer';
  input.type = 'text'; input.maxLength = 200; input.autocomplete = 'off'; input.spellcheck = false;
  input.enterKeyHint = 'go';
  input.id = label.htmlFor = 'answer-' + Math.random().toString(36).slice(2);
  said.id = input.id + '-said'; said.setAttribute('aria-live', 'polite');
  input.setAttribute('aria-describedby', said.id);
  button.type = 'submit';
  form.append(label, input, button);
  el.append(form, said);
  const draw = () => {
    button.textContent = model.get('button');
    input.placeholder = model.get('example');
    said.innerHTML = model.get('said');
    input.setAttribute('aria-invalid', String(!!said.querySelector('[role=alert]')));
  };
  const clear = () => { input.value = ''; input.focus({ preventScroll: true }); };
  form.addEventListener('submit', event => {
    event.preventDefault();
    model.set('asked', input.value + '|' + (Number(model.get('asked').split('|').pop() || 0) + 1));
    model.save_changes();
  });
  for (const name of ['button', 'example', 'said']) model.on('change:' + name, draw);
  model.on('change:cleared', clear);
  draw();
  return () => {
    for (const name of ['button', 'example', 'said']) model.off('change:' + name, draw);
    model.off('change:cleared', clear);
  };
} };
"""
_CSS = """
.wc-answering { display: flex; flex-wrap: wrap; gap: 8px; align-items: center; padding: 5px 6px 9px 0; }
.wc-answering label { font-weight: 600; }
.wc-answering input { flex: 1 1 9em; min-width: 0; max-width: 18em; height: 46px; padding: 0 10px; font: inherit;
  font-size: 18px; box-sizing: border-box; color: var(--wc-ink); background: var(--wc-card); border-radius: 6px;
  border: 1px solid var(--wc-soft); }
.wc-answering input[aria-invalid=true] { border: 2px solid var(--wc-fault); }
.wc-answering input::placeholder { color: var(--wc-soft); }
.wc-answering button { height: 46px; padding: 0 18px; font: inherit; font-weight: 600; cursor: pointer;
  color: var(--wc-accent-ink); background: var(--wc-accent); border: 0; border-radius: 6px; }
.wc-right { border-left: 4px solid var(--wc-accent); background: var(--wc-card); padding: 6px 10px;
  border-radius: 0 6px 6px 0; font-weight: 600; }
@media print { .wc-answering button { display: none; } }
"""


class AnswerBox(anywidget.AnyWidget):
    """A form of one answer.

    Parameters
    ----------
    take : callable of str -> None
        Given what is typed, on Enter or on the button.
    """

    _esm = _ESM
    _css = _CSS
    asked = traitlets.Unicode().tag(sync=True)
    """Set by the browser: the text and, so that one text can be sent twice, a count."""
    button = traitlets.Unicode("Check").tag(sync=True)
    example = traitlets.Unicode().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    """HTML."""
    cleared = traitlets.Int().tag(sync=True)
    """Counts; the box is emptied and gets the focus when it changes."""

    def __init__(self, take: Callable[[str], None]) -> None:
        super().__init__()
        self.take = take
        self.observe(self._asked, "asked")

    def _asked(self, change: dict[str, Any]) -> None:
        self.take(change["new"].rpartition("|")[0])
