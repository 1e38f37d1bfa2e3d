"""Large keys on the screen, for gloves: they type into the entry that was touched last."""

from __future__ import annotations

import anywidget
import traitlets

# A unit takes the place of one that stands there already; an entry is taken over when a unit or Next is pressed, when
# another entry is touched, or when no key was pressed for a while.
_ESM = """
const BLOCKS = [
  ['7', '8', '9', '⌫', 'Clear', 'Next', '4', '5', '6', '+', '±', '−', '1', '2', '3', '0', '.', 'Space'],
  ['mΩ', 'Ω', 'OL', 'm', 'cm', 'mm', 'ft', 'in', 'mm²', 'AWG', '/', 'g', '%', 'counts', '°C', '°F', 'K', 'kg'],
];
const SAID = { '⌫': 'Backspace', '−': 'Minus', '±': 'Plus or minus', '+': 'Plus', '.': 'Point', '/': 'Slash' };
const UNITS = new Set(BLOCKS[1].filter(key => key !== '/'));
const TRAILING = new RegExp(' ?(' + [...UNITS].sort((a, b) => b.length - a.length).join('|') + ')$');
const PAUSE_MS = 900;
export default { render({ model, el }) {
  const pad = document.createElement('div'), toggle = document.createElement('button');
  const shown = input => input.isConnected && input.offsetParent !== null;
  const entries = '.wc-entry:not(.wc-name) input[type=text]';  // not a name, which takes letters
  const inputs = () => [...document.querySelectorAll(entries)].filter(shown);
  let last = null, dirty = null, pause = 0;
  pad.className = 'wc-keys';
  pad.setAttribute('role', 'group');
  pad.setAttribute('aria-label', 'Keypad');
  toggle.type = 'button';
  toggle.className = 'wc-keypad-toggle';
  toggle.textContent = 'Keypad';
  const settle = () => {
    clearTimeout(pause);
    if (!dirty) return;
    const input = dirty;
    dirty = null;
    input.dispatchEvent(new Event('change', { bubbles: true }));
  };
  const target = () => last && shown(last) ? last : (last = inputs()[0]);
  const insert = (input, text) => {
    const [from, to] = [input.selectionStart, input.selectionEnd];
    input.setRangeText(text, from, to, 'end');
  };
  const press = key => {
    const input = target();
    if (!input) return;
    if (key === 'Next') {
      settle();
      const all = inputs();
      all[(all.indexOf(input) + 1) % all.length].focus();
      document.activeElement.select();
      return;
    }
    if (dirty && dirty !== input) settle();
    if (key === 'Clear') input.value = '';
    else if (key === '⌫') {
      if (input.selectionStart === input.selectionEnd && input.selectionStart > 0) input.selectionStart -= 1;
      insert(input, '');
    } else if (UNITS.has(key)) {
      const head = input.value.slice(0, input.selectionStart).replace(TRAILING, '').trimEnd();
      const tail = input.value.slice(input.selectionEnd);
      const typed = (head && head + ' ') + key;
      input.value = typed + tail;
      input.setSelectionRange(typed.length, typed.length);
    } else insert(input, { 'Space': ' ', '−': '-' }[key] ?? key);
    input.dispatchEvent(new Event('input', { bubbles: true }));
    dirty = input;
    clearTimeout(pause);
    if (UNITS.has(key)) settle(); else pause = setTimeout(settle, PAUSE_MS);
  };
  const draw = () => {
    const on = model.get('on');
    toggle.setAttribute('aria-pressed', on);
    pad.hidden = !on;
    const room = on ? `${pad.offsetHeight + 8}px` : '';  // what is at the page's end, or gets the focus, stays in sight
    document.body.style.paddingBottom = document.documentElement.style.scrollPaddingBottom = room;
    quiet();
  };
  const quiet = () => inputs().forEach(input => {  // the device's own keyboard stays away
    if (model.get('on')) input.inputMode = 'none'; else input.removeAttribute('inputmode');
  });
  for (const keys of BLOCKS) {
    const block = pad.appendChild(document.createElement('div'));
    for (const key of keys) {
      const button = block.appendChild(document.createElement('button'));
      button.type = 'button';
      button.textContent = key;
      if (SAID[key]) button.setAttribute('aria-label', SAID[key]);
      button.addEventListener('pointerdown', event => event.preventDefault());  // the entry keeps the focus
      button.addEventListener('click', () => press(key));
    }
  }
  const touched = event => {
    const input = event.target.closest?.(entries);
    if (!input) return;
    if (dirty !== input) settle();
    last = input;
    quiet();
  };
  const left = event => { if (event.target === dirty && !pad.contains(event.relatedTarget)) settle(); };
  const typed = event => { if (event.isTrusted && event.target === dirty) dirty = null; };
  document.addEventListener('focusin', touched);
  document.addEventListener('pointerdown', quiet, true);  // parts that are made later have entries of their own
  document.addEventListener('focusout', left);
  document.addEventListener('change', typed, true);
  toggle.addEventListener('click', () => { model.set('on', !model.get('on')); model.save_changes(); draw(); });
  if (matchMedia('(pointer: coarse)').matches) model.set('on', true);
  el.append(toggle, pad);
  draw();
  return () => {
    document.removeEventListener('focusin', touched);
    document.removeEventListener('pointerdown', quiet, true);
    document.removeEventListener('focusout', left);
    document.removeEventListener('change', typed, true);
  };
} };
"""
_CSS = """
.wc-keypad { margin: 0 0 6px; overflow: visible; }
.wc-keypad-toggle, .wc-keys button { min-height: 52px; min-width: 0; padding: 0; font: inherit; font-size: 16px;
  cursor: pointer; color: var(--wc-ink); background: var(--wc-card); border: 1px solid var(--wc-soft);
  border-radius: 6px; touch-action: manipulation; }
.wc-keypad .wc-keypad-toggle { padding: 0 14px; }
.wc-keypad-toggle[aria-pressed=true] { background: var(--wc-accent); color: var(--wc-accent-ink); }
.wc-keys { position: fixed; inset: auto 0 0; z-index: 6; padding: 6px; display: grid; gap: 4px 12px;
  grid-template-columns: repeat(auto-fit, minmax(340px, 1fr)); background: var(--wc-paper);
  border-top: 2px solid var(--wc-accent); }
.wc-keys[hidden] { display: none; }
.wc-keys > div { display: grid; grid-template-columns: repeat(6, minmax(0, 1fr)); gap: 4px; }
.wc-keys button:active { background: var(--wc-accent); color: var(--wc-accent-ink); }
.wc-keypad button:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: 1px; }
.wc-keys > div:first-child button { font-size: 18px; }
@media print { .wc-keypad { display: none !important; } }
"""


class Keypad(anywidget.AnyWidget):
    """Off at first, but on where the pointer is a finger."""

    _esm = _ESM
    _css = _CSS
    on = traitlets.Bool(False).tag(sync=True)

    def __init__(self) -> None:
        super().__init__()
        self.add_class("wc-keypad")
