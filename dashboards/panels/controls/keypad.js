// A unit takes the place of one that stands there already; an entry is taken over when a unit or Next is pressed, when
// another entry is touched, or when no key was pressed for a while.
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
  let wanted = false;  // while an entry is being filled; it goes away when something else is touched
  const draw = () => {
    const on = model.get('on') && wanted;
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
      button.className = key.length > 3 ? 'wc-word' : '';
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
    if (!model.get('on')) return;
    wanted = true;
    draw();
    requestAnimationFrame(() => input.scrollIntoView({ block: 'center' }));  // above the keys, under the answer
  };
  const elsewhere = event => {
    quiet();
    if (!wanted || pad.contains(event.target) || toggle.contains(event.target) || event.target.closest?.(entries)) return;
    wanted = false;
    draw();
  };
  const left = event => { if (event.target === dirty && !pad.contains(event.relatedTarget)) settle(); };
  const typed = event => { if (event.isTrusted && event.target === dirty) dirty = null; };
  document.addEventListener('focusin', touched);
  document.addEventListener('pointerdown', elsewhere, true);  // parts that are made later have entries of their own
  document.addEventListener('focusout', left);
  document.addEventListener('change', typed, true);
  toggle.addEventListener('click', () => {
    wanted = pad.hidden;
    model.set('on', wanted);
    model.save_changes();
    draw();
  });
  if (matchMedia('(pointer: coarse)').matches) model.set('on', true);
  el.append(toggle, pad);
  draw();
  return () => {
    document.removeEventListener('focusin', touched);
    document.removeEventListener('pointerdown', elsewhere, true);
    document.removeEventListener('focusout', left);
    document.removeEventListener('change', typed, true);
  };
} };
